"""Names of designers and sellers: which of them are one, however they are written.

`Wick & Wether`, `Wick and Wether Knits` and `wickwether` are one maker.  What a name shares with a thousand others
(`Patterns`, `Studio`, `GmbH`) is left out of the comparison, unless nothing else is there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from vault.matching.keys import key, stem, words

_GENERIC_WORDS = (
    "the and und et en og och y e ja i by von de du des del della di la le les der die das van pattern patterns",
    "design designs designer studio studios atelier shop store boutique company co ltd llc inc gmbh ug ag kg bv ab as",
    "aps oy sarl srl sl house handmade handarbeit manufaktur label sewing knitting knits knitwear crochet quilts quilt",
    "quilting embroidery crafts craft creations couture schnitte schnittmuster strick naaipatronen patronen patrons",
    "patrones cartamodelli mönster mønster wykroje kaavat online official com",
)
_GENERIC = frozenset(key(w) for line in _GENERIC_WORDS for w in line.split())
# What programs write where an author should stand.
_NOBODY_WORDS = "anonymous unknown user admin administrator owner author root default unspecified none untitled me"
_NOBODYS: frozenset[str] = frozenset()
_NOBODY = frozenset(key(w) for w in _NOBODY_WORDS.split())


@dataclass(frozen=True, slots=True)
class MakerName:
    """A name for comparison: all of it in one run of letters, the telling words, and these in one run."""

    whole: str
    core: frozenset[str]
    run: str
    words: tuple[str, ...]


@lru_cache(maxsize=4096)
def maker(name: str) -> MakerName | None:
    """`name` made ready; None where it names nobody."""
    all_words = [key(w) for w in words(name.split("@")[0] if "@" in name else name, is_name=True)]
    all_words = [w for w in all_words if w]
    if not all_words or all(w in _NOBODY for w in all_words):
        return None
    core = [w for w in all_words if w not in _GENERIC and (len(w) > 1 or not w.isascii())] or all_words
    return MakerName("".join(all_words), frozenset(core), "".join(core), tuple(all_words))


def makers(names: Iterable[str | None]) -> tuple[MakerName, ...]:
    """The names made ready, without those that name nobody."""
    return tuple(dict.fromkeys(m for m in (maker(n) for n in names if n) if m))


def same_maker(a: MakerName, b: MakerName) -> bool:
    """Whether two names are one maker's: equal, or all telling words of one stand in the other."""
    if a.whole == b.whole or a.run == b.run:
        return True
    shorter, longer = sorted((a, b), key=lambda m: len(m.run))
    return len(shorter.run) >= 4 and shorter.core <= longer.core


def one_of(candidate: MakerName, known: Iterable[MakerName]) -> bool:
    """Whether `candidate` is one of the `known` makers."""
    return any(same_maker(candidate, k) for k in known)


def by_first_word(names: Iterable[MakerName]) -> dict[str, tuple[MakerName, ...]]:
    """The names by their first words, those of all the name and those that tell."""
    found: dict[str, list[MakerName]] = {}
    for m in names:
        for first in dict.fromkeys((m.words[0], next((w for w in m.words if w in m.core), m.words[0]))):
            found.setdefault(first, []).append(m)
    return {k: tuple(v) for k, v in found.items()}


def named_in(segments: Iterable[tuple[str, ...]], starts: Mapping[str, tuple[MakerName, ...]]) -> tuple[MakerName, ...]:
    """The makers named in `segments` (keys of the words of a line, or of a part of it between dashes).

    A name of several words counts wherever it stands in full; one word only where it is all of a segment, for it may
    be any word.
    """
    found: dict[MakerName, None] = {}
    for segment in segments:
        telling = tuple(w for w in segment if w not in _GENERIC) or segment
        for at, word in enumerate(segment):
            for m in starts.get(word, ()):
                core = tuple(w for w in m.words if w in m.core)
                in_full = len(m.words) > 1 and segment[at : at + len(m.words)] == m.words
                in_core = len(core) > 1 and segment[at : at + len(core)] == core
                if in_full or in_core or telling == core:
                    found[m] = None
    return tuple(found)


def name_words(names: Iterable[MakerName]) -> frozenset[str]:
    """Keys of the words of these names, which tell nothing in a title."""
    found = {w for m in names for w in m.words}
    if not found:
        return _NOBODYS
    return frozenset(found | {stem(w) for w in found} | {m.whole for m in names} | {m.run for m in names})
