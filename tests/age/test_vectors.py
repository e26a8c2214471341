"""All published vectors of the age format (npm cctv-age 0.2.0), by outcome class and by released plaintext."""

from __future__ import annotations

import hashlib
import io
from collections import Counter

import pytest

from tests.age.vectors import Dribble, Vector, vectors
from vault.age import ArmorError, HeaderError, HmacError, NoMatchError, PayloadError, decrypt, open_reader
from vault.age.armor import ArmorReader, ArmorWriter
from vault.age.header import read_header
from vault.age.source import Source
from vault.age.stream import PayloadWriter, payload_key
from vault.errors import DecryptionError

CLASSES = {
    "no match": NoMatchError,
    "HMAC failure": HmacError,
    "header failure": HeaderError,
    "payload failure": PayloadError,
    "armor failure": ArmorError,
}
ALL = vectors()
SMALL = [vector for vector in ALL if len(vector.file) < 200_000]


def names(vector: Vector) -> str:
    return vector.name


def need_hybrid(vector: Vector) -> None:
    if vector.post_quantum:
        pytest.importorskip("cryptography.hazmat.primitives.hpke", reason="this cryptography has no hybrid keys")


def outcome(vector: Vector, src: io.BytesIO | Dribble) -> tuple[str, bytes]:
    out = io.BytesIO()
    try:
        decrypt(src, out, vector.identities)
    except DecryptionError as error:
        return next(name for name, kind in CLASSES.items() if type(error) is kind), out.getvalue()
    return "success", out.getvalue()


def check_released(vector: Vector, released: bytes) -> None:
    """What a vector says nothing of must release nothing."""
    expected = vector.payload or hashlib.sha256(b"").hexdigest()
    assert hashlib.sha256(released).hexdigest() == expected


def test_the_set_is_complete() -> None:
    assert Counter(vector.expect for vector in ALL) == {
        "success": 26,
        "no match": 13,
        "HMAC failure": 1,
        "header failure": 62,
        "payload failure": 19,
        "armor failure": 22,
    }


@pytest.mark.parametrize("vector", ALL, ids=names)
def test_outcome_and_released_plaintext(vector: Vector) -> None:
    need_hybrid(vector)
    result, released = outcome(vector, io.BytesIO(vector.file))
    assert result == vector.expect
    check_released(vector, released)


@pytest.mark.parametrize("vector", SMALL, ids=names)
def test_the_same_byte_by_byte(vector: Vector) -> None:
    need_hybrid(vector)
    result, released = outcome(vector, Dribble(vector.file))
    assert result == vector.expect
    check_released(vector, released)


@pytest.mark.parametrize("vector", [v for v in SMALL if v.expect in ("success", "payload failure")], ids=names)
def test_the_same_through_a_reader(vector: Vector) -> None:
    need_hybrid(vector)
    released = b""
    reader = open_reader(io.BytesIO(vector.file), vector.identities)
    try:
        while data := reader.read1(1000):
            released += data
        assert vector.expect == "success"
    except PayloadError:
        assert vector.expect == "payload failure"
    check_released(vector, released)


@pytest.mark.parametrize("vector", [v for v in ALL if not v.armored and v.expect != "header failure"], ids=names)
def test_header_parses_to_a_value_that_encodes_to_the_same_bytes(vector: Vector) -> None:
    encoded = read_header(Source(io.BytesIO(vector.file))).encode()
    assert vector.file.startswith(encoded)


@pytest.mark.parametrize("vector", [v for v in ALL if v.armored and v.expect != "armor failure"], ids=names)
def test_armor_decodes_to_bytes_that_encode_to_the_same_armor(vector: Vector) -> None:
    reader = ArmorReader(Source(io.BytesIO(vector.file)))
    binary = b"".join(iter(lambda: reader.read(1000), b""))
    armor = io.BytesIO()
    writer = ArmorWriter(armor.write)
    writer.write(binary)
    writer.close()
    # "accounting for CRLF/LF and trailing and leading spaces tolerance"
    assert armor.getvalue().strip() == vector.file.replace(b"\r\n", b"\n").strip()


@pytest.mark.parametrize("vector", [v for v in ALL if not v.armored and v.expect == "success"], ids=names)
def test_payload_encrypts_again_to_the_same_bytes(vector: Vector) -> None:
    need_hybrid(vector)
    _, plaintext = outcome(vector, io.BytesIO(vector.file))
    source = Source(io.BytesIO(vector.file))
    read_header(source)
    nonce = source.peek(16)
    payload = io.BytesIO()
    writer = PayloadWriter(payload_key(vector.file_key, nonce), payload.write)
    writer.write(memoryview(plaintext))
    writer.close()
    assert vector.file.endswith(nonce + payload.getvalue())
