"""What of a pattern's own is in its words: told sentence by sentence, in the language of the document.

Trade words alone make no pattern: a price list, a novel and an exam are full of them.  A pattern tells what to do, and
its sentences show it: a row with its number and stitches counted, a doing word where a clause begins (or ends, where a
language puts it last) with a thing of the craft beside it, a piece with how often it is cut.  Beside these stand kinds
of evidence that other papers seldom have together: materials with amounts, a gauge, sizes, a seam allowance, shorthand
explained, sections with the trade's headings, terms for what is made.  Each kind counts once, however often it comes.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache

from vault.patterns.lexicon import Found, Lexicon, lexicon, split_words
from vault.patterns.words import CJK_RE, entries, fold

CRAFTS = ("sewing", "knitting", "crochet", "embroidery", "quilting", "other")
_MOST_SENTENCES = 4000
_LONGEST = 600  # characters of a sentence that are looked at
_WRAPPED = 45  # characters of a line that may have been broken for the width of the page
_SENTENCE_RE = re.compile(r"(?<=[.!?;])\s+(?=[A-ZÀ-ÞŁŚŹŻĆ*(\d])|(?<=[。！？])\s*")
_CLAUSE_RE = re.compile(r"[,;:.()\[\]!?*•·、。：，]|\s[-–—]\s|^[-–—]\s*")
_CJK_GROUP_RE = re.compile("[\u3040-\u30ff\u3400-\u9fff]")
_AMOUNT_RE = re.compile(
    r"\d\s*(?:m|cm|mm|g|kg|oz|yds?|yards?|in|inch(?:es)?|metr\w*|m[eè]tr\w*|meter|balls?|skeins?|ct|count|x)\b|"
    r"\d\s*(?:\"|”|″|枚|本|個|玉|cm|mm|m|g|号)|[½¼¾]|^\W*\d",
    re.IGNORECASE,
)
_SQUARE_RE = re.compile(r"10\s*(?:cm)?\s*(?:[x×]\s*10)?\s*cm|4\s*(?:in\b|inch|\"|”|″)|10\s*cm|10センチ", re.IGNORECASE)
_SIZE_RE = re.compile(r"(?<![\w.,])(?:x{0,4}[sml]|[2-6]xl|\d{1,3}(?:/\d{2,3})?)(?![\w.,]\d)", re.IGNORECASE)
_FEW_RE = re.compile(r"(?<!^)(?<![\d.,])(?:[1-9]|1[0-2])(?![\d.,])")  # strands, knots
_EQUALS_RE = re.compile(r"(?:^|[,;.]\s*)([^\s=:,;()]{1,6}(?:\([a-z]\))?)\s?[=:]\s?[^\W\d]")
_TIMES_RE = re.compile(
    r"(?<!\d )\b\d{1,2}\s?[x×](?!\s?\d)|(?<!\w)[x×]\s?\d{1,2}\b|\b\d{1,2}\s?(?:szt|kpl|stk|枚|mal)|\d枚"
)
_STITCH_FORMAT_RE = re.compile(r"\b(?:pes|dst|exp|jef|vp3|hus|xxx|vip|pec|sew)\b", re.IGNORECASE)
_GOODS = (
    *("sewing.cloth", "sewing.notion", "knitting.yarn", "knitting.tool", "crochet.tool", "embroidery.tool"),
    *("quilting.cloth", "goods"),
)
# Things that a step handles, by craft; `thing` fits all that sew.
_THINGS = {
    "sewing.piece": "sewing",
    "sewing.mark": "sewing",
    "sewing.cloth": "sewing",
    "sewing.notion": "sewing",
    "sewing.seam": "sewing",
    "sewing.step": "sewing",
    "quilting.cloth": "quilting",
    "quilting.step": "quilting",
    "embroidery.step": "embroidery",
    "embroidery.tool": "embroidery",
    "other.pattern": "other",
    "thing": "",
}
_VERB_LAST = frozenset(["de", "nl", "ja", "fi"])


@dataclass(kw_only=True)
class Making:
    """What was found: steps by craft, `own` words that only the crafts have, and the kinds of evidence beside them."""

    steps: Counter[str] = field(default_factory=Counter)
    rows: int = 0  # of the steps, rows of stitches with a number
    cuts: int = 0  # of the steps, pieces with how often they are cut
    own: set[str] = field(default_factory=set)
    materials: int = 0
    gauge: int = 0
    sizes: int = 0
    seam: int = 0
    shorthand: int = 0
    sections: int = 0
    terms: int = 0
    told: int = 0  # sentences of one who tells a tale or an opinion
    asked: int = 0  # questions
    prose: int = 0  # sentences of some length that are no step
    sentences: int = 0
    design: int = 0  # of the data that a stitched design has: its size, stitches, colours, hoop, formats
    groups: dict[str, float] = field(default_factory=dict)  # signs by group, the first whole, others a little

    @property
    def body(self) -> int:
        """How many sentences tell what to do."""
        return sum(self.steps.values())

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of evidence beside the steps."""
        found = (
            ("materials with amounts", self.materials >= 1),
            ("a gauge", self.gauge >= 1),
            ("sizes", self.sizes >= 1),
            ("a seam allowance", self.seam >= 1),
            ("shorthand explained", self.shorthand >= 2),
            ("sections of a pattern", self.sections >= 2),
            ("terms of use", self.terms >= 1),
            ("stitches of embroidery by name", self.groups.get("embroidery.step", 0.0) >= 2),
        )
        return tuple(name for name, there in found if there)


def making_of(text: str, languages: frozenset[str]) -> Making:
    """What the text shows in these languages."""
    lex, made = lexicon(languages), Making()
    seen: dict[tuple[str, str], float] = {}
    read: set[str] = set()
    verb_last = bool(languages & _VERB_LAST)
    for number, sentence in enumerate(sentences(text)):
        if number >= _MOST_SENTENCES:
            break
        told = fold(sentence[:_LONGEST])
        if told in read:  # a heading or an order said again proves nothing
            continue
        read.add(told)
        _read_sentence(sentence[:_LONGEST], lex, made, seen, verb_last=verb_last)
    made.sections = _sections(text, languages)
    for (group, _word), times in seen.items():
        made.groups[group] = made.groups.get(group, 0.0) + 1.0 + 0.2 * min(times - 1, 3)
    return made


def sentences(text: str) -> Iterator[str]:
    """Sentences, put together again where a line was broken for the width of the page."""
    held = ""
    for line in text.split("\n"):
        if held and _goes_on(held, line):
            held = f"{held} {line}"
            continue
        if held:
            yield from _SENTENCE_RE.split(held)
        held = line
    if held:
        yield from _SENTENCE_RE.split(held)


def _goes_on(held: str, line: str) -> bool:
    if len(held) < _WRAPPED or len(held) > 4 * _LONGEST or held[-1] in ".!?:;。":
        return CJK_RE.search(held[-1:]) is not None and len(held) > 25 and held[-1] not in "。：" and bool(line[:1])
    return line[:1].islower()


def _read_sentence(
    sentence: str, lex: Lexicon, made: Making, seen: dict[tuple[str, str], float], *, verb_last: bool
) -> None:
    words = split_words(sentence)
    if not words:
        return
    made.sentences += 1
    found = lex.find(words)
    keys: dict[str, list[Found]] = {}
    for one in found:
        keys.setdefault(one.key, []).append(one)
        if "." in one.key:
            seen[one.key, one.word] = seen.get((one.key, one.word), 0) + 1
    question = sentence.rstrip().endswith(("?", "？"))
    made.asked += question
    told = "teller" in keys and len(words) >= 5
    made.told += told
    clauses = _Clauses(sentence, lex, verb_last=verb_last)
    stitched = _yarn_step(sentence, words, keys, clauses)
    gauge = _is_gauge(sentence, words, keys)
    if gauge:
        made.gauge += 1
    elif stitched and not question and not told:
        made.steps[stitched[0]] += 1
        made.rows += stitched[1]
    craft = None if stitched or question or told else _cloth_step(sentence, words, keys, clauses, made)
    if craft:
        made.steps[craft] += 2 if len(_acts(keys, clauses)) >= 2 else 1
    elif not stitched and len(words) >= 12:
        made.prose += 1
    _kinds(sentence, words, keys, made, is_step=bool(stitched or craft))


class _Clauses:
    """Whether a word stands where a doing word stands in instructions."""

    def __init__(self, sentence: str, lex: Lexicon, *, verb_last: bool) -> None:
        self.starts: set[str] = set()
        self.ends: set[str] = set()
        self.anywhere = CJK_RE.search(sentence) is not None
        for clause in _CLAUSE_RE.split(sentence):
            words = split_words(clause)
            while words and words[0].isdigit():
                words.pop(0)
            for place, word in enumerate(words):
                if place == 0 or words[place - 1] in lex.ands:
                    self.starts.update(" ".join(words[place : place + n]) for n in (1, 2, 3, 4))
                if verb_last and (place == len(words) - 1 or words[place + 1] in lex.ands):
                    self.ends.add(word)

    def does(self, found: Found) -> bool:
        if self.anywhere and found.length == 0:
            return True
        return found.word in self.starts or found.word in self.ends


def _first_of(found: list[Found], clauses: _Clauses) -> Found | None:
    return next((one for one in found if clauses.does(one)), None)


@dataclass(frozen=True)
class _Counted:
    """Stitches with a number: of knitting, of crochet, of either, of these written long, and rows."""

    knit: int
    hook: int
    both: int
    long: int
    rows: int

    @property
    def all(self) -> int:
        return self.knit + self.hook + self.both


def _stitches(sentence: str, words: list[str], keys: dict[str, list[Found]]) -> _Counted:
    counts = dict.fromkeys(("knit", "hook", "both", "row"), 0)
    long = 0
    for key in counts:
        for one in keys.get(key, ()):
            if one.length == 0:
                there = re.search(rf"\d\s*{re.escape(one.word)}", sentence) is not None
            else:
                before = words[one.place - 1] if one.place else ""
                after = words[one.place + one.length] if one.place + one.length < len(words) else ""
                there = before.isdigit() or (after.isdigit() and key in ("knit", "hook"))
            counts[key] += there
            long += there and key != "row" and (len(one.word) > 1 or one.length == 0)
    return _Counted(counts["knit"], counts["hook"], counts["both"], long, counts["row"])


_SHORT_RE = re.compile(
    r"(?<!\w)(?:k|p|sl)\s?\d{1,3}(?!\w)|(?<!\w)(?:k\d?tog|p\d?tog|ssk|skpo|m1[lr]?|kfb|psso|yo)(?!\w)", re.I
)


def _yarn_step(
    sentence: str, words: list[str], keys: dict[str, list[Found]], clauses: _Clauses
) -> tuple[str, int] | None:
    """The craft of a sentence that tells how to knit or crochet, with 1 where it is a numbered row."""
    counted = _stitches(sentence, words, keys)
    short = len(set(_SHORT_RE.findall(sentence))) if "knit" in keys or "lone" in keys else 0
    lone = len({one.word for one in keys.get("lone", ())})
    knits = [one for one in keys.get("start_knit", ()) if clauses.does(one)]
    hooks = [one for one in keys.get("start_hook", ()) if clauses.does(one)]
    mild = {one.word for one in keys.get("mild", ())}
    acts = {one.word for one in (*knits, *hooks)}
    row = _is_row(words, keys)
    all_counted = counted.all + short
    sure = acts - mild
    named = _named_otherwise(keys, acts)
    sensible = (
        # a doing word of yarn alone, with stitches or another word of the craft
        (sure and (counted.knit or counted.hook or short or counted.rows or named)),
        (sure and counted.both and not _only_metres(sentence, keys)),
        # one that is said elsewhere too
        (acts and (counted.long + short or (counted.both and named and _CAST_RE.search(sentence) is not None))),
        # none, but many stitches
        (counted.long + 2 * short + (lone if counted.long else 0) >= 4 and "=" not in sentence),
    )
    label = bool(
        row and (counted.long or all_counted + lone >= 2 or (all_counted and acts) or (sure and len(words) <= 8))
    )
    if not label and (len(words) < 3 or not any(sensible)):
        return None
    knitting = counted.knit + short + 2 * len({one.word for one in knits} - {one.word for one in hooks} - mild)
    crochet = counted.hook + 2 * len({one.word for one in hooks} - {one.word for one in knits} - mild)
    if knitting == crochet:
        crochet += len({one.word for one in hooks}) - len({one.word for one in knits})
    return ("crochet" if crochet > knitting else "knitting"), int(label)


_CAST_RE = re.compile(r"(?<![\d.,])[1-9]\d{1,2}(?![\d.,])")  # stitches at the beginning


def _named_otherwise(keys: dict[str, list[Found]], acts: set[str]) -> bool:
    """Whether another word of knitting or crochet stands beside the doing word."""
    groups = ("knitting.step", "knitting.gauge", "knitting.machine", "crochet.step")
    return any(one.word not in acts for group in groups for one in keys.get(group, ()))


def _only_metres(sentence: str, keys: dict[str, list[Found]]) -> bool:
    """Whether "3 m" may be metres of something."""
    if any(one.word != "m" for one in keys.get("both", ())):
        return False
    return any(key in keys for key in _GOODS[:2]) or re.search(r"\d[.,]\d+\s?m\b", sentence) is not None


def _is_row(words: list[str], keys: dict[str, list[Found]]) -> bool:
    """Whether a sentence begins with the number of a row."""
    for one in keys.get("row", ()):
        if one.length == 0:
            if re.match(r"\W*\d+段", "".join(words)):
                return True
        elif one.place == 0:
            if one.length > 1 or (len(words) > 1 and words[1].isdigit()):
                return True
        elif one.place <= 2 and all(word.isdigit() for word in words[: one.place]):
            return True
    return False


def _is_gauge(sentence: str, words: list[str], keys: dict[str, list[Found]]) -> bool:
    """ "22 sts and 30 rows to 10 cm"."""
    if _SQUARE_RE.search(sentence) is None:
        return False
    stitches = any(
        one.length == 0 or (one.place and words[one.place - 1].isdigit())
        for key in ("both", "knit", "hook")
        for one in keys.get(key, ())
    )
    rows = any(one.length == 0 or (one.place > 0 and words[one.place - 1].isdigit()) for one in keys.get("row", ()))
    return stitches and (rows or "=" in sentence)


def _cloth_step(
    sentence: str, words: list[str], keys: dict[str, list[Found]], clauses: _Clauses, made: Making
) -> str | None:
    """The craft of a sentence that tells how to cut, sew, piece, embroider or knot."""
    plain = {one.word for one in keys.get("plain", ())}
    things = {one.word: _THINGS[key] for key in _THINGS for one in keys.get(key, ())}
    ours = {word for word in things if word not in plain}
    own = _first_of(keys.get("own", []), clauses)
    act = _first_of(keys.get("any", []), clauses)
    whole = keys.get("whole", [])
    pieces = keys.get("sewing.piece", [])
    counts = keys.get("count", [])
    numbered = any(word.isdigit() for word in words)
    cut = bool(things) and (
        (any(_counts(one, words) for one in counts) and (bool(pieces) or "thing" in keys))
        or (bool(pieces) and _TIMES_RE.search(sentence) is not None)
        or (numbered and any(one.key == "sewing.cut" for one in _flat(keys, "sewing.cut")))
    )
    rest = {word for word in things if own is None or word != own.word}
    step = (
        bool(whole)
        or (own is not None and bool(rest))
        or (act is not None and bool({w for w in ours if w != act.word}))
    )
    if act is not None and not step and len(things) >= 2:
        step = bool(plain & set(things)) and bool(made.own)
    knotted = "other.pattern" in keys and numbered and (own or act) is not None and len(words) <= 20
    stitched = "embroidery.step" in keys and len(words) <= 20 and _FEW_RE.search(sentence) is not None
    if not step and not cut and not stitched and not knotted:
        return None
    if cut:
        made.cuts += 1
    made.own.update(ours)
    made.own.update(one.word for one in (own, *whole) if one is not None)
    crafts = Counter(craft for word, craft in things.items() if craft and (word not in plain or craft != "sewing"))
    if not crafts:
        return "embroidery" if stitched else "other" if knotted else "sewing" if own or ours or whole else "any"
    best, times = crafts.most_common(1)[0]
    return best if times > crafts["sewing"] or best == "sewing" else "sewing"


_UNITS = frozenset(["cm", "mm", "m", "in", "inch", "inches", "yd", "yard", "yards", "zoll", "センチ"])
_NUMBERS = frozenset(
    "one two three four six eight zwei drei vier sechs acht deux trois quatre six twee drie vier zes dos tres cuatro "
    "seis due tre quattro sei två tre fyra sex fire seks dwa dwie trzy cztery kaksi kolme neljä kuusi".split()
)
_TIMES = frozenset(["x", "mal", "fois", "veces", "volte"])


def _counts(one: Found, words: list[str]) -> bool:
    """Whether a word for cutting has a number of pieces beside it, and no length."""
    if one.length == 0:
        return any(word.isdigit() for word in words) or any("0" <= letter <= "9" for word in words for letter in word)
    after = words[one.place + one.length : one.place + one.length + 2]
    before = words[max(one.place - 2, 0) : one.place]
    if after and (after[0].isdigit() or after[0] in _NUMBERS):
        return after[-1] not in _UNITS
    return bool(before) and (
        before[-1].isdigit() or (before[0].isdigit() and before[-1] in ("x", "mal", "fois", "veces"))
    )


def _acts(keys: dict[str, list[Found]], clauses: _Clauses) -> set[str]:
    """The doing words of a sentence, where they stand as in instructions."""
    return {one.word for key in ("own", "any", "whole") for one in keys.get(key, ()) if clauses.does(one)}


def _flat(keys: dict[str, list[Found]], key: str) -> list[Found]:
    return keys.get(key, [])


def _kinds(sentence: str, words: list[str], keys: dict[str, list[Found]], made: Making, *, is_step: bool) -> None:
    short = len(words) <= 40
    goods = any(key in keys for key in _GOODS)
    if goods and short and not is_step and _AMOUNT_RE.search(sentence):
        made.materials += 1
    if "any.size" in keys and len(words) <= 40 and len(_SIZE_RE.findall(sentence)) >= 2:
        made.sizes += 1
    if "sewing.seam" in keys and any(character.isdigit() for character in sentence) and not sentence.endswith("?"):
        made.seam += 1
    if "=" in sentence or ":" in sentence:
        known = {one.word for key in ("knit", "hook", "both", "lone", "row") for one in keys.get(key, ())}
        left = [fold(word) for word in _EQUALS_RE.findall(sentence)]
        made.shorthand += sum(word in known for word in left if word)
    if "private" in keys and len(words) >= 3:
        made.terms += 1
    if "embroidery.tool" in keys or "embroidery.step" in keys:
        made.design += min(sum(word.isdigit() for word in words), 3) if short else 0
    if len(set(_STITCH_FORMAT_RE.findall(sentence))) >= 2:
        made.design += 1


@lru_cache(maxsize=64)
def _headings(languages: frozenset[str]) -> frozenset[str]:
    return frozenset(fold(word) for language in languages for word in entries("title", "headings", language)) - {""}


def _sections(text: str, languages: frozenset[str]) -> int:
    """How many lines are headings that patterns have."""
    headings = _headings(languages)
    heads = (raw.split(":")[0].split("：")[0] for raw in text.split("\n"))
    return len({line for head in heads if len(head) <= 40 and (line := fold(head)) in headings})
