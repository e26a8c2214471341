"""`pinfold watch --notify`: after a batch and on a new day one notice of what is due, each at most once a day."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from tests.journey.conftest import Pinfold, command, environment
from vault.cli import notices
from vault.cli.login import place_here
from vault.cli.reminding import DueNotices
from vault.cli.session import Session
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock

DAY = "2026-11-25"
RECORD = ("record", "--on", "2026-03-01", "--amount", "9.00", "--currency", "GBP")


@pytest.fixture
def tool(tmp_path: Path) -> Pinfold:
    made = Pinfold(vault=tmp_path / "vault", home=tmp_path)
    said = made(*RECORD, "--seller", "Cap & Bells", "--title", "Jester Hood")
    assert said.status == 0, said.err
    return made


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The headings and texts that a desktop would have got."""
    got: list[str] = []
    monkeypatch.setattr(notices, "show", lambda title, text: got.append(text) or "")
    return got


def test_each_thing_is_told_once_a_day_by_whoever_tells_it(tool: Pinfold, shown: list[str]) -> None:
    today = Session(vault=tool.vault, as_of=date(2026, 11, 25))
    first = DueNotices()
    first(today)
    first(today, object())  # as after a batch
    assert len(shown) == 1 and "Jester Hood" in shown[0]
    DueNotices()(today)  # the watcher was begun anew
    assert len(shown) == 1
    tool(*RECORD, "--seller", "Motley Row", "--title", "Night Watch Cloak")
    first(today, object())
    assert len(shown) == 2 and "Night Watch Cloak" in shown[1] and "Jester" not in shown[1]
    first(Session(vault=tool.vault, as_of=date(2026, 11, 26)))
    assert len(shown) == 3 and "and 1 more" in shown[2]


def test_a_vault_in_use_does_not_make_it_nag(
    tool: Pinfold, shown: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    today = Session(vault=tool.vault, as_of=date(2026, 11, 25))
    told = DueNotices()
    with VaultLock(VaultFolder(tool.vault)):
        told(today)
        told(today)
    assert len(shown) == 1
    assert capsys.readouterr().err.count("no desktop notice") == 1


def test_what_hinders_it_is_said_once_and_it_is_told_later(
    tool: Pinfold, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers: list[Callable[[str, str], str]] = [lambda *_: "the desktop did not answer"] * 2 + [lambda *_: ""]
    texts: list[str] = []

    def show(title: str, text: str) -> str:
        texts.append(text)
        return answers[len(texts) - 1](title, text)

    monkeypatch.setattr(notices, "show", show)
    today = Session(vault=tool.vault, as_of=date(2026, 11, 25))
    told = DueNotices()
    for _ in range(4):
        told(today)
    assert len(texts) == 3
    assert capsys.readouterr().err.count("the desktop did not answer") == 1


def test_without_a_vault_there_is_nothing_to_tell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    DueNotices()(Session(vault=tmp_path / "none"))
    assert capsys.readouterr().err == ""


def test_the_login_begins_it_with_the_same_words(tmp_path: Path) -> None:
    session = Session(vault=tmp_path)
    assert place_here(session, [], sources=False, notify=True).command[-1] == "--notify"
    assert "--notify" not in place_here(session, [], sources=False).command


@pytest.mark.skipif(shutil.which("dbus-run-session") is None, reason="no D-Bus here: the notice was not shown")
def test_a_desktop_gets_one_notice_from_the_watcher(tool: Pinfold, tmp_path: Path) -> None:
    downloads = tmp_path / "Downloads"
    downloads.mkdir()

    def told(name: str) -> list[list[str]]:
        (downloads / f"{name}.txt").write_text(f"{name} for the props table, nothing bought", encoding="utf-8")
        watch = [*command(), "--vault", str(tool.vault), "--as-of", DAY]
        watch += ["watch", str(downloads), "--once", "--settle", "0", "--notify"]
        done = subprocess.run(
            ["dbus-run-session", "--", sys.executable, str(Path(__file__).with_name("desktop.py")), *watch],
            capture_output=True,
            env=environment(tmp_path),
            timeout=180,
            check=True,
        )
        found = json.loads(done.stdout.decode().splitlines()[-1])
        assert found["status"] == 0, found["err"]
        return list(found["notices"])

    ((_, _, text),) = told("list")
    assert "Jester Hood" in text
    assert told("another") == []
