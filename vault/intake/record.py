"""From decided entries to the vault: bytes first, then the rows, a batch of units in one transaction.

A kill before the rows leaves objects without a row, which the same import adopts when it comes again; a kill after
them leaves a whole batch.  `done` of a path is recorded with its last unit, so a path counts as dealt with only when
all inside it is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from vault.catalogue import Catalogue
from vault.errors import UnreadableError
from vault.intake.decide import facts_of
from vault.intake.derive import mark_stale
from vault.intake.entry import Entry, Fate, Unit
from vault.intake.names import file_part
from vault.intake.sniff import FileKind
from vault.model.evidence import DocumentKind, DocumentReading, EvidenceKind
from vault.model.pattern import PatternFile
from vault.safekeeping.objects import ObjectStore

_EVIDENCE_KINDS = {
    FileKind.PAGE: EvidenceKind.PAGE,
    FileKind.PDF: EvidenceKind.PDF,
    FileKind.TABLE: EvidenceKind.CSV,
    FileKind.SHEET: EvidenceKind.SHEET,
    FileKind.TEXT: EvidenceKind.TEXT,
}


@dataclass
class Tally:
    """What was counted while recording."""

    units: int = 0
    documents: int = 0
    files_new: int = 0
    unchanged: int = 0
    passed_over: Counter[str] = field(default_factory=Counter)
    visited: set[str] = field(default_factory=set)
    new_files: dict[str, str] = field(default_factory=dict)  # digest -> name, of what might be a pattern


@dataclass
class Recorder:
    """Writes batches of units into one vault and counts."""

    catalogue: Catalogue
    store: ObjectStore
    version: str
    tally: Tally = field(default_factory=Tally)
    has_problems: bool = False

    def __post_init__(self) -> None:
        self.has_problems = bool(self.catalogue.problems())

    def record(self, units: Sequence[Unit]) -> None:
        """Keeps and records a batch, all of it or nothing.  Raises StoreError when the vault cannot be written."""
        for unit in units:
            for entry in unit.entry.everything() if unit.entry else ():
                if entry.fate in (Fate.EVIDENCE, Fate.FILE):
                    self._keep(entry)
        self.tally.units += len(units)
        with self.catalogue.transaction():
            unseen = [u.unseen for u in units if u.unseen is not None]
            self.catalogue.pass_over_unseen(unseen, reader=self.version)
            self.tally.passed_over.update(reason for _, reason in unseen)
            for unit in units:
                if unit.unseen is None:
                    self._unit(unit)
                if unit.note is not None:
                    unit.note(self.catalogue)

    def _keep(self, entry: Entry) -> None:
        try:
            if entry.raw is not None:
                sha256 = self.store.keep(entry.raw)
            else:
                assert entry.path is not None
                sha256, _ = self.store.keep_file(entry.path)
        except UnreadableError as error:
            entry.fate = Fate.NOTHING
            entry.trouble(error.message, error.next_step)
            return
        if sha256 != entry.sha256:
            # What was read is not what was kept; the next import sees the file as it is then.
            self.store.forget(sha256)
            entry.fate = Fate.NOTHING
            entry.trouble("it changed while it was being read", "import it again when nothing writes to it any more")

    def _unit(self, unit: Unit) -> None:
        self.tally.visited.add(unit.words)
        if unit.unchanged:
            self.tally.unchanged += 1
        if unit.passed_by:
            self.tally.passed_over[unit.passed_by] += 1
        if unit.problem is not None:
            self.catalogue.clear_problem(unit.problem.source)
            self.catalogue.record_problem(unit.problem)
        whole = True
        if unit.entry is not None:
            self.tally.visited.add(unit.entry.source)
            self._forget_problems(unit.entry)
            for entry in unit.entry.everything():
                self._entry(entry)
                whole = whole and (entry.fate is not Fate.NOTHING or (entry.in_mail and not entry.failed))
        if unit.done is not None and whole:
            done = unit.done
            self.catalogue.set_path_state(done.path, done.n_bytes, done.mtime_ns, done.digest, reader=self.version)

    def _forget_problems(self, entry: Entry) -> None:
        """Old problems of a place give way to what is found there now."""
        if self.has_problems:
            self.catalogue.clear_problem(entry.source)

    def _entry(self, entry: Entry) -> None:
        if entry.fate is Fate.PASSED:  # first, for most mails of a mailbox end here
            self._passed(entry)
        elif entry.fate is Fate.KNOWN:
            self._known(entry)
        elif entry.fate is Fate.EVIDENCE:
            self._evidence(entry)
        elif entry.fate in (Fate.FILE, Fate.LISTED):
            self._file(entry)
        for problem in entry.problems:
            self.catalogue.record_problem(problem)
            self.has_problems = True

    def _known(self, entry: Entry) -> None:
        if not (entry.in_zip or entry.in_mail):
            self.tally.unchanged += 1
        if self.catalogue.document_known(entry.sha256) == "read":
            self.catalogue.add_source(entry.sha256, entry.source)
            reading = self.catalogue.document(entry.sha256)
            for problem in reading.problems if reading else ():
                self.catalogue.record_problem(replace(problem, source=entry.source))
        if entry.known == "file" and self.catalogue.add_sighting(entry.sha256, entry.sighting):
            mark_stale(self.catalogue)

    def _evidence(self, entry: Entry) -> None:
        new = self.catalogue.document_known(entry.sha256) != "read"
        reading = entry.document or DocumentReading(
            kind=_EVIDENCE_KINDS.get(entry.sniffed.kind, EvidenceKind.MAIL), document=DocumentKind.OTHER
        )
        problems = tuple(replace(p, source=entry.source) for p in reading.problems)
        self.catalogue.record_document(
            entry.sha256,
            source=entry.source,
            reading=replace(reading, problems=problems),
            reader=self.version,
        )
        self.has_problems = self.has_problems or bool(problems)
        mark_stale(self.catalogue)
        self.tally.documents += new
        if entry.file is not None:
            # A receipt in a PDF is listed among the files too, as what it is.
            self._put_file(entry, kept=True)

    def _file(self, entry: Entry) -> None:
        kept = entry.fate is Fate.FILE
        new = not self.catalogue.file_known(entry.sha256)
        self._put_file(entry, kept=kept)
        is_pattern = entry.sniffed.kind is not FileKind.ZIP and (
            not entry.file or entry.file.facts.is_pattern is not False
        )
        if new and kept and is_pattern:
            self.tally.files_new += 1
            self.tally.new_files[entry.sha256] = file_part(entry.name or entry.source)
        if not kept:
            self.tally.passed_over[_LISTED.get(entry.sniffed.kind, "files that are no pattern")] += 1

    def _put_file(self, entry: Entry, *, kept: bool) -> None:
        members = tuple(
            c.sha256
            for c in entry.children
            if c.fate in (Fate.FILE, Fate.LISTED) or (c.fate is Fate.KNOWN and c.known == "file")
        )
        file = PatternFile(
            sha256=entry.sha256,
            n_bytes=entry.n_bytes,
            facts=facts_of(entry),
            sightings=(entry.sighting,),
            members=members if entry.sniffed.kind is FileKind.ZIP else (),
            kept=kept,
        )
        self.catalogue.record_file(file, reader=self.version)
        mark_stale(self.catalogue)

    def _passed(self, entry: Entry) -> None:
        if self.catalogue.pass_over(entry.sha256, entry.source, entry.reason, reader=self.version):
            mark_stale(self.catalogue)
        if not (entry.in_zip or entry.in_mail):
            self.tally.passed_over[entry.reason] += 1


_LISTED = {FileKind.PDF: "PDFs that are neither pattern nor receipt", FileKind.ZIP: "zips that are not safe to open"}
