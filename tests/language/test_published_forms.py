"""Amounts and dates as the languages print them.

Published source: the forms of CLDR 47 (as Babel 2.18 writes them) and CLDR 48 (as ICU 78 writes them) for 1234.50 and
7 March 2026; where the two differ, both are read.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.language.amounts import find_amounts, parse_amount, readings, settle_currency
from vault.language.dates import find_dates
from vault.language.detect import detect

NB, NNB = "\u00a0", "\u202f"

AMOUNTS = [
    ("en", "$1,234.50", "USD"),
    ("en", "£1,234.50", "GBP"),
    ("de", f"1.234,50{NB}€", "EUR"),
    ("fr", f"1{NNB}234,50{NB}€", "EUR"),
    ("nl", f"€{NB}1.234,50", "EUR"),
    ("es", f"1.234,50{NB}€", "EUR"),
    ("es", f"1234,50{NB}€", "EUR"),
    ("it", f"1.234,50{NB}€", "EUR"),
    ("it", f"1234,50{NB}€", "EUR"),
    ("sv", f"1{NB}234,50{NB}kr", "SEK"),
    ("da", f"1.234,50{NB}kr.", "DKK"),
    ("nb", f"1{NB}234,50{NB}kr", "NOK"),
    ("fi", f"1{NB}234,50{NB}€", "EUR"),
    ("pl", f"1{NB}234,50{NB}zł", "PLN"),
    ("pl", f"1234,50{NB}zł", "PLN"),
    ("de", f"CHF{NB}1’234.50", "CHF"),
    ("de", f"CHF{NB}1'234.50", "CHF"),
    ("fr", f"1{NNB}234,50{NB}CHF", "CHF"),
    ("fr", f"1{NNB}234.50{NB}CHF", "CHF"),
    ("de", f"€{NB}1.234,50", "EUR"),
    # A blank or a no-break blank as the French group sign, which a strict reader refuses if it is not narrowed first.
    ("fr", "1 234,50 €", "EUR"),
    ("fr", f"1{NB}234,50{NB}€", "EUR"),
    ("en", "1,234.50 USD", "USD"),
    ("de", "EUR 1.234,50", "EUR"),
]


@pytest.mark.parametrize(("language", "text", "currency"), AMOUNTS)
def test_an_amount_in_its_language(language: str, text: str, currency: str) -> None:
    found = parse_amount(text, language)
    assert found is not None
    assert found.value == Decimal("1234.50")
    code = settle_currency(found.currencies, language)
    assert code == currency or currency in found.currencies


@pytest.mark.parametrize("text", ["￥1,234", "¥1,234", "1,234円"])
def test_whole_yen(text: str) -> None:
    found = parse_amount(text, "ja")
    assert found is not None
    assert (found.value, "JPY" in found.currencies) == (Decimal(1234), True)


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("sv", f"\u22123,50{NB}kr"),
        ("fi", f"\u22123,50{NB}€"),
        ("nl", f"€{NB}-3,50"),
        ("de", f"-€{NB}3,50"),
        ("de", "CHF-3.50"),
        ("en", "-£3.50"),
    ],
)
def test_negative_amounts(language: str, text: str) -> None:
    (found,) = find_amounts(text, language)
    assert found.value == Decimal("-3.50")


def test_strict_reading_is_not_lenient() -> None:
    """The lenient reader of Babel makes 1250 of this in en_US; that must not happen."""
    assert readings("12,50", "en")[0] == Decimal("12.50")


@pytest.mark.parametrize("text", ["1.234", "1,234"])
def test_a_lone_group_or_decimal_sign_is_ambiguous(text: str) -> None:
    assert {Decimal(1234), Decimal("1.234")} <= set(readings(text))


DATES = [
    ("en", "3/7/26", None),
    ("en", "Mar 7, 2026", date(2026, 3, 7)),
    ("en", "March 7, 2026", date(2026, 3, 7)),
    ("en", "7 March 2026", date(2026, 3, 7)),
    ("de", "07.03.26", date(2026, 3, 7)),
    ("de", "07.03.2026", date(2026, 3, 7)),
    ("de", "7. März 2026", date(2026, 3, 7)),
    ("fr", "07/03/2026", date(2026, 3, 7)),
    ("fr", "7 mars 2026", date(2026, 3, 7)),
    ("nl", "07-03-2026", date(2026, 3, 7)),
    ("nl", "7 mrt 2026", date(2026, 3, 7)),
    ("nl", "7 maart 2026", date(2026, 3, 7)),
    ("es", "7/3/26", date(2026, 3, 7)),
    ("es", "7 mar 2026", date(2026, 3, 7)),
    ("es", "7 de marzo de 2026", date(2026, 3, 7)),
    ("it", "07/03/26", date(2026, 3, 7)),
    ("it", "7 marzo 2026", date(2026, 3, 7)),
    ("sv", "2026-03-07", date(2026, 3, 7)),
    ("sv", "7 mars 2026", date(2026, 3, 7)),
    ("da", "7. mar. 2026", date(2026, 3, 7)),
    ("da", "7. marts 2026", date(2026, 3, 7)),
    ("nb", "7. mars 2026", date(2026, 3, 7)),
    ("fi", "7.3.2026", date(2026, 3, 7)),
    ("fi", "7. maaliskuuta 2026", date(2026, 3, 7)),
    ("pl", "7.03.2026", date(2026, 3, 7)),
    ("pl", "7 marca 2026", date(2026, 3, 7)),
    ("ja", "2026/03/07", date(2026, 3, 7)),
    ("ja", "2026年3月7日", date(2026, 3, 7)),
]


@pytest.mark.parametrize(("language", "text", "day"), DATES)
def test_a_date_in_its_language(language: str, text: str, day: date | None) -> None:
    (found,) = find_dates(text, language)
    assert found.value == day
    assert date(2026, 3, 7) in found.candidates


def test_an_english_numeric_date_leaves_both_readings() -> None:
    (found,) = find_dates("03/04/2026", "en")
    assert set(found.candidates) == {date(2026, 3, 4), date(2026, 4, 3)}
    assert found.value is None


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "Thank you for your order. You can download your sewing pattern from your account at any time."),
        ("de", "Vielen Dank für deine Bestellung. Du kannst dein Schnittmuster jetzt in deinem Konto herunterladen."),
        ("fr", "Merci pour votre commande. Vous pouvez télécharger votre patron de couture dans votre compte."),
        ("nl", "Bedankt voor je bestelling. Je kunt het patroon nu downloaden in je account op onze website."),
        ("es", "Gracias por tu pedido. Ya puedes descargar tu patrón de costura desde tu cuenta en nuestra tienda."),
        ("it", "Grazie per il tuo ordine. Puoi scaricare il cartamodello dal tuo account quando vuoi."),
        ("sv", "Tack för din beställning. Du kan nu ladda ner ditt symönster från ditt konto när du vill."),
        ("da", "Tak for din ordre. Du kan nu hente dit symønster på din konto, så ofte du vil."),
        ("nb", "Takk for bestillingen din. Du kan nå laste ned symønsteret fra kontoen din når du vil."),
        ("pl", "Dziękujemy za zamówienie. Wykrój można pobrać ze swojego konta w dowolnym momencie."),
        ("fi", "Kiitos tilauksestasi. Voit ladata ompelukaavan omalta tililtäsi milloin tahansa."),
        ("ja", "ご注文ありがとうございます。型紙はマイページからダウンロードできます。"),
    ],
)
def test_the_language_of_a_mail(language: str, text: str) -> None:
    assert detect(text) == language


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_or_passed_over(text: str) -> None:
    for language in ("en", "de", "ja", None):
        for amount in find_amounts(text, language):
            assert amount.value.is_finite()
        for found in find_dates(text, language):
            assert found.candidates


@pytest.mark.parametrize("junk", ["1" * 100_000, "1," * 50_000, "€ " * 50_000, "7 " * 50_000, "." * 100_000])
def test_hostile_lengths_come_to_an_end(junk: str) -> None:
    find_amounts(junk, "en")
    find_dates(junk, "en")
