"""The evidence for one pair, and what titles have to do with it: which voice of the file names the item, and how well.

The voice that names it best counts; a second one, of another kind, confirms it.  What a file says of itself outweighs
what its folder or zip says, and a document with another title is never linked without asking.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from vault.matching.filed import OWN, Filed, Voice
from vault.matching.keys import key, stem
from vault.matching.likeness import HEAVY, Likeness, compare, kind_weight
from vault.matching.makers import MakerName, maker
from vault.matching.targets import LEAST_RARITY, Bought, Target
from vault.matching.title import Title, Word, parse
from vault.matching.weights import CONTRARY, LIFTED, LINK, PROOFS, WEIGHTS, Weight
from vault.matching.words import lexicon
from vault.model.match import Reason

LEAST_SHARE = 0.5  # of an item's title for a voice to count as naming it
AGREES = 0.8  # from this share two voices agree
_SHORT = 1.2  # strength below which a title is a single word
_LONG_WORD = 8  # letters of a title of one word that is telling enough
_COMMON = 0.8  # strength below which a title has only common words
# A word and the next, with nothing between them that would part two things.
_TOGETHER_RE = re.compile(r"(?<![^\W\d_])([^\W\d_]+)(?=[\s_-]+([^\W\d_]+))")
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
CONTENT = ("document", "heading", "metadata", "line")


@dataclass(slots=True)
class Evidence:
    """The evidence for one pair: names of weights with what fills their words, in the order found."""

    found: list[tuple[str, tuple[str, ...]]] = field(default_factory=list)
    own_share: float = 0.0  # of the title that the file itself names
    zip_names_it: bool = False  # the zip that it came in is named for the item
    well_named: bool = False  # its title, a heading, its metadata or its name names the item
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

    def nearly(self, weights: Mapping[str, Weight] = WEIGHTS) -> str:
        """What alone keeps this from a link by its kind (another garment, volume, maker ...), in plain words, or ''."""
        contrary = [(name, fill) for name, fill in self.found if name in CONTRARY]
        without = self.points(weights) - sum(weights[name].points for name, _ in contrary)
        if not contrary or without < LINK:
            return ""
        name, fill = min(contrary, key=lambda e: (weights[e[0]].points, e))
        return weights[name].words.format(*fill)

    def reasons(self, weights: Mapping[str, Weight] = WEIGHTS) -> tuple[Reason, ...]:
        """The evidence in plain words, what weighs most first."""
        made = [
            Reason(name=name, words=weights[name].words.format(*fill), weight=weights[name].points)
            for name, fill in self.found
        ]
        return tuple(sorted(made, key=lambda r: (-abs(r.weight), r.name, r.words)))


def hear(target: Target, file: Filed, bought: Bought) -> list[tuple[Voice, Likeness]]:
    """How every voice of the file names the target."""

    known = target.makers
    if not target.source.item.designer:
        # A shop that may sell other makers' patterns: their names are no words of another title.
        known = (*known, *file.named_makers(bought.maker_starts))

    before: dict[tuple[tuple[str, int], ...], Likeness] = {}

    def like(title: Title) -> Likeness:
        # The document, its name and its metadata often say the same.
        same = tuple((w.key, w.segment) for w in title.words)
        if same not in before:
            before[same] = compared(title)
        return before[same]

    def compared(title: Title) -> Likeness:
        own = _without_maker(title, known)
        return compare(target.title, own, target.ignore, bought.rarity, ignore_missing=target.named_makers)

    heard = [(v, like(v.title)) for v in file.voices]
    facts = file.facts
    if (
        facts.title
        and facts.designer
        and (said := maker(facts.title))
        and any(said.core <= m.core for m in target.makers)
    ):
        # A cover that names the maker first, in larger letters: what passes for the designer is the title.
        voice = Voice("document", facts.designer, parse(facts.designer))
        heard = [(voice, like(voice.title)), *((v, k) for v, k in heard if v.kind != "document")]
    return heard


def _without_maker(title: Title, known: Iterable[MakerName]) -> Title:
    """The title without a maker's full name in it, so that `Clover Lane - dress` is no `Clover Dress`."""
    for m in known:
        if len(m.core) > 1 and m.core <= title.keys and any(w.key not in m.words for w in title.words):
            return title._replace(words=tuple(w for w in title.words if w.key not in m.words))
    return title


def _heavy(words: tuple[Word, ...], bought: Bought) -> list[Word]:
    # A word that a designer puts on nearly everything names little, but where one side lacks it, it tells all the more.
    return [w for w in words if kind_weight(w) * max(LEAST_RARITY, bought.rarity.get(w.key, 1.0)) > HEAVY]


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


def weigh_titles(
    evidence: Evidence, target: Target, file: Filed, heard: list[tuple[Voice, Likeness]], bought: Bought
) -> None:
    said = [(v, k) for v, k in heard if k.share >= LEAST_SHARE and not _differs(k, bought)]
    agreeing = [v.kind for v, k in said if k.share >= AGREES and not (_heavy(k.extra, bought) and not k.aside)]
    _other_title(evidence, target, heard, bought, agreeing)
    if not agreeing:
        garment = next((g for v, k in heard if v.kind in OWN and k.share >= 0.4 and (g := _other_garment(k))), None)
        if garment:
            evidence.add("another garment", garment.shown)
    if not said:
        return
    ranked = sorted(said, key=lambda e: (-_voice_points(e[0], e[1], bought), e[0].kind, e[0].text))
    best, like = ranked[0]
    evidence.well_named = any(v.kind in OWN and v.kind != "line" for v, _ in said)
    evidence.zip_names_it = any(v.kind == "zip" for v, _ in said)
    evidence.own_share = max((k.share for v, k in said if v.kind in OWN), default=0.0)
    evidence.add(_PLACES[best.kind], best.text)
    _missing(evidence, target, like, heard, bought)
    _extra(evidence, best, like, bought)
    _on_one_side(evidence, target, said, like, bought)
    if best.kind != "document":
        told = next((k for v, k in said if v.kind == "document" and not k.aside and _heavy(k.extra, bought)), None)
        if told is not None:
            evidence.add("other word in the document", _heavy(told.extra, bought)[0].shown)
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
            evidence.add("name says something else", other.shown)
    if best.kind in CONTENT:
        for voice, second_like in heard:
            if voice.kind == "name" and second_like.share > 0 and _heavy(second_like.extra, bought):
                evidence.add("other word in a second name", second_like.extra[0].shown)
                break


def _on_one_side(
    evidence: Evidence, target: Target, said: list[tuple[Voice, Likeness]], like: Likeness, bought: Bought
) -> None:
    """A garment that only the file names, and words that each side has instead of the other's: perhaps another thing.

    `Plover Hat` for `Plover`, `Broekrok` for `Broek`; `Spindle Shawl - Amber` for `Spindle Shawl - Grey`.
    """
    own = {m.concept for w in target.title.words for m in w.meanings if m.kind == "garment"}
    for voice, said_like in said:
        if voice.kind not in ("document", "metadata", "name"):
            continue
        new = next((w for w in said_like.extra if w.kind == "garment" and not own & _garments(w)), None)
        if new is not None:
            # `Shirt` and `Shirtdress` are two garments; `Dress & Top` may say more of a `Dress`.
            compound = bool(own) and _is_compound(voice, new, target)
            evidence.add("another garment" if compound else "a garment not bought", new.shown)
            break
    everywhere = {k for v, _ in said for k in v.title.keys}
    absent = [w for w in _heavy(like.missing, bought) if w.key not in everywhere and w.stem not in everywhere]
    more = next((w for v, k in said if v.kind in OWN and k.aside for w in _heavy(k.extra, bought)), None)
    if absent and more and like.missing_aside:
        colours = (lexicon().colours.get(absent[0].key), lexicon().colours.get(more.key))
        other = None not in colours and colours[0] != colours[1]
        evidence.add("another colour" if other else "a word on each side", absent[0].shown, more.shown)


def _is_compound(voice: Voice, new: Word, target: Target) -> bool:
    """Whether the voice writes `new` together with a garment of the item, as one word or two."""
    if key(new.text) != new.key:
        return True  # cut out of a run of letters
    bought = {k for w in target.title.words if w.kind == "garment" for k in (w.key, w.stem)}
    return any(
        new.key in (key(a), key(b)) and {key(a), key(b), stem(key(a)), stem(key(b))} & bought
        for a, b in _TOGETHER_RE.findall(voice.text)
    )


def _garments(word: Word) -> set[str]:
    return {m.concept for m in word.meanings if m.kind == "garment"}


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
    evidence: Evidence, target: Target, heard: list[tuple[Voice, Likeness]], bought: Bought, agreeing: list[str]
) -> None:
    """The document's own title says something else, and nothing else in the document says this."""
    if "heading" in agreeing or "line" in agreeing:
        return
    for voice, like in heard:
        if voice.kind != "document":
            continue
        # A title that says less, as the first of two lines does, is no other one.
        more = like.extra if like.share else tuple(w for w in voice.title.words if w.key not in target.ignore)
        if _differs(like, bought) or (like.share < LEAST_SHARE and _heavy(more, bought)):
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
        evidence.add("word aside missing", heavy[0].shown)
    elif heavy:
        evidence.add("word of the item missing", heavy[0].shown)
    elif absent:
        evidence.add("common word missing", absent[0].shown)


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
        evidence.add(name, heavy[0].shown)
    elif not like.aside:
        evidence.add("common word in the name" if in_name else "common word in the document", like.extra[0].shown)
