"""Items of one order, brought together from all its documents, with their links and what was paid back.

Strategy: the best document that lists items gives the lines; the others add what it leaves open, and add a line of
their own only where the total says that one is missing.  A thing that was delivered but is no line is a part of the
bundle that names it.  Links are summed up; those of the whole order go to the item their label names, else to all
items that have none.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from vault.model.evidence import DocumentKind, DownloadLink, ItemClaim
from vault.model.purchase import Item, JoinedSource
from vault.receipts.title_likeness import likeness, pair_titles, title_key
from vault.receipts.voices import CENT, Value, Voice, content_key, digest, explains, source_of

_TRUSTED_WITH_ITEMS = frozenset([DocumentKind.ORDER, DocumentKind.INVOICE, DocumentKind.HISTORY])


@dataclass(kw_only=True)
class _Line:
    """An item while it is put together: what each document says of it, best document first."""

    said: list[tuple[Voice, int, ItemClaim]]

    @property
    def titles(self) -> list[str]:
        return [item.title for _, _, item in self.said]


def merge_items(
    voices: list[Voice],
    own: list[Voice],
    total: Decimal | None,
    extras: tuple[Decimal | None, Decimal | None, Decimal | None],
) -> tuple[tuple[Item, ...], list[JoinedSource]]:
    lines: list[_Line] = []
    loose: list[tuple[Voice, DownloadLink]] = []
    listing = sorted((v for v in voices if v.claim.items), key=_listing_key)
    for voice in listing:
        pairs = _pair_lines(lines, voice.claim.items)
        for index, item in enumerate(voice.claim.items):
            if index in pairs:
                lines[pairs[index]].said.append((voice, index, item))
            elif voice is listing[0] or _is_lacking(lines, voice, item, total, extras):
                lines.append(_Line(said=[(voice, index, item)]))
            else:
                loose += [(voice, link) for link in item.links]
                _promise(lines, voice, index, item)
    loose += [(voice, link) for voice in voices for link in voice.claim.links]
    items = [_item(line, own) for line in lines]
    sources = [source_of(line.said[0][0], "items", line.said[0][2].title) for line in lines]
    return _with_loose_links(items, loose), sources


def _listing_key(voice: Voice) -> tuple[float, int, tuple[str, int, str]]:
    """Best list of items first: by document, then by how many lines have an amount."""
    priced = sum(item.amount is not None for item in voice.claim.items)
    weight = voice.weight
    if all(item.title.rstrip().endswith(("…", "...")) for item in voice.claim.items):
        weight -= 2.5  # cut-off titles
    return (-weight, -priced, content_key(voice))


def _pair_lines(lines: list[_Line], items: Sequence[ItemClaim]) -> dict[int, int]:
    """Index of an item -> index of its line.  A product code settles it, then the titles, then a lone leftover."""
    out: dict[int, int] = {}
    for index, item in enumerate(items):
        if item.product_code:
            for n, line in enumerate(lines):
                if n not in out.values() and any(i.product_code == item.product_code for _, _, i in line.said):
                    out[index] = n
                    break
    free = [n for n in range(len(lines)) if n not in out.values()]
    open_items = [k for k in range(len(items)) if k not in out]
    by_title = pair_titles([items[k].title for k in open_items], [lines[n].titles[0] for n in free])
    out |= {open_items[i]: free[j] for i, j in by_title.items()}
    free = [n for n in range(len(lines)) if n not in out.values()]
    open_items = [k for k in range(len(items)) if k not in out]
    if len(lines) == len(items) and len(free) == len(open_items) == 1:
        item, best = items[open_items[0]], lines[free[0]].said[0][2]
        same = item.amount is not None and item.amount == best.amount
        if same or likeness(item.title, best.title) >= 0.3:
            out[open_items[0]] = free[0]
    return out


def _is_lacking(
    lines: list[_Line],
    voice: Voice,
    item: ItemClaim,
    total: Decimal | None,
    extras: tuple[Decimal | None, Decimal | None, Decimal | None],
) -> bool:
    """Whether an item that the best list does not have is truly another line of the order."""
    if voice.claim.document not in _TRUSTED_WITH_ITEMS and voice.claim.document is not DocumentKind.PAYMENT:
        return False
    amounts = [line.said[0][2].amount for line in lines]
    known = sum((a for a in amounts if a is not None), Decimal(0))
    if total is not None and all(a is not None for a in amounts):
        if explains(known, total, *extras) or (item.amount is not None and known + item.amount > total * 2):
            return False
        return item.amount is not None and known < total
    if any(likeness(item.title, title) >= 0.4 for line in lines for title in line.titles):
        return False
    return voice.claim.document in _TRUSTED_WITH_ITEMS and total is None


def _promise(lines: list[_Line], voice: Voice, index: int, item: ItemClaim) -> None:
    """A thing that was delivered but is no line of its own: a part of the bundle whose title names it."""
    if voice.claim.document is not DocumentKind.DOWNLOAD:
        return
    home = lines[0] if len(lines) == 1 else None
    for line in lines:
        words = set(title_key(line.titles[0]).split())
        if len(set(title_key(item.title).split()) & words) >= 2 or (
            title_key(item.title).split()[:1] and (title_key(item.title).split()[0] in words and len(lines) > 1)
        ):
            home = line
            break
    if home is not None:
        home.said.append(
            (voice, index, replace(item, title=home.titles[0], links=(), promised=(item.title, *item.promised)))
        )


def _item(line: _Line, own: list[Voice]) -> Item:
    said = [item for _, _, item in line.said]
    priced = [item for voice, _, item in line.said if voice in own]
    first_voice, index, _ = min(line.said, key=lambda s: (*s[0].recorded_first, s[1]))
    digital = _first(item.digital for item in said)
    links = _sum_links((voice, link) for voice, _, item in line.said for link in item.links)
    return Item(
        id="i" + digest(first_voice.recorded.evidence_sha256, first_voice.recorded.index, first_voice.share, index),
        title=_best_title(line),
        designer=_first(item.designer for item in said),
        quantity=_first(item.quantity for item in said),
        amount=_first(item.amount for item in priced),
        digital=True if digital is None and links else digital,
        craft_pattern=_first(item.craft_pattern for item in said),
        options=_first(item.options or None for item in said) or (),
        product_code=_first(item.product_code for item in said),
        promised=tuple(dict.fromkeys(p for item in said for p in item.promised)),
        links=links,
        refunded=any(item.refunded for item in said),
    )


def _best_title(line: _Line) -> str:
    """The title of the best document, unless that one is cut off and another is not."""
    for title in line.titles:
        if not title.rstrip().endswith(("…", "...")):
            return title
    return line.titles[0]


def _first(values: Iterable[Value | None]) -> Value | None:
    return next((v for v in values if v is not None), None)


# --- links ------------------------------------------------------------------------------------


def _sum_links(links: Iterable[tuple[Voice, DownloadLink]]) -> tuple[DownloadLink, ...]:
    """Each address once, with what the newest document says of its end and the downloads left."""
    newest: dict[str, tuple[date, DownloadLink]] = {}
    for voice, link in links:
        day = voice.recorded.dated or date.min
        before = newest.get(link.url)
        if before is None:
            newest[link.url] = (day, link)
            continue
        later, earlier = (link, before[1]) if day > before[0] else (before[1], link)
        newest[link.url] = (
            max(day, before[0]),
            DownloadLink(
                url=link.url,
                label=later.label or earlier.label,
                expires_on=later.expires_on or earlier.expires_on,
                downloads_left=earlier.downloads_left if later.downloads_left is None else later.downloads_left,
            ),
        )
    return tuple(link for _, link in newest.values())


def _with_loose_links(items: list[Item], loose: list[tuple[Voice, DownloadLink]]) -> tuple[Item, ...]:
    """Links of the whole order: to the item their label names, else to all that have none of their own."""
    if not items or not loose:
        return tuple(items)
    own = {link.url for item in items for link in item.links}
    added: dict[int, list[tuple[Voice, DownloadLink]]] = defaultdict(list)
    lacking = [n for n, item in enumerate(items) if not item.links and item.digital is not False]
    everyone = lacking or [n for n, item in enumerate(items) if item.digital is not False] or list(range(len(items)))
    for voice, link in loose:
        if link.url in own:
            holders = [n for n, item in enumerate(items) if any(other.url == link.url for other in item.links)]
        else:
            named = _named_by_label(items, link)
            holders = [named] if named is not None else everyone
        for n in holders:
            added[n].append((voice, link))
    return tuple(
        replace(item, links=_join_links(item.links, added[n]), digital=True if item.digital is None else item.digital)
        if n in added
        else item
        for n, item in enumerate(items)
    )


def _join_links(own: tuple[DownloadLink, ...], more: list[tuple[Voice, DownloadLink]]) -> tuple[DownloadLink, ...]:
    summed = {link.url: link for link in own}
    for link in _sum_links(more):
        before = summed.get(link.url)
        summed[link.url] = (
            link
            if before is None
            else DownloadLink(
                url=link.url,
                label=before.label or link.label,
                expires_on=before.expires_on or link.expires_on,
                downloads_left=link.downloads_left if before.downloads_left is None else before.downloads_left,
            )
        )
    return tuple(summed.values())


def _named_by_label(items: list[Item], link: DownloadLink) -> int | None:
    """The one item whose title the label of a link names ("linnet-hat-A4.pdf")."""
    if not link.label or len(items) < 2:
        return None
    label = set(title_key(link.label.replace("-", " ").replace("_", " ")).split())
    scores = sorted(
        ((len(label & set(title_key(item.title).split())), -n) for n, item in enumerate(items)), reverse=True
    )
    if scores[0][0] >= 1 and scores[0][0] > scores[1][0]:
        return -scores[0][1]
    return None


# --- refunds ----------------------------------------------------------------------------------


def refunds(
    voices: list[Voice], items: tuple[Item, ...], total: Decimal | None
) -> tuple[bool | None, tuple[Item, ...]]:
    """Whether the order was paid back (None: in part), and the items with what was paid back marked."""
    said = [v for v in voices if v.claim.refunded is not False or v.claim.refund_amount is not None]
    if not said and not any(item.refunded for item in items):
        return False, items
    # One sum for each document: a refund mail and its copy are two documents with the same sum and day.
    sums = {
        (v.recorded.dated, v.claim.refund_amount): v.claim.refund_amount
        for v in said
        if v.claim.refund_amount is not None
    }
    paid_back = sum(sums.values(), Decimal(0))
    due = [v.claim.amount_due for v in voices if v.claim.amount_due] + ([total] if total else [])
    whole = any(v.claim.refunded is True for v in said)
    if sums and due:
        whole = paid_back >= min(due) - CENT
    if not whole and not any(item.refunded for item in items):
        items = _refunded_items(said, items, paid_back if sums else None)
    if items and all(item.refunded for item in items):
        whole = True
    if whole:
        return True, tuple(replace(item, refunded=True) for item in items)
    return None, items


def _refunded_items(said: list[Voice], items: tuple[Item, ...], paid_back: Decimal | None) -> tuple[Item, ...]:
    """The items a refund means: those it names, where the sum allows it, else the one with that amount."""
    for voice in said:
        if voice.claim.document is not DocumentKind.REFUND or not voice.claim.items:
            continue
        named = set(pair_titles([i.title for i in voice.claim.items], [i.title for i in items]).values())
        amounts = [items[n].amount for n in named]
        known = sum((a for a in amounts if a is not None), Decimal(0))
        if named and (paid_back is None or abs(known - paid_back) <= CENT):
            return tuple(replace(item, refunded=n in named) for n, item in enumerate(items))
    hits = [n for n, item in enumerate(items) if paid_back and item.amount == paid_back]
    return tuple(replace(item, refunded=[n] == hits) for n, item in enumerate(items))
