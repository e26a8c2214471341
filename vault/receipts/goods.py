"""What kind of thing was sold: a file or goods in the post, a craft pattern or something else, with which parts.

Word evidence in order: what the title and its options say, then a download link of its own, then what the document
says of everything in it ("your patterns are ready").  Where nothing says it, None.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from vault.language.folding import fold
from vault.receipts.view import View
from vault.receipts.words import Words, whole_phrase

_BY_RE = re.compile(r"\s(?:by|von|par|door|por|av|af|di|da|tekijä)\s", re.I)
_RANGE_RE = re.compile(
    r"(?<![\w.,/])(?:(?:[2-9]?X{1,3}S|XXS|XS|S|M|L|XL)\s?[-–]\s?(?:[2-9]?X{0,3}L|M|L|[2-9]XL)|\d{1,3}\s?[-–]\s?\d{1,3})(?![\w.,/%])"
)
_PATTERN_FILE_RE = re.compile(r"(?:\ba4\b|\ba0\b|letter|projector|copyshop|instructions|pattern)", re.I)


@dataclass(frozen=True, slots=True)
class Kind:
    """What is known of one item."""

    digital: bool | None
    craft_pattern: bool | None


@dataclass(frozen=True, slots=True)
class Setting:
    """What the whole document says of the things in it."""

    patterns: bool
    downloads: bool
    ships: bool


def setting_of(view: View, downloads: int, shipping_paid: bool) -> Setting:
    """What the document says of all its items."""
    text = view.doc.folded[:40_000]
    patterns = view.words.has_word(text, "goods", "pattern_shop") is not None
    return Setting(patterns=patterns, downloads=downloads > 0, ships=shipping_paid)


def _hit(text: str, words: Words, key: str) -> bool:
    return whole_phrase(text, words.phrases("goods", key)) is not None or any(
        p in text for p in words.phrases("goods", key + "_inside")
    )


def kind_of(title: str, details: list[str], words: Words, setting: Setting, *, linked: bool, fetched: bool) -> Kind:
    """Digital and craft pattern of one item; `linked`: a download is its own, `fetched`: its name is in a file list."""
    text = fold(title)
    more = fold(" ".join(details))
    voucher = _hit(text, words, "voucher")
    pattern = _hit(text, words, "pattern")
    digital_word = _hit(text, words, "digital") or _hit(more, words, "digital")
    physical_word = _hit(text, words, "physical") or _hit(more, words, "physical_option")
    strong_digital = linked or fetched
    if voucher and not strong_digital:
        return Kind(None, False)
    if strong_digital:
        digital: bool | None = True
    elif digital_word and not (physical_word and _hit(more, words, "physical_option")):
        digital = True
    elif (
        (physical_word and not pattern) or _hit(text, words, "physical_pattern") or _hit(more, words, "physical_option")
    ):
        digital = False
    elif setting.downloads and setting.patterns and not setting.ships and pattern:
        digital = True
    else:
        digital = None
    if physical_word and not pattern and not digital:
        craft: bool | None = False
    elif pattern or sum((bool(digital), setting.patterns, _hit(text, words, "craft"))) >= 2:
        craft = True  # of a file, a shop of patterns and a garment two are enough
    elif digital is False:
        craft = False
    else:
        craft = None
    return Kind(digital, craft)


def promised_parts(texts: list[str], words: Words) -> tuple[str, ...]:
    """The parts a text promises ("A4", "A0", "projector", "instructions"), and a size range where one is printed."""
    out: list[str] = []
    folded = [fold(t).replace("_", " ").replace("-", " ") for t in texts]
    joined = " ".join(folded)
    for part, phrases in words.table("parts"):
        for phrase in phrases:
            if whole_phrase(joined, (fold(phrase).replace("-", " "),)):
                out.append(part)
                break
    return tuple(dict.fromkeys(out))


def size_range(texts: list[str], words: Words) -> str | None:
    """The range of sizes printed after a word for sizes, as printed."""
    for text in texts:
        folded = fold(text)
        if not any(whole_phrase(folded, (w,)) for w in words.phrases("goods", "size")):
            continue
        match = _RANGE_RE.search(text)
        if match:
            return match.group()
    return None


def designer_in(text: str, words: Words) -> str | None:
    """The designer named in a line of its own: "by X", "Design: X"."""
    folded = fold(text)
    for phrase in words.phrases("goods", "by"):
        if folded.startswith(phrase + " ") and len(text) < 70:
            name = text[len(phrase) :].strip(" :")
            if name[:1].isupper() and name.count(" ") <= 5 and not any(c.isdigit() for c in name):
                return name
    return None
