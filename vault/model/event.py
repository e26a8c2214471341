"""Events: what was done with the vault, when, with which outcome, in a log that cannot be shortened unnoticed.

Every event carries a *link*: the SHA-256 of the link before it and of everything that the event says.  So no event can
be changed, taken out or put in without every later link becoming another; and whoever has noted one link (it stands in
every backup and in every bag) can tell that a log which no longer holds it was cut short or written anew.

`kind` is our own stable word; `event_type` and `result` say it in the terms of the PREMIS vocabularies of the Library
of Congress (http://id.loc.gov/vocabulary/preservation/eventType and .../eventOutcome).
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass

FIRST_LINK = "0" * 64
_VOCABULARY = "http://id.loc.gov/vocabulary/preservation"

# Our word -> the PREMIS term, and its code where the vocabulary confirms it.
EVENT_TYPES: dict[str, tuple[str, str]] = {
    "import": ("ingestion", "ing"),
    "verify": ("fixity check", "fix"),
    "backup": ("replication", ""),
    "check": ("fixity check", "fix"),
    "thin": ("deletion", "del"),
    "rehearse": ("validation", ""),
    "restore": ("recovery", ""),
    "repair": ("recovery", ""),
    "rebuild": ("metadata extraction", ""),
    "new-key": ("encryption", ""),
    "handover": ("information package creation", ""),
    "recovery-sheet": ("creation", ""),
}
# Our word -> the PREMIS term: success, warning (done, but something needs a person), fail.
_RESULTS = {"done": "success", "incomplete": "warning", "damage": "warning", "failed": "fail"}


@dataclass(frozen=True, kw_only=True)
class Event:
    """Something that was done with the vault.

    `at` is ISO 8601 in UTC, `kind` and `outcome` are short stable words; `destination` is the backup that it was about,
    or empty.  `seq` counts from 1; `link` is its place in the chain (both empty for an event that is in no log).
    """

    at: str
    kind: str
    outcome: str
    detail: str = ""
    destination: str = ""
    seq: int = 0
    link: str = ""

    @property
    def event_type(self) -> str:
        """The PREMIS term for its kind; its own word where there is none."""
        return EVENT_TYPES.get(self.kind, (self.kind, ""))[0]

    @property
    def event_type_uri(self) -> str | None:
        """Where that term is defined."""
        code = EVENT_TYPES.get(self.kind, ("", ""))[1]
        return f"{_VOCABULARY}/eventType/{code}" if code else None

    @property
    def result(self) -> str:
        """The PREMIS term for its outcome: "success", "warning" or "fail"."""
        return _RESULTS.get(self.outcome, "warning")


@dataclass(frozen=True, kw_only=True)
class DestinationHistory:
    """What was done with one destination: the last of each that came out well, and the last that did not, if later."""

    destination: str
    last_backup: Event | None = None
    last_rehearsal: Event | None = None
    last_check: Event | None = None
    failed: Event | None = None  # later than every success of its kind


@dataclass(frozen=True, kw_only=True)
class LogHead:
    """The end of a log at some time: how many events it had, and the link of the last one."""

    events: int
    link: str


def link_of(before: str, event: Event) -> str:
    """The link of `event` behind the link `before`: SHA-256 over both, in hexadecimal digits."""
    said = [event.seq, event.at, event.kind, event.outcome, event.detail, event.destination]
    return hashlib.sha256(f"{before}\n{json.dumps(said, separators=(',', ':'))}".encode("ascii")).hexdigest()


def head_of(events: Iterable[Event]) -> LogHead:
    """The end of a log."""
    n, link = 0, FIRST_LINK
    for event in events:
        n, link = event.seq, event.link
    return LogHead(events=n, link=link)


def log_problems(events: Iterable[Event], heads: Iterable[tuple[str, LogHead]] = ()) -> list[str]:
    """What is wrong with a log, in sentences; nothing if it is whole.

    `heads` are ends that were noted elsewhere, each with the place in words: every one must still be found.
    """
    problems: list[str] = []
    before, links = FIRST_LINK, [FIRST_LINK]
    for place, event in enumerate(events, start=1):
        if event.seq != place and not problems:
            problems.append(f"event {place} is gone from the log")
        elif event.link != link_of(before, event) and not problems:
            problems.append(f"event {event.seq} of the log ({event.at}) or one before it was changed")
        before = event.link
        links.append(event.link)
    for where, head in heads:
        if head.events >= len(links):
            problems.append(f"the log has {len(links) - 1} events, and {where} knows of {head.events}")
        elif links[head.events] != head.link:
            problems.append(f"the log is not the one that {where} knows: it was written anew up to event {head.events}")
    return problems
