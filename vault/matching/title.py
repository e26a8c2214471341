"""What a title, a heading or a file name says, taken apart into words that can be weighed.

Only the words that name the thing are compared as words.  What says which kind, volume, size or part it is becomes a
typed value: a volume is a volume whether it is written `Vol. 3`, `III` or `3. Teil`, and a children's version is one
in twelve languages.  Words that stand on everything (`PDF sewing pattern`) are dropped.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import NamedTuple

from vault.matching import sizes as size_ranges
from vault.matching.keys import key, plain_name, repair, stem, words
from vault.matching.sizes import SizeRange
from vault.matching.words import APART, LONGEST_PHRASE, Lexicon, Meaning, is_cjk, lexicon

MOST_TEXT = 300  # characters of a title that are looked at
_DATE_RE = re.compile(
    r"(?<!\d)(?:19|20)\d\d[-_.]?(?:0[1-9]|1[0-2])[-_.]?(?:[0-2]\d|3[01])(?!\d)|(?<!\d)\d{1,2}\.\d{1,2}\.(?:19|20)\d\d"
)
_ASIDE_RE = re.compile(r"\s[-–—]+\s|[|:()\[\]·•,;/]+|–|—")
_ROMAN = {"II": "2", "III": "3", "IV": "4", "V": "5", "VI": "6", "VII": "7", "VIII": "8", "IX": "9", "X": "10"}
_LONE_ROMAN = ("II", "III", "IV", "VI", "VII", "VIII")  # V, X and I alone are letters
_GAP_RE = re.compile(r"[\W_]+")
_VERSION_RE = re.compile(r"v(\d{1,3}(?:\.\d{1,3}){0,2})\Z", re.IGNORECASE)
_TAIL = 6  # letters of a part that may be written on to the title in a name


class Word(NamedTuple):
    """A word that names the thing.  `segment` counts the parts of the title (before and after a dash, in brackets)."""

    key: str
    stem: str
    kind: str  # "content", "garment", "month", "number"
    segment: int
    meanings: tuple[Meaning, ...] = ()
    text: str = ""  # as written

    @property
    def shown(self) -> str:
        """The word for people to read."""
        return self.text or self.key


class Title(NamedTuple):
    """A title taken apart; see the module.  `numbers` are numbers of a file name that may count volumes or nothing."""

    words: tuple[Word, ...] = ()
    variants: frozenset[str] = frozenset()
    volumes: frozenset[str] = frozenset()
    editions: frozenset[str] = frozenset()  # those of the volumes that were written `2.0`
    numbers: frozenset[str] = frozenset()
    years: frozenset[str] = frozenset()
    parts: frozenset[str] = frozenset()
    crafts: frozenset[str] = frozenset()
    languages: frozenset[str] = frozenset()
    sizes: tuple[SizeRange, ...] = ()
    version: str | None = None
    squashed: str = ""
    keys: frozenset[str] = frozenset()  # keys and stems of the words
    plain: frozenset[str] = frozenset()  # keys of the words alone

    @property
    def months(self) -> frozenset[str]:
        """The months named, by number."""
        return frozenset(m.concept for w in self.words if w.kind == "month" for m in w.meanings if m.kind == "month")


EMPTY = Title()


@dataclass(slots=True)
class _Parse:
    """Collects what the words of one title say."""

    is_name: bool
    found: list[Word] = field(default_factory=list)
    spare: list[Word] = field(default_factory=list)  # words of no weight, for a title that has no others
    variants: set[str] = field(default_factory=set)
    volumes: set[str] = field(default_factory=set)
    editions: set[str] = field(default_factory=set)
    numbers: set[str] = field(default_factory=set)
    years: set[str] = field(default_factory=set)
    parts: set[str] = field(default_factory=set)
    crafts: set[str] = field(default_factory=set)
    languages: set[str] = field(default_factory=set)
    version: str | None = None

    def segment(self, text: str, number: int, lex: Lexicon) -> None:
        raw = [piece for word in words(text, is_name=self.is_name) for piece in _pieces(word, lex)]
        keys = [key(w) for w in raw]
        at = 0
        while at < len(raw):
            at += self._volume(raw, keys, at, lex) or self._phrase(raw, keys, at, number, lex)

    def _volume(self, raw: list[str], keys: list[str], at: int, lex: Lexicon) -> int:
        """Reads a volume or version mark at `at`; how many words it took."""
        word = raw[at]
        if word[0] in "vV" and (mark := _VERSION_RE.match(word)):
            self.version = mark.group(1)
            return 1
        follows = raw[at + 1] if at + 1 < len(raw) else ""
        if keys[at] in lex.volume and follows and (counted := _count(follows, lex, marked=True)):
            self.volumes.add(counted)
            return 2
        if keys[at] in lex.version and follows and follows[0].isdigit():
            self.version = follows
            return 2
        # "3. Teil", "2nd part"
        if follows and word.isdigit() and keys[at + 1] in lex.volume and (len(keys[at + 1]) > 2 or is_cjk(follows)):
            after = raw[at + 2] if at + 2 < len(raw) else ""
            if not (after and _count(after, lex, marked=True)) and len(word) <= 2:
                self.volumes.add(word.lstrip("0") or "0")
                return 2
        if word[0] in "vViI" and word.upper() in _LONE_ROMAN and (word.isupper() or len(word) == 3 or word == "ii"):
            self.volumes.add(_ROMAN[word.upper()])
            return 1
        if word == "I" and at and self._ends(keys[at + 1 :], lex):
            self.volumes.add("1")
            return 1
        return 0

    @staticmethod
    def _ends(rest: list[str], lex: Lexicon) -> bool:
        """Whether nothing follows but words for parts and such as stand on everything."""
        return all(k in ("a4", "a0") or any(m.kind in ("part", "noise") for m in lex.find(k)) for k in rest)

    def _phrase(self, raw: list[str], keys: list[str], at: int, number: int, lex: Lexicon) -> int:
        """Reads the longest phrase of the lexicon at `at`, or one word; how many words it took."""
        for n in range(min(LONGEST_PHRASE, len(raw) - at), 1, -1) if keys[at] in lex.beginnings else ():
            meanings = lex.meanings.get("".join(keys[at : at + n]), ())
            if meanings and meanings[0].kind in APART:
                self._take(" ".join(raw[at : at + n]), "".join(keys[at : at + n]), meanings, number, lex)
                return n
        if keys[at] in lex.size and at + 1 >= len(raw):
            pass  # "sizes", whose numbers are read already
        elif raw[at][0].isdigit():
            self._number(raw, at, number)
        else:
            self._take(raw[at], keys[at], lex.find(keys[at]), number, lex)
        return 1

    def _take(self, text: str, word_key: str, meanings: tuple[Meaning, ...], number: int, lex: Lexicon) -> None:
        if self.is_name and not meanings and len(word_key) > 2 * _TAIL:
            word_key = self._without_tail(word_key, lex)
        root = stem(word_key)
        if (language := lex.languages.get(word_key) or lex.languages.get(root)) is not None:
            self.languages.add(language)
        if not meanings:
            if len(word_key) > 1 or not word_key.isascii():
                self.found.append(Word(word_key, root, "content", number, (), text))
            return
        self.crafts.update(m.concept for m in meanings if m.kind == "craft")
        kind = meanings[0].kind
        if kind == "part":
            self.parts.update(m.concept for m in meanings if m.kind == "part")
        elif kind == "variant":
            self.variants.update(m.concept for m in meanings if m.kind == "variant")
        elif kind in ("article", "noise", "craft"):
            self.spare.append(Word(word_key, root, "content", number, (), text))
        elif len(word_key) > 1 or not word_key.isascii():
            self.found.append(Word(word_key, root, kind, number, meanings, text))

    def _without_tail(self, word_key: str, lex: Lexicon) -> str:
        """`pettirossoistruzioni` is a word and a part that was written on to it."""
        for n in range(len(word_key) - 3, _TAIL - 1, -1):
            found = lex.meanings.get(word_key[-n:], ())
            if found and found[0].kind == "part":
                self.parts.update(m.concept for m in found if m.kind == "part")
                return word_key[:-n]
        return word_key

    def _number(self, raw: list[str], at: int, number: int) -> None:
        text = raw[at].replace(",", ".")
        whole, dot, decimals = text.partition(".")
        if dot:
            if decimals == "0" and len(whole) == 1 and whole > "1":
                self.volumes.add(whole)  # "2.0" is another product than the first
                self.editions.add(whole)
            elif len(whole) <= 2 and len(decimals) <= 2:
                self.version = self.version or text
            return
        if len(text) == 4 and text[:2] in ("19", "20"):
            self.years.add(text)
            return
        bare = text.lstrip("0") or "0"
        if len(bare) > 3:
            return  # an order number or a date
        if self.is_name:
            self.numbers.add(bare)
        elif at == len(raw) - 1 and at > 0 and len(bare) <= 2:
            self.volumes.add(bare)
        else:
            self.found.append(Word(bare, bare, "number", number))


def _count(word: str, lex: Lexicon, *, marked: bool) -> str | None:
    """The number that `word` counts, as text; after a mark also a letter (`Block C`) or a number word."""
    if word.isdigit():
        return (word.lstrip("0") or "0") if len(word) <= 3 else None
    if not marked:
        return None
    if word.upper() in _ROMAN and word.isupper():
        return _ROMAN[word.upper()]
    if word == "I":
        return "1"
    if len(word) == 1 and word.isascii() and word.isalpha() and word.isupper():
        return word
    number = lex.numbers.get(key(word))
    return str(number) if number else None


def _pieces(word: str, lex: Lexicon) -> list[str]:
    """A run of kana and han cut where the lexicon knows a word; any other word as it is."""
    if not is_cjk(word):
        return [word]
    rest, out = key(word), []
    while rest:
        known = [(rest.find(k), -len(k), k) for k in lex.cjk if len(k) > 1 and k in rest]
        if not known:
            out.append(rest)
            break
        at, _, found = min(known)
        out += [rest[:at]] if at else []
        out.append(found)
        rest = rest[at + len(found) :]
    return [p for p in (p.strip("のと第") for p in out) if p]


@cache
def _joined_phrases() -> tuple[re.Pattern[str], re.Pattern[str]]:
    """Kinds of two words and more (`add-on`, `hack pack`): put together first, for names run on into them.

    The second form finds their second words alone: it is quick, and most titles have none.
    """
    phrases = [r"[\W_]+".join(map(re.escape, p)) for p in lexicon().kind_phrases]
    seconds = sorted({re.escape(p[1]) for p in lexicon().kind_phrases})
    whole = re.compile("(?:" + "|".join(phrases) + r")(?![^\W_])", re.IGNORECASE)
    return whole, re.compile(r"[\W_](?:" + "|".join(seconds) + ")", re.IGNORECASE)


_NOTHING: frozenset[str] = frozenset()


def _frozen(found: set[str]) -> frozenset[str]:
    """`found`, and always the same set where nothing was: most titles say little, and there are very many."""
    return frozenset(found) if found else _NOTHING


@lru_cache(maxsize=8192)
def parse(text: str, *, is_name: bool = False) -> Title:
    """What `text` says as a title; `is_name`: it is the name of a file or folder."""
    text = plain_name(text[:MOST_TEXT]) if is_name else repair(text[:MOST_TEXT])
    text = _DATE_RE.sub(" ", text)
    whole, second = _joined_phrases()
    if second.search(text):
        text = whole.sub(lambda m: _GAP_RE.sub("", m.group()), text)
    ranges, text = size_ranges.find(text)
    got = _Parse(is_name)
    lex = lexicon()
    for number, segment in enumerate(_ASIDE_RE.split(text)):
        got.segment(segment, number, lex)
    named = got.found or got.spare
    return Title(
        words=tuple(named),
        variants=_frozen(got.variants),
        volumes=_frozen(got.volumes),
        editions=_frozen(got.editions),
        numbers=_frozen(got.numbers),
        years=_frozen(got.years),
        parts=_frozen(got.parts),
        crafts=_frozen(got.crafts),
        languages=_frozen(got.languages),
        sizes=ranges,
        version=got.version,
        squashed=key("".join(w.key for w in named)),
        plain=frozenset(w.key for w in named),
        keys=frozenset({w.key for w in named} | {w.stem for w in named}) if got.found else frozenset(),
    )


def informative(title: Title) -> bool:
    """Whether the title names anything: it has words of its own, not only those that stand on everything."""
    return bool(title.keys)
