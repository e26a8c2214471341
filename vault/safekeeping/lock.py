"""One writer at a time, by a lock of the operating system on an open file.

The lock belongs to the open file, so a process that dies, however it dies, holds it no longer; no process number has
to be guessed at.  The file only tells the other side who holds it.  It is never removed: removing it would let two
processes lock two files of the same name.  Readers take no lock.
"""

from __future__ import annotations

import contextlib
import json
import os
import socket
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import BinaryIO, Self

from vault.errors import StoreError
from vault.safekeeping.disk import trouble
from vault.safekeeping.folder import VaultFolder

_MAX_OWNER = 4096
_FAR = 1 << 30  # on Windows the locked byte cannot be read by others, so it lies far behind the owner's words


class FileLock:
    """A lock on `path` for as long as the block runs.  `words` names what is locked, for the message.

    Raises StoreError (code "locked", with the owner) if another holds it longer than `wait_seconds`.
    """

    def __init__(self, path: Path, words: str, *, purpose: str = "", wait_seconds: float = 0.0) -> None:
        self.path = path
        self._words = words
        self._purpose = purpose
        self._wait = wait_seconds
        self._handle: BinaryIO | None = None

    def __enter__(self) -> Self:
        try:
            handle = os.fdopen(os.open(self.path, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o600), "r+b", 0)
        except OSError as error:
            raise trouble(error, f"{self._words} cannot be locked ({self.path})") from error
        try:
            if not self._try_for_a_while(handle):
                raise self._refused(handle)
            self._say_who(handle)
        except OSError as error:
            handle.close()
            raise trouble(error, f"{self._words} cannot be locked ({self.path})") from error
        except BaseException:
            handle.close()
            raise
        self._handle = handle
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        handle, self._handle = self._handle, None
        if handle is None:
            return
        with contextlib.suppress(OSError):
            handle.truncate(0)
        with contextlib.suppress(OSError):
            _unlock(handle)
        handle.close()

    def _try_for_a_while(self, handle: BinaryIO) -> bool:
        until = time.monotonic() + self._wait
        while not _lock(handle):
            if time.monotonic() >= until:
                return False
            time.sleep(min(0.1, max(0.0, until - time.monotonic())) or 0.01)
        return True

    def _say_who(self, handle: BinaryIO) -> None:
        owner = {
            "pid": os.getpid(),
            "host": socket.gethostname(),
            "since": datetime.now(UTC).isoformat(timespec="seconds"),
            "purpose": self._purpose,
        }
        with contextlib.suppress(OSError):  # words for the others only; a full disk must not hinder the lock
            handle.seek(0)
            handle.truncate(0)
            handle.write(json.dumps(owner).encode())

    def _refused(self, handle: BinaryIO) -> StoreError:
        owner = ""
        with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
            handle.seek(0)
            said = json.loads(handle.read(_MAX_OWNER))
            doing = f" doing {said['purpose']}" if said["purpose"] else ""
            owner = f" (process {int(said['pid'])} on {said['host']}{doing}, since {said['since']})"
        return StoreError(
            f"{self._words} is in use by another pinfold{owner}",
            "wait until it is done and run the same command again",
            code="locked",
        )


class VaultLock(FileLock):
    """The right to write into one vault; makes the vault folder if it is not there yet."""

    def __init__(self, folder: VaultFolder, *, purpose: str = "", wait_seconds: float = 0.0) -> None:
        super().__init__(folder.lock_path, f"the vault in {folder.root}", purpose=purpose, wait_seconds=wait_seconds)
        self._folder = folder

    def __enter__(self) -> Self:
        self._folder.create()
        return super().__enter__()


_lock: Callable[[BinaryIO], bool]
_unlock: Callable[[BinaryIO], None]

if sys.platform == "win32":
    import msvcrt

    def _lock(handle: BinaryIO) -> bool:
        try:
            handle.seek(_FAR)
            msvcrt.locking(handle.fileno(), msvcrt.LK_NBLCK, 1)
            return True
        except OSError:
            return False

    def _unlock(handle: BinaryIO) -> None:
        handle.seek(_FAR)
        msvcrt.locking(handle.fileno(), msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _lock(handle: BinaryIO) -> bool:
        try:
            fcntl.flock(handle.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
            return True
        except BlockingIOError:  # anything else (a share that knows no locks) is told by the caller
            return False

    def _unlock(handle: BinaryIO) -> None:
        fcntl.flock(handle.fileno(), fcntl.LOCK_UN)
