"""The catalogue made anew from objects/ alone: the same purchases, ids, files and answers as before."""

from __future__ import annotations

import io
import json
import zipfile
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from stand_ins import mail, pdf, put, readers

from vault.catalogue import Catalogue
from vault.errors import StoreError
from vault.intake.ingest import ingest
from vault.intake.originals import originals
from vault.intake.rebuild import BEFORE, RebuildReport, rebuild_catalogue
from vault.intake.recording import record_purchase
from vault.intake.remembering import is_record, keep_records, kept_records
from vault.model.event import log_problems
from vault.model.match import Answer
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.repair import repair

DAY = date(2026, 3, 7)
FROM = b"From orders@thimblewick.example Sun Mar  1 10:00:00 2026\n"


def zipped(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        for name, content in files.items():
            made.writestr(name, content)
    return out.getvalue()


@pytest.fixture
def inbox(tmp_path: Path) -> Path:
    put(
        tmp_path / "in",
        {
            "Inbox": b"".join(
                FROM + mail(*lines, number=n) + b"\n"
                for n, lines in enumerate([["Hello"], ["Order: B", "Item: Cloak"]])
            ),
            "a.eml": mail("Order: A", "Item: Skirt", number=7, attached={"skirt.pdf": pdf("PATTERN", "Title: Skirt")}),
            "downloads/Cloak A4.pdf": pdf("PATTERN", "Title: Cloak"),
            "downloads/copy/Cloak A4 (1).pdf": pdf("PATTERN", "Title: Cloak"),
            "downloads/hats.zip": zipped(
                {"hats/top.pdf": pdf("PATTERN", "Title: Top"), "hats/cap.pdf": pdf("PATTERN", "Title: Cap")}
            ),
            "downloads/unsure.pdf": pdf("who knows"),
            "downloads/vest.txt": b"PATTERN cast on",
            "closing.eml": mail("Closing: 2026-12-31", number=8),
        },
    )
    return tmp_path / "in"


@pytest.fixture
def folder(tmp_path: Path, inbox: Path) -> VaultFolder:
    folder = VaultFolder(tmp_path / "vault")
    folder.create()
    ingest(folder, [inbox], day=DAY, readers=readers())
    with VaultLock(folder), Catalogue.open(folder.catalogue_path) as catalogue:
        item = catalogue.purchases()[0].items[0].item.id
        catalogue.add_answer(Answer(item_id=item, rejected=("f" * 64,)))
        catalogue.set_seller("Thimblewick", status="closing", closes_on=date(2026, 12, 31))
        catalogue.add_event("verify", "done", at=datetime(2026, 3, 7, tzinfo=UTC))
        keep_records(folder, catalogue)
    return folder


def state(folder: VaultFolder) -> dict[str, object]:
    with Catalogue.open_read_only(folder.catalogue_path) as c:
        assert c.check() == []
        sources = {d: c.sources(d) for d in c.kept_names()}
        return {
            "purchases": c.purchases(),
            "files": sorted(c.files(), key=lambda v: v.file.sha256),
            "claims": c.claims(),
            "notices": c.notices(),
            "answers": c.answers(),
            "events": c.events(),
            "sources": {d: s for d, s in sources.items() if s},
            "names": c.kept_names(),
            "records": c.records(),
        }


def rebuild(folder: VaultFolder) -> RebuildReport:
    return rebuild_catalogue(folder, day=DAY, readers=readers())


def destroy(folder: VaultFolder, how: str) -> None:
    for path in folder.root.glob("catalogue.sqlite*"):
        if how == "gone":
            path.unlink()
        else:
            path.write_bytes(b"\xff" * 10_000)


def test_it_comes_out_the_same(folder: VaultFolder) -> None:
    before = state(folder)
    objects = set(ObjectStore(folder).digests())
    report = rebuild(folder)
    assert state(folder) == before
    assert set(ObjectStore(folder).digests()) == objects
    assert report.brought_back == 2 and report.log_kept and not report.damaged and not report.not_understood
    assert (folder.backups_path / BEFORE).is_file() and not list(folder.tmp_path.iterdir())


@pytest.mark.parametrize("how", ["gone", "garbage"])
def test_without_the_old_one_only_the_log_is_lost(folder: VaultFolder, how: str) -> None:
    before = state(folder)
    destroy(folder, how)
    report = rebuild(folder)
    after = state(folder)
    assert report.log_kept is False and after["events"] == ()
    assert {k: v for k, v in after.items() if k != "events"} == {k: v for k, v in before.items() if k != "events"}


def test_importing_again_afterwards_finds_everything_known(folder: VaultFolder, inbox: Path) -> None:
    before = state(folder)
    destroy(folder, "gone")
    rebuild(folder)
    summary = ingest(folder, [inbox], day=DAY, readers=readers())
    assert (summary.documents, summary.files_new, summary.purchases_new) == (0, 0, 0)
    after = state(folder)
    assert after["purchases"] == before["purchases"] and after["files"] == before["files"]


def test_a_recorded_purchase_and_one_without_any_record_come_back(tmp_path: Path) -> None:
    folder = VaultFolder(tmp_path / "vault")
    folder.create()
    record_purchase(folder, seller="Lark", title="Heron Skirt", on=DAY, day=DAY)
    for record in list(kept_records(ObjectStore(folder))):
        ObjectStore(folder).forget(record.sha256)
    destroy(folder, "gone")
    assert rebuild_catalogue(folder, day=DAY).purchases == 1
    with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
        assert [i.item.title for v in catalogue.purchases() for i in v.items] == ["Heron Skirt"]


def test_a_damaged_object_is_left_out_and_named(folder: VaultFolder) -> None:
    store = ObjectStore(folder)
    sha256 = next(d for d in store.digests() if b"Title: Cap" in store.path_of(d).read_bytes()[:60])
    store.path_of(sha256).chmod(0o644)
    store.path_of(sha256).write_bytes(b"rot")
    destroy(folder, "gone")
    report = rebuild(folder)
    # its zip is whole, so the member is read from there and heals its object
    assert report.damaged == () or report.damaged == (sha256,)
    with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
        assert len(catalogue.purchases()) == 2


def test_an_unsound_outcome_leaves_the_old_one(folder: VaultFolder, monkeypatch: pytest.MonkeyPatch) -> None:
    before = folder.catalogue_path.read_bytes()
    monkeypatch.setattr(Catalogue, "check", lambda self: ["a row is odd"])
    with pytest.raises(StoreError, match="not sound"):
        rebuild(folder)
    assert folder.catalogue_path.read_bytes() == before and not list(folder.tmp_path.iterdir())


def test_records_follow_what_is_said_and_leave_nothing_behind(folder: VaultFolder) -> None:
    store = ObjectStore(folder)

    def records() -> list[tuple[str, int]]:
        return [(r.table.name, r.number) for r in kept_records(store)]

    assert records() == [("answers", 1), ("seller_words", 1), ("sightings", 0), ("sources", 0)]
    with VaultLock(folder), Catalogue.open(folder.catalogue_path) as catalogue:
        assert keep_records(folder, catalogue) == 0, "nothing has changed"
        answer = catalogue.answers()[0]
        catalogue.add_answer(Answer(item_id="i9", later=True))
        assert keep_records(folder, catalogue) == 1 and ("answers", 2) in records()
        catalogue.withdraw_answer("i9")
        catalogue.withdraw_answer(answer.item_id)
        keep_records(folder, catalogue)
        assert [name for name, _ in records()] == ["seller_words", "sightings", "sources"]
        assert len(records()) == len(catalogue.records())


def test_the_higher_number_counts(folder: VaultFolder) -> None:
    store = ObjectStore(folder)
    old = next(r for r in kept_records(store) if r.table.name == "answers")
    raw = json.loads(store.path_of(old.sha256).read_bytes())
    for number, item in ((5, "newest"), (4, "older")):
        raw |= {"number": number, "rows": [[item, None, 1, ""]]}
        store.keep(json.dumps(raw, separators=(",", ":")).encode() + b"\n")
    destroy(folder, "gone")
    rebuild(folder)
    with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
        assert [a.item_id for a in catalogue.answers()] == ["newest"]
    assert len(list(kept_records(store))) == 4


@pytest.mark.parametrize(
    "change",
    [
        {"version": 2},
        {"name": "documents"},
        {"name": "key_values"},
        {"columns": None},
        {"rows": [[["nested"], None, 1, ""]]},
        {"rows": 7},
        {"number": None},
        {"columns": ["item_id); DROP TABLE answers; --"], "rows": [["x"]]},
    ],
)
def test_a_record_that_makes_no_sense_does_nothing(folder: VaultFolder, change: dict[str, object]) -> None:
    store = ObjectStore(folder)
    before = state(folder)
    raw = {"format": "pinfold-record", "version": 1, "name": "letters", "number": 1, "columns": ["id"], "rows": [["x"]]}
    store.keep(json.dumps({**raw, **change}, separators=(",", ":")).encode())
    rebuild(folder)
    assert state(folder)["answers"] == before["answers"] and state(folder)["purchases"] == before["purchases"]


def test_a_text_of_hers_that_begins_alike_is_no_record() -> None:
    assert is_record(b'{"format":"pinfold-record","version":1')
    assert not is_record(b'{"format": "pinfold-record"') and not is_record(b"")


@pytest.mark.parametrize(
    "lost", ["downloads/Cloak A4.pdf", "Inbox", "a.eml", "skirt.pdf", "hats/top.pdf", "closing.eml"]
)
def test_the_original_brings_back_what_is_lost(folder: VaultFolder, inbox: Path, lost: str) -> None:
    with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
        found = [
            d
            for d, name in catalogue.kept_names().items()
            if name.rsplit("/", 1)[-1].split("#")[0] == lost.rsplit("/", 1)[-1]
        ]
        (sha256,) = found
        store = ObjectStore(folder)
        store.forget(sha256)
        for path in [p for p in folder.shelf_path.rglob("*") if p.is_file()]:
            path.unlink()
        report = repair(folder, [sha256], originals=lambda d: originals(folder, catalogue, d))
    # an attachment lies inside its mail: that is for a backup
    assert bool(report.repaired) == (lost != "skirt.pdf") and store.intact(sha256) == bool(report.repaired)


def test_an_original_that_has_changed_is_not_taken(folder: VaultFolder, inbox: Path) -> None:
    with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
        sha256 = next(d for d, name in catalogue.kept_names().items() if name == "vest.txt")
        ObjectStore(folder).forget(sha256)
        for path in [p for p in folder.shelf_path.rglob("*") if p.is_file()]:
            path.unlink()
        (inbox / "downloads/vest.txt").write_bytes(b"PATTERN cast off")
        report = repair(folder, [sha256], originals=lambda d: originals(folder, catalogue, d))
    assert not report.repaired and not ObjectStore(folder).has(sha256)


def test_the_log_goes_on_after_a_rebuild(folder: VaultFolder) -> None:
    rebuild(folder)
    with VaultLock(folder), Catalogue.open(folder.catalogue_path) as catalogue:
        catalogue.add_event("rebuild", "done")
        assert [e.kind for e in catalogue.events()] == ["import", "verify", "rebuild"]
        assert log_problems(catalogue.events()) == []
    assert not list(folder.tmp_path.iterdir())


def test_a_long_table_is_kept_in_parts_of_which_only_the_last_changes(
    folder: VaultFolder, inbox: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("vault.catalogue.records.PART_ROWS", 3)
    with VaultLock(folder), Catalogue.open(folder.catalogue_path) as catalogue:
        ObjectStore(folder).forget(catalogue.records()["sightings"][0])  # what was lost is made anew
        keep_records(folder, catalogue)
        before = catalogue.records()
    assert {"sightings", "sightings-1", "sightings-2"} <= before.keys()
    put(inbox, {"new/hood.pdf": pdf("PATTERN", "Title: Hood")})
    ingest(folder, [inbox / "new"], day=DAY, readers=readers())
    with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
        after = catalogue.records()
    changed = {name for name in after if after[name] != before.get(name)}
    assert len(changed) == 1 and changed <= {"sightings-2", "sightings-3"}
    whole = state(folder)
    destroy(folder, "gone")
    rebuild(folder)
    assert {k: v for k, v in state(folder).items() if k != "events"} == {
        k: v for k, v in whole.items() if k != "events"
    }
