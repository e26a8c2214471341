"""The items of an order, with their links: rows, sentences and download lists brought together.

Priced rows are the items.  A download table or list adds its links to the item it names; where there are no priced
rows, what is named there, or in a sentence, is what was bought.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from vault.language.amounts import Amount
from vault.language.folding import fold
from vault.model.evidence import DownloadLink, ItemClaim
from vault.receipts.downloads import Terms, is_download, read_terms, score
from vault.receipts.goods import Setting, designer_in, kind_of, promised_parts, setting_of, size_range
from vault.receipts.history import PastOrder
from vault.receipts.lines import Link
from vault.receipts.prose import Told
from vault.receipts.rows import UNLIMITED, Row
from vault.receipts.titles import acts, is_action, is_file_name, may_be_title, tell
from vault.receipts.view import Spot, View
from vault.receipts.words import trim_label

_WORD_RE = re.compile(r"[^\W_]+")
ENDS = frozenset({"total", "subtotal", "tax", "shipping", "amount_due"})
_REACH = 7  # lines above a link in which its title may stand


@dataclass(slots=True)
class Item:
    """An item as claimed, and where it was read."""

    claim: ItemClaim
    words: str
    how: str
    links: list[DownloadLink] = field(default_factory=list)
    details: list[str] = field(default_factory=list)
    fetched: bool = False
    parts: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Found:
    """A download link with the title that stands nearest to it."""

    link: Link
    title: str | None
    spot: int
    line: int
    expires: date | None = None
    left: int | None = None
    lasting: bool = False


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
    found = _downloads(view, start, stop, beside, loose, {_key(i.claim.title) for i in items})
    terms = read_terms(view, start, stop)
    if not items:
        items = _listed(view, loose, found) or _recorded(view, start, stop)
    totals = view.find("total", "subtotal", start=start, stop=stop)
    ends = {view.spots[p.at].line for p in totals if view.spots[p.at].amounts}
    order_links = _attach(items, found, terms, places, ends)
    names = [f.link.text for f in found]
    attached = view.doc.attached
    setting = setting_of(view, len(found) + len(attached), _ships(view, start, stop))
    for item in items:
        words = _slug(item.claim.title)
        item.fetched = (
            len(items) == 1 and bool(attached) or any(len(words & _slug(a)) >= min(2, len(words)) for a in attached)
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
    return Item(claim, words, how, details=list(row.options), parts=list(row.parts))


def past_items(view: View, order: PastOrder) -> tuple[ItemClaim, ...]:
    """The items of an order in a list of orders, with their links."""
    setting = setting_of(view, len(order.links), False)
    fetch = download_links(view, order)
    out: list[ItemClaim] = []
    merged: dict[str, Amount | None] = {}
    for title, amount in order.titles:
        merged.setdefault(tell(title, view.words).title, amount)
    for number, (title, amount) in enumerate(merged.items()):
        words = _slug(title)
        own = tuple(k for k in fetch if len(merged) == 1 or words & _slug((k.label or "") + " " + k.url))
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
        del number
    return tuple(out)


def download_links(view: View, order: PastOrder) -> tuple[DownloadLink, ...]:
    """Those of an order's links that fetch files."""
    return tuple(
        DownloadLink(url=link.url, label=link.text or None, expires_on=day, downloads_left=left)
        for link, (day, left) in order.links.items()
        if is_download(link, view.words, column=True)
    )


def same_title(one: str, other: str) -> bool:
    """Whether two printed titles are one: equal but for looks, or one within the other."""
    a, b = _key(one), _key(other)
    if not a or not b:
        return False
    return a == b or (min(len(a), len(b)) >= 8 and (a in b or b in a))


def _key(text: str) -> str:
    return "".join(_WORD_RE.findall(fold(text)))


def _downloads(
    view: View, start: int, stop: int, beside: set[int], loose: list[Row], titles: set[str]
) -> list[_Found]:
    """Every download link of the section with the title that belongs to it; `titles` are the items' (as keys)."""
    out: list[_Found] = []
    taken: set[str] = set()
    context = False
    for row in loose:
        fetch = [k for k in row.links if is_download(k, view.words, column=row.group.startswith("table"))]
        if row.group.startswith("table") and not fetch and row.links and len(row.links) == 1:
            fetch = [k for k in row.links if score(k, view.words, column=True, context=True) >= 1]
        for link in fetch:
            taken.add(link.url)
            out.append(_Found(link, row.title, row.spot, row.line, row.expires, row.left, row.lasting))
    said = view.words.phrases("signs", "download")
    about = view.words.phrases("download", "heading")
    begin = view.first_spot[start] if start < len(view.first_spot) else 0
    end = view.first_spot[stop] if stop < len(view.first_spot) else len(view.spots)
    for index in range(begin, end):
        spot = view.spots[index]
        if spot.text and (trim_label(spot.text) in about or any(p in spot.folded for p in said)):
            context = True
        elif spot.heading and spot.text and context and not spot.links:
            context = any(p in spot.folded for p in said) or may_be_title(spot.text, view.words)
        if spot.line in beside:
            continue
        column = "download" in spot.concepts and (spot.whole or not spot.value)
        for link in spot.links:
            if link.url in taken:
                continue
            listed = context and view.lines[spot.line].listed
            key = _key(link.text)
            named = len(key) > 3 and any(key in t for t in titles) and _announces(view, spot)
            if is_download(link, view.words, column=column or listed or named, context=context or named):
                taken.add(link.url)
                out.append(_Found(link, _title_near(view, index, link), index, spot.line))
    out.sort(key=lambda f: f.spot)
    return out


def _announces(view: View, spot: Spot) -> bool:
    """Whether the words around the links of a line speak of fetching ("Get your PDFs: A / B")."""
    rest = spot.folded
    for link in spot.links:
        rest = rest.replace(fold(link.text), " ") if link.text else rest
    about = (*view.words.phrases("download", "about"), "pdf")
    first = rest.strip().split(" ")[0]
    return not spot.amounts and (first in view.words.phrase_set("download", "verbs") or any(p in rest for p in about))


def _title_near(view: View, index: int, link: Link) -> str | None:
    """The name a link belongs to: its own words, else the nearest line above that can be a title."""
    words = view.words
    spot = view.spots[index]
    if may_be_title(link.text, words) and not _acts(link.text, view):
        return tell(link.text, words).title
    if spot.amounts and may_be_title(spot.text[: spot.amounts[0].start], words):
        return tell(spot.text[: spot.amounts[0].start], words).title
    for other in view.of_line(spot.line):
        if other.cell != spot.cell and other.piece == 0 and _names(other, view):
            return tell(other.value if "title" in other.concepts and other.value else other.text, words).title
    for back in range(index - 1, max(-1, index - 14), -1):
        other = view.spots[back]
        if spot.line - other.line > _REACH:
            break
        if other.label and set(other.concepts) & ENDS and other.line != spot.line:
            break  # past the sums a link is the whole order's
        if not other.text or (other.links and (is_file_name(other.text) or is_action(other, view))):
            continue
        if any(is_file_name(k.text) for k in other.links):
            continue
        if len(other.strong) == 1 and may_be_title(other.strong[0], words) and not other.label:
            return tell(other.strong[0], words).title
        if _names(other, view):
            return tell(other.value if "title" in other.concepts and other.value else other.text, words).title
        if other.line != spot.line and not other.amounts and not other.label:
            break
    return None


def _acts(text: str, view: View) -> bool:
    """Whether a link's words say what to do, not what it is."""
    return acts(trim_label(text), view.words)


def _names(spot: Spot, view: View) -> bool:
    text = spot.value if "title" in spot.concepts and spot.value else spot.text
    if spot.label and "title" not in spot.concepts:
        return False
    if spot.amounts:
        text = text[: spot.amounts[0].start]
    text = text.strip()
    if text.endswith((":", ".", "!", "?", "：", "。", ",")) or not may_be_title(text, view.words):
        return False
    return True


def _listed(view: View, loose: list[Row], found: list[_Found]) -> list[Item]:
    """The items of a document that only lists: rows without prices, titles of download links."""
    items: list[Item] = []

    def add(title: str, words: str, row: Row | None = None) -> None:
        if any(_key(i.claim.title) == _key(title) for i in items):
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
        if pair.concepts[0] != "title" or pair.how == "column":
            continue
        title = tell(pair.value, view.words).title
        if may_be_title(title, view.words) and not any(same_title(title, i.claim.title) for i in out):
            out.append(Item(ItemClaim(title=title, quantity=1), f"{pair.label} {pair.value}", f"label, {pair.how}"))
    return out[:20]


def _attach(
    items: list[Item], found: list[_Found], terms: Terms, places: dict[int, tuple[int, int]], ends: set[int]
) -> list[DownloadLink]:
    """Each link to its item; what belongs to none, to the order."""
    rest: list[DownloadLink] = []
    unnamed: list[tuple[_Found, DownloadLink]] = []
    for one in found:
        link = DownloadLink(
            url=one.link.url,
            label=one.link.text or None,
            expires_on=one.expires or (None if one.lasting else terms.expires_on),
            downloads_left=terms.left if one.left is None else None if one.left == UNLIMITED else one.left,
        )
        home = _home(items, one, places, ends)
        if home is not None:
            home.links.append(link)
        elif one.link.text and is_file_name(one.link.text) and len(items) == 1:
            items[0].links.append(link)
        else:
            unnamed.append((one, link))
    one_file_each = len(unnamed) == len(items) > 1 and all(not i.links for i in items)
    for number, (_, link) in enumerate(unnamed):
        if one_file_each:
            items[number].links.append(link)
        elif len(items) == 1 and not items[0].links:
            items[0].links.append(link)
        elif len(items) == 1:
            items[0].links.append(link)
        else:
            rest.append(link)
    return rest


def _home(items: list[Item], one: _Found, places: dict[int, tuple[int, int]], ends: set[int]) -> Item | None:
    """The item a link belongs to: by the title beside it, by the row it stands in, by the name of its file.

    What stands behind the totals (`ends`) belongs to the order, unless it names an item.
    """
    label = _key(one.link.text or "")
    named = [i for i in items if len(_key(i.claim.title)) > 5 and _key(i.claim.title) in label]
    if len(named) == 1:
        return named[0]
    by_file = _by_file(items, one)
    if by_file is not None and by_file[1] >= 2:
        return by_file[0]
    if one.title:
        exact = [i for i in items if _key(i.claim.title) == _key(one.title)] or [
            i for i in items if same_title(i.claim.title, one.title)
        ]
        if len(exact) >= 1:
            return exact[0]
    for item in items:
        if id(item) in places and places[id(item)][0] <= one.line <= places[id(item)][1]:
            return item
    if by_file is not None:
        return by_file[0]
    above = [
        i
        for i in items
        if id(i) in places
        and places[id(i)][0] <= one.line <= places[id(i)][1] + 4
        and not any(places[id(i)][1] < end < one.line for end in ends)
    ]
    return above[-1] if above else None


def _by_file(items: list[Item], one: _Found) -> tuple[Item, int] | None:
    """The one item whose title shares most words with the name of the file, and how many."""
    name = one.link.text if is_file_name(one.link.text or "") else one.link.url.rsplit("/", 1)[-1].split("?")[0]
    words = _slug(name)
    keys = [_plain(i.claim.title) for i in items]
    scored = sorted(
        (
            (len(words & _slug(i.claim.title)) + sum(len(w) > 4 and w in keys[n] for w in words), -n)
            for n, i in enumerate(items)
        ),
        reverse=True,
    )
    if scored and scored[0][0] >= 1 and (len(scored) == 1 or scored[0][0] > scored[1][0]):
        return items[-scored[0][1]], scored[0][0]
    return None


_UMLAUTS = (("ae", "a"), ("oe", "o"), ("ue", "u"), ("ß", "ss"), ("ø", "o"), ("å", "a"), ("æ", "a"), ("ł", "l"))


_NO_NAME = frozenset(["pdf", "zip", "https", "www", "download", "file", "files", "pattern", "instructions", "letter"])


def _unaccented(text: str) -> str:
    text = fold(text)
    for pair, letter in _UMLAUTS:
        text = text.replace(pair, letter)
    return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))


def _plain(text: str) -> str:
    return "".join(_WORD_RE.findall(_unaccented(text)))


def _slug(text: str) -> set[str]:
    """The telling words of a title or a file name."""
    return {w for w in _WORD_RE.findall(_unaccented(text)) if len(w) > 2 and not w.isdigit() and w not in _NO_NAME}


def _own_page(item: Item) -> None:
    """Where an item has links to fetch its files, a link that is only called like it leads to the product's page."""
    named = [k for k in item.links if k.label and _key(k.label) == _key(item.claim.title)]
    if named and len(named) < len(item.links):
        item.links = [k for k in item.links if k not in named]


def _finish(item: Item, view: View, setting: Setting, names: list[str]) -> None:
    """Kind, parts and links of an item."""
    _own_page(item)
    words = view.words
    kind = kind_of(item.claim.title, item.details, words, setting, linked=bool(item.links), fetched=item.fetched)
    texts = [item.claim.title, *item.details, *names]
    parts = list(promised_parts(texts, words))
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
