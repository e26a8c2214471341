"""Claims on their way to one order: what joining looks at, and what speaks against bringing two together."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import lru_cache

from vault.language.folding import fold
from vault.model.evidence import DocumentKind, ItemClaim, PurchaseClaim, RecordedClaim, RecordedNotice
from vault.receipts.joined_sellers import Mention
from vault.receipts.seller_names import Groups, Naming, SellerGroups, alike, name_key
from vault.receipts.title_likeness import covers, title_key
from vault.receipts.voices import has_own_number

# What only follows an order; a download mail that names shop and goods may still stand for one.
FOLLOW_UPS = frozenset(
    [
        DocumentKind.DOWNLOAD,
        DocumentKind.REFUND,
        DocumentKind.CANCELLATION,
        DocumentKind.SHIPPING,
        DocumentKind.FAILED_PAYMENT,
    ]
)
IGNORED = frozenset([DocumentKind.ADVERT, DocumentKind.NOTICE, DocumentKind.OTHER])
_NUMBER_LABEL_RE = re.compile(r"\A(?:#|№|n[°ºo]\.?|nr\.?|num\.?)\s{0,3}[:.#]?\s{0,3}(?=\w)")


Place = tuple[str, int, str]  # digest of the document, index of the claim in it, share of a seller


@dataclass(frozen=True, kw_only=True)
class Part:
    """A claim, or one seller's share of it, with what joining looks at."""

    recorded: RecordedClaim
    claim: PurchaseClaim
    share: str  # "" for a whole claim, else the key of the seller whose share it is
    root: str | None  # the seller's group
    known_shop: bool  # the group has a domain of its own
    number: str  # order number in one spelling, or ""
    day: date | None
    titles: tuple[str, ...]

    @property
    def place(self) -> Place:
        """Where the claim stands: the same for every order of arrival."""
        return (self.recorded.evidence_sha256, self.recorded.index, self.share)


@dataclass(kw_only=True)
class Cluster:
    """The claims known to be of one order so far, with their common facts."""

    parts: list[Part] = field(default_factory=list)

    def __post_init__(self) -> None:
        parts = self.parts = sorted(self.parts, key=lambda p: p.place)
        kinds = {p.claim.document for p in parts}
        self.kinds = kinds
        self.documents = {p.recorded.evidence_sha256 for p in parts}
        self.numbers = {p.number for p in parts if p.number and not has_own_number(p.claim)}
        self.weak_numbers = {p.number for p in parts if p.number} - self.numbers
        self.payment_numbers = {number_key(p.claim.payment_number) for p in parts if p.claim.payment_number}
        self.roots = sorted({p.root for p in parts if p.root})
        self.known_shop = any(p.known_shop for p in parts)
        self.names = sorted({p.claim.seller for p in parts if p.claim.seller})
        self.days = sorted({p.day for p in parts if p.day and p.claim.document not in FOLLOW_UPS}) or sorted(
            {p.day for p in parts if p.day}
        )
        self.amounts = {
            (p.claim.currency, amount)
            for p in parts
            for amount in (p.claim.total, p.claim.amount_due, p.claim.refund_amount)
            if amount is not None and p.claim.currency
        }
        self.titles = max((p.titles for p in parts), key=lambda t: (len(t), t), default=())
        self.only_payment = kinds <= {DocumentKind.PAYMENT}
        self.only_follow_up = kinds <= FOLLOW_UPS
        self.place = parts[0].place

    def gap(self, other: Cluster) -> int | None:
        """Fewest days between the documents of both, None where a day is unknown."""
        gaps = [abs((a - b).days) for a in self.days for b in other.days]
        return min(gaps, default=None)


@lru_cache(maxsize=65_536)
def number_key(number: str | None) -> str:
    """An order number in one spelling: no label, no blanks, no leading zeros; "" for none."""
    text = fold(number or "")
    text = _NUMBER_LABEL_RE.sub("", text, count=1)
    text = "".join(c for c in text if c.isalnum() or c in "-/").strip("-/")
    return text.lstrip("0") or text


def naming_of(claim: PurchaseClaim, item: ItemClaim | None = None) -> Naming:
    """The mention of a seller in a claim; a payment service's domain is not the seller's."""
    name = item.seller if item and item.seller else claim.seller
    foreign = claim.payee_only or claim.document is DocumentKind.PAYMENT or (item is not None and item.seller)
    return Naming(name=name, domain=None if foreign else claim.seller_domain)


def namings_of(claims: Sequence[RecordedClaim], notices: Sequence[RecordedNotice]) -> Iterator[Naming]:
    """Every mention of a seller in claims and notices."""
    for recorded in claims:
        if recorded.claim.document in IGNORED:
            continue
        yield naming_of(recorded.claim)
        yield from (naming_of(recorded.claim, item) for item in recorded.claim.items if item.seller)
    for recorded_notice in notices:
        notice = recorded_notice.notice
        yield Naming(name=notice.seller, domain=notice.domain)
        yield Naming(name=notice.succeeded_by, domain=notice.successor_domain)


def parts_of(claims: Sequence[RecordedClaim], groups: SellerGroups) -> Iterator[Part]:
    """What may become a purchase, one part for each seller of a claim."""
    for recorded in claims:
        if recorded.claim.document in IGNORED:
            continue
        for share, claim in _shares(recorded.claim):
            yield Part(
                recorded=recorded,
                claim=claim,
                share=share,
                root=(root := groups.root(naming_of(claim))),
                known_shop=root in groups.with_domain,
                number=number_key(claim.order_number),
                day=claim.purchased_on or recorded.dated,
                titles=tuple(item.title for item in claim.items),
            )


def _shares(claim: PurchaseClaim) -> Iterator[tuple[str, PurchaseClaim]]:
    """The claim cut by the sellers of its lines.  The total of a shared order is nobody's: it is left out."""
    keys = [name_key(item.seller) if item.seller else "" for item in claim.items]
    named = sorted({k for k in keys if k})
    if len(named) == 1 and all(keys):
        yield "", replace(claim, seller=claim.items[0].seller, seller_domain=None)
        return
    if len(named) < 2:
        yield "", claim
        return
    for key in sorted(set(keys)):
        items = tuple(item for item, k in zip(claim.items, keys) if k == key)
        yield (
            key or "-",
            replace(
                claim,
                seller=items[0].seller or claim.seller,
                seller_domain=claim.seller_domain if not key else None,
                items=items,
                total=None,
                amount_due=None,
                tax=None,
                shipping=None,
                discount=None,
                gift_card=None,
            ),
        )


def mentions_of(parts: list[Part], notices: Sequence[RecordedNotice]) -> Iterator[Mention]:
    """Every mention of a seller with its document, for the list of sellers."""
    for part in parts:
        yield Mention(
            naming=naming_of(part.claim),
            kind=part.claim.document,
            seq=part.recorded.seq,
            evidence_sha256=part.recorded.evidence_sha256,
        )
    for recorded in notices:
        yield Mention(
            naming=Naming(name=recorded.notice.seller, domain=recorded.notice.domain),
            kind=None,
            seq=recorded.seq,
            evidence_sha256=recorded.evidence_sha256,
        )


def united(clusters: list[Cluster], pairs: Iterable[tuple[Cluster, Cluster]]) -> list[Cluster]:
    """The clusters with each pair brought together, sorted by place."""
    groups: Groups[Place] = Groups()
    by_place = {c.place: c for c in clusters}
    for one, other in pairs:
        groups.union(one.place, other.place)
    gathered: dict[Place, list[Cluster]] = defaultdict(list)
    for place, cluster in by_place.items():
        gathered[groups.find(place)].append(cluster)
    out = [
        members[0] if len(members) == 1 else Cluster(parts=[p for c in members for p in c.parts])
        for members in gathered.values()
    ]
    return sorted(out, key=lambda c: c.place)


def apart(one: Cluster, other: Cluster) -> bool:
    """Whether two clusters cannot be one order even under one number: other goods, at another time or price."""
    if not one.titles or not other.titles or covers(*sorted((one.titles, other.titles), key=len, reverse=True)):
        return False
    gap = one.gap(other)
    differ = bool(one.amounts and other.amounts and not one.amounts & other.amounts)
    shared = {title_key(t) for t in one.titles} & {title_key(t) for t in other.titles}
    return not shared and ((gap is not None and gap > 7) or (differ and gap is not None and gap > 1))


def may_join(one: Cluster, other: Cluster) -> bool:
    """Nothing speaks against it: no document in common, no two order numbers, no two payments."""
    if one.documents & other.documents:
        return False
    for mine, theirs in ((one.numbers, other.numbers), (one.weak_numbers, other.weak_numbers)):
        if mine and theirs and not mine & theirs and not _same_goods_other_form(one, other):
            return False
    return not (one.payment_numbers and other.payment_numbers and not one.payment_numbers & other.payment_numbers)


def _same_goods_other_form(one: Cluster, other: Cluster) -> bool:
    """Two numbers of unlike form for the same goods, sum and day: one is a document's own number.

    A shop numbers its orders in one form; two orders of one day would have numbers of that form.
    """
    if not one.titles or sorted(map(title_key, one.titles)) != sorted(map(title_key, other.titles)):
        return False
    if not one.amounts & other.amounts or one.gap(other) != 0:
        return False
    mine, theirs = ({_form(n) for n in c.numbers | c.weak_numbers} for c in (one, other))
    return not mine & theirs


def _form(number: str) -> str:
    """The form of a number: "SB-559773" and "SB-1" are alike, "3401-6515" is another."""
    return re.sub(r"[^\W\d_]+", "a", re.sub(r"\d+", "9", number))


def titles_agree(one: Cluster, other: Cluster) -> bool:
    """Whether each title of the shorter list finds its own in the longer."""
    larger, smaller = sorted((one.titles, other.titles), key=len, reverse=True)
    return bool(smaller) and covers(larger, smaller)


def alike_names(one: Cluster, other: Cluster) -> bool:
    """Whether a name of one may be that of the other's seller."""
    if one.known_shop and other.known_shop:
        return False  # two shops with domains of their own are two, however alike their names
    return any(alike(a, b) for a in one.names for b in other.names)
