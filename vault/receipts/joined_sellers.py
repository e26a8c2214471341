"""Sellers out of everything said about them: one row for each group of names, with what its notices announce.

Strategy: the name shown is the one that the best documents use most; all others are kept beside it.  Notices count in
the order of their days, the last word stands.  A notice sent from a look-alike of the shop's known domain changes
nothing, for the name in it proves nothing; it is told as what it is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from hashlib import sha256

from vault.model.evidence import DocumentKind, FieldSource, RecordedNotice, SellerNotice
from vault.model.purchase import Joined, JoinedSource, Purchase, Seller
from vault.receipts.seller_names import (
    Naming,
    SellerGroups,
    alike,
    domain_key,
    fits_domain,
    looks_like_domain,
    misspells,
    name_key,
)

_NAMED_BY: dict[DocumentKind, int] = {
    DocumentKind.ORDER: 4,
    DocumentKind.INVOICE: 3,
    DocumentKind.HISTORY: 3,
    DocumentKind.DOWNLOAD: 3,
    DocumentKind.PAYMENT: 1,
}


@dataclass(frozen=True, kw_only=True)
class Mention:
    """A seller named in a recorded document: by a claim (with its kind) or by a notice (kind None)."""

    naming: Naming
    kind: DocumentKind | None
    seq: int
    evidence_sha256: str


@dataclass(kw_only=True)
class _Known:
    """What is known of one group while it is gathered."""

    names: dict[str, int] = field(default_factory=dict)
    domains: set[str] = field(default_factory=set)
    seen: dict[str, list[tuple[int, str]]] = field(default_factory=dict)  # domain -> seq and digest of its receipts
    first: tuple[int, str, str] | None = None  # seq, digest, name of the first mention
    claimed: bool = False


def build_sellers(
    purchases: Iterable[tuple[Purchase, str | None]],
    mentions: Sequence[Mention],
    notices: Sequence[RecordedNotice],
    groups: SellerGroups,
) -> Joined:
    """Purchases with their sellers set, and all sellers.  `purchases` come with the group of their seller."""
    known = _gather(mentions, groups)
    rows = {root: _row(root, facts, groups) for root, facts in known.items()}
    for announcing, said in _by_root(notices, groups).items():
        if announcing in rows:
            rows[announcing] = _announced(rows[announcing], said, known[announcing], rows, groups)
    out: list[Purchase] = []
    used: set[str] = set()
    for purchase, root in purchases:
        seller = rows.get(root) if root else None
        if seller is not None and root is not None:
            used.add(root)
            purchase = replace(purchase, seller_id=seller.id, seller=_shown(purchase.seller, seller, known[root]))
        out.append(purchase)
    shown = [row for root, row in rows.items() if root in used or _says_something(row)]
    out.sort(key=lambda p: (p.purchased_on or date.max, p.id))
    return Joined(purchases=tuple(out), sellers=tuple(sorted(shown, key=lambda s: (s.name.casefold(), s.id))))


def _shown(own: str | None, seller: Seller, facts: _Known) -> str:
    """The name a purchase shows: its documents' own, unless that is only a lesser form of the seller's usual name."""
    if own is None or name_key(own) == name_key(seller.name):
        return seller.name
    lesser = facts.names.get(" ".join(own.split()), 0) < facts.names.get(seller.name, 0)
    return seller.name if lesser and alike(own, seller.name) else own


def _says_something(row: Seller) -> bool:
    return bool(row.words)


def _gather(mentions: Sequence[Mention], groups: SellerGroups) -> dict[str, _Known]:
    known: dict[str, _Known] = defaultdict(_Known)
    for mention in mentions:
        root = groups.root(mention.naming)
        if root is None:
            continue
        facts = known[root]
        name, domain = mention.naming.name or "", domain_key(mention.naming.domain or "")
        if domain and domain not in groups.shared_domains and groups.groups.find("d" + domain) == root:
            if mention.kind is not None:
                facts.domains.add(domain)
                facts.seen.setdefault(domain, []).append((mention.seq, mention.evidence_sha256))
                facts.claimed = True
            elif not facts.domains:
                facts.domains.add(domain)
        if name_key(name):
            spelling = " ".join(name.split())
            weight = _NAMED_BY.get(mention.kind, 1) if mention.kind else 1
            facts.names[spelling] = facts.names.get(spelling, 0) + weight
        first = (mention.seq, mention.evidence_sha256, name or domain)
        if facts.first is None or first[:2] < facts.first[:2]:
            facts.first = first
    return dict(known)


def _row(root: str, facts: _Known, groups: SellerGroups) -> Seller:
    name = _best_name(facts)
    others = sorted({n for n in facts.names if n != name})
    first = name_key(facts.first[2]) if facts.first else root
    return Seller(
        id="s" + sha256(first.encode()).hexdigest()[:12],
        name=name,
        also_known_as=tuple(others),
        domains=tuple(sorted(facts.domains)),
        doubted=tuple(_misspelt(facts)),
    )


def _misspelt(facts: _Known) -> Iterator[JoinedSource]:
    """A receipt from a domain that is the shop's usual one but for a letter: it counts, but is told as what it is."""
    usual = sorted(facts.seen, key=lambda d: (-len(facts.seen[d]), min(facts.seen[d])))
    for place, domain in enumerate(usual):
        imitated = next((own for own in usual[:place] if misspells(domain, own)), None)
        if imitated is not None:
            how = f"a receipt came from {domain}, which looks like {imitated} but is another address"
            source = FieldSource(field="look-alike", words=domain, how=how)
            yield JoinedSource(evidence_sha256=min(facts.seen[domain])[1], source=source)


def _best_name(facts: _Known) -> str:
    """The name used most by the documents that know best; one that fits the domain before one that does not."""
    if not facts.names:
        return next(iter(sorted(facts.domains)), "?")
    return max(
        sorted(facts.names),
        key=lambda n: (facts.names[n] * (2 if any(fits_domain(n, d) for d in facts.domains) else 1), -len(n)),
    )


def _by_root(notices: Sequence[RecordedNotice], groups: SellerGroups) -> dict[str, list[RecordedNotice]]:
    out: dict[str, list[RecordedNotice]] = defaultdict(list)
    for recorded in notices:
        notice = recorded.notice
        root = groups.root(Naming(name=notice.seller, domain=notice.domain))
        if root is not None:
            out[root].append(recorded)
    for said in out.values():
        said.sort(key=lambda r: (r.dated or date.min, r.evidence_sha256, repr(r.notice)))
    return out


def _announced(
    row: Seller, said: list[RecordedNotice], facts: _Known, rows: dict[str, Seller], groups: SellerGroups
) -> Seller:
    words: list[JoinedSource] = []
    for recorded in said:
        notice = recorded.notice
        imitated = _imitated(notice, facts)
        if imitated is not None:
            row = replace(row, doubted=(*row.doubted, _doubt(recorded, imitated)))
            continue
        if notice.status is not None:
            same = notice.status == row.status
            row = replace(
                row,
                status=notice.status,
                closes_on=notice.on or (row.closes_on if same or notice.status == "closed" else None),
            )
            if notice.status == "open":
                row = replace(row, closes_on=None)
            words.append(_words(recorded, "status"))
        successor = notice.succeeded_by or notice.successor_domain
        if successor:
            root = groups.root(Naming(name=notice.succeeded_by, domain=notice.successor_domain))
            other = rows.get(root) if root else None
            if other is not None and other.id == row.id:
                more = domain_key(notice.successor_domain or "")
                row = replace(row, domains=tuple(sorted({*row.domains, *([more] if more else [])})))
            elif notice.succeeded_by is None:  # the same shop under another address
                row = replace(row, domains=tuple(sorted({*row.domains, domain_key(successor) or successor})))
            else:
                row = replace(row, succeeded_by=other.name if other is not None else successor)
            words.append(_words(recorded, "succeeded_by"))
    return replace(row, words=tuple(dict.fromkeys(words)))


def _imitated(notice: SellerNotice, facts: _Known) -> str | None:
    """The domain of the shop's own receipts that the sender of a notice imitates."""
    domain = domain_key(notice.domain or "")
    if not domain or not facts.claimed or domain in facts.domains:
        return None
    return next((own for own in sorted(facts.domains) if looks_like_domain(domain, own)), None)


def _doubt(recorded: RecordedNotice, imitated: str) -> JoinedSource:
    how = f"sent from {recorded.notice.domain}, which looks like {imitated} but is another address"
    source = FieldSource(field="look-alike", words=recorded.notice.words, how=how)
    return JoinedSource(evidence_sha256=recorded.evidence_sha256, source=source)


def _words(recorded: RecordedNotice, name: str) -> JoinedSource:
    return JoinedSource(
        evidence_sha256=recorded.evidence_sha256,
        source=FieldSource(field=name, words=recorded.notice.words, how="the shop's own words"),
    )
