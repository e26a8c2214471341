"""What the person sees: first minutes, errors, exit statuses, narrow and dumb terminals, pure JSON."""

from __future__ import annotations

import json
import os
import re
import sys
from pathlib import Path

import pytest

from tests.journey.conftest import DEMO, REPOSITORY, Pinfold
from vault.cli.reference import NEEDS_YOU, text
from vault.reports.text import width


def test_alone_without_a_vault_it_says_how_to_begin(pinfold: Pinfold) -> None:
    said = pinfold()
    assert said.status == 0
    lines = [line for line in said.out.splitlines() if line.strip()]
    assert len(lines) == 3
    assert "pinfold demo" in said.out and "pinfold import" in said.out


def test_alone_with_a_vault_it_says_how_things_stand(demo_vault: Pinfold) -> None:
    said = demo_vault()
    assert said.status == 0
    assert "not held" in said.out or "missing" in said.out
    assert len(said.out.splitlines()) <= 8


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (("missing",), 3, "there is no vault"),
        (("frobnicate",), 2, "frobnicate"),
        (("missing", "--frob"), 2, "--frob"),
        (("import",), 2, "pinfold import"),
        (("import", "no/such/file.eml"), 1, "no/such/file.eml"),
        (("show", "nothing like it"), 3, "there is no vault"),
        (("restore", "--from", "nowhere"), 3, "nowhere"),
        (("record", "--seller", "a", "--title", "b", "--on", "yesterday"), 2, "yesterday"),
        (("record", "--seller", "a", "--title", "b", "--on", "2026-01-01", "--amount", "12,50"), 2, "12,50"),
        (("record", "--seller", "a", "--title", "b", "--on", "2026-01-01", "--currency", "euro"), 2, "euro"),
    ],
)
def test_wrong_calls_end_with_one_sentence_and_the_status_of_the_design(
    pinfold: Pinfold, words: tuple[str, ...], status: int, says: str
) -> None:
    said = pinfold(*words)
    assert said.status == status, said.out + said.err
    assert says in (said.err + said.out).replace("\n", " ")


@pytest.mark.parametrize("word", ["purchases", "files", "missing", "sellers", "settle", "status"])
def test_json_is_pure_on_standard_output(demo_vault: Pinfold, word: str) -> None:
    said = demo_vault(word, "--json")
    assert isinstance(json.loads(said.out), dict)
    assert said.out.startswith("{")


@pytest.mark.parametrize("word", ["purchases", "files", "missing", "sellers", "settle", "status"])
def test_screens_fit_sixty_columns_without_colour(demo_vault: Pinfold, word: str) -> None:
    said = demo_vault(word, env={"TERM": "dumb", "NO_COLOR": "1"})
    assert "\x1b" not in said.out
    wide = [line for line in said.out.splitlines() if width(line) > 60 and "://" not in line]
    assert wide == []


@pytest.mark.parametrize("word", ["purchases", "files", "missing", "sellers"])
def test_screens_have_an_ascii_form(demo_vault: Pinfold, word: str) -> None:
    said = demo_vault(word, env={"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0", "LC_ALL": "C"})
    assert said.out.isascii()
    assert said.out.strip()


def test_help_of_every_command_shows_an_example_and_the_reference_is_fresh() -> None:
    os.environ["COLUMNS"] = "78"
    made = text()
    assert (REPOSITORY / "docs" / "commands.md").read_text(encoding="utf-8") == made
    sections = re.split(r"^## ", made, flags=re.M)[2:]
    commands = [s for s in sections if not s.startswith(("pinfold\n", "Exit"))]
    assert len(commands) >= 14
    for section in commands:
        assert "Example: pinfold" in " ".join(section.split()), section
    assert set(NEEDS_YOU) <= {s.split("\n", 1)[0] for s in commands}


def test_the_readme_names_only_commands_that_exist() -> None:
    readme = (REPOSITORY / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"^pinfold (\w+)", readme, flags=re.M))
    made = text()
    assert named and all(f"\n## {name}\n" in made for name in named)


def test_show_and_find_explain_where_a_thing_was_read(demo_vault: Pinfold) -> None:
    said = demo_vault("show", "Lighthouse Keeper Smock")
    assert said.status == 0, said.err
    assert "MB-2207" in said.out and "mbox" not in said.out
    assert "Where it was read" in said.out
    found = demo_vault("find", "lighthouse", "--json").json()["found"]
    assert {f["kind"] for f in found} >= {"item"}


def test_a_file_screen_says_what_it_allows_and_that_this_is_no_advice(demo_vault: Pinfold) -> None:
    said = demo_vault("show", "LighthouseKeeperSmock_instructions.pdf")
    assert said.status == 0, said.err
    assert "no legal advice" in " ".join(said.out.split())
    assert "Selling finished items is not allowed" in " ".join(said.out.split())


def test_hostile_words_reach_no_terminal(pinfold: Pinfold, tmp_path: Path) -> None:
    text_ = (DEMO / "receipts" / "notes" / "pipit.txt").read_text(encoding="utf-8")
    pinfold("import", "-", stdin=text_.replace("Storm Petrel", "Storm\x1b[31m\u202ePetrel").encode())
    for word in ("purchases", "missing"):
        said = pinfold(word)
        assert "\x1b" not in said.out and "\u202e" not in said.out


def test_the_demo_runs_through_and_proves_both_vaults_equal(pinfold: Pinfold) -> None:
    said = pinfold("demo")
    assert said.status == 0, said.err
    assert "gives the same answers as the lost one" in " ".join(said.out.split())
    assert "Where to go from here" in said.out


@pytest.mark.skipif(sys.platform == "win32", reason="file names on Windows are Unicode")
def test_a_file_name_that_is_no_text_costs_only_itself(pinfold: Pinfold, tmp_path: Path) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    raw = os.fsencode(str(folder)) + b"/sk\xffirt.txt"
    Path(os.fsdecode(raw)).write_bytes((DEMO / "receipts" / "notes" / "pipit.txt").read_bytes())
    said = pinfold("import", folder, "--json")
    assert said.json()["imported"]["purchases_new"] == 1
    assert pinfold("purchases", "--json").json()["purchases"][0]["evidence"][0]["source"].endswith("irt.txt")
