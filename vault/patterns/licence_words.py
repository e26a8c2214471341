"""The wordings of licences, stamps and seam allowances by language, from `words_licence/<language>.toml`.

Every entry is an expression over a sentence on one line: a blank stands for any white space, `~` for any ending of the
word, `…` for at most four words in between.  Entries match whole words, except those with kana or ideographs, which
stand anywhere.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib import resources

from vault.patterns.memo import remembered

LANGUAGES = ("en", "de", "fr", "nl", "es", "it", "sv", "da", "nb", "pl", "fi", "ja")
NEIGHBOURS = {"da": ("nb", "sv"), "nb": ("da", "sv"), "sv": ("da", "nb"), "es": ("it",), "it": ("es",)}
CJK_RE = re.compile("[\u3040-\u30ff\u3400-\u9fff]")
_NEVER_RE = re.compile(r"(?!)")
_STEM = 4
# What one character of a page stands for when sentences are compared; every replacement is one character long.
_PLAIN = str.maketrans(
    {
        "’": "'",
        "‘": "'",
        "ʼ": "'",
        "`": "'",
        "´": "'",
        "“": '"',
        "”": '"',
        "„": '"',
        "«": '"',
        "»": '"',
        "‐": "-",
        "‑": "-",
        "–": "-",
        "—": "-",
        "−": "-",
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
        "\u200b": " ",
        "\t": " ",
        **{chr(0xFF10 + digit): str(digit) for digit in range(10)},
    }
)


def plain(text: str) -> str:
    """The text with one kind of quotation mark, dash, blank and digit; every character keeps its place."""
    return text.translate(_PLAIN)


@dataclass(frozen=True)
class Words:
    """The expressions of one language by section and key, and its number words."""

    language: str
    numbers: dict[str, int]
    number: re.Pattern[str]  # digits or a number word

    def of(self, key: str) -> re.Pattern[str]:
        """The expression for `section.key`; one that never matches where the language has none."""
        return _of(self.language, key)

    def has(self, key: str, text: str) -> bool:
        return self.of(key).search(text) is not None


def expression(entry: str) -> str:
    """The regular expression that an entry of a word file stands for."""
    pattern = plain(entry).replace("… ", "…").replace("…", r"(?:[^\s.;!?]+ ){0,4}?").replace("~", r"\w*")
    return re.sub(" +", r"\\s+", re.sub(" [?]", r"\\s*", pattern))


def joined(entries: Iterable[str], *, blanks: bool = True) -> re.Pattern[str]:
    """One expression that finds any of the entries; without `blanks` between words only Latin letters bound them."""
    before, after = (r"(?<!\w)", r"(?!\w)") if blanks else ("(?<![A-Za-z])", "(?![A-Za-z])")
    parts = [
        f"(?:{expression(entry)})" if CJK_RE.search(entry) else f"{before}(?:{expression(entry)}){after}"
        for entry in entries
    ]
    return re.compile("|".join(parts), re.IGNORECASE) if parts else _NEVER_RE


@cache
def table(language: str) -> dict[str, dict[str, list[str]]]:
    source = resources.files("vault.patterns").joinpath("words_licence", f"{language}.toml")
    try:
        found: dict[str, dict[str, list[str]]] = tomllib.loads(source.read_text("utf-8"))
    except FileNotFoundError:
        return {}
    return found


@cache
def _of(language: str, key: str) -> re.Pattern[str]:
    section, _, name = key.partition(".")
    entries = table(language).get(section, {}).get(name, ()) if section != "numbers" and name != "gate" else ()
    return joined(entries, blanks=language != "ja") if isinstance(entries, list) else _NEVER_RE


@cache
def words_of(language: str) -> Words:
    """The words of a language; their expressions are compiled one by one, when first asked for."""
    numbers = {str(word): int(value) for word, value in table(language).get("numbers", {}).items()}  # type: ignore[call-overload]
    inner = "|".join(re.escape(word).replace(r"\ ", r"\s+") for word in sorted(numbers, key=lambda word: -len(word)))
    number = re.compile(rf"(?<![\w.,/])(?:\d{{1,5}}|{inner or '(?!)'})(?![\w/])", re.IGNORECASE)
    return Words(language, numbers, number)


@cache
def of_all(key: str) -> re.Pattern[str]:
    """The expression for `section.key` over all languages."""
    section, _, name = key.partition(".")
    entries = [entry for language in LANGUAGES for entry in table(language).get(section, {}).get(name, ())]
    return joined(sorted(set(entries), key=lambda entry: (-len(entry), entry)))


@dataclass(frozen=True)
class Gate:
    """Beginnings of words that let a sentence through to the rules, and the languages they speak for."""

    stems: dict[str, tuple[tuple[str, str], ...]]
    inside: tuple[tuple[str, str], ...]

    def languages(self, text: str) -> dict[str, int]:
        """How many words of the sentence open the gate, by language."""
        counts: dict[str, int] = {}
        for word in _words(text):
            for stem, language in self.stems.get(word[:_STEM], ()):
                if word.startswith(stem):
                    counts[language] = counts.get(language, 0) + 1
        if CJK_RE.search(text):
            for sign, language in self.inside:
                if sign in text:
                    counts[language] = counts.get(language, 0) + 1
        return counts

    def opens(self, text: str) -> bool:
        """Whether any word of the text opens the gate."""
        for word in _words(text):
            for stem, _ in self.stems.get(word[:_STEM], ()):
                if word.startswith(stem):
                    return True
        return bool(CJK_RE.search(text)) and any(sign in text for sign, _ in self.inside)


def _words(text: str) -> Iterator[str]:
    return (match.group().casefold() for match in re.finditer(r"\w+", text))


@cache
def header_words() -> frozenset[str]:
    """The words that the openings of lists ("you may:") are made of."""
    entries = [
        entry
        for language in LANGUAGES
        for key in ("head_yes", "head_no")
        for entry in table(language).get("licence", {}).get(key, ())
    ]
    return frozenset(word.casefold() for entry in entries for word in re.findall(r"[^\W\d_]{2,}", entry))


# Keys whose own words open the gate of the licence too, so that a wording added to them cannot be forgotten there.
_OPENING = ("sell", "resale", "commercial", "share", "copy", "teach", "keep")
_HEAD_RE = re.compile(r"\(\?:([^()]*)\)|([^\W\d_]{5,})")
_LITERAL_RE = re.compile(r"[^\W\d_]{5,}")


def _openers(language: str, section: str) -> Iterator[str]:
    keys = table(language).get(section, {})
    yield from keys.get("gate", ())
    if section == "licence" and language != "ja":
        for key in _OPENING:
            for entry in keys.get(key, ()):
                yield from _heads(entry)


def _heads(entry: str) -> Iterator[str]:
    """The beginnings of the words that an expression can start with, where they are long enough to tell."""
    head = _HEAD_RE.match(entry)
    if head is None:
        return
    for word in (head.group(1) or head.group(2) or "").split("|"):
        literal = _LITERAL_RE.match(word)
        if literal is not None:
            yield literal.group()


@cache
def gate(section: str) -> Gate:
    """The gate of a section (`licence`) over all languages; stems have at least four letters, or are whole words."""
    stems: dict[str, list[tuple[str, str]]] = {}
    inside: list[tuple[str, str]] = []
    for language in LANGUAGES:
        for stem in dict.fromkeys(_openers(language, section)):
            if CJK_RE.search(stem):
                inside.append((stem, language))
            else:
                folded = stem.casefold()
                stems.setdefault(folded[:_STEM], []).append((folded, language))
    return Gate({key: tuple(value) for key, value in stems.items()}, tuple(inside))


@remembered
def opens(text: str, section: str) -> bool:
    """Whether any word of the text opens the gate of the section."""
    return gate(section).opens(text)
