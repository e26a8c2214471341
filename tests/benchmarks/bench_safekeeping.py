"""Backup, restore and verify of a large vault: `python tests/benchmarks/bench_safekeeping.py [objects] [GB] [folder]`.

Default: 20,000 objects, 8 GB; four times that much room is needed below `folder` (default: the temporary folder).
Every step is the `pinfold` command as a person would call it, start-up and catalogue included, beside a plain tool over
the same bytes: the `age` program on one stream, `sha256sum` on all files.  Ratios are ours divided by theirs.  Nothing
is asserted; what the disk has in memory is written out before each step.
"""

from __future__ import annotations

import hashlib
import os
import random
import shlex
import shutil
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from vault.age import X25519Identity, identity_file
from vault.catalogue import Catalogue
from vault.model.pattern import PatternFacts, PatternFile, Sighting
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock
from vault.safekeeping.objects import ObjectStore


@dataclass(frozen=True, kw_only=True)
class Ran:
    """One command: seconds on the clock, seconds of processor, megabytes of memory at most."""

    seconds: float
    cpu: float
    mb: float


def main(n_objects: int, gigabytes: float, at: Path | None) -> None:
    if shutil.which("age") is None or shutil.which("sha256sum") is None:
        sys.exit("the programs 'age' and 'sha256sum' are needed to compare with")
    with tempfile.TemporaryDirectory(prefix="bench-safekeeping-", dir=at) as name:
        bench(Path(name), n_objects, int(gigabytes * 1e9))


def bench(root: Path, n_objects: int, n_bytes: int) -> None:
    started = time.monotonic()
    (root / "pass.txt").write_text("four gulls over a cold harbour\n")
    make_vault(root / "vault", 1, 1000)
    key_made = pinfold(
        root, "backup", "--to", "other", "--passphrase-file", "pass.txt", "--recovery-sheet", "sheet.txt"
    )
    sizes = make_vault(root / "vault", n_objects, n_bytes)
    total = sum(sizes)
    took = time.monotonic() - started
    print(f"{n_objects} objects, {total / 1e9:.2f} GB, made in {took:.0f} s; {os.cpu_count()} processors", flush=True)
    # The key is made at a destination of its own: opening it takes 256 MB by design (scrypt at 2^18), and backups do not.
    say("making the key", key_made)
    identity = X25519Identity.generate()
    (root / "key.txt").write_text(identity_file(identity))
    objects, public = shlex.quote(str(root / "vault" / "objects")), identity.recipient().to_text()

    one_stream = shell(root, f"find {objects} -type f -print0 | xargs -0 cat | age -r {public} -o one.age")
    first = pinfold(root, "backup", "--to", "stick")
    say("first backup", first, one_stream, "age, one stream", 1.5)
    again = pinfold(root, "backup", "--to", "stick")
    say("second, nothing new", again)
    add_one(root / "vault")
    more = pinfold(root, "backup", "--to", "stick")
    say("third, one new file", more)

    opened = shell(root, "age -d -i key.txt -o one.out one.age")
    (root / "one.out").unlink()
    back = pinfold(root, "restore", "--from", "stick", "--recovery-key", "sheet.txt", vault="new")
    say("restore", back, opened, "age -d, one stream", 1.5)
    shutil.rmtree(root / "new")
    (root / "one.age").unlink()

    shell(
        root, f"find {objects} -type f -print0 | xargs -0 cat >/dev/null"
    )  # both find the files in memory, or neither
    summed = shell(root, f"find {objects} -type f -print0 | xargs -0 sha256sum >/dev/null")
    say("verify", pinfold(root, "verify"), summed, "sha256sum", 1.2)


def make_vault(root: Path, n_objects: int, n_bytes: int) -> list[int]:
    """A vault of incompressible objects, small ones and large ones, with a row for each."""
    rng = random.Random(20260307)
    folder = VaultFolder(root)
    weights = [rng.expovariate(1) for _ in range(n_objects)]
    sizes = [max(1, int(n_bytes * w / sum(weights))) for w in weights]
    pool = rng.randbytes(1 << 24)
    with VaultLock(folder), Catalogue.open(folder.catalogue_path) as catalogue, catalogue.transaction():
        folder.create()
        store = ObjectStore(folder)
        for number, size in enumerate(sizes):
            begin = rng.randrange(len(pool) // 2)
            content = b"%08d" % number + pool[begin : begin + size]
            while len(content) < size:
                content += pool
            keep(store, catalogue, content[:size], number, quickly=True)
    os.sync()
    return sizes


def keep(store: ObjectStore, catalogue: Catalogue, content: bytes, number: int, *, quickly: bool = False) -> None:
    facts = PatternFacts(
        media_type="application/pdf", is_pattern=True, title=f"Cloak {number}", designer="Lark & Thimble"
    )
    seen = Sighting(path=f"/home/ada/Downloads/cloak-{number}.pdf")
    sha256 = hashlib.sha256(content).hexdigest()
    if quickly:
        path = store.path_of(sha256)
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)
    else:
        store.keep(content)
    catalogue.record_file(PatternFile(sha256=sha256, n_bytes=len(content), facts=facts, sightings=(seen,)))


def add_one(root: Path) -> None:
    folder = VaultFolder(root)
    with VaultLock(folder), Catalogue.open(folder.catalogue_path) as catalogue:
        keep(ObjectStore(folder), catalogue, b"one more hat" * 30_000, 10**6)


def say(what: str, ours: Ran, theirs: Ran | None = None, tool: str = "", aim: float = 0.0) -> None:
    line = f"{what}: {ours.seconds:.1f} s, {ours.cpu:.1f} s of processor, {ours.mb:.0f} MB of memory"
    if theirs is not None:
        ratio, cpu = ours.seconds / theirs.seconds, ours.cpu / theirs.cpu
        line += f"; {tool} {theirs.seconds:.1f} s: ratio {ratio:.2f} (aim {aim}), by processor time {cpu:.2f}"
    print(line, flush=True)


def pinfold(root: Path, *words: str, vault: str = "vault") -> Ran:
    return run([sys.executable, "-m", "vault.cli.main", "--vault", str(root / vault), "--quiet", *words], root)


def shell(root: Path, command: str) -> Ran:
    return run(["sh", "-c", command], root)


def run(command: Sequence[str], at: Path) -> Ran:
    """Runs a command and its children in `at`; everything written so far is on the disk before."""
    os.sync()
    begun = time.monotonic()
    pid = os.fork()
    if pid == 0:
        os.chdir(at)
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.execv(shutil.which(command[0]) or command[0], list(command))
    _, status, used = os.wait4(pid, 0)
    seconds = time.monotonic() - begun
    if os.waitstatus_to_exitcode(status) != 0:
        sys.exit(f"failed: {' '.join(command)}")
    return Ran(seconds=seconds, cpu=used.ru_utime + used.ru_stime, mb=used.ru_maxrss / 1024)


if __name__ == "__main__":
    words = sys.argv[1:]
    main(
        int(words[0]) if words else 20_000,
        float(words[1]) if len(words) > 1 else 8.0,
        Path(words[2]) if len(words) > 2 else None,
    )
