"""HTML of mails and saved pages, brought to lines.

Strategy: the tree is walked once with what is inherited (weight, link, colours, size).  A table row, a flex or grid
row and neighbours that float beside each other become one line of cells, if they hold data; where a cell holds rows of
its own the table is only there for the layout and its cells follow each other.  Everything else gives one line per
printed line.  Nothing is loaded; depth, number of nodes and length are bounded.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

from vault.language.folding import squeeze
from vault.receipts.html_lines import Builder, Look, Page, Part, compose
from vault.receipts.lines import MAX_PIECE, Document, Line
from vault.receipts.plain import text_lines
from vault.receipts.styles import CLEAR, Sheet, colour, columns, font_size, hides, same_to_the_eye, side_by_side

MAX_DEPTH = 110
MAX_NODES = 120_000
MAX_HTML = 12_000_000  # characters

_SKIPPED_TAGS = """script style head title noscript template svg math iframe object embed select textarea audio video
canvas map -comment !doctype"""
_SKIPPED = frozenset(_SKIPPED_TAGS.split())
_INLINE_TAGS = """a abbr b bdi bdo big cite code data del dfn em font i ins kbd label mark q s samp small span strike
strong sub sup time tt u var wbr img button nobr"""
_INLINE = frozenset(_INLINE_TAGS.split())
_NO_PLAIN = "a[href],img,br,table,div,p,style,script,ul,ol,dl"  # a preformatted text without these is plain text
_HEADINGS = {f"h{n}": n for n in range(1, 7)}
_BOLD = frozenset(["b", "strong", "th"])
_STRUCK = frozenset(["s", "del", "strike"])
_SAVED_RE = re.compile(r"<!--\s?saved from url=\(\d{1,6}\)(https?://[^\s>]{1,400})")
_COLUMN_CLASS_RE = re.compile(r"(?:^|\s)(?:col|column|cell)(?:s|[-_]\S{1,30})?(?:\s|$)", re.I)
_ROW_CLASS_RE = re.compile(r"(?:^|\s)(?:row|columns|tr)(?:\s|$)", re.I)


def read_html(html: str, **envelope: Any) -> Document:
    """The document that `html` shows; `envelope` fills the other fields of `Document`."""
    from selectolax.lexbor import LexborHTMLParser

    tree = LexborHTMLParser(html[:MAX_HTML])
    sheet = Sheet()
    for style in tree.css("style"):
        media = (style.attributes.get("media") or "").lower()
        if not media or "screen" in media or media == "all":
            sheet.add(style.text(deep=True) or "")
    saved = _SAVED_RE.search(html[:4000])
    page = Page(sheet, _base(tree, saved.group(1) if saved else ""))
    builder = Builder(page)
    body = tree.body or tree.root
    if body is not None:
        _walk(body, Look(), builder)
    builder.flush()
    title = tree.css_first("title")
    root = tree.css_first("html")
    site = tree.css_first('meta[property="og:site_name"], meta[name="application-name"]')
    home = tree.css_first('link[rel="canonical"]')
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


def _base(tree: Any, address: str) -> str:
    """What relative links start from: the page's own word, else the address it was saved from."""
    node = tree.css_first("base[href]")
    said = (node.attributes.get("href") or "").strip() if node is not None else ""
    return said if said.lower().startswith(("http://", "https://")) else address


def _children(node: Any) -> Iterator[Any]:
    child = node.child
    while child is not None:
        yield child
        child = child.next


def _inherit(tag: str, attributes: dict[str, str | None], look: dict[str, str], old: Look) -> Look:
    if not attributes and tag != "pre" and tag not in _HEADINGS and tag not in _BOLD and tag not in _STRUCK:
        return old._replace(depth=old.depth + 1)
    bold, size, ink, ground = old.bold or tag in _BOLD, old.size, old.ink, old.ground
    weight = look.get("font-weight")
    if weight:
        bold = weight in ("bold", "bolder") or (weight.isdigit() and int(weight) >= 600)
    stated = font_size(look)
    size = size if stated is None else stated
    struck = (
        old.struck
        or tag in _STRUCK
        or "line-through" in (look.get("text-decoration", "") + look.get("text-decoration-line", ""))
    )
    if "color" in look or attributes.get("color"):
        ink = colour(look.get("color") or attributes.get("color") or "")
    backdrop = look.get("background-color") or look.get("background") or attributes.get("bgcolor")
    styled = old.styled or "class" in attributes or "background" in attributes
    if backdrop and (painted := colour(backdrop)) != CLEAR:
        ground = painted
        styled = styled or ground is None
    if look.get("background-image", "none") != "none":
        ground, styled = None, True
    heading = _HEADINGS.get(tag) or (3 if size >= 20 and size > old.size else old.heading if size == old.size else 0)
    pre = tag == "pre" or look.get("white-space", "pre" if old.pre else "").startswith("pre")
    return Look(bold, struck, heading, size, ink, ground, pre, styled, old.depth + 1)


def _unseen(look: Look) -> bool:
    """Whether text in this look cannot be seen: of no size, or in the colour of its ground."""
    if look.size <= 2 or look.ink == CLEAR:
        return True
    if look.ink is None:
        return False
    if look.ground is not None:
        return same_to_the_eye(look.ink, look.ground)
    return same_to_the_eye(look.ink, "ffffff") and not look.styled


def _walk(node: Any, inherited: Look, out: Builder) -> None:
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
                elif inherited.pre and "\n" in text:
                    _printed(text, inherited, out)
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
    node: Any, tag: str, attributes: dict[str, str | None], look: dict[str, str], inherited: Look, out: Builder
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
    if new.pre and not new.struck and not _unseen(new) and node.css_first(_NO_PLAIN) is None:
        out.part()
        for line in text_lines(node.text(deep=True) or "", out.page.blocks):
            out.put(line)
        out.part()
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


def _printed(text: str, look: Look, out: Builder) -> None:
    """Text whose line breaks count."""
    for number, line in enumerate(text[:MAX_HTML].split("\n")):
        if number:
            out.flush()
        out.add(line, look)


def _picture(attributes: dict[str, str | None], out: Builder) -> None:
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


def _cell(nodes: Iterable[Any], look: Look, out: Builder) -> list[Line]:
    """The lines inside a cell."""
    inner = out.sub()
    for node in nodes:
        _walk(node, look, inner)
    inner.flush()
    return inner.lines


def _beside(run: list[tuple[Any, dict[str, str]]], inherited: Look, out: Builder) -> None:
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
    parts: list[Part] = []
    for number, (node, look) in enumerate(nodes):
        new = _inherit(node.tag, node.attributes, look, inherited)
        lines = _cell([node], new, out) if new.depth <= MAX_DEPTH else []
        parts.append(Part(lines, number, 1, False))
    compose(parts, out.page.tables.next(), out)
    out.part()


def _row(node: Any, look: Look, out: Builder, per_row: int) -> None:
    """A flex or grid container: its children in one row, or in rows of `per_row`."""
    parts: list[Part] = []
    for child in _children(node):
        tag = child.tag
        if tag == "-text":
            text = child.text(deep=False) or ""
            if text.strip() and not _unseen(look):
                inner = out.sub()
                inner.add(text, look)
                inner.flush()
                parts.append(Part(inner.lines, len(parts), 1, False))
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
        parts.append(Part(inner.lines, len(parts), 1, False))
    table = out.page.tables.next()
    step = len(parts) if per_row < 0 else per_row
    for start in range(0, len(parts), max(1, step)):
        compose(parts[start : start + step], table, out)


def _definitions(node: Any, look: Look, out: Builder) -> None:
    """A definition list: term and definition are the two cells of a row; a term with several definitions is a heading.

    A lone definition stands beside its term; several ("by whom", "what it is", "the price") stand below it.
    """
    table = out.page.tables.next()
    groups: list[tuple[list[Line], list[list[Line]]]] = []
    for child in _children(node):
        if child.tag in (None, "-text", "-comment"):
            continue
        new = _inherit(child.tag, child.attributes, out.page.sheet.look(child.tag, child.attributes), look)
        if hides(out.page.sheet.look(child.tag, child.attributes), child.attributes) or new.depth > MAX_DEPTH:
            continue
        if child.tag == "dt":
            groups.append((_cell([child], new, out), []))
        elif child.tag == "dd":
            if not groups:
                groups.append(([], []))
            groups[-1][1].append(_cell([child], new, out))
        else:
            _defined(groups, table, out)
            groups = []
            _definitions(child, new, out)
    _defined(groups, table, out)


def _defined(groups: list[tuple[list[Line], list[list[Line]]]], table: int, out: Builder) -> None:
    """The rows of terms with their definitions."""
    for term, definitions in groups:
        if len(definitions) == 1:
            compose([Part(term, 0, 1, True), Part(definitions[0], 1, 1, False)], table, out)
            continue
        out.part()
        for lines in (term, *definitions):
            if lines:
                compose([Part(lines, 0, 1, lines is term)], table, out)
        out.part()


def _table(node: Any, look: Look, out: Builder) -> None:
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


def _table_row(row: Any, look: Look, out: Builder, table: int, *, head: bool) -> None:
    parts: list[Part] = []
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
            parts.append(Part(lines, column, width, head or cell.tag == "th"))
        column += width
    compose(parts, table, out)
