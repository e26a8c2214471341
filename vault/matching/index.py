"""Blocking: which targets are worth weighing against a file, found without looking at the others.

A file and a target are a candidate pair when they share a telling word, two common words, a run of letters, a product
code, an order number or a link (the blocking step of record linkage).  Words that very many titles have open no block
of their own, so that the number of pairs grows with the number of files and not with its square.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations, pairwise

from vault.matching.filed import Filed
from vault.matching.keys import LOST
from vault.matching.targets import Bought, Target
from vault.matching.title import Title
from vault.matching.words import is_cjk

BLOCK = 40  # most targets that one word opens
_RUN = 6  # letters from which a word may be several in one run
_MOST_COMMON = 8  # common words of one voice that are paired


class Index:
    """The blocks of the bought side."""

    def __init__(self, bought: Bought) -> None:
        words: dict[str, list[int]] = defaultdict(list)
        for t in bought.targets:
            for k in t.title.keys:
                words[k].append(t.place)
        self.words = {k: tuple(v) for k, v in words.items() if len(v) <= BLOCK}
        self.common = frozenset(k for k, v in words.items() if len(v) > BLOCK)
        self.pairs = self._blocks(bought, self._pair_keys)
        self.runs = self._blocks(bought, lambda t: [t.title.squashed] if t.title.squashed else [])
        self.near = self._blocks(bought, self._near_keys)
        self.exact = self._blocks(
            bought, lambda t: {*t.orders, *t.links, *t.shared_links, *([t.code] if t.code else [])}
        )
        self.maker_runs = frozenset(m.run for t in bought.targets for m in t.makers if len(m.run) >= 4)

    def _pair_keys(self, target: Target) -> list[str]:
        found = sorted({w.key for w in target.title.words} & self.common)
        return [f"{a} {b}" for a, b in combinations(found[:_MOST_COMMON], 2)]

    def _near_keys(self, target: Target) -> set[str]:
        return {n for w in target.title.words if w.kind == "content" and len(w.key) >= _RUN for n in _shorter(w.key)}

    @staticmethod
    def _blocks(bought: Bought, keys_of: object) -> dict[str, tuple[int, ...]]:
        blocks: dict[str, list[int]] = defaultdict(list)
        for t in bought.targets:
            for k in keys_of(t):  # type: ignore[operator]
                blocks[k].append(t.place)
        return {k: tuple(v) for k, v in blocks.items() if len(v) <= BLOCK}

    def candidates(self, file: Filed) -> tuple[int, ...]:
        """Places of the targets that `file` may be, in order."""
        found: set[int] = set()
        for k in (*file.orders, *file.codes, *file.folder_codes, *file.text_codes, *file.urls):
            found.update(self.exact.get(k, ()))
        for voice in file.voices:
            for k in self._keys(voice.title):
                found.update(self.words.get(k, ()))
            common = sorted({w.key for w in voice.title.words} & self.common)[:_MOST_COMMON]
            for a, b in combinations(common, 2):
                found.update(self.pairs.get(f"{a} {b}", ()))
            found.update(self.runs.get(voice.title.squashed, ()))
            for word in voice.title.words:
                if (len(word.key) >= _RUN or is_cjk(word.key)) and word.key not in self.words:
                    found.update(self._in_run(word.key))
        if not found:
            for voice in file.voices:
                for word in voice.title.words:
                    if len(word.key) >= _RUN - 1:
                        for n in _shorter(word.key):
                            found.update(self.near.get(n, ()))
        return tuple(sorted(found))

    @staticmethod
    def _keys(title: Title) -> Iterator[str]:
        yield from title.keys
        named = [w.key for w in title.words]
        for a, b in pairwise(named):
            yield a + b  # one word there, two here

    def _in_run(self, run: str) -> Iterator[int]:
        """Targets whose title a run of letters begins with, also after a maker's name."""
        starts = [0, *(n for n in range(4, len(run) - 3) if run[:n] in self.maker_runs)]
        least = 2 if is_cjk(run) else 4
        for start in starts:
            for end in range(start + least, len(run) + 1):
                piece = run[start:end]
                yield from self.runs.get(piece, ())
                yield from self.words.get(piece, ())


def _shorter(word_key: str) -> set[str]:
    """The word, and the word with any one letter left out: near spellings share one of them."""
    bare = word_key.replace(LOST, "")
    return {bare, *(bare[:n] + bare[n + 1 :] for n in range(len(bare)))}
