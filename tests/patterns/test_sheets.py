"""What pages are for, over thirty files drawn by unlike makers (`fixtures/patterns/makers.py`)."""

from __future__ import annotations

import pytest
from makers import BUILDERS, Made

from vault.model.pdf import PageReading, PdfReading, TextRun
from vault.patterns.pdf import read_pdf
from vault.patterns.scale import scale_check
from vault.patterns.sheets import sheets_of, uses_of

_READ: dict[str, tuple[Made, PdfReading]] = {}


def _read(builder: str) -> tuple[Made, PdfReading]:
    if builder not in _READ:
        made = next(b for b in BUILDERS if b.__name__ == builder)()
        _READ[builder] = (made, read_pdf(made.data))
    return _READ[builder]


NAMES = [builder.__name__ for builder in BUILDERS]


def test_there_are_thirty_of_them() -> None:
    assert len(NAMES) >= 30


@pytest.mark.parametrize("builder", NAMES)
def test_pages_and_sheets(builder: str) -> None:
    made, reading = _read(builder)
    assert reading.n_pages == made.expected.pages
    sheets = sheets_of(reading, name=made.name, craft=made.expected.craft)
    assert tuple((s.paper, s.use, s.pages) for s in sheets) == made.expected.sheets


@pytest.mark.parametrize("builder", NAMES)
def test_sheets_without_knowing_the_craft(builder: str) -> None:
    made, reading = _read(builder)
    uses = [(s.paper, s.use, s.pages) for s in sheets_of(reading, name=made.name)]
    assert tuple(uses) == made.expected.sheets


@pytest.mark.parametrize("builder", NAMES)
def test_test_square(builder: str) -> None:
    made, reading = _read(builder)
    told, reasons = scale_check(reading)
    assert reasons
    if made.expected.scale is None:
        assert told is None
        return
    stated, drawn, ok = made.expected.scale
    assert told is not None
    assert told.stated_mm == pytest.approx(stated, abs=0.05)
    assert told.drawn_mm == pytest.approx(drawn, abs=0.2)
    assert told.ok is ok


@pytest.mark.parametrize("builder", NAMES)
def test_layers_as_written(builder: str) -> None:
    made, reading = _read(builder)
    assert tuple(layer.name or "" for layer in reading.layers) == made.expected.layers


def _page(number: int, width: float, height: float, *texts: str, **more: object) -> PageReading:
    runs = tuple(TextRun(text=text, x=20, y=20 + 6 * i, width=100, height=3, size_pt=9) for i, text in enumerate(texts))
    return PageReading(number=number, label=None, width_mm=width, height_mm=height, runs=runs, **more)  # type: ignore[arg-type]


def _reading(*pages: PageReading) -> PdfReading:
    return PdfReading(n_pages=len(pages), pages=pages)


def test_other_peoples_documents_have_no_use() -> None:
    page = _page(1, 210, 297, "The ferry was late, and nobody on the quay seemed to mind at all.")
    assert uses_of(_reading(page), is_pattern=False) == ("other",)


@pytest.mark.parametrize(
    ("name", "use"),
    [
        ("x projector.pdf", "projector"),
        ("rock_beamer.pdf", "projector"),
        ("Projektori.pdf", "projector"),
        ("x_A0.pdf", "copy-shop"),
        ("x copyshop.pdf", "copy-shop"),
        ("x-plotter.pdf", "copy-shop"),
        ("プロジェクター.pdf", "projector"),
        ("x.pdf", "projector"),
    ],
)
def test_a_large_sheet_of_no_paper_size_goes_by_its_name(name: str, use: str) -> None:
    page = _page(1, 1100, 1153, "Front", large_paths=9, n_paths=20)
    assert uses_of(_reading(page), name=name) == (use,)


def test_unread_pages_go_with_those_before_them() -> None:
    tile = _page(1, 210, 297, "1A", "glue here", framed=True, cut_paths=4, large_paths=5, n_paths=9)
    unread = PageReading(number=2, label=None, width_mm=210, height_mm=297, text_read=False)
    assert uses_of(_reading(tile, unread)) == ("tiled", "tiled")


def test_pages_are_grouped_in_the_order_they_first_come() -> None:
    prose = "Stitch the front to the back at the shoulders and press the seams open. "
    pages = [
        _page(1, 210, 297, prose * 3),
        _page(2, 210.2, 297.1, prose * 3),
        _page(3, 297, 210, prose * 3),
        _page(4, 0, 0),
        _page(5, 210, 297, prose * 3),
    ]
    sheets = sheets_of(_reading(*pages))
    assert [(s.paper, s.width_mm, s.height_mm, s.pages) for s in sheets] == [("A4", 210, 297, 3), ("A4", 297, 210, 1)]
