"""The print check: the test square as drawn, compared with what its label says.

Labels are read as lengths ("10 cm x 10 cm", '4"', "1 inch"), each on its own, in the units of the trade's languages.
Squares come from the drawn geometry.  All labels of a page share one page scale, so labels and squares are put
together by the scale that explains most of them, nearest to 100 %; that keeps nested squares of 10 cm and 4 in apart
even on a page that was drawn at 94 %.  Only a square that lies at its label, or stands alone under the trade's words
for it, counts: a cutting plan or a quilt block is no test square.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from vault.model.pattern import ScaleCheck
from vault.model.pdf import DrawnBox, PageReading, PdfReading, TextRun
from vault.patterns.sheet_words import VULGAR, fold, names_square

INCH = 25.4
_UNITS: tuple[tuple[str, float], ...] = (
    (r"mm|㎜|milli(?:meters?|metres?|meter|mètres?)|ミリ", 1.0),
    (
        r"cm|㎝|[cz]ent[ií]m(?:eters?|etres?|ètres?|etros?|etri|etro)|centymetr(?:ów|y)?|senttimetriä?|senttiä?"
        r"|センチ(?:メートル)?",
        10.0,
    ),
    (
        r"inch(?:es)?|in\b|zoll|pouces?|duim|pulgadas?|pulg\b|pollic[ei]|tum\b|tommer?|cal[ei]?\b|tuumaa?|インチ|\"|''",
        INCH,
    ),
)
_NUMBER = r"\d{1,3}(?:[.,]\d{1,3})?(?: ?\d/\d{1,2})?|\d/\d{1,2}"
_START = r"(?<![\d.,])(?<!\d/)"  # not in the middle of a number or a fraction
_UNIT = "|".join(f"(?:{words})" for words, _ in _UNITS)
_LENGTH_RE = re.compile(rf"{_START}({_NUMBER}) ?-?({_UNIT})")
_TIMES = r"(?:[x×*✕]|by|mal|sur|bij|por|per|gånger|gange)"
_PAIR_RE = re.compile(rf"{_START}({_NUMBER}) ?-?({_UNIT})? ?{_TIMES} ?({_NUMBER}) ?-?({_UNIT})")
_BARE_PAIR_RE = re.compile(rf"{_START}({_NUMBER}) ?[x×] ?({_NUMBER})(?![\d.,/])")
STATED_MM = (9.0, 260.0)  # from 1 cm to 10 in
OK_MM, OK_SHARE = 0.5, 0.008
_ALIKE = 0.004  # two ratios this close are the same page scale
_MOST_PAIRS = 300

# Why a page comes out smaller: one paper fitted on another, or into a printable area (ISO 216 and US sizes).
SHRINK_CAUSES: tuple[tuple[float, str], ...] = (
    (0.9407, "as an A4 page fitted on Letter"),
    (0.9727, "as a Letter page fitted on A4"),
    (0.9714, "as A4 fitted into a printable area with margins of 3 mm"),
    (0.9597, "as A4 fitted into a printable area with margins of 4.23 mm"),
    (0.9524, "as A4 fitted into a printable area with margins of 5 mm"),
    (0.9395, "as A4 fitted into a printable area with margins of 6.35 mm"),
    (0.7071, "as one size smaller in the A series"),
    (1.4142, "as one size larger in the A series"),
    (1.0630, "as a Letter page enlarged to the length of A4"),
)


@dataclass(frozen=True, kw_only=True)
class Label:
    """A stated length, mm, where it stands and how its run reads.  `named`: the trade's words are in its line."""

    stated_mm: float
    run: TextRun
    named: bool
    short: bool  # the run holds little but the length
    pair: bool  # written "a x a"
    order: int = 0  # among the runs of its page


def _value(number: str) -> float:
    total = 0.0
    for part in number.replace(",", ".").split(" "):
        if "/" in part:
            top, bottom = part.split("/")
            total += float(top) / float(bottom) if float(bottom) else 0.0
        elif part:
            total += float(part)
    return total


def _factor(unit: str) -> float:
    for words, factor in _UNITS:
        if re.fullmatch(words, unit):
            return factor
    return INCH


def lengths(text: str, *, bare: bool = False) -> list[tuple[float, bool]]:
    """The stated lengths of a label in mm with whether each was written as a square ("a x a").

    With `bare`, "10 x 10" without a unit counts as centimetres.
    """
    text = fold(text)[:400]
    found: list[tuple[float, bool]] = []
    taken: list[tuple[int, int]] = []
    for match in _PAIR_RE.finditer(text):
        unit = _factor(match[4])
        first = _value(match[1]) * (_factor(match[2]) if match[2] else unit)
        second = _value(match[3]) * unit
        taken.append(match.span())
        if abs(first - second) < 0.01:
            found.append((first, True))
    for match in _LENGTH_RE.finditer(text):
        if not any(a <= match.start() < b for a, b in taken):
            found.append((_value(match[1]) * _factor(match[2]), False))
    if bare and not found:
        for match in _BARE_PAIR_RE.finditer(text):
            if match[1] == match[2]:
                found.append((_value(match[1]) * 10, True))
    return [(mm, pair) for mm, pair in dict.fromkeys(found) if STATED_MM[0] <= mm <= STATED_MM[1]]


def labels_of(page: PageReading) -> list[Label]:
    """Every length that may be the label of a test square."""
    labels: list[Label] = []
    for index, run in enumerate(page.runs):
        text = run.text
        if not any(c.isdigit() for c in text) and not any(c in VULGAR for c in text):
            continue
        named = names_square(text)
        around = page.runs[max(index - 2, 0) : index] + page.runs[index + 1 : index + 3]
        named = named or any(names_square(r.text) and _gap(r, run) < 25 for r in around)
        for stated, pair in lengths(text, bare=named):
            short = len(text) <= 40 and len(text.split()) <= 8
            labels.append(Label(stated_mm=stated, run=run, named=named, short=short, pair=pair, order=index))
    return labels


def _gap(a: TextRun | DrawnBox, b: TextRun | DrawnBox) -> float:
    """The distance between two boxes, mm; 0 where they touch."""
    across = max(a.x - (b.x + b.width), b.x - (a.x + a.width), 0.0)
    down = max(a.y - (b.y + b.height), b.y - (a.y + a.height), 0.0)
    return max(across, down)


def _inside(run: TextRun, box: DrawnBox) -> bool:
    x, y = run.x + run.width / 2, run.y + run.height / 2
    return box.x <= x <= box.x + box.width and box.y <= y <= box.y + box.height


@dataclass(frozen=True, kw_only=True)
class _Pair:
    label: Label
    box: DrawnBox
    gap: float

    @property
    def ratio(self) -> float:
        return drawn_mm(self.box, self.label.stated_mm) / self.label.stated_mm


def drawn_mm(box: DrawnBox, stated: float) -> float:
    """The side of the square, mm; of two unlike sides the one that is farther from what is stated."""
    if abs(box.width - box.height) <= 0.3:
        return (box.width + box.height) / 2
    return max(box.width, box.height, key=lambda side: abs(side - stated))


def is_ok(stated: float, drawn: float) -> bool:
    """Whether the drawn side is right: within the larger of 0.5 mm and 0.8 %."""
    return abs(drawn - stated) <= max(OK_MM, OK_SHARE * stated)


def _pairs(page: PageReading) -> list[_Pair]:
    squares = [b for b in page.boxes if abs(b.width - b.height) <= 0.04 * max(b.width, b.height)]
    labels = labels_of(page)
    alone = len(squares) == 1 and len({label.stated_mm for label in labels if label.named}) == 1
    pairs: list[_Pair] = []
    for label in labels:
        for box in squares:
            gap = 0.0 if _inside(label.run, box) else _gap(label.run, box)
            pair = _Pair(label=label, box=box, gap=gap)
            if _plausible(pair) or (alone and label.named and 0.85 <= pair.ratio <= 1.15):
                pairs.append(pair)
    return sorted(pairs, key=lambda pair: pair.gap)[:_MOST_PAIRS]


def _plausible(pair: _Pair) -> bool:
    """Whether this square can be what this label speaks of, by how it lies to it and by its size."""
    ratio, label = pair.ratio, pair.label
    exact = abs(ratio - 1) < 0.01
    if label.named:
        return pair.gap <= (60 if exact else 30) and 0.4 <= ratio <= 2.1
    if not label.short:
        return False
    if exact:
        return pair.gap <= 12
    return pair.gap <= 6 and 0.9 <= ratio <= 1.08 and pair.box.stroked


def checks_of(page: PageReading) -> list[ScaleCheck]:
    """The test squares of a page, one per label that has its square, in the order of the labels."""
    return [_check(pair, page.number) for pair in _squares_of(page)]


def _squares_of(page: PageReading) -> list[_Pair]:
    pairs = _pairs(page)
    if not pairs:
        return []
    best: dict[float, _Pair] = {}
    best_rank: tuple[float, float, float] | None = None
    for anchor in pairs:
        scale = anchor.ratio
        chosen: dict[float, _Pair] = {}
        for pair in pairs:
            if abs(pair.ratio - scale) <= _ALIKE:
                known = chosen.get(pair.label.stated_mm)
                if known is None or _closer(pair, scale) < _closer(known, scale):
                    chosen[pair.label.stated_mm] = pair
        off = min(abs(scale - 1), min(abs(scale - s) for s, _ in SHRINK_CAUSES) + 0.01)
        rank = (-float(len({id(p.box) for p in chosen.values()})), round(off, 3), min(p.gap for p in chosen.values()))
        if best_rank is None or rank < best_rank:
            best, best_rank = chosen, rank
    return sorted([*best.values(), *_contradicted(pairs, best)], key=lambda pair: pair.label.order)


def _closer(pair: _Pair, scale: float) -> tuple[float, float]:
    return (round(abs(pair.ratio - scale), 4), pair.gap)


def _contradicted(pairs: Sequence[_Pair], best: dict[float, _Pair]) -> list[_Pair]:
    """Labels left over whose own square, used by no other label, is drawn wrong: an inch square drawn as 10 cm."""
    used = {id(pair.box) for pair in best.values()}
    stated = set(best)
    found: list[_Pair] = []
    for pair in pairs:
        mm = pair.label.stated_mm
        taken_by_same_run = any(p.label.run is pair.label.run for p in best.values())
        if mm in stated or id(pair.box) in used or taken_by_same_run or pair.gap > 3 or not 0.9 < pair.ratio < 1.1:
            continue
        stated.add(mm)
        used.add(id(pair.box))
        found.append(pair)
    return found


def _check(pair: _Pair, number: int) -> ScaleCheck:
    stated = pair.label.stated_mm
    drawn = drawn_mm(pair.box, stated)
    ok = is_ok(stated, drawn)
    note = "" if ok else cause(stated, drawn)
    return ScaleCheck(stated_mm=round(stated, 2), drawn_mm=round(drawn, 2), ok=ok, page=number, note=note)


def cause(stated: float, drawn: float) -> str:
    """What a wrong scale looks like, in words."""
    ratio = drawn / stated
    note = f"drawn at {100 * ratio:.2f} %"
    nearest = min(SHRINK_CAUSES, key=lambda row: abs(row[0] - ratio))
    if abs(nearest[0] - ratio) <= 0.0007:
        return f"{note}, {nearest[1]}"
    if abs(drawn - _taken_for(stated)) <= 0.0015 * stated:
        return f"{note}, as inches taken for centimetres (1 in = 2.54 cm)"
    return note


def _taken_for(stated: float) -> float:
    """The length that is easily taken for the stated one: 4 in for 10 cm, 2 in for 5 cm, 1 in for 2.5 cm; else none."""
    for one, other in ((INCH, 25.0), (25.0, INCH)):
        times = round(stated / one)
        if times and abs(stated - times * one) < 0.05:
            return times * other
    return float("inf")


def scale_checks(pages: Iterable[PageReading], *, craft: str | None = None) -> tuple[ScaleCheck, ...]:
    """Every test square of the file in page order.

    Where one is called so, the squares of other pages that only bear a length do not count: a template or a cutting
    plan may hold them.  In quilting nearly everything is a square with a length: there the words must be on the page,
    or another page must say of a square of that length that it is to be checked.
    """
    pages = list(pages)
    announced = _announced(pages) if craft == "quilting" else frozenset()
    found = [(page, _squares_of(page)) for page in pages if page.geometry_read]
    named = {page.number for page, pairs in found if any(pair.label.named for pair in pairs)}
    checks: list[ScaleCheck] = []
    for page, pairs in found:
        if craft == "quilting" and page.number not in named and not _speaks_of_one(page):
            pairs = [pair for pair in pairs if round(pair.label.stated_mm, 1) in announced or _tested(pair.label)]
        elif named and page.number not in named:
            continue
        checks.extend(_check(pair, page.number) for pair in pairs)
    return tuple(checks)


# What is done with a test square, in the languages of the trade: test, check, measure.
_TEST_RE = re.compile(
    r"\b(?:test|check|measur|verify|scale|kontroll|prüf|mess|nachmess|vérifi|contrôl|mesur|meet|controle|comprueb|mide|medir"
    r"|controlla|verifica|misura|mät|mål|sprawd|zmierz|tarkist|mittaa)\w*|確認|測",
    re.IGNORECASE,
)


def _tested(label: Label) -> bool:
    return label.short and _TEST_RE.search(label.run.text) is not None


def _announced(pages: Iterable[PageReading]) -> frozenset[float]:
    """The lengths that the words say are to be checked: 'check the 1" square before you print the rest'."""
    return frozenset(
        round(stated, 1)
        for page in pages
        for run in page.runs
        if _TEST_RE.search(run.text)
        for stated, _ in lengths(run.text)
    )


def _speaks_of_one(page: PageReading) -> bool:
    return any(names_square(run.text) for run in page.runs)


def scale_check(reading: PdfReading, *, craft: str | None = None) -> tuple[ScaleCheck | None, tuple[str, ...]]:
    """The test square to tell of, and the reasons: the first one that is drawn wrong, else the first one."""
    checks = scale_checks(reading.pages, craft=craft)
    if not checks:
        return None, (_why_none(reading),) if reading.pages else ()
    told = next((check for check in checks if not check.ok), checks[0])
    reasons = tuple(f"test square on page {c.page}: {_said(c)}" for c in checks[:6])
    return told, reasons


def _said(check: ScaleCheck) -> str:
    note = f" ({check.note})" if check.note else ""
    return f"says {check.stated_mm:g} mm, drawn {check.drawn_mm:g} mm{note}"


def _why_none(reading: PdfReading) -> str:
    if not any(p.runs or p.n_paths or p.n_images for p in reading.pages):
        return "nothing is drawn on the pages that were read"
    pictures = [p for p in reading.pages if p.text_read and not p.runs and p.n_paths < 3 and p.image_share > 0.5]
    if len(pictures) * 2 > len(reading.pages):
        return "its pages are pictures: the scale cannot be measured"
    if all(not p.runs for p in reading.pages):
        return "its words are drawn, not written: the scale cannot be measured"
    return "no test square found"
