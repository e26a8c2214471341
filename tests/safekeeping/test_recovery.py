"""The recovery sheet and the way back from what a person types off it."""

from __future__ import annotations

import random
import re
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.age import HybridIdentity, X25519Identity
from vault.safekeeping.keys import BackupKey
from vault.safekeeping.recovery import (
    RecoveryKeyError,
    key_lines,
    parse_recovery_key,
    recovery_sheet,
)

# C2SP age.md, the example identity (32 bytes of 0x42).
IDENTITY = "AGE-SECRET-KEY-1GFPYYSJZGFPYYSJZGFPYYSJZGFPYYSJZGFPYYSJZGFPYYSJZGFPQ4EGAEX"
ALPHABET = "qpzry9x8gf2tvdw0s3jn54khce6mua7l"  # BIP-173


def identity_of(seed: bytes) -> str:
    return X25519Identity(secret=seed).to_text()


def parsed(text: str) -> str:
    return parse_recovery_key(text).identities[0]


def failing_line(text: str) -> int:
    with pytest.raises(RecoveryKeyError) as caught:
        parse_recovery_key(text)
    assert caught.value.next_step and IDENTITY not in caught.value.message
    return caught.value.line


def test_the_lines_of_the_published_example() -> None:
    lines = key_lines(IDENTITY)
    assert [re.sub(r" ", "", line)[:-1] for line in lines] == [
        "GFPYYSJZGFPYYSJZ",
        "GFPYYSJZGFPYYSJZ",
        "GFPYYSJZGFPYYSJZ",
        "GFPQ4EGAEX",
    ]
    assert all(re.fullmatch(r"(?:[A-Z0-9]{4} ){2,3}(?:[A-Z0-9]{2,4} )? [A-Z0-9]", line) for line in lines)
    assert len({line[-1] for line in lines}) > 1, "equal lines have different check characters, by their number"


WAYS = {
    "as printed": "\n".join(key_lines(IDENTITY)),
    "small letters": "\n".join(key_lines(IDENTITY)).lower(),
    "no blanks": "\n".join(line.replace(" ", "") for line in key_lines(IDENTITY)),
    "numbered": "\n".join(f"{n}. {line}" for n, line in enumerate(key_lines(IDENTITY), 1)),
    "numbered with brackets": "\n".join(f" {n}) {line}" for n, line in enumerate(key_lines(IDENTITY), 1)),
    "dash before the last": "\n".join(line.replace("  ", " - ") for line in key_lines(IDENTITY)),
    "tabs and blank lines": "\n\n".join(line.replace(" ", "\t") for line in key_lines(IDENTITY)) + "\r\n",
    "one line": "".join(key_lines(IDENTITY)).replace(" ", ""),
    "the whole key": IDENTITY,
    "the whole key, small": IDENTITY.lower(),
    "identity file": f"# created: 2026-03-07\n# public key: age1xyz\n{IDENTITY}\n",
    "byte order mark": "\ufeff" + "\n".join(key_lines(IDENTITY)),
}


@pytest.mark.parametrize("way", WAYS)
def test_every_way_of_typing_it_is_read(way: str) -> None:
    assert parsed(WAYS[way]) == IDENTITY


@settings(deadline=None, max_examples=60)
@given(st.binary(min_size=32, max_size=32), st.sampled_from("1iI"))
def test_characters_that_look_alike_are_what_was_meant(seed: bytes, stroke: str) -> None:
    """The alphabet has l, 0 and 8, and no 1, i, o, b: whoever types one of these misread."""
    identity = identity_of(seed)
    typed = "\n".join(key_lines(identity)).replace("L", stroke).replace("0", "o").replace("8", "b")
    assert parsed(typed) == identity


@settings(deadline=None, max_examples=60)
@given(st.binary(min_size=32, max_size=32), st.data())
def test_one_wrong_character_is_always_found_in_its_line(seed: bytes, data: st.DataObject) -> None:
    lines = [line.replace(" ", "").lower() for line in key_lines(identity_of(seed))]
    number = data.draw(st.integers(0, 3))
    place = data.draw(st.integers(0, len(lines[number]) - 1))
    other = data.draw(st.sampled_from([c for c in ALPHABET if c != lines[number][place]]))
    lines[number] = lines[number][:place] + other + lines[number][place + 1 :]
    assert failing_line("\n".join(lines)) == number + 1


@settings(deadline=None, max_examples=60)
@given(st.binary(min_size=32, max_size=32), st.data())
def test_two_characters_that_changed_places_are_always_found(seed: bytes, data: st.DataObject) -> None:
    lines = [line.replace(" ", "").lower() for line in key_lines(identity_of(seed))]
    number = data.draw(st.integers(0, 3))
    one = data.draw(st.integers(0, len(lines[number]) - 3))
    two = data.draw(st.integers(one + 1, len(lines[number]) - 2))
    characters = list(lines[number])
    characters[one], characters[two] = characters[two], characters[one]
    if characters[one] != characters[two]:
        assert failing_line("\n".join([*lines[:number], "".join(characters), *lines[number + 1 :]])) == number + 1


@pytest.mark.parametrize(
    "change, line",
    [
        (lambda x: [x[1], x[0], *x[2:]], 1),
        (lambda x: [x[0], x[1][1:], *x[2:]], 2),
        (lambda x: [*x[:2], x[2] + "q", x[3]], 3),
        (lambda x: [*x[:3], x[3][:-1]], 4),
        (lambda x: x[:3], 4),
        (lambda x: [*x, x[3]], 5),
        (lambda x: [x[0], x[1][:5] + "!" + x[1][6:], *x[2:]], 2),
        (lambda x: [line[:-1] for line in x], 1),
    ],
    ids=["swapped", "one-missing", "one-too-many", "no-check", "line-missing", "line-twice", "strange", "no-checks"],
)
def test_slips_are_told_with_their_line(change: object, line: int) -> None:
    lines = [text.replace(" ", "") for text in key_lines(identity_of(bytes(range(32))))]
    assert failing_line("\n".join(change(lines))) == line  # type: ignore[operator]


def test_a_mistyped_whole_key_is_told() -> None:
    assert failing_line(IDENTITY[:-1] + "Q") == 0


@pytest.mark.parametrize("text", ["", "hello", "\n" * 1000, "#" * 100, "age1zvkyg2lqzraa2lnjvqej32nkuu0ues2s82hzr"])
def test_what_is_no_key_is_told(text: str) -> None:
    failing_line(text)


@pytest.mark.parametrize("piece", ["a", "<", " ", "1.", "\n", "AGE-SECRET-KEY-", "q\n", "<code>"])
def test_hostile_texts_cost_little(piece: str) -> None:
    failing_line(piece * (1_000_000 // len(piece)))


@settings(deadline=None, max_examples=40)
@given(st.binary(min_size=32, max_size=32))
def test_the_whole_sheet_given_as_it_is_opens(seed: bytes) -> None:
    identity = identity_of(seed)
    sheet = recovery_sheet(
        BackupKey(identities=(identity,)),
        made_on=date(2026, 3, 7),
        n_files=412,
        vault_name="Wardrobe of the Old Mill Theatre",
        destinations=("/media/blue stick", "/mnt/attic"),
    )
    assert parsed(sheet.text) == identity == parsed(sheet.html)


def test_a_post_quantum_key_goes_the_same_way() -> None:
    identity = HybridIdentity(seed=random.Random(1).randbytes(32)).to_text()
    assert identity.startswith("AGE-SECRET-KEY-PQ-1")
    assert parsed("\n".join(key_lines(identity))) == identity
    assert parsed(identity) == identity


def test_the_sheet_says_what_a_person_needs() -> None:
    key = BackupKey(identities=(IDENTITY,))
    sheet = recovery_sheet(key, made_on=date(2026, 3, 7), n_files=412, vault_name="<Mill> & Co")
    for page in (sheet.text, sheet.html):
        for words in ("2026-03-07", "412 files", "pinfold restore", "--recovery-key", "AGE-SECRET-KEY-1"):
            assert words in page
    assert "<svg" in sheet.html and "&lt;Mill&gt; &amp; Co" in sheet.html and "<Mill>" not in sheet.html
    assert not re.search(r"(?:src|href)=|https?://(?!www\.w3\.org/2000/svg)", sheet.html), "nothing is fetched"
    assert "AGE-SECRET" not in repr(sheet) and "AGE-SECRET" not in repr(key)
    assert max(len(line) for line in sheet.text.splitlines()) <= 90


def test_the_square_holds_the_key() -> None:
    """The modules of the drawing are those of an independent encoding of the same text."""
    import segno

    sheet = recovery_sheet(BackupKey(identities=(IDENTITY,)), made_on=date(2026, 3, 7), n_files=1)
    code = segno.make(IDENTITY, error="q", micro=False)
    assert code.svg_inline(border=4, omitsize=True, dark="#000") in sheet.html
    assert code.mode == "alphanumeric"
