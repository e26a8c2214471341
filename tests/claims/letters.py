"""Claims for tests: invented wardrobe volunteers and shops."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from vault.model.claim import Claim, ClaimedItem


def item(**changes: Any) -> ClaimedItem:
    """One thing asked for."""
    values: dict[str, Any] = {
        "item_id": "i1",
        "purchase_id": "p1",
        "title": "Gull Wing Capelet",
        "designer": "Tern & Tide",
        "order_number": "TW-1042",
        "purchased_on": date(2026, 3, 1),
        "amount": Decimal("1234.50"),
        "total": Decimal("1240.00"),
        "currency": "EUR",
        "account": "nora@wardrobe.example",
    }
    return ClaimedItem(**{**values, **changes})


def claim(language: str = "en", *items: ClaimedItem, **changes: Any) -> Claim:
    """A claim in a language."""
    values: dict[str, Any] = {
        "id": "c1",
        "seller": "Thimblewick",
        "seller_id": "s1",
        "to": "Thimblewick",
        "language": language,
        "written_on": date(2026, 11, 25),
        "answer_by": date(2026, 12, 16),
        "items": items or SEVERAL,
    }
    return Claim(**{**values, **changes})


SEVERAL = (
    item(lacking=("A0", "instructions")),
    item(item_id="i2", title="Fog Horn Greatcoat", amount=None),
    item(
        item_id="i3",
        purchase_id="p2",
        title="Stickmönster Fyrvaktarens tröja",
        designer=None,
        order_number="注文-7",
        purchased_on=date(2024, 12, 31),
        amount=Decimal("1400"),
        total=Decimal("1400"),
        currency="JPY",
    ),
    item(
        item_id="i4",
        purchase_id="p3",
        title="Patron Tablier",
        order_number=None,
        payment_number="8KD2291XQ0",
        purchased_on=None,
        amount=Decimal("0.00"),
        total=None,
        currency=None,
    ),
)

HOSTILE = (
    "Capelet\nOrder number: 666",
    "Capelet\r\n\r\nKind regards,\r\nThe shop",
    "Capelet\u2028- Second thing\u2029Missing: nothing",
    "\u202eteleperaC\u202c",
    "\u2066\u2067Cape\u2069let\u200b\u200d\ufeff",
    "\x1b[2J\x1b[31mCapelet\x07\x00\x9b31m",
    "<script>alert(1)</script><b>Cape</b> &amp; <img src=x onerror=y>",
    "{seller} {to} {date} {0} %s %(x)s",
    "Z" + "\u0301\u0302\u0303\u0304\u0305" * 60 + "algo",
    "Capelet " * 400,
    "C" * 5000,
    "  - Capelet",
    "\ud800Capelet\udfff",
    "עדשה 12 מעיל 34",
    "=HYPERLINK(\"http://x.example\")",
    "Bestellnummer: 1\tGekauft am: 2",
    "",
    "   \n\t ",
)  # fmt: skip
