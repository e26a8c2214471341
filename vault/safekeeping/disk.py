"""The lowest layer: every change to a disk goes through one small object.

Each method is one step that a disk can refuse (create, write, sync, rename ...).  Callers put them in order; tests
hand in a `Disk` that fails at the n-th step and then look at what is left.  Three rules hold everywhere above it:

* new bytes go into a temporary file in the same file system, are synced, and only then get their name;
* a name is given by one rename, after which the folder is synced;
* what fails is told as a `VaultError` made by `trouble`, with the path and what the person can do.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
import shutil
import stat
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, BinaryIO

from vault.errors import StoreError, VaultError

CHUNK = 1 << 18  # bytes read or written at a time
PART = ".part"  # every temporary file ends so, in the vault and in a folder destination
_PART_RE = re.compile(r"[0-9]+-[0-9a-f]{16}\.part\Z")
_WINDOWS = os.name == "nt"
# A folder cannot be synced on some network and FAT file systems; the rename is then as durable as they make it.
_NO_FOLDER_SYNC = {errno.EINVAL, errno.ENOTSUP, errno.EBADF, errno.EACCES, errno.EISDIR}

_NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.ENOSYS, errno.EMLINK, errno.EXDEV, errno.EINVAL, errno.EACCES}


class Disk:
    """The real disk.  All methods raise OSError.

    `syncs` is how many files may be synced at a time: a journalling file system settles those together, which for many
    small files is some ten times as fast as one after the other.
    """

    syncs = 32

    def create(self, path: Path, *, mode: int = 0o600) -> BinaryIO:
        """A new file, open for writing without a buffer; raises FileExistsError where the name is taken."""
        flags = os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_BINARY", 0)
        return os.fdopen(os.open(path, flags, mode), "wb", buffering=0)

    def write_some(self, handle: BinaryIO, data: memoryview) -> int:
        """Writes a part of `data`; the number of bytes written."""
        return handle.write(data)

    def write(self, handle: BinaryIO, data: bytes | bytearray | memoryview) -> None:
        """Writes the whole of `data`: a disk may take less than it is offered."""
        rest = memoryview(data)
        while rest:
            done = self.write_some(handle, rest)
            if not done:
                raise OSError(errno.EIO, "the disk took no bytes")
            rest = rest[done:]

    def sync(self, handle: BinaryIO) -> None:
        """Returns when the bytes of the file have reached the disk itself."""
        if sys.platform == "darwin":
            import fcntl

            try:  # fsync alone leaves the bytes in the drive's own memory
                fcntl.fcntl(handle.fileno(), fcntl.F_FULLFSYNC)
                return
            except OSError:
                pass
        os.fsync(handle.fileno())

    def rename(self, source: Path, target: Path) -> None:
        """Gives `source` the name `target` in one step, in place of what stood there."""
        _patiently(lambda: source.replace(target), target)

    def sync_folder(self, folder: Path) -> None:
        """Returns when the names in `folder` have reached the disk (no such step on Windows)."""
        if _WINDOWS:
            return
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        except OSError as error:
            if error.errno not in _NO_FOLDER_SYNC:
                raise
        finally:
            os.close(handle)

    def make_folder(self, folder: Path, *, mode: int = 0o700) -> None:
        """Makes `folder` and those above it, private to the person by default; each new name is synced."""
        if folder.is_dir():
            return
        self.make_folder(folder.parent, mode=mode)
        with contextlib.suppress(FileExistsError):
            folder.mkdir(mode=mode)
        self.sync_folder(folder.parent)

    def link(self, source: Path, target: Path) -> None:
        """A second name for the same bytes; raises OSError where the file system has none."""
        os.link(source, target)

    def remove(self, path: Path) -> None:
        """Removes a file, read-only or not; nothing if it is gone."""
        with contextlib.suppress(FileNotFoundError):
            _patiently(path.unlink, path)

    def remove_folder(self, folder: Path) -> None:
        """Removes an empty folder."""
        folder.rmdir()

    def set_read_only(self, path: Path) -> None:
        """Takes away the right to write; file systems without rights are left as they are."""
        with contextlib.suppress(OSError, NotImplementedError):
            path.chmod(0o444)


DISK = Disk()


def _patiently(step: Callable[[], object], path: Path) -> None:
    """Windows refuses to touch read-only files and those that a virus scanner just reads: unlock, wait, try again."""
    for wait in (0.0, 0.05, 0.2, 0.8, 2.0):
        try:
            step()
            return
        except PermissionError:
            if not _WINDOWS:
                raise
            with contextlib.suppress(OSError):
                path.chmod(stat.S_IWRITE | stat.S_IREAD)
            time.sleep(wait)
    step()


def new_part(folder: Path) -> Path:
    """An unused name for a temporary file in `folder`."""
    return folder / f"{os.getpid()}-{secrets.token_hex(8)}{PART}"


def is_part(name: str) -> bool:
    """Whether `name` is one that `new_part` gives, and so no file of a person's (browsers also write `x.part`)."""
    return bool(_PART_RE.match(name))


def write_whole(disk: Disk, target: Path, chunks: Iterable[bytes]) -> None:
    """Writes `target` whole or not at all, in place of what stood there; durable on return.  Raises OSError."""
    disk.make_folder(target.parent)
    part = new_part(target.parent)
    try:
        with disk.create(part) as handle:
            for chunk in chunks:
                disk.write(handle, chunk)
            disk.sync(handle)
        disk.rename(part, target)
    except BaseException:
        discard(disk, part)
        raise
    disk.sync_folder(target.parent)


def discard(disk: Disk, path: Path) -> None:
    """Removes a temporary file as well as can be done; what stays is swept by a later run."""
    with contextlib.suppress(OSError):
        disk.remove(path)


def remove_tree(folder: Path) -> None:
    """Removes a scratch folder with all that is in it, read-only or not, as well as can be done."""
    if _WINDOWS:  # which does not remove read-only files
        for path in folder.rglob("*"):
            with contextlib.suppress(OSError):
                path.chmod(stat.S_IWRITE | stat.S_IREAD)
    shutil.rmtree(folder, ignore_errors=True)


class Batch:
    """Files that are synced and named together, which disks do much faster than one by one.

    After `flush` every file added before stands durably under its name; before it each name is whole or absent.
    All methods raise OSError, `flush` also FileExistsError for a name that is taken and not to be replaced.
    """

    _FILES, _BYTES = 128, 128 << 20  # so many stay open until they are flushed; some systems allow 256 in all

    def __init__(self, disk: Disk, *, folder_mode: int = 0o700) -> None:
        self._disk = disk
        self._folder_mode = folder_mode
        self._files: list[tuple[BinaryIO, Path, Path, bool]] = []
        self._folders: set[Path] = set()
        self._n_bytes = 0

    def add(self, handle: BinaryIO, part: Path, target: Path, n_bytes: int, *, replace: bool = True) -> None:
        """Takes over an open temporary file that is to become `target`."""
        self._files.append((handle, part, target, replace))
        self._n_bytes += n_bytes
        if len(self._files) >= self._FILES or self._n_bytes >= self._BYTES:
            self._name()

    def flush(self) -> None:
        """Syncs the files, names them, syncs the folders of the names.  After an error the rest is discarded."""
        self._name()
        folders, self._folders = self._folders, set()
        self._each(self._disk.sync_folder, sorted(folders))

    def _name(self) -> None:
        """Syncs the files and names them; their folders are synced at the next flush, many files at once."""
        files, self._files, self._n_bytes = self._files, [], 0
        try:
            self._each(self._disk.sync, [handle for handle, _, _, _ in files])
            for handle, _, _, _ in files:
                handle.close()
            for _, part, target, replace in files:
                self._disk.make_folder(target.parent, mode=self._folder_mode)
                self._folders.add(target.parent)
                if replace:
                    self._disk.rename(part, target)
                else:
                    self._name_if_free(part, target)
        finally:
            for handle, part, _, _ in files:
                with contextlib.suppress(OSError):
                    handle.close()
                if part.exists():
                    discard(self._disk, part)

    def _each(self, step: Callable[[Any], object], things: Sequence[Any]) -> None:
        """One step for each thing, some at a time; the first error is raised when all have ended."""
        if self._disk.syncs <= 1 or len(things) <= 1:
            for thing in things:
                step(thing)
            return
        with ThreadPoolExecutor(min(self._disk.syncs, len(things)), thread_name_prefix="sync") as pool:
            for _ in pool.map(step, things):
                pass

    def _name_if_free(self, part: Path, target: Path) -> None:
        """A link fails where the name is taken, in one step; without links there is a moment between look and name."""
        try:
            self._disk.link(part, target)
        except FileExistsError:
            raise
        except OSError as error:
            if error.errno not in _NO_LINKS:
                raise
            if target.exists():
                raise FileExistsError(errno.EEXIST, "the name is taken", str(target)) from error
            self._disk.rename(part, target)

    def abandon(self) -> None:
        """Discards what was added and not flushed."""
        files, self._files, self._n_bytes = self._files, [], 0
        for handle, part, _, _ in files:
            with contextlib.suppress(OSError):
                handle.close()
            discard(self._disk, part)


def free_bytes(folder: Path) -> int | None:
    """Bytes that can still be written where `folder` is or would be; None if the system does not say."""
    for place in (folder, *folder.parents):
        if place.is_dir():
            try:
                return shutil.disk_usage(place).free
            except OSError:
                return None
    return None


# What a disk says, in words, and what can be done: errno -> (code, words, next step).
_TROUBLES: dict[int, tuple[str, str, str]] = {
    errno.ENOSPC: ("full", "there is no room left", "make room there and run the same command again"),
    errno.EDQUOT: ("full", "your share of the disk is used up", "make room there and run the same command again"),
    errno.EFBIG: ("too-large", "it takes no file of this size", "use a disk that is not formatted as FAT"),
    errno.EROFS: ("read-only", "the disk is read-only", "release its write protection or choose another place"),
    errno.EACCES: ("read-only", "it may not be written or read", "check who may write there or choose another place"),
    errno.EPERM: ("read-only", "it may not be written or read", "check who may write there or choose another place"),
    errno.ENOENT: ("missing", "it does not exist", "check the path; is the disk or stick plugged in?"),
    errno.ENOTDIR: ("not-a-folder", "a part of the path is not a folder", "check the path"),
    errno.EEXIST: ("exists", "the name is taken already", "run the same command again"),
    errno.ENAMETOOLONG: ("name-too-long", "the name is too long for this disk", "choose a place with a shorter path"),
    errno.EIO: ("disk-error", "the disk reports an error", "the disk may be failing: copy what you can, use another"),
}


def trouble(error: OSError, what: str, family: type[VaultError] = StoreError) -> VaultError:
    """`error` as an expected error of `family`: `what` says what was tried with which path."""
    code, words, step = _TROUBLES.get(error.errno or 0, ("disk", "", "check the disk and run the same command again"))
    words = words or (error.strerror or str(error) or type(error).__name__)
    return family(f"{what}: {words}", step, code=code)
