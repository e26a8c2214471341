"""The published vectors (fixtures/age) as values, and streams that behave badly."""

from __future__ import annotations

import zipfile
import zlib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from vault.age import Identity, ScryptIdentity, X25519Identity, parse_identity

ARCHIVE = Path(__file__).parents[2] / "fixtures" / "age" / "cctv-age.zip"

# Any fixed key will do where the key does not matter.
IDENTITY = X25519Identity(secret=b"\x42" * 32)
RECIPIENT = IDENTITY.recipient()


@dataclass(frozen=True, kw_only=True)
class Vector:
    name: str
    expect: str
    payload: str | None  # SHA-256 of the plaintext that may be let out
    file_key: bytes
    identities: tuple[Identity, ...]
    armored: bool
    post_quantum: bool
    file: bytes


@cache
def vectors() -> tuple[Vector, ...]:
    with zipfile.ZipFile(ARCHIVE) as archive:
        return tuple(_vector(name, archive.read(name)) for name in archive.namelist())


def by_name(name: str) -> Vector:
    return next(vector for vector in vectors() if vector.name == name)


def _vector(name: str, raw: bytes) -> Vector:
    head, body = raw.split(b"\n\n", 1)
    pairs = [line.split(": ", 1) for line in head.decode("utf-8").split("\n")]
    unknown = {key for key, _ in pairs} - {
        *("expect", "payload", "file key", "identity", "passphrase", "armored", "compressed", "comment")
    }
    assert not unknown, f"{name} has keys of a newer form: {unknown}"
    values = dict(pairs)
    keys = [text for key, text in pairs if key == "identity"]
    phrases = [text for key, text in pairs if key == "passphrase"]
    return Vector(
        name=name,
        expect=values["expect"],
        payload=values.get("payload"),
        file_key=bytes.fromhex(values["file key"]),
        identities=(*map(parse_identity, keys), *(ScryptIdentity(passphrase=text) for text in phrases)),
        armored=values.get("armored") == "yes",
        post_quantum=any(text.startswith("AGE-SECRET-KEY-PQ-") for text in keys),
        file=zlib.decompress(body) if "compressed" in values else body,
    )


class Dribble:
    """A stream that gives `step` bytes at a time, like a slow pipe; it can only be read."""

    def __init__(self, data: bytes, step: int = 1) -> None:
        self._data = data
        self._at = 0
        self._step = step

    def read(self, n: int, /) -> bytes:
        piece = self._data[self._at : self._at + min(n, self._step)]
        self._at += len(piece)
        return piece


class Zeros:
    """A stream of `n_bytes` zero bytes that takes no memory."""

    def __init__(self, n_bytes: int) -> None:
        self._left = n_bytes

    def read(self, n: int, /) -> bytes:
        n = min(n, self._left, 1 << 16)
        self._left -= n
        return bytes(n)
