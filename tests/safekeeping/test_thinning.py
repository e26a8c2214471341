"""Thinning: which snapshots stay, and that nothing goes which a snapshot needs."""

from __future__ import annotations

import json
import random
import shutil
import socket
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from faulty_disk import FaultyDisk, tree
from hypothesis import given, settings
from hypothesis import strategies as st
from sample_vaults import PASSPHRASE, add_objects, back_up, damage, make_vault, same_vaults

from vault.errors import BackupError, UsageError
from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.layout import SnapshotName, time_text
from vault.safekeeping.lease import DestinationLock
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.restore import restore
from vault.safekeeping.thinning import kept_by, parse_keep, thin

START = datetime(2026, 3, 1, 12, tzinfo=UTC)


def _daily(n: int) -> list[SnapshotName]:
    return [SnapshotName(time=time_text(START + timedelta(days=day)), sealed=True) for day in range(n)]


@pytest.mark.parametrize(
    "text, days_ago",
    [
        ("1d", [0]),
        ("7d", [0, 1, 2, 3, 4, 5, 6]),
        ("3d,2w", [0, 1, 2, 4]),  # the week before ended on Sunday 5 April
        ("2m", [0, 9]),
        ("1y", [0]),
        ("2d, 2M", [0, 1, 9]),
    ],
)
def test_the_rule_keeps_the_newest_of_each_period(text: str, days_ago: list[int]) -> None:
    """40 daily snapshots, the last on Thursday 9 April 2026."""
    snapshots = _daily(40)
    assert kept_by(parse_keep(text), snapshots) == sorted(snapshots[-1 - ago] for ago in days_ago)


@pytest.mark.parametrize("text", ["", "7", "7x", "d7", "0d", "7d,", "-1d", "7d;5w", "9" * 100 + "d"])
def test_other_rules_are_refused(text: str) -> None:
    with pytest.raises(UsageError, match="rule"):
        parse_keep(text)


@settings(deadline=None, max_examples=100)
@given(st.lists(st.integers(0, 2000), min_size=1, max_size=40, unique=True), st.integers(1, 9), st.integers(1, 9))
def test_the_newest_always_stays_and_thinning_again_changes_nothing(hours: list[int], days: int, weeks: int) -> None:
    snapshots = [SnapshotName(time=time_text(START + timedelta(hours=11 * h)), sealed=True) for h in hours]
    rule = parse_keep(f"{days}d,{weeks}w")
    kept = kept_by(rule, snapshots)
    assert max(snapshots) in kept and set(kept) <= set(snapshots)
    assert kept_by(rule, kept) == kept
    assert len(kept) <= days + weeks


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    """A vault with three daily backups; one object was only in the first, one only from the second on."""
    folder = make_vault(tmp_path / "vault", n=6)
    gone = add_objects(folder, [b"only in the first" * 20])[0]
    back_up(folder, tmp_path / "stick")
    ObjectStore(folder).forget(gone)
    add_objects(folder, [b"from the second on" * 20])
    back_up(folder, tmp_path / "stick", day=1)
    back_up(folder, tmp_path / "stick", day=2)
    return folder


def _restores(stick: Path, at: Path, folder: VaultFolder) -> None:
    assert restore(FolderDestination(stick), at, passphrase=PASSPHRASE).ok
    assert same_vaults(folder, VaultFolder(at))
    shutil.rmtree(at)


def test_thinning_unattended_frees_what_no_snapshot_needs(folder: VaultFolder, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    report = thin(folder, FolderDestination(stick), parse_keep("2d"))
    assert report.removed == ("2026-03-07T09:15:00Z",) and len(report.kept) == 2
    assert report.removed_objects == 1 and report.freed_bytes > 300 and not report.notes
    _restores(stick, tmp_path / "new", folder)
    again = thin(folder, FolderDestination(stick), parse_keep("2d"))
    assert (again.removed, again.removed_objects) == ((), 0)
    assert "in-use.json" not in tree(stick)


def test_leftovers_of_interrupted_backups_go_too(folder: VaultFolder, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    orphan = stick / "objects" / "ab" / ("ab" + "0" * 62 + ".age")
    orphan.parent.mkdir(exist_ok=True)
    orphan.write_bytes(b"left over")
    (stick / "objects" / "notes.txt").write_bytes(b"a person's own")
    assert thin(folder, FolderDestination(stick), parse_keep("9d")).removed_objects == 1
    assert (stick / "objects" / "notes.txt").exists() and not orphan.exists()


def test_where_a_list_is_not_known_no_object_goes_without_the_key(folder: VaultFolder, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    shutil.rmtree(folder.backups_path / "lists")
    report = thin(folder, FolderDestination(stick), parse_keep("1d"))
    assert len(report.removed) == 2 and report.removed_objects == 0 and "not known here" in report.notes[0]
    report = thin(folder, FolderDestination(stick), parse_keep("1d"), passphrase=PASSPHRASE)
    assert report.removed_objects == 1 and not report.notes
    _restores(stick, tmp_path / "new", folder)


def test_a_list_of_another_file_is_not_believed(folder: VaultFolder, tmp_path: Path) -> None:
    """The stick was put back to an older state and went on elsewhere: same time, another snapshot."""
    newest = max((tmp_path / "stick" / "snapshots").iterdir())
    newest.chmod(0o644)
    newest.write_bytes(newest.read_bytes() + b"x")
    report = thin(folder, FolderDestination(tmp_path / "stick"), parse_keep("1d"))
    assert report.removed_objects == 0 and report.notes


def test_a_snapshot_that_cannot_be_read_keeps_every_object(folder: VaultFolder, tmp_path: Path) -> None:
    shutil.rmtree(folder.backups_path / "lists")
    damage(tmp_path / "stick" / "snapshots" / "20260309T091500Z.age", "flip", random.Random(7))
    report = thin(folder, FolderDestination(tmp_path / "stick"), parse_keep("1d"), passphrase=PASSPHRASE)
    assert report.removed_objects == 0 and "2026-03-09" in report.notes[0]


def test_a_fault_at_any_step_leaves_every_snapshot_whole(folder: VaultFolder, tmp_path: Path) -> None:
    class Removals(FaultyDisk):
        def remove(self, path: Path) -> None:
            self._step("remove")
            super().remove(path)

    steps = Removals()
    shutil.copytree(tmp_path / "stick", tmp_path / "count")
    thin(folder, FolderDestination(tmp_path / "count", disk=steps, workers=1), parse_keep("1d"), passphrase=PASSPHRASE)
    for step in range(1, steps.steps + 1):
        stick = tmp_path / f"step{step}"
        shutil.copytree(tmp_path / "stick", stick)
        destination = FolderDestination(stick, disk=Removals(step), workers=1)
        try:
            thin(folder, destination, parse_keep("1d"), passphrase=PASSPHRASE)
        except BackupError as error:
            assert error.next_step
        left = sorted((stick / "snapshots").iterdir())
        for snapshot in {left[0], left[-1]}:
            report = restore(
                FolderDestination(stick), tmp_path / "r", passphrase=PASSPHRASE, snapshot=snapshot.name[:16]
            )
            assert report.ok
            shutil.rmtree(tmp_path / "r")
        shutil.rmtree(stick)


# The lease


def _lease(stick: Path, **said: object) -> None:
    now = datetime.now(UTC).isoformat(timespec="seconds")
    owner = {"token": "x", "host": "attic-computer", "pid": 1, "since": now, "time": now, **said}
    (stick / "in-use.json").write_text(json.dumps(owner))


def test_another_computer_that_writes_there_is_named(folder: VaultFolder, tmp_path: Path) -> None:
    _lease(tmp_path / "stick")
    before = tree(tmp_path / "stick")
    for call in (
        lambda: back_up(folder, tmp_path / "stick", day=3),
        lambda: thin(folder, FolderDestination(tmp_path / "stick"), parse_keep("1d")),
    ):
        with pytest.raises(BackupError, match="attic-computer") as caught:
            call()
        assert caught.value.code == "locked" and "in-use.json" in caught.value.next_step
    assert tree(tmp_path / "stick") == before


@pytest.mark.parametrize(
    "said",
    [
        {"time": (datetime.now(UTC) - timedelta(hours=2)).isoformat()},
        {"time": (datetime.now(UTC) + timedelta(days=400)).isoformat()},
        {"host": socket.gethostname(), "pid": 2**22 + 7},
        {"time": "yesterday"},
        {"pid": None},
    ],
    ids=["run-out", "clock-of-next-year", "dead-process-here", "no-time", "no-process"],
)
def test_a_lease_that_counts_no_more_is_taken_over(
    folder: VaultFolder, tmp_path: Path, said: dict[str, object]
) -> None:
    _lease(tmp_path / "stick", **said)
    assert back_up(folder, tmp_path / "stick", day=3).ok
    assert not (tmp_path / "stick" / "in-use.json").exists()


@pytest.mark.parametrize("content", [b"", b"[]", b"\xff", b"[" * 5000, b"x" * 100_000])
def test_a_lease_that_cannot_be_read_is_none(folder: VaultFolder, tmp_path: Path, content: bytes) -> None:
    (tmp_path / "stick" / "in-use.json").write_bytes(content)
    assert back_up(folder, tmp_path / "stick", day=3).ok


def test_a_lease_lost_to_another_is_noticed(tmp_path: Path) -> None:
    destination = FolderDestination(tmp_path / "d")
    destination.prepare()
    with DestinationLock(destination, purpose="backup") as lock:
        with pytest.raises(BackupError, match="being written to"), DestinationLock(destination, purpose="thinning"):
            pass
        _lease(tmp_path / "d")
        lock._renewed = -1e9
        with pytest.raises(BackupError, match="attic-computer"):
            lock.renew()
    assert (tmp_path / "d" / "in-use.json").exists(), "the lease of the other is not removed"
    assert not list((tmp_path / "d" / "tmp").iterdir())
