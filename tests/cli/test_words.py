"""The words of a call before typer sees them, and what they turn into."""

from __future__ import annotations

from datetime import date

import pytest

from vault.cli.main import hoist
from vault.cli.session import parse_day
from vault.errors import UsageError


@pytest.mark.parametrize(
    ("given", "made"),
    [
        (["missing", "--vault", "V"], ["--vault", "V", "missing"]),
        (["--vault", "V", "missing"], ["--vault", "V", "missing"]),
        (["restore", "--from", "D", "--vault=V", "--quiet"], ["--vault=V", "--quiet", "restore", "--from", "D"]),
        (["import", "--", "--vault", "V"], ["import", "--", "--vault", "V"]),
        (["missing", "--vault"], ["missing", "--vault"]),
        (["missing", "--as-of", "2026-01-01", "--json"], ["--as-of", "2026-01-01", "missing", "--json"]),
        ([], []),
    ],
)
def test_global_options_may_stand_anywhere(given: list[str], made: list[str]) -> None:
    assert hoist(given) == made


def test_a_day_is_iso_8601() -> None:
    assert parse_day("2026-11-30") == date(2026, 11, 30)


@pytest.mark.parametrize("text", ["30.11.2026", "2026-13-01", "2026-066", "tomorrow", ""])
def test_what_is_no_day_is_said_with_an_example(text: str) -> None:
    with pytest.raises(UsageError) as caught:
        parse_day(text)
    assert "YYYY-MM-DD" in caught.value.next_step
