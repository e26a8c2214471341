"""A backup is checked where it lies: without a key by the names, with it also by the content."""

from __future__ import annotations

import io
import random
import shutil
from pathlib import Path

import pytest
from faulty_disk import tree
from sample_vaults import PASSPHRASE, back_up, damage, make_vault, same_vaults

from vault.errors import BackupError
from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.inspecting import inspect_backup
from vault.safekeeping.keys import seal
from vault.safekeeping.restore import restore


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    return make_vault(tmp_path / "vault")


def _objects(stick: Path) -> list[Path]:
    return sorted(p for p in (stick / "objects").rglob("*") if p.is_file() and p.stat().st_size > 250)


@pytest.mark.parametrize("plain", [False, True])
@pytest.mark.parametrize("passphrase", [None, PASSPHRASE])
def test_a_sound_backup_is_sound(folder: VaultFolder, tmp_path: Path, plain: bool, passphrase: str | None) -> None:
    back_up(folder, tmp_path / "stick", plain=plain)
    before = tree(tmp_path / "stick")
    report = inspect_backup(FolderDestination(tmp_path / "stick"), passphrase=passphrase)
    assert report.ok and report.checked == 12 and report.snapshots == ("2026-03-07T09:15:00Z",)
    assert report.with_key is (plain or passphrase is not None)
    assert tree(tmp_path / "stick") == before


@pytest.mark.parametrize("plain", [False, True])
@pytest.mark.parametrize("seed", range(3))
def test_rot_at_random_places_is_all_noticed_and_healed_by_the_next_backup(
    tmp_path: Path, seed: int, plain: bool
) -> None:
    folder = make_vault(tmp_path / "vault", n=40, seed=seed)
    back_up(folder, tmp_path / "stick", plain=plain)
    rng = random.Random(seed)
    victims = rng.sample(_objects(tmp_path / "stick"), 20)
    for path in victims:
        damage(path, rng.choice(["flip", "cut", "grown"]), rng)
    report = inspect_backup(FolderDestination(tmp_path / "stick"))
    assert {Path(name).name for name in report.damaged_names} == {p.name for p in victims} and not report.ok
    with_key = inspect_backup(FolderDestination(tmp_path / "stick"), passphrase=PASSPHRASE)
    assert with_key.damaged_names == report.damaged_names
    assert any("/" in d.name for d in with_key.damaged), "with the key the files are named"
    again = back_up(folder, tmp_path / "stick", day=1, plain=plain, distrust=report.damaged_names)
    assert again.new_objects == 20
    assert restore(FolderDestination(tmp_path / "stick"), tmp_path / "new", passphrase=PASSPHRASE).ok
    assert same_vaults(folder, VaultFolder(tmp_path / "new"))


def test_what_is_gone_or_of_other_content_is_only_seen_with_the_key(folder: VaultFolder, tmp_path: Path) -> None:
    import hashlib

    made = back_up(folder, tmp_path / "stick").made_key
    assert made is not None
    gone, swapped, *_ = _objects(tmp_path / "stick")
    gone.unlink()
    forged = io.BytesIO()
    seal(io.BytesIO(b"other content"), forged, made.recipients)
    name = hashlib.sha256(forged.getvalue()).hexdigest()
    added = tmp_path / "stick" / "objects" / name[:2] / f"{name}.age"
    added.parent.mkdir(exist_ok=True)
    added.write_bytes(forged.getvalue())
    assert inspect_backup(FolderDestination(tmp_path / "stick")).ok
    report = inspect_backup(FolderDestination(tmp_path / "stick"), passphrase=PASSPHRASE)
    assert len(report.gone) == 1 and not report.damaged, "an added object that no list names does no harm"
    assert swapped.exists()


def test_a_rotten_snapshot_is_named_with_the_key(folder: VaultFolder, tmp_path: Path) -> None:
    back_up(folder, tmp_path / "stick")
    back_up(folder, tmp_path / "stick", day=1)
    damage(tmp_path / "stick" / "snapshots" / "20260307T091500Z.age", "flip", random.Random(3))
    report = inspect_backup(FolderDestination(tmp_path / "stick"), passphrase=PASSPHRASE)
    assert len(report.bad_snapshots) == 1 and "2026-03-07T09:15:00Z" in report.bad_snapshots[0]


def test_wrong_key_and_nothing_there(folder: VaultFolder, tmp_path: Path) -> None:
    back_up(folder, tmp_path / "stick")
    with pytest.raises(BackupError) as caught:
        inspect_backup(FolderDestination(tmp_path / "stick"), passphrase="wrong")
    assert caught.value.code == "wrong-passphrase"
    shutil.rmtree(tmp_path / "stick" / "snapshots")
    assert inspect_backup(FolderDestination(tmp_path / "stick")).snapshots == ()
    with pytest.raises(BackupError):
        inspect_backup(FolderDestination(tmp_path / "nowhere"))
