"""The log of events: PREMIS terms, the chain of links, and what is known of each destination."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlite_utils import Database

from vault.catalogue import Catalogue, Event
from vault.catalogue.schema import MIGRATIONS
from vault.model.event import FIRST_LINK, LogHead, head_of, link_of, log_problems


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "catalogue.sqlite"


def log_of(path: Path, n: int = 6) -> tuple[Event, ...]:
    with Catalogue.open(path) as catalogue:
        for number in range(n):
            catalogue.add_event("verify", "done", f"{number} checked", at=datetime(2026, 3, 1 + number, tzinfo=UTC))
        return catalogue.events()


def test_a_log_hangs_together(path: Path) -> None:
    events = log_of(path)
    assert [e.seq for e in events] == [1, 2, 3, 4, 5, 6]
    assert events[0].link == link_of(FIRST_LINK, events[0])
    assert log_problems(events) == []
    with Catalogue.open_read_only(path) as catalogue:
        assert catalogue.log_head() == head_of(events) == LogHead(events=6, link=events[-1].link)


@pytest.mark.parametrize(
    "change", [{"at": "2026-03-09T00:00:00Z"}, {"kind": "x"}, {"outcome": "y"}, {"detail": "z"}, {"destination": "d"}]
)
def test_a_changed_event_is_noticed(path: Path, change: dict[str, str]) -> None:
    events = list(log_of(path))
    events[2] = replace(events[2], **change)
    assert log_problems(events) == ["event 3 of the log (" + events[2].at + ") or one before it was changed"]


def test_a_log_without_its_middle_is_noticed(path: Path) -> None:
    events = log_of(path)
    assert log_problems([*events[:2], *events[3:]]) == ["event 3 is gone from the log"]


def test_a_shortened_log_is_noticed_by_any_head_noted_elsewhere(path: Path) -> None:
    events = log_of(path)
    heads = [("the backup on the stick", head_of(events))]
    assert log_problems(events, heads) == []
    assert log_problems(events[:4], heads) == ["the log has 4 events, and the backup on the stick knows of 6"]
    # a log that was cut and goes on as if nothing had happened
    with Catalogue.open(path.with_name("other.sqlite")) as other:
        for _ in range(7):
            other.add_event("verify", "done")
        assert log_problems(other.events()) == []
        assert log_problems(other.events(), heads) == [
            "the log is not the one that the backup on the stick knows: it was written anew up to event 6"
        ]


@pytest.mark.parametrize("sql", ["DELETE FROM events WHERE seq = 6", "UPDATE events SET outcome = 'done'"])
def test_the_log_only_grows(path: Path, sql: str) -> None:
    log_of(path)
    with sqlite3.connect(path) as db, pytest.raises(sqlite3.IntegrityError, match="only grows"):
        db.execute(sql)
    db.close()


def test_an_older_log_is_chained_and_its_destinations_are_found(path: Path) -> None:
    db = Database(path)
    MIGRATIONS.apply(db, stop_before="m003_event_chain")
    for kind, outcome, detail in (
        ("import", "done", "1 documents"),
        ("backup", "done", "/media/my stick 2026-03-07T09:15:00Z"),
        ("rehearse", "failed", "/media/my stick 2026-03-07T09:15:00Z"),
    ):
        db.execute(
            "INSERT INTO events (at, kind, outcome, detail) VALUES ('2026-03-07T09:15:00Z', ?, ?, ?)",
            (kind, outcome, detail),
        )
    db.conn.commit()
    db.close()
    with Catalogue.open(path) as catalogue:
        assert log_problems(catalogue.events()) == []
        catalogue.add_event("verify", "done")
        assert log_problems(catalogue.events()) == []
        (history,) = catalogue.destinations()
    assert history.destination == "/media/my stick"
    assert history.last_backup and history.last_backup.seq == 2
    assert history.last_rehearsal is None
    assert history.failed and history.failed.kind == "rehearse"


def test_each_destination_has_its_own_history(path: Path) -> None:
    with Catalogue.open(path) as catalogue:
        assert catalogue.destinations() == ()
        for day, kind, outcome, to in (
            (1, "backup", "done", "B"),
            (2, "backup", "incomplete", "A"),
            (3, "rehearse", "failed", "A"),
            (4, "rehearse", "done", "A"),
            (5, "check", "damage", "B"),
            (6, "verify", "done", ""),
        ):
            catalogue.add_event(kind, outcome, destination=to, at=datetime(2026, 5, day, tzinfo=UTC))
        a, b = catalogue.destinations()
    assert (a.destination, b.destination) == ("A", "B")
    assert a.last_backup and a.last_backup.at == "2026-05-02T00:00:00Z" and a.failed is None
    assert a.last_rehearsal and a.last_rehearsal.at == "2026-05-04T00:00:00Z"
    assert b.last_rehearsal is None and b.last_check is None and b.failed and b.failed.kind == "check"


@pytest.mark.parametrize(
    "kind, outcome, term, uri, result",
    [
        # https://id.loc.gov/vocabulary/preservation/eventType: fix, ing, del
        ("verify", "done", "fixity check", "http://id.loc.gov/vocabulary/preservation/eventType/fix", "success"),
        ("import", "done", "ingestion", "http://id.loc.gov/vocabulary/preservation/eventType/ing", "success"),
        ("thin", "done", "deletion", "http://id.loc.gov/vocabulary/preservation/eventType/del", "success"),
        ("verify", "damage", "fixity check", "http://id.loc.gov/vocabulary/preservation/eventType/fix", "warning"),
        ("rehearse", "failed", "validation", None, "fail"),
        ("something else", "odd", "something else", None, "warning"),
    ],
)
def test_premis_terms(kind: str, outcome: str, term: str, uri: str | None, result: str) -> None:
    event = Event(at="2026-03-07T09:15:00Z", kind=kind, outcome=outcome)
    assert (event.event_type, event.event_type_uri, event.result) == (term, uri, result)
