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
from vault.model.match import MatchItem
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
