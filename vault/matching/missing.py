"""The missing report: what was bought and is not held, most urgent first, with what to do next.

Everything here is a date, a number or a word of the evidence; a link is never opened, so nothing is said to work or to
be dead.  Urgency follows from the first day that matters: the link's last day or the shop's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from vault.matching.parts import named
from vault.model.evidence import DownloadLink
from vault.model.match import ItemView, MissingRow, PurchaseView
from vault.model.purchase import ItemState, Purchase, Seller

URGENCIES = ("now", "soon", "later", "lost?")
NOW_DAYS = 14  # a deadline this near is urgent
SOON_DAYS = 60
FEW_DOWNLOADS = 2
OLD_DAYS = 3 * 365  # links of orders this old are often gone


@dataclass(frozen=True, slots=True)
class _Case:
    """One missing item with what decides about its urgency."""

    view: ItemView
    purchase: Purchase
    seller: Seller | None
    successor: Seller | None
    live: tuple[DownloadLink, ...]  # links that may still work
    expired: tuple[DownloadLink, ...]
    deadline: date | None
    left: int | None
    closed: bool


def missing_rows(purchases: Sequence[PurchaseView], sellers: Sequence[Seller], day: date) -> tuple[MissingRow, ...]:
    """What is missing or held in part on `day`, most urgent first.

    Left out are items known not to be downloads or not to be patterns, and what was refunded.
    """
    by_id = {s.id: s for s in sellers}
    cases = [_case(view, p.purchase, by_id, sellers, day) for p in purchases for view in p.items if _counts(view)]
    rows = sorted((_row(c, day) for c in cases), key=_rank)
    # Of one urgency, what is to be fetched at one shop stands together, where the most urgent of it would stand.
    first: dict[tuple[str, str], int] = {}
    for n, row in enumerate(rows):
        first.setdefault((row.urgency, _shop(row)), n)
    rows.sort(key=lambda row: first[row.urgency, _shop(row)])
    return tuple(rows)


def _shop(row: MissingRow) -> str:
    return row.purchase.seller_id or (row.purchase.seller or "").casefold()


def _counts(view: ItemView) -> bool:
    item = view.item
    wanted = item.digital is not False and item.craft_pattern is not False
    return wanted and view.standing.state in (ItemState.MISSING, ItemState.PARTIAL)


def _case(view: ItemView, purchase: Purchase, by_id: dict[str, Seller], sellers: Iterable[Seller], day: date) -> _Case:
    seller = by_id.get(purchase.seller_id or "")
    links = view.item.links
    live = tuple(k for k in links if (k.expires_on is None or k.expires_on >= day) and k.downloads_left != 0)
    expired = tuple(k for k in links if k not in live)
    closed = seller is not None and (
        seller.status == "closed" or (seller.closes_on is not None and seller.closes_on < day)
    )
    ends = [k.expires_on for k in live if k.expires_on is not None]
    if seller is not None and not closed and seller.closes_on is not None:
        ends.append(seller.closes_on)
    counts = [k.downloads_left for k in live if k.downloads_left is not None]
    return _Case(
        view=view,
        purchase=purchase,
        seller=seller,
        successor=_successor(seller, sellers),
        live=live,
        expired=expired,
        deadline=min(ends, default=None),
        left=min(counts, default=None),
        closed=closed,
    )


def _successor(seller: Seller | None, sellers: Iterable[Seller]) -> Seller | None:
    if seller is None or not seller.succeeded_by:
        return None
    wanted = seller.succeeded_by.casefold()
    found = (s for s in sellers if wanted in {n.casefold() for n in (s.name, *s.also_known_as)})
    return next(found, Seller(id="", name=seller.succeeded_by))


def _row(case: _Case, day: date) -> MissingRow:
    shop = _about_shop(case)
    return MissingRow(
        view=case.view,
        purchase=case.purchase,
        seller=case.seller,
        deadline=case.deadline,
        downloads_left=case.left,
        urgency=_urgency(case, day),
        why=tuple(dict.fromkeys((*case.view.standing.why, *shop, *_about_links(case, day)))),
        next=_next(case),
        shop=shop,
    )


def _urgency(case: _Case, day: date) -> str:
    if case.deadline is not None and case.deadline <= day + timedelta(days=NOW_DAYS):
        return "now"
    if case.closed:
        return "lost?" if case.successor is None else "soon"
    if case.seller is not None and case.seller.status == "closing":
        return "now" if case.deadline is None else "soon"
    if case.expired and not case.live:
        return "soon"
    if case.left is not None and case.left <= FEW_DOWNLOADS:
        return "soon"
    if case.deadline is not None and case.deadline <= day + timedelta(days=SOON_DAYS):
        return "soon"
    return "later"


def _about_shop(case: _Case) -> tuple[str, ...]:
    """How the seller stands, where that makes a difference."""
    out: list[str] = []
    seller = case.seller.name if case.seller else case.purchase.seller or "the seller"
    if case.closed:
        on = f" on {case.seller.closes_on.isoformat()}" if case.seller and case.seller.closes_on else ""
        out.append(f"{seller} closed{on}" if on else f"{seller} has closed")
    elif case.seller is not None and case.seller.closes_on is not None:
        out.append(f"{seller} closes on {case.seller.closes_on.isoformat()}")
    elif case.seller is not None and case.seller.status == "closing":
        out.append(f"{seller} says that it will close")
    if case.successor is not None and case.successor.name != seller:
        out.append(f"{case.successor.name} took over from {seller}")
    return tuple(out)


def _about_links(case: _Case, day: date) -> tuple[str, ...]:
    """How long and how often it can still be fetched, and how old the order is."""
    out: list[str] = []
    for link in case.live:
        if link.expires_on is not None:
            out.append(f"the link is good until {link.expires_on.isoformat()}, says the receipt")
        if link.downloads_left is not None:
            out.append(
                f"{link.downloads_left} download{'' if link.downloads_left == 1 else 's'} left, says the receipt"
            )
    for link in case.expired:
        if link.downloads_left == 0:
            out.append("no downloads are left on the link, says the receipt")
        elif link.expires_on is not None:
            out.append(f"the link ran out on {link.expires_on.isoformat()}, says the receipt")
    bought = case.purchase.purchased_on
    if bought is not None and (day - bought).days > OLD_DAYS:
        out.append(f"bought {(day - bought).days // 365} years ago; old links often stop working")
    return tuple(out)


def _next(case: _Case) -> str:
    """What to do: at a shop that is open fetch it, of one that has gone ask whoever may help."""
    seller = case.seller.name if case.seller else case.purchase.seller
    if case.live and not case.closed:
        return f"Download {_parts(case.view)} from the link on the receipt now, and keep the file."
    if case.successor is not None:
        return f"Write to {case.successor.name} with the proof of purchase ({_letter(seller)})."
    if case.live:
        return f"Try the link on the receipt; {seller} has closed, so it may not work any more."
    if case.closed:
        return f"Look for the file in {_mail(case)}, on other computers and in backups; write to the designer."
    write = f"; else write to {seller} ({_letter(seller)})" if seller else ""
    if case.expired:
        return f"Look whether your account at {seller or 'the shop'} still offers it{write}."
    return f"Look in {_mail(case)} for a download link{write}."


def _letter(seller: str | None) -> str:
    return f'pinfold claim "{seller}" writes the letter'


def _mail(case: _Case) -> str:
    """The mail account to look in, as far as the receipt names it, and from which days."""
    account = f"the mail account {case.purchase.buyer_mail}" if case.purchase.buyer_mail else "the mail"
    day = case.purchase.purchased_on
    return f"{account} from {day.isoformat()} on" if day else f"{account} of that order"


def _parts(view: ItemView) -> str:
    lacking = view.standing.lacking
    if not lacking:
        return "it"
    more = f" and {len(lacking) - 3} more" if len(lacking) > 3 else ""
    return ", ".join(named(p) for p in lacking[:3]) + more


def _rank(row: MissingRow) -> tuple[int, date, int, Decimal, date, str, str]:
    """Most urgent first; then the nearest day, the fewest downloads, the greater value, the older order."""
    amount = row.view.item.amount or Decimal(0)
    return (
        URGENCIES.index(row.urgency),
        row.deadline or date.max,
        row.downloads_left if row.downloads_left is not None else 10**6,
        -amount,
        row.purchase.purchased_on or date.max,
        row.view.item.title.casefold(),
        row.view.item.id,
    )
