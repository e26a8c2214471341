"""Shared by the tests of safekeeping."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

_MEMORY = Path("/dev/shm")


@pytest.fixture
def tmp_path(tmp_path: Path) -> Iterator[Path]:
    """A folder in memory where the system has one: these tests make and remove very many small files."""
    if not (_MEMORY.is_dir() and os.access(_MEMORY, os.W_OK) and shutil.disk_usage(_MEMORY).free > 500_000_000):
        yield tmp_path
        return
    folder = Path(tempfile.mkdtemp(prefix="pinfold-test-", dir=_MEMORY))
    yield folder
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(autouse=True)
def disk_that_need_not_survive_a_power_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    """Syncing takes most of the time here and shows nothing; that and when it is asked for, `FaultyDisk` counts."""
    monkeypatch.setattr(os, "fsync", lambda _: None)
