"""What an import did, and how it tells of its progress."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from vault.model.evidence import Problem


class Progress(Protocol):
    """Is told how far the work is: `done` of `total` (None: not known), `words` name what is at work."""

    def __call__(self, done: int, total: int | None, words: str) -> None: ...


def silent(done: int, total: int | None, words: str) -> None:
    """Progress that nobody watches."""


@dataclass(frozen=True)
class StandardInput:
    """What came in on standard input, whole."""

    content: bytes


@dataclass(frozen=True, kw_only=True)
class IngestSummary:
    """What one import did.

    `documents`, `purchases_new`, `files_new` and `linked` count what is new; `questions` all that wait for an answer.
    `unchanged` counts what was known before, `passed_over` (words that fit behind a number, number) what is neither
    receipt nor pattern.  `problems` are those of everything that was looked at, older ones too while they last;
    `problems_new` those that were not known before.
    `titles` say in a line each what was bought and what is held now; `unclaimed` names the new files that belong to
    no purchase yet.
    """

    documents: int = 0
    purchases_new: int = 0
    files_new: int = 0
    linked: int = 0
    questions: int = 0
    unchanged: int = 0
    passed_over: tuple[tuple[str, int], ...] = ()
    problems: tuple[Problem, ...] = ()
    problems_new: tuple[Problem, ...] = ()
    titles: tuple[str, ...] = ()
    unclaimed: tuple[str, ...] = ()
