"""How a backup is opened for reading: which snapshots there are, and the key from a passphrase or a recovery sheet.

The reading side of `ownership`; the two share nothing but the names in `layout`.
"""

from __future__ import annotations

from vault.errors import BackupError
from vault.safekeeping.destination import Destination, Gone, get
from vault.safekeeping.keys import MAX_LOCKED_KEY, BackupKey, unlock_key
from vault.safekeeping.layout import KEY, SNAPSHOTS, SnapshotName, snapshot_name
from vault.safekeeping.recovery import parse_recovery_key


def snapshots_in(destination: Destination) -> list[SnapshotName]:
    """All snapshots, oldest first, by their names alone."""
    named = [snapshot_name(stored.name, stored.n_bytes) for stored in destination.listing(SNAPSHOTS)]
    return sorted(name for name in named if name is not None)


def locked_key_in(destination: Destination) -> bytes | None:
    """key.age of the backup; None if it is gone or is no such thing."""
    try:
        return get(destination, KEY, MAX_LOCKED_KEY)
    except BackupError:
        return None


def key_for(
    destination: Destination, snapshot: SnapshotName, *, passphrase: str | None, recovery_key: str | None
) -> BackupKey | None:
    """The key that opens `snapshot`, None for one that is not encrypted.  BackupError says what is needed."""
    if not snapshot.sealed:
        return None
    if recovery_key is not None:
        return parse_recovery_key(recovery_key)
    if passphrase is None:
        raise BackupError(
            f"the backup in {destination.name} is encrypted",
            "give the passphrase (--passphrase-file FILE, or type it on a terminal) or the recovery sheet "
            "(--recovery-key FILE)",
            code="needs-passphrase",
        )
    try:
        locked = get(destination, KEY, MAX_LOCKED_KEY)
    except Gone as error:
        raise BackupError(
            f"key.age is gone from {destination.name}, so the passphrase opens nothing",
            "copy key.age there from another copy of the backup, or use the recovery sheet (--recovery-key FILE)",
            code="no-key",
        ) from error
    return unlock_key(locked, passphrase)
