"""The language of short, half translated texts full of names."""

from __future__ import annotations

import pytest

from vault.language.detect import LANGUAGES, detect


@pytest.mark.parametrize(
    ("text", "language"),
    [
        ("Rechnung Nr. 12\nZwischensumme 7,00 €\nGesamtbetrag 7,00 €", "de"),
        ("Factuur 12\nSubtotaal € 7,00\nTotaal € 7,00", "nl"),
        ("Ordrenummer 12\nDelsum 70,00 kr\nTotalt 70,00 kr\nTakk for bestillingen", "nb"),
        ("Ordrenummer 12\nSubtotal 70,00 kr.\nI alt 70,00 kr.\nTak for din bestilling", "da"),
        ("Ordernummer 12\nDelsumma 70,00 kr\nTotalt 70,00 kr\nTack för din beställning", "sv"),
        ("ご注文番号 12 合計 700円", "ja"),
    ],
)
def test_short_receipts(text: str, language: str) -> None:
    assert detect(text) == language


@pytest.mark.parametrize("text", ["", "12345", "7.00 EUR", "Wanda Prentice"])
def test_nothing_to_go_by_gives_the_hint(text: str) -> None:
    assert detect(text) is None
    assert detect(text, hint="de-AT") == "de"


def test_a_false_declaration_does_not_decide() -> None:
    text = "Vielen Dank für Ihre Bestellung. Sie können das Schnittmuster jetzt herunterladen."
    assert detect(text, hint="en") == "de"


def test_the_hint_decides_between_neighbours() -> None:
    text = "Ordre 12, betalt med kort"
    assert detect(text, hint="da") == "da"
    assert detect(text, hint="no") == "nb"


def test_foreign_words_in_a_template_do_not_decide() -> None:
    text = "Hej Wanda! Tack för ditt köp. Your order: 12. Du kan ladda ner filerna på ditt konto. Total 129 kr"
    assert detect(text) == "sv"


def test_a_language_that_is_not_read_gives_one_that_is_or_none() -> None:
    assert detect("Obrigado pela sua encomenda. Pode descarregar os ficheiros na sua conta.") in (*LANGUAGES, None)
