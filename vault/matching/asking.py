"""The order of questions: the fewest first where they decide most.

An answer decides more than its own question: a file that is named for one item is out for the others; in a zip the
other files follow; a maker's other name, once taught, tells the maker's other files.  So of questions that hang
together the first is the likeliest one, and what hangs together with most comes first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence

from vault.matching.filed import Filed
from vault.matching.makers import maker
from vault.model.match import MatchItem, Question


def ties(question: Question, source: MatchItem, filed: Callable[[str], Filed]) -> frozenset[tuple[str, ...]]:
    """What ties a question to others: its files, their zips, and a maker's name that the receipt does not have."""
    found: set[tuple[str, ...]] = set()
    for n, candidate in enumerate(question.candidates):
        file = filed(candidate.sha256)
        found.add(("file", candidate.sha256))
        found.update(("zip", z) for z in file.zips)
        own, theirs = (maker(name or "") for name in (_maker_of(source), file.facts.designer))
        if n == 0 and own and theirs and any(r.name == "another maker" for r in candidate.reasons):
            found.add(("maker", own.run, theirs.run))
    return frozenset(found)


def _maker_of(source: MatchItem) -> str | None:
    return source.item.designer or source.purchase.seller


def most_telling_first(
    questions: Sequence[Question], tied: Sequence[frozenset[tuple[str, ...]]], later: Iterable[str]
) -> tuple[Question, ...]:
    """The questions in the order in which they are asked; `later`: items that she put off, which come last."""
    holders: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for question, keys in zip(questions, tied, strict=True):
        for k in keys:
            holders[k].add(question.id)
    decides = {q.id: len(set().union(*(holders[k] for k in keys))) for q, keys in zip(questions, tied, strict=True)}
    put_off = frozenset(later)

    def rank(q: Question) -> tuple[bool, int, float, str]:
        return (q.item_id in put_off, -decides[q.id], -q.candidates[0].score, q.item_id)

    return tuple(sorted(questions, key=rank))
