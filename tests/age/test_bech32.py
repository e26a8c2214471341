"""Bech32: the valid and invalid strings of BIP-173, and what age changes."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.age import bech32

VALID = [
    "A12UEL5L",
    "a12uel5l",
    "an83characterlonghumanreadablepartthatcontainsthenumber1andtheexcludedcharactersbio1tt5tgs",
    "abcdef1qpzry9x8gf2tvdw0s3jn54khce6mua7lmqqqxw",
    "11" + "q" * 82 + "c8247j",
    "split1checkupstagehandshakeupstreamerranterredcaperred2y9e3w",
    "?1ezyfcl",
]
INVALID = {
    "\x20" + "1nwldj5": "character",
    "\x7f" + "1axkwrx": "character",
    "\x80" + "1eym55h": "character",
    "pzry9x0s0muk": "prefix",
    "1pzry9x0s0muk": "prefix",
    "x1b4n0q5v": "'b'",
    "li1dgmt3": "short",
    "de1lg7wt" + "\xff": "character",
    "A1G7SGD8": "checksum",
    "10a06t8": "prefix",
    "1qzzfhee": "prefix",
    "A12UeL5L": "case",
    "": "prefix",
}
# Too long for BIP-173; age has no length limit.
LONG = "an84characterslonghumanreadablepartthatcontainsthenumber1andtheexcludedcharactersbio1569pvx"


@pytest.mark.parametrize("text", [*VALID, LONG])
def test_valid_strings_of_bip_173(text: str) -> None:
    prefix, _ = bech32.split(text)
    assert text.startswith(prefix + "1")


@pytest.mark.parametrize(("text", "why"), INVALID.items())
def test_invalid_strings_of_bip_173(text: str, why: str) -> None:
    with pytest.raises(bech32.Bech32Error, match=why):
        bech32.decode(text)


@pytest.mark.parametrize("position", range(len("abcdef1qpzry9x8gf2tvdw0s3jn54khce6mua7lmqqqxw")))
def test_one_mistyped_character_is_noticed(position: int) -> None:
    text = "abcdef1qpzry9x8gf2tvdw0s3jn54khce6mua7lmqqqxw"
    other = "q" if text[position] != "q" else "p"
    with pytest.raises(bech32.Bech32Error):
        bech32.split(text[:position] + other + text[position + 1 :])


@pytest.mark.parametrize("values", [[0, 1], [0, 0, 0], [31]], ids=["not-zero", "too-long", "no-byte"])
def test_padding_that_no_encoder_writes_is_refused(values: list[int]) -> None:
    with pytest.raises(bech32.Bech32Error, match="last whole byte"):
        bech32.decode(_with_values(values))


def _with_values(values: list[int]) -> str:
    """A string with a right checksum over any values."""
    rest = bech32._polymod([*bech32._expand("age"), *values, *[0] * 6]) ^ 1
    values = [*values, *(rest >> 5 * (5 - i) & 31 for i in range(6))]
    return "age1" + "".join(bech32._CHARSET[value] for value in values)


@settings(deadline=None, max_examples=100)
@given(data=st.binary(max_size=1300), prefix=st.sampled_from(["age", "age1pq", "AGE-SECRET-KEY-"]))
def test_round_trip(data: bytes, prefix: str) -> None:
    text = bech32.encode(prefix, data)
    assert text in (text.lower(), text.upper())
    assert bech32.decode(text) == (prefix, data)


@settings(deadline=None, max_examples=200)
@given(text=st.text(max_size=60))
def test_any_text_is_decoded_or_refused(text: str) -> None:
    try:
        prefix, data = bech32.decode(text)
    except bech32.Bech32Error:
        return
    assert bech32.encode(prefix, data).lower() == text.lower()
