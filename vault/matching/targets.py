"""The bought side, made ready: what a file can be matched to.

An item is one target; a bundle whose receipt names what is in it is one more for each of these.  Everything that is
known of an item's purchase and seller is folded into its targets here, once, so that weighing a pair is cheap.
"""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from urllib.parse import parse_qsl, urlsplit

from vault.matching import sizes as size_ranges
from vault.matching.bundles import members
from vault.matching.keys import code_key, squash
from vault.matching.makers import MakerName, by_first_word, makers, name_words, same_maker
from vault.matching.parts import Promise, promises
from vault.matching.sizes import SizeRange
from vault.matching.taught import NOTHING, Taught
from vault.matching.title import Title, informative, parse
from vault.matching.words import FORMATS
from vault.model.match import MatchItem

_LEAST_CODE = 4  # signs of an order number or product code that is looked for in names
_LEAST_ID = 8  # signs of a part of an URL that can stand for one file
_USED_BY_MANY = 0.6  # share of a designer's titles from which a word tells little
_FEW_TITLES = 4
_FEWEST = 30  # titles below which a word is not called common
_LITTLE = 0.35  # weight of such a word
LEAST_RARITY = 0.6  # of any other
_YEAR_RE = re.compile(r"(?:19|20)\d\d")
_DIGITS_RE = re.compile(r"\d{2,}")
_BEFORE_DIGITS = 6  # signs of a code before its digits
_AFTER_DIGITS = 2
_CODE_WORD_RE = re.compile(r"[A-Z]{1,5}[-_ ]?\d{2,6}(?:[A-Z](?![A-Z]))?|\d{4,9}", re.IGNORECASE)
_NOTHING: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Target:
    """What a file may be: an item, or a member of a bundle (`member`: as the receipt names it)."""

    place: int
    source: MatchItem
    member: str | None
    text: str
    title: Title
    product: tuple[object, ...]
    makers: tuple[MakerName, ...]
    ignore: frozenset[str]  # words of the makers' names
    named_makers: frozenset[str]  # those of makers whose whole name stands in the title
    code: str
    taught_makers: tuple[MakerName, ...]  # other names that her answers taught
    taught_codes: frozenset[str]
    orders: frozenset[str]
    alone: bool
    links: frozenset[str]
    shared_links: frozenset[str]
    hosts: frozenset[str]
    sizes: tuple[SizeRange, ...]
    languages: frozenset[str]
    crafts: frozenset[str]
    formats: frozenset[str]  # kinds of file that the receipt promises
    day: date | None
    paid: bool

    @property
    def item_id(self) -> str:
        """The id of the item."""
        return self.source.item.id


@dataclass(frozen=True, slots=True)
class Bought:
    """All targets with what is common to them."""

    items: tuple[MatchItem, ...]  # ordered by id
    targets: tuple[Target, ...]
    of_item: dict[str, tuple[int, ...]]  # places of an item's targets, its own first
    promised: dict[str, tuple[Promise, ...]]
    rarity: dict[str, float]
    orders: frozenset[str]  # every order number of the vault
    purchases_of: dict[str, frozenset[str]]  # order number -> purchases
    hosts: dict[str, frozenset[str]]  # site -> item ids whose seller it is
    own_sites: frozenset[str]  # sites of sellers that sell their own patterns
    makers: tuple[MakerName, ...]  # every designer and seller of the vault
    maker_starts: dict[str, tuple[MakerName, ...]]  # the same by their first words


def link_keys(url: str) -> frozenset[str]:
    """What an URL can be recognised by: the whole of it without its scheme, and its host with a long id in it."""
    try:
        split = urlsplit(url.strip())
    except ValueError:
        return frozenset()
    site = host(url)
    if not site:
        return frozenset()
    path = split.path.rstrip("/")
    keys = {f"{site}{path}?{split.query}"} if split.query or path.count("/") > 1 else set()
    pieces = [*path.split("/"), *(v for _, v in parse_qsl(split.query))]
    keys |= {f"{site}#{p}" for p in pieces if len(p) >= _LEAST_ID and any(c.isdigit() for c in p) and "." not in p}
    return frozenset(keys)


def host(url: str) -> str:
    """The site of an URL, without `www.`; empty where there is none."""
    try:
        name = urlsplit(url.strip()).hostname or ""
    except ValueError:
        return ""
    return name.lower().removeprefix("www.")


def can_be_held(source: MatchItem) -> bool:
    """Whether the item can be a file at all: not in the post, and not known to be no pattern."""
    return source.item.digital is not False and source.item.craft_pattern is not False


def prepare(items: Iterable[MatchItem], taught: Taught = NOTHING) -> Bought:
    """Makes the bought side ready.  The order of `items` does not matter."""
    ordered = tuple(sorted(items, key=lambda m: m.item.id))
    promised = {m.item.id: _promised(m) for m in ordered}
    in_order: Counter[str] = Counter(m.purchase.id for m in ordered if can_be_held(m))
    links_of: dict[str, set[str]] = defaultdict(set)
    for m in ordered:
        for link in m.item.links:
            for k in link_keys(link.url):
                links_of[k].add(m.item.id)
    targets: list[Target] = []
    of_item: dict[str, tuple[int, ...]] = {}
    hosts: dict[str, set[str]] = defaultdict(set)
    purchases_of: dict[str, set[str]] = defaultdict(set)
    for m in ordered:
        for k in _orders(m):
            purchases_of[k].add(m.purchase.id)
        for site in _hosts(m):
            hosts[site].add(m.item.id)
        if not can_be_held(m):
            of_item[m.item.id] = ()
            continue
        first = len(targets)
        targets.append(_target(len(targets), m, None, in_order, links_of, taught))
        for p in promised[m.item.id]:
            if p.member is not None:
                targets.append(_target(len(targets), m, p.words, in_order, links_of, taught))
        of_item[m.item.id] = tuple(range(first, len(targets)))
    own_pattern = {m.item.id: _by_its_seller(m) for m in ordered}
    everyone = tuple(dict.fromkeys(n for m in ordered for n in makers(_maker_names(m))))
    return Bought(
        items=ordered,
        targets=tuple(targets),
        of_item=of_item,
        promised=promised,
        rarity=_rarity(targets),
        orders=frozenset(k for m in ordered for k in _orders(m)),
        purchases_of={k: frozenset(v) for k, v in purchases_of.items()},
        hosts={k: frozenset(v) for k, v in hosts.items()},
        own_sites=frozenset(s for s, ids in hosts.items() if all(own_pattern[i] for i in ids)),
        makers=everyone,
        maker_starts=by_first_word(everyone),
    )


def _promised(source: MatchItem) -> tuple[Promise, ...]:
    """What the receipt promises; of a bundle whose members it does not name, those that its title names."""
    told = promises(source.item.promised)
    if any(p.member for p in told):
        return told
    return (*told, *promises(members(source.item.title)))


def _target(
    place: int,
    source: MatchItem,
    member: str | None,
    in_order: Counter[str],
    links_of: dict[str, set[str]],
    taught: Taught,
) -> Target:
    item, purchase = source.item, source.purchase
    text = member if member is not None else item.title
    title = parse(text)
    known = makers(_maker_names(source))
    options = [parse(o) for o in item.options] if member is None else []
    option_sizes = tuple(s for o in item.options for s in size_ranges.find(o)[0]) if member is None else ()
    languages = title.languages.union(*(o.languages for o in options))
    links = {k for link in item.links for k in link_keys(link.url)} if member is None else set()
    run = squash(text)
    by_maker = frozenset(c for m in known if m.run in run for w in m.words for c in parse(w).crafts)
    return Target(
        place=place,
        source=source,
        member=member,
        text=text,
        title=title,
        product=product(title, known),
        makers=known,
        ignore=_words_of(known),
        named_makers=_words_of(tuple(m for m in known if m.core <= title.keys)),
        code=code_key(item.product_code or "") if member is None else "",
        taught_makers=tuple(sorted({n for m in known for n in taught.makers.get(m.run, ())}, key=lambda n: n.whole)),
        taught_codes=taught.codes.get(item.id, _NOTHING) if member is None else _NOTHING,
        orders=_orders(source),
        alone=in_order[purchase.id] == 1 and member is None,
        links=frozenset(k for k in links if len(links_of[k]) == 1),
        shared_links=frozenset(k for k in links if len(links_of[k]) > 1) or _NOTHING,
        hosts=frozenset(_hosts(source)),
        sizes=title.sizes or option_sizes,
        languages=languages or _NOTHING,
        crafts=(title.crafts - by_maker) or _NOTHING,
        formats=frozenset(p for q in promises(item.promised) for p in q.parts if p.lower() in FORMATS) or _NOTHING,
        day=purchase.purchased_on,
        paid=bool(item.amount),
    )


@lru_cache(maxsize=1024)
def _words_of(known: tuple[MakerName, ...]) -> frozenset[str]:
    """The words of these names; the many items of one shop share one set."""
    return name_words(known)


def _maker_names(source: MatchItem) -> list[str | None]:
    names: list[str | None] = [source.item.designer, source.purchase.seller]
    for seller in (source.seller, source.successor):
        if seller is not None:
            names += [seller.name, *seller.also_known_as]
    return names


def _by_its_seller(source: MatchItem) -> bool:
    """Whether the receipt names the seller as the designer."""
    designer, seller = makers([source.item.designer]), makers([source.purchase.seller])
    return bool(designer and seller and same_maker(designer[0], seller[0]))


def _hosts(source: MatchItem) -> set[str]:
    domains = {d for s in (source.seller, source.successor) if s is not None for d in s.domains}
    return {d.lower().removeprefix("www.") for d in domains}


def _orders(source: MatchItem) -> frozenset[str]:
    keys = (code_key(n) for n in (source.purchase.order_number, source.purchase.payment_number) if n)
    return frozenset(k for k in keys if len(k) >= _LEAST_CODE and any(c.isdigit() for c in k))


def product(title: Title, known: Sequence[MakerName]) -> tuple[object, ...]:
    """What makes two targets one product: the same title, of the same kind, volume, sizes, language."""
    words = tuple(sorted(w.key for w in title.words)) if informative(title) else (title.squashed,)
    typed = (title.variants, title.volumes, title.years, title.sizes, title.parts, title.languages, title.crafts)
    return (words, *(tuple(sorted(map(str, t))) for t in typed))


def same_product(a: Target, b: Target) -> bool:
    """Whether two targets are the same pattern, bought twice or also in a bundle."""
    if a.product != b.product:
        return False
    return not a.makers or not b.makers or any(same_maker(x, y) for x in a.makers for y in b.makers)


def code_letters(code: str) -> str:
    """The letters a product code begins with."""
    return code[: next((n for n, c in enumerate(code) if c.isdigit()), len(code))]


def codes_in(text: str, *, most: int = 300) -> frozenset[str]:
    """What may be a product code or an order number in a name or text; years are none."""
    found = (code_key(code) for around in _around_digits(text[:most]) for code in _CODE_WORD_RE.findall(around))
    return frozenset(k for k in found if len(k) >= _LEAST_CODE and not _YEAR_RE.fullmatch(k))


def _around_digits(text: str) -> list[str]:
    """The stretches of `text` that may hold a code: digits with what stands close to them.  A long text has few."""
    out: list[str] = []
    start, end = 0, -1
    for m in _DIGITS_RE.finditer(text):
        first, last = m.span()
        if first - _BEFORE_DIGITS > end:
            if end > 0:
                out.append(text[start:end])
            start = max(0, first - _BEFORE_DIGITS)
        end = last + _AFTER_DIGITS
    return [*out, text[start:end]] if end > 0 else out


def _rarity(targets: Sequence[Target]) -> dict[str, float]:
    """How much each word of the vault's titles tells, 0.6 to 1: the fewer titles have it, the more.

    However many titles have a word, one that has it differs from one that has not; only a word that a designer puts on
    nearly everything tells little.  Titles that differ only in kind, volume or size count once.
    """
    seen: set[tuple[object, ...]] = set()
    titles: Counter[str] = Counter()
    by_maker: dict[str, Counter[str]] = defaultdict(Counter)
    of_maker: Counter[str] = Counter()
    for t in targets:
        who = t.makers[0].run if t.makers else ""
        identity = (tuple(sorted(w.key for w in t.title.words)), who)
        if identity in seen:
            continue
        seen.add(identity)
        keys = {w.key for w in t.title.words}
        titles.update(keys)
        by_maker[who].update(keys)
        of_maker[who] += 1
    total = math.log(max(len(seen), _FEWEST) + 2)
    rarity = {k: max(LEAST_RARITY, 1.0 - math.log(n) / total) for k, n in titles.items()}
    for who, counts in by_maker.items():
        if of_maker[who] >= _FEW_TITLES:
            for k, n in counts.items():
                if n >= _FEW_TITLES and n >= of_maker[who] * _USED_BY_MANY:
                    rarity[k] = min(rarity[k], _LITTLE)
    return rarity
