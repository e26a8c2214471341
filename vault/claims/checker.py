"""Reads a finished letter again and says what in it does not agree with the claim.

Written apart from `letter`: it takes the text that will be sent, finds the orders by their lines, reads every date and
amount with the strict readers of `vault.language`, and counts the lines.  It shares with the writer only the phrases
and the rule for a stranger's words.  A letter that it objects to is not written.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from vault.claims.phrases import Phrases, phrases
from vault.claims.safe_text import one_line
from vault.language.amounts import parse_amount
from vault.language.dates import find_dates
from vault.model.claim import Claim, ClaimedItem

_FILLED = (
    "subject", "greeting", "intro", "intro_successor", "intro_one", "intro_successor_one", "request", "closing",
)  # fmt: skip


@dataclass
class _ReadItem:
    title: str
    said: dict[str, str] = field(default_factory=dict)


@dataclass
class _ReadOrder:
    said: dict[str, str] = field(default_factory=dict)
    items: list[_ReadItem] = field(default_factory=list)


def objections(text: str, claim: Claim) -> tuple[str, ...]:
    """Everything in the letter that is missing, wrong, doubled or too much; empty for a letter that may be sent."""
    words = phrases(claim.language)
    lines = text.split("\n")
    found: list[str] = []
    for number, line in enumerate(lines, start=1):
        if line != line.rstrip() or any(ord(c) < 32 or c in "\u2028\u2029\x85" or _turns(c) for c in line):
            found.append(f"line {number} holds what no letter should")
    orders, others = _read(lines, words)
    wanted = claim.items_by_order
    if len(orders) != len(wanted):
        return (*found, f"{len(orders)} orders are listed, not {len(wanted)}")
    for order, items in zip(orders, wanted, strict=True):
        found += _compare(order, items, words)
    found += _sentences(others, claim, words)
    return tuple(found)


def _turns(char: str) -> bool:
    return 0x200B <= ord(char) <= 0x200F or 0x202A <= ord(char) <= 0x202E or 0x2060 <= ord(char) <= 0x206F


def _read(lines: list[str], words: Phrases) -> tuple[list[_ReadOrder], list[str]]:
    """The orders of the letter, and all lines that are part of none; an order begins with its number."""
    orders: list[_ReadOrder] = []
    others: list[str] = []
    inside = False
    for line in lines:
        label = _label(line.strip(), words)
        if label is not None and label[0] == "order" and not line.startswith((" ", "-")):
            orders.append(_ReadOrder())
            inside = True
        if not line:
            inside = False
        elif not inside:
            others.append(line)
            continue
        if not line:
            continue
        order = orders[-1]
        if line.startswith("- "):
            order.items.append(_ReadItem(line[2:]))
        elif label is None or (line.startswith("  ") and not order.items):
            others.append(line)
        else:
            said = order.items[-1].said if line.startswith("  ") else order.said
            said[label[0] if label[0] not in said else "twice"] = label[1]
    return orders, others


def _label(line: str, words: Phrases) -> tuple[str, str] | None:
    for key in ("order", "payment", "date", "total", "account", "price", "designer", "missing"):
        before = words.labelled(key, "")
        if line.startswith(before):
            return key, line[len(before) :]
    return None


def _compare(order: _ReadOrder, items: tuple[ClaimedItem, ...], words: Phrases) -> list[str]:
    first = items[0]
    name = first.order_number or first.purchase_id
    found = []
    if order.said.get("order") != (one_line(first.order_number or "", 80) or words["unknown"]):
        found.append(f"order {name}: the number reads {order.said.get('order')!r}")
    if _day(order.said.get("date", ""), words) != first.purchased_on:
        found.append(f"order {name}: the day reads {order.said.get('date')!r}")
    if _money(order.said.get("total", ""), words) != _wanted(first.total, first.currency):
        found.append(f"order {name}: the total reads {order.said.get('total')!r}")
    if order.said.get("account", "") != one_line(first.account or "", 120):
        found.append(f"order {name}: the mail address reads {order.said.get('account')!r}")
    if "twice" in order.said:
        found.append(f"order {name}: something is said twice")
    if [i.title for i in order.items] != [one_line(i.title) or words["unknown"] for i in items]:
        found.append(f"order {name}: the things listed are {[i.title for i in order.items]}")
        return found
    for read, item in zip(order.items, items, strict=True):
        if _money(read.said.get("price", ""), words) != _wanted(item.amount, item.currency):
            found.append(f"order {name}: the price of {item.title!r} reads {read.said.get('price')!r}")
        if not read.said.get("missing") or "twice" in read.said:
            found.append(f"order {name}: what is missing of {item.title!r} is not said once")
        for part in item.lacking:
            if one_line(words.part(part), 60) not in read.said.get("missing", ""):
                found.append(f"order {name}: {part!r} of {item.title!r} is not asked for")
    return found


def _day(text: str, words: Phrases) -> date | None:
    dates = find_dates(text, words.language)
    return dates[0].value if len(dates) == 1 else None


def _money(text: str, words: Phrases) -> tuple[Decimal, str | None] | None:
    number, _, code = text.rpartition(" ")
    known = parse_amount(text, words.language)
    if known is not None and not known.others:
        return known.value, known.currencies[0] if known.currencies else None
    # a code that the readers of receipts do not know, or none at all
    plain = parse_amount(f"{number or text} EUR", words.language)
    if plain is None or plain.others:
        return None
    return plain.value, code if number else None


def _wanted(amount: Decimal | None, currency: str | None) -> tuple[Decimal, str | None] | None:
    return None if amount is None else (amount, currency)


def _sentences(others: list[str], claim: Claim, words: Phrases) -> list[str]:
    """Every line outside the list must begin as a sentence of the letter does (but for the signature, the last)."""
    found = []
    forms = {key: _form(words[key]) for key in _FILLED}
    whole = {words[key] for key in ("proof", "redacted", "licence", "thanks", "regards")}
    filled = [line for line in others if line not in whole]
    for line in filled:
        if not any(form.fullmatch(line) for form in forms.values()) and line != others[-1]:
            found.append(f"a line that no letter has: {line!r}")
    asked = [m for line in filled if (m := forms["request"].fullmatch(line))]
    if [_day(m.group("date"), words) for m in asked] != [claim.answer_by]:
        found.append("the day until which an answer is asked for does not stand there once")
    if len(filled) > 6:
        found.append(f"{len(filled)} sentences stand there where six are the most")
    return found


def _form(sentence: str) -> re.Pattern[str]:
    """What a sentence looks like when it is filled in."""
    parts = re.split(r"\{(\w+)\}", sentence)
    return re.compile("".join(f"(?P<{p}>.+)" if n % 2 else re.escape(p) for n, p in enumerate(parts)))
