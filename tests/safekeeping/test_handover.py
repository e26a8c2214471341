"""Handing a vault over: a valid bag with readable names, whole or not at all, with nothing rotten in it."""

from __future__ import annotations

import json
import random
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sample_vaults import damage, make_vault

from vault.bagit import check_bag
from vault.errors import StoreError, UsageError
from vault.safekeeping import handover
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.handover import HandoverFile, HandoverReport, arrange, hand_over
from vault.safekeeping.names import folded
from vault.safekeeping.objects import ObjectStore

DAY = date(2026, 3, 7)


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    return make_vault(tmp_path / "vault", n=7)


def bag(folder: VaultFolder, to: Path, **options: Any) -> HandoverReport:
    digests = list(ObjectStore(folder).digests())
    files = options.pop("files", {d: f"patterns/Lark/{d[:4]}.pdf" for d in digests})
    return hand_over(
        folder,
        to,
        files=files,
        texts=lambda lacking: {"catalogue/lacking.json": json.dumps(dict(lacking)).encode()},
        read_me=b"Begin with the folder data.\n",
        info=[("Contact-Name", "Ada")],
        day=DAY,
        **options,
    )


def test_a_vault_becomes_a_valid_bag(folder: VaultFolder, tmp_path: Path) -> None:
    bagit = pytest.importorskip("bagit")
    seen: list[tuple[int, int]] = []
    report = bag(folder, tmp_path / "bag", progress=lambda done, total: seen.append((done, total)))
    assert report.ok and report.files == 8 and seen[-1] == (7, 7) and report.warnings == ()
    checked = check_bag(tmp_path / "bag")
    assert checked.valid and ("Contact-Name", "Ada") in checked.info
    assert bagit.Bag(str(tmp_path / "bag")).is_valid()
    store = ObjectStore(folder)
    for sha256 in store.digests():
        path = tmp_path / "bag" / "data" / "patterns" / "Lark" / f"{sha256[:4]}.pdf"
        assert path.read_bytes() == store.open(sha256).read()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bag", "vault"]


@pytest.mark.parametrize("how", ["flip", "cut", "grown", "gone"])
def test_what_has_rotted_is_left_out_and_named(folder: VaultFolder, tmp_path: Path, how: str) -> None:
    store = ObjectStore(folder)
    sha256 = max(store.digests(), key=store.size_of)
    files = {d: f"patterns/Lark/{d[:4]}.pdf" for d in store.digests()}
    damage(store.path_of(sha256), how, random.Random(3))
    report = bag(folder, tmp_path / "bag", files=files)
    assert [d.sha256 for d in (report.gone if how == "gone" else report.damaged)] == [sha256]
    assert not report.ok and check_bag(report.bag).valid
    assert json.loads((report.bag / "data/catalogue/lacking.json").read_text()).keys() == {sha256}
    assert not list(report.bag.rglob(f"{sha256[:4]}*"))


def test_what_is_there_is_left_alone(folder: VaultFolder, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "diary.txt").write_text("x")
    (tmp_path / "file").write_text("x")
    for to in (tmp_path / "mine", tmp_path / "file", folder.root / "bag"):
        with pytest.raises(UsageError):
            bag(folder, to)
    (tmp_path / "empty").mkdir()
    assert bag(folder, tmp_path / "empty").ok


def test_too_little_room_is_said_before_anything_is_written(
    folder: VaultFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(handover, "free_bytes", lambda _: 1000)
    with pytest.raises(StoreError, match="MB left") as caught:
        bag(folder, tmp_path / "bag")
    assert caught.value.code == "no-room"
    assert [p.name for p in tmp_path.iterdir()] == ["vault"]


def test_a_failing_disk_leaves_nothing(folder: VaultFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> bool:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("vault.bagit.BagBuilder.add_bytes", fails)
    with pytest.raises(StoreError) as caught:
        bag(folder, tmp_path / "bag")
    assert caught.value.code == "full"
    assert [p.name for p in tmp_path.iterdir()] == ["vault"]


def test_what_an_interrupted_run_left_is_cleared_away(folder: VaultFolder, tmp_path: Path) -> None:
    (tmp_path / "bag.not-finished" / "data").mkdir(parents=True)
    (tmp_path / "bag.not-finished" / "data" / "half.pdf").write_bytes(b"x")
    assert bag(folder, tmp_path / "bag").ok
    assert not (tmp_path / "bag.not-finished").exists()


TEXT = st.text(max_size=12)


@given(st.lists(st.tuples(st.lists(TEXT, max_size=3), TEXT), max_size=8))
def test_any_names_give_distinct_legal_paths(rows: list[tuple[list[str], str]]) -> None:
    files = [
        HandoverFile(sha256=f"{n:064x}", folders=tuple(folders), name=name) for n, (folders, name) in enumerate(rows)
    ]
    places = arrange(files)
    assert places.keys() == {f.sha256 for f in files}
    assert len({folded(p) for p in places.values()}) == len(files)
    assert not any("%" in p or p.startswith("/") or "//" in p or ".." in p.split("/") for p in places.values())


def test_names_that_differ_in_case_only_share_a_folder_and_get_numbers() -> None:
    names = [("Lark", "Cloak.pdf"), ("LARK", "cloak.PDF"), ("lark", "50% cloak.pdf")]
    files = [HandoverFile(sha256=f"{n:064x}", folders=(a,), name=b) for n, (a, b) in enumerate(names)]
    assert list(arrange(files).values()) == ["Lark/Cloak.pdf", "Lark/cloak (2).PDF", "Lark/50_ cloak.pdf"]
