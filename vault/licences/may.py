"""The answer to "may I?": all sources of an item and the ledger, put together.

* What was granted to this person herself goes before what everybody gets, until its last day.
* Of the rest the terms of the time of purchase count: the files that were bought, and everything seen until 90 days
  after it (download links live that long).  Terms seen later are named beside.
* Plain words go before what only follows from wider ones; plain words that differ make the answer "unclear".
* Silence stays silence.

No legal advice: every answer carries the clauses, and these the words.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from vault.model.licence import Act, Clause, LicenceUse, MayAnswer, Ruling, Sourced, TermsPlace, TermsSeen, UseKind

WITH_THE_PURCHASE = timedelta(days=90)
# Which line of the ledger an act is counted by.
COUNTED_BY = {Act.SELL: UseKind.SOLD, Act.TEACH: UseKind.TAUGHT, Act.USE: UseKind.MADE, Act.HIRE: UseKind.SOLD}
ACT_OF = {UseKind.SOLD: Act.SELL, UseKind.TAUGHT: Act.TEACH, UseKind.MADE: Act.USE}


def may(
    act: Act,
    sources: Sequence[TermsSeen],
    uses: Sequence[LicenceUse] = (),
    *,
    count: int | None = None,
    bought_on: date | None = None,
    day: date,
) -> MayAnswer:
    """What the sources answer to `act` on `day`; `count` is how many more it is asked for."""
    granted = [s for s in sources if s.granted and (s.until is None or s.until >= day)]
    run_out = [s for s in sources if s.granted and s not in granted]
    everybodys = [s for s in sources if not s.granted]
    first = with_the_purchase(everybodys, bought_on)
    given = _speaking(sorted(granted, key=lambda s: s.seen_on or date.min, reverse=True), act)
    standing = _speaking(first, act)
    decisive = given[:1] or _plainest(standing)
    ruling, why = _put_together(decisive, act)
    others = [
        s
        for s in (*_speaking(run_out, act), *_speaking([s for s in everybodys if s not in first], act))
        if not decisive or _differs(s.clause, decisive[0].clause)
    ]
    if given:
        why = [f"granted to you: {given[0].source.name}", *why]
        others += [s for s in standing if _differs(s.clause, given[0].clause)]
    if run_out:
        why += [f"{s.name} held until {s.until}" for s in run_out]
    limit = decisive[0].clause.limit if ruling is Ruling.LIMITED else None
    per = decisive[0].clause.per if ruling is Ruling.LIMITED else None
    n_used = used(act, uses, per, day)
    left = None if limit is None else max(0, limit - n_used)
    if ruling is Ruling.LIMITED and limit is None:
        why.append("in small numbers; no number is named")
    return MayAnswer(
        act=act,
        ruling=ruling,
        asked=count,
        limit=limit,
        per=per,
        used=n_used,
        left=left,
        fits=_fits(ruling, limit, n_used, count),
        credit=any(s.source.credit for s in decisive) and ruling in _ALLOWING,
        why=tuple(why),
        rests_on=tuple(decisive),
        others=tuple(others),
    )


_ALLOWING = (Ruling.YES, Ruling.LIMITED, Ruling.WITH)


def _fits(ruling: Ruling, limit: int | None, n_used: int, count: int | None) -> bool | None:
    """Whether `count` more (none: what was used already) stay within the words; None where they do not say."""
    if ruling in (Ruling.YES, Ruling.NO):
        return ruling is Ruling.YES
    return None if limit is None else n_used + (count or 0) <= limit


def with_the_purchase(sources: Sequence[TermsSeen], bought_on: date | None) -> list[TermsSeen]:
    """The sources that were seen with the purchase; undated ones count as such.

    A file that was bought says what it said when it was bought, however late it was imported: of several files, those
    count that came first.  If nothing was seen with the purchase, what was seen first has to do.
    """
    files = [s.seen_on for s in sources if s.seen_on is not None and s.place is TermsPlace.FILE]
    first_file = min(files, default=date.min)
    start = {True: max(first_file, bought_on or date.min), False: bought_on or date.max - WITH_THE_PURCHASE}
    first = [
        s for s in sources if s.seen_on is None or s.seen_on <= start[s.place is TermsPlace.FILE] + WITH_THE_PURCHASE
    ]
    if first or not sources:
        return first
    earliest = min(s.seen_on for s in sources if s.seen_on is not None)
    return [s for s in sources if s.seen_on is not None and s.seen_on <= earliest + WITH_THE_PURCHASE]


def _speaking(sources: Sequence[TermsSeen], act: Act) -> list[Sourced]:
    return [
        Sourced(source=s, clause=c)
        for s in sources
        for c in s.clauses
        if c.act is act and c.ruling is not Ruling.SILENT
    ]


def _plainest(found: list[Sourced]) -> list[Sourced]:
    return [s for s in found if not s.clause.general] or found


def _differs(a: Clause, b: Clause) -> bool:
    return (a.ruling, a.limit, a.per) != (b.ruling, b.limit, b.per)


def _put_together(decisive: Sequence[Sourced], act: Act) -> tuple[Ruling, list[str]]:
    if not decisive:
        return Ruling.SILENT, ["no words about it were found"]
    first = decisive[0].clause
    if any(_differs(s.clause, first) for s in decisive):
        return Ruling.UNCLEAR, ["the sources say different things"]
    if first.ruling is Ruling.UNCLEAR:
        if first.general:
            return Ruling.UNCLEAR, ["the words speak of selling pieces, not of working for somebody who pays"]
        return Ruling.UNCLEAR, ["the words contradict themselves"]
    return first.ruling, [_GENERAL[act]] if first.general and act in _GENERAL else []


_GENERAL = {
    Act.USE: "who may sell pieces may make them",
    Act.SELL: "the words allow personal use only and do not name selling",
    Act.GIVE: "a copy given away is a copy shared",
    Act.HIRE: "the words allow no paid use and do not name working for somebody who pays",
}


def used(act: Act, uses: Sequence[LicenceUse], per: str | None, day: date) -> int:
    """What the ledger counts for `act` until `day`, in the calendar year or month of `day` where `per` names one."""
    kind = COUNTED_BY.get(act)
    return sum(u.count for u in uses if u.kind is kind and u.on <= day and _in_period(u.on, per, day))


def _in_period(on: date, per: str | None, day: date) -> bool:
    if per == "year":
        return on.year == day.year
    return per != "month" or (on.year, on.month) == (day.year, day.month)
