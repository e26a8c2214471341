"""The seam allowance of the whole garment, from the words: its width in mm, or 0 where the pattern comes without.

Sentences that name the seam allowance are weighed: said for all seams and said to be included goes before a step that
sews with one; what is trimmed, pressed or stitched at a distance says nothing; the hem, the neckline and the like have
their own widths.  Two widths of one weight leave it open.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from vault.patterns.licence_text import Sentence, pages_with, sentences_of
from vault.patterns.licence_words import LANGUAGES, Words, of_all, opens, words_of
from vault.patterns.pages_text import PageText

LEAST_MM, MOST_MM = 2.0, 45.0
_MOST_READ = 300
_INCH = 25.4
_VULGAR = {"¼": 0.25, "½": 0.5, "¾": 0.75, "⅛": 0.125, "⅜": 0.375, "⅝": 0.625, "⅞": 0.875, "⅓": 1 / 3, "⅔": 2 / 3}
_AMOUNT = (
    r"(?:(?P<whole>\d{1,2})[ -]?(?P<vulgar>[¼½¾⅛⅜⅝⅞⅓⅔])|(?P<alone>[¼½¾⅛⅜⅝⅞⅓⅔])"
    r"|(?:(?P<big>\d{1,2})[ -])?(?P<top>\d{1,2})\s?[/⁄]\s?(?P<below>\d{1,2})(?:th|ths)?"
    r"|(?P<plain>\d{1,3}(?:[.,]\d{1,3})?))"
)
_UNITS = {
    "mm": 1.0,
    "㎜": 1.0,
    "ミリ": 1.0,
    "millim": 1.0,
    "cm": 10.0,
    "㎝": 10.0,
    "ｃｍ": 10.0,
    "センチ": 10.0,
    "centim": 10.0,
    "zentim": 10.0,
}
_MEASURE_RE = re.compile(
    rf"(?<![A-Za-zÀ-ž_\d.,/⁄]){_AMOUNT}\s?-?\s?(?P<unit>mm(?![a-z])|cm(?![a-z])|㎜|㎝|ｃｍ|ミリ|センチ|millim\w*|[cz]entim\w*"
    r"|\"|″|''|inch(?:es)?\b|in\b\.?|zoll\b|pouces?\b|duim\b|pulgadas?\b|pollic[ei]\b|tum\b|tommer?\b|cal[aeiy]?\b"
    r"|tuuma\w*|インチ)",
    re.IGNORECASE,
)
_UNIT_FIRST_RE = re.compile(
    r"\b(?P<unit>cm|mm)\.?\s(?P<plain>\d{1,2}(?:[.,]\d)?)(?!\d|[.,]\d|\s?(?:cm|mm))", re.IGNORECASE
)
# "One half inch", "five eighths of an inch", "a quarter inch".
_SPELLED_RE = re.compile(
    r"\b(?:(?P<top>one|an?|three|five|seven)[\s-])?(?P<part>half|quarters?|eighths?)"
    r"(?:\s(?:of\s)?an)?[\s-]inch(?:es)?\b",
    re.IGNORECASE,
)
_TOPS = {"": 1, "a": 1, "an": 1, "one": 1, "three": 3, "five": 5, "seven": 7}
_PARTS = {"half": 2, "quarter": 4, "eighth": 8}
# "2 in the round" is no length.
_NO_INCH_RE = re.compile(r"\s+(?:the|a|an|this|each|order|one)\b", re.IGNORECASE)
_PIECE_RE = re.compile(r"[;；、。]|,\s|,$|\s-+\s|[!?]\s|(?<=[^\d\s])\.\s")
_ROUND_MM = (5.0, 7.0, 10.0, 15.0, 20.0, 25.0, 30.0)


@dataclass(frozen=True)
class Measure:
    """A length in the words: millimetres, whether written in inches, and where it stands."""

    mm: float
    inches: bool
    start: int
    end: int


@dataclass(frozen=True)
class _Saying:
    """What a sentence comes to: a width, or 0 for none included, with the weight of its words."""

    mm: float | None
    weight: int
    sentence: Sentence


def seam_allowance_mm(pages: Sequence[PageText], language: str | None) -> tuple[float | None, str]:
    """The seam allowance in mm (0: the pattern comes without), and the words it rests on.

    (None, "") where nothing is said; (None, words) where it is included but its width is not said or not clear.
    """
    sayings = list(_sayings(pages, language))
    told = [saying for saying in sayings if saying.mm is not None]
    if not told:
        return None, sayings[0].sentence.quote if sayings else ""
    most = max(saying.weight for saying in told)
    best = [saying for saying in told if saying.weight == most]
    values = {saying.mm for saying in best}
    if len(values) == 1 or most >= _GENERAL_WEIGHT:
        return best[0].mm, best[0].sentence.quote
    counts = {value: sum(saying.mm == value for saying in told) for value in values}
    ranked = sorted(counts.values(), reverse=True)
    if ranked[0] > ranked[1]:
        chosen = max(counts, key=lambda value: counts[value])
        return chosen, next(saying.sentence.quote for saying in best if saying.mm == chosen)
    return None, best[0].sentence.quote


_GENERAL_WEIGHT = 7


def _sayings(pages: Sequence[PageText], language: str | None) -> Iterator[_Saying]:
    noun = of_all("seam.noun")
    both = of_all("seam.both")
    seen: set[str] = set()
    for page in pages_with(pages, "seam"):
        waiting: Sentence | None = None
        for sentence in sentences_of(page):
            named = opens(sentence.text, "seam") and (noun.search(sentence.text) or both.search(sentence.text))
            if waiting is not None and not named and _starts_with_measure(sentence.text):
                yield from _read(_joined(waiting, sentence), language)
            waiting = None
            if not named or sentence.text in seen:
                continue
            seen.add(sentence.text)
            if len(seen) > _MOST_READ:
                return
            if len(sentence.text) < 50 and not measures(sentence.text):
                waiting = sentence
            yield from _read(sentence, language)


def _joined(label: Sentence, value: Sentence) -> Sentence:
    return Sentence(f"{label.raw} {value.raw}", f"{label.text} {value.text}", value.page, value.block)


def _starts_with_measure(text: str) -> bool:
    return any(measure.start < 25 for measure in measures(text))


def _read(sentence: Sentence, language: str | None) -> Iterator[_Saying]:
    ordered = dict.fromkeys((language, *LANGUAGES) if language else LANGUAGES)
    for code in ordered:
        if code not in LANGUAGES:
            continue
        words = words_of(code)
        if words.has("seam.noun", sentence.text) or words.has("seam.both", sentence.text):
            saying = _said(sentence, words)
            if saying is not None:
                yield saying
            return


def _said(sentence: Sentence, words: Words) -> _Saying | None:
    text = sentence.text
    unneeded = words.has("seam.unneeded", text)
    if not unneeded and words.has("seam.excluded", text):
        partly = _only_parts(text, words)
        return None if partly else _Saying(0.0, 5 + 2 * words.has("seam.general", text), sentence)
    value = _width(text, words)
    included = unneeded or words.has("seam.included", text)
    if value is None:
        return _Saying(None, 0, sentence) if included else None
    if not included and words.has("seam.trim", text):
        return None
    general = words.has("seam.general", text)
    label = len(text) < 60
    return _Saying(value, 2 + 3 * included + 2 * general + 2 * label, sentence)


def _only_parts(text: str, words: Words) -> bool:
    """Whether what is left out is left out of the hem or a part only."""
    pieces = _pieces(text, words)
    for start, end in pieces:
        piece = text[start:end]
        if words.has("seam.excluded", piece):
            own = words.has("seam.noun", piece) or words.has("seam.both", piece)
            return words.has("seam.hem", words.of("seam.both").sub(" ", piece)) and not own
    return False


def _pieces(text: str, words: Words) -> list[tuple[int, int]]:
    """Stretches between commas, conjunctions and brackets, so that a width goes to the part it stands beside."""
    borders = [match.span() for match in _PIECE_RE.finditer(text)]
    both = [match.span() for match in words.of("seam.both").finditer(text)]
    for key in ("weak", "contrast", "except"):
        borders.extend(
            (match.start(), match.end())
            for match in words.of(f"licence.{key}").finditer(text)
            if match.group().strip(" ,、") and not any(start <= match.start() < end for start, end in both)
        )
    pieces, at = [], 0
    for start, end in sorted(borders):
        if start > at:
            pieces.append((at, start))
        at = max(at, end)
    if at < len(text):
        pieces.append((at, len(text)))
    return pieces


def _width(text: str, words: Words) -> float | None:
    """The width a sentence gives for the seams, without those of hems and parts."""
    found = [measure for measure in measures(text) if LEAST_MM <= measure.mm <= MOST_MM]
    if not found:
        return None
    kept: list[Measure] = []
    owned: list[Measure] = []  # those of a stretch that names the seam allowance itself
    for start, end in _pieces(text, words):
        piece = words.of("seam.both").sub(" ", text[start:end])
        own = words.has("seam.noun", text[start:end]) or words.has("seam.both", text[start:end])
        if words.has("seam.hem", piece) and not own:
            continue
        here = [measure for measure in found if start <= measure.start < end]
        kept.extend(here)
        owned.extend(here if own else ())
    groups = _grouped(kept)
    if not groups:
        return None
    values = [_of_group(group) for group in groups]
    if len(set(values)) == 1:
        return values[0]
    owners = {_of_group(group) for group in _grouped(owned)}
    general = words.of("seam.general").search(text)
    noun = words.of("seam.noun").search(text) or words.of("seam.both").search(text)
    anchor = general or noun
    if general is None or anchor is None:
        return owners.pop() if len(owners) == 1 else None
    return _of_group(min(groups, key=lambda group: _apart(group, anchor)))


def _apart(group: Sequence[Measure], anchor: re.Match[str]) -> int:
    return max(group[0].start, anchor.start()) - min(group[-1].end, anchor.end())


def _grouped(found: Sequence[Measure]) -> list[list[Measure]]:
    """Measures that say one length in two units stand together: '1 cm (3/8")', '5/8" / 1.5 cm'."""
    groups: list[list[Measure]] = []
    for measure in sorted(found, key=lambda m: m.start):
        last = groups[-1][-1] if groups else None
        close = last is not None and measure.start - last.end <= 8
        alike = last is not None and abs(last.mm - measure.mm) <= 0.2 * max(last.mm, measure.mm)
        if last is not None and close and alike and last.inches != measure.inches and len(groups[-1]) == 1:
            groups[-1].append(measure)
        else:
            groups.append([measure])
    return groups


def _of_group(group: Sequence[Measure]) -> float:
    """The drafted one of two units: a round metric width, else the inches that the metric one is rounded from."""
    if len(group) == 1:
        return group[0].mm
    metric = next(measure for measure in group if not measure.inches)
    inches = next(measure for measure in group if measure.inches)
    return metric.mm if metric.mm in _ROUND_MM else inches.mm


def measures(text: str) -> list[Measure]:
    """All lengths in millimetres, centimetres and inches of a text, fractions in every spelling."""
    found = []
    for match in _MEASURE_RE.finditer(text):
        amount = _amount(match)
        if amount is None:
            continue
        unit = match["unit"].casefold()
        factor = next((value for name, value in _UNITS.items() if unit.startswith(name)), _INCH)
        if unit in ("in", "in.") and match["plain"] and _NO_INCH_RE.match(text, match.end()):
            continue
        found.append(Measure(round(amount * factor, 4), factor == _INCH, match.start(), match.end()))
    for match in _UNIT_FIRST_RE.finditer(text):
        if not any(m.start < match.end() and match.start() < m.end for m in found):
            factor = _UNITS[match["unit"].casefold()]
            found.append(Measure(float(match["plain"].replace(",", ".")) * factor, False, match.start(), match.end()))
    for match in _SPELLED_RE.finditer(text):
        share = _TOPS[(match["top"] or "").casefold()] / _PARTS[match["part"].casefold().rstrip("s")]
        if share < 1:
            found.append(Measure(round(share * _INCH, 4), True, match.start(), match.end()))
    return sorted(found, key=lambda measure: measure.start)


def _amount(match: re.Match[str]) -> float | None:
    if match["vulgar"]:
        return int(match["whole"]) + _VULGAR[match["vulgar"]]
    if match["alone"]:
        return _VULGAR[match["alone"]]
    if match["top"]:
        if int(match["below"]) == 0:
            return None
        return int(match["big"] or 0) + int(match["top"]) / int(match["below"])
    return float(match["plain"].replace(",", "."))
