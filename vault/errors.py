"""The family of expected errors.

Expected trouble is a `VaultError`: a code, one sentence that holds the value in question, a next step and the
exit status that the command line gives it.  Only the faces (`vault.cli`) turn an error into words on a stream.
An exception that is no `VaultError` is a bug.
"""

from __future__ import annotations

from enum import IntEnum


class ExitStatus(IntEnum):
    """What the `pinfold` process ends with (see docs/commands.md)."""

    DONE = 0
    NEEDS_YOU = 1
    WRONG_USAGE = 2
    NOT_DONE = 3


class VaultError(Exception):
    """Something expected went wrong.

    `code` is a stable short name, `message` one plain sentence with the value in question, `next_step` what the
    person can do now (may be empty), `exit_status` what the process ends with when nothing better is known.
    """

    code = "error"
    exit_status = ExitStatus.NOT_DONE

    def __init__(self, message: str, next_step: str = "", *, code: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.next_step = next_step
        if code is not None:
            self.code = code


class UsageError(VaultError):
    """The words of the call do not fit; nothing was done."""

    code = "usage"
    exit_status = ExitStatus.WRONG_USAGE


class UnreadableError(VaultError):
    """A document or file cannot be read (truncated, encrypted, of another kind, over a limit)."""

    code = "unreadable"


class StoreError(VaultError):
    """The vault folder cannot be used as it is (missing, locked, damaged, not writable)."""

    code = "store"


class BackupError(VaultError):
    """A backup cannot be written, read or restored."""

    code = "backup"


class DecryptionError(VaultError):
    """An age file cannot be opened; subclasses in `vault.age` say which part of the format failed."""

    code = "decryption"
