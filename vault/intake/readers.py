"""The readers that an import uses, behind one small contract, so that a test can put others in their place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from vault.catalogue import Catalogue
from vault.intake.derive import rejoin
from vault.model.evidence import DocumentReading, EvidenceKind
from vault.model.pattern import FileReading
from vault.model.pdf import PdfReading

# Raise it whenever a reader of receipts or patterns learns something: what an older one read is then read again.
READER_VERSION = "2"


@dataclass(frozen=True, kw_only=True)
class FileJob:
    """A file for the guarded reader: where its bytes lie, what they are, the name it has in the world."""

    path: Path
    media_type: str
    name: str


class ReadDocument(Protocol):
    """Reads an evidence document; bytes in, values out."""

    def __call__(
        self, kind: EvidenceKind, raw: bytes, *, name: str = "", pdf: PdfReading | None = None
    ) -> DocumentReading: ...


ReadFiles = Callable[[Iterable[FileJob]], Iterator[FileReading]]


@dataclass(frozen=True, kw_only=True)
class Readers:
    """What an import reads with.

    `may_be_evidence` is a cheap look at a mail: is it evidence, does it carry files?  `files` opens the guarded reader:
    readings come in the order of the jobs.  `derive` makes what follows.
    """

    document: ReadDocument
    may_be_evidence: Callable[[bytes], bool]
    files: Callable[[], AbstractContextManager[ReadFiles]]
    derive: Callable[[Catalogue], None] = rejoin
    version: str = READER_VERSION


def real_readers() -> Readers:
    """The readers of this program; each is loaded when it is first used, for most imports need only some."""
    return Readers(document=_document, may_be_evidence=_may_be_evidence, files=_Guarded)


def _document(kind: EvidenceKind, raw: bytes, *, name: str = "", pdf: PdfReading | None = None) -> DocumentReading:
    from vault.receipts.read import read

    return read(kind, raw, name=name, pdf=pdf)


def _may_be_evidence(raw: bytes) -> bool:
    from vault.receipts.likely import may_be_evidence

    return may_be_evidence(raw)


class _Guarded:
    """The guard of `vault.patterns`, started with the first job: an import of mails alone needs no worker."""

    def __init__(self) -> None:
        self._guard: AbstractContextManager[object] | None = None

    def __enter__(self) -> ReadFiles:
        return self._read

    def __exit__(self, *error: object) -> None:
        if self._guard is not None:
            self._guard.__exit__(None, None, None)

    def _read(self, jobs: Iterable[FileJob]) -> Iterator[FileReading]:
        from vault.patterns.guard import Guard, Job

        if not isinstance(self._guard, Guard):
            self._guard = Guard()
            self._guard.__enter__()
        wanted = (Job(path=j.path, media_type=j.media_type, name=j.name) for j in jobs)
        for _, reading in self._guard.read_many(wanted):
            yield reading
