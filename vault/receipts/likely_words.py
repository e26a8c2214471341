"""What the cheap look looks for: the phrases of the word files as bytes, each with what it means.

A new language of receipts or notices is looked for as soon as its file is there.  A phrase stands in the forms in
which it may be written: with ß or ss, with either apostrophe, with capital umlauts.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum, auto
from functools import lru_cache
from typing import Any

from vault.language.folding import fold
from vault.receipts.likely_text import normal
from vault.receipts.mail_words import all_words
from vault.receipts.scan import Phrases
from vault.receipts.words import languages


class Kind(IntEnum):
    """What a phrase means."""

    BOUGHT = auto()  # ordered, bought, paid
    FETCH = auto()  # an invoice, files to download, a refund, a cancellation
    SENT = auto()  # a parcel, or a payment that failed: evidence only with an order's number
    NUMBER = auto()  # label of an order's number
    DAY = auto()  # label of an order's day
    TOTAL = auto()  # label of a sum
    AGAINST = auto()  # in a subject: no purchase
    STRONG = auto()  # a shop closes
    CLOSED = auto()
    VERB = auto()  # something closes
    UNTIL = auto()
    MOVED = auto()  # moved, reopened, or a new name without the old one
    NAMED = auto()  # a new name beside the old one
    PERMANENT = auto()
    FAREWELL = auto()
    FILES = auto()
    SALE = auto()
    HOLIDAY = auto()


@dataclass(frozen=True, slots=True)
class Meaning:
    """What one phrase means in one language; `stem` if it may go on."""

    kind: Kind
    language: str
    stem: bool
    spaced: bool  # of a script with blanks between words
    others: tuple[bytes, ...] = ()  # what else of the phrase must stand near
    shared: bool = False  # an English word too ("order"): it counts where the text is in its language


class Table:
    """Phrases with their meanings, and where they stand in a text as whole words."""

    def __init__(self, entries: Iterable[tuple[str, Meaning]]) -> None:
        found: dict[bytes, set[Meaning]] = {}
        for phrase, meaning in entries:
            for form in _forms(phrase):
                found.setdefault(form, set()).add(meaning)
        self._meanings = [tuple(sorted(m, key=lambda x: (x.kind, x.language))) for m in found.values()]
        self._phrases = Phrases(list(found))

    def find(self, text: bytes) -> Iterator[tuple[Meaning, int, int]]:
        """Each phrase of the table in a text of `likely_text`: what it means, start and end."""
        meanings = self._meanings
        for number, start, end in self._phrases.find(text):
            before, after = text[start - 1], text[end]
            for meaning in meanings[number]:
                if meaning.spaced and (32 != before < 128 or (32 != after < 128 and not meaning.stem)):
                    continue
                if meaning.others and not _near(text, start, end, meaning.others):
                    continue
                yield meaning, start, end


def _near(text: bytes, start: int, end: int, others: tuple[bytes, ...]) -> bool:
    around = text[max(0, start - _GAP) : end + _GAP]
    return all(other in around for other in others)


_SIGNS = {
    **dict.fromkeys(("order", "purchase", "receipt"), Kind.BOUGHT),
    **dict.fromkeys(("invoice", "download", "refund", "cancelled"), Kind.FETCH),
    **dict.fromkeys(("shipping", "failed"), Kind.SENT),
}
_LABELS = {
    **dict.fromkeys(("order_number", "invoice_number", "receipt_number"), Kind.NUMBER),
    "order_date": Kind.DAY,
}
_TELLING = 5  # letters of a word that may stand for a phrase
_BRIEF = 5  # letters of a verb that may be a word of another language ("stop")
_SHORT = 4  # letters of a label of a day that is also a small word ("le")
_AGAINST = ("basket", "wish", "review", "account", "bank", "quote")
_NOTICES = {
    "strong": Kind.STRONG,
    "closed": Kind.CLOSED,
    "verb": Kind.VERB,
    "until": Kind.UNTIL,
    "moved": Kind.MOVED,
    "reopened": Kind.MOVED,
    "calls": Kind.NAMED,
}
_AROUND = {
    "permanent": Kind.PERMANENT,
    "farewell": Kind.FAREWELL,
    "files": Kind.FILES,
    "sale": Kind.SALE,
    "holiday": Kind.HOLIDAY,
}
_GAP = 160  # bytes between the parts of a phrase
_TAKING = (Kind.SALE, Kind.HOLIDAY, Kind.AGAINST)
# Labels that may stand beside the number or the day of an order in the heading of a table.
_BESIDE = ("order_number", "order_date", "title", "total", "line_amount", "price", "status", "quantity", "seller")


@lru_cache(maxsize=1)
def first_table() -> Table:
    """What one of must stand in evidence or in a notice."""
    entries: list[tuple[str, Meaning]] = []
    for code, language in languages().items():
        for phrase, meaning in _entries(language.table.get("signs", {}), _SIGNS, code):
            shared = code != "en" and phrase in languages()["en"].labels
            entries.append((phrase, replace(meaning, shared=shared)))
        labels = _entries(language.table.get("labels", {}), _LABELS, code)
        entries.extend((p, m) for p, m in labels if m.kind is Kind.NUMBER or not m.spaced or len(p) >= _SHORT)
    for code, tables in all_words().items():
        notice = tables.get("notice", {})
        for phrase, meaning in _entries(notice, _NOTICES, code):
            shared = code != "en" and meaning.kind is Kind.VERB and phrase.isascii() and len(phrase) <= _BRIEF
            entries.append((phrase, replace(meaning, shared=shared)))
        for name in ("renamed", "sold"):
            for phrase in notice.get(name, ()):
                parts = [part for part in re.split(r"\{\w+\}| \.\. ", phrase) if part.strip(" ,.:;()")]
                kind = Kind.NAMED if "{old}" in phrase else Kind.MOVED
                entries.append(_parted(parts, kind, code))
                words = [word for part in parts for word in part.split()]
                # A day may stand between any two words of what is said of a shop by its name.
                if "{old}" in phrase and max(map(len, words)) >= _TELLING:
                    entries.append(_parted(words, kind, code))
    return Table(entries)


@lru_cache(maxsize=1)
def sums_table() -> Table:
    """Labels of sums."""
    return Table(
        entry
        for code, language in languages().items()
        for entry in _entries(language.table.get("labels", {}), {"total": Kind.TOTAL, "amount_due": Kind.TOTAL}, code)
    )


@lru_cache(maxsize=1)
def against_table() -> Table:
    """What speaks against a purchase where it stands in the subject."""
    kinds = dict.fromkeys(_AGAINST, Kind.AGAINST)
    return Table(
        entry
        for code, language in languages().items()
        for entry in _entries(language.table.get("signs", {}), kinds, code)
    )


@lru_cache(maxsize=1)
def around_table() -> Table:
    """What adds to a verb of closing, or takes away from it."""
    return Table(
        entry for code, tables in all_words().items() for entry in _entries(tables.get("notice", {}), _AROUND, code)
    )


@lru_cache(maxsize=16)
def heading_words(code: str) -> frozenset[bytes]:
    """First and last words of labels that head the columns beside an order's number, of a language and English."""
    out: set[bytes] = set()
    for language in (languages()[code], languages()["en"]):
        labels = language.table.get("labels", {})
        linking = {*language.phrases("prose", "linking"), *language.phrases("seller", "stop"), "what", "from", "with"}
        for name in _BESIDE:
            for phrase in labels.get(name, ()):
                words = [w for w in fold(phrase).split() if len(w) >= _SHORT and w not in linking]
                if " " not in phrase:
                    words = [fold(phrase)]
                for word in words[:1] + words[-1:]:
                    out.update(normal(word).split())
    return frozenset(out)


@lru_cache(maxsize=16)
def small_words(code: str) -> tuple[bytes, ...]:
    """Small words that a text in the language has, between blanks; those that English shares are left out."""
    found: dict[str, set[str]] = {}
    for name in {code, "en"}:
        prose = languages()[name].table.get("prose", {})
        found[name] = {w for key in ("articles", "linking", "joint") for w in prose.get(key, ())}
    return tuple(b" " + normal(w) + b" " for w in sorted(found[code] - found["en"]) if len(w) > 1)


def _entries(tables: dict[str, Any], kinds: dict[str, Kind], code: str) -> Iterator[tuple[str, Meaning]]:
    for name, kind in kinds.items():
        for phrase in tables.get(name, ()):
            if " .. " in phrase and kind in _TAKING:
                continue  # its parts, near each other, may be no phrase, and must not take away
            yield _parted(phrase.removeprefix(".. ").split(" .. "), kind, code)


def _parted(parts: Sequence[str], kind: Kind, code: str) -> tuple[str, Meaning]:
    """The longest part of a phrase with gaps, and its meaning, for which the others must stand near."""
    longest = max(parts, key=len)
    bare = longest.rstrip("*").strip()
    stem = longest.endswith("*") or (bare[-1:] > "\x7f" and not bare[-1:].isalnum())  # "n°12"
    spaced = not any("\u3040" <= c <= "\u9fff" for c in bare)
    # Of the others the letters that every form of them has are enough.
    others = [max(re.findall(r"[a-z0-9]+", fold(p)), key=len, default="") for p in parts if p is not longest]
    return bare, Meaning(kind, code, stem, spaced, tuple(o.encode() for o in others if o))


def _forms(phrase: str) -> set[bytes]:
    """The ways in which a phrase may be written."""
    bare = phrase.rstrip("*")
    text = fold(bare)
    written = {text, bare.lower(), text.replace("ss", "ß"), text.replace("'", "’")}
    written |= {_shouted(w) for w in written} | {w[:1].upper() + w[1:] for w in written if w[:1] > "\x7f"}
    return {form for w in written if (form := normal(w))}


def _shouted(text: str) -> str:
    """With its letters above ASCII as capitals, as in a text of capitals; ß stays."""
    return "".join(c.upper() if c > "\x7f" and len(c.upper()) == 1 else c for c in text)
