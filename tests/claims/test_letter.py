"""Letters in all languages, re-read by the checker; a seller's hostile words break nothing."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.claims.letters import HOSTILE, SEVERAL, claim, item
from vault.claims.checker import objections
from vault.claims.letter import LetterOptions, compose
from vault.claims.phrases import LABELS, MARKS, PARTS, SENTENCES, languages, phrases
from vault.claims.safe_text import one_line
from vault.errors import UsageError
from vault.language import LANGUAGES
from vault.language.writing import written_amount, written_date

OPTIONS = LetterOptions(signed="Nora Lantern", closes_on=date(2026, 12, 31), redacted=True)


def test_every_language_of_receipts_has_every_phrase_with_the_same_gaps() -> None:
    assert set(languages()) == set(LANGUAGES)
    for code in languages():
        words = phrases(code)
        assert set(words.words) == {*SENTENCES, *LABELS, *MARKS}
        assert set(words.parts) == set(PARTS)
        for key, english in phrases("en").words.items():
            assert sorted(set(re.findall(r"\{\w+\}", words[key]))) == sorted(set(re.findall(r"\{\w+\}", english))), key
            assert code == "en" or words[key] != english or key == "designer", (code, key)


# Words that change before a vowel or an article, and so cannot stand before a name or a day that is filled in:
# "de Ardoise" is "d'Ardoise", "il 8 dicembre" is "l'8 dicembre".  Common grammar.
_CHANGES_BEFORE = {
    "fr": r"\b(?:de|du|des|le|la|que|à|au)",
    "it": r"\b(?:di|del|della|il|la|lo|al|dal|che)",
    "en": r"\b(?:a|an|the)",
    "pl": r"\b(?:w|z)",
    "de": r"\b(?:der|die|das|dem|vom|beim)",
}


@pytest.mark.parametrize(("code", "words_re"), _CHANGES_BEFORE.items())
def test_no_word_that_would_change_stands_before_what_is_filled_in(code: str, words_re: str) -> None:
    gap = r"\{(?:seller|to|date)\}" if code == "it" else r"\{(?:seller|to)\}"  # French days keep their article
    for key, words in phrases(code).words.items():
        assert not re.search(rf"{words_re}\s+{gap}", words), (key, words)


@pytest.mark.parametrize("day", [8, 11])
def test_an_italian_day_that_begins_with_a_vowel_needs_no_other_article(day: int) -> None:
    made = replace(claim("it"), answer_by=date(2026, 12, day))
    text = compose(made, LetterOptions(closes_on=date(2026, 12, day))).text
    assert f": {day} dicembre 2026" in text
    assert f"il {day} " not in text


@pytest.mark.parametrize("code", languages())
@pytest.mark.parametrize("to", ["Thimblewick", "Gannet & Co"])
def test_the_checker_finds_every_order_number_date_and_amount(code: str, to: str) -> None:
    made = claim(code, to=to)
    letter = compose(made, OPTIONS)
    assert objections(letter.text, made) == ()
    for one in SEVERAL:
        assert one_line(one.title) in letter.text
        assert (one.order_number or one.payment_number or "") in letter.text
    assert ("Gannet" in letter.text) == (to != "Thimblewick")


# Published values: CLDR 47/48 (long date of 7 March 2026), as check by ICU 78; amounts carry ISO 4217 codes.
@pytest.mark.parametrize(
    ("code", "day", "amount"),
    [
        ("en", "7 March 2026", "1234.50 EUR"),
        ("de", "7. März 2026", "1234,50 EUR"),
        ("fr", "7 mars 2026", "1234,50 EUR"),
        ("nl", "7 maart 2026", "1234,50 EUR"),
        ("es", "7 de marzo de 2026", "1234,50 EUR"),
        ("it", "7 marzo 2026", "1234,50 EUR"),
        ("sv", "7 mars 2026", "1234,50 EUR"),
        ("da", "7. marts 2026", "1234,50 EUR"),
        ("nb", "7. mars 2026", "1234,50 EUR"),
        ("fi", "7. maaliskuuta 2026", "1234,50 EUR"),
        ("pl", "7 marca 2026", "1234,50 EUR"),
        ("ja", "2026年3月7日", "1234.50 EUR"),
    ],
)
def test_days_and_amounts_are_written_as_the_language_does(code: str, day: str, amount: str) -> None:
    assert written_date(date(2026, 3, 7), code) == day
    assert written_amount(Decimal("1234.5"), "EUR", code) == amount
    assert written_amount(Decimal("1400"), "JPY", code) == "1400 JPY"


def test_the_first_of_a_month_in_french_and_italian() -> None:
    assert written_date(date(2026, 4, 1), "fr") == "1er avril 2026"
    assert written_date(date(2026, 4, 1), "it") == "1º aprile 2026"


# What somebody could have got wrong, and the checker must see.
TAMPERED = {
    "another order number": lambda t: t.replace("TW-1042", "TW-1043", 1),
    "another day": lambda t: t.replace("1 March 2026", "2 March 2026", 1),
    "another price": lambda t: t.replace("1234.50", "1234.05", 1),
    "another total": lambda t: t.replace("1240.00", "1420.00", 1),
    "another mail address": lambda t: t.replace("nora@", "dora@", 1),
    "another currency": lambda t: t.replace("1400 JPY", "1400 EUR", 1),
    "a line less": lambda t: t.replace("- Fog Horn Greatcoat\n", "", 1),
    "a thing twice": lambda t: t.replace("- Fog Horn Greatcoat\n", "- Fog Horn Greatcoat\n- Fog Horn Greatcoat\n", 1),
    "a sentence more": lambda t: t.replace("Could you please", "I demand it.\nCould you please", 1),
    "an order more": lambda t: t.replace(
        "\nI have seen", "\nOrder number: 7\nBought on: 1 March 2026\n\nI have seen", 1
    ),
    "a part not asked for": lambda t: t.replace("A0, instructions", "A0", 1),
    "another answer day": lambda t: t.replace("16 December", "17 December", 1),
    "a turned line": lambda t: t.replace("Gull", "\u202eGull", 1),
    "a control character": lambda t: t.replace("Gull", "\x1b[2JGull", 1),
    "a designer as a label": lambda t: t.replace("Missing: all files", "Missing: all files\n  Missing: none", 1),
}


@pytest.mark.parametrize("name", TAMPERED)
def test_the_checker_objects_to_a_letter_that_is_not_the_claim(name: str) -> None:
    made = claim("en")
    text = compose(made, OPTIONS).text
    changed = TAMPERED[name](text)
    assert changed != text
    assert objections(changed, made)


@pytest.mark.parametrize("code", languages())
def test_hostile_words_neither_add_a_line_nor_turn_one(code: str) -> None:
    plain = claim(code, item(), to="Gannet & Co")
    lines = len(compose(plain, OPTIONS).lines)
    for words in HOSTILE:
        made = claim(
            code,
            item(
                title=words or "-",
                designer=f"D{words}",
                order_number=f"N{words}",
                account=f"a{words}@x.example",
                lacking=(),
            ),
            seller=f"S{words}",
            to=f"T{words}",
        )
        letter = compose(made, replace(OPTIONS, signed=f"B{words}"))
        assert len(letter.lines) == lines, words
        assert objections(letter.text, made) == (), words
        assert max(len(line) for line in letter.text.split("\n")) < 900


@settings(deadline=None, max_examples=150)
@given(st.text(max_size=300), st.sampled_from(sorted(LANGUAGES)))
def test_no_text_at_all_can_break_a_letter(words: str, code: str) -> None:
    plain = claim(code, item(), to="Gannet & Co")
    made = claim(
        code, item(title=words, designer=f"D{words}", order_number=f"N{words}"), seller=f"S{words}", to=f"T{words}"
    )
    letter = compose(made, OPTIONS)
    assert len(letter.lines) == len(compose(plain, OPTIONS).lines)
    assert "\n".join(letter.text.splitlines()) == letter.text.rstrip("\n")
    assert objections(letter.text, made) == ()


# what a longer search found: a mark behind a blank, a mark parted from its letter by a joiner
@example("\r\U00011c2f")
@example("e\u200d\u0301\u0302\u0303")
@settings(deadline=None, max_examples=300)
@given(st.text(max_size=500))
def test_one_line_is_one_line_and_says_the_same_twice(words: str) -> None:
    line = one_line(words)
    assert line == one_line(line)
    assert len(line) <= 160
    assert line.isprintable()


def test_a_language_without_phrases_is_refused_with_those_there_are() -> None:
    with pytest.raises(UsageError) as caught:
        compose(claim("xx"), OPTIONS)
    assert "en" in caught.value.next_step
