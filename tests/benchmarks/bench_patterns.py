"""Speed of vault.patterns beside other readers: `python tests/benchmarks/bench_patterns.py [FOLDER] [RUNS]`.

Without a folder, the drawn files of fixtures/patterns. Prints ratios, best of several runs that take turns:
reading all facts (guarded, with the start of the worker) against `pdftotext` and `sha256sum` over the files one by
one, against pypdf's text of all pages, and one worker against two over at least 500 files; and the memory of the
workers and of this process.  Each side is told by the clock and by the processor time of this process and those it
started; on a machine that does other things as well only the latter says much.
"""

from __future__ import annotations

import io
import logging
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path

import psutil

from vault.patterns.guard import Guard, Job

ROOT = Path(__file__).resolve().parents[2]
MANY = 500
_PROCESSOR = ("user", "system", "children_user", "children_system")


def main(folder: Path, runs: int) -> None:
    files = sorted(path for path in folder.rglob("*") if path.is_file() and path.read_bytes()[:5] == b"%PDF-")
    jobs = [Job(path=path, media_type="application/pdf", name=path.name) for path in files]
    pages = sum(reading.facts.pages or 0 for _, reading in read(jobs, 1))
    print(f"{len(files)} PDFs with {pages} pages, best of {runs}")
    sides: dict[str, Callable[[], object]] = {"all facts, one worker": lambda: read(jobs, 1)}
    sides["all facts, two workers"] = lambda: read(jobs, 2)
    if shutil.which("pdftotext"):
        sides["pdftotext + sha256sum"] = lambda: one_by_one(files)
    sides["pypdf text"] = lambda: pypdf_text(files)
    rounds = [{name: timed(side) for name, side in sides.items()} for _ in range(runs)]
    ours = [min(times["all facts, one worker"][kind] for times in rounds) for kind in (0, 1)]
    for name in sides:
        clock, processor = (min(times[name][kind] for times in rounds) for kind in (0, 1))
        ratios = f"{clock / ours[0]:.2f} times ours, processor {processor:.2f} s, {processor / ours[1]:.2f} times ours"
        print(f"{name}: {clock:.2f} s, {ratios}")
    many = (jobs * (MANY // max(len(jobs), 1) + 1))[:MANY]
    one = min(timed(lambda: read(many, 1)) for _ in range(2))
    two = min(timed(lambda: read(many, 2)) for _ in range(2))
    print(f"{MANY} files: one worker {one[0]:.2f} s, two workers {two[0]:.2f} s, {one[0] / two[0]:.2f} times as fast")
    print(f"{MANY} files: processor time of two workers {two[1] / one[1]:.2f} times that of one")
    parent, worker = peak_memory(many)
    print(f"memory at most: this process {parent >> 20} MB, a worker {worker >> 20} MB")


def read(jobs: list[Job], workers: int) -> list[tuple[Job, object]]:
    """All facts of all files; the readings are dropped as an import drops them, all but the facts."""
    with Guard(workers=workers) as guard:
        return [(job, reading) for job, reading in guard.read_many(jobs)]


def one_by_one(files: list[Path]) -> None:
    for path in files:
        subprocess.run(["pdftotext", "-q", str(path), "-"], stdout=subprocess.DEVNULL, check=False)
        subprocess.run(["sha256sum", str(path)], stdout=subprocess.DEVNULL, check=False)


def pypdf_text(files: list[Path]) -> None:
    import pypdf

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    for path in files:
        try:
            reader = pypdf.PdfReader(io.BytesIO(path.read_bytes()))
            for page in reader.pages:
                page.extract_text()
        except Exception as error:  # a broken file counts with what was read of it
            logging.getLogger(__name__).debug("%s: %s", path, error)


def peak_memory(jobs: list[Job]) -> tuple[int, int]:
    """The most that this process and one worker held while reading, bytes."""
    highest = [0, 0]
    done = threading.Event()
    me = psutil.Process()

    def watch() -> None:
        while not done.wait(0.05):
            highest[0] = max(highest[0], me.memory_info().rss)
            for child in me.children():
                try:
                    highest[1] = max(highest[1], child.memory_info().rss)
                except psutil.Error:
                    continue

    thread = threading.Thread(target=watch)
    thread.start()
    with Guard(workers=2) as guard:
        for _ in guard.read_many(jobs):
            pass
    done.set()
    thread.join()
    return highest[0], highest[1]


def timed(act: Callable[[], object]) -> tuple[float, float]:
    """Seconds by the clock and of the processors, this process and the children it waited for."""
    start, used = time.perf_counter(), os.times()
    act()
    now = os.times()
    processor = sum(getattr(now, kind) - getattr(used, kind) for kind in _PROCESSOR)
    return time.perf_counter() - start, processor


def drawn(folder: Path) -> Path:
    sys.path.insert(0, str(ROOT / "fixtures" / "patterns"))
    from makers import all_files

    for made in all_files():
        (folder / made.name).write_bytes(made.data)
    return folder


if __name__ == "__main__":
    given = [argument for argument in sys.argv[1:] if not argument.isdigit()]
    counts = [int(argument) for argument in sys.argv[1:] if argument.isdigit()]
    with tempfile.TemporaryDirectory() as scratch:
        main(Path(given[0]) if given else drawn(Path(scratch)), counts[0] if counts else 3)
