"""A sentence cut into clauses of one polarity: what is done (sell, share, teach ...), to what, and whether it may be.

A negation reaches as far as its clause.  Clauses end at semicolons, at words of contrast or exception and, where a
"may" and a "may not" stand in one stretch, at the comma or conjunction between them.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from vault.patterns.licence_words import Words

ACTS = ("sell", "resale", "commercial", "share", "copy", "alter", "teach")
OBJECTS = ("finished", "file")
_CLOSE = 60  # characters between "may" and its "not"
_STRONG_RE = re.compile(r"[;；]|\s-+\s|[!?]\s|、?ただし|但し")
_BRACKET_RE = re.compile(r"[(（][^()（）]{0,200}[)）]")
_QUOTED_RE = re.compile(r"\"[^\"]{2,80}\"|「[^」]{2,80}」|『[^』]{2,80}』")
_COMMA_RE = re.compile(r"[,、，]")
# A licence to sell by its name, whose name says what it is for: "commercial licence", "Gewerbelizenz", "salgslisens".
_SELLING_LICENCE_RE = re.compile(
    r"(?:[ck]om+er[cszt]|gewerbe|verkauf|verkoop|bedrijf|business|seller|cottage|försäljning|salg|erhverv|næring|myynti"
    r"|kaupalli|商用|販売)\w*'?s?[\s-]*(?:li[cszk]en[csz]|lizen|ライセンス)"
    r"|li[cszk]en[csz]\w*\s(?:[ck]om+er|profes|artisan|pro\b|de venta|di vendita|de vente)",
    re.IGNORECASE,
)


@dataclass(frozen=True, order=True)
class Hit:
    """A stretch of the sentence that an expression matched."""

    start: int
    end: int
    key: str

    def inside(self, start: int, end: int) -> bool:
        return start <= self.start and self.end <= end


@dataclass(frozen=True)
class Clause:
    """A stretch of a sentence.  `polarity`: True allowed, False forbidden, None not said; `turned`: an exception."""

    text: str
    hits: tuple[Hit, ...]
    polarity: bool | None
    turned: bool = False
    joined_on: bool = False  # starts with a contrast or stands in brackets, so that it may lean on the clause before
    bare: bool = False  # starts with its "may" or "may not", so that its subject is that of the clause before

    def of(self, *keys: str) -> list[Hit]:
        return [hit for hit in self.hits if hit.key in keys]

    def has(self, *keys: str) -> bool:
        return any(hit.key in keys for hit in self.hits)


_SPEAKING = (*ACTS, "personal", "credit", "keep", "small", "condition")
_REFINING = ("mass", "credit_soft", "beyond", "own_copy", "pronoun")


def scan(text: str, words: Words) -> list[Hit]:
    """All hits of a sentence, those removed that a longer wording has taken."""
    hits = [Hit(*span, key) for key in _SPEAKING for span in _spans(text, words, key)]
    if not hits:  # nothing is allowed or forbidden; what it speaks of may be meant by the next sentence
        return sorted(Hit(*span, key) for key in OBJECTS for span in _spans(text, words, key))
    free = _spans(text, words, "condition_free")
    hits.extend(Hit(*span, "licence_included") for span in free if _SELLING_LICENCE_RE.search(text[span[0] : span[1]]))
    hits.extend(Hit(*span, key) for key in (*OBJECTS, *_REFINING) for span in _spans(text, words, key))
    hits.extend(Hit(start, end, "finished") for start, end in counted(text, words))
    finished = [hit for hit in hits if hit.key == "finished"]
    quoted = [match.span() for match in _QUOTED_RE.finditer(text)]
    conditions = [hit for hit in hits if hit.key == "condition"]
    personal = [hit for hit in hits if hit.key == "personal"]
    kept = []
    for hit in hits:
        if hit.key == "condition" and any(start < hit.end and hit.start < end for start, end in free):
            continue
        if hit.key == "file" and (
            any(hit.start < f.end and f.start < hit.end for f in finished)
            or any(hit.inside(start, end) for start, end in quoted)
        ):
            continue
        if hit.key == "condition" and _SELLING_LICENCE_RE.search(text[hit.start : hit.end]):
            kept.append(Hit(hit.start, hit.end, "selling_licence"))
        if hit.key == "commercial" and any(hit.inside(c.start, c.end) for c in (*conditions, *personal)):
            continue
        if hit.key in ("share", "copy", "alter", "teach") and any(
            hit.inside(f.start, f.end) for f in (*finished, *conditions)
        ):
            continue
        kept.append(hit)
    return sorted(kept)


def counted(text: str, words: Words) -> Iterator[tuple[int, int]]:
    """Numbers with a word for pieces ("20 Stück"): what is counted is made, not the file."""
    unit = words.of("licence.unit")
    for number in words.number.finditer(text):
        piece = unit.match(text, number.end() + 1)
        if piece is not None:
            yield number.start(), piece.end()


def _spans(text: str, words: Words, key: str) -> list[tuple[int, int]]:
    return [(match.start(), match.end()) for match in words.of(f"licence.{key}").finditer(text) if match.group()]


def cues(text: str, words: Words, acts: Sequence[Hit]) -> list[tuple[int, int, bool]]:
    """Words that allow or forbid, in order; a "may" with its "not" is one cue that forbids."""
    idioms = _spans(text, words, "no_not")
    no = [
        (start, end, False)
        for start, end in _spans(text, words, "no")
        if not any(start < stop and begin < end for begin, stop in idioms)
    ]
    yes = [
        (start, end, True)
        for start, end in _spans(text, words, "yes")
        if not any(start < stop and begin < end for begin, stop, _ in no)
    ]
    left = []
    for start, end, _ in yes:
        if not any(_belong(text, (start, end), (begin, stop), acts) for begin, stop, _ in no):
            left.append((start, end, True))
    return sorted([*no, *left])


def _belong(text: str, one: tuple[int, int], other: tuple[int, int], acts: Sequence[Hit]) -> bool:
    first, second = min(one, other), max(one, other)
    if second[0] - first[1] > _CLOSE or re.search(r"[;.!?]", text[first[1] : second[0]]):
        return False
    return not any(first[1] <= act.start < second[0] for act in acts)


def clauses(text: str, words: Words) -> list[Clause]:
    """The clauses of a sentence in order."""
    hits = scan(text, words)
    acts = [hit for hit in hits if hit.key in (*ACTS, "keep", "credit", "personal", "mass")]
    found: list[Clause] = []
    for start, end, leaning, turned in _segments(text, words, acts):
        found.extend(_split(text, start, end, leaning, turned, hits, acts, words))
    return found


def _opening(text: str, start: int, words: Words, acts: Sequence[Hit]) -> int:
    """Where a clause with a word of contrast begins: ", the pattern however ..." has its subject before the word."""
    comma = max(text.rfind(",", 0, start), text.rfind("、", 0, start))
    between = text[comma + 1 : start]
    if comma < 0 or len(between) > _CLOSE or any(comma < act.start < start for act in acts):
        return start
    return start if words.has("licence.no", between) or words.has("licence.yes", between) else comma


def _segments(text: str, words: Words, acts: Sequence[Hit]) -> Iterator[tuple[int, int, bool, bool]]:
    """Stretches between strong boundaries: start, end, whether it leans on what stands before, whether it excepts."""
    borders: list[tuple[int, int, bool, bool]] = [
        (match.start(), match.end(), False, False) for match in _STRONG_RE.finditer(text)
    ]
    for key, turned in (("contrast", False), ("except", True)):
        borders.extend(
            (_opening(text, start, words, acts), end, True, turned) for start, end in _spans(text, words, key)
        )
    brackets = [match for match in _BRACKET_RE.finditer(text) if words.has("licence.no", match.group())]
    for match in brackets:
        borders.append((match.start(), match.start() + 1, True, False))
        borders.append((match.end() - 1, match.end(), False, False))
    at, leaning, turned = 0, False, False
    for start, end, leans, turns in sorted(borders):
        if start < at:
            continue
        if text[at:start].strip():
            yield at, start, leaning, turned
        at, leaning, turned = start if leans else end, leans, turns
    if text[at:].strip():
        yield at, len(text), leaning, turned


def _split(
    text: str, start: int, end: int, leaning: bool, turned: bool, hits: Sequence[Hit], acts: Sequence[Hit], words: Words
) -> Iterator[Clause]:
    part = text[start:end]
    shifted = [Hit(act.start - start, act.end - start, act.key) for act in acts if act.inside(start, end)]
    found = cues(part, words, shifted)
    borders = [start]
    for before, after in itertools.pairwise(found):
        # Cues of one polarity are parted too where each has something to govern, so that objects stay with their own.
        if before[2] != after[2] or any(before[1] <= act.start < after[0] for act in shifted):
            border = _border(part, before[1], after, shifted, words)
            if border is not None:
                borders.append(start + border)
    borders.append(end)
    for index, (begin, stop) in enumerate(itertools.pairwise(borders)):
        said = [positive for at, _, positive in found if begin <= start + at < stop]
        polarity = None if not said else all(said)
        first = next((begun for begun, _, _ in found if begin <= start + begun < stop), None)
        opening = "" if first is None else part[begin - start : first]
        yield Clause(
            text=text[begin:stop],
            hits=tuple(Hit(h.start - begin, h.end - begin, h.key) for h in hits if h.inside(begin, stop)),
            polarity=polarity,
            turned=turned and index == 0,
            joined_on=leaning and index == 0,
            bare=index > 0 and first is not None and not _subject(opening, words),
        )


def _subject(opening: str, words: Words) -> str:
    """What stands before the first "may" or "not" of a clause, but for conjunctions and the verb itself."""
    for key in ("weak", "must", "yes"):
        opening = words.of(f"licence.{key}").sub("", opening)
    return opening.strip(" ,、")


def _border(
    part: str, after_first: int, second: tuple[int, int, bool], acts: Sequence[Hit], words: Words
) -> int | None:
    """Where the clause of a second cue starts.

    Where nothing is done behind the cue ("... is forbidden"), all between belongs to it, from the first comma on;
    elsewhere its clause starts at the last comma, or the last conjunction, before it.
    """
    stretch = part[after_first : second[0]]
    commas = [after_first + match.start() for match in _COMMA_RE.finditer(stretch)]
    behind = any(act.start >= second[1] for act in acts)
    done_between = any(after_first <= act.start < second[0] for act in acts)
    if commas:
        return commas[-1] if behind or not done_between else commas[0]
    weak = [after_first + start for start, _ in _spans(stretch, words, "weak")]
    return weak[-1] if weak else None
