"""What is shown of what the rules find: told once, put off, done, brought back."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.reminders.test_rules import CLOSING, DAY, missing
from vault.model.purchase import ItemState
from vault.model.reminder import Reminder, ReminderMark
from vault.reminders.due import agenda, done, put_off, rests, to_tell
from vault.reminders.rules import Rows

LINK = Rows(missing=[missing(ends="2026-12-05")])


def reminder(deadline: date | None = None, *, repeats: int | None = None, facts: str = "a") -> Reminder:
    return Reminder(
        kind="k", subject="s", due_on=DAY, title="t", next="n", deadline=deadline, repeats_after=repeats, facts=facts
    )


def test_a_loss_is_told_once_by_the_rule_that_says_most() -> None:
    assert [r.kind for r in agenda(LINK, (), DAY).due] == ["link-runs-out"]
    both = Rows(missing=[missing(ends="2026-12-05"), missing("Ruff")])
    assert [r.kind for r in agenda(both, (), DAY).due] == ["link-runs-out", "not-held"]
    closing = Rows(missing=[missing(seller=CLOSING), missing("Ruff", seller=CLOSING, state=ItemState.PARTIAL)])
    assert [r.kind for r in agenda(closing, (), DAY).due] == ["shop-closes"]


def test_what_is_not_yet_due_hides_nothing() -> None:
    later = Rows(missing=[missing(ends="2027-03-01")])
    found = agenda(later, (), DAY)
    assert [r.kind for r in found.due] == ["not-held"]
    assert found.coming == ()
    assert [r.kind for r in agenda(later, (), DAY, days=90).coming] == ["link-runs-out"]


def test_put_off_until_that_day_and_no_longer() -> None:
    rows = Rows(n_questions=2)
    (one,) = agenda(rows, (), DAY).due
    mark = put_off(one, DAY, 7)
    assert agenda(rows, (mark,), DAY + timedelta(days=6)).due == ()
    assert [r.kind for r in agenda(rows, (mark,), DAY + timedelta(days=7)).due] == ["questions"]


def test_a_last_day_breaks_a_respite_three_days_ahead() -> None:
    one = reminder(DAY + timedelta(days=10))
    mark = put_off(one, DAY, 30)
    assert rests(one, mark, DAY + timedelta(days=6))
    assert not rests(one, mark, DAY + timedelta(days=7))


def test_done_holds_as_long_as_the_facts_do() -> None:
    mark = done(reminder(), DAY)
    assert rests(reminder(), mark, DAY + timedelta(days=4000))
    assert not rests(reminder(facts="b"), mark, DAY)


def test_what_repeats_comes_back_although_it_was_done() -> None:
    one = reminder(repeats=30)
    mark = done(one, DAY)
    assert rests(one, mark, DAY + timedelta(days=29))
    assert not rests(one, mark, DAY + timedelta(days=30))


def test_a_notice_speaks_of_a_thing_once_a_day() -> None:
    one = reminder()
    told = ReminderMark(id=one.id, told_on=DAY)
    assert to_tell([one], [told], DAY) == ()
    assert to_tell([one], [told], DAY + timedelta(days=1)) == (one,)
    assert to_tell([one], [], DAY) == (one,)


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 400), st.integers(1, 400), st.integers(0, 60))
def test_nothing_with_a_last_day_rests_on_its_last_day(until: int, span: int, ahead: int) -> None:
    one = reminder(DAY + timedelta(days=until))
    mark = put_off(one, DAY, span)
    assert not rests(one, mark, DAY + timedelta(days=until))
    assert not rests(one, mark, DAY + timedelta(days=span + ahead))
