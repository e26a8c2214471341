"""Tiles that the labels count but the file does not hold."""

from __future__ import annotations

import pytest

from vault.model.pdf import PageReading, TextRun
from vault.patterns.tiles import missing_tiles, said


def _tile(number: int, *labels: str) -> PageReading:
    runs = tuple(TextRun(text=label, x=9, y=9, width=9, height=3, size_pt=9) for label in labels)
    return PageReading(number=number, label=None, width_mm=210, height_mm=297, runs=runs)


def _missing(labels: list[str], uses: str = "") -> tuple[int, ...]:
    pages = [_tile(n, *label.split("|")) for n, label in enumerate(labels, 1)]
    names = {"t": "tiled", "i": "instructions"}
    return missing_tiles(pages, [names[u] for u in uses or "t" * len(labels)])


@pytest.mark.parametrize(
    ("labels", "missing"),
    [
        (["1/5", "2/5", "3/5", "4/5", "5/5"], ()),
        (["1/5", "2/5", "5/5"], (3, 4)),
        (["Page 1 of 6", "Page 2 of 6", "Page 4 of 6", "Page 6 of 6"], (3, 5)),
        (["Seite 2 von 4", "Seite 3 von 4"], (1, 4)),
        (["ページ 1/3", "ページ 3/3"], (2,)),
        (["1 z 4", "3 z 4", "cut 1/2"], (2, 4)),
        (["A1|1/3", "A2|2/3", "B2|3/3"], ()),  # the grid skips empty tiles, the count does not
        (["A1", "A2", "C1"], ()),
        (["1/2", "1/2", "1/2"], ()),  # a scale or a fraction, no count
        (["3/4", "x", "y", "z"], ()),
        (["12/500", "14/500"], ()),
    ],
)
def test_numbers_that_never_come(labels: list[str], missing: tuple[int, ...]) -> None:
    assert _missing(labels) == missing


def test_only_tiles_are_asked() -> None:
    assert _missing(["1/9", "2/9", "1/3", "2/3", "3/3"], "iittt") == ()


def test_reason() -> None:
    assert said((3, 4)) == "tiles are missing: 3, 4"
    assert said(tuple(range(30))).endswith("11 and more")
