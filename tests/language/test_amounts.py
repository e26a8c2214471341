"""Amounts in running text: which numbers are money, whose the signs are, and what stays open."""

from __future__ import annotations

from decimal import Decimal

import pytest

from vault.language.amounts import find_amounts, parse_amount, readings, settle_currency


def values(text: str, language: str | None = None) -> list[str]:
    return [str(a.value) for a in find_amounts(text, language)]


@pytest.mark.parametrize(
    ("text", "language", "expected"),
    [
        ("2 x 4.50 = 9.00", "en", ["4.50", "9.00"]),
        ("7,90 € 15,80 €", "de", ["7.90", "15.80"]),
        ("€ 7,90 € 15,80", "nl", ["7.90", "15.80"]),
        ("£6 off, £12 left", "en", ["6", "12"]),
        ("Pris 129:- frakt 49:-", "sv", ["129", "49"]),
        ("129,- kr og 49,- kr", "nb", ["129", "49"]),
        ("12.– Fr.", "de", ["12"]),
        ("1,200円(税込)", "ja", ["1200"]),
        ("1,400円を返金いたしました。", "ja", ["1400"]),
        ("Total(GBP)12.50", "en", ["12.50"]),
        ("Subtotal£23.00", "en", ["23.00"]),
    ],
)
def test_prices_in_a_line(text: str, language: str, expected: list[str]) -> None:
    assert values(text, language) == expected


@pytest.mark.parametrize(
    "text",
    [
        "20 %",
        "VAT 19.00 %",
        "Order 1042",
        "Size 36-46",
        "10.50 cm",
        "07.03.2026",
        "12:30",
        "version 2.0.1",
        "tel. 0123 456789",
        "US 8-18",
        "3 downloads left",
        "A4, A0",
    ],
)
def test_numbers_that_are_no_money(text: str) -> None:
    assert values(text, "en") == []


@pytest.mark.parametrize(
    ("text", "language"),
    [
        ("-3.50", "en"),
        ("\u22123.50 kr", "sv"),
        ("- 3,50 zł", "pl"),
        ("3,50- €", "de"),
        ("(3.50)", "en"),
        ("-£3.50", "en"),
        ("£-3.50", "en"),
    ],
)
def test_forms_of_a_negative_amount(text: str, language: str) -> None:
    assert values(text, language) == ["-3.50"]


def test_a_dash_between_words_and_price_is_no_sign() -> None:
    assert values("Cloche hat - 4.50 €", "de") == ["4.50"]


@pytest.mark.parametrize(
    ("digits", "language", "first", "others"),
    [
        ("1.234", "en", "1.234", {"1234"}),
        ("1.234", "de", "1234", {"1.234"}),
        ("1,234", "en", "1234", {"1.234"}),
        ("1,234", "fr", "1.234", {"1234"}),
        ("12,50", "en", "12.50", set()),
        ("1 234,50", "pl", "1234.50", set()),
        ("12.345.678", "de", "12345678", set()),
        ("1.2345", "de", "1.2345", set()),
    ],
)
def test_the_language_chooses_and_the_other_reading_is_kept(
    digits: str, language: str, first: str, others: set[str]
) -> None:
    found = readings(digits, language)
    assert str(found[0]) == first
    assert {str(v) for v in found[1:]} == others


@pytest.mark.parametrize("digits", ["1,23,4", "1.23.4567", "1,2345.6"])
def test_groups_of_a_wrong_length_are_no_number(digits: str) -> None:
    assert readings(digits, "en") == ()


def test_with_a_currency_a_thousand_is_likelier_than_three_decimals() -> None:
    found = parse_amount("1.234 €", "en")
    assert found is not None
    assert found.value == Decimal(1234)
    assert found.others == (Decimal("1.234"),)


@pytest.mark.parametrize(
    ("text", "language", "code"),
    [
        ("129 kr", "sv", "SEK"),
        ("129 kr", "da", "DKK"),
        ("129 kr", "nb", "NOK"),
        ("129 kr", "en", None),
        ("$5.00", "en", None),
        ("US$5.00", "en", "USD"),
        ("A$5.00", "en", "AUD"),
        ("5,00 CHF", "fr", "CHF"),
        ("¥500", "ja", "JPY"),
    ],
)
def test_a_shared_sign_needs_other_evidence(text: str, language: str, code: str | None) -> None:
    found = parse_amount(text, language)
    assert found is not None
    assert settle_currency(found.currencies, language) == code


@pytest.mark.parametrize("text", ["", "free", "4.50 for two", "4.50 5.50", "x" * 50])
def test_what_is_not_one_amount_alone(text: str) -> None:
    assert parse_amount(text, "en") is None
