"""What held files have to do with each other: told from facts, in both directions, with nothing dropped."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.matching.relations import Relations, redrawn, relations, resemblance, written_on
from vault.model.pattern import PatternFacts, PatternFile, Sheet, Sighting, Stamp


def sketch(start: int, count: int = 64) -> str:
    return "".join(f"{value:08x}" for value in range(start, start + count))


A4 = (Sheet(paper="A4", width_mm=210, height_mm=297, pages=12, use="tiled"),)
A0 = (Sheet(paper="A0", width_mm=841, height_mm=1189, pages=1, use="copy-shop"),)
BASE = PatternFacts(
    media_type="application/pdf",
    is_pattern=True,
    craft="sewing",
    title="Larkspur Coat",
    designer="Fern & Cog",
    language="en",
    pages=12,
    sheets=A4,
    parts=("A4",),
    sizes=("34", "36", "38", "40"),
    version="1.0",
    content_fingerprint="pdf1:one",
    text_sketch=sketch(0),
    drawn_sketch=sketch(0, 20),
)


def file(name: str, **changes: Any) -> PatternFile:
    facts = replace(BASE, **{"content_fingerprint": f"pdf1:{name}", **changes})
    return PatternFile(sha256=name, n_bytes=1, facts=facts, sightings=(Sighting(path=f"/downloads/{name}.pdf"),))


MINE = file("mine")
OTHERS: list[tuple[str, dict[str, Any], str | None, bool | None, str]] = [
    ("another stamp", {"content_fingerprint": "pdf1:mine", "stamp": Stamp(name="Wanda")}, "same", None, "stamp"),
    ("saved again", {"content_fingerprint": "pdf1:mine"}, "same", None, "saved again"),
    ("redistilled", {"drawn_sketch": sketch(2, 20)}, "redrawn", None, "another program"),
    (
        "a new version",
        {"version": "1.1", "pages": 15, "text_sketch": sketch(9000)},
        "version",
        True,
        "version 1.1 instead of 1.0, 15 pages instead of 12",
    ),
    ("a version before", {"version": "0.9", "text_sketch": sketch(9000)}, "version", False, "version 0.9"),
    ("1.10 comes after 1.0", {"version": "1.10", "text_sketch": sketch(9000)}, "version", True, "1.10"),
    (
        "a version with more sizes",
        {"version": "2", "sizes": ("34", "36", "38", "40", "42", "44"), "text_sketch": sketch(9000)},
        "version",
        True,
        "sizes 34 to 44 instead of 34 to 40",
    ),
    (
        "only its date differs",
        {"metadata": {"CreationDate": "D:20240301120000Z"}, "text_sketch": sketch(9000)},
        "version",
        None,
        "other words or shapes",
    ),
    ("larger sizes", {"sizes": ("42", "44", "46", "48"), "text_sketch": sketch(9000)}, "sizes", None, "42 to 48"),
    ("translated", {"language": "de", "text_sketch": sketch(9000)}, "language", None, "(de)"),
    ("the large sheet", {"parts": ("A0",), "sheets": A0, "pages": 1}, "part", None, "A0"),
    ("another maker", {"designer": "Pinwheel Loft", "text_sketch": sketch(9000)}, None, None, ""),
    ("a children's version", {"title": "Larkspur Coat Kids", "text_sketch": sketch(9000)}, None, None, ""),
    ("another title with the same words", {"title": "Yarrow Coat"}, None, None, ""),
    ("no pattern", {"is_pattern": False, "text_sketch": sketch(9000)}, None, None, ""),
]


@pytest.mark.parametrize(("name", "changes", "kind", "newer", "words"), OTHERS, ids=[case[0] for case in OTHERS])
def test_each_relation(name: str, changes: dict[str, Any], kind: str | None, newer: bool | None, words: str) -> None:
    other = file("other", **changes)
    found = relations(MINE, [MINE, other])
    assert [r.kind for r in found] == ([kind] if kind else []), name
    if found:
        assert found[0].newer is newer
        assert words in found[0].words
        (back,) = relations(other, [MINE, other])
        assert back.kind == kind
        assert back.newer is (None if newer is None else not newer)


def test_files_with_no_title_of_their_own_go_by_their_names_and_the_numbers_in_them() -> None:
    facts = replace(BASE, title=None, text_sketch="", drawn_sketch="", content_fingerprint=None)
    small, large = (
        PatternFile(sha256=n, n_bytes=1, facts=facts, sightings=(Sighting(path=f"/d/teasel {n}.pdf"),))
        for n in ("30", "60")
    )
    assert relations(small, [small, large]) == ()


def test_sheets_of_another_size_are_not_the_same_drawn_anew() -> None:
    letter = (Sheet(paper="Letter", width_mm=215.9, height_mm=279.4, pages=12, use="tiled"),)
    assert redrawn(BASE, BASE)
    assert not redrawn(BASE, replace(BASE, sheets=letter))


def test_little_said_and_little_drawn_is_compared_with_nothing() -> None:
    bare = replace(BASE, text_sketch=sketch(0, 5), drawn_sketch=sketch(0, 3))
    assert not redrawn(bare, bare)


@settings(deadline=None, max_examples=100)
@given(st.sets(st.integers(0, 400), max_size=90), st.sets(st.integers(0, 400), max_size=90))
def test_resemblance_is_symmetric_and_whole_for_equals(first: set[int], second: set[int]) -> None:
    a, b = ("".join(f"{v:08x}" for v in sorted(s)[:64]) for s in (first, second))
    assert resemblance(a, b) == resemblance(b, a)
    assert resemblance(a, a) == (1.0 if a else 0.0)
    assert 0.0 <= resemblance(a, b) <= 1.0
    if len(first | second) <= 64 and (first | second):
        assert resemblance(a, b) == pytest.approx(len(first & second) / len(first | second))


@settings(deadline=None, max_examples=60)
@given(st.lists(st.sampled_from([case[1] for case in OTHERS]), max_size=6))
def test_relations_do_not_depend_on_the_order_of_files(changes: list[dict[str, Any]]) -> None:
    files = [MINE, *(file(f"f{n}", **change) for n, change in enumerate(changes))]
    assert Relations(files).of(MINE) == Relations(reversed(files)).of(MINE)


@pytest.mark.parametrize(
    ("text", "said"),
    [("D:20240301120000+01'00'", "2024-03-01"), ("D:20241399", None), ("yesterday", None), ("", None)],
)
def test_the_day_a_file_was_written(text: str, said: str | None) -> None:
    """Dates of §7.9.4 of ISO 32000-1: `D:YYYYMMDDHHmmSSOHH'mm`."""
    day = written_on(replace(BASE, metadata={"CreationDate": text}))
    assert (day.isoformat() if day else None) == said
