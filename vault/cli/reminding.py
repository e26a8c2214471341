"""The command that says what is due: remind."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from vault.cli import screen
from vault.cli.ask import JsonOption, files_by_digest, missing_rows
from vault.cli.session import Session, style
from vault.errors import ExitStatus, UsageError, VaultError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from vault.catalogue import Catalogue
    from vault.model.event import DestinationHistory, Event
    from vault.model.reminder import Reminder, ReminderMark
    from vault.reminders.due import Agenda
    from vault.reminders.rules import LicenceStanding, Rows

_SPAN_RE = re.compile(r"(\d{1,4})\s*([dwmy]?)")
_SPAN_DAYS = {"": 1, "d": 1, "w": 7, "m": 30, "y": 365}
_YEAR = 365
_LONGEST = 3660  # days
SHEET = "recovery-sheet"  # the event that a sheet was made


def remind(
    ctx: typer.Context,
    days: Annotated[int, typer.Option("--days", min=0, max=_LONGEST, metavar="N", help="Look so far ahead.")] = 14,
    later: Annotated[
        tuple[str, str] | None, typer.Option("--later", metavar="ID SPAN", help="Put one off: 7d, 2w, 3m, 1y.")
    ] = None,
    done: Annotated[str | None, typer.Option("--done", metavar="ID", help="Say no more of it.")] = None,
    take_back: Annotated[str | None, typer.Option("--take-back", metavar="ID", help="Bring it back.")] = None,
    all_: Annotated[bool, typer.Option("--all", help="Also list what was put off or done.")] = False,
    calendar: Annotated[
        Path | None, typer.Option("--calendar", metavar="FILE.ics", help="Write a file that calendars subscribe to.")
    ] = None,
    html: Annotated[Path | None, typer.Option("--html", metavar="FILE", help="Write a page that prints well.")] = None,
    notify: Annotated[bool, typer.Option("--notify", help="Show a desktop notice, at most once a day each.")] = False,
    json: JsonOption = False,
) -> None:
    """What is due: links that run out, shops that close, losses, backups.

    Exit status 1 if anything is due now.

    Example: pinfold remind --later 5f0c93aa 7d
    """
    session: Session = ctx.obj
    if sum(x is not None for x in (later, done, take_back)) > 1:
        raise UsageError("one thing at a time", "give one of --later, --done and --take-back")
    if later or done or take_back:
        _say_to(session, later=later, done=done, take_back=take_back)
    with session.reading() as catalogue:
        found = agenda_of(catalogue, session, days)
    _write(session, found, calendar, html)
    if notify:
        notify_due(session, found.due)
    _show(found, days, json=json, everything=all_)
    raise typer.Exit(int(ExitStatus.NEEDS_YOU if found.due else ExitStatus.DONE))


def _show(found: Agenda, days: int, *, json: bool, everything: bool) -> None:
    from vault.reports import agenda as report

    if json:
        screen.say_json(report.rows(found.due, found.coming, found.put_off))
        return
    screen.say(report.screen(found.due, found.coming, () if everything else found.put_off, days, style()))
    if everything:
        screen.say(["", *report.put_off_lines(found.put_off, style())])


def agenda_of(catalogue: Catalogue, session: Session, days: int) -> Agenda:
    """What is due in the vault on the day of this call."""
    from vault.reminders.due import agenda

    return agenda(rows_of(catalogue, session), catalogue.reminder_marks(), session.day, days=days)


def due_now(catalogue: Catalogue, session: Session) -> tuple[Reminder, ...]:
    """What is due on the day of this call."""
    return agenda_of(catalogue, session, 1).due


def rows_of(catalogue: Catalogue, session: Session) -> Rows:
    """Everything that the rules look at."""
    from vault.reminders.rules import Rows

    events = catalogue.events()
    imports = [e.at[:10] for e in events if e.kind == "import"]
    return Rows(
        missing=missing_rows(catalogue, session.day),
        n_questions=len(catalogue.questions()),
        licences=_licences(catalogue, session.day),
        claims=catalogue.claim_views(),
        destinations=_destinations(catalogue, session),
        sheet_made=_sheet_made(events),
        encrypted=session.folder().settings().recipients != (),
        first_import=date.fromisoformat(imports[0]) if imports else None,
    )


def _sheet_made(events: Sequence[Event]) -> bool:
    """Whether there is a sheet of the key that is used now."""
    kinds = [e.kind for e in events if e.outcome == "done" and e.kind in (SHEET, "new-key")]
    return bool(kinds) and (kinds[-1] == SHEET)


def _destinations(catalogue: Catalogue, session: Session) -> tuple[DestinationHistory, ...]:
    from vault.model.event import DestinationHistory

    known = {d.destination: d for d in catalogue.destinations()}
    for name in session.folder().settings().destinations:
        known.setdefault(name, DestinationHistory(destination=name))
    return tuple(known[name] for name in sorted(known) if known[name].last_backup or known[name].failed)


def _licences(catalogue: Catalogue, day: date) -> tuple[LicenceStanding, ...]:
    """Items of which something stands in the ledger, or whose terms have a last day."""
    from vault.intake.terms import terms_of
    from vault.licences.may import may
    from vault.model.act import Act
    from vault.reminders.rules import LicenceStanding

    wanted = {u.item_id for u in catalogue.licence_uses()} | {t.item_id for t in catalogue.added_terms() if t.until}
    if not wanted:
        return ()
    files = files_by_digest(catalogue)
    found = []
    for view in catalogue.purchases():
        for item in view.items:
            if item.item.id not in wanted:
                continue
            sources = terms_of(catalogue, view, item, files)
            uses = catalogue.licence_uses(item.item.id)
            answers = [may(act, sources, uses, bought_on=view.purchase.purchased_on, day=day) for act in Act]
            found.append(
                LicenceStanding(
                    item_id=item.item.id,
                    title=item.item.title,
                    answers=tuple(answers),
                    granted=tuple(s for s in sources if s.until is not None),
                )
            )
    return tuple(found)


def _say_to(session: Session, *, later: tuple[str, str] | None, done: str | None, take_back: str | None) -> None:
    from vault.reminders import due

    wanted = later[0] if later else done or take_back or ""
    with session.writing() as catalogue:
        if take_back:
            mark = _mark_meant(catalogue.reminder_marks(), wanted)
            with catalogue.transaction():
                catalogue.withdraw_reminder_mark(mark.id)
            return
        found = agenda_of(catalogue, session, _LONGEST)
        reminder = _meant((*found.due, *found.coming, *(r for r, _ in found.put_off)), wanted)
        if later:
            mark = due.put_off(reminder, session.day, span_days(later[1]))
        else:
            mark = due.done(reminder, session.day)
        with catalogue.transaction():
            catalogue.set_reminder_mark(mark)
    if mark.until and reminder.deadline and mark.until > reminder.deadline >= session.day:
        screen.tell(f"it comes back three days before {reminder.deadline.isoformat()}, the last day")


def span_days(text: str) -> int:
    """Days in a span of time such as "7d", "2w", "3m" (of 30 days), "1y" (of 365), or a bare number of days."""
    match = _SPAN_RE.fullmatch(text.strip().lower())
    n = int(match[1]) * _SPAN_DAYS[match[2]] if match else 0
    if not 1 <= n <= _LONGEST:
        raise UsageError(f"not a span of time: {text!r}", "write it as 7d, 2w, 3m or 1y")
    return n


def _meant(reminders: Sequence[Reminder], wanted: str) -> Reminder:
    hits = [r for r in reminders if wanted and r.id.startswith(wanted.lower())]
    if len(hits) != 1:
        raise UsageError(
            f"{'more than one reminder begins' if hits else 'no reminder begins'} with {wanted!r}",
            "its id is the first thing on its line: pinfold remind",
        )
    return hits[0]


def _mark_meant(marks: Sequence[ReminderMark], wanted: str) -> ReminderMark:
    hits = [m for m in marks if wanted and m.id.startswith(wanted.lower()) and (m.done or m.until)]
    if len(hits) != 1:
        raise UsageError(
            f"nothing was said to {'one reminder alone' if hits else 'a reminder'} with {wanted!r}",
            "what was put off or done: pinfold remind --all",
        )
    return hits[0]


def _write(session: Session, found: Agenda, calendar: Path | None, html: Path | None) -> None:
    if html:
        from vault.reports.agenda import page

        screen.write_file(html, page(found.due, found.coming, session.day).encode("utf-8"))
    if calendar:
        from vault.reports import due_calendar

        with session.writing() as catalogue:
            ahead = agenda_of(catalogue, session, _YEAR)
            wanted = (*ahead.due, *ahead.coming)
            entries = due_calendar.entries(wanted, catalogue.calendar_entries(), session.day)
            now = datetime.now(UTC).replace(microsecond=0)
            screen.write_file(calendar, due_calendar.calendar(wanted, entries, now))
            catalogue.set_calendar_entries(entries)


def notify_due(session: Session, due: Sequence[Reminder]) -> bool:
    """Shows one desktop notice of what is due and was not told today.  False if there was nothing to tell, or no way.

    The day is noted only after the notice was shown.
    """
    untold, trouble = _show_notice(session, due)
    if trouble:
        screen.tell(f"no desktop notice: {trouble}")
    if trouble or not untold:
        return False
    _note_told(session, untold)
    return True


def _show_notice(session: Session, due: Sequence[Reminder]) -> tuple[tuple[Reminder, ...], str]:
    """Shows what was not told today: those that were shown, and why they could not be."""
    from vault.cli.notices import show
    from vault.reminders.due import to_tell
    from vault.reports.agenda import notice

    with session.reading() as catalogue:
        untold = to_tell(due, catalogue.reminder_marks(), session.day)
    words = notice(untold)
    return (untold, show(*words)) if words else ((), "")


def _note_told(session: Session, told: Sequence[Reminder]) -> None:
    with session.writing() as catalogue, catalogue.transaction():
        catalogue.told_reminders([r.id for r in told], session.day)


class DueNotices:
    """Tells of what is due while a folder is watched: to be called after each batch and on each new day.

    Nothing is told twice on one day, not even where the vault is just in use and it cannot be noted there.  What
    hinders it is said once; no expected trouble ends the watching.
    """

    def __init__(self) -> None:
        self._told: set[tuple[date, str]] = set()
        self._said: set[str] = set()

    def __call__(self, session: Session, _: object = None) -> None:
        """Shows one notice if anything is due that was not told today."""
        try:
            with session.reading() as catalogue:
                due = due_now(catalogue, session)
            fresh = [r for r in due if (session.day, r.id) not in self._told]
            untold, trouble = _show_notice(session, fresh)
            if trouble:
                self._say(trouble)
                return
            self._told.update((session.day, r.id) for r in fresh)
            if untold:
                _note_told(session, untold)
        except VaultError as error:
            if error.code != "no-vault":
                self._say(error.message)

    def _say(self, trouble: str) -> None:
        if trouble not in self._said:
            screen.tell(f"no desktop notice: {trouble}")
        self._said.add(trouble)


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command()(remind)
