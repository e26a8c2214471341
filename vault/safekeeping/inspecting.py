"""Checks a backup where it lies, without restoring it.

Without a key: every stored object is read and its digest held against its name, which finds all that has rotted.
With the key also: every snapshot opens, everything that it lists is there, and every object opens to the content that
the list promises.  A backup told to distrust the damaged names stores them again.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path

from vault.errors import BackupError, DecryptionError
from vault.safekeeping.destination import Destination, Gone, get
from vault.safekeeping.keys import MAX_LOCKED_KEY, BackupKey, unseal
from vault.safekeeping.layout import KEY, OBJECTS, Damage, SnapshotName, StoredObject, is_sealed, stored_digest
from vault.safekeeping.opening import key_for, snapshots_in
from vault.safekeeping.streams import DigestReader, DigestWriter, TooLong, chunks_of
from vault.safekeeping.unpacking import read_snapshot

Progress = Callable[[int, int], None]  # stored objects done, stored objects in all


@dataclass(frozen=True, kw_only=True)
class InspectReport:
    """What lies in a destination.

    `damaged_names` are stored names not to be trusted; `damaged` and `gone` say what they mean, as far as the lists
    could be read (without a key `sha256` is then that of the stored bytes); `bad_snapshots` are sentences.
    """

    snapshots: tuple[str, ...]
    checked: int
    n_bytes: int
    damaged_names: tuple[str, ...]
    damaged: tuple[Damage, ...]
    gone: tuple[Damage, ...]
    bad_snapshots: tuple[str, ...]
    with_key: bool
    seconds: float

    @property
    def ok(self) -> bool:
        """Whether nothing that was looked at is amiss."""
        return not (self.damaged or self.gone or self.bad_snapshots)


def inspect_backup(
    destination: Destination,
    *,
    passphrase: str | None = None,
    recovery_key: str | None = None,
    own_key: bytes | None = None,
    written: Collection[str] = (),
    progress: Progress | None = None,
) -> InspectReport:
    """Reads everything in a destination.  Raises BackupError where it cannot be read at all, or for a wrong key.

    `own_key` is the vault's copy of key.age, with which the destination's is compared; `written` are the times of the
    snapshots that it wrote there and that should still be there.
    """
    started = time.monotonic()
    destination.check()
    snapshots = snapshots_in(destination)
    key, with_key = _key(destination, snapshots, passphrase, recovery_key)
    listed: dict[str, StoredObject] = {}
    bad = _key_wrong(destination, own_key) if own_key is not None and snapshots and snapshots[-1].sealed else []
    there_now = {s.time for s in snapshots}
    bad += [f"the snapshot of {time} is gone from {destination.name}" for time in sorted(set(written) - there_now)]
    if with_key:
        for snapshot in snapshots:
            try:
                with tempfile.TemporaryDirectory(prefix="pinfold-check-") as work:
                    found = read_snapshot(destination, snapshot, key, Path(work)).objects
                listed.update({o.stored: o for o in found})
            except BackupError as error:
                bad.append(error.message)
    there = {file.name: file.n_bytes for file in destination.listing(OBJECTS) if stored_digest(file.name)}
    damaged: dict[str, Damage] = {}
    n_bytes = 0
    for done, name in enumerate(sorted(there), start=1):
        reason = _look(destination, name, there[name], listed.get(name), key)
        n_bytes += there[name]
        if reason is not None:
            damaged[name] = _damage(name, listed.get(name), reason)
        if progress is not None:
            progress(done, len(there))
    gone = [_damage(name, stored, "it is gone from the backup") for name, stored in listed.items() if name not in there]
    return InspectReport(
        snapshots=tuple(s.words for s in snapshots),
        checked=len(there),
        n_bytes=n_bytes,
        damaged_names=tuple(damaged),
        damaged=tuple(damaged.values()),
        gone=tuple(gone),
        bad_snapshots=tuple(bad),
        with_key=with_key,
        seconds=time.monotonic() - started,
    )


def _key(
    destination: Destination, snapshots: list[SnapshotName], passphrase: str | None, recovery_key: str | None
) -> tuple[BackupKey | None, bool]:
    """The key, and whether the lists can be read: with it, or because nothing is encrypted."""
    if not snapshots:
        return None, False
    if snapshots[-1].sealed and passphrase is None and recovery_key is None:
        return None, False
    return key_for(destination, snapshots[-1], passphrase=passphrase, recovery_key=recovery_key), True


def _key_wrong(destination: Destination, own_key: bytes) -> list[str]:
    """What is wrong with key.age, in a sentence; the next backup mends it."""
    try:
        if get(destination, KEY, MAX_LOCKED_KEY) == own_key:
            return []
        return [f"key.age in {destination.name} is not the one that this vault has: it was changed or has rotted"]
    except Gone:
        return [f"key.age is gone from {destination.name}"]


def _damage(name: str, stored: StoredObject | None, reason: str) -> Damage:
    if stored is None:
        return Damage(sha256=stored_digest(name) or "", name=name, reason=reason)
    return Damage(sha256=stored.sha256, name=stored.place, reason=reason)


def _look(
    destination: Destination, name: str, n_bytes: int, stored: StoredObject | None, key: BackupKey | None
) -> str | None:
    """What is wrong with one stored object, in one reading; None if nothing is."""
    try:
        with destination.open(name) as raw:
            source = DigestReader(raw, limit=n_bytes)
            wrong = None
            if key is not None and stored is not None and is_sealed(name):
                wrong = _content_wrong(source, stored, key)
            for _ in chunks_of(source):
                pass
    except TooLong:
        return "it grew while it was read"
    except BackupError as error:
        return error.message
    if source.sha256 != stored_digest(name):
        return "its stored bytes were changed"
    if stored is not None and source.n_bytes != stored.stored_bytes:
        return "its length is not that in the list"
    return wrong


def _content_wrong(source: DigestReader, stored: StoredObject, key: BackupKey) -> str | None:
    sink = DigestWriter(lambda data: None, limit=stored.n_bytes)
    try:
        unseal(source, sink, key)
    except DecryptionError as error:
        return error.message
    except TooLong:
        if source.n_bytes > stored.stored_bytes:
            raise
        return "its content is longer than the list says"
    return None if sink.sha256 == stored.sha256 else "other content lies under its name"
