"""Text from strangers on a terminal."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.reports.tables import Column, labelled, table
from vault.reports.text import Style, ascii_only, clip, plain, width, wrap

NARROW = Style(columns=60)


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("Heron\x1b[2J Skirt", "Heron[2J Skirt"),
        ("a\r\nb\tc", "a b c"),
        ("right\u202eleft", "rightleft"),
        ("zero\u200bwidth", "zerowidth"),
        ("Kleid\u0301", "Kleid\u0301"),
        ("u\u0308ber", "über"),
        ("bad\udcffname", "bad\ufffdname"),
        ("\x00\x07bell", "bell"),
    ],
)
def test_plain_takes_out_what_a_terminal_would_obey(given: str, shown: str) -> None:
    assert plain(given) == shown


@given(st.text())
def test_plain_is_printable_and_stable(text: str) -> None:
    once = plain(text)
    assert plain(once) == once
    assert "\x1b" not in once and "\n" not in once and "\r" not in once


@pytest.mark.parametrize(("text", "columns"), [("abc", 3), ("手袋", 4), ("e\u0301", 1), ("", 0)])
def test_width_counts_columns(text: str, columns: int) -> None:
    assert width(text) == columns


@given(st.text(), st.integers(min_value=2, max_value=40))
def test_clip_fits(text: str, columns: int) -> None:
    assert width(clip(text, columns)) <= columns


@given(st.text(alphabet=st.characters(blacklist_categories=["Cs", "Cc"]), max_size=300))
def test_wrapped_lines_fit_sixty_columns(text: str) -> None:
    assert all(width(line) <= 60 for line in wrap(plain(text), 60, first="  - ", rest="    "))


def test_a_link_stays_whole_when_asked() -> None:
    url = "https://thimblewick.example/" + "x" * 90
    assert any(url in line for line in wrap(f"see {url}", 60, keep_long=True))


def test_ascii_spells_out_typography() -> None:
    assert ascii_only("Größe – 38 €…") == "Gro?e - 38 EUR..."


def test_a_table_fits_sixty_columns_and_keeps_its_numbers() -> None:
    columns = [Column(heading="File", gives=True), Column(heading="What", gives=True), Column(heading="N", right=True)]
    rows = [
        ["a very long name of a pattern file that goes on and on.pdf", "sewing", "123456"],
        ["b.pdf", "knitting", "1"],
    ]
    lines = table(columns, rows, NARROW)
    assert all(width(line) <= 60 for line in lines)
    assert lines[1].endswith("123456") and lines[2].endswith("     1")


def test_labelled_leaves_out_what_is_not_known() -> None:
    assert labelled([("designer", ""), ("title", "Skirt")], NARROW) == ["  title  Skirt"]
