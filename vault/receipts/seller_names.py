"""Who is the same seller: names and domains compared, and everything said about sellers brought into groups.

Strategy: two names are one if nothing but case, accents, punctuation and the legal form tells them apart.  A domain
binds the names that are used with it, unless it carries many unlike names: then it is a marketplace's or a mail
provider's and binds only the name it is called after.  A payee without a domain that is the bare core of exactly one
known shop's name is that shop.  Common practice of the trade, no published source.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Generic, TypeVar

from vault.language.folding import fold
from vault.receipts.mail_words import name_words_of

_LETTERS = str.maketrans({"ø": "o", "ł": "l", "æ": "ae", "ß": "ss", "đ": "d", "œ": "oe", "ı": "i"})
_WORD_RE = re.compile(r"[\w]+")
_DOMAIN_RE = re.compile(r"(?:[\w-]+\.)+[a-z]{2,24}\Z")
_LONG_LABEL = 7  # letters
_MANY_NAMES = 3  # unlike names on one domain that make it a marketplace's


@lru_cache(maxsize=65_536)
def name_words(name: str) -> tuple[str, ...]:
    """The words of a seller's name without accents, legal form and joining words."""
    text = fold(name)
    for phrase in name_words_of("form_phrases"):
        text = text.replace(phrase, " ")
    text = text.removeprefix("https://").removeprefix("http://").removeprefix("www.").rstrip("/")
    if _DOMAIN_RE.match(text):
        text = domain_label(text)
    text = unicodedata.normalize("NFKD", text.translate(_LETTERS))
    text = "".join(c for c in text if not unicodedata.combining(c)).replace("'", "").replace("’", "").replace("&", " ")
    words = _WORD_RE.findall(text.replace(".", ""))
    kept = [w for w in words if w not in name_words_of("joining")] or words
    while len(kept) > 1 and kept[-1] in name_words_of("forms"):
        kept.pop()
    return tuple(unicodedata.normalize("NFC", w) for w in kept)


@lru_cache(maxsize=65_536)
def name_key(name: str) -> str:
    """One spelling per seller: equal for names that differ in case, accents, blanks, punctuation, legal form."""
    return "".join(name_words(name))


@lru_cache(maxsize=65_536)
def core_key(name: str) -> str:
    """The name without the words of the trade ("Larch Patterns" -> "larch"); the whole key where nothing is left."""
    words = [w for w in name_words(name) if w not in name_words_of("trade")]
    return "".join(words) or name_key(name)


@lru_cache(maxsize=65_536)
def domain_key(domain: str) -> str:
    """A domain without the hosts that mails are sent from; "" for none."""
    labels = domain.casefold().strip().strip(".").split(".")
    while len(labels) > 2 and labels[0] in name_words_of("hosts"):
        labels = labels[1:]
    return ".".join(labels) if len(labels) > 1 else ""


@lru_cache(maxsize=65_536)
def domain_label(domain: str) -> str:
    """The speaking label of a domain: "larch-loom" for larch-loom.example and larch-loom.co.uk."""
    labels = domain_key(domain).split(".")
    if len(labels) > 2 and len(labels[-1]) == 2 and len(labels[-2]) <= 3:
        return labels[-3]
    return labels[-2] if len(labels) > 1 else ""


def alike(one: str, other: str) -> bool:
    """Whether two names may be one seller's: equal, or one is the other with words of the trade added."""
    first, second = name_key(one), name_key(other)
    if not first or not second:
        return False
    if first == second or core_key(one) == core_key(other):
        return True
    short, long = sorted((first, second), key=len)
    if len(short) >= 5 and long.startswith(short):
        return True
    words, others = set(name_words(one)), set(name_words(other))
    fewer = min(words, others, key=len)
    return words & others == fewer and any(len(w) >= 4 and w not in name_words_of("trade") for w in fewer)


def fits_domain(name: str, domain: str) -> bool:
    """Whether a name is that of a domain ("Larch & Loom", larchloom.example)."""
    label = name_key(domain_label(domain))
    key = name_key(name)
    return bool(label) and bool(key) and (label in (key, core_key(name)) or _begins(label, key))


def _begins(one: str, other: str) -> bool:
    short, long = sorted((one, other), key=len)
    return len(short) >= 5 and long.startswith(short)


def looks_like_domain(domain: str, known: str) -> bool:
    """Whether `domain` imitates `known`: nearly the same label, or the known label with something added."""
    if not domain or not known or domain_key(domain) == domain_key(known):
        return False
    one, other = name_key(domain_label(domain)), name_key(domain_label(known))
    if not one or not other or len(other) < 4:
        return False
    return one == other or other in one or one_apart(one, other)


def misspells(domain: str, known: str) -> bool:
    """Whether `domain` is `known` but for one letter of a label long enough that this is no accident."""
    one, other = name_key(domain_label(domain)), name_key(domain_label(known))
    return one != other and min(len(one), len(other)) >= _LONG_LABEL and one_apart(one, other)


def one_apart(one: str, other: str) -> bool:
    """One letter changed, added, left out, or two exchanged."""
    if abs(len(one) - len(other)) > 1:
        return False
    k = next((n for n, (a, b) in enumerate(zip(one, other)) if a != b), min(len(one), len(other)))
    tails = {one[k + 1 :] == other[k + 1 :], one[k:] == other[k + 1 :], one[k + 1 :] == other[k:]}
    swapped = one[k : k + 2] == other[k : k + 2][::-1] and one[k + 2 :] == other[k + 2 :]
    return True in tails or swapped


Key = TypeVar("Key", str, tuple[str, int, str])


class Groups(Generic[Key]):
    """Disjoint sets over keys of one kind; the root of a set does not depend on the order of the unions."""

    def __init__(self) -> None:
        self._parent: dict[Key, Key] = {}

    def find(self, key: Key) -> Key:
        """The representative of the set that holds `key`: its smallest member."""
        parent = self._parent
        root = parent.setdefault(key, key)
        while parent[root] != root:
            root = parent[root]
        while parent[key] != root:
            parent[key], key = root, parent[key]
        return root

    def union(self, one: Key, other: Key) -> None:
        """Make the sets of both keys one."""
        first, second = self.find(one), self.find(other)
        if second < first:
            first, second = second, first
        self._parent[second] = first


@dataclass(frozen=True, kw_only=True)
class Naming:
    """One mention of a seller: its name and the domain that goes with it (either may be missing)."""

    name: str | None
    domain: str | None


@dataclass(kw_only=True)
class SellerGroups:
    """All mentions in groups.  `root(naming)` is the group's key, None where nothing is said of the seller."""

    groups: Groups[str] = field(default_factory=Groups)
    shared_domains: frozenset[str] = frozenset()  # of marketplaces and mail providers: no identity
    with_domain: frozenset[str] = frozenset()  # groups that a domain belongs to

    def root(self, naming: Naming) -> str | None:
        """The group of a mention, by its name first, else by its domain."""
        if naming.name and name_key(naming.name):
            return self.groups.find("n" + name_key(naming.name))
        domain = domain_key(naming.domain or "")
        if domain and domain not in self.shared_domains:
            return self.groups.find("d" + domain)
        return None


def group_sellers(namings: Iterable[Naming], same: Iterable[tuple[str, str]] = ()) -> SellerGroups:
    """Groups of all mentions, the same whatever their order.  `same` are names that the person says are one shop's."""
    names_of: dict[str, set[str]] = defaultdict(set)
    spelled: dict[str, str] = {}
    for naming in namings:
        key = name_key(naming.name or "")
        if key:
            spelled[key] = min(spelled.get(key, naming.name or ""), naming.name or "")
        if domain := domain_key(naming.domain or ""):
            names_of[domain].add(key)
    groups: Groups[str] = Groups()
    shared: set[str] = set()
    for key in spelled:
        groups.find("n" + key)
    for domain, keys in names_of.items():
        named = sorted(k for k in keys if k)
        own = [k for k in named if fits_domain(spelled[k], domain)]
        if _unlike(named, spelled) >= _MANY_NAMES:
            if not own:
                shared.add(domain)
            named = own
        for key in named:
            groups.union("d" + domain, "n" + key)
        if not named and domain not in shared:
            groups.find("d" + domain)
    _bind_labels(groups, names_of, spelled, shared)
    _bind_cores(groups, spelled)
    for pair in same:
        ends = [end for name in pair if (end := _end_of(name, spelled, names_of, shared))]
        if len(ends) == 2:
            groups.union(*ends)
    known = frozenset(groups.find("d" + domain) for domain in names_of if domain not in shared)
    return SellerGroups(groups=groups, shared_domains=frozenset(shared), with_domain=known)


def _end_of(name: str, spelled: dict[str, str], names_of: dict[str, set[str]], shared: set[str]) -> str | None:
    """What a name that the person gave stands for: a name in the documents, else a domain; None if neither is there."""
    if (key := name_key(name)) in spelled:
        return "n" + key
    domain = domain_key(name)
    return "d" + domain if domain in names_of and domain not in shared else None


def _unlike(keys: list[str], spelled: dict[str, str]) -> int:
    """How many names of `keys` are unlike all before them."""
    kept: list[str] = []
    for key in keys[:200]:
        if not any(alike(spelled[key], spelled[other]) for other in kept):
            kept.append(key)
            if len(kept) >= _MANY_NAMES:
                break
    return len(kept)


def _bind_labels(groups: Groups[str], names_of: dict[str, set[str]], spelled: dict[str, str], shared: set[str]) -> None:
    """A name that is exactly the label of one domain goes with it ("Larch" and larch.example)."""
    by_label: dict[str, list[str]] = defaultdict(list)
    for domain in names_of:
        if domain not in shared:
            by_label[name_key(domain_label(domain))].append(domain)
    for key in spelled:
        for wanted in {key, core_key(spelled[key])}:
            domains = by_label.get(wanted, [])
            if len(domains) == 1 and len(wanted) >= 4:
                groups.union("n" + key, "d" + domains[0])


def _bind_cores(groups: Groups[str], spelled: dict[str, str]) -> None:
    """A bare name goes with the one longer name it is the core of."""
    by_core: dict[str, list[str]] = defaultdict(list)
    for key, name in spelled.items():
        if core_key(name) != key:
            by_core[core_key(name)].append(key)
    for core, keys in by_core.items():
        if core in spelled and len({groups.find("n" + key) for key in keys}) == 1 and len(core) >= 4:
            groups.union("n" + core, "n" + keys[0])
