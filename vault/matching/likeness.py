"""How far two titles name the same thing: which words meet, how, and which stand on one side only.

Words meet when their keys are equal; else by their stems (plural), as the same garment in two languages, as one word
here and two there, with letters that were lost, or spelled nearly alike, in this order.  The order of the words does
not count.  Nothing is decided here: what a missing or an additional word weighs stands in the table of weights.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from vault.matching.keys import LOST, stem
from vault.matching.title import Title, Word
from vault.matching.words import is_cjk, lexicon

GARMENT_WEIGHT = 0.5  # a word such as `dress` or `Mütze` tells half as much as a name
NUMBER_WEIGHT = 0.8
ASIDE_SHARE = 0.2  # of a word that stands apart from those that met, in the share that was named
HEAVY = 0.5  # from this weight a word tells one thing from another
_NEARLY_FROM = 6  # letters from which a typing error is forgiven
_ELISIONS = ("d", "l", "dell", "all", "nell", "dall", "un", "qu")
_CODES = frozenset({"en", "de", "fr", "nl", "uk", "us", "eu", "sv", "da", "no", "nb", "es", "it", "pl", "fi", "a", "v"})
_COUNTS = {"ii": "2", "iii": "3", "iv": "4"}
_LONG_START = 6  # letters in common from which a garment is the same in another case
_FRAGMENT = 3  # letters from which a rest of a run counts as a word


@dataclass(frozen=True, slots=True)
class Likeness:
    """How `text` of a file names the title of an item.

    `share`: part of the item's weight that the text names, 0 to 1.  `strength`: the weight that was met.
    `missing` are words of the item that the text has not, `extra` words of the text that the item has not;
    `aside`: all of `extra` stand apart (after a dash, in brackets) from the words that met; `missing_aside` the same.
    `nearly`: the file's word that met only by a near spelling; `translated`: a garment met in another language.
    `variants`, `parts`, `volumes` are typed words found inside a run of letters (`...hackpack`, `...a4`, `...ii`).
    """

    share: float = 0.0
    strength: float = 0.0
    missing: tuple[Word, ...] = ()
    extra: tuple[Word, ...] = ()
    aside: bool = False
    missing_aside: bool = False
    nearly: str = ""
    translated: bool = False
    variants: frozenset[str] = frozenset()
    parts: frozenset[str] = frozenset()
    volumes: frozenset[str] = frozenset()


NONE = Likeness()


def kind_weight(word: Word) -> float:
    """What a word weighs before the vault's own frequencies are looked at."""
    if word.kind == "garment":
        return GARMENT_WEIGHT
    return NUMBER_WEIGHT if word.kind == "number" else 1.0


@dataclass(slots=True)
class _Pairing:
    left: list[Word]  # the item's words that have not met
    right: list[Word]
    met: list[tuple[Word, Word]]
    nearly: str = ""
    translated: bool = False
    variants: frozenset[str] = frozenset()
    parts: frozenset[str] = frozenset()
    volumes: frozenset[str] = frozenset()

    def meet(self, a: Word, b: Word) -> None:
        self.left.remove(a)
        if b in self.right:
            self.right.remove(b)
        self.met.append((a, b))


def compare(
    item: Title,
    text: Title,
    ignore: frozenset[str],
    rarity: Mapping[str, float],
    *,
    ignore_missing: frozenset[str] = frozenset(),
) -> Likeness:
    """How `text` names `item`.

    `ignore`: keys of words of the designer's and seller's names, which do not count as words that the file has more;
    `ignore_missing` those that do not count as missing in it.  `rarity`: by key, how much a word of the vault's own
    titles tells (1 for one that no other title has); a word not in it tells 1.
    """
    if item.keys.isdisjoint(text.keys) and not _may_meet(item, text):
        return NONE
    if item.plain == text.plain and len(item.words) == len(text.words):
        strength = sum(kind_weight(w) * rarity.get(w.key, 1.0) for w in item.words)
        return Likeness(share=1.0, strength=strength)
    pairing = _Pairing(list(item.words), list(text.words), [])
    _by_key(pairing)
    if pairing.left and pairing.right:
        _as_garments(pairing)
        _with_lost_letters(pairing)
        _elided(pairing)
        _run_together(pairing, ignore)
        _spelled_nearly(pairing)
    if not pairing.met:
        return NONE

    def weight(word: Word) -> float:
        return kind_weight(word) * rarity.get(word.key, 1.0)

    missing = tuple(w for w in pairing.left if w.key not in ignore_missing and w.stem not in ignore_missing)
    extra = tuple(w for w in pairing.right if w.key not in ignore and w.stem not in ignore)
    strength = sum(weight(a) for a, _ in pairing.met)
    segments = {b.segment for _, b in pairing.met}
    own_segments = {a.segment for a, _ in pairing.met}
    total = strength + sum(weight(w) * (1.0 if w.segment in own_segments else ASIDE_SHARE) for w in missing)
    return Likeness(
        share=strength / total if total else 0.0,
        strength=strength,
        missing=missing,
        extra=extra,
        aside=bool(extra) and not any(w.segment in segments for w in extra),
        missing_aside=bool(missing) and not any(w.segment in own_segments for w in missing),
        nearly=pairing.nearly,
        translated=pairing.translated,
        variants=pairing.variants,
        parts=pairing.parts,
        volumes=pairing.volumes,
    )


def _may_meet(item: Title, text: Title) -> bool:
    """Whether words that share no key may still meet: one in the other, or nearly alike.  Cheap, and rarely wrong."""
    others = [(b.key, len(b.key), bool(b.meanings)) for b in text.words]
    if any(LOST in kb for kb, _, _ in others):
        return True
    for a in item.words:
        ka = a.key
        tells = bool(a.meanings)
        for kb, length, meant in others:
            if tells and meant:
                return True
            if len(ka) < length:
                if ka[1:] in kb and (len(ka) >= 3 or is_cjk(ka)):
                    return True
            elif length >= 3 and kb in ka:
                return True
            if ka[0] == kb[0] and len(ka) >= _NEARLY_FROM:
                if abs(len(ka) - length) <= 2 and ka[1:3] == kb[1:3]:
                    return True
                if ka[-2:] == kb[-2:]:
                    return True
    return False


def _by_key(pairing: _Pairing) -> None:
    for form in ("key", "stem", "case"):
        for a in list(pairing.left):
            own, root = a.key, a.stem
            found = None
            for b in pairing.right:
                if form == "key":
                    met = b.key == own
                elif form == "stem":
                    met = b.stem == root or b.stem == own or b.key == root
                else:
                    met = a.kind == "garment" and _bent(a, b)
                if met:
                    found = b
                    break
            if found is not None:
                pairing.meet(a, found)


def _bent(item: Word, text: Word) -> bool:
    """`villasukat` and `villasukka`: a long beginning in common, for languages that bend their words."""
    a, b = item.key, text.key
    if text.kind == "garment" or a[:_LONG_START] != b[:_LONG_START]:
        return False
    shared = next((n for n, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), min(len(a), len(b)))
    return shared >= _LONG_START and shared * 4 >= 3 * max(len(a), len(b))


def _as_garments(pairing: _Pairing) -> None:
    """`Dress` meets `Kleid`, but never `Skirt`, nor two words of one language (`hat`, `beanie`)."""
    for a in [w for w in pairing.left if w.meanings]:
        for b in [w for w in pairing.right if w.meanings]:
            if _concepts(a) & _concepts(b) and not _languages(a) & _languages(b):
                pairing.meet(a, b)
                pairing.translated = True
                break


def _concepts(word: Word) -> set[tuple[str, str]]:
    return {(m.kind, m.concept) for m in word.meanings if m.kind in ("garment", "month")}


def _languages(word: Word) -> set[str]:
    return {code for m in word.meanings if m.kind in ("garment", "month") for code in m.languages}


def _with_lost_letters(pairing: _Pairing) -> None:
    for a in list(pairing.left):
        for b in list(pairing.right):
            if LOST in b.key and len(b.key) >= 4:
                shape = ".{0,2}".join(re.escape(p) for p in b.key.split(LOST))
                if re.fullmatch(shape, a.key):
                    pairing.meet(a, b)
                    break


def _elided(pairing: _Pairing) -> None:
    """`dete` is `d'été` whose apostrophe was lost."""
    for a in list(pairing.left):
        if len(a.key) < 3:
            continue
        found = next((b for b in pairing.right if b.key.endswith(a.key) and b.key in _elisions(a.key)), None)
        if found is not None:
            pairing.meet(a, found)


@lru_cache(maxsize=4096)
def _elisions(word_key: str) -> frozenset[str]:
    return frozenset(p + word_key for p in _ELISIONS)


def _run_together(pairing: _Pairing, ignore: frozenset[str]) -> None:
    """One word here, several there: `Hafenmantel` and `Hafen Mantel`, `loamdress`, `trellispinaforehackpack`."""
    for b in list(pairing.right):
        if (len(b.key) < _NEARLY_FROM and not is_cjk(b.key)) or b.kind == "garment":
            continue  # a word of its own: no `Jacke` in `Strickjacke`
        held, rest = _cut(b.key, pairing.left)
        rest = [r for r in rest if r not in ignore]
        unknown = [r for r in rest if r not in lexicon().marks and not lexicon().find(r)]
        if held and sum(len(w.key) for w in held) >= sum(map(len, unknown)):
            for a in held:
                pairing.meet(a, b)
            _rest_of_run(pairing, rest, b)
    for a in list(pairing.left):
        if len(a.key) < _NEARLY_FROM and not is_cjk(a.key):
            continue
        held, rest = _cut(a.key, pairing.right)
        if len(held) > 1 and not any(len(r) >= _FRAGMENT for r in rest):
            pairing.meet(a, held[0])
            for b in held[1:]:
                pairing.right.remove(b)


def _cut(run: str, pieces: list[Word]) -> tuple[list[Word], list[str]]:
    """The words of `pieces` that stand in `run`, and what is left of it."""
    held: list[Word] = []
    rest = [run]
    for piece in sorted(pieces, key=lambda w: (-len(w.key), w.key)):
        text = piece.key
        if len(text) < 3 and not is_cjk(text):
            continue
        for n, fragment in enumerate(rest):
            at = fragment.find(text)
            if at < 0 and len(text) >= 4 and (clipped := _clipped(text, fragment)):
                # Two letters for one fell together where the words met: `kofta` + `askvader`.
                text, at = clipped, fragment.find(clipped)
            if at < 0 or (len(text) == 3 and fragment != text and at > 0 and at + 3 < len(fragment)):
                continue
            rest[n : n + 1] = [f for f in (fragment[:at], fragment[at + len(text) :]) if f]
            held.append(piece)
            break
    return held, rest


def _clipped(text: str, fragment: str) -> str | None:
    if text[-1] in "aes" and fragment.endswith(text[:-1]):
        return text[:-1]
    return text[1:] if text[0] in "aes" and fragment.startswith(text[1:]) else None


def _rest_of_run(pairing: _Pairing, rest: list[str], run: Word) -> None:
    """What is left of a run: typed words (`kids`, `a4`), words of no weight, or words that the item has not."""
    lex = lexicon()
    for fragment in rest:
        while fragment and fragment not in lex.marks and fragment not in _CODES:
            if fragment in _COUNTS:
                pairing.volumes |= {_COUNTS[fragment]}
                break
            piece = _known_start(fragment)
            if piece is None:
                # Two letters for one fell together where the words met: `…ena` + `addon` lost an a.
                piece = next((c + fragment for c in "aes" if lex.meanings.get(c + fragment)), None)
                if piece is None:
                    pairing.right.append(Word(fragment, stem(fragment), "content", run.segment))
                    break
            _take_piece(pairing, piece, run)
            if lex.meanings[piece][0].kind == "craft" and _before_garment(run.key, piece, pairing):
                pairing.right.append(Word(piece, stem(piece), "content", run.segment))
            fragment = fragment[len(piece) :]


def _before_garment(run: str, piece: str, pairing: _Pairing) -> bool:
    """`strick` in `strickmantel` tells it from a `Mantel`; in `...stricken` it would not."""
    at = run.find(piece) + len(piece)
    return any(a.kind == "garment" and run.startswith(a.key, at) for a, _ in pairing.met)


def _known_start(fragment: str) -> str | None:
    """The longest word of the lexicon that `fragment` begins with; a short one only where it is all of it."""
    meanings = lexicon().meanings
    sizes = range(len(fragment), 1, -1)
    return next((fragment[:n] for n in sizes if (n >= 4 or n == len(fragment)) and fragment[:n] in meanings), None)


def _take_piece(pairing: _Pairing, piece: str, run: Word) -> None:
    meanings = lexicon().meanings[piece]
    kind = meanings[0].kind
    if kind == "variant":
        pairing.variants |= {m.concept for m in meanings if m.kind == kind}
    elif kind == "part":
        pairing.parts |= {m.concept for m in meanings if m.kind == kind}
    elif kind in ("garment", "month"):
        pairing.right.append(Word(piece, stem(piece), kind, run.segment, meanings, run.shown))


def _spelled_nearly(pairing: _Pairing) -> None:
    from rapidfuzz.distance import OSA

    for a in list(pairing.left):
        if len(a.key) < _NEARLY_FROM or a.kind != "content":
            continue
        for b in list(pairing.right):
            if len(b.key) < _NEARLY_FROM - 1 or b.kind != "content" or a.key[0] != b.key[0]:
                continue
            most = 2 if len(a.key) >= 10 else 1
            if OSA.distance(a.key, b.key, score_cutoff=most) <= most:
                pairing.meet(a, b)
                pairing.nearly = b.shown
                break
