"""The print check: labels in the trade's languages, verdicts, causes, nested squares, and what is no test square."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rawpdf import RawPdf, mm, words

from vault.model.pdf import DrawnBox, PageReading, PdfReading, TextRun
from vault.patterns.pdf import read_pdf
from vault.patterns.scale import cause, checks_of, is_ok, lengths, scale_check

LABELS = [
    ("10 cm x 10 cm", [100]),
    ("TEST SQUARE 10 cm x 10 cm", [100]),
    ('4" x 4"', [101.6]),
    ("4 in", [101.6]),
    ("1 inch", [25.4]),
    ("1-inch square", [25.4]),
    ("2.5 cm", [25]),
    ("2,5 cm", [25]),
    ("50 mm", [50]),
    ("5cm×5cm", [50]),
    ("Kontrollquadrat 10 cm × 10 cm", [100]),
    ("1 Zoll", [25.4]),
    ("carré test 5 cm", [50]),
    ("4 pouces", [101.6]),
    ("10x10 cm", [100]),
    ("2 duim", [50.8]),
    ("cuadrado de prueba 5 x 5 cm", [50]),
    ("2 pulgadas", [50.8]),
    ("quadrato 4 pollici", [101.6]),
    ("1 pollice", [25.4]),
    ("2 tum", [50.8]),
    ("2 tommer", [50.8]),
    ("1 tomme", [25.4]),
    ("1 cal", [25.4]),
    ("4 cale", [101.6]),
    ("2 tuumaa", [50.8]),
    ("5センチ", [50]),
    ("１０ｃｍ", [100]),
    ("2インチ", [50.8]),
    ('1/2" x 1/2"', [12.7]),
    ("2 1/2 in", [63.5]),
    ('2½"', [63.5]),
    ("10 cm / 4 in", [100, 101.6]),
    ("4″", [101.6]),
    ("10 cm by 10 cm", [100]),
    ("5cm/2in", [50, 50.8]),
    ("10 bij 10 cm", [100]),
    ("10 Zentimeter", [100]),
    ("5 centímetros", [50]),
    ("10 centimètres", [100]),
    ("4 × 4 inches", [101.6]),
    ("10 centymetrów", [100]),
    ("5 senttimetriä", [50]),
    ("12 cm x 10 cm", []),
    ("page 4 of 10", []),
    ("300 cm", []),
    ("2 mm", []),
    ("4 index cards", []),
    ("", []),
]


@pytest.mark.parametrize(("text", "stated"), LABELS, ids=[row[0] for row in LABELS])
def test_lengths_of_a_label(text: str, stated: list[float]) -> None:
    assert [mm for mm, _ in lengths(text)] == pytest.approx(stated)


def test_a_label_without_unit_counts_as_centimetres_only_where_a_square_is_spoken_of() -> None:
    assert lengths("Testquadrat 5 x 5", bare=True) == [(50.0, True)]
    assert lengths("5 x 5") == []


# Print factors of check values: A4 fitted on Letter 0.9407, Letter on A4 0.9727, A4 into printable areas.
FACTORS = [
    (100, 94.07, "A4 page fitted on Letter"),
    (101.6, 95.58, "A4 page fitted on Letter"),
    (50, 47.04, "A4 page fitted on Letter"),
    (25.4, 23.89, "A4 page fitted on Letter"),
    (100, 97.27, "Letter page fitted on A4"),
    (100, 97.14, "margins of 3 mm"),
    (100, 95.97, "margins of 4.23 mm"),
    (100, 95.24, "margins of 5 mm"),
    (100, 93.95, "margins of 6.35 mm"),
    (101.6, 100, "inches taken for centimetres"),
    (100, 101.6, "inches taken for centimetres"),
]


@pytest.mark.parametrize(("stated", "drawn", "words_"), FACTORS)
def test_published_shrink_factors_are_named(stated: float, drawn: float, words_: str) -> None:
    assert not is_ok(stated, drawn)
    assert words_ in cause(stated, drawn)
    assert f"{100 * drawn / stated:.2f} %" in cause(stated, drawn)


def test_a_factor_of_no_known_cause_is_only_said() -> None:
    assert cause(100, 88.8) == "drawn at 88.80 %"


@pytest.mark.parametrize(
    ("stated", "drawn", "ok"),
    [(100, 100.8, True), (100, 100.9, False), (50, 50.5, True), (50, 49.49, False), (25.4, 25, True), (20, 19, False)],
)
def test_tolerance_is_the_larger_of_half_a_millimetre_and_0_8_per_cent(stated: float, drawn: float, ok: bool) -> None:
    assert is_ok(stated, drawn) is ok


def _run(text: str, x: float, y: float) -> TextRun:
    return TextRun(text=text, x=x, y=y, width=2.0 * len(text), height=3, size_pt=9)


def _page(runs: list[TextRun], boxes: list[DrawnBox], number: int = 1) -> PageReading:
    return PageReading(
        number=number,
        label=None,
        width_mm=210,
        height_mm=297,
        runs=tuple(runs),
        boxes=tuple(boxes),
        geometry_read=True,
        n_paths=len(boxes),
    )


def _box(x: float, y: float, side: float, height: float | None = None) -> DrawnBox:
    return DrawnBox(x=x, y=y, width=side, height=side if height is None else height)


@pytest.mark.parametrize("factor", [1.0, 0.9407, 0.97, 0.9524, 1.05])
def test_nested_squares_keep_their_labels_under_every_scale(factor: float) -> None:
    page = _page(
        [_run("10 cm x 10 cm", 40, 90), _run('4" x 4"', 40, 100)],
        [_box(20, 50, 100 * factor), _box(19, 49, 101.6 * factor)],
    )
    found = {check.stated_mm: check.drawn_mm for check in checks_of(page)}
    assert found == pytest.approx({100: 100 * factor, 101.6: 101.6 * factor}, abs=0.02)


def test_an_inch_square_drawn_ten_centimetres_wide_is_wrong() -> None:
    page = _page([_run("test square 4 in", 30, 80)], [_box(20, 50, 100)])
    (check,) = checks_of(page)
    assert (check.stated_mm, check.drawn_mm, check.ok) == (101.6, 100.0, False)


def test_one_of_two_squares_wrong_is_told() -> None:
    """The centimetre square is right, the inch square beside it was drawn as centimetres."""
    page = _page([_run("5 cm", 30, 70), _run("2 in", 120, 70)], [_box(20, 50, 50), _box(110, 50, 50)])
    told, reasons = scale_check(PdfReading(n_pages=1, pages=(page,)))
    assert told is not None
    assert (told.stated_mm, told.ok) == (50.8, False)
    assert len(reasons) == 2


def test_one_square_with_both_labels_is_judged_by_the_one_that_fits() -> None:
    page = _page([_run("10 cm / 4 in", 30, 80)], [_box(20, 50, 100)])
    assert [(c.stated_mm, c.ok) for c in checks_of(page)] == [(100.0, True)]


def test_a_square_stretched_one_way_is_told_by_its_worse_side() -> None:
    page = _page([_run("10 cm", 30, 80)], [_box(20, 50, 100, 97)])
    (check,) = checks_of(page)
    assert (check.drawn_mm, check.ok) == (97, False)


@pytest.mark.parametrize(
    ("text", "box"),
    [
        ("Sew along the top edge leaving an opening of about 10 cm for turning the bag", _box(20, 50, 80)),
        ("Fabric requirement 4 in by 12 in", _box(20, 50, 30)),
        ("10 cm", _box(150, 200, 100)),  # far away
        ("22 sts and 30 rows to 10 cm", _box(20, 20, 50)),
        ('Finished block 12" x 12"', _box(20, 50, 76.2)),
        ("5 cm", _box(20, 50, 12)),
    ],
)
def test_what_is_no_test_square(text: str, box: DrawnBox) -> None:
    assert checks_of(_page([_run(text, 30, 110)], [box])) == []


def test_the_words_may_stand_beside_the_length() -> None:
    page = _page([_run("Testfirkant", 30, 70), _run("5 x 5 cm", 30, 75)], [_box(20, 50, 47.04)])
    (check,) = checks_of(page)
    assert (check.stated_mm, check.drawn_mm, check.ok) == (50.0, 47.04, False)
    assert "A4 page fitted on Letter" in check.note


@pytest.mark.parametrize(
    ("entries", "factor"), [("", 1.0), ("/UserUnit 2", 2.0), ("/Rotate 90", 1.0), ("/Rotate 270 /UserUnit 2", 2.0)]
)
def test_through_a_pdf_on_a_later_page(entries: str, factor: float) -> None:
    pdf = RawPdf()
    for _ in range(3):
        pdf.page(words("Page without a square", 50, 700))
    side = mm(100) / factor
    pdf.page(b"50 300 %g %g re S " % (side, side) + words("10 cm", 60, 310, 6), entries)
    told, reasons = scale_check(read_pdf(pdf.finish()))
    assert told is not None
    assert (told.stated_mm, told.ok, told.page) == (100.0, True, 4)
    assert told.drawn_mm == pytest.approx(100, abs=0.05)
    assert reasons


def test_a_picture_only_file_cannot_be_measured() -> None:
    page = PageReading(number=1, label=None, width_mm=210, height_mm=297, n_images=1, image_share=1.0)
    assert scale_check(PdfReading(n_pages=1, pages=(page,)))[1] == (
        "its pages are pictures: the scale cannot be measured",
    )


def test_drawn_letters_cannot_be_read() -> None:
    page = PageReading(number=1, label=None, width_mm=210, height_mm=297, n_paths=40)
    assert "drawn, not written" in scale_check(PdfReading(n_pages=1, pages=(page,)))[1][0]


@settings(deadline=None, max_examples=150)
@given(st.floats(0.9, 1.08), st.sampled_from([25.4, 50, 50.8, 100, 101.6, 20, 30]))
def test_a_labelled_square_is_measured_whatever_the_scale(factor: float, stated: float) -> None:
    side = stated * factor
    label = f"{stated / 10:g} cm" if stated in (20, 30, 50, 100) else f"{stated / 25.4:g} in"
    (check,) = checks_of(_page([_run(f"test square {label}", 25, 55)], [_box(20, 50, side)]))
    assert check.stated_mm == pytest.approx(stated)
    assert check.drawn_mm == pytest.approx(side, abs=0.01)
    assert check.ok is is_ok(stated, side)


@pytest.mark.parametrize("text", ["1" * 100_000, "1 " * 50_000, "1/" * 50_000, "x" * 200_000, "10 cm x " * 20_000])
def test_labels_cost_little_whatever_they_are(text: str) -> None:
    assert len(lengths(text)) < 40
