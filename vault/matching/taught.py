"""What her answers teach: a designer's other name, and a code that stands for a title.

She said that a file is an item.  If the document names another maker than the receipt, both are one; if it has a
product code that the receipt has not, the code is the item's.  Nothing of this is stored: it follows from the answers
each time, and is gone when an answer is taken back.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from vault.matching.keys import code_key
from vault.matching.makers import MakerName, makers, one_of
from vault.model.match import Answer, MatchItem
from vault.model.pattern import PatternFile

_LEAST_CODE = 4


@dataclass(frozen=True, slots=True)
class Taught:
    """`makers`: run of letters of a known maker -> other names of theirs; `codes`: item id -> product codes."""

    makers: Mapping[str, frozenset[MakerName]] = field(default_factory=dict)
    codes: Mapping[str, frozenset[str]] = field(default_factory=dict)


NOTHING = Taught()


def learn(items: Iterable[MatchItem], said: Mapping[str, Iterable[str]], files: Mapping[str, PatternFile]) -> Taught:
    """What follows from `said` (item id -> digests of the files that she named)."""
    by_id = {m.item.id: m for m in items if m.item.id in said}
    names: dict[str, set[MakerName]] = {}
    codes: dict[str, set[str]] = {}
    pairs = [(i, files[sha]) for i in sorted(by_id) for sha in sorted(said[i]) if sha in files]
    for item_id, file in pairs:
        source = by_id[item_id]
        own = makers([source.item.designer or source.purchase.seller])
        buyer = makers([source.purchase.buyer_name])
        for other in makers([file.facts.designer]):
            if own and not one_of(other, own) and not one_of(other, buyer):
                names.setdefault(own[0].run, set()).add(other)
        code = code_key(file.facts.product_code or "")
        if len(code) >= _LEAST_CODE and not source.item.product_code:
            codes.setdefault(item_id, set()).add(code)
    return Taught(makers={k: frozenset(v) for k, v in names.items()}, codes={k: frozenset(v) for k, v in codes.items()})


@dataclass(frozen=True, kw_only=True)
class Lesson:
    """What one answer teaches, in plain words; it is gone when the answer is taken back."""

    item_id: str
    sha256: str
    words: str


def lessons(
    items: Iterable[MatchItem], answers: Iterable[Answer], files: Mapping[str, PatternFile]
) -> tuple[Lesson, ...]:
    """What each of the answers teaches, so that she sees it and can take it back."""
    known = tuple(items)
    titles = {m.item.id: m for m in known}
    found: list[Lesson] = []
    for answer in sorted(answers, key=lambda a: a.item_id):
        if not answer.sha256 or answer.sha256 not in files or answer.item_id not in titles:
            continue
        source, facts = titles[answer.item_id], files[answer.sha256].facts
        taught = learn(known, {answer.item_id: (answer.sha256,)}, files)
        own = source.item.designer or source.purchase.seller
        said = [f"a file by {facts.designer} may be a pattern of {own}" for _ in taught.makers]
        said += [f"a file with the code {facts.product_code} is “{source.item.title}”" for _ in taught.codes]
        found += [Lesson(item_id=answer.item_id, sha256=answer.sha256, words=words) for words in said]
    return tuple(found)
