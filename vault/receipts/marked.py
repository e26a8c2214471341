"""What a document's markup (schema.org) and its visible lines say of one order, brought together.

The markup leads: it was written for machines by who knows.  The visible lines add what it leaves out: links, the
buyer, what was paid with a gift card, options, parts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import fields, replace

from vault.language.folding import fold
from vault.model.evidence import DocumentKind, PurchaseClaim

_EMPTY = (None, (), False)


def with_markup(marked: Sequence[PurchaseClaim], read: Sequence[PurchaseClaim]) -> Iterator[PurchaseClaim]:
    """The claims of the markup, each completed from the claim that was read of the same order."""
    for claim in marked:
        if claim.document is DocumentKind.OTHER:
            continue  # a bill about no purchase
        other = _same(claim, marked, read)
        yield _completed(claim, other) if other is not None else claim


def _same(claim: PurchaseClaim, marked: Sequence[PurchaseClaim], read: Sequence[PurchaseClaim]) -> PurchaseClaim | None:
    for other in read:
        if claim.order_number and other.order_number and fold(claim.order_number) == fold(other.order_number):
            return other
    return read[0] if len(marked) == len(read) == 1 else None


def _completed(claim: PurchaseClaim, other: PurchaseClaim) -> PurchaseClaim:
    changes = {}
    for entry in fields(claim):
        name = entry.name
        if name in ("document", "sources", "items", "links", "date_printed", "payee_only", "refunded"):
            continue
        if getattr(claim, name) in _EMPTY and getattr(other, name) not in _EMPTY:
            changes[name] = getattr(other, name)
    if claim.purchased_on is None:
        changes["date_printed"] = other.date_printed
    told = {source.field for source in claim.sources}
    sources = (*claim.sources, *(s for s in other.sources if s.field not in told))
    # the lines were read with the markup's items in hand, so that theirs hold the links
    items = other.items if len(other.items) >= len(claim.items) else claim.items
    links = tuple(dict.fromkeys((*claim.links, *other.links)))
    return replace(claim, items=items, links=links, sources=sources, **changes)
