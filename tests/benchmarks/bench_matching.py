"""Speed, memory and growth of matching, and a plain baseline: `python tests/benchmarks/bench_matching.py`.

Two sizes of vault are matched from nothing, 1,250 items x 5,000 files and 5,000 x 20,000, each in a process of its own,
so that memory is that of one run; then one new file against them.  The baseline on the gold pairs is what a general
string comparison does: the best token ratio of title and name, from a threshold on.
"""

from __future__ import annotations

import argparse
import random
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import psutil

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests" / "matching"), str(ROOT / "fixtures" / "linking")]

from scenes import Scene, scenes  # noqa: E402
from vaults import Vault, make_vault  # noqa: E402

from vault.matching import Matcher, match  # noqa: E402
from vault.model.pattern import PatternFacts, PatternFile, Sighting  # noqa: E402

SIZES = ((590, 5_000), (2_370, 20_000))  # orders (about 2.1 items each), files
LETTERS = "abcdefghijklmnoprstuv"


def big_vault(orders: int, n_files: int) -> Vault:
    """A random vault filled up with files that nobody bought, as download folders are."""
    vault = make_vault(11, orders, imperfect=0.1)
    rng = random.Random(5)
    nouns = ("Dress", "Kleid", "Rock", "Coat", "Tröja", "notes", "photo", "Anleitung", "scan", "manual")
    for n in range(max(0, n_files - len(vault.files))):
        word = "".join(rng.choice(LETTERS) for _ in range(7)).title()
        title = f"{word} {rng.choice(nouns)}"
        facts = PatternFacts(
            media_type="application/pdf", is_pattern=True, title=title if n % 2 else None, designer=word,
            headings=(title, word), text=f"{title}\n{word}\n" * 3,
        )  # fmt: skip
        sighting = Sighting(path=f"downloads/{n % 40}/{title.replace(' ', '_')}_{n}.pdf")
        vault.files.append(PatternFile(sha256=f"{n:064x}", n_bytes=1, facts=facts, sightings=(sighting,)))
    return vault


def measure_one(orders: int, n_files: int) -> None:
    vault = big_vault(orders, n_files)
    before = psutil.Process().memory_info().rss
    start = time.perf_counter()
    matcher = Matcher(vault.items)
    matcher.add(vault.files)
    result = matcher.result()
    seconds = time.perf_counter() - start
    grown = (psutil.Process().memory_info().rss - before) / 2**20
    links = {(k.item_id, k.sha256) for k in result.links}
    wrong = len(links - vault.same - vault.may)
    sizes = f"{len(vault.items)} items x {len(vault.files)} files"
    print(f"{sizes:<30}{seconds:7.1f} s  {1000 * seconds / len(vault.files):5.2f} ms a file  {grown:5.0f} MiB more")
    right, asked = len(links & vault.same), len(result.questions)
    print(f"{'':<30}{right} of {len(vault.same)} links, {wrong} wrong, {asked} questions")
    known = next(f for f in vault.files if f.facts.title and (vault.items[0].item.id, f.sha256) not in vault.may)
    times = []
    for n in range(20):
        fresh = replace(known, sha256=f"{n:064x}".replace("0", "f", 8))
        start = time.perf_counter()
        matcher.look(fresh)
        times.append(time.perf_counter() - start)
    print(f"{'':<30}one new file: {1000 * max(times):.1f} ms at most, {1000 * min(times):.1f} at best")


def baseline(gold: list[Scene], least: float) -> tuple[int, int, int]:
    """Right links, wrong links and links to be made, of a token ratio from `least` on."""
    from rapidfuzz import fuzz, utils

    right = wrong = wanted = 0
    for scene in gold:
        truth = {(scene.item_id(p.item), scene.digest(p.file)): p.truth for p in scene.pairs}
        wanted += sum(t == "same" for t in truth.values())
        for file in scene.files:
            sighting = file.sightings[0]
            texts = [file.facts.title or "", (sighting.inside or sighting.path).rsplit("/", 1)[-1].removesuffix(".pdf")]
            ratios = {
                m.item.id: max(
                    fuzz.token_set_ratio(m.item.title, t, processor=utils.default_process) for t in texts if t
                )
                for m in scene.items
            }
            item_id, best = max(ratios.items(), key=lambda e: (e[1], e[0]))
            if best >= least:
                same = truth.get((item_id, file.sha256)) == "same"
                right += same
                wrong += not same
    return right, wrong, wanted


def side_by_side() -> None:
    gold = list(scenes())
    right = wrong = wanted = 0
    for scene in gold:
        links = {(k.item_id, k.sha256) for k in match(scene.items, scene.files, ()).links}
        truth = {(scene.item_id(p.item), scene.digest(p.file)): p.truth for p in scene.pairs}
        wanted += sum(t == "same" for t in truth.values())
        right += sum(truth.get(k) == "same" for k in links)
        wrong += sum(truth.get(k) != "same" for k in links)
    print(f"\n{'on the gold pairs':<30}{'precision':>10}{'recall':>10}{'wrong':>8}")
    print(f"{'vault.matching':<30}{right / max(1, right + wrong):>10.3f}{right / wanted:>10.3f}{wrong:>8}")
    for least in (70, 80, 90, 95):
        r, w, n = baseline(gold, least)
        print(f"{f'token ratio from {least}':<30}{r / max(1, r + w):>10.3f}{r / n:>10.3f}{w:>8}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--one", nargs=2, type=int, metavar=("ORDERS", "FILES"), help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.one:
        measure_one(*args.one)
        return
    for orders, files in SIZES:
        subprocess.run([sys.executable, __file__, "--one", str(orders), str(files)], check=True)
    side_by_side()


if __name__ == "__main__":
    main()
