"""Fixity checks and repair: whatever rots in the vault is noticed and named, and comes back from a copy."""

from __future__ import annotations

import random
import shutil
from datetime import date, datetime
from pathlib import Path

import pytest
from sample_vaults import PASSPHRASE, back_up, damage, make_vault

from vault.errors import BackupError
from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.fixity import verify
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.repair import repair
from vault.safekeeping.shelf import places


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    return make_vault(tmp_path / "vault", n=30)


def _sizes(folder: VaultFolder) -> dict[str, int]:
    store = ObjectStore(folder)
    return {d: store.size_of(d) for d in store.digests()}


def _victims(folder: VaultFolder, n: int) -> list[str]:
    return [d for d, size in sorted(_sizes(folder).items()) if size > 300][:n]


def test_a_sound_vault_is_sound(folder: VaultFolder) -> None:
    seen: list[tuple[int, int]] = []
    report = verify(folder, expected=_sizes(folder), progress=lambda done, total: seen.append((done, total)))
    assert report.ok and report.checked == 30 and report.n_bytes == sum(_sizes(folder).values())
    assert seen[-1] == (30, 30) and set(report.checked_digests) == set(_sizes(folder))


@pytest.mark.parametrize(
    "how, reason",
    [
        ("flip", "bytes have changed"),
        ("cut", "cut short"),
        ("empty", "it is empty"),
        ("grown", "longer than it was"),
        ("swapped", "bytes of another object"),
        ("link", "a link"),
    ],
)
def test_each_kind_of_rot_is_named_with_its_reason(folder: VaultFolder, how: str, reason: str) -> None:
    sizes = _sizes(folder)
    one, two, *_ = _victims(folder, 5)
    path = ObjectStore(folder).path_of(one)
    if how == "swapped":
        path.chmod(0o644)
        path.write_bytes(ObjectStore(folder).open(two).read())
    elif how == "link":
        path.unlink()
        path.symlink_to(ObjectStore(folder).path_of(two))
    else:
        damage(path, how, random.Random(3))
    report = verify(folder, expected=sizes)
    assert [d.sha256 for d in report.damaged] == [one] and not report.gone and not report.ok
    assert reason in report.damaged[0].reason
    assert report.damaged[0].name == places(folder).get(one, "")


def test_what_is_gone_is_named_even_if_it_is_not_in_the_sample(folder: VaultFolder) -> None:
    sizes = _sizes(folder)
    lost = _victims(folder, 2)
    for sha256 in lost:
        damage(ObjectStore(folder).path_of(sha256), "gone", random.Random(0))
    report = verify(folder, expected=sizes, sample=1, names={lost[0]: "Cloak A0.pdf"})
    assert [d.sha256 for d in report.gone] == lost and report.gone[0].name == "Cloak A0.pdf"
    assert report.checked == 1


@pytest.mark.parametrize("seed", range(4))
def test_rot_at_random_places_is_all_noticed(tmp_path: Path, seed: int) -> None:
    folder = make_vault(tmp_path / "vault", n=60, seed=seed)
    sizes = _sizes(folder)
    rng = random.Random(seed)
    victims = rng.sample([d for d, size in sizes.items() if size > 0], 25)
    for sha256 in victims:
        damage(ObjectStore(folder).path_of(sha256), rng.choice(["flip", "cut", "grown", "gone"]), rng)
    report = verify(folder, expected=sizes)
    assert {d.sha256 for d in (*report.damaged, *report.gone)} == set(victims)


def test_samples_take_the_longest_unchecked_first_and_add_up(folder: VaultFolder) -> None:
    digests = sorted(_sizes(folder))
    checked: dict[str, date | datetime | str] = {
        digests[0]: date(2026, 3, 1),
        digests[1]: datetime(2026, 2, 1, 12),
        digests[2]: "2026-01-01",
    }
    report = verify(folder, sample=len(digests) - 3, last_checked=checked)
    assert set(report.checked_digests) == set(digests[3:])
    checked.update(dict.fromkeys(report.checked_digests, "2026-03-02"))
    assert verify(folder, sample=3, last_checked=checked).checked_digests == (digests[2], digests[1], digests[0])


def test_a_time_budget_checks_at_least_one(folder: VaultFolder) -> None:
    assert verify(folder, seconds=0).checked == 1
    assert verify(folder, seconds=60).checked == 30


# Repair


@pytest.mark.parametrize("plain", [False, True])
def test_everything_comes_back_from_a_backup(folder: VaultFolder, tmp_path: Path, plain: bool) -> None:
    back_up(folder, tmp_path / "stick", plain=plain)
    shutil.rmtree(folder.shelf_path)
    sizes, rng = _sizes(folder), random.Random(1)
    victims = _victims(folder, 12)
    for n, sha256 in enumerate(victims):
        damage(ObjectStore(folder).path_of(sha256), ["flip", "cut", "gone"][n % 3], rng)
    report = repair(folder, victims, destination=FolderDestination(tmp_path / "stick"), passphrase=PASSPHRASE)
    assert report.repaired == tuple(victims) and not report.not_repaired
    assert verify(folder, expected=sizes).ok
    assert not list(folder.tmp_path.iterdir())


def test_the_shelf_heals_what_it_still_holds(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault", n=20)
    on_shelf = next(d for d in places(folder))
    damage(ObjectStore(folder).path_of(on_shelf), "gone", random.Random(0))
    assert repair(folder, [on_shelf]).repaired == (on_shelf,)
    assert ObjectStore(folder).intact(on_shelf)


def test_what_no_copy_exists_of_is_told(folder: VaultFolder, tmp_path: Path) -> None:
    back_up(folder, tmp_path / "stick")
    victim = _victims(folder, 1)[0]
    shutil.rmtree(folder.shelf_path)
    damage(ObjectStore(folder).path_of(victim), "flip", random.Random(0))
    assert [d.sha256 for d in repair(folder, [victim]).not_repaired] == [victim]
    stick = FolderDestination(tmp_path / "stick")
    with pytest.raises(BackupError) as caught:
        repair(folder, [victim], destination=stick)
    assert caught.value.code == "needs-passphrase"
    for path in (tmp_path / "stick" / "objects").rglob("*.age"):
        damage(path, "cut", random.Random(0))
    report = repair(folder, [victim, "ab" * 32], destination=stick, passphrase=PASSPHRASE)
    assert {d.sha256 for d in report.not_repaired} == {victim, "ab" * 32} and not report.repaired
    assert not ObjectStore(folder).intact(victim)


def test_repair_takes_an_older_snapshot_where_the_newest_is_rotten(folder: VaultFolder, tmp_path: Path) -> None:
    back_up(folder, tmp_path / "stick")
    back_up(folder, tmp_path / "stick", day=1)
    damage(tmp_path / "stick" / "snapshots" / "20260308T091500Z.age", "flip", random.Random(5))
    shutil.rmtree(folder.shelf_path)
    victim = _victims(folder, 1)[0]
    damage(ObjectStore(folder).path_of(victim), "flip", random.Random(0))
    stick = FolderDestination(tmp_path / "stick")
    assert repair(folder, [victim], destination=stick, passphrase=PASSPHRASE).repaired == (victim,)
