"""The stage that reads: files through the guard, documents in this process."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from vault.errors import UnreadableError
from vault.intake.decide import wants_guard
from vault.intake.entry import Entry, Unit, carefully
from vault.intake.readers import FileJob, ReadDocument, ReadFiles
from vault.intake.recording import is_recorded, read_recorded
from vault.intake.sniff import FileKind
from vault.intake.walk import trouble_words
from vault.model.evidence import EvidenceKind

_MB = 1 << 20
# What is read as a document, as which kind, and the most bytes of it.
_DOCUMENTS = {
    FileKind.PAGE: (EvidenceKind.PAGE, 64 * _MB),
    FileKind.TABLE: (EvidenceKind.CSV, 64 * _MB),
    FileKind.SHEET: (EvidenceKind.SHEET, 64 * _MB),
    FileKind.TEXT: (EvidenceKind.TEXT, 4 * _MB),
}
_PDF_BYTES = 64 * _MB  # a receipt is smaller; of a larger file only the reading is handed on


def read_files(
    units: Sequence[Unit], read: ReadFiles, *, keep: bool, tell: Callable[[str], None] = lambda _: None
) -> None:
    """Has the guarded reader look at every file of a batch that it is for; `tell` hears each file's place."""
    asked = [e for u in units if u.entry for e in u.entry.everything() if wants_guard(e, keep=keep) and e.path]
    if not asked:
        return
    jobs = [FileJob(path=e.path, media_type=e.sniffed.media_type, name=e.name) for e in asked if e.path]
    for entry, reading in zip(asked, read(jobs), strict=True):
        tell(entry.source)
        entry.file = reading


def read_documents(units: Sequence[Unit], read: ReadDocument) -> None:
    """Reads as evidence what may be evidence and is not a pattern; mails were read when they were opened."""
    for unit in units:
        for entry in unit.entry.everything() if unit.entry else ():
            if entry.known is None and not entry.failed:
                _read_document(entry, read)


def _read_document(entry: Entry, read: ReadDocument) -> None:
    if entry.sniffed.kind is FileKind.PDF:
        _read_pdf(entry, read)
    elif entry.sniffed.kind in _DOCUMENTS:
        kind, most = _DOCUMENTS[entry.sniffed.kind]
        try:
            raw = entry.content(most)
        except UnreadableError:
            return  # larger than any receipt: passed over for what it is
        except OSError as error:
            entry.trouble(*trouble_words(error))
            entry.failed = True
            return
        with carefully(entry):
            entry.document = read_recorded(raw) if is_recorded(raw) else read(kind, raw, name=entry.name)


def _read_pdf(entry: Entry, read: ReadDocument) -> None:
    """A PDF that is no pattern may be a receipt; the guarded reading of its text serves for both."""
    file = entry.file
    if file is None or file.pdf is None or file.facts.is_pattern is True or not file.pdf.pages:
        return
    raw = b""
    if entry.n_bytes <= _PDF_BYTES:
        try:
            raw = entry.content(_PDF_BYTES)
        except OSError as error:
            entry.trouble(*trouble_words(error))
            entry.failed = True
            return
    with carefully(entry):
        entry.document = read(EvidenceKind.PDF, raw, name=entry.name, pdf=file.pdf)
