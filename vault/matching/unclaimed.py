"""Files without a purchase: free patterns, gifts, or purchases whose receipt is not here.

One file may be anything.  Several by one maker of whom nothing was bought suggest a receipt that has not been imported,
and several by one from whom something was bought suggest another order.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from vault.matching.makers import MakerName, maker, makers, one_of, same_maker
from vault.model.match import Link, MatchItem
from vault.model.pattern import PatternFile

SEVERAL = 3  # files by one maker that suggest a receipt


@dataclass(frozen=True, kw_only=True)
class Unclaimed:
    """Files of one maker (None: of nobody that they name) that belong to no purchase, and what that may mean."""

    designer: str | None
    files: tuple[str, ...]  # digests
    hint: str = ""


def unclaimed(
    files: Iterable[PatternFile], links: Iterable[Link], items: Sequence[MatchItem] = ()
) -> tuple[Unclaimed, ...]:
    """What may be a pattern and is linked to nothing, by maker, the largest group first.

    Zips stand for their members; what is no pattern, is damaged or only a preview is left out.
    """
    linked = {k.sha256 for k in links}
    groups: list[tuple[MakerName | None, str | None, list[str]]] = []
    for file in sorted(files, key=lambda f: f.sha256):
        facts = file.facts
        if file.sha256 in linked or file.members or facts.is_pattern is False or facts.unusable or facts.damaged:
            continue
        name = maker(facts.designer) if facts.designer else None
        group = next((g for g in groups if _one(g[0], name)), None)
        if group is None:
            group = (name, facts.designer if name else None, [])
            groups.append(group)
        group[2].append(file.sha256)
    known = makers(n for m in items for n in (m.item.designer, m.purchase.seller))
    made = [
        Unclaimed(designer=shown, files=tuple(shas), hint=_hint(name, shown, len(shas), known))
        for name, shown, shas in groups
    ]
    return tuple(sorted(made, key=lambda u: (u.designer is None, -len(u.files), (u.designer or "").casefold())))


def _one(a: MakerName | None, b: MakerName | None) -> bool:
    return a is b if a is None or b is None else same_maker(a, b)


def _hint(name: MakerName | None, shown: str | None, n: int, known: Iterable[MakerName]) -> str:
    if name is None or n < SEVERAL:
        return ""
    if one_of(name, known):
        return f"{n} patterns by {shown} without a purchase: is the receipt of another order still to be imported?"
    return f"{n} patterns by {shown}, of whom no purchase is here: is there a receipt to be imported?"
