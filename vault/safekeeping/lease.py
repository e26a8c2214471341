"""One writer at a time in a destination that several computers reach.

The systems' own locks do not reach through a share or a cloud, so the lock is a small file, `in-use.json`: who writes
there, since when, and a random token.  It is a lease: its time is renewed while the writer works.  A lease that has
run out, or whose owner is a process of this very computer that has died, is taken over.  Whoever takes it writes its
token and reads it back, so that of two at once only one goes on.

This is a guard for honest computers whose clocks are right to within an hour, not against a malicious destination.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import socket
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from types import TracebackType
from typing import Any, Self

from vault.errors import BackupError
from vault.safekeeping.destination import Destination, Gone, get, put
from vault.safekeeping.layout import LOCK

_LEASE = timedelta(hours=1)
_RENEW_SECONDS = 60.0
_MAX_BYTES = 4096


class DestinationLock:
    """Holds a destination for as long as the block runs, swept of leftovers.

    Raises BackupError (code "locked") that names who else holds it.
    `clock` gives the time of day (aware); tests hand in their own.
    """

    def __init__(
        self, destination: Destination, *, purpose: str, clock: Callable[[], datetime] = lambda: datetime.now(UTC)
    ) -> None:
        self._destination, self._purpose, self._clock = destination, purpose, clock
        self._token = secrets.token_hex(8)
        self._since = ""
        self._renewed = 0.0

    def __enter__(self) -> Self:
        self._since = self._clock().isoformat(timespec="seconds")
        other = self._read()
        if other is not None and self._lives(other):
            raise self._refused(other)
        try:
            if other is not None:  # its run was killed; what it left may fill the disk
                self._destination.sweep()
            self._write(replace=other is not None)
            there = self._read()
        except BackupError as error:
            self._let_go()  # a name given just before the error is a lease, too
            raise (self._refused(self._read() or {}) if error.code == "exists" else error) from error
        if there is None or there.get("token") != self._token:
            raise self._refused(there or {})
        try:
            self._destination.sweep()
        except BackupError:
            self._let_go()
            raise
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._let_go()

    def _let_go(self) -> None:
        """Removes our own lease; where that fails it runs out by itself."""
        with contextlib.suppress(BackupError):
            mine = self._read()
            if mine is not None and mine.get("token") == self._token:
                self._destination.remove(LOCK)

    def renew(self) -> None:
        """To be called now and then; BackupError if another has taken the destination over meanwhile."""
        if time.monotonic() - self._renewed < _RENEW_SECONDS:
            return
        there = self._read()
        if there is None or there.get("token") != self._token:
            raise self._refused(there or {})
        self._write(replace=True)

    def _write(self, *, replace: bool) -> None:
        owner = {
            "token": self._token,
            "host": socket.gethostname(),
            "pid": os.getpid(),
            "purpose": self._purpose,
            "since": self._since,
            "time": self._clock().isoformat(timespec="seconds"),
        }
        put(self._destination, LOCK, json.dumps(owner, indent=1).encode(), replace=replace)
        self._renewed = time.monotonic()

    def _read(self) -> dict[str, Any] | None:
        """Who holds it; {} where the file says nothing that can be read."""
        try:
            said = json.loads(get(self._destination, LOCK, _MAX_BYTES))
        except Gone:
            return None
        except (BackupError, ValueError, RecursionError):
            return {}
        return said if isinstance(said, dict) else {}

    def _lives(self, other: dict[str, Any]) -> bool:
        """Whether the lease still counts.  What cannot be read is no lease: a writer makes it whole or not at all."""
        try:
            renewed = datetime.fromisoformat(other["time"])
            host, pid = str(other["host"]), int(other["pid"])
            age = self._clock() - renewed
        except (KeyError, TypeError, ValueError):
            return False
        if abs(age) > _LEASE:
            return False
        return host != socket.gethostname() or _process_lives(pid)

    def _refused(self, other: dict[str, Any]) -> BackupError:
        who = f"{other.get('host', 'another computer')!s:.60} since {other.get('since', 'a moment ago')!s:.40}"
        return BackupError(
            f"{self._destination.name} is being written to by {who}",
            f"wait until it is done; if that computer is switched off, delete {LOCK} there, or wait an hour",
            code="locked",
        )


def _process_lives(pid: int) -> bool:
    import psutil

    return pid > 0 and bool(psutil.pid_exists(pid))
