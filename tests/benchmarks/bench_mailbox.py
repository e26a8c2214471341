"""A whole mailbox: `python tests/benchmarks/bench_mailbox.py [MAILS] [RECEIPTS] [FOLDER]`.

Makes an mbox of invented mail (`mail_maker`; 20,000 mails, 1,500 of them receipts, if nothing is said) and prints:
what a mail that is no evidence costs beside its SHA-256 in the same run, for the look alone and for splitting and
looking; the milliseconds of reading a receipt; then `pinfold import` as a process of its own: seconds and peak memory
of the first, the share of the second, unchanged one; and the same for the mails that are no evidence alone.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import psutil
from mail_maker import from_line, letters

from vault.model.evidence import EvidenceKind
from vault.receipts.likely import may_be_evidence
from vault.receipts.mailbox import split_mbox
from vault.receipts.read import read

SEED = 7
SAMPLE = 2_000  # mails that are looked at one by one in this process
RUNS = 5


def main(n_mails: int, n_receipts: int, folder: Path) -> None:
    """Everything, in the order of the docstring."""
    kinds = look_at_each(min(SAMPLE, n_mails), min(SAMPLE, n_mails) * n_receipts // n_mails)
    print()
    whole, plain = folder / "all.mbox", folder / "no-evidence.mbox"
    n_bytes = write(whole, n_mails, n_receipts)
    others = write(plain, n_mails - n_receipts, 0)
    print(f"{n_mails} mails, {n_bytes / 1e6:.0f} MB, {n_receipts} receipts ({len(kinds)} kinds of mail)")
    hashing = min(busy(lambda: digest(whole)) for _ in range(3))
    print(f"SHA-256 of the file: {hashing:.2f} s of processor, to which the rest is compared in processor time")
    first = imported(whole, folder / "vault")
    second = imported(whole, folder / "vault")
    show("first import", first, hashing)
    show("second import", second, hashing)
    print(
        f"  second : first = {second.seconds / first.seconds:.3f} by the clock, {second.busy / first.busy:.3f} of processor"
    )
    none = imported(plain, folder / "vault-of-nothing")
    bare = min(busy(lambda: digest(plain)) for _ in range(3))
    start = start_up(folder)
    show(f"import of no evidence ({others / 1e6:.0f} MB)", none, bare)
    print(f"  without starting the program ({start:.2f} s): {(none.busy - start) / bare:.1f} x SHA-256")
    per = 1000 * (first.busy - none.busy) / max(n_receipts, 1)
    print(f"  a receipt, all of the import (keeping, joining, matching too): {per:.1f} ms")
    print(f"  documents found: {first.documents} of {n_receipts}; in what is no evidence: {none.documents}")


# --- in this process --------------------------------------------------------------------------


def look_at_each(n_mails: int, n_receipts: int) -> dict[str, list[bytes]]:
    """Times a sample of the mails, kind by kind: least of several runs for each mail."""
    by_kind: dict[str, list[bytes]] = defaultdict(list)
    for kind, raw in letters(SEED, n_receipts, n_mails - n_receipts):
        by_kind[kind].append(raw)
    may_be_evidence(b"From: a@b.example\n\n")
    total = [0.0, 0.0]
    for kind, mails in by_kind.items():
        hashed, looked = least(lambda raw: hashlib.sha256(raw).digest(), mails), least(may_be_evidence, mails)
        passed = sum(map(may_be_evidence, mails))
        size = sum(map(len, mails)) / len(mails) / 1000
        print(
            f"{kind:20} {len(mails):5} of {size:6.1f} kB: SHA-256 {1e6 * hashed / len(mails):6.1f} µs, "
            f"look {1e6 * looked / len(mails):6.1f} µs = {looked / hashed:5.1f} x; {passed} to be read"
        )
        if kind != "receipt":
            total = [total[0] + hashed, total[1] + looked]
    box = b"".join(from_line(1) + raw + b"\n" for kind, mails in by_kind.items() if kind != "receipt" for raw in mails)
    split = min(busy(lambda: sum(1 for _ in split_mbox(io.BytesIO(box)))) for _ in range(RUNS))
    print(
        f"no evidence: look {total[1] / total[0]:.2f} x SHA-256; with splitting the mailbox {(total[1] + split) / total[0]:.2f} x"
    )
    receipts = by_kind.get("receipt", [])[:300]
    read(EvidenceKind.MAIL, receipts[0])
    reading = least(lambda raw: read(EvidenceKind.MAIL, raw), receipts, runs=2)
    slowest = max(least(lambda raw: read(EvidenceKind.MAIL, raw), [raw], runs=1) for raw in receipts)
    bought = sum(bool(read(EvidenceKind.MAIL, raw).claims) for raw in receipts)
    print(
        f"reading a receipt: {1000 * reading / len(receipts):.1f} ms, slowest {1000 * slowest:.0f} ms; {bought} of {len(receipts)} read"
    )
    return by_kind


def least(work: Callable[[bytes], object], mails: Sequence[bytes], *, runs: int = RUNS) -> float:
    """Seconds of processor for all mails, for each the least of several runs: what else the computer does is left out."""
    best = [float("inf")] * len(mails)
    for _ in range(runs):
        for number, raw in enumerate(mails):
            start = time.thread_time()
            work(raw)
            best[number] = min(best[number], time.thread_time() - start)
    return sum(best)


def busy(work: Callable[[], object]) -> float:
    """Seconds of processor, which other programs disturb less than the clock."""
    start = time.process_time()
    work()
    return time.process_time() - start


def digest(path: Path) -> str:
    found = hashlib.sha256()
    with path.open("rb") as stream:
        while chunk := stream.read(1 << 20):
            found.update(chunk)
    return found.hexdigest()


def write(path: Path, n_mails: int, n_receipts: int) -> int:
    """The mailbox as a file; gives its size."""
    with path.open("wb") as stream:
        for number, (_, raw) in enumerate(letters(SEED, n_receipts, n_mails - n_receipts)):
            stream.write(from_line(number) + raw + b"\n")
    return path.stat().st_size


# --- as a process of its own ------------------------------------------------------------------


class Run:
    """One import: seconds of the wall clock and of the processors, peak memory of all its processes, documents."""

    def __init__(self, seconds: float, busy: float, peak: int, documents: int) -> None:
        self.seconds, self.busy, self.peak, self.documents = seconds, busy, peak, documents


def imported(path: Path, vault: Path) -> Run:
    """Runs `pinfold import` and watches it."""
    return _run(["--vault", str(vault), "import", "--json", str(path)])


def start_up(folder: Path) -> float:
    """Seconds of processor for an import of an empty folder into a vault that is there."""
    (folder / "empty").mkdir(exist_ok=True)
    return min(imported(folder / "empty", folder / "vault-of-nothing").busy for _ in range(2))


def _run(words: Iterable[str]) -> Run:
    before = os.times()
    start = time.perf_counter()
    program = psutil.Popen([sys.executable, "-m", "vault.cli.main", *words], stdout=subprocess.PIPE)
    peak = 0
    while program.poll() is None:
        peak = max(peak, _memory(program))
        time.sleep(0.02)
    seconds = time.perf_counter() - start
    after = os.times()
    out = program.stdout.read() if program.stdout else b""
    told = json.loads(out)["imported"]["documents"] if out.strip().startswith(b"{") else -1
    return Run(
        seconds, after.children_user - before.children_user + after.children_system - before.children_system, peak, told
    )


def _memory(program: psutil.Popen) -> int:
    total = 0
    for process in [program, *_children(program)]:
        try:
            total += process.memory_info().rss
        except psutil.Error:
            continue
    return total


def _children(program: psutil.Popen) -> list[psutil.Process]:
    try:
        return list(program.children(recursive=True))
    except psutil.Error:
        return []


def show(name: str, run: Run, hashing: float) -> None:
    print(
        f"{name}: {run.seconds:.2f} s, {run.busy:.2f} s of processor = {run.busy / hashing:.1f} x SHA-256, "
        f"peak memory {run.peak / 1e6:.0f} MB"
    )


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:3]] + [20_000, 1_500][len(sys.argv[1:3]) :]
    if len(sys.argv) > 3:
        Path(sys.argv[3]).mkdir(parents=True, exist_ok=True)
        main(*numbers, Path(sys.argv[3]))
    else:
        with tempfile.TemporaryDirectory() as scratch:
            main(*numbers, Path(scratch))
