"""The language of short, half translated texts full of names."""

from __future__ import annotations

import struct
import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.language.detect import LANGUAGES, detect
from vault.language.grams import MAGIC, grams, packed, unpacked


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


SENTENCES = {
    "en": "Cut two of the sleeve on the fold and sew the shoulder seams with the right sides together.",
    "de": "Den Ärmel zweimal im Stoffbruch zuschneiden und die Schulternähte rechts auf rechts schließen.",
    "fr": "Coupez la manche deux fois au pli du tissu et assemblez les épaules endroit contre endroit.",
    "nl": "Knip de mouw twee keer aan de stofvouw en stik de schoudernaden met de goede kanten op elkaar.",
    "es": "Corta la manga dos veces al doblez de la tela y cose los hombros derecho con derecho.",
    "it": "Tagliate la manica due volte sulla piega del tessuto e cucite le spalle diritto contro diritto.",
    "sv": "Klipp ärmen två gånger mot vikt tyg och sy axelsömmarna räta mot räta.",
    "da": "Klip ærmet to gange mod fold og sy skuldersømmene ret mod ret, inden halsen kantes.",
    "nb": "Klipp ermet to ganger mot brett og sy skuldersømmene rette mot rette før halsen kantes.",
    "pl": "Wytnij rękaw dwa razy na złożeniu tkaniny i zszyj ramiona prawą stroną do prawej.",
    "fi": "Leikkaa hiha kahdesti kankaan taitteelta ja ompele olkasaumat oikeat puolet vastakkain.",
    "ja": "袖を二枚、布の輪で裁ち、肩を中表に縫い合わせます。",
}


@pytest.mark.parametrize(("language", "text"), SENTENCES.items())
def test_groups_of_letters_agree_with_the_model_they_were_taken_from(language: str, text: str) -> None:
    py3langid = pytest.importorskip("py3langid")
    py3langid.set_languages(["no" if code == "nb" else code for code in LANGUAGES])
    said, _ = py3langid.classify(text.casefold())
    scores = grams().scores(text.casefold())
    assert max(scores, key=lambda code: scores[code]) == {"no": "nb"}.get(said, said) == language


@settings(deadline=None, max_examples=60)
@given(st.dictionaries(st.binary(min_size=2, max_size=6), st.tuples(*[st.integers(-127, 127)] * 2), max_size=20))
def test_a_packed_model_is_unpacked_as_it_was(table: dict[bytes, tuple[int, int]]) -> None:
    found = unpacked(packed(("de", "en"), table))
    assert found.languages == ("de", "en")
    weights = {gram: struct.unpack_from("2b", found.weights, place * 2) for gram, place in found.places.items()}
    assert weights == table


def test_a_file_of_another_kind_is_no_model() -> None:
    with pytest.raises(ValueError, match="letter groups"):
        unpacked(zlib.compress(MAGIC))


@settings(deadline=None, max_examples=60)
@given(st.text(max_size=200))
def test_any_text_gives_a_language_or_none(text: str) -> None:
    assert detect(text) in (*LANGUAGES, None)


@pytest.mark.parametrize(
    ("text", "language"),
    [
        (
            "Hazel Tree Scarf\no\n.\n\\\n24\n23\no 19\n18\n\\ 5\nKey: blank = k on RS, p on WS\no = yo\nRepeat rows 1-24",
            "en",
        ),
        (
            "Point de croix\nx\n#\n+\no\nLégende (mouliné, 2 brins)\nx rouge 12 o bleu 44\nVente des broderies interdite.",
            "fr",
        ),
    ],
)
def test_the_symbols_of_a_chart_are_no_words(text: str, language: str) -> None:
    assert detect(text) == language
