"""What the person said to reminders, and what the calendar file said last.  Truth: nothing makes it again."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from vault.catalogue.store import Store
from vault.model.reminder import CalendarEntry, ReminderMark


class Reminding(Store):
    """The part of the catalogue that remembers what was put off, done and told."""

    def reminder_marks(self) -> tuple[ReminderMark, ...]:
        """What was said to reminders, in no order that matters."""
        rows = self._rows("SELECT id, until, done, facts, told_on FROM reminder_marks ORDER BY id")
        return tuple(
            ReminderMark(id=r[0], until=_day(r[1]), done=bool(r[2]), facts=r[3], told_on=_day(r[4])) for r in rows
        )

    def set_reminder_mark(self, mark: ReminderMark) -> None:
        """Remembers what was said; it takes the place of what was said before, the day of the last notice stays."""
        self._write(
            "INSERT INTO reminder_marks (id, until, done, facts, told_on) VALUES (?, ?, ?, ?, ?)"
            " ON CONFLICT (id) DO UPDATE SET until = excluded.until, done = excluded.done, facts = excluded.facts,"
            " told_on = coalesce(excluded.told_on, told_on)",
            (mark.id, _text(mark.until), int(mark.done), mark.facts, _text(mark.told_on)),
        )

    def told_reminders(self, ids: Iterable[str], day: date) -> None:
        """Remembers that a notice spoke of these on that day."""
        self._write_all(
            "INSERT INTO reminder_marks (id, told_on) VALUES (?, ?)"
            " ON CONFLICT (id) DO UPDATE SET told_on = excluded.told_on",
            [(one, day.isoformat()) for one in ids],
        )

    def withdraw_reminder_mark(self, reminder_id: str) -> bool:
        """Takes back what was said.  False if nothing was."""
        return bool(self._write("DELETE FROM reminder_marks WHERE id = ?", (reminder_id,)))

    def calendar_entries(self) -> tuple[CalendarEntry, ...]:
        """What the calendar file said last."""
        rows = self._rows("SELECT id, sequence, digest, title, day, withdrawn_on FROM calendar_entries ORDER BY id")
        return tuple(
            CalendarEntry(
                id=r[0], sequence=r[1], digest=r[2], title=r[3], day=date.fromisoformat(r[4]), withdrawn_on=_day(r[5])
            )
            for r in rows
        )

    def set_calendar_entries(self, entries: Iterable[CalendarEntry]) -> None:
        """Remembers what the calendar file says now, in the place of what it said."""
        with self.transaction():
            self._write("DELETE FROM calendar_entries")
            self._write_all(
                "INSERT INTO calendar_entries (id, sequence, digest, title, day, withdrawn_on)"
                " VALUES (?, ?, ?, ?, ?, ?)",
                [(e.id, e.sequence, e.digest, e.title, e.day.isoformat(), _text(e.withdrawn_on)) for e in entries],
            )


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _text(day: date | None) -> str | None:
    return day.isoformat() if day else None
