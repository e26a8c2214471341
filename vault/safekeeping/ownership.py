"""Whose backup lies in a destination, and with which key this vault writes there.

Two things must never happen: that a key is replaced while older snapshots need it, and that two vaults write into
one backup, where the newest snapshot of one would pass for that of the other.  So before anything is written the
destination's key.age is compared with the vault's own copy (for a plain backup: the vault's random name).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from vault.errors import BackupError
from vault.safekeeping.destination import Destination, Gone, get
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.keys import MAX_LOCKED_KEY, BackupKey, is_post_quantum, lock_key, new_key, unlock_key
from vault.safekeeping.layout import KEY, SNAPSHOTS, SnapshotName, snapshot_name
from vault.safekeeping.state import BackupState
from vault.safekeeping.unpacking import read_snapshot


@dataclass(frozen=True, kw_only=True)
class Claim:
    """How to write: to whom to encrypt (nobody: plain), key.age for the destination, and the key if it was made now."""

    recipients: tuple[str, ...]
    locked_key: bytes | None
    made: BackupKey | None = field(default=None, repr=False)
    replaces: bool = False  # the destination has the locked key from before a change of the vault's key


def snapshots_of(destination: Destination) -> list[SnapshotName]:
    """The snapshots of a destination by their names, oldest first."""
    found = (snapshot_name(file.name, file.n_bytes) for file in destination.listing(SNAPSHOTS))
    return sorted(s for s in found if s is not None)


def key_in(destination: Destination) -> bytes | None:
    """The content of the destination's key.age; None if it has none."""
    try:
        return get(destination, KEY, MAX_LOCKED_KEY)
    except Gone:
        return None


def key_of_vault(folder: VaultFolder, passphrase: str) -> BackupKey:
    """The key of the vault's backups, for a new recovery sheet.  BackupError if there is none yet."""
    locked = BackupState(folder).locked_key()
    if locked is None:
        raise BackupError(
            f"the vault in {folder.root} has no backup key yet", "make a backup first: pinfold backup --to FOLDER"
        )
    return unlock_key(locked, passphrase)


def claim_plain(state: BackupState, destination: Destination, snapshots: list[SnapshotName]) -> Claim:
    """The right to write an unencrypted backup into `destination`."""
    if key_in(destination) is not None or any(s.sealed for s in snapshots):
        raise BackupError(
            f"{destination.name} holds an encrypted backup",
            "leave out --plain, or choose another destination for the plain one",
            code="other-kind",
        )
    if snapshots and state.newest_snapshot(destination.name) not in {s.time for s in snapshots}:
        with state.work() as work:
            theirs = read_snapshot(destination, snapshots[-1], None, work).vault_id
        if theirs != state.vault_id():
            raise _other_vault(destination)
    return Claim(recipients=(), locked_key=None)


def claim_sealed(
    folder: VaultFolder,
    state: BackupState,
    destination: Destination,
    snapshots: list[SnapshotName],
    *,
    passphrase: str | None,
    log_n: int,
    post_quantum: bool = False,
    change_key: bool = False,
) -> Claim:
    """The right to write an encrypted backup into `destination`; makes the vault's key if it has none.

    `change_key`: makes a new one, for which the passphrase is needed; what was locked with the passphrase before opens
    with it still.
    """
    if any(not s.sealed for s in snapshots):
        raise BackupError(
            f"{destination.name} holds an unencrypted backup",
            "add --plain, or choose another destination for the encrypted one",
            code="other-kind",
        )
    theirs, ours, recipients = key_in(destination), state.locked_key(), folder.settings().recipients
    if not recipients:
        if theirs is not None or snapshots:
            raise _other_vault(destination)
        return _first_claim(folder, state, passphrase, log_n, post_quantum)
    if post_quantum and not change_key and not is_post_quantum(recipients):
        raise BackupError(
            "this vault has a classic key already",
            "add --new-key to change it for a post-quantum one; everything is then stored again",
            code="classic-key",
        )
    if ours is None:
        ours = _regained(destination, theirs, recipients, passphrase)
        state.set_locked_key(ours)
    replaces = theirs is not None and theirs != ours and state.is_former_key(theirs)
    if theirs is not None and theirs != ours and snapshots:
        # this vault wrote the very newest snapshot there, so what is no longer its key.age has rotted
        replaces = replaces or state.list_of(destination.name, snapshots[-1]) is not None
    if theirs is not None and theirs != ours and not replaces and not _same_key(theirs, ours, passphrase):
        raise _other_vault(destination)
    if change_key:
        return _changed_claim(folder, state, ours, passphrase, log_n, post_quantum, replaces=theirs is not None)
    return Claim(recipients=recipients, locked_key=ours if replaces else theirs or ours, replaces=replaces)


def _changed_claim(
    folder: VaultFolder,
    state: BackupState,
    ours: bytes,
    passphrase: str | None,
    log_n: int,
    post_quantum: bool,
    *,
    replaces: bool,
) -> Claim:
    """A new key before the old ones, in one key.age, so that the passphrase goes on opening every snapshot."""
    if passphrase is None:
        raise BackupError(
            "to change the key of the backups, the passphrase is needed",
            "run it on a terminal, or give --passphrase-file FILE",
            code="needs-passphrase",
        )
    key = new_key(post_quantum=post_quantum, before=unlock_key(ours, passphrase))
    locked = lock_key(key, passphrase, log_n=log_n)
    state.change_key(locked)  # before the recipient: nothing may be encrypted to a key that could get lost
    folder.change_settings(recipients=key.recipients[:1])
    return Claim(recipients=key.recipients[:1], locked_key=locked, made=key, replaces=replaces)


def _first_claim(
    folder: VaultFolder, state: BackupState, passphrase: str | None, log_n: int, post_quantum: bool
) -> Claim:
    if passphrase is None:
        raise BackupError(
            "the first backup makes the key, and the key needs a passphrase",
            "run it on a terminal, or give --passphrase-file FILE",
            code="needs-passphrase",
        )
    key = new_key(post_quantum=post_quantum)
    locked = lock_key(key, passphrase, log_n=log_n)
    state.set_locked_key(locked)  # before the recipient: nothing may be encrypted to a key that could get lost
    folder.change_settings(recipients=key.recipients)
    return Claim(recipients=key.recipients, locked_key=locked, made=key)


def _regained(
    destination: Destination, theirs: bytes | None, recipients: tuple[str, ...], passphrase: str | None
) -> bytes:
    """The vault's copy of key.age is lost: take the destination's, if the passphrase proves that it is the same."""
    if theirs is None:
        raise BackupError(
            "the vault has lost its copy of the backup key",
            "back up once to a destination that has key.age; or take `recipient` out of vault.toml, and the next "
            "backup, into an empty folder, makes a new key",
            code="no-key",
        )
    if passphrase is None:
        raise BackupError(
            "the vault has lost its copy of the backup key and needs the passphrase once to take it back",
            "run it on a terminal, or give --passphrase-file FILE",
            code="needs-passphrase",
        )
    if not set(recipients) & set(unlock_key(theirs, passphrase).recipients):
        raise _other_vault(destination)
    return theirs


def _same_key(theirs: bytes, ours: bytes, passphrase: str | None) -> bool:
    """Whether both hold the same newest key, which only the passphrase can tell (locked anew, they look different)."""
    if passphrase is None:
        return False
    return unlock_key(theirs, passphrase).identities[:1] == unlock_key(ours, passphrase).identities[:1]


def _other_vault(destination: Destination) -> BackupError:
    return BackupError(
        f"{destination.name} holds the backup of another vault",
        "choose an empty folder; or, to go on with that vault on this computer, restore it first: "
        f"pinfold restore --from {destination.name}",
        code="other-vault",
    )
