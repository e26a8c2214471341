"""What importing a folder costs in which nothing has changed, beside walking it and looking at each file's size.

python tests/benchmarks/bench_intake.py [--files 20000]

CPU time, the best of five; the import includes opening the vault.  Nothing is asserted.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from datetime import date
from pathlib import Path

from vault.intake.ingest import ingest
from vault.safekeeping.folder import VaultFolder


def _walk(folder: Path) -> None:
    for place, _, names in os.walk(folder):
        for name in names:
            os.stat(os.path.join(place, name))  # noqa: PTH116, PTH118 - the baseline is the plainest way


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--files", type=int, default=20_000)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder, vault = Path(name) / "in", VaultFolder(Path(name) / "vault")
        for n in range(given.files):
            path = folder / str(n % 200) / f"{n}.txt"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(f"note {n}\n")
        ingest(vault, [folder], day=date(2026, 1, 1))
        bare, again = [], []
        for _ in range(5):
            begun = time.process_time()
            _walk(folder)
            bare.append(time.process_time() - begun)
            begun = time.process_time()
            unchanged = ingest(vault, [folder], day=date(2026, 1, 1)).unchanged
            again.append(time.process_time() - begun)
        assert unchanged == given.files
        print(f"{given.files} files, unchanged: {min(again) / given.files * 1e6:.1f} microseconds of CPU for each")
        print(f"os.walk and os.stat: {min(bare) / given.files * 1e6:.1f}; ratio {min(again) / min(bare):.1f}")


if __name__ == "__main__":
    main()
