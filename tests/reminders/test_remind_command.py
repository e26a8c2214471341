"""`pinfold remind` as its user runs it, on a vault with two purchases that are not held."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import icalendar
import pytest

from tests.journey.conftest import Pinfold, command, environment

DAY = "2026-11-25"


@pytest.fixture(scope="module")
def pinfold(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pinfold]:
    root = tmp_path_factory.mktemp("remind")
    (root / "home").mkdir()
    tool = Pinfold(vault=root / "vault", home=root / "home")
    for title, shop, on in (
        ("Jester Hood", "Cap & Bells", "2026-03-01"),
        ("Night Watch Cloak", "Motley Row", "2026-11-24"),
    ):
        said = tool("record", "--seller", shop, "--title", title, "--on", on, "--amount", "9.00", "--currency", "GBP")
        assert said.status == 0, said.err
    return tool


def kinds(tool: Pinfold, *words: object, day: str = DAY) -> list[str]:
    return [row["kind"] for row in tool("remind", "--json", *words, day=day).json()["due"]]


def test_what_is_due_and_what_comes(pinfold: Pinfold) -> None:
    said = pinfold("remind", "--json")
    found = said.json()
    assert said.status == 1
    assert [r["kind"] for r in found["due"]] == ["not-held"]
    assert "Jester Hood" in found["due"][0]["title"]
    assert [r["kind"] for r in found["coming"]] == ["not-held"]
    screen = pinfold("remind")
    assert found["due"][0]["id"] in screen.out
    assert "In the next 14 days: 1" in screen.out
    assert all(len(line) <= 80 for line in screen.out.splitlines())


def test_put_off_done_and_back(pinfold: Pinfold) -> None:
    one = pinfold("remind", "--json").json()["due"][0]["id"]
    assert pinfold("remind", "--later", one, "1w").status == 0
    assert kinds(pinfold) == []
    assert kinds(pinfold, day="2026-12-02") == ["not-held"]
    assert pinfold("remind", "--done", one).status == 0
    assert kinds(pinfold, day="2026-12-02") == []
    assert one in pinfold("remind", "--all").out
    assert pinfold("remind", "--take-back", one).status == 1
    assert kinds(pinfold) == ["not-held"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--later", "zzzz", "7d"), "no reminder begins with"),
        (("--later", "", "7d"), "no reminder begins with"),
        (("--take-back", "12345678"), "nothing was said to"),
        (("--done", "a", "--take-back", "b"), "one thing at a time"),
    ],
)
def test_wrong_words_get_one_sentence(pinfold: Pinfold, words: tuple[str, ...], said: str) -> None:
    done = pinfold("remind", *words)
    assert done.status == 2
    assert said in done.err


@pytest.mark.parametrize("span", ["0d", "7x", "d", "-3", "99999"])
def test_a_span_must_be_one(pinfold: Pinfold, span: str) -> None:
    one = pinfold("remind", "--json").json()["due"][0]["id"]
    assert "not a span of time" in pinfold("remind", "--later", one, span).err


def test_the_calendar_is_kept_up(pinfold: Pinfold, tmp_path: Path) -> None:
    path = tmp_path / "due.ics"
    pinfold("remind", "--calendar", path)
    first = {str(e["UID"]): int(e["SEQUENCE"]) for e in events(path)}
    assert len(first) == 2
    pinfold("remind", "--calendar", path)
    assert {str(e["UID"]): int(e["SEQUENCE"]) for e in events(path)} == first
    one = pinfold("remind", "--json").json()["due"][0]["id"]
    pinfold("remind", "--done", one)
    pinfold("remind", "--calendar", path)
    (gone,) = (e for e in events(path) if str(e["UID"]).startswith(one))
    assert (str(gone["STATUS"]), int(gone["SEQUENCE"])) == ("CANCELLED", 1)
    pinfold("remind", "--take-back", one)


def events(path: Path) -> list[Any]:
    return list(icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT"))


def test_the_page_holds_what_is_due_and_loads_nothing(pinfold: Pinfold, tmp_path: Path) -> None:
    page = tmp_path / "due.html"
    pinfold("remind", "--html", page)
    text = page.read_text("utf-8")
    assert "Jester Hood" in text
    assert "default-src 'none'" in text
    assert "<script" not in text


def test_without_a_desktop_it_says_so(pinfold: Pinfold) -> None:
    said = pinfold("remind", "--notify", env={"DBUS_SESSION_BUS_ADDRESS": ""})
    assert said.status == 1
    if sys.platform.startswith("linux"):
        assert "no desktop notice: there is no desktop session here" in said.err


@pytest.mark.skipif(shutil.which("dbus-run-session") is None, reason="no D-Bus here: the notice was not shown")
def test_a_desktop_shows_one_notice_a_day(pinfold: Pinfold) -> None:
    def notices(day: str) -> list[list[str]]:
        words = [*command(), "--vault", str(pinfold.vault), "--as-of", day, "remind", "--notify"]
        desktop = str(Path(__file__).with_name("desktop.py"))
        done = subprocess.run(
            ["dbus-run-session", "--", sys.executable, desktop, *words],
            capture_output=True,
            env=environment(pinfold.home),
            timeout=180,
            check=True,
        )
        found = json.loads(done.stdout.decode().splitlines()[-1])
        assert found["status"] == 1, found["err"]
        return list(found["notices"])

    assert notices(DAY) == [["Pinfold", "Pinfold", "Not held: Jester Hood, bought at Cap & Bells on 2026-03-01"]]
    assert notices(DAY) == []
    ((_, _, again),) = notices("2026-11-26")
    assert "Jester Hood" in again
