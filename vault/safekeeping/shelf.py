"""The shelf: kept files under names that people read, `shelf/<designer>/<title>/<file name>`.

For the day when there is no pinfold: the files are there as they were bought.  Hard links where the file system has
them, copies where not.  The shelf is made from the objects and can be made again at any time; `shelf.tsv` remembers
which name belongs to which bytes, so that names stay the same when other files come and go.  Files that the person
put there herself are never touched, objects are only read.

Order of writing: new names on the disk, removal of names no longer wanted, then shelf.tsv.  After a kill the next run
finds its own work and goes on.
"""

from __future__ import annotations

import contextlib
import itertools
import os
import re
import stat
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from vault.safekeeping.disk import Disk, discard, new_part, trouble, write_whole
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.names import folded, legal_file_name, legal_name, numbered
from vault.safekeeping.objects import ObjectStore, digest_of, is_digest
from vault.safekeeping.streams import chunks_of

_FOLDER_CHARS, _FILE_CHARS = 60, 80  # together some 200: the path stays under the 260 of older Windows programs
_NO_DESIGNER, _NO_TITLE, _NO_NAME = "Unknown designer", "Untitled", "file"
_MAX_INDEX = 1 << 28
_NUMBER_RE = re.compile(r" \(([0-9]{1,6})\)(?:\.[A-Za-z0-9]{1,10})?\Z")


@dataclass(frozen=True, kw_only=True)
class ShelfEntry:
    """A file that should stand on the shelf, with what is known of it."""

    sha256: str
    name: str
    designer: str | None = None
    title: str | None = None


@dataclass(frozen=True, kw_only=True)
class ShelfReport:
    """What was done: names in all, new ones, how many of these are copies for want of links, names removed.

    `gone` are digests whose object is not in the vault.
    """

    names: int
    added: int
    copied: int
    removed: int
    gone: tuple[str, ...]


def rebuild_shelf(folder: VaultFolder, entries: Iterable[ShelfEntry]) -> ShelfReport:
    """Makes the shelf show exactly `entries`.  Under the vault's lock.  Raises StoreError."""
    try:
        return _Shelf(folder).rebuild(entries)
    except OSError as error:
        raise trouble(error, f"the shelf in {folder.shelf_path} cannot be written") from error


def places(folder: VaultFolder) -> dict[str, str]:
    """Digest -> place on the shelf, with forward slashes, as shelf.tsv says.  Lines that are not legal are left out."""
    try:
        with folder.shelf_index_path.open("rb") as handle:
            raw = handle.read(_MAX_INDEX)
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise trouble(error, f"{folder.shelf_index_path} cannot be read") from error
    found: dict[str, str] = {}
    for line in raw.decode("utf-8", "replace").splitlines():
        sha256, _, place = line.partition("\t")
        if is_digest(sha256) and is_place(place):
            found[sha256] = place
    return found


def place_of(folder: VaultFolder, sha256: str) -> Path | None:
    """Where a file stands on the shelf; None if it does not."""
    place = places(folder).get(sha256)
    path = folder.shelf_path / place if place else None
    return path if path and path.is_file() else None


def write_places(folder: VaultFolder, known: Mapping[str, str]) -> None:
    """Remembers places; those that are not legal are left out (they may come from a stranger's backup)."""
    lines = sorted(f"{sha256}\t{place}\n" for sha256, place in known.items() if is_digest(sha256) and is_place(place))
    write_whole(folder.disk, folder.shelf_index_path, ["".join(lines).encode()])


def is_place(place: str) -> bool:
    """Whether `place` is one that this module makes: designer/title/file name, each legal everywhere."""
    parts = place.split("/")
    return len(parts) == 3 and all(
        part and part == legal_name(part, fallback="", max_chars=_FILE_CHARS + 20) for part in parts
    )


def wanted_place(entry: ShelfEntry) -> str:
    """The place an entry would have if it were alone."""
    designer = legal_name(entry.designer or "", fallback=_NO_DESIGNER, max_chars=_FOLDER_CHARS)
    name = legal_file_name(entry.name, fallback=_NO_NAME, max_chars=_FILE_CHARS)
    title = legal_name(entry.title or "", fallback=_NO_TITLE, max_chars=_FOLDER_CHARS)
    return f"{designer}/{title}/{name}"


class _Shelf:
    def __init__(self, folder: VaultFolder) -> None:
        self._folder = folder
        self._disk: Disk = folder.disk
        self._store = ObjectStore(folder)
        self._old = places(folder)
        self._taken: dict[str, str] = {}  # folded place -> digest
        self._spelled: dict[str, str] = {}  # folded folder -> its spelling

    def rebuild(self, entries: Iterable[ShelfEntry]) -> ShelfReport:
        wanted: dict[str, str] = {}
        gone: list[str] = []
        for entry in sorted(entries, key=lambda e: (e.sha256, wanted_place(e))):
            if not self._store.has(entry.sha256):
                gone.append(entry.sha256)
            else:
                wanted.setdefault(entry.sha256, wanted_place(entry))
        assigned = self._assign(wanted)
        self._folder.create()
        added = copied = 0
        for sha256, place in assigned.items():
            made = self._put(sha256, self._folder.shelf_path / place)
            added += made is not None
            copied += made == "copy"
        removed = sum(
            self._remove(sha256, place) for sha256, place in self._old.items() if assigned.get(sha256) != place
        )
        if assigned != self._old:
            write_places(self._folder, assigned)
        return ShelfReport(
            names=len(assigned), added=added, copied=copied, removed=removed, gone=tuple(dict.fromkeys(gone))
        )

    def _assign(self, wanted: Mapping[str, str]) -> dict[str, str]:
        """Digest -> place.  A place that still fits stays; new ones are given in the order of their names."""
        assigned: dict[str, str] = {}
        for sha256, place in sorted(self._old.items(), key=lambda item: item[1]):
            if sha256 in wanted and _fits(place, wanted[sha256]) and self._take(sha256, place):
                assigned[sha256] = place
        for sha256, place in sorted(wanted.items(), key=lambda item: (item[1], item[0])):
            if sha256 not in assigned:
                assigned[sha256] = self._free_place(sha256, self._as_spelled(place))
        return dict(sorted(assigned.items()))

    def _take(self, sha256: str, place: str) -> bool:
        if self._taken.setdefault(folded(place), sha256) != sha256:
            return False
        self._as_spelled(place)
        return True

    def _as_spelled(self, place: str) -> str:
        """The place with its folders spelled as they are already: `LARK` and `Lark` are one folder on many disks."""
        designer, title, name = place.split("/")
        designer = self._spelled.setdefault(folded(designer), designer)
        title = self._spelled.setdefault(folded(f"{designer}/{title}"), title)
        return f"{designer}/{title}/{name}"

    def _free_place(self, sha256: str, place: str) -> str:
        parent, _, name = place.rpartition("/")
        for candidate in (f"{parent}/{numbered(name, n)}" for n in itertools.count(1)):
            path = self._folder.shelf_path / candidate
            if folded(candidate) in self._taken or (os.path.lexists(path) and not self._is_ours(sha256, path)):
                continue
            self._take(sha256, candidate)
            return candidate
        raise AssertionError("numbers do not end")

    def _is_ours(self, sha256: str, path: Path) -> bool:
        """Whether `path` is a link to the object, or a copy of it (told by length and time, else by its bytes)."""
        try:
            there = path.lstat()
            if not stat.S_ISREG(there.st_mode):
                return False
            with contextlib.suppress(OSError):
                held = self._store.path_of(sha256).stat()
                if (there.st_ino, there.st_dev) == (held.st_ino, held.st_dev):
                    return True
                if there.st_size != held.st_size:
                    return False
                if there.st_mtime_ns // 2_000_000_000 == held.st_mtime_ns // 2_000_000_000:  # FAT counts two seconds
                    return True
            with path.open("rb") as handle:
                return digest_of(handle)[0] == sha256
        except OSError:
            return False

    def _put(self, sha256: str, path: Path) -> str | None:
        """Gives the object the name `path`: "link", "copy", or None if it had it already."""
        if os.path.lexists(path):
            if self._is_ours(sha256, path):
                return None
            self._keep_aside(path)
        self._disk.make_folder(path.parent)
        held = self._store.path_of(sha256)
        try:
            self._disk.link(held, path)
            return "link"
        except FileExistsError:
            raise
        except OSError:  # no links on this file system, or too many of this file
            self._copy(held, path)
            return "copy"

    def _copy(self, held: Path, path: Path) -> None:
        part = new_part(self._folder.tmp_path)
        try:
            with held.open("rb") as source, self._disk.create(part) as target:
                for chunk in chunks_of(source):
                    self._disk.write(target, chunk)
                self._disk.sync(target)
            times = held.stat()
            with contextlib.suppress(OSError):  # not every file system lets times be set
                os.utime(part, ns=(times.st_mtime_ns, times.st_mtime_ns))
            self._disk.set_read_only(part)
            self._disk.rename(part, path)
        except BaseException:
            discard(self._disk, part)
            raise

    def _keep_aside(self, path: Path) -> None:
        """Something else took the name since: it is the person's, so it gets another one beside."""
        for number in itertools.count(1):
            aside = path.with_name(numbered(path.name, number + 1))
            if not os.path.lexists(aside) and folded(aside.name) not in self._taken:
                path.rename(aside)
                return

    def _remove(self, sha256: str, place: str) -> bool:
        """Takes a name away, if it is still ours and not the last one for these bytes."""
        path = self._folder.shelf_path / place
        if folded(place) in self._taken and path.exists() and self._is_ours(self._taken[folded(place)], path):
            return False
        if not self._store.has(sha256) or not self._is_ours(sha256, path):
            return False
        self._disk.remove(path)
        for above in (path.parent, path.parent.parent):
            with contextlib.suppress(OSError):  # not empty
                self._disk.remove_folder(above)
        return True


def _fits(place: str, wanted: str) -> bool:
    """Whether an old place is the wanted one, or the wanted one with a number."""
    if folded(place.rpartition("/")[0]) != folded(wanted.rpartition("/")[0]):
        return False
    old, new = place.rpartition("/")[2], wanted.rpartition("/")[2]
    if folded(old) == folded(new):
        return True
    number = _NUMBER_RE.search(old)
    return number is not None and folded(numbered(new, int(number[1]))) == folded(old)
