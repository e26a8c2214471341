"""The words of the languages: every file says the same things, and every sentence with gaps compiles."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from typing import Any

import pytest

from vault.language import LANGUAGES
from vault.language.folding import fold
from vault.receipts.words import Words, languages, words_for

FOLDER = files("vault.receipts") / "words"
# What a language may leave to English, or has no use for.
OPTIONAL = {("seller", "of"), ("prose", "articles"), ("prose", "linking"), ("numbers", ""), ("parts", "")}


def table(code: str) -> dict[str, dict[str, Any]]:
    loaded: dict[str, dict[str, Any]] = tomllib.loads((FOLDER / f"{code}.toml").read_text(encoding="utf-8"))
    return loaded


ENGLISH = table("en")


def test_every_language_has_its_file() -> None:
    assert tuple(languages()) == LANGUAGES


@pytest.mark.parametrize("code", [c for c in LANGUAGES if c != "en"])
def test_a_language_says_all_that_english_says(code: str) -> None:
    own = table(code)
    missing = [
        (section, key)
        for section, entries in ENGLISH.items()
        for key in entries
        if not own.get(section, {}).get(key) and (section, key) not in OPTIONAL and (section, "") not in OPTIONAL
    ]
    assert missing == []


@pytest.mark.parametrize("code", LANGUAGES)
def test_there_are_no_unknown_entries(code: str) -> None:
    """An entry that English has not is read by nothing: a slip of the pen."""
    known = {(s, k) for s, entries in ENGLISH.items() for k in entries}
    own = {(s, k) for s, entries in table(code).items() for k in entries if s not in ("numbers", "parts")}
    assert {e for e in own - known if not e[1].endswith("_inside")} == set()


@pytest.mark.parametrize("code", LANGUAGES)
def test_labels_are_short_and_not_empty(code: str) -> None:
    for concept, phrases in table(code)["labels"].items():
        for phrase in phrases:
            assert 0 < len(fold(phrase)) <= 60, (concept, phrase)


@pytest.mark.parametrize("code", LANGUAGES)
def test_sentences_with_gaps_compile_and_have_words_of_their_own(code: str) -> None:
    words = words_for(code)
    for section, entries in table(code).items():
        for key, phrases in entries.items():
            if not isinstance(phrases, list) or not any("{" in p for p in phrases):
                continue
            for template in words.templates(section, key):
                assert len(template.anchor) >= 1, (section, key, template)


@pytest.mark.parametrize("code", LANGUAGES)
def test_one_word_is_no_sign_of_a_purchase(code: str) -> None:
    """Signs of a purchase are phrases: a single common word would make one of any newsletter."""
    plain = {"order", "purchase"}
    for name in plain:
        for phrase in table(code)["signs"][name]:
            assert len(fold(phrase)) > 2, phrase


def test_an_own_word_comes_before_a_foreign_one() -> None:
    assert words_for("de").label("Gesamt")[0] == "total"
    assert words_for("en").label("Gesamtbetrag:")[0] in ("total", "line_amount")


def test_labels_with_what_shops_add() -> None:
    words = words_for("en")
    for text in ("VAT (20 %):", "VAT 20%", "vat", "VAT:"):
        assert "tax" in words.label(text) or "tax_included" in words.label(text), text
    assert words.label("Our order number")[0] == "order_number"
    assert words_for("nl").label("Bestelnummer / Numéro de commande")[0] == "order_number"
    assert words.label("Peasant Skirt") == ()


def test_a_language_that_is_not_known_reads_with_english() -> None:
    assert Words("xx").label("Order number") == words_for("en").label("Order number")
