"""Post-quantum keys, and changing the key: what was stored before still opens, what is stored from now on needs the new."""

from __future__ import annotations

import contextlib
import os
import shutil
from pathlib import Path

import pytest
from faulty_disk import FaultyDisk
from sample_vaults import LOG_N, PASSPHRASE, add_objects, back_up, make_vault, same_vaults

from vault.age import primitives
from vault.errors import BackupError, StoreError
from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.disk import Disk
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.inspecting import inspect_backup
from vault.safekeeping.keys import BackupKey, new_key, unlock_key
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.restore import restore
from vault.safekeeping.state import BackupState


def _hybrid_here() -> bool:
    try:
        new_key(post_quantum=True)
    except BackupError:
        return False
    return True


HYBRID = pytest.mark.skipif(not _hybrid_here(), reason="the installed cryptography has no MLKEM768-X25519")
# Every fourth step, with PINFOLD_TEST_KILLS=200 each: the others take the same ways.
STRIDE = 1 if int(os.environ.get("PINFOLD_TEST_KILLS", "15")) >= 200 else 4
KINDS = [False, pytest.param(True, marks=HYBRID)]


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    return make_vault(tmp_path / "vault", n=6)


def brought_back(stick: Path, to: Path, **options: str) -> VaultFolder:
    assert restore(FolderDestination(stick), to, **(options or {"passphrase": PASSPHRASE})).ok
    return VaultFolder(to)


@HYBRID
def test_a_post_quantum_backup_comes_back_and_says_what_it_is(folder: VaultFolder, tmp_path: Path) -> None:
    report = back_up(folder, tmp_path / "stick", post_quantum=True)
    assert report.made_key and report.made_key.identities[0].startswith("AGE-SECRET-KEY-PQ-1")
    (recipient,) = folder.settings().recipients
    assert recipient.startswith("age1pq1")
    header = next((tmp_path / "stick" / "objects").rglob("*.age")).read_bytes()[:60]
    assert b"-> mlkem768x25519 " in header
    assert same_vaults(folder, brought_back(tmp_path / "stick", tmp_path / "one"))
    sheet = "\n".join(report.made_key.identities)
    assert same_vaults(folder, brought_back(tmp_path / "stick", tmp_path / "two", recovery_key=sheet))
    assert back_up(folder, tmp_path / "stick", day=1, passphrase=None).new_objects == 0


def test_where_cryptography_is_too_old_it_is_one_sentence_and_nothing_is_made(
    folder: VaultFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def cannot(_: bytes) -> bytes:
        raise primitives.NotSupportedError("no such thing")

    monkeypatch.setattr(primitives, "hybrid_public", cannot)
    with pytest.raises(BackupError, match="cannot use post-quantum keys") as caught:
        back_up(folder, tmp_path / "stick", post_quantum=True)
    assert "50" in caught.value.next_step
    assert folder.settings().recipients == () and BackupState(folder).locked_key() is None


def test_a_vault_with_a_classic_key_is_not_changed_in_passing(folder: VaultFolder, tmp_path: Path) -> None:
    back_up(folder, tmp_path / "stick")
    before = folder.settings().recipients
    with pytest.raises(BackupError, match="classic key") as caught:
        back_up(folder, tmp_path / "stick", day=1, post_quantum=True)
    assert "--new-key" in caught.value.next_step and folder.settings().recipients == before


@pytest.mark.parametrize("post_quantum", KINDS)
def test_a_changed_key_opens_all_old_and_new_snapshots(folder: VaultFolder, tmp_path: Path, post_quantum: bool) -> None:
    stick = tmp_path / "stick"
    first = back_up(folder, stick)
    assert first.made_key
    add_objects(folder, [b"a new hat"])
    second = back_up(folder, stick, day=1, change_key=True, post_quantum=post_quantum)
    assert second.made_key and second.new_objects == second.objects == first.objects + 1, "all is stored again"
    assert len(second.made_key.identities) == 2 and second.made_key.identities[1:] == first.made_key.identities
    assert folder.settings().recipients == second.made_key.recipients[:1]
    # the passphrase opens every snapshot
    restore(FolderDestination(stick), tmp_path / "old", passphrase=PASSPHRASE, snapshot="2026-03-07")
    assert same_vaults(folder, brought_back(stick, tmp_path / "new"))
    # the new sheet opens the new one alone, and whole; the old sheet only the old one
    new_sheet, old_sheet = second.made_key.identities[0], first.made_key.identities[0]
    assert same_vaults(folder, brought_back(stick, tmp_path / "new-by-sheet", recovery_key=new_sheet))
    restore(FolderDestination(stick), tmp_path / "old-by-sheet", recovery_key=old_sheet, snapshot="2026-03-07")
    with pytest.raises(BackupError, match="this key does not open"):
        restore(FolderDestination(stick), tmp_path / "no", recovery_key=old_sheet)
    assert inspect_backup(FolderDestination(stick), passphrase=PASSPHRASE).ok


def test_after_the_change_backups_go_on_unattended_everywhere(folder: VaultFolder, tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    back_up(folder, one)
    back_up(folder, two)
    changed = back_up(folder, one, day=1, change_key=True)
    assert changed.made_key
    assert back_up(folder, one, day=2, passphrase=None).new_objects == 0
    # the other destination still has the key.age from before; it is ours, so it gives way, with the old key in it
    report = back_up(folder, two, day=3, passphrase=None)
    assert report.new_objects == report.objects
    assert unlock_key((two / "key.age").read_bytes(), PASSPHRASE) == changed.made_key
    assert same_vaults(folder, brought_back(two, tmp_path / "x", recovery_key=changed.made_key.identities[0]))


def test_old_copies_are_not_taken_for_new_ones_when_the_memory_is_lost(folder: VaultFolder, tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    back_up(folder, one)
    back_up(folder, two)
    changed = back_up(folder, one, day=1, change_key=True)
    assert changed.made_key
    (folder.backups_path / "placed.tsv").unlink()
    assert back_up(folder, one, day=2).new_objects == 0, "those of the new key are found again"
    report = back_up(folder, two, day=2)
    assert report.new_objects == report.objects
    restored = brought_back(two, tmp_path / "x", recovery_key=changed.made_key.identities[0])
    assert same_vaults(folder, restored)


def test_a_state_from_before_the_change_goes_on_with_the_new_key(folder: VaultFolder, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    back_up(folder, stick)
    changed = back_up(folder, stick, day=1, change_key=True)
    assert changed.made_key
    restore(FolderDestination(stick), tmp_path / "old", passphrase=PASSPHRASE, snapshot="2026-03-07")
    old = VaultFolder(tmp_path / "old")
    assert old.settings().recipients == changed.made_key.recipients[:1]
    assert back_up(old, stick, day=2, passphrase=None).ok
    assert same_vaults(old, brought_back(stick, tmp_path / "x", recovery_key=changed.made_key.identities[0]))


@pytest.mark.parametrize("passphrase", [None, "not this one"])
def test_changing_needs_the_passphrase_and_changes_nothing_without(
    folder: VaultFolder, tmp_path: Path, passphrase: str | None
) -> None:
    back_up(folder, tmp_path / "stick")
    before = (folder.settings(), BackupState(folder).locked_key(), (tmp_path / "stick" / "key.age").read_bytes())
    with pytest.raises(BackupError):
        back_up(folder, tmp_path / "stick", day=1, change_key=True, passphrase=passphrase)
    after = (folder.settings(), BackupState(folder).locked_key(), (tmp_path / "stick" / "key.age").read_bytes())
    assert before == after
    assert back_up(folder, tmp_path / "stick", day=1, passphrase=None).ok


def test_a_change_that_was_interrupted_harms_nothing(
    folder: VaultFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = tmp_path / "stick"
    back_up(folder, stick)

    def fails(self: VaultFolder, **_: object) -> None:
        raise BackupError("the power is gone")

    with monkeypatch.context() as patch:
        patch.setattr(VaultFolder, "change_settings", fails)  # after key.age, before the recipient
        with pytest.raises(BackupError):
            back_up(folder, stick, day=1, change_key=True)
    assert back_up(folder, stick, day=2, passphrase=None).ok, "it goes on with the key from before"
    assert same_vaults(folder, brought_back(stick, tmp_path / "x"))
    assert back_up(folder, stick, day=3, change_key=True).ok
    assert same_vaults(folder, brought_back(stick, tmp_path / "y"))


def test_a_new_key_keeps_the_identities_of_the_one_before() -> None:
    first = new_key()
    second = new_key(before=first)
    assert second.identities[1:] == first.identities and isinstance(second, BackupKey)
    assert LOG_N < 10


@pytest.mark.parametrize("for_ever", [True, False])
@pytest.mark.parametrize("where", ["vault", "stick"])
def test_a_fault_at_any_step_of_a_change_harms_no_older_snapshot(tmp_path: Path, where: str, for_ever: bool) -> None:
    whole = make_vault(tmp_path / "vault", n=2)
    back_up(whole, tmp_path / "stick")

    def change(at: Path, disk: FaultyDisk) -> None:
        shutil.copytree(whole.root, at / "vault")
        shutil.copytree(tmp_path / "stick", at / "stick")
        vault = VaultFolder(at / "vault", disk=disk) if where == "vault" else VaultFolder(at / "vault")
        stick = FolderDestination(at / "stick", disk=disk if where == "stick" else Disk(), workers=1)
        back_up(vault, stick, day=1, change_key=True)

    count = FaultyDisk()
    change(tmp_path / "count", count)
    assert count.steps > 10
    for step in range(1 + for_ever, count.steps + 1, STRIDE):
        at = tmp_path / f"step{step}"
        with contextlib.suppress(BackupError, StoreError):
            change(at, FaultyDisk(step, for_ever=for_ever))
        restore(FolderDestination(at / "stick"), at / "old", passphrase=PASSPHRASE, snapshot="2026-03-07")
        assert same_objects(whole, VaultFolder(at / "old"))
        vault = VaultFolder(at / "vault")
        assert back_up(vault, at / "stick", day=2, passphrase=None).ok, "it goes on unattended"
        assert same_objects(whole, brought_back(at / "stick", at / "new"))
        shutil.rmtree(at)


def same_objects(one: VaultFolder, two: VaultFolder) -> bool:
    stores = ObjectStore(one), ObjectStore(two)
    digests = list(stores[0].digests())
    return digests == list(stores[1].digests()) and all(stores[1].intact(d) for d in digests)
