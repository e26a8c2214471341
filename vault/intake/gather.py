"""From paths to units: what lies there, what of it is new, what is inside.

Every path becomes one unit, a mailbox as many as it has messages.  Bytes are digested and sniffed; what the catalogue
knows is not looked into again.  Mails are read here, because their attachments are entries of their own; zips are
unpacked into temporary files of the vault, within one budget for a zip and all inside it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from typing import BinaryIO

from vault.catalogue import Catalogue
from vault.errors import StoreError, UnreadableError
from vault.intake.decide import WITHOUT_PURCHASE
from vault.intake.entry import Done, Entry, Unit, carefully
from vault.intake.feed import FedMail, FedNote, FedProgress, MailFeed
from vault.intake.kept import kept_entry
from vault.intake.marks import without_marks
from vault.intake.names import ending, file_part, member_name, shown
from vault.intake.origin import origin_of
from vault.intake.readers import Readers
from vault.intake.sniff import HEAD_BYTES, FileKind, Sniffed, inside_zip, sniff
from vault.intake.summary import Progress
from vault.intake.walk import GONE, FoundFile, PassedBy, Walked, trouble_words
from vault.intake.zips import DISK_FULL, Budget, Member, OpenedZip, ZipLimits
from vault.model.evidence import Attachment, EvidenceKind, Problem
from vault.model.pattern import Sighting

_CHUNK = 1 << 20
_HANDFUL = 100
_HANDFUL_BYTES = 8 << 20
LONGEST_MAIL = 128 << 20
_DEEPEST = 4  # zips in mails in zips ...
_A_MAIL = Sniffed(kind=FileKind.MAIL, media_type="message/rfc822")
OTHER_MARKS = "mails that are known under other marks"
MAILBOX = "mailbox"  # stands for the digest in the path state of a mailbox: its messages have digests

# What of a mail's attachments may be a pattern or evidence; the rest is part of the mail and kept or not with it.
_ATTACHED = frozenset(
    [
        *(FileKind.PDF, FileKind.ZIP, FileKind.STITCHES, FileKind.CUTTING),
        *(FileKind.PAGE, FileKind.TABLE, FileKind.SHEET, FileKind.MAIL, FileKind.OUTLOOK_MAIL),
    ]
)
_DESIGN_ENDINGS = (".svg", ".dxf", ".eps", ".pes", ".dst", ".jef", ".vp3", ".exp", ".hus", ".xxx")


@dataclass
class Gatherer:
    """Makes units for one import.  `place` gives unused paths for temporary files."""

    catalogue: Catalogue
    readers: Readers
    place: Callable[[], Path]
    day: date
    keep: bool = False
    limits: ZipLimits = field(default_factory=ZipLimits)

    # --- paths ----------------------------------------------------------------------------------

    def path(self, found: FoundFile) -> Iterator[Unit]:
        """The units of one file."""
        words = shown(found.path)
        if self._unchanged(found):
            yield Unit(words=words, unchanged=True)
            return
        try:
            with found.path.open("rb") as stream:
                head = stream.read(HEAD_BYTES)
            sniffed = sniff(head, found.path.name)
            if sniffed.kind is FileKind.MAILBOX:
                yield from self._mailbox(found, sniffed)
                return
            sha256, n_bytes = _digest(found.path)
        except FileNotFoundError:  # it was there a moment ago
            yield Unit(words=words, passed_by=GONE)
            return
        except OSError as error:
            yield Unit(words=words, problem=_file_trouble(words, error))
            return
        entry = Entry(
            source=words,
            name=shown(found.path.name),
            sniffed=sniffed,
            sha256=sha256,
            n_bytes=n_bytes,
            sighting=self._seen(found),
            path=found.path,
            has_sibling_design=_has_sibling_design(found),
        )
        self._look_inside(entry, Budget.of(self.limits), 0)
        done = Done(path=found.path, n_bytes=found.n_bytes, mtime_ns=found.mtime_ns, digest=sha256)
        yield Unit(words=words, entry=entry, done=done)

    def remark(self, walked: Walked) -> Unit:
        """The unit for something that is no file to read."""
        if isinstance(walked, PassedBy):
            return Unit(words=shown(walked.path), passed_by=walked.reason)
        assert not isinstance(walked, FoundFile)
        return Unit(words=walked.source, problem=walked)

    def standard_input(self, content: bytes) -> Iterator[Unit]:
        """The units of what came in on standard input."""
        import io

        sniffed = sniff(content[:HEAD_BYTES])
        if sniffed.kind is FileKind.MAILBOX:
            yield from self._messages(io.BytesIO(content), "-", Sighting(path="-", seen_on=self.day))
            return
        sighting = Sighting(path="-", seen_on=self.day)
        entry = self._of_bytes(content, source="-", name="", sniffed=sniffed, sighting=sighting)
        if sniffed.kind is not FileKind.MAIL:
            entry.path, entry.owned = self._spill(content), True  # the guarded reader wants a file
        self._look_inside(entry, Budget.of(self.limits), 0)
        yield Unit(words="standard input", entry=entry)

    def again(self, sha256: str, path: Path) -> Iterator[Unit]:
        """The unit of a kept object that was read by another version of the readers."""
        file = self.catalogue.file(sha256)
        stays = "file" if file and file.kept else "document"
        entry = kept_entry(sha256, path, self.catalogue.sources(sha256), file.sightings if file else (), stays)
        entry.known = self._known(entry)
        if entry.known is None:
            self._look_inside(entry, Budget.of(self.limits), 0)
            yield Unit(words=entry.source, entry=entry)

    def look_inside(self, entry: Entry) -> None:
        """Settles what is known of an entry, and gathers what is inside it."""
        self._look_inside(entry, Budget.of(self.limits), 0)

    def _unchanged(self, found: FoundFile) -> bool:
        if found.changed:
            return False
        state = self.catalogue.path_state(found.path, reader=self.readers.version)
        if state is None or (state.n_bytes, state.mtime_ns) != (found.n_bytes, found.mtime_ns):
            return False
        return not self.keep or self._is_kept(state.digest)

    def _is_kept(self, sha256: str) -> bool:
        return self.catalogue.document_known(sha256) == "read" or self.catalogue.file_kept(sha256)

    def _seen(self, found: FoundFile) -> Sighting:
        origin = origin_of(found.path)
        return Sighting(
            path=shown(found.path),
            modified=_iso(found.mtime_ns),
            origin_url=origin.url,
            referrer_url=origin.referrer,
            seen_on=self.day,
        )

    # --- mailboxes ------------------------------------------------------------------------------

    def _mailbox(self, found: FoundFile, sniffed: Sniffed) -> Iterator[Unit]:
        del sniffed
        words = shown(found.path)
        with found.path.open("rb") as stream:
            yield from self._messages(stream, words, self._seen(found))
        done = Done(path=found.path, n_bytes=found.n_bytes, mtime_ns=found.mtime_ns, digest=MAILBOX)
        yield Unit(words=words, done=done)

    def _messages(self, stream: BinaryIO, source: str, seen: Sighting) -> Iterator[Unit]:
        from vault.receipts.mailbox import split_mbox

        for some in _handfuls(split_mbox(stream)):
            seen_before = self.catalogue.seen([sha256 for _, _, sha256 in some])
            for number, raw, sha256 in some:
                place = f"{source}#{number}"
                if self.keep or sha256 in seen_before:
                    yield self._message(raw, sha256, replace(seen, path=place))
                elif self._says_nothing(raw):
                    yield Unit(words=place, unseen=(sha256, WITHOUT_PURCHASE))  # most end here, and cost little
                else:
                    yield self._marked(raw, sha256, replace(seen, path=place))

    def _marked(self, raw: bytes, sha256: str, seen: Sighting) -> Unit:
        """A mail of a mailbox file that is new, or known but for what its mail program has written into it since."""
        unmarked = without_marks(raw)
        plain = sha256 if unmarked is None else hashlib.sha256(unmarked).hexdigest()
        if plain != sha256 and self._is_known_otherwise(plain):
            return Unit(words=seen.path, unchanged=True)
        unit = self._message(raw, sha256, seen)
        if plain != sha256:
            unit.note = partial(_note_other_marks, sha256, plain)
        return unit

    def _is_known_otherwise(self, plain: str) -> bool:
        """Whether a mail is known by its digest without the marks of a mail program, or under other ones."""
        if self.catalogue.document_known(plain) in ("read", OTHER_MARKS):
            return True
        return self.catalogue.document_known(plain, reader=self.readers.version) is not None

    def _message(self, raw: bytes, sha256: str, seen: Sighting) -> Unit:
        """One mail that has no file of its own; `seen.path` is its place."""
        entry = Entry(
            source=seen.path,
            name="",
            sniffed=_A_MAIL,
            sha256=sha256,
            n_bytes=len(raw),
            sighting=seen,
            raw=raw,
        )
        self._look_inside(entry, Budget.of(self.limits), 0)
        return Unit(words=seen.path, entry=entry)

    def feed(self, feed: MailFeed, progress: Progress) -> Iterator[Unit]:
        """The units of mails that come from somewhere else than a path."""
        for fed in feed.mails(self.catalogue):
            if isinstance(fed, FedProgress):
                progress(fed.done, fed.total, fed.words)
            elif isinstance(fed, FedMail):
                sha256 = hashlib.sha256(fed.raw).hexdigest()
                if not self.keep and not self.catalogue.seen([sha256]) and self._says_nothing(fed.raw):
                    unit = Unit(words=fed.source, unseen=(sha256, WITHOUT_PURCHASE))
                else:
                    unit = self._message(fed.raw, sha256, Sighting(path=fed.source, seen_on=self.day))
                unit.note = fed.note
                yield unit
            elif isinstance(fed, FedNote):
                yield Unit(words=fed.source, note=fed.note)
            else:
                yield Unit(words=fed.source, problem=fed)

    def _says_nothing(self, raw: bytes) -> bool:
        """Whether a message is, at a quick look, no evidence and carries nothing."""
        try:
            return not self.readers.may_be_evidence(raw)
        except Exception:  # noqa: BLE001 - the careful way is tried next, and says what is wrong
            return False

    # --- inside ---------------------------------------------------------------------------------

    def _of_bytes(self, raw: bytes, *, source: str, name: str, sniffed: Sniffed, sighting: Sighting) -> Entry:
        return Entry(
            source=source,
            name=name,
            sniffed=sniffed,
            sha256=hashlib.sha256(raw).hexdigest(),
            n_bytes=len(raw),
            sighting=sighting,
            raw=raw,
        )

    def _look_inside(self, entry: Entry, budget: Budget, depth: int) -> None:
        """Settles what is known of an entry; reads a mail, unpacks a zip."""
        entry.known = self._known(entry)
        if entry.known == "file":
            file = self.catalogue.file(entry.sha256)
            entry.known_pattern = file is not None and file.kept and file.facts.is_pattern is not False
        if entry.sniffed.kind in (FileKind.MAIL, FileKind.OUTLOOK_MAIL):
            if entry.known is None:
                self._read_mail(entry, budget, depth)
        elif entry.sniffed.kind is FileKind.ZIP and entry.known in (None, "file"):
            # A known zip at a new place is opened again, for its members are seen at a new place too.
            self._unpack(entry, budget, depth)

    def _known(self, entry: Entry) -> str | None:
        version = self.readers.version
        is_mail = entry.sniffed.kind is FileKind.MAIL  # never a row of files
        if not is_mail and self.catalogue.file_known(entry.sha256, reader=version):
            return None if self.keep and not self.catalogue.file_kept(entry.sha256) else "file"
        reason = self.catalogue.document_known(entry.sha256, reader=version)
        if reason == "read":
            return "document"
        if reason is None and is_mail and self.catalogue.document_known(entry.sha256) == OTHER_MARKS:
            reason = OTHER_MARKS
        return None if self.keep else reason

    def _read_mail(self, entry: Entry, budget: Budget, depth: int) -> None:
        try:
            raw = entry.content(LONGEST_MAIL)
        except (OSError, UnreadableError) as error:
            entry.trouble(*_words(error))
            return
        attachments: tuple[Attachment, ...] = ()
        with carefully(entry):
            if self.keep or entry.sniffed.kind is FileKind.OUTLOOK_MAIL or self.readers.may_be_evidence(raw):
                entry.document = self.readers.document(EvidenceKind.MAIL, raw, name=entry.name)
                attachments = entry.document.attachments
        for attachment in attachments if depth < _DEEPEST else ():
            self._attach(entry, attachment.name, attachment.content, budget, depth)

    def _attach(self, mail: Entry, name: str, content: bytes, budget: Budget, depth: int) -> None:
        label = member_name(name)
        sniffed = sniff(content[:HEAD_BYTES], label)
        if sniffed.kind not in _ATTACHED:
            return
        sighting = replace(mail.sighting, inside=_inside(mail, label), zip_sha256=mail.sighting.zip_sha256)
        child = self._of_bytes(
            content, source=f"{mail.source} > {label}", name=label, sniffed=sniffed, sighting=sighting
        )
        child.in_mail = True
        # The guarded reader wants a file; so does the unpacking of a zip.
        child.path, child.owned = self._spill(content), True
        mail.children.append(child)
        self._look_inside(child, budget, depth + 1)

    def _unpack(self, entry: Entry, budget: Budget, depth: int) -> None:
        if depth >= self.limits.depth:
            entry.trouble("there are too many zips inside each other", "unpack it yourself and import the folder")
            entry.open_error = "zip-depth"
            return
        if depth:
            budget.zips_left -= 1
            if budget.zips_left < 0:
                reason = f"its zip holds more than {self.limits.zips} zips"
                entry.trouble(reason, "unpack it yourself and import the folder")
                entry.open_error = "zip-depth"
                return
        if entry.path is None:
            entry.path, entry.owned = self._spill(entry.raw or b""), True
        try:
            with OpenedZip(entry.path, budget) as opened:
                really = inside_zip(opened.names())
                if really:
                    entry.sniffed = really
                    return
                for member in opened.members(self.place):
                    if isinstance(member, Member):
                        entry.children.append(self._member(entry, member, budget, depth))
                        if member.strayed:
                            entry.problems.append(_strayed(entry, member))
                    else:
                        entry.refused.add(member.code)
                        source = f"{entry.source} > {member.name}"
                        entry.problems.append(Problem(source=source, reason=member.reason, next=member.next))
        except UnreadableError as error:
            entry.trouble(error.message, error.next_step)
            entry.open_error = error.code
        except OSError as error:
            if error.errno in DISK_FULL:
                raise self._no_room(error) from error
            entry.trouble(*trouble_words(error))

    def _spill(self, content: bytes) -> Path:
        path = self.place()
        try:
            path.write_bytes(content)
        except OSError as error:
            raise self._no_room(error) from error
        return path

    def _no_room(self, error: OSError) -> StoreError:
        return StoreError(
            f"the vault's folder cannot be written: {error.strerror or error}",
            "make room on the disk, then run the same command again: it goes on where it stopped",
            code="full",
        )

    def _member(self, around: Entry, member: Member, budget: Budget, depth: int) -> Entry:
        with member.path.open("rb") as stream:
            head = stream.read(HEAD_BYTES)
        sniffed = sniff(head, member.name)
        sha256, n_bytes = _digest(member.path)
        child = Entry(
            source=f"{around.source} > {member.name}",
            name=member.name,
            sniffed=sniffed,
            sha256=sha256,
            n_bytes=n_bytes,
            sighting=replace(around.sighting, inside=_inside(around, member.name), zip_sha256=around.sha256),
            path=member.path,
            owned=True,
            in_zip=True,
        )
        if sniffed.kind is FileKind.MAILBOX:
            child.trouble("it is a mailbox inside a zip", "unpack the zip and import the mailbox")
        else:
            self._look_inside(child, budget, depth + 1)
        return child


def _note_other_marks(sha256: str, plain: str, catalogue: Catalogue) -> None:
    """Remembers evidence by its digest without marks too; bytes with that digest are never kept themselves."""
    if catalogue.document_known(sha256) == "read" and catalogue.document_known(plain) is None:
        catalogue.pass_over(plain, "", OTHER_MARKS)


def _handfuls(messages: Iterator[tuple[int, bytes]]) -> Iterator[list[tuple[int, bytes, str]]]:
    """Messages with their digests, some at a time, so that the catalogue is asked once for all of them."""
    some: list[tuple[int, bytes, str]] = []
    n_bytes = 0
    for number, raw in messages:
        some.append((number, raw, hashlib.sha256(raw).hexdigest()))
        n_bytes += len(raw)
        if len(some) >= _HANDFUL or n_bytes >= _HANDFUL_BYTES:
            yield some
            some, n_bytes = [], 0
    if some:
        yield some


def _inside(around: Entry, name: str) -> str:
    """The place inside the file on the disk, through all that lies between."""
    return f"{around.sighting.inside}/{name}" if around.sighting.inside else name


def _strayed(around: Entry, member: Member) -> Problem:
    return Problem(
        source=f"{around.source} > {member.name}",
        reason=f"its name leads out of the zip ({shown(member.strayed or '')}); it was read under a harmless name",
        next="nothing was written elsewhere; delete the zip, if you do not know where it is from",
    )


def _digest(path: Path) -> tuple[str, int]:
    digest, n_bytes = hashlib.sha256(), 0
    with path.open("rb") as stream:
        while chunk := stream.read(_CHUNK):
            digest.update(chunk)
            n_bytes += len(chunk)
    return digest.hexdigest(), n_bytes


def _iso(mtime_ns: int) -> str | None:
    try:
        moment = datetime.fromtimestamp(mtime_ns // 10**9, UTC)
    except (OverflowError, ValueError, OSError):
        return None
    return moment.isoformat().replace("+00:00", "Z")


def _words(error: OSError | UnreadableError) -> tuple[str, str]:
    if isinstance(error, UnreadableError):
        return error.message, error.next_step
    return trouble_words(error)


def _file_trouble(source: str, error: OSError) -> Problem:
    reason, next_step = trouble_words(error)
    return Problem(source=source, reason=reason, next=next_step)


def _has_sibling_design(found: FoundFile) -> bool:
    stem = file_part(found.path.name).lower().removesuffix(ending(found.path.name))
    return any(stem + e in found.beside for e in _DESIGN_ENDINGS)
