"""Machine embroidery designs: size in mm, stitches, colours.  Read with pyembroidery; its unit is a tenth of a mm.

The format is told by the first bytes where it has a signature, else by the ending of the name: JEF and EXP have none.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from typing import Any

LARGEST = 24 << 20  # bytes; the largest designs of the trade have a tenth of it

# ending -> reader function of pyembroidery
READERS: dict[str, str] = {
    "pes": "read_pes",
    "pec": "read_pec",
    "dst": "read_dst",
    "exp": "read_exp",
    "jef": "read_jef",
    "vp3": "read_vp3",
    "hus": "read_hus",
    "vip": "read_vip",
    "xxx": "read_xxx",
    "sew": "read_sew",
    "shv": "read_shv",
    "pcs": "read_pcs",
}
_SIGNATURES: tuple[tuple[bytes, str], ...] = ((b"#PES", "pes"), (b"#PEC", "pec"), (b"LA:", "dst"), (b"%vsm%", "vp3"))
_NAME_KEYS = ("name", "Name")
_DST_RE = re.compile(rb"^LA:[^\r]{0,40}\rST:\s*\d")


@dataclass(frozen=True, kw_only=True)
class StitchReading:
    """A design: format, size in mm, stitches, colours (threads in the order of sewing), the name written in it."""

    format: str
    width_mm: float
    height_mm: float
    stitches: int
    colours: int
    name: str | None = None


def stitch_format(head: bytes, name: str) -> str | None:
    """The format of the bytes ("pes", "dst"...) or None where it is no stitch file."""
    for signature, kind in _SIGNATURES:
        if head.startswith(signature) and (kind != "dst" or _DST_RE.match(head)):
            return kind
    ending = name.rsplit(".", 1)[-1].casefold() if "." in name else ""
    return ending if ending in READERS and ending not in ("pes", "vp3") else None


def read_stitch(data: bytes, name: str) -> StitchReading | None:
    """The design in the bytes, or None where there is none that can be read."""
    kind = stitch_format(data[:128], name)
    if kind is None or not data or len(data) > LARGEST:
        return None
    import pyembroidery

    try:
        pattern: Any = pyembroidery.EmbPattern()
        getattr(pyembroidery, READERS[kind])(io.BytesIO(data), None, pattern)
        return _reading(kind, pattern)
    except (ArithmeticError, AttributeError, LookupError, OSError, TypeError, ValueError, RecursionError):
        return None  # its readers trust the lengths in the file


def _reading(kind: str, pattern: Any) -> StitchReading | None:
    import pyembroidery

    sewn = [s for s in pattern.stitches if s[2] & pyembroidery.COMMAND_MASK == pyembroidery.STITCH]
    if len(sewn) < 2:
        return None
    xs, ys = [s[0] for s in sewn], [s[1] for s in sewn]
    if max(max(xs) - min(xs), max(ys) - min(ys)) < 10:
        return None  # less than a millimetre: no design
    changes = int(pattern.count_color_changes())
    name = next((str(pattern.extras[k]).strip() for k in _NAME_KEYS if pattern.extras.get(k)), None)
    return StitchReading(
        format=kind,
        width_mm=round((max(xs) - min(xs)) / 10, 1),
        height_mm=round((max(ys) - min(ys)) / 10, 1),
        stitches=len(pattern.stitches),
        colours=max(len(pattern.threadlist), changes + 1),
        name=name or None,
    )
