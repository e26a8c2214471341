"""Stage 4 of joining: documents that agree in amount, day and seller, and could mean no other order.

Strategy: every two clusters that agree are partners.  Two that have no other partners are one order.  Of several
partners, all are one order if all agree with each other (a confirmation, its receipt and its invoice); n orders with n
equal receipts pair off one by one; what is still ambiguous stays apart.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterator
from datetime import date

from vault.model.evidence import DocumentKind
from vault.receipts.clusters import Cluster, Place, alike_names, may_join, titles_agree
from vault.receipts.seller_names import Groups
from vault.receipts.title_likeness import title_core

MANY = 40  # equal orders in one bucket, beyond which none are told apart
_SPAN = 3  # days over which all documents of one order lie at most
_Partners = dict[Place, dict[Place, Cluster]]


def likely_pairs(clusters: list[Cluster], days: int) -> Iterator[tuple[Cluster, Cluster]]:
    """Pairs to be made one, of documents at most `days` apart."""
    partners: _Partners = defaultdict(dict)
    groups: Groups[Place] = Groups()
    for members in _buckets(clusters):
        dated = sorted(((day, c.place, c) for c in members for day in c.days), key=lambda row: row[:2])
        for k, (day, _, one) in enumerate(dated):
            for later, _, other in dated[k + 1 : k + 1 + 5 * MANY]:
                if (later - day).days > days:
                    break
                if one is not other and _is_likely(one, other, (later - day).days):
                    partners[one.place][other.place] = other
                    partners[other.place][one.place] = one
                    groups.union(one.place, other.place)
    components: dict[Place, list[Cluster]] = defaultdict(list)
    for cluster in clusters:
        if cluster.place in partners:
            components[groups.find(cluster.place)].append(cluster)
    for component in components.values():
        if len(component) == 2 or (len(component) <= 8 and _all_agree(component)):
            yield from ((component[0], other) for other in component[1:])
        else:
            yield from _one_by_one(component, partners)


def _buckets(clusters: list[Cluster]) -> Iterator[list[Cluster]]:
    """Clusters with a common amount; and those with common titles, where one of them has no amount."""
    by_amount: dict[Hashable, list[Cluster]] = defaultdict(list)
    by_titles: dict[Hashable, list[Cluster]] = defaultdict(list)
    for cluster in clusters:
        if cluster.only_follow_up and DocumentKind.DOWNLOAD not in cluster.kinds:
            continue
        for amount in cluster.amounts:
            by_amount[amount].append(cluster)
        if cluster.titles and cluster.roots:
            by_titles[cluster.roots[0], tuple(sorted(title_core(t) for t in cluster.titles))].append(cluster)
    yield from by_amount.values()
    yield from (m for m in by_titles.values() if any(not c.amounts for c in m) and any(c.amounts for c in m))


def _all_agree(component: list[Cluster]) -> bool:
    """Whether every two of them could be one order, within a few days."""
    for k, one in enumerate(component):
        for other in component[k + 1 :]:
            gap = one.gap(other)
            if gap is None or gap > _SPAN or not _is_likely(one, other, gap):
                return False
    return True


def _one_by_one(component: list[Cluster], partners: _Partners) -> Iterator[tuple[Cluster, Cluster]]:
    """Pairs where each is the other's only partner; n orders with n equal receipts pair off by day."""
    done: set[Place] = set()
    for cluster in component:
        mine = partners[cluster.place]
        if cluster.place in done or len(mine) > MANY:
            continue
        others = [mine[place] for place in sorted(mine)]
        facing = partners[others[0].place]
        if len(facing) == len(others) and all(partners[o.place].keys() == facing.keys() for o in others):
            ones = [facing[place] for place in sorted(facing)]
            done |= {c.place for c in (*ones, *others)}
            yield from zip(sorted(ones, key=_by_day), sorted(others, key=_by_day))


def _by_day(cluster: Cluster) -> tuple[list[date], Place]:
    return (cluster.days, cluster.place)


def _is_likely(one: Cluster, other: Cluster, gap: int) -> bool:
    """Whether two clusters agree in all that is known of both: amount, goods, seller, kind."""
    if not may_join(one, other) or one.kinds & other.kinds & {DocumentKind.PAYMENT}:
        return False
    if one.amounts and other.amounts and not one.amounts & other.amounts:
        return False
    if not set(one.roots) & set(other.roots) and not alike_names(one, other):
        # A payee under the maker's own name, or no name at all: then the goods must be the same.
        unnamed = not one.roots or not other.roots or one.only_payment != other.only_payment
        if not unnamed or gap > 1 or not titles_agree(one, other):
            return False
    if one.titles and other.titles and not titles_agree(one, other):
        return False
    # Two documents of one kind, both without a number, on different days: bought twice.
    same_kind = bool(one.kinds & other.kinds - {DocumentKind.INVOICE})
    return not (gap and same_kind and not one.numbers and not other.numbers)
