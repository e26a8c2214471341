"""EPS cutting files: size by the bounding box, title.

The header comments of Adobe's Document Structuring Conventions (EPSF-3.0): `%%HiResBoundingBox`, else `%%BoundingBox`,
in points; `(atend)` sends to the trailer.  The program itself is never run.
"""

from __future__ import annotations

import re
import struct

from vault.patterns.cutting import INCH, DrawingSize

_HEAD, _TAIL = 64 << 10, 16 << 10
_NUMBER = rb"([+-]?\d{1,9}(?:\.\d{1,9})?)"
_BOX_RE = re.compile(rb"^%%(HiRes)?BoundingBox: *" + rb" +".join([_NUMBER] * 4), re.MULTILINE)
_TITLE_RE = re.compile(rb"^%%Title: *\(?([^\r\n]{1,200}?)\)?\s*$", re.MULTILINE)


def read_eps(data: bytes) -> DrawingSize | None:
    """The EPS's size and title, or None where the bytes are no EPS."""
    if data.startswith(b"\xc5\xd0\xd3\xc6") and len(data) >= 12:  # with a preview for old systems around it
        start, length = struct.unpack("<II", data[4:12])
        data = data[start : start + length]
    if not data.startswith(b"%!PS-Adobe") or b"EPSF" not in data[:40]:
        return None
    head = data[:_HEAD].replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    tail = data[-_TAIL:].replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    boxes = [*_BOX_RE.finditer(head), *_BOX_RE.finditer(tail)]
    box = next((m for m in boxes if m[1]), boxes[0] if boxes else None)
    named = _TITLE_RE.search(head)
    title = named[1].decode("utf-8", "replace").strip() if named else None
    whole = b"%%EOF" in tail
    if box is None:
        return DrawingSize(title=title, whole=whole, why="it does not say its size")
    x0, y0, x1, y1 = (float(number) for number in box.groups()[1:])
    if x1 <= x0 or y1 <= y0:
        return DrawingSize(title=title, whole=whole, why="it does not say its size")
    point = INCH / 72
    return DrawingSize(
        width_mm=round((x1 - x0) * point, 2),
        height_mm=round((y1 - y0) * point, 2),
        title=title,
        whole=whole,
        why="size as written",
    )
