"""Printed lines under construction: inline text becomes pieces, pieces become lines, cells become rows."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple
from urllib.parse import urljoin

from vault.language.folding import squeeze
from vault.receipts.lines import MAX_LINES, MAX_PIECE, Cell, Counter, Line, Link, Piece
from vault.receipts.styles import Sheet

_LAYOUT_LINES = 14  # a cell with more lines is a column of the page, not of a table
_SCHEME_RE = re.compile(r"[a-z][a-z0-9+.\-]{0,30}:", re.I)
_MONEYISH_RE = re.compile(r"\d[.,]\d\d(?!\d)|[€£$¥￥円]|\b(?:kr|zł|EUR|USD|GBP|CHF|SEK|NOK|DKK|PLN)\b")


class Look(NamedTuple):
    """What an element inherits."""

    bold: bool = False
    struck: bool = False
    heading: int = 0
    size: float = 14
    ink: str | None = None
    ground: str | None = None
    pre: bool = False  # line breaks are as they stand
    styled: bool = False  # some ancestor has a class or a ground that may not be known here
    depth: int = 0


class OpenLink:
    """A link whose text is still being collected."""

    def __init__(self, url: str) -> None:
        self.url = url
        self.words: list[str] = []
        self.alt = ""
        self.done = False


@dataclass(slots=True)
class Part:
    """A cell before it is composed into a row."""

    lines: list[Line]
    column: float
    width: float
    head: bool

    @property
    def filled(self) -> bool:
        return any(p.text or p.links for line in self.lines for p in line.pieces)

    @property
    def texts(self) -> list[Line]:
        return [line for line in self.lines if any(p.text or p.links for p in line.pieces)]


def resolved(url: str, base: str) -> str:
    """A link as a whole address, where the page says what it starts from; else as it is written."""
    if not base or not url or url.startswith("#") or _SCHEME_RE.match(url):
        return url
    try:
        return urljoin(base, url)
    except ValueError:
        return url


class Page:
    """What all builders of one document share."""

    def __init__(self, sheet: Sheet, base: str = "") -> None:
        self.sheet = sheet
        self.base = base  # the address that relative links start from, where the page says it
        self.blocks = Counter()
        self.tables = Counter()
        self.pictures: list[str] = []
        self.nodes = 0
        self.lines = 0
        self.struck = 0
        self.hidden = 0


class Builder:
    """Collects inline text into pieces and pieces into lines."""

    def __init__(self, page: Page, open_links: Iterable[OpenLink] = ()) -> None:
        self.page = page
        self.lines: list[Line] = []
        self.block = page.blocks.next()
        self.words: list[tuple[str, bool, bool]] = []  # text, bold, struck
        self.heading = 0
        self.open_links: list[OpenLink] = list(open_links)
        self.pending: list[Link] = []
        self.listed = False
        self.table = 0

    def add(self, text: str, look: Look, *, apart: bool = False) -> None:
        if not text:
            return
        if apart and self.words:
            before = self.words[-1][0][-1:]
            # neighbouring elements without a blank stand apart on the page where letters would run together
            letters = text[0].isalnum() or text[0] in "€£$¥"
            if before.isalnum() and letters and not (before.isdigit() and text[0].isdigit()):
                text = " " + text
        self.words.append((text, look.bold or look.heading > 0, look.struck))
        if look.heading and text.strip():
            self.heading = look.heading
        for link in self.open_links:
            if not link.done:
                link.words.append(text)

    def open(self, url: str) -> OpenLink:
        link = OpenLink(resolved(url, self.page.base))
        self.open_links.append(link)
        return link

    def close(self, link: OpenLink) -> None:
        if link in self.open_links:
            self.open_links.remove(link)
        if not link.done:
            text = squeeze("".join(link.words))
            self.pending.append(Link(text=text or squeeze(link.alt), url=link.url, picture=not text))
            link.done = True

    def flush(self) -> None:
        """End the printed line."""
        words, self.words = self.words, []
        links, self.pending = self.pending, []
        for link in self.open_links:
            text = squeeze("".join(link.words)) if not link.done else ""
            if text:
                links.append(Link(text=text, url=link.url))
                link.done = True
        kept = "".join(t for t, _, struck in words if not struck)
        text = squeeze(kept)[:MAX_PIECE] if kept.strip() else ""
        heading, self.heading = self.heading, 0
        struck = squeeze("".join(t for t, _, s in words if s)) if any(s for _, _, s in words) else ""
        if struck:
            self.page.struck += 1
        if not text and not links and not struck:
            return
        visible = [(t, bold) for t, bold, s in words if not s and t.strip()]
        bold = bool(visible) and all(b for _, b in visible)
        strong = () if bold else _passages(words)
        piece = Piece(text=text, links=tuple(links), bold=bold, heading=heading, strong=strong, struck=struck)
        self.put(Line(cells=(Cell(pieces=(piece,)),), block=self.block, table=self.table, listed=self.listed))
        self.listed = False

    def put(self, line: Line) -> None:
        if self.page.lines < MAX_LINES:
            self.page.lines += 1
            self.lines.append(line)

    def part(self) -> None:
        """End the block."""
        self.flush()
        self.block = self.page.blocks.next()

    def sub(self) -> Builder:
        """A builder for a cell inside this one."""
        return Builder(self.page, self.open_links)


def _passages(words: list[tuple[str, bool, bool]]) -> tuple[str, ...]:
    out: list[str] = []
    run = ""
    for text, bold, struck in [*words, ("", False, False)]:
        if bold and not struck:
            run += text
        elif (run.strip() and text.strip()) or not text:
            if run.strip():
                out.append(squeeze(run))
            run = ""
    return tuple(out)


def compose(parts: list[Part], table: int, out: Builder) -> None:
    """One row of a table or grid: a line of cells, or the cells one after another where they are the page's layout."""
    filled = [p for p in parts if p.filled]
    out.flush()
    if not filled:
        out.part()
        return
    if len(filled) == 1:
        out.part()
        for line in filled[0].lines:
            out.lines.append(line)
        out.part()
        return
    for part in filled:
        part.lines = [_as_pair(line) if len(part.texts) > 1 else line for line in part.lines]
    texts = [p.texts for p in filled]
    block = out.page.blocks.next()
    nested = any(len(line.cells) > 1 for lines in texts for line in lines)
    if all(len(lines) == 1 for lines in texts):
        cells = [
            Cell(pieces=c.pieces, column=p.column + n / 100, head=p.head or c.head, width=p.width)
            for p, lines in zip(filled, texts)
            for n, c in enumerate(lines[0].cells)
        ]
        out.put(Line(cells=tuple(cells), block=block, table=table))
    elif nested or any(len(lines) > _LAYOUT_LINES for lines in texts):
        for part in filled:
            out.lines.extend(part.lines)
            out.part()
    elif _stacked(texts):
        for level in range(len(texts[0])):
            cells = [
                Cell(pieces=lines[level].cells[0].pieces, column=p.column, head=p.head, width=p.width)
                for p, lines in zip(filled, texts)
            ]
            out.put(Line(cells=tuple(cells), block=block, table=table))
    else:
        cells = [
            Cell(
                pieces=tuple(p for line in lines for p in line.pieces),
                column=part.column,
                head=part.head,
                width=part.width,
            )
            for part, lines in zip(filled, texts)
        ]
        out.put(Line(cells=tuple(cells), block=block, table=table))


def _as_pair(line: Line) -> Line:
    """A small row of name and value inside a cell ("Size | M") as one printed line."""
    if len(line.cells) != 2 or any(len(c.pieces) != 1 for c in line.cells) or len(line.text) > 70:
        return line
    name, value = (c.pieces[0] for c in line.cells)
    if not name.text or not value.text or _MONEYISH_RE.search(name.text + value.text):
        return line
    piece = Piece(text=f"{name.text.rstrip(':')}: {value.text}", links=(*name.links, *value.links))
    return Line(cells=(Cell(pieces=(piece,)),), block=line.block, table=0)


def _stacked(texts: list[list[Line]]) -> bool:
    """Whether one row holds several: as many lines in every cell, and in one of them each line an amount."""
    count = len(texts[0])
    if count < 2 or any(len(lines) != count for lines in texts):
        return False
    return any(all(_MONEYISH_RE.search(line.text) and len(line.text) < 30 for line in lines) for lines in texts[1:])
