"""Account pages that list orders of years: a table whose rows are orders, or things bought with their day.

A heading row with a column for the order number, or for the day beside the titles, makes a table of orders.  Rows of
one number (without numbers: of one day) are one order.  A row that says it was cancelled is none.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date

from vault.language.amounts import Amount
from vault.model.evidence import DownloadLink, ItemClaim
from vault.receipts.downloads import is_download
from vault.receipts.goods import kind_of, promised_parts, setting_of
from vault.receipts.headings import Header, header_of
from vault.receipts.item import telling
from vault.receipts.lines import Link
from vault.receipts.titles import may_be_title, tell
from vault.receipts.view import Spot, View, code_in
from vault.receipts.words import MONEY, whole_phrase

MAX_ORDERS = 5000


@dataclass(slots=True)
class PastItem:
    """One thing of the table, with the links of its row where it is alone in it."""

    title: str
    amount: Amount | None = None
    links: tuple[Link, ...] = ()


@dataclass(slots=True)
class PastOrder:
    """One order of the table."""

    line: int
    code: str | None = None
    day: date | None = None
    total: Amount | None = None
    items: list[PastItem] = field(default_factory=list)
    links: dict[Link, tuple[date | None, int | None]] = field(default_factory=dict)  # until when, how often
    left: int | None = None
    expires: date | None = None
    seller: str | None = None
    refunded: bool = False
    cancelled: bool = False
    words: str = ""


def read_history(view: View) -> list[PastOrder]:
    """The orders that a table of the document lists; empty for a document about one order."""
    for line in range(len(view.lines)):
        header = header_of(view, line, history=True)
        if header is None:
            continue
        kinds = [set(concepts) for _, _, concepts in header.columns]
        if any(_has_value(view, line, n) for n in range(len(view.lines[line].cells))):
            continue  # labels with their values in the same cells
        if _names_numbers(kinds):
            header = replace(header, columns=[_numbered(c, n == 0) for n, c in enumerate(header.columns)])
            kinds = [set(concepts) for _, _, concepts in header.columns]
        numbered = any("order_number" in k and "title" not in k for k in kinds)
        dated = any("order_date" in k for k in kinds)
        titled = any("title" in k for k in kinds)
        priced = any(k & MONEY for k in kinds)
        if not ((numbered and (dated or priced or titled)) or (dated and titled)):
            continue
        found = list(_rows(view, line, header))
        if found:
            return _united(found)
    return []


def _has_value(view: View, line: int, cell: int) -> bool:
    """Whether below the label of a cell stands its own value: a code, a day or an amount."""
    below = [spot for spot in view.of_cell(line, cell) if spot.text][1:]
    return any(not s.whole and (s.amounts or code_in(s.text) or view.dates_in(s.text)) for s in below)


def _names_numbers(kinds: list[set[str]]) -> bool:
    """Whether the first column, called "Reference", numbers orders: beside days and things, and no other does."""
    dated = any("order_date" in k for k in kinds[1:])
    return "reference" in kinds[0] and dated and not any("order_number" in k for k in kinds)


def _numbered(column: tuple[float, float, tuple[str, ...]], first: bool) -> tuple[float, float, tuple[str, ...]]:
    return (column[0], column[1], ("order_number",)) if first else column


def _rows(view: View, start: int, header: Header) -> Iterator[PastOrder]:
    for line in range(start + 1, min(len(view.lines), start + 1 + MAX_ORDERS)):
        if not view.lines[line].cells:
            continue
        if view.lines[start].table and view.lines[line].table not in (view.lines[start].table, 0):
            return
        if len(view.lines[line].cells) < 2:
            continue
        if all(spot.whole for spot in view.of_line(line) if spot.text):
            return  # other labels: a form with its values below, no list
        order = _order(view, line, header)
        if order is not None:
            yield order


def _order(view: View, line: int, header: Header) -> PastOrder | None:
    order = PastOrder(line=line, words=view.lines[line].text.replace("\t", " | ")[:160])
    for cell in range(len(view.lines[line].cells)):
        concepts = set(header.role(view, line, cell))
        for spot in view.of_cell(line, cell):
            _take(view, order, spot, concepts)
    if order.code is None and order.day is None:
        return None
    order.links = dict.fromkeys(order.links, (order.expires, order.left))
    if len(order.items) == 1:
        order.items[0].links = tuple(order.links)
    if not order.items and order.total is None and order.code is None:
        return None
    return order


def _take(view: View, order: PastOrder, spot: Spot, concepts: set[str]) -> None:
    for link in spot.links:
        order.links.setdefault(link, (None, None))
    text = spot.text
    if not text:
        return
    if "order_number" in concepts and order.code is None:
        order.code = code_in(text)
    elif "order_date" in concepts and order.day is None:
        order.day = view.day_in(text)
    elif concepts & {"total", "line_amount", "price", "subtotal"} and spot.amounts and order.total is None:
        order.total = spot.amounts[0]
    elif "downloads_left" in concepts:
        number = re.search(r"\d{1,4}", text)
        order.left = int(number.group()) if number else None
    elif "expires" in concepts:
        order.expires = view.day_in(text)
    elif "seller" in concepts and len(text) < 70:
        order.seller = text
    elif "title" in concepts and may_be_title(text[: spot.amounts[0].start] if spot.amounts else text, view.words):
        amount = spot.amounts[0] if spot.amounts else None
        title = text[: amount.start].rstrip(" –-:(") if amount is not None else text
        order.items.append(PastItem(title, amount))
    elif whole_phrase(spot.folded, view.words.phrases("status", "cancelled")):
        order.cancelled = True
    elif whole_phrase(spot.folded, view.words.phrases("status", "refunded")):
        order.refunded = True


def _united(found: list[PastOrder]) -> list[PastOrder]:
    """Rows of one number, or without numbers of one day, are one order."""
    out: dict[object, PastOrder] = {}
    numbered = any(o.code for o in found)
    for order in found:
        key: object = order.code.casefold() if order.code else (order.day, order.line if numbered else None)
        first = out.get(key)
        if first is None:
            out[key] = order
            continue
        first.items.extend(order.items)
        first.links |= order.links
        first.day = first.day or order.day
    return list(out.values())


def past_items(view: View, order: PastOrder) -> tuple[ItemClaim, ...]:
    """The items of an order in a list of orders, with their links."""
    setting = setting_of(view, len(order.links), False)
    fetch = download_links(view, order)
    out: list[ItemClaim] = []
    merged: dict[str, PastItem] = {}
    for item in order.items:
        known = merged.setdefault(tell(item.title, view.words).title, item)
        if known is not item:
            known.links = (*known.links, *item.links)
    for title, item in merged.items():
        amount = item.amount
        words, beside = telling(title), {k.url for k in item.links}
        own = tuple(k for k in fetch if k.url in beside)
        own = own or tuple(k for k in fetch if len(merged) == 1 or words & telling((k.label or "") + " " + k.url))
        kind = kind_of(title, [], view.words, setting, linked=bool(own), fetched=False)
        value = amount.value if amount is not None else None
        if value is None and len(merged) == 1 and order.total is not None and not order.code:
            value = order.total.value
        out.append(
            ItemClaim(
                title=title,
                quantity=1,
                amount=value,
                digital=kind.digital,
                craft_pattern=kind.craft_pattern,
                links=own,
                promised=promised_parts([title, *(k.label or "" for k in own)], view.words),
                refunded=order.refunded,
            )
        )
    return tuple(out)


def download_links(view: View, order: PastOrder) -> tuple[DownloadLink, ...]:
    """Those of an order's links that fetch files."""
    return tuple(
        DownloadLink(url=link.url, label=link.text or None, expires_on=day, downloads_left=left)
        for link, (day, left) in order.links.items()
        if is_download(link, view.words, column=True)
    )
