"""Brings a vault back from a backup, into a new folder that gets its name at the end.

Everything is written into `<target>.restoring` beside the target: every object is checked by its digest before it
gets a name there, then come catalogue, settings and the memory of backups, and last the folder is renamed.  An
interrupted restore therefore leaves nothing under the target's name, and the next one goes on with the objects that
are already there, after reading each of them again.

A destination may have lost, changed, swapped or withheld anything.  What cannot be brought back is named, and the
rest is restored all the same: after a fire a vault with one hole is better than none.  Before an object is given up,
the lists of the other snapshots are asked for another copy of it.
"""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from vault.errors import BackupError, DecryptionError, VaultError
from vault.safekeeping.destination import Destination, Gone
from vault.safekeeping.disk import (
    DISK,
    PART,
    Batch,
    Disk,
    discard,
    free_bytes,
    is_part,
    remove_tree,
    trouble,
    write_whole,
)
from vault.safekeeping.folder import FIRST_SETTINGS, NOISE, VaultFolder
from vault.safekeeping.keys import BackupKey, key_tag, unseal
from vault.safekeeping.layout import Damage, SnapshotName, StoredObject, choose_snapshot, is_sealed, stored_digest
from vault.safekeeping.lock import FileLock
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.opening import key_for, locked_key_in, snapshots_in
from vault.safekeeping.parallel import in_order
from vault.safekeeping.shelf import write_places
from vault.safekeeping.state import BackupState
from vault.safekeeping.streams import DigestReader, DigestWriter, LimitedReader, TooLong, chunks_of
from vault.safekeeping.unpacking import Snapshot, read_snapshot

Progress = Callable[[int, int], None]  # objects done, objects in all
Look = Callable[[Path], Collection[str] | None]  # path of a catalogue -> the digests that are wanted, None: all

# Says that the folder is a restore in progress.  It ends like a temporary file: should a kill hit between the last
# two steps, the new vault's first writer sweeps it away.
_MARK = f"restore-in-progress{PART}"
_MARK_TEXT = (
    b"pinfold is restoring a vault here, or was interrupted.  Run the same restore again and it goes on,\n"
    b"or delete the folder above this one: nothing in it is the only copy.\n"
)
_SPARE = 32 << 20  # room left for the file system's own needs


@dataclass(frozen=True, kw_only=True)
class RestoreReport:
    """What was restored.  `damaged` and `gone`: what the backup could not give back, by content digest and name."""

    destination: str
    target: Path
    snapshot: str  # its time, 2026-03-07T09:15:00Z
    objects: int
    n_bytes: int
    damaged: tuple[Damage, ...]
    gone: tuple[Damage, ...]
    notes: tuple[str, ...]
    seconds: float

    @property
    def ok(self) -> bool:
        """Whether everything in the snapshot was brought back."""
        return not self.damaged and not self.gone


def restore(
    destination: Destination,
    target: Path,
    *,
    passphrase: str | None = None,
    recovery_key: str | None = None,
    snapshot: str | None = None,
    look: Look | None = None,
    progress: Progress | None = None,
    disk: Disk = DISK,
) -> RestoreReport:
    """Restores the newest snapshot, or that of the time `snapshot`, as a new vault in `target`.

    `recovery_key` is the text of the recovery sheet or key file.  `target` must not exist, or hold nothing.  `look` is
    shown the snapshot's catalogue before any object is brought: it may refuse it, bring it up to date, and name the
    objects that are wanted, if not all are.  Raises
    BackupError (codes "target-not-empty", "needs-passphrase", "wrong-passphrase", "no-snapshot", "bad-snapshot",
    "no-room", "missing" ...), StoreError.
    """
    started = time.monotonic()
    target = Path(target).expanduser().absolute()
    try:
        _check_target(target)
        destination.check()
        snapshots = snapshots_in(destination)
        chosen = choose_snapshot(snapshots, snapshot, destination.name)
        key = key_for(destination, chosen, passphrase=passphrase, recovery_key=recovery_key)
        with _work_folder(target, disk) as work:
            run = _Run(destination, VaultFolder(work, disk=disk), key, snapshots)
            read = run.read(chosen)
            run.bring_objects(read, look(read.catalogue) if look is not None else None, progress)
            run.bring_rest(read)
            _give_name(work, target, disk)
    except OSError as error:
        raise trouble(error, f"the vault cannot be restored to {target}", BackupError) from error
    return RestoreReport(
        destination=destination.name,
        target=target,
        snapshot=chosen.words,
        objects=run.n_objects,
        n_bytes=run.n_bytes,
        damaged=tuple(run.damaged),
        gone=tuple(run.gone),
        notes=tuple(run.notes),
        seconds=time.monotonic() - started,
    )


class _Run:
    """One restore into the work folder."""

    def __init__(
        self, destination: Destination, folder: VaultFolder, key: BackupKey | None, snapshots: list[SnapshotName]
    ) -> None:
        self._destination, self._folder, self._key = destination, folder, key
        self._snapshots = snapshots
        self._store = ObjectStore(folder)
        self._disk = folder.disk
        self._batch = Batch(folder.disk)
        self._other_copies: dict[str, list[StoredObject]] | None = None
        self._unpacked = folder.tmp_path / "snapshot"
        self._used: list[StoredObject] = []
        self.damaged: list[Damage] = []
        self.gone: list[Damage] = []
        self.notes: list[str] = []
        self.n_objects = self.n_bytes = 0

    def read(self, name: SnapshotName) -> Snapshot:
        """The snapshot, unpacked into the work folder."""
        self._folder.create()
        remove_tree(self._unpacked)
        self._unpacked.mkdir()
        return read_snapshot(self._destination, name, self._key, self._unpacked)

    def bring_objects(self, snapshot: Snapshot, only: Collection[str] | None, progress: Progress | None) -> None:
        """Every object of the list, or those of it that are wanted, that is not there yet; then nothing else is."""
        listed = [o for o in snapshot.objects if only is None or o.sha256 in only]
        wanted = {stored.sha256 for stored in listed}
        for sha256 in list(self._store.digests()):
            if sha256 not in wanted:
                self._store.forget(sha256)
        missing: list[StoredObject] = []
        for stored in listed:
            (self._used if self._store.intact(stored.sha256) else missing).append(stored)
        self._check_room(sum(o.n_bytes for o in missing))
        tries = in_order(missing, self._try, workers=self._destination.workers, discard=_Try.drop)
        try:
            for number, tried in enumerate(tries, start=len(self._used) + 1):
                self._place(tried)
                if progress is not None:
                    progress(number, len(listed))
            self._batch.flush()
        except BaseException:
            tries.close()
            self._batch.abandon()
            raise
        self.n_objects = len(self._used)
        self.n_bytes = sum(o.n_bytes for o in self._used)

    def bring_rest(self, snapshot: Snapshot) -> None:
        """Catalogue, settings, shelf names and the memory of backups, so that the new vault goes on as the old one."""
        with snapshot.catalogue.open("rb") as source:
            write_whole(self._disk, self._folder.catalogue_path, chunks_of(source))
        if snapshot.settings is not None:
            self._bring_settings(snapshot.settings.read_bytes())
        write_places(self._folder, {o.sha256: o.place for o in snapshot.objects if o.place})
        remove_tree(self._folder.backups_path)  # of an interrupted run
        state = BackupState(self._folder)
        state.make()
        state.set_vault_id(snapshot.vault_id)
        state.set_newest_snapshot(self._destination.name, self._snapshots[-1].time)
        if snapshot.log_head is not None:
            state.note_log_head(self._destination.name, snapshot.log_head)
        if snapshot.name.sealed:
            self._bring_key(snapshot, state)
        remove_tree(self._unpacked)

    def _bring_key(self, snapshot: Snapshot, state: BackupState) -> None:
        """The locked key, and what is stored; a state from before a change of the key goes on with the new one."""
        assert self._key is not None
        newest = self._key.recipients[:1]
        if len(self._key.identities) > 1 and self._folder.settings().recipients != newest:
            self._folder.change_settings(recipients=newest)
        elif len(self._key.identities) == 1 or snapshot.key_tag == key_tag(newest):
            state.add_placed(sorted(self._used, key=lambda o: o.sha256))
        locked = locked_key_in(self._destination)
        if locked is not None:
            state.set_locked_key(locked)

    def _bring_settings(self, content: bytes) -> None:
        fresh = self._folder.settings_path.read_bytes()
        write_whole(self._disk, self._folder.settings_path, [content])
        try:
            self._folder.settings()
        except VaultError as error:
            self.notes.append(f"the settings in the backup cannot be read and were left out: {error.message}")
            write_whole(self._disk, self._folder.settings_path, [fresh])

    def _check_room(self, needed: int) -> None:
        free = free_bytes(self._folder.root)
        if free is not None and free < needed + _SPARE:
            raise BackupError(
                f"the vault needs {_mb(needed + _SPARE)} MB, and {self._folder.root.parent} has {_mb(free)} MB left",
                "make room or name a folder on another disk; nothing of the vault was written yet",
                code="no-room",
            )

    def _place(self, tried: _Try) -> None:
        """Names an object that is whole; else looks for another copy, which an older or newer snapshot may know."""
        if self._take(tried):
            return
        stored = tried.stored
        for other in self._others().get(stored.sha256, ()):
            if other.stored != stored.stored and self._take(self._try(other)):
                self.notes.append(f"{stored.place or stored.sha256} came from another copy, for the first: {tried.why}")
                return
        into = self.gone if tried.gone else self.damaged
        into.append(Damage(sha256=stored.sha256, name=stored.place, reason=tried.why))

    def _take(self, tried: _Try) -> bool:
        if tried.why:
            tried.drop()
            return False
        target = self._store.path_of(tried.stored.sha256)
        self._batch.add(tried.handle, tried.part, target, tried.stored.n_bytes)
        self._used.append(tried.stored)
        return True

    def _try(self, stored: StoredObject) -> _Try:
        """Writes one object into a temporary file and checks it."""
        part = self._folder.tmp_file()
        handle = self._disk.create(part)
        try:
            sink = DigestWriter(lambda data: self._disk.write(handle, data), limit=stored.n_bytes)
            gone, why = self._fetch(stored, sink)
            if not why:
                self._disk.set_read_only(part)
            return _Try(stored=stored, part=part, handle=handle, gone=gone, why=why)
        except BaseException:
            handle.close()
            discard(self._disk, part)
            raise

    def _fetch(self, stored: StoredObject, sink: DigestWriter) -> tuple[bool, str]:
        """Writes the content; whether it is gone from the backup, and what is wrong (empty: nothing)."""
        try:
            with self._destination.open(stored.stored) as raw:
                why = self._pass_through(LimitedReader(raw, stored.stored_bytes), sink, sealed=is_sealed(stored.stored))
            if why is None and (sink.sha256, sink.n_bytes) == (stored.sha256, stored.n_bytes):
                return False, ""
            return False, self._blame(stored) or why or "other content lies under its name"
        except Gone:
            return True, "it is gone from the backup"
        except TooLong:
            return False, "its stored bytes are longer than they were"
        except BackupError as error:
            return False, f"it cannot be read: {error.message}"

    def _blame(self, stored: StoredObject) -> str | None:
        """What happened to the stored bytes, for which they are read once more; None if they are what was written."""
        with self._destination.open(stored.stored) as raw:
            source = DigestReader(raw, limit=stored.stored_bytes)
            source.drain()
        if source.sha256 == stored_digest(stored.stored):
            return None
        short = source.n_bytes < stored.stored_bytes
        return "its stored bytes are cut short" if short else "its stored bytes were changed"

    def _pass_through(self, source: LimitedReader, sink: DigestWriter, *, sealed: bool) -> str | None:
        """Writes the content; what is wrong with the encryption, if anything."""
        if not sealed:
            for chunk in chunks_of(source):
                sink.write(chunk)
            return None
        assert self._key is not None
        try:
            unseal(source, sink, self._key)
        except DecryptionError as error:
            return error.message
        return None

    def _others(self) -> dict[str, list[StoredObject]]:
        """All copies that any snapshot knows, newest first; read only when something is missing."""
        if self._other_copies is None:
            found: dict[str, list[StoredObject]] = {}
            for name in reversed(self._snapshots):
                work = self._folder.tmp_path / "other"
                remove_tree(work)
                work.mkdir()
                with contextlib.suppress(BackupError):
                    for stored in read_snapshot(self._destination, name, self._key, work).objects:
                        found.setdefault(stored.sha256, []).append(stored)
                remove_tree(work)
            self._other_copies = found
        return self._other_copies


@dataclass(frozen=True, kw_only=True)
class _Try:
    """An object in a temporary file that waits for its name, or the reason why it gets none."""

    stored: StoredObject
    part: Path
    handle: BinaryIO
    gone: bool
    why: str

    def drop(self) -> None:
        """Removes the temporary file."""
        with contextlib.suppress(OSError):
            self.handle.close()
            self.part.unlink(missing_ok=True)


def _check_target(target: Path) -> None:
    if target.exists() and not target.is_dir():
        raise BackupError(f"{target} is not a folder", "name a new folder: --vault DIR", code="target-not-empty")
    if VaultFolder(target).exists():
        raise BackupError(
            f"{target} holds a vault already",
            "name a new folder (--vault DIR); nothing is ever restored over a vault",
            code="target-not-empty",
        )
    if os.path.ismount(target):
        raise BackupError(
            f"{target} is a whole disk", f"name a folder on it: --vault {target / 'Pinfold'}", code="target-not-empty"
        )
    held = next(_held(target), None)
    if held is not None:
        raise BackupError(f"{target} is not empty ({held})", "name a new folder: --vault DIR", code="target-not-empty")


def _held(target: Path) -> Iterator[str]:
    """Files in a target folder that somebody may want: all but what a vault that was only begun consists of."""
    for path in sorted(target.rglob("*")) if target.is_dir() else ():
        if path.is_dir() and not path.is_symlink():
            continue
        begun = path.name == "vault.lock" or is_part(path.name)
        if not begun and path.name == "vault.toml":
            begun = path.read_bytes() == FIRST_SETTINGS.encode()
        if not begun and path.name.lower() not in NOISE:
            yield path.relative_to(target).as_posix()


@contextlib.contextmanager
def _work_folder(target: Path, disk: Disk) -> Iterator[Path]:
    """`<target>.restoring`, held by one process.

    After an error it stays if there are objects in it, so that the next run goes on there.
    """
    disk.make_folder(target.parent)
    work = target.with_name(target.name + ".restoring")
    lock_path = target.with_name(target.name + ".restoring.lock")
    with FileLock(lock_path, f"the restore to {target}", purpose="restore"):
        _check_work(work)
        store = ObjectStore(VaultFolder(work, disk=disk))
        store.sweep_temporary()
        try:
            write_whole(disk, work / "tmp" / _MARK, [_MARK_TEXT])
            yield work
        except BaseException:
            if work.is_dir() and next(store.digests(), None) is None:
                remove_tree(work)
            raise
        finally:
            if not work.exists():
                with contextlib.suppress(OSError):
                    lock_path.unlink()
    if not work.exists():  # Windows removes no file that is open
        with contextlib.suppress(OSError):
            lock_path.unlink()


def _check_work(work: Path) -> None:
    """Only a folder that an interrupted restore left, or one without files, is taken over."""
    if not work.exists() or (work / "tmp" / _MARK).is_file():
        return
    files = [p for p in work.rglob("*") if not p.is_dir() and not (p.parent.name == "tmp" and p.name.endswith(PART))]
    if files or not work.is_dir():
        raise BackupError(
            f"{work} is in the way and was not made by a restore",
            "move it away or name another folder: --vault DIR",
            code="target-not-empty",
        )


def _give_name(work: Path, target: Path, disk: Disk) -> None:
    """The last step."""
    if target.is_dir():
        _check_target(target)  # once more, for a restore may take hours
        remove_tree(target)
    disk.rename(work, target)
    disk.sync_folder(target.parent)
    if not VaultFolder(target).catalogue_path.is_file():  # drivers have been seen that lose what is in the folder
        raise BackupError(
            f"the disk lost what was restored when the folder got its name {target.name}",
            "restore to a folder on another disk",
            code="disk",
        )
    discard(disk, target / "tmp" / _MARK)


def _mb(n_bytes: int) -> int:
    return -(-n_bytes // 1_000_000)
