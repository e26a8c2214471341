"""Pictures: what they are and how many pixels, from their first bytes; and small pictures of PDF pages.

A picture is never decoded here.  PNG (W3C PNG §11.2.2), JPEG (ITU T.81 B.2.2), GIF, BMP, WebP and TIFF headers are
read as their specifications lay them out.  Pages are drawn by pdfium and written as PNG with zlib alone.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

PICTURE_SIDE = 320  # pixels of the longer side of a page picture
_JPEG_FRAMES = {0xC0, 0xC1, 0xC2, 0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF}


@dataclass(frozen=True, kw_only=True)
class PictureReading:
    """Media type, pixels, and whether the file has its end."""

    media_type: str
    width: int | None
    height: int | None
    whole: bool = True


def read_picture(data: bytes) -> PictureReading | None:
    """What the picture's header says, or None where the bytes are no picture known here."""
    for signature, reader in _READERS:
        if data.startswith(signature):
            try:
                return reader(data)
            except (struct.error, IndexError):
                return None
    return None


def _png(data: bytes) -> PictureReading:
    width, height = struct.unpack(">II", data[16:24])
    return PictureReading(media_type="image/png", width=width, height=height, whole=b"IEND" in data[-32:])


def _gif(data: bytes) -> PictureReading:
    width, height = struct.unpack("<HH", data[6:10])
    return PictureReading(media_type="image/gif", width=width, height=height, whole=data.rstrip(b"\0").endswith(b";"))


def _bmp(data: bytes) -> PictureReading:
    (length,) = struct.unpack("<I", data[2:6])
    width, height = struct.unpack("<ii", data[18:26])
    return PictureReading(media_type="image/bmp", width=width, height=abs(height), whole=len(data) >= length)


def _webp(data: bytes) -> PictureReading | None:
    if data[8:12] != b"WEBP":
        return None
    (length,) = struct.unpack("<I", data[4:8])
    kind, width, height = data[12:16], None, None
    if kind == b"VP8X":
        width = int.from_bytes(data[24:27], "little") + 1
        height = int.from_bytes(data[27:30], "little") + 1
    elif kind == b"VP8L":
        bits = int.from_bytes(data[21:25], "little")
        width, height = (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    elif kind == b"VP8 ":
        width, height = (side & 0x3FFF for side in struct.unpack("<HH", data[26:30]))
    return PictureReading(media_type="image/webp", width=width, height=height, whole=len(data) >= length + 8)


def _jpeg(data: bytes) -> PictureReading:
    whole = b"\xff\xd9" in data[-4_096:]
    position = 2
    while position + 9 < len(data):
        if data[position] != 0xFF:
            position += 1
            continue
        marker = data[position + 1]
        if marker in _JPEG_FRAMES:
            height, width = struct.unpack(">HH", data[position + 5 : position + 9])
            return PictureReading(media_type="image/jpeg", width=width, height=height, whole=whole)
        if marker in (0x01, 0xFF) or 0xD0 <= marker <= 0xD8:
            position += 1 if marker == 0xFF else 2
            continue
        if marker in (0xD9, 0xDA):
            break
        position += 2 + max(struct.unpack(">H", data[position + 2 : position + 4])[0], 2)
    return PictureReading(media_type="image/jpeg", width=None, height=None, whole=whole)


def _tiff(data: bytes) -> PictureReading:
    order = "<" if data[:2] == b"II" else ">"
    (offset,) = struct.unpack(f"{order}I", data[4:8])
    (count,) = struct.unpack(f"{order}H", data[offset : offset + 2])
    sides: dict[int, int] = {}
    for index in range(min(count, 200)):
        tag, kind, _, value = struct.unpack(f"{order}HHII", data[offset + 2 + 12 * index : offset + 14 + 12 * index])
        if tag in (256, 257):
            sides[tag] = value if kind == 4 or order == "<" else value >> 16
    return PictureReading(media_type="image/tiff", width=sides.get(256), height=sides.get(257))


_READERS: tuple[tuple[bytes, Callable[[bytes], PictureReading | None]], ...] = (
    (b"\x89PNG\r\n\x1a\n", _png),
    (b"\xff\xd8\xff", _jpeg),
    (b"GIF8", _gif),
    (b"BM", _bmp),
    (b"RIFF", _webp),
    (b"II*\0", _tiff),
    (b"MM\0*", _tiff),
)


def page_picture(path: Path, *, media_type: str, page: int = 1, side: int = PICTURE_SIDE) -> bytes | None:
    """A PNG of one page (from 1), its longer side `side` pixels; None where none can be made."""
    if media_type != "application/pdf":
        return None
    from vault.patterns.pdfium import PdfiumError, library, opened, page_of

    raw = library()
    try:
        with opened(path.read_bytes()) as document, page_of(document, page - 1) as handle:
            if handle is None:
                return None
            width, height = float(raw.FPDF_GetPageWidthF(handle)), float(raw.FPDF_GetPageHeightF(handle))
            if width <= 0 or height <= 0:
                return None
            scale = side / max(width, height)
            return _drawn(raw, handle, max(round(width * scale), 1), max(round(height * scale), 1))
    except PdfiumError:
        return None


def _drawn(raw: Any, handle: Any, width: int, height: int) -> bytes | None:
    bitmap = raw.FPDFBitmap_CreateEx(width, height, raw.FPDFBitmap_BGR, None, 0)
    if not bitmap:
        return None
    try:
        raw.FPDFBitmap_FillRect(bitmap, 0, 0, width, height, 0xFFFFFFFF)
        raw.FPDF_RenderPageBitmap(bitmap, handle, 0, 0, width, height, 0, raw.FPDF_LCD_TEXT | raw.FPDF_ANNOT)
        stride = int(raw.FPDFBitmap_GetStride(bitmap))
        import ctypes

        pixels = ctypes.string_at(raw.FPDFBitmap_GetBuffer(bitmap), stride * height)
    finally:
        raw.FPDFBitmap_Destroy(bitmap)
    return png(width, height, stride, pixels)


def png(width: int, height: int, stride: int, pixels: bytes) -> bytes:
    """Rows of blue, green, red as a PNG."""
    rows = bytearray()
    for y in range(height):
        row = bytearray(pixels[y * stride : y * stride + 3 * width])
        row[0::3], row[2::3] = row[2::3], row[0::3]
        rows += b"\0" + row
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(bytes(rows), 6)), (b"IEND", b""))
    out = b"\x89PNG\r\n\x1a\n"
    for kind, body in chunks:
        out += struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
    return out
