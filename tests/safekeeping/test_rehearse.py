"""The fire drill: it proves what it says, and notices what the restore does not say."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from faulty_disk import tree
from sample_vaults import PASSPHRASE, add_objects, back_up, damage, make_vault

from vault.errors import BackupError
from vault.safekeeping import rehearse as rehearse_module
from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.rehearse import Check, RehearsalReport, rehearse


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    return make_vault(tmp_path / "vault")


@pytest.fixture
def stick(folder: VaultFolder, tmp_path: Path) -> Path:
    back_up(folder, tmp_path / "stick")
    return tmp_path / "stick"


def _catalogue_sound(restored: VaultFolder) -> list[str]:
    with closing(sqlite3.connect(restored.catalogue_path)) as catalogue:
        rows = {row[0] for row in catalogue.execute("select sha256 from files")}
    missing = rows - set(ObjectStore(restored).digests())
    return [f"the catalogue names {len(missing)} objects that are not there"] if missing else []


CHECKS = [Check(words="every file that the catalogue names is there", run=_catalogue_sound)]


def drill(stick: Path, tmp_path: Path, **options: object) -> RehearsalReport:
    scratch = tmp_path / "scratch"
    scratch.mkdir(exist_ok=True)
    options = {"passphrase": PASSPHRASE, "checks": CHECKS, "scratch": scratch, **options}
    try:
        return rehearse(FolderDestination(stick), **options)  # type: ignore[arg-type]
    finally:
        assert not list(scratch.iterdir()), "the scratch folder is always removed"


def test_a_good_backup_is_proved(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    before = tree(stick)
    report = drill(stick, tmp_path, held_today=list(ObjectStore(folder).digests()))
    assert report.ok and report.checked == 12 and report.snapshot == "2026-03-07T09:15:00Z"
    assert report.proved[-1] == CHECKS[0].words and "passphrase" in report.proved[0]
    assert any("recovery sheet" in point for point in report.not_proved)
    assert tree(stick) == before, "a rehearsal writes nothing into the backup"


def test_what_the_vault_holds_since_is_told(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    add_objects(folder, [b"since", b"then"])
    report = drill(stick, tmp_path, held_today=list(ObjectStore(folder).digests()))
    assert report.ok and "2 files that the vault holds today" in report.not_proved[0]


@pytest.mark.parametrize("how", ["flip", "cut", "gone"])
def test_rot_in_the_backup_is_named(stick: Path, tmp_path: Path, how: str) -> None:
    victim = max((p for p in (stick / "objects").rglob("*.age")), key=lambda p: p.stat().st_size)
    damage(victim, how, random.Random(2))
    report = drill(stick, tmp_path)
    assert not report.ok and len(report.damaged) + len(report.gone) == 1
    assert report.problems == ("the catalogue names 1 objects that are not there",)
    assert CHECKS[0].words not in report.proved


def test_the_drill_does_not_believe_the_restore(stick: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    really = rehearse_module.restore

    def careless(*args: object, **options: object) -> object:
        report = really(*args, **options)  # type: ignore[arg-type]
        one, two, *_ = (d for d in ObjectStore(VaultFolder(report.target)).digests())
        damage(ObjectStore(VaultFolder(report.target)).path_of(one), "grown", random.Random(0))
        damage(ObjectStore(VaultFolder(report.target)).path_of(two), "gone", random.Random(0))
        return report

    monkeypatch.setattr(rehearse_module, "restore", careless)
    report = drill(stick, tmp_path)
    assert [len(report.damaged), len(report.gone)] == [1, 1] and not report.ok


def test_a_wrong_passphrase_is_told_and_leaves_nothing(stick: Path, tmp_path: Path) -> None:
    with pytest.raises(BackupError) as caught:
        drill(stick, tmp_path, passphrase="wrong")
    assert caught.value.code == "wrong-passphrase"


def test_the_checker_shares_no_code_with_the_writer() -> None:
    """Followed through the imports of the package: the reading side never reaches a module of the writing side."""
    import ast

    import vault.safekeeping as package

    here = Path(package.__file__ or "").parent
    reached, todo = set(), ["rehearse"]
    while todo:
        module = todo.pop()
        if module in reached:
            continue
        reached.add(module)
        for node in ast.walk(ast.parse((here / f"{module}.py").read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("vault.safekeeping."):
                todo.append((node.module or "").split(".")[2])
    assert {"restore", "unpacking"} <= reached
    assert not reached & {"backup", "packing", "ownership", "readme"}
