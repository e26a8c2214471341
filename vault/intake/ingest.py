"""The way in: from paths to a vault that holds what they give.

The stages, in order, for one batch after the other:

    walk -> gather (digest, sniff, open zips and mails) -> read files -> read documents -> decide -> keep, record

and once at the end: join claims to purchases, match items with files, lay the files on the shelf.  Nothing at the
paths is changed.  What is known costs a look at its size and time; importing again changes nothing.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from vault.catalogue import Catalogue
from vault.errors import UsageError
from vault.intake.decide import decide, wants_guard
from vault.intake.derive import is_stale, mark_stale, rejoin, rematch, shelve
from vault.intake.entry import Entry, Fate, Unit
from vault.intake.feed import MailFeed
from vault.intake.gather import Gatherer
from vault.intake.names import shown
from vault.intake.news import news_lines
from vault.intake.readers import Readers, real_readers
from vault.intake.reading import read_documents, read_files
from vault.intake.record import Recorder
from vault.intake.remembering import keep_records
from vault.intake.summary import IngestSummary, Progress, StandardInput, silent
from vault.intake.walk import FoundFile, Walked, walk
from vault.intake.zips import ZipLimits
from vault.model.evidence import Problem
from vault.model.purchase import ItemState
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock
from vault.safekeeping.objects import ObjectStore

Input = Path | StandardInput | FoundFile | MailFeed

__all__ = ["IngestSummary", "Input", "StandardInput", "ingest", "mark_stale", "rejoin", "rematch"]

# A batch is what one transaction holds and what a kill costs at most.
_BATCH_UNITS = 400
_BATCH_BYTES = 64 << 20
_BATCH_FILES = 32
_BATCH_SECONDS = 5.0
_LOOKED_UP = 500  # paths that the catalogue is asked for at once


def ingest(
    folder: VaultFolder,
    paths: Sequence[Input],
    *,
    keep: bool = False,
    progress: Progress = silent,
    day: date,
    readers: Readers | None = None,
    limits: ZipLimits | None = None,
    wait_seconds: float = 0.0,
) -> IngestSummary:
    """Takes in receipts and files, whatever they are, and says what is new.

    `keep` keeps also what is neither receipt nor pattern.  `day` is today.  `wait_seconds`: how long to wait for the
    vault when another is writing into it.  What `progress` raises ends the import; what was recorded stays.  Raises
    StoreError when the vault is in use or cannot be written, UsageError when a path does not exist and nothing else
    was named; all other trouble is in the summary's `problems`.
    """
    if not paths:
        raise UsageError("nothing was named to import", "name files or folders: pinfold import FOLDER")
    used = readers or real_readers()
    with (
        VaultLock(folder, purpose="import", wait_seconds=wait_seconds),
        Catalogue.open(folder.catalogue_path) as catalogue,
    ):
        store = ObjectStore(folder)
        store.sweep_temporary()
        gatherer = Gatherer(
            catalogue=catalogue,
            readers=used,
            place=folder.tmp_file,
            day=day,
            keep=keep,
            limits=limits or ZipLimits(),
        )
        recorder = Recorder(catalogue=catalogue, store=store, version=used.version)
        run = _Run(catalogue=catalogue, store=store, gatherer=gatherer, recorder=recorder, progress=progress)
        try:
            return run.all(paths)
        finally:
            store.sweep_temporary()


@dataclass(frozen=True, kw_only=True)
class _Before:
    """What there was before an import, to tell what is new."""

    purchases: frozenset[str]
    links: frozenset[tuple[str, str]]
    held: frozenset[str]
    problems: frozenset[tuple[str, str]]

    @classmethod
    def of(cls, catalogue: Catalogue) -> _Before:
        return cls(
            purchases=catalogue.purchase_ids(),
            links=catalogue.linked_pairs(),
            held=frozenset(s.item_id for s in catalogue.standings() if s.state is ItemState.HELD),
            problems=frozenset((p.source, p.reason) for p in catalogue.problems()),
        )


@dataclass(kw_only=True)
class _Run:
    """One import: the vault's parts and the stages that use them."""

    catalogue: Catalogue
    store: ObjectStore
    gatherer: Gatherer
    recorder: Recorder
    progress: Progress
    far: tuple[int, int | None] = (0, None)  # how far the work is: done, of how many

    def all(self, paths: Sequence[Input]) -> IngestSummary:
        before = _Before.of(self.catalogue)
        with ExitStack() as guarded:
            read = guarded.enter_context(self.gatherer.readers.files())
            for batch in _batches(self._units(paths), keep=self.gatherer.keep):
                read_files(batch, read, keep=self.gatherer.keep, tell=self._tell)
                read_documents(batch, self.gatherer.readers.document)
                # Before anything of this batch is recorded, whoever watches the progress may stop the import: readers
                # that were ended from outside have said nothing true of their files.
                self._tell(batch[-1].words)
                for unit in batch:
                    if unit.entry is not None:
                        decide(unit.entry, keep=self.gatherer.keep)
                        _say_if_nothing(unit.entry)
                self.recorder.record(batch)
                _drop_temporary(batch)
        if is_stale(self.catalogue):
            self.progress(0, None, "matching what was bought with what is held")
            self.gatherer.readers.derive(self.catalogue)
            titles = self._news(before)
        else:
            titles = ()
        shelve(self.store.folder, self.catalogue)
        keep_records(self.store.folder, self.catalogue)
        summary = self._summary(paths, before, titles)
        if summary.documents or summary.files_new:
            found = f"{summary.documents} documents, {summary.files_new} files, {summary.purchases_new} purchases"
            self.catalogue.add_event("import", "done", found)
        return summary

    def _units(self, paths: Sequence[Input]) -> Iterator[Unit]:
        """Every unit of work, with progress: what an older reader read, then what was named."""
        yield from self._again()
        named = [_absolute(p) for p in paths if isinstance(p, Path)]
        walked: list[Walked] = []
        for step in walk(named, own=self.store.folder.root):
            walked.append(step)
            self.progress(len(walked), None, "looking through folders")
        for p in paths:
            if isinstance(p, StandardInput):
                yield from self.gatherer.standard_input(p.content)
            elif isinstance(p, FoundFile):
                walked.append(p)
            elif isinstance(p, MailFeed):
                yield from self.gatherer.feed(p, self.progress)
        for begin in range(0, len(walked), _LOOKED_UP):
            some = walked[begin : begin + _LOOKED_UP]
            unchanged = self._unchanged([s for s in some if isinstance(s, FoundFile)])
            for done, step in enumerate(some, begin):
                if not isinstance(step, FoundFile):
                    yield self.gatherer.remark(step)
                elif step.place in unchanged:
                    yield Unit(words=shown(step.place), unchanged=True)
                else:
                    self.far = (done, len(walked))
                    for unit in self.gatherer.path(step):
                        self._tell(unit.words)
                        yield unit

    def _tell(self, words: str) -> None:
        self.progress(*self.far, words)

    def _unchanged(self, found: Sequence[FoundFile]) -> frozenset[str]:
        """Places of the files that are as they were: asked for all at once, for most imports meet mostly these."""
        if self.gatherer.keep:
            return frozenset()
        known = self.catalogue.path_states([f.place for f in found], reader=self.gatherer.readers.version)
        return frozenset(f.place for f in found if not f.changed and known.get(f.place) == (f.n_bytes, f.mtime_ns))

    def _again(self) -> Iterator[Unit]:
        """What is kept and was read by another version of the readers."""
        version = self.gatherer.readers.version
        outdated = [*self.catalogue.outdated_documents(version), *self.catalogue.outdated_files(version)]
        for done, sha256 in enumerate(dict.fromkeys(outdated)):
            if self.store.has(sha256):
                self.progress(done, len(outdated), "reading again with better eyes")
                yield from self.gatherer.again(sha256, self.store.path_of(sha256))

    def _news(self, before: _Before) -> tuple[str, ...]:
        """What there is to tell of purchases and links that were not there before."""
        views = self.catalogue.purchases()
        new = [v for v in views if v.purchase.id not in before.purchases]
        linked = [(v, i) for v in views for i in v.items for k in i.links if (k.item_id, k.sha256) not in before.links]
        return news_lines(new, linked, before.held)

    def _summary(self, paths: Sequence[Input], before: _Before, titles: tuple[str, ...]) -> IngestSummary:
        problems = self._problems(paths)
        tally = self.recorder.tally
        return IngestSummary(
            documents=tally.documents,
            purchases_new=len(self.catalogue.purchase_ids() - before.purchases),
            files_new=tally.files_new,
            linked=len(self.catalogue.linked_pairs() - before.links),
            questions=len(self.catalogue.questions()),
            unchanged=tally.unchanged,
            passed_over=tuple(tally.passed_over.most_common()),
            problems=problems,
            problems_new=tuple(p for p in problems if (p.source, p.reason) not in before.problems),
            titles=titles,
            unclaimed=self._unclaimed(),
        )

    def _unclaimed(self) -> tuple[str, ...]:
        """Names of the new files that belong to no purchase yet."""
        if not self.recorder.tally.new_files:
            return ()
        linked = {sha256 for _, sha256 in self.catalogue.linked_pairs()}
        return tuple(name for sha256, name in self.recorder.tally.new_files.items() if sha256 not in linked)

    def _problems(self, paths: Sequence[Input]) -> tuple[Problem, ...]:
        """The problems of everything that was looked at; those of files that are gone are forgotten."""
        visited = self.recorder.tally.visited
        roots = tuple(shown(_absolute(p)) for p in paths if isinstance(p, Path))
        found: list[Problem] = []
        for problem in self.catalogue.problems():
            place = problem.source.split(" > ", 1)[0]
            if problem.source in visited or place in visited or place.rpartition("#")[0] in visited:
                found.append(problem)
            elif any(place.startswith((r + "/", r + "\\")) for r in roots):
                self.catalogue.clear_problem(problem.source)
        return tuple(found)


def _batches(units: Iterator[Unit], *, keep: bool) -> Iterator[list[Unit]]:
    """The units in lists that are worth a transaction each."""
    batch: list[Unit] = []
    n_bytes = n_files = 0
    begun = time.monotonic()
    for unit in units:
        batch.append(unit)
        n_bytes += unit.weight()
        n_files += sum(wants_guard(e, keep=keep) for e in unit.entry.everything()) if unit.entry else 0
        full = len(batch) >= _BATCH_UNITS or n_bytes >= _BATCH_BYTES or n_files >= _BATCH_FILES
        if full or time.monotonic() - begun > _BATCH_SECONDS:
            yield batch
            batch, n_bytes, n_files = [], 0, 0
            begun = time.monotonic()
    if batch:
        yield batch


def _say_if_nothing(entry: Entry) -> None:
    """What she pasted herself is not passed over in silence."""
    nothing = entry.fate is Fate.PASSED or (entry.fate is Fate.KNOWN and entry.known not in ("document", "file"))
    if entry.source == "-" and nothing and not entry.problems:
        entry.trouble("no purchase and no pattern could be read in it", "type the purchase in: pinfold record --help")


def _drop_temporary(batch: Sequence[Unit]) -> None:
    for unit in batch:
        for entry in unit.entry.everything() if unit.entry else ():
            if entry.owned and entry.path is not None:
                entry.path.unlink(missing_ok=True)


def _absolute(path: Path) -> Path:
    """`path` from the root on, for the person will be somewhere else when she asks; links in it stay."""
    return path if path.is_absolute() else Path.cwd() / path
