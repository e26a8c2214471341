"""Mails that come from somewhere else than a path, behind one small contract.

A feed is read while the vault is open for writing, so that what it remembers (which mails were seen) is recorded in
the same transaction as the mails themselves: a connection lost in the middle costs nothing that was recorded.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from vault.catalogue import Catalogue
from vault.model.evidence import Problem

Note = Callable[[Catalogue], None]


@dataclass(frozen=True, kw_only=True)
class FedMail:
    """One mail: its raw bytes, its `source` for people and JSON, and what is to be recorded along with it."""

    source: str
    raw: bytes
    note: Note


@dataclass(frozen=True, kw_only=True)
class FedNote:
    """Something to record that is no mail: how far a folder was read."""

    source: str
    note: Note


@dataclass(frozen=True, kw_only=True)
class FedProgress:
    """How far the feed is: `done` of `total`, in words."""

    done: int
    total: int | None
    words: str


Fed = FedMail | FedNote | FedProgress | Problem


@runtime_checkable
class MailFeed(Protocol):
    """Where mails come from."""

    def mails(self, catalogue: Catalogue) -> Iterator[Fed]:
        """Every mail that `catalogue` does not say is seen.  Trouble comes as a Problem; nothing is raised for it."""
