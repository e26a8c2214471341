"""Asking a seller for lost files: the letter that was written, what it lists, and how it went on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum


class ClaimState(StrEnum):
    """How far a claim has come.  RECEIVED follows from the files alone and closes it by itself."""

    DRAFTED = "drafted"
    SENT = "sent"
    ANSWERED = "answered"
    RECEIVED = "received"
    REFUSED = "refused"


@dataclass(frozen=True, kw_only=True)
class ClaimedItem:
    """One thing that is asked for.  `lacking`: the parts that are missing; empty means all of it.

    `amount` is that of the item; `total` that of the whole order, for items whose own price no receipt names.
    """

    item_id: str
    purchase_id: str
    title: str
    designer: str | None = None
    order_number: str | None = None
    payment_number: str | None = None
    purchased_on: date | None = None
    amount: Decimal | None = None
    total: Decimal | None = None
    currency: str | None = None
    account: str | None = None  # the mail address that it was ordered with
    lacking: tuple[str, ...] = ()
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class ClaimStep:
    """Something that happened with a claim."""

    state: ClaimState
    on: date
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Claim:
    """A letter to a seller or its successor: `seller` is whom the things were bought from, `to` who is asked."""

    id: str
    seller: str
    seller_id: str | None
    to: str
    language: str
    written_on: date
    answer_by: date
    items: tuple[ClaimedItem, ...]
    steps: tuple[ClaimStep, ...] = ()

    @property
    def items_by_order(self) -> tuple[tuple[ClaimedItem, ...], ...]:
        """The items, those of one purchase together, in the order in which they stand."""
        orders: dict[str, list[ClaimedItem]] = {}
        for item in self.items:
            orders.setdefault(item.purchase_id, []).append(item)
        return tuple(tuple(items) for items in orders.values())


@dataclass(frozen=True, kw_only=True)
class ClaimView:
    """A claim as it stands: its state, since when, and which of its items are held by now."""

    claim: Claim
    state: ClaimState
    since: date
    received: tuple[str, ...] = ()

    @property
    def open(self) -> bool:
        """Whether something is still to come."""
        return self.state not in (ClaimState.RECEIVED, ClaimState.REFUSED)
