"""The vote on a field: which of the things that documents say of one order is believed.

A claim's vote weighs as its document does (`WEIGHTS`: what a person typed, then the shop's order, invoice, account
page, the payment receipt, the download mail, last the refund), more where the value is printed rather than inferred,
more where the document's own arithmetic confirms it.  Equal votes are decided by the values themselves, never by the
order of arrival.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from hashlib import sha256
from typing import TypeVar

from vault.model.evidence import DocumentKind, EvidenceKind, FieldSource, PurchaseClaim, RecordedClaim
from vault.model.purchase import JoinedSource

# How much a document knows of an order.  Common practice of the trade, no published source.
WEIGHTS: dict[DocumentKind, float] = {
    DocumentKind.ORDER: 4.0,
    DocumentKind.INVOICE: 3.6,
    DocumentKind.HISTORY: 3.0,
    DocumentKind.PAYMENT: 2.2,
    DocumentKind.DOWNLOAD: 1.6,
    DocumentKind.SHIPPING: 1.2,
    DocumentKind.CANCELLATION: 0.8,
    DocumentKind.REFUND: 0.6,
    DocumentKind.FAILED_PAYMENT: 0.4,
}
_RECORDED_WEIGHT = 100.0
CENT = Decimal("0.02")  # what rounding may take from a sum

Value = TypeVar("Value", bound=Hashable)
Said = tuple[RecordedClaim, PurchaseClaim, str]


@dataclass(frozen=True, kw_only=True)
class Voice:
    """A claim with its weight, heaviest first in all lists."""

    recorded: RecordedClaim
    claim: PurchaseClaim
    share: str
    weight: float

    @property
    def recorded_first(self) -> tuple[int, int, str]:
        """Sorts by the order of recording."""
        return (self.recorded.seq, self.recorded.index, self.share)


def has_own_number(claim: PurchaseClaim) -> bool:
    """Whether the order number of a claim may be the document's own (of an invoice, a receipt), not the order's."""
    if claim.document is DocumentKind.INVOICE:
        return True
    return any(s.field == "order_number" and s.how == "invoice number" for s in claim.sources)


def voice_of(recorded: RecordedClaim, claim: PurchaseClaim, share: str) -> Voice:
    """The claim (or one seller's share of it) with the weight of its document."""
    weight = WEIGHTS.get(claim.document, 0.2)
    if recorded.evidence_kind is EvidenceKind.RECORDED:
        weight = _RECORDED_WEIGHT
    return Voice(recorded=recorded, claim=claim, share=share, weight=weight)


def content_key(voice: Voice) -> tuple[str, int, str]:
    """Sorts by what the documents are, whatever the order of recording."""
    return (voice.recorded.evidence_sha256, voice.recorded.index, voice.share)


def vote(
    voices: Sequence[Voice],
    value: Callable[[Voice], Value | None],
    *,
    payees_last: bool = False,
    orders_first: bool = False,
) -> tuple[Voice | None, Value | None]:
    """The value with the most weight behind it, and the heaviest claim that says it."""
    weights: dict[Value, float] = defaultdict(float)
    speaker: dict[Value, tuple[float, Voice]] = {}
    heard: set[tuple[DocumentKind, Value]] = set()
    for voice in voices:
        said = value(voice)
        if said is None or said == "":
            continue
        weight = voice.weight
        if payees_last and voice.claim.payee_only:
            weight *= 0.3
        if orders_first and has_own_number(voice.claim):
            weight *= 0.3
        if isinstance(said, tuple) and adds_up(voice.claim):
            weight += 2
        if isinstance(said, date) and not voice.claim.date_printed:
            weight *= 0.3  # only the day of the mail
        # Further documents of one kind add little: three instalments do not outvote the order.
        again = (voice.claim.document, said) in heard
        heard.add((voice.claim.document, said))
        weights[said] += weight * (0.2 if again else 1)
        if said not in speaker or weight > speaker[said][0]:
            speaker[said] = (weight, voice)
    if not weights:
        return None, None
    chosen = max(weights, key=lambda v: (round(weights[v], 6), speaker[v][0], str(v)))
    return speaker[chosen][1], chosen


def adds_up(claim: PurchaseClaim) -> bool:
    """Whether the lines of the claim make its total."""
    amounts = [item.amount for item in claim.items]
    if claim.total is None or not amounts or any(a is None for a in amounts):
        return False
    lines = sum((a for a in amounts if a is not None), Decimal(0))
    return explains(lines, claim.total, claim.tax, claim.shipping, claim.discount)


def explains(
    lines: Decimal, total: Decimal, tax: Decimal | None, shipping: Decimal | None, discount: Decimal | None
) -> bool:
    zero = Decimal(0)
    net = lines + (shipping or zero) - abs(discount or zero)
    return any(abs(net + more - total) <= CENT for more in (zero, tax or zero))


def source_of(voice: Voice, name: str, value: object) -> JoinedSource:
    for source in voice.claim.sources:
        if name == "items" and source.field.startswith("item") and str(value) in (source.words, source.field[5:]):
            return JoinedSource(evidence_sha256=voice.recorded.evidence_sha256, source=source)
        if source.field == name or (name == "total" and source.field == "currency" and not isinstance(value, tuple)):
            return JoinedSource(evidence_sha256=voice.recorded.evidence_sha256, source=source)
    words = " ".join(str(v) for v in value if v is not None) if isinstance(value, tuple) else str(value)
    if name == "purchased_on" and not voice.claim.date_printed:
        how = "day of the document"
    else:
        how = f"read in the {voice.claim.document.value}"
    return JoinedSource(
        evidence_sha256=voice.recorded.evidence_sha256, source=FieldSource(field=name, words=words, how=how)
    )


def digest(*parts: object) -> str:
    """Twelve hexadecimal digits that name what `parts` say."""
    return sha256(":".join(str(part) for part in parts).encode()).hexdigest()[:12]
