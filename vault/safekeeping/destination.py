"""Where backups go: a small contract, and the folder as its first kind.

A destination holds named byte strings.  Names are those of `layout`; nothing is ever changed in place.  An upload
gets its name only when all its bytes are there; after `flush` everything named before stands durably, and before it
each name is either whole or absent.  Another kind (SFTP, WebDAV, object storage) is one class and one line in
`KINDS`, and must pass tests/safekeeping/destination_contract.py.

A destination may be damaged or hostile: names are checked on the way in and out, links and devices are passed over.
"""

from __future__ import annotations

import contextlib
import os
import re
import stat
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Protocol

from vault.errors import BackupError
from vault.safekeeping.disk import DISK, PART, Batch, Disk, discard, free_bytes, is_part, new_part, trouble
from vault.safekeeping.streams import Bytes

_NAME_RE = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.-]*(/[A-Za-z0-9_][A-Za-z0-9_.-]*){0,3}\Z")
# On another computer she is another user to the disk: what is encrypted may be read by all, so that she can restore.
_FOLDER_MODE, _OPEN_MODE = 0o777, 0o644
_OPEN_ENDINGS = (".age", ".txt")


class Gone(BackupError):
    """The destination has nothing under that name."""

    code = "gone"


@dataclass(frozen=True, kw_only=True)
class StoredFile:
    """A name in a destination and how many bytes lie under it."""

    name: str
    n_bytes: int


class Upload(Protocol):
    """Bytes on their way; invisible until committed."""

    def write(self, data: Bytes, /) -> None:
        """Takes all of `data`; BackupError if the destination does not."""

    def commit(self, name: str, *, replace: bool = False) -> None:
        """Gives the bytes their name; BackupError (code "exists"), at the flush at the latest, if it is taken."""

    def abort(self) -> None:
        """Forgets the bytes; nothing after commit."""


class Destination(Protocol):
    """What a backup can be written to and read from.  All methods raise BackupError."""

    @property
    def name(self) -> str:
        """How a person names it."""

    @property
    def workers(self) -> int:
        """How many threads may write their own uploads, or read, at the same time.  All else is called from one."""

    def prepare(self) -> None:
        """Makes it ready to be written to; tells at once when it is missing, full or read-only."""

    def check(self) -> None:
        """Tells when it is not there to be read."""

    def listing(self, prefix: str = "") -> Iterator[StoredFile]:
        """All names beginning with `prefix` (a folder name with its slash), in no order."""

    def open(self, name: str) -> BinaryIO:
        """The bytes under `name`; `Gone` if there are none."""

    def begin(self) -> Upload:
        """A new upload."""

    def flush(self) -> None:
        """Returns when all committed uploads stand durably under their names."""

    def abandon(self) -> None:
        """Forgets the uploads that are committed and not flushed."""

    def sweep(self) -> None:
        """Removes what interrupted uploads left.  Only where nobody else writes."""

    def remove(self, name: str) -> None:
        """Removes a name; nothing if it is gone."""

    def free_bytes(self) -> int | None:
        """Room left, if it can be told."""

    def close(self) -> None:
        """The work is over: lets go of connections and temporary things; it can be used again afterwards."""


def put(destination: Destination, name: str, content: bytes, *, replace: bool = False) -> None:
    """Stores a short content under `name`, durably."""
    upload = destination.begin()
    try:
        upload.write(content)
        upload.commit(name, replace=replace)
    finally:
        upload.abort()
    destination.flush()


def get(destination: Destination, name: str, limit: int) -> bytes:
    """A short content; BackupError if it is gone or longer than `limit` bytes."""
    with destination.open(name) as source:
        content = source.read(limit + 1)
    if len(content) > limit:
        raise BackupError(f"{name} in {destination.name} is too large", "it is not what pinfold wrote", code="damaged")
    return content


class FolderDestination:
    """A folder: on another disk, a stick, a mounted share."""

    def __init__(self, root: Path, *, disk: Disk = DISK, workers: int | None = None) -> None:
        self.root = Path(root).expanduser().absolute()
        self.workers = workers or max(1, min(4, os.cpu_count() or 1))
        self._disk = disk
        self._batch = Batch(disk, folder_mode=_FOLDER_MODE)

    @property
    def name(self) -> str:
        """Its path."""
        return str(self.root)

    def prepare(self) -> None:
        """Makes the folder, but none above it: a missing parent is an unplugged stick or a slip of the pen."""
        if not self.root.parent.is_dir():
            raise BackupError(
                f"the destination {self.root} cannot be reached: there is no folder {self.root.parent}",
                "is the disk or stick plugged in?  check the path",
                code="missing",
            )
        with self._told("cannot be written"):
            if self.root.exists() and not self.root.is_dir():
                raise BackupError(f"the destination {self.root} is no folder", "name a folder", code="not-a-folder")
            self._disk.make_folder(self.root / "tmp", mode=_FOLDER_MODE)

    def check(self) -> None:
        """Tells when the folder is not there."""
        if not self.root.is_dir():
            raise BackupError(
                f"there is no backup folder {self.root}",
                "is the disk or stick plugged in?  check the path",
                code="missing",
            )

    def listing(self, prefix: str = "") -> Iterator[StoredFile]:
        """Plain files only; links, devices and strange names are passed over."""
        with self._told("cannot be read"):
            yield from self._walk(self.root / prefix, prefix)

    def open(self, name: str) -> BinaryIO:
        """A plain file's bytes; a link or a device is as good as gone, for it is nothing that was written here."""
        path = self.root / checked_name(name)
        flags = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
        strange = Gone(f"{name} in {self.root} is no plain file", "try another copy of the backup")
        if path.is_symlink():  # the flag below says it again where the system knows it, without a gap in time
            raise strange
        try:
            handle = os.fdopen(os.open(path, flags), "rb")
        except FileNotFoundError as error:
            raise Gone(f"{name} is gone from {self.root}", "try another copy of the backup") from error
        except OSError as error:
            raise trouble(error, f"{name} in {self.root} cannot be read", BackupError) from error
        if not stat.S_ISREG(os.fstat(handle.fileno()).st_mode):
            handle.close()
            raise strange
        return _Told(handle, f"{name} in {self.root} cannot be read")  # type: ignore[return-value]

    def begin(self) -> Upload:
        """A temporary file in the folder's tmp/."""
        with self._told("cannot be written"):
            return _FolderUpload(self, new_part(self.root / "tmp"))

    def flush(self) -> None:
        """Syncs all committed files, then names them, then syncs the folders that hold the names."""
        with self._told("cannot be written"):
            self._batch.flush()

    def abandon(self) -> None:
        """Removes the temporary files of committed uploads."""
        self._batch.abandon()

    def sweep(self) -> None:
        """Removes all temporary files."""
        with self._told("cannot be written"):
            for path in (self.root / "tmp").iterdir():
                if is_part(path.name):
                    discard(self._disk, path)

    def remove(self, name: str) -> None:
        """Removes a file."""
        with self._told("cannot be written"):
            path = self.root / checked_name(name)
            self._disk.remove(path)
            if path.parent.is_dir():
                self._disk.sync_folder(path.parent)

    def free_bytes(self) -> int | None:
        """Room on its disk."""
        return free_bytes(self.root)

    def close(self) -> None:
        """Removes the folder for temporary files if it is empty."""
        with contextlib.suppress(OSError):
            self._disk.remove_folder(self.root / "tmp")

    def _walk(self, folder: Path, prefix: str) -> Iterator[StoredFile]:
        try:
            entries = list(os.scandir(folder))
        except FileNotFoundError:
            return
        for entry in entries:
            name = prefix + entry.name
            if not _NAME_RE.match(name) or name.endswith(PART):
                continue
            if entry.is_dir(follow_symlinks=False):
                yield from self._walk(folder / entry.name, name + "/")
            elif entry.is_file(follow_symlinks=False):
                yield StoredFile(name=name, n_bytes=entry.stat(follow_symlinks=False).st_size)

    @contextlib.contextmanager
    def _told(self, what: str) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise trouble(error, f"the destination {self.root} {what}", BackupError) from error


class _FolderUpload:
    def __init__(self, owner: FolderDestination, part: Path) -> None:
        self._owner = owner
        self.part = part
        self.n_bytes = 0
        self._committed = False
        self.handle = owner._disk.create(part)

    def write(self, data: Bytes, /) -> None:
        with self._owner._told("cannot be written"):
            self._owner._disk.write(self.handle, data)
        self.n_bytes += len(data)

    def commit(self, name: str, *, replace: bool = False) -> None:
        target = self._owner.root / checked_name(name)
        self._committed = True
        with self._owner._told("cannot be written"):
            if name.endswith(_OPEN_ENDINGS):
                with contextlib.suppress(OSError):
                    self.part.chmod(_OPEN_MODE)
            self._owner._batch.add(self.handle, self.part, target, self.n_bytes, replace=replace)

    def abort(self) -> None:
        if not self._committed:
            with contextlib.suppress(OSError):
                self.handle.close()
            discard(self._owner._disk, self.part)


class _Told:
    """A readable file whose errors are told as BackupError."""

    def __init__(self, handle: BinaryIO, what: str) -> None:
        self._handle, self._what = handle, what

    def read(self, size: int = -1, /) -> bytes:
        try:
            return self._handle.read(size)
        except OSError as error:
            raise trouble(error, self._what, BackupError) from error

    def readinto(self, buffer: memoryview, /) -> int | None:
        try:
            return self._handle.readinto(buffer)  # type: ignore[attr-defined, no-any-return]
        except OSError as error:
            raise trouble(error, self._what, BackupError) from error

    def close(self) -> None:
        self._handle.close()

    def __enter__(self) -> _Told:
        return self

    def __exit__(self, *at: object) -> None:
        self._handle.close()


def is_name(name: str) -> bool:
    """Whether this can be a name in a destination."""
    return _NAME_RE.match(name) is not None


def checked_name(name: str) -> str:
    """`name`; ValueError if it cannot be one in a destination."""
    if not is_name(name):
        raise ValueError(f"not a name for a destination: {name!r}")
    return name


def _sftp(text: str) -> Destination:
    from vault.safekeeping.remote import RemoteDestination
    from vault.safekeeping.remote_sftp import SftpServer

    return RemoteDestination(SftpServer(text))


def _webdav(text: str) -> Destination:
    from vault.safekeeping.remote import RemoteDestination
    from vault.safekeeping.remote_webdav import WebDavServer

    return RemoteDestination(WebDavServer(text))


def _s3(text: str) -> Destination:
    from vault.safekeeping.remote import RemoteDestination
    from vault.safekeeping.remote_s3 import S3Server

    return RemoteDestination(S3Server(text))


# Word before "://" -> how to open such a destination.  What has no such word is a folder.
KINDS: dict[str, Callable[[str], Destination]] = {"sftp": _sftp, "webdav": _webdav, "webdavs": _webdav, "s3": _s3}
_KIND_RE = re.compile(r"([a-z][a-z0-9+.-]+)://")


def open_destination(text: str) -> Destination:
    """The destination that a person names; nothing is touched yet.  BackupError for a kind that is not known."""
    kind = _KIND_RE.match(text)
    if kind is None:
        return FolderDestination(Path(text))
    if kind[1] not in KINDS:
        raise BackupError(
            f"backups cannot go to {text!r} yet",
            "name a folder (a disk, a stick, a mounted share), or sftp://, webdavs://, s3://",
            code="destination",
        )
    return KINDS[kind[1]](text)
