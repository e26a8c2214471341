"""The payload (C2SP age, "Payload"): STREAM over ChaCha20-Poly1305 in chunks of 64 KiB.

"each of them is encrypted with ChaCha20-Poly1305, using the payload key and a 12-byte nonce composed as follows: the
first 11 bytes are a big endian chunk counter starting at zero and incrementing by one for each subsequent chunk; the
last byte is 0x01 for the final chunk and 0x00 for all preceding ones.  The final chunk MAY be shorter than 64 KiB but
MUST NOT be empty unless the whole payload is empty."

Both directions work on batches of up to `BATCH` chunks, in buffers that grow to that and no further, so that memory
stays constant, Python's share of the time small, and a small file does not pay for clearing large buffers.  Plaintext
leaves the reader chunk by chunk, each only after its tag was checked.  A chunk of full length is released under
either mark; the contradiction (a last chunk that is not the end, an end without a last chunk) is then an error of
what follows it.  That is what the published vectors demand.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import TYPE_CHECKING

from vault.age import buffers, primitives
from vault.age.errors import NOT_WHOLE, HeaderError, PayloadError
from vault.age.source import Source

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer, WriteableBuffer

CHUNK_BYTES = 64 * 1024
SEALED_BYTES = CHUNK_BYTES + primitives.TAG_BYTES
NONCE_BYTES = 16
BATCH = 8  # chunks at a time: 512 KiB

_MIDDLE = b"\x00"
_LAST = b"\x01"


def payload_key(file_key: bytes, nonce: bytes) -> bytes:
    """The key of the chunks: HKDF-SHA-256(ikm = file key, salt = nonce, info = "payload")."""
    return primitives.hkdf(ikm=file_key, salt=nonce, info=b"payload")


class PayloadWriter:
    """Encrypts what is written to it; `close` seals the last chunk.  Output goes to `write` in whole chunks."""

    def __init__(self, key: bytes, write: Callable[[memoryview], object]) -> None:
        self._cipher = primitives.ChunkCipher(key)
        self._write = write
        self._counter = 0
        self._pending = bytearray()  # at most one chunk, kept back because it may be the last
        self._out = memoryview(b"")

    def write(self, data: memoryview, *, more: bool = False) -> None:
        """Encrypt every chunk of which is known that something follows; `more` promises it for the end of `data`."""
        if self._pending:
            taken = min(len(data), CHUNK_BYTES - len(self._pending))
            self._pending += data[:taken]
            data = data[taken:]
            if not data:
                return
            self._seal(memoryview(self._pending))
            self._pending = bytearray()
        # What is left begins at a chunk border.  Its last chunk, full or not, is kept back unless more is promised.
        direct = max(0, len(data) - (not more)) // CHUNK_BYTES * CHUNK_BYTES
        for at in range(0, direct, BATCH * CHUNK_BYTES):
            self._seal(data[at : min(direct, at + BATCH * CHUNK_BYTES)])
        self._pending += data[direct:]

    def close(self) -> None:
        """Write the last chunk."""
        out = self._room(len(self._pending) + primitives.TAG_BYTES)
        self._cipher.seal_into(self._nonce(_LAST), memoryview(self._pending), out)
        self._write(out)
        self.release()

    def release(self) -> None:
        """Gives the memory back; nothing is written after that."""
        buffers.give_back(self._out)
        self._out = memoryview(b"")

    def _seal(self, data: memoryview) -> None:
        """Encrypt whole chunks, none of them the last, and write them at once."""
        n_chunks = len(data) // CHUNK_BYTES
        out = self._room(n_chunks * SEALED_BYTES)
        for i in range(n_chunks):
            chunk = data[i * CHUNK_BYTES : (i + 1) * CHUNK_BYTES]
            self._cipher.seal_into(self._nonce(_MIDDLE), chunk, out[i * SEALED_BYTES : (i + 1) * SEALED_BYTES])
            self._counter += 1
        self._write(out)

    def _room(self, n_bytes: int) -> memoryview:
        if not self._out:
            self._out = buffers.take(BATCH * SEALED_BYTES)
        return self._out[:n_bytes]

    def _nonce(self, mark: bytes) -> bytes:
        return self._counter.to_bytes(11, "big") + mark


class PayloadReader:
    """Decrypts a payload batch by batch."""

    def __init__(self, source: Source, file_key: bytes) -> None:
        nonce = bytearray(NONCE_BYTES)
        if source.read_into(memoryview(nonce)) < NONCE_BYTES:
            # The vectors count a missing nonce as a failure of the header.
            raise HeaderError("the age file ends within the nonce after its header", NOT_WHOLE)
        self._cipher = primitives.ChunkCipher(payload_key(file_key, bytes(nonce)))
        self._source = source
        self._counter = 0
        self._finished = False
        self._error: PayloadError | None = None
        self._sealed = self._plain = memoryview(b"")

    def next(self) -> memoryview:
        """The next authentic plaintext, at most BATCH chunks, valid until the next call; empty at the end.

        Raises PayloadError, again at each call, when what had been released before is not the whole file.
        """
        if self._error:
            raise self._error
        if self._finished:
            return self._plain[:0]
        if not self._sealed:
            self._sealed, self._plain = buffers.take(BATCH * SEALED_BYTES), buffers.take(BATCH * CHUNK_BYTES)
        # Until the batch is through, an exception from the stream leaves the reader unusable.
        self._error = PayloadError("reading the age file failed before its end", "try again from its start")
        n_sealed = self._source.read_into(self._sealed)
        at_end = n_sealed < len(self._sealed) or self._source.at_end()
        self._error = None
        n_plain = self._open_batch(self._sealed[:n_sealed], at_end=at_end)
        if self._error and not n_plain:
            raise self._error
        return self._plain[:n_plain]

    def release(self) -> None:
        """Gives the memory back: what `next` gave last is no longer valid."""
        buffers.give_back(self._sealed)
        buffers.give_back(self._plain)
        self._sealed = self._plain = memoryview(b"")

    def _open_batch(self, sealed: memoryview, *, at_end: bool) -> int:
        """Decrypt chunk after chunk up to the first fault, which is kept for the next call."""
        n_plain = 0
        starts = range(0, len(sealed), SEALED_BYTES) or (0,)
        for at in starts:
            chunk = sealed[at : at + SEALED_BYTES]
            ends = at_end and at + SEALED_BYTES >= len(sealed)
            mark, n_bytes = self._open_chunk(chunk, self._plain[n_plain:], ends=ends)
            n_plain += n_bytes
            self._error = self._fault(mark, n_bytes, ends=ends)
            if self._error:
                break
            self._finished = ends
            self._counter += 1
        return n_plain

    def _open_chunk(self, chunk: memoryview, plain: memoryview, *, ends: bool) -> tuple[bytes | None, int]:
        """Decrypt one chunk; the mark that it carries (None: neither fits) and the length of its plaintext."""
        n_bytes = len(chunk) - primitives.TAG_BYTES
        if n_bytes < 0:
            return None, 0
        marks = (_MIDDLE, _LAST) if not ends else (_LAST, _MIDDLE) if n_bytes == CHUNK_BYTES else (_LAST,)
        counter = self._counter.to_bytes(11, "big")
        for mark in marks:
            if self._cipher.open_into(counter + mark, chunk, plain[:n_bytes]):
                return mark, n_bytes
        return None, 0

    def _fault(self, mark: bytes | None, n_bytes: int, *, ends: bool) -> PayloadError | None:
        if mark is None:
            what = "is truncated or altered" if ends else "is altered"
            return self._broken(f"{what}: chunk {self._counter + 1} of 64 KiB does not authenticate")
        if mark == _LAST and not n_bytes and self._counter:
            return self._broken("ends with an empty chunk, which the format forbids")
        if mark == _LAST and not ends:
            return self._broken("is followed by something else")
        if mark == _MIDDLE and ends:
            return self._broken("is truncated: its last chunk is missing")
        return None

    def _broken(self, what: str) -> PayloadError:
        return PayloadError(f"the encrypted content {what}", NOT_WHOLE)


class PlainStream(io.RawIOBase):
    """A payload as an unbuffered readable stream; closing it leaves the encrypted stream open."""

    def __init__(self, payload: PayloadReader) -> None:
        super().__init__()
        self._payload = payload
        self._left = memoryview(b"")

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: WriteableBuffer, /) -> int:
        """Fill the buffer with what is there; 0 at the end only.  Raises PayloadError, ArmorError."""
        view = memoryview(buffer).cast("B")
        if not self._left:
            self._left = self._payload.next()
        n_bytes = min(len(view), len(self._left))
        view[:n_bytes] = self._left[:n_bytes]
        self._left = self._left[n_bytes:]
        return n_bytes


def as_bytes(data: ReadableBuffer) -> memoryview:
    """Any bytes-like object as a flat view of bytes."""
    return memoryview(data).cast("B")
