"""Mail on this computer, found by its form wherever a program keeps it."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from click.testing import Result
from stand_ins import mail, put
from typer.testing import CliRunner

from vault.cli.main import app
from vault.errors import UsageError, VaultError
from vault.intake import mailboxes
from vault.intake.mailboxes import find_mail

BOX = b"From nora@wardrobe.example Sun Mar  1 10:00:00 2026\n" + mail("Order: TW-1") + b"\n"


@pytest.fixture(autouse=True)
def _no_spool(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mailboxes, "_spools", lambda: iter(()))


def found(home: Path) -> dict[str, int]:
    return {str(f.path.relative_to(home)).replace(os.sep, "/"): f.mailboxes for f in find_mail(home).found}


# Where mail programs of the common systems keep mail, in form; the names of folders are invented.
@pytest.mark.parametrize(
    ("files", "expected"),
    [
        (
            {
                ".config/post/ab12.default/Mail/Local Folders/Inbox": BOX,
                ".config/post/ab12.default/Mail/Local Folders/Inbox.msf": b"// index",
                ".config/post/ab12.default/Mail/Local Folders/Inbox.sbd/Shops": BOX,
                ".config/post/ab12.default/Mail/Local Folders/Inbox.sbd/Deep.sbd/Old": BOX,
                ".config/post/ab12.default/ImapMail/mail.example/Sent": BOX,
                ".config/post/ab12.default/prefs.js": b"pref",
            },
            {
                ".config/post/ab12.default/Mail/Local Folders": 3,
                ".config/post/ab12.default/ImapMail/mail.example": 1,
            },
        ),
        (
            {
                "AppData/Roaming/Post/Profiles/x.default/Mail/pop.example/Inbox": BOX,
                "Library/Post/Profiles/x.default/Mail/pop.example/Inbox": BOX,
                ".var/app/org.example.Post/.post/x.default/Mail/pop.example/Inbox": BOX,
            },
            {
                "AppData/Roaming/Post/Profiles/x.default/Mail/pop.example": 1,
                "Library/Post/Profiles/x.default/Mail/pop.example": 1,
                ".var/app/org.example.Post/.post/x.default/Mail/pop.example": 1,
            },
        ),
        (
            {
                "Maildir/cur/1.1.host:2,S": mail("hi"),
                "Maildir/new/.keep": b"",
                "Maildir/tmp/.keep": b"",
                "Maildir/.Shops/cur/2.1.host:2,": mail("hi"),
                "Maildir/.Shops/new/.keep": b"",
                "Maildir/.Shops/tmp/.keep": b"",
            },
            {"Maildir": 2},
        ),
        ({"Mail/receipts.mbox": BOX, "mbox": BOX}, {".": 2}),
        ({"notes": b"From here on it rains\n", "a.txt": BOX, "cur/x": BOX[:3]}, {}),
        ({".cache/old/Inbox": BOX, "node_modules/x/Inbox": BOX}, {}),
    ],
    ids=["profile", "places-of-systems", "maildir", "plain-files", "look-alikes", "caches"],
)
def test_mail_is_found_by_its_form(tmp_path: Path, files: dict[str, bytes], expected: dict[str, int]) -> None:
    if os.name == "nt" and any(":" in name for name in files):
        pytest.skip("this system has no such names")
    put(tmp_path, files)
    assert found(tmp_path) == expected


def test_the_search_is_bounded_and_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put(tmp_path, {"a/b/Inbox": BOX, "c/Inbox": BOX})
    assert find_mail(tmp_path).complete
    monkeypatch.setattr(mailboxes, "_MOST_FOLDERS", 2)
    assert not find_mail(tmp_path).complete
    monkeypatch.setattr(mailboxes, "_MOST_FOLDERS", 1000)
    monkeypatch.setattr(mailboxes, "_DEEPEST", 2)
    shallow = find_mail(tmp_path)
    assert not shallow.complete and [f.path.name for f in shallow.found] == ["c"]


def test_links_and_the_vault_are_not_gone_into(tmp_path: Path) -> None:
    put(tmp_path, {"home/Inbox": BOX, "else/Inbox": BOX, "home/vault/Inbox": BOX})
    try:
        (tmp_path / "home" / "link").symlink_to(tmp_path / "else", target_is_directory=True)
    except OSError:
        pytest.skip("this system makes no links")
    findings = find_mail(tmp_path / "home", own=tmp_path / "home" / "vault")
    assert [(f.path, f.mailboxes) for f in findings.found] == [(tmp_path / "home", 1)]


def test_found_remembered_and_read_from_the_command_line(tmp_path: Path) -> None:
    home, vault = tmp_path / "home", tmp_path / "vault"
    demo = Path(__file__).parents[2] / "fixtures" / "demo" / "receipts"
    receipts = sorted(demo.rglob("*.eml"))[:3]
    box = b"".join(BOX.partition(b"\n")[0] + b"\n" + r.read_bytes() + b"\n\n" for r in receipts)
    put(home, {".post/x.default/Mail/Local Folders/Inbox": box})

    env = {"HOME": str(home), "USERPROFILE": str(home), "COLUMNS": "60"}

    def call(*words: str) -> Result:
        said = CliRunner().invoke(app, ["--vault", str(vault), *words], env=env)
        assert said.exception is None or isinstance(said.exception, SystemExit | VaultError), said.exception
        return said

    def refused(*words: str) -> str:
        said = call(*words)
        assert isinstance(said.exception, UsageError)
        return said.exception.message

    listed = call("source", "find")
    assert listed.exit_code == 0 and "mail folder" in listed.stdout and "1 mailbox" in listed.stdout
    assert call("source", "list", "--json").stdout.split() == ["{", '"sources":', "[]", "}"]
    place = str(home / ".post" / "x.default" / "Mail" / "Local Folders")
    assert place in call("source", "find", "--add").stdout
    assert "remembered already" in call("source", "add", place).stdout
    (tmp_path / "Downloads").mkdir()
    watched = call("watch", str(tmp_path / "Downloads"), "--once", "--sources", "--settle", "0")
    assert watched.exit_code == 0 and "bought: " in watched.stdout
    with_path = call("import", str(home), "--json")
    first = json.loads(with_path.stdout)["imported"]
    again = json.loads(call("import", "--sources", "--json").stdout)["imported"]
    assert first["documents"] == again["documents"] == 0
    (row,) = json.loads(call("source", "list", "--json").stdout)["sources"]
    assert (row["kind"], row["place"], row["read_on"] is not None) == ("folder", place, True)
    assert call("source", "remove", str(row["id"])).exit_code == 0
    assert "no source is remembered" in refused("import", "--sources")
    assert "there is no source 7" in refused("source", "remove", "7")
    assert "no such file or folder" in refused("source", "add", str(home / "nowhere"))
    assert "are for mail accounts" in refused("source", "add", place, "--user", "nora")
