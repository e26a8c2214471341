"""The facts of files whose words are hard (`fixtures/patterns/worded_makers.py`; common practice, no published source)."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from worded_makers import WORDED, Worded

from vault.patterns.read import read_file


@pytest.mark.parametrize("build", WORDED, ids=lambda build: build.__name__)
def test_what_the_words_say(build: Callable[[], Worded], tmp_path: Path) -> None:
    made = build()
    path = tmp_path / "file.pdf"
    path.write_bytes(made.data)
    facts = read_file(path, media_type="application/pdf", name=made.name).facts
    assert facts.is_pattern is True
    assert {key: getattr(facts, key) for key in made.facts} == made.facts


@pytest.mark.parametrize(("place", "use"), [(0, "tiled"), (3, "copy-shop")])
def test_what_their_pages_are_for(place: int, use: str, tmp_path: Path) -> None:
    made = WORDED[place]()
    path = tmp_path / "file.pdf"
    path.write_bytes(made.data)
    facts = read_file(path, media_type="application/pdf", name=made.name).facts
    assert {sheet.use for sheet in facts.sheets} == {use}
    assert facts.scale_check is not None
    assert facts.scale_check.ok


def test_the_square_of_a_quilt_block_is_found_where_another_page_says_to_check_it(tmp_path: Path) -> None:
    made = WORDED[4]()
    path = tmp_path / "file.pdf"
    path.write_bytes(made.data)
    check = read_file(path, media_type="application/pdf", name=made.name).facts.scale_check
    assert check is not None
    # one inch is 25.4 mm exactly (international yard and pound agreement of 1959)
    assert (check.stated_mm, check.drawn_mm, check.page) == (25.4, 25.4, 2)
