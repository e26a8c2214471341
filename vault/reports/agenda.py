"""What is due, for the terminal, for scripts, as a page and in a few words for a desktop notice."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape
from typing import Any

from vault.model.reminder import Reminder, ReminderMark
from vault.reports.frame import begin, end
from vault.reports.tables import labelled
from vault.reports.text import Style, plain, wrap

_SHOWN_WHY = 4


def row(reminder: Reminder) -> dict[str, Any]:
    """One row of `remind --json`."""
    return {
        "id": reminder.id,
        "kind": reminder.kind,
        "title": plain(reminder.title),
        "due_on": reminder.due_on.isoformat(),
        "deadline": reminder.deadline.isoformat() if reminder.deadline else None,
        "why": [plain(w) for w in reminder.why],
        "next": plain(reminder.next),
        "item_ids": list(reminder.covers),
    }


def rows(
    due: Sequence[Reminder], coming: Sequence[Reminder], put_off: Sequence[tuple[Reminder, ReminderMark]]
) -> dict[str, Any]:
    """`remind --json`."""
    return {
        "due": [row(r) for r in due],
        "coming": [row(r) for r in coming],
        "put_off": [{**row(r), "until": m.until.isoformat() if m.until else None, "done": m.done} for r, m in put_off],
    }


def screen(
    due: Sequence[Reminder],
    coming: Sequence[Reminder],
    put_off: Sequence[tuple[Reminder, ReminderMark]],
    days: int,
    style: Style,
) -> list[str]:
    """The lines of `remind`: what is due with its next step, what comes, and how much was put off."""
    lines: list[str] = []
    if due:
        lines.append(style.bold(style.finish(f"Due now: {len(due)}")))
        for reminder in due:
            lines += ["", *_block(reminder, style)]
    else:
        lines.append("Nothing is due.")
    if coming:
        lines += ["", style.bold(style.finish(f"In the next {days} days: {len(coming)}"))]
        for reminder in coming:
            lines += wrap(
                f"{reminder.due_on.isoformat()}  {plain(reminder.title)}", style.columns, first="  ", rest=" " * 14
            )
    if put_off:
        lines += ["", f"Put off or done: {len(put_off)} (pinfold remind --all)"]
    if due:
        lines += ["", "Put one off: pinfold remind --later ID 7d", "Done with it: pinfold remind --done ID"]
    return [style.finish(line) for line in lines]


def put_off_lines(put_off: Sequence[tuple[Reminder, ReminderMark]], style: Style) -> list[str]:
    """The lines of what rests, and until when."""
    if not put_off:
        return ["Nothing was put off."]
    lines = []
    for reminder, mark in put_off:
        until = f"until {mark.until.isoformat()}" if mark.until else "until something changes"
        said = "done" if mark.done else "put off"
        lines += wrap(f"{reminder.id}  {said} {until}: {plain(reminder.title)}", style.columns, rest=" " * 10)
    lines += ["Bring one back: pinfold remind --take-back ID"]
    return [style.finish(line) for line in lines]


def _block(reminder: Reminder, style: Style) -> list[str]:
    title = plain(reminder.title)
    lines = wrap(f"{reminder.id}  {title}", style.columns, rest=" " * 10)
    why = [plain(w) for w in reminder.why if plain(w) and plain(w) not in title]
    more = len(why) - _SHOWN_WHY
    shown = [*why[:_SHOWN_WHY], *([f"and {more} more"] if more > 0 else [])]
    pairs = [("why" if n == 0 else "", words) for n, words in enumerate(shown)]
    return lines + labelled([*pairs, ("do", reminder.next)], style, indent=10)


def notice(due: Sequence[Reminder]) -> tuple[str, str] | None:
    """Heading and text of one desktop notice for all that is due; None if nothing is.

    Only the first is told in full: a notice is read at a glance, and by whoever stands beside her.
    """
    if not due:
        return None
    if len(due) == 1:
        return "Pinfold", plain(due[0].title)
    return f"Pinfold: {len(due)} things are due", f"{plain(due[0].title)} - and {len(due) - 1} more: pinfold remind"


def page(due: Sequence[Reminder], coming: Sequence[Reminder], day: date) -> str:
    """One self-contained page of what is due and what comes; everything of strangers is escaped."""
    parts = [*begin(f"Due on {day.isoformat()}"), f"<h1>What is due</h1><p>As on {day.isoformat()}.</p>"]
    for heading, found in (("Now", due), ("Coming", coming)):
        if found:
            parts.append(f"<h2>{heading}</h2>")
            parts += [_article(r) for r in found]
    if not due and not coming:
        parts.append("<p>Nothing.</p>")
    return "\n".join([*parts, *end()])


def _article(reminder: Reminder) -> str:
    pairs = [
        ("From", reminder.due_on.isoformat()),
        ("Until", reminder.deadline.isoformat() if reminder.deadline else ""),
        *(("" if n else "Why", plain(w)) for n, w in enumerate(reminder.why)),
        ("Do", plain(reminder.next)),
    ]
    body = "".join(f"<dt>{label}</dt><dd>{escape(value)}</dd>" for label, value in pairs if value)
    return f"<article><h3>{escape(plain(reminder.title))}</h3><dl>{body}</dl></article>"
