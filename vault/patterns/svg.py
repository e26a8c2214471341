"""SVG cutting files: size, title and words.

The size stands on the root element (SVG 2 §8.2 and §8.9, units of CSS: 96 to the inch).  A size in pixels or without
unit is taken so, which drawing programs do not all follow, so the reason is kept.  A document that declares entities
is read no further: no drawing needs them.
"""

from __future__ import annotations

import io
import math
import re
from contextlib import suppress
from xml.parsers import expat

from vault.patterns.cutting import INCH, LARGEST, MAX_TEXT, DrawingSize

_CSS_MM: dict[str, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "q": 0.25,
    "in": INCH,
    "pt": INCH / 72,
    "pc": INCH / 6,
    "px": INCH / 96,
    "": INCH / 96,
}
_LENGTH_RE = re.compile(r"\s*([+-]?\d{1,9}(?:\.\d{0,12})?(?:[eE][+-]?\d{1,3})?|\.\d{1,12})\s*([a-zA-Z]*|%)\s*")
_TEXT_ELEMENTS = {"title", "desc", "text", "tspan", "textpath", "metadata", "description", "creator", "rights"}


class _Stop(Exception):
    """Enough was read, or the document declares entities of its own, which no drawing needs."""


class _SvgReader:
    """Collects the root's attributes and the words."""

    def __init__(self) -> None:
        self.root: dict[str, str] | None = None
        self.words: list[str] = []
        self.title: str | None = None
        self.closed = False
        self._open: list[str] = []
        self._length = 0

    def start(self, name: str, attributes: dict[str, str]) -> None:
        local = name.rsplit(":", 1)[-1].casefold()
        if self.root is None:
            if local != "svg":
                raise _Stop
            self.root = attributes
        self._open.append(local)

    def end(self, _name: str) -> None:
        if self._open:
            self._open.pop()
        self.closed = not self._open

    def text(self, data: str) -> None:
        words = " ".join(data.split())
        if not words or self._length > MAX_TEXT or not self._open or self._open[-1] not in _TEXT_ELEMENTS:
            return
        self._length += len(words)
        self.words.append(words)
        if self._open[-1] == "title" and self.title is None and len(self._open) == 2:
            self.title = words

    def entity(self, *_: object) -> None:
        raise _Stop


def read_svg(data: bytes) -> DrawingSize | None:
    """The SVG's size and words, or None where the bytes are no SVG."""
    if data[:2] == b"\x1f\x8b":
        data = _inflated(data)
    if len(data) > LARGEST:
        return None
    reader = _SvgReader()
    parser = expat.ParserCreate()
    parser.StartElementHandler = reader.start
    parser.EndElementHandler = reader.end
    parser.CharacterDataHandler = reader.text
    parser.EntityDeclHandler = reader.entity
    with suppress(_Stop, expat.ExpatError):
        parser.Parse(data, True)
    if reader.root is None:
        return None
    width, height, why = _svg_size(reader.root, data)
    return DrawingSize(
        width_mm=width, height_mm=height, title=reader.title, text="\n".join(reader.words), whole=reader.closed, why=why
    )


def _inflated(data: bytes) -> bytes:
    import zlib

    with suppress(zlib.error):
        return zlib.decompressobj(31).decompress(data, LARGEST)
    return b""


def _svg_size(root: dict[str, str], data: bytes) -> tuple[float | None, float | None, str]:
    width, height = _css_mm(root.get("width")), _css_mm(root.get("height"))
    box = _view_box(root.get("viewBox"))
    if width and height:
        unit = (_LENGTH_RE.fullmatch(root["width"]) or [None, None, ""])[2]
        why = "size as written" if unit not in ("", "px") else "size in pixels, taken as 96 to the inch"
        return round(width, 2), round(height, 2), why
    if width and box:
        return round(width, 2), round(width * box[1] / box[0], 2), "width as written, height by its proportions"
    if height and box:
        return round(height * box[0] / box[1], 2), round(height, 2), "height as written, width by its proportions"
    if box:
        pixel = INCH / 96
        return round(box[0] * pixel, 2), round(box[1] * pixel, 2), "size from the view box, taken as 96 to the inch"
    return _svg_by_shapes(data)


def _css_mm(value: str | None) -> float | None:
    match = _LENGTH_RE.fullmatch(value) if value else None
    factor = _CSS_MM.get(match[2].casefold()) if match else None
    if match is None or factor is None:
        return None
    length = float(match[1]) * factor
    return length if 0 < length < 1e6 else None


def _view_box(value: str | None) -> tuple[float, float] | None:
    try:
        numbers = [float(x) for x in re.split(r"[\s,]+", (value or "").strip())]
    except ValueError:
        return None
    if len(numbers) != 4 or not all(math.isfinite(x) for x in numbers) or numbers[2] <= 0 or numbers[3] <= 0:
        return None
    return numbers[2], numbers[3]


def _svg_by_shapes(data: bytes) -> tuple[float | None, float | None, str]:
    try:
        from svgelements import SVG
    except ImportError:
        return None, None, "it does not say its size"
    if len(data) > 4 << 20:
        return None, None, "it does not say its size"
    try:
        box = SVG.parse(io.BytesIO(data), ppi=96).bbox()
    except (ArithmeticError, LookupError, TypeError, ValueError, AttributeError, SyntaxError, RecursionError):
        box = None
    if not box:
        return None, None, "it does not say its size"
    width, height = (box[2] - box[0]) * INCH / 96, (box[3] - box[1]) * INCH / 96
    return round(width, 2), round(height, 2), "size by its shapes, taken as 96 to the inch"
