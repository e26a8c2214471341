"""Pages as lines of text with their place and size: the one form that the rules over words read.

A PDF's lines are put together from its runs (`pdf_lines`); a plain text makes pages at form feeds.  What stands outside
the page is dropped, since nobody sees it; order is that of the page description, which keeps columns apart.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from vault.model.pdf import PageReading, PdfReading
from vault.patterns.pdf_lines import lines_of

TEXT_LINE_PT = 10.0  # what a line of plain text counts as
LINE_MM = 4.5
_LONGEST_LINE = 4000
_MOST_LINES = 20_000  # in one page of a plain text


@dataclass(frozen=True, kw_only=True)
class TextLine:
    """A line: NFC text with single blanks, its left and top in mm, the largest size in points, whether all is bold."""

    text: str
    x: float = 0.0
    y: float = 0.0
    size_pt: float = TEXT_LINE_PT
    bold: bool = False


@dataclass(frozen=True)
class PageText:
    """One page (`number` from 1) of lines in reading order."""

    number: int
    width_mm: float
    height_mm: float
    lines: tuple[TextLine, ...]

    @cached_property
    def text(self) -> str:
        """The words of the page, one line each."""
        return "\n".join(line.text for line in self.lines)


def pages_of(reading: PdfReading) -> tuple[PageText, ...]:
    """The pages of a PDF that were read, with the lines that show on them."""
    return tuple(
        PageText(page.number, page.width_mm, page.height_mm, tuple(_shown_lines(page))) for page in reading.pages
    )


def _shown_lines(page: PageReading) -> Iterable[TextLine]:
    for line in lines_of(page):
        text = _clean(line.text)
        if not text or not (-5 < line.x < page.width_mm and -5 < line.y < page.height_mm):
            continue
        yield TextLine(text=text, x=line.x, y=line.y, size_pt=line.size_pt, bold=line.bold)


def _clean(text: str) -> str:
    if len(text) > _LONGEST_LINE:
        text = text[:_LONGEST_LINE]
    return " ".join(unicodedata.normalize("NFC", text.replace("\0", " ").replace("\u00ad", "")).split())


def pages_of_text(text: str) -> tuple[PageText, ...]:
    """A plain text as pages of A4 width, a new one at each form feed; empty for an empty text."""
    pages = []
    for number, part in enumerate(text.split("\f"), start=1):
        lines = tuple(
            TextLine(text=line, y=LINE_MM * index)
            for index, raw in enumerate(part.splitlines()[:_MOST_LINES])
            if (line := _clean(raw))
        )
        if lines:
            pages.append(PageText(number, 210.0, max(297.0, LINE_MM * len(lines) + 20), lines))
    return tuple(pages)
