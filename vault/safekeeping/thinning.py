"""Thins the snapshots of a destination, then removes the stored objects that no snapshot needs any more.

Never the other way round: an object goes only after every list that might name it has been read, and after the
snapshots that named it are gone.  A kill in between leaves objects too many, which the next run removes.  If only one
of the snapshots that stay cannot be read, no object is removed at all.

Which snapshots stay: the newest always; then, for each rule, the newest of each of the last so many days, weeks or
months in which there is one (common practice, no published source).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from vault.errors import BackupError, UsageError
from vault.safekeeping.destination import Destination
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.layout import OBJECTS, SnapshotName, stored_digest, time_of
from vault.safekeeping.lease import DestinationLock
from vault.safekeeping.opening import key_for, snapshots_in
from vault.safekeeping.state import BackupState
from vault.safekeeping.unpacking import read_snapshot

_RULE_RE = re.compile(r"([0-9]{1,5})([dwmy])\Z")
_PERIODS: dict[str, Callable[[datetime], tuple[int, ...]]] = {
    "d": lambda t: (t.year, t.month, t.day),
    "w": lambda t: tuple(t.isocalendar()[:2]),
    "m": lambda t: (t.year, t.month),
    "y": lambda t: (t.year,),
}


@dataclass(frozen=True, kw_only=True)
class KeepRule:
    """How many days, weeks, months and years keep a snapshot: pairs of a letter and a number."""

    periods: tuple[tuple[str, int], ...]


@dataclass(frozen=True, kw_only=True)
class ThinReport:
    """What was removed and what stays; `notes` say why objects were left that might have gone."""

    kept: tuple[str, ...]
    removed: tuple[str, ...]
    removed_objects: int
    freed_bytes: int
    notes: tuple[str, ...]


def parse_keep(text: str) -> KeepRule:
    """`7d,5w,12m` as a rule; UsageError with an example."""
    periods = []
    for part in text.replace(" ", "").lower().split(","):
        found = _RULE_RE.match(part)
        if not found or int(found[1]) == 0:
            raise UsageError(f"not a rule for snapshots: {text!r}", "write it like this: --keep 7d,5w,12m")
        periods.append((found[2], int(found[1])))
    return KeepRule(periods=tuple(periods))


def kept_by(rule: KeepRule, snapshots: list[SnapshotName]) -> list[SnapshotName]:
    """Those of `snapshots` that the rule keeps, oldest first."""
    newest_first = sorted(snapshots, reverse=True)
    keep = set(newest_first[:1])
    for letter, number in rule.periods:
        seen: set[tuple[int, ...]] = set()
        for snapshot in newest_first:
            period = _PERIODS[letter](time_of(snapshot.time))
            if period not in seen and len(seen) < number:
                seen.add(period)
                keep.add(snapshot)
    return sorted(keep)


def thin(
    folder: VaultFolder,
    destination: Destination,
    rule: KeepRule,
    *,
    passphrase: str | None = None,
    recovery_key: str | None = None,
) -> ThinReport:
    """Removes what the rule does not keep.

    The vault remembers the lists of the snapshots it wrote itself, so that it can thin unattended; for others the
    passphrase or the recovery key is needed, and without it their objects stay.  Raises BackupError.
    """
    destination.check()
    destination.prepare()
    state = BackupState(folder)
    state.make()
    with DestinationLock(destination, purpose="thinning") as lock:
        snapshots = snapshots_in(destination)
        kept = kept_by(rule, snapshots)
        notes: list[str] = []
        needed: set[str] | None = set()
        for snapshot in kept:
            names = _names_in(state, destination, snapshot, passphrase, recovery_key, notes)
            needed = None if needed is None or names is None else needed | names
        removed = [snapshot for snapshot in sorted(snapshots) if snapshot not in set(kept)]
        for snapshot in removed:
            destination.remove(snapshot.name)
            lock.renew()
        n_objects = n_bytes = 0
        if needed is not None and kept:
            for stored in list(destination.listing(OBJECTS)):
                if stored_digest(stored.name) and stored.name not in needed:
                    destination.remove(stored.name)
                    n_objects += 1
                    n_bytes += stored.n_bytes
                    lock.renew()
        state.forget_lists(destination.name, {snapshot.time for snapshot in kept})
    destination.close()
    return ThinReport(
        kept=tuple(s.words for s in kept),
        removed=tuple(s.words for s in removed),
        removed_objects=n_objects,
        freed_bytes=n_bytes + sum(s.n_bytes for s in removed),
        notes=tuple(notes),
    )


def _names_in(
    state: BackupState,
    destination: Destination,
    snapshot: SnapshotName,
    passphrase: str | None,
    recovery_key: str | None,
    notes: list[str],
) -> set[str] | None:
    """The stored names that a snapshot needs; None, with a note, where they cannot be known."""
    remembered = state.list_of(destination.name, snapshot)
    if remembered is not None:
        return remembered
    try:
        key = key_for(destination, snapshot, passphrase=passphrase, recovery_key=recovery_key)
        with state.work() as work:
            return {o.stored for o in read_snapshot(destination, snapshot, key, work).objects}
    except BackupError as error:
        why = "its list is not known here" if error.code == "needs-passphrase" else error.message
        notes.append(f"no stored file was removed, because of the snapshot of {snapshot.words}: {why}")
        return None
