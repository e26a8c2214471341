"""Blocking: which targets are worth weighing against a file, found without looking at the others.

A file and a target are a candidate pair when they share a telling word, two common words, a run of letters, a product
code, an order number or a link (the blocking step of record linkage).  Words that very many titles have open no block
of their own, so that the number of pairs grows with the number of files and not with its square.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from itertools import combinations, pairwise

from vault.matching.filed import Filed
from vault.matching.keys import LOST
from vault.matching.likeness import kind_weight
from vault.matching.targets import Bought, Target
from vault.matching.title import Title
from vault.matching.words import is_cjk

BLOCK = 40  # most targets that one word opens
_RUN = 6  # letters from which a word may be several in one run
_PIECE = (4, 24)  # letters of a word that is looked for in a run
_MOST_RUN = 80  # letters of a run that are looked through
_MOST_COMMON = 8  # common words of one voice that are paired
_NEAR_HALF = 0.4  # of a title that a file must say for the pair to be weighed


class Index:
    """The blocks of the bought side."""

    def __init__(self, bought: Bought) -> None:
        words: dict[str, list[int]] = defaultdict(list)
        for t in bought.targets:
            # A garment alone opens no block, unless the title has nothing else.
            telling = [w for w in t.title.words if w.kind != "garment"] if t.title.keys else []
            for k in {k for w in telling or t.title.words for k in (w.key, w.stem)} & t.title.keys:
                words[k].append(t.place)
        self._words = {k: tuple(v) for k, v in words.items() if len(v) <= BLOCK}
        garments = {w.key for t in bought.targets for w in t.title.words if w.kind == "garment"}
        self._common = frozenset(k for k, v in words.items() if len(v) > BLOCK) | garments
        self._weights = [
            [
                (w.key, w.stem, kind_weight(w) * bought.rarity.get(w.key, 1.0), w.segment, w.kind == "garment")
                for w in t.title.words
            ]
            for t in bought.targets
        ]
        self._pairs = _blocks(bought.targets, self._pair_keys)
        self._runs = _blocks(bought.targets, lambda t: [t.title.squashed] if t.title.squashed else [])
        self._near = _blocks(bought.targets, _near_keys)
        self._exact = _blocks(bought.targets, _exact_keys)

    def _pair_keys(self, target: Target) -> list[str]:
        found = sorted({w.key for w in target.title.words} & self._common)
        return [f"{a} {b}" for a, b in combinations(found[:_MOST_COMMON], 2)]

    def candidates(self, file: Filed) -> tuple[int, ...]:
        """Places of the targets that `file` may be, in order."""
        found: set[int] = set()
        for k in (*file.orders, *file.codes, *file.folder_codes, *file.text_codes, *file.urls):
            found.update(self._exact.get(k, ()))
        by_word: set[int] = set()
        said: set[str] = set()
        for voice in file.voices:
            keys = set(self._keys(voice.title))
            said |= keys
            for k in keys:
                by_word.update(self._words.get(k, ()))
            for a, b in combinations(sorted(keys & self._common)[:_MOST_COMMON], 2):
                by_word.update(self._pairs.get(f"{a} {b}", ()))
            found.update(self._runs.get(voice.title.squashed, ()))
        if by_word:
            found.update(self._worth_weighing(by_word, said))
        if not found:
            for k in said:
                if len(k) >= _RUN - 1:
                    for near in _shorter(k):
                        found.update(self._near.get(near, ()))
        return tuple(sorted(found))

    def _worth_weighing(self, by_word: set[int], said: set[str]) -> set[int]:
        """Of the targets that share a word with the file, those of which it says near half.

        Where one is said in full, those fall away of which only another garment is not (`Clover Skirt`, `Clover Coat`).
        """
        worth: set[int] = set()
        in_full = False
        but_garment: set[int] = set()
        for place in by_word:
            heard, segments, missing, named = 0.0, set(), [], False
            for key_, stem_, weight, segment, is_garment in self._weights[place]:
                if key_ in said or stem_ in said:
                    heard += weight
                    segments.add(segment)
                else:
                    missing.append((segment, weight))
                    named = named or not is_garment
            if heard < _NEAR_HALF * (heard + sum(w for s, w in missing if s in segments)):
                continue
            worth.add(place)
            if not missing:
                in_full = True
            elif not named:
                but_garment.add(place)
        return worth - but_garment if in_full else worth

    def _keys(self, title: Title) -> Iterator[str]:
        """The words of a title; two of them as one; and known words inside a run of letters."""
        yield from title.keys
        named = [w.key for w in title.words]
        for a, b in pairwise(named):
            yield a + b  # one word there, two here
        for k in named:
            if (len(k) >= _RUN or is_cjk(k)) and k not in self._words and k not in self._common:
                yield from self._inside(k[:_MOST_RUN])

    def _inside(self, run: str) -> Iterator[str]:
        least, most = (2 if is_cjk(run) else _PIECE[0]), _PIECE[1]
        for short in (run[:3], run[-3:]):
            if short in self._common or short in self._words:
                yield short
        for start in range(len(run) - least + 1):
            for end in range(start + least, min(start + most, len(run)) + 1):
                piece = run[start:end]
                if piece in self._words or piece in self._common:
                    yield piece


def _blocks(targets: Iterable[Target], keys_of: Callable[[Target], Iterable[str]]) -> dict[str, tuple[int, ...]]:
    """Places of the targets by each of their keys; keys that too many have open no block."""
    blocks: dict[str, list[int]] = defaultdict(list)
    for t in targets:
        for k in keys_of(t):
            blocks[k].append(t.place)
    return {k: tuple(v) for k, v in blocks.items() if len(v) <= BLOCK}


def _near_keys(target: Target) -> set[str]:
    return {n for w in target.title.words if w.kind == "content" and len(w.key) >= _RUN for n in _shorter(w.key)}


def _exact_keys(target: Target) -> set[str]:
    return {
        *target.orders,
        *target.links,
        *target.shared_links,
        *target.taught_codes,
        *([target.code] if target.code else []),
    }


def _shorter(word_key: str) -> set[str]:
    """The word, and the word with any one letter left out: near spellings share one of them."""
    bare = word_key.replace(LOST, "")
    return {bare, *(bare[:n] + bare[n + 1 :] for n in range(len(bare)))}
