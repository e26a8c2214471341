"""What kind of thing was sold: a file or goods in the post, a craft pattern or something else, with which parts.

Word evidence in order: what the title and its options say, then a download link of its own, then what the document
says of everything in it ("your patterns are ready").  Where nothing says it, None.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from vault.language.folding import fold
from vault.model.evidence import ItemClaim, PurchaseClaim
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
    electronic: bool = False  # it says that the goods are delivered as files


_NO_SETTING = Setting(patterns=False, downloads=False, ships=False)


def setting_of(view: View, downloads: int, shipping_paid: bool) -> Setting:
    """What the document says of all its items."""
    text = view.doc.folded[:40_000]
    patterns = view.words.has_word(text, "goods", "pattern_shop") is not None
    electronic = view.words.has_word(text, "goods", "electronic") is not None
    return Setting(patterns=patterns, downloads=downloads > 0, ships=shipping_paid, electronic=electronic)


def with_kind(item: ItemClaim, words: Words) -> ItemClaim:
    """An item of a page's markup with the kind that its own title tells, where the markup leaves it out."""
    kind = kind_of(item.title, list(item.options), words, _NO_SETTING, linked=bool(item.links), fetched=False)
    return replace(
        item,
        digital=kind.digital if item.digital is None else item.digital,
        craft_pattern=kind.craft_pattern if item.craft_pattern is None else item.craft_pattern,
        quantity=1 if item.quantity is None and item.amount is not None else item.quantity,
    )


def files_among_patterns(claims: Sequence[PurchaseClaim]) -> list[PurchaseClaim]:
    """Orders of one shop: a file whose title does not say what it is, is one where the other things are patterns."""
    kinds = {i.craft_pattern for c in claims for i in c.items}
    if len({c.seller for c in claims}) != 1 or True not in kinds or False in kinds:
        return list(claims)
    return [
        replace(
            c,
            items=tuple(
                replace(i, craft_pattern=True) if i.digital and i.craft_pattern is None else i for i in c.items
            ),
        )
        for c in claims
    ]


def _hit(text: str, words: Words, key: str) -> bool:
    others = words.others if words.language is None and key == "pattern" else ()  # titles alone tell no language
    if any(whole_phrase(text, lang.phrases("goods", key)) for lang in others):
        return True
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
    elif (setting.electronic or (setting.downloads and setting.patterns)) and not setting.ships and pattern:
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


_MEMBER_BREAK_RE = re.compile(r"\s*(?:\+|;|,|、|・|/(?=\s)|(?<=\s)/|\s&\s)\s*")
_AND_RE = re.compile(r"\s(?:and|und|et|en|y|e|och|og|i|ja)\s(?=[^\W\d_a-z])")
_ASIDE_RE = re.compile(r"\s[-–—|·•]\s")
_MOST_MEMBERS = 12


def bundle_members(texts: list[str], words: Words) -> tuple[str, ...]:
    """The titles of the patterns that a bundle consists of, where a line says so: "Includes: A + B + C".

    A list of formats ("A4, A0 and instructions") names parts of one pattern and is none; nor is anything that does
    not look like at least two titles.
    """
    for text in (part for whole in texts for part in _ASIDE_RE.split(whole)):
        rest = _after_contains(text, words)
        if rest is None:
            continue
        pieces = _MEMBER_BREAK_RE.split(rest)
        if "," in rest and "+" not in rest:  # "A, B and C"
            pieces = [*pieces[:-1], *_AND_RE.split(pieces[-1])]
        pieces = [p.strip(" .:-–·•") for p in pieces]
        pieces = [p for p in pieces if p]
        if 2 <= len(pieces) <= _MOST_MEMBERS and all(_may_be_title(p, words) for p in pieces):
            return tuple(pieces)
    return ()


def _after_contains(text: str, words: Words) -> str | None:
    """What stands behind "Includes:" or "Contains 3 patterns:" at the head of a line, or None."""
    folded = fold(text)
    if len(text) > 400 or len(folded) != len(text):
        return None
    for phrase in sorted(words.phrases("goods", "contains"), key=len, reverse=True):
        if not folded.startswith(phrase):
            continue
        rest = text[len(phrase) :]
        head, colon, tail = rest.partition(":" if ":" in rest else "：")
        if colon and len(head) <= 24:
            return tail
    return None


def _may_be_title(piece: str, words: Words) -> bool:
    letters = [c for c in piece if c.isalpha()]
    if len(letters) < 3 or len(piece) > 80 or not (letters[0].isupper() or letters[0].upper() == letters[0].lower()):
        return False
    return not promised_parts([piece], words)


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
