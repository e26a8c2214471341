"""One pair, one target and one file: everything that speaks for or against it.

Each function looks at one kind of evidence and names what it finds by the table of weights; `weigh` adds it up.
"""

from __future__ import annotations

from vault.matching import sizes as size_ranges
from vault.matching.filed import OWN, Filed, Voice
from vault.matching.hearing import AGREES, CONTENT, LEAST_SHARE, Evidence, hear, weigh_titles
from vault.matching.keys import code_key, key
from vault.matching.likeness import NONE, Likeness
from vault.matching.makers import MakerName, maker, one_of, same_maker
from vault.matching.parts import named
from vault.matching.targets import Bought, Target, code_letters
from vault.matching.title import Title, informative, parse

# Kinds that shops also use for the ordinary product: they tell, but do not rule out.
SOFT_KINDS = frozenset({"free", "bundle", "maxi", "midi"})
_KIND_WORDS = {
    "kids": "for children", "baby": "for babies", "teen": "for teenagers", "men": "for men", "doll": "for dolls",
    "pet": "for pets", "plus": "in plus sizes", "petite": "for petite figures", "tall": "for tall figures",
    "maternity": "for maternity", "mini": "a mini version", "maxi": "a maxi version", "midi": "a midi version",
    "lined": "lined", "deluxe": "a larger edition", "lite": "a smaller edition",
    "hack": "a hack pack", "addon": "an add-on", "bundle": "a bundle", "free": "free",
}  # fmt: skip
# What may be another product or only praise of the same.
STYLES = frozenset({"lined", "deluxe", "lite"})
# A quilt is sewn: sheets of the one may read like those of the other.
_CLOTH = frozenset({"sewing", "quilting"})
_PICTURES = frozenset({"image", "video", "audio"})
_LEAST_MENTION = 6  # letters of a maker's name that is looked for in running text


def weigh(target: Target, file: Filed, bought: Bought) -> Evidence:
    """All evidence that the pair shows by itself (what lies together is added later, see `together`)."""
    evidence = Evidence()
    heard = hear(target, file, bought)
    weigh_titles(evidence, target, file, heard, bought)
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
    if file.unusable is None:
        _what_it_is(evidence, target, file)
    return evidence


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
    own_kinds = {v for t, k in own for v in t.variants | k.variants} - STYLES - {"about"}
    in_content = {v for voice, k in heard if voice.kind in CONTENT for v in voice.title.variants | k.variants}
    titled = any(v.kind == "document" and k.share >= AGREES for v, k in heard)
    telling = [(v, k) for v, k in heard if _tells_kind(v, k)]
    every = own_kinds | {n for v, k in telling for n in v.title.variants | k.variants}
    for extra in sorted(own_kinds - target.title.variants):
        if extra == "free":
            continue
        if extra in SOFT_KINDS:
            evidence.add("common word in the name", _KIND_WORDS.get(extra, extra))
        elif extra in in_content or not titled:
            evidence.add("another kind", _KIND_WORDS.get(extra, extra))
        else:
            evidence.add("another kind in the name", _KIND_WORDS.get(extra, extra))
    _styles(evidence, target, file, every)
    for missing in sorted(target.title.variants - every - STYLES - {"about"}):
        if missing in SOFT_KINDS:
            evidence.add("common word missing", _KIND_WORDS.get(missing, missing))
        else:
            evidence.add("kind not named", _KIND_WORDS.get(missing, missing))
    if "free" in every - target.title.variants and target.paid:
        evidence.add("free pattern")


def _tells_kind(voice: Voice, like: Likeness) -> bool:
    """A line of the text says many things (`clip the curve`): only one that names the item tells its kind."""
    if voice.kind == "line":
        return like.share >= LEAST_SHARE
    return voice.kind != "heading" or like.share > 0 or len(voice.title.words) <= 1


def _styles(evidence: Evidence, target: Target, file: Filed, every: set[str]) -> None:
    """`Lined version`, `deluxe`: as likely the same thing as another, so a question."""
    named = {v for t in (file.document, *file.name_titles) for v in t.variants}
    if file.about and evidence.own_share and "about" not in target.title.variants:
        evidence.add("about it", file.name)
    if missing := sorted(target.title.variants & STYLES - every):
        evidence.add("style not named", _KIND_WORDS[missing[0]])
    if extra := sorted(named & STYLES - target.title.variants):
        evidence.add("another style", _KIND_WORDS[extra[0]])


def _volume(evidence: Evidence, target: Target, file: Filed, heard: list[tuple[Voice, Likeness]]) -> None:
    own = _own_titles(file, heard)
    told = {n for t, k in own for n in t.volumes | k.volumes}
    if target.code and target.code in file.codes:
        told.discard(target.code[len(code_letters(target.code)) :].lstrip("0"))  # `NO-101` is a code, and no volume
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
        in_content = {n for v, k in heard if v.kind in CONTENT and k.share >= LEAST_SHARE for n in v.title.volumes}
        if in_content == {"1"}:
            evidence.add("a first volume")
        elif in_content:
            evidence.add("a volume", " ".join(sorted(in_content)))
        elif told:
            edition = any(t.editions for t in file.name_titles)
            titled = any(v.kind == "document" and k.share >= AGREES for v, k in heard)
            name = "a number in the name" if titled and not edition else "a volume in the name"
            evidence.add("another edition in the name" if edition else name, " ".join(sorted(told)))
    months = {m for t, _ in own for m in t.months}
    if target.title.months and months and not months & target.title.months:
        evidence.add("another month")
    years = {y for t, k in own for y in t.years if k.share >= LEAST_SHARE}
    if target.title.years and years and not years & target.title.years:
        evidence.add("another year", " ".join(sorted(years)))


def _sizes(evidence: Evidence, target: Target, file: Filed) -> None:
    if not target.sizes:
        return
    for t in (file.document, *file.name_titles):
        # What the titles say of sizes is the product; the sheets may show more.
        if target.title.sizes and t.sizes and size_ranges.compare(target.title.sizes, t.sizes) == "other":
            evidence.add("other sizes in the title", ", ".join(str(s) for s in t.sizes))
            break
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


def _what_it_is(evidence: Evidence, target: Target, file: Filed) -> None:
    """Whether the file can be a pattern at all: a bill has the order's number as well, and a photograph the title."""
    facts = file.facts
    kind = facts.media_type.partition("/")[0]
    if facts.is_pattern is False:
        evidence.add("not a pattern")
    elif facts.is_pattern is True:
        return
    elif kind in _PICTURES and not file.parts & target.formats:
        evidence.add("only a picture")
    elif facts.media_type == "application/zip":
        evidence.add("a zip not opened")
    elif not evidence.well_named and not file.parts - {"instructions"}:
        evidence.add("nothing shows a pattern")


# ---- makers, orders, codes, links


def _makers(evidence: Evidence, target: Target, file: Filed, bought: Bought) -> None:
    if not target.makers:
        return
    # A line of the pages may pass for the designer; one that says the title is none.
    told = [] if target.title.plain <= parse(file.facts.designer or "").plain else list(file.makers)
    buyer = maker(target.source.purchase.buyer_name or "")
    told = [m for m in told if buyer is None or not same_maker(m, buyer)]
    agreed = next((m for m in (*told, *file.authors) if one_of(m, target.makers)), None)
    name = target.source.item.designer or target.source.purchase.seller or ""
    if agreed is not None:
        evidence.add("maker agrees", name)
    elif (hers := next((m for m in told if one_of(m, target.taught_makers)), None)) is not None:
        evidence.add("maker that you told", file.facts.designer or hers.run, name)
    elif any(_mentioned(m, file) for m in target.makers):
        evidence.add("maker mentioned", name)
    elif told:
        known = target.source.item.designer and any(one_of(m, bought.makers) for m in told)
        evidence.add("another maker you know" if known else "another maker", file.facts.designer or "")
    if agreed is None:
        named_here = file.named_makers(bought.maker_starts) if told or not evidence.has("maker mentioned") else ()
        other = next((m for m in named_here if _is_other(m, target, buyer)), None)
        if other is not None:
            shown = " ".join(other.words).title()
            # Where the receipt names no designer, its seller may sell other makers' patterns.
            theirs = target.source.item.designer and not evidence.has("maker mentioned")
            evidence.add("another maker is named" if theirs else "mentions another maker", shown, name)


def _mentioned(named: MakerName, file: Filed) -> bool:
    return len(named.run) >= _LEAST_MENTION and (named.run in file.mentions or key(named.run) in file.mentions)


def _is_other(named: MakerName, target: Target, buyer: MakerName | None) -> bool:
    """Whether a maker that the file names is somebody else than the target's makers, its title and the buyer."""
    if one_of(named, (*target.makers, *target.taught_makers)) or (buyer is not None and same_maker(named, buyer)):
        return False
    return not named.core <= target.title.keys


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
        printed = code_key(file.facts.product_code or "") == target.code
        by_chance = target.code.isdigit() and not printed
        evidence.add("product code of digits" if by_chance else "product code", target.code)
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
        if evidence.has("maker agrees"):
            evidence.add("another site of the maker", other)
        else:
            elsewhere = (
                target.source.item.designer and not evidence.has("maker mentioned") and other in bought.own_sites
            )
            evidence.add("another maker's site" if elsewhere else "another seller's site", other)


def _within(site: str, domain: str) -> bool:
    return site == domain or site.endswith("." + domain)
