"""Speed of the receipts reader: `python tests/benchmarks/bench_receipts.py [FOLDER] [RUNS]`.

Without a folder, the mails of fixtures/receipts.  Prints the milliseconds per mail, best of several runs, beside the
standard library's bare parsing of the same mails (mail parser and HTML parser, no understanding), and what the first
mail costs on top (word tables, the language model).
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from email import policy
from email.parser import BytesParser
from html.parser import HTMLParser
from pathlib import Path

from vault.model.evidence import EvidenceKind
from vault.receipts.read import read

ROOT = Path(__file__).resolve().parents[2]


def main(folder: Path, runs: int) -> None:
    mails = [path.read_bytes() for path in sorted(folder.rglob("*.eml"))]
    first = timed(lambda: read(EvidenceKind.MAIL, mails[0]))
    sides: dict[str, Callable[[], object]] = {
        "claims and notices": lambda: [read(EvidenceKind.MAIL, raw) for raw in mails],
        "bare parsing (email, html.parser)": lambda: [bare(raw) for raw in mails],
    }
    for side in sides.values():
        side()
    print(f"{len(mails)} mails, {sum(map(len, mails)) >> 10} kB, best of {runs}")
    for name, side in sides.items():
        best = min(timed(side) for _ in range(runs))
        print(f"{name}: {1000 * best / len(mails):.2f} ms per mail")
    print(f"the first mail: {1000 * first:.0f} ms")


def bare(raw: bytes) -> int:
    """The mail and its HTML parsed by the standard library, and nothing made of it."""
    message = BytesParser(policy=policy.default).parsebytes(raw)
    body = message.get_body(("html", "plain"))
    text = body.get_content() if body is not None else ""
    parser = HTMLParser()
    parser.feed(text)
    return len(text)


def timed(side: Callable[[], object]) -> float:
    start = time.perf_counter()
    side()
    return time.perf_counter() - start


if __name__ == "__main__":
    main(
        Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "fixtures" / "receipts" / "documents",
        int(sys.argv[2]) if len(sys.argv) > 2 else 3,
    )
