"""Hands a vault, or a part of it, over to whoever comes after: as a BagIt bag that needs no program to be used.

The bag is built beside the target, checked by the checker that shares nothing with the builder, and only then gets its
name.  An object whose bytes are no longer what was kept is left out and named, never passed on as if it were whole.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from vault.errors import StoreError, UsageError
from vault.safekeeping.disk import DISK, free_bytes, remove_tree, trouble
from vault.safekeeping.folder import VaultFolder, strangers
from vault.safekeeping.layout import Damage
from vault.safekeeping.names import folded, legal_file_name, legal_name, numbered
from vault.safekeeping.objects import ObjectStore

Progress = Callable[[int, int], None]  # files done, files in all
# What is said of the files that could not be put in: digest -> reason.
Lacking = Mapping[str, str]
READ_ME = "READ-ME-FIRST.txt"
_FOLDER_CHARS, _FILE_CHARS = 60, 80
_SPARE = 16 << 20


@dataclass(frozen=True, kw_only=True)
class HandoverFile:
    """A kept object and where it should lie in the bag: folders and a file name, as people would write them."""

    sha256: str
    folders: tuple[str, ...]
    name: str


@dataclass(frozen=True, kw_only=True)
class HandoverReport:
    """What was handed over.  `damaged` and `gone` were left out; `warnings` are of the bag's checker."""

    bag: Path
    files: int
    n_bytes: int
    damaged: tuple[Damage, ...]
    gone: tuple[Damage, ...]
    warnings: tuple[str, ...]
    seconds: float

    @property
    def ok(self) -> bool:
        """Whether everything that was wanted is in it."""
        return not self.damaged and not self.gone


def arrange(files: Iterable[HandoverFile]) -> dict[str, str]:
    """Digest -> path in the payload: legal on every system, no two alike but for case; each digest once, first wins."""
    places: dict[str, str] = {}
    taken: set[str] = set()
    spelled: dict[str, str] = {}
    for file in files:
        if file.sha256 in places:
            continue
        parts = [_plain(legal_name(part, fallback="unnamed", max_chars=_FOLDER_CHARS)) for part in file.folders]
        parent = ""
        for part in parts:
            parent = spelled.setdefault(folded(f"{parent}/{part}"), f"{parent}/{part}")
        name = _plain(legal_file_name(file.name, fallback="file", max_chars=_FILE_CHARS))
        for number in itertools.count(1):
            path = f"{parent}/{numbered(name, number)}".lstrip("/")
            if folded(path) not in taken:
                break
        taken.add(folded(path))
        places[file.sha256] = path
    return places


def hand_over(
    folder: VaultFolder,
    target: Path,
    *,
    files: Mapping[str, str],
    texts: Callable[[Lacking], Mapping[str, bytes]],
    read_me: bytes,
    info: Sequence[tuple[str, str]],
    day: date,
    progress: Progress | None = None,
) -> HandoverReport:
    """Writes a bag to the new folder `target`.

    `files`: digest -> path in the payload (`arrange`); `texts` makes the rest of the payload once it is known which
    files are lacking; `info` are elements of bag-info.txt.  Raises StoreError, UsageError.
    """
    started = time.monotonic()
    target = Path(target).expanduser().absolute()
    _check_target(folder, target)
    work = target.with_name(f"{target.name}.not-finished")
    try:
        _check_room(ObjectStore(folder), target, files)
        remove_tree(work)
        DISK.make_folder(target.parent, mode=0o777)
        bag = _build(folder, work, files, texts, read_me, info, day, progress)
        if target.is_dir():
            remove_tree(target)
        DISK.rename(work, target)
        DISK.sync_folder(target.parent)
    except OSError as error:
        remove_tree(work)
        raise trouble(error, f"the bag cannot be written to {target}") from error
    except BaseException:
        remove_tree(work)
        raise
    return HandoverReport(
        bag=target,
        files=bag.n_files,
        n_bytes=bag.n_bytes,
        damaged=tuple(Damage(sha256=s, name=files[s], reason=bag.lacking[s]) for s in bag.damaged),
        gone=tuple(Damage(sha256=s, name=files[s], reason=bag.lacking[s]) for s in bag.gone),
        warnings=bag.warnings,
        seconds=time.monotonic() - started,
    )


@dataclass(frozen=True, kw_only=True)
class _Built:
    n_files: int
    n_bytes: int
    damaged: tuple[str, ...]
    gone: tuple[str, ...]
    lacking: Lacking
    warnings: tuple[str, ...]


def _build(
    folder: VaultFolder,
    work: Path,
    files: Mapping[str, str],
    texts: Callable[[Lacking], Mapping[str, bytes]],
    read_me: bytes,
    info: Sequence[tuple[str, str]],
    day: date,
    progress: Progress | None,
) -> _Built:
    from vault.bagit import BagBuilder, check_bag

    store, builder = ObjectStore(folder), BagBuilder(work)
    damaged: list[str] = []
    gone: list[str] = []
    lacking: dict[str, str] = {}
    for done, (sha256, path) in enumerate(sorted(files.items(), key=lambda item: item[1]), start=1):
        try:
            with store.open(sha256) as source:
                if not builder.add(path, source, sha256=sha256):
                    damaged.append(sha256)
                    lacking[sha256] = "its bytes have changed, so it was left out"
        except StoreError as error:
            gone.append(sha256)
            lacking[sha256] = error.message
        if progress is not None:
            progress(done, len(files))
    for path, content in texts(lacking).items():
        builder.add_bytes(path, content)
    builder.tag(READ_ME, read_me)
    built = builder.finish(info, bagging_date=day)
    report = check_bag(work)
    if not report.valid:
        first = report.errors[0]
        raise StoreError(
            f"the bag did not come out right: {first.words} ({first.path})",
            "the disk may be failing: try another place",
            code="bag",
        )
    return _Built(
        n_files=built.files,
        n_bytes=built.n_bytes,
        damaged=tuple(damaged),
        gone=tuple(gone),
        lacking=lacking,
        warnings=tuple(f"{w.words} ({w.path})" for w in report.warnings),
    )


def _check_target(folder: VaultFolder, target: Path) -> None:
    if target.is_relative_to(folder.root):
        raise UsageError(f"{target} lies inside the vault itself", "name a folder elsewhere")
    if target.exists() and (not target.is_dir() or strangers(target) or any(target.iterdir())):
        raise UsageError(f"{target} is there already and holds something", "name a new folder: --to FOLDER")


def _check_room(store: ObjectStore, target: Path, files: Mapping[str, str]) -> None:
    needed = sum(store.size_of(sha256) for sha256 in files if store.has(sha256)) + _SPARE
    free = free_bytes(target)
    if free is not None and free < needed:
        raise StoreError(
            f"the bag needs {_mb(needed)} MB, and {target.parent} has {_mb(free)} MB left",
            "make room or name a folder on another disk; nothing was written",
            code="no-room",
        )


def _plain(name: str) -> str:
    """Without percent signs: RFC 8493 says how to list them, but not every program that checks bags knows it."""
    return name.replace("%", "_")


def _mb(n_bytes: int) -> int:
    return -(-n_bytes // 1_000_000)
