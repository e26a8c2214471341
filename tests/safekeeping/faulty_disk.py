"""A disk that fails at its n-th step, for the tests that ask what is left then."""

from __future__ import annotations

import errno
from collections import Counter
from pathlib import Path
from typing import Any, BinaryIO

from vault.safekeeping.disk import Disk

STEPS = ("create", "write_some", "sync", "rename", "sync_folder", "make_folder", "link")


class FaultyDisk(Disk):
    """Raises `number` from step `fail_at` on, or only there; with `short` every write takes half of its bytes."""

    syncs = 1  # steps are counted one by one

    def __init__(self, fail_at: int = -1, *, number: int = errno.ENOSPC, short: bool = False, for_ever: bool = True):
        self.fail_at, self.number, self.short, self.for_ever = fail_at, number, short, for_ever
        self.steps = 0
        self.seen: Counter[str] = Counter()

    def _step(self, name: str) -> None:
        self.steps += 1
        self.seen[name] += 1
        if self.fail_at >= 0 and (self.steps == self.fail_at or (self.for_ever and self.steps > self.fail_at)):
            raise OSError(self.number, "made to fail", name)

    def create(self, path: Path, *, mode: int = 0o600) -> BinaryIO:
        self._step("create")
        return super().create(path, mode=mode)

    def write_some(self, handle: BinaryIO, data: memoryview) -> int:
        if self.short:
            self.steps += 1
            self.seen["write_some"] += 1
            return super().write_some(handle, data[: max(1, len(data) // 2)])
        self._step("write_some")
        return super().write_some(handle, data)

    def sync(self, handle: BinaryIO) -> None:
        self._step("sync")

    def rename(self, source: Path, target: Path) -> None:
        self._step("rename")
        super().rename(source, target)

    def sync_folder(self, folder: Path) -> None:
        self._step("sync_folder")

    def make_folder(self, folder: Path, *, mode: int = 0o700) -> None:
        if not folder.is_dir():
            self._step("make_folder")
        super().make_folder(folder, mode=mode)

    def link(self, source: Path, target: Path) -> None:
        self._step("link")
        super().link(source, target)


def tree(root: Path) -> dict[str, Any]:
    """Every file below `root` with its bytes, by its path with forward slashes."""
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in sorted(root.rglob("*")) if p.is_file()}
