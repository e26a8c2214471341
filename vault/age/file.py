"""A whole age file (C2SP age, "Encrypted file format"): header, then payload, the armor around both if wanted.

Writing: every stanza is made before the first byte is written, so that a refused recipient leaves nothing behind.
Reading: no plaintext comes out before the header's MAC has been checked; after that it comes chunk by chunk.  Neither
direction needs a seekable stream, and both run in constant memory.  Streams stay open: they are the caller's.
"""

from __future__ import annotations

import io
import os
from collections.abc import Callable, Sequence
from types import TracebackType
from typing import TYPE_CHECKING, Protocol

from vault.age import buffers, hybrid, scrypt
from vault.age.armor import ArmorReader, ArmorWriter, looks_armored
from vault.age.errors import NoMatchError
from vault.age.header import MAX_HEADER_BYTES, Header, read_header
from vault.age.recipient import FILE_KEY_BYTES, Identity, Recipient
from vault.age.source import Readable, Source
from vault.age.stream import (
    BATCH,
    CHUNK_BYTES,
    NONCE_BYTES,
    PayloadReader,
    PayloadWriter,
    PlainStream,
    as_bytes,
    payload_key,
)
from vault.errors import UsageError

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer


class Writable(Protocol):
    """The only thing asked of an output: `write(data)` copies the bytes and says how many (None: all of them)."""

    def write(self, data: bytes | memoryview, /) -> int | None: ...


def encrypt(src: Readable, dst: Writable, recipients: Sequence[Recipient], *, armor: bool = False) -> int:
    """Encrypt all of `src` into `dst`; the number of plaintext bytes.

    Raises UsageError for recipients that cannot go together, before anything is written.  When `src` or `dst` raises,
    what has been written is no whole age file.
    """
    source = Source(src)
    view = buffers.take(BATCH * CHUNK_BYTES)
    total = 0
    try:
        with EncryptingWriter(dst, recipients, armor=armor) as writer:
            while n_bytes := source.read_into(view):
                writer._take(view[:n_bytes], more=not source.at_end())
                total += n_bytes
    finally:
        buffers.give_back(view)
    return total


def decrypt(src: Readable, dst: Writable, identities: Sequence[Identity]) -> int:
    """Decrypt all of `src`, binary or armored, into `dst`; the number of plaintext bytes.

    Raises a DecryptionError of the class that failed.  After PayloadError or ArmorError `dst` may hold an authentic
    beginning of the content: the caller throws it away.  After any other nothing has been written.
    """
    payload = _open(src, identities)
    write = _whole_writes(dst)
    total = 0
    try:
        while plain := payload.next():
            write(plain)
            total += len(plain)
    finally:
        payload.release()
    return total


def open_reader(src: Readable, identities: Sequence[Identity]) -> io.BufferedReader:
    """The plaintext of `src`, binary or armored, as a readable stream that is not seekable.

    Raises as `decrypt`: what concerns the header here, what concerns the payload from `read`.  Only a reader that gets
    to the end without an error has read the whole file.  Closing it leaves `src` open.
    """
    return io.BufferedReader(PlainStream(_open(src, identities)), CHUNK_BYTES)


def recipient_kinds(src: Readable) -> tuple[str, ...]:
    """The recipient types that the header names, in its order; needs no key and proves nothing.

    Says for example whether a passphrase has to be asked for ("scrypt").  Raises HeaderError, ArmorError.
    """
    return tuple(stanza.kind for stanza in read_header(_binary(src)).stanzas)


class EncryptingWriter:
    """A writable stream: what is written to it is encrypted into `dst`.

    `close` writes the end; without it (`abort`, or an exception within the `with` block) the file stays truncated and
    every reader will say so.  It is never closed by being forgotten.
    """

    def __init__(self, dst: Writable, recipients: Sequence[Recipient], *, armor: bool = False) -> None:
        file_key = os.urandom(FILE_KEY_BYTES)
        header = _make_header(recipients, file_key)
        write = _whole_writes(dst)
        self._armor = ArmorWriter(write) if armor else None
        if self._armor:
            write = self._armor.write
        nonce = os.urandom(NONCE_BYTES)
        self._payload = PayloadWriter(payload_key(file_key, nonce), write)
        self._closed = False
        write(header + nonce)

    @property
    def closed(self) -> bool:
        """Whether the end was written or the file given up."""
        return self._closed

    def writable(self) -> bool:
        return True

    def write(self, data: ReadableBuffer, /) -> int:
        """Take all of `data`; the number of its bytes.  Raises ValueError on a closed writer."""
        if self._closed:
            raise ValueError("write to a closed EncryptingWriter")
        view = as_bytes(data)
        self._take(view, more=False)
        return len(view)

    def _take(self, view: memoryview, *, more: bool) -> None:
        self._closed = True  # stays so when `dst` raises: a file with a hole cannot be continued
        self._payload.write(view, more=more)
        self._closed = False

    def flush(self) -> None:
        """Nothing: a chunk can only be written once it is full, or at the end."""

    def close(self) -> None:
        """Write the last chunk and the end of the armor.  Closing again does nothing."""
        if self._closed:
            return
        self._closed = True
        self._payload.close()
        if self._armor:
            self._armor.close()

    def abort(self) -> None:
        """Give the file up: nothing more is written, and what was written will not decrypt to its end."""
        self._closed = True

    def __enter__(self) -> EncryptingWriter:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is None:
            self.close()
        else:
            self.abort()


def _whole_writes(dst: Writable) -> Callable[[bytes | memoryview], None]:
    """The `write` of `dst`, called again while it takes only a part, as unbuffered files may."""

    def write(data: bytes | memoryview) -> None:
        taken = dst.write(data)
        while taken is not None and taken < len(data):
            if not taken:
                raise OSError("the output takes no more bytes")
            data = data[taken:]
            taken = dst.write(data)

    return write


def _make_header(recipients: Sequence[Recipient], file_key: bytes) -> bytes:
    _check_company([recipient.kind for recipient in recipients])
    header = Header.made(tuple(recipient.wrap(file_key) for recipient in recipients), file_key).encode()
    if len(header) > MAX_HEADER_BYTES:
        raise UsageError(f"{len(recipients)} recipients are too many for one file", "encrypt to fewer")
    return header


def _check_company(kinds: Sequence[str]) -> None:
    """Refuse recipients that weaken each other."""
    if not kinds:
        raise UsageError("there is no recipient to encrypt to", "name a public key or a passphrase")
    if scrypt.KIND in kinds and len(kinds) > 1:
        # "An scrypt stanza, if present, MUST be the only stanza in the header."
        raise UsageError("a passphrase cannot be combined with another recipient", "use the passphrase or the keys")
    if hybrid.KIND in kinds and set(kinds) != {hybrid.KIND}:
        # "the same file SHOULD NOT be encrypted to both this recipient type and to other non-quantum-resistant ones"
        raise UsageError(
            "a post-quantum key protects nothing when a classic key opens the same file", "use keys of one kind"
        )


def _open(src: Readable, identities: Sequence[Identity]) -> PayloadReader:
    source = _binary(src)
    header = read_header(source)
    file_key = _unwrap(header, identities)
    header.check_mac(file_key)
    return PayloadReader(source, file_key)


def _binary(src: Readable) -> Source:
    source = Source(src)
    return Source(ArmorReader(source)) if looks_armored(source) else source


def _unwrap(header: Header, identities: Sequence[Identity]) -> bytes:
    scrypt.check_alone(header.stanzas)
    for identity in identities:
        file_key = identity.unwrap(header.stanzas)
        if file_key is not None:
            return file_key
    if any(stanza.kind == scrypt.KIND for stanza in header.stanzas):
        raise NoMatchError("the passphrase does not open this file", "check the passphrase and type it again")
    raise NoMatchError("none of the keys opens this file", "use the secret key that belongs to this file")
