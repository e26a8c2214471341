"""Where one order ends and the next begins, and what an order is called: sections, numbers, days.

Most documents hold one order.  A marketplace's mail, an account page or an export printed as a page holds several:
each begins with its own order number and ends before the next one's first line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from vault.language.dates import settle
from vault.receipts.history import PastOrder
from vault.receipts.page_names import is_page_name
from vault.receipts.signs import ELISION_RE, subject_number
from vault.receipts.view import Pair, View, code_in
from vault.receipts.words import TOTALS, trim_label, whole_phrase

_STATE_CUT_RE = re.compile(r"[:：|·•(),]|\s[–—-]\s")
_TIME_RE = re.compile(r"\d{1,2}[:.]\d\d(?:[:.]\d\d)?\s?(?:[ap]\.?m\.?|uhr|h)?(?:\s?[A-Z]{2,5}\b)?|\b[ap]\.?m\.?", re.I)


_STREET_RE = re.compile(r"\d{1,2}[a-z]?,?\s+[^\W\d_]{3,}\s+[^\W\d_]{2,}", re.I)
_DIGITS_RE = re.compile(r"\d+")
_TITLE_PARTS_RE = re.compile(r"\s[–—|·•:-]\s|\s?[|｜]\s?")


@dataclass(frozen=True, slots=True)
class Numbered:
    """An order's number and where it was read."""

    code: str
    line: int
    spot: int
    words: str
    how: str
    weight: float


@dataclass(frozen=True, slots=True)
class Section:
    """The lines of one order, from `start` to before `stop`; `common` lines before the first one belong to all."""

    start: int
    stop: int
    number: Numbered | None = None


def content_end(view: View) -> set[int]:
    """The lines that recommend other things: what is offered there was not bought."""
    out: set[int] = set()
    phrases = view.words.phrases("signs", "recommend")
    number = 0
    last_total = max((view.spots[p.spot].line for p in view.find("total", "order_number")), default=-1)
    while number < len(view.lines):
        spots = view.of_line(number)
        lead = next((s for s in spots if s.text), None)
        if lead is not None and len(lead.text) < 80 and not lead.amounts and whole_phrase(lead.folded, phrases):
            stop = len(view.lines)
            if last_total > number:
                stop = next(
                    (
                        n
                        for n in range(number + 1, len(view.lines))
                        if view.lines[n].rule or any(s.heading and n > number + 1 for s in view.of_line(n)[:1])
                    ),
                    last_total,
                )
                stop = min(stop, last_total)
            out.update(range(number, stop))
            number = stop
        number += 1
    return out


def numbers(view: View, concept: str = "order_number") -> list[Numbered]:
    """Every code that a label of `concept` names, in reading order; the subject's first."""
    kept = view.memory.get(concept)
    if not isinstance(kept, list):
        kept = view.memory[concept] = _numbers(view, concept)
    return kept


def _numbers(view: View, concept: str) -> list[Numbered]:
    out: list[Numbered] = []
    if concept == "order_number":
        code = subject_number(view)
        if code is not None:
            out.append(Numbered(code, -1, -1, view.doc.subject, "subject", 2.5))
    for pair in view.pairs:
        if concept not in pair.concepts or (pair.how == "column" and _in_item_table(view, pair)):
            continue
        code = code_in(pair.value)
        if code is None or (concept == "payment_number" and len(code) < 4) or _is_day(code, pair.value, view):
            continue
        words = len(pair.label.split(" "))
        own = pair.concepts[0] == concept
        weight = (3.0 if words > 1 or "#" in pair.label else 2.0) + (0.5 if own else -1.0)
        if pair.how in ("below", "column"):
            weight -= 0.5
        spot = view.spots[pair.spot]
        out.append(
            Numbered(code, spot.line, pair.spot, f"{pair.label} {pair.value}"[:120], f"label, {pair.how}", weight)
        )
    if concept == "order_number":
        out.extend(_in_text(view))
        if not out and not view.doc.sender_address:
            out.extend(_heading_codes(view))
    return out


def _is_day(code: str, value: str, view: View) -> bool:
    """Whether a short code is only the first figure of a day ("2 March 2025") or of an address ("14 Weir Street")."""
    if not code.isdigit() or len(code) > 2:
        return False
    found = view.dates_in(value[:40])
    if found and found[0].start <= 1 and found[0].end > len(code) + 2:
        return True
    return bool(_STREET_RE.match(value))


def _in_item_table(view: View, pair: Pair) -> bool:
    """Whether a heading "Order" or "Reference" heads a column of items."""
    line = view.spots[pair.spot].line
    names = {c for s in view.of_line(line) if s.whole for c in s.concepts}
    return "title" in names and "quantity" in names


def _in_text(view: View) -> Iterator[Numbered]:
    """Numbers in running text: "your order 15986 at", "for order SB-1"."""
    for index, spot in enumerate(view.spots):
        if (
            not spot.text
            or spot.concepts
            or len(spot.text) > 300
            or not any(c.isdigit() or c.isupper() for c in spot.text)
        ):
            continue
        tokens = ELISION_RE.sub(r"\1 ", spot.text).split(" ")
        for number in range(1, len(tokens)):
            rest = " ".join(tokens[number : number + 5])
            for concepts, label, value in view.words.leading(rest.lstrip("[(「【")):
                code = code_in(value) if "order_number" in concepts else None
                if code is not None and sum(c.isdigit() for c in code) + 3 * code.isupper() >= 3:
                    yield Numbered(code, spot.line, index, spot.text[:120], f"text after “{label}”", 1.5)
                    break
            if number > 40:
                break


def best_number(found: list[Numbered]) -> Numbered | None:
    """The code that most speaks for: the same code in several places counts together."""
    if not found:
        return None
    weights: dict[str, float] = {}
    for one in found:
        weights[one.code.casefold()] = weights.get(one.code.casefold(), 0.0) + one.weight
    best = max(weights, key=lambda code: weights[code])
    return max((n for n in found if n.code.casefold() == best), key=lambda n: (n.spot >= 0, n.weight, -n.line))


def sections_agree(view: View, past: Sequence[PastOrder]) -> bool:
    """Whether a table with one row is only the summary of the one order that the document is about."""
    return len(past) == 1 and any(n.code == past[0].code or past[0].code is None for n in numbers(view))


def sections(view: View) -> list[Section]:
    """The orders of the document: one section for each number that has an amount or a thing of its own."""
    labels = _repeated(view)
    found = [n for n in numbers(view) if n.line >= 0 and (n.weight >= 2.5 or _label_of(n) in labels)]
    firsts: list[Numbered] = []
    for one in found:
        if one.code.casefold() not in {f.code.casefold() for f in firsts}:
            firsts.append(one)
    firsts.sort(key=lambda n: n.line)
    whole = Section(0, len(view.lines))
    if len(firsts) < 2 or len({n.line for n in firsts}) < 2:
        return [whole]
    if _headed(view, firsts):
        starts = [0, *(_run_start(view, one.line) for one in firsts[1:])]
        out = [Section(a, b, n) for a, b, n in zip(starts, [*starts[1:], len(view.lines)], firsts)]
        own = [s for s in out if _has_money(view, s)]
        return own if len(own) > 1 else [whole]
    above = _lines_above(view, firsts)
    if above is not None:
        starts = [0, *(one.line - above for one in firsts[1:])]
        out = [Section(a, b, n) for a, b, n in zip(starts, [*starts[1:], len(view.lines)], firsts)]
        own = [s for s in out if _has_money(view, s)]
        return own if len(own) > 1 else [whole]
    starts = [0]
    for before, after in pairwise(firsts):
        starts.append(_start(view, before.line, after.line))
    stops = [*starts[1:], len(view.lines)]
    out = [Section(a, b, n) for a, b, n in zip(starts, stops, firsts)]
    own = [s for s in out if _has_money(view, s)]
    if len(own) < 2:
        return [whole]
    return own


def _label_of(one: Numbered) -> tuple[str, str]:
    return one.words.removesuffix(one.code).strip(), one.how


def _repeated(view: View) -> set[tuple[str, str]]:
    """Labels that stand at several numbers in the same way: each number is that of another order."""
    codes: dict[tuple[str, str], set[str]] = {}
    for one in numbers(view):
        if one.line >= 0 and one.weight >= 2 and not one.how.endswith("column"):
            codes.setdefault(_label_of(one), set()).add(one.code.casefold())
    return {label for label, found in codes.items() if len(found) > 1}


def _lines_above(view: View, firsts: list[Numbered]) -> int | None:
    """How many lines of an order stand above its number, where each begins alike; None where they do not begin it.

    Orders that begin with their number have no money above the first one; the lines above that are of one make at
    all numbers (a day, the name of a stall) belong to the order below them.
    """
    count = 0
    gap = min(b.line - a.line for a, b in pairwise(firsts))
    while count < min(4, gap - 1, firsts[0].line):
        makes = {_make(view, one.line - count - 1) for one in firsts}
        if len(makes) > 1 or None in makes:
            break
        count += 1
    before = range(firsts[0].line - count)
    return None if any(s.amounts for n in before for s in view.of_line(n)) else count


def _make(view: View, line: int) -> tuple[object, ...] | None:
    """What a line looks like: its labels, weight and cells; None for a separator."""
    own = view.lines[line]
    spots = view.of_line(line)
    if not own.cells or not spots:
        return None
    first = spots[0]
    return (len(own.cells), own.listed, first.heading, first.concepts, bool(first.amounts), bool(first.links))


def _heading_codes(view: View) -> Iterator[Numbered]:
    """Codes of one make that head the orders of an account page without a label: as headings, or linked by a day."""
    found: list[Numbered] = []
    if not lists_orders(view):
        return  # a catalogue heads its goods with codes as well
    for index, spot in enumerate(view.spots):
        if not spot.text or len(spot.text) > 90 or spot.amounts:
            continue
        if not spot.heading and not (spot.links and view.dates_in(spot.text)):
            continue
        names = [spot.text.strip()] if spot.heading else [k.text.strip() for k in spot.links if k.text != spot.text]
        found.extend(
            Numbered(code, spot.line, index, spot.text, "heads an order", 2.5)
            for name in names[:3]
            if (code := code_in(name)) is not None and name.lstrip("#") == code
        )
    makes = {_DIGITS_RE.sub("0", n.code) for n in found}
    if len({n.code for n in found}) > 1 and len(makes) == 1:
        yield from found


def lists_orders(view: View) -> bool:
    """Whether a page is called like a list of orders ("My orders") and shows days and amounts."""
    headings = [s.text for s in view.spots[:60] if s.heading and s.text]
    named = any(is_page_name(t, view) for t in (*_TITLE_PARTS_RE.split(view.doc.title), *headings))
    if not named or not any(s.amounts for s in view.spots):
        return False
    return any(s.text and len(s.text) < 200 and view.dates_in(s.text) for s in view.spots[:400])


def _headed(view: View, firsts: list[Numbered]) -> bool:
    """Whether each order begins with its facts: a total stands in the run of labels before its number."""
    totals = {view.spots[p.at].line for p in view.find("total") if view.spots[p.at].amounts}
    runs = [range(_run_start(view, one.line), one.line) for one in firsts]
    return all(any(n in totals for n in run) for run in runs[1:]) and bool(totals & set(runs[0]))


def _run_start(view: View, line: int) -> int:
    """The first line of the run of labels and values that ends in `line`."""
    labelled = view.memory.get("labelled")
    if not isinstance(labelled, set):
        labelled = view.memory["labelled"] = {view.spots[i].line for p in view.pairs for i in (p.spot, p.at)}
    first = line
    while first > 0 and first - 1 in labelled and line - first < 10 and view.lines[first - 1].cells:
        first -= 1
    return first


def _start(view: View, before: int, after: int) -> int:
    """The first line of the order whose number stands in line `after`: behind the last total of the one before."""
    totals = view.find(*TOTALS, start=before, stop=after)
    ends = [view.spots[p.at].line for p in totals if view.spots[p.at].amounts]
    first = ends[-1] + 1 if ends else after
    if ends:
        heads = (n for n in range(first, after) if view.lines[n].rule or any(s.heading for s in view.of_line(n)))
        first = next(heads, first)
    if not ends:
        block = view.lines[after].block
        while first > before + 1 and view.lines[first - 1].block == block and view.lines[first - 1].cells:
            first -= 1
    while first < after and not view.lines[first].cells:
        first += 1
    return first


def state_of(view: View, section: Section) -> str:
    """What became of one order of several: "cancelled", "refunded" or nothing, as a short line of its own says."""
    for line in range(section.start, section.stop):
        for spot in view.of_line(line):
            value = spot.value if "status" in spot.concepts and spot.value else spot.text
            for part in _STATE_CUT_RE.split(value[:160]):
                key = trim_label(part)
                for state in ("cancelled", "refunded"):
                    if key in view.words.phrase_set("status", state):
                        return state
    return ""


def _has_money(view: View, section: Section) -> bool:
    return any(s.amounts for n in range(section.start, section.stop) for s in view.of_line(n))


def order_day(view: View, start: int, stop: int, number: Numbered | None) -> tuple[date | None, bool, str, str]:
    """The day of the order: (day, whether it is printed, the words, how it was read)."""
    for first, last in ((start, stop), (0, min(start, _first_item(view)))):
        for concept in ("order_date", "order_number", "payment_date", "invoice_date"):
            for pair in view.find(concept, start=first, stop=last):
                if concept == "order_number" and (number is None or code_in(pair.value) != number.code):
                    continue
                if pair.has("due_date", "expires"):
                    continue
                day = view.day_in(_without(number, pair.value[:80]))
                if day is not None and _plausible(day, view):
                    return day, True, f"{pair.label} {pair.value}"[:120], f"label, {pair.how}"
    if number is not None and number.spot >= 0:
        day = view.day_in(_without(number, view.spots[number.spot].text))
        if day is not None and _plausible(day, view):
            return day, True, view.spots[number.spot].text[:120], "beside the order number"
    for spot in view.spots[: view.first_spot[stop] if stop < len(view.first_spot) else len(view.spots)]:
        if spot.text and any(c.isdigit() for c in spot.text) and spot.line >= start and len(spot.text) < 500:
            day = _told_day(view, spot.text)
            if day is not None and _plausible(day, view):
                return day, True, spot.text[:120], "told in a sentence"
    first = view.first_spot[start] if 0 < start < len(view.first_spot) else 0
    within = [s for s in view.spots[first : first + 400] if s.line < stop] if first else []
    for spot in (*within, *view.spots[:400]):
        if spot.line >= stop or not spot.text or len(spot.text) > 45 or not any(c.isdigit() for c in spot.text):
            continue
        found = view.dates_in(spot.text)
        bare = _TIME_RE.sub("", spot.text)
        if found and 2 * (found[0].end - found[0].start) >= len(bare) and "expires" not in spot.concepts:
            day = view.day_in(spot.text)
            if day is not None and _plausible(day, view) and (view.dated is None or (view.dated - day).days <= 45):
                return day, True, spot.text, "a date on its own"
    days = {day: p for p in view.find("order_date") if (day := view.day_in(p.value[:80])) and _plausible(day, view)}
    if len(days) == 1:
        day, pair = next(iter(days.items()))
        return day, True, f"{pair.label} {pair.value}"[:120], "printed once for all orders"
    if view.dated is not None:
        return view.dated, False, "", "date of the document"
    other = {view.spots[p.at].line for p in view.find("due_date", "expires", "delivery_date")}
    named = {
        day: s.text
        for s in view.spots[:400]
        if s.line not in other and 5 < len(s.text) < 200 and (day := view.day_in(s.text)) and _plausible(day, view)
    }
    if len(named) == 1:
        day, words = next(iter(named.items()))
        return day, True, words[:120], "the only day of the document"
    return None, False, "", ""


def _without(number: Numbered | None, text: str) -> str:
    """A text without the order's number, which may look like a day ("2025/02/14")."""
    return text.replace(number.code, " ") if number is not None else text


def _first_item(view: View) -> int:
    return next((s.line for s in view.spots if s.amounts), len(view.lines))


def _plausible(day: date, view: View) -> bool:
    """An order is not placed after its mail was sent; a day of tolerance for zones."""
    if view.dated is None:
        return 1995 <= day.year <= 2100
    return (day - view.dated).days <= 1 and day.year >= 1995


def _told_day(view: View, text: str) -> date | None:
    lower = text.casefold() if len(text.casefold()) == len(text) else text.lower()
    for template in view.words.templates("prose", "placed_on"):
        if template.anchor not in lower:
            continue
        match = template.regex.search(lower)
        if match is None:
            continue
        if template.behind:
            for found in view.dates_in(text[match.start("date") : match.start("date") + 40]):
                if found.start <= 6:
                    return settle(found, near=view.dated)
        else:
            for found in view.dates_in(text[: match.end("date")][-40:]):
                return settle(found, near=view.dated)
    return None
