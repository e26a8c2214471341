"""The X25519 recipient type (C2SP age): a key pair, `age1...` and `AGE-SECRET-KEY-1...`."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field

from vault.age import bech32, encoding, primitives
from vault.age.errors import KeyTextError
from vault.age.header import Stanza
from vault.age.recipient import WRAPPED_BYTES, check_wrapped, malformed

KIND = "X25519"
RECIPIENT_PREFIX = "age"
IDENTITY_PREFIX = "AGE-SECRET-KEY-"
_INFO = b"age-encryption.org/v1/X25519"
_POINT_BYTES = 32


@dataclass(frozen=True, kw_only=True)
class X25519Recipient:
    """The public key that files are encrypted to.  Raises ValueError unless it is 32 bytes."""

    public: bytes

    def __post_init__(self) -> None:
        if len(self.public) != _POINT_BYTES:
            raise ValueError("an X25519 public key is 32 bytes")

    @property
    def kind(self) -> str:
        return KIND

    def to_text(self) -> str:
        """`age1...`"""
        return bech32.encode(RECIPIENT_PREFIX, self.public)

    def wrap(self, file_key: bytes) -> Stanza:
        """The file key under a new ephemeral secret, one "for each stanza and each file".

        Raises KeyTextError for a public key that no honest key pair has (a low-order point).
        """
        try:
            share, secret = primitives.x25519(os.urandom(_POINT_BYTES), self.public)
        except primitives.LowOrderError as error:
            raise KeyTextError(
                f"{self.to_text()!r} is no usable public key", "ask its owner for the right one"
            ) from error
        body = primitives.seal(_wrap_key(secret, share=share, public=self.public), file_key)
        return Stanza(args=(KIND.encode(), encoding.encode(share)), body=body)

    def stanza_bytes(self) -> int:
        share = encoding.encode(bytes(_POINT_BYTES))
        return len(Stanza(args=(KIND.encode(), share), body=bytes(WRAPPED_BYTES)).encode())


@dataclass(frozen=True, kw_only=True)
class X25519Identity:
    """The secret key that opens them.  It never shows in a repr.  Raises ValueError unless it is 32 bytes."""

    secret: bytes = field(repr=False)

    def __post_init__(self) -> None:
        if len(self.secret) != _POINT_BYTES:
            raise ValueError("an X25519 secret key is 32 bytes")

    @classmethod
    def generate(cls) -> X25519Identity:
        """A new secret key from the system's random source."""
        return cls(secret=os.urandom(_POINT_BYTES))

    def to_text(self) -> str:
        """`AGE-SECRET-KEY-1...`"""
        return bech32.encode(IDENTITY_PREFIX, self.secret)

    def recipient(self) -> X25519Recipient:
        """The public key of this identity."""
        return X25519Recipient(public=primitives.x25519_public(self.secret))

    def unwrap(self, stanzas: Sequence[Stanza]) -> bytes | None:
        """The file key from the first X25519 stanza that is for this key.  Raises HeaderError."""
        for stanza in stanzas:
            if stanza.kind != KIND:
                continue
            share = _share_of(stanza)
            check_wrapped(stanza)
            try:
                public, secret = primitives.x25519(self.secret, share)
            except primitives.LowOrderError as error:
                # "If the shared secret is all 0x00 bytes, the identity implementation MUST abort."
                raise malformed(KIND, "its share is a low-order point") from error
            file_key = primitives.open_sealed(_wrap_key(secret, share=share, public=public), stanza.body)
            if file_key is not None:
                return file_key
        return None


def _share_of(stanza: Stanza) -> bytes:
    """The ephemeral share.  Raises HeaderError.

    "MUST otherwise reject any stanza that has more or less than two arguments, or where the second argument is not a
    canonical base64 encoding of a 32-byte value."
    """
    if len(stanza.args) != 2:
        raise malformed(KIND, f"it has {len(stanza.args)} arguments, not 2")
    share = encoding.decode(stanza.args[1])
    if share is None or len(share) != _POINT_BYTES:
        raise malformed(KIND, "its second argument is not 32 bytes in base64")
    return share


def _wrap_key(secret: bytes, *, share: bytes, public: bytes) -> bytes:
    """The key of the body; "salt = ephemeral share || recipient"."""
    return primitives.hkdf(ikm=secret, salt=share + public, info=_INFO)
