"""Speed, memory and growth of matching, and a plain baseline: `python tests/benchmarks/bench_matching.py`.

Two sizes of vault are matched from nothing, 1,250 items x 5,000 files and 5,000 x 20,000, each in a process of its own,
so that memory is that of one run; then one new file against them.  Baselines on the gold pairs are a general string
comparison and a general library for record linkage (see `link_baselines`).
"""

from __future__ import annotations

import argparse
import random
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import psutil

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests" / "matching"), str(ROOT / "fixtures" / "linking"), str(Path(__file__).parent)]

import vaults  # noqa: E402
from link_baselines import library, row, token_ratio, truth_of  # noqa: E402
from scenes import scenes  # noqa: E402
from vaults import Vault, make_vault  # noqa: E402

from vault.matching import Matcher, match  # noqa: E402
from vault.model.pattern import PatternFacts, PatternFile, Sighting  # noqa: E402

SIZES = ((590, 5_000), (2_370, 20_000))  # orders (about 2.1 items each), files
ONSETS = "b br d dr f fl g gr h k kl l m n p pl r s st t tr v w".split()
RIMES = "al an ar el en er il in is ol on or ul un ay ee ow ock ett imp and".split()
LETTERS = "abcdefghijklmnoprstuv"
WORDS = (
    "cut two on fold the sew seam front back sleeve press knit purl row size fabric pocket zip turn edge with right "
    "sides together pin along allowance trim clip curve hem neckline facing attach stay stitch gather ease notch grain "
    "line fold open close half centre mark baste finish topstitch lining interfacing collar cuff yoke waist hip bust"
).split()


def big_vault(orders: int, n_files: int) -> Vault:
    """A random vault filled up with files that nobody bought, as download folders are.

    Its titles are made of several hundred names in each language, for so many different things are not called by the
    few of the tests.
    """
    rng = random.Random(5)
    few = dict(vaults.NAMES)
    for language in few:
        made = {
            "".join(rng.choice(ONSETS) + rng.choice(RIMES) for _ in range(rng.choice((2, 2, 3)))) for _ in range(400)
        }
        vaults.NAMES[language] = " ".join([few[language], *sorted(m.title() for m in made)])
    vault = make_vault(11, orders, imperfect=0.1)
    vaults.NAMES.update(few)
    nouns = ("Dress", "Kleid", "Rock", "Coat", "Tröja", "notes", "photo", "Anleitung", "scan", "manual")
    for n in range(max(0, n_files - len(vault.files))):
        word = "".join(rng.choice(LETTERS) for _ in range(7)).title()
        title = f"{word} {rng.choice(nouns)}"
        facts = PatternFacts(
            media_type="application/pdf", is_pattern=True, title=title if n % 5 else None, designer=word,
            headings=(title, word) if n % 3 else (), text=f"{title}\n{word}\n" * 3,
        )  # fmt: skip
        sighting = Sighting(path=f"downloads/{n % 40}/{title.replace(' ', '_')}_{n}.pdf")
        vault.files.append(PatternFile(sha256=f"{n:064x}", n_bytes=1, facts=facts, sightings=(sighting,)))
    return vault


def with_text(files: list[PatternFile]) -> Iterator[PatternFile]:
    """The files one by one, each with a text of its own, as they come out of a catalogue."""
    rng = random.Random(9)
    for file in files:
        body = "\n".join(" ".join(rng.choices(WORDS, k=9)) for _ in range(rng.randrange(40, 160)))
        yield replace(file, facts=replace(file.facts, text=f"{file.facts.text}\n{body}"))


def measure_one(orders: int, n_files: int) -> None:
    vault = big_vault(orders, n_files)
    vault.files.sort(key=lambda f: f.sha256)
    for _ in with_text(vault.files[:50]):
        pass
    start, cpu = time.perf_counter(), time.process_time()
    matcher = Matcher(vault.items)
    matcher.add(with_text(vault.files))
    result = matcher.result()
    seconds, spent = time.perf_counter() - start, time.process_time() - cpu
    start = time.process_time()
    for _ in with_text(vault.files):
        pass
    spent -= time.process_time() - start  # what making the texts took
    peak = psutil.Process().memory_info().rss / 2**20
    links = {(k.item_id, k.sha256) for k in result.links}
    wrong = len(links - vault.same - vault.may)
    sizes = f"{len(vault.items)} items x {len(vault.files)} files"
    each = 1000 * spent / len(vault.files)
    print(f"{sizes:<30}{spent:6.1f} s CPU, {seconds:.1f} s by the clock, {each:.2f} ms a file, {peak:.0f} MiB in all")
    right, asked = len(links & vault.same), len(result.questions)
    print(f"{'':<30}{right} of {len(vault.same)} links, {wrong} wrong, {asked} questions")
    known = next(f for f in vault.files if f.facts.title and (vault.items[0].item.id, f.sha256) not in vault.may)
    times = []
    for n, fresh in enumerate(with_text([known] * 20)):
        fresh = replace(fresh, sha256=f"{n:064x}".replace("0", "f", 8))
        start = time.process_time()
        matcher.look(fresh)
        times.append(1000 * (time.process_time() - start))
    print(f"{'':<30}one new file: {max(times):.1f} ms at most, {sorted(times)[len(times) // 2]:.1f} as a rule")
    print(spent)


def side_by_side() -> None:
    gold = list(scenes())
    truth = truth_of(gold)
    links = {(k.item_id, k.sha256) for s in gold for k in match(s.items, s.files, ()).links}
    rows = [row("vault.matching", links, truth)]
    rows += [row(f"token ratio from {least}", token_ratio(gold, least), truth) for least in (80, 90, 95)]
    try:
        rows += [row(name, found, truth) for name, found in library(gold)]
        note = ""
    except ImportError as error:
        note = f"the library is not installed ({error}): see link_baselines.py"
    print(f"\n{f'on {len(truth)} gold pairs':<32}{'precision':>10}{'recall':>10}{'wrong':>8}")
    for r in rows:
        print(f"{r.name:<32}{r.precision:>10.3f}{r.recall:>10.3f}{r.wrong:>8}")
    if note:
        print(note)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--pairs", action="store_true", help="only the gold pairs, side by side")
    parser.add_argument("--one", nargs=2, type=int, metavar=("ORDERS", "FILES"), help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.one:
        measure_one(*args.one)
        return
    seconds = []
    for orders, files in SIZES if not args.pairs else ():
        command = [sys.executable, __file__, "--one", str(orders), str(files)]
        done = subprocess.run(command, check=True, stdout=subprocess.PIPE, encoding="utf-8")
        *lines, spent = done.stdout.rstrip().splitlines()
        print("\n".join(lines))
        seconds.append(float(spent))
    if seconds:
        print(f"four times the files, {seconds[1] / seconds[0]:.1f} times the CPU time")
    side_by_side()


if __name__ == "__main__":
    main()
