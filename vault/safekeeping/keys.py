"""The key of the backups: made once, locked with the passphrase, opened only to restore.

A backup is encrypted to the key's *recipient*, which the vault knows, so that it runs unattended.  The secret
*identity* exists in the clear only in memory and on the recovery sheet.  `key.age` is an age identity file (comments
and one identity a line, newest first) encrypted with the passphrase, so that any age tool takes it as it is.
This module is the only one of the package that knows how `vault.age` is called.
"""

from __future__ import annotations

import hashlib
import io
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import TYPE_CHECKING

from vault.errors import BackupError, DecryptionError, VaultError
from vault.safekeeping.streams import Sink, Source

if TYPE_CHECKING:
    from vault.age import EncryptingWriter, KeyIdentity, KeyRecipient

SCRYPT_LOG_N = 18  # the work factor that age tools write: about a second and 256 MiB to try one passphrase
_MAX_LOG_N = 20  # a key that asks for more (over 1 GiB) was not locked here
MAX_LOCKED_KEY = 1 << 16
_HEAD = "# The key to the backups of one pinfold vault.  Whoever has it can read them.\n"


class WrongPassphrase(BackupError):
    """The passphrase does not open the key."""

    code = "wrong-passphrase"


@dataclass(frozen=True, kw_only=True)
class BackupKey:
    """Identities as age texts, newest first: one, or more after the key was changed.  Secret: never printed."""

    identities: tuple[str, ...] = field(repr=False)

    @cached_property
    def opened(self) -> tuple[KeyIdentity, ...]:
        """The identities as `vault.age` takes them."""
        from vault.age import parse_identity

        return tuple(parse_identity(identity) for identity in self.identities)

    @property
    def recipients(self) -> tuple[str, ...]:
        """The public halves, in the same order."""
        return tuple(recipient_of(identity) for identity in self.identities)

    @property
    def post_quantum(self) -> bool:
        """Whether the newest identity is of the post-quantum kind."""
        return self.identities[0].startswith("AGE-SECRET-KEY-PQ-")


def new_key(*, post_quantum: bool = False, before: BackupKey | None = None) -> BackupKey:
    """A fresh key from the system's randomness; identities of the key `before` stay behind the new one.

    `post_quantum`: the hybrid kind.  Raises BackupError where the installed cryptography cannot use it.
    """
    from vault.age import HybridIdentity, X25519Identity

    made = HybridIdentity.generate() if post_quantum else X25519Identity.generate()
    try:
        made.recipient()
    except VaultError as error:
        raise BackupError(error.message, error.next_step, code="post-quantum") from error
    return BackupKey(identities=(made.to_text(), *(before.identities if before else ())))


def is_post_quantum(recipients: Iterable[str]) -> bool:
    """Whether what is encrypted to `recipients` is safe against a later quantum computer."""
    return all(recipient.startswith("age1pq1") for recipient in recipients)


def key_tag(recipients: Iterable[str]) -> str:
    """A short name for a set of recipients, by which a snapshot says to whom its objects are encrypted."""
    return hashlib.sha256("\n".join(sorted(recipients)).encode()).hexdigest()[:16]


def recipient_of(identity: str) -> str:
    """The public half of an identity."""
    from vault.age import parse_identity

    return parse_identity(identity).recipient().to_text()


def lock_key(key: BackupKey, passphrase: str, *, log_n: int = SCRYPT_LOG_N) -> bytes:
    """`key` as the content of key.age.  Takes about a second at the usual work factor."""
    from vault.age import ScryptRecipient, encrypt

    lines = [_HEAD]
    for identity in key.identities:
        lines.append(f"# public key: {recipient_of(identity)}\n{identity}\n")
    locked = io.BytesIO()
    recipient = ScryptRecipient(passphrase=one_spelling(passphrase), log_n=log_n)
    encrypt(io.BytesIO("".join(lines).encode()), locked, [recipient])
    return locked.getvalue()


def unlock_key(locked: bytes, passphrase: str) -> BackupKey:
    """The key in key.age; WrongPassphrase, or BackupError where it is damaged."""
    from vault.age import NoMatchError, ScryptIdentity, decrypt

    opened = io.BytesIO()
    identity = ScryptIdentity(passphrase=one_spelling(passphrase), max_log_n=_MAX_LOG_N)
    try:
        decrypt(io.BytesIO(locked), opened, [identity])
    except NoMatchError as error:
        raise WrongPassphrase(
            "the passphrase does not open the backup's key",
            "try again (mind the keyboard's language and capitals), or use the recovery sheet: --recovery-key FILE",
        ) from error
    except DecryptionError as error:
        raise BackupError(
            f"the backup's key.age cannot be opened: {error.message}",
            "use the recovery sheet (--recovery-key FILE), or key.age of another copy: it is the same everywhere",
            code="damaged-key",
        ) from error
    return key_of_text(opened.getvalue().decode("utf-8", "replace"))


def key_of_text(text: str) -> BackupKey:
    """The key in an age identity file; UsageError naming the line if it cannot be read."""
    from vault.age import parse_identities

    return BackupKey(identities=tuple(identity.to_text() for identity in parse_identities(text)))


def seal(source: Source, sink: Sink, recipients: Iterable[str]) -> None:
    """Encrypts `source` to `recipients` into `sink`, as one age file, in constant memory."""
    from vault.age import encrypt

    encrypt(source, sink, _parsed(tuple(recipients)))


def sealing(sink: Sink, recipients: Iterable[str]) -> EncryptingWriter:
    """A stream that encrypts into `sink` what is written to it; a block that ends well ends the age file."""
    from vault.age import EncryptingWriter

    return EncryptingWriter(sink, _parsed(tuple(recipients)))


def unseal(source: Source, sink: Sink, key: BackupKey) -> None:
    """Decrypts an age file; raises DecryptionError of the class that fits.  What was written before is authentic."""
    from vault.age import decrypt

    decrypt(source, sink, key.opened)


def one_spelling(passphrase: str) -> str:
    """The passphrase in NFC: macOS and others may type the same letter as one or as two characters."""
    words = unicodedata.normalize("NFC", passphrase)
    if not words:
        raise BackupError("the passphrase is empty", "type one, or use the recovery sheet", code="empty-passphrase")
    return words


@cache
def _parsed(recipients: tuple[str, ...]) -> tuple[KeyRecipient, ...]:
    from vault.age import parse_recipient

    return tuple(parse_recipient(r) for r in recipients)
