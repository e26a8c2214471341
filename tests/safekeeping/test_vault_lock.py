"""One writer at a time; the dead hold nothing; readers never wait."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from vault.errors import StoreError
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock
from vault.safekeeping.objects import ObjectStore

HOLDER = """
import sys, time
from pathlib import Path
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock
with VaultLock(VaultFolder(Path(sys.argv[1])), purpose="import"):
    print("held", flush=True)
    time.sleep(60)
"""


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    return VaultFolder(tmp_path / "vault")


def _holder(folder: VaultFolder) -> subprocess.Popen[bytes]:
    process = subprocess.Popen([sys.executable, "-c", HOLDER, str(folder.root)], stdout=subprocess.PIPE)
    assert process.stdout is not None and process.stdout.readline().strip() == b"held"
    return process


def test_the_first_lock_makes_the_vault_folder(folder: VaultFolder) -> None:
    with VaultLock(folder):
        assert folder.objects_path.is_dir()
    with VaultLock(folder):
        pass


def test_a_second_writer_is_told_who_holds_it(folder: VaultFolder) -> None:
    process = _holder(folder)
    try:
        with pytest.raises(StoreError) as caught, VaultLock(folder):
            pass
        assert caught.value.code == "locked"
        assert f"process {process.pid}" in caught.value.message and "import" in caught.value.message
        assert str(folder.root) in caught.value.message
    finally:
        process.kill()
        process.wait()


@pytest.mark.kill
def test_a_killed_process_holds_nothing(folder: VaultFolder) -> None:
    process = _holder(folder)
    os.kill(process.pid, signal.SIGKILL)
    process.wait()
    with VaultLock(folder):
        pass


def test_waiting_gets_the_lock_when_it_is_free(folder: VaultFolder) -> None:
    process = _holder(folder)
    with pytest.raises(StoreError), VaultLock(folder, wait_seconds=0.2):
        pass
    process.kill()
    started = time.monotonic()
    with VaultLock(folder, wait_seconds=20):
        assert time.monotonic() - started < 10
    process.wait()


def test_two_locks_in_one_process_exclude_each_other(folder: VaultFolder) -> None:
    with VaultLock(folder), pytest.raises(StoreError, match="in use"), VaultLock(folder):
        pass


def test_the_lock_is_given_back_after_an_exception(folder: VaultFolder) -> None:
    with pytest.raises(RuntimeError), VaultLock(folder):
        raise RuntimeError
    with VaultLock(folder):
        pass


@pytest.mark.parametrize("words", [b"", b"\x00\xff", b"[1]", b'{"pid": "x"}', b"x" * 100_000])
def test_garbage_in_the_lock_file_does_not_matter(folder: VaultFolder, words: bytes) -> None:
    with VaultLock(folder):
        folder.lock_path.write_bytes(words)
        with pytest.raises(StoreError, match="in use"), VaultLock(folder):
            pass


def test_readers_never_wait(folder: VaultFolder) -> None:
    sha256 = ObjectStore(folder).keep(b"read me")
    process = _holder(folder)
    try:
        assert ObjectStore(folder).open(sha256).read() == b"read me"
        assert folder.exists() and list(ObjectStore(folder).digests()) == [sha256]
    finally:
        process.kill()
        process.wait()
