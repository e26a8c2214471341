"""Stitch files: size in mm, stitches, colours, from designs written with pyembroidery and from broken bytes."""

from __future__ import annotations

import io

import pyembroidery
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.patterns.stitch import READERS, read_stitch, stitch_format

WRITABLE = ("pes", "dst", "exp", "jef", "vp3", "xxx", "pec")


def _design(kind: str, width: int = 800, height: int = 500) -> bytes:
    """Two colours; the needle reaches the corners of the given size, tenths of a mm."""
    pattern = pyembroidery.EmbPattern()
    for colour, shade in (("red", 0), ("blue", 40)):
        steps = [(x, shade) for x in range(0, width + 1, 40)] + [(width, y) for y in range(shade, height + 1, 20)]
        pattern.add_block(steps, colour)
    pattern.metadata("name", "Marigold")
    out = io.BytesIO()
    getattr(pyembroidery, f"write_{kind}")(pattern, out)
    return out.getvalue()


@pytest.mark.parametrize("kind", WRITABLE)
def test_size_and_colours(kind: str) -> None:
    reading = read_stitch(_design(kind), f"marigold.{kind}")
    assert reading is not None
    assert reading.format == kind
    assert (reading.width_mm, reading.height_mm) == (pytest.approx(80, abs=0.5), pytest.approx(50, abs=0.5))
    assert reading.colours == 2
    assert 80 <= reading.stitches <= 130


@pytest.mark.parametrize("kind", ["pes", "dst", "vp3", "pec"])
def test_formats_with_a_signature_are_told_by_it(kind: str) -> None:
    assert stitch_format(_design(kind)[:128], "download.bin") == kind


@pytest.mark.parametrize(
    ("head", "name", "kind"),
    [
        (b"\x74\x00\x00\x00", "x.jef", "jef"),
        (b"anything", "x.EXP", "exp"),
        (b"anything", "x.pes", None),
        (b"LA: not a header", "notes.txt", None),
        (b"%PDF-1.4", "x.pdf", None),
        (b"", "jef", None),
    ],
)
def test_formats_without_one_by_the_name(head: bytes, name: str, kind: str | None) -> None:
    assert stitch_format(head, name) == kind


@pytest.mark.parametrize("kind", WRITABLE)
def test_half_a_file_raises_nothing(kind: str) -> None:
    data = _design(kind)
    for share in (0.05, 0.3, 0.6, 0.9):
        read_stitch(data[: int(len(data) * share)], f"x.{kind}")


@settings(deadline=None, max_examples=120)
@given(st.sampled_from(sorted(READERS)), st.binary(max_size=4_000))
def test_any_bytes_raise_nothing(kind: str, data: bytes) -> None:
    read_stitch(data, f"x.{kind}")


def test_an_empty_design_is_none() -> None:
    assert read_stitch(b"", "x.jef") is None
    assert read_stitch(bytes(600), "x.dst") is None
