"""The calendar file, read again by icalendar and by a second reader (vobject)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import icalendar
import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.reminder import Reminder
from vault.reports.due_calendar import KEPT_DAYS, calendar, entries

DAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def reminder(title: str = "Download Jester Hood", *, subject: str = "1", deadline: date | None = None) -> Reminder:
    return Reminder(kind="k", subject=subject, due_on=DAY, title=title, next="Do it; now, please.", deadline=deadline)


def events(data: bytes) -> list[Any]:
    return list(icalendar.Calendar.from_ical(data).walk("VEVENT"))


def test_both_readers_agree_and_every_line_is_short_enough() -> None:
    # RFC 5545 3.1: lines of at most 75 octets, never split inside a character.
    found = [reminder("Télécharger « Capeline de la tempête » ; こうもり傘のケープ, " * 3, deadline=date(2026, 12, 5))]
    data = calendar(found, entries(found, (), DAY), NOW)
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    for line in data.split(b"\r\n"):
        line.decode("utf-8")
    (one,) = events(data)
    (second,) = vobject.readOne(data.decode("utf-8")).vevent_list
    assert str(one["SUMMARY"]) == second.summary.value == " ".join(found[0].title.split())
    assert str(one["UID"]) == second.uid.value == f"{found[0].id}@pinfold.invalid"
    assert one.decoded("DTSTART") == second.dtstart.value == date(2026, 12, 5)
    # RFC 5545 3.6.1: DTEND of a day event is the day after its last.
    assert one.decoded("DTEND") == second.dtend.value == date(2026, 12, 6)
    assert [a.trigger.value for a in second.valarm_list] == [a.decoded("TRIGGER") for a in one.walk("VALARM")]
    assert [a.action.value for a in second.valarm_list] == ["DISPLAY", "DISPLAY"]
    assert all(a.description.value for a in second.valarm_list)


def firings(component: Any) -> list[datetime]:
    """When the alarms of an event or a to-do go off (RFC 5545 3.6.6, 3.8.6.2, 3.8.6.3)."""
    out = []
    for alarm in component.walk("VALARM"):
        trigger = alarm.decoded("TRIGGER")
        if isinstance(trigger, timedelta):
            at_end = alarm["TRIGGER"].params.get("RELATED") == "END"
            start = component.decoded(("DUE" if component.name == "VTODO" else "DTEND") if at_end else "DTSTART")
            trigger += start if isinstance(start, datetime) else datetime.combine(start, datetime.min.time())
        for number in range(int(alarm.get("REPEAT", 0)) + 1):
            out.append(trigger + number * alarm.decoded("DURATION", timedelta()))
    return sorted(out)


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        # the examples of RFC 5545 3.6.6: an absolute trigger that repeats, half an hour before, two days before the end
        (
            "DTSTART:19970317T140000Z BEGIN:VALARM TRIGGER;VALUE=DATE-TIME:19970317T133000Z REPEAT:4 DURATION:PT15M",
            ["19970317T133000", "19970317T134500", "19970317T140000", "19970317T141500", "19970317T143000"],
        ),
        (
            "DTSTART:19970317T140000Z BEGIN:VALARM TRIGGER:-PT30M REPEAT:2 DURATION:PT15M",
            ["19970317T133000", "19970317T134500", "19970317T140000"],
        ),
        (
            "DUE:20070709T130000Z BEGIN:VALARM TRIGGER;RELATED=END:-P2D",
            ["20070707T130000"],
        ),
    ],
)
def test_the_firings_of_the_standards_examples(lines: str, expected: list[str]) -> None:
    kind = "VTODO" if lines.startswith("DUE") else "VEVENT"
    text = "\r\n".join(
        ["BEGIN:VCALENDAR", f"BEGIN:{kind}", *lines.split(), "END:VALARM", f"END:{kind}", "END:VCALENDAR", ""]
    )
    (component,) = icalendar.Calendar.from_ical(text).walk(kind)
    assert [f"{f:%Y%m%dT%H%M%S}" for f in firings(component)] == expected


def test_alarms_go_off_at_nine_three_days_and_one_day_before() -> None:
    found = [reminder(deadline=date(2026, 12, 5)), reminder("No backup yet", subject="2")]
    by_title = {str(e["SUMMARY"]): e for e in events(calendar(found, entries(found, (), DAY), NOW))}
    assert {title: firings(event) for title, event in by_title.items()} == {
        "Download Jester Hood": [datetime(2026, 12, 2, 9), datetime(2026, 12, 4, 9)],
        "No backup yet": [datetime(2026, 11, 25, 9)],
    }


def test_properties_that_must_stand_once_stand_once() -> None:
    # RFC 5545 3.6: PRODID and VERSION once in the calendar, UID and DTSTAMP once in every event.
    found = [reminder(), reminder(subject="2")]
    data = calendar(found, entries(found, (), DAY), NOW).decode()
    assert data.count("PRODID:") == data.count("\r\nVERSION:2.0") == 1
    assert data.count("\r\nUID:") == data.count("\r\nDTSTAMP:") == data.count("BEGIN:VEVENT") == 2


def test_an_unchanged_entry_keeps_its_sequence_and_its_day() -> None:
    first = entries([reminder()], (), DAY)
    again = entries([reminder()], first, DAY + timedelta(days=9))
    assert again == first


def test_a_change_raises_the_sequence() -> None:
    first = entries([reminder(deadline=date(2026, 12, 5))], (), DAY)
    (moved,) = entries([reminder(deadline=date(2026, 12, 9))], first, DAY)
    assert (moved.sequence, moved.day) == (1, date(2026, 12, 9))


def test_what_is_gone_is_cancelled_for_a_while_and_can_come_back() -> None:
    first = entries([reminder()], (), DAY)
    (gone,) = entries([], first, DAY + timedelta(days=1))
    assert (gone.sequence, gone.withdrawn_on) == (1, DAY + timedelta(days=1))
    (event,) = events(calendar([], [gone], NOW))
    assert (str(event["STATUS"]), event["SEQUENCE"], event.walk("VALARM")) == ("CANCELLED", 1, [])
    assert entries([], [gone], DAY + timedelta(days=KEPT_DAYS)) == (gone,)
    assert entries([], [gone], DAY + timedelta(days=KEPT_DAYS + 2)) == ()
    (back,) = entries([reminder()], [gone], DAY + timedelta(days=5))
    assert (back.sequence, back.withdrawn_on) == (2, None)


@settings(deadline=None, max_examples=60)
@given(st.text(max_size=200), st.text(max_size=80))
def test_no_title_breaks_the_calendar(title: str, more: str) -> None:
    hostile = replace(reminder(title + "\r\nEND:VEVENT\r\n" + more), why=(more + "\nBEGIN:VALARM",))
    data = calendar([hostile], entries([hostile], (), DAY), NOW)
    (one,) = events(data)
    assert one.errors == []
    assert len(one.walk("VALARM")) == 1
    assert len(vobject.readOne(data.decode("utf-8")).vevent_list) == 1
