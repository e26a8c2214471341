"""The missing report on a terminal: what was bought and is not held, most urgent first, by shop."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import groupby

from vault.model.match import MissingRow
from vault.model.money import amount_text
from vault.model.purchase import ItemState
from vault.reports.listings import STATE_WORDS
from vault.reports.tables import labelled
from vault.reports.text import Style, plain, wrap

URGENCY_WORDS = {
    "now": "NOW",
    "soon": "SOON",
    "later": "WHEN YOU CAN",
    "lost?": "PERHAPS LOST",
}


_FETCH_RE = re.compile(r"^the link is good until|^\d+ downloads? left, says")
_NOTHING_HERE = "no file here is it"


def deadline_words(row: MissingRow) -> str:
    """Until when and how often it can still be fetched, as far as the evidence says."""
    parts = []
    if row.deadline:
        parts.append(f"until {row.deadline.isoformat()}")
    if row.downloads_left is not None:
        parts.append(f"{row.downloads_left} download{'' if row.downloads_left == 1 else 's'} left")
    return ", ".join(parts)


def by_shop(rows: Sequence[MissingRow]) -> Iterator[tuple[str, list[MissingRow]]]:
    """The rows as they stand, in groups of one urgency and one shop."""
    for (urgency, _), group in groupby(rows, key=lambda r: (r.urgency, shop_name(r))):
        yield urgency, list(group)


def shop_name(row: MissingRow) -> str:
    """The shop as it is called; a seller that no receipt names is called so."""
    return plain((row.seller.name if row.seller else row.purchase.seller) or "") or "Seller not named"


def bought_words(row: MissingRow) -> str:
    """Day, order number and price in one phrase; what is unknown is left out."""
    purchase, item = row.purchase, row.view.item
    price = f"{amount_text(item.amount, purchase.currency)} {purchase.currency or ''}".strip() if item.amount else ""
    number = f"order {plain(purchase.order_number)}" if purchase.order_number else ""
    day = purchase.purchased_on.isoformat() if purchase.purchased_on else ""
    return ", ".join(filter(None, [day, number, price]))


def about_shop(row: MissingRow) -> str:
    """The shop and how it stands: `Thimblewick Patterns: closes on 2026-12-31`."""
    name = shop_name(row)
    said = [plain(w).removeprefix(name).strip() for w in row.shop]
    return f"{name}: {'; '.join(said)}" if said else name


def own_reasons(row: MissingRow) -> tuple[str, ...]:
    """The reasons that are not said already, of the shop or as the time in which it can be fetched."""
    found = [w for w in row.why if w not in row.shop]
    return tuple(w for w in found if not _FETCH_RE.search(w) and (w != _NOTHING_HERE or len(found) == 1))


def worth(rows: Sequence[MissingRow]) -> str:
    """What was paid for the missing things that are not here at all, by currency: `31.50 EUR, 12.00 GBP`."""
    sums: dict[str, Decimal] = {}
    for row in rows:
        amount, currency = row.view.item.amount, row.purchase.currency
        if amount and currency and row.view.standing.state is ItemState.MISSING:
            sums[currency] = sums.get(currency, Decimal(0)) + amount
    return ", ".join(f"{amount_text(total, c)} {c}" for c, total in sorted(sums.items()))


def counted(rows: Sequence[MissingRow], n_items: int) -> str:
    """The first line of the report."""
    partial = sum(r.view.standing.state is ItemState.PARTIAL for r in rows)
    head = f"{len(rows)} of {n_items} bought patterns are not held"
    paid = f" Paid for what is not here at all: {worth(rows)}." if worth(rows) else ""
    return head + (f" ({partial} of them in part)." if partial else ".") + paid


def missing(rows: Sequence[MissingRow], n_items: int, style: Style, *, most: int | None = None) -> list[str]:
    """Lines of the report.  `n_items` counts the patterns bought in all; `most` cuts the list."""
    if not rows:
        return [style.finish(f"Nothing is missing: all {n_items} patterns that you bought as downloads are held.")]
    lines = wrap(counted(rows, n_items), style.columns)
    before = ""
    for urgency, group in by_shop(rows[:most]):
        if urgency != before:
            before = urgency
            heading = URGENCY_WORDS.get(urgency, urgency)
            lines += ["", style.alert(heading) if urgency == "now" else style.bold(heading)]
        lines += wrap(about_shop(group[0]), style.columns, first="  ", rest="    ")
        for row in group:
            lines += block(row, style)
    if most is not None and len(rows) > most:
        lines += ["", f"... and {len(rows) - most} more: pinfold missing"]
    return [style.finish(line) for line in lines]


def block(row: MissingRow, style: Style) -> list[str]:
    """One missing thing as a block of lines."""
    item, standing = row.view.item, row.view.standing
    state = f" ({STATE_WORDS[standing.state]})" if standing.state is ItemState.PARTIAL else ""
    lines = [style.bold(line) for line in wrap(plain(item.title) + state, style.columns, first="    ", rest="    ")]
    pairs = [("bought", bought_words(row))]
    pairs += [("lacking", ", ".join(standing.lacking))] if standing.lacking else []
    pairs += [("fetch", deadline_words(row))]
    pairs += [("link" if n == 0 else "", link.url) for n, link in enumerate(item.links)]
    pairs += [("why" if n == 0 else "", words) for n, words in enumerate(own_reasons(row))]
    pairs += [("next", row.next)]
    lines += labelled([(label or " ", value) for label, value in pairs], style, indent=6)
    return lines
