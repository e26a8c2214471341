"""Parts that the words of a file promise, and whether it is only a preview of the pattern.

A promise is a sentence such as "this download includes ..." with the lines listed under it; the parts are named as
everywhere: "A4", "A0", "Letter", "projector", "instructions", "chart".  A preview says so in a line of its own or in
large letters; the word inside running text ("see the print preview") proves nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache

from vault.patterns.pages_text import PageText, TextLine
from vault.patterns.words import expression_re, fold

_PAPERS: tuple[tuple[str, re.Pattern[str]], ...] = (
    ("A4", re.compile(r"(?<![a-z0-9])(?:din\s?)?a4(?![a-z0-9])", re.IGNORECASE)),
    (
        "Letter",
        re.compile(r"(?<![a-z])(?:us[\s-]?letter|letter(?=[\s-]*(?:size|format|print|paper|pdf|,|/|and|&|$)))", re.I),
    ),
    ("A0", re.compile(r"(?<![a-z0-9])(?:a0|2a0|36[\s-]?(?:inch|in\b|\"))(?![a-z0-9])", re.IGNORECASE)),
    ("A1", re.compile(r"(?<![a-z0-9])a1(?![a-z0-9])", re.IGNORECASE)),
    ("A3", re.compile(r"(?<![a-z0-9])a3(?![a-z0-9])", re.IGNORECASE)),
)
_WORDS = (("projector", "projector"), ("instructions", "instructions"), ("chart", "chart"))
_LIST_LINES = 10  # below a promise
_ITEM_RE = re.compile(r"\s*(?:[-–•*○▪■□✓✔➤►]|\d{1,2}[.)])\s*")
_OF_PAGES_RE = re.compile(
    r"(?:page|seite|pagina|página|sida|side|strona|sivu|ページ|sur)?\s*(\d{1,3})\s*(?:/|of|von|sur|van|de|di|av|af|z)\s*(\d{1,3})\b",
    re.IGNORECASE,
)
_LARGE_PT = 18.0
_SHORT_WORDS = 8
_NOT_A_PREVIEW_RE = re.compile(
    r"print\w*\s+preview|preview\s+(?:window|pane|app|mode|the\s+print)|druckvorschau|aperçu\s+avant\s+impression|"
    r"afdrukvoorbeeld|anteprima\s+di\s+stampa|vista\s+previa\s+de\s+impresión|förhandsgransk\w*|podgląd\w*\s+wydruku",
    re.IGNORECASE,
)


def promised_parts(pages: Sequence[PageText], language: str | None = None) -> tuple[str, ...]:
    """The parts that belong to the product by the file's own words, in the order in which they are named."""
    found: dict[str, None] = {}
    for lines in _promises(pages, language):
        for text in lines:
            found.update(dict.fromkeys(parts_named(text)))
    return tuple(found)


def parts_named(text: str) -> tuple[str, ...]:
    """The parts named in a text."""
    places: list[tuple[int, str]] = []
    for part, expression in _PAPERS:
        match = expression.search(text)
        if match:
            places.append((match.start(), part))
    for part, key in _WORDS:
        match = expression_re("parts", key).search(text)
        if match:
            places.append((match.start(), part))
    if not any(part in ("A0", "A1") for _, part in places):
        match = expression_re("parts", "copyshop").search(text)
        if match:
            places.append((match.start(), "A0"))
    return tuple(part for _, part in sorted(places))


def _promises(pages: Sequence[PageText], language: str | None) -> Iterator[list[str]]:
    """Each promise with what follows it: the rest of its line, then the items or short lines below."""
    expression = expression_re("parts", "promised", language)
    seen: set[str] = set()
    for page in pages[:40]:
        for index, line in enumerate(page.lines):
            if len(line.text) > 600 or line.text in seen:
                continue
            seen.add(line.text)
            match = expression.search(line.text)
            if match is None:
                continue
            texts = [line.text[match.end() :]]
            wants_more = line.text.rstrip().endswith(":") or len(texts[0]) > 25
            for below in page.lines[index + 1 : index + 1 + _LIST_LINES]:
                item = _ITEM_RE.match(below.text) is not None
                if not item and not wants_more and len(below.text.split()) > 12:
                    break
                if below.bold and not line.bold and not item:
                    break
                texts.append(below.text)
                if not item and below.text.rstrip().endswith("."):
                    break
            yield texts


@cache
def _word_re() -> re.Pattern[str]:
    return expression_re("parts", "preview_word")


def preview_of(pages: Sequence[PageText], *, name: str = "", language: str | None = None) -> str | None:
    """Why the file is only a preview or sampler, or None."""
    phrase, word = (expression_re("parts", key, language) for key in ("preview", "preview_word"))
    seen: set[str] = set()
    named = _word_re().search(re.sub(r"[\W_]+", " ", name)) is not None
    few = _few_of_the_pages(pages)
    alone: dict[str, set[int]] = {}
    for page in pages[:60]:
        for line in page.lines:
            if len(line.text) > 200:
                continue
            if line.text not in seen:
                seen.add(line.text)
                if _says_preview(line, phrase, word) and not _NOT_A_PREVIEW_RE.search(line.text):
                    return f"a preview: “{line.text}”"
            if len(line.text) < 40 and len(line.text.split()) <= 3 and word.search(line.text):
                alone.setdefault(fold(line.text), set()).add(page.number)
                if few:
                    return f"a preview: “{line.text}”, {few}"
    for text, numbers in alone.items():
        if len(numbers) >= 2 and len(numbers) * 5 >= len(pages) * 4:
            return f"a preview: “{text}” on every page"
    if named and (few or (pages and len(pages) <= 3 and len(alone) > 0)):
        return f"a preview by its name{', ' + few if few else ''}"
    return None


def _says_preview(line: TextLine, phrase: re.Pattern[str], word: re.Pattern[str]) -> bool:
    """The line is the statement itself: large, or short and little besides."""
    match = phrase.search(line.text)
    if match:
        words = len(re.findall(r"\w+", line.text))
        whole = len(match.group().split()) >= 4 or words <= _SHORT_WORDS
        return (line.size_pt >= _LARGE_PT or whole) and words <= 3 * _SHORT_WORDS
    large = line.size_pt >= 2 * _LARGE_PT and len(line.text.split()) <= 3
    return large and word.search(line.text) is not None


def _few_of_the_pages(pages: Sequence[PageText]) -> str:
    """ "2 of 24 pages", where the pages say of how many they are and most are lacking."""
    totals: dict[int, int] = {}
    for page in pages[:20]:
        for line in page.lines:
            match = _OF_PAGES_RE.search(line.text) if len(line.text) <= 80 else None
            if match and int(match.group(1)) == page.number:
                total = int(match.group(2))
                totals[total] = totals.get(total, 0) + 1
    total = max(totals, key=lambda t: totals[t], default=0)
    if total >= 4 and total > 2 * len(pages) and totals[total] * 2 >= len(pages):
        return f"{len(pages)} of {total} pages"
    return ""
