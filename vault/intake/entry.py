"""The things that an import works on: entries, and units of them that are recorded together or not at all."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

from vault.catalogue import Catalogue
from vault.errors import UnreadableError, VaultError
from vault.intake.sniff import Sniffed
from vault.model.evidence import DocumentReading, Problem
from vault.model.pattern import FileReading, Sighting


class Fate(StrEnum):
    """What becomes of an entry."""

    UNDECIDED = "undecided"
    KNOWN = "known"  # its bytes were dealt with before; only the place may be new
    EVIDENCE = "evidence"  # a row of documents, bytes kept
    FILE = "file"  # a row of files, bytes kept
    LISTED = "listed"  # a row of files that says it is no pattern; bytes not kept
    PASSED = "passed"  # digest and reason
    NOTHING = "nothing"  # not even that: small things that come with mails, or what could not be opened


@dataclass(kw_only=True)
class Entry:
    """One byte string on its way through the import.

    `source` names it for people (`path`, `path#n`, `path > member`).  Its bytes are `raw` or lie at `path`; `owned`
    says that `path` is a temporary file of ours.  `known` says what the catalogue knows: "document", "file" or a
    reason.  `children` are members of a zip or attachments of a mail.
    """

    source: str
    name: str
    sniffed: Sniffed
    sha256: str
    n_bytes: int
    sighting: Sighting
    raw: bytes | None = None
    path: Path | None = None
    owned: bool = False
    known: str | None = None
    known_pattern: bool = False  # a known file that is or might be a pattern
    children: list[Entry] = field(default_factory=list)
    document: DocumentReading | None = None
    file: FileReading | None = None
    in_zip: bool = False
    in_mail: bool = False
    stays: str = ""  # "document" or "file": it is in the vault already and stays there, whatever is read now
    has_sibling_design: bool = False  # a cutting or stitch file of the same name lies beside it
    fate: Fate = Fate.UNDECIDED
    reason: str = ""  # words that fit behind a number, for what is passed over
    problems: list[Problem] = field(default_factory=list)
    failed: bool = False  # could not be opened or read through; it is not remembered, so that it is tried again
    open_error: str = ""  # code, for a zip that could not be opened
    refused: set[str] = field(default_factory=set)  # codes, for members of a zip that were not unpacked

    def content(self, most: int) -> bytes:
        """The bytes, at most `most` of them; UnreadableError for more, OSError where the disk fails."""
        if self.n_bytes > most:
            raise UnreadableError(f"it is too large to be a receipt ({self.n_bytes >> 20} MB)")
        if self.raw is not None:
            return self.raw
        assert self.path is not None
        with self.path.open("rb") as stream:
            return stream.read(most + 1)

    def trouble(self, reason: str, next_step: str) -> None:
        """Adds a problem of this entry."""
        self.problems.append(Problem(source=self.source, reason=reason, next=next_step))

    def everything(self) -> list[Entry]:
        """This entry and all inside it, outermost first: the order of recording."""
        return [self] + [e for child in self.children for e in child.everything()]


@contextmanager
def carefully(entry: Entry) -> Iterator[None]:
    """A mistake of a reader's costs only this entry: it is said, with where it happened, and the import goes on."""
    try:
        yield
    except (VaultError, MemoryError):
        raise
    except Exception as error:  # noqa: BLE001 - readers meet hostile bytes; one of them must not end an import
        entry.failed = True
        at = traceback.extract_tb(error.__traceback__)[-1]
        entry.trouble(
            f"reading it failed by a mistake in Pinfold ({type(error).__name__}: {str(error)[:120]};"
            f" {Path(at.filename).name}, line {at.lineno})",
            "please report it; what you bought can be typed in with: pinfold record",
        )


@dataclass(frozen=True, kw_only=True)
class Done:
    """The path state to remember once a unit is recorded."""

    path: Path
    n_bytes: int
    mtime_ns: int
    digest: str


@dataclass(kw_only=True)
class Unit:
    """What is recorded together: a file with all inside it, or one message of a mailbox.

    `done` is set on the last unit of a path.  `unchanged`: the path is as it was, nothing is to be done.  `unseen`:
    digest and reason of a message that is no evidence and was never seen; most messages of a mailbox end so, and cost
    no entry.  `note` records something more in the same transaction.
    """

    words: str
    entry: Entry | None = None
    problem: Problem | None = None
    passed_by: str = ""
    unchanged: bool = False
    unseen: tuple[str, str] | None = None
    done: Done | None = None
    note: Callable[[Catalogue], None] | None = None

    def weight(self) -> int:
        """Bytes that this unit holds in memory or in temporary files."""
        if self.entry is None:
            return 200
        return 2000 + sum(len(e.raw or b"") + (e.n_bytes if e.owned else 0) for e in self.entry.everything())
