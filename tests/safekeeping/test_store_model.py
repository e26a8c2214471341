"""Keep, forget, rot, verify, repair, back up, change the key, thin, restore in any order, against the simplest model: sets of bytes."""

from __future__ import annotations

import random
import shutil
import tempfile
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule
from sample_vaults import PASSPHRASE, add_objects, back_up, damage

from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.fixity import verify
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.inspecting import inspect_backup
from vault.safekeeping.layout import time_text
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.repair import repair
from vault.safekeeping.restore import restore
from vault.safekeeping.shelf import places
from vault.safekeeping.state import BackupState
from vault.safekeeping.thinning import parse_keep, thin

CONTENTS = [b"", b"x", b"doublet", b"cloak" * 20, b"ruff" * 20_000, b"hose", b"sleeve" * 300]


class StoreMachine(RuleBasedStateMachine):
    """`held`: digest -> content that should be in the vault; `hurt`: those that rotted; one entry a snapshot."""

    def __init__(self) -> None:
        super().__init__()
        self.root = Path(tempfile.mkdtemp(prefix="pinfold-model-"))
        self.folder = VaultFolder(self.root / "vault")
        self.folder.create()
        self.stick = self.root / "stick"
        self.held: dict[str, bytes] = {}
        self.hurt: set[str] = set()
        self.snapshots: list[tuple[str, dict[str, bytes]]] = []
        self.stored: set[str] = set()  # what lies there, encrypted to the key of today
        self.day = 0

    @property
    def store(self) -> ObjectStore:
        return ObjectStore(self.folder)

    @rule(content=st.sampled_from(CONTENTS))
    def keep(self, content: bytes) -> None:
        sha256 = add_objects(self.folder, [content])[0]
        self.held[sha256] = content
        self.hurt.discard(sha256)

    @precondition(lambda self: self.held)
    @rule(data=st.data())
    def forget(self, data: st.DataObject) -> None:
        sha256 = data.draw(st.sampled_from(sorted(self.held)))
        self.store.forget(sha256)
        del self.held[sha256]
        self.hurt.discard(sha256)

    @precondition(lambda self: any(len(c) for d, c in self.held.items() if d not in self.hurt))
    @rule(data=st.data(), how=st.sampled_from(["flip", "cut", "grown", "gone"]))
    def rot(self, data: st.DataObject, how: str) -> None:
        whole = sorted(d for d, c in self.held.items() if c and d not in self.hurt)
        sha256 = data.draw(st.sampled_from(whole))
        damage(self.store.path_of(sha256), how, random.Random(0))
        if sha256 in places(self.folder):  # a hard link rots with its object, a lost name leaves it
            (self.folder.shelf_path / places(self.folder)[sha256]).unlink(missing_ok=True)
        self.hurt.add(sha256)

    @rule()
    def check(self) -> None:
        report = verify(self.folder, expected={d: len(c) for d, c in self.held.items()})
        assert {d.sha256 for d in (*report.damaged, *report.gone)} == self.hurt

    @rule()
    def mend(self) -> None:
        destination = FolderDestination(self.stick) if self.snapshots else None
        report = repair(self.folder, self.hurt, destination=destination, passphrase=PASSPHRASE)
        known = {d for _, objects in self.snapshots for d in objects}
        assert set(report.repaired) == self.hurt & known
        self.hurt -= known

    @precondition(lambda self: self.folder.catalogue_path.exists())
    @rule(with_passphrase=st.booleans())
    def back_up(self, with_passphrase: bool) -> None:
        options = {"passphrase": PASSPHRASE if with_passphrase or not self.snapshots else None}
        report = back_up(self.folder, self.stick, day=self.day, expected=self.held, **options)
        self.day += 1
        objects = {d: c for d, c in self.held.items() if d not in self.hurt or d in self.stored}
        assert report.objects == len(objects)
        assert report.new_objects == len(objects.keys() - self.stored)
        self.stored |= objects.keys()
        assert {d.sha256 for d in (*report.damaged, *report.gone)} <= self.hurt
        self.snapshots.append((report.snapshot, objects))

    @precondition(lambda self: self.snapshots and not self.hurt)
    @rule()
    def change_key(self) -> None:
        report = back_up(self.folder, self.stick, day=self.day, expected=self.held, change_key=True)
        self.day += 1
        assert report.ok and report.new_objects == report.objects == len(self.held)
        self.snapshots.append((report.snapshot, dict(self.held)))
        self.stored = set(self.held)

    @precondition(lambda self: len(self.snapshots) > 1)
    @rule(text=st.sampled_from(["1d", "2d", "1w", "1m"]))
    def thin(self, text: str) -> None:
        report = thin(self.folder, FolderDestination(self.stick), parse_keep(text))
        assert report.kept[-1] == self.snapshots[-1][0] and not report.notes
        self.snapshots = [s for s in self.snapshots if s[0] in report.kept]
        self.stored &= {d for _, objects in self.snapshots for d in objects}

    @precondition(lambda self: self.snapshots)
    @rule()
    def look_into_the_backup(self) -> None:
        report = inspect_backup(
            FolderDestination(self.stick),
            passphrase=PASSPHRASE,
            own_key=BackupState(self.folder).locked_key(),
            written=BackupState(self.folder).written(str(self.stick)),
        )
        assert report.ok and list(report.snapshots) == [time for time, _ in self.snapshots]

    @precondition(lambda self: self.snapshots)
    @rule(data=st.data())
    def restore(self, data: st.DataObject) -> None:
        time, objects = data.draw(st.sampled_from(self.snapshots))
        target = self.root / "restored"
        report = restore(FolderDestination(self.stick), target, passphrase=PASSPHRASE, snapshot=time)
        store = ObjectStore(VaultFolder(target))
        assert report.ok and {d: store.open(d).read() for d in store.digests()} == objects
        shutil.rmtree(target)

    @invariant()
    def nothing_is_left_on_the_way(self) -> None:
        assert not list(self.root.rglob("*.part"))

    def teardown(self) -> None:
        shutil.rmtree(self.root, ignore_errors=True)


StoreMachine.TestCase.settings = settings(deadline=None, max_examples=15, stateful_step_count=20)
TestStoreModel = StoreMachine.TestCase


def test_the_times_of_snapshots_sort_as_they_were_made() -> None:
    from datetime import UTC, datetime, timedelta

    start = datetime(1999, 12, 31, 23, 59, 59, tzinfo=UTC)
    times = [time_text(start + timedelta(hours=7 * n)) for n in range(2000)]
    assert times == sorted(times)
