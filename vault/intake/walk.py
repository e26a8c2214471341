"""Folders walked in a stable order, and what in them is no file to read.

Order: entries of a folder by the bytes of their names, folders gone into where they stand; the same tree gives the
same order on every run.  What was named by the person is followed through links; inside folders links, devices, pipes
and sockets are passed over, so no tree can lead out of itself or into a circle.  What cannot be opened costs only
itself.  Nothing is opened here: only names and `stat`.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from vault.intake.names import ending, shown
from vault.model.evidence import Problem


@dataclass(frozen=True, kw_only=True)
class FoundFile:
    """A plain file at `place`.  `beside` are the names in its folder in lower case, none for a file named alone.

    `changed`: it is known to be new or written anew, so that its bytes are looked at even where size and time are as
    they were.  `inode` and `ctime_ns` tell one state of the file from another, where the system gives them (else 0).
    """

    place: str
    n_bytes: int
    mtime_ns: int
    ctime_ns: int = 0
    inode: int = 0
    beside: frozenset[str] = frozenset()
    changed: bool = False

    @cached_property
    def path(self) -> Path:
        """The place as a path; made when it is asked for, since most files of an import are as they were."""
        return Path(self.place)


@dataclass(frozen=True, kw_only=True)
class PassedBy:
    """Something in a folder that is no file to read, and why: words that fit behind a number."""

    path: Path
    reason: str


Walked = FoundFile | PassedBy | Problem

UNFINISHED = "downloads that are not finished"
LINKS = "links"
SPECIAL = "devices, pipes and sockets"
VAULT = "Pinfold's own folders"
ELSEWHERE = "cloud files that are not on this disk"
GONE = "files that went away meanwhile"

# Names that browsers give to what they have not finished (check: Downloads folders of the common browsers).
_UNFINISHED = (".crdownload", ".opdownload", ".partial", ".part", ".download", ".tmp")
# Marks of a placeholder whose bytes are elsewhere: reading it would fetch them (Windows: OFFLINE, RECALL_ON_OPEN,
# RECALL_ON_DATA_ACCESS of the file attribute constants; macOS: SF_DATALESS of sys/stat.h).
_WINDOWS_ELSEWHERE = 0x1000 | 0x40000 | 0x400000
_MACOS_ELSEWHERE = 0x40000000

# What systems lay into folders for themselves; nobody wants to read of it.
_NOISE = frozenset([".ds_store", "thumbs.db", "desktop.ini", ".directory", ".localized", "icon\r", ".nomedia"])
_OF_A_VAULT = frozenset(["catalogue.sqlite", "objects"])


@dataclass
class _Walk:
    own: Path | None
    seen: set[tuple[int, int]] = field(default_factory=set)


def walk(paths: Sequence[Path], *, own: Path | None = None) -> Iterator[Walked]:
    """Everything below `paths`, in stable order.  `own` is the vault's folder, which is not gone into."""
    state = _Walk(own=own)
    for path in paths:
        yield from _named(path, state)


def _named(path: Path, state: _Walk) -> Iterator[Walked]:
    """Something that the person named herself: links are followed, the name is not judged."""
    try:
        found = path.stat()
    except (OSError, ValueError) as error:
        yield _problem(path, error)
        return
    if stat.S_ISDIR(found.st_mode):
        yield from _folder(path, state)
    elif stat.S_ISREG(found.st_mode):
        yield FoundFile(place=str(path), n_bytes=found.st_size, mtime_ns=found.st_mtime_ns)
    else:
        yield Problem(source=shown(path), reason="it is a device, a pipe or a socket, not a file", next="name a file")


def _folder(top: Path, state: _Walk) -> Iterator[Walked]:
    """A folder and all below it, with a stack of its own: depth is bounded by the file system, not by Python's."""
    stack: list[Iterator[Walked | Path]] = [iter([top])]
    while stack:
        step = next(stack[-1], None)
        if step is None:
            stack.pop()
        elif isinstance(step, Path):
            stack.append(_entries(step, state))
        else:
            yield step


def _entries(folder: Path, state: _Walk) -> Iterator[Walked | Path]:
    """The entries of one folder: files and remarks as they are, folders as paths."""
    try:
        place = folder.stat()
        # Two names of one folder (bind mounts, junctions) are gone into once; Windows may give no number.
        if place.st_ino and (place.st_dev, place.st_ino) in state.seen:
            return
        state.seen.add((place.st_dev, place.st_ino))
        if state.own is not None and _same_folder(folder, state.own):
            yield PassedBy(path=folder, reason=VAULT)
            return
        with os.scandir(folder) as scan:
            entries = sorted(scan, key=lambda e: os.fsencode(e.name))
    except OSError as error:
        yield _problem(folder, error)
        return
    beside = frozenset(e.name.lower() for e in entries)
    waiting = _promised(beside)
    if beside >= _OF_A_VAULT:  # another vault, or a copy of one
        yield PassedBy(path=folder, reason=VAULT)
        return
    maildir = {"cur", "new", "tmp"} <= beside
    for entry in entries:
        # Maildir: what lies in tmp is still being delivered.
        if is_noise(entry.name) or (maildir and entry.name == "tmp"):
            continue
        yield _entry(entry, beside, waiting)


def _entry(entry: os.DirEntry[str], beside: frozenset[str], waiting: Sequence[tuple[str, str]]) -> Walked | Path:
    try:
        if entry.is_symlink() or _is_junction(entry.path):
            return PassedBy(path=Path(entry.path), reason=LINKS)
        if is_unfinished(entry.name):
            return PassedBy(path=Path(entry.path), reason=UNFINISHED)
        if entry.is_file(follow_symlinks=False):
            return _file(entry.path, entry.name, entry.stat(follow_symlinks=False), beside, waiting)
        if entry.is_dir(follow_symlinks=False):
            return Path(entry.path)
        return PassedBy(path=Path(entry.path), reason=SPECIAL)
    except OSError as error:
        return _problem(Path(entry.path), error)


def _file(
    place: str, name: str, found: os.stat_result, beside: frozenset[str], waiting: Sequence[tuple[str, str]]
) -> FoundFile | PassedBy:
    """A plain file, or why it is none to read."""
    if found.st_size == 0 and _is_promised(name.lower(), waiting):
        return PassedBy(path=Path(place), reason=UNFINISHED)
    if is_elsewhere(found):
        return PassedBy(path=Path(place), reason=ELSEWHERE)
    # Windows tells another inode from a listing than from the file, and the time of making as ctime.
    inode, ctime_ns = (0, 0) if os.name == "nt" else (found.st_ino, found.st_ctime_ns)
    return FoundFile(
        place=place,
        n_bytes=found.st_size,
        mtime_ns=found.st_mtime_ns,
        ctime_ns=ctime_ns,
        inode=inode,
        beside=beside,
    )


def look(path: Path, found: os.stat_result, beside: frozenset[str]) -> FoundFile | PassedBy | None:
    """One path judged as `walk` judges it, for whoever knows where something has changed.

    `found` is what `lstat` says of it, `beside` the names in its folder in lower case.  None: nothing to read there (a
    folder, a thing of the system's).
    """
    if is_noise(path.name) or stat.S_ISDIR(found.st_mode):
        return None
    if stat.S_ISLNK(found.st_mode):
        return PassedBy(path=path, reason=LINKS)
    if is_unfinished(path.name):
        return PassedBy(path=path, reason=UNFINISHED)
    if not stat.S_ISREG(found.st_mode):
        return PassedBy(path=path, reason=SPECIAL)
    return _file(str(path), path.name, found, beside, _promised(beside))


def is_noise(name: str) -> bool:
    """Whether a name is one that systems lay into folders for themselves."""
    return name.lower() in _NOISE or name.startswith("._")


def is_unfinished(name: str) -> bool:
    """Whether a name says that a program is still at it."""
    return name.lower().endswith(_UNFINISHED)


def _promised(beside: frozenset[str]) -> tuple[tuple[str, str], ...]:
    """(beginning, ending) of the names that files ending in .part will have: an empty file holds the place meanwhile.

    `x.pdf.part` is for `x.pdf`; so is `x.Aa9Zz.pdf.part`, where letters by chance stand before the ending.
    """
    names = (n.removesuffix(".part") for n in beside if n.endswith(".part"))
    return tuple((n.removesuffix(ending(n)), ending(n)) for n in names)


def _is_promised(name: str, waiting: Sequence[tuple[str, str]]) -> bool:
    stem, end = name.removesuffix(ending(name)), ending(name)
    return any(end == e and (stem == s or s.startswith(stem + ".")) for s, e in waiting)


def is_elsewhere(found: os.stat_result) -> bool:
    """Whether a file is only a placeholder of a cloud drive."""
    windows, macos = getattr(found, "st_file_attributes", 0), getattr(found, "st_flags", 0)
    return bool(windows & _WINDOWS_ELSEWHERE or macos & _MACOS_ELSEWHERE)


_JUNCTION = getattr(os.path, "isjunction", None) if os.name == "nt" else None  # Python 3.12


def _is_junction(path: str) -> bool:
    return _JUNCTION is not None and bool(_JUNCTION(path))


def _same_folder(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False


# What the system says of a name that cannot be opened, in plain words with the next step.
_TROUBLE: tuple[tuple[type[BaseException], str, str], ...] = (
    (FileNotFoundError, "there is no such file or folder", "check the name"),
    (PermissionError, "it may not be read", "give yourself the right to read it, then import it again"),
    (NotADirectoryError, "a part of the path is no folder", "check the name"),
)


def trouble_words(error: BaseException) -> tuple[str, str]:
    """Reason and next step for an error of the file system."""
    for kind, reason, next_step in _TROUBLE:
        if isinstance(error, kind):
            return reason, next_step
    words = getattr(error, "strerror", None) or str(error)
    return f"it cannot be read: {words}", "see whether the disk is connected and whole, then import it again"


def _problem(path: Path, error: BaseException) -> Problem:
    reason, next_step = trouble_words(error)
    return Problem(source=shown(path), reason=reason, next=next_step)
