"""Dates: what stays open, what another day settles, and what only looks like a date."""

from __future__ import annotations

from datetime import date

import pytest

from vault.language.dates import find_dates, settle, settle_after


def only(text: str, language: str | None, near: date | None = None) -> tuple[date, ...]:
    (found,) = find_dates(text, language, near=near)
    return found.candidates


@pytest.mark.parametrize(
    ("text", "language", "day"),
    [
        ("Mon, 3rd June 2024", "en", date(2024, 6, 3)),
        ("June 3rd, 2024", "en", date(2024, 6, 3)),
        ("24-Jul-2025", "en", date(2025, 7, 24)),
        ("Sept. 9, 2024", "en", date(2024, 9, 9)),
        ("den 3. juni 2025", "da", date(2025, 6, 3)),
        ("3.6.2025 klo 14.02", "fi", date(2025, 6, 3)),
        ("5. syyskuuta 2024", "fi", date(2024, 9, 5)),
        ("1er août 2024", "fr", date(2024, 8, 1)),
        ("11 lipca 2025", "pl", date(2025, 7, 11)),
        ("3. Jänner 2025", "de", date(2025, 1, 3)),
        ("2. Mrz 2025", "de", date(2025, 3, 2)),
        ("15 de septiembre del 2024", "es", date(2024, 9, 15)),
        ("2025年7月12日(土) 21:14", "ja", date(2025, 7, 12)),
        ("令和7年7月12日", "ja", date(2025, 7, 12)),
        ("2024-02-29T10:00:00Z", "en", date(2024, 2, 29)),
        ("2024/2/9", None, date(2024, 2, 9)),
        ("17.2.24", "de", date(2024, 2, 17)),
        ("25/12/2024", None, date(2024, 12, 25)),
    ],
)
def test_forms_of_a_date(text: str, language: str | None, day: date) -> None:
    assert only(text, language) == (day,)


@pytest.mark.parametrize("language", ["en", None])
def test_day_and_month_may_be_exchanged(language: str | None) -> None:
    assert only("03/04/2026", language) == (date(2026, 4, 3), date(2026, 3, 4))


@pytest.mark.parametrize("language", ["de", "fr", "nl", "es", "it", "da", "nb", "fi", "pl"])
def test_languages_that_put_the_day_first(language: str) -> None:
    assert only("03/04/2026", language) == (date(2026, 4, 3),)


def test_a_day_nearby_settles_what_is_open() -> None:
    (found,) = find_dates("03/04/2026", "en")
    assert settle(found) is None
    assert settle(found, near=date(2026, 4, 3)) == date(2026, 4, 3)
    assert settle(found, near=date(2026, 3, 5)) == date(2026, 3, 4)
    assert settle(found, near=date(2026, 9, 1)) is None


def test_an_end_is_not_before_it_was_announced() -> None:
    (found,) = find_dates("05/06/2026", "en")
    assert settle_after(found, date(2026, 5, 20)) == date(2026, 6, 5)
    assert settle_after(found, date(2026, 1, 1)) is None


def test_a_date_without_a_year_needs_one_nearby() -> None:
    assert find_dates("14 March", "en") == ()
    (found,) = find_dates("14 March", "en", near=date(2025, 2, 20))
    assert settle_after(found, date(2025, 2, 20)) == date(2025, 3, 14)
    assert found.value is None


@pytest.mark.parametrize(
    "text", ["31/02/2026", "13/13/2026", "10-12 cm", "4.50", "2026", "May I", "no. 12/2026/77", "1.2.3", "99.99.2024"]
)
def test_what_is_no_date(text: str) -> None:
    assert find_dates(text, "en") == ()
