"""From evidence to decisions: link, question or nothing, for one file at a time and then for all together.

A file is linked to a target that has points enough, no stop, and distance to the next other product.  Targets that are
the same product (bought twice, or alone and in a bundle) are linked together.  What is near enough to be asked about
is kept as a candidate.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from vault.matching.filed import Filed
from vault.matching.hearing import Evidence
from vault.matching.targets import Bought, same_product
from vault.matching.weights import ASK, GAP, LINK, Weight
from vault.model.match import Answer

OUT_OF_REACH = ASK - 1.0  # points below which a pair is forgotten
# A stop that does not part targets of one product: either order of a pattern bought twice explains the file.
_TWIN_STOPS = frozenset({"stamped for another order"})


@dataclass(frozen=True, slots=True)
class Scored:
    """A target with the evidence for it and what that comes to."""

    place: int
    points: float
    stops: tuple[str, ...]
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Outcome:
    """What was decided about one file: targets it is linked to, and those it may be, best first."""

    chosen: tuple[Scored, ...] = ()
    possible: tuple[Scored, ...] = ()


class Answers:
    """What the person said, by item."""

    def __init__(self, answers: Iterable[Answer]) -> None:
        ordered = sorted(answers, key=lambda a: (a.item_id, a.sha256 or "", a.later, a.rejected))
        self.files: dict[str, frozenset[str]] = {a.item_id: frozenset({a.sha256}) for a in ordered if a.sha256}
        self.later = frozenset(a.item_id for a in ordered if a.later and not a.sha256)
        self.rejected: dict[str, frozenset[str]] = {
            a.item_id: frozenset(a.rejected) for a in ordered if a.sha256 is None and not a.later
        }
        self.by_file: dict[str, frozenset[str]] = {}
        for item_id, shas in self.files.items():
            for sha in shas:
                self.by_file[sha] = self.by_file.get(sha, frozenset()) | {item_id}

    def open_zip(self, sha256: str, members: Iterable[str]) -> None:
        """Takes a zip that she named for the files in it, for these are what is linked."""
        inside = frozenset(members)
        for item_id in self.by_file.pop(sha256, frozenset()):
            self.files[item_id] = self.files[item_id] - {sha256} | inside
            for sha in inside:
                self.by_file[sha] = self.by_file.get(sha, frozenset()) | {item_id}

    def forbids(self, item_id: str, sha256: str) -> bool:
        """Whether she said that the item is not this file (none at all, where the candidates are unknown)."""
        rejected = self.rejected.get(item_id)
        return rejected is not None and (not rejected or sha256 in rejected)


def score01(points: float) -> float:
    """Points as a score between 0 and 1; a link has 0.73 or more."""
    return round(1.0 / (1.0 + math.exp(-(points - 3.0))), 4)


def scored(
    evidence: Mapping[int, Evidence], weights: Mapping[str, Weight], *, least: float = OUT_OF_REACH
) -> tuple[Scored, ...]:
    """Evidence by target added up, best first, without what is out of reach."""
    made = [Scored(p, e.points(weights), e.stops(weights), e) for p, e in evidence.items()]
    return tuple(sorted((s for s in made if s.points >= least), key=lambda s: (-s.points, s.place)))


def decide(file: Filed, ranked: Sequence[Scored], bought: Bought, answers: Answers) -> Outcome:
    """Which targets the file is linked to, and which it may be."""
    open_ones = [s for s in ranked if not answers.forbids(bought.targets[s.place].item_id, file.sha256)]
    told = answers.by_file.get(file.sha256, frozenset())
    if told:
        # She said what it is; by itself it is linked only to the same product, bought once more.
        hers = [t for i in sorted(told) for t in (bought.targets[p] for p in bought.of_item.get(i, ()))]
        open_ones = [s for s in open_ones if any(same_product(bought.targets[s.place], t) for t in hers)]
    if file.unusable is not None:
        return Outcome(possible=tuple(s for s in open_ones if s.points >= LINK))
    possible = tuple(s for s in open_ones if s.points >= ASK)
    best = next((s for s in open_ones if s.points >= LINK and not s.stops), None)
    if best is None:
        return Outcome(possible=possible)
    first = bought.targets[best.place]
    twins = [s for s in open_ones if same_product(first, bought.targets[s.place])]
    rival = next((s for s in open_ones if s not in twins and s.points > best.points - GAP), None)
    if rival is not None:
        return Outcome(possible=possible)
    chosen = tuple(
        s for s in twins if s is best or (not set(s.stops) - _TWIN_STOPS and s.points >= min(ASK, best.points - GAP))
    )
    return Outcome(chosen=chosen, possible=tuple(s for s in possible if s not in chosen))
