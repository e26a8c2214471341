"""Armor: round trips, and every way of spelling it otherwise refused."""

from __future__ import annotations

import io

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.age.vectors import IDENTITY, RECIPIENT, Dribble
from vault.age import ArmorError, armored_size, decrypt, encrypt, encrypted_size
from vault.age.armor import BEGIN, END, ArmorReader, ArmorWriter
from vault.age.source import Source


def armored(data: bytes, *, cut: int = 1000) -> bytes:
    out = io.BytesIO()
    writer = ArmorWriter(out.write)
    for at in range(0, len(data), cut):
        writer.write(memoryview(data)[at : at + cut])
    if not data:
        writer.write(b"")
    writer.close()
    return out.getvalue()


def unarmored(text: bytes, *, step: int = 1 << 20, take: int = 1000) -> bytes:
    reader = ArmorReader(Source(Dribble(text, step)))
    return b"".join(iter(lambda: reader.read(take), b""))


@settings(deadline=None, max_examples=150)
@given(
    data=st.one_of(st.binary(max_size=300), st.integers(0, 3).map(lambda n: bytes(48 * 1024 * n + 5))),
    cut=st.integers(1, 100_000).filter(lambda n: n > 50 or n < 5),
    step=st.sampled_from([7, 64, 65, 66, 4096, 1 << 20]),
    crlf=st.booleans(),
)
@example(data=bytes(48), cut=48, step=1, crlf=True)
@example(data=bytes(47), cut=1, step=1, crlf=False)
@example(data=bytes(49), cut=100, step=1, crlf=False)
@example(data=b"", cut=1, step=1, crlf=False)
@example(data=bytes(48 * 1024), cut=1000, step=1, crlf=False)
def test_round_trip(data: bytes, cut: int, step: int, crlf: bool) -> None:
    text = armored(data, cut=cut)
    assert len(text) == armored_size(len(data))
    assert all(len(line) <= 64 for line in text.split(b"\n"))
    assert unarmored(text.replace(b"\n", b"\r\n") if crlf else text, step=step) == data


LINE = b"QUFB" * 16


def test_white_space_is_allowed_before_and_after_only_in_measure() -> None:
    text = armored(b"plan")
    assert unarmored(b"\n \t\r\n" + text + b" \r\n\t") == b"plan"
    assert unarmored(b"\n" * 1024 + text + b"\n" * 1023) == b"plan"
    with pytest.raises(ArmorError, match="before"):
        unarmored(b"\n" * 1025 + text)
    with pytest.raises(ArmorError, match="after"):
        unarmored(text + b"\n" * 1025)


@pytest.mark.parametrize(
    "text",
    [
        b"x\n" + armored(b"plan"),
        b" " + armored(b"plan"),
        armored(b"plan") + b"x",
        armored(b"plan")[:-1] + b"\r",
        armored(b"plan")[:-1] + b" ",
        armored(b"plan") * 2,
        BEGIN,
        BEGIN + b"\n",
        BEGIN + b"\n" + LINE + b"\n",
        BEGIN + b"\n\n" + END,
        BEGIN + b"\n" + LINE + b"\n\n" + END,
        BEGIN + b"\n" + LINE + END,
        BEGIN + b"\nQUE\n" + END,
        BEGIN + b"\nQUE=" + END,
        BEGIN + b"\nQUF=\n" + END,
        BEGIN + b"\nQUE=\nQUE=\n" + END,
        BEGIN + b"\n" + b"QUFB" * 15 + b"QUE=\n" + LINE + b"\n" + END,
        BEGIN + b"\n" + LINE + LINE + b"\n" + END,
        BEGIN + b"\n" + LINE + b"QUFB\n" + END,
        BEGIN + b"\n" + LINE[:-4] + b"\n" + LINE + b"\n" + END,
        BEGIN + b"\n" + LINE[:-1] + b"-\n" + LINE + b"\n" + END,
        BEGIN + b"\n" + LINE[:-1] + b"_\n" + LINE + b"\n" + END,
        BEGIN + b"\n" + LINE + b" \n" + END,
        BEGIN + b"\r\n" + LINE + b"\n" + LINE + b"\r\n" + END,
        BEGIN + b"\n" + LINE + b"\r\n" + LINE + b"\n" + END,
        BEGIN + b"\n" + LINE + b"\n" + END[:-1],
        BEGIN + b"\n" + LINE + b"\n" + END.lower(),
        BEGIN.replace(b" AGE", b" PGP") + b"\n" + LINE + b"\n" + END,
        BEGIN + b"\nVersion: 1\n\n" + LINE + b"\n" + END,
        BEGIN + b"\n" + LINE + b"\n=AAAA\n" + END,
    ],
)
def test_any_other_spelling_is_refused(text: bytes) -> None:
    with pytest.raises(ArmorError):
        unarmored(text)
    with pytest.raises(ArmorError):
        unarmored(text, step=1)


@settings(deadline=None, max_examples=300)
@given(n_bytes=st.integers(0, 200), at=st.integers(0), byte=st.integers(0, 255))
def test_one_changed_byte_is_refused_or_changes_the_content(n_bytes: int, at: int, byte: int) -> None:
    data = bytes(range(n_bytes))
    text = bytearray(armored(data))
    at %= len(text) - 1  # the line end after the END line may as well be another blank
    if text[at] == byte:
        return
    text[at] = byte
    try:
        changed = unarmored(bytes(text))
    except ArmorError:
        return
    assert changed != data


def test_a_long_armored_file_both_ways() -> None:
    plaintext = bytes(300_000)
    out = io.BytesIO()
    encrypt(io.BytesIO(plaintext), out, [RECIPIENT], armor=True)
    assert len(out.getvalue()) == encrypted_size(len(plaintext), [RECIPIENT], armor=True)
    back = io.BytesIO()
    decrypt(io.BytesIO(out.getvalue().replace(b"\n", b"\r\n")), back, [IDENTITY])
    assert back.getvalue() == plaintext


def test_an_armor_without_line_ends_is_not_read_to_its_end() -> None:
    stream = io.BytesIO(BEGIN + b"\n" + b"A" * 5_000_000)
    with pytest.raises(ArmorError):
        unarmored_stream(stream)
    assert stream.tell() < 500_000


def unarmored_stream(stream: io.BytesIO) -> bytes:
    return ArmorReader(Source(stream)).read(1)
