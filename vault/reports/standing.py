"""How the whole vault stands, on one screen: what is held, missing, waiting, and how safe it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from vault.model.evidence import Problem
from vault.model.match import FileView, MissingRow, PurchaseView
from vault.model.purchase import ItemState, Seller
from vault.reports import copies as of_copies
from vault.reports.copies import Copies
from vault.reports.tables import labelled
from vault.reports.tallies import Tally, by_seller, by_year, seller_rows, year_rows
from vault.reports.text import Style, plain, wrap


@dataclass(frozen=True, kw_only=True)
class Standings:
    """The counts behind the status screen.  `last_*` are ISO 8601 days or None; `next_deadline` is a day."""

    vault: str
    purchases: int
    items: int
    held: int
    partial: int
    missing: int
    next_deadline: date | None
    questions: int
    problems: int
    files: int
    unclaimed: int
    sellers_at_risk: tuple[str, ...]
    last_backup: str | None = None
    last_rehearsal: str | None = None
    last_verify: str | None = None
    due: int = 0  # reminders that are due
    copies: Copies = field(default_factory=Copies)
    years: tuple[Tally, ...] = ()
    shops: tuple[Tally, ...] = ()  # those with missing things, the most first


NO_COPIES = Copies()
_MOST_NAMES = 8


def count(
    vault: str,
    purchases: Sequence[PurchaseView],
    files: Sequence[FileView],
    sellers: Sequence[Seller],
    missing: Sequence[MissingRow],
    *,
    questions: int,
    problems: int,
    last: dict[str, str | None],
    due: int = 0,
    copies: Copies = NO_COPIES,
) -> Standings:
    """The counts from the rows.  Items that are no patterns, not digital or given back do not count as items."""
    states = [
        i.standing.state
        for p in purchases
        for i in p.items
        if i.item.craft_pattern is not False and i.standing.state not in (ItemState.REFUNDED, ItemState.NOT_DIGITAL)
    ]
    short = {r.seller.id for r in missing if r.seller}
    return Standings(
        vault=vault,
        purchases=len(purchases),
        items=len(states),
        held=states.count(ItemState.HELD),
        partial=sum(r.view.standing.state is ItemState.PARTIAL for r in missing),
        missing=sum(r.view.standing.state is ItemState.MISSING for r in missing),
        next_deadline=min((r.deadline for r in missing if r.deadline), default=None),
        questions=questions,
        problems=problems,
        files=len(files),
        unclaimed=sum(bool(v.file.facts.is_pattern) and not v.item_ids and not v.duplicate_of for v in files),
        sellers_at_risk=tuple(s.name for s in sellers if s.status != "open" and s.id in short),
        last_backup=last.get("backup"),
        last_rehearsal=last.get("rehearse"),
        last_verify=last.get("verify"),
        due=due,
        copies=copies,
        years=by_year(purchases),
        shops=by_seller(missing),
    )


def row(s: Standings) -> dict[str, Any]:
    """`status --json`."""
    return {
        "status": {
            "vault": s.vault,
            "purchases": s.purchases,
            "items": s.items,
            "held": s.held,
            "partial": s.partial,
            "missing": s.missing,
            "next_deadline": s.next_deadline.isoformat() if s.next_deadline else None,
            "questions": s.questions,
            "problems": s.problems,
            "files": s.files,
            "unclaimed": s.unclaimed,
            "sellers_at_risk": list(s.sellers_at_risk),
            "last_backup": s.last_backup,
            "last_rehearsal": s.last_rehearsal,
            "last_verify": s.last_verify,
            "due": s.due,
            **of_copies.row(s.copies),
            "by_year": year_rows(s.years),
            "missing_by_seller": seller_rows(s.shops),
        }
    }


def needs_you(s: Standings) -> bool:
    """Whether anything waits for the person."""
    return bool(s.partial or s.missing or s.questions or s.problems)


def screen(s: Standings, style: Style) -> list[str]:
    """The status screen."""
    until = f", the first until {s.next_deadline.isoformat()}" if s.next_deadline else ""
    lines = [style.bold("How things stand")]
    lines += labelled(
        [
            ("bought", f"{s.items} patterns in {s.purchases} purchases"),
            ("held", f"{s.held} of {s.items}" if s.items else ""),
            ("in part", str(s.partial) if s.partial else ""),
            ("not held", f"{s.missing}{until}: pinfold missing" if s.missing else ""),
            ("at risk", risk_words(s)),
            ("due", f"{s.due}: pinfold remind" if s.due else "nothing"),
            ("questions", f"{s.questions}: pinfold settle" if s.questions else ""),
            ("unread", f"{s.problems} could not be read: pinfold status --unread" if s.problems else ""),
            ("files", files_words(s)),
            *_safety(s),
            ("vault", s.vault),
        ],
        style,
    )
    return [style.finish(line) for line in lines]


def risk_words(s: Standings) -> str:
    """The sellers at risk, a few by name."""
    names = [plain(n) for n in s.sellers_at_risk]
    more = len(names) - _MOST_NAMES
    return ", ".join(names[:_MOST_NAMES]) + (f" and {more} more: pinfold sellers" if more > 0 else "")


def files_words(s: Standings) -> str:
    """How many files there are, and how many patterns among them no purchase claims."""
    if not s.unclaimed:
        return str(s.files) if s.files else "none"
    return f"{s.files}; {s.unclaimed} pattern{'' if s.unclaimed == 1 else 's'} among them that no purchase claims"


def _safety(s: Standings) -> list[tuple[str, str]]:
    """The lines about backups: each destination, and the copies by the rule of thumb."""
    rows: list[tuple[str, str]] = []
    for place in s.copies.places:
        label = "backups" if not rows else ""
        rows.append((label, f"{plain(place.history.destination)}: {of_copies.destination_words(place)}"))
    if not rows:
        rows.append(("backups", s.last_backup or "never: pinfold backup --to FOLDER"))
        rows.append(("rehearsed", s.last_rehearsal or ""))
    if any(p.backed_up_on and not p.rehearsed_on for p in s.copies.places):
        rows.append(("", "try one: pinfold rehearse --from FOLDER"))
    rows.append(("checked", s.last_verify or "never: pinfold verify"))
    rule = of_copies.sentences(s.copies)
    rows += [("copies" if n == 0 else "", words) for n, words in enumerate(rule)]
    return rows


def unread(problems: Sequence[Problem], style: Style) -> list[str]:
    """What could not be read, each with what to do about it."""
    if not problems:
        return ["Everything that was imported could be read."]
    lines: list[str] = []
    for problem in problems:
        words = f"{plain(problem.source)}: {plain(problem.reason)}"
        lines += wrap(words, style.columns, first="- ", rest="  ")
        if problem.next:
            lines += wrap(f"what to do: {plain(problem.next)}", style.columns, first="  ", rest="  ")
    return [style.finish(line) for line in lines]


def in_short(s: Standings, style: Style) -> list[str]:
    """The same in a few lines, for `pinfold` alone."""
    lines = wrap(
        f"{s.held} of {s.items} bought patterns are held, {s.missing + s.partial} missing or in part.",
        min(60, style.columns),
    )
    if s.missing + s.partial:
        until = f" (first deadline {s.next_deadline.isoformat()})" if s.next_deadline else ""
        lines += [f"  pinfold missing{until}"]
    if s.due:
        lines += [f"  pinfold remind ({s.due} due)"]
    if s.questions:
        lines += [f"  pinfold settle ({s.questions} to answer)"]
    lines += [f"  last backup: {s.last_backup or 'never'}", "  pinfold --help shows all commands"]
    return [style.finish(line) for line in lines]
