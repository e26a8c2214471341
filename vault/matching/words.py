"""The words of the trade that mean the same in every title: read from `words/<language>.toml`, all languages at once.

Titles mix languages (a German shop sells an English pattern, a folder is named in Dutch), so one lexicon holds them
all.  A word may mean several things; `meanings` keeps each with the languages it has it in.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from vault.matching.keys import key, squash, stem

# What a word is in a title, the first that fits counts.
KINDS = ("part", "variant", "month", "garment", "craft", "article", "noise")
APART = ("part", "variant", "craft", "garment", "noise")  # kinds that may be written in several words
# Formats a promise can name that a file shows by its ending or media type.
FORMATS = ("svg", "dxf", "eps", "png", "pes", "dst", "jef", "exp", "vp3", "hus", "xxx", "vip", "pec", "sew", "epub")
LONGEST_PHRASE = 3  # words
_GAP_RE = re.compile(r"[\W_]+")
_CJK_RE = re.compile("[\u3040-\u30ff\u3400-\u9fff]")


@dataclass(frozen=True, kw_only=True)
class Meaning:
    """What a word stands for: its kind, the concept within the kind, and the languages that use it so."""

    kind: str
    concept: str
    languages: frozenset[str]


@dataclass(frozen=True, kw_only=True)
class Lexicon:
    """All words of all languages by their key; phrases of several words by the key of the words run together."""

    meanings: dict[str, tuple[Meaning, ...]]
    volume: frozenset[str]
    version: frozenset[str]
    size: frozenset[str]
    beginnings: frozenset[str]  # what a phrase of several words, written apart, may begin with
    marks: frozenset[str]  # volume, version and size words
    kind_phrases: tuple[tuple[str, ...], ...]  # kinds of several words, as written
    numbers: dict[str, int]
    languages: dict[str, str]  # key of a language's name -> its code
    colours: dict[str, str]  # key of a colour's name -> the colour
    joined: tuple[str, ...]  # keys that are found inside a run of letters, longest first
    cjk: tuple[str, ...]  # the same for scripts without spaces

    def find(self, word_key: str) -> tuple[Meaning, ...]:
        """What the word can mean, best kind first; empty for a word of nobody's."""
        found = self.meanings.get(word_key)
        if found is None:
            found = self.meanings.get(stem(word_key))
        return found or ()


@cache
def lexicon() -> Lexicon:
    """The lexicon; the files are read once."""
    table: dict[str, dict[tuple[str, str], set[str]]] = {}
    sets: dict[str, set[str]] = {"volume": set(), "version": set(), "size": set()}
    numbers: dict[str, int] = {}
    phrases: set[tuple[str, ...]] = set()
    languages: dict[str, str] = {}
    colours: dict[str, str] = {}

    def add(phrase: str, kind: str, concept: str, code: str) -> None:
        word_key = squash(phrase)
        for k in {word_key, stem(word_key)} if kind != "part" else {word_key}:
            table.setdefault(k, {}).setdefault((kind, concept), set()).add(code)

    folder = resources.files("vault.matching") / "words"
    for entry in sorted(folder.iterdir(), key=lambda e: e.name):
        if not entry.name.endswith(".toml"):
            continue
        data = tomllib.loads(entry.read_text(encoding="utf-8"))
        code = data["language"]
        for name, kind in (("parts", "part"), ("variants", "variant"), ("garments", "garment"), ("crafts", "craft")):
            for concept, written in data.get(name, {}).items():
                for phrase in written:
                    add(phrase, kind, concept, code)
                    if kind == "variant" and len(pieces := tuple(_GAP_RE.split(phrase))) > 1:
                        phrases.add(pieces)
        for n, names in enumerate(data["months"], 1):
            for name in names.split():
                add(name, "month", str(n), code)
        for kind, name in (("article", "articles"), ("noise", "noise")):
            for phrase in data[name]:
                add(phrase, kind, "", code)
        sets["volume"].update(map(squash, data["volume"]))
        sets["version"].update(map(squash, data["version"]))
        sets["size"].update(map(squash, data["sizes"]))
        for n, name in enumerate(data["numbers"], 1):
            numbers.setdefault(key(name), n)
        for n, name in enumerate(data["ordinals"], 1):
            numbers.setdefault(key(name), n)
        languages.update({key(name): code for name in data["other_language"]})
        colours.update({key(name): colour for colour, names in data["colours"].items() for name in names})
    for kind in FORMATS:
        table.setdefault(kind, {}).setdefault(("part", kind.upper()), set()).add("en")
    meanings = {k: _ranked(found) for k, found in table.items()}
    long_enough = [k for k in meanings if len(k) >= 4 and meanings[k][0].kind != "article" and not _CJK_RE.search(k)]
    return Lexicon(
        meanings=meanings,
        volume=frozenset(sets["volume"]),
        version=frozenset(sets["version"]),
        size=frozenset(sets["size"]),
        beginnings=frozenset(k[:n] for k, found in meanings.items() if found[0].kind in APART for n in range(len(k))),
        marks=frozenset(sets["volume"] | sets["version"] | sets["size"]),
        kind_phrases=tuple(sorted(phrases, key=lambda p: (-len(p), p))),
        numbers=numbers,
        languages=languages,
        colours=colours,
        joined=tuple(sorted({*long_enough, "a4", "a0"}, key=lambda k: (-len(k), k))),
        cjk=tuple(sorted((k for k in meanings if _CJK_RE.search(k)), key=lambda k: (-len(k), k))),
    )


def _ranked(found: dict[tuple[str, str], set[str]]) -> tuple[Meaning, ...]:
    ordered = sorted(found.items(), key=lambda e: (KINDS.index(e[0][0]), e[0][1]))
    return tuple(Meaning(kind=k, concept=c, languages=frozenset(codes)) for (k, c), codes in ordered)


def is_cjk(text: str) -> bool:
    """Whether `text` is written in kana or han, without spaces between its words."""
    return _CJK_RE.search(text) is not None
