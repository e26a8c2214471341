"""What is asked of whom: the missing things bought from a seller, addressed to it or its successor, in its language."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from vault.claims.phrases import languages
from vault.language import fold
from vault.model.claim import Claim, ClaimedItem
from vault.model.match import MissingRow, PurchaseView
from vault.model.purchase import Seller

ANSWER_WITHIN = timedelta(days=21)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """Whom to ask and for what: `seller` sold the things, `to` is asked for them."""

    seller: Seller
    to: str
    rows: tuple[MissingRow, ...]


def sellers_meant(name: str, sellers: Sequence[Seller]) -> tuple[Seller, ...]:
    """The sellers that `name` means: their own or former names or id, else those that it succeeds."""
    wanted = fold(name)
    own = tuple(s for s in sellers if wanted in {fold(n) for n in (s.name, *s.also_known_as, s.id)})
    if own:
        return own
    return tuple(s for s in sellers if s.succeeded_by and fold(s.succeeded_by) == wanted)


def ask(seller: Seller, rows: Iterable[MissingRow], *, to: str | None = None) -> Asked:
    """What is to be asked for of the things bought from a seller."""
    own = tuple(r for r in rows if r.purchase.seller_id == seller.id)
    return Asked(seller=seller, to=to or seller.succeeded_by or seller.name, rows=own)


def language_of(
    purchases: Iterable[PurchaseView], languages_by_digest: dict[str, str | None], names: Iterable[str]
) -> str:
    """The language that the documents of the sellers called `names` are mostly in, the first name's first."""
    for name in names:
        counted: Counter[str] = Counter()
        for view in purchases:
            if fold(view.purchase.seller or "") == fold(name):
                found = (languages_by_digest.get(sha256) for sha256 in view.purchase.evidence)
                counted.update(code for code in found if code in languages())
        if counted:
            return counted.most_common(1)[0][0]
    return "en"


def claim_of(asked: Asked, *, language: str, day: date, by: date | None = None) -> Claim:
    """The claim, written on `day`.  An answer is asked for in three weeks, or before the shop closes."""
    items = tuple(_item(row) for row in sorted(asked.rows, key=_by_order))
    said = "\0".join([asked.seller.id, asked.to, day.isoformat(), *(i.item_id for i in items)])
    closes = asked.seller.closes_on
    until = by or day + ANSWER_WITHIN
    if by is None and closes is not None and day < closes < until:
        until = closes
    return Claim(
        id="c" + hashlib.sha256(said.encode()).hexdigest()[:11],
        seller=asked.seller.name,
        seller_id=asked.seller.id,
        to=asked.to,
        language=language,
        written_on=day,
        answer_by=until,
        items=items,
    )


def _by_order(row: MissingRow) -> tuple[date, str, str]:
    return row.purchase.purchased_on or date.max, row.purchase.id, row.view.item.id


def _item(row: MissingRow) -> ClaimedItem:
    item, purchase = row.view.item, row.purchase
    return ClaimedItem(
        item_id=item.id,
        purchase_id=purchase.id,
        title=item.title,
        designer=item.designer,
        order_number=purchase.order_number,
        payment_number=purchase.payment_number,
        purchased_on=purchase.purchased_on,
        amount=item.amount,
        total=purchase.total,
        currency=purchase.currency,
        account=purchase.buyer_mail,
        lacking=row.view.standing.lacking,
        evidence=purchase.evidence,
    )
