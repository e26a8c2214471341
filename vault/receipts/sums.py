"""Money of an order: its totals, and the arithmetic that chooses among what was read.

Amounts with a label of the totals ("Subtotal", "Shipping", "Total") are gathered first.  Then the groups of rows, and
the ways to read their prices (of one piece or of the line), are tried against them:

    lines - discount + shipping + fees (+ tax) = total,   lines = subtotal

What fits best is the order; rows that would only disturb the sum (offers below the order) fall away.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from vault.language.amounts import Amount
from vault.receipts.headings import header_of, label_around
from vault.receipts.row import Row
from vault.receipts.view import Pair, Spot, View
from vault.receipts.words import MONEY, TOTALS

_MAX_GROUPS = 12


@dataclass(frozen=True, slots=True)
class Sum:
    """A labelled amount: its concepts, where it stands, the words it was read from."""

    concepts: tuple[str, ...]
    amount: Amount
    spot: int
    line: int
    words: str

    def has(self, *concepts: str) -> bool:
        """Whether the label is one of `concepts`."""
        return any(c in self.concepts for c in concepts)


@dataclass(slots=True)
class Totals:
    """The totals of one order.  Values are positive; None where nothing is printed."""

    total: Sum | None = None
    due: Sum | None = None
    subtotal: Decimal | None = None
    tax: Decimal | None = None
    shipping: Decimal | None = None
    discount: Decimal | None = None
    gift_card: Decimal | None = None
    fee: Decimal | None = None
    refund: Sum | None = None
    fits: int = 0
    sums: list[Sum] = field(default_factory=list)


def read_sums(view: View, start: int, stop: int) -> list[Sum]:
    """Every amount between two lines whose label belongs to the totals, in reading order."""
    by_value: dict[int, list[Pair]] = {}
    for pair in view.pairs:
        if pair.how != "inline" and pair.has(*MONEY):
            by_value.setdefault(pair.at, []).append(pair)
    headers: set[int] = set()
    out: list[Sum] = []
    for line in range(start, stop):
        if len(view.lines[line].cells) > 1 and header_of(view, line) is not None:
            headers.add(line)
            continue
        first = view.first_spot[line]
        for offset, spot in enumerate(view.of_line(line)):
            if spot.amounts:
                out.extend(_spot_sums(view, spot, first + offset, by_value.get(first + offset, []), headers))
    return out


def _spot_sums(view: View, spot: Spot, index: int, pairs: Iterable[Pair], headers: set[int]) -> Iterable[Sum]:
    text = spot.text
    for number, amount in enumerate(spot.amounts):
        begin = spot.amounts[number - 1].end if number else 0
        end = spot.amounts[number + 1].start if number + 1 < len(spot.amounts) else len(text)
        before, after = text[begin : amount.start], text[amount.end : end]
        concepts = label_around(view, before, after)
        if not concepts and number == 0 and spot.label and set(spot.concepts) & TOTALS:
            concepts = spot.concepts
        words = text
        rest = before.strip(" (:-–−.*")
        if not concepts and (
            not rest or (" " not in rest and len(rest) <= 16 and (rest.isupper() or not rest.isalpha()))
        ):
            for pair in pairs:
                if pair.how == "column" and view.spots[pair.spot].line in headers:
                    continue
                concepts, words = pair.concepts, f"{pair.label} {text}"
        if not concepts and not rest and spot.piece == 0:
            left = next((s for s in reversed(view.of_line(spot.line)) if s.cell < spot.cell and s.text), None)
            if left is not None and not left.amounts and len(left.text) < 60:
                concepts, words = label_around(view, left.text, ""), f"{left.text} {text}"
        concepts = tuple(c for c in concepts if c in TOTALS)
        if concepts:
            yield Sum(concepts, amount, index, spot.line, words[:160])


def _first(sums: Sequence[Sum], *concepts: str, last: bool = False) -> Decimal | None:
    found = [s for s in sums if s.has(*concepts)]
    if not found:
        return None
    return abs((found[-1] if last else found[0]).amount.value)


def _added(sums: Sequence[Sum], concept: str) -> Decimal | None:
    """The sum of all amounts of one concept; the same amount printed twice counts once."""
    values = list(
        dict.fromkeys(abs(s.amount.value) for s in sums if s.concepts[0] == concept or s.concepts == (concept,))
    )
    return sum(values, Decimal(0)) if values else None


def settle(rows: Sequence[Row], sums: Sequence[Sum]) -> tuple[list[Row], dict[int, Decimal], Totals]:
    """The rows that are the order, what each line cost (by the row's `id`), and the totals."""
    totals = Totals(sums=list(sums))
    totals.subtotal = _first(sums, "subtotal")
    totals.shipping = _added(sums, "shipping")
    totals.discount = _added(sums, "discount")
    totals.gift_card = _added(sums, "gift_card")
    totals.fee = _added(sums, "fee")
    totals.tax = _added([s for s in sums if not s.has("total")], "tax") or _first(sums, "tax_included", last=True)
    totals.refund = next((s for s in sums if s.concepts[0] == "refund"), None)
    priced = [r for r in rows if r.priced]
    best = _best(priced, sums, totals)
    chosen, values, totals.fits = best
    lines = sum(values.values(), Decimal(0)) if values else None
    totals.total = _total(sums, lines, totals)
    totals.due = next((s for s in reversed(sums) if s.concepts[0] == "amount_due"), None)
    if totals.total is None and totals.due is not None:
        totals.total = totals.due
    if lines is not None and totals.shipping and _without_shipping(lines, totals):
        totals.shipping = None  # what does not go into the total is an offer, or a sum carried over the page
    return chosen, values, totals


def _without_shipping(lines: Decimal, totals: Totals) -> bool:
    """Whether the total is reached without what is labelled as shipping, and not with it."""
    zero = Decimal(0)
    off, ship, fee, tax, gift = (
        v or zero for v in (totals.discount, totals.shipping, totals.fee, totals.tax, totals.gift_card)
    )
    bases = {lines - off + fee + t - g for t in (zero, tax) for g in (zero, gift)}
    end = abs(totals.total.amount.value) if totals.total is not None else None
    return end in bases and end not in {b + ship for b in bases}


def _groups(rows: Sequence[Row]) -> list[list[Row]]:
    """The sets of rows to try: each group alone, then groups together, then all."""
    names = sorted(dict.fromkeys(r.group for r in rows), key=_standing)[:_MAX_GROUPS]
    single = [[r for r in rows if r.group == n] for n in names]
    out = [list(rows)] if len(names) > 1 else []
    out = [*single, *out]
    for count in range(2, len(names)):
        out.append([r for r in rows if r.group in names[:count]])
        out.append([r for r in rows if r.group in names[-count:]])
    return out


def _standing(group: str) -> int:
    """Ways to print items, the plainest first: it decides between groups that the sums find equal."""
    return next((n for n, kind in enumerate(("table", "rows", "cards", "lines below")) if group.startswith(kind)), 2)


def _best(rows: Sequence[Row], sums: Sequence[Sum], totals: Totals) -> tuple[list[Row], dict[int, Decimal], int]:
    if not rows:
        return [], {}, 0
    best: tuple[int, int, list[Row], dict[int, Decimal]] | None = None
    for order, group in enumerate(_groups(rows)):
        for reading in range(3):
            values = {id(r): v for r in group if (v := _value(r, reading)) is not None}
            fit = _fit(sum(values.values(), Decimal(0)), sums, totals)
            proven = best is not None and fit == best[0] > 0
            # that several amounts add up is no chance; that one is equal to the total may be
            if best is None or fit > best[0] or (proven and len(best[2]) == 1 < sum(v > 0 for v in values.values())):
                best = (fit, order, group, values)
    assert best is not None
    fit, _, group, values = best
    if fit == 0:
        return _unproved(rows)
    return group, values, fit


def _unproved(rows: Sequence[Row]) -> tuple[list[Row], dict[int, Decimal], int]:
    """No sum decides: the group with column headings, else the first one."""
    tables = [r for r in rows if r.group.startswith("table")]
    first = (tables or list(rows))[0].group
    group = [r for r in rows if r.group == first]
    return group, {id(r): v for r in group if (v := _value(r, 0)) is not None}, 0


def _value(row: Row, reading: int) -> Decimal | None:
    """What the line cost: as it stands, the price times the count, or the last amount of the line."""
    values = row.values()
    if not values:
        return None
    count = Decimal(row.quantity or 1)
    prices = [a.value for role, a in row.amounts if role in ("price", "unit")]
    if reading == 1 and prices:
        return prices[0] * count
    if reading == 2 and prices:
        return prices[-1]
    return values[0]


def _fit(lines: Decimal, sums: Sequence[Sum], totals: Totals) -> int:
    """How well the lines' sum agrees with the totals: 0 not at all."""
    zero = Decimal(0)
    off, ship, fee = totals.discount or zero, totals.shipping or zero, totals.fee or zero
    tax, gift = totals.tax or zero, totals.gift_card or zero
    points = 0
    subtotals = {abs(s.amount.value) for s in sums if s.has("subtotal")}
    if lines in subtotals:
        points += 3
    elif lines - off in subtotals or lines - tax in subtotals:
        points += 2
    reachable = {
        lines - off + ship + fee: 4,
        lines - off + ship + fee + tax: 4,
        lines - off + ship + fee - gift: 4,
        lines - off + ship + fee + tax - gift: 4,
        lines + ship + fee: 3,
        lines + ship + fee + tax: 3,
        lines - off: 2,
        lines: 3,
    }
    ends = {abs(s.amount.value) for s in sums if s.has("total", "amount_due")}
    points += max((p for value, p in reachable.items() if value in ends), default=0)
    return points


def _total(sums: Sequence[Sum], lines: Decimal | None, totals: Totals) -> Sum | None:
    """The total: the one that the arithmetic reaches, else the one whose label says it best, else the last."""
    named = [s for s in sums if s.concepts[0] == "total"] or [s for s in sums if s.has("total")]
    if not named:
        return None
    if lines is not None:
        zero = Decimal(0)
        off, ship, fee, tax = (v or zero for v in (totals.discount, totals.shipping, totals.fee, totals.tax))
        for value in (lines - off + ship + fee, lines - off + ship + fee + tax, lines + ship + fee + tax):
            fitting = [s for s in named if abs(s.amount.value) == value]
            if fitting:
                return fitting[-1]
    strong = [s for s in named if not s.has("line_amount", "unit_price", "price")]
    return (strong or named)[-1]
