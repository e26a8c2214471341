"""Who may undo an order: a refund, a cancellation or a failed payment counts only from those who stand behind it.

A look-alike of a shop knows its name, often an order's number and sum too; its domain gives it away.  So a mail that
takes an order back is believed where the order's own mails come from its domain, where it is a payment service that
receipts came from before, or where nothing speaks against it and number and amount agree.  What is not believed
changes no order, names no domain and is kept beside the order as the suspicion it is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from vault.model.evidence import DocumentKind, EvidenceKind, FieldSource, PurchaseClaim, RecordedClaim
from vault.model.purchase import JoinedSource, Purchase
from vault.receipts.clusters import number_key
from vault.receipts.seller_names import alike, domain_key, looks_like_domain, name_key

REVERSING = frozenset([DocumentKind.REFUND, DocumentKind.CANCELLATION, DocumentKind.FAILED_PAYMENT])
_STANDING = frozenset(
    [DocumentKind.ORDER, DocumentKind.PAYMENT, DocumentKind.INVOICE, DocumentKind.DOWNLOAD, DocumentKind.HISTORY]
)


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """A mail that was not believed, the order it speaks of, and why."""

    recorded: RecordedClaim
    reason: str


@dataclass(kw_only=True)
class _Known:
    """What the claims that make orders know of domains."""

    of_number: dict[str, list[PurchaseClaim]] = field(default_factory=lambda: defaultdict(list))
    of_name: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    payers: set[str] = field(default_factory=set)
    names: dict[str, str] = field(default_factory=dict)


def believed(claims: Sequence[RecordedClaim]) -> tuple[list[RecordedClaim], list[Doubt]]:
    """The claims that count, and those that would undo an order without standing behind it."""
    if not any(r.claim.document in REVERSING for r in claims):
        return list(claims), []
    known = _known(claims)
    kept: list[RecordedClaim] = []
    doubts: list[Doubt] = []
    for recorded in claims:
        claim = recorded.claim
        if claim.document not in REVERSING or recorded.evidence_kind is not EvidenceKind.MAIL:
            kept.append(recorded)
            continue
        reason, foreign = _judge(claim, known)
        if reason:
            doubts.append(Doubt(recorded=recorded, reason=reason))
        elif foreign:
            kept.append(replace(recorded, claim=replace(claim, seller_domain=None)))
        else:
            kept.append(recorded)
    return kept, doubts


def _known(claims: Sequence[RecordedClaim]) -> _Known:
    known = _Known()
    for recorded in claims:
        claim = recorded.claim
        if claim.document not in _STANDING:
            continue
        for number in {number_key(claim.order_number), number_key(claim.payment_number)} - {""}:
            known.of_number[number].append(claim)
        if claim.payee_only or claim.document is DocumentKind.PAYMENT:
            known.payers |= _domains(claim)
        for name in {claim.seller, *(item.seller for item in claim.items)}:
            if name and name_key(name):
                known.of_name[name_key(name)] |= _domains(claim)
                known.names[name_key(name)] = name
    return known


def _domains(claim: PurchaseClaim) -> set[str]:
    return {key for d in (claim.sender_domain, claim.seller_domain) if d and (key := domain_key(d))}


def _judge(claim: PurchaseClaim, known: _Known) -> tuple[str, bool]:
    """Why a claim is not believed ("" if it is), and whether its domain is not known to be the shop's."""
    own = domain_key(claim.sender_domain or claim.seller_domain or "")
    if not own:
        return "", False
    numbers = {number_key(claim.order_number), number_key(claim.payment_number)} - {""}
    orders = [c for n in numbers for c in known.of_number.get(n, ()) if _same_shop(c, claim)]
    behind = {d for c in orders for d in _domains(c)}
    for key, name in known.names.items() if claim.seller else ():
        if key == name_key(claim.seller or "") or alike(name, claim.seller or ""):
            behind |= known.of_name[key]
    if any(_within(own, d) for d in behind | known.payers):
        return "", False
    if claim.suspicion:
        return f"sent from {own}, {claim.suspicion}", True
    if not behind:
        return "", False  # no domain is known that it could be told from
    if any(looks_like_domain(own, d) for d in behind):
        return f"sent from {own}, which only looks like {min(behind)}", True
    if orders and any(_agree(claim, c) for c in orders):
        return "", True
    return f"sent from {own}, the order came from {', '.join(sorted(behind)[:3])}", True


def _same_shop(order: PurchaseClaim, claim: PurchaseClaim) -> bool:
    """Whether a claim may speak of an order with its number: no other name of a shop, or the same amount."""
    if not order.seller or not claim.seller or alike(order.seller, claim.seller):
        return True
    return bool(_domains(order) & _domains(claim)) or _agree(claim, order)


def _agree(claim: PurchaseClaim, order: PurchaseClaim) -> bool:
    """Whether the amounts allow it, one being named: the order's whole or a part of it."""
    sums = [a for a in (claim.refund_amount, claim.total) if a is not None]
    if not sums or order.total is None or (claim.currency and order.currency and claim.currency != order.currency):
        return False
    amounts = {order.total, order.amount_due, *(i.amount for i in order.items)}
    return any(s in amounts for s in sums)


def _within(domain: str, known: str) -> bool:
    """Whether a domain is the known one or a host of it, or the other way round."""
    return domain == known or domain.endswith("." + known) or known.endswith("." + domain)


def with_doubts(purchases: Sequence[Purchase], doubts: Sequence[Doubt]) -> list[Purchase]:
    """The purchases, each with what was said of it and not believed."""
    if not doubts:
        return list(purchases)
    by_number: dict[str, list[Doubt]] = defaultdict(list)
    for doubt in sorted(doubts, key=lambda d: (d.recorded.evidence_sha256, d.recorded.index)):
        if number := number_key(doubt.recorded.claim.order_number):
            by_number[number].append(doubt)
    out = []
    for purchase in purchases:
        said = [
            JoinedSource(
                evidence_sha256=doubt.recorded.evidence_sha256,
                source=FieldSource(
                    field="refunded",
                    words=f"{doubt.recorded.claim.document.value} of {purchase.order_number}",
                    how=f"not believed: {doubt.reason}",
                ),
            )
            for doubt in by_number.get(number_key(purchase.order_number), ())
        ]
        out.append(replace(purchase, sources=(*purchase.sources, *said)) if said else purchase)
    return out
