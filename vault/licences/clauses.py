"""The terms of one source, act by act, each with the words that it rests on.

`LicenceTerms` hold one answer per subject and all quotes together; here each act gets its answer, its limit with the
period, and those quotes that speak of it.  What only follows from wider words ("for personal use only" for selling) is
marked general, so that plain words elsewhere go before it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from vault.licences.wording import clauses_in, period_in, says_only
from vault.model.licence import Act, Clause, Ruling
from vault.model.pattern import LicenceTerms, Quote

# Reads one quote alone: what it says by itself.  Handed in, for the readers of licence words are a package beside this.
ReadQuote = Callable[[str], LicenceTerms | None]

_SUBJECTS: dict[str, tuple[str, object]] = {
    "sell": ("sell_finished", "silent"),
    "teach": ("teach", "silent"),
    "share": ("share_file", "silent"),
    "alter": ("alter_file", "silent"),
    "personal": ("personal_use", None),
    "credit": ("credit_required", None),
}
_PLAIN = (("sell", Act.SELL), ("teach", Act.TEACH), ("share", Act.SHARE), ("alter", Act.ALTER))


class Quotes:
    """The quotes of one source, told apart by what each says when it is read alone."""

    def __init__(self, quotes: Sequence[Quote], read: ReadQuote) -> None:
        self.all = tuple(quotes)
        self._about: list[frozenset[str]] = [_subjects(read(q.text)) for q in self.all]

    def about(self, *subjects: str) -> tuple[Quote, ...]:
        """The quotes that speak of one of the subjects; all of them where none does by itself."""
        return self.only(*subjects) or self.all

    def only(self, *subjects: str) -> tuple[Quote, ...]:
        """The quotes that speak of one of the subjects by themselves."""
        return tuple(q for q, about in zip(self.all, self._about, strict=True) if about & set(subjects))


def _subjects(terms: LicenceTerms | None) -> frozenset[str]:
    if terms is None:
        return frozenset()
    return frozenset(name for name, (field, silent) in _SUBJECTS.items() if getattr(terms, field) != silent)


def clauses_of(
    terms: LicenceTerms | None, text: str, read: ReadQuote, *, language: str | None = None
) -> tuple[Clause, ...]:
    """One clause for each act that the source speaks of; `text` is the whole text it was read from."""
    found = list(_merged(clauses_in(text, language)))
    if terms is not None:
        quotes = Quotes(terms.quotes, read)
        found += _stated(terms, quotes)
        found += _following(terms, quotes, {c.act for c in found})
    return tuple(sorted(found, key=lambda c: list(Act).index(c.act)))


def _merged(clauses: Sequence[Clause]) -> list[Clause]:
    """One clause per act: sentences that contradict each other make it unclear."""
    by_act: dict[Act, list[Clause]] = {}
    for clause in clauses:
        by_act.setdefault(clause.act, []).append(clause)
    merged = []
    for act, same in by_act.items():
        rulings = {c.ruling for c in same}
        if Ruling.WITH in rulings:
            rulings.discard(Ruling.NO)
        ruling = rulings.pop() if len(rulings) == 1 else Ruling.UNCLEAR
        quotes = tuple(dict.fromkeys(q for c in same for q in c.quotes))
        merged.append(Clause(act=act, ruling=ruling, quotes=quotes))
    return merged


def _stated(terms: LicenceTerms, quotes: Quotes) -> list[Clause]:
    """What the terms say in so many words."""
    found = []
    for subject, act in _PLAIN:
        ruling = Ruling(getattr(terms, _SUBJECTS[subject][0]))
        if ruling is Ruling.SILENT:
            continue
        about = quotes.about(subject)
        limit = terms.limit if act is Act.SELL and ruling is Ruling.LIMITED else None
        per = period_in(about, limit) if ruling is Ruling.LIMITED else None
        found.append(Clause(act=act, ruling=ruling, limit=limit, per=per, quotes=about))
    if terms.personal_use is not None:
        found.append(Clause(act=Act.USE, ruling=Ruling.YES, quotes=quotes.about("personal")))
    return found


def _following(terms: LicenceTerms, quotes: Quotes, said: set[Act]) -> list[Clause]:
    """What follows from the words without standing there: always marked general."""
    found = []
    by_act = {c.act: c for c in _stated(terms, quotes)}
    only = quotes.only("personal") if terms.personal_use else ()
    personal_only = bool(only) and says_only(only)
    sell, share = by_act.get(Act.SELL), by_act.get(Act.SHARE)
    if Act.USE not in said and sell is not None and sell.ruling in (Ruling.YES, Ruling.LIMITED):
        found.append(Clause(act=Act.USE, ruling=Ruling.YES, general=True, quotes=sell.quotes))
    if sell is None and personal_only:
        found.append(Clause(act=Act.SELL, ruling=Ruling.NO, general=True, quotes=only))
    # A copy that is given away is a copy that is shared.
    if share is not None:
        found.append(replace(share, act=Act.GIVE, general=True))
    # Who may use a pattern for herself only, or sell nothing made from it, may not be paid for the sewing either.
    if Act.HIRE not in said:
        if sell is not None and sell.ruling in (Ruling.NO, Ruling.WITH):
            found.append(replace(sell, act=Act.HIRE, general=True))
        elif sell is None and personal_only:
            found.append(Clause(act=Act.HIRE, ruling=Ruling.NO, general=True, quotes=only))
        elif sell is not None:
            found.append(Clause(act=Act.HIRE, ruling=Ruling.UNCLEAR, general=True, quotes=sell.quotes))
    return found
