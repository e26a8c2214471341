"""`pinfold restore`: the whole vault, a part of it, and states of older and newer programs."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner

from vault.bagit import check_bag
from vault.catalogue import Catalogue
from vault.cli.main import app, hoist
from vault.errors import StoreError, UsageError
from vault.safekeeping import restore as restoring

Edit = Callable[[sqlite3.Connection], object]


def pinfold(vault: Path, *words: object) -> tuple[int, str]:
    result = CliRunner().invoke(app, hoist(["--vault", str(vault), "--as-of", "2026-03-07", *map(str, words)]))
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


def backed_up(vault: Path, to: Path, edit: Edit | None = None) -> Path:
    """A plain backup of the vault; `edit` first does something to a copy of its catalogue."""
    if edit is not None:
        copy = vault.with_name("copy")
        shutil.copytree(vault, copy)
        db = sqlite3.connect(copy / "catalogue.sqlite")
        edit(db)
        db.commit()
        db.close()
        vault = copy
    if edit is None:
        assert pinfold(vault, "backup", "--to", to, "--plain")[0] == 0
        return to
    from datetime import UTC, datetime

    from vault.safekeeping.backup import backup
    from vault.safekeeping.destination import FolderDestination
    from vault.safekeeping.folder import VaultFolder

    backup(
        VaultFolder(vault),
        FolderDestination(to),
        catalogue_snapshot=vault / "catalogue.sqlite",
        now=datetime.now(UTC),
        plain=True,
    )
    return to


@pytest.mark.parametrize("how", ["item", "designer"])
def test_a_part_comes_back_alone(vault: Path, tmp_path: Path, how: str) -> None:
    stick = backed_up(vault, tmp_path / "stick")
    purchases = json.loads(pinfold(vault, "purchases", "--json")[1])["purchases"]
    item = next(i["id"] for p in purchases for i in p["items"] if i["title"] == "Heron Skirt")
    words = ["--item", item] if how == "item" else ["--designer", "lark & thimble"]
    status, out = pinfold(tmp_path / "unused", "restore", "--from", stick, "--to", tmp_path / "part", *words, "--json")
    assert status == 0 and json.loads(out)["restored"]["objects"] == 1
    assert check_bag(tmp_path / "part").valid
    rows = json.loads((tmp_path / "part/data/catalogue/purchases.json").read_text())["purchases"]
    assert [i["title"] for p in rows for i in p["items"]] == ["Heron Skirt"]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["part", "stick", "vault"], "nothing else is left"


@pytest.mark.parametrize(
    "words",
    [
        ["--designer", "Nobody", "--to", "part"],
        ["--item", "i000", "--to", "part"],
        ["--item", "i000"],
        ["--to", "part"],
        ["--item", "i000", "--to", "no/such/folder"],
        ["--item", "i000", "--to", "stick"],
    ],
)
def test_a_part_that_cannot_be_is_one_sentence(vault: Path, tmp_path: Path, words: list[str]) -> None:
    stick = backed_up(vault, tmp_path / "stick")
    words = [str(tmp_path / w) if before == "--to" else w for before, w in zip(["", *words], words)]
    with pytest.raises(UsageError):
        pinfold(tmp_path / "unused", "restore", "--from", stick, *words)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["stick", "vault"]


def _older(db: sqlite3.Connection) -> None:
    """As the first program wrote it: without the chain of events and all that came later."""
    later = db.execute("SELECT name FROM _sqlite_migrations WHERE name > 'm002'").fetchall()
    assert later
    for what in ("update", "delete"):
        db.execute(f"DROP TRIGGER events_no_{what}")
    db.execute("DELETE FROM _sqlite_migrations WHERE name = 'm003_event_chain'")
    db.execute("ALTER TABLE events DROP COLUMN destination")
    db.execute("ALTER TABLE events DROP COLUMN link")
    db.execute("DROP TABLE records")


def test_a_state_of_an_older_program_is_brought_up_to_date(vault: Path, tmp_path: Path) -> None:
    before = pinfold(vault, "purchases", "--json")[1]
    stick = backed_up(vault, tmp_path / "stick", _older)
    assert pinfold(tmp_path / "new", "restore", "--from", stick)[0] == 0
    assert pinfold(tmp_path / "new", "purchases", "--json")[1] == before
    with Catalogue.open_read_only(tmp_path / "new" / "catalogue.sqlite") as catalogue:
        assert catalogue.check() == [] and [e.kind for e in catalogue.events()] == ["restore"]


def test_a_state_of_a_newer_program_is_refused_before_anything_is_written(vault: Path, tmp_path: Path) -> None:
    def newer(db: sqlite3.Connection) -> None:
        db.execute(
            "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('pinfold', 'm999_later', '')"
        )

    stick = backed_up(vault, tmp_path / "stick", newer)
    with pytest.raises(StoreError, match="newer Pinfold") as caught:
        pinfold(tmp_path / "new", "restore", "--from", stick)
    assert "update the program" in caught.value.next_step
    assert not list(tmp_path.glob("new*"))


def test_too_little_room_for_a_part_is_said(vault: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stick = backed_up(vault, tmp_path / "stick")
    monkeypatch.setattr(restoring, "free_bytes", lambda _: 1000)
    with pytest.raises(Exception, match="MB left"):
        pinfold(tmp_path / "x", "restore", "--from", stick, "--designer", "Oxbow Patterns", "--to", tmp_path / "part")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["stick", "vault"]
