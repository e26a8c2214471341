"""Which sellers are perhaps one shop under two names: proposed with reasons, never joined by it.

Strategy: pairs that share a word, a core, a domain's label, a mail address, a designer or a near spelling are weighed
by signs, each with its words; what speaks against it (two domains of unlike names) weighs too.  A pair is proposed from
`ENOUGH` on.  Two domains that look alike but for one letter veto it: so imitations are made.  Nor is a pair proposed of
which one carries on the other, or about which the person has said her word.  Common practice of the trade, no
published source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from vault.language.folding import fold
from vault.model.purchase import Seller
from vault.model.same_shop import PerhapsSame, SameShopWords
from vault.receipts.mail_words import name_words_of
from vault.receipts.seller_names import core_key, domain_label, name_key, name_words, one_apart

ENOUGH = 1.5
_CORE, _LABEL, _SPELLING, _NEAR_SPELLING, _WITHIN, _ADDRESS, _DESIGNER, _SELLS_HERS = (
    2.0,
    2.0,
    2.0,
    1.0,
    1.0,
    1.0,
    1.0,
    0.5,
)
_OTHER_DOMAIN = -0.5
_LONG_NAME, _SHORT_NAME = 8, 5  # letters from which one wrong letter tells much, or something
_LEAST_WORD = 4
_MOST_SHARING = 20  # sellers that share a sign, beyond which it tells nothing
_STOCKISTS = 2  # a designer sold by, or an address that writes for, more shops than this is no sign


@dataclass(frozen=True)
class _Known:
    """A seller with all its names and what was bought there, made ready to compare."""

    seller: Seller
    names: tuple[str, ...]
    labels: frozenset[str]
    designers: Mapping[str, str]  # folded -> as printed
    addresses: frozenset[str]


def perhaps_same(
    sellers: Sequence[Seller],
    designers: Mapping[str, Collection[str]],
    said: Iterable[SameShopWords] = (),
    *,
    writes_from: Mapping[str, Collection[str]] | None = None,
) -> tuple[PerhapsSame, ...]:
    """The pairs that are perhaps one shop.

    By seller id: `designers`, whose patterns were bought there; `writes_from`, the mail addresses that its receipts
    came from (hers left out).
    """
    written = writes_from or {}
    known = [_known(s, designers.get(s.id, ()), written.get(s.id, ())) for s in sellers]
    settled = {frozenset((w.one.casefold(), w.other.casefold())) for w in said}
    sold_by: dict[str, int] = defaultdict(int)
    for one in known:
        for sign in (*one.designers, *one.addresses):
            sold_by[sign] += 1
    few = {d for d, n in sold_by.items() if n <= _STOCKISTS}
    found = []
    for a, b in sorted(_pairs(known)):
        one, other = known[a], known[b]
        if _answered(one.seller, other.seller, settled) or _imitates(one, other):
            continue
        signs = list(_signs(one, other, few))
        if sum(weight for weight, _ in signs) >= ENOUGH:
            why = tuple(words for weight, words in signs if weight > 0)
            found.append(PerhapsSame(one=one.seller.id, other=other.seller.id, why=why))
    return tuple(found)


def _known(seller: Seller, designers: Collection[str], addresses: Collection[str]) -> _Known:
    named = {fold(d): d for d in designers if len(name_key(d)) >= _LEAST_WORD}
    labels = frozenset(name_key(domain_label(d)) for d in seller.domains) - {""}
    return _Known(
        seller, (seller.name, *seller.also_known_as), labels, named, frozenset(a.casefold() for a in addresses)
    )


def _pairs(known: Sequence[_Known]) -> set[tuple[int, int]]:
    """Places of sellers that have anything in common worth weighing."""
    shared: dict[tuple[str, str], set[int]] = defaultdict(set)
    for place, one in enumerate(known):
        for name in one.names:
            key = name_key(name)
            shared["core", core_key(name)].add(place)
            for word in name_words(name):
                if len(word) >= _LEAST_WORD and word not in name_words_of("trade"):
                    shared["word", word].add(place)
            if _SHORT_NAME <= len(key) <= 60:
                for n in range(len(key) + 1):  # equal after leaving out one letter each: one letter apart, or two
                    shared["near", key[:n] + key[n + 1 :]].add(place)
        for label in (*one.labels, *(core_key(n) for n in one.names), *(name_key(n) for n in one.names)):
            shared["label", label].add(place)
        for designer in one.designers:
            shared["designer", designer].add(place)
        for address in one.addresses:
            shared["address", address].add(place)
    return {
        pair for places in shared.values() if len(places) <= _MOST_SHARING for pair in combinations(sorted(places), 2)
    }


def _answered(one: Seller, other: Seller, settled: set[frozenset[str]]) -> bool:
    """Whether she has said her word about the two, or one of them carries on the other."""
    names = [{n.casefold() for n in (s.name, *s.also_known_as, *s.domains)} for s in (one, other)]
    if any((one.succeeded_by or "").casefold() == n for n in names[1]):
        return True
    if any((other.succeeded_by or "").casefold() == n for n in names[0]):
        return True
    return any(frozenset((a, b)) in settled for a in names[0] for b in names[1])


def _imitates(one: _Known, other: _Known) -> bool:
    return any(a != b and one_apart(a, b) for a in one.labels for b in other.labels)


def _signs(one: _Known, other: _Known, few: Collection[str]) -> Iterator[tuple[float, str]]:
    """Each sign once, with its weight and its words."""
    yield from _best(_names(a, b) for a in one.names for b in other.names)
    common = sorted(one.labels & other.labels)
    if common:
        yield _LABEL, f"their domains differ only in the ending ({common[0]})"
    elif one.labels and other.labels:
        yield _OTHER_DOMAIN, ""
    for first, second in ((one, other), (other, one)):
        if not common and any(core_key(n) in second.labels or name_key(n) in second.labels for n in first.names):
            yield _LABEL, f"the domain of {second.seller.name} is called after {first.seller.name}"
    written = sorted(one.addresses & other.addresses & set(few))
    if written:  # alone too little: a payment service writes for many shops, of which she may know two
        yield _ADDRESS, f"both write from {written[0]}"
    designers = sorted(set(one.designers) & set(other.designers) & set(few))
    if designers:
        yield _DESIGNER, f"both sell patterns by {one.designers[designers[0]]}"
    for first, second in ((one, other), (other, one)):
        own = {core_key(n) for n in second.names}
        hers = [d for d in first.designers.values() if core_key(d) in own]
        if hers:
            yield _SELLS_HERS, f"{first.seller.name} sells patterns by {hers[0]}"


def _best(signs: Iterable[tuple[float, str]]) -> Iterator[tuple[float, str]]:
    best = max(signs, key=lambda s: s[0], default=(0.0, ""))
    if best[0] > 0:
        yield best


def _names(one: str, other: str) -> tuple[float, str]:
    """How alike two names are."""
    first, second = name_key(one), name_key(other)
    words, others = set(name_words(one)), set(name_words(other))
    if not first or not second:
        return 0.0, ""
    if words == others:
        return _CORE, f"{one} and {other} are the same words"
    if core_key(one) == core_key(other) and len(core_key(one)) >= _LEAST_WORD:
        return _CORE, f"{one} and {other} differ only in words of the trade"
    shortest = min(len(first), len(second))
    if one_apart(first, second) and shortest >= _SHORT_NAME:
        weight = _SPELLING if shortest >= _LONG_NAME else _NEAR_SPELLING
        return weight, f"{one} and {other} are one letter apart"
    fewer, more = sorted((words, others), key=len)
    telling = [w for w in fewer if len(w) >= _LEAST_WORD and w not in name_words_of("trade")]
    if fewer < more and telling:
        return _WITHIN, f"one name is part of the other ({one}, {other})"
    return 0.0, ""
