"""Files without a purchase: free patterns, gifts, or purchases whose receipt is not here.

One file may be anything.  Several by one maker of whom nothing was bought suggest a receipt that has not been imported,
and several by one from whom something was bought suggest another order.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from vault.matching.keys import code_key
from vault.matching.makers import MakerName, maker, makers, one_of
from vault.matching.title import parse
from vault.model.match import Link, MatchItem
from vault.model.pattern import PatternFile

SEVERAL = 3  # patterns by one maker that suggest a receipt


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
    groups: dict[str, list[PatternFile]] = {}
    for file in sorted(files, key=lambda f: f.sha256):
        facts = file.facts
        if file.sha256 in linked or file.members or facts.is_pattern is False or facts.unusable or facts.damaged:
            continue
        name = maker(facts.designer) if facts.designer else None
        groups.setdefault(name.run if name else "", []).append(file)
    known = makers(n for m in items for n in (m.item.designer, m.purchase.seller))
    orders = {code_key(n) for m in items for n in (m.purchase.order_number, m.purchase.payment_number) if n}
    made = [
        Unclaimed(
            designer=found[0].facts.designer if run else None,
            files=tuple(f.sha256 for f in found),
            hint=_hint(found, known, orders),
        )
        for run, found in groups.items()
    ]
    return tuple(sorted(made, key=lambda u: (u.designer is None, -len(u.files), (u.designer or "").casefold())))


def _hint(found: Sequence[PatternFile], known: Sequence[MakerName], orders: Collection[str]) -> str:
    """What these files of one maker suggest, or an empty string."""
    hints = [
        f"stamped for order {number}, of which no receipt is here"
        for number in sorted(filter(None, {_stamped(f) for f in found}))
        if code_key(number) not in orders
    ]
    name = maker(found[0].facts.designer or "")
    n = len({_pattern(f) for f in found})
    if name is not None and n >= SEVERAL:
        shown = found[0].facts.designer
        if one_of(name, known):
            hints.append(f"{n} patterns by {shown} without a purchase: is the receipt of another order to be imported?")
        else:
            hints.append(f"{n} patterns by {shown}, of whom no purchase is here: is there a receipt to be imported?")
    return "; ".join(hints)


def _stamped(file: PatternFile) -> str | None:
    return file.facts.stamp.order_number if file.facts.stamp else None


def _pattern(file: PatternFile) -> object:
    """What makes several files one pattern: the title, else the zip, else the file itself."""
    if file.facts.title and (title := parse(file.facts.title)).plain:
        return (title.plain, title.variants, title.volumes)
    return next((s.zip_sha256 for s in file.sightings if s.zip_sha256), file.sha256)
