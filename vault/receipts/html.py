"""HTML of mails and saved pages, brought to lines.

Strategy: the tree is walked once with what is inherited (weight, link, colours, size).  A table row, a flex or grid
row and neighbours that float beside each other become one line of cells, if they hold data; where a cell holds rows of
its own the table is only there for the layout and its cells follow each other.  Everything else gives one line per
printed line.  Nothing is loaded; depth, number of nodes and length are bounded.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

from vault.language.folding import squeeze
from vault.receipts.lines import MAX_LINES, MAX_PIECE, Cell, Counter, Document, Line, Link, Piece
from vault.receipts.styles import Sheet, colour, columns, hides, points, side_by_side

MAX_DEPTH = 110
MAX_NODES = 120_000
MAX_HTML = 12_000_000  # characters
_LAYOUT_LINES = 14  # a cell with more lines is a column of the page, not of a table

_SKIPPED = frozenset(
    """script style head title noscript template svg math iframe object embed select textarea audio video canvas map
    -comment !doctype""".split()
)
_INLINE = frozenset(
    """a abbr b bdi bdo big cite code data del dfn em font i ins kbd label mark q s samp small span strike strong sub sup
    time tt u var wbr img button nobr center-inline""".split()
)
_HEADINGS = {f"h{n}": n for n in range(1, 7)}
_BOLD = frozenset(["b", "strong", "th"])
_STRUCK = frozenset(["s", "del", "strike"])
_MONEYISH_RE = re.compile(r"\d[.,]\d\d(?!\d)|[€£$¥￥円]|\b(?:kr|zł|EUR|USD|GBP|CHF|SEK|NOK|DKK|PLN)\b")
_SAVED_RE = re.compile(r"<!--\s?saved from url=\(\d{1,6}\)(https?://[^\s>]{1,400})")
_COLUMN_CLASS_RE = re.compile(r"(?:^|\s)(?:col|column|cell)(?:s|[-_]\S{1,30})?(?:\s|$)", re.I)
_ROW_CLASS_RE = re.compile(r"(?:^|\s)(?:row|columns|tr)(?:\s|$)", re.I)


class _Look(NamedTuple):
    """What an element inherits."""

    bold: bool = False
    struck: bool = False
    heading: int = 0
    size: float = 14
    ink: str | None = None
    ground: str | None = None
    styled: bool = False  # some ancestor has a class or a ground that may not be known here
    depth: int = 0


class _OpenLink:
    """A link whose text is still being collected."""

    def __init__(self, url: str) -> None:
        self.url = url
        self.words: list[str] = []
        self.alt = ""
        self.done = False


@dataclass(slots=True)
class _Part:
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


class _Page:
    """What all builders of one document share."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.blocks = Counter()
        self.tables = Counter()
        self.pictures: list[str] = []
        self.nodes = 0
        self.lines = 0
        self.struck = 0
        self.hidden = 0


class _Builder:
    """Collects inline text into pieces and pieces into lines."""

    def __init__(self, page: _Page, open_links: Iterable[_OpenLink] = ()) -> None:
        self.page = page
        self.lines: list[Line] = []
        self.block = page.blocks.next()
        self.words: list[tuple[str, bool, bool]] = []  # text, bold, struck
        self.heading = 0
        self.open_links: list[_OpenLink] = list(open_links)
        self.pending: list[Link] = []
        self.listed = False
        self.table = 0

    def add(self, text: str, look: _Look, *, apart: bool = False) -> None:
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

    def open(self, url: str) -> _OpenLink:
        link = _OpenLink(url)
        self.open_links.append(link)
        return link

    def close(self, link: _OpenLink) -> None:
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

    def sub(self) -> _Builder:
        """A builder for a cell inside this one."""
        return _Builder(self.page, self.open_links)


def _passages(words: list[tuple[str, bool, bool]]) -> tuple[str, ...]:
    out: list[str] = []
    run = ""
    for text, bold, struck in [*words, ("", False, False)]:
        if bold and not struck:
            run += text
        elif run.strip() and text.strip() or not text:
            if run.strip():
                out.append(squeeze(run))
            run = ""
    return tuple(out)


def read_html(html: str, **envelope: Any) -> Document:
    """The document that `html` shows; `envelope` fills the other fields of `Document`."""
    from selectolax.lexbor import LexborHTMLParser

    tree = LexborHTMLParser(html[:MAX_HTML])
    sheet = Sheet()
    for style in tree.css("style"):
        media = (style.attributes.get("media") or "").lower()
        if not media or "screen" in media or media == "all":
            sheet.add(style.text(deep=True) or "")
    page = _Page(sheet)
    builder = _Builder(page)
    body = tree.body or tree.root
    if body is not None:
        _walk(body, _Look(), builder)
    builder.flush()
    title = tree.css_first("title")
    root = tree.css_first("html")
    site = tree.css_first('meta[property="og:site_name"]')
    home = tree.css_first('link[rel="canonical"]')
    saved = _SAVED_RE.search(html[:4000])
    address = saved.group(1) if saved else (home.attributes.get("href") or "") if home is not None else ""
    fields: dict[str, Any] = {
        "address": address[:500],
        "extra": {"site_name": squeeze(site.attributes.get("content") or "")[:80]} if site is not None else {},
        "lines": tuple(builder.lines),
        "title": squeeze(title.text(deep=True) or "")[:300] if title is not None else "",
        "declared_language": root.attributes.get("lang") if root is not None else None,
        "pictures": tuple(page.pictures[:200]),
        "struck": page.struck,
        "hidden": page.hidden,
    }
    return Document(**{**fields, **envelope})


def _children(node: Any) -> Iterator[Any]:
    child = node.child
    while child is not None:
        yield child
        child = child.next


def _inherit(tag: str, attributes: dict[str, str | None], look: dict[str, str], old: _Look) -> _Look:
    if not attributes and tag not in _HEADINGS and tag not in _BOLD and tag not in _STRUCK:
        return old._replace(depth=old.depth + 1)
    bold, size, ink, ground = old.bold or tag in _BOLD, old.size, old.ink, old.ground
    weight = look.get("font-weight")
    if weight:
        bold = weight in ("bold", "bolder") or (weight.isdigit() and int(weight) >= 600)
    if "font-size" in look:
        size = points(look["font-size"]) if points(look["font-size"]) is not None else size  # type: ignore[assignment]
    struck = (
        old.struck
        or tag in _STRUCK
        or "line-through" in (look.get("text-decoration", "") + look.get("text-decoration-line", ""))
    )
    if "color" in look or attributes.get("color"):
        ink = colour(look.get("color") or attributes.get("color") or "")
    backdrop = look.get("background-color") or look.get("background") or attributes.get("bgcolor")
    styled = old.styled or "class" in attributes or "background" in attributes
    if backdrop:
        ground = colour(backdrop)
        styled = styled or ground is None
    heading = _HEADINGS.get(tag) or (3 if size >= 20 and size > old.size else old.heading if size == old.size else 0)
    return _Look(bold, struck, heading, size, ink, ground, styled, old.depth + 1)


def _unseen(look: _Look) -> bool:
    """Whether text in this look cannot be seen: of no size, or in the colour of its ground."""
    if look.size <= 2:
        return True
    if look.ink is None:
        return False
    if look.ground is not None:
        return look.ink == look.ground
    return look.ink == "ffffff" and not look.styled


def _walk(node: Any, inherited: _Look, out: _Builder) -> None:
    """The children of `node` into `out`."""
    run: list[tuple[Any, dict[str, str]]] = []  # neighbours that stand side by side
    before = node.prev
    fresh = node.tag == "span" and before is not None and before.tag == "span"
    for child in _children(node):
        tag = child.tag
        page = out.page
        page.nodes += 1
        if page.nodes > MAX_NODES:
            return
        if tag == "-text":
            text = child.text(deep=False) or ""
            if run and text.strip():
                _beside(run, inherited, out)
            if text and not (run and not text.strip()):
                if _unseen(inherited):
                    page.hidden += len(text.strip())
                else:
                    out.add(text, inherited, apart=fresh)
                    fresh = False
            continue
        if tag is None or tag in _SKIPPED:
            continue
        attributes = child.attributes
        look = page.sheet.look(tag, attributes) if attributes or page.sheet.rules else {}
        if hides(look, attributes):
            page.hidden += 1
            continue
        if side_by_side(look) and tag not in ("a", "img", "td", "th", "button"):
            run.append((child, look))
            continue
        if run:
            _beside(run, inherited, out)
        _element(child, tag, attributes, look, inherited, out)
    if run:
        _beside(run, inherited, out)


def _element(
    node: Any, tag: str, attributes: dict[str, str | None], look: dict[str, str], inherited: _Look, out: _Builder
) -> None:
    if tag == "br":
        out.flush()
        return
    if tag == "hr":
        out.part()
        out.put(Line(cells=(), block=out.block, rule=True))
        return
    if tag == "img":
        _picture(attributes, out)
        return
    new = _inherit(tag, attributes, look, inherited)
    if new.depth > MAX_DEPTH:
        text = node.text(deep=True) or ""
        out.add(text[:MAX_PIECE], new)
        return
    if tag == "a" and attributes.get("href"):
        link = out.open(str(attributes["href"]).strip())
        _walk(node, new, out)
        out.close(link)
        return
    if tag in _INLINE and look.get("display") not in ("block", "flex", "grid", "table"):
        _walk(node, new, out)
        return
    if tag == "table":
        out.part()
        _table(node, new, out)
        out.part()
        return
    if tag == "dl":
        out.part()
        _definitions(node, new, out)
        out.part()
        return
    in_row = columns(look) or _by_class(node, attributes)
    if in_row:
        out.part()
        _row(node, new, out, in_row)
        out.part()
        return
    out.part()
    if tag == "li":
        out.listed = True
    _walk(node, new, out)
    out.part()
    out.listed = False


def _picture(attributes: dict[str, str | None], out: _Builder) -> None:
    alt = squeeze(attributes.get("alt") or "")
    if alt and len(out.page.pictures) < 300:
        out.page.pictures.append(alt[:200])
    for link in out.open_links:
        if alt and not link.done:
            link.alt = link.alt or alt


def _by_class(node: Any, attributes: dict[str, str | None]) -> int:
    """-1 for a grid that is only known by the names of its classes, which layout frameworks share."""
    if not _ROW_CLASS_RE.search(attributes.get("class") or ""):
        return 0
    named = [c for c in _children(node) if c.tag not in (None, "-text", "-comment")]
    fitting = [c for c in named if _COLUMN_CLASS_RE.search(c.attributes.get("class") or "")]
    return -1 if len(fitting) >= 2 and len(fitting) == len(named) else 0


def _cell(nodes: Iterable[Any], look: _Look, out: _Builder) -> list[Line]:
    """The lines inside a cell."""
    inner = out.sub()
    for node in nodes:
        _walk(node, look, inner)
    inner.flush()
    return inner.lines


def _beside(run: list[tuple[Any, dict[str, str]]], inherited: _Look, out: _Builder) -> None:
    """Neighbours that stand side by side: one row, or a block if there is only one."""
    nodes = list(run)
    run.clear()
    inline = all(node.tag in _INLINE for node, _ in nodes)
    if inline or len(nodes) == 1:
        for node, look in nodes:
            attributes = node.attributes
            new = _inherit(node.tag, attributes, look, inherited)
            if new.depth > MAX_DEPTH:
                continue
            if inline:
                out.add(" ", inherited)
                _walk(node, new, out)
                out.add(" ", inherited)
            else:
                out.part()
                _walk(node, new, out)
                out.part()
        return
    out.part()
    parts: list[_Part] = []
    for number, (node, look) in enumerate(nodes):
        new = _inherit(node.tag, node.attributes, look, inherited)
        lines = _cell([node], new, out) if new.depth <= MAX_DEPTH else []
        parts.append(_Part(lines, number, 1, False))
    _compose(parts, out.page.tables.next(), out)
    out.part()


def _row(node: Any, look: _Look, out: _Builder, per_row: int) -> None:
    """A flex or grid container: its children in one row, or in rows of `per_row`."""
    parts: list[_Part] = []
    for child in _children(node):
        tag = child.tag
        if tag == "-text":
            text = child.text(deep=False) or ""
            if text.strip() and not _unseen(look):
                inner = out.sub()
                inner.add(text, look)
                inner.flush()
                parts.append(_Part(inner.lines, len(parts), 1, False))
            continue
        if tag is None or tag in _SKIPPED:
            continue
        attributes = child.attributes
        own = out.page.sheet.look(tag, attributes)
        if hides(own, attributes):
            continue
        inner = out.sub()
        if side_by_side(own):
            own = {k: v for k, v in own.items() if k not in ("display", "float")}
        _element(child, tag, attributes, own, look, inner)
        inner.flush()
        parts.append(_Part(inner.lines, len(parts), 1, False))
    table = out.page.tables.next()
    step = len(parts) if per_row < 0 else per_row
    for start in range(0, len(parts), max(1, step)):
        _compose(parts[start : start + step], table, out)


def _definitions(node: Any, look: _Look, out: _Builder) -> None:
    """A definition list: term and definition are the two cells of a row."""
    table = out.page.tables.next()
    term: list[Line] = []
    for child in _children(node):
        if child.tag in (None, "-text", "-comment"):
            continue
        new = _inherit(child.tag, child.attributes, out.page.sheet.look(child.tag, child.attributes), look)
        if hides(out.page.sheet.look(child.tag, child.attributes), child.attributes) or new.depth > MAX_DEPTH:
            continue
        if child.tag == "dt":
            if term:
                _compose([_Part(term, 0, 1, True)], table, out)
            term = _cell([child], new, out)
        elif child.tag == "dd":
            _compose([_Part(term, 0, 1, True), _Part(_cell([child], new, out), 1, 1, False)], table, out)
            term = []
        else:
            _definitions(child, new, out)
    if term:
        _compose([_Part(term, 0, 1, True)], table, out)


def _table(node: Any, look: _Look, out: _Builder) -> None:
    table = out.page.tables.next()
    for section in _children(node):
        tag = section.tag
        if tag in (None, "-text", "-comment") or tag in ("colgroup", "col", *_SKIPPED):
            continue
        own = out.page.sheet.look(tag, section.attributes)
        if hides(own, section.attributes):
            out.page.hidden += 1
            continue
        new = _inherit(tag, section.attributes, own, look)
        if tag == "tr":
            _table_row(section, new, out, table, head=False)
        elif tag in ("thead", "tbody", "tfoot"):
            for row in _children(section):
                if row.tag == "tr":
                    own = out.page.sheet.look("tr", row.attributes)
                    if not hides(own, row.attributes):
                        _table_row(row, _inherit("tr", row.attributes, own, new), out, table, head=tag == "thead")
        else:
            _walk(section, new, out)
            out.part()


def _table_row(row: Any, look: _Look, out: _Builder, table: int, *, head: bool) -> None:
    parts: list[_Part] = []
    column = 0
    for cell in _children(row):
        if cell.tag not in ("td", "th"):
            continue
        out.page.nodes += 1
        attributes = cell.attributes
        own = out.page.sheet.look(cell.tag, attributes)
        span = attributes.get("colspan") or "1"
        width = min(50, int(span)) if span.isdigit() and span.isascii() and int(span[:4]) else 1
        if not hides(own, attributes):
            new = _inherit(cell.tag, attributes, own, look)
            lines = _cell([cell], new, out) if new.depth <= MAX_DEPTH else []
            parts.append(_Part(lines, column, width, head or cell.tag == "th"))
        column += width
    _compose(parts, table, out)


def _compose(parts: list[_Part], table: int, out: _Builder) -> None:
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
