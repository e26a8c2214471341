"""What a recipient type is: something that wraps a file key into a stanza, and something that unwraps it again.

A new type is a module with two classes of these shapes, and one line in `keys.py` if its keys have a text.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from vault.age.errors import NOT_WHOLE, HeaderError
from vault.age.header import Stanza

FILE_KEY_BYTES = 16
WRAPPED_BYTES = FILE_KEY_BYTES + 16  # the file key and the tag of ChaCha20-Poly1305


class Recipient(Protocol):
    """Someone a file can be encrypted to."""

    @property
    def kind(self) -> str:
        """The type of its stanzas."""

    def wrap(self, file_key: bytes) -> Stanza:
        """The file key for this recipient, with fresh randomness at each call."""

    def stanza_bytes(self) -> int:
        """How long a stanza of `wrap` is within the header."""


class Identity(Protocol):
    """Someone who can open files."""

    def unwrap(self, stanzas: Sequence[Stanza]) -> bytes | None:
        """The file key, or None when no stanza is for this identity.

        Raises HeaderError for a stanza of its own type that breaks a rule of that type.
        """


def check_wrapped(stanza: Stanza) -> None:
    """Raises HeaderError unless the body is as long as a wrapped file key.

    "It MUST check that the body length is exactly 32 bytes before attempting to decrypt it, to mitigate partitioning
    oracle attacks."
    """
    if len(stanza.body) != WRAPPED_BYTES:
        raise malformed(stanza.kind, f"its body is {len(stanza.body)} bytes long, not {WRAPPED_BYTES}")


def malformed(kind: str, why: str) -> HeaderError:
    """The error for a stanza that breaks a rule of its own type."""
    return HeaderError(f"the age header has a malformed {kind} stanza: {why}", NOT_WHOLE)
