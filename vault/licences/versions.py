"""Sources that say the same, brought together: the versions of the terms, in the order in which they were seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from vault.language import fold
from vault.model.licence import Clause, TermsSeen
from vault.model.pattern import LicenceTerms


@dataclass(frozen=True, kw_only=True)
class Version:
    """One wording of the terms and every place where it was seen, first one first."""

    seen: tuple[TermsSeen, ...]

    @property
    def terms(self) -> LicenceTerms:
        return self.seen[0].terms

    @property
    def clauses(self) -> tuple[Clause, ...]:
        return self.seen[0].clauses

    @property
    def first_seen(self) -> date | None:
        return self.seen[0].seen_on


def versions(sources: Sequence[TermsSeen]) -> tuple[Version, ...]:
    """The versions, oldest first; sources with the same words, answers and grant are one."""
    ordered = sorted(sources, key=lambda s: (s.seen_on or date.max, s.id))
    same: dict[object, list[TermsSeen]] = {}
    for source in ordered:
        same.setdefault(_words(source), []).append(source)
    return tuple(Version(seen=tuple(group)) for group in same.values())


def _words(source: TermsSeen) -> object:
    quotes = [q for c in source.clauses for q in c.quotes] + list(source.terms.quotes)
    answers = tuple((c.act, c.ruling, c.limit, c.per) for c in source.clauses)
    return answers, frozenset(fold(q.text) for q in quotes), source.granted, source.until
