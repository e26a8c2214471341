"""The main job, end to end, through the installed command: import, missing, backup, restore on a new computer."""

from __future__ import annotations

import hashlib
import json
import shutil
from dataclasses import replace
from pathlib import Path

from tests.journey.conftest import DEMO, Pinfold

EXPECTED = json.loads((DEMO / "expected.json").read_text(encoding="utf-8"))


def fingerprint(folder: Path) -> dict[str, tuple[str, int]]:
    return {
        str(p.relative_to(folder)): (hashlib.sha256(p.read_bytes()).hexdigest(), p.stat().st_mtime_ns)
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


def test_every_purchase_of_the_scenario_is_found_and_none_is_invented(demo_vault: Pinfold) -> None:
    purchases = demo_vault("purchases", "--json").json()["purchases"]
    assert len(purchases) == EXPECTED["purchases"]
    states = {i["title"]: i["state"] for p in purchases for i in p["items"] if i["craft_pattern"] is not False}
    for state in ("held", "partial", "missing", "refunded"):
        wanted = set(EXPECTED[state])
        assert {t for t, s in states.items() if s == state} == wanted, state


def test_the_missing_report_is_complete_and_names_what_presses(demo_vault: Pinfold) -> None:
    said = demo_vault("missing", "--json")
    assert said.status == 1
    rows = said.json()["missing"]
    assert {r["title"] for r in rows} == {*EXPECTED["missing"], *EXPECTED["partial"]}
    bustle = next(r for r in rows if r["title"].startswith("Heron Bustle"))
    assert bustle["state"] == "partial"
    assert bustle["lacking"] == ["projector"]
    greatcoat = next(r for r in rows if r["title"].startswith("Fog Horn"))
    assert greatcoat["deadline"] == "2026-12-31"
    assert greatcoat["links"][0]["url"] == "https://thimblewick.example/get/9f2d/fog-horn-greatcoat"
    assert rows[0]["urgency"] == "now"


def test_a_closing_shop_is_known(demo_vault: Pinfold) -> None:
    sellers = {s["name"]: s for s in demo_vault("sellers", "--json").json()["sellers"]}
    for name, wanted in EXPECTED["sellers"].items():
        assert {k: sellers[name][k] for k in wanted} == wanted


def test_one_order_in_two_documents_is_one_purchase(demo_vault: Pinfold) -> None:
    purchases = demo_vault("purchases", "--json").json()["purchases"]
    thimble = [p for p in purchases if p["order_number"] == "TW-1042"]
    assert len(thimble) == 1
    assert len(thimble[0]["evidence"]) == 2
    assert (thimble[0]["total"], thimble[0]["currency"]) == ("30.00", "GBP")


def test_importing_again_changes_nothing_and_says_so(pinfold: Pinfold, tmp_path: Path) -> None:
    own = tmp_path / "own"
    shutil.copytree(DEMO, own)
    before = fingerprint(own)
    pinfold("import", own / "receipts", own / "downloads")
    first = pinfold.answers()
    said = pinfold("import", own / "receipts", own / "downloads")
    assert "Nothing new" in said.out
    assert pinfold.answers() == first
    assert fingerprint(own) == before


def test_backup_restore_on_a_new_computer_gives_the_same_answers(
    demo_vault: Pinfold, tmp_path: Path, passphrase_file: Path
) -> None:
    stick, sheet = tmp_path / "stick", tmp_path / "sheet.html"
    said = demo_vault("backup", "--to", stick, "--passphrase-file", passphrase_file, "--recovery-sheet", sheet)
    assert said.status == 0, said.err
    assert b"Heron" not in b"".join(p.read_bytes() for p in stick.rglob("*") if p.is_file())
    again = demo_vault("backup", "--to", stick, "--json")
    assert again.json()["backup"]["objects_new"] == 0

    new = replace(demo_vault, vault=tmp_path / "new computer")
    said = new("restore", "--from", stick, "--passphrase-file", passphrase_file)
    assert said.status == 0, said.err
    assert new.answers() == demo_vault.answers()
    assert new("verify").status == 0

    rehearsed = demo_vault("rehearse", "--from", stick, "--passphrase-file", passphrase_file, "--json")
    assert rehearsed.status == 0, rehearsed.err
    assert rehearsed.json()["ok"] is True


def test_restore_with_the_recovery_key_alone(demo_vault: Pinfold, tmp_path: Path, passphrase_file: Path) -> None:
    stick, sheet = tmp_path / "stick", tmp_path / "sheet.txt"
    demo_vault("backup", "--to", stick, "--passphrase-file", passphrase_file, "--recovery-sheet", sheet)
    new = replace(demo_vault, vault=tmp_path / "new")
    said = new("restore", "--from", stick, "--recovery-key", sheet)
    assert said.status == 0, said.err
    assert new("missing", "--json").out == demo_vault("missing", "--json").out


def test_what_is_no_evidence_is_not_copied_unless_asked(pinfold: Pinfold, tmp_path: Path) -> None:
    statement = DEMO / "downloads" / "statement_2026_08.pdf"
    digest = hashlib.sha256(statement.read_bytes()).hexdigest()
    stored = pinfold.vault / "objects" / digest[:2] / digest
    pinfold("import", statement)
    assert not stored.exists()
    pinfold("import", "--keep", statement)
    assert stored.read_bytes() == statement.read_bytes()


def test_a_text_on_standard_input_is_a_receipt(pinfold: Pinfold) -> None:
    said = pinfold("import", "-", "--json", stdin=(DEMO / "receipts" / "notes" / "pipit.txt").read_bytes())
    assert said.json()["imported"]["purchases_new"] == 1
    (purchase,) = pinfold("purchases", "--json").json()["purchases"]
    assert (purchase["seller"], purchase["order_number"], purchase["total"]) == ("Pipit Paper Patterns", "31", "10.00")
    assert purchase["items"][0]["links"][0]["downloads_left"] == 3


def test_a_purchase_without_a_receipt_can_be_recorded(pinfold: Pinfold) -> None:
    words = ("record", "--seller", "Plover Press", "--title", "Sandbar Shawl", "--on", "2026-01-05")
    assert pinfold(*words, "--amount", "6.50", "--currency", "eur").status == 0
    assert pinfold(*words, "--amount", "6.50", "--currency", "eur").status == 0
    (purchase,) = pinfold("purchases", "--json").json()["purchases"]
    assert (purchase["total"], purchase["currency"], purchase["items"][0]["state"]) == ("6.50", "EUR", "missing")


def test_an_answer_holds_and_can_be_taken_back(demo_vault: Pinfold, tmp_path: Path) -> None:
    own = replace(demo_vault, vault=tmp_path / "own")
    shutil.copytree(demo_vault.vault, own.vault)
    row = own("missing", "--json").json()["missing"][-1]
    free = next(f for f in own("files", "--unclaimed", "--json").json()["files"])
    own("settle", row["item_id"], "--file", free["sha256"][:12])
    items = {i["id"]: i for p in own("purchases", "--json").json()["purchases"] for i in p["items"]}
    assert [(f["sha256"], f["settled"]) for f in items[row["item_id"]]["files"]] == [(free["sha256"], "user")]
    own("import", DEMO / "downloads")
    items = {i["id"]: i for p in own("purchases", "--json").json()["purchases"] for i in p["items"]}
    assert items[row["item_id"]]["files"][0]["settled"] == "user"
    own("settle", row["item_id"], "--take-back")
    assert row["item_id"] in {r["item_id"] for r in own("missing", "--json").json()["missing"]}
