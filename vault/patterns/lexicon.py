"""Words of making by language, found with their places: signs of the word files, doing words of `making.toml`.

One lexicon serves one set of languages, so that a word of another language ("am", "van", "dos") is not even seen.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

from vault.patterns.words import CJK_RE, LANGUAGES, fold, tables

_STEM = 3  # letters by which a word with a free ending is found
_KANA_RE = re.compile("[\u30a0-\u30ff]")
# A number that has grown together with its stitch: "2rov", "k2", "6SC".
_GROWN_RE = re.compile(r"(\d+)([^\W\d_]{1,4})|([^\W\d_]{1,4})(\d{1,3})")


@dataclass(frozen=True)
class Found:
    """A word or phrase: its key, the place of its first word, how many words it has, and itself."""

    key: str
    place: int
    length: int
    word: str


@dataclass(frozen=True)
class Lexicon:
    """What words of some languages mean: `exact` by the first word, `stems` by first letters, `inside` anywhere."""

    exact: dict[str, tuple[tuple[tuple[str, ...], bool, str], ...]]
    stems: dict[str, tuple[tuple[str, str], ...]]
    inside: tuple[tuple[str, str], ...]
    ands: frozenset[str]

    def find(self, words: list[str]) -> list[Found]:
        """All that stands in a line of folded words."""
        found = []
        for place, word in enumerate(words):
            for phrase, open_end, key in self.exact.get(word, ()):
                if len(phrase) == 1 or _stands(phrase, open_end, words, place):
                    found.append(Found(key, place, len(phrase), " ".join(phrase)))
            for stem, key in self.stems.get(word[:_STEM], ()):
                if word.startswith(stem):
                    found.append(Found(key, place, 1, stem))
        if self.inside:
            joined = "".join(words)
            if CJK_RE.search(joined):
                found += [Found(key, at, 0, part) for part, key in self.inside if (at := _at(part, joined)) >= 0]
        return found


def _stands(phrase: tuple[str, ...], open_end: bool, words: list[str], place: int) -> bool:
    there = tuple(words[place : place + len(phrase)])
    if open_end and len(there) == len(phrase):
        return there[:-1] == phrase[:-1] and there[-1].startswith(phrase[-1])
    return there == phrase


def _at(part: str, joined: str) -> int:
    """Where a phrase stands, or -1; one of katakana not within a longer word of them."""
    at = joined.find(part)
    while at >= 0 and _KANA_RE.match(part[0]) and _KANA_RE.match(part[-1]):
        before, after = joined[max(at - 1, 0) : at], joined[at + len(part) : at + len(part) + 1]
        if not _KANA_RE.match(before) and not _KANA_RE.match(after):
            return at
        at = joined.find(part, at + 1)
    return at


@lru_cache(maxsize=1)
def making_words() -> dict[str, dict[str, list[str]]]:
    """The tables of `making.toml` by language."""
    source = resources.files("vault.patterns").joinpath("making.toml")
    words: dict[str, dict[str, list[str]]] = tomllib.loads(source.read_text("utf-8"))
    return words


@lru_cache(maxsize=64)
def lexicon(languages: frozenset[str]) -> Lexicon:
    """The lexicon of some languages."""
    exact: dict[str, dict[tuple[tuple[str, ...], bool, str], None]] = {}
    stems: dict[str, dict[tuple[str, str], None]] = {}
    inside: dict[tuple[str, str], None] = {}
    ands: set[str] = set()
    for language in sorted(languages & set(LANGUAGES)):
        made = making_words()[language]
        ands.update(made["and"])
        for key, words in (*tables()[language].get("signs", {}).items(), *made.items()):
            for word in words:
                phrase = tuple(fold(word).split())
                if not phrase:
                    continue
                open_end = word.endswith("*")
                if CJK_RE.search(word):
                    inside["".join(phrase), key] = None
                elif open_end and len(phrase) == 1 and len(phrase[0]) >= _STEM:
                    stems.setdefault(phrase[0][:_STEM], {})[phrase[0], key] = None
                else:
                    exact.setdefault(phrase[0], {})[phrase, open_end, key] = None
    return Lexicon(
        {word: tuple(entries) for word, entries in exact.items()},
        {stem: tuple(entries) for stem, entries in stems.items()},
        tuple(inside),
        frozenset(ands),
    )


def split_words(text: str) -> list[str]:
    """Folded words; a number grown together with a stitch stands apart, and in the first word one with a row."""
    words = []
    for word in fold(text).split():
        grown = _GROWN_RE.fullmatch(word) if word[0].isdigit() or word[-1].isdigit() else None
        if grown and grown[1]:
            words += [grown[1], grown[2]]
        elif grown and not words:
            words += [grown[3], grown[4]]
        else:
            words.append(word)
    return words
