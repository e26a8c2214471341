"""SVG and DXF: size in mm from what the file says, words, and what is no cutting file."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.patterns.cutting import DrawingSize, looks_like_plan, read_drawing
from vault.patterns.dxf import read_dxf
from vault.patterns.read import read_file
from vault.patterns.svg import read_svg


def _svg(attributes: str, inner: str = "") -> bytes:
    return f'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{inner}</svg>'.encode()


# CSS Values 4 §6.2: 1 in = 25.4 mm = 96 px = 72 pt = 6 pc.
@pytest.mark.parametrize(
    ("attributes", "size"),
    [
        ('width="600mm" height="807.4mm"', (600, 807.4)),
        ('width="12in" height="12 in"', (304.8, 304.8)),
        ('width="30cm" height="20cm"', (300, 200)),
        ('width="96px" height="192"', (25.4, 50.8)),
        ('width="72pt" height="144pt"', (25.4, 50.8)),
        ('width="6pc" height="6PC"', (25.4, 25.4)),
        ('width="100mm" viewBox="0 0 200 100"', (100, 50)),
        ('height="50mm" viewBox="0,0,200,100"', (100, 50)),
        ('viewBox="0 0 96 192"', (25.4, 50.8)),
        ('width="100%" height="100%" viewBox="0 0 96 96"', (25.4, 25.4)),
        ('width="1e2mm" height="5.5e1mm"', (100, 55)),
    ],
)
def test_size_of_an_svg(attributes: str, size: tuple[float, float]) -> None:
    reading = read_svg(_svg(attributes))
    assert reading is not None
    assert (reading.width_mm, reading.height_mm) == (pytest.approx(size[0]), pytest.approx(size[1]))


@pytest.mark.parametrize(
    "attributes", ['width="-3mm" height="4mm"', 'width="0" height="0"', 'width="x"', 'viewBox="0 0 nan 4"', ""]
)
def test_an_svg_without_a_size_says_none(attributes: str) -> None:
    reading = read_svg(_svg(attributes))
    assert reading is not None
    assert (reading.width_mm, reading.height_mm) == (None, None)


def test_an_svg_without_a_size_is_measured_by_its_shapes_where_the_library_is_there() -> None:
    pytest.importorskip("svgelements")
    reading = read_svg(_svg("", '<rect x="96" y="96" width="192" height="96"/>'))
    assert reading is not None
    assert (reading.width_mm, reading.height_mm) == (pytest.approx(50.8), pytest.approx(25.4))


def test_words_of_an_svg() -> None:
    inner = "<title>Samphire Tee</title><desc>Pieces</desc><g><text>Cut <tspan>2</tspan></text></g><style>a{}</style>"
    reading = read_svg(_svg('width="9mm" height="9mm"', inner))
    assert reading is not None
    assert reading.title == "Samphire Tee"
    assert reading.text.split() == ["Samphire", "Tee", "Pieces", "Cut", "2"]
    assert reading.whole


def test_a_cut_off_svg_and_one_with_entities() -> None:
    cut = read_svg(_svg('width="9mm" height="9mm"', "<g><path d='M0 0'/>")[:-12])
    assert cut is not None
    assert (cut.width_mm, cut.whole) == (9, False)
    bomb = b'<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><svg width="9mm" height="9mm">&b;</svg>'
    assert read_svg(bomb) is None


def test_other_markup_is_no_svg() -> None:
    assert read_svg(b"<html><svg width='9mm'/></html>") is None
    assert read_drawing(b"<html></html>") is None


def _dxf(header: str, entities: str) -> bytes:
    text = f"0\nSECTION\n2\nHEADER\n{header}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    return text.replace("\n", "\r\n").encode()


LINE = "0\nLINE\n8\nCUT\n10\n5\n20\n-10\n11\n105\n21\n40\n"


@pytest.mark.parametrize(
    ("header", "size"),
    [
        ("9\n$INSUNITS\n70\n4\n", (100, 50)),
        ("9\n$INSUNITS\n70\n1\n", (2540, 1270)),
        ("9\n$INSUNITS\n70\n5\n", (1000, 500)),
        ("9\n$MEASUREMENT\n70\n1\n", (100, 50)),
        ("9\n$MEASUREMENT\n70\n0\n", (2540, 1270)),
        ("", (100, 50)),
    ],
)
def test_units_of_a_dxf(header: str, size: tuple[float, float]) -> None:
    reading = read_dxf(_dxf(header, LINE))
    assert reading is not None
    assert (reading.width_mm, reading.height_mm) == (pytest.approx(size[0]), pytest.approx(size[1]))
    assert reading.layers == ("CUT",)
    assert reading.whole


def test_circles_words_and_extents_of_the_header() -> None:
    circle = "0\nCIRCLE\n10\n50\n20\n50\n40\n25\n0\nTEXT\n1\nCUT 2\n10\n0\n20\n0\n"
    reading = read_dxf(_dxf("9\n$INSUNITS\n70\n4\n", circle))
    assert reading is not None
    assert (reading.width_mm, reading.height_mm, reading.text) == (50, 50, "CUT 2")
    header = "9\n$EXTMIN\n10\n0\n20\n0\n9\n$EXTMAX\n10\n300\n20\n200\n9\n$INSUNITS\n70\n4\n"
    reading = read_dxf(_dxf(header, ""))
    assert reading is not None
    assert (reading.width_mm, reading.height_mm) == (300, 200)


def test_blocks_and_arcs_are_measured_where_the_library_is_there(tmp_path: Path) -> None:
    ezdxf = pytest.importorskip("ezdxf")
    document = ezdxf.new("R2010")
    document.units = 4
    block = document.blocks.new("PIECE")
    block.add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
    document.modelspace().add_blockref("PIECE", (10, 10), dxfattribs={"xscale": 2, "yscale": 2})
    path = tmp_path / "a.dxf"
    document.saveas(path)
    reading = read_dxf(path.read_bytes())
    assert reading is not None
    assert (reading.width_mm, reading.height_mm) == (pytest.approx(200), pytest.approx(120))


def test_a_cut_off_dxf() -> None:
    reading = read_dxf(_dxf("", LINE)[:-8])
    assert reading is not None
    assert not reading.whole


@pytest.mark.parametrize(
    ("boxes", "size"),
    [
        ("%%BoundingBox: 0 0 720 360", (254, 127)),
        ("%%BoundingBox: 0 0 100 100\n%%HiResBoundingBox: 0.0 0.0 72.5 36.25", (25.58, 12.79)),
        ("%%BoundingBox: (atend)", (50.8, 25.4)),
        ("%%Creator: none", None),
    ],
)
def test_size_of_an_eps(boxes: str, size: tuple[float, float] | None) -> None:
    trailer = "%%Trailer\n%%BoundingBox: 10 10 154 82\n%%EOF\n" if "atend" in boxes else "%%EOF\n"
    data = f"%!PS-Adobe-3.0 EPSF-3.0\n%%Title: (Reed hare)\n{boxes}\n%%EndComments\nshowpage\n{trailer}".encode()
    found = read_drawing(data)
    assert found is not None
    assert (found[0], found[1].title, found[1].whole) == ("application/postscript", "Reed hare", True)
    assert (found[1].width_mm, found[1].height_mm) == (size or (None, None))
    wrapped = b"\xc5\xd0\xd3\xc6" + (30).to_bytes(4, "little") + len(data).to_bytes(4, "little") + bytes(18) + data
    assert read_drawing(wrapped) == found


def test_postscript_for_a_printer_is_no_cutting_file() -> None:
    assert read_drawing(b"%!PS-Adobe-3.0\n%%BoundingBox: 0 0 595 842\n") is None


@settings(deadline=None, max_examples=100)
@given(st.binary(max_size=600))
def test_any_bytes_raise_nothing(data: bytes) -> None:
    for start in (b"", b"<svg ", b"0\nSECTION\n", b"\x1f\x8b", b"%!PS-Adobe-3.0 EPSF", b"\xc5\xd0\xd3\xc6"):
        read_drawing(start + data)


@pytest.mark.parametrize("filler", [b"a", b"<", b" ", b"<g>", b"0\n"])
def test_reading_costs_little_on_any_bytes(filler: bytes) -> None:
    many = filler * (1_000_000 // len(filler))
    read_svg(b"<svg width='9mm' height='9mm'>" + many)
    read_dxf(b"0\nSECTION\n" + many)


def test_plans_of_buildings_are_no_cutting_files() -> None:
    assert looks_like_plan(DrawingSize(layers=("A-WALL", "A-DOOR", "A-DIM")))
    assert not looks_like_plan(DrawingSize(layers=("CUT", "ENGRAVE"), text="Front\nSize 38"))


@pytest.mark.parametrize(
    ("name", "data"),
    [("bib.dxf", _dxf("9\n$INSUNITS\n70\n4\n", LINE)), ("x.svg", _svg('width="9cm" height="8cm"'))],
)
def test_a_cutting_file_is_a_pattern(tmp_path: Path, name: str, data: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    facts = read_file(path, media_type="application/octet-stream", name=name).facts
    assert facts.is_pattern
    assert facts.craft in ("sewing", "other")
    assert facts.sheets[0].width_mm in (100, 90)
