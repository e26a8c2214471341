"""DXF cutting files: extents in mm, words, layers.

A DXF is pairs of lines, a group code and its value.  The unit stands in the header ($INSUNITS, else $MEASUREMENT); the
size is that of the plain entities, asked of ezdxf where there are blocks or arcs and the library is installed, else
of the header's extents.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator

from vault.patterns.cutting import INCH, LARGEST, MAX_TEXT, DrawingSize

# $INSUNITS -> mm
_DXF_UNITS: dict[int, float] = {1: INCH, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 8: INCH / 1e6, 9: INCH / 1000, 14: 100.0}
_DXF_POINTS = {"LINE", "LWPOLYLINE", "VERTEX", "POINT", "SPLINE", "SOLID", "TRACE", "3DFACE"}
_DXF_HARD = {"INSERT", "ELLIPSE", "ARC", "MINSERT", "HATCH"}


def _pairs(data: bytes) -> Iterator[tuple[int, str]]:
    """Group codes and values of an ASCII DXF."""
    lines = io.TextIOWrapper(io.BytesIO(data), "utf-8", errors="replace", newline=None)
    for code in lines:
        value = lines.readline()
        try:
            number = int(code)
        except ValueError:
            return
        yield number, value.strip()


def read_dxf(data: bytes) -> DrawingSize | None:
    """The DXF's size and words, or None where the bytes are no DXF."""
    if len(data) > LARGEST:
        return None
    if data.startswith(b"AutoCAD Binary DXF"):
        return _binary(data)
    scan = _DxfScan()
    for code, value in _pairs(data):
        scan.pair(code, value)
    if not scan.sections:
        return None
    size = scan.size()
    if (scan.hard or size is None) and len(data) <= 8 << 20:
        size = _extents_by_library(data) or size
    unit, how = scan.unit()
    if size is None:
        return DrawingSize(text=scan.text(), layers=scan.layers(), whole=scan.ended, why="it does not say its size")
    return DrawingSize(
        width_mm=round(size[0] * unit, 2),
        height_mm=round(size[1] * unit, 2),
        text=scan.text(),
        layers=scan.layers(),
        whole=scan.ended,
        why=how,
    )


def _binary(data: bytes) -> DrawingSize:
    size = _extents_by_library(data)
    if size is None:
        return DrawingSize(why="a binary DXF: its size cannot be told")
    width, height = round(size[0], 2), round(size[1], 2)
    return DrawingSize(width_mm=width, height_mm=height, why="a binary DXF, taken as millimetres")


class _DxfScan:
    """One pass over the pairs of a DXF: header, extents of the plain entities, words, layers."""

    def __init__(self) -> None:
        self.sections = 0
        self.hard = self.ended = False
        self._section = self._variable = self._entity = ""
        self._header: dict[str, list[float]] = {}
        self._x: list[float] = []
        self._low, self._high = [math.inf, math.inf], [-math.inf, -math.inf]
        self._centre, self._words, self._layers = [0.0, 0.0], [""], dict[str, None]()
        self._length = 0

    def pair(self, code: int, value: str) -> None:
        if code == 0:
            self._entity = value
            if value == "ENDSEC":
                self._section = ""
            self.ended = self.ended or value == "EOF"
            if self._section == "ENTITIES" and value in _DXF_HARD:
                self.hard = True
        elif code == 2 and self._entity == "SECTION":
            self._section, self.sections = value, self.sections + 1
        elif self._section == "HEADER":
            if code == 9:
                self._variable = value
            elif code in (10, 20, 70) and (number := _float(value)) is not None:
                self._header.setdefault(self._variable, []).append(number)
        elif self._section == "ENTITIES":
            self._in_entity(code, value)

    def _in_entity(self, code: int, value: str) -> None:
        if code == 8 and len(self._layers) < 2_000:
            self._layers.setdefault(value)
        elif self._entity in ("TEXT", "MTEXT", "ATTRIB") and code in (1, 3):
            if self._length < MAX_TEXT:
                self._words.append(value)
                self._length += len(value)
        elif self._entity in _DXF_POINTS and 10 <= code <= 28 and (number := _float(value)) is not None:
            axis = 0 if code < 20 else 1
            self._low[axis], self._high[axis] = min(self._low[axis], number), max(self._high[axis], number)
        elif self._entity == "CIRCLE" and code in (10, 20, 40) and (number := _float(value)) is not None:
            if code == 40:
                for axis in (0, 1):
                    self._low[axis] = min(self._low[axis], self._centre[axis] - number)
                    self._high[axis] = max(self._high[axis], self._centre[axis] + number)
            else:
                self._centre[code // 10 - 1] = number

    def size(self) -> tuple[float, float] | None:
        """Width and height in drawing units: by the entities, else by the header's extents."""
        width, height = self._high[0] - self._low[0], self._high[1] - self._low[1]
        if math.isfinite(width) and math.isfinite(height) and max(width, height) > 0:
            return width, height
        low, high = self._header.get("$EXTMIN", []), self._header.get("$EXTMAX", [])
        if len(low) >= 2 and len(high) >= 2 and 0 < high[0] - low[0] < 1e9 and 0 < high[1] - low[1] < 1e9:
            return high[0] - low[0], high[1] - low[1]
        return None

    def unit(self) -> tuple[float, str]:
        """Millimetres per drawing unit and how that is known."""
        code = int(self._header.get("$INSUNITS", [0])[0])
        if code in _DXF_UNITS:
            return _DXF_UNITS[code], "unit as written"
        metric = self._header.get("$MEASUREMENT")
        if metric:
            return (1.0, "metric, taken as millimetres") if metric[0] == 1 else (INCH, "taken as inches")
        return 1.0, "it does not say its unit; taken as millimetres"

    def text(self) -> str:
        return "\n".join(word for word in self._words if word)

    def layers(self) -> tuple[str, ...]:
        return tuple(self._layers)


def _float(value: str) -> float | None:
    try:
        number = float(value)
    except ValueError:
        return None
    return number if math.isfinite(number) and abs(number) < 1e9 else None


def _extents_by_library(data: bytes) -> tuple[float, float] | None:
    """Extents in drawing units by ezdxf, where it is installed."""
    try:
        from ezdxf import bbox
        from ezdxf.filemanagement import read
        from ezdxf.lldxf.const import DXFError
    except ImportError:
        return None
    try:
        if data.startswith(b"AutoCAD Binary DXF"):
            from ezdxf.document import Drawing
            from ezdxf.lldxf.tagger import binary_tags_loader

            document = Drawing.load(binary_tags_loader(data))
        else:
            document = read(io.StringIO(data.decode("utf-8", "replace")))
        extents = bbox.extents(document.modelspace(), fast=True)
    except (DXFError, ArithmeticError, LookupError, TypeError, ValueError, AttributeError, RecursionError):
        return None
    if not extents.has_data:
        return None
    return float(extents.size.x), float(extents.size.y)
