"""Paper names: the published tables both ways, near pairs, tolerances, the sizes real programs write."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.patterns.paper import PAPERS, paper_name, paper_of, roll_width, tolerance

POINT = 25.4 / 72

# ISO 216:2007, tables 1 and 2; JIS P 0138; the SRA series; mm.
METRIC = """
A0 841 1189|A1 594 841|A2 420 594|A3 297 420|A4 210 297|A5 148 210|A6 105 148|A7 74 105|A8 52 74|A9 37 52|A10 26 37
2A0 1189 1682|4A0 1682 2378
B0 1000 1414|B1 707 1000|B2 500 707|B3 353 500|B4 250 353|B5 176 250|B6 125 176|B7 88 125|B8 62 88|B9 44 62|B10 31 44
JIS B0 1030 1456|JIS B1 728 1030|JIS B2 515 728|JIS B3 364 515|JIS B4 257 364|JIS B5 182 257|JIS B6 128 182
JIS B7 91 128|JIS B8 64 91|JIS B9 45 64|JIS B10 32 45
SRA0 900 1280|SRA1 640 900|SRA2 450 640|SRA3 320 450|SRA4 225 320
"""
# ASME Y14.1 (A and B go by their everyday names), architectural and US papers, inches.
INCHES = """
Letter 8.5 11|Legal 8.5 14|Tabloid 11 17|Executive 7.25 10.5|Half-letter 5.5 8.5|Foolscap 8.5 13|Super-B 13 19
ANSI C 17 22|ANSI D 22 34|ANSI E 34 44|ANSI F 28 40
Arch A 9 12|Arch B 12 18|Arch C 18 24|Arch D 24 36|Arch E 36 48|Arch E1 30 42
"""


def _rows(table: str, factor: float) -> list[tuple[str, float, float]]:
    rows = []
    for entry in table.replace("\n", "|").split("|"):
        if entry.strip():
            name, width, height = entry.strip().rsplit(" ", 2)
            rows.append((name, float(width) * factor, float(height) * factor))
    return rows


TABLE = _rows(METRIC, 1.0) + _rows(INCHES, 25.4)


@pytest.mark.parametrize(("name", "width", "height"), TABLE, ids=[row[0] for row in TABLE])
def test_published_sizes_give_their_names_both_ways_up(name: str, width: float, height: float) -> None:
    assert paper_name(width, height) == name
    assert paper_name(height, width) == name


def test_every_name_of_the_table_is_published() -> None:
    assert {paper.name for paper in PAPERS} == {row[0] for row in TABLE} | {"ANSI A", "ANSI B"}


# Sizes of A4 as real programs write it, points (check values of the project, seen in published files).
A4_POINTS = [
    "595.32x841.92",
    "595x842",
    "595.28x841.89",
    "595.3x841.89",
    "595.2x841.92",
    "596x842",
    "595.22x842",
    "595x841",
    "595.44x841.68",
    "595.5x842.25",
    "595.56x841.61",
    "595.73x842.53",
    "594.96x841.92",
    "595.304x841.89",
]


@pytest.mark.parametrize("points", A4_POINTS)
def test_a4_as_programs_write_it(points: str) -> None:
    width, height = (float(side) * POINT for side in points.split("x"))
    assert paper_name(width, height) == "A4"


@pytest.mark.parametrize(
    ("width", "height", "name"),
    [
        (595.276, 841.890, "A4"),
        (841.890, 1190.551, "A3"),
        (1683.780, 2383.937, "A1"),
        (2383.937, 3370.394, "A0"),
        (612, 792, "Letter"),
        (1728, 2592, "Arch D"),
        (2592, 3456, "Arch E"),
        (2448, 3168, "ANSI E"),
    ],
)
def test_published_sizes_in_points(width: float, height: float, name: str) -> None:
    assert paper_name(width * POINT, height * POINT) == name


@pytest.mark.parametrize(
    ("width", "height", "name"),
    [
        (44, 62, "B9"),
        (45, 64, "JIS B9"),
        (44.4, 62.6, "B9"),
        (31, 44, "B10"),
        (32, 45, "JIS B10"),
        (176, 250, "B5"),
        (182, 257, "JIS B5"),
        (352, 500, "B3"),
        (215.9, 330.2, "Foolscap"),
        (215.9, 355.6, "Legal"),
        (139.7, 215.9, "Half-letter"),
        (148, 210, "A5"),
        (841, 1189, "A0"),
        (863.6, 1117.6, "ANSI E"),
    ],
)
def test_near_pairs_stay_apart(width: float, height: float, name: str) -> None:
    assert paper_name(width, height) == name


def test_half_letter_is_eight_and_a_half_inches_and_iso_b4_353_mm() -> None:
    # reportlab's HALF_LETTER (8 in) and papersize's ISO B4 (352 mm) are known to be wrong.
    assert paper_name(5.5 * 25.4, 8.0 * 25.4) == "custom"
    assert paper_of(250, 353) is not None
    assert next(p for p in PAPERS if p.name == "B4").height == 353


@pytest.mark.parametrize(("side", "allowed"), [(100, 1.5), (150, 1.5), (151, 2.0), (600, 2.0), (601, 3.0)])
def test_tolerance_is_that_of_iso_216(side: float, allowed: float) -> None:
    assert tolerance(side) == allowed


@pytest.mark.parametrize(
    ("width", "height", "name"),
    [
        (211.9, 298.9, "A4"),
        (212.1, 297, "custom"),
        (210, 299.1, "custom"),
        (838.1, 1191.9, "A0"),
        (837.9, 1189, "custom"),
        (210, 279.4, "custom"),
        (1100, 1153.7, "custom"),
        (0, 0, "custom"),
    ],
)
def test_edges_of_the_tolerance(width: float, height: float, name: str) -> None:
    assert paper_name(width, height) == name


@pytest.mark.parametrize(
    ("width", "height", "roll"),
    [(914.4, 2400, 914.4), (3000, 841, 841), (1066, 1500, 1066.8), (1100, 1153.7, None), (200, 300, None)],
)
def test_rolls(width: float, height: float, roll: float | None) -> None:
    assert roll_width(width, height) == roll


@settings(deadline=None, max_examples=200)
@given(st.sampled_from(PAPERS), st.floats(-1, 1), st.floats(-1, 1), st.booleans())
def test_within_a_millimetre_a_paper_is_itself_or_its_twin(paper: object, a: float, b: float, turned: bool) -> None:
    """±1 mm is safe but for the smallest ISO and JIS B sizes, which lie 1 to 2 mm apart."""
    width, height = paper.width + a, paper.height + b  # type: ignore[attr-defined]
    found = paper_of(height, width) if turned else paper_of(width, height)
    assert found is not None
    twins = {"ANSI A": "Letter", "ANSI B": "Tabloid"}
    name = twins.get(paper.name, paper.name)  # type: ignore[attr-defined]
    if name in ("B9", "B10", "JIS B9", "JIS B10"):
        assert found.name.removeprefix("JIS ") == name.removeprefix("JIS ")
    else:
        assert found.name == name
