"""The contract of a destination, and what only a folder can get wrong."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from destination_contract import *  # noqa: F403
from destination_contract import names
from faulty_disk import FaultyDisk, tree

from vault.errors import BackupError
from vault.safekeeping.destination import (
    Destination,
    FolderDestination,
    Gone,
    open_destination,
    put,
)

Maker = Callable[[Path], Destination]
KINDS_UNDER_TEST: dict[str, Maker] = {"folder": lambda at: FolderDestination(at / "backup")}


@pytest.fixture(params=KINDS_UNDER_TEST)
def destination(request: pytest.FixtureRequest, tmp_path: Path) -> Destination:
    made = KINDS_UNDER_TEST[request.param](tmp_path)
    made.prepare()
    return made


# The folder


def test_a_missing_parent_is_an_unplugged_stick(tmp_path: Path) -> None:
    with pytest.raises(BackupError, match="cannot be reached") as caught:
        FolderDestination(tmp_path / "stick" / "backup").prepare()
    assert caught.value.code == "missing" and "plugged in" in caught.value.next_step
    with pytest.raises(BackupError):
        FolderDestination(tmp_path / "stick" / "backup").check()
    assert list(tmp_path.iterdir()) == []


def test_a_file_is_no_destination(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(BackupError, match="no folder"):
        FolderDestination(tmp_path / "file").prepare()


def test_links_and_devices_are_passed_over(tmp_path: Path) -> None:
    destination = FolderDestination(tmp_path / "d")
    destination.prepare()
    secret = tmp_path / "secret"
    secret.write_bytes(b"private")
    (tmp_path / "d" / "objects").mkdir()
    (tmp_path / "d" / "objects" / "aa").symlink_to(secret)
    (tmp_path / "d" / "key.age").symlink_to("/dev/zero")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "d" / "objects" / "bb")
        with pytest.raises(Gone):
            destination.open("objects/bb")
    assert names(destination) == set()
    for name in ("objects/aa", "key.age"):
        with pytest.raises(BackupError):
            destination.open(name)


@pytest.mark.parametrize(
    "number, code",
    [(errno.ENOSPC, "full"), (errno.EROFS, "read-only"), (errno.EACCES, "read-only"), (errno.EFBIG, "too-large")],
)
def test_trouble_is_told_with_the_path_and_a_next_step(tmp_path: Path, number: int, code: str) -> None:
    destination = FolderDestination(tmp_path / "d", disk=FaultyDisk(4, number=number))
    with pytest.raises(BackupError) as caught:
        destination.prepare()
        put(destination, "objects/aa/bb", b"content")
    assert caught.value.code == code
    assert str(tmp_path / "d") in caught.value.message and caught.value.next_step


def test_a_fault_at_any_step_names_nothing_half_written(tmp_path: Path) -> None:
    count = FaultyDisk()
    _two_puts(FolderDestination(tmp_path / "count", disk=count))
    for step in range(1, count.steps + 1):
        at = tmp_path / str(step)
        with pytest.raises(BackupError):
            _two_puts(FolderDestination(at, disk=FaultyDisk(step)))
        left = tree(at) if at.exists() else {}
        assert set(left) <= {"objects/aa/one", "objects/aa/two"} and all(len(v) == 200_000 for v in left.values())


def _two_puts(destination: FolderDestination) -> None:
    destination.prepare()
    for name in ("objects/aa/one", "objects/aa/two"):
        put(destination, name, name[-1:].encode() * 200_000)


def test_sweeping_removes_leftovers_and_nothing_else(tmp_path: Path) -> None:
    destination = FolderDestination(tmp_path / "d")
    destination.prepare()
    put(destination, "key.age", b"key")
    destination.begin().write(b"half")
    (tmp_path / "d" / "tmp" / "film.part").write_bytes(b"a person's own")
    destination.sweep()
    assert set(tree(tmp_path / "d")) == {"key.age", "tmp/film.part"}


def test_names_of_destinations(tmp_path: Path) -> None:
    assert open_destination(str(tmp_path)).name == str(tmp_path)
    with pytest.raises(BackupError, match="carrier://pigeon"):
        open_destination("carrier://pigeon")
