"""The MLKEM768-X25519 hybrid recipient type (C2SP age): safe against a later quantum computer, `age1pq1...`.

The file key is sealed with HPKE (RFC 9180, base mode; KEM MLKEM768-X25519, HKDF-SHA256, ChaCha20-Poly1305), which the
`cryptography` package has in its newer releases.  With an older one the keys can still be read and written as text;
only using them raises `ResourceError`.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field

from vault.age import bech32, encoding, primitives
from vault.age.errors import KeyTextError, ResourceError
from vault.age.header import Stanza
from vault.age.recipient import WRAPPED_BYTES, check_wrapped, malformed

KIND = "mlkem768x25519"
RECIPIENT_PREFIX = "age1pq"
IDENTITY_PREFIX = "AGE-SECRET-KEY-PQ-"
_INFO = b"age-encryption.org/mlkem768x25519"
_SEED_BYTES = 32


@dataclass(frozen=True, kw_only=True)
class HybridRecipient:
    """The public key that files are encrypted to.  Raises ValueError unless it is 1216 bytes."""

    public: bytes

    def __post_init__(self) -> None:
        if len(self.public) != primitives.HYBRID_PUBLIC_BYTES:
            raise ValueError(f"a hybrid public key is {primitives.HYBRID_PUBLIC_BYTES} bytes")

    @property
    def kind(self) -> str:
        return KIND

    def to_text(self) -> str:
        """`age1pq1...`, about 1,960 characters."""
        return bech32.encode(RECIPIENT_PREFIX, self.public)

    def wrap(self, file_key: bytes) -> Stanza:
        """HPKE SealBase.  Raises ResourceError, and KeyTextError for bytes that are no public key."""
        try:
            enc, body = primitives.hybrid_seal(self.public, file_key, _INFO)
        except primitives.NotSupportedError as error:
            raise _not_supported() from error
        except ValueError as error:
            shown = self.to_text()[:20]
            raise KeyTextError(f"'{shown}...' is no usable public key", "ask its owner for the right one") from error
        return Stanza(args=(KIND.encode(), encoding.encode(enc)), body=body)

    def stanza_bytes(self) -> int:
        enc = encoding.encode(bytes(primitives.ENC_BYTES))
        return len(Stanza(args=(KIND.encode(), enc), body=bytes(WRAPPED_BYTES)).encode())


@dataclass(frozen=True, kw_only=True)
class HybridIdentity:
    """The seed that opens them.  It never shows in a repr.  Raises ValueError unless it is 32 bytes."""

    seed: bytes = field(repr=False)

    def __post_init__(self) -> None:
        if len(self.seed) != _SEED_BYTES:
            raise ValueError("a hybrid seed is 32 bytes")

    @classmethod
    def generate(cls) -> HybridIdentity:
        """A new seed from the system's random source."""
        return cls(seed=os.urandom(_SEED_BYTES))

    def to_text(self) -> str:
        """`AGE-SECRET-KEY-PQ-1...`"""
        return bech32.encode(IDENTITY_PREFIX, self.seed)

    def recipient(self) -> HybridRecipient:
        """The public key of this identity.  Raises ResourceError."""
        try:
            return HybridRecipient(public=primitives.hybrid_public(self.seed))
        except primitives.NotSupportedError as error:
            raise _not_supported() from error

    def unwrap(self, stanzas: Sequence[Stanza]) -> bytes | None:
        """The file key from the first stanza that is for this key.  Raises HeaderError, ResourceError."""
        for stanza in stanzas:
            if stanza.kind != KIND:
                continue
            enc = _enc_of(stanza)
            check_wrapped(stanza)
            try:
                file_key = primitives.hybrid_open(self.seed, enc, stanza.body, _INFO)
            except primitives.NotSupportedError as error:
                raise _not_supported() from error
            except primitives.LowOrderError as error:
                raise malformed(KIND, "its share is a low-order point") from error
            if file_key is not None:
                return file_key
        return None


def _enc_of(stanza: Stanza) -> bytes:
    """The encapsulated key.  Raises HeaderError.

    "MUST otherwise reject any stanza that has more or less than two arguments, or where the second argument is not a
    canonical base64 encoding of a 1120-byte value."
    """
    if len(stanza.args) != 2:
        raise malformed(KIND, f"it has {len(stanza.args)} arguments, not 2")
    enc = encoding.decode(stanza.args[1])
    if enc is None or len(enc) != primitives.ENC_BYTES:
        raise malformed(KIND, f"its second argument is not {primitives.ENC_BYTES} bytes in base64")
    return enc


def _not_supported() -> ResourceError:
    return ResourceError(
        "the installed 'cryptography' package cannot use post-quantum keys",
        "install a newer release of it (50 can), or use a classic key",
    )
