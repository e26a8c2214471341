"""A fire drill: restores a backup into a scratch folder, from nothing but the destination and what she would have then.

The restored vault is checked here anew, file by file, against the snapshot's list: nothing that the writer or the
restore say of themselves is believed.  What the catalogue must fulfil is handed in by the caller as checks.  The
report says in words what was proved and what was not.
"""

from __future__ import annotations

import hashlib
import tempfile
import time
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from pathlib import Path

from vault.errors import BackupError
from vault.safekeeping.destination import Destination
from vault.safekeeping.disk import remove_tree, trouble
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.layout import Damage, StoredObject, choose_snapshot
from vault.safekeeping.opening import key_for, snapshots_in
from vault.safekeeping.restore import RestoreReport, restore
from vault.safekeeping.unpacking import read_snapshot

Progress = Callable[[int, int], None]  # objects done, objects in all


@dataclass(frozen=True, kw_only=True)
class Check:
    """Something the restored vault must fulfil: in words, and a function that returns what is wrong with it."""

    words: str  # such as "the catalogue is sound"
    run: Callable[[VaultFolder], Sequence[str]]


@dataclass(frozen=True, kw_only=True)
class RehearsalReport:
    """What a rehearsal found.  `problems` are sentences of the checks that failed."""

    destination: str
    snapshot: str
    checked: int
    n_bytes: int
    damaged: tuple[Damage, ...]
    gone: tuple[Damage, ...]
    problems: tuple[str, ...]
    proved: tuple[str, ...]
    not_proved: tuple[str, ...]
    seconds: float

    @property
    def ok(self) -> bool:
        """Whether a restore today would bring everything back."""
        return not (self.damaged or self.gone or self.problems)


def rehearse(
    destination: Destination,
    *,
    passphrase: str | None = None,
    recovery_key: str | None = None,
    snapshot: str | None = None,
    checks: Sequence[Check] = (),
    held_today: Collection[str] = (),
    scratch: Path | None = None,
    progress: Progress | None = None,
) -> RehearsalReport:
    """Restores into a folder below `scratch` (default: the system's temporary folder) and removes it again.

    `held_today` are the digests of the vault as it is now, to say what the backup does not have yet.  Raises
    BackupError as `restore` does.
    """
    started = time.monotonic()
    try:
        work = Path(tempfile.mkdtemp(prefix="pinfold-rehearsal-", dir=scratch))
    except OSError as error:
        where = scratch or tempfile.gettempdir()
        raise trouble(error, f"no scratch folder can be made in {where}", BackupError) from error
    try:
        report = restore(
            destination,
            work / "vault",
            passphrase=passphrase,
            recovery_key=recovery_key,
            snapshot=snapshot,
            progress=progress,
        )
        seconds = time.monotonic() - started
        listed = _listed(destination, report, work, passphrase=passphrase, recovery_key=recovery_key)
        return _judge(report, listed, work / "vault", checks, held_today, seconds, with_sheet=recovery_key is not None)
    finally:
        remove_tree(work)


def _listed(
    destination: Destination,
    report: RestoreReport,
    work: Path,
    *,
    passphrase: str | None,
    recovery_key: str | None,
) -> tuple[StoredObject, ...]:
    """The snapshot's list, read afresh from the destination."""
    name = choose_snapshot(snapshots_in(destination), report.snapshot, destination.name)
    key = key_for(destination, name, passphrase=passphrase, recovery_key=recovery_key)
    (work / "again").mkdir()
    return read_snapshot(destination, name, key, work / "again").objects


def _judge(
    report: RestoreReport,
    listed: tuple[StoredObject, ...],
    root: Path,
    checks: Sequence[Check],
    held_today: Collection[str],
    seconds: float,
    *,
    with_sheet: bool,
) -> RehearsalReport:
    found, n_bytes = _digest_all(root / "objects")
    told = {d.sha256 for d in (*report.damaged, *report.gone)}
    gone = list(report.gone)
    damaged = list(report.damaged)
    for stored in listed:
        if stored.sha256 in told:
            continue
        if stored.sha256 not in found:
            gone.append(Damage(sha256=stored.sha256, name=stored.place, reason="restore did not bring it back"))
        elif found[stored.sha256] != stored.sha256:
            damaged.append(Damage(sha256=stored.sha256, name=stored.place, reason="restore wrote other bytes"))
    problems: list[str] = []
    proved = [
        f"the backup of {report.snapshot} opens with the {'recovery sheet' if with_sheet else 'passphrase'}",
        f"{len(found)} files came back, each read again and equal to what was kept ({_mb(n_bytes)} MB)",
    ]
    for check in checks:
        wrong = check.run(VaultFolder(root))
        problems += wrong
        proved += [] if wrong else [check.words]
    return RehearsalReport(
        destination=report.destination,
        snapshot=report.snapshot,
        checked=len(listed),
        n_bytes=n_bytes,
        damaged=tuple(damaged),
        gone=tuple(gone),
        problems=tuple(problems),
        proved=tuple(proved),
        not_proved=tuple(_open_points(listed, held_today, with_sheet=with_sheet)),
        seconds=seconds,
    )


def _digest_all(objects: Path) -> tuple[dict[str, str], int]:
    """File name -> digest of its bytes, for all files below; and how many bytes they have."""
    found, n_bytes = {}, 0
    for path in sorted(objects.rglob("*")):
        if path.is_file():
            with path.open("rb") as handle:
                found[path.name] = hashlib.file_digest(handle, "sha256").hexdigest()
            n_bytes += path.stat().st_size
    return found, n_bytes


def _open_points(listed: tuple[StoredObject, ...], held_today: Collection[str], *, with_sheet: bool) -> list[str]:
    newer = len(set(held_today) - {stored.sha256 for stored in listed})
    points = [f"{newer} files that the vault holds today are not in this backup"] if newer else []
    other = "passphrase" if with_sheet else "recovery sheet"
    return [*points, f"that the {other} opens it too: it was not used", "anything about other copies of the backup"]


def _mb(n_bytes: int) -> str:
    return f"{n_bytes / 1_000_000:.1f}"
