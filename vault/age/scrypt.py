"""The scrypt recipient type (C2SP age): a passphrase.

The work factor is the file's wish, and this machine's time and memory: 1 KiB times 2**log_n.  So it is held against a
ceiling before any work is done.  The ceiling is that of the reference implementation, 22 (4 GiB), which every file that
a common tool writes stays under; a caller who reads only its own files should set a lower one.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from vault.age import encoding, primitives
from vault.age.errors import HeaderError, ResourceError
from vault.age.header import Stanza
from vault.age.recipient import WRAPPED_BYTES, check_wrapped, malformed
from vault.errors import UsageError

KIND = "scrypt"
DEFAULT_LOG_N = 18  # 256 MiB, about a second
MAX_LOG_N = 22
_SALT_LABEL = b"age-encryption.org/v1/scrypt"
_SALT_BYTES = 16
# "a decimal number composed of only digits with no leading zeroes (`%x31-39 *DIGIT` in ABNF)"
_LOG_N_RE = re.compile(rb"[1-9][0-9]*\Z")


@dataclass(frozen=True, kw_only=True)
class ScryptRecipient:
    """A passphrase to encrypt with, at a work factor of 2**log_n.  It must be the only recipient of a file.

    The passphrase goes into the key as its UTF-8 bytes, unchanged.  Raises UsageError for an empty one, ValueError for
    a work factor outside 1 to 22.
    """

    passphrase: str = field(repr=False)
    log_n: int = DEFAULT_LOG_N

    def __post_init__(self) -> None:
        _check_passphrase(self.passphrase)
        if not 1 <= self.log_n <= MAX_LOG_N:
            raise ValueError(f"log_n must be 1 to {MAX_LOG_N}: {self.log_n}")

    @property
    def kind(self) -> str:
        return KIND

    def wrap(self, file_key: bytes) -> Stanza:
        """The file key under the passphrase and a new salt, one "for each stanza and each file".

        Raises ResourceError.
        """
        salt = os.urandom(_SALT_BYTES)
        return self._stanza(salt, primitives.seal(_wrap_key(self.passphrase, salt=salt, log_n=self.log_n), file_key))

    def stanza_bytes(self) -> int:
        return len(self._stanza(bytes(_SALT_BYTES), bytes(WRAPPED_BYTES)).encode())

    def _stanza(self, salt: bytes, body: bytes) -> Stanza:
        return Stanza(args=(KIND.encode(), encoding.encode(salt), str(self.log_n).encode()), body=body)


@dataclass(frozen=True, kw_only=True)
class ScryptIdentity:
    """A passphrase to open with, and the highest work factor it will spend.  Raises UsageError for an empty one."""

    passphrase: str = field(repr=False)
    max_log_n: int = MAX_LOG_N

    def __post_init__(self) -> None:
        _check_passphrase(self.passphrase)

    def unwrap(self, stanzas: Sequence[Stanza]) -> bytes | None:
        """The file key, None for a wrong passphrase.  Raises HeaderError, ResourceError."""
        for stanza in stanzas:
            if stanza.kind != KIND:
                continue
            salt, log_n = _arguments_of(stanza, self.max_log_n)
            check_wrapped(stanza)
            file_key = primitives.open_sealed(_wrap_key(self.passphrase, salt=salt, log_n=log_n), stanza.body)
            if file_key is not None:
                return file_key
        return None


def check_alone(stanzas: Sequence[Stanza]) -> None:
    """Raises HeaderError for a passphrase that is not the only recipient; holds for whoever tries to open the file.

    "The identity implementation MUST reject headers where an scrypt stanza is present alongside any other stanza."
    """
    if len(stanzas) > 1 and any(stanza.kind == KIND for stanza in stanzas):
        raise malformed(KIND, "a passphrase must be the only recipient of a file")


def _arguments_of(stanza: Stanza, max_log_n: int) -> tuple[bytes, int]:
    if len(stanza.args) != 3:
        raise malformed(KIND, f"it has {len(stanza.args)} arguments, not 3")
    salt = encoding.decode(stanza.args[1])
    if salt is None or len(salt) != _SALT_BYTES:
        raise malformed(KIND, "its salt is not 16 bytes in base64")
    digits = stanza.args[2]
    if not _LOG_N_RE.match(digits):
        raise malformed(KIND, "its work factor is no decimal number")
    # Digits are counted first: a number of thousands of digits is not worth converting.
    if len(digits) > 2 or int(digits) > max_log_n:
        shown = digits[:20].decode("ascii")
        raise HeaderError(
            f"the passphrase of this age file has the work factor {shown}, over the ceiling of {max_log_n}",
            "if you trust the file, open it with another age tool on a machine with enough memory",
        )
    return salt, int(digits)


def _wrap_key(passphrase: str, *, salt: bytes, log_n: int) -> bytes:
    try:
        return primitives.scrypt(passphrase.encode("utf-8"), salt=_SALT_LABEL + salt, log_n=log_n)
    except MemoryError as error:
        raise ResourceError(
            f"the passphrase needs {max(1, 1 << log_n >> 10)} MiB of memory, more than there is",
            "close other programs and try again, or use a machine with more memory",
        ) from error


def _check_passphrase(passphrase: str) -> None:
    if not passphrase:
        raise UsageError("the passphrase is empty", "give at least one character; several words are better")
    try:
        passphrase.encode("utf-8")
    except UnicodeEncodeError:
        raise UsageError("the passphrase holds bytes that are no text", "type it again") from None
