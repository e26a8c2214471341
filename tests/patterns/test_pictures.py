"""Pictures by their headers, and page pictures as PNG."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rawpdf import RawPdf

from vault.patterns.pictures import page_picture, png, read_picture

PNG = png(3, 2, 12, bytes(24))
JPEG = (
    b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + bytes(9) + b"\xff\xfe\x00\x04hi"
    b"\xff\xc0\x00\x11\x08\x00\x40\x00\x80\x03" + bytes(9) + b"\xff\xda" + bytes(20) + b"\xff\xd9"
)
HEADERS = [
    ("png", PNG, (3, 2), True),
    ("png cut off", PNG[:-8], (3, 2), False),
    ("jpeg", JPEG, (128, 64), True),
    ("jpeg cut off", JPEG[:-2], (128, 64), False),
    ("gif", b"GIF89a" + struct.pack("<HH", 30, 20) + b"\0\0\0;", (30, 20), True),
    ("bmp", b"BM" + struct.pack("<I", 54) + bytes(12) + struct.pack("<ii", 7, -5) + bytes(28), (7, 5), True),
    ("webp", b"RIFF" + struct.pack("<I", 22) + b"WEBPVP8X" + bytes(8) + b"\x09\0\0\x04\0\0", (10, 5), True),
    (
        "tiff",
        b"II*\0" + struct.pack("<IH", 8, 2) + struct.pack("<HHII", 256, 4, 1, 90) + struct.pack("<HHII", 257, 3, 1, 40),
        (90, 40),
        True,
    ),
]


@pytest.mark.parametrize(("data", "size", "whole"), [row[1:] for row in HEADERS], ids=[row[0] for row in HEADERS])
def test_pixels_by_the_header(data: bytes, size: tuple[int, int], whole: bool) -> None:
    picture = read_picture(data)
    assert picture is not None
    assert ((picture.width, picture.height), picture.whole) == (size, whole)


def test_what_is_no_picture() -> None:
    assert read_picture(b"%PDF-1.4") is None
    assert read_picture(b"") is None
    assert read_picture(b"RIFF\0\0\0\0WAVE") is None


@settings(deadline=None, max_examples=150)
@given(
    st.sampled_from([b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"GIF8", b"BM", b"RIFF", b"II*\0", b"MM\0*"]),
    st.binary(max_size=200),
)
def test_any_bytes_raise_nothing(signature: bytes, data: bytes) -> None:
    read_picture(signature + data)


def test_a_page_is_drawn_in_its_colours(tmp_path: Path) -> None:
    pdf = RawPdf(media_box="[0 0 200 100]")
    pdf.page(b"1 0 0 rg 0 0 200 100 re f")
    path = tmp_path / "a.pdf"
    path.write_bytes(pdf.finish())
    picture = page_picture(path, media_type="application/pdf", side=64)
    assert picture is not None
    size = read_picture(picture)
    assert size is not None
    assert (size.width, size.height) == (64, 32)
    length = struct.unpack(">I", picture[33:37])[0]
    rows = zlib.decompress(picture[41 : 41 + length])
    assert rows[1:4] == b"\xff\0\0"


def test_what_cannot_be_drawn(tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(b"%PDF-1.4 nothing")
    assert page_picture(path, media_type="application/pdf") is None
    assert page_picture(path, media_type="image/png") is None


@pytest.mark.parametrize("side", [1, 7])
def test_png_can_be_read_by_pillow(side: int) -> None:
    image = pytest.importorskip("PIL.Image")
    pixels = bytes(range(3 * side)) + bytes(side % 4)
    stride = len(pixels)
    with image.open(io.BytesIO(png(side, 2, stride, pixels * 2))) as opened:
        assert opened.size == (side, 2)
        assert opened.getpixel((0, 0)) == (pixels[2], pixels[1], pixels[0])
