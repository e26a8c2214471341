"""SIGKILL at any moment of keeping, backing up and restoring, then the same again: as if nothing had happened.

Real processes are killed, at chosen steps of the disk (also in the middle of a write) and at random times.
PINFOLD_TEST_KILLS=200 raises the number for each command and way.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from faulty_disk import tree
from sample_vaults import PASSPHRASE, add_objects, back_up, contents, make_vault, same_vaults

from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.restore import restore

pytestmark = [
    pytest.mark.kill,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="kills with SIGKILL need a POSIX system"),
]

KILLS = int(os.environ.get("PINFOLD_TEST_KILLS", "15"))
Ask = Callable[..., dict[str, float]]


@pytest.fixture
def ask() -> Iterator[Ask]:
    server = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("kill_server.py"))],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )

    def order(command: str, *arguments: Path, **how: float) -> dict[str, float]:
        assert server.stdin and server.stdout
        server.stdin.write(json.dumps({"command": command, "arguments": [str(a) for a in arguments], **how}) + "\n")
        server.stdin.flush()
        answer = server.stdout.readline()
        assert answer, "the command itself failed"
        return dict(json.loads(answer))

    yield order
    assert server.stdin
    server.stdin.close()
    server.wait(10)


def points(undisturbed: dict[str, float], seed: int) -> Iterator[dict[str, float]]:
    """Where to kill: steps spread over the whole run, then random times within it."""
    rng = random.Random(seed)
    steps = int(undisturbed["steps"])
    for step in sorted(rng.sample(range(1, steps + 1), min(KILLS, steps))):
        yield {"step": step}
    # A short run has fewer steps than kills are wanted, and not every moment is within it.
    for _ in range(KILLS + 2 * max(0, KILLS - steps)):
        yield {"after": rng.uniform(0, undisturbed["seconds"])}


def test_killed_while_keeping(ask: Ask, tmp_path: Path) -> None:
    inputs = tmp_path / "inputs"
    inputs.mkdir()
    for number, content in enumerate(contents(8)):
        (inputs / f"{number}.pdf").write_bytes(content)
    times = {p.name: p.stat().st_mtime_ns for p in inputs.iterdir()}
    before = tree(inputs)
    undisturbed = ask("keep", tmp_path / "whole", inputs)
    expected = tree(tmp_path / "whole")
    killed = 0
    for number, point in enumerate(points(undisturbed, 1)):
        vault = VaultFolder(tmp_path / str(number))
        killed += bool(ask("keep", vault.root, inputs, **point)["killed"])
        store = ObjectStore(vault)
        assert all(store.intact(d) for d in store.digests()), "no half object under a final name"
        with VaultLock(vault):
            store.sweep_temporary()
            for path in sorted(inputs.iterdir()):
                store.keep_file(path)
        assert {n: c for n, c in tree(vault.root).items() if n != "vault.lock"} == {
            n: c for n, c in expected.items() if n != "vault.lock"
        }
        shutil.rmtree(vault.root)
    assert killed >= KILLS, "most of the kills must hit"
    assert tree(inputs) == before and times == {p.name: p.stat().st_mtime_ns for p in inputs.iterdir()}


def test_killed_while_backing_up(ask: Ask, tmp_path: Path) -> None:
    vault = make_vault(tmp_path / "vault", n=6)
    back_up(vault, tmp_path / "stick")
    shutil.copytree(vault.root, tmp_path / "as-of-first")
    add_objects(vault, contents(8, seed=9)[2:])
    shutil.copytree(vault.root, tmp_path / "w" / "vault")
    shutil.copytree(tmp_path / "stick", tmp_path / "w" / "stick")
    undisturbed = ask("backup", tmp_path / "w" / "vault", tmp_path / "w" / "stick")
    killed = 0
    for number, point in enumerate(points(undisturbed, 2)):
        at = tmp_path / str(number)
        shutil.copytree(vault.root, at / "vault")
        shutil.copytree(tmp_path / "stick", at / "stick")
        killed += bool(ask("backup", at / "vault", at / "stick", **point)["killed"])
        stick = FolderDestination(at / "stick")
        assert restore(stick, at / "old", passphrase=PASSPHRASE, snapshot="2026-03-07").ok
        assert same_vaults(VaultFolder(tmp_path / "as-of-first"), VaultFolder(at / "old"))
        again = VaultFolder(at / "vault")
        assert back_up(again, stick, day=1).ok
        assert restore(stick, at / "new", passphrase=PASSPHRASE).ok
        assert same_vaults(vault, VaultFolder(at / "new"))
        assert same_vaults(vault, again), "the vault itself is only read"
        shutil.rmtree(at)
    assert killed >= KILLS


def test_killed_while_restoring(ask: Ask, tmp_path: Path) -> None:
    vault = make_vault(tmp_path / "vault", n=8)
    stick = tmp_path / "stick"
    back_up(vault, stick)
    before = tree(stick)
    undisturbed = ask("restore", stick, tmp_path / "whole")
    expected = {n: c for n, c in tree(tmp_path / "whole").items() if not n.endswith(".part")}
    killed = 0
    for number, point in enumerate(points(undisturbed, 3)):
        at = tmp_path / str(number)
        killed += bool(ask("restore", stick, at / "new", **point)["killed"])
        if not (at / "new").exists():
            assert restore(FolderDestination(stick), at / "new", passphrase=PASSPHRASE).ok
        assert {n: c for n, c in tree(at / "new").items() if not n.endswith(".part")} == expected
        assert same_vaults(vault, VaultFolder(at / "new"))
        ObjectStore(VaultFolder(at / "new")).sweep_temporary()
        assert tree(at / "new") == expected
        shutil.rmtree(at)
    assert killed >= KILLS
    assert tree(stick) == before
