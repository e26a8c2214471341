"""A destination on another computer, whatever way leads there.

`Server` is the little that a way must be able to do; `RemoteDestination` makes the contract of `Destination` of it:

* an upload is spooled here and carried over when it is committed, under a temporary name where the server writes in
  place, under its own where a write is all or nothing (`Server.whole`); the flush gives the names;
* what a lost connection cuts short is begun anew, a few times, on a new connection;
* nothing that a server says is believed: names are checked, and what it sends is compared by whoever reads it.
"""

from __future__ import annotations

import contextlib
import secrets
import tempfile
import time
from collections.abc import Callable, Iterator
from typing import BinaryIO, Protocol, TypeVar, cast

from vault.errors import BackupError
from vault.safekeeping.destination import Gone, StoredFile, Upload, checked_name, is_name
from vault.safekeeping.disk import PART
from vault.safekeeping.streams import Bytes

_SPOOL = 8 << 20  # bytes of an upload that are held in memory
_TRIES = 4
_PAUSE = 0.5  # seconds before the second try, doubled each time
TMP = "tmp/"

Result = TypeVar("Result")


class LostConnection(Exception):
    """The connection broke or the server was slow; a new try may succeed."""


class Server(Protocol):
    """One way to another computer.  Methods raise BackupError for good, LostConnection where a new try may help."""

    name: str  # how a person names it, without secrets
    whole: bool  # a write is seen as a whole or not at all

    def connect(self) -> None:
        """Makes a connection, if there is none."""

    def disconnect(self) -> None:
        """Lets the connection go; never raises."""

    def prepare(self) -> None:
        """Makes the folder of the backup, but none above it."""

    def check(self) -> None:
        """BackupError if the folder of the backup is not there."""

    def listing(self, prefix: str) -> Iterator[tuple[str, int]]:
        """Name and size of every plain file whose name begins with `prefix`."""

    def fetch(self, name: str, into: BinaryIO) -> None:
        """Writes the bytes under `name`; FileNotFoundError if there are none."""

    def store(self, name: str, source: BinaryIO, n_bytes: int) -> None:
        """Writes `source` under `name`, with the folders above it, over what was there."""

    def move(self, name: str, new: str) -> None:
        """Gives a file its name, over what was there."""

    def has(self, name: str) -> bool:
        """Whether there is something under a name."""

    def delete(self, name: str) -> None:
        """Removes a name; nothing if it is gone."""


class RemoteDestination:
    """A destination that a `Server` leads to."""

    workers = 1  # one connection, one thing at a time

    def __init__(self, server: Server, *, pause: float = _PAUSE) -> None:
        self._server = server
        self._pause = pause
        self._waiting: list[tuple[str, str]] = []  # temporary name, name
        self._written: list[str] = []  # names that were not there before

    @property
    def name(self) -> str:
        """The address, without secrets."""
        return self._server.name

    def prepare(self) -> None:
        """Connects, and makes the folder of the backup."""
        self._again(self._server.prepare)

    def check(self) -> None:
        """Connects, and tells when the folder of the backup is not there."""
        self._again(self._server.check)

    def listing(self, prefix: str = "") -> Iterator[StoredFile]:
        """All names that may be ours."""
        found = self._again(lambda: list(self._server.listing(prefix)))
        for name, n_bytes in found:
            if is_name(name) and name.startswith(prefix) and not name.startswith(TMP):
                yield StoredFile(name=name, n_bytes=n_bytes)

    def open(self, name: str) -> BinaryIO:
        """The bytes under a name, fetched whole before they are read, so that a lost connection cuts nothing short."""
        checked_name(name)

        def fetch() -> BinaryIO:
            into = cast(BinaryIO, tempfile.SpooledTemporaryFile(max_size=_SPOOL))  # noqa: SIM115  handed out
            try:
                self._server.fetch(name, into)
                into.seek(0)
            except BaseException:
                into.close()
                raise
            return into

        try:
            return self._again(fetch)
        except FileNotFoundError as error:
            raise Gone(f"{name} is gone from {self.name}", "try another copy of the backup") from error

    def begin(self) -> Upload:
        """A new upload, spooled on this computer."""
        return _RemoteUpload(self)

    def flush(self) -> None:
        """Gives all committed uploads their names."""
        while self._waiting:
            part, name = self._waiting[0]
            self._again(lambda part=part, name=name: self._settle(part, name))  # type: ignore[misc]
            self._waiting.pop(0)
        self._written.clear()

    def abandon(self) -> None:
        """Removes what was committed and not flushed, as far as the connection allows."""
        leftovers = [part for part, _ in self._waiting] + self._written
        self._waiting.clear()
        self._written.clear()
        for name in leftovers:
            with contextlib.suppress(BackupError):
                self._again(lambda name=name: self._server.delete(name))  # type: ignore[misc]

    def sweep(self) -> None:
        """Removes the temporary names that interrupted uploads left."""
        parts = [name for name, _ in self._again(lambda: list(self._server.listing(TMP))) if name.endswith(PART)]
        for part in parts:
            if is_name(part):
                self._again(lambda part=part: self._server.delete(part))  # type: ignore[misc]

    def remove(self, name: str) -> None:
        """Removes a name; nothing if it is gone."""
        checked_name(name)
        self._again(lambda: self._server.delete(name))

    def free_bytes(self) -> int | None:
        """Not known: servers seldom tell it, and then for another folder."""
        return None

    def close(self) -> None:
        """Lets the connection go."""
        self._server.disconnect()

    def _settle(self, part: str, name: str) -> None:
        """Moves a part to its name; a try that was cut short may have moved it already."""
        if self._server.has(part) or not self._server.has(name):
            self._server.move(part, name)

    def _take(self, source: BinaryIO, n_bytes: int, name: str, *, replace: bool) -> None:
        if not replace and (name in {n for _, n in self._waiting} or self._again(lambda: self._server.has(name))):
            raise BackupError(f"{name} in {self.name} is taken", "another backup may be running", code="exists")

        def store(under: str) -> None:
            source.seek(0)
            self._server.store(under, source, n_bytes)

        if self._server.whole:
            self._again(lambda: store(name))
            if not replace:
                self._written.append(name)
            return
        part = f"{TMP}{secrets.token_hex(12)}{PART}"
        self._again(lambda: store(part))
        self._waiting.append((part, name))

    def _again(self, work: Callable[[], Result]) -> Result:
        """Does something on a connection, anew on another one if it is lost."""
        for number in range(_TRIES):
            try:
                self._server.connect()
                return work()
            except LostConnection as error:
                self._server.disconnect()
                if number == _TRIES - 1:
                    raise BackupError(
                        f"the connection to {self.name} was lost ({error})",
                        "see whether the network and the server are up, and run it again: it goes on where it was",
                        code="connection",
                    ) from error
                time.sleep(self._pause * 2**number)
        raise AssertionError("not reached")


class _RemoteUpload:
    def __init__(self, owner: RemoteDestination) -> None:
        self._owner = owner
        self._spool = tempfile.SpooledTemporaryFile(max_size=_SPOOL)  # noqa: SIM115  closed when committed
        self._n_bytes = 0

    def write(self, data: Bytes, /) -> None:
        try:
            self._spool.write(data)
        except OSError as error:
            raise BackupError(
                f"an upload cannot be spooled on this computer ({error.strerror})", "make room and run it again"
            ) from error
        self._n_bytes += len(data)

    def commit(self, name: str, *, replace: bool = False) -> None:
        checked_name(name)
        try:
            self._owner._take(cast(BinaryIO, self._spool), self._n_bytes, name, replace=replace)
        finally:
            self._spool.close()

    def abort(self) -> None:
        self._spool.close()
