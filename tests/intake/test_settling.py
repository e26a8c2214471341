"""When a file is finished: the machine alone, with a clock of the test's own."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from vault.intake.settling import Settling, Signature

A = Path("a.pdf")


def sig(n_bytes: int = 10, mtime_ns: int = 1, inode: int = 1) -> Signature:
    return Signature(n_bytes=n_bytes, mtime_ns=mtime_ns, ctime_ns=mtime_ns, inode=inode)


def machine() -> Settling:
    return Settling(settle=2.0, settle_empty=30.0)


def test_a_file_counts_when_it_stayed_the_same_for_the_settling_time() -> None:
    m = machine()
    assert m.see(A, sig(), 0.0)
    assert m.due(1.9) == [] and m.next_due() == 2.0
    assert m.due(2.0) == [A]
    assert m.deal(A, sig())
    assert m.due(99.0) == [] and len(m) == 0


def test_growing_begins_the_wait_anew() -> None:
    m = machine()
    m.see(A, sig(10), 0.0)
    assert m.see(A, sig(20), 1.5)
    assert m.due(2.5) == []
    assert m.due(3.5) == [A]
    assert not m.deal(A, sig(30)), "it grew between the two looks"
    assert m.deal(A, sig(20))


def test_an_empty_file_waits_longer_for_a_program_may_fill_it() -> None:
    m = machine()
    m.see(A, sig(0), 0.0)
    assert m.due(29.0) == [] and m.due(30.0) == [A]


def test_what_was_quiet_already_counts_at_once_and_only_once() -> None:
    m = machine()
    m.see(A, sig(), 100.0, quiet_for=3600.0)
    assert m.due(100.0) == [A]
    assert m.deal(A, sig())
    assert not m.see(A, sig(), 101.0), "nothing new"
    assert m.see(A, sig(inode=2), 102.0), "replaced under the same name"
    assert m.due(104.0) == [A]


def test_a_file_still_held_open_is_looked_at_less_and_less_often() -> None:
    m = machine()
    m.see(A, sig(), 0.0)
    looks, now = 0, 0.0
    while now < 600:
        due = m.next_due()
        assert due is not None
        now = max(now, due)
        assert m.due(now) == [A]
        m.still_open(A, now)
        looks += 1
    assert 15 <= looks <= 30
    assert m.due(now + 30) == [A], "once the writer is gone it still counts"


def test_what_is_gone_is_forgotten_and_counts_when_it_comes_back() -> None:
    m = machine()
    m.see(Path("d/a"), sig(), 0.0)
    m.see(Path("d/b"), sig(), 0.0)
    m.deal(Path("d/b"), sig())
    m.gone_below(Path("d"))
    assert m.due(99.0) == [] and m.dealt() == frozenset()
    assert m.see(Path("d/b"), sig(), 100.0)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 3), st.floats(0.1, 5.0)), max_size=60))
def test_no_state_is_given_out_twice_or_before_its_time(looks: list[tuple[int, float]]) -> None:
    """Whatever is seen when: what is given out had the same size for the settling time, and no state comes twice."""
    m, now = machine(), 0.0
    since: tuple[int, float] | None = None
    last: int | None = None
    for size, pause in looks:
        now += pause
        if size == 3:
            m.gone(A)
            since, last = None, None
            continue
        if since is None or since[0] != size:
            since = (size, now)
        m.see(A, sig(size + 1), now)
        if A in m.due(now) and m.deal(A, sig(size + 1)):
            assert now - since[1] >= 2.0
            assert last != size
            last = size
