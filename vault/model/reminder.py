"""Reminders: what is due, and what the person said to it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, kw_only=True)
class Reminder:
    """Something that asks for attention from `due_on` on; `deadline` is the day after which it is too late, if any.

    `kind` is the stable word of its rule, `subject` what it is about (an item, a seller, a destination ...); the two
    make its `id`.  `facts` sums up what it rests on: when that changes, a reminder that was done counts anew.
    `repeats_after` days it comes back by itself although it was done (a backup that is still not made).
    `covers` are the items that it speaks of, so that one loss is told once.
    """

    kind: str
    subject: str
    due_on: date
    title: str
    next: str
    deadline: date | None = None
    why: tuple[str, ...] = ()
    facts: str = ""
    repeats_after: int | None = None
    covers: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """Eight hexadecimal digits, the same on every run and computer."""
        return hashlib.sha256(f"{self.kind}\0{self.subject}".encode("utf-8", "replace")).hexdigest()[:8]


@dataclass(frozen=True, kw_only=True)
class ReminderMark:
    """What the person said to a reminder: not before `until` (snoozed, or done for a time), or `done` with its facts.

    `told_on` is the day of the last desktop notice.
    """

    id: str
    until: date | None = None
    done: bool = False
    facts: str = ""
    told_on: date | None = None


@dataclass(frozen=True, kw_only=True)
class CalendarEntry:
    """What a calendar file said last of a reminder: `digest` of its content, `sequence` of RFC 5545.

    `withdrawn_on`: since when it is cancelled; None while it stands.
    """

    id: str
    sequence: int
    digest: str
    title: str
    day: date
    withdrawn_on: date | None = None
