"""Makes the catalogue anew from the objects alone: after it was damaged, or to see that it could be done.

Every kept object is read again as at its first import; the records among them (`remembering`) say under which names
it was seen, in which order, and what the person answered.  The new catalogue is made beside the old one, checked, and
only then takes its place; the old one stays in backups/ until the next time.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from vault.catalogue import Catalogue
from vault.catalogue.codec import from_json
from vault.catalogue.records import HAND_TABLES
from vault.errors import StoreError
from vault.intake.decide import decide
from vault.intake.entry import Unit
from vault.intake.gather import Gatherer
from vault.intake.kept import kept_entry
from vault.intake.readers import Readers, real_readers
from vault.intake.reading import read_documents, read_files
from vault.intake.record import Recorder
from vault.intake.remembering import KeptRecord, is_record, keep_records, kept_records
from vault.intake.sniff import HEAD_BYTES
from vault.intake.zips import ZipLimits
from vault.model.event import Event, log_problems
from vault.model.pattern import Sighting
from vault.safekeeping.disk import DISK, remove_tree
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.state import BackupState

Progress = Callable[[int, int], None]  # objects done, objects in all
BEFORE = "catalogue-before-rebuild.sqlite"
_BATCH = 24


@dataclass(frozen=True, kw_only=True)
class RebuildReport:
    """What the new catalogue was made of.

    `damaged`: objects that were left out since their bytes have changed; `not_understood`: objects that are neither
    evidence nor a file of patterns today; `brought_back`: rows of the person's; `log_kept`: whether the log of events
    could be taken over.
    """

    documents: int
    files: int
    purchases: int
    brought_back: int
    damaged: tuple[str, ...]
    not_understood: tuple[str, ...]
    log_kept: bool


@dataclass
class _Known:
    """What the records say of the objects."""

    sources: dict[str, list[str]] = field(default_factory=dict)
    sightings: dict[str, list[Sighting]] = field(default_factory=dict)
    hand: dict[str, KeptRecord] = field(default_factory=dict)
    records: set[str] = field(default_factory=set)  # their digests
    terms: set[str] = field(default_factory=set)  # objects that a row of the person's names

    def order(self, digests: Iterator[str]) -> list[str]:
        """Digests in the order in which they were first recorded; what no record names comes last."""
        places = {sha256: n for n, sha256 in enumerate([*self.sources, *self.sightings])}
        return sorted(digests, key=lambda sha256: (places.get(sha256, len(places)), sha256))


def rebuild_catalogue(
    folder: VaultFolder,
    *,
    day: date,
    readers: Readers | None = None,
    progress: Progress | None = None,
) -> RebuildReport:
    """Puts a new catalogue in the place of the old one.  Raises StoreError; then the old one is as it was."""
    used = readers or real_readers()
    with VaultLock(folder, purpose="rebuild the catalogue"):
        store = ObjectStore(folder)
        store.sweep_temporary()
        events = _old_events(folder)
        work = folder.tmp_path / "rebuild"
        remove_tree(work)
        work.mkdir(parents=True)
        try:
            with Catalogue.open(work / "catalogue.sqlite") as catalogue:
                report = _Rebuild(folder, store, catalogue, used, day).run(events, progress)
                wrong = catalogue.check()
                if wrong:
                    raise StoreError(f"the new catalogue is not sound: {wrong[0]}", "the disk may be failing")
                catalogue.snapshot_to(work / "new.sqlite")
            _put_in_place(folder, work / "new.sqlite")
            if not report.log_kept:
                BackupState(folder).forget_log_heads()
        finally:
            remove_tree(work)
    return report


class _Rebuild:
    def __init__(
        self, folder: VaultFolder, store: ObjectStore, catalogue: Catalogue, readers: Readers, day: date
    ) -> None:
        self._folder, self._store, self._catalogue, self._readers = folder, store, catalogue, readers
        self._gatherer = Gatherer(
            catalogue=catalogue, readers=readers, place=folder.tmp_file, day=day, keep=False, limits=ZipLimits()
        )
        self._recorder = Recorder(catalogue=catalogue, store=store, version=readers.version)
        self._day = day
        self._known = _known(store)
        self._damaged: list[str] = []

    def run(self, events: tuple[Event, ...] | None, progress: Progress | None) -> RebuildReport:
        if events:
            self._catalogue.bring_events(events)
        wanted = self._known.order(self._store.digests())
        with ExitStack() as guarded:
            read = guarded.enter_context(self._readers.files())
            batch: list[Unit] = []
            for done, sha256 in enumerate(wanted, start=1):
                batch += self._unit(sha256)
                if len(batch) >= _BATCH or done == len(wanted):
                    self._record(batch, read)
                    batch = []
                if progress is not None:
                    progress(done, len(wanted))
        self._more_places()
        brought = sum(self._catalogue.bring_rows(r.table) for r in self._known.hand.values())
        for name, record in self._known.hand.items():
            self._catalogue.set_record(name, record.sha256, record.number)
        self._readers.derive(self._catalogue)
        keep_records(self._folder, self._catalogue)
        current = {sha256 for sha256, _ in self._catalogue.records().values()}
        for sha256 in self._known.records - current:
            self._store.forget(sha256)
        kept = self._catalogue.kept_names().keys() | self._known.records | set(self._damaged)
        return RebuildReport(
            documents=self._recorder.tally.documents,
            files=len(self._catalogue.files()),
            purchases=len(self._catalogue.purchases()),
            brought_back=brought,
            damaged=tuple(self._damaged),
            not_understood=tuple(d for d in wanted if d not in kept),
            log_kept=events is not None,
        )

    def _record(self, batch: list[Unit], read: Callable[..., object]) -> None:
        read_files(batch, read, keep=False)  # type: ignore[arg-type]
        read_documents(batch, self._readers.document)
        for unit in batch:
            if unit.entry is not None:
                decide(unit.entry, keep=False)
        self._recorder.record(batch)
        for unit in batch:
            for entry in unit.entry.everything() if unit.entry else ():
                if entry.owned and entry.path is not None:
                    entry.path.unlink(missing_ok=True)

    def _unit(self, sha256: str) -> list[Unit]:
        """One object as a unit; none for records and for what the person's rows name, which are no evidence."""
        path = self._store.path_of(sha256)
        if not self._store.intact(sha256):
            self._damaged.append(sha256)
            return []
        with path.open("rb") as stream:
            head = stream.read(HEAD_BYTES)
        sources, seen = self._known.sources.get(sha256, []), self._known.sightings.get(sha256, [])
        # a mail that was imported and recorded as terms too is evidence as well
        if is_record(head) or (sha256 in self._known.terms and not sources and not seen):
            return []
        stays = "file" if seen else "document" if sources else ""
        entry = kept_entry(sha256, path, sources, seen, stays, day=self._day)
        self._gatherer.look_inside(entry)
        return [Unit(words=entry.source, entry=entry)]

    def _more_places(self) -> None:
        """Every further place where a known thing was seen."""
        with self._catalogue.transaction():
            for sha256, sources in self._known.sources.items():
                if self._catalogue.document_known(sha256) == "read":
                    for source in sources:
                        self._catalogue.add_source(sha256, source)
            for sha256, seen in self._known.sightings.items():
                if self._catalogue.file_known(sha256):
                    for sighting in seen:
                        self._catalogue.add_sighting(sha256, sighting)


def _known(store: ObjectStore) -> _Known:
    known = _Known()
    for record in kept_records(store):
        table = record.table
        known.records.add(record.sha256)
        if table.name in HAND_TABLES:
            known.hand[table.name] = record  # they come in the order of their numbers: the last one counts
            if table.name == "licence_terms" and "sha256" in table.columns:
                known.terms |= {str(row[table.columns.index("sha256")]) for row in table.rows}
            continue
        for row in table.rows:
            cells = dict(zip(table.columns, row, strict=True))
            sha256 = str(cells.get("sha256"))
            if table.name == "sources":
                sources = known.sources.setdefault(sha256, [])
                sources += [s for s in [str(cells.get("source"))] if s not in sources]
            else:
                try:
                    sighting = from_json(Sighting, str(cells.get("body")))
                except (ValueError, TypeError, KeyError):
                    continue
                seen = known.sightings.setdefault(sha256, [])
                seen += [sighting] if sighting not in seen else []
    return known


def _old_events(folder: VaultFolder) -> tuple[Event, ...] | None:
    """The log of the old catalogue, if it can still be read and is whole."""
    try:
        with Catalogue.open_read_only(folder.catalogue_path) as old:
            events = old.events()
    except StoreError:
        return None
    return None if log_problems(events) else events


def _put_in_place(folder: VaultFolder, new: Path) -> None:
    """The old catalogue goes to backups/, with what SQLite wrote beside it, which is not the new one's."""
    DISK.make_folder(folder.backups_path)
    before = folder.backups_path / BEFORE
    for ending in ("-wal", "-shm", ""):
        old = folder.catalogue_path.with_name(folder.catalogue_path.name + ending)
        kept = before.with_name(before.name + ending)
        kept.unlink(missing_ok=True)
        if not old.exists():
            continue
        if ending:
            old.replace(kept)
        else:
            shutil.copy2(old, kept)
    with new.open("rb") as handle:
        os.fsync(handle.fileno())
    DISK.rename(new, folder.catalogue_path)
    DISK.sync_folder(folder.root)
