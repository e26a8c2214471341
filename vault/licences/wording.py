"""What the pattern readers leave out of a licence: printing again, working for hire, "only", the period of a limit.

Strategy: sentences of the text, and for each language a table of wordings (`wording.toml`).  A sentence counts only
where it names the act and an answer; what it does not say stays silent.  The words are bounded, no pattern can run
over more than one sentence.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

from vault.language import LANGUAGES, detect
from vault.model.licence import Act, Clause, Ruling
from vault.model.pattern import Quote

_MOST_TEXT = 400_000
_LONGEST = 400  # characters of a sentence that can state a term
_MOST_CLAUSES = 6
_END_RE = re.compile(r"(?<=[.!?])\s+(?=[^\sa-zà-öø-ÿ])|(?<=[。！？])|\n\s*\n|\n(?=\s*[•·*▪–—✓✔✗✘-]\s)")
# "Print at 100 %", "do not scale", "print the layers of your size": how to print, not whether.
_HOW_RE = re.compile(
    r"%|100|scal|skal|échelle|fit to|anpass|adapt|layer|ebene|calque|test|square|kästchen|A4|A0|拡大|等倍"
)


@dataclass(frozen=True)
class _Words:
    language: str
    patterns: dict[str, re.Pattern[str]]

    def has(self, key: str, text: str) -> bool:
        pattern = self.patterns.get(key)
        return pattern is not None and pattern.search(text) is not None


@cache
def _table() -> dict[str, _Words]:
    raw = tomllib.loads(resources.files("vault.licences").joinpath("wording.toml").read_text(encoding="utf-8"))
    return {
        language: _Words(language, {k: _any(v, language) for k, v in keys.items()}) for language, keys in raw.items()
    }


def _any(wordings: Sequence[str], language: str) -> re.Pattern[str]:
    joined = "|".join(f"(?:{w})" for w in wordings)
    # Japanese has no blanks between words.
    return re.compile(f"(?:{joined})" if language == "ja" else rf"(?<!\w)(?:{joined})(?!\w)", re.IGNORECASE)


def languages_of(text: str, hint: str | None = None) -> tuple[str, ...]:
    """The languages whose wordings are tried on a text: its own, and English."""
    own = hint if hint in LANGUAGES else detect(text[:4000])
    return tuple(dict.fromkeys(code for code in (own, "en") if code in _table()))


def sentences(text: str) -> Iterator[Quote]:
    """The sentences of a text that are short enough to state a term, each with its page where form feeds part pages."""
    pages = text[:_MOST_TEXT].split("\f")
    for number, page in enumerate(pages, start=1):
        for part in _END_RE.split(page):
            words = " ".join(part.split())
            if 8 <= len(words) <= _LONGEST:
                yield Quote(text=words, page=number if len(pages) > 1 else None)


def clauses_in(text: str, language: str | None = None) -> tuple[Clause, ...]:
    """What a text says about printing again and about working for hire, sentence by sentence."""
    found: list[Clause] = []
    tables = [_table()[code] for code in languages_of(text, language)]
    for quote in sentences(text):
        for words in tables:
            clause = _clause(quote, words)
            if clause is not None:
                found.append(clause)
                break
        if len(found) >= _MOST_CLAUSES:
            break
    return tuple(found)


def _clause(quote: Quote, words: _Words) -> Clause | None:
    text = quote.text
    if text.endswith(("?", "？")):
        return None
    if words.has("hire", text):
        ruling = _ruling(text, words)
        return Clause(act=Act.HIRE, ruling=ruling, quotes=(quote,)) if ruling else None
    if words.has("print", text) and not _HOW_RE.search(text):
        ruling = _ruling(text, words)
        return Clause(act=Act.PRINT, ruling=ruling, quotes=(quote,)) if ruling else None
    return None


def _ruling(text: str, words: _Words) -> Ruling | None:
    if words.has("with", text):
        return Ruling.WITH
    if words.has("no", text):
        return Ruling.NO
    return Ruling.YES if words.has("yes", text) else None


def period_in(quotes: Sequence[Quote], limit: int | None) -> str | None:
    """ "year" or "month" where the words beside the limit name one, else None (the limit holds in all)."""
    for quote in quotes:
        if limit is not None and not _names_number(quote.text, limit):
            continue
        for words in _table().values():
            for key in ("year", "month"):
                if words.has(key, quote.text):
                    return key
    return None


def _names_number(text: str, number: int) -> bool:
    digits = re.sub(r"(?<=\d)[.,\s](?=\d{3})", "", text)
    return re.search(rf"(?<!\d){number}(?!\d)", digits) is not None or not re.search(r"\d", text)


def says_only(quotes: Sequence[Quote]) -> bool:
    """Whether the words that speak of personal use make it the only use."""
    return any(words.has("only", quote.text) for quote in quotes for words in _table().values())
