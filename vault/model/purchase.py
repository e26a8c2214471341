"""Purchases, items and sellers as joined from all evidence, and what matching adds to them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from vault.model.evidence import DownloadLink, FieldSource


class ItemState(StrEnum):
    """Whether what was bought lies in the vault."""

    HELD = "held"
    PARTIAL = "partial"
    MISSING = "missing"
    REFUNDED = "refunded"
    NOT_DIGITAL = "not-digital"


@dataclass(frozen=True, kw_only=True)
class JoinedSource:
    """A field's source with the digest of the document it stands in."""

    evidence_sha256: str
    source: FieldSource


@dataclass(frozen=True, kw_only=True)
class Item:
    """One thing bought.  `id` is stable over later imports (derived from the first recorded claim of the item)."""

    id: str
    title: str
    designer: str | None = None
    quantity: int | None = None
    amount: Decimal | None = None
    digital: bool | None = None
    craft_pattern: bool | None = None
    options: tuple[str, ...] = ()
    product_code: str | None = None
    promised: tuple[str, ...] = ()
    links: tuple[DownloadLink, ...] = ()
    refunded: bool = False


@dataclass(frozen=True, kw_only=True)
class Purchase:
    """One order with everything that all its documents say.  `refunded`: None when only a part was paid back.

    `seller_id` points to a `Seller`; `evidence` holds the digests of its documents, in order of recording.
    """

    id: str
    seller_id: str | None
    seller: str | None
    order_number: str | None
    payment_number: str | None = None
    purchased_on: date | None
    currency: str | None
    total: Decimal | None
    tax: Decimal | None = None
    shipping: Decimal | None = None
    discount: Decimal | None = None
    gift_card: Decimal | None = None
    refunded: bool | None = False
    cancelled: bool = False
    buyer_name: str | None = None
    buyer_mail: str | None = None
    items: tuple[Item, ...] = ()
    evidence: tuple[str, ...] = ()
    sources: tuple[JoinedSource, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Seller:
    """A shop or a marketplace seller.  `status` is "open" until a notice or the person says otherwise."""

    id: str
    name: str
    also_known_as: tuple[str, ...] = ()
    domains: tuple[str, ...] = ()
    status: str = "open"  # "open", "closing", "closed"
    closes_on: date | None = None
    succeeded_by: str | None = None
    words: tuple[JoinedSource, ...] = ()
    doubted: tuple[JoinedSource, ...] = ()  # mails from an address that imitates the shop's: not believed


@dataclass(frozen=True, kw_only=True)
class Joined:
    """The outcome of joining all claims and notices."""

    purchases: tuple[Purchase, ...]
    sellers: tuple[Seller, ...]
