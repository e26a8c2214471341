"""What watching costs while nothing happens, and how soon a finished file is told.

python tests/benchmarks/bench_watch.py [--seconds 60] [--files 2000]

Idle: `pinfold watch` on a folder of that many files, the system's own count of its CPU time over the time given, as
seconds of CPU per hour; beside it that of a process that only sleeps.  Nothing is asserted.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psutil


def _cpu(process: psutil.Process) -> float:
    """Seconds of CPU of a process and its children; on Linux to the nanosecond, from the scheduler's own count."""
    if sys.platform == "linux":
        return sum(_scheduled(p.pid) for p in (process, *process.children(recursive=True)))
    times = process.cpu_times()
    own = times.user + times.system
    return own + sum(t.user + t.system for c in process.children(recursive=True) for t in [c.cpu_times()])


def _scheduled(pid: int) -> float:
    counts = (path.read_text().split()[0] for path in Path(f"/proc/{pid}/task").glob("*/schedstat"))
    return sum(map(int, counts)) / 1e9


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--files", type=int, default=2000)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        root = Path(name)
        for n in range(given.files):
            path = root / "in" / str(n % 20) / f"{n}.txt"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(f"note {n}\n")
        call = [sys.executable, "-m", "vault.cli.main", "--vault", str(root / "vault"), "watch", str(root / "in")]
        watch = subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        sleep = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(9999)"])
        try:
            processes = [psutil.Process(p.pid) for p in (watch, sleep)]
            before = [-1.0, -1.0]
            while before[0] != (now := _cpu(processes[0])):  # until the first look through is over
                before[0] = now
                time.sleep(3)
            before = [_cpu(p) for p in processes]
            begun = time.monotonic()
            time.sleep(given.seconds)
            hours = (time.monotonic() - begun) / 3600
            after = [_cpu(p) for p in processes]
            for words, a, b in zip(("watch", "a process that sleeps"), before, after):
                print(
                    f"idle, {given.files} files, {given.seconds:g} s, {words}: {(b - a) / hours:.2f} s of CPU per hour"
                )
            memory = processes[0].memory_info().rss / (1 << 20)
            print(f"memory of the watcher: {memory:.0f} MB")
        finally:
            for process in (watch, sleep):
                process.terminate()
                process.wait(10)


if __name__ == "__main__":
    main()
