"""Terms of use on a screen and as JSON: versions side by side, the answer to "may I?", the ledger.

Every answer stands above the words it rests on, and NO_ADVICE below them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vault.licences.versions import Version
from vault.model.licence import Act, Clause, LicenceUse, MayAnswer, Ruling, Sourced, TermsPlace, TermsSeen
from vault.model.pattern import Quote
from vault.reports.rows import day, licence_row
from vault.reports.tables import Column, labelled, table
from vault.reports.text import Style, plain, wrap

NO_ADVICE = "No legal advice: the licence text, your local law and the designer decide."
_MOST_QUOTES = 8
ACT_WORDS = {
    Act.USE: "make it for yourself",
    Act.SELL: "sell finished pieces",
    Act.TEACH: "teach with it",
    Act.SHARE: "share the file",
    Act.ALTER: "alter it",
    Act.PRINT: "print it again",
    Act.GIVE: "give a copy away",
    Act.HIRE: "make pieces for somebody who pays",
}
_RULING_WORDS = {
    Ruling.YES: "yes",
    Ruling.NO: "no",
    Ruling.LIMITED: "yes, in small numbers",
    Ruling.WITH: "only with a licence or permission",
    Ruling.SILENT: "silent: no words about it were found",
    Ruling.UNCLEAR: "unclear",
}
_PLACE_WORDS = {
    TermsPlace.FILE: "in the file",
    TermsPlace.PAGE: "on the page",
    TermsPlace.MAIL: "in the mail",
    TermsPlace.TEXT: "in",
}
_PER = {"year": " a year", "month": " a month", None: ""}


def ruling_words(clause: Clause) -> str:
    """One answer in a few words."""
    if clause.ruling is Ruling.LIMITED and clause.limit is not None:
        return f"yes, up to {clause.limit}{_PER[clause.per]}"
    return _RULING_WORDS[clause.ruling]


def answer_words(answer: MayAnswer) -> str:
    """The answer in one line."""
    if answer.ruling is Ruling.LIMITED and answer.limit is not None:
        words = f"yes, up to {answer.limit}{_PER[answer.per]}"
    else:
        words = _RULING_WORDS[answer.ruling]
    return f"{words}, with credit to the designer" if answer.credit else words


def count_words(answer: MayAnswer) -> str:
    """What was used already and what that leaves; empty where nothing is counted."""
    if answer.ruling is Ruling.LIMITED and answer.limit is not None:
        period = {"year": " this year", "month": " this month", None: ""}[answer.per]
        words = f"{answer.used} of {answer.limit} used{period}, {answer.left} left"
        if answer.fits is False and answer.asked:
            return f"{words}: {answer.asked} more would pass the limit by {answer.used + answer.asked - answer.limit}"
        if answer.fits is False:
            return f"{answer.used} of {answer.limit} used{period}: the limit is passed by {answer.used - answer.limit}"
        return f"{words}; {answer.asked} more stay within it" if answer.asked else words
    if answer.used:
        return f"{answer.used} in your ledger"
    return ""


def _where(source: TermsSeen) -> str:
    seen = f", seen {source.seen_on.isoformat()}" if source.seen_on else ""
    granted = ", granted to you" if source.granted else ""
    until = f" until {source.until.isoformat()}" if source.until else ""
    return f"{_PLACE_WORDS[source.place]} {plain(source.name)}{seen}{granted}{until}"


def _quotes(quotes: Sequence[Quote], style: Style, indent: int) -> list[str]:
    lead = " " * indent
    lines: list[str] = []
    for quote in quotes[:_MOST_QUOTES]:
        page = f" (page {quote.page})" if quote.page else ""
        lines += wrap(f'"{plain(quote.text)}"{page}', style.columns, first=lead, rest=lead + " ")
    return lines


def may(title: str, answer: MayAnswer, style: Style) -> list[str]:
    """The answer to "may I?" with everything it rests on."""
    count = f" {answer.asked} of" if answer.asked else ""
    asked = f"May I {ACT_WORDS[answer.act]}{f' ({answer.asked})' if count else ''}? {plain(title)}"
    lines = [style.bold(line) for line in wrap(asked, style.columns)]
    pressing = answer.ruling in (Ruling.NO, Ruling.UNCLEAR) or answer.fits is False
    words = wrap(answer_words(answer), style.columns, first="  ", rest="  ")
    lines += [style.alert(w) for w in words] if pressing else words
    counted = count_words(answer)
    if counted:
        lines += wrap(counted, style.columns, first="  ", rest="  ")
    for why in answer.why if answer.ruling is not Ruling.SILENT else ():
        lines += wrap(plain(why), style.columns, first="  ", rest="  ")
    for place in answer.rests_on:
        lines += ["", *_sourced(place, style)]
    if answer.others:
        lines += ["", "  Said otherwise elsewhere:"]
        for place in answer.others:
            lines += _sourced(place, style, with_answer=True)
    lines += ["", *wrap(NO_ADVICE, style.columns, first="  ", rest="  ")]
    return [style.finish(line) for line in lines]


def _sourced(place: Sourced, style: Style, *, with_answer: bool = False) -> list[str]:
    words = f"{ruling_words(place.clause)}, {_where(place.source)}" if with_answer else _where(place.source)
    lines = wrap(words[:1].upper() + words[1:], style.columns, first="  ", rest="    ")
    return lines + _quotes(place.clause.quotes, style, 4)


def show(title: str, versions: Sequence[Version], uses: Sequence[LicenceUse], style: Style) -> list[str]:
    """The terms of an item: each version with its answers, its words and its places; the ledger below."""
    lines = [style.bold(line) for line in wrap(plain(title), style.columns)]
    if not versions:
        lines += wrap(
            "No words about its use were found in its files, mails or pages. If you know some: "
            "pinfold licence add ITEM FILE",
            style.columns,
            first="  ",
            rest="  ",
        )
    if len(versions) > 1:
        lines += ["", *side_by_side(versions, style)]
    for number, version in enumerate(versions, start=1):
        head = f"Version {number}" if len(versions) > 1 else "Terms"
        lines += ["", style.bold(head)]
        for source in version.seen:
            lines += wrap(_where(source), style.columns, first="  ", rest="    ")
        if len(versions) == 1:
            lines += labelled([(ACT_WORDS[c.act], _with_general(c)) for c in version.clauses], style, indent=2)
            if version.seen[0].credit:
                lines += labelled([("credit", "asked for")], style, indent=2)
        quotes = dict.fromkeys((*version.terms.quotes, *(q for c in version.clauses for q in c.quotes)))
        lines += _quotes(tuple(quotes), style, 4)
    if uses:
        lines += ["", *ledger(uses, style)]
    lines += ["", *wrap(NO_ADVICE, style.columns, first="  ", rest="  ")]
    return [style.finish(line) for line in lines]


def _with_general(clause: Clause) -> str:
    return f"{ruling_words(clause)} (follows from the words)" if clause.general else ruling_words(clause)


def side_by_side(versions: Sequence[Version], style: Style) -> list[str]:
    """A table of acts with one column for each version, oldest first."""
    shown = versions[-3:]
    first = len(versions) - len(shown)
    columns = [Column(heading="")]
    for number, version in enumerate(shown, start=first + 1):
        seen = f" {version.first_seen.isoformat()}" if version.first_seen else ""
        columns.append(Column(heading=f"{number}:{seen}", gives=True))
    rows = []
    for act in Act:
        cells = [next((_in_brief(c) for c in v.clauses if c.act is act), "") for v in shown]
        if any(cells):
            rows.append([ACT_WORDS[act], *(cell or "silent" for cell in cells)])
    return table(columns, rows, style)


def _in_brief(clause: Clause) -> str:
    return "with a licence" if clause.ruling is Ruling.WITH else ruling_words(clause)


def ledger(uses: Sequence[LicenceUse], style: Style) -> list[str]:
    """The ledger, by day."""
    columns = [
        Column(heading="Day"),
        Column(heading="What"),
        Column(heading="Count", right=True),
        Column(heading="Where", gives=True),
        Column(heading="Id"),
    ]
    rows = [[u.on.isoformat(), u.kind.value, str(u.count), u.where, u.id] for u in uses]
    return table(columns, rows, style)


def overview(rows: Sequence[tuple[str, str, MayAnswer]], style: Style) -> list[str]:
    """One line for each item: id, title, whether pieces may be sold."""
    columns = [Column(heading="Item"), Column(heading="Title", gives=True), Column(heading="Sell pieces", gives=True)]
    lines = table(columns, [[item_id, title, answer_words(answer)] for item_id, title, answer in rows], style)
    return [*lines, "", *(style.finish(x) for x in wrap(NO_ADVICE, style.columns))]


# ---- JSON ----------------------------------------------------------------------------------------


def _quote_row(quote: Quote) -> dict[str, Any]:
    return {"text": quote.text, "page": quote.page}


def clause_row(clause: Clause) -> dict[str, Any]:
    """One clause."""
    return {
        "act": clause.act.value,
        "answer": clause.ruling.value,
        "limit": clause.limit,
        "per": clause.per,
        "follows": clause.general,
        "quotes": [_quote_row(q) for q in clause.quotes],
    }


def source_row(source: TermsSeen) -> dict[str, Any]:
    """One source of terms."""
    return {
        "id": source.id,
        "place": source.place.value,
        "name": source.name,
        "sha256": source.sha256,
        "seen_on": day(source.seen_on),
        "granted": source.granted,
        "until": day(source.until),
    }


def use_row(use: LicenceUse) -> dict[str, Any]:
    """One line of the ledger."""
    return {
        "id": use.id,
        "item_id": use.item_id,
        "kind": use.kind.value,
        "count": use.count,
        "on": day(use.on),
        "where": use.where or None,
    }


def show_row(item_id: str, title: str, versions: Sequence[Version], uses: Sequence[LicenceUse]) -> dict[str, Any]:
    """`licence show --json` for one item."""
    return {
        "item_id": item_id,
        "title": title,
        "versions": [
            {
                "seen": [source_row(s) for s in v.seen],
                "terms": licence_row(v.terms),
                "clauses": [clause_row(c) for c in v.clauses],
            }
            for v in versions
        ],
        "uses": [use_row(u) for u in uses],
        "note": NO_ADVICE,
    }


def may_row(item_id: str, title: str, answer: MayAnswer) -> dict[str, Any]:
    """`licence may --json`."""

    def place(one: Sourced) -> dict[str, Any]:
        return {"source": source_row(one.source), **clause_row(one.clause)}

    return {
        "item_id": item_id,
        "title": title,
        "act": answer.act.value,
        "answer": answer.ruling.value,
        "asked": answer.asked,
        "limit": answer.limit,
        "per": answer.per,
        "used": answer.used,
        "left": answer.left,
        "fits": answer.fits,
        "credit": answer.credit,
        "why": list(answer.why),
        "rests_on": [place(p) for p in answer.rests_on],
        "others": [place(p) for p in answer.others],
        "note": NO_ADVICE,
    }
