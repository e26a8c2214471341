"""The words of receipts in each language, compiled once.

`words/<language>.toml` is all a language needs.  A document is read with the words of its own language first, then
with the English ones (templates are half translated), and labels that neither knows with those of the others.

A *label* is a printed name of a field ("Order number", "Zwischensumme"); it belongs to one or more concepts, the
context decides.  A *sign* is a phrase that tells what a document is.  A *template* is a phrase with a gap
("you paid {amount} for {title}").
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

from vault.language import LANGUAGES, fold
from vault.language.currencies import CODES

# Concepts whose value is money; `total` may also head a column.
MONEY = frozenset(
    [
        "total",
        "amount_due",
        "subtotal",
        "tax",
        "tax_included",
        "shipping",
        "discount",
        "gift_card",
        "fee",
        "refund",
        "unit_price",
        "price",
        "line_amount",
    ]
)
TOTALS = frozenset(
    ["total", "amount_due", "subtotal", "tax", "tax_included", "shipping", "discount", "gift_card", "fee", "refund"]
)
COLUMNS = frozenset(
    [
        "title",
        "quantity",
        "unit_price",
        "price",
        "line_amount",
        "total",
        "reference",
        "download",
        "expires",
        "downloads_left",
        "tax",
        "option",
        "designer",
        "seller",
        "discount",
        "order_number",
        "order_date",
        "status",
        "subtotal",
        "invoice_number",
    ]
)
DATES = frozenset(["order_date", "invoice_date", "payment_date", "due_date", "delivery_date", "expires"])
NUMBERS = frozenset(["order_number", "invoice_number", "receipt_number", "payment_number", "other_number"])

_COMPOUNDS = frozenset(["total", "subtotal", "discount", "shipping"])
_COMPOUNDING = frozenset(["de", "nl", "sv", "da", "nb", "fi"])

_BRACKETS_RE = re.compile(r"\s?[(\[（【][^()\[\]（）【】]{0,60}[)\]）】]")
_PERCENT_RE = re.compile(r"\s?\(?[-+]?\d{1,3}(?:[.,]\d{1,3})?\s?%\)?")
_EDGES = " \t:：.,;-–—*#=·•|…?!"
_GAP_RE = re.compile(r"\{(\w+)\}")
_MAX_LABEL_WORDS = 7
_CJK = "\u2e80"  # scripts without blanks begin here


_MOST_REMEMBERED = 16_384  # texts whose meaning is kept at hand; a mailbox of letters must not fill the memory


@lru_cache(maxsize=16_384)
def trim_label(text: str) -> str:
    """`text` folded, without the colon, number sign or brackets around a label."""
    folded = fold(text)
    return folded.strip(_EDGES).lstrip("[【「〔(").rstrip("】」〕]").strip(_EDGES) or folded.strip()


@lru_cache(maxsize=16_384)
def bare_label(text: str) -> str:
    """A label without what shops add to it: percentages, brackets, the currency ("VAT (20 %)", "Total EUR")."""
    bare = _PERCENT_RE.sub("", _BRACKETS_RE.sub("", fold(text))).strip(_EDGES)
    head, _, last = bare.rpartition(" ")
    return head.strip(_EDGES) if head and (last.upper() in CODES or last in ("€", "£", "$", "kr", "zł")) else bare


@dataclass(frozen=True, slots=True)
class Template:
    """A phrase with gaps, as a pattern, and the gaps' names in order."""

    regex: re.Pattern[str]
    gaps: tuple[str, ...]
    anchor: str  # the longest fixed part: looked for before the pattern is tried
    language: str
    behind: bool  # the (first) gap stands behind the anchor


class Language:
    """The compiled words of one language."""

    def __init__(self, code: str, table: dict[str, Any]) -> None:
        self.code = code
        self.table = table
        self.labels: dict[str, tuple[str, ...]] = {}
        for concept, phrases in table.get("labels", {}).items():
            for phrase in phrases:
                key = fold(phrase).strip(_EDGES) or fold(phrase)
                known = self.labels.get(key, ())
                if concept not in known:
                    self.labels[key] = (*known, concept)
        self.signs = {name: tuple(fold(p) for p in phrases) for name, phrases in table.get("signs", {}).items()}
        self.long_labels: dict[str, list[str]] = {}  # labels of scripts without blanks, by first sign, longest first
        for label in sorted((k for k in self.labels if len(k) > 1 and k[0] >= _CJK), key=len, reverse=True):
            self.long_labels.setdefault(label[0], []).append(label)

        self.tails = [  # ends of compounds; languages that write words together
            (label, concepts)
            for label, concepts in self.labels.items()
            if code in _COMPOUNDING
            and len(label) >= 5
            and label.isalpha()
            and set(concepts) & _COMPOUNDS
            and set(concepts) <= TOTALS | {"line_amount"}
        ]

    def phrases(self, section: str, key: str) -> tuple[str, ...]:
        """The folded phrases of `[section] key`."""
        return tuple(fold(p) for p in self.table.get(section, {}).get(key, ()))


@lru_cache(maxsize=1)
def languages() -> dict[str, Language]:
    """All languages that have a file, in the order of `LANGUAGES`."""
    folder = files("vault.receipts") / "words"
    out: dict[str, Language] = {}
    for code in LANGUAGES:
        entry = folder / f"{code}.toml"
        if entry.is_file():
            out[code] = Language(code, tomllib.loads(entry.read_text(encoding="utf-8")))
    return out


_GAPS = {
    "title": r"(?P<title>.{2,160}?)",
    "amount": r"(?P<amount>[\ue000-\uefff])",  # amounts are masked before a template is tried
    "seller": r"(?P<seller>.{2,60}?)",
    "date": r"(?P<date>[^\n]{3,40})",
    "n": r"(?P<n>\d{1,3}|[^\W\d_]{1,12})",
}


def _fixed(text: str) -> str:
    """The words between two gaps as a pattern; what is folded from ß finds ß too."""
    return re.escape(text).replace("ss", "(?:ss|ß)").replace(r"\ ", r"\s")


def _template(phrase: str, language: str) -> Template:
    phrase = fold(phrase)
    parts = _GAP_RE.split(phrase)
    fixed = parts[0::2]
    regex = "".join(_fixed(p) if k % 2 == 0 else _GAPS[p] for k, p in enumerate(parts))
    if phrase[0].isalnum() and phrase.isascii():
        regex = r"(?<!\w)" + regex
    anchor = max((f.strip() for f in fixed), key=len)
    return Template(re.compile(regex), tuple(parts[1::2]), anchor, language, not phrase.startswith("{"))


class Words:
    """The words a document is read with: its language's, English, and the labels of all."""

    def __init__(self, language: str | None) -> None:
        known = languages()
        own = known.get(language or "")
        english = known["en"]
        self.language = own.code if own is not None else None
        self.own = [own] if own is not None and own is not english else []
        self.read = [*self.own, english]
        self.others = [lang for lang in known.values() if lang not in self.read]
        self._exact: dict[str, tuple[str, ...]] = {}
        self._phrases: dict[tuple[str, str], tuple[str, ...]] = {}
        self._sets: dict[tuple[str, str], frozenset[str]] = {}
        self._templates: dict[tuple[str, str], tuple[Template, ...]] = {}
        self._signs: tuple[tuple[str, tuple[str, ...]], ...] | None = None

    def exact(self, key: str) -> tuple[str, ...]:
        """The concepts of a label that is trimmed already; of the document's language, else English, else any."""
        found = self._exact.get(key)
        if found is None:
            if len(self._exact) >= _MOST_REMEMBERED:
                self._exact.clear()
            found = self._exact[key] = self._lookup(key)
        return found

    def _lookup(self, key: str) -> tuple[str, ...]:
        if not key or len(key) > 60:
            return ()
        for language in self.read:
            if key in language.labels:
                return language.labels[key]
        found: list[str] = []
        for language in self.others:
            found.extend(c for c in language.labels.get(key, ()) if c not in found)
        return tuple(found) if len(found) <= 3 else ()

    def label(self, text: str) -> tuple[str, ...]:
        """The concepts that the whole of `text` is a label of, if any; what shops add to labels does not count."""
        key = trim_label(text)
        found = self.exact(key)
        if found:
            return found
        bare = bare_label(text)
        found = self.exact(bare) if bare != key else ()
        if found:
            return found
        if " " not in bare:
            return self._compound(bare)
        head, _, last = bare.rpartition(" ")
        if last in self.phrase_set("seller", "copula"):
            return self.exact(head)  # "Ihre Bestellnummer lautet:"
        first, _, tail = bare.partition(" ")
        if first in self.phrase_set("prose", "articles"):
            return self.exact(tail)  # "Our order no"
        return self._bilingual(bare) if " / " in bare else self._compound(bare)

    def _compound(self, label: str) -> tuple[str, ...]:
        """The concepts of a label whose last word or end says what the money is ("Shop total", "Neukundenrabatt")."""
        words = label.split(" ")
        if len(words) > 2 or any(c.isdigit() for c in label):
            return ()
        if len(words) == 2:
            found = self.exact(words[1])
            return found if set(found) & _COMPOUNDS and set(found) <= TOTALS | {"line_amount"} else ()
        for language in self.read:
            for tail, concepts in language.tails:
                if len(label) >= len(tail) + 3 and label.endswith(tail):
                    return concepts
        return ()

    def _bilingual(self, label: str) -> tuple[str, ...]:
        """The concepts that both halves of "Bestelnummer / Numéro de commande" name."""
        halves = [self.exact(half.strip(_EDGES)) for half in label.split(" / ")[:4]]
        return tuple(c for c in halves[0] if all(c in half for half in halves[1:]))

    def leading(self, text: str) -> Iterator[tuple[tuple[str, ...], str, str]]:
        """Labels that `text` begins with, longest first: (concepts, label, the rest)."""
        words = text.split(" ")
        for count in range(min(_MAX_LABEL_WORDS, len(words) - 1), 0, -1):
            label = " ".join(words[:count])
            concepts = self.exact(trim_label(label))
            if concepts:
                is_ = count + 1 < len(words) and words[count] in self.phrase_set("seller", "copula")
                yield concepts, label, " ".join(words[count + is_ :])  # "order reference is ABCDEFGH"
        if text and text[0] >= _CJK:
            folded = fold(text)
            for language in [*self.own, *self.others]:
                for label in language.long_labels.get(folded[0], ()):
                    if folded.startswith(label) and len(folded) > len(label):
                        yield language.labels[label], text[: len(label)], text[len(label) :].lstrip(" :：")
                        return

    def phrases(self, section: str, key: str) -> tuple[str, ...]:
        """The phrases of `[section] key` of the document's language and English."""
        found = self._phrases.get((section, key))
        if found is None:
            found = tuple(dict.fromkeys(p for lang in self.read for p in lang.phrases(section, key)))
            self._phrases[section, key] = found
        return found

    def phrase_set(self, section: str, key: str) -> frozenset[str]:
        """The same phrases for lookups."""
        found = self._sets.get((section, key))
        if found is None:
            found = self._sets[section, key] = frozenset(self.phrases(section, key))
        return found

    def templates(self, section: str, key: str) -> tuple[Template, ...]:
        """The compiled templates of `[section] key`."""
        found = self._templates.get((section, key))
        if found is None:
            phrases = ((p, lang.code) for lang in self.read for p in lang.table.get(section, {}).get(key, ()))
            found = self._templates[section, key] = tuple(_template(p, code) for p, code in phrases)
        return found

    def table(self, section: str) -> Iterator[tuple[str, Any]]:
        """The entries of a section, the document's language first."""
        for lang in self.read:
            yield from lang.table.get(section, {}).items()

    def sign_table(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Sign name and phrases, both languages together."""
        if self._signs is None:
            names: dict[str, list[str]] = {}
            for lang in self.read:
                for name, phrases in lang.signs.items():
                    names.setdefault(name, []).extend(phrases)
            self._signs = tuple((name, tuple(dict.fromkeys(phrases))) for name, phrases in names.items())
        return self._signs

    def has_word(self, text: str, section: str, key: str) -> str | None:
        """The first phrase of `[section] key` that stands in the folded `text` as whole words, or None."""
        return whole_phrase(text, self.phrases(section, key))


@lru_cache(maxsize=16)
def words_for(language: str | None) -> Words:
    """The words for a document in `language` (None: not known)."""
    return Words(language)


def whole_phrase(text: str, phrases: Iterable[str]) -> str | None:
    """The first of `phrases` in `text` that no letter or digit continues (scripts without blanks: anywhere)."""
    for phrase in phrases:
        at = text.find(phrase)
        while at >= 0:
            if not phrase.isascii() and "\u3040" <= phrase[0] <= "\u9fff":
                return phrase
            before = text[at - 1] if at else " "
            after = text[at + len(phrase)] if at + len(phrase) < len(text) else " "
            if (not before.isalnum() or not phrase[0].isalnum()) and (not after.isalnum() or not phrase[-1].isalnum()):
                return phrase
            at = text.find(phrase, at + 1)
    return None
