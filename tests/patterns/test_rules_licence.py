"""Licences in the twelve languages: what the words allow, with verbatim quotes; silence and contradiction."""

from __future__ import annotations

import re
import time
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.pattern import LicenceTerms
from vault.patterns.licence import licence_terms
from vault.patterns.licence_words import LANGUAGES, table, words_of
from vault.patterns.pages_text import PageText, TextLine, pages_of_text

CASES: list[dict[str, Any]] = tomllib.loads(
    (Path(__file__).parent / "test_rules_licence_cases.toml").read_text("utf-8")
)["case"]
FIELDS = ("personal_use", "sell_finished", "limit", "credit_required", "teach", "share_file", "alter_file")
SILENT = {"sell_finished": "silent", "teach": "silent", "share_file": "silent", "alter_file": "silent"}


def _lines(*texts: str, size: float = 10.0, step: float = 5.0) -> PageText:
    lines = tuple(TextLine(text=text, x=20, y=30 + step * n, size_pt=size) for n, text in enumerate(texts))
    return PageText(1, 210.0, 297.0, lines)


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['language']}: {case['text'][:50]}")
def test_what_the_words_allow(case: dict[str, Any]) -> None:
    terms = licence_terms(pages_of_text(case["text"]), case["language"])
    if case.get("nothing"):
        assert terms is None
        return
    assert terms is not None
    assert {name: getattr(terms, name) for name in FIELDS} == {
        name: case.get(name, SILENT.get(name)) for name in FIELDS
    }
    assert terms.quotes


def test_every_language_has_cases_of_selling_limit_and_file() -> None:
    for language in LANGUAGES:
        own = [case for case in CASES if case["language"] == language]
        assert any(case.get("sell_finished") in ("no", "with-licence") for case in own)
        assert any("limit" in case for case in own)
        assert any(case.get("share_file") == "no" for case in own)


@pytest.mark.parametrize(
    "case",
    [c for c in CASES if len(c["text"]) > 80 and not c.get("nothing")][::6],
    ids=lambda case: f"{case['language']}: {case['text'][:30]}",
)
def test_the_language_need_not_be_known(case: dict[str, Any]) -> None:
    terms = licence_terms(pages_of_text(case["text"]), None)
    assert terms is not None
    assert terms.sell_finished == case.get("sell_finished", "silent")


def test_quotes_are_verbatim_and_name_their_page() -> None:
    first = _lines("How to sew the skirt", "Cut two and press open.")
    second = PageText(
        2,
        210.0,
        297.0,
        _lines(
            "Please note that you may sell up to ten items that you have",
            "made from this pattern. The pattern may not be shared.",
        ).lines,
    )
    terms = licence_terms((first, second), "en")
    assert terms is not None
    page = " ".join(line.text for line in second.lines)
    assert [quote.page for quote in terms.quotes] == [2, 2]
    assert all(quote.text in page for quote in terms.quotes)
    assert (terms.sell_finished, terms.limit, terms.share_file) == ("limited", 10, "no")


def test_a_word_parted_at_the_line_end_is_read_whole_and_quoted_as_it_stands() -> None:
    terms = licence_terms((_lines("Das E-Book darf nicht kopiert oder weiter-", "gegeben werden."),), "de")
    assert terms is not None
    assert terms.share_file == "no"
    assert terms.quotes[0].text == "Das E-Book darf nicht kopiert oder weiter- gegeben werden."


def test_a_contradiction_is_unclear_with_both_quotes() -> None:
    terms = licence_terms(pages_of_text("Finished items may not be sold.\fYou may sell finished items."), "en")
    assert terms is not None
    assert terms.sell_finished == "unclear"
    assert [(quote.text, quote.page) for quote in terms.quotes] == [
        ("Finished items may not be sold.", 1),
        ("You may sell finished items.", 2),
    ]


def test_two_different_limits_are_a_contradiction() -> None:
    terms = licence_terms(pages_of_text("You may sell up to 10 items.\nYou may sell up to 50 items."), "en")
    assert terms is not None
    assert (terms.sell_finished, terms.limit) == ("unclear", None)


def test_a_footer_on_every_page_is_quoted_once() -> None:
    terms = licence_terms(pages_of_text("\f".join(["Kun til privat brug."] * 30)), "da")
    assert terms is not None
    assert [quote.page for quote in terms.quotes] == [1]


def test_ticks_and_crosses_answer_for_their_line() -> None:
    terms = licence_terms(pages_of_text("Terms of use\n✓ Sell finished items, up to 40 pieces\n✗ Share the file"), "en")
    assert terms is not None
    assert (terms.sell_finished, terms.limit, terms.share_file) == ("limited", 40, "no")


def test_a_heading_does_not_run_into_the_sentence_below() -> None:
    page = PageText(
        1,
        210.0,
        297.0,
        (
            TextLine(text="Selling", x=20, y=30, size_pt=14, bold=True),
            TextLine(text="Items may be sold.", x=20, y=36),
        ),
    )
    terms = licence_terms((page,), "en")
    assert terms is not None
    assert [quote.text for quote in terms.quotes] == ["Items may be sold."]


def test_two_languages_in_one_file() -> None:
    terms = licence_terms(
        pages_of_text("Verkauf fertiger Stücke: bis zu 15 Stück erlaubt.\nDo not share or copy this pattern."), "de"
    )
    assert terms is not None
    assert (terms.sell_finished, terms.limit, terms.share_file) == ("limited", 15, "no")


@pytest.mark.parametrize(
    ("text", "sell", "alter"),
    [
        ("Licence: CC BY-NC-SA 4.0", "no", "yes"),
        ("This work is under CC BY-ND 4.0.", "yes", "no"),
        ("Creative Commons Attribution-NonCommercial 4.0", "no", "yes"),
    ],
)
def test_public_licences_by_their_letters(text: str, sell: str, alter: str) -> None:
    """SPDX names the six licences; NC, ND and SA are what the letters say."""
    terms = licence_terms(pages_of_text(text), "en")
    assert terms is not None
    assert (terms.sell_finished, terms.share_file, terms.alter_file) == (sell, "yes", alter)
    assert terms.credit_required is True


@pytest.mark.parametrize(
    "text",
    [
        "",
        "© 2024 Larkrise Patterns. All rights reserved.",
        "Cut two on the fold. Do not cut the notches.",
        "The yarn is sold in 50 g balls and may not be available everywhere.",
        "Share your photos with us!",
        "Copy the markings to the fabric, do not stretch it.",
        "Photo credit: Anna Sample",
        "Schneide die Teile zu. Nicht vergessen: Nahtzugabe!",
        "Ne pas oublier de cranter. Donnez de l'ampleur au dos.",
        "Dela arbetet i två delar. Sticka inte för hårt.",
        "お好みの長さに変更できます。",
    ],
)
def test_sewing_words_are_no_licence(text: str) -> None:
    assert licence_terms(pages_of_text(text), None) is None


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_word_files_are_complete(language: str) -> None:
    """Every section of the English file is there in each language, and every expression compiles."""
    wanted = set(table("en")["licence"])
    assert set(table(language)["licence"]) >= wanted
    words = words_of(language)
    for section, keys in table(language).items():
        for key in keys if isinstance(keys, dict) and section != "numbers" else ():
            if key != "gate" and keys[key]:
                assert not words.has(f"{section}.{key}", ""), f"{section}.{key} matches nothing at all"
                assert words.of(f"{section}.{key}").pattern != "(?!)", f"{section}.{key} has entries"


@pytest.mark.parametrize(
    "text",
    [
        "a" * 1_000_000,
        "<" * 1_000_000,
        " " * 1_000_000,
        "sell " * 200_000,
        "may not sell, " * 70_000,
        "you may sell finished items that you have made not " * 20_000,
        "darf nicht " * 100_000,
        "販売禁止" * 250_000,
        "(" * 500_000 + ")" * 500_000,
        "not, " * 200_000,
        "ne " * 300_000,
        "licence" * 140_000,
        "\n".join(
            f"You may not sell {n} finished items, not share the pattern but sell it and " * 10 for n in range(1300)
        ),
        "\n".join(f"sell share copy {n} credit " * 10 + "licence. " for n in range(3600)),
        "\n".join(f"finished made items you may for own personal private use only {n} " * 8 for n in range(2000)),
    ],
    ids=lambda text: text[:12],
)
def test_hostile_text_costs_bounded_time(text: str) -> None:
    started = time.process_time()
    licence_terms(pages_of_text(text), None)
    assert time.process_time() - started < 20


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.sampled_from(
            [
                "may",
                "not",
                "sell",
                "finished items",
                "the pattern",
                "up to",
                "20",
                "share",
                ",",
                "but",
                "with permission",
                ".",
                "darf",
                "nicht",
                "verkauft",
                "fertige Stücke",
                "だけ",
                "販売",
                "(",
                ")",
                "?",
                ":",
                "\n",
                "personal use",
            ]
        ),
        max_size=40,
    )
)
def test_any_words_give_terms_with_verbatim_quotes(words: list[str]) -> None:
    pages = pages_of_text(" ".join(words))
    terms = licence_terms(pages, None)
    if terms is None:
        return
    assert isinstance(terms, LicenceTerms)
    text = " ".join(" ".join(line.text for line in page.lines) for page in pages)
    assert all(re.sub(r"\s+", " ", quote.text) in re.sub(r"\s+", " ", text) for quote in terms.quotes)
    assert (terms.limit is not None) <= (terms.sell_finished == "limited")
