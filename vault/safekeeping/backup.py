"""Backs a vault up: what is new by content, then a whole snapshot, which is written last.

Order of writing, each step durable before the next: READ-ME-FIRST.txt; key.age; the objects that the destination
lacks; the snapshot.  So whatever instant a run is killed at, every snapshot that is there can be restored, and the
next run finds the objects that were already stored and goes on.  Nothing that is there is ever changed.

An object is stored again when the destination no longer lists it, or not in its full length: a backup mends what its
disk has lost.  An object whose bytes no longer give its name is not stored but named; an older copy stays in use.
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from vault.errors import BackupError, DecryptionError, StoreError
from vault.model.event import LogHead
from vault.safekeeping.destination import Destination, Gone, Upload, get, put
from vault.safekeeping.disk import trouble
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.keys import SCRYPT_LOG_N, BackupKey, key_tag, seal, sealing, unlock_key
from vault.safekeeping.layout import (
    KEY,
    OBJECTS,
    READ_ME,
    Damage,
    SnapshotName,
    StoredObject,
    object_name,
    time_of,
    time_text,
)
from vault.safekeeping.lease import DestinationLock
from vault.safekeeping.lock import FileLock
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.ownership import Claim, claim_plain, claim_sealed, snapshots_of
from vault.safekeeping.packing import pack_snapshot
from vault.safekeeping.parallel import in_order
from vault.safekeeping.readme import readme_text
from vault.safekeeping.shelf import places
from vault.safekeeping.state import BackupState
from vault.safekeeping.streams import DigestReader, DigestWriter, chunks_of
from vault.safekeeping.unpacking import read_snapshot

Progress = Callable[[int, int], None]  # objects done, objects in all
_SETTLE_FILES, _SETTLE_BYTES = 1024, 1 << 29  # so many are made durable at a time; a kill costs at most these again


@dataclass(frozen=True, kw_only=True)
class BackupReport:
    """What one backup did.  `objects` and `n_bytes` count what the snapshot holds, `new_*` what was stored for it.

    `damaged`: objects of the vault whose bytes are not what they were; `gone`: objects that the caller expected and
    the vault lacks.  Where the reason says so, an earlier copy is in this snapshot and `verify --repair-from` brings
    it back.  `made_key` is the secret, if this backup made it: for the recovery sheet, then forgotten.
    """

    destination: str
    snapshot: str  # its time, 2026-03-07T09:15:00Z
    sealed: bool
    objects: int
    n_bytes: int
    new_objects: int
    new_bytes: int
    damaged: tuple[Damage, ...]
    gone: tuple[Damage, ...]
    notes: tuple[str, ...]
    seconds: float
    made_key: BackupKey | None = field(default=None, repr=False)

    @property
    def ok(self) -> bool:
        """Whether everything that the vault should hold is in the snapshot."""
        return not self.damaged and not self.gone


def backup(
    folder: VaultFolder,
    destination: Destination,
    *,
    catalogue_snapshot: Path,
    now: datetime,
    passphrase: str | None = None,
    plain: bool = False,
    post_quantum: bool = False,
    change_key: bool = False,
    expected: Collection[str] = (),
    distrust: Collection[str] = (),
    log_head: LogHead | None = None,
    progress: Progress | None = None,
    scrypt_log_n: int = SCRYPT_LOG_N,
) -> BackupReport:
    """Writes everything that is new, and a snapshot, to `destination`.

    `catalogue_snapshot` is a consistent copy of the catalogue, made before the call; `now` is aware.  The passphrase
    is only needed for the first backup, which makes the key (`BackupError` with code "needs-passphrase" asks for it);
    given later, it lets a backup whose memory was lost use what the destination already has.  `post_quantum` makes a
    key of that kind; `change_key` makes a new key and stores everything again.  `expected` are digests
    that the catalogue says are held; `distrust` names stored objects that a check found damaged (beside those of the
    last check here): what they should hold is stored again.  `log_head` is how far the log of events goes in the
    catalogue; it stands in the snapshot and is remembered.  Raises BackupError, StoreError.
    """
    started = time.monotonic()
    if not catalogue_snapshot.is_file():
        raise StoreError(f"there is no catalogue in {folder.root}", "begin with: pinfold import FOLDER")
    state = BackupState(folder)
    state.make()
    with FileLock(state.lock_path, f"the backup of {folder.root}", purpose="backup"):
        state.sweep()
        destination.prepare()
        with DestinationLock(destination, purpose="backup") as lease:
            if plain and (post_quantum or change_key):
                raise BackupError("a plain backup has no key", "leave out --plain", code="other-kind")
            run = _Run(
                folder,
                state,
                destination,
                lease,
                plain=plain,
                passphrase=passphrase,
                log_n=scrypt_log_n,
                post_quantum=post_quantum,
                change_key=change_key,
            )
            run.write_head()
            distrusted = set(distrust) | state.distrusted(destination.name)
            objects = run.store_objects(expected, distrusted, progress)
            snapshot = run.write_snapshot(objects, catalogue_snapshot, now, log_head)
            run.remember(snapshot, objects, log_head)
        destination.close()
    return BackupReport(
        destination=destination.name,
        snapshot=snapshot.words,
        sealed=not plain,
        objects=len(objects),
        n_bytes=sum(o.n_bytes for o in objects),
        new_objects=run.new_objects,
        new_bytes=run.new_bytes,
        damaged=tuple(run.damaged),
        gone=tuple(run.gone),
        notes=tuple(run.notes),
        seconds=time.monotonic() - started,
        made_key=run.claim.made,
    )


class _Run:
    """One backup from its claim to its snapshot."""

    def __init__(
        self,
        folder: VaultFolder,
        state: BackupState,
        destination: Destination,
        lease: DestinationLock,
        *,
        plain: bool,
        passphrase: str | None,
        log_n: int,
        post_quantum: bool,
        change_key: bool,
    ) -> None:
        self._folder, self._state, self._destination, self._lease = folder, state, destination, lease
        self._store = ObjectStore(folder)
        self._passphrase = passphrase
        self._plain = plain
        self._snapshots = snapshots_of(destination)
        self.notes: list[str] = []
        self.damaged: list[Damage] = []
        self.gone: list[Damage] = []
        self.new_objects = self.new_bytes = 0
        self._places: Mapping[str, str] = places(folder)
        self._look_at_what_is_known()
        self._changes_key = change_key
        self.claim = self._claim(log_n, post_quantum)

    def _claim(self, log_n: int, post_quantum: bool) -> Claim:
        if self._plain:
            return claim_plain(self._state, self._destination, self._snapshots)
        return claim_sealed(
            self._folder,
            self._state,
            self._destination,
            self._snapshots,
            passphrase=self._passphrase,
            log_n=log_n,
            post_quantum=post_quantum,
            change_key=self._changes_key,
        )

    def _look_at_what_is_known(self) -> None:
        """An empty folder where a backup was is most likely an unplugged disk; an older one has lost something."""
        name = self._destination.name
        known = self._state.newest_snapshot(name)
        if known is None or name not in self._folder.settings().destinations:
            return
        if not self._snapshots:
            raise BackupError(
                f"{name} is empty, but this vault was backed up there",
                "is the right disk or stick plugged in?  If you emptied it on purpose, take it out of "
                f"`destinations` in {self._folder.settings_path} and run the same command again",
                code="missing",
            )
        if self._snapshots[-1].time < known:
            self.notes.append(f"the snapshot of {SnapshotName(time=known, sealed=True).words} is gone from {name}")

    def write_head(self) -> None:
        """What a person needs to understand and to open the rest, before there is a rest."""
        known = self._folder.settings().destinations
        if self._destination.name not in known:
            self._folder.change_settings(destinations=(*known, self._destination.name))
        text = readme_text(sealed=not self._plain)
        with contextlib.suppress(BackupError):
            if get(self._destination, READ_ME, len(text)) == text:
                text = b""
        if text:
            put(self._destination, READ_ME, text, replace=True)
        if self.claim.locked_key is None:
            return
        if self.claim.replaces:  # with the keys from before in it, so that every snapshot there still opens
            put(self._destination, KEY, self.claim.locked_key, replace=True)
            return
        try:
            get(self._destination, KEY, len(self.claim.locked_key))
        except Gone:
            put(self._destination, KEY, self.claim.locked_key)
            if self._snapshots:
                self.notes.append(f"key.age was gone from {self._destination.name} and was written again")

    def store_objects(
        self, expected: Collection[str], distrust: set[str], progress: Progress | None
    ) -> list[StoredObject]:
        """Stores what the destination lacks; the list for the snapshot, sorted by content digest."""
        held = set(self._store.digests())
        wanted = sorted(held | set(expected))
        there = {f.name: f.n_bytes for f in self._destination.listing(OBJECTS) if f.name not in distrust}
        copies = self._copies(wanted, there)
        objects: list[StoredObject] = []
        fresh: list[StoredObject] = []
        settled = 0
        made = in_order(
            (sha256 for sha256 in wanted if sha256 in held and sha256 not in copies),
            self._make,
            workers=self._destination.workers,
            discard=lambda made: made.upload.abort() if isinstance(made, _Made) else None,
        )
        try:
            for done, sha256 in enumerate(wanted, start=1):
                stored = copies.get(sha256)
                if sha256 not in held:
                    self._note_gone(sha256, stored)
                elif stored is None:
                    stored = self._commit(next(made))
                    if stored is not None:
                        fresh.append(stored)
                if stored is not None:
                    objects.append(replace(stored, place=self._places.get(sha256, "")))
                if len(fresh) >= _SETTLE_FILES or self.new_bytes - settled >= _SETTLE_BYTES:
                    self._settle(fresh)
                    settled = self.new_bytes
                if progress is not None:
                    progress(done, len(wanted))
            self._settle(fresh)
        except BaseException:
            made.close()
            with contextlib.suppress(BackupError):  # what is already written need not be written again
                self._settle(fresh)
            self._destination.abandon()
            raise
        return objects

    def _copies(self, wanted: list[str], there: Mapping[str, int]) -> dict[str, StoredObject]:
        """For each digest the copy that the destination still has in full."""
        if self._plain:
            return {
                sha256: self._as_plain(sha256, there[name])
                for sha256 in wanted
                if (name := object_name(sha256, sealed=False)) in there and self._whole_or_unknown(sha256, there[name])
            }
        known = self._state.placed()
        found = _present(known, wanted, there)
        relearns = self._passphrase is not None and self._snapshots and not self._changes_key
        if relearns and len(found) < len(wanted):
            for stored in self._relearned():
                known.setdefault(stored.sha256, []).append(stored)
            found = _present(known, wanted, there)
        return found

    def _as_plain(self, sha256: str, n_bytes: int) -> StoredObject:
        return StoredObject(
            sha256=sha256,
            stored=object_name(sha256, sealed=False),
            n_bytes=n_bytes,
            stored_bytes=n_bytes,
        )

    def _whole_or_unknown(self, sha256: str, n_bytes: int) -> bool:
        try:
            return self._store.size_of(sha256) == n_bytes
        except StoreError:
            return True  # gone from the vault: what the destination has is all there is

    def _relearned(self) -> tuple[StoredObject, ...]:
        """What the newest readable snapshot says is stored: for a vault that has lost its own memory of it."""
        assert self._passphrase is not None and self.claim.locked_key is not None
        key = self.claim.made or unlock_key(self.claim.locked_key, self._passphrase)
        for name in reversed(self._snapshots):
            with self._state.work() as work, contextlib.suppress(BackupError, DecryptionError):
                snapshot = read_snapshot(self._destination, name, key, work)
                # what is encrypted to a key before this one must not count: its recovery sheet would not open it
                ours = snapshot.key_tag == key_tag(self.claim.recipients) or len(key.identities) == 1
                return snapshot.objects if ours else ()
        return ()

    def _note_gone(self, sha256: str, stored: StoredObject | None) -> None:
        where = "this backup still has it" if stored else "and it is not in this backup"
        reason = f"gone from the vault, {where}"
        self.gone.append(Damage(sha256=sha256, name=self._places.get(sha256, ""), reason=reason))

    def _make(self, sha256: str) -> _Made | Damage:
        """Brings one object on its way, reading it once; what is wrong if its bytes no longer give its name."""
        upload = self._destination.begin()
        try:
            with self._store.open(sha256) as raw:
                source, sink = DigestReader(raw), DigestWriter(upload.write)
                if self._plain:
                    for chunk in chunks_of(source):
                        sink.write(chunk)
                else:
                    seal(source, sink, self.claim.recipients)
            if source.sha256 != sha256:
                raise StoreError("its bytes are not what was kept")
            stored = StoredObject(
                sha256=sha256,
                stored=object_name(sink.sha256, sealed=not self._plain),
                n_bytes=source.n_bytes,
                stored_bytes=sink.n_bytes,
            )
            return _Made(upload=upload, stored=stored)
        except (OSError, StoreError) as error:  # the vault's side only: a destination raises BackupError
            upload.abort()
            reason = error.message if isinstance(error, StoreError) else f"it cannot be read ({error.strerror})"
            return Damage(sha256=sha256, name=self._places.get(sha256, ""), reason=reason)
        except BackupError as error:
            upload.abort()
            if error.code != "too-large":
                raise
            # FAT takes no file of 4 GiB or more: the rest is backed up all the same
            reason = f"{self._destination.name} takes no file of this size; use a disk that is not formatted as FAT"
            return Damage(sha256=sha256, name=self._places.get(sha256, ""), reason=reason)
        except BaseException:
            upload.abort()
            raise

    def _commit(self, made: _Made | Damage) -> StoredObject | None:
        if isinstance(made, Damage):
            self.damaged.append(made)
            return None
        made.upload.commit(made.stored.stored, replace=True)
        self.new_objects += 1
        self.new_bytes += made.stored.n_bytes
        return made.stored

    def _settle(self, fresh: list[StoredObject]) -> None:
        """Makes uploads durable, and only then remembers them."""
        self._destination.flush()
        self._lease.renew()
        if not self._plain:
            self._state.add_placed(fresh)
        fresh.clear()

    def write_snapshot(
        self, objects: list[StoredObject], catalogue: Path, now: datetime, log_head: LogHead | None
    ) -> SnapshotName:
        """The snapshot, under a time later than that of all others there."""
        name = SnapshotName(time=_next_time(now, self._snapshots), sealed=not self._plain)
        settings = self._folder.settings_path
        upload = self._destination.begin()
        try:
            counted = DigestWriter(upload.write)
            with contextlib.ExitStack() as stack:
                sink = counted if self._plain else stack.enter_context(sealing(counted, self.claim.recipients))
                pack_snapshot(
                    sink.write,
                    time=name.time,
                    clock=now.astimezone(UTC).isoformat(timespec="seconds"),
                    vault_id=self._state.vault_id(),
                    sealed=not self._plain,
                    log_head=log_head,
                    key_tag=None if self._plain else key_tag(self.claim.recipients),
                    objects=objects,
                    settings=settings.read_bytes() if settings.is_file() else None,
                    catalogue=catalogue,
                )
            self._lease.renew()
            upload.commit(name.name)
        except OSError as error:  # the vault's side: a destination raises BackupError
            raise trouble(error, f"the catalogue of {self._folder.root} cannot be read") from error
        finally:
            upload.abort()
        self._destination.flush()
        return replace(name, n_bytes=counted.n_bytes)

    def remember(self, snapshot: SnapshotName, objects: list[StoredObject], log_head: LogHead | None) -> None:
        """Notes what the destination now holds, so that its loss is noticed and it can be thinned unattended."""
        self._state.set_distrusted(self._destination.name, ())
        if log_head is not None:
            self._state.note_log_head(self._destination.name, log_head)
        self._state.remember_list(self._destination.name, snapshot, objects)
        self._state.set_newest_snapshot(self._destination.name, snapshot.time)


@dataclass(frozen=True, kw_only=True)
class _Made:
    """An object whose bytes are all written and wait for their name."""

    upload: Upload
    stored: StoredObject


def _present(
    known: Mapping[str, list[StoredObject]], wanted: list[str], there: Mapping[str, int]
) -> dict[str, StoredObject]:
    return {
        sha256: copy
        for sha256 in wanted
        for copy in known.get(sha256, ())
        if there.get(copy.stored) == copy.stored_bytes
    }


def _next_time(now: datetime, snapshots: list[SnapshotName]) -> str:
    """`now`, or one second after the newest snapshot where the clock went back, so that the last stays the newest."""
    wanted = time_text(now)
    if snapshots and wanted <= snapshots[-1].time:
        return time_text(time_of(snapshots[-1].time) + timedelta(seconds=1))
    return wanted
