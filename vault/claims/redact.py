"""Leaves out of a receipt's text what is nobody else's business: address, payment digits, other goods.

Only what the person chose goes, line by line, and what was left out is counted, so that she can look before she sends.
The order's own number, titles, day and amounts stay.  Labels are those that the receipt readers know in each language;
digits of a card or an account are told by their form (masked digits, Luhn, IBAN), never by a brand.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from vault.language import fold
from vault.language.amounts import find_amounts
from vault.receipts.words import TOTALS, Words, words_for

_MOST_ADDRESS_LINES = 6
_MOST_COUNTRY_WORDS = 4  # what follows the line with the postal code is at most a country
_MASK_RE = re.compile(r"(?:(?:[*xX•·●∗#‧]{2,4}|…|\.{3,4})[\s-]?){1,4}\d{2,6}(?!\d)")
_LAST_FOUR_RE = re.compile(r"(?<![\d.,/-])(?!(?:19|20)\d\d)\d{4}(?![\d.,/-])")  # a year is a year
_NEAR = 40  # characters behind "payment method" in which four digits are those of a card
_LONG_RE = re.compile(r"(?<![\w-])\d(?:[ -]?\d){11,18}(?![\w-])")
_IBAN_RE = re.compile(r"(?<!\w)[A-Z]{2}\d{2}(?: ?[A-Z0-9]{2,4}){3,8}(?!\w)")
_ENDING_WORDS = (
    r"ending(?: in| with)?", r"ends (?:in|with)", r"last (?:4|four) digits", r"ende(?:t|nd) (?:auf|mit)",
    r"endziffern?", r"letzten (?:4|vier) Ziffern", r"(?:se terminant|finissant|se termine) par", r"eindig(?:end|t) op",
    r"(?:terminad[oa]|termina) (?:en|con|in)", r"slutar (?:på|med)", r"(?:som )?slutter (?:på|med)", r"ender på",
    r"kończąc[aey] się (?:na|cyframi)", r"zakończon[aey]", r"päätty(?:vä|y)", r"末尾", r"下\s?4\s?桁",
)  # fmt: skip
_ENDING_RE = re.compile(
    rf"((?:{'|'.join(_ENDING_WORDS)})[\s:：]{{0,3}})([*xX•.]{{0,4}}\s?\d{{2,6}})(?!\d)", re.IGNORECASE
)
_PHONE_RE = re.compile(r"(?<![\w.])(?:\+\d{1,3}[ ./-]?)?\(?0?\d{2,5}\)?(?:[ ./-]\d{2,5}){1,4}(?![\w.,])")
_POSTAL_RE = re.compile(
    r"(?<!\d)(?:\d{4,6}|\d{2}-\d{3}|\d{3} \d{2}|[A-Z]{1,2}\d[A-Z\d]? ?\d[A-Z]{2}|\d{4} ?[A-Z]{2})(?!\d)"
)


class Hide(StrEnum):
    """What can be left out."""

    ADDRESS = "address"
    PAYMENT = "payment"
    OTHERS = "others"


@dataclass(frozen=True, kw_only=True)
class Subject:
    """What the receipt is shown for: it stays.  `others` are titles and order numbers of anything else in it."""

    orders: tuple[str, ...] = ()
    titles: tuple[str, ...] = ()
    buyer: str | None = None
    others: tuple[str, ...] = ()
    other_orders: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Redacted:
    """The lines that are left, and how many lines lost something, by kind."""

    lines: tuple[str, ...]
    counts: dict[Hide, int]


def redact(
    lines: Sequence[str], hide: frozenset[Hide], subject: Subject, language: str | None, mark: str = "[...]"
) -> Redacted:
    """`lines` without what `hide` names; `mark` stands where something was."""
    out = list(lines)
    counts = dict.fromkeys(sorted(hide), 0)
    words = words_for(language)
    if Hide.OTHERS in hide:
        counts[Hide.OTHERS] = _others(out, subject, words, mark)
    if Hide.ADDRESS in hide:
        counts[Hide.ADDRESS] = _address(out, subject, words, mark)
    if Hide.PAYMENT in hide:
        counts[Hide.PAYMENT] = _payment(out, subject, words, mark)
    return Redacted(lines=tuple(_without_repeats(out, mark)), counts=counts)


def found_in(lines: Sequence[str], subject: Subject, language: str | None) -> frozenset[Hide]:
    """What of all that could be left out the lines hold."""
    counts = redact(lines, frozenset(Hide), subject, language).counts
    return frozenset(kind for kind, n in counts.items() if n)


# ---- payment -------------------------------------------------------------------------------------


def _payment(lines: list[str], subject: Subject, words: Words, mark: str) -> int:
    changed = 0
    methods = tuple(p for p in words.phrases("labels", "payment_method") if len(p) > 5)
    for n, line in enumerate(lines):
        made = _ENDING_RE.sub(lambda m: m.group(1) + mark, line)
        made = _MASK_RE.sub(mark, made)
        made = _IBAN_RE.sub(lambda m: mark if _is_iban(m.group()) else m.group(), made)
        made = _LONG_RE.sub(lambda m: mark if _is_card(m.group(), subject) else m.group(), made)
        made = _after_method(made, methods, mark)
        if made != line:
            lines[n], changed = made, changed + 1
    return changed


def _after_method(line: str, methods: Sequence[str], mark: str) -> str:
    """ "Payment method: Card 4417" without the digits."""
    lowered = line.lower()
    for method in methods:
        at = lowered.find(method)
        if at >= 0:
            start = at + len(method)
            near = line[start : start + _NEAR]
            return line[:start] + _LAST_FOUR_RE.sub(mark, near, count=1) + line[start + _NEAR :]
    return line


def _is_card(digits: str, subject: Subject) -> bool:
    """ISO/IEC 7812-1: 12 to 19 digits with a Luhn check digit; a number of the order is none."""
    if any(digits in order or order in digits for order in subject.orders if order):
        return False
    plain = [int(c) for c in digits if c.isdigit()]
    total = sum(d if n % 2 == 0 else (d * 2 - 9 if d > 4 else d * 2) for n, d in enumerate(reversed(plain)))
    return total % 10 == 0


def _is_iban(text: str) -> bool:
    """ISO 13616: the remainder by 97 is 1."""
    plain = text.replace(" ", "")
    if not 15 <= len(plain) <= 34:
        return False
    return int("".join(str(int(c, 36)) for c in plain[4:] + plain[:4])) % 97 == 1


# ---- address -------------------------------------------------------------------------------------


def _address(lines: list[str], subject: Subject, words: Words, mark: str) -> int:
    hidden: set[int] = set()
    buyer = fold(subject.buyer or "")
    for n, line in enumerate(lines):
        concepts, rest = _label(line, words)
        if concepts & {"buyer", "ship_to"}:
            if rest and _is_address(rest):
                lines[n] = line[: len(line) - len(rest)] + mark
                hidden.add(-n - 1)
            hidden |= _block(lines, n + 1, subject, words, buyer)
        elif buyer and fold(line) == buyer:
            following = _block(lines, n + 1, subject, words, buyer)
            if any(_POSTAL_RE.search(lines[k]) for k in following):
                hidden |= following
    for n in hidden:
        if n >= 0:
            lines[n] = mark
    return len(hidden)


def _block(lines: list[str], start: int, subject: Subject, words: Words, buyer: str) -> set[int]:
    """The lines of an address that begins at `start`: until a label, an amount or the order's own words."""
    found: set[int] = set()
    postal = False
    for n in range(start, min(len(lines), start + _MOST_ADDRESS_LINES)):
        line = lines[n]
        concepts, _ = _label(line, words)
        if concepts or find_amounts(line) or _named(fold(line), _folded((*subject.orders, *subject.titles))):
            break
        if "@" in line or (buyer and fold(line) == buyer):
            continue
        if postal and len(line.split()) > _MOST_COUNTRY_WORDS:
            break
        postal = postal or bool(_POSTAL_RE.search(line))
        found.add(n)
        if _PHONE_RE.fullmatch(line.strip()):
            break
    return found


def _is_address(text: str) -> bool:
    return bool(_POSTAL_RE.search(text)) or text.count(",") >= 2


def _label(line: str, words: Words) -> tuple[set[str], str]:
    """The concepts of the label that a line is or begins with, and what stands behind it."""
    whole = words.label(line)
    if whole:
        return set(whole), ""
    for concepts, _, rest in words.leading(line):
        return set(concepts), rest
    return set(), ""


# ---- other goods ---------------------------------------------------------------------------------


def _others(lines: list[str], subject: Subject, words: Words, mark: str) -> int:
    changed = 0
    hiding = False
    titles, orders = _folded(subject.titles), _folded(subject.orders)
    others = _folded((*subject.others, *subject.other_orders))
    for n, line in enumerate(lines):
        folded = fold(line)
        named, other = _named(folded, titles), _named(folded, others)
        # "Capelet" is own, "Capelet for dolls" is another: the longer name is the one that is meant
        if (named and named >= other) or (not other and _named(folded, orders)):
            hiding = False
            continue
        if other:
            hiding = True
        elif hiding:
            concepts, _ = _label(line, words)
            # the sums of one order stay; those of other orders go with them
            if concepts & TOTALS and not subject.other_orders:
                hiding = False
        if hiding:
            lines[n], changed = mark, changed + 1
    return changed


def _folded(things: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f for f in map(fold, things) if f))


def _named(folded: str, things: Sequence[str]) -> int:
    """How many characters of a line (folded) name one of the things, or are a part of one that runs over lines."""
    if not folded:
        return 0
    whole = max((len(thing) for thing in things if thing in folded), default=0)
    return whole or (len(folded) if len(folded) >= 12 and any(folded in thing for thing in things) else 0)


def _without_repeats(lines: Sequence[str], mark: str) -> list[str]:
    out: list[str] = []
    for line in lines:
        if line != mark or not out or out[-1] != mark:
            out.append(line)
    return out
