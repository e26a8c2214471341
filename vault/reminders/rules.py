"""The rules: each is a pure function from the rows and a day to what it finds.

A rule says from which day on it is due, never whether it is shown: what was put off or done is taken away later
(`due`).  All numbers of days stand in one table.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from vault.model.claim import ClaimState, ClaimView
from vault.model.event import DestinationHistory, Event
from vault.model.licence import MayAnswer, TermsSeen
from vault.model.match import MissingRow
from vault.model.purchase import ItemState
from vault.model.reminder import Reminder

LINK_DAYS = 14  # before a link runs out
SHOP_DAYS = 30  # before a shop closes
FEW_DOWNLOADS = 2
NOT_HELD_DAYS = 14  # after the purchase
PARTIAL_DAYS = 7
LICENCE_NEARLY = 0.8  # of what the licence allows
LICENCE_DAYS = 30  # before a licence ends
CLAIM_DAYS = 3  # after the day by which an answer was asked for
BACKUP_DAYS = 30
REHEARSAL_DAYS = 180


@dataclass(frozen=True, kw_only=True)
class LicenceStanding:
    """What the terms of one item answer, for the acts that have a limit or an end."""

    item_id: str
    title: str
    answers: tuple[MayAnswer, ...] = ()
    granted: tuple[TermsSeen, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Rows:
    """All that the rules look at.  `destinations` names those that were set up, also without any history."""

    missing: Sequence[MissingRow] = ()
    n_questions: int = 0
    licences: Sequence[LicenceStanding] = ()
    claims: Sequence[ClaimView] = ()
    destinations: Sequence[DestinationHistory] = ()
    sheet_made: bool = False
    encrypted: bool = True
    first_import: date | None = None


Rule = Callable[[Rows, date], Iterable[Reminder]]


def link_runs_out(rows: Rows, day: date) -> Iterable[Reminder]:
    """A link of something not held has a last day."""
    for row in rows.missing:
        ends = [k.expires_on for k in row.view.item.links if k.expires_on and k.expires_on >= day]
        if ends:
            last = min(ends)
            yield Reminder(
                kind="link-runs-out",
                subject=row.view.item.id,
                due_on=last - timedelta(days=LINK_DAYS),
                deadline=last,
                title=f"Download {row.view.item.title}: its link is good until {last.isoformat()}",
                next=row.next,
                why=row.why,
                facts=last.isoformat(),
                covers=(row.view.item.id,),
            )


def few_downloads_left(rows: Rows, day: date) -> Iterable[Reminder]:
    """The receipt counts downloads, and few are left."""
    for row in rows.missing:
        left = row.downloads_left
        if left is not None and 0 < left <= FEW_DOWNLOADS:
            yield Reminder(
                kind="few-downloads",
                subject=row.view.item.id,
                due_on=day,
                deadline=row.deadline,
                title=f"{_times(left)} left to download {row.view.item.title}",
                next=row.next,
                why=row.why,
                facts=str(left),
                covers=(row.view.item.id,),
            )


def shop_closes(rows: Rows, day: date) -> Iterable[Reminder]:
    """A shop closes or has closed, and things bought there are not held: one reminder for each shop."""
    shops: dict[str, list[MissingRow]] = defaultdict(list)
    for row in rows.missing:
        if row.seller is not None and row.seller.status != "open":
            shops[row.seller.id].append(row)
    for found in shops.values():
        seller = found[0].seller
        assert seller is not None
        closes = seller.closes_on
        gone = seller.status == "closed" or (closes is not None and closes < day)
        heir = f"; {seller.succeeded_by} carries it on" if seller.succeeded_by else ""
        said = "has closed" if gone else f"closes on {closes.isoformat()}" if closes else "says that it will close"
        yield Reminder(
            kind="shop-closes",
            subject=seller.id,
            due_on=day if gone or closes is None else min(day, closes - timedelta(days=SHOP_DAYS)),
            deadline=None if gone else closes,
            title=f"{seller.name} {said}{heir}: {_things(len(found))} not held",
            next=f"Ask for them: pinfold claim '{seller.name}'" if gone else "Download them now: pinfold missing",
            why=tuple(r.view.item.title for r in found),
            facts=f"{said} {sorted(r.view.item.id for r in found)}",
            covers=tuple(r.view.item.id for r in found),
        )


def not_held(rows: Rows, day: date) -> Iterable[Reminder]:
    """Bought some time ago and not here: one reminder for each order."""
    orders: dict[str, list[MissingRow]] = defaultdict(list)
    for row in rows.missing:
        if row.view.standing.state is ItemState.MISSING and row.purchase.purchased_on is not None:
            orders[row.purchase.id].append(row)
    for found in orders.values():
        purchase = found[0].purchase
        assert purchase.purchased_on is not None
        what = found[0].view.item.title if len(found) == 1 else _things(len(found))
        at = f" at {purchase.seller}" if purchase.seller else ""
        yield Reminder(
            kind="not-held",
            subject=purchase.id,
            due_on=purchase.purchased_on + timedelta(days=NOT_HELD_DAYS),
            title=f"Not held: {what}, bought{at} on {purchase.purchased_on.isoformat()}",
            next=found[0].next,
            why=() if len(found) == 1 else tuple(r.view.item.title for r in found),
            facts=str(sorted(r.view.item.id for r in found)),
            covers=tuple(r.view.item.id for r in found),
        )


def in_part(rows: Rows, day: date) -> Iterable[Reminder]:
    """Some parts are here, others are not."""
    for row in rows.missing:
        if row.view.standing.state is ItemState.PARTIAL:
            bought = row.purchase.purchased_on or day
            lacking = row.view.standing.lacking
            yield Reminder(
                kind="in-part",
                subject=row.view.item.id,
                due_on=bought + timedelta(days=PARTIAL_DAYS),
                title=f"Held in part: {row.view.item.title}" + (f", lacking {', '.join(lacking)}" if lacking else ""),
                next=row.next,
                why=row.why,
                facts=str(sorted(lacking)),
                covers=(row.view.item.id,),
            )


def open_questions(rows: Rows, day: date) -> Iterable[Reminder]:
    """Matching waits for answers."""
    if rows.n_questions:
        one = rows.n_questions == 1
        yield Reminder(
            kind="questions",
            subject="",
            due_on=day,
            title=f"{rows.n_questions} {'question is' if one else 'questions are'} open",
            next="Answer: pinfold settle",
            facts=str(rows.n_questions),
        )


def licence_limit(rows: Rows, day: date) -> Iterable[Reminder]:
    """What a licence allows is nearly used up, or used up, or more than that."""
    for standing in rows.licences:
        for answer in standing.answers:
            if not answer.limit or answer.used < LICENCE_NEARLY * answer.limit:
                continue
            over = answer.used > answer.limit
            per = f" a {answer.per}" if answer.per else ""
            yield Reminder(
                kind="licence-limit",
                subject=f"{standing.item_id} {answer.act.value}",
                due_on=day,
                title=f"{standing.title}: {answer.used} of {answer.limit}{per} {'passed' if over else 'used'}"
                f" ({answer.act.value})",
                next="Read the words it rests on: "
                f"pinfold licence may {answer.act.value} '{standing.title}' (no legal advice)",
                why=tuple(f'"{q.text}"' for s in answer.rests_on for q in s.clause.quotes),
                facts=f"{answer.used} {answer.limit}",
            )


def licence_ends(rows: Rows, day: date) -> Iterable[Reminder]:
    """A licence that she was given or bought has a last day."""
    for standing in rows.licences:
        for source in standing.granted:
            if source.until is None:
                continue
            ended = source.until < day
            yield Reminder(
                kind="licence-ends",
                subject=f"{standing.item_id} {source.id}",
                due_on=source.until - timedelta(days=LICENCE_DAYS),
                deadline=None if ended else source.until,
                title=f"{standing.title}: the licence in {source.name} {'ended' if ended else 'ends'}"
                f" on {source.until.isoformat()}",
                next="Ask the designer whether it can go on, and record the new terms: pinfold licence add",
                facts=source.until.isoformat(),
            )


def claim_unanswered(rows: Rows, day: date) -> Iterable[Reminder]:
    """A letter went out, and the day by which an answer was asked for has passed; or it was never sent."""
    for view in rows.claims:
        claim = view.claim
        name = f"'{claim.seller}'"
        if view.state is ClaimState.SENT:
            yield Reminder(
                kind="claim",
                subject=claim.id,
                due_on=claim.answer_by + timedelta(days=CLAIM_DAYS),
                title=f"No answer yet from {claim.to}, asked for by {claim.answer_by.isoformat()}",
                next=f"Write again, or note what they said: pinfold claim {name} --answered DATE",
                why=tuple(i.title for i in claim.items if i.item_id not in view.received),
                facts=f"sent {view.since.isoformat()}",
                covers=tuple(i.item_id for i in claim.items),
            )
        elif view.state is ClaimState.DRAFTED:
            yield Reminder(
                kind="claim",
                subject=claim.id,
                due_on=claim.written_on + timedelta(days=CLAIM_DAYS),
                title=f"The letter to {claim.to} is written but not sent",
                next=f"When you have sent it: pinfold claim {name} --sent {day.isoformat()}",
                facts="drafted",
            )


def backup_old(rows: Rows, day: date) -> Iterable[Reminder]:
    """The last backup to a destination is long ago; or there was never any."""
    if not rows.destinations and rows.first_import is not None:
        yield Reminder(
            kind="backup",
            subject="",
            due_on=rows.first_import,
            title="There is no backup yet: everything is on this one computer",
            next="Make one, on a stick or another disk: pinfold backup --to FOLDER",
            facts="never",
            repeats_after=BACKUP_DAYS,
        )
    for place in rows.destinations:
        last = _day(place.last_backup)
        failed = _day(place.failed)
        since = f"the last backup is of {last.isoformat()}" if last else "there never was a backup"
        broken = f"; what was tried on {failed.isoformat()} failed" if failed else ""
        yield Reminder(
            kind="backup",
            subject=place.destination,
            due_on=day if failed else last + timedelta(days=BACKUP_DAYS) if last else rows.first_import or day,
            title=f"{place.destination}: {since}{broken}",
            next=f"Back up again: pinfold backup --to '{place.destination}'",
            facts=f"{last} {failed}",
            repeats_after=BACKUP_DAYS,
        )


def rehearsal_old(rows: Rows, day: date) -> Iterable[Reminder]:
    """A backup that was never tried proves little."""
    for place in rows.destinations:
        backed_up, tried = _day(place.last_backup), _day(place.last_rehearsal)
        if backed_up is None:
            continue
        said = f"was last rehearsed on {tried.isoformat()}" if tried else "was never rehearsed"
        yield Reminder(
            kind="rehearsal",
            subject=place.destination,
            due_on=(tried + timedelta(days=REHEARSAL_DAYS)) if tried else backed_up + timedelta(days=7),
            title=f"The backup in {place.destination} {said}",
            next=f"See whether everything would come back: pinfold rehearse --from '{place.destination}'",
            facts=str(tried),
            repeats_after=REHEARSAL_DAYS,
        )


def sheet_never_made(rows: Rows, day: date) -> Iterable[Reminder]:
    """Whoever forgets the passphrase has only the recovery sheet."""
    backed_up = [d for p in rows.destinations if (d := _day(p.last_backup))]
    if backed_up and rows.encrypted and not rows.sheet_made:
        yield Reminder(
            kind="recovery-sheet",
            subject="",
            due_on=min(backed_up),
            title="No recovery sheet was ever made: without the passphrase nothing opens the backups",
            next="Print one and keep it elsewhere: pinfold backup --to FOLDER --recovery-sheet sheet.pdf",
            facts="never",
        )


RULES: tuple[Rule, ...] = (
    link_runs_out,
    few_downloads_left,
    shop_closes,
    in_part,
    not_held,
    claim_unanswered,
    open_questions,
    licence_limit,
    licence_ends,
    backup_old,
    rehearsal_old,
    sheet_never_made,
)


def _day(event: Event | None) -> date | None:
    return date.fromisoformat(event.at[:10]) if event else None


def _things(n: int) -> str:
    return "1 thing" if n == 1 else f"{n} things"


def _times(n: int) -> str:
    return "1 time" if n == 1 else f"{n} times"
