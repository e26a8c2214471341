"""A backup is read without pinfold: the commands of READ-ME-FIRST.txt, letter by letter, with Debian's age and tar."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from faulty_disk import tree
from sample_vaults import PASSPHRASE, back_up, make_vault

from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.readme import readme_text
from vault.safekeeping.shelf import places

pytestmark = pytest.mark.skipif(
    not (shutil.which("sh") and shutil.which("tar") and shutil.which("grep")), reason="needs a Unix shell and tar"
)
needs_age = pytest.mark.skipif(not shutil.which("age"), reason="needs the command age")
_STEP_RE = re.compile(rb"^\.{40,}\n(.*?)^\.{40,}$", re.DOTALL | re.MULTILINE)


def steps(*, sealed: bool) -> list[str]:
    """The commands between the lines of dots."""
    return [step.decode() for step in _STEP_RE.findall(readme_text(sealed=sealed))]


def sh(command: str, at: Path) -> None:
    subprocess.run(["sh", "-eu", "-c", command], cwd=at, check=True, timeout=60)


def sh_with_passphrase(command: str, at: Path, passphrase: str) -> None:
    """Runs a command that asks on the terminal, on a terminal."""
    import fcntl
    import pty
    import termios

    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        ["sh", "-eu", "-c", command],
        cwd=at,
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        start_new_session=True,
        preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
    )
    os.close(theirs)
    said = b""
    while b":" not in said:
        said += os.read(ours, 1000)
    os.write(ours, passphrase.encode() + b"\n")
    assert process.wait(60) == 0, said
    os.close(ours)


def check(unpacked: Path, vault_root: Path) -> None:
    """Everything is there, under its readable name or its digest."""
    from vault.safekeeping.folder import VaultFolder

    folder = VaultFolder(vault_root)
    store, named = ObjectStore(folder), places(folder)
    expected = {named.get(d, f"without-a-name/{d}"): store.open(d).read() for d in store.digests()}
    assert tree(unpacked) == expected
    assert any(name.startswith("Lark & Thimble/") for name in expected)
    assert any(name.startswith("without-a-name/") for name in expected)


@needs_age
@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal of POSIX systems")
def test_an_encrypted_backup_by_hand_with_the_passphrase(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault", n=20)
    back_up(folder, tmp_path / "stick")
    back_up(folder, tmp_path / "stick", day=1)
    commands = steps(sealed=True)
    assert len(commands) == 3
    sh_with_passphrase(commands[0], tmp_path / "stick", PASSPHRASE)
    assert "AGE-SECRET-KEY-1" in (tmp_path / "stick" / "key.txt").read_text()
    for command in commands[1:]:
        sh(command, tmp_path / "stick")
    check(tmp_path / "stick" / "unlocked", folder.root)
    assert (tmp_path / "stick" / "catalogue.sqlite").read_bytes() == folder.catalogue_path.read_bytes()


@needs_age
def test_an_encrypted_backup_by_hand_with_the_recovery_sheet(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault", n=8)
    report = back_up(folder, tmp_path / "stick")
    assert report.made_key is not None
    (tmp_path / "stick" / "key.txt").write_text(report.made_key.identities[0])
    for command in steps(sealed=True)[1:]:
        sh(command, tmp_path / "stick")
    check(tmp_path / "stick" / "unlocked", folder.root)


def test_a_plain_backup_by_hand(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault", n=20)
    back_up(folder, tmp_path / "stick", plain=True)
    for command in steps(sealed=False):
        sh(command, tmp_path / "stick")
    check(tmp_path / "stick" / "unpacked", folder.root)


@pytest.mark.parametrize("plain", [False, True])
def test_rot_is_found_without_any_key_by_the_names_alone(tmp_path: Path, plain: bool) -> None:
    back_up(make_vault(tmp_path / "vault", n=8), tmp_path / "stick", plain=plain)
    for path in (tmp_path / "stick" / "objects").rglob("*"):
        if path.is_file():
            assert hashlib.sha256(path.read_bytes()).hexdigest() == path.name.removesuffix(".age")


@pytest.mark.parametrize("sealed", [False, True])
def test_the_text_is_plain_and_narrow(sealed: bool) -> None:
    text = readme_text(sealed=sealed).decode("ascii")
    assert max(len(line) for line in text.splitlines()) <= 92
    assert "pinfold restore --from" in text and ("NOT encrypted" in text) is not sealed
