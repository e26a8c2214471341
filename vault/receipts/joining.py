"""One order, one purchase: claims of all documents brought together.

Strategy, in stages from certain to likely; a later stage never undoes an earlier one, and what is ambiguous stays
apart:

1. A claim that names several sellers (a marketplace's mail) is cut into one claim for each.
2. *Certain*: the same seller and order number; the same number of a payment service; the same mail seen twice.
3. *Very likely*: the same order number with the same amount or day, where only the seller's name is read differently
   (a company's name, a payment service in between).
4. *Likely*: seller, amount, currency and day agree, and no other order could be meant: payment receipts, invoices
   that print their own number, pages and exports without numbers.  Same day first, then one, then three days apart.
5. A payment without goods and a download mail without a sum, if nothing else happened at that shop on those days.
6. *Follow-ups* without a number (files are ready, refund, shipped) go to the one order of the seller that holds their
   titles or amount.
7. *One payment for all* orders of a marketplace's mail is evidence of each of them.

Two different order numbers of one seller are never joined, nor two claims of one document unless they name the same
number.  Everything is looked up in buckets (seller and amount, seller and title), sorted by day: near-linear.  The
outcome does not depend on the order of arrival; ids come from the claim recorded first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from vault.model.evidence import DocumentKind, RecordedClaim, RecordedNotice
from vault.model.purchase import Joined, Purchase
from vault.receipts.clusters import (
    Cluster,
    Part,
    Place,
    alike_names,
    apart,
    may_join,
    mentions_of,
    namings_of,
    number_key,
    parts_of,
    titles_agree,
    united,
)
from vault.receipts.joined_sellers import build_sellers
from vault.receipts.merging import is_purchase, merge
from vault.receipts.pairing import MANY, likely_pairs
from vault.receipts.seller_names import group_sellers
from vault.receipts.standing import believed, with_doubts
from vault.receipts.title_likeness import covers, title_core, title_key

_STAGES = (0, 1, 3)  # days between two documents of one order that carry its amount
_FOLLOWS_WITHIN = 180  # days after an order in which a payment service pays its sum back
_SHORT_NUMBER = 4  # an order number of fewer characters is no evidence across sellers


def join(
    claims: Sequence[RecordedClaim], notices: Sequence[RecordedNotice], same: Sequence[tuple[str, str]] = ()
) -> Joined:
    """All purchases and sellers that the claims and notices prove; `same` are names that she says are one shop's.

    The same claims in another order give the same purchases; only ids follow the order of recording (`seq`).
    """
    claims, doubts = believed(claims)
    groups = group_sellers(namings_of(claims, notices), same)
    parts = list(parts_of(claims, groups))
    clusters = _certain(parts)
    clusters = _across_sellers(clusters)
    clusters = _twins(clusters)
    for days in _STAGES:
        clusters = united(clusters, likely_pairs(clusters, days))
    clusters = united(clusters, _neighbours(clusters))
    clusters = _follow_ups(clusters)
    clusters, shared = _sums(clusters)
    merged: list[tuple[Purchase, str | None]] = []
    for cluster in clusters:
        said = [(p.recorded, p.claim, p.share) for p in cluster.parts]
        if is_purchase(said):
            purchase = merge(said)
            more = shared.get(cluster.place, ())
            purchase = replace(purchase, evidence=tuple(dict.fromkeys([*purchase.evidence, *more])))
            merged.append((purchase, _root_of(cluster, purchase.seller)))
    told = with_doubts([purchase for purchase, _ in merged], doubts)
    merged = [(purchase, root) for purchase, (_, root) in zip(told, merged)]
    return build_sellers(merged, list(mentions_of(parts, notices)), notices, groups)


def _root_of(cluster: Cluster, seller: str | None) -> str | None:
    """The seller's group of a purchase: that of the claims that say the chosen name."""
    own = sorted({p.root for p in cluster.parts if p.root and p.claim.seller == seller})
    candidates = own or cluster.roots
    return candidates[0] if candidates else None


# --- the stages -------------------------------------------------------------------------------


def _certain(parts: list[Part]) -> list[Cluster]:
    """Stage 2, and the guard against a shop that began to count anew."""
    singles = sorted((Cluster(parts=[p]) for p in parts), key=lambda c: c.place)
    numbered: dict[tuple[str, str], list[Cluster]] = defaultdict(list)
    buckets: dict[Hashable, list[Cluster]] = defaultdict(list)
    for cluster in singles:
        part = cluster.parts[0]
        if part.number and part.root:
            numbered[part.root, part.number].append(cluster)
        if len(key := number_key(part.claim.payment_number)) >= 6:
            buckets["payment", key].append(cluster)
        if part.recorded.message_id:
            buckets["mail", part.recorded.message_id, part.recorded.index, part.share, part.number].append(cluster)
    pairs: list[tuple[Cluster, Cluster]] = []
    for members in numbered.values():
        for era in _eras(members):
            pairs += [(era[0], other) for other in era[1:]]
    for members in buckets.values():
        pairs += [(members[0], other) for other in members[1:] if _same_payment(members[0], other)]
    return united(singles, pairs)


def _same_payment(one: Cluster, other: Cluster) -> bool:
    """Whether one payment number, or one mail, means one order: a shop's own number may stand on every receipt."""
    differ = bool(one.amounts and other.amounts and not one.amounts & other.amounts)
    gap = one.gap(other)
    return may_join(one, other) and not differ and (gap is None or gap <= 31)


def _eras(members: list[Cluster]) -> list[list[Cluster]]:
    """Claims with one seller and number, cut where they cannot be one order.

    A number comes back when a shop changes its program, or where a membership has one number: then the goods differ
    and so do the amounts or the days.  Follow-ups go to the latest order before them.
    """
    orders = sorted((m for m in members if not m.only_follow_up), key=lambda c: (c.days[:1] or [date.min], c.place))
    eras: list[list[Cluster]] = []
    for member in orders:
        home = next((era for era in eras if not any(apart(member, other) for other in era)), None)
        if home is None:
            eras.append([member])
        else:
            home.append(member)
    for member in members:
        if member.only_follow_up:
            if not eras:
                eras.append([])
            day = member.days[0] if member.days else date.max
            before = [era for era in eras if not era or not era[0].days or era[0].days[0] <= day]
            titled = [era for era in before if any(covers(o.titles, member.titles) for o in era if member.titles)]
            (titled or before or eras)[-1].append(member)
    return [era for era in eras if era]


def _across_sellers(clusters: list[Cluster]) -> list[Cluster]:
    """Stage 3: one number, read with two names of a seller or with none."""
    buckets: dict[str, list[Cluster]] = defaultdict(list)
    for cluster in clusters:
        for number in cluster.numbers | cluster.weak_numbers:
            buckets[number].append(cluster)
    pairs = []
    for number, members in buckets.items():
        for k, one in enumerate(members[:50]):
            for other in members[k + 1 : 50]:
                if one.documents & other.documents or apart(one, other):
                    continue
                gap = one.gap(other)
                amount = bool(one.amounts & other.amounts)
                follows = one.only_follow_up != other.only_follow_up and len(number) > _SHORT_NUMBER
                near = gap is not None and gap <= (_FOLLOWS_WITHIN if follows else 3)
                named = not one.roots or not other.roots or alike_names(one, other)
                alone = len(members) == 2 and len(number) > _SHORT_NUMBER  # no other document has this number
                if one.known_shop and other.known_shop and not named and _other_goods(one, other):
                    continue  # two shops that count alike
                if (named and (alone or amount or near or titles_agree(one, other))) or (
                    len(number) >= _SHORT_NUMBER and amount and near
                ):
                    pairs.append((one, other))
    return united(clusters, pairs)


def _other_goods(one: Cluster, other: Cluster) -> bool:
    """Whether both name what was bought, and not the same."""
    return bool(one.titles and other.titles) and not titles_agree(one, other)


def _twins(clusters: list[Cluster]) -> list[Cluster]:
    """Documents that say the very same of an order without a number: a page saved twice, a copy in two mailboxes.

    Equal lines of one document are different orders; the first of each document goes with the first of the others.
    """
    buckets: dict[Hashable, list[Cluster]] = defaultdict(list)
    for cluster in clusters:
        if cluster.roots and cluster.days and cluster.titles:
            titles = tuple(sorted(title_key(t) for t in cluster.titles))
            amounts = tuple(sorted((c or "", a) for c, a in cluster.amounts))
            buckets[cluster.roots[0], cluster.days[0], titles, amounts].append(cluster)
    pairs = []
    for members in buckets.values():
        if len(members) < 2:
            continue
        ranks: dict[int, list[Cluster]] = defaultdict(list)
        taken: dict[str, int] = defaultdict(int)
        numbered = [m for m in members if m.numbers]
        for n, member in enumerate(numbered):
            ranks[n].append(member)
            for document in member.documents:
                taken[document] = n + 1
        for member in (m for m in members if not m.numbers):
            rank = max((taken[document] for document in member.documents), default=0)
            ranks[rank].append(member)
            for document in member.documents:
                taken[document] = rank + 1
        if len(numbered) > 1 and len(ranks[0]) + len(ranks[1]) > 2 and max(taken.values()) < len(numbered):
            continue  # which of several orders an unnumbered document repeats cannot be told
        pairs += [(same[0], other) for same in ranks.values() for other in same[1:] if may_join(same[0], other)]
    return united(clusters, pairs)


def _neighbours(clusters: list[Cluster]) -> Iterator[tuple[Cluster, Cluster]]:
    """Stage 5: a payment that names no goods and a download mail that names no sum, alone on their days at one shop."""
    by_root: dict[str, list[tuple[date, Place, Cluster]]] = defaultdict(list)
    for cluster in clusters:
        for root in cluster.roots:
            by_root[root] += [(day, cluster.place, cluster) for day in cluster.days]
    for rows in by_root.values():
        rows.sort(key=lambda row: row[:2])
        for k, (day, _, one) in enumerate(rows):
            near = [c for d, _, c in rows[max(0, k - 9) : k + 10] if abs((d - day).days) <= 2 and c is not one]
            others = list({c.place: c for c in near}.values())
            if one.only_payment and not one.titles and len(others) == 1:
                other = others[0]
                gap = one.gap(other)
                if other.titles and not other.amounts and gap is not None and gap <= 1 and may_join(one, other):
                    yield one, other


def _sums(clusters: list[Cluster]) -> tuple[list[Cluster], dict[Place, tuple[str, ...]]]:
    """Stage 7: one payment for several orders of one mail (a marketplace) is evidence of each, no order of its own.

    The clusters without such payments, and the further evidence of the rest.
    """
    together: dict[str, list[Cluster]] = defaultdict(list)
    for cluster in clusters:
        if not cluster.only_payment and not cluster.only_follow_up:
            for document in cluster.documents:
                together[document].append(cluster)
    orders: dict[tuple[str | None, Decimal], list[list[Cluster]]] = defaultdict(list)
    for members in together.values():
        amounts = [next(iter(sorted(c.amounts, key=repr)), None) for c in members]
        if 2 <= len(members) <= MANY and None not in amounts and len({a[0] for a in amounts if a}) == 1:
            currency = next(a[0] for a in amounts if a)
            orders[currency, sum((a[1] for a in amounts if a), Decimal(0))].append(members)
    kept: list[Cluster] = []
    shared: dict[Place, list[str]] = defaultdict(list)
    for cluster in clusters:
        hits = [m for a in sorted(cluster.amounts, key=repr) for m in orders.get(a, ())] if cluster.only_payment else []
        hits = [m for m in hits if (gap := cluster.gap(m[0])) is not None and gap <= 1]
        if len(hits) == 1 and not cluster.numbers:
            for member in hits[0]:
                shared[member.place] += sorted(cluster.documents)
        else:
            kept.append(cluster)
    return kept, {place: tuple(documents) for place, documents in shared.items()}


def _follow_ups(clusters: list[Cluster]) -> list[Cluster]:
    """Stage 6: what comes after an order and names no number goes to the one order it can mean."""
    orders: dict[str, list[Cluster]] = defaultdict(list)
    by_title: dict[tuple[str, str], list[Cluster]] = defaultdict(list)
    for cluster in clusters:
        if cluster.only_follow_up and not (cluster.kinds == {DocumentKind.DOWNLOAD} and cluster.numbers):
            continue
        for root in cluster.roots:
            orders[root].append(cluster)
            for key in {title_core(t) for p in cluster.parts for t in p.titles}:
                by_title[root, key].append(cluster)
    for members in orders.values():
        members.sort(key=lambda c: (c.days[:1] or [date.min], c.place))
    pairs: list[tuple[Cluster, Cluster]] = []
    homeless: list[Cluster] = []
    for cluster in clusters:
        if cluster.only_follow_up and not cluster.numbers and cluster.roots:
            exact = [c for t in cluster.titles for c in by_title.get((cluster.roots[0], title_core(t)), [])]
            home = _home(cluster, list({c.place: c for c in exact}.values())) if exact else None
            home = home or _home(cluster, orders.get(cluster.roots[0], []))
            if home is not None:
                pairs.append((home, cluster))
            else:
                homeless.append(cluster)
    return united(clusters, [*pairs, *_sent_again(homeless)])


def _sent_again(clusters: list[Cluster]) -> list[tuple[Cluster, Cluster]]:
    """Download mails that name the same goods of one shop and belong to no known order: the same files, sent again."""
    buckets: dict[Hashable, list[Cluster]] = defaultdict(list)
    for cluster in clusters:
        if cluster.kinds == {DocumentKind.DOWNLOAD} and cluster.titles:
            buckets[cluster.roots[0], tuple(sorted(title_core(t) for t in cluster.titles))].append(cluster)
    return [(members[0], other) for members in buckets.values() for other in members[1:] if may_join(members[0], other)]


def _home(cluster: Cluster, candidates: list[Cluster]) -> Cluster | None:
    """The order that a follow-up means: by its titles or amount; of several the one just before it."""
    day = cluster.days[0] if cluster.days else None
    fitting: list[tuple[int, Cluster]] = []
    for order in reversed(candidates[-2_000:]):
        if order is cluster or order.documents & cluster.documents:
            continue
        after = (day - order.days[0]).days if day and order.days else 0
        if after < -1:
            continue
        if cluster.titles and order.titles:
            # Titles may be repeated years later (a new link, a new version); then they must all be there.
            fits = covers(order.titles, cluster.titles)
        elif cluster.amounts:
            fits = bool(cluster.amounts & order.amounts) and after <= 60
        else:
            fits = after <= 1  # nothing but the shop and the day
        if fits:
            fitting.append((after, order))
    if not fitting:
        return None
    fitting.sort(key=lambda row: (abs(row[0]), row[1].place))
    if len(fitting) > 1 and (fitting[0][0] == fitting[1][0] or not cluster.titles):
        return None
    if len(fitting) > 1 and fitting[0][0] > 3:
        return fitting[0][1] if cluster.kinds == {DocumentKind.DOWNLOAD} else None
    return fitting[0][1]
