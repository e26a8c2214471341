"""The writing side: layout, order of writing, what is stored again, whose backup it is, and what a fault leaves."""

from __future__ import annotations

import errno
import random
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, BinaryIO

import pytest
from faulty_disk import FaultyDisk, tree
from sample_vaults import FIRST, PASSPHRASE, add_objects, back_up, damage, make_vault, same_vaults

from vault.errors import BackupError, StoreError
from vault.safekeeping.backup import backup
from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.layout import is_sealed, snapshot_name, stored_digest
from vault.safekeeping.lock import FileLock
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.ownership import key_of_vault
from vault.safekeeping.restore import restore
from vault.safekeeping.state import BackupState


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    return make_vault(tmp_path / "vault")


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    return tmp_path / "stick"


def restored(stick: Path, to: Path, **options: Any) -> VaultFolder:
    options = options or {"passphrase": PASSPHRASE}
    report = restore(FolderDestination(stick), to, **options)
    assert report.ok, report
    return VaultFolder(to)


# Layout


def test_the_layout_is_that_of_the_format(folder: VaultFolder, stick: Path) -> None:
    report = back_up(folder, stick)
    names = set(tree(stick))
    assert {"READ-ME-FIRST.txt", "key.age", "snapshots/20260307T091500Z.age"} <= names
    objects = {n for n in names if n.startswith("objects/")}
    assert len(objects) == report.objects == report.new_objects == 12
    assert names == objects | {"READ-ME-FIRST.txt", "key.age", "snapshots/20260307T091500Z.age"}
    assert report.snapshot == "2026-03-07T09:15:00Z" and report.sealed and report.ok


@pytest.mark.parametrize("plain", [False, True])
def test_every_object_is_named_after_its_stored_bytes(folder: VaultFolder, stick: Path, plain: bool) -> None:
    import hashlib

    back_up(folder, stick, plain=plain)
    for name, content in tree(stick).items():
        if name.startswith("objects/"):
            assert stored_digest(name) == hashlib.sha256(content).hexdigest()
            assert is_sealed(name) is not plain


def test_an_encrypted_backup_tells_nothing(folder: VaultFolder, stick: Path) -> None:
    report = back_up(folder, stick)
    assert report.made_key is not None
    everything = b"\0".join(name.encode() + content for name, content in tree(stick).items())
    store = ObjectStore(folder)
    for secret in (*report.made_key.identities, *report.made_key.recipients, PASSPHRASE, "Lark", "Doublet"):
        assert secret.encode() not in everything
    for sha256 in store.digests():
        assert sha256.encode() not in everything
        content = store.open(sha256).read()
        assert len(content) < 100 or content[:64] not in everything


def test_the_vault_folder_never_holds_the_secret_key_in_the_clear(folder: VaultFolder, stick: Path) -> None:
    report = back_up(folder, stick)
    assert report.made_key is not None and "AGE-SECRET" not in repr(report)
    everything = b"\0".join(tree(folder.root).values())
    assert report.made_key.identities[0].encode() not in everything and PASSPHRASE.encode() not in everything
    assert folder.settings().recipients == report.made_key.recipients
    assert key_of_vault(folder, PASSPHRASE) == report.made_key


def test_the_plain_kind_is_readable_as_it_is(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    report = back_up(folder, stick, plain=True, passphrase=None)
    assert report.made_key is None and not report.sealed
    files = tree(stick)
    assert "key.age" not in files and b"NOT encrypted" in files["READ-ME-FIRST.txt"]
    for sha256 in ObjectStore(folder).digests():
        assert files[f"objects/{sha256[:2]}/{sha256}"] == ObjectStore(folder).open(sha256).read()
    assert same_vaults(folder, restored(stick, tmp_path / "new", snapshot=None))


def test_what_lies_in_a_backup_can_be_read_by_another_user_only_if_it_is_encrypted(
    folder: VaultFolder, tmp_path: Path
) -> None:
    back_up(folder, tmp_path / "sealed")
    back_up(folder, tmp_path / "plain", plain=True)
    assert all(p.stat().st_mode & 0o044 for p in (tmp_path / "sealed").rglob("*.age"))
    assert not any(p.stat().st_mode & 0o077 for p in (tmp_path / "plain" / "objects").rglob("*") if p.is_file())


# Incremental


def test_the_second_backup_writes_only_what_is_new(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    before = tree(stick)
    add_objects(folder, [b"a new doublet", b"its receipt"])
    report = back_up(folder, stick, day=1, passphrase=None)
    after = tree(stick)
    assert report.new_objects == 2 and report.objects == 14
    assert {n for n in after if n not in before} - {n for n in after if n.startswith("objects/")} == {
        "snapshots/20260308T091500Z.age"
    }
    assert len(after) == len(before) + 3
    assert all(after[name] == content for name, content in before.items()), "what is there never changes"
    assert same_vaults(folder, restored(stick, tmp_path / "new"))


def test_backing_up_unattended_needs_no_passphrase_even_to_another_destination(
    folder: VaultFolder, stick: Path, tmp_path: Path
) -> None:
    back_up(folder, stick)
    back_up(folder, tmp_path / "second", passphrase=None)
    assert (tmp_path / "second" / "key.age").read_bytes() == (stick / "key.age").read_bytes()
    assert folder.settings().destinations == (str(stick), str(tmp_path / "second"))
    shutil.rmtree(stick)
    assert same_vaults(folder, restored(tmp_path / "second", tmp_path / "new"))


def test_a_copied_stick_is_recognised_by_what_lies_on_it(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    shutil.copytree(stick, tmp_path / "copy")
    assert back_up(folder, tmp_path / "copy", day=1, passphrase=None).new_objects == 0


def test_lost_memory_of_backups_costs_room_and_no_data(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    (folder.backups_path / "placed.tsv").unlink()
    assert back_up(folder, stick, day=1, passphrase=None).new_objects == 12
    assert same_vaults(folder, restored(stick, tmp_path / "new"))


def test_lost_memory_is_read_back_from_the_newest_snapshot(folder: VaultFolder, stick: Path) -> None:
    back_up(folder, stick)
    shutil.rmtree(folder.backups_path)
    report = back_up(folder, stick, day=1)
    assert report.new_objects == 0 and report.objects == 12


def test_a_torn_line_in_the_memory_is_passed_over(folder: VaultFolder, stick: Path) -> None:
    back_up(folder, stick)
    placed = folder.backups_path / "placed.tsv"
    placed.write_bytes(placed.read_bytes()[:-70])
    assert back_up(folder, stick, day=1, passphrase=None).new_objects == 1
    assert back_up(folder, stick, day=2, passphrase=None).new_objects == 0


def test_a_restored_vault_goes_on_where_the_old_one_stopped(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    new = restored(stick, tmp_path / "new")
    add_objects(new, [b"bought on the new computer"])
    assert back_up(new, stick, day=1, passphrase=None).new_objects == 1
    assert same_vaults(new, restored(stick, tmp_path / "newer"))


@pytest.mark.parametrize("plain", [False, True])
@pytest.mark.parametrize("how", ["gone", "cut", "empty"])
def test_what_the_destination_lost_is_stored_again(
    folder: VaultFolder, stick: Path, tmp_path: Path, how: str, plain: bool
) -> None:
    back_up(folder, stick, plain=plain)
    victims = sorted(p for p in (stick / "objects").rglob("*") if p.is_file() and p.stat().st_size > 250)[:3]
    for victim in victims:
        damage(victim, how, random.Random(1))
    assert back_up(folder, stick, day=1, plain=plain).new_objects == 3
    assert same_vaults(folder, restored(stick, tmp_path / "new"))


def test_a_lost_key_file_is_written_again_and_told(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    (stick / "key.age").unlink()
    (stick / "READ-ME-FIRST.txt").unlink()
    report = back_up(folder, stick, day=1, passphrase=None)
    assert any("key.age" in note for note in report.notes)
    assert same_vaults(folder, restored(stick, tmp_path / "new"))
    assert (stick / "READ-ME-FIRST.txt").is_file()


def test_a_clock_that_went_back_does_not_hide_the_newest_snapshot(
    folder: VaultFolder, stick: Path, tmp_path: Path
) -> None:
    back_up(folder, stick, now=datetime(2031, 1, 1, tzinfo=UTC))
    add_objects(folder, [b"newest"])
    assert back_up(folder, stick).snapshot == "2031-01-01T00:00:01Z"
    assert same_vaults(folder, restored(stick, tmp_path / "new"))


# What is damaged in the vault


def test_a_rotten_object_is_named_and_not_stored(folder: VaultFolder, stick: Path) -> None:
    store = ObjectStore(folder)
    victim = next(d for d in store.digests() if store.size_of(d) > 100)
    damage(store.path_of(victim), "flip", random.Random(0))
    report = back_up(folder, stick)
    assert [d.sha256 for d in report.damaged] == [victim] and not report.ok
    assert report.objects == 11


def test_an_earlier_copy_of_a_rotten_or_lost_object_stays_in_use(
    folder: VaultFolder, stick: Path, tmp_path: Path
) -> None:
    before = {d: ObjectStore(folder).open(d).read() for d in ObjectStore(folder).digests()}
    back_up(folder, stick)
    rotten, lost = sorted(before, key=lambda d: len(before[d]))[-2:]
    damage(ObjectStore(folder).path_of(rotten), "flip", random.Random(0))
    damage(ObjectStore(folder).path_of(lost), "gone", random.Random(0))
    report = back_up(folder, stick, day=1, expected=before.keys())
    assert [d.sha256 for d in report.gone] == [lost] and "still has it" in report.gone[0].reason
    new = ObjectStore(restored(stick, tmp_path / "new"))
    assert {d: new.open(d).read() for d in new.digests()} == before


def test_an_object_that_no_copy_exists_of_is_named(folder: VaultFolder, stick: Path) -> None:
    report = back_up(folder, stick, expected=["ab" * 32])
    assert [d.sha256 for d in report.gone] == ["ab" * 32] and "not in this backup" in report.gone[0].reason


# Whose backup it is


def test_the_first_backup_asks_for_a_passphrase(folder: VaultFolder, stick: Path) -> None:
    with pytest.raises(BackupError) as caught:
        back_up(folder, stick, passphrase=None)
    assert caught.value.code == "needs-passphrase"
    with pytest.raises(BackupError) as caught:
        back_up(folder, stick, passphrase="")
    assert caught.value.code == "empty-passphrase"
    assert folder.settings().recipients == ()
    assert [n for n in tree(stick) if n.endswith(".age")] == []


@pytest.mark.parametrize("passphrase", [None, PASSPHRASE, "other"])
def test_the_backup_of_another_vault_is_never_written_into(
    folder: VaultFolder, stick: Path, tmp_path: Path, passphrase: str | None
) -> None:
    back_up(folder, stick)
    before = tree(stick)
    fresh, other = make_vault(tmp_path / "fresh", seed=1), make_vault(tmp_path / "other", seed=2)
    back_up(other, tmp_path / "second", passphrase="other")
    for vault in (fresh, other):
        with pytest.raises(BackupError) as caught:
            back_up(vault, stick, passphrase=passphrase)
        assert caught.value.code in ("other-vault", "wrong-passphrase")
        assert tree(stick) == before


def test_the_plain_backup_of_another_vault_is_never_written_into(
    folder: VaultFolder, stick: Path, tmp_path: Path
) -> None:
    back_up(folder, stick, plain=True)
    with pytest.raises(BackupError) as caught:
        back_up(make_vault(tmp_path / "other", seed=1), stick, plain=True)
    assert caught.value.code == "other-vault"
    (folder.backups_path / "destinations.json").unlink()
    assert back_up(folder, stick, day=1, plain=True).new_objects == 0, "its own is recognised by the vault's name"


@pytest.mark.parametrize("plain", [False, True])
def test_plain_and_encrypted_are_not_mixed(folder: VaultFolder, stick: Path, plain: bool) -> None:
    back_up(folder, stick, plain=plain)
    with pytest.raises(BackupError) as caught:
        back_up(folder, stick, day=1, plain=not plain)
    assert caught.value.code == "other-kind" and "--plain" in caught.value.next_step


def test_the_vaults_lost_copy_of_the_key_is_taken_back_with_the_passphrase(folder: VaultFolder, stick: Path) -> None:
    back_up(folder, stick)
    (folder.backups_path / "key.age").unlink()
    with pytest.raises(BackupError) as caught:
        back_up(folder, stick, day=1, passphrase=None)
    assert caught.value.code == "needs-passphrase"
    with pytest.raises(BackupError) as caught:
        back_up(folder, stick, day=1, passphrase="wrong")
    assert caught.value.code == "wrong-passphrase"
    back_up(folder, stick, day=1)
    assert BackupState(folder).locked_key() == (stick / "key.age").read_bytes()


def test_an_empty_folder_where_a_backup_was_is_an_unplugged_stick(folder: VaultFolder, stick: Path) -> None:
    back_up(folder, stick)
    shutil.rmtree(stick)
    stick.mkdir()
    with pytest.raises(BackupError) as caught:
        back_up(folder, stick, day=1)
    assert caught.value.code == "missing" and "vault.toml" in caught.value.next_step
    folder.change_settings(destinations=())
    assert back_up(folder, stick, day=1).new_objects == 12


def test_a_destination_that_lost_its_newest_snapshot_is_told(folder: VaultFolder, stick: Path) -> None:
    back_up(folder, stick)
    back_up(folder, stick, day=1)
    (stick / "snapshots" / "20260308T091500Z.age").unlink()
    report = back_up(folder, stick, day=2)
    assert any("2026-03-08T09:15:00Z" in note for note in report.notes)


def test_one_backup_at_a_time(folder: VaultFolder, stick: Path) -> None:
    state = BackupState(folder)
    state.make()
    with FileLock(state.lock_path, "the backup"), pytest.raises(StoreError) as caught:
        back_up(folder, stick)
    assert caught.value.code == "locked"


def test_without_a_catalogue_there_is_nothing_to_back_up(tmp_path: Path, stick: Path) -> None:
    folder = VaultFolder(tmp_path / "v")
    folder.create()
    with pytest.raises(StoreError, match="no catalogue"):
        backup(folder, FolderDestination(stick), catalogue_snapshot=folder.catalogue_path, now=FIRST, plain=True)


# Order of writing, faults


class WatchedDestination(FolderDestination):
    """Notes the order in which names become durable."""

    def __init__(self, root: Path) -> None:
        super().__init__(root)
        self.order: list[str] = []
        self._known: set[str] = set()

    def flush(self) -> None:
        super().flush()
        names = {stored.name for stored in self.listing()}
        self.order += sorted(names - self._known)
        self._known |= names


def test_the_snapshot_is_written_last_and_the_key_before_any_object(folder: VaultFolder, stick: Path) -> None:
    watched = WatchedDestination(stick)
    back_up(folder, watched)
    kinds = [name.split("/")[0] for name in watched.order if name != "in-use.json"]
    assert kinds == ["READ-ME-FIRST.txt", "key.age", *["objects"] * 12, "snapshots"]


@pytest.mark.parametrize("number, plain", [(errno.ENOSPC, False), (errno.EIO, True)])
def test_a_fault_of_the_destination_at_any_step_harms_no_older_snapshot(
    tmp_path: Path, number: int, plain: bool
) -> None:
    folder = make_vault(tmp_path / "vault", n=3)
    back_up(folder, tmp_path / "first", plain=plain)
    first = VaultFolder(tmp_path / "as-of-first")
    shutil.copytree(folder.root, first.root)
    add_objects(folder, [b"new one", b"x" * 70_000])
    base = tmp_path / "base"
    shutil.copytree(folder.root, base / "vault")
    steps = FaultyDisk()
    shutil.copytree(tmp_path / "first", base / "stick")
    back_up(VaultFolder(base / "vault"), FolderDestination(base / "stick", disk=steps, workers=1), day=1, plain=plain)
    assert steps.steps > 10
    for step in range(1, steps.steps + 1):
        at = tmp_path / f"step{step}"
        shutil.copytree(folder.root, at / "vault")
        shutil.copytree(tmp_path / "first", at / "stick")
        vault = VaultFolder(at / "vault")
        disk = FaultyDisk(step, number=number)
        try:
            back_up(vault, FolderDestination(at / "stick", disk=disk, workers=1), day=1, plain=plain)
        except BackupError as error:
            assert str(at / "stick") in error.message and error.next_step
            assert not list(at.rglob("*.part")), "a failed run leaves no temporary files"
        else:
            # Names are random, so a run may need a folder less; and letting go of the lease, last of all, may fail.
            assert disk.steps <= step
        options = {} if plain else {"passphrase": PASSPHRASE}
        old = restored(at / "stick", at / "old", snapshot="2026-03-07", **options)
        assert same_vaults(first, old)
        back_up(vault, at / "stick", day=2, plain=plain)
        assert same_vaults(vault, restored(at / "stick", at / "new", snapshot=None, **options))
        shutil.rmtree(at)


def test_a_fault_of_the_vaults_own_disk_at_any_step_harms_nothing(tmp_path: Path) -> None:
    whole = make_vault(tmp_path / "vault", n=3)
    count = FaultyDisk()
    shutil.copytree(whole.root, tmp_path / "count")
    back_up(VaultFolder(tmp_path / "count", disk=count), tmp_path / "count-stick")
    assert count.steps > 10
    for step in range(1, count.steps + 1):
        at = tmp_path / f"step{step}"
        shutil.copytree(whole.root, at / "vault")
        with pytest.raises((BackupError, StoreError)):
            back_up(VaultFolder(at / "vault", disk=FaultyDisk(step)), at / "stick")
        back_up(VaultFolder(at / "vault"), at / "stick", day=1)
        assert same_vaults(whole, restored(at / "stick", at / "new"))


def test_a_full_destination_keeps_what_fitted(folder: VaultFolder, stick: Path) -> None:
    class SmallDisk(FaultyDisk):
        """Takes so many files and no more."""

        def create(self, path: Path, *, mode: int = 0o600) -> BinaryIO:
            if self.seen["create"] == 8:
                raise OSError(errno.ENOSPC, "No space left on device")
            return super().create(path, mode=mode)

    with pytest.raises(BackupError) as caught:
        back_up(folder, FolderDestination(stick, disk=SmallDisk(), workers=1))
    assert caught.value.code == "full"
    assert {n.split("/")[0] for n in tree(stick)} == {"READ-ME-FIRST.txt", "key.age", "objects"}
    assert back_up(folder, stick, day=1).new_objects == 12 - 5


def test_what_a_killed_run_left_on_a_full_destination_is_swept_first(folder: VaultFolder, stick: Path) -> None:
    class FullUntilSwept(FaultyDisk):
        def create(self, path: Path, *, mode: int = 0o600) -> BinaryIO:
            if (stick / "tmp" / "1-0123456789abcdef.part").exists():
                raise OSError(errno.ENOSPC, "No space left on device")
            return super().create(path, mode=mode)

    (stick / "tmp").mkdir(parents=True)
    (stick / "tmp" / "1-0123456789abcdef.part").write_bytes(b"half")
    (stick / "in-use.json").write_bytes(b"{}")
    assert back_up(folder, FolderDestination(stick, disk=FullUntilSwept(), workers=1)).ok


class UnreadableHandle:
    """A file on a dying disk."""

    def __init__(self, handle: BinaryIO) -> None:
        self._handle = handle

    def read(self, n: int, /) -> bytes:
        raise OSError(errno.EIO, "Input/output error")

    def __enter__(self) -> UnreadableHandle:
        return self

    def __exit__(self, *at: object) -> None:
        self._handle.close()


def test_an_object_the_disk_cannot_read_costs_only_itself(
    folder: VaultFolder, stick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    victim = list(ObjectStore(folder).digests())[3]
    really = ObjectStore.open

    def dying(self: ObjectStore, sha256: str) -> Any:
        handle = really(self, sha256)
        return UnreadableHandle(handle) if sha256 == victim else handle

    monkeypatch.setattr(ObjectStore, "open", dying)
    report = back_up(folder, stick)
    assert [d.sha256 for d in report.damaged] == [victim] and "cannot be read" in report.damaged[0].reason
    assert report.objects == 11


def test_progress_counts_objects(folder: VaultFolder, stick: Path) -> None:
    seen: list[tuple[int, int]] = []
    back_up(folder, stick, progress=lambda done, total: seen.append((done, total)))
    assert seen == [(n, 12) for n in range(1, 13)]


def test_snapshot_names() -> None:
    assert snapshot_name("snapshots/20260307T091500Z.age") is not None
    for name in ("snapshots/20261399T091500Z.age", "snapshots/x.age", "20260307T091500Z.age", "snapshots/a/b.age"):
        assert snapshot_name(name) is None
