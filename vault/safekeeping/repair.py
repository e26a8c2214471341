"""Brings damaged and lost objects back: from the shelf where it holds a copy, from the original, else from a backup.

Only bytes with the right digest are ever put in place, by the store's own way of writing.  For an encrypted backup the
passphrase or the recovery sheet is needed, since the vault itself cannot open its backups.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from vault.errors import BackupError, DecryptionError, StoreError, UnreadableError
from vault.safekeeping.destination import Destination
from vault.safekeeping.disk import DISK, discard, trouble
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.keys import BackupKey, unseal
from vault.safekeeping.layout import Damage, SnapshotName, StoredObject, is_sealed
from vault.safekeeping.objects import ObjectStore, digest_of
from vault.safekeeping.opening import key_for, snapshots_in
from vault.safekeeping.shelf import places
from vault.safekeeping.streams import DigestReader, DigestWriter, TooLong, chunks_of
from vault.safekeeping.unpacking import read_snapshot

Progress = Callable[[int, int], None]  # objects done, objects in all


@dataclass(frozen=True, kw_only=True)
class RepairReport:
    """Digests that are whole again, and what could not be brought back, with the reason."""

    repaired: tuple[str, ...]
    not_repaired: tuple[Damage, ...]


def repair(
    folder: VaultFolder,
    digests: Collection[str],
    *,
    originals: Callable[[str], Iterable[BinaryIO]] | None = None,
    destination: Destination | None = None,
    passphrase: str | None = None,
    recovery_key: str | None = None,
    progress: Progress | None = None,
) -> RepairReport:
    """Brings back the objects `digests`.  Under the vault's lock.

    `originals` gives open streams of what may be the same bytes elsewhere, such as the file in the downloads folder.
    Without a destination only these and the shelf are asked.  Raises BackupError where the destination cannot be
    opened at all.
    """
    store = ObjectStore(folder)
    shelf = places(folder)
    left = [d for d in sorted(set(digests)) if not _from_shelf(store, d, folder.shelf_path / shelf.get(d, d))]
    if originals is not None:
        left = [d for d in left if not any(_from_stream(store, d, stream) for stream in originals(d))]
    reasons: dict[str, str] = dict.fromkeys(left, "there is no copy of it")
    if left and destination is not None:
        destination.check()
        snapshots = snapshots_in(destination)
        key = None
        if snapshots:
            key = key_for(destination, snapshots[-1], passphrase=passphrase, recovery_key=recovery_key)
        _from_backup(store, destination, snapshots, key, left, reasons, progress)
    lost = tuple(Damage(sha256=d, name=shelf.get(d, ""), reason=reasons[d]) for d in left if d in reasons)
    still = {damage.sha256 for damage in lost}
    return RepairReport(repaired=tuple(d for d in sorted(set(digests)) if d not in still), not_repaired=lost)


def _from_shelf(store: ObjectStore, sha256: str, path: Path) -> bool:
    try:
        with path.open("rb") as handle:
            if digest_of(handle)[0] != sha256:
                return False
        return store.keep_file(path)[0] == sha256
    except (OSError, UnreadableError):
        return False


def _from_stream(store: ObjectStore, sha256: str, stream: BinaryIO) -> bool:
    """Keeps what the stream gives, if it is what is wanted: its bytes are read before any are kept."""
    with stream:
        try:
            if digest_of(stream)[0] != sha256:
                return False
            stream.seek(0)
            return store.keep_stream(stream)[0] == sha256
        except OSError:
            return False


def _from_backup(
    store: ObjectStore,
    destination: Destination,
    snapshots: list[SnapshotName],
    key: BackupKey | None,
    left: list[str],
    reasons: dict[str, str],
    progress: Progress | None,
) -> None:
    """Asks the snapshots, newest first, until nothing is left; takes what is brought back out of `reasons`."""
    if not snapshots:
        reasons.update(dict.fromkeys(left, f"{destination.name} holds no snapshot"))
    for name in reversed(snapshots):
        if not reasons:
            return
        try:
            with tempfile.TemporaryDirectory(dir=store.folder.tmp_path, prefix="repair-") as work:
                listed = {o.sha256: o for o in read_snapshot(destination, name, key, Path(work)).objects}
        except BackupError as error:
            reasons.update(dict.fromkeys(reasons, error.message))
            continue
        for sha256 in list(reasons):
            if sha256 not in listed:
                continue
            wrong = _bring(store, destination, key, listed[sha256])
            if wrong is None:
                del reasons[sha256]
                if progress is not None:
                    progress(len(left) - len(reasons), len(left))
            else:
                reasons[sha256] = wrong


def _bring(store: ObjectStore, destination: Destination, key: BackupKey | None, stored: StoredObject) -> str | None:
    """Puts one object in place from its stored copy; what is wrong with that copy, or None."""
    part = store.folder.tmp_file()
    try:
        with DISK.create(part) as handle, destination.open(stored.stored) as raw:
            source = DigestReader(raw, limit=stored.stored_bytes)
            sink = DigestWriter(handle.write, limit=stored.n_bytes)
            if is_sealed(stored.stored):
                if key is None:
                    return "it is encrypted"
                unseal(source, sink, key)
            else:
                for chunk in chunks_of(source):
                    sink.write(chunk)
        if sink.sha256 != stored.sha256:
            return "its copy in the backup is damaged"
        store.keep_file(part)
        return None
    except TooLong:
        return "its copy in the backup is damaged"
    except (DecryptionError, BackupError) as error:
        return f"its copy in the backup cannot be read: {error.message}"
    except OSError as error:
        raise trouble(error, f"the vault in {store.folder.root} cannot be written", StoreError) from error
    finally:
        discard(DISK, part)
