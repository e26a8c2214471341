"""Speed of vault.age beside the `age` program, on the same file: `python tests/benchmarks/bench_age.py [MiB]`.

Prints ratios (age's time divided by ours: above 1 we are faster), best of several runs that take turns, so that what
else runs on the machine hits both alike.  Both sides read a file and write a file, each as a process of its own,
starting up included; a third line gives our time within a process that already runs.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from vault.age import X25519Identity, decrypt, encrypt, identity_file, parse_identity, parse_recipient

RUNS = 5


def main(n_mib: int) -> None:
    tool = shutil.which("age")
    if tool is None:
        sys.exit("the program 'age' is not installed: nothing to compare with")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        identity = X25519Identity.generate()
        key, public = folder / "key.txt", identity.recipient().to_text()
        key.write_text(identity_file(identity))
        plain, sealed, out = folder / "plain", folder / "plain.age", folder / "out"
        write_random(plain, n_mib)
        ours = [sys.executable, __file__, "--one"]
        print(f"{n_mib} MiB, one X25519 recipient, best of {RUNS}")
        compare(
            "encrypt",
            n_mib,
            lambda: run(tool, "-r", public, "-o", str(out), str(plain)),
            lambda: run(*ours, "encrypt", public, str(plain), str(out)),
            lambda: one("encrypt", public, plain, out),
        )
        run(tool, "-r", public, "-o", str(sealed), str(plain))
        compare(
            "decrypt",
            n_mib,
            lambda: run(tool, "-d", "-i", str(key), "-o", str(out), str(sealed)),
            lambda: run(*ours, "decrypt", identity.to_text(), str(sealed), str(out)),
            lambda: one("decrypt", identity.to_text(), sealed, out),
        )


def compare(
    what: str, n_mib: int, theirs: Callable[[], None], ours: Callable[[], None], inside: Callable[[], None]
) -> None:
    rounds = [[timed(side) for side in (theirs, ours, inside)] for _ in range(RUNS)]
    best_theirs, best_ours, best_inside = (min(times) for times in zip(*rounds, strict=True))
    print(f"{what}: age {best_theirs:.3f} s ({n_mib / best_theirs:.0f} MiB/s)")
    print(f"{what}: ours as a process {best_ours:.3f} s, ratio {best_theirs / best_ours:.2f}")
    print(f"{what}: ours within a process {best_inside:.3f} s, ratio {best_theirs / best_inside:.2f}")


def one(what: str, key: str, src: Path, dst: Path) -> None:
    """Encrypt or decrypt one file."""
    with src.open("rb", buffering=0) as reading, dst.open("wb", buffering=0) as writing:
        if what == "encrypt":
            encrypt(reading, writing, [parse_recipient(key)])
        else:
            decrypt(reading, writing, [parse_identity(key)])


def timed(act: Callable[[], None]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def run(*command: str) -> None:
    subprocess.run(command, check=True)


def write_random(path: Path, n_mib: int) -> None:
    with path.open("wb") as file:
        for _ in range(n_mib):
            file.write(os.urandom(1 << 20))


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        one(sys.argv[2], sys.argv[3], Path(sys.argv[4]), Path(sys.argv[5]))
    else:
        main(int(sys.argv[1]) if sys.argv[1:] else 512)
