"""Dates and amounts as a letter in a language writes them, by CLDR (through Babel).

An amount carries its ISO 4217 code behind the number, never a sign that several currencies share, and as many places
as ISO 4217 gives it; a date is written with the name of the month.  Neither can be read in two ways.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from vault.model.money import amount_text

# CLDR writes the plain number where these languages count: "1er avril", "1º aprile".
_FIRST_OF_MONTH = {"fr": "1er", "it": "1º"}
_LOCALES = {"en": "en_GB", "nb": "nb", "es": "es_ES"}


def written_date(day: date, language: str) -> str:
    """`day` in the long form of the language: "7 March 2026", "7. März 2026", "2026年3月7日"."""
    from babel.dates import format_date

    text = _one_blank(format_date(day, "long", locale=_LOCALES.get(language, language)))
    first = _FIRST_OF_MONTH.get(language)
    return text.replace("1 ", f"{first} ", 1) if first and day.day == 1 else text


def written_amount(amount: Decimal, currency: str | None, language: str) -> str:
    """`amount` as the language writes numbers, with its code: "1234,50 EUR"; without one where none is known."""
    from babel.numbers import format_decimal

    places = len(amount_text(amount, currency).partition(".")[2])
    pattern = "0" + ("." + "0" * places if places else "")  # no groups: "1,234" could be two numbers
    number = _one_blank(format_decimal(amount, pattern, locale=_LOCALES.get(language, language)))
    return f"{number} {currency}" if currency else number


def _one_blank(text: str) -> str:
    """`text` with the no-break blank in place of the narrow one, which many fonts lack."""
    return text.replace("\u202f", "\u00a0")
