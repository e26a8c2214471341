"""What is due as an iCalendar file that calendars subscribe to (RFC 5545, RFC 7986).

One all-day event for each reminder, with a UID that never changes.  What changes raises SEQUENCE; what is no longer
due stays for a while as cancelled, because a calendar that once fetched it would show it for ever otherwise.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from vault.model.reminder import CalendarEntry, Reminder
from vault.reports.text import plain

KEPT_DAYS = 60  # that a cancelled entry stays in the file
# Before midnight at the beginning of the day: three days ahead at nine, the day before at nine; or that day at nine.
_BEFORE = (timedelta(days=-3, hours=9), timedelta(days=-1, hours=9))
_ON_THE_DAY = (timedelta(hours=9),)


def entries(reminders: Iterable[Reminder], before: Sequence[CalendarEntry], day: date) -> tuple[CalendarEntry, ...]:
    """What the calendar says now, from what it said before."""
    known = {e.id: e for e in before}
    found: dict[str, CalendarEntry] = {}
    for reminder in reminders:
        old = known.get(reminder.id)
        on = _day_of(reminder, old, day)
        title = plain(reminder.title)
        digest = hashlib.sha256("\0".join([on.isoformat(), title, _description(reminder)]).encode()).hexdigest()
        same = old is not None and old.digest == digest and old.withdrawn_on is None
        sequence = 0 if old is None else old.sequence if same else old.sequence + 1
        found[reminder.id] = CalendarEntry(id=reminder.id, sequence=sequence, digest=digest, title=title, day=on)
    for old in before:
        if old.id in found:
            continue
        if old.withdrawn_on is None:
            found[old.id] = CalendarEntry(
                id=old.id, sequence=old.sequence + 1, digest="", title=old.title, day=old.day, withdrawn_on=day
            )
        elif (day - old.withdrawn_on).days <= KEPT_DAYS:
            found[old.id] = old
    return tuple(found[key] for key in sorted(found))


def calendar(reminders: Iterable[Reminder], entries: Sequence[CalendarEntry], now: datetime) -> bytes:
    """The file for `entries`; `now` (UTC) is its DTSTAMP."""
    from icalendar import Calendar, Event

    by_id = {r.id: r for r in reminders}
    out = Calendar()
    out.add("PRODID", "-//Pinfold//Due//EN")
    out.add("VERSION", "2.0")
    out.add("METHOD", "PUBLISH")
    out.add("NAME", "Patterns: what is due")
    out.add("REFRESH-INTERVAL", timedelta(hours=12), parameters={"VALUE": "DURATION"})
    for entry in entries:
        event = Event()
        event.add("UID", f"{entry.id}@pinfold.invalid")
        event.add("DTSTAMP", now)
        event.add("SEQUENCE", entry.sequence)
        event.add("DTSTART", entry.day)
        event.add("DTEND", entry.day + timedelta(days=1))
        event.add("SUMMARY", entry.title)
        event.add("TRANSP", "TRANSPARENT")
        reminder = by_id.get(entry.id)
        if reminder is None or entry.withdrawn_on is not None:
            event.add("STATUS", "CANCELLED")
        else:
            event.add("STATUS", "CONFIRMED")
            event.add("DESCRIPTION", _description(reminder))
            for trigger in _BEFORE if reminder.deadline else _ON_THE_DAY:
                event.add_component(_alarm(entry.title, trigger))
        out.add_component(event)
    return bytes(out.to_ical())


def _alarm(title: str, trigger: timedelta) -> Any:
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("ACTION", "DISPLAY")
    alarm.add("DESCRIPTION", title)
    alarm.add("TRIGGER", trigger)
    return alarm


def _day_of(reminder: Reminder, old: CalendarEntry | None, day: date) -> date:
    """The deadline; without one the day from which it is due, which does not move on from day to day."""
    if reminder.deadline is not None:
        return reminder.deadline
    if old is not None and old.withdrawn_on is None and old.day >= reminder.due_on:
        return old.day
    return max(reminder.due_on, day)


def _description(reminder: Reminder) -> str:
    return "\n".join([*(plain(w) for w in reminder.why), plain(reminder.next)])
