"""One pair, one target and one file: everything that speaks for or against it.

Each function looks at one kind of evidence and names what it finds by the table of weights; `weigh` adds it up.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from vault.matching import sizes as size_ranges
from vault.matching.filed import OWN, Filed, Voice
from vault.matching.keys import code_key
from vault.matching.likeness import HEAVY, NONE, Likeness, compare, kind_weight
from vault.matching.makers import MakerName, maker, one_of, same_maker
from vault.matching.parts import named
from vault.matching.targets import Bought, Target, code_letters
from vault.matching.title import Title, Word, informative
from vault.matching.weights import LIFTED, PROOFS, WEIGHTS, Weight
from vault.model.match import Reason

LEAST_SHARE = 0.5  # of an item's title for a voice to count as naming it
AGREES = 0.8  # from this share two voices agree
_SHORT = 1.2  # strength below which a title is a single word
_LONG_WORD = 8  # letters of a title of one word that is telling enough
_COMMON = 0.8  # strength below which a title has only common words
_PLACES = {
    "document": "title in the document",
    "heading": "title in a heading",
    "metadata": "title in the metadata",
    "line": "title on the pages",
    "name": "title in the file name",
    "folder": "title of the folder",
    "zip": "title of the zip",
}
_SECOND = {
    "document": "the document's title",
    "heading": "a heading",
    "metadata": "the metadata",
    "line": "a line on its pages",
    "name": "the file name",
    "folder": "the folder",
    "zip": "the zip",
}
_CONTENT = ("document", "heading", "metadata", "line")
# Kinds that shops also use for the ordinary product: they tell, but do not rule out.
SOFT_KINDS = frozenset({"free", "bundle", "maxi", "midi"})
_KIND_WORDS = {
    "kids": "for children", "baby": "for babies", "teen": "for teenagers", "men": "for men", "doll": "for dolls",
    "pet": "for pets", "plus": "in plus sizes", "petite": "for petite figures", "tall": "for tall figures",
    "maternity": "for maternity", "mini": "a mini version", "maxi": "a maxi version", "midi": "a midi version",
    "hack": "a hack pack", "addon": "an add-on", "bundle": "a bundle", "free": "free",
}  # fmt: skip
# A quilt is sewn: sheets of the one may read like those of the other.
_CLOTH = frozenset({"sewing", "quilting"})
_LEAST_MENTION = 6  # letters of a maker's name that is looked for in running text


@dataclass(slots=True)
class Evidence:
    """The evidence for one pair: names of weights with what fills their words, in the order found."""

    found: list[tuple[str, tuple[str, ...]]] = field(default_factory=list)
    own_share: float = 0.0  # of the title that the file itself names
    zip_names_it: bool = False  # the zip that it came in is named for the item
    common: bool = False  # the words that met are on many titles

    def add(self, name: str, *fill: str) -> None:
        """Notes one piece of evidence."""
        self.found.append((name, fill))

    def has(self, name: str) -> bool:
        """Whether this kind of evidence was found."""
        return any(n == name for n, _ in self.found)

    def points(self, weights: Mapping[str, Weight] = WEIGHTS) -> float:
        """The sum by the table."""
        return sum(weights[name].points for name, _ in self.found)

    def stops(self, weights: Mapping[str, Weight] = WEIGHTS) -> tuple[str, ...]:
        """What rules out an automatic link."""
        proven = any(name in PROOFS for name, _ in self.found)
        return tuple(name for name, _ in self.found if weights[name].stop and not (proven and name in LIFTED))

    def reasons(self, weights: Mapping[str, Weight] = WEIGHTS) -> tuple[Reason, ...]:
        """The evidence in plain words, what weighs most first."""
        made = [
            Reason(name=name, words=weights[name].words.format(*fill), weight=weights[name].points)
            for name, fill in self.found
        ]
        return tuple(sorted(made, key=lambda r: (-abs(r.weight), r.name, r.words)))


def weigh(target: Target, file: Filed, bought: Bought) -> Evidence:
    """All evidence that the pair shows by itself (what lies together is added later, see `together`)."""
    evidence = Evidence()
    heard = _hear(target, file, bought)
    _title(evidence, target, file, heard, bought)
    _kind(evidence, target, file, heard)
    _volume(evidence, target, file, heard)
    _sizes(evidence, target, file)
    _craft_language_part(evidence, target, file)
    _makers(evidence, target, file, bought)
    _order(evidence, target, file, bought)
    _code(evidence, target, file, bought)
    _link(evidence, target, file, bought)
    if evidence.common and not evidence.has("maker agrees") and not evidence.has("maker mentioned"):
        evidence.add("common title")
    if file.facts.is_pattern is False and file.unusable is None:
        evidence.add("not a pattern")
    return evidence


# ---- titles


def _hear(target: Target, file: Filed, bought: Bought) -> list[tuple[Voice, Likeness]]:
    return [
        (
            v,
            compare(
                target.title,
                _without_maker(v.title, target.makers),
                target.ignore,
                bought.rarity,
                ignore_missing=target.named_makers,
            ),
        )
        for v in file.voices
    ]


def _without_maker(title: Title, known: Iterable[MakerName]) -> Title:
    """The title without a maker's full name in it, so that `Clover Lane - dress` is no `Clover Dress`."""
    for m in known:
        if len(m.core) > 1 and m.core <= title.keys and any(w.key not in m.words for w in title.words):
            return replace(title, words=tuple(w for w in title.words if w.key not in m.words))
    return title


def _heavy(words: tuple[Word, ...], bought: Bought) -> list[Word]:
    return [w for w in words if kind_weight(w) * bought.rarity.get(w.key, 1.0) > HEAVY]


def _differs(like: Likeness, bought: Bought) -> bool:
    """Whether both sides have words of their own that tell: another product, however much they share."""
    if _heavy(like.missing, bought) and _heavy(like.extra, bought) and not (like.aside and like.missing_aside):
        return True
    return _other_garment(like) is not None


def _other_garment(like: Likeness) -> Word | None:
    """The file's garment where both sides name one and they do not meet: `Clover Dress` and `Clover Skirt`."""
    if not any(w.kind == "garment" for w in like.missing):
        return None
    return next((w for w in like.extra if w.kind == "garment"), None)


def _title(
    evidence: Evidence, target: Target, file: Filed, heard: list[tuple[Voice, Likeness]], bought: Bought
) -> None:
    said = [(v, k) for v, k in heard if k.share >= LEAST_SHARE and not _differs(k, bought)]
    agreeing = [v.kind for v, k in said if k.share >= AGREES and not (_heavy(k.extra, bought) and not k.aside)]
    _other_title(evidence, file, heard, bought, agreeing)
    if not agreeing:
        garment = next((g for v, k in heard if v.kind in OWN and k.share >= 0.4 and (g := _other_garment(k))), None)
        if garment:
            evidence.add("another garment", garment.key)
    if not said:
        return
    ranked = sorted(said, key=lambda e: (-_voice_points(e[0], e[1], bought), e[0].kind, e[0].text))
    best, like = ranked[0]
    evidence.zip_names_it = any(v.kind == "zip" for v, _ in said)
    evidence.own_share = max((k.share for v, k in said if v.kind in OWN), default=0.0)
    evidence.add(_PLACES[best.kind], best.text)
    _missing(evidence, target, like, heard, bought)
    _extra(evidence, best, like, bought)
    if best.kind != "document":
        told = next((k for v, k in said if v.kind == "document" and not k.aside and _heavy(k.extra, bought)), None)
        if told is not None:
            evidence.add("other word in the document", _heavy(told.extra, bought)[0].key)
    if like.nearly:
        evidence.add("spelled nearly alike", like.nearly)
    if like.translated:
        evidence.add("translated")
    second = next((k for k in agreeing if _place_class(k) != _place_class(best.kind)), None)
    if second:
        evidence.add("second place", _SECOND[second])
    if like.strength < _COMMON:
        evidence.common = True
    elif like.strength < _SHORT and _is_short(target.title) and best.kind not in ("document", "metadata"):
        evidence.add("short title")
    if best.kind in ("folder", "zip"):
        other = next((w for v, _ in heard if v.kind == "name" for w in _strange(v.title, target, bought)), None)
        if other:
            evidence.add("name says something else", other.key)
    if best.kind in _CONTENT:
        for voice, second_like in heard:
            if voice.kind == "name" and second_like.share > 0 and _heavy(second_like.extra, bought):
                evidence.add("other word in a second name", second_like.extra[0].key)
                break


def _is_short(title: Title) -> bool:
    return len(title.words) == 1 and len(title.words[0].key) < _LONG_WORD


def _strange(name: Title, target: Target, bought: Bought) -> list[Word]:
    """Words of a file's own name that tell, and that neither the item nor its maker has."""
    own = target.title.keys | target.ignore
    return [w for w in _heavy(name.words, bought) if w.key not in own and w.stem not in own] + [
        w for w in name.words if w.kind == "garment" and w.key not in own
    ]


def _place_class(kind: str) -> str:
    return "content" if kind in ("document", "heading", "line") else "around" if kind in ("folder", "zip") else kind


def _voice_points(voice: Voice, like: Likeness, bought: Bought) -> float:
    """What a voice is worth before everything else, to find the one that says it best."""
    points = WEIGHTS[_PLACES[voice.kind]].points
    points -= 3.0 * bool(_heavy(like.missing, bought)) + 0.8 * bool(like.missing)
    points -= (1.2 if like.aside else 3.0) * bool(_heavy(like.extra, bought)) + 0.4 * bool(like.extra)
    return points - 2.2 * bool(like.nearly) - 0.8 * like.translated


def _other_title(
    evidence: Evidence, file: Filed, heard: list[tuple[Voice, Likeness]], bought: Bought, agreeing: list[str]
) -> None:
    """The document's own title says something else, and nothing else in the document says this."""
    if "heading" in agreeing or "line" in agreeing:
        return
    for voice, like in heard:
        if voice.kind == "document" and (like.share < LEAST_SHARE or _differs(like, bought)):
            evidence.add("another title", voice.text)
            return


def _missing(
    evidence: Evidence, target: Target, like: Likeness, heard: list[tuple[Voice, Likeness]], bought: Bought
) -> None:
    """Words of the item that the best voice lacks, unless another voice has them."""
    elsewhere = {k for v, _ in heard for k in v.title.keys}
    absent = tuple(w for w in like.missing if w.key not in elsewhere and w.stem not in elsewhere)
    heavy = _heavy(absent, bought)
    if heavy and like.missing_aside:
        evidence.add("word aside missing", heavy[0].key)
    elif heavy:
        evidence.add("word of the item missing", heavy[0].key)
    elif absent:
        evidence.add("common word missing", absent[0].key)


def _extra(evidence: Evidence, best: Voice, like: Likeness, bought: Bought) -> None:
    """Words of the file that the item has not."""
    heavy = _heavy(like.extra, bought)
    if not like.extra:
        return
    in_name = best.kind in ("name", "folder", "zip")
    if heavy:
        name = (
            "other word in the name" if in_name else "other word aside" if like.aside else "other word in the document"
        )
        evidence.add(name, heavy[0].key)
    elif not like.aside:
        evidence.add("common word in the name" if in_name else "common word in the document", like.extra[0].key)


# ---- kind, volume, sizes, craft, language


def _own_titles(file: Filed, heard: list[tuple[Voice, Likeness]]) -> list[tuple[Title, Likeness]]:
    """What the file says of itself about this item: its names, its title, and other voices that name the item."""
    out = [
        (v.title, k) for v, k in heard if v.kind in OWN and (k.share >= LEAST_SHARE or v.kind in ("document", "name"))
    ]
    seen = {id(t) for t, _ in out}
    return out + [(t, NONE) for t in file.name_titles if id(t) not in seen and not informative(t)]


def _kind(evidence: Evidence, target: Target, file: Filed, heard: list[tuple[Voice, Likeness]]) -> None:
    own = _own_titles(file, heard)
    own_kinds = {v for t, k in own for v in t.variants | k.variants}
    in_content = {v for voice, k in heard if voice.kind in _CONTENT for v in voice.title.variants | k.variants}
    titled = any(v.kind == "document" and k.share >= AGREES for v, k in heard)
    every = own_kinds | {v for voice, k in heard for v in voice.title.variants | k.variants}
    every |= {v for t in _heading_titles(heard) for v in t.variants}
    for extra in sorted(own_kinds - target.title.variants):
        if extra == "free":
            continue
        if extra in SOFT_KINDS:
            evidence.add("common word in the name", _KIND_WORDS.get(extra, extra))
        elif extra in in_content or not titled:
            evidence.add("another kind", _KIND_WORDS.get(extra, extra))
        else:
            evidence.add("another kind in the name", _KIND_WORDS.get(extra, extra))
    for missing in sorted(target.title.variants - every):
        if missing in SOFT_KINDS:
            evidence.add("common word missing", _KIND_WORDS.get(missing, missing))
        else:
            evidence.add("kind not named", _KIND_WORDS.get(missing, missing))
    if "free" in every - target.title.variants and target.paid:
        evidence.add("free pattern")


def _heading_titles(heard: list[tuple[Voice, Likeness]]) -> list[Title]:
    return [v.title for v, _ in heard if v.kind in ("heading", "line")]


def _volume(evidence: Evidence, target: Target, file: Filed, heard: list[tuple[Voice, Likeness]]) -> None:
    own = _own_titles(file, heard)
    told = {n for t, k in own for n in t.volumes | k.volumes}
    around = {n for v, k in heard if v.kind in ("folder", "zip") for n in v.title.volumes}
    numbers = {n for t in file.name_titles for n in t.numbers}
    wanted = target.title.volumes
    if wanted:
        if wanted & told:
            evidence.add("volume agrees", " ".join(sorted(wanted)))
        elif told:
            evidence.add("another volume", " ".join(sorted(told)))
        elif wanted & (numbers | around):
            evidence.add("volume agrees", " ".join(sorted(wanted)))
        elif numbers:
            evidence.add("another volume", " ".join(sorted(numbers)))
        else:
            evidence.add("volume not named", " ".join(sorted(wanted)))
    else:
        in_content = {n for v, k in heard if v.kind in _CONTENT and k.share >= LEAST_SHARE for n in v.title.volumes}
        if in_content:
            evidence.add("a volume", " ".join(sorted(in_content)))
        elif told:
            evidence.add("a number in the name", " ".join(sorted(told)))
    months = {m for t, _ in own for m in t.months}
    if target.title.months and months and not months & target.title.months:
        evidence.add("another month")
    years = {y for t, k in own for y in t.years if k.share >= LEAST_SHARE}
    if target.title.years and years and not years & target.title.years:
        evidence.add("another year", " ".join(sorted(years)))


def _sizes(evidence: Evidence, target: Target, file: Filed) -> None:
    if not target.sizes:
        return
    if not file.sizes:
        evidence.add("sizes not named")
        return
    text = ", ".join(str(s) for s in file.sizes)
    names = {"same": "sizes agree", "inside": "sizes within", "contains": "sizes beyond", "other": "other sizes"}
    relation = size_ranges.compare(target.sizes, file.sizes)
    if relation:
        evidence.add(names[relation], text)


def _craft_language_part(evidence: Evidence, target: Target, file: Filed) -> None:
    craft, language = file.facts.craft, file.facts.language
    if craft and target.crafts and craft != "other":
        if craft in target.crafts:
            evidence.add("craft agrees", craft)
        elif not {craft, *target.crafts} <= _CLOTH:
            evidence.add("another craft", craft, ", ".join(sorted(target.crafts)))
    if target.languages and language:
        if language in target.languages:
            evidence.add("language agrees")
        else:
            evidence.add("another language", language)
    wanted = target.title.parts
    if wanted and file.parts and not wanted & file.parts and target.member is None:
        evidence.add("another part", ", ".join(map(named, sorted(wanted))), ", ".join(map(named, sorted(file.parts))))


# ---- makers, orders, codes, links


def _makers(evidence: Evidence, target: Target, file: Filed, bought: Bought) -> None:
    if not target.makers:
        return
    told = [m for m in file.makers if m.core - target.title.keys]
    buyer = maker(target.source.purchase.buyer_name or "")
    told = [m for m in told if buyer is None or not same_maker(m, buyer)]
    agreed = next((m for m in (*told, *file.authors) if one_of(m, target.makers)), None)
    name = target.source.item.designer or target.source.purchase.seller or ""
    if agreed is not None:
        evidence.add("maker agrees", name)
    elif (hers := next((m for m in told if one_of(m, target.taught_makers)), None)) is not None:
        evidence.add("maker that you told", file.facts.designer or hers.run, name)
    elif any(len(m.run) >= _LEAST_MENTION and m.run in file.mentions for m in target.makers):
        evidence.add("maker mentioned", name)
    elif told:
        known = target.source.item.designer and any(one_of(m, bought.makers) for m in told)
        evidence.add("another maker you know" if known else "another maker", file.facts.designer or "")


def _order(evidence: Evidence, target: Target, file: Filed, bought: Bought) -> None:
    stamp = file.facts.stamp
    if file.orders & target.orders:
        evidence.add("stamped for this order" if target.alone else "stamped for this order of several")
    elif file.orders & bought.orders and stamp is not None:
        evidence.add("stamped for another order", stamp.order_number or "")
    elif target.orders & file.text_codes and not file.orders:
        evidence.add("order number on its pages" if target.alone else "order of several on its pages")
    elif target.orders & (file.codes | file.folder_codes):
        evidence.add("order number in the name" if target.alone else "order of several in the name")
    buyer = maker(target.source.purchase.buyer_name or "")
    holder = maker(stamp.name) if stamp is not None and stamp.name else None
    if buyer and holder and not same_maker(buyer, holder):
        evidence.add("stamped for someone else", stamp.name if stamp and stamp.name else "")


def _code(evidence: Evidence, target: Target, file: Filed, bought: Bought) -> None:
    if taught := target.taught_codes & file.codes:
        evidence.add("code that you told", min(taught))
    if not target.code or len(target.code) < 3:
        return
    if target.code in file.codes:
        evidence.add("product code", target.code)
    elif target.code in file.folder_codes:
        evidence.add("product code of the folder", target.code)
    else:
        letters = code_letters(target.code)
        own = {code_key(file.facts.product_code)} if file.facts.product_code else file.codes
        other = sorted(c for c in own if letters and code_letters(c) == letters and c not in bought.orders)
        if other:
            evidence.add("another product code", other[0])


def _link(evidence: Evidence, target: Target, file: Filed, bought: Bought) -> None:
    if file.urls & target.links:
        evidence.add("download link")
        return
    if file.urls & target.shared_links:
        evidence.add("download link of several")
        return
    if any(_within(site, h) for site in file.sites for h in target.hosts):
        evidence.add("seller's site")
        return
    other = next((s for s in sorted(file.sites) if s in bought.hosts and target.item_id not in bought.hosts[s]), None)
    if other:
        evidence.add("another seller's site", other)


def _within(site: str, domain: str) -> bool:
    return site == domain or site.endswith("." + domain)
