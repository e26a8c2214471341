"""Deadlines of missing things as an iCalendar file (RFC 5545): one to-do per item, with a stable UID and an alarm."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from vault.model.match import MissingRow
from vault.reports.listings import order_words
from vault.reports.text import plain

_WARN_DAYS = 3


def missing_calendar(rows: Sequence[MissingRow], now: datetime) -> bytes:
    """A VCALENDAR with a VTODO for each row that has a deadline; `now` (UTC) is its DTSTAMP."""
    from icalendar import Alarm, Calendar, Todo

    calendar = Calendar()
    calendar.add("PRODID", "-//Pinfold//Missing downloads//EN")
    calendar.add("VERSION", "2.0")
    for row in rows:
        if row.deadline is None:
            continue
        title = plain(row.view.item.title)
        todo = Todo()
        todo.add("UID", f"{row.view.item.id}@pinfold.invalid")
        todo.add("DTSTAMP", now)
        todo.add("DTSTART", row.deadline)
        todo.add("DUE", row.deadline + timedelta(days=1))
        todo.add("SUMMARY", f"Download {title}")
        links = "\n".join(link.url for link in row.view.item.links)
        todo.add("DESCRIPTION", "\n".join(filter(None, [order_words(row.purchase), plain(row.next), links])))
        alarm = Alarm()
        alarm.add("ACTION", "DISPLAY")
        alarm.add("DESCRIPTION", f"Download {title}")
        alarm.add("TRIGGER", timedelta(days=-_WARN_DAYS))
        todo.add_component(alarm)
        calendar.add_component(todo)
    return bytes(calendar.to_ical())
