"""age v1 (C2SP age specification) on the primitives of the `cryptography` package; see docs/formats/age.md.

One module per section of the specification; this is what other packages use.  Importing it loads nothing heavy.
"""

from __future__ import annotations

from vault.age.errors import (
    ArmorError,
    HeaderError,
    HmacError,
    KeyTextError,
    NoMatchError,
    PayloadError,
    ResourceError,
)
from vault.age.file import EncryptingWriter, decrypt, encrypt, open_reader, recipient_kinds
from vault.age.hybrid import HybridIdentity, HybridRecipient
from vault.age.keys import (
    KeyIdentity,
    KeyRecipient,
    identity_file,
    parse_identities,
    parse_identity,
    parse_recipient,
    parse_recipients,
)
from vault.age.recipient import Identity, Recipient
from vault.age.scrypt import ScryptIdentity, ScryptRecipient
from vault.age.sizes import armored_size, encrypted_size, header_size, payload_size, plaintext_size
from vault.age.x25519 import X25519Identity, X25519Recipient

__all__ = [
    "ArmorError",
    "EncryptingWriter",
    "HeaderError",
    "HmacError",
    "HybridIdentity",
    "HybridRecipient",
    "Identity",
    "KeyIdentity",
    "KeyRecipient",
    "KeyTextError",
    "NoMatchError",
    "PayloadError",
    "Recipient",
    "ResourceError",
    "ScryptIdentity",
    "ScryptRecipient",
    "X25519Identity",
    "X25519Recipient",
    "armored_size",
    "decrypt",
    "encrypt",
    "encrypted_size",
    "header_size",
    "identity_file",
    "open_reader",
    "parse_identities",
    "parse_identity",
    "parse_recipient",
    "parse_recipients",
    "payload_size",
    "plaintext_size",
    "recipient_kinds",
]
