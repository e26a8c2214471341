"""Cutting files: the size of a drawing in mm, and the words in it.

SVG, DXF and EPS each have their module (`svg`, `dxf`, `eps`), which read without help what most files say plainly.
The optional libraries (svgelements, ezdxf) are asked only where that does not do: an SVG without a size, a DXF with
blocks.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

INCH = 25.4
LARGEST = 64 << 20  # bytes
MAX_TEXT = 100_000  # characters of words kept


@dataclass(frozen=True, kw_only=True)
class DrawingSize:
    """A drawing: size in mm (None where the file does not say it), its title and words, how the size was found."""

    width_mm: float | None = None
    height_mm: float | None = None
    title: str | None = None
    text: str = ""
    layers: tuple[str, ...] = ()
    whole: bool = True  # the file is complete
    why: str = ""


def read_drawing(data: bytes) -> tuple[str, DrawingSize] | None:
    """The media type and reading of an SVG, DXF or EPS, or None where the bytes are none of them."""
    from vault.patterns.dxf import read_dxf
    from vault.patterns.eps import read_eps
    from vault.patterns.svg import read_svg

    head = data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n")
    if head.startswith((b"<", b"\x1f\x8b")):
        svg = read_svg(data)
        return ("image/svg+xml", svg) if svg else None
    if head.startswith((b"0", b"999", b"AutoCAD Binary DXF")):
        dxf = read_dxf(data)
        return ("image/vnd.dxf", dxf) if dxf else None
    if head.startswith((b"%!PS", b"\xc5\xd0\xd3\xc6")):
        eps = read_eps(data)
        return ("application/postscript", eps) if eps else None
    return None


_PLAN_WORDS = re.compile(
    r"\b(?:wall|door|window|floor|plan|elevation|section|roof|stair|room|kitchen|bedroom|wand|tür|fenster|grundriss"
    r"|mur|porte|fenêtre|gevel|deur|raam|pared|puerta|planta|muro|porta|finestra|pianta|vägg|dörr|wiring|circuit"
    r"|dimension)s?\b",
    re.IGNORECASE,
)


def looks_like_plan(drawing: DrawingSize) -> bool:
    """Whether a drawing is of a building or a machine by its layers and words, so no cutting file of the trade."""
    words = " ".join((*drawing.layers, drawing.text[:5_000])).replace("_", " ")
    return len({match.casefold() for match in _PLAN_WORDS.findall(words)}) >= 2
