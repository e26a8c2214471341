"""One reading of a PDF as plain values, made once in a guarded worker.

Lengths are millimetres as a viewer shows the page: after CropBox, Rotate and UserUnit, origin at the top left,
y downwards.  Text is NFC.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, kw_only=True)
class TextRun:
    """A run of text on one base line: its box, the font size in points as shown, and whether the font is bold."""

    text: str
    x: float
    y: float  # top of the run
    width: float
    height: float
    size_pt: float
    bold: bool = False


@dataclass(frozen=True, kw_only=True)
class DrawnBox:
    """An axis-parallel rectangle drawn on the page (one path, `re`, or four strokes), measured on its centre line."""

    x: float
    y: float
    width: float
    height: float
    filled: bool = False
    stroked: bool = True


@dataclass(frozen=True, kw_only=True)
class PageReading:
    """One page.  `runs`/`boxes` are empty where the page was not looked into (`text_read`, `geometry_read`)."""

    number: int  # from 1
    label: str | None
    width_mm: float
    height_mm: float
    rotate: int = 0
    user_unit: float = 1.0
    runs: tuple[TextRun, ...] = ()
    boxes: tuple[DrawnBox, ...] = ()
    n_paths: int = 0
    large_paths: int = 0  # of these, longer or higher than 60 mm where they show on the page
    cut_paths: int = 0  # of these, running over the edge of the page, as the outlines on a tile do
    framed: bool = False  # a frame a little inside the edge of the page
    drawing: str = ""  # short digest of the large shapes and the pictures, for comparing contents
    shapes: tuple[int, ...] = ()  # least hashes of the places of large shapes, for comparing what was drawn anew
    n_images: int = 0
    image_share: float = 0.0  # part of the page covered by pictures, 0 to 1
    text_read: bool = True
    geometry_read: bool = False
    links: tuple[str, ...] = ()  # URI annotations, as text


@dataclass(frozen=True, kw_only=True)
class Layer:
    """An optional content group as written; `name` may be None or hold NULs; `visible` by the default configuration."""

    name: str | None
    visible: bool = True


@dataclass(frozen=True, kw_only=True)
class PdfReading:
    """A PDF as plain values.

    `encrypted` is "none", "user" (a password is needed to open it; then `pages` is empty) or "owner".
    `damaged` holds the reason or None.  `n_pages` counts all pages, `pages` holds those that were read.
    """

    n_pages: int
    pages: tuple[PageReading, ...] = ()
    layers: tuple[Layer, ...] = ()
    # Title, Author, Subject, Keywords, Creator, Producer, CreationDate, ModDate
    metadata: dict[str, str] = field(default_factory=dict)
    encrypted: str = "none"
    damaged: str | None = None
    truncated: bool = False
    attachments: tuple[str, ...] = ()
    active_content: tuple[str, ...] = ()  # "JavaScript", "Launch": never run, only named
    notes: tuple[str, ...] = ()
