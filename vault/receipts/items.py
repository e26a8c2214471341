"""The items of an order, with their links: rows, sentences and download lists brought together.

Priced rows are the items.  A download table or list adds its links to the item it names; where there are no priced
rows, what is named there, or in a sentence, is what was bought.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from vault.language.folding import fold
from vault.model.evidence import DownloadLink, ItemClaim
from vault.receipts.downloads import read_terms
from vault.receipts.goods import Setting, bundle_members, designer_in, kind_of, promised_parts, setting_of, size_range
from vault.receipts.item import Item, same_title, telling, title_key
from vault.receipts.item_links import Found, attach, downloads_in
from vault.receipts.prose import Told
from vault.receipts.row import Row
from vault.receipts.titles import may_be_title, tell
from vault.receipts.view import View


def named_item(view: View, title: str) -> ItemClaim:
    """An item of which only the title is known."""
    setting = setting_of(view, 0, False)
    kind = kind_of(title, [], view.words, setting, linked=False, fetched=False)
    return ItemClaim(title=title, digital=kind.digital, craft_pattern=kind.craft_pattern)


def items_of(
    view: View,
    start: int,
    stop: int,
    beside: set[int],
    rows: list[Row],
    values: dict[int, Decimal],
    loose: list[Row],
    told: list[Told],
    known: Sequence[ItemClaim] = (),
) -> tuple[list[Item], list[DownloadLink]]:
    """The items of an order and the download links of the whole order; `known` items of the markup replace rows."""
    items = [_of_row(r, values.get(id(r)), view) for r in rows]
    places = {id(item): (row.line, row.last_line) for item, row in zip(items, rows)}
    if known:
        items = [_known(item, items, places) for item in known]
        told = []
    for one in told:
        if not any(same_title(one.title or "", i.claim.title) for i in items):
            amount = one.amount.value if one.amount is not None else None
            claim = ItemClaim(title=one.title or "", amount=amount, quantity=1 if amount is not None else None)
            items.append(Item(claim, one.words, "told in a sentence"))
    found = downloads_in(view, start, stop, beside, loose, {title_key(i.claim.title) for i in items})
    terms = read_terms(view, start, stop)
    if not items:
        items = _listed(view, loose, found) or _recorded(view, start, stop)
    totals = view.find("total", "subtotal", start=start, stop=stop)
    ends = {view.spots[p.at].line for p in totals if view.spots[p.at].amounts}
    order_links = attach(items, found, terms, places, ends)
    names = [f.link.text for f in found]
    attached = view.doc.attached
    setting = setting_of(view, len(found) + len(attached), _ships(view, start, stop))
    for item in items:
        words = telling(item.claim.title)
        item.fetched |= (len(items) == 1 and bool(attached)) or any(
            len(words & telling(a)) >= min(2, len(words)) for a in attached
        )
        _finish(item, view, setting, names if len(items) == 1 else [k.label or "" for k in item.links])
    if found and any(i.claim.digital is False for i in items):
        for item in items:
            if item.claim.digital is None and item.claim.craft_pattern:
                item.claim = replace(item.claim, digital=True)  # the parcel is for the others, the files for it
    if any(i.claim.craft_pattern for i in items):
        for item in items:
            if item.claim.digital and item.claim.craft_pattern is None:
                item.claim = replace(item.claim, craft_pattern=True)  # a file among patterns of one shop
    return items, order_links


def _known(marked: ItemClaim, read: list[Item], places: dict[int, tuple[int, int]]) -> Item:
    """An item of the markup with what the visible row of the same title adds."""
    item = Item(marked, marked.title, "schema.org")
    for other in read:
        if same_title(other.claim.title, marked.title):
            places[id(item)] = places[id(other)]
            item.details = other.details
            seen = other.claim
            item.claim = replace(
                marked,
                designer=marked.designer or seen.designer,
                quantity=marked.quantity or seen.quantity,
                amount=marked.amount if marked.amount is not None else seen.amount,
                options=marked.options or seen.options,
                product_code=marked.product_code or seen.product_code,
            )
            item.links = list(marked.links)
            break
    return item


def _ships(view: View, start: int, stop: int) -> bool:
    shipping = view.find("shipping", start=start, stop=stop)
    return any(a.value > 0 for p in shipping for a in view.spots[p.at].amounts[:1])


def _of_row(row: Row, value: Decimal | None, view: View) -> Item:
    designer = row.designer
    options: list[str] = []
    for option in row.options:
        by = designer_in(option, view.words)
        if by and designer is None:
            designer = by
        else:
            options.append(option)
    quantity = row.quantity if row.quantity is not None else (1 if row.priced else None)
    claim = ItemClaim(
        title=row.title,
        designer=designer,
        quantity=quantity,
        amount=value,
        options=tuple(dict.fromkeys(options)),
        product_code=row.code,
        seller=row.seller,
    )
    how = "table with headings" if row.group.startswith("table") else "row with a price"
    words = view.lines[row.line].text.replace("\t", " | ")
    return Item(claim, words, how, details=list(row.options), parts=list(row.parts), fetched=row.fetched)


def _listed(view: View, loose: list[Row], found: list[Found]) -> list[Item]:
    """The items of a document that only lists: rows without prices, titles of download links."""
    items: list[Item] = []

    def add(title: str, words: str, row: Row | None = None) -> None:
        if any(title_key(i.claim.title) == title_key(title) for i in items):
            return
        claim = ItemClaim(title=title)
        if row is not None:
            claim = replace(
                claim, quantity=row.quantity, options=tuple(row.options), designer=row.designer, product_code=row.code
            )
        items.append(Item(claim, words, "list of what was bought"))

    for row in loose:
        add(row.title, view.lines[row.line].text, row)
    for one in found:
        if one.title:
            add(one.title, view.spots[one.spot].text)
    return items


def _recorded(view: View, start: int, stop: int) -> list[Item]:
    """Where nothing is listed, what a label names as the thing bought ("Project: ...", "For: ...")."""
    out: list[Item] = []
    for pair in view.find("title", start=start, stop=stop):
        sums = pair.concepts[0] != "title" and view.spots[pair.at].amounts  # "Articles 3,00": their sum
        if sums or pair.concepts[0] not in ("title", "subtotal") or pair.how == "column":
            continue
        title = tell(pair.value, view.words).title
        if may_be_title(title, view.words) and not any(same_title(title, i.claim.title) for i in out):
            out.append(Item(ItemClaim(title=title, quantity=1), f"{pair.label} {pair.value}", f"label, {pair.how}"))
    if not out:
        for pair in view.find("note", start=start, stop=stop):  # what the buyer wrote beside a payment
            title = tell(pair.value, view.words).title
            if view.words.has_word(fold(title), "goods", "pattern") and may_be_title(title, view.words):
                out.append(Item(ItemClaim(title=title, quantity=1), f"{pair.label} {pair.value}", "note"))
    return out[:20]


def _own_page(item: Item) -> None:
    """Where an item has links to fetch its files, a link that is only called like it leads to the product's page."""
    named = [k for k in item.links if k.label and title_key(k.label) == title_key(item.claim.title)]
    if named and len(named) < len(item.links):
        item.links = [k for k in item.links if k not in named]


def _finish(item: Item, view: View, setting: Setting, names: list[str]) -> None:
    """Kind, parts and links of an item."""
    _own_page(item)
    words = view.words
    kind = kind_of(item.claim.title, item.details, words, setting, linked=bool(item.links), fetched=item.fetched)
    texts = [item.claim.title, *item.details, *names]
    parts = list(bundle_members(texts, words) or promised_parts(texts, words))
    sizes = size_range([item.claim.title, *item.details], words)
    if sizes:
        parts.append(sizes)
    parts.extend(p for p in item.parts if p not in parts)
    item.claim = replace(
        item.claim,
        digital=kind.digital if item.claim.digital is None else item.claim.digital,
        craft_pattern=kind.craft_pattern if item.claim.craft_pattern is None else item.claim.craft_pattern,
        promised=tuple(parts),
        links=tuple(dict.fromkeys(item.links)),
    )
