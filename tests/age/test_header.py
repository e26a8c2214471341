"""The header's grammar: what is accepted, what is refused, and how much of a hostile one is read."""

from __future__ import annotations

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.age.vectors import RECIPIENT, Dribble
from vault.age import HeaderError, recipient_kinds
from vault.age.header import MAX_HEADER_BYTES, Header, Stanza, read_header
from vault.age.source import Source

MAC_LINE = b"--- " + b"A" * 43 + b"\n"


def header_of(*stanzas: bytes, version: bytes = b"age-encryption.org/v1\n", end: bytes = MAC_LINE) -> bytes:
    return version + b"".join(stanzas) + end


def parse(data: bytes) -> Header:
    return read_header(Source(io.BytesIO(data)))


def test_a_stanza_body_of_whole_lines_ends_with_an_empty_line() -> None:
    """C2SP age: "The body MUST end with a line shorter than 64 characters, which MAY be empty"."""
    stanza = Stanza(args=(b"example.test/kind", b"!~"), body=bytes(48))
    assert stanza.encode() == b"-> example.test/kind !~\n" + b"A" * 64 + b"\n\n"
    assert Stanza(args=(b"x",), body=b"").encode() == b"-> x\n\n"


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "no age file"),
        (b"age-encryption.org/v2\n-> x\n\n" + MAC_LINE, "'v2' is not supported"),
        (b"age-encryption.org/v1", "too early"),
        (b"age-encryption.org/v1\r\n" + b"-> x\n\n" + MAC_LINE, "not supported"),
        (b" " + header_of(b"-> x\n\n"), "no age file"),
        (header_of(), "no recipient"),
        (header_of(b"-> x\n"), "not base64"),
        (header_of(b"-> \n\n"), "does not begin"),
        (header_of(b"->\n\n"), "does not begin"),
        (header_of(b"-> x  y\n\n"), "does not begin"),
        (header_of(b"-> x \n\n"), "does not begin"),
        (header_of(b"-> x\x7f\n\n"), "does not begin"),
        (header_of(b"-> x\n" + b"A" * 65 + b"\n\n"), "not base64"),
        (header_of(b"-> x\nA\n"), "canonical"),
        (header_of(b"-> x\nAB\n"), "canonical"),
        (header_of(b"-> x\nAA==\n"), "not base64"),
        (header_of(b"-> x\nAA\r\n"), "not base64"),
        (header_of(b"-> x\n\n", end=b"---\n"), "MAC"),
        (header_of(b"-> x\n\n", end=b"---  " + b"A" * 43 + b"\n"), "MAC"),
        (header_of(b"-> x\n\n", end=b"--- " + b"A" * 42 + b"B\n"), "MAC"),
        (header_of(b"-> x\n\n", end=b"--- " + b"A" * 44 + b"\n"), "MAC"),
        (header_of(b"-> x\n\n", end=b""), "too early"),
        (header_of(b"-> x\n\n", end=MAC_LINE[:-1]), "too early"),
    ],
)
def test_refused_with_the_reason(data: bytes, why: str) -> None:
    with pytest.raises(HeaderError, match=why):
        parse(data)


def test_an_argument_that_could_not_be_written_is_refused() -> None:
    for args in [(), (b"",), (b"a b",), (b"a\n",), (b"\xff",)]:
        with pytest.raises(ValueError, match="argument"):
            Stanza(args=args, body=b"")


@pytest.mark.parametrize("filling", [b"a", b"-> x\n\n", b"-> x\n" + b"A" * 64 + b"\n", b"-> " + b"y " * 100])
def test_a_header_without_end_is_not_read_beyond_the_limit(filling: bytes) -> None:
    class Endless:
        taken = 0

        def read(self, n: int, /) -> bytes:
            data = (b"age-encryption.org/v1\n" if not self.taken else b"") + filling * (n // len(filling) + 1)
            self.taken += len(data)
            return data

    stream = Endless()
    with pytest.raises(HeaderError):
        read_header(Source(stream))
    assert stream.taken < 2 * MAX_HEADER_BYTES


def test_recipient_kinds_are_told_without_a_key() -> None:
    header = Header.made((RECIPIENT.wrap(bytes(16)), Stanza(args=(b"grease",), body=b"")), bytes(16)).encode()
    assert recipient_kinds(io.BytesIO(header)) == ("X25519", "grease")
    assert recipient_kinds(Dribble(header)) == ("X25519", "grease")


def test_what_follows_the_header_stays_in_the_stream() -> None:
    data = header_of(b"-> x\n\n") + b"payload"
    for step in (1, 2, 1000):
        source = Source(Dribble(data, step))
        read_header(source)
        assert source.peek(100) == b"payload"


arguments = st.binary(min_size=1, max_size=9).map(lambda data: bytes(33 + byte % 94 for byte in data))
stanzas = st.builds(Stanza, args=st.lists(arguments, min_size=1).map(tuple), body=st.binary(max_size=150))


@settings(deadline=None, max_examples=100)
@given(parts=st.lists(stanzas, min_size=1, max_size=4), mac=st.binary(min_size=32, max_size=32), step=st.integers(1, 9))
def test_round_trip(parts: list[Stanza], mac: bytes, step: int) -> None:
    header = Header(stanzas=tuple(parts), mac=mac)
    assert read_header(Source(Dribble(header.encode(), step))) == header


@settings(deadline=None, max_examples=200)
@given(parts=st.lists(stanzas, min_size=1, max_size=2), at=st.integers(0), byte=st.integers(0, 255))
def test_a_changed_header_is_refused_or_is_another_value(parts: list[Stanza], at: int, byte: int) -> None:
    """There is one spelling of each header, so that a header that is encoded again is the one the MAC was made of."""
    header = Header(stanzas=tuple(parts), mac=bytes(32))
    data = bytearray(header.encode())
    data[at % len(data)] = byte
    source = Source(io.BytesIO(bytes(data)))
    try:
        changed = read_header(source)
    except HeaderError:
        return
    assert data.startswith(changed.encode())
