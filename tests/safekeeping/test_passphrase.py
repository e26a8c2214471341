"""Strength is an estimate with advice.  Levels only: the bits are an opinion."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.safekeeping.passphrase import estimate

WEAK = [
    "", "a", "password", "Passwort123", "qwertz", "12345678", "aaaaaaaaaaaaaaaaaaaa", "abababababababab",
    "Summer2024!", "19.03.1985", "liebeliebeliebeliebe", "abcdefghijklmnop", "schnittmuster", "Maria1975",
    "sewing pattern vault", "nadel", "P4ssw0rd2024!", "S3wing!1",
]  # fmt: skip
STRONG = [
    "seven bobbins under the painted stage",
    "rhubarb cello lantern gravel omelette zeppelin",
    "kq7Rz2mXw9Tb4Ls8",
    "Zwiebel Harpune Gletscher Oboe Trichter",
    "correct horse battery staple wardrobe",
]


@pytest.mark.parametrize("passphrase", WEAK)
def test_what_guessers_try_first_is_weak_and_gets_advice(passphrase: str) -> None:
    found = estimate(passphrase)
    assert found.level == "weak" and found.advice and found.words


@pytest.mark.parametrize("passphrase", STRONG)
def test_many_unrelated_words_or_long_randomness_are_strong(passphrase: str) -> None:
    assert estimate(passphrase).level == "strong"


def test_more_words_are_never_weaker() -> None:
    words = ["rhubarb", "cello", "lantern", "gravel", "omelette"]
    bits = [estimate(" ".join(words[:n])).bits for n in range(1, 6)]
    assert bits == sorted(bits) and bits[0] < bits[-1]


@settings(deadline=None, max_examples=100)
@given(st.text(max_size=60))
def test_any_text_has_an_estimate_and_repeating_it_adds_next_to_nothing(text: str) -> None:
    once, thrice = estimate(text), estimate(text * 3)
    assert once.bits >= 0 and once.level in ("weak", "fair", "strong")
    assert thrice.bits <= once.bits + 10


@pytest.mark.parametrize("text", ["a" * 10**6, "ab1!" * 250_000, " " * 10**6])
def test_long_texts_cost_little(text: str) -> None:
    estimate(text)
