"""Years of invented orders with the documents people have of them: hardly one is split, none is merged.

The aim: split or merged purchases at most 1 %.  Here the truth is known exactly.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

import pytest

from tests.receipts.test_joining import DOWNLOAD, INVOICE, ORDER, PAYMENT, REFUND, claim, item, recorded
from vault.model.evidence import ItemClaim, PurchaseClaim
from vault.receipts.joining import join

ORDERS = 400
FIRST, LAST = ("Larch", "Otter", "Wren", "Moss", "Gable", "Nettle"), ("Loom", "Patterns", "Knits")
NAMES = ("Linnet", "Fenwick", "Rill", "Thorne", "Sorrel", "Merrow", "Cobble")
GARMENTS = ("Hat", "Coat", "Dress", "Bag", "Vest")
# Document -> how many orders in a hundred have one.
SHARES = {"order": 90, "again": 15, "payment": 50, "invoice": 30, "download": 50, "refund": 5}


@dataclass(frozen=True, kw_only=True)
class Order:
    """One true order: shops that print no order numbers have `number` None."""

    n: int
    shop: str
    domain: str
    number: str | None
    day: date
    items: tuple[ItemClaim, ...]
    total: str


def orders(rnd: random.Random) -> list[Order]:
    shops = [(f"{a} {b}", f"{a}{b}.example".lower(), rnd.random() < 0.8) for a in FIRST for b in LAST]
    out = []
    for n in range(ORDERS):
        shop, domain, numbered = rnd.choice(shops)
        titles = {f"{rnd.choice(NAMES)} {rnd.choice(GARMENTS)}" for _ in range(rnd.choice([1, 1, 1, 2, 3]))}
        items = tuple(item(t, rnd.choice(["5.00", "6.50", "7.00", "9.00", "12.00"])) for t in sorted(titles))
        total = str(sum((i.amount or Decimal(0) for i in items), Decimal(0)))
        day = date(2018, 1, 1) + timedelta(rnd.randrange(2500))
        number = str(10_000 + n * 7) if numbered else None
        out.append(Order(n=n, shop=shop, domain=domain, number=number, day=day, items=items, total=total))
    return out


def document(kind: str, order: Order, rnd: random.Random) -> PurchaseClaim | None:
    """What one document says of an order; a payment and an invoice do not always name the order's number."""
    later = timedelta(rnd.choice([0, 0, 1]))
    if kind in ("order", "again"):
        return claim(ORDER, order.shop, order.number, order.total, order.items, order.day, seller_domain=order.domain)
    if kind == "payment":
        day = order.day + timedelta(rnd.choice([0, 0, 0, 1, -1]))
        number = order.number if rnd.random() < 0.3 else None
        items = order.items if rnd.random() < 0.3 else ()
        name = order.shop + rnd.choice(["", " Ltd"])
        return claim(PAYMENT, name, number, order.total, items, day, payment_number=f"P-{order.n:05}", payee_only=True)
    if kind == "invoice":
        number = order.number if order.number and rnd.random() < 0.5 else f"R2020-{order.n}"
        return claim(INVOICE, order.shop, number, order.total, order.items, order.day + later)
    if kind == "download":
        number = order.number if rnd.random() < 0.5 else None
        items = [item(i.title + rnd.choice([" PDF", "", " (PDF)"])) for i in order.items]
        return claim(DOWNLOAD, order.shop, number, None, items, order.day + later, seller_domain=order.domain)
    if order.number is None:
        return None
    return claim(
        REFUND, order.shop, order.number, None, [], order.day + timedelta(8), refunded=True,
        refund_amount=Decimal(order.total),
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(3))
def test_years_of_orders(seed: int) -> None:
    rnd = random.Random(seed)
    told: list[tuple[int, PurchaseClaim]] = []
    for order in orders(rnd):
        kinds = [kind for kind, share in SHARES.items() if rnd.randrange(100) < share]
        if not {"order", "payment", "invoice"} & set(kinds):
            kinds.append("order")
        told += [(order.n, said) for kind in kinds if (said := document(kind, order, rnd)) is not None]
    rnd.shuffle(told)
    claims = recorded([said for _, said in told])
    truth = {c.evidence_sha256: n for c, (n, _) in zip(claims, told)}
    purchases = join(claims, []).purchases
    holders: dict[int, int] = dict.fromkeys(range(ORDERS), 0)
    merged = 0
    for purchase in purchases:
        meant = {truth[sha] for sha in purchase.evidence}
        merged += len(meant) > 1
        for n in meant:
            holders[n] += 1
    split = sum(count > 1 for count in holders.values())
    assert all(holders.values())  # nothing is lost
    assert merged <= 1
    assert split <= ORDERS // 100
