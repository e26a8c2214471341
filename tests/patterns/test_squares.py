"""Drawn squares measured: the project's published set (a) to (e), under UserUnit and Rotate, in odd constructions."""

from __future__ import annotations

import pytest
from rawpdf import RawPdf, mm, words

from vault.model.pdf import DrawnBox, PageReading
from vault.patterns.pdf import read_pdf

LABEL = words("test square 10 cm", 20, 20)

# (a) rectangle 100 mm -> 100.0; (b) 203.2 mm under scale 0.5 -> 101.6; (c) closed path of lines -> 25.4;
# (d) four separate strokes -> 50.0; (e) form of 2 in under 0.5 -> 25.4 (check values of the project, computed twice).
SQUARES: dict[str, tuple[bytes, float]] = {
    "a rectangle operator": (b"50 300 %g %g re S " % (mm(100), mm(100)), 100.0),
    "b under a matrix": (b"q 0.5 0 0 0.5 50 300 cm 0 0 %g %g re S Q " % (mm(203.2), mm(203.2)), 101.6),
    "c closed path of lines": (b"50 300 m 122 300 l 122 372 l 50 372 l h S ", 25.4),
    "d four separate strokes": (
        b"50 300 m %(s)g 300 l S 50 %(t)g m %(s)g %(t)g l S 50 300 m 50 %(t)g l S %(s)g 300 m %(s)g %(t)g l S "
        % {b"s": 50 + mm(50), b"t": 300 + mm(50)},
        50.0,
    ),
    "e form under a matrix": (b"q 0.5 0 0 0.5 50 300 cm /X Do Q ", 25.4),
    "open path that returns": (b"50 300 m 122 300 l 122 372 l 50 372 l 50 300 l S ", 25.4),
    "two strokes of two sides": (b"50 300 m 122 300 l 122 372 l S 50 300 m 50 372 l 122 372 l S ", 25.4),
    "turned by 90 degrees": (b"q 0 1 -1 0 300 100 cm 50 20 144 144 re S Q ", 50.8),
    "mirrored": (b"q -1 0 0 1 500 0 cm 50 300 144 144 re S Q ", 50.8),
    "negative width": (b"194 444 -144 -144 re S ", 50.8),
    "filled": (b"50 300 144 144 re f ", 50.8),
    "many outlines in one path": (
        b"50 300 144 144 re 10 10 m 400 20 l 300 700 l h 30 40 m 90 60 200 300 400 500 c S ",
        50.8,
    ),
    "starts in the middle of a side": (b"100 300 m 194 300 l 194 444 l 50 444 l 50 300 l h S ", 50.8),
    "points on the sides": (b"50 300 m 90 300 l 194 300 l 194 400 l 194 444 l 50 444 l 50 310 l h S ", 50.8),
    "filled slivers": (b"50 300 144 0.5 re 50 444 144 0.5 re 50 300 0.5 144.5 re 194 300 0.5 144.5 re f ", 50.8),
    "strokes that overshoot": (
        b"49 300 m 195 300 l S 49 444 m 195 444 l S 50 299 m 50 445 l S 194 299 m 194 445 l S ",
        50.8,
    ),
    "strokes that cross over at the corners": (
        b"35 300 m 209 300 l S 35 444 m 209 444 l S 50 285 m 50 459 l S 194 285 m 194 459 l S ",
        50.8,
    ),
    "all four strokes in one path": (
        b"50 300 m 194 300 l 50 444 m 194 444 l 50 300 m 50 444 l 194 300 m 194 444 l S ",
        50.8,
    ),
}


def _page(content: bytes, entries: str = "") -> PageReading:
    pdf = RawPdf(media_box="[0 0 595 842]")
    form = pdf.form(b"0 0 144 144 re S ", "/BBox [0 0 200 200] /Matrix [1 0 0 1 0 0]")
    pdf.page(content + LABEL, entries, f"/XObject << /X {form} 0 R >>")
    reading = read_pdf(pdf.finish())
    assert reading.damaged is None
    return reading.pages[0]


def _squares(page: PageReading) -> list[DrawnBox]:
    return [box for box in page.boxes if abs(box.width - box.height) < 0.5]


@pytest.mark.parametrize("name", SQUARES)
@pytest.mark.parametrize(
    ("entries", "unit"),
    [
        ("", 1),
        ("/UserUnit 2", 2),
        ("/Rotate 90", 1),
        ("/Rotate 180", 1),
        ("/Rotate 270", 1),
        ("/Rotate -90", 1),
        ("/Rotate 90 /UserUnit 2", 2),
        ("/CropBox [20 10 580 800]", 1),
    ],
)
def test_side_is_measured_to_a_fifth_of_a_millimetre(name: str, entries: str, unit: int) -> None:
    content, side = SQUARES[name]
    squares = _squares(_page(content, entries))
    assert len(squares) == 1, squares
    assert squares[0].width == pytest.approx(side * unit, abs=0.05 if name != "filled slivers" else 0.2)
    assert squares[0].height == pytest.approx(side * unit, abs=0.05 if name != "filled slivers" else 0.2)


def test_place_follows_rotation() -> None:
    """The corner of the square near the lower left of the sheet lies upper left after a quarter turn clockwise."""
    box = _squares(_page(b"50 100 144 144 re S ", "/Rotate 90"))[0]
    assert (box.x, box.y) == (pytest.approx(100 * 25.4 / 72, abs=0.1), pytest.approx(50 * 25.4 / 72, abs=0.1))


def test_forms_in_forms_and_a_form_with_its_own_matrix() -> None:
    pdf = RawPdf()
    inner = pdf.form(b"0 0 144 144 re S ", "/BBox [-9 -9 900 900] /Matrix [2 0 0 2 10 10]")
    outer = pdf.form(b"q 0.25 0 0 0.25 0 0 cm /I Do Q ", resources=f"/XObject << /I {inner} 0 R >>")
    pdf.page(b"q 1 0 0 1 100 100 cm /O Do Q " + LABEL, resources=f"/XObject << /O {outer} 0 R >>")
    squares = _squares(read_pdf(pdf.finish()).pages[0])
    assert [round(box.width, 2) for box in squares] == [25.4]


@pytest.mark.parametrize(
    "content",
    [
        b"50 300 m 194 300 l 194 444 l S ",  # three corners only
        b"50 300 m 194 310 l 194 444 l 50 434 l h S ",  # askew
        b"50 300 m 150 320 180 400 194 444 c h S ",  # curved
        b"q 50 300 144 144 re W n Q ",  # only clips
        b"50 300 m 194 300 l S 50 500 m 194 500 l S 50 300 m 50 444 l S ",  # not closed
        b"50 300 4 4 re S 10 10 570 820 re S ",  # far smaller and far larger than any test square
    ],
)
def test_no_square_where_there_is_none(content: bytes) -> None:
    assert _squares(_page(content)) == []


def test_nested_squares_are_two() -> None:
    page = _page(b"50 300 %g %g re S 52 302 288 288 re S " % (mm(100), mm(100)))
    assert sorted(round(box.width, 1) for box in _squares(page)) == [100.0, 101.6]


def test_pages_without_a_length_are_not_measured() -> None:
    pdf = RawPdf()
    pdf.page(b"50 300 144 144 re S " + words("Grain line", 50, 50))
    page = read_pdf(pdf.finish()).pages[0]
    assert not page.geometry_read
    assert page.boxes == ()
