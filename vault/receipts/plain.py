"""Plain text, brought to lines: a text body of a mail, pasted text.

Columns are runs of blanks, tabs, bars or dotted leaders; a drawn rule parts sections; an address in the text is a
link labelled with the words before it (`label ( url )`, `label <url>`, `label: url`), and one on a line of its own
takes the line above as its label.
"""

from __future__ import annotations

import re
from typing import Any

from vault.language.currencies import CODES
from vault.language.folding import squeeze
from vault.receipts.lines import MAX_LINES, MAX_PIECE, Cell, Counter, Document, Line, Link, Piece, take_links

MAX_TEXT = 4_000_000

_RULE_RE = re.compile(r"\s*(?:[-=_*~#•·.+─━═]\s?){4,}\s*\Z")
_BULLET_RE = re.compile(r"\s{0,40}(?:[*•◦▪‣·●○■□➤►–—-]|\(?\d{1,2}[.)])\s{1,8}(?=\S)")
_NUMBERED_RE = re.compile(r"\s{0,40}\(?\d{1,2}[.)]\s")
# 2 blanks after a full stop are the typist's; anything wider is a column
_GAP_RE = re.compile(r"\s*\t\s*|(?<![.!?:;,\s])\s{2}(?=\S)|\s{3,}|\s*(?:[.…_·]\s?){4,}\s*|\s+[|│┃]\s*|\A[|│┃]\s*")
# a currency that stands in a column of its own belongs to its amount: "CHF    9.50"
_SIGNS = "|".join(sorted(CODES))
_APART_RE = re.compile(rf"(?<=\s)({_SIGNS}|[€£$]|kr|zł|Fr\.)(\s{{1,30}})\s(?=[-−]?\d{{1,6}}[.,]\d\d(?!\d))")
_QUOTE_RE = re.compile(r"(?:\s?[>|]\s?){1,12}(?=\s|\S)")
_SPAM = 400_000


def read_plain(text: str, **envelope: Any) -> Document:
    """The document that plain `text` shows; `envelope` fills the other fields of `Document`."""
    fields: dict[str, Any] = {"lines": tuple(text_lines(text, Counter()))}
    return Document(**{**fields, **envelope})


def text_lines(text: str, blocks: Counter) -> list[Line]:
    """The lines of a text whose line breaks and blanks are as they are printed."""
    lines: list[Line] = []
    block = blocks.next()
    text = text[:MAX_TEXT].replace("\r\n", "\n").replace("\r", "\n")
    for raw in text.split("\n"):
        if len(lines) >= MAX_LINES:
            break
        raw = raw[:4000].rstrip()
        if raw.startswith(">"):
            raw = raw.lstrip("> \t")
        if not raw.strip():
            block = blocks.next()
            continue
        if _RULE_RE.match(raw):
            block = blocks.next()
            lines.append(Line(cells=(), block=block, rule=True))
            continue
        line = _line(raw, block)
        if line is not None:
            lines.append(line)
    return _labelled(lines)


def _line(raw: str, block: int) -> Line | None:
    raw = _APART_RE.sub(r"\2\1 ", raw)
    indent = len(raw) - len(raw.lstrip())
    bullet = _BULLET_RE.match(raw)
    listed = bullet is not None and not re.match(r"\s*[-–—]\s?[\d€£$]", raw)
    start = bullet.end() if bullet is not None and listed and not _NUMBERED_RE.match(raw) else indent
    cells: list[Cell] = []
    body, links = take_links(raw[start:])
    if links:
        # columns are lost with the addresses; a line with a link is one cell
        piece = Piece(text=body[:MAX_PIECE], links=links)
        return Line(cells=(Cell(pieces=(piece,), column=start),), block=block, listed=listed, indent=indent)
    at = start
    for gap in [*_GAP_RE.finditer(raw, start), None]:
        end = gap.start() if gap is not None else len(raw)
        text = squeeze(raw[at:end])
        if text:
            text, bold = _unmarked(text)
            cells.append(Cell(pieces=(Piece(text=text[:MAX_PIECE], bold=bold),), column=at, width=max(1, end - at)))
        at = gap.end() if gap is not None else end
        if len(cells) > 60:
            break
    return Line(cells=tuple(cells), block=block, listed=listed, indent=indent) if cells else None


def _unmarked(text: str) -> tuple[str, bool]:
    """`text` without the stars that mark bold in plain text (`*Total:* 12.00` keeps its words)."""
    if text.startswith("*") and text.count("*") == 2 and len(text) > 3:
        inner = text[1 : text.index("*", 1)]
        rest = text[text.index("*", 1) + 1 :]
        if inner.strip() == inner and inner and not inner.isdigit():
            return (inner + rest).strip(), not rest.strip()
    return text, False


def _labelled(lines: list[Line]) -> list[Line]:
    """Lines that hold nothing but an address take the words of the line above as their label."""
    out: list[Line] = []
    for line in lines:
        links = line.links
        if links and not squeeze(line.text) and not links[0].text and out and out[-1].cells and not out[-1].links:
            above = squeeze(out[-1].cells[-1].text).rstrip(":：")
            if out[-1].block == line.block and len(above) <= 120:
                links = (Link(text=above, url=links[0].url), *links[1:])
                piece = Piece(text="", links=links)
                line = Line(
                    cells=(Cell(pieces=(piece,), column=line.cells[0].column),), block=line.block, indent=line.indent
                )
        out.append(line)
    return out
