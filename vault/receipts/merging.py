"""One purchase out of all its claims: each field from the best source, items brought together, links summed up.

Strategy: every field is put to the vote.  A claim's vote weighs as its document does (`_WEIGHTS`: what a person typed,
then the shop's order, invoice, account page, the payment receipt, the download mail, last the refund), more where the
value is printed rather than inferred, more where the document's own arithmetic confirms it.  Equal votes are decided
by the values themselves, never by the order of arrival.  Items come from the best document that lists any; the others
add what it leaves open, and add an item only where the total says that one is missing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal

from vault.model.evidence import DocumentKind, EvidenceKind, PurchaseClaim, RecordedClaim
from vault.model.purchase import JoinedSource, Purchase
from vault.receipts.joined_items import merge_items, refunds
from vault.receipts.voices import Said, Value, Voice, content_key, digest, source_of, voice_of, vote

_DAY_OF_ANOTHER_EVENT = frozenset([DocumentKind.REFUND, DocumentKind.CANCELLATION, DocumentKind.SHIPPING])
_PROOFS = frozenset([DocumentKind.ORDER, DocumentKind.PAYMENT, DocumentKind.INVOICE, DocumentKind.HISTORY])
_STOPS = frozenset([DocumentKind.FAILED_PAYMENT, DocumentKind.CANCELLATION])


def is_purchase(said: Sequence[Said]) -> bool:
    """Whether the claims of one order prove that something was bought.

    A failed payment or a cancellation outweighs the confirmation before it, unless money or goods have moved.  Files
    that were delivered are proof if the document names shop and goods; a refund is, if it names the order.
    """
    claims = [claim for _, claim, _ in said]
    if not any(c.items or c.order_number or c.payment_number or c.links for c in claims):
        return False  # a name and a sum, as in any talk of money: nothing that was bought, no number to ask for
    if not any(c.items or c.seller or c.payment_number or c.links for c in claims):
        return False  # a number and a sum of no shop: talk about somebody's order
    kinds = {c.document for c in claims}
    good = [c for c in claims if not c.unpaid and not c.cancelled]
    delivered = any(
        c.document is DocumentKind.DOWNLOAD
        and (c.seller or c.seller_domain)
        and (c.items or (c.order_number and c.links))
        for c in good
    )
    moved = delivered or any(c.document in (DocumentKind.PAYMENT, DocumentKind.INVOICE) for c in good)
    named_refund = any(
        c.document is DocumentKind.REFUND and c.order_number and (c.seller or c.seller_domain) for c in claims
    )
    if moved or named_refund:
        return True
    refunded = any(c.document is DocumentKind.REFUND or c.refunded or c.refund_amount for c in claims)
    if not any(c.document in _PROOFS for c in good):
        return refunded and any(c.document in _PROOFS for c in claims)
    return refunded or not kinds & _STOPS or _ordered_again(said)


def _ordered_again(said: Sequence[Said]) -> bool:
    """Whether the shop confirmed the order after it was stopped (the payment went through at last)."""
    stops = [(r, c) for r, c, _ in said if r.dated and (c.document in _STOPS or c.unpaid or c.cancelled)]
    goes = [(r, c) for r, c, _ in said if r.dated and c.document in _PROOFS and not c.unpaid and not c.cancelled]
    return bool(stops) and any(all(_later(go, stop) for stop in stops) for go in goes)


def _later(one: tuple[RecordedClaim, PurchaseClaim], other: tuple[RecordedClaim, PurchaseClaim]) -> bool:
    """Whether a document is later than another: by the minute where both were mails, else by the day."""
    if one[1].sent and other[1].sent:
        return one[1].sent > other[1].sent
    return (one[0].dated or date.min) > (other[0].dated or date.min)


def merge(said: Sequence[Said]) -> Purchase:
    """The purchase that the claims of one order make.  `seller` is its name as said; its id is set later."""
    voices = sorted((voice_of(*one) for one in said), key=lambda v: (-v.weight, content_key(v)))
    sources: list[JoinedSource] = []

    def choose(name: str, value: Callable[[Voice], Value | None], **how: bool) -> Value | None:
        winner, chosen = vote(voices, value, **how)
        if winner is not None:
            sources.append(source_of(winner, name, chosen))
        return chosen

    seller = choose("seller", lambda v: v.claim.seller, payees_last=True)
    order_number = choose("order_number", lambda v: v.claim.order_number, orders_first=True)
    payment_number = choose("payment_number", lambda v: v.claim.payment_number)
    purchased_on = choose("purchased_on", _day)
    pair = choose("total", lambda v: (v.claim.currency, v.claim.total) if v.claim.total is not None else None)
    currency = pair[0] if pair and pair[0] else choose("currency", lambda v: v.claim.currency)
    own = [v for v in voices if v.claim.currency in (None, currency)]

    def amount(name: str) -> Decimal | None:
        winner, chosen = vote(own, lambda v: getattr(v.claim, name))
        if winner is not None:
            sources.append(source_of(winner, name, chosen))
        return chosen

    tax, shipping = amount("tax"), amount("shipping")
    discount, gift_card = amount("discount"), amount("gift_card")
    total = pair[1] if pair else None
    items, item_sources = merge_items(voices, own, total, (tax, shipping, discount))
    refunded, items = refunds(voices, items, total)
    first = min(voices, key=lambda v: v.recorded_first)
    return Purchase(
        id="p" + digest(first.recorded.evidence_sha256, first.recorded.index, first.share),
        seller_id=None,
        seller=seller,
        order_number=order_number or payment_number,
        payment_number=payment_number,
        purchased_on=purchased_on,
        currency=currency,
        total=total,
        tax=tax,
        shipping=shipping,
        discount=discount,
        gift_card=gift_card,
        refunded=refunded,
        cancelled=any(v.claim.cancelled or v.claim.document is DocumentKind.CANCELLATION for v in voices),
        buyer_name=choose("buyer_name", lambda v: v.claim.buyer_name),
        buyer_mail=choose("buyer_mail", lambda v: v.claim.buyer_mail),
        items=items,
        evidence=tuple(
            dict.fromkeys(v.recorded.evidence_sha256 for v in sorted(voices, key=lambda v: v.recorded_first))
        ),
        sources=tuple(dict.fromkeys([*sources, *item_sources])),
    )


def _day(voice: Voice) -> date | None:
    """The day of the order as one document has it: the day of a refund or a parcel is another event's."""
    claim = voice.claim
    if claim.date_printed or voice.recorded.evidence_kind is EvidenceKind.RECORDED:
        return claim.purchased_on
    if claim.document in _DAY_OF_ANOTHER_EVENT:
        return None
    return claim.purchased_on
