"""One shop on one screen: its names, how it stands and by which words, what was bought, what is missing or lies there.

Nothing is opened: that a link may still work is said by the receipt's own days and counts alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from vault.model.claim import ClaimView
from vault.model.evidence import DownloadLink
from vault.model.match import MissingRow, PurchaseView
from vault.model.money import amount_text
from vault.model.purchase import ItemState, Seller
from vault.model.same_shop import PerhapsSame, SameShopWords
from vault.reports import rows as as_rows
from vault.reports.letter import claim_row, state_words
from vault.reports.listings import status_words
from vault.reports.missing import bought_words, deadline_words
from vault.reports.tables import labelled
from vault.reports.text import Style, plain, wrap

_STATES = (ItemState.HELD, ItemState.PARTIAL, ItemState.MISSING)
_MOST_ROWS = 15


@dataclass(frozen=True, kw_only=True)
class Said:
    """Words that a shop's status rests on: their day, where they stand, and why they are not believed (if so)."""

    words: str
    on: date | None
    source: str
    doubt: str = ""


@dataclass(frozen=True, kw_only=True)
class Shop:
    """Everything about one seller as on `day`.

    `hers`: what she said of it herself, in words.  `perhaps`: other sellers by name, with what speaks for one shop.
    """

    seller: Seller
    day: date
    purchases: tuple[PurchaseView, ...] = ()
    missing: tuple[MissingRow, ...] = ()
    claims: tuple[ClaimView, ...] = ()
    said: tuple[Said, ...] = ()
    hers: tuple[str, ...] = ()
    perhaps: tuple[tuple[str, PerhapsSame], ...] = ()
    told: tuple[SameShopWords, ...] = ()

    @property
    def unfetched(self) -> tuple[MissingRow, ...]:
        """What is missing and has a link that, by the receipt, may still work."""
        return tuple(r for r in self.missing if live_links(r, self.day))

    @property
    def gone(self) -> bool:
        """Whether the shop has closed by the day."""
        closes = self.seller.closes_on
        return self.seller.status == "closed" or (closes is not None and closes < self.day)


def live_links(row: MissingRow, day: date) -> tuple[DownloadLink, ...]:
    """The links whose last day has not passed and that are not used up, as far as the receipt says."""
    return tuple(
        k for k in row.view.item.links if (k.expires_on is None or k.expires_on >= day) and k.downloads_left != 0
    )


def hers_words(joined: Seller, known: Seller) -> tuple[str, ...]:
    """What she said of a seller: where it differs from what the documents say (`joined`)."""
    words = []
    if (joined.status, joined.closes_on) != (known.status, known.closes_on):
        words.append(status_words(known))
    if joined.succeeded_by != known.succeeded_by and known.succeeded_by:
        words.append(f"goes on as {known.succeeded_by}")
    return tuple(words)


def screen(shop: Shop, style: Style) -> list[str]:
    """The lines of `seller NAME`."""
    s = shop.seller
    lines = [style.bold(style.finish(line)) for line in wrap(plain(s.name), style.columns)]
    lines += labelled(
        [
            ("also called", ", ".join(s.also_known_as)),
            ("domains", ", ".join(s.domains)),
            ("status", _status(shop)),
            *_grounds(shop),
            ("goes on as", s.succeeded_by or ""),
            ("bought", _bought(shop)),
            ("held", _held(shop)),
        ],
        style,
    )
    lines += _unfetched(shop, style) + _other_missing(shop, style) + _claims(shop, style) + _perhaps(shop, style)
    return [style.finish(line) for line in lines]


def _status(shop: Shop) -> str:
    if shop.seller.status == "open" and not shop.said and not shop.hers:
        return "open, as far as its mails say"
    passed = shop.gone and shop.seller.status == "closing"
    return status_words(shop.seller) + (", a day that has passed" if passed else "")


def _grounds(shop: Shop) -> list[tuple[str, str]]:
    rows = [("you said", words) for words in shop.hers]
    for said in shop.said:
        where = ", ".join(filter(None, [said.on.isoformat() if said.on else "", said.source]))
        if said.doubt:
            rows.append(("NOT BELIEVED", f'"{said.words}" ({where}): {said.doubt}'))
        else:
            rows.append(("it said", f'"{said.words}" ({where})'))
    return rows


def _bought(shop: Shop) -> str:
    if not shop.purchases:
        return "nothing that is known of"
    days = sorted(v.purchase.purchased_on for v in shop.purchases if v.purchase.purchased_on)
    sums: dict[str, Decimal] = {}
    for view in shop.purchases:
        p = view.purchase
        if p.total is not None and p.currency and p.refunded is False and not p.cancelled:
            sums[p.currency] = sums.get(p.currency, Decimal(0)) + p.total
    n = len(shop.purchases)
    parts = [f"{n} purchase{'' if n == 1 else 's'}"]
    if days:
        parts.append(days[0].isoformat() if days[0] == days[-1] else f"{days[0].isoformat()} to {days[-1].isoformat()}")
    return ", ".join([*parts, *(f"{amount_text(a, c)} {c}" for c, a in sorted(sums.items()))])


def _counted(shop: Shop) -> tuple[int, int]:
    """How many patterns are wholly held, and of how many."""
    states = [
        i.standing.state
        for v in shop.purchases
        for i in v.items
        if i.item.craft_pattern is not False and i.standing.state in _STATES
    ]
    return states.count(ItemState.HELD), len(states)


def _held(shop: Shop) -> str:
    held, n = _counted(shop)
    partial = sum(r.view.standing.state is ItemState.PARTIAL for r in shop.missing)
    return (f"{held} of {n} patterns" + (f", {partial} more in part" if partial else "")) if n else ""


def _unfetched(shop: Shop, style: Style) -> list[str]:
    if not shop.unfetched:
        return []
    head = "There was a link, but the shop has closed" if shop.gone else "Not fetched, and perhaps still there"
    lines = _head(f"{head}: {len(shop.unfetched)}", style)
    for row in shop.unfetched[:_MOST_ROWS]:
        lines += _row(row, style)
        until = deadline_words(row)
        lines += wrap(f"fetch {until}" if until else "no last day is named", style.columns, first="    ", rest="    ")
        for link in live_links(row, shop.day)[:3]:
            lines += wrap(plain(link.url), style.columns, first="    ", rest="    ", keep_long=True)
    return lines + _more(len(shop.unfetched))


def _other_missing(shop: Shop, style: Style) -> list[str]:
    there = {r.view.item.id for r in shop.unfetched}
    others = [r for r in shop.missing if r.view.item.id not in there]
    if not others:
        return []
    lines = _head(f"Not held, and no link that may still work: {len(others)}", style)
    for row in others[:_MOST_ROWS]:
        lines += _row(row, style)
    lines += _more(len(others))
    open_claim = any(v.open for v in shop.claims)
    if not open_claim:
        lines += wrap(f"ask for them: pinfold claim {quoted(shop.seller.name)}", style.columns, first="  ", rest="    ")
    return lines


def _head(words: str, style: Style) -> list[str]:
    return ["", *(style.bold(line) for line in wrap(words, style.columns))]


def _row(row: MissingRow, style: Style) -> list[str]:
    standing = row.view.standing
    part = f"[in part, lacking {', '.join(standing.lacking)}]" if standing.state is ItemState.PARTIAL else ""
    words = ", ".join(filter(None, [f"{plain(row.view.item.title)} {plain(part)}".rstrip(), bought_words(row)]))
    return wrap(words, style.columns, first="  - ", rest="    ")


def _more(n: int) -> list[str]:
    return [f"  and {n - _MOST_ROWS} more: pinfold missing"] if n > _MOST_ROWS else []


def _claims(shop: Shop, style: Style) -> list[str]:
    lines: list[str] = []
    for view in shop.claims:
        n = len(view.claim.items)
        words = f"claim {view.claim.id} for {n} thing{'' if n == 1 else 's'}, to {plain(view.claim.to)}: "
        lines += wrap(words + state_words(view, shop.day), style.columns, first="  ", rest="    ")
    return [*_head("Asked for", style), *lines] if lines else []


def _perhaps(shop: Shop, style: Style) -> list[str]:
    lines: list[str] = []
    for name, pair in shop.perhaps:
        own, other = quoted(shop.seller.name), quoted(name)
        lines += wrap(f"{plain(name)}: {plain('; '.join(pair.why))}", style.columns, first="  ", rest="    ")
        lines += wrap(f"if so: pinfold seller {own} --same-as {other}", style.columns, first="    ", rest="      ")
        lines += wrap(f"if not: pinfold seller {own} --apart-from {other}", style.columns, first="    ", rest="      ")
    if lines:
        lines = [*_head("Perhaps the same shop", style), *lines]
    for told in shop.told:
        said = "the same shop as" if told.same else "not the same shop as"
        names = {n.casefold() for n in (shop.seller.name, *shop.seller.also_known_as)}
        one, other = (told.one, told.other) if told.one.casefold() in names else (told.other, told.one)
        words = f"You said that {plain(one)} is {said} {plain(other)}."
        lines += ["", *wrap(words, style.columns)]
    if shop.told:
        lines += wrap(
            f"  Take it back: pinfold seller {quoted(shop.seller.name)} --take-back", style.columns, rest="    "
        )
    return lines


def quoted(name: str) -> str:
    """A name as one word of a command line, for a shell of Unix or Windows."""
    name = plain(name)
    return f'"{name}"' if "'" in name or not name.isascii() else f"'{name}'"


def row(shop: Shop) -> dict[str, Any]:
    """`seller NAME --json`."""
    held, n = _counted(shop)
    base = as_rows.sellers([shop.seller], {shop.seller.id: len(shop.missing)})["sellers"][0]
    there = {r.view.item.id for r in shop.unfetched}
    return {
        "seller": {
            **base,
            "said": [
                {"words": s.words, "on": as_rows.day(s.on), "source": s.source, "not_believed": s.doubt or None}
                for s in shop.said
            ],
            "you_said": list(shop.hers),
            "patterns": n,
            "held": held,
            "purchases": [v.purchase.id for v in shop.purchases],
            "missing": [{**as_rows.missing_row(r), "unfetched": r.view.item.id in there} for r in shop.missing],
            "claims": [claim_row(v) for v in shop.claims],
            "perhaps_same": [{"name": name, "why": list(pair.why)} for name, pair in shop.perhaps],
            "told": [{"one": t.one, "other": t.other, "same": t.same} for t in shop.told],
        }
    }


def perhaps_lines(pairs: Sequence[tuple[str, str, PerhapsSame]], style: Style) -> list[str]:
    """What `sellers` says of names that are perhaps one shop's."""
    lines: list[str] = []
    for one, other, pair in pairs:
        words = f"{plain(one)} and {plain(other)} are perhaps one shop: {plain('; '.join(pair.why))}"
        lines += wrap(words, style.columns, first="  ", rest="    ")
    if lines:
        lines += wrap(f"  Say so or not: pinfold seller {quoted(pairs[0][0])}", style.columns, rest="    ")
    return [style.finish(line) for line in lines]
