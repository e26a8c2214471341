"""Minor units of currencies.  Published source: ISO 4217 (the list of currencies and their minor units, 2026)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from vault.model.money import Money, amount_text, minor_units

NONE = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF".split()
THREE = "BHD IQD JOD KWD LYD OMR TND".split()
FOUR = "CLF UYW".split()


@pytest.mark.parametrize(
    ("codes", "places"), [(NONE, 0), (THREE, 3), (FOUR, 4), (["EUR", "USD", "GBP", "SEK", "ALL", "HUF"], 2)]
)
def test_minor_units_are_those_of_iso_4217(codes: list[str], places: int) -> None:
    """CLDR has other numbers for ALL, IQD, ISK and more; receipts go by ISO."""
    assert {code: minor_units(code) for code in codes} == dict.fromkeys(codes, places)


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [
        ("12", "EUR", "12.00"),
        ("1234", "JPY", "1234"),
        ("1.5", "KWD", "1.500"),
        ("0.125", "EUR", "0.125"),
        ("1E+2", "EUR", "100.00"),
    ],
)
def test_an_amount_is_written_with_the_places_of_its_currency(amount: str, currency: str, text: str) -> None:
    assert amount_text(Decimal(amount), currency) == text


@pytest.mark.parametrize(
    ("amount", "currency"), [(1.5, "EUR"), (Decimal("NaN"), "EUR"), (Decimal(1), "euro"), (Decimal(1), "")]
)
def test_money_refuses_what_is_not_exact(amount: object, currency: str) -> None:
    with pytest.raises(ValueError, match=r"amount|currency"):
        Money(amount=amount, currency=currency)  # type: ignore[arg-type]
