"""docs/formats/backup.md says what is true: its tests exist, its commands are those of READ-ME-FIRST.txt."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from vault.safekeeping import layout
from vault.safekeeping.readme import readme_text

HERE = Path(__file__).parent
DOCUMENT = HERE.parents[1] / "docs" / "formats" / "backup.md"


@pytest.fixture(scope="module")
def text() -> str:
    return DOCUMENT.read_text(encoding="utf-8")


def test_every_test_it_names_exists(text: str) -> None:
    named = re.findall(r"`((?:tests/\w+/)?test_\w+\.py)(?:::(test_\w+))?`", text)
    assert len(named) > 30
    for file, test in named:
        path = HERE.parents[1] / file if "/" in file else HERE / file
        source = path.read_text(encoding="utf-8")
        assert not test or f"def {test}(" in source, f"{file}::{test}"


def test_its_commands_are_those_of_the_read_me(text: str) -> None:
    block = re.findall(r"```\n(age -d .*?)```", text, re.DOTALL)[0]
    commands = [line.split("  #")[0].rstrip() for line in block.splitlines()]
    written = readme_text(sealed=True).decode()
    assert all(line in written for line in commands) and len(commands) == 7


NAMES = (layout.READ_ME, layout.KEY, layout.LOCK, layout.ABOUT, layout.LIST, layout.SETTINGS, layout.CATALOGUE)


@pytest.mark.parametrize("name", [*NAMES, layout.FORMAT])
def test_it_names_what_the_code_writes(text: str, name: str) -> None:
    assert name in text
