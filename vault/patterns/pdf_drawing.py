"""What is drawn on a page, from the bounds of its paths and pictures alone.

The outlines of pattern pieces are large, and on a tile they run over its edge; a tile has a frame or trim lines a
little inside its edge.  That is told from one bounding box per path, without walking its segments, so that 120 tiles
stay cheap.  The same boxes give the digest by which two files are compared.
"""

from __future__ import annotations

import ctypes
import hashlib
import zlib
from typing import Any

from vault.patterns.pdf_page import IDENTITY, Matrix, apply, multiply
from vault.patterns.pdf_paths import SMALLEST_MM
from vault.patterns.pdfium import bounds_of, library

LARGE_MM = 60.0
_OVER_MM = 3.0  # so far over the edge counts as cut
_FRAME_MM = 32.0  # a frame lies within this of the edge
_THIN_MM = 1.2
_GRID_MM = 4.0  # places are rounded so far for comparing files that another program wrote anew
_MOST_SHAPES = 24
_DIGEST_MIN_MM = 8.0  # flatter shapes may be the rule above a buyer's stamp

Box = tuple[float, float, float, float]


class DrawingReader:
    """Collects the drawing of one page of the given size, mm."""

    def __init__(self, to_mm: Matrix, width: float, height: float) -> None:
        self._to_mm, self._width, self._height = to_mm, width, height
        self._digest: list[str] = []
        self._shapes: set[int] = set()
        self._level_edges = self._upright_edges = 0
        self._covered = 0.0
        self.n_paths = self.n_images = self.large = self.cut = 0
        self.whole_frame = False

    def box(self, page_object: Any, outer: Matrix) -> Box | None:
        """The bounds of an object on the page, mm."""
        bounds = bounds_of(page_object)
        if bounds is None:
            return None
        m = self._to_mm if outer is IDENTITY else multiply(outer, self._to_mm)
        ax, ay = apply(m, bounds[0], bounds[1])
        bx, by = apply(m, bounds[2], bounds[3])
        if m[1] or m[2]:  # turned: all four corners count
            cx, cy = apply(m, bounds[0], bounds[3])
            dx, dy = apply(m, bounds[2], bounds[1])
            return min(ax, bx, cx, dx), min(ay, by, cy, dy), max(ax, bx, cx, dx), max(ay, by, cy, dy)
        return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)

    def path(self, page_object: Any, outer: Matrix) -> bool:
        """One path.  Whether it shows and is large enough to be a side of a test square."""
        box = self.box(page_object, outer)
        if box is None:
            return False
        x0, y0, x1, y1 = box
        if x1 < 0 or y1 < 0 or x0 > self._width or y0 > self._height:
            return False
        self.n_paths += 1
        seen_width = min(x1, self._width) - max(x0, 0.0)
        seen_height = min(y1, self._height) - max(y0, 0.0)
        if max(seen_width, seen_height) < LARGE_MM:
            return max(seen_width, seen_height) >= SMALLEST_MM
        self._edge(box)
        self.large += 1
        over = max(-x0, -y0, x1 - self._width, y1 - self._height)
        if over > _OVER_MM and min(seen_width, seen_height) > _DIGEST_MIN_MM:
            self.cut += 1
        if min(x1 - x0, y1 - y0) >= _DIGEST_MIN_MM and len(self._digest) < 4_000:
            self._digest.append(f"{x0:.0f},{y0:.0f},{x1:.0f},{y1:.0f}")
            self._shape("", (max(x0, 0.0), max(y0, 0.0), min(x1, self._width), min(y1, self._height)))
        return True

    def image(self, page_object: Any, outer: Matrix) -> None:
        """One picture."""
        box = self.box(page_object, outer)
        if box is None:
            return
        x0, y0, x1, y1 = max(box[0], 0.0), max(box[1], 0.0), min(box[2], self._width), min(box[3], self._height)
        if x1 <= x0 or y1 <= y0:
            return
        self.n_images += 1
        self._covered += (x1 - x0) * (y1 - y0)
        self._shape("i", (x0, y0, x1, y1))
        if len(self._digest) < 4_000:
            self._digest.append(f"i{x0:.0f},{y0:.0f},{x1:.0f},{y1:.0f},{_picture_digest(page_object)}")

    def _edge(self, box: Box) -> None:
        x0, y0, x1, y1 = box
        left, top, right, bottom = x0, y0, self._width - x1, self._height - y1
        wide, high = x1 - x0 >= 0.75 * self._width, y1 - y0 >= 0.75 * self._height
        if wide and high and all(0.5 <= gap <= _FRAME_MM for gap in (left, top, right, bottom)):
            self.whole_frame = True
        elif wide and y1 - y0 <= _THIN_MM and (0.5 < top < _FRAME_MM or 0.5 < bottom < _FRAME_MM):
            self._level_edges += 1
        elif high and x1 - x0 <= _THIN_MM and (0.5 < left < _FRAME_MM or 0.5 < right < _FRAME_MM):
            self._upright_edges += 1

    @property
    def framed(self) -> bool:
        """A frame, or trim lines along at least two sides that meet."""
        return self.whole_frame or (self._level_edges > 0 and self._upright_edges > 0)

    @property
    def image_share(self) -> float:
        """The part of the page covered by pictures, 0 to 1 (overlaps count twice)."""
        area = self._width * self._height
        return min(self._covered / area, 1.0) if area > 0 else 0.0

    def _shape(self, kind: str, shown: Box) -> None:
        if len(self._shapes) < 4_000:
            place = ",".join(f"{side / _GRID_MM:.0f}" for side in shown)
            self._shapes.add(zlib.crc32(f"{kind}{place}".encode("ascii")))

    def shapes(self) -> tuple[int, ...]:
        """The least hashes of what shows where, in no order of drawing; alike where two pages look alike."""
        return tuple(sorted(self._shapes)[:_MOST_SHAPES])

    def digest(self) -> str:
        """A short digest of the large shapes and the pictures; empty where there are none."""
        if not self._digest:
            return ""
        return hashlib.blake2b("\n".join(self._digest).encode("ascii"), digest_size=8).hexdigest()


def _picture_digest(image: Any) -> str:
    """The pixel size of a picture, and for one of moderate size a digest of its data as stored."""
    raw = library()
    width, height = ctypes.c_uint(), ctypes.c_uint()
    raw.FPDFImageObj_GetImagePixelSize(image, width, height)
    size = f"{width.value}x{height.value}"
    length = int(raw.FPDFImageObj_GetImageDataRaw(image, None, 0))
    if not 0 < length <= 8 << 20:
        return size
    buffer = ctypes.create_string_buffer(length)
    raw.FPDFImageObj_GetImageDataRaw(image, buffer, length)
    return f"{size},{hashlib.blake2b(buffer.raw, digest_size=6).hexdigest()}"
