"""`pinfold handover`, as it is typed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from vault.bagit import check_bag
from vault.cli.handover import _ending
from vault.cli.main import app, hoist
from vault.errors import UsageError


def pinfold(vault: Path, *words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, hoist(["--vault", str(vault), "--as-of", "2026-03-07", *words]))
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.exit_code, result.stdout


@pytest.fixture
def vault(tmp_path: Path) -> Path:
    at = tmp_path / "vault"
    for title, designer in (("Heron Skirt", "Lark & Thimble"), ("Top Hat", "Oxbow Patterns")):
        words = ["--seller", "Thimblewick", "--title", title, "--designer", designer, "--on", "2026-03-01"]
        assert pinfold(at, "record", *words)[0] == 0
    return at


def test_everything_and_a_part(vault: Path, tmp_path: Path) -> None:
    status, out = pinfold(vault, "handover", "--to", str(tmp_path / "all"), "--json")
    row = json.loads(out)["handover"]
    assert status == 0 and row["ok"] and check_bag(tmp_path / "all").valid
    rows = json.loads((tmp_path / "all/data/catalogue/purchases.json").read_text())["purchases"]
    assert len(rows) == 2
    status, out = pinfold(vault, "handover", "--to", str(tmp_path / "part"), "--designer", "lark & thimble")
    assert status == 0 and "Begin with:" in out
    rows = json.loads((tmp_path / "part/data/catalogue/purchases.json").read_text())["purchases"]
    assert [i["title"] for p in rows for i in p["items"]] == ["Heron Skirt"]
    assert len(list((tmp_path / "part/data/receipts").iterdir())) == 1
    item = rows[0]["items"][0]["id"]
    assert pinfold(vault, "handover", "--to", str(tmp_path / "one"), "--item", item)[0] == 0
    assert check_bag(tmp_path / "one").files == check_bag(tmp_path / "part").files


@pytest.mark.parametrize("words", [["--designer", "Nobody"], ["--item", "i000"]])
def test_a_part_that_is_not_there_is_said(vault: Path, tmp_path: Path, words: list[str]) -> None:
    with pytest.raises(UsageError):
        pinfold(vault, "handover", "--to", str(tmp_path / "bag"), *words)
    assert not (tmp_path / "bag").exists()


def test_the_bag_notes_the_end_of_the_log(vault: Path, tmp_path: Path) -> None:
    pinfold(vault, "handover", "--to", str(tmp_path / "first"))
    pinfold(vault, "handover", "--to", str(tmp_path / "second"))
    first, second = (dict(check_bag(tmp_path / n).info) for n in ("first", "second"))
    assert (first["Pinfold-Log-Events"], second["Pinfold-Log-Events"]) == ("0", "1")
    events = json.loads((tmp_path / "second/data/catalogue/events.json").read_text())["events"]
    assert [e["event_type"] for e in events] == ["information package creation"]
    assert events[-1]["link"] == second["Pinfold-Log-Link"]


@pytest.mark.parametrize(
    "kind, source, ending",
    [
        ("page", "/home/ada/orders.MHTML", ".mhtml"),
        ("mail", "/home/ada/Mail/Inbox#17", ".eml"),
        ("mail", "C:\\\\Mail\\\\order.msg", ".msg"),
        ("mail", "/home/ada/.mail", ".eml"),
        ("pdf", "shop.zip > invoice.pdf", ".pdf"),
        ("recorded", "recorded", ".json"),
        ("odd", "nothing", ""),
    ],
)
def test_a_receipt_keeps_the_ending_it_came_with(kind: str, source: str, ending: str) -> None:
    assert _ending(kind, source) == ending
