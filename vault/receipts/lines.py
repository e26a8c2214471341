"""The one small form that every kind of evidence is brought to before it is read.

A `Document` is a list of `Line`s in reading order.  A line has one cell (a printed line of text) or several (a row of
a table, of a div grid, of aligned columns).  A cell holds `Piece`s, the printed lines inside it, each with its links
and weight.  Lines of one visual block share `block`; rows of one table share `table`.

What hides (not displayed, of no size, the colour of its ground) is not in the form; struck-out text is kept apart, as
it is the price that was not paid.  Everything is bounded: a document of any size gives at most `MAX_LINES` lines.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from vault.language.folding import fold, squeeze

MAX_LINES = 12_000
MAX_PIECE = 2000  # characters


@dataclass(frozen=True, slots=True)
class Link:
    """A link as text; `picture` when its label is only the description of a picture."""

    text: str
    url: str
    picture: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """One printed line inside a cell.

    `bold` is for the whole piece, `strong` lists the bold passages of one that is not; `heading` is 1 to 6 or 0;
    `struck` is what stood there struck out.
    """

    text: str
    links: tuple[Link, ...] = ()
    bold: bool = False
    heading: int = 0
    strong: tuple[str, ...] = ()
    struck: str = ""


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell of a row: its pieces, the column it starts in (a count, or millimetres from the left in a PDF)."""

    pieces: tuple[Piece, ...]
    column: float = 0
    head: bool = False
    width: float = 1

    @property
    def text(self) -> str:
        """All its text on one line."""
        return self.pieces[0].text if len(self.pieces) == 1 else " ".join(p.text for p in self.pieces if p.text)

    @property
    def links(self) -> tuple[Link, ...]:
        """All its links."""
        return tuple(link for piece in self.pieces for link in piece.links)

    @property
    def bold(self) -> bool:
        """Whether its first printed line is bold or a heading."""
        first = next((p for p in self.pieces if p.text), None)
        return first is not None and (first.bold or first.heading > 0)


@dataclass(frozen=True, slots=True)
class Line:
    """A line of cells.  `table` is 0 for plain text; `listed` marks an item of a list; `rule` a drawn separator."""

    cells: tuple[Cell, ...]
    block: int = 0
    table: int = 0
    listed: bool = False
    rule: bool = False
    indent: int = 0

    @property
    def text(self) -> str:
        """All its text, cells parted by a tab."""
        return "\t".join(c.text for c in self.cells)

    @property
    def pieces(self) -> Iterator[Piece]:
        """All its pieces, in order."""
        for cell in self.cells:
            yield from cell.pieces

    @property
    def links(self) -> tuple[Link, ...]:
        """All its links."""
        return tuple(link for cell in self.cells for link in cell.links)


@dataclass(frozen=True)
class Document:
    """A document in the small form, with what its envelope says.

    `subject`, `sender_name`, `sender_address` and `dated` are those of the mail; `title` is that of the page;
    `pictures` are the descriptions of pictures, top to bottom; `struck` counts struck-out prices; `hidden` is the
    amount of text that does not show.
    """

    lines: tuple[Line, ...]
    subject: str = ""
    title: str = ""
    sender_name: str = ""
    sender_address: str = ""
    reply_to: str = ""
    recipient_name: str = ""
    recipient_address: str = ""
    dated: date | None = None
    declared_language: str | None = None
    language: str | None = None
    pictures: tuple[str, ...] = ()
    struck: int = 0
    hidden: int = 0
    bulk: bool = False
    address: str = ""  # where a page was saved from
    file_name: str = ""
    attached: tuple[str, ...] = ()  # names of the files that came with the mail
    extra: dict[str, str] = field(default_factory=dict)

    @cached_property
    def text(self) -> str:
        """All its text, one line each."""
        return "\n".join(line.text for line in self.lines)

    @cached_property
    def folded(self) -> str:
        """Its text folded for the search of words, subject first, paragraphs joined so that wrapped lines match."""
        parts: list[str] = [self.subject]
        block = -1
        for line in self.lines:
            joint = " " if line.block == block else "\n"
            parts.append(joint + " ".join(p.text for p in line.pieces))
            block = line.block
        return "\n".join(fold(part) for part in "".join(parts).split("\n"))

    @property
    def links(self) -> Iterator[Link]:
        """All its links, in order."""
        for line in self.lines:
            yield from line.links


class Counter:
    """Hands out numbers for blocks and tables."""

    def __init__(self) -> None:
        self.value = 0

    def next(self) -> int:
        """A number that was not given before."""
        self.value += 1
        return self.value


def piece_of(text: str, **more: object) -> Piece:
    """A piece with its text squeezed and bounded."""
    return Piece(text=squeeze(text)[:MAX_PIECE], **more)  # type: ignore[arg-type]


def plain_line(text: str, block: int, **more: object) -> Line:
    """A line of one cell with one piece."""
    return Line(cells=(Cell(pieces=(piece_of(text),)),), block=block, **more)  # type: ignore[arg-type]


URL_RE = re.compile(r"(?:https?://|www\.)[^\s<>\"'\\^`{|}\[\]]{3,2000}", re.I)
_SENTENCE_RE = re.compile(r"(?<=\w)[.!?]\s+(?=[^\W\d_])|(?<=[。！？])")
_TRAILING = ".,;:!?)»”’』」）、。"


def take_links(text: str) -> tuple[str, tuple[Link, ...]]:
    """`text` without its addresses, and the links: each labelled with the words just before it on the line.

    Understands `label ( url )`, `label <url>`, `[label](url)`, `label: url` and a bare url (label empty).
    """
    if "://" not in text and "www." not in text.lower():
        return text, ()
    links: list[Link] = []
    rest: list[str] = []
    at = 0
    for match in URL_RE.finditer(text):
        url = match.group()
        while url and url[-1] in _TRAILING and not (url[-1] == ")" and "(" in url):
            url = url[:-1]
        before = text[at : match.start()]
        end = match.start() + len(url)
        stripped = before.rstrip()
        if stripped.endswith(("](", "(", "<", "[")):
            mark = stripped[-1]
            close = {"(": ")", "<": ">", "[": "]"}[mark]
            stripped = stripped.removesuffix("](") if stripped.endswith("](") else stripped[:-1]
            tail = text[end:].lstrip()
            if tail.startswith(close):
                end = len(text) - len(tail) + 1
        label = _SENTENCE_RE.split(squeeze(stripped.rsplit("|", 1)[-1].rsplit("·", 1)[-1]))[-1]
        label = label.rsplit("[", 1)[-1] if "[" in label and "]" not in label else label
        rest.append(stripped.replace("[", " ") if "[" in stripped and "]" not in stripped else stripped)
        links.append(Link(text=label.rstrip(":：>→- ").strip(), url=url))
        at = end
    rest.append(text[at:])
    return squeeze(" ".join(rest)), tuple(links)
