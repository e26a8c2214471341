"""How long an encrypted file is: a pure law of the plaintext's length and the recipients.

binary = header + 16 (nonce) + n + 16 for each chunk of 64 KiB (an empty payload has one chunk); the header is 22 for
the version line, 48 for the MAC line and the stanzas.  For one X25519 recipient the header is 168.
"""

from __future__ import annotations

from collections.abc import Sequence

from vault.age import armor
from vault.age.primitives import TAG_BYTES
from vault.age.recipient import Recipient
from vault.age.stream import CHUNK_BYTES, NONCE_BYTES, SEALED_BYTES

_VERSION_LINE_BYTES = len(b"age-encryption.org/v1\n")
_MAC_LINE_BYTES = len(b"--- \n") + 43


def header_size(recipients: Sequence[Recipient]) -> int:
    """Length of a header for `recipients` (without stanzas that other programs add)."""
    return _VERSION_LINE_BYTES + sum(recipient.stanza_bytes() for recipient in recipients) + _MAC_LINE_BYTES


def payload_size(n_bytes: int) -> int:
    """Length of the payload, nonce included, of `n_bytes` plaintext."""
    return NONCE_BYTES + n_bytes + TAG_BYTES * max(1, -(-n_bytes // CHUNK_BYTES))


def plaintext_size(n_payload: int) -> int | None:
    """Length of the plaintext of a payload of that length, nonce included; None if no payload has it."""
    sealed = n_payload - NONCE_BYTES
    n_bytes = sealed - TAG_BYTES * max(1, -(-sealed // SEALED_BYTES))
    return n_bytes if n_bytes >= 0 and payload_size(n_bytes) == n_payload else None


def armored_size(n_binary: int) -> int:
    """Length of the armor (LF line ends) around a binary file of that length."""
    text = -(-n_binary // 3) * 4
    lines = -(-text // armor.COLUMNS)
    return len(armor.BEGIN) + 1 + text + lines + len(armor.END) + 1


def encrypted_size(n_bytes: int, recipients: Sequence[Recipient], *, armor: bool = False) -> int:
    """Length of the file that `encrypt` writes for `n_bytes` plaintext."""
    n_binary = header_size(recipients) + payload_size(n_bytes)
    return armored_size(n_binary) if armor else n_binary
