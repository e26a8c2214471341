"""What each page is for: tiled, copy-shop, projector, instructions, chart, other; and pages grouped into sheets.

A page is told by how it is built, and only then by words: outlines that run over the edge of a small page, a frame or
trim lines inside its edge and a label of its place in the grid make a tile; running text makes instructions; hundreds
of small cells make a chart; a page wider than home printers is for the copy shop or, of no paper size or so named,
for a projector.  Each sign has a weight in one table; neighbours of a kind decide what a page alone leaves open.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Container, Sequence
from dataclasses import dataclass
from functools import lru_cache

from vault.model.pattern import Sheet
from vault.model.pdf import PageReading, PdfReading
from vault.patterns.paper import CUSTOM, paper_name, roll_width
from vault.patterns.pdf_lines import lines_of
from vault.patterns.sheet_words import (
    CHART_RE,
    COPYSHOP_RE,
    COUNT_RE,
    GRID_RE,
    LARGE_NAME_RE,
    PROJECTOR_RE,
    TEMPLATE_RE,
    TILE_RE,
    TILED_NAME_RE,
    fold,
)

LARGE_SIDE_MM = 400.0  # no home printer is wider: the short side of a sheet for the copy shop or the projector
TILED_FROM = 2.5
_LABEL_CHARS, _LABEL_WORDS = 40, 7
_YARN = ("knitting", "crochet", "embroidery")  # seldom tiled
_CELLS = 150  # paths from which a page may be a chart
_CJK_RE = re.compile(r"[\u3040-\u30ff\u3400-\u9fff]")

WEIGHTS: dict[str, float] = {
    "a tile's words at the edge": 2.0,
    "a grid label": 1.5,
    "counted among all pages": 0.5,
    "outlines cut by the edge": 2.0,
    "one outline cut by the edge": 1.0,
    "a frame": 1.5,
    "large outlines": 1.0,
    "the file's name": 0.5,
}
_PROSE_COST = 40.0  # words of running text that outweigh one point
_MOST_PROSE = 4.0


@dataclass(frozen=True, kw_only=True)
class PageSigns:
    """What is seen on a page.  `prose` counts the words in lines of six or more, `words` all of them."""

    words: int = 0
    prose: int = 0
    numbers: int = 0
    grid: bool = False
    counted: bool = False
    tile_words: bool = False
    chart_words: bool = False
    template_words: bool = False
    projector_words: bool = False
    copyshop_words: bool = False


def _n_words(text: str) -> int:
    """Words; for scripts without blanks two and a half characters make one."""
    cjk = len(_CJK_RE.findall(text))
    return round(cjk / 2.5) if cjk > len(text) / 3 else len(text.split())


def _reads(text: str, n: int) -> bool:
    """Whether a line is text rather than a row of signs or numbers."""
    return len(text) >= 3.2 * n or _CJK_RE.search(text) is not None


def signs_of(page: PageReading, repeated: Container[str] = ()) -> PageSigns:
    """The signs on one page.  Lines in `repeated`, such as a notice at the foot of every page, are no running text."""
    words = prose = numbers = 0
    for line in lines_of(page):
        n = _n_words(line.text)
        words += n
        prose += n if n >= 6 and line.text not in repeated and _reads(line.text, n) else 0
    found: set[str] = set()
    large = max((run.size_pt for run in page.runs), default=0.0)
    for run in page.runs:
        if run.text.isdigit():
            numbers += 1
        elif len(run.text) <= _LABEL_CHARS:
            signs = label_signs(run.text)
            if "chart_words" in signs and not (run.bold or run.size_pt >= 0.75 * large or len(run.text.split()) <= 4):
                signs -= {"chart_words"}
            found |= signs
    return PageSigns(words=words, prose=prose, numbers=numbers, **dict.fromkeys(sorted(found), True))


@lru_cache(maxsize=8192)
def label_signs(text: str) -> frozenset[str]:
    """The signs in one short run.  The labels of a tile come on every tile: told once."""
    if len(text.split()) > _LABEL_WORDS:
        return frozenset()
    folded = fold(text).strip()
    signs = {name for name, expression in _PHRASES if expression.search(folded)}
    if GRID_RE.fullmatch(folded):
        signs.add("grid")
    elif COUNT_RE.fullmatch(folded):
        signs.add("counted")
    return frozenset(signs)


def _repeated(pages: Sequence[PageReading]) -> frozenset[str]:
    """Lines that stand on three pages or more."""
    counts = Counter(text for page in pages for text in {run.text for run in page.runs if len(run.text) > 20})
    return frozenset(text for text, count in counts.items() if count >= 3)


_PHRASES = (
    ("chart_words", CHART_RE),
    ("tile_words", TILE_RE),
    ("template_words", TEMPLATE_RE),
    ("projector_words", PROJECTOR_RE),
    ("copyshop_words", COPYSHOP_RE),
)


def tile_weight(page: PageReading, signs: PageSigns, *, named: bool) -> tuple[float, tuple[str, ...]]:
    """How much speaks for a tile, and what."""
    seen = {
        "a tile's words at the edge": signs.tile_words,
        "a grid label": signs.grid,
        "counted among all pages": signs.counted,
        "outlines cut by the edge": page.cut_paths >= 2,
        "one outline cut by the edge": page.cut_paths == 1,
        "a frame": page.framed,
        "large outlines": page.large_paths >= 2,
        "the file's name": named,
    }
    reasons = tuple(name for name, there in seen.items() if there)
    return sum(WEIGHTS[name] for name in reasons) - min(signs.prose / _PROSE_COST, _MOST_PROSE), reasons


def uses_of(
    reading: PdfReading, *, name: str = "", craft: str | None = None, is_pattern: bool | None = None
) -> tuple[str, ...]:
    """The use of every page, in order."""
    if is_pattern is False:
        return ("other",) * len(reading.pages)
    file_name = fold(name).replace("_", " ")
    named = TILED_NAME_RE.search(file_name) is not None
    repeated = _repeated(reading.pages)
    signs = [signs_of(page, repeated) for page in reading.pages]
    uses: list[str | None] = []
    for page, sign in zip(reading.pages, signs, strict=True):
        if min(page.width_mm, page.height_mm) >= LARGE_SIDE_MM:
            uses.append(_large_use(page, sign, file_name))
        else:
            uses.append(_small_use(page, sign, named=named, craft=craft))
    _like_their_neighbours(reading.pages, signs, uses)
    return tuple(_settled(reading.pages, signs, uses, craft))


def _large_use(page: PageReading, signs: PageSigns, file_name: str) -> str:
    """Copy shop or projector: the name says it, then the page's own words, then its size."""
    if PROJECTOR_RE.search(file_name):
        return "projector"
    if COPYSHOP_RE.search(file_name) or LARGE_NAME_RE.search(file_name):
        return "copy-shop"
    if signs.projector_words != signs.copyshop_words:
        return "projector" if signs.projector_words else "copy-shop"
    on_paper = paper_name(page.width_mm, page.height_mm) != CUSTOM
    return "copy-shop" if on_paper or roll_width(page.width_mm, page.height_mm) else "projector"


def _small_use(page: PageReading, signs: PageSigns, *, named: bool, craft: str | None) -> str | None:
    """The use of a page of printer size, or None where the page alone does not tell."""
    weight, _ = tile_weight(page, signs, named=named)
    if craft in _YARN:
        weight -= 1.0  # it takes more
    if weight >= TILED_FROM and not (craft == "quilting" and signs.template_words and not page.cut_paths):
        return "tiled"
    cells = page.n_paths - page.large_paths >= _CELLS
    named_chart = signs.chart_words and (cells or craft == "embroidery")
    if signs.prose < 60 and (named_chart or (cells and signs.numbers >= 8)):
        return "chart"
    if signs.chart_words and signs.prose < 30 and signs.numbers >= 12:
        return "chart"
    if signs.template_words and signs.prose < 40 and page.large_paths:
        return "other"
    if signs.prose >= 25:
        return "instructions"
    return None


def _like_their_neighbours(pages: Sequence[PageReading], signs: Sequence[PageSigns], uses: list[str | None]) -> None:
    """A framed page before or among tiles of its size is a tile too, its printing notes notwithstanding.

    The last tiles of a grid often hold nothing but a corner of an outline: they are told by the pages before them.
    """
    tiles = [i for i, use in enumerate(uses) if use == "tiled"]
    if not tiles:
        return
    framed = sum(pages[i].framed for i in tiles) * 2 > len(tiles)
    labelled = sum(signs[i].grid or signs[i].counted for i in tiles) * 2 > len(tiles)
    first, last = tiles[0], tiles[-1]
    for index, page in enumerate(pages):
        if uses[index] not in (None, "instructions") or not _same_size(page, pages[first]):
            continue
        like = (framed and page.framed) or (labelled and signs[index].grid)
        if uses[index] is None:
            tile = (like or first < index <= last + 1) and (page.n_paths > 0 or page.n_images == 0)
        else:
            tile = framed and page.framed and first - 1 <= index <= last and signs[index].prose < 160
        if tile:
            uses[index] = "tiled"


def _same_size(a: PageReading, b: PageReading) -> bool:
    return abs(a.width_mm - b.width_mm) < 2 and abs(a.height_mm - b.height_mm) < 2


def _settled(
    pages: Sequence[PageReading], signs: Sequence[PageSigns], uses: Sequence[str | None], craft: str | None
) -> list[str]:
    """What is still open: covers and picture pages go with the instructions, drawings alone are tiles or templates."""
    instructed = any(use in ("instructions", "chart") for use in uses)
    several = sum(use == "instructions" for use in uses) >= 2
    settled: list[str] = []
    for index, (page, sign, use) in enumerate(zip(pages, signs, uses, strict=True)):
        if use == "chart" and several and craft not in _YARN and page.n_paths - page.large_paths < _CELLS:
            settled.append("instructions")  # a table within a booklet
        elif not page.text_read and settled and _same_size(page, pages[index - 1]):
            settled.append(settled[-1])
        elif use is not None:
            settled.append(use)
        elif index == 0 and instructed and sign.words and not page.framed:
            settled.append("instructions")  # a cover
        elif page.large_paths and sign.prose < 25 and not page.n_images:
            drawn = "other" if craft == "quilting" or (instructed and not page.framed) else "tiled"
            settled.append(drawn)
        elif sign.words or instructed or any(u == "tiled" for u in uses):
            settled.append("instructions")
        else:
            settled.append("other")
    return settled


def sheets_of(
    reading: PdfReading, *, name: str = "", craft: str | None = None, is_pattern: bool | None = None
) -> tuple[Sheet, ...]:
    """Pages grouped by size and use, in the order in which they first come."""
    return grouped(reading, uses_of(reading, name=name, craft=craft, is_pattern=is_pattern))


def grouped(reading: PdfReading, uses: Sequence[str]) -> tuple[Sheet, ...]:
    """The same for uses that are known already."""
    groups: list[tuple[PageReading, str, int]] = []
    for page, use in zip(reading.pages, uses, strict=True):
        if page.width_mm <= 0 or page.height_mm <= 0:
            continue
        for index, (first, its_use, count) in enumerate(groups):
            if its_use == use and abs(first.width_mm - page.width_mm) < 1 and abs(first.height_mm - page.height_mm) < 1:
                groups[index] = (first, its_use, count + 1)
                break
        else:
            groups.append((page, use, 1))
    return tuple(
        Sheet(
            paper=paper_name(page.width_mm, page.height_mm),
            width_mm=round(page.width_mm, 1),
            height_mm=round(page.height_mm, 1),
            pages=count,
            use=use,
        )
        for page, use, count in groups
    )
