"""Streams that count and digest what passes through them, and stop at a limit."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from typing import Any, Protocol

from vault.safekeeping.disk import CHUNK

Bytes = bytes | bytearray | memoryview


class Source(Protocol):
    """What can be read from."""

    def read(self, n: int, /) -> bytes:
        """Up to `n` bytes; none at the end."""


class Sink(Protocol):
    """What can be written to."""

    def write(self, data: bytes | memoryview, /) -> int | None:
        """Takes `data`; how many bytes of it, None for all."""


class TooLong(Exception):
    """A stream went over its limit."""


class LimitedReader:
    """Hands on what `source` gives and counts it in `n_bytes`; TooLong beyond `limit` bytes, where there is a limit."""

    def __init__(self, source: Source, limit: int | None = None) -> None:
        self._source, self._limit, self.n_bytes = source, limit, 0
        self._fill: Callable[[memoryview], int | None] | None = getattr(source, "readinto", None)

    def read(self, n: int, /) -> bytes:
        """Up to `n` bytes of the source."""
        data = self._source.read(n)
        self._count(data)
        return data

    def readinto(self, buffer: memoryview, /) -> int:
        """Fills `buffer` as far as the source gives; how many bytes that were."""
        if self._fill is None:
            data = self.read(len(buffer))
            buffer[: len(data)] = data
            return len(data)
        n = self._fill(buffer) or 0
        self._count(buffer[:n])
        return n

    def drain(self) -> None:
        """Reads what is left, so that the digest is that of the whole source."""
        while self.read(CHUNK):
            pass

    def _count(self, data: Bytes) -> None:
        self.n_bytes += len(data)
        if self._limit is not None and self.n_bytes > self._limit:
            raise TooLong


class DigestReader(LimitedReader):
    """As `LimitedReader`; also knows the SHA-256 of what was read so far."""

    def __init__(self, source: Source, *, limit: int | None = None) -> None:
        super().__init__(source, limit)
        self._digest = hashlib.sha256()

    @property
    def sha256(self) -> str:
        """Digest of all that was read so far."""
        return self._digest.hexdigest()

    def _count(self, data: Bytes) -> None:
        self._digest.update(data)
        super()._count(data)


class DigestWriter:
    """Hands what is written on to `write`; knows its SHA-256 and number of bytes.  TooLong beyond `limit` bytes."""

    def __init__(self, write: Callable[[Any], object], *, limit: int | None = None) -> None:
        self._write, self._limit, self._digest, self.n_bytes = write, limit, hashlib.sha256(), 0

    @property
    def sha256(self) -> str:
        """Digest of all that was written so far."""
        return self._digest.hexdigest()

    def write(self, data: Bytes, /) -> int:
        """Takes all of `data`; its length."""
        if self._limit is not None and self.n_bytes + len(data) > self._limit:
            raise TooLong
        self._digest.update(data)
        self.n_bytes += len(data)
        self._write(data)
        return len(data)


def chunks_of(source: Source) -> Iterator[bytes]:
    """All of a source, piece by piece."""
    while chunk := source.read(CHUNK):
        yield chunk
