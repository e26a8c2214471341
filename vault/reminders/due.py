"""What is due on a day: the rules' findings, less what was put off, done, or is told by a more pressing one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from vault.model.reminder import Reminder, ReminderMark
from vault.reminders.rules import RULES, Rows

AHEAD_DAYS = 14
# Told by another: what speaks of a missing item more generally gives way to what says it more exactly.
_GIVES_WAY = ("in-part", "not-held")
# What has no last day comes in this order, losses first.
_RANKS = ("shop-closes", "link-runs-out", "few-downloads", "claim", "in-part", "not-held", "backup", "recovery-sheet")


@dataclass(frozen=True, kw_only=True)
class Agenda:
    """`due` now, `coming` within the days asked for, `put_off` what the person put off or has done."""

    due: tuple[Reminder, ...]
    coming: tuple[Reminder, ...]
    put_off: tuple[tuple[Reminder, ReminderMark], ...]


def agenda(rows: Rows, marks: Sequence[ReminderMark], day: date, *, days: int = AHEAD_DAYS) -> Agenda:
    """Everything that the rules find, sorted by the day that presses."""
    by_id = {m.id: m for m in marks}
    found = _once([r for rule in RULES for r in rule(rows, day)], day)
    due: list[Reminder] = []
    coming: list[Reminder] = []
    put_off: list[tuple[Reminder, ReminderMark]] = []
    for reminder in sorted(found, key=_pressing):
        mark = by_id.get(reminder.id)
        if mark is not None and rests(reminder, mark, day):
            put_off.append((reminder, mark))
        elif reminder.due_on <= day:
            due.append(reminder)
        elif reminder.due_on <= day + timedelta(days=days):
            coming.append(reminder)
    return Agenda(due=tuple(due), coming=tuple(coming), put_off=tuple(put_off))


def rests(reminder: Reminder, mark: ReminderMark, day: date) -> bool:
    """Whether what the person said still holds: until that day, and, if done, as long as the facts are the same.

    A deadline that comes before the end of a respite breaks it three days ahead: nothing is lost for having been put
    off.
    """
    if mark.done and mark.facts == reminder.facts:
        return mark.until is None or day < mark.until
    if mark.done or mark.until is None:
        return False
    until = mark.until
    if reminder.deadline is not None and reminder.deadline >= day:
        until = min(until, reminder.deadline - timedelta(days=3))
    return day < until


def put_off(reminder: Reminder, day: date, days: int) -> ReminderMark:
    """The mark for "not before `days` from now"."""
    return ReminderMark(id=reminder.id, until=day + timedelta(days=days), facts=reminder.facts)


def done(reminder: Reminder, day: date) -> ReminderMark:
    """The mark for "done": for good, or for the time after which this kind comes back."""
    until = day + timedelta(days=reminder.repeats_after) if reminder.repeats_after else None
    return ReminderMark(id=reminder.id, until=until, done=True, facts=reminder.facts)


def to_tell(due: Sequence[Reminder], marks: Sequence[ReminderMark], day: date) -> tuple[Reminder, ...]:
    """What a desktop notice may speak of: nothing that was told today already."""
    told = {m.id for m in marks if m.told_on is not None and m.told_on >= day}
    return tuple(r for r in due if r.id not in told)


def _once(found: Sequence[Reminder], day: date) -> list[Reminder]:
    """Without those whose items are all spoken of, as due, by a rule that says more."""
    covered = {item for r in found if r.kind not in _GIVES_WAY and r.due_on <= day for item in r.covers}
    return [r for r in found if r.kind not in _GIVES_WAY or not set(r.covers) <= covered]


def _pressing(r: Reminder) -> tuple[date, int, date, str]:
    rank = _RANKS.index(r.kind) if r.kind in _RANKS else len(_RANKS)
    return (r.deadline or date.max, rank, r.due_on, r.subject)
