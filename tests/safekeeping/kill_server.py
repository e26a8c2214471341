"""Runs commands of safekeeping in forked children and kills them with SIGKILL; spoken to over its standard streams.

One line of JSON in: {"command", "arguments", "step"} dies at that step of the disk, in the middle of a write if it is
one; {"command", "arguments", "after"} is killed after so many seconds; neither: runs to its end.  One line out:
{"killed": bool, "steps": n, "seconds": s}.  A process of its own, so that the test process itself never forks.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import time
from pathlib import Path
from typing import BinaryIO

from faulty_disk import FaultyDisk
from sample_vaults import PASSPHRASE, back_up

from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.restore import restore


class DeadlyDisk(FaultyDisk):
    """Kills its own process at one step."""

    def __init__(self, step: int) -> None:
        super().__init__()
        self._deadly = step
        self.workers = 1 if step > 0 else 2

    def _step(self, name: str) -> None:
        super()._step(name)
        if self.steps == self._deadly and name != "write_some":
            os.kill(os.getpid(), signal.SIGKILL)

    def write_some(self, handle: BinaryIO, data: memoryview) -> int:
        if self.steps + 1 == self._deadly:
            handle.write(data[: len(data) // 2])
            os.kill(os.getpid(), signal.SIGKILL)
        return super().write_some(handle, data)

    def remove(self, path: Path) -> None:
        self._step("remove")
        super().remove(path)


def keep(disk: DeadlyDisk, vault: str, inputs: str) -> None:
    """What an import does with files: lock, sweep, keep one by one."""
    folder = VaultFolder(Path(vault), disk=disk)
    with VaultLock(folder):
        store = ObjectStore(folder)
        store.sweep_temporary()
        for path in sorted(Path(inputs).iterdir()):
            store.keep_file(path)


def backup(disk: DeadlyDisk, vault: str, stick: str) -> None:
    """A second backup, of the day after."""
    back_up(VaultFolder(Path(vault), disk=disk), FolderDestination(Path(stick), disk=disk, workers=disk.workers), day=1)


def bring_back(disk: DeadlyDisk, stick: str, target: str) -> None:
    """A restore."""
    stick_ = FolderDestination(Path(stick), workers=disk.workers)
    restore(stick_, Path(target), passphrase=PASSPHRASE, disk=disk)


COMMANDS = {"keep": keep, "backup": backup, "restore": bring_back}


def run(order: dict[str, object]) -> dict[str, object]:
    """One command in a child; what became of it."""
    out, into = os.pipe()
    started = time.monotonic()
    child = os.fork()
    if child == 0:
        disk = DeadlyDisk(int(order.get("step", -1)))  # type: ignore[call-overload]
        try:
            COMMANDS[str(order["command"])](disk, *order["arguments"])  # type: ignore[misc]
            os.write(into, b"%d" % disk.steps)
            os._exit(0)
        except BaseException:
            import traceback

            traceback.print_exc()
            os._exit(1)
    os.close(into)
    if "after" in order:
        time.sleep(float(order["after"]))  # type: ignore[arg-type]
        os.kill(child, signal.SIGKILL)
    steps = os.read(out, 100)
    os.close(out)
    _, status = os.waitpid(child, 0)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status):
        raise SystemExit(1)
    return {"killed": os.WIFSIGNALED(status), "steps": int(steps or 0), "seconds": time.monotonic() - started}


if __name__ == "__main__":
    import vault.age
    import vault.safekeeping.keys
    import vault.safekeeping.rehearse

    vault.safekeeping.keys.lock_key(vault.safekeeping.keys.new_key(), "warm up", log_n=1)
    for line in sys.stdin:
        print(json.dumps(run(json.loads(line))), flush=True)
