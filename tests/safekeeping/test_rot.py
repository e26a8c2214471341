"""Rot at 200 random places of a vault and its backup: all of it is noticed, all of it is named."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from sample_vaults import PASSPHRASE, add_objects, back_up, contents, damage, make_vault

from vault.errors import BackupError
from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.fixity import verify
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.inspecting import InspectReport, inspect_backup
from vault.safekeeping.layout import stored_digest
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.state import BackupState

PLACES = 200
WAYS = ["flip", "cut", "empty", "grown", "gone", "swap"]


def hurt(path: Path, others: list[Path], how: str, rng: random.Random) -> None:
    if how == "swap":
        other = rng.choice([o for o in others if o.read_bytes() != path.read_bytes()])
        path.chmod(0o644)
        path.write_bytes(other.read_bytes())
        return
    damage(path, how, rng)


def mend(path: Path, content: bytes) -> None:
    if path.exists():
        path.chmod(0o644)
    path.write_bytes(content)


def named_in_vault(folder: VaultFolder, path: Path, lengths: dict[str, int]) -> bool:
    report = verify(folder, expected=lengths)
    found = [d.sha256 for d in (*report.damaged, *report.gone)]
    return found == [path.name] and bool((*report.damaged, *report.gone)[0].reason)


def named_in_backup(report: InspectReport, name: str) -> bool:
    """An object by its content, a snapshot by its time, key.age by its name; and nothing else."""
    digest = stored_digest(name)
    if digest is not None:
        return len(report.damaged) + len(report.gone) == 1 and not report.bad_snapshots
    words = ["key.age"] if name == "key.age" else [f"{name[19:21]}:{name[21:23]}:{name[23:25]}", name[10:26]]
    found = report.bad_snapshots
    return len(found) == 1 and any(w in found[0] for w in words) and not report.damaged


@pytest.mark.parametrize("seed", range(2))
def test_it_is_all_noticed_and_named(tmp_path: Path, seed: int) -> None:
    rng = random.Random(seed)
    folder = make_vault(tmp_path / "vault", n=7, seed=seed)
    stick = tmp_path / "stick"
    back_up(folder, stick)
    add_objects(folder, contents(3, seed=seed + 50)[2:])
    back_up(folder, stick, day=1)
    lengths = {d: ObjectStore(folder).size_of(d) for d in ObjectStore(folder).digests()}
    kept = sorted(p for p in folder.objects_path.rglob("*") if p.is_file())
    stored = sorted(p for p in stick.rglob("*") if p.is_file() and p.name != "READ-ME-FIRST.txt")
    for number in range(PLACES // 2):
        of_vault = number % 2 == 0
        files = kept if of_vault else stored
        how = WAYS[(number // 2) % len(WAYS)]
        path = rng.choice([f for f in files if f.stat().st_size > 1])
        content = path.read_bytes()
        alike = [f for f in files if f.parent.parent.name == path.parent.parent.name]
        if how == "swap" and len(alike) < 2:
            how = "flip"
        hurt(path, alike if len(alike) > 1 else files, how, rng)
        if of_vault:
            assert named_in_vault(folder, path, lengths), (path, how)
        else:
            name = path.relative_to(stick).as_posix()
            report = _inspected(stick, folder, with_key=name != "key.age" and how != "gone")
            if how != "gone" or not name.startswith("objects/"):
                assert named_in_backup(report, name), (name, how, report)
            if how == "gone" and name.startswith("objects/"):
                with_key = _inspected(stick, folder, with_key=True)
                assert len(with_key.gone) == 1, (name, how)
        mend(path, content)
    assert verify(folder, expected=lengths).ok
    assert _inspected(stick, folder, with_key=True).ok


def _inspected(stick: Path, folder: VaultFolder, *, with_key: bool) -> InspectReport:
    state = BackupState(folder)
    return inspect_backup(
        FolderDestination(stick),
        passphrase=PASSPHRASE if with_key else None,
        own_key=state.locked_key(),
        written=state.written(str(stick)),
    )


@pytest.mark.parametrize("how", ["flip", "cut", "gone", "empty"])
def test_a_rotten_key_file_is_named_and_mended_by_the_next_backup(tmp_path: Path, how: str) -> None:
    folder = make_vault(tmp_path / "vault", n=5)
    stick = tmp_path / "stick"
    back_up(folder, stick)
    whole = (stick / "key.age").read_bytes()
    damage(stick / "key.age", how, random.Random(1))
    report = inspect_backup(FolderDestination(stick), own_key=BackupState(folder).locked_key())
    assert not report.ok and "key.age" in report.bad_snapshots[0]
    assert back_up(folder, stick, day=1, passphrase=None).ok
    assert (stick / "key.age").read_bytes() == whole


def test_the_key_of_another_vault_is_not_mended_away(tmp_path: Path) -> None:
    one, two = make_vault(tmp_path / "one", n=5), make_vault(tmp_path / "two", n=6, seed=3)
    back_up(one, tmp_path / "stick")
    back_up(two, tmp_path / "other")
    key = (tmp_path / "stick" / "key.age").read_bytes()
    with pytest.raises(BackupError, match="another vault"):
        back_up(two, tmp_path / "stick", day=1)
    assert (tmp_path / "stick" / "key.age").read_bytes() == key
