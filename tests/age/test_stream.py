"""Whole files and streams: sizes, round trips, damage, readers and writers, memory."""

from __future__ import annotations

import io
import tracemalloc

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.age.vectors import IDENTITY, RECIPIENT, Dribble, Zeros
from vault.age import (
    ArmorError,
    EncryptingWriter,
    HeaderError,
    PayloadError,
    ScryptIdentity,
    ScryptRecipient,
    X25519Identity,
    decrypt,
    encrypt,
    encrypted_size,
    header_size,
    open_reader,
    payload_size,
    plaintext_size,
)
from vault.age.header import read_header
from vault.age.source import Source
from vault.age.stream import BATCH, CHUNK_BYTES, SEALED_BYTES
from vault.errors import DecryptionError

K = CHUNK_BYTES
HEADER = 168
# Around every border: of a chunk, of two, of the growing batches (1, 2, 4, ... chunks), of two of the largest.
GROWN = 2 * BATCH - 1
BORDERS = sorted({max(0, n * K + d) for n in (0, 1, 2, 3, 7, BATCH, GROWN, GROWN + BATCH) for d in (-1, 0, 1)})


def sealed(plaintext: bytes, *, armor: bool = False) -> bytes:
    out = io.BytesIO()
    assert encrypt(io.BytesIO(plaintext), out, [RECIPIENT], armor=armor) == len(plaintext)
    return out.getvalue()


def opened(data: bytes) -> bytes:
    out = io.BytesIO()
    assert decrypt(io.BytesIO(data), out, [IDENTITY]) == len(out.getvalue())
    return out.getvalue()


def released(data: bytes) -> tuple[bytes, type[DecryptionError] | None]:
    """What comes out before the error, and the class of the error."""
    out = io.BytesIO()
    try:
        decrypt(io.BytesIO(data), out, [IDENTITY])
    except DecryptionError as error:
        return out.getvalue(), type(error)
    return out.getvalue(), None


def sample(n_bytes: int) -> bytes:
    return (bytes(range(251)) * (n_bytes // 251 + 1))[:n_bytes]


@pytest.mark.parametrize(
    ("n_bytes", "n_file"),
    [(0, 200), (65535, 65735), (65536, 65736), (65537, 65753), (131072, 131288), (131073, 131305)],
)
def test_size_law_of_the_specification(n_bytes: int, n_file: int) -> None:
    """168 + 16 + n + 16 * max(1, ceil(n / 65536)) for one X25519 recipient without grease."""
    assert encrypted_size(n_bytes, [RECIPIENT]) == n_file
    assert len(sealed(bytes(n_bytes))) == n_file


@pytest.mark.parametrize("n_bytes", BORDERS)
def test_round_trip_around_the_borders(n_bytes: int) -> None:
    plaintext = sample(n_bytes)
    data = sealed(plaintext)
    assert opened(data) == plaintext
    assert len(data) == encrypted_size(n_bytes, [RECIPIENT])
    assert plaintext_size(len(data) - HEADER) == n_bytes


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(
    n_bytes=st.one_of(st.sampled_from(BORDERS[:9]), st.integers(0, 3 * K)),
    cuts=st.lists(st.integers(1, 2 * K), min_size=1, max_size=5),
    step=st.integers(100, 3 * K),
    armor=st.booleans(),
)
def test_round_trip_in_any_pieces(n_bytes: int, cuts: list[int], step: int, armor: bool) -> None:
    """Written in pieces of any length, read from a stream that gives pieces of any length."""
    plaintext = sample(n_bytes)
    out = io.BytesIO()
    with EncryptingWriter(out, [RECIPIENT], armor=armor) as writer:
        at = n = 0
        while at < n_bytes:
            at += writer.write(plaintext[at : at + cuts[n % len(cuts)]])
            n += 1
    assert len(out.getvalue()) == encrypted_size(n_bytes, [RECIPIENT], armor=armor)
    back = io.BytesIO()
    decrypt(Dribble(out.getvalue(), step), back, [IDENTITY])
    assert back.getvalue() == plaintext


@settings(deadline=None, max_examples=100)
@given(n_payload=st.integers(0, 3 * SEALED_BYTES + 40))
def test_plaintext_size_is_the_inverse_of_payload_size(n_payload: int) -> None:
    n_bytes = plaintext_size(n_payload)
    if n_bytes is None:
        assert all(payload_size(n) != n_payload for n in range(max(0, n_payload - 120), n_payload))
    else:
        assert payload_size(n_bytes) == n_payload


def test_header_size_of_every_kind() -> None:
    phrase = ScryptRecipient(passphrase="needles and pins", log_n=9)
    other = X25519Identity.generate().recipient()
    for recipients in ([RECIPIENT], [RECIPIENT, other], [phrase]):
        out = io.BytesIO()
        encrypt(io.BytesIO(), out, recipients)
        assert len(out.getvalue()) == header_size(recipients) + payload_size(0)


def test_files_of_the_same_content_share_nothing_but_their_form() -> None:
    one, other = sealed(b"plan"), sealed(b"plan")
    first = [read_header(Source(io.BytesIO(data))).stanzas[0] for data in (one, other)]
    assert first[0].args[1] != first[1].args[1]
    assert one[HEADER : HEADER + 16] != other[HEADER : HEADER + 16]
    assert one[HEADER + 16 :] != other[HEADER + 16 :]


SMALL = sealed(sample(1000))
TWO_FULL = sealed(sample(2 * K))


@pytest.mark.parametrize("n_bytes", [0, 10, *range(HEADER - 50, HEADER + 35), len(SMALL) - 1])
def test_truncated_small_file(n_bytes: int) -> None:
    out, error = released(SMALL[:n_bytes])
    assert out == b""
    assert error is (HeaderError if n_bytes < HEADER + 16 else PayloadError)


@pytest.mark.parametrize("n_sealed", [0, 1, 16, SEALED_BYTES - 1, SEALED_BYTES, SEALED_BYTES + 1, 2 * SEALED_BYTES - 1])
def test_truncated_large_file_releases_whole_chunks_only(n_sealed: int) -> None:
    out, error = released(TWO_FULL[: HEADER + 16 + n_sealed])
    assert error is PayloadError
    assert out == sample(n_sealed // SEALED_BYTES * K)


@pytest.mark.parametrize("more", [b"\n", b"x" * 16, bytes(SEALED_BYTES), TWO_FULL])
def test_something_after_the_end(more: bytes) -> None:
    assert released(SMALL + more) == (b"", PayloadError)
    # A last chunk of full length is known to be authentic before it is known that something follows.
    assert released(TWO_FULL + more) == (sample(2 * K), PayloadError)


@pytest.mark.parametrize("at", range(0, len(SMALL), 7))
def test_flipped_bit(at: int) -> None:
    data = bytearray(SMALL)
    data[at] ^= 1 << at % 8
    out, error = released(bytes(data))
    assert error is not None
    assert out == b""


def test_chunks_cannot_be_swapped_repeated_or_left_out() -> None:
    head, payload = TWO_FULL[: HEADER + 16], TWO_FULL[HEADER + 16 :]
    one, two = payload[:SEALED_BYTES], payload[SEALED_BYTES:]
    assert released(head + two + one) == (b"", PayloadError)
    assert released(head + one + one + two) == (sample(K), PayloadError)
    assert released(head + two) == (b"", PayloadError)
    assert released(head + one) == (sample(K), PayloadError)


def test_a_payload_cannot_move_to_another_file() -> None:
    other = sealed(b"another plan")
    assert released(SMALL[:HEADER] + other[HEADER:]) == (b"", PayloadError)


@settings(deadline=None, max_examples=300)
@given(
    data=st.one_of(
        st.binary(max_size=400),
        st.binary(max_size=400).map(lambda b: b"age-encryption.org/v1\n" + b),
        st.binary(max_size=400).map(lambda b: b"age-encryption.org/v1\n-> X25519 " + b),
        st.binary(max_size=400).map(lambda b: b"-----BEGIN AGE ENCRYPTED FILE-----\n" + b),
        st.text("-> X25519scryptAGEND/v1\n= ", max_size=400).map(lambda t: b"age-encryption.org/v1\n" + t.encode()),
    )
)
def test_any_bytes_end_in_a_decryption_error(data: bytes) -> None:
    with pytest.raises(DecryptionError):
        decrypt(io.BytesIO(data), io.BytesIO(), [IDENTITY, ScryptIdentity(passphrase="pins", max_log_n=10)])


@settings(deadline=None, max_examples=200)
@given(
    armor=st.booleans(),
    edits=st.lists(st.tuples(st.integers(0), st.binary(max_size=3), st.integers(0, 3)), min_size=1, max_size=3),
)
def test_any_edit_of_a_real_file_is_noticed(armor: bool, edits: list[tuple[int, bytes, int]]) -> None:
    original = ARMORED if armor else SMALL
    data = original
    for at, insert, delete in edits:
        at %= len(data) + 1
        data = data[:at] + insert + data[at + delete :]
    out, error = released(data)
    # Only white space around the armor leaves the file what it was.
    assert error is not None or (armor and data.strip() == original.strip()) or data == original
    assert out in (b"", sample(1000))


ARMORED = sealed(sample(1000), armor=True)


def test_armor_that_breaks_within_the_payload_is_an_armor_error() -> None:
    data = bytearray(sealed(sample(200_000), armor=True))
    data[-2000] = ord("_")
    out, error = released(bytes(data))
    assert error is ArmorError
    assert sample(200_000).startswith(out)


def test_reader_is_a_stream() -> None:
    plaintext = sample(3 * K + 5)
    src = io.BytesIO(sealed(plaintext))
    with open_reader(src, [IDENTITY]) as reader:
        assert reader.readable()
        assert not reader.seekable()
        assert reader.peek(3)[:3] == plaintext[:3]
        assert reader.read(10) == plaintext[:10]
        assert reader.read(K) == plaintext[10 : K + 10]
        assert reader.read() == plaintext[K + 10 :]
        assert reader.read(1) == b""
    assert not src.closed


def test_reader_goes_on_failing_after_an_error() -> None:
    reader = open_reader(io.BytesIO(TWO_FULL[:-1]), [IDENTITY])
    assert reader.read(K) == sample(K)
    for _ in range(3):
        with pytest.raises(PayloadError):
            reader.read(K)


class Failing:
    """A stream that breaks once after `n_bytes`, then would go on: a network folder that comes back."""

    def __init__(self, data: bytes, n_bytes: int) -> None:
        self._inner = Dribble(data, 5000)
        self._left = n_bytes

    def read(self, n: int, /) -> bytes:
        data = self._inner.read(n)
        self._left -= len(data)
        if -5000 < self._left <= 0:
            raise OSError("the stick was pulled out")
        return data


def test_a_failing_input_is_told_as_such_and_cannot_be_continued() -> None:
    reader = open_reader(Failing(TWO_FULL, 50_000), [IDENTITY])
    with pytest.raises(OSError, match="pulled out"):
        reader.read()
    with pytest.raises(PayloadError, match="before its end"):
        reader.read()


class Reluctant(io.BytesIO):
    """An unbuffered file that takes at most 1000 bytes at a time, and `full` in all."""

    full = 1 << 40

    def write(self, data: object, /) -> int:
        view = memoryview(data)[: min(1000, self.full - self.tell())]  # type: ignore[call-overload]
        return super().write(view)


def test_an_output_that_takes_only_a_part_gets_the_rest() -> None:
    sink = Reluctant()
    encrypt(io.BytesIO(sample(K + 1)), sink, [RECIPIENT])
    back = Reluctant()
    decrypt(io.BytesIO(sink.getvalue()), back, [IDENTITY])
    assert back.getvalue() == sample(K + 1)


def test_a_full_output_is_an_error_and_the_writer_stays_closed() -> None:
    sink = Reluctant()
    sink.full = 70_000
    writer = EncryptingWriter(sink, [RECIPIENT])
    with pytest.raises(OSError, match="no more"):
        writer.write(sample(3 * K))
    assert writer.closed
    with pytest.raises(ValueError, match="closed"):
        writer.write(b"more")


def test_writer_that_is_left_by_an_exception_leaves_a_file_that_says_so() -> None:
    out = io.BytesIO()
    with pytest.raises(KeyboardInterrupt), EncryptingWriter(out, [RECIPIENT]) as writer:
        writer.write(sample(3 * K))
        raise KeyboardInterrupt
    assert released(out.getvalue())[1] is PayloadError


def test_writer_that_is_forgotten_does_not_finish_the_file() -> None:
    out = io.BytesIO()
    writer = EncryptingWriter(out, [RECIPIENT])
    writer.write(b"plan")
    del writer
    assert released(out.getvalue())[1] is PayloadError


def test_writer_closed_twice_writes_one_end() -> None:
    out = io.BytesIO()
    writer = EncryptingWriter(out, [RECIPIENT], armor=True)
    assert writer.write(bytearray(b"plan")) == 4
    assert not writer.closed
    writer.close()
    writer.close()
    assert writer.closed
    assert opened(out.getvalue()) == b"plan"
    with pytest.raises(ValueError, match="closed"):
        writer.write(b"more")


def test_memory_is_constant() -> None:
    """64 MiB through both directions at once, within a few buffers of 1 MiB."""

    class Counting:
        n_bytes = 0

        def write(self, data: bytes | memoryview, /) -> int:
            self.n_bytes += len(data)
            return len(data)

    n_bytes = 64 << 20
    sink = Counting()
    sealed_sink = io.BytesIO()
    encrypt(Zeros(n_bytes), sealed_sink, [RECIPIENT])
    sealed_sink.seek(0)
    tracemalloc.start()
    try:
        encrypt(Zeros(n_bytes), Counting(), [RECIPIENT])
        decrypt(sealed_sink, sink, [IDENTITY])
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert sink.n_bytes == n_bytes
    assert peak < 6 << 20
