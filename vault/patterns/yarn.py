"""What knitting and crochet patterns say of gauge, needles or hooks, yarn, and US or UK terms.

Numbers are brought to stitches and rows per 10 cm and to millimetres; what was said stays beside them.  Needle and hook
numbers follow the tables of the Craft Yarn Council and old British charts; where charts disagree a number alone is
"unclear".  For cloth the fabric and notions lines are taken as they stand.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from itertools import pairwise

from vault.patterns.pages_text import PageText
from vault.patterns.words import CJK_RE, entries, fold

_LONGEST = 240
_LOOKED_AT = 1500  # lines
_INCH_MM = 25.4

# mm -> (US, old UK); Craft Yarn Council and old British charts.
NEEDLES: dict[float, tuple[str, str]] = {
    2.0: ("0", "14"),
    2.75: ("2", "12"),
    3.25: ("3", "10"),
    3.5: ("4", ""),
    3.75: ("5", "9"),
    4.0: ("6", "8"),
    4.5: ("7", "7"),
    5.0: ("8", "6"),
    5.5: ("9", "5"),
    6.0: ("10", "4"),
    6.5: ("10.5", "3"),
    7.0: ("", "2"),
    7.5: ("", "1"),
    8.0: ("11", "0"),
    9.0: ("13", "00"),
    10.0: ("15", "000"),
    12.0: ("17", ""),
    15.0: ("19", ""),
    20.0: ("36", ""),
    25.0: ("50", ""),
}
HOOKS: dict[float, tuple[str, ...]] = {
    2.25: ("B-1", "B"),
    2.75: ("C-2", "C"),
    3.25: ("D-3", "D"),
    3.5: ("E-4", "E"),
    3.75: ("F-5", "F"),
    4.0: ("G-6", "G"),
    4.5: ("7",),
    5.0: ("H-8", "H"),
    5.5: ("I-9", "I"),
    6.0: ("J-10", "J"),
    6.5: ("K-10.5", "K"),
    8.0: ("L-11", "L"),
    9.0: ("M/N-13", "M-13", "N-13"),
    10.0: ("N/P-15", "N-15", "P-15"),
}
UNCLEAR_US = ("1", "1.5", "2.5")  # charts disagree on these numbers (2.25, 2.5 and 3 mm)

# Words of yarn weights with the number of the Craft Yarn Council's system.
YARN_WEIGHTS: tuple[tuple[str, str], ...] = (
    (r"lace(?:\s?weight)?|2[\s-]?ply|cobweb", "0 Lace"),
    (r"super\s?fine|fingering|4[\s-]?ply|sock\s?(?:yarn|weight)|sockenwolle|sockengarn", "1 Super Fine"),
    (r"sport(?:\s?weight)?|5[\s-]?ply", "2 Fine"),
    (r"dk|double\s?knit(?:ting)?|8[\s-]?ply|light\s?worsted", "3 Light"),
    (r"super\s?(?:bulky|chunky)", "6 Super Bulky"),
    (r"jumbo|arm\s?knitting", "7 Jumbo"),
    (r"worsted|aran|10[\s-]?ply|afghan", "4 Medium"),
    (r"bulky|chunky|12[\s-]?ply", "5 Bulky"),
)

_NUMBER = r"\d{1,3}(?:[.,]\d|\s?½|\s1/2)?"
_MEASURE = (
    r"(?P<{0}>\d{{1,2}}(?:[.,]5)?)\s?(?:(?P<{0}u1>cm|inch(?:es)?|in\b\.?|[\"″”])?\s?[x×/]\s?\d{{1,2}}(?:[.,]5)?\s?)?"
    r"(?P<{0}u>cm|inch(?:es)?|in\b\.?|[\"″”]|'')"
)


def yarn_details(pages: Sequence[PageText], craft: str | None) -> dict[str, str]:
    """Details by name: for yarn `stitches_per_10cm`, `rows_per_10cm`, `gauge`, `needle_mm`, `hook_mm`, `yarn` ...;

    for cloth `fabric`, `notions`; for all `skill`.  Values are as the file says them, numbers apart.
    """
    lines = [line.text for page in pages for line in page.lines if len(line.text) <= 600][:_LOOKED_AT]
    details: dict[str, str] = {}
    if craft in ("knitting", "crochet"):
        details.update(_gauge(lines))
        details.update(_tools(lines, craft))
        yarn = labelled(lines, "yarn")
        if yarn:
            details["yarn"] = yarn
            weight = yarn_weight(yarn)
            if weight:
                details["yarn_weight"] = weight
        if craft == "crochet":
            terms = crochet_terms(lines)
            if terms:
                details["terms"] = terms
    elif craft is not None:
        for key in ("fabric", "notions"):
            said = labelled(lines, key)
            if said:
                details[key] = said
    skill = labelled(lines, "skill")
    if skill:
        details["skill"] = skill
    return details


@cache
def _labels(key: str) -> frozenset[str]:
    return frozenset(fold(label) for label in entries("labels", key))


def labelled(lines: Sequence[str], key: str) -> str | None:
    """What stands after a label ("Yarn: ...") or in the lines under it, where it is a headline; bounded."""
    for index, line in enumerate(lines):
        head, colon, rest = line.partition(":")
        if not colon:
            head, colon, rest = line.partition("：")
        if fold(head) not in _labels(key):
            continue
        if colon and rest.strip():
            return rest.strip()[:_LONGEST]
        below: list[str] = []
        for text in lines[index + 1 : index + 5]:
            if _is_label(text) or (below and not re.match(r"[•\-–*\d(a-zà-ÿ]", text)):
                break
            below.append(text.lstrip("•-–* "))
            if sum(map(len, below)) > _LONGEST:
                break
        if below and any(character.isalnum() for character in below[0]):
            return "; ".join(below)[:_LONGEST]
    return None


def _is_label(text: str) -> bool:
    folded = fold(text.partition(":")[0])
    return any(folded in _labels(key) for key in _LABELS)


_LABELS = ("yarn", "needle", "hook", "gauge", "fabric", "notions", "size", "skill")


@cache
def _gauge_re() -> tuple[re.Pattern[str], ...]:
    def words(key: str) -> str:
        latin = [re.escape(w) for w in entries("gauge", key) if not CJK_RE.search(w)]
        cjk = [w for w in entries("gauge", key) if CJK_RE.search(w)]
        return rf"(?:(?:{'|'.join(latin)})\b\.?|{'|'.join(cjk)})"

    stitches, rows = words("stitches"), words("rows")
    counts = (
        rf"(?P<st>{_NUMBER})(?:\s?[-–]\s?{_NUMBER})?\s?{stitches}"
        rf"(?:[^\d]{{0,40}}(?P<rows>{_NUMBER})(?:\s?[-–]\s?{_NUMBER})?\s?{rows})?"
    )
    after = rf"(?<![\d.,]){counts}[^\d]{{0,60}}{_MEASURE.format('over')}"
    before = rf"(?<![\d.,]){_MEASURE.format('over')}[^\d]{{0,40}}{counts}"
    return re.compile(after, re.IGNORECASE), re.compile(before, re.IGNORECASE)


def _gauge(lines: Sequence[str]) -> dict[str, str]:
    """The first gauge, in one line or broken over two."""
    broken = (f"{line} {following}"[: 2 * _LONGEST] for line, following in pairwise(lines))
    for text in (*lines, *broken):
        found = read_gauge(text) if any(c.isdigit() for c in text) else None
        if found:
            stitches, rows = found
            details = {"stitches_per_10cm": f"{stitches:g}", "gauge": text[:_LONGEST]}
            if rows:
                details["rows_per_10cm"] = f"{rows:g}"
            return details
    return {}


def read_gauge(text: str) -> tuple[float, float | None] | None:
    """Stitches and rows per 10 cm that a text states, or None."""
    for expression in _gauge_re():
        match = expression.search(text)
        if match is None:
            continue
        unit = (match["overu"] or match["overu1"]).casefold()
        over_mm = float(match["over"].replace(",", ".")) * (10.0 if unit == "cm" else _INCH_MM)
        if not 20 <= over_mm <= 210:
            continue
        # 4 inches are the trade's 10 cm
        factor = 1.0 if abs(over_mm - 101.6) < 0.1 else 100.0 / over_mm
        stitches = _number(match["st"]) * factor
        rows = _number(match["rows"]) * factor if match["rows"] else None
        if 2 <= stitches <= 100:
            return round(stitches, 1), round(rows, 1) if rows else None
    return None


def _number(text: str) -> float:
    half = "½" in text or "1/2" in text
    whole = text.replace("½", "").replace(" 1/2", "").strip().replace(",", ".")
    return float(whole or 0) + (0.5 if half else 0.0)


_MM_RE = re.compile(
    r"(?<![\d.,])(\d{1,2}(?:[.,]\d{1,2}|\s?½)?)\s?(?:[-–/]\s?(\d{1,2}(?:[.,]\d{1,2})?)\s?)?mm\b", re.IGNORECASE
)
_US_RE = re.compile(
    r"\bU\.?S\.?\s*(?:size\s*)?#?\s*([A-Z](?:/[A-Z])?-?\d{1,2}(?:\.5|\s?½)?|[A-Z]\b|\d{1,2}(?:\.5|\s?½|\s1/2)?)"
)
_UK_RE = re.compile(r"\b(?:old\s+)?U\.?K\.?\s*(?:size\s*)?#?\s*(\d{1,2}|0{1,3})\b")
_UK_BEHIND_RE = re.compile(
    r"\b(?:size|no\.?)?\s*#?(\d{1,2}|0{1,3})\s*\(?(?:old\s+)?(?:U\.?K\.?|English)\b(?!\s*\d)", re.IGNORECASE
)
# "a size G hook": where no label stands before it
_HOOK_NAMED_RE = re.compile(r"\bsize\s+([A-P](?:[-/]\d{1,2}(?:½)?)?)\s+(?:crochet\s+)?hook", re.IGNORECASE)
_HOOK_LETTER_RE = re.compile(r"\b([A-P](?:/[A-P])?[-/]\d{1,2}(?:\.5|\s?½)?)\b")
_NR_RE = re.compile(
    r"\b(?:nr|n[°º]|no|num(?:ero|éro)?|rozm\.?|pind(?:e)?|pinne(?:r)?|sticka|stärke|stickor|nålar)\.?\s*"
    r"(\d{1,2}(?:[.,]\d{1,2}|½)?)\b",
    re.IGNORECASE,
)


def _tools(lines: Sequence[str], craft: str) -> dict[str, str]:
    """Needles or hooks in mm, as many as are named under their label, and the US or UK numbers that were said."""
    key = "hook" if craft == "crochet" else "needle"
    said = labelled(lines, key)
    if said is None:
        named = [label for label in _labels(key) if len(label) >= 4 or CJK_RE.search(label)]
        said = next((x for x in lines if _MM_RE.search(x) and any(label in fold(x) for label in named)), None)
    if said is None and craft == "crochet":
        said = next((x for x in lines if _HOOK_NAMED_RE.search(x)), None)
    if said is None:
        return {}
    details: dict[str, str] = {}
    sizes = [size for match in _MM_RE.finditer(said) for size in match.groups() if size]
    numbers = list(dict.fromkeys(f"{_number(size):g}" for size in sizes if 0.5 <= _number(size) <= 35))
    if not numbers and fold(said):
        numbers = list(dict.fromkeys(f"{_number(n):g}" for n in _NR_RE.findall(said) if 0.5 <= _number(n) <= 35))
    us = [number.replace(" ½", ".5").replace("½", ".5").replace(" 1/2", ".5") for number in _US_RE.findall(said)]
    if craft == "crochet":
        us = us or [n.replace("½", ".5") for n in _HOOK_LETTER_RE.findall(said)]
        us = us or [n.upper() for n in _HOOK_NAMED_RE.findall(said)]
    uk = _UK_RE.findall(said) or _UK_BEHIND_RE.findall(said)
    if us:
        details[f"{key}_us"] = ", ".join(us)
    if uk:
        details[f"{key}_uk"] = ", ".join(uk)
    if not numbers and (us or uk):
        numbers = [_mm_of(number, craft, uk=not us) for number in us or uk]
    if numbers:
        details[f"{key}_mm"] = ", ".join(dict.fromkeys(numbers))
    details[f"{key}s"] = said[:_LONGEST]
    return details


def _mm_of(number: str, craft: str, *, uk: bool) -> str:
    """The millimetres of a US or old UK number, or "unclear" where charts disagree or none knows it."""
    if craft == "crochet" and not uk:
        letter = number.upper()
        known = [mm for mm, names in HOOKS.items() if letter in names or any(n.split("-")[0] == letter for n in names)]
        return f"{known[0]:g}" if len(known) == 1 else "unclear"
    if not uk and number in UNCLEAR_US:
        return "unclear"
    return next((f"{mm:g}" for mm, names in NEEDLES.items() if names[1 if uk else 0] == number), "unclear")


def yarn_weight(text: str) -> str | None:
    """The weight of the Craft Yarn Council's system that the words name, or None."""
    numbered = re.search(r"\b(?:weight|cyca?|category)\s*#?:?\s*\(?([0-7])\b", text, re.IGNORECASE)
    if numbered:
        names = {name[0]: name for _, name in YARN_WEIGHTS}
        return names.get(numbered.group(1))
    for words, name in YARN_WEIGHTS:
        if re.search(rf"\b(?:{words})\b", text, re.IGNORECASE):
            return name
    return None


def crochet_terms(lines: Sequence[str]) -> str | None:
    """ "US" or "UK": as the file says, else by stitches that only one of them has; None where neither tells."""
    text = "\n".join(lines)[:100_000].casefold()
    us, uk = (any(t.casefold() in text for t in entries("gauge", key)) for key in ("us_terms", "uk_terms"))
    if us != uk:
        return "US" if us else "UK"
    if us and uk:
        return "unclear"
    single = len(re.findall(r"\bsingle crochet\b|\bsc\b|\bhdc\b|\bsc2tog\b", text))
    treble = len(re.findall(r"\bhalf treble\b|\bhtr\b|\bdtr\b|\bdc2tog\b|\bmiss (?:a|next|\d)", text))
    if single >= 2 and single > 2 * treble:
        return "US (by its stitches)"
    if treble >= 2 and not single:
        return "UK (by its stitches)"
    return None
