"""`pinfold verify`, `backup --check`, `backup --new-key`, `rehearse` and the log, as they are typed."""

from __future__ import annotations

import json
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from vault.catalogue import Catalogue
from vault.cli.main import app, hoist
from vault.errors import BackupError, StoreError
from vault.safekeeping import backup, keys, ownership
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore

PASSPHRASE = "seven bobbins under the stage"


@pytest.fixture(autouse=True)
def locks_that_open_quickly(monkeypatch: pytest.MonkeyPatch) -> None:
    """scrypt at next to no cost; how much it costs is tested elsewhere."""
    lock = keys.lock_key
    monkeypatch.setattr(ownership, "lock_key", lambda key, passphrase, *, log_n: lock(key, passphrase, log_n=4))


def pinfold(vault: Path, *words: object) -> tuple[int, str]:
    result = CliRunner().invoke(app, hoist(["--vault", str(vault), "--as-of", "2026-03-07", *map(str, words)]))
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.exit_code, result.stdout


@pytest.fixture
def vault(tmp_path: Path) -> Path:
    at = tmp_path / "vault"
    for title in ("Heron Skirt", "Top Hat"):
        assert pinfold(at, "record", "--seller", "Thimblewick", "--title", title, "--on", "2026-03-01")[0] == 0
    assert pinfold(at, "seller", "Thimblewick", "--closes", "2026-12-31")[0] == 0
    return at


@pytest.fixture
def secret(tmp_path: Path) -> Path:
    (tmp_path / "secret.txt").write_text(PASSPHRASE + "\n")
    return tmp_path / "secret.txt"


def rot(vault: Path) -> str:
    store = ObjectStore(VaultFolder(vault))
    sha256 = next(d for d in store.digests() if b"recorded-purchase" in store.path_of(d).read_bytes())
    store.path_of(sha256).chmod(0o644)
    store.path_of(sha256).write_bytes(b"rot")
    return sha256


def test_every_check_and_copy_is_an_event(vault: Path, tmp_path: Path, secret: Path) -> None:
    stick = tmp_path / "stick"
    assert pinfold(vault, "verify")[0] == 0
    assert pinfold(vault, "backup", "--to", stick, "--passphrase-file", secret)[0] == 0
    assert pinfold(vault, "backup", "--to", stick, "--check")[0] == 0
    assert pinfold(vault, "rehearse", "--from", stick, "--passphrase-file", secret)[0] == 0
    status, out = pinfold(vault, "verify", "--log", "--json")
    said = json.loads(out)
    assert status == 0 and said["ok"]
    assert [(e["event_type"], e["result"], bool(e["destination"])) for e in said["events"]] == [
        ("fixity check", "success", False),
        ("replication", "success", True),
        ("fixity check", "success", True),
        ("validation", "success", True),
    ]
    with Catalogue.open_read_only(vault / "catalogue.sqlite") as catalogue:
        (history,) = catalogue.destinations()
    assert history.destination == str(stick) and history.last_backup and history.last_rehearsal and history.last_check
    new = tmp_path / "new"
    assert pinfold(new, "restore", "--from", stick, "--passphrase-file", secret)[0] == 0
    assert json.loads(pinfold(new, "verify", "--log", "--json")[1])["events"][-1]["event_type"] == "recovery"


def test_a_log_that_was_cut_is_noticed_by_verify_and_by_the_rehearsal(
    vault: Path, tmp_path: Path, secret: Path
) -> None:
    stick = tmp_path / "stick"
    with Catalogue.open(vault / "catalogue.sqlite") as catalogue:
        for day in (1, 2, 3):
            catalogue.add_event("verify", "damage", "4 checked", at=datetime(2026, 3, day, tzinfo=UTC))
    pinfold(vault, "backup", "--to", stick, "--passphrase-file", secret)
    with sqlite3.connect(vault / "catalogue.sqlite") as db:  # somebody with the file in his hands
        db.execute("DROP TRIGGER events_no_delete")
        db.execute("DELETE FROM events WHERE seq >= 3")
    db.close()
    status, out = pinfold(vault, "verify", "--log")
    assert status == 1 and "knows of 3" in " ".join(out.split())
    status, out = pinfold(vault, "verify", "--json")
    assert status == 1 and "knows of 3" in json.loads(out)["catalogue"][0]
    (vault / "backups" / "log-heads.json").unlink()  # and tidied up after himself
    assert pinfold(vault, "verify", "--log")[0] == 0
    status, out = pinfold(vault, "rehearse", "--from", stick, "--passphrase-file", secret, "--json")
    assert status == 1 and any("log" in p for p in json.loads(out)["problems"])


def test_rot_is_named_and_repaired_from_a_backup(vault: Path, tmp_path: Path, secret: Path) -> None:
    stick = tmp_path / "stick"
    pinfold(vault, "backup", "--to", stick, "--passphrase-file", secret)
    sha256 = rot(vault)
    status, out = pinfold(vault, "verify", "--json")
    assert status == 1 and [d["sha256"] for d in json.loads(out)["damaged"]] == [sha256]
    status, out = pinfold(vault, "verify", "--repair-from", stick, "--passphrase-file", secret, "--json")
    assert status == 0 and json.loads(out)["repaired"] == [sha256]
    assert pinfold(vault, "verify", "--minutes", "0.01")[0] == 0


def test_a_damaged_catalogue_is_named_and_made_anew(vault: Path) -> None:
    before = json.loads(pinfold(vault, "purchases", "--json")[1])
    sellers = json.loads(pinfold(vault, "sellers", "--json")[1])
    for path in vault.glob("catalogue.sqlite*"):
        path.write_bytes(b"\x00\xff" * 4000)
    status, out = pinfold(vault, "verify", "--json")
    said = json.loads(out)
    assert status == 1 and said["ok"] and "--rebuild-catalogue" in said["catalogue"][0]
    with pytest.raises(StoreError) as caught:
        pinfold(vault, "purchases")
    assert "--rebuild-catalogue" in caught.value.next_step or "restore" in caught.value.next_step
    status, out = pinfold(vault, "verify", "--rebuild-catalogue", "--json")
    assert status == 0 and json.loads(out)["rebuilt"]["purchases"] == 2
    assert json.loads(pinfold(vault, "purchases", "--json")[1]) == before
    assert json.loads(pinfold(vault, "sellers", "--json")[1]) == sellers, "what she said of the shop is there"


def test_what_a_check_found_is_stored_again_by_the_next_backup(vault: Path, tmp_path: Path, secret: Path) -> None:
    stick = tmp_path / "stick"
    pinfold(vault, "backup", "--to", stick, "--passphrase-file", secret)
    stored = sorted((stick / "objects").rglob("*.age"))[0]
    content = bytearray(stored.read_bytes())
    content[len(content) // 2] ^= 1
    stored.chmod(0o644)
    stored.write_bytes(content)
    assert json.loads(pinfold(vault, "backup", "--to", stick, "--json")[1])["backup"]["objects_new"] == 0
    assert pinfold(vault, "backup", "--to", stick, "--check")[0] == 1
    assert json.loads(pinfold(vault, "backup", "--to", stick, "--json")[1])["backup"]["objects_new"] == 1
    assert pinfold(vault, "rehearse", "--from", stick, "--passphrase-file", secret)[0] == 0
    assert json.loads(pinfold(vault, "backup", "--to", stick, "--json")[1])["backup"]["objects_new"] == 0


def test_the_key_is_changed_and_the_sheet_made_again(vault: Path, tmp_path: Path, secret: Path) -> None:
    stick = tmp_path / "stick"
    status, out = pinfold(
        vault, "backup", "--to", stick, "--passphrase-file", secret, "--recovery-sheet", tmp_path / "old.pdf"
    )
    assert status == 0 and "every age program of today can open it" in " ".join(out.split())
    assert (tmp_path / "old.pdf").read_bytes().startswith(b"%PDF-1.4")
    status, out = pinfold(
        vault,
        "backup",
        "--to",
        stick,
        "--passphrase-file",
        secret,
        "--new-key",
        "--recovery-sheet",
        tmp_path / "new.txt",
    )
    assert status == 0 and "older snapshots still open" in " ".join(out.split())
    again = tmp_path / "again.html"
    assert pinfold(vault, "backup", "--to", stick, "--passphrase-file", secret, "--recovery-sheet", again)[0] == 0
    for sheet in (tmp_path / "new.txt", again):
        assert pinfold(vault, "rehearse", "--from", stick, "--recovery-key", sheet)[0] == 0
    log = json.loads(pinfold(vault, "verify", "--log", "--json")[1])["events"]
    kinds = [e["kind"] for e in log if e["kind"] != "recovery-sheet"]
    assert kinds == ["backup", "new-key", "backup", "backup", "rehearse", "rehearse"]


def test_a_post_quantum_key_says_why(vault: Path, tmp_path: Path, secret: Path) -> None:
    try:
        keys.new_key(post_quantum=True)
    except BackupError:
        pytest.skip("the installed cryptography has no MLKEM768-X25519")
    stick = tmp_path / "stick"
    status, out = pinfold(vault, "backup", "--to", stick, "--passphrase-file", secret, "--post-quantum")
    assert status == 0 and "post-quantum, so that" in " ".join(out.split())
    assert pinfold(vault, "rehearse", "--from", stick, "--passphrase-file", secret)[0] == 0
    assert backup.SCRYPT_LOG_N == 18


@pytest.mark.parametrize("passphrase, weak", [("password1", True), ("otter lantern quilt brisk cellar marble", False)])
def test_a_weak_passphrase_in_a_file_gets_advice(
    vault: Path, tmp_path: Path, secret: Path, passphrase: str, weak: bool
) -> None:
    secret.write_text(passphrase + "\n")
    words = ["--vault", str(vault), "backup", "--to", str(tmp_path / "stick"), "--passphrase-file", str(secret)]
    result = CliRunner().invoke(app, hoist(words))
    assert result.exit_code == 0 and ("The passphrase is" in result.stderr) == weak
    again = CliRunner().invoke(app, hoist(words))
    assert "The passphrase is" not in again.stderr, "only when it is made"


def test_a_mistyped_recovery_key_names_its_line(vault: Path, tmp_path: Path, secret: Path) -> None:
    stick, sheet = tmp_path / "stick", tmp_path / "sheet.txt"
    pinfold(vault, "backup", "--to", stick, "--passphrase-file", secret, "--recovery-sheet", sheet)
    lines = [line for line in sheet.read_text().splitlines() if line.startswith("  ") and line.strip()[1:2] == "."]
    slip = lines[2][:6] + ("Q" if lines[2][6] != "Q" else "P") + lines[2][7:]
    (tmp_path / "typed.txt").write_text("\n".join([*lines[:2], slip, *lines[3:]]) + "\n")
    with pytest.raises(BackupError, match="line 3 of the recovery key"):
        pinfold(tmp_path / "new", "restore", "--from", stick, "--recovery-key", tmp_path / "typed.txt")
    (tmp_path / "typed.txt").write_text("\n".join(lines).lower() + "\n")
    assert pinfold(tmp_path / "new", "restore", "--from", stick, "--recovery-key", tmp_path / "typed.txt")[0] == 0
