"""Runs the installed `pinfold` command as its user would."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

REPOSITORY = Path(__file__).parents[2]
DEMO = REPOSITORY / "fixtures" / "demo"
DAY = "2026-11-25"


def command() -> list[str]:
    """The `pinfold` beside this Python, as pip installed it."""
    script = Path(sys.executable).parent / ("pinfold.exe" if os.name == "nt" else "pinfold")
    if not script.exists():
        pytest.fail(f"the pinfold command is not installed beside {sys.executable}")
    return [str(script)]


@dataclass(frozen=True, kw_only=True)
class Said:
    """What one call ended with."""

    status: int
    out: str
    err: str

    def json(self) -> Any:
        """Standard output as JSON; fails if anything else stands there."""
        return json.loads(self.out)


@dataclass(frozen=True, kw_only=True)
class Pinfold:
    """The command with one vault."""

    vault: Path
    home: Path

    def __call__(self, *words: object, stdin: bytes = b"", env: dict[str, str] | None = None, day: str = DAY) -> Said:
        done = subprocess.run(
            [*command(), "--vault", str(self.vault), "--as-of", day, *map(str, words)],
            input=stdin,
            capture_output=True,
            env={**environment(self.home), **(env or {})},
            timeout=240,
            cwd=self.home,
        )
        err = done.stderr.decode("utf-8", "replace")
        assert "Traceback (most recent call last)" not in err, err
        return Said(status=done.returncode, out=done.stdout.decode("utf-8"), err=err)

    def answers(self) -> dict[str, Any]:
        """What the vault says of everything."""
        return {word: self(word, "--json").json() for word in ("purchases", "files", "missing", "sellers", "settle")}


def environment(home: Path) -> dict[str, str]:
    """A plain environment with a home of its own, 60 columns wide."""
    kept = {k: v for k, v in os.environ.items() if k in ("PATH", "SYSTEMROOT", "TEMP", "TMP", "LANG", "PYTHONPATH")}
    return {**kept, "HOME": str(home), "USERPROFILE": str(home), "COLUMNS": "60", "PYTHONUTF8": "1"}


@pytest.fixture
def pinfold(tmp_path: Path) -> Pinfold:
    home = tmp_path / "home"
    home.mkdir()
    return Pinfold(vault=tmp_path / "vault", home=home)


@pytest.fixture(scope="session")
def demo_vault(tmp_path_factory: pytest.TempPathFactory) -> Pinfold:
    """A vault with the demo scenario imported; tests that use it only read."""
    root = tmp_path_factory.mktemp("demo")
    (root / "home").mkdir()
    made = Pinfold(vault=root / "vault", home=root / "home")
    said = made("import", DEMO / "receipts", DEMO / "downloads")
    assert said.status in (0, 1), said.err
    return made


@pytest.fixture
def passphrase_file(tmp_path: Path) -> Iterator[Path]:
    path = tmp_path / "passphrase.txt"
    path.write_text("four gulls over a cold harbour\n", encoding="utf-8")
    yield path


Runner = Callable[..., Said]
