"""The words of the trade, from `words/<language>.toml`: signs of crafts and of other documents, labels, title words.

Signs are found in one walk over the words of a text: an index leads from the first word of a sign to the sign, so that
twelve languages cost little more than one.  A trailing `*` stands for any ending; signs of scripts without blanks are
looked for inside the text.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib import resources

from vault.patterns.memo import remembered

LANGUAGES = ("en", "de", "fr", "nl", "es", "it", "sv", "da", "nb", "pl", "fi", "ja")
# Who reads whom: short texts are easily taken for the neighbour's.
NEIGHBOURS = {"da": ("nb", "sv"), "nb": ("da", "sv"), "sv": ("da", "nb"), "es": ("it",), "it": ("es",), "nl": ("de",)}
_STEM = 4  # letters by which a single word with a free ending is found
_MOST_WORDS = 60_000
_NOT_WORD_RE = re.compile(r"[\W_]+")
CJK_RE = re.compile("[\u3040-\u30ff\u3400-\u9fff]")


@remembered
def fold(text: str) -> str:
    """Text for comparing words: compatibility forms opened, case folded, all that is no letter or digit a blank.

    Combining marks stay with their letters (NFKC); a vulgar fraction becomes its digits with a blank.
    """
    return _NOT_WORD_RE.sub(" ", unicodedata.normalize("NFKC", text).casefold()).strip()


@dataclass(frozen=True, kw_only=True)
class Sign:
    """A word or phrase of one language that speaks for a group such as `sewing.cut` or `not.money`."""

    group: str
    language: str
    words: tuple[str, ...]
    open_end: bool

    @property
    def text(self) -> str:
        return " ".join(self.words) + ("*" if self.open_end else "")


def _table(language: str) -> dict[str, dict[str, list[str]]]:
    source = resources.files("vault.patterns").joinpath("words", f"{language}.toml")
    try:
        table: dict[str, dict[str, list[str]]] = tomllib.loads(source.read_text("utf-8"))
    except FileNotFoundError:
        return {}
    return table


@cache
def tables() -> dict[str, dict[str, dict[str, list[str]]]]:
    """The word files by language."""
    return {language: _table(language) for language in LANGUAGES}


@dataclass(frozen=True)
class _Index:
    first: dict[str, tuple[Sign, ...]]
    stems: dict[str, tuple[Sign, ...]]
    inside: tuple[Sign, ...]


@cache
def _index() -> _Index:
    first: dict[str, list[Sign]] = {}
    stems: dict[str, list[Sign]] = {}
    inside: list[Sign] = []
    for language, table in tables().items():
        for group, words in table.get("signs", {}).items():
            for word in words:
                sign = Sign(
                    group=group,
                    language=language,
                    words=tuple(fold(word).split()),
                    open_end=word.endswith("*"),
                )
                if not sign.words:
                    continue
                if CJK_RE.search(word):
                    inside.append(sign)
                elif sign.open_end and len(sign.words) == 1:
                    stems.setdefault(sign.words[0][:_STEM], []).append(sign)
                else:
                    first.setdefault(sign.words[0], []).append(sign)
    return _Index(_frozen(first), _frozen(stems), tuple(inside))


def _frozen(table: dict[str, list[Sign]]) -> dict[str, tuple[Sign, ...]]:
    return {key: tuple(signs) for key, signs in table.items()}


def signs_in(text: str) -> dict[Sign, int]:
    """Which signs stand in the text, in any language, and how often."""
    index = _index()
    found: dict[Sign, int] = {}
    folded = fold(text)
    words = folded.split()[:_MOST_WORDS]
    for place, word in enumerate(words):
        for sign in index.first.get(word, ()):
            if _stands(sign, words, place):
                found[sign] = found.get(sign, 0) + 1
        for sign in index.stems.get(word[:_STEM], ()):
            if word.startswith(sign.words[0]):
                found[sign] = found.get(sign, 0) + 1
    if CJK_RE.search(text):
        joined = folded.replace(" ", "")
        for sign in index.inside:
            times = joined.count("".join(sign.words))
            if times:
                found[sign] = times
    return found


def _stands(sign: Sign, words: list[str], place: int) -> bool:
    there = words[place : place + len(sign.words)]
    if len(there) < len(sign.words):
        return False
    if sign.open_end:
        return there[:-1] == list(sign.words[:-1]) and there[-1].startswith(sign.words[-1])
    return there == list(sign.words)


@cache
def entries(section: str, key: str, language: str | None = None) -> tuple[str, ...]:
    """The entries for `key` of a section (`labels`, `title`, `parts`), as written, longest first.

    Of all languages, or of English, `language` and its neighbours.
    """
    chosen = {"en", language, *NEIGHBOURS.get(language, ())} if language else set(LANGUAGES)
    words = {word for code, table in tables().items() if code in chosen for word in table.get(section, {}).get(key, ())}
    return tuple(sorted(words, key=lambda word: (-len(word), word)))


@cache
def folded_entries(section: str, key: str) -> frozenset[str]:
    """The same, folded."""
    return frozenset(fold(word) for word in entries(section, key)) - {""}


@cache
def phrase_re(section: str, key: str) -> re.Pattern[str]:
    """An expression that finds any of the plain phrases as whole words (kana and ideographs anywhere)."""
    return _joined(_escaped(entries(section, key)))


@cache
def expression_re(section: str, key: str, language: str | None = None) -> re.Pattern[str]:
    """The same for entries that are expressions themselves; blanks in them are written `\\s+`."""
    return _joined(entries(section, key, language))


def _escaped(words: Iterable[str]) -> list[str]:
    return [re.escape(word).replace(r"\ ", r"\s+") for word in words]


def _joined(words: Iterable[str]) -> re.Pattern[str]:
    parts = [word if CJK_RE.search(word) else rf"(?<!\w)(?:{word})(?!\w)" for word in words]
    return re.compile("|".join(parts) if parts else r"(?!)", re.IGNORECASE)
