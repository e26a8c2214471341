"""44 questions on licences, answered by hand (`questions`); every answer carries words, and says nothing in silence."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.licences.questions import BOUGHT, DAY, NO_SELLING, QUESTIONS, TWENTY_A_YEAR, Question, answer, source
from vault.licences.may import may
from vault.licences.versions import versions
from vault.model.licence import Act, LicenceUse, Ruling, UseKind


@pytest.mark.parametrize("q", QUESTIONS, ids=lambda q: q.id)
def test_the_answer_is_that_of_a_careful_reader(q: Question) -> None:
    found = answer(q)
    assert (found.ruling.value, found.limit, found.per, found.fits, found.credit) == q.expected


@pytest.mark.parametrize("q", QUESTIONS, ids=lambda q: q.id)
def test_every_answer_rests_on_words_of_the_text_and_silence_on_none(q: Question) -> None:
    found = answer(q)
    quotes = [quote.text for s in found.rests_on for quote in s.clause.quotes]
    assert bool(quotes) == (found.ruling is not Ruling.SILENT)
    assert all(any(quote in text for text, _, _ in q.texts) for quote in quotes)


def test_the_questions_hold_silence_contradiction_and_every_act() -> None:
    assert len(QUESTIONS) >= 40
    assert {q.expected[0] for q in QUESTIONS} == {r.value for r in Ruling}
    assert {q.act for q in QUESTIONS} == set(Act)


def test_later_terms_are_named_beside_and_a_grant_ends_with_its_last_day() -> None:
    first = source(NO_SELLING)
    grant = source("You may sell up to 50 finished pieces.", granted=True, until=DAY)
    on_the_day = may(Act.SELL, [first, grant], bought_on=BOUGHT, day=DAY)
    assert (on_the_day.ruling, on_the_day.limit) == (Ruling.LIMITED, 50)
    assert [s.clause.ruling for s in on_the_day.others] == [Ruling.NO]
    after = may(Act.SELL, [first, grant], bought_on=BOUGHT, day=DAY.replace(day=26))
    assert after.ruling is Ruling.NO
    assert [s.clause.ruling for s in after.others] == [Ruling.LIMITED]
    assert any(DAY.isoformat() in why for why in after.why)


def test_only_sold_pieces_count_against_selling() -> None:
    uses = [LicenceUse(id=k.value, item_id="i", kind=k, count=30, on=DAY) for k in UseKind]
    found = may(Act.SELL, [source(TWENTY_A_YEAR)], uses, bought_on=BOUGHT, day=DAY)
    assert (found.used, found.left, found.fits) == (30, 0, False)
    made = may(Act.SELL, [source(TWENTY_A_YEAR)], uses[:1], bought_on=BOUGHT, day=DAY)
    assert (made.used, made.left) == (0, 20)


def test_the_same_words_at_two_places_are_one_version() -> None:
    same = source(NO_SELLING), source(NO_SELLING, BOUGHT.replace(month=4)), source(TWENTY_A_YEAR)
    found = versions(same)
    assert [len(v.seen) for v in found] == [2, 1]
    assert found[0].first_seen == BOUGHT


@pytest.mark.parametrize("text", ["a" * 1_000_000, "<" * 1_000_000, " " * 1_000_000, "print again " * 80_000])
def test_a_megabyte_of_anything_is_read_quickly(text: str) -> None:
    import time

    from vault.licences.wording import clauses_in

    begun = time.process_time()
    clauses_in(text, "en")
    assert time.process_time() - begun < 5


@settings(deadline=None, max_examples=80)
@given(
    st.lists(st.tuples(st.integers(1, 30), st.dates(date(2024, 1, 1), date(2027, 12, 31))), max_size=8),
    st.integers(1, 40) | st.none(),
    st.booleans(),
)
def test_the_ledger_is_counted_in_the_period_and_never_ahead(
    sold: list[tuple[int, date]], count: int | None, yearly: bool
) -> None:
    text = TWENTY_A_YEAR if yearly else "You may sell up to 20 finished pieces."
    uses = [LicenceUse(id=str(n), item_id="i", kind=UseKind.SOLD, count=c, on=on) for n, (c, on) in enumerate(sold)]
    found = may(Act.SELL, [source(text)], uses, count=count, bought_on=BOUGHT, day=DAY)
    used = sum(c for c, on in sold if on <= DAY and (not yearly or on.year == DAY.year))
    assert (found.used, found.left) == (used, max(0, 20 - used))
    assert found.fits == (used + (count or 0) <= 20)
