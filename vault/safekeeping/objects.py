"""The content store: every kept byte string once, under the SHA-256 of its bytes (FIPS 180-4).

Order of writing: temporary file inside the vault, sync, read-only, rename, sync of the folder; the caller writes
its rows only then.  A kill at any instant leaves at worst a temporary file (swept by `sweep_temporary`) or an object
with no row (the caller finds it in `digests` and adopts it after `intact`).  Nothing is ever changed in place.

Keeping what is already held compares the bytes, so that an original that still lies in a folder heals a rotten
object by being imported again.
"""

from __future__ import annotations

import errno
import hashlib
import io
import re
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from vault.errors import UnreadableError
from vault.safekeeping.disk import CHUNK, PART, discard, is_part, remove_tree, trouble
from vault.safekeeping.folder import VaultFolder

_STALE_SECONDS = 24 * 3600
_DIGEST_RE = re.compile(r"[0-9a-f]{64}\Z")


def is_digest(text: str) -> bool:
    """Whether `text` is a SHA-256 digest as the store writes it: 64 lower-case hexadecimal digits."""
    return bool(_DIGEST_RE.match(text))


def digest_of(source: BinaryIO) -> tuple[str, int]:
    """SHA-256 and number of bytes of a stream, read to its end in constant memory."""
    digest, n_bytes = hashlib.sha256(), 0
    while chunk := source.read(CHUNK):
        digest.update(chunk)
        n_bytes += len(chunk)
    return digest.hexdigest(), n_bytes


class ObjectStore:
    """The objects of one vault.  Writing needs the vault's lock; reading never waits."""

    def __init__(self, folder: VaultFolder) -> None:
        self.folder = folder
        self._disk = folder.disk

    def keep(self, content: bytes) -> str:
        """Keeps `content`; its digest.  Durable on return.  Raises StoreError."""
        return self.keep_stream(io.BytesIO(content))[0]

    def keep_file(self, path: Path) -> tuple[str, int]:
        """Keeps a copy of a file; digest and number of bytes of what was copied.  The file is only read.

        Raises UnreadableError for the file, StoreError for the vault.
        """
        try:
            if not path.is_file():  # opening a pipe would wait for ever
                raise FileNotFoundError(errno.ENOENT, "no such file", str(path))
            with path.open("rb") as source:
                return self.keep_stream(source)
        except OSError as error:
            raise trouble(error, f"{path} cannot be read", UnreadableError) from error

    def keep_stream(self, source: BinaryIO) -> tuple[str, int]:
        """Keeps what a seekable stream holds; digest and number of bytes.  Raises StoreError; OSError is the source's.

        The stream is read twice where that saves writing: first its digest, then, if it is new, the copy.  The name
        is taken from the bytes that were copied, so a file that grows meanwhile does no harm.
        """
        sha256, n_bytes = digest_of(source)
        source.seek(0)
        if self._same(sha256, source):
            return sha256, n_bytes
        source.seek(0)
        return self._write(source)

    def has(self, sha256: str) -> bool:
        """Whether there is an object of that digest (its bytes are not looked at)."""
        return self.path_of(sha256).is_file()

    def path_of(self, sha256: str) -> Path:
        """Where the object lies or would lie.  Raises ValueError for what is no digest."""
        if not is_digest(sha256):
            raise ValueError(f"not a SHA-256 digest: {sha256!r}")
        return self.folder.objects_path / sha256[:2] / sha256

    def open(self, sha256: str) -> BinaryIO:
        """The object's bytes; StoreError if it is gone or cannot be read."""
        try:
            return self.path_of(sha256).open("rb")
        except OSError as error:
            raise trouble(error, f"the kept object {sha256} cannot be read") from error

    def size_of(self, sha256: str) -> int:
        """Number of bytes on the disk; StoreError if it is gone."""
        try:
            return self.path_of(sha256).stat().st_size
        except OSError as error:
            raise trouble(error, f"the kept object {sha256} cannot be read") from error

    def intact(self, sha256: str) -> bool:
        """Whether the object is there, a plain file, and its bytes give its name.  Reads it whole."""
        path = self.path_of(sha256)
        try:
            if not stat.S_ISREG(path.lstat().st_mode):
                return False
            with path.open("rb") as source:
                return digest_of(source)[0] == sha256
        except OSError:
            return False

    def digests(self) -> Iterator[str]:
        """Digests of all objects, sorted, by their names alone.  Raises StoreError."""
        if not self.folder.objects_path.is_dir():
            return
        try:
            for sub in sorted(self.folder.objects_path.iterdir()):
                if len(sub.name) == 2 and sub.is_dir():
                    names = [p.name for p in sub.iterdir()]
                    yield from sorted(n for n in names if is_digest(n) and n.startswith(sub.name))
        except OSError as error:
            raise trouble(error, f"the objects in {self.folder.objects_path} cannot be read") from error

    def forget(self, sha256: str) -> None:
        """Removes an object (deaccession); nothing if it is gone.  The caller has removed its rows before."""
        path = self.path_of(sha256)
        try:
            self._disk.remove(path)
            if path.parent.is_dir():
                self._disk.sync_folder(path.parent)
        except OSError as error:
            raise trouble(error, f"the object {sha256} cannot be removed") from error

    def sweep_temporary(self) -> int:
        """Removes what killed runs left in tmp/ and beside the settings; how many.  Only under the vault's lock.

        Folders in tmp/ are scratch of commands that take no lock: they go when they are a day old.
        """
        folders = [f for f in (self.folder.tmp_path, self.folder.root) if f.is_dir()]
        left = [p for f in folders for p in f.iterdir() if is_part(p.name) or (p.suffix == PART and f.name == "tmp")]
        for path in left:
            discard(self._disk, path)
        before = time.time() - _STALE_SECONDS
        for path in self.folder.tmp_path.iterdir() if self.folder.tmp_path.is_dir() else ():
            if path.is_dir() and not path.is_symlink() and path.stat().st_mtime < before:
                remove_tree(path)
        return len(left)

    def _same(self, sha256: str, source: BinaryIO) -> bool:
        path = self.path_of(sha256)
        try:
            if not stat.S_ISREG(path.lstat().st_mode):
                return False
            with path.open("rb") as held:
                while chunk := source.read(CHUNK):
                    if held.read(len(chunk)) != chunk:
                        return False
                return not held.read(1)
        except OSError:  # gone or unreadable: it is written anew, and a disk that fails will say so then
            return False

    def _write(self, source: BinaryIO) -> tuple[str, int]:
        self.folder.create()
        part = self.folder.tmp_file()
        digest, n_bytes = hashlib.sha256(), 0
        try:
            with self._writing():
                handle = self._disk.create(part)
            with handle:
                while chunk := source.read(CHUNK):
                    digest.update(chunk)
                    n_bytes += len(chunk)
                    with self._writing():
                        self._disk.write(handle, chunk)
                with self._writing():
                    self._disk.sync(handle)
            with self._writing():
                self._place(part, digest.hexdigest())
        except BaseException:
            discard(self._disk, part)
            raise
        return digest.hexdigest(), n_bytes

    def _place(self, part: Path, sha256: str) -> None:
        target = self.path_of(sha256)
        self._disk.make_folder(target.parent)
        self._disk.set_read_only(part)
        self._disk.rename(part, target)
        self._disk.sync_folder(target.parent)

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """Trouble inside is the vault's, not that of the stream which is read."""
        try:
            yield
        except OSError as error:
            raise trouble(error, f"the vault in {self.folder.root} cannot be written") from error
