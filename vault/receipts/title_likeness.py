"""Titles compared across the documents of one order.

Strategy: words, not letters, because designers reuse words and a missing "Kids" is another pattern, while case,
punctuation, quotation marks and a cut-off end are only looks.  Languages written without blanks are compared by pairs
of letters.  The best pairs are taken first, each title once, so that two nearly equal titles find their own.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache

from vault.language.folding import fold
from vault.receipts.mail_words import name_words_of

SAME = 0.6  # likeness from which two titles of one order are one item
_WORD_RE = re.compile(r"\d+(?:[.,]\d+)?|[^\W\d_]+")
_CUT_RE = re.compile(r"(?:\.{3}|…)\s*\Z")
_UNSPACED_RE = re.compile("[\u3040-\u30ff\u3400-\u9fff]")


@lru_cache(maxsize=65_536)
def title_key(title: str) -> str:
    """Equal for titles that differ only in looks."""
    return " ".join(title_words(title))


@lru_cache(maxsize=65_536)
def title_core(title: str) -> str:
    """Equal for titles that differ only in looks and in words that documents add or leave out ("PDF")."""
    words = title_words(title)
    return " ".join(sorted(w for w in words if w not in name_words_of("title_formal"))) or " ".join(words)


@lru_cache(maxsize=65_536)
def title_words(title: str) -> tuple[str, ...]:
    """The words and numbers of a title in one spelling; pairs of letters where there are no blanks."""
    text = unicodedata.normalize("NFKD", fold(_CUT_RE.sub("", title[:1_000].replace("'", "").replace("’", ""))))
    text = unicodedata.normalize("NFC", "".join(c for c in text if not unicodedata.combining(c)))
    out: list[str] = []
    for word in _WORD_RE.findall(text):
        if len(word) > 3 and _UNSPACED_RE.search(word):
            out += [word[k : k + 2] for k in range(len(word) - 1)]
        else:
            out.append(word)
    return tuple(out)


@lru_cache(maxsize=65_536)
def likeness(one: str, other: str) -> float:
    """0 to 1: the share of words two titles have in common; 1 for titles that differ only in looks.

    A title that was cut off counts as the longer one it begins.
    """
    first, second = title_words(one), title_words(other)
    if not first or not second:
        return 0.0
    if first == second:
        return 1.0
    if (_CUT_RE.search(one) and _begins(first, second)) or (_CUT_RE.search(other) and _begins(second, first)):
        return 0.97
    words, others = set(first), set(second)
    common = len(words & others)
    if not common:
        return 0.0
    formal = name_words_of("title_formal")
    said, told = words - formal, others - formal
    if said and said == told:
        return 0.98
    core = len(said & told) / len(said | told) if said and told else 0.0
    inside = common >= 2 and common == min(len(words), len(others))  # options or a subtitle were added
    return max(core, common / len(words | others), 0.9 if inside else 0.0)


def _begins(short: tuple[str, ...], long: tuple[str, ...]) -> bool:
    return (
        2 <= len(short) <= len(long)
        and long[: len(short) - 1] == short[:-1]
        and long[len(short) - 1].startswith(short[-1])
    )


def pair_titles(ones: Sequence[str], others: Sequence[str], *, floor: float = SAME) -> dict[int, int]:
    """Index in `ones` -> index in `others` for titles that are one thing, best pairs first, each used once."""
    if list(ones) == list(others):
        return {n: n for n in range(len(ones))}
    scored = [
        (-score, i, j)
        for i, one in enumerate(ones)
        for j, other in enumerate(others)
        if (score := likeness(one, other)) >= floor
    ]
    scored.sort()
    out: dict[int, int] = {}
    used: set[int] = set()
    for _, i, j in scored:
        if i not in out and j not in used:
            out[i] = j
            used.add(j)
    return out


def covers(larger: Sequence[str], smaller: Sequence[str]) -> bool:
    """Whether each title of `smaller` finds one of its own in `larger`."""
    return len(smaller) <= len(larger) and len(pair_titles(smaller, larger)) == len(smaller)
