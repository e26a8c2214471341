"""What a sentence states about one subject: statements from its clauses, with the limit where it names a number.

What "sell" means depends on its object: finished pieces, or the file itself, whose resale is sharing.  An act without
an object takes that of the words before it.  A condition ("without written permission") turns either answer into
"with-licence"; for passing the file on it does so only where nothing else stands nearer to it, since selling and
teaching are licensed in this trade and sharing hardly ever.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from vault.patterns.licence_clauses import ACTS, Clause, Hit, clauses
from vault.patterns.licence_words import CJK_RE, Words

_NUMBER_RE = re.compile(
    r"(?<![\d.,/])(\d{1,3}(?:[., ]\d{3})+|\d{1,5})(?![\d/]|[.,]\d)(?!\s*(?:%|€|£|\$|cm|mm|kr|eur|usd|円|歳))",
    re.IGNORECASE,
)
_MONEY_BEFORE_RE = re.compile(r"[€£$]\s*$")
_CJK_LIMIT_RE = re.compile(
    r"(\d{1,5})\s*(?:点|個|枚|着|作品|セット|つ|本|ヶ|件)(?:程度|ほど)?(?:まで|以内|以下|を上限|が上限|を限度|未満)"
)
_NEAR_LIMIT = 24
_BRIEF = 32  # characters of a sentence that has room for nothing but "Vente interdite" and the like
_LARGEST_LIMIT = 100_000


@dataclass(frozen=True)
class Statement:
    """One answer about a subject: sell, share, teach, alter, credit or personal.

    `general` where only "commercial" is said; `exception` overrides what the same sentence says before; `beyond` holds
    for larger numbers only.
    """

    subject: str
    value: str
    limit: int | None = None
    general: bool = False
    exception: bool = False
    beyond: bool = False


@dataclass
class Reading:
    """What one sentence gave: statements; acts that are named without an answer; the object it speaks of."""

    statements: list[Statement]
    pending: tuple[str, ...] = ()
    about: str | None = None


def read_sentence(
    text: str, words: Words, *, about: str | None = None, given: bool | None = None, in_licence: bool = False
) -> Reading:
    """The statements of a sentence.

    `about` is the object of the words before, `given` the answer that a list's header or a tick gives, `in_licence`
    whether the sentences around speak of the licence.
    """
    parts = clauses(text, words)
    reading = Reading([], about=about)
    acted: Clause | None = None
    pending: list[str] = []
    many = sum(len({hit.key for hit in part.of(*ACTS, "keep")}) for part in parts)
    sure = (
        in_licence
        or many >= 2
        or any(
            part.has("personal", "commercial", "condition", "small", "mass")
            or (part.has("sell") and (len(text) <= _BRIEF or _limit(part.text, words) is not None))
            for part in parts
        )
    )
    for part in parts:
        clause = part
        if acted is not None and not _acts(part) and _leans(part, words):
            clause = _leaning(part, acted, words)
        elif clause.polarity is None and given is not None:
            clause = _with(clause, given)
        said = list(_statements(clause, words, reading.about, sure, parts))
        reading.statements.extend(said)
        if _acts(clause):
            acted = clause
            if not said:
                pending.extend(_subjects(clause, reading.about))
        reading.about = _about(clause) or reading.about
    reading.pending = tuple(dict.fromkeys(pending))
    return reading


def _acts(clause: Clause) -> list[Hit]:
    return clause.of(*ACTS)


def _leans(clause: Clause, words: Words) -> bool:
    """Whether a clause without a verb of its own goes on with that of the clause before."""
    return clause.turned or (
        clause.joined_on and (clause.has("finished", "file", "small") or _limit(clause.text, words) is not None)
    )


def _leaning(clause: Clause, before: Clause, words: Words) -> Clause:
    polarity = clause.polarity
    if polarity is None and clause.turned and before.polarity is not None and not clause.has("condition"):
        polarity = not before.polarity
    elif polarity is None:
        polarity = before.polarity
    borrowed = [Hit(0, 0, hit.key) for hit in _acts(before) if hit.key != "alter"]
    if not clause.has("finished", "file"):
        borrowed += [Hit(0, 0, hit.key) for hit in before.of("finished", "file")]
    return Clause(clause.text, (*borrowed, *clause.hits), polarity, turned=clause.turned, joined_on=True)


def _with(clause: Clause, polarity: bool) -> Clause:
    return Clause(clause.text, clause.hits, polarity, turned=clause.turned, joined_on=clause.joined_on)


def _about(clause: Clause) -> str | None:
    objects = clause.of("finished", "file")
    return objects[0].key if objects else None


def _subjects(clause: Clause, about: str | None) -> Iterator[str]:
    for hit in _acts(clause):
        if hit.key == "commercial":
            yield "commercial"
        elif hit.key in ("sell", "resale"):
            if "finished" in (_objects_of(hit, clause) or (about or "finished",)):
                yield "sell"
        elif hit.key in ("share", "teach"):
            yield hit.key


def _statements(
    clause: Clause, words: Words, about: str | None, sure: bool, parts: Sequence[Clause]
) -> Iterator[Statement]:
    yield from _personal(clause, words)
    yield from _credit(clause, words, parts, sure)
    if clause.has("keep"):
        yield Statement("share", "no")
    yield from _sell(clause, words, about, sure)
    yield from _share(clause, words, about, sure)
    for subject in ("teach", "alter"):
        yield from _plain(clause, words, subject, sure)


def _personal(clause: Clause, words: Words) -> Iterator[Statement]:
    free = words.has("licence.personal_not", clause.text)
    if clause.has("own_copy") and not free and clause.polarity is True:
        return  # "you may print copies for your own use" limits the copies
    if clause.has("personal") or (free and clause.has("commercial")):
        yield Statement("personal", "no" if free else "yes")


def _credit(clause: Clause, words: Words, parts: Sequence[Clause], sure: bool) -> Iterator[Statement]:
    if not clause.has("credit"):
        return
    if clause.has("credit_soft"):
        yield Statement("credit", "no")
        return
    asked = words.has("licence.must", clause.text) and (sure or clause.has("file"))
    if asked or any(part.has("sell", "commercial", "finished", "resale") for part in parts):
        yield Statement("credit", "yes")


def _condition(clause: Clause, words: Words) -> Hit | None:
    for hit in clause.of("condition"):
        without = words.has("licence.without", clause.text[hit.start : hit.end])
        if not (without and clause.polarity is True):
            return hit
    return None


def _objects_of(act: Hit, clause: Clause) -> tuple[str, ...]:
    """What an act is done to: the nearest object of its clause, and what a bare conjunction ties to it."""
    objects = clause.of("finished", "file")
    if not objects:
        return ()
    # Japanese says what is done behind what it is done to.
    behind = 3 if CJK_RE.search(clause.text) else 0
    nearest = min(objects, key=lambda o: (_distance(act, o) + behind * (o.start > act.start), o.start < act.start))
    chain = {nearest.key}
    index = objects.index(nearest)
    for step in (1, -1):
        at = index
        while 0 <= at + step < len(objects):
            one, other = sorted((objects[at], objects[at + step]))
            between = clause.text[one.end : other.start]
            if len(between) > 30 or not _TIE_RE.fullmatch(between.strip()):
                break
            chain.add(objects[at + step].key)
            at += step
    return tuple(sorted(chain))


_TIE_RE = re.compile(
    r"(?:,|、|や|と|も|及び|および|または|and|or|nor|und|oder|noch|sowie|et|ou|ni|en|of|noch|y|o|e|né|och|eller|og|heller|i|lub|ani|oraz|ja|tai|eikä"
    r"|\s|the|any|die|den|das|der|danach|daraus|damit|les|des|de|het|los|las|el|la|i|gli|le)*",
    re.IGNORECASE,
)


def _distance(one: Hit, other: Hit) -> int:
    return max(one.start, other.start) - min(one.end, other.end)


def _sell(clause: Clause, words: Words, about: str | None, sure: bool) -> Iterator[Statement]:
    meant = False
    for act in clause.of("sell", "resale"):
        objects = _objects_of(act, clause)
        if not objects and act.key == "sell" and not clause.of("share", "copy"):
            leans = clause.bare or clause.has("pronoun")
            objects = (about,) if about and leans else ("finished",) if sure else ()
        meant = meant or "finished" in objects
    if clause.polarity is None and clause.has("commercial") and words.has("licence.personal_not", clause.text):
        clause = _with(clause, True)
    if clause.has("beyond", "condition") and not _acts(clause) and _counted(clause.text, words) is not None:
        meant = clause.has("beyond") and clause.has("condition")
    if clause.has("small") and not _acts(clause) and clause.polarity is not None:
        meant = meant or sure or _limit(clause.text, words) is not None
    general = False
    for act in clause.of("commercial"):
        after = [h for h in clause.of("share", "copy") if 0 <= h.start - act.end <= 2]
        if not after:
            general = not meant
            meant = True
    if not meant and not _acts(clause):
        if clause.has("licence_included"):
            yield Statement("sell", "yes", general=True)
        elif clause.has("selling_licence"):
            yield Statement("sell", "with-licence", general=True)
    if not meant or (clause.polarity is False and clause.has("mass") and not _sold_itself(clause)):
        return
    yield from _answer(clause, words, "sell", general=general)


def _sold_itself(clause: Clause) -> bool:
    """Whether a clause on mass production forbids selling too, and not only making in a factory."""
    return clause.has("commercial") or (
        clause.has("finished") and any(hit.end > hit.start for hit in clause.of("sell", "resale"))
    )


def _answer(clause: Clause, words: Words, subject: str, *, general: bool = False) -> Iterator[Statement]:
    limit = _limit(clause.text, words)
    condition = _condition(clause, words)
    if clause.has("beyond"):
        if limit is not None:
            yield Statement(subject, "limited", limit, exception=clause.turned)
        elif condition is not None or clause.polarity is False:
            yield Statement(subject, "with-licence" if condition else "no", beyond=True)
        return
    if condition is not None:
        yield Statement(subject, "with-licence", general=general, exception=clause.turned)
    elif clause.polarity is False:
        yield Statement(subject, "no", general=general, exception=clause.turned)
    elif limit is not None:
        yield Statement(subject, "limited", limit, exception=clause.turned)
    elif clause.polarity is True or clause.turned:
        value = "limited" if clause.has("small") else "yes"
        yield Statement(subject, value, general=general, exception=clause.turned)


def _share(clause: Clause, words: Words, about: str | None, sure: bool) -> Iterator[Statement]:
    acts = clause.of("share", "copy")
    taken = [
        act
        for act in clause.of("sell", "resale")
        if "file" in _objects_of(act, clause)
        or (not clause.has("finished") and (acts or (about == "file" and (clause.bare or clause.has("pronoun")))))
    ]
    acts = [
        act
        for act in (*acts, *taken)
        if not (act.key == "copy" and clause.has("own_copy"))
        and ("file" in (objects := _objects_of(act, clause)) or not objects or _another_sells(act, clause))
    ]
    if not acts or clause.polarity is None:
        return
    named = clause.has("file")
    if clause.polarity is True and not (named and any(act.key == "share" for act in acts)):
        condition = _condition(clause, words)
        if condition is None or not named:
            return
    if not (named or sure or clause.bare or (about == "file" and clause.has("pronoun"))):
        return
    condition = _condition(clause, words)
    if condition is not None and clause.polarity is False and _nearer_act(clause, condition, acts):
        condition = None
    value = "with-licence" if condition else "yes" if clause.polarity else "no"
    yield Statement("share", value, exception=clause.turned)


def _another_sells(act: Hit, clause: Clause) -> bool:
    """Whether the object behind an act is that of a "sell" nearer to it: "do not copy it or sell the garments"."""
    after = [hit for hit in clause.of("finished", "file") if hit.start >= act.end]
    if not after or any(hit.end <= act.start for hit in clause.of("finished")):
        return False
    return any(act.end <= sell.start < after[0].start for sell in clause.of("sell", "resale"))


def _nearer_act(clause: Clause, condition: Hit, acts: Sequence[Hit]) -> bool:
    others = [hit for hit in _acts(clause) if hit not in acts and hit.key != "alter"]
    nearest = min((_distance(act, condition) for act in acts), default=0)
    return any(_distance(other, condition) < nearest for other in others)


def _plain(clause: Clause, words: Words, subject: str, sure: bool) -> Iterator[Statement]:
    if not clause.has(subject) or (clause.polarity is None and not (subject == "teach" and clause.has("condition"))):
        return
    if subject == "teach" and not (sure or clause.has("file", "finished") or CJK_RE.search(clause.text)):
        return
    if subject == "alter" and (clause.polarity or not (sure and (clause.has("file", "share", "copy", "pronoun")))):
        return
    condition = _condition(clause, words)
    value = "with-licence" if condition else "yes" if clause.polarity else "no"
    if value != "yes" or sure or clause.has("file", "finished"):
        yield Statement(subject, value, exception=clause.turned)


def answer_of(pending: Sequence[str], text: str, words: Words, *, allowed: bool) -> Iterator[Statement]:
    """The answers to a question or a label: "Selling: yes, up to 20"."""
    limit = _limit(text, words)
    for subject in pending:
        if subject in ("sell", "commercial") and allowed and limit is not None:
            yield Statement("sell", "limited", limit)
        else:
            general = subject == "commercial"
            yield Statement("sell" if general else subject, "yes" if allowed else "no", general=general)


def limit_alone(text: str, words: Words) -> int | None:
    """The number of a sentence that only limits what was allowed before it ("No more than ten pieces, please.")."""
    parts = clauses(text, words)
    if any(_acts(part) for part in parts) or not words.has("licence.limit", text):
        return None
    return _counted(text, words) if not CJK_RE.search(text) else _limit(text, words)


def _limit(text: str, words: Words) -> int | None:
    """The number of pieces a clause names: behind "up to" and the like, or before a word for pieces."""
    if CJK_RE.search(text):
        match = _CJK_LIMIT_RE.search(text)
        return int(match.group(1)) if match else None
    numbers = list(_numbers(text, words))
    if not numbers:
        return None
    starts = [match.end() for key in ("limit", "beyond") for match in words.of(f"licence.{key}").finditer(text)]
    for start in sorted(starts):
        for at, _, value in numbers:
            if 0 <= at - start <= _NEAR_LIMIT and not re.search(r"[.;:]", text[start:at].strip(" .:")):
                return value
    return _counted(text, words)


def _counted(text: str, words: Words) -> int | None:
    """The first number before a word for pieces."""
    for _, end, value in _numbers(text, words):
        if words.of("licence.unit").match(text, end + 1):
            return value
    return None


def _numbers(text: str, words: Words) -> Iterator[tuple[int, int, int]]:
    found: list[tuple[int, int, int]] = []
    for match in _NUMBER_RE.finditer(text):
        if not _MONEY_BEFORE_RE.search(text[: match.start()]):
            value = int(re.sub(r"[., ]", "", match.group(1)))
            if 0 < value <= _LARGEST_LIMIT and not 1900 <= value <= 2100:
                found.append((match.start(), match.end(), value))
    for match in _number_words(words).finditer(text):
        found.append((match.start(), match.end(), words.numbers[" ".join(match.group().casefold().split())]))
    return iter(sorted(found))


_WORD_CACHE: dict[str, re.Pattern[str]] = {}


def _number_words(words: Words) -> re.Pattern[str]:
    if words.language not in _WORD_CACHE:
        ordered = sorted(words.numbers, key=lambda word: -len(word))
        inner = "|".join(re.escape(word).replace(r"\ ", r"\s+") for word in ordered)
        _WORD_CACHE[words.language] = re.compile(rf"(?<!\w)(?:{inner})(?!\w)" if inner else r"(?!)", re.IGNORECASE)
    return _WORD_CACHE[words.language]
