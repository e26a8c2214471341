"""Where the terms of an item were seen: its files, what lies beside them in their zip, its mails and pages, and what
the person recorded.

The catalogue remembers, `vault.patterns` reads the words, `vault.licences` takes them apart; this module brings them
together, and takes recorded terms in: bytes first, then the row.  Mails are read again each time, so that a better
reader never needs anything to be imported twice.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from pathlib import Path

from vault.catalogue import Catalogue
from vault.errors import UnreadableError, UsageError
from vault.intake.readers import FileJob, Readers, real_readers
from vault.intake.sniff import HEAD_BYTES, FileKind, sniff
from vault.language import detect
from vault.licences.clauses import clauses_of
from vault.model.evidence import EvidenceKind
from vault.model.licence import Act, AddedTerms, Ruling, TermsPlace, TermsSeen
from vault.model.match import FileView, ItemView, PurchaseView
from vault.model.pattern import LicenceTerms, PatternFile, Quote
from vault.model.pdf import PdfReading
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore

_MOST_BYTES = 50_000_000
_MOST_TEXT = 400_000
_PLACES = {EvidenceKind.MAIL: TermsPlace.MAIL, EvidenceKind.PAGE: TermsPlace.PAGE}
_READABLE = {
    FileKind.MAIL: EvidenceKind.MAIL,
    FileKind.OUTLOOK_MAIL: EvidenceKind.MAIL,
    FileKind.PAGE: EvidenceKind.PAGE,
}


_LONE = {Act.SHARE, Act.ALTER, Act.TEACH, Act.PRINT, Act.HIRE}


@lru_cache(maxsize=2048)
def read_terms(text: str, language: str | None = None) -> LicenceTerms | None:
    """What a text says of its use; pages part at form feeds."""
    from vault.patterns.licence import licence_terms
    from vault.patterns.pages_text import pages_of_text

    return licence_terms(pages_of_text(text), language)


def _read_quote(text: str) -> LicenceTerms | None:
    return read_terms(text)


def terms_of(
    catalogue: Catalogue, purchase: PurchaseView, item: ItemView, files: Mapping[str, FileView]
) -> tuple[TermsSeen, ...]:
    """Every source that says something of the use of an item: files, mails and pages of the purchase, recorded ones."""
    found = [
        *(s for sha256 in _digests(item, files) for s in _of_file(catalogue.file(sha256))),
        *(s for e in purchase.evidence for s in _of_document(catalogue, e.sha256, e.source)),
        *(s for added in catalogue.added_terms(item.item.id) for s in _of_added(added)),
    ]
    return tuple(found)


def _digests(item: ItemView, files: Mapping[str, FileView]) -> Iterator[str]:
    """The item's files, and what lies beside them in their zip: licence sheets often do."""
    own = list(dict.fromkeys(link.sha256 for link in item.links))
    yield from own
    seen = set(own)
    zips = {s.zip_sha256 for d in own if d in files for s in files[d].file.sightings if s.zip_sha256}
    for around in sorted(z for z in zips | set(own) if z in files):
        for member in files[around].file.members:
            view = files.get(member)
            # what another item's title stands on speaks for that one
            if member not in seen and view is not None and not view.item_ids:
                seen.add(member)
                yield member


def _of_file(file: PatternFile | None) -> Iterator[TermsSeen]:
    if file is None:
        return
    facts = file.facts
    clauses = clauses_of(facts.licence, facts.text, _read_quote, language=facts.language)
    if facts.licence is None and not clauses:
        return
    sighting = file.sightings[0] if file.sightings else None
    place = (sighting.inside or sighting.path) if sighting else file.sha256[:12]
    changed = [date.fromisoformat(s.modified[:10]) for s in file.sightings if s.modified]
    days = [*changed, *(s.seen_on for s in file.sightings if s.seen_on)]
    yield TermsSeen(
        id=f"file:{file.sha256}",
        place=TermsPlace.FILE,
        name=place.replace("\\", "/").rsplit("/", 1)[-1],
        sha256=file.sha256,
        seen_on=min(days, default=None),
        terms=facts.licence or LicenceTerms(),
        clauses=clauses,
        credit=facts.licence.credit_required if facts.licence else None,
    )


def _of_document(catalogue: Catalogue, sha256: str, source: str) -> Iterator[TermsSeen]:
    reading = catalogue.document(sha256)
    if reading is None or reading.kind in (EvidenceKind.CSV, EvidenceKind.SHEET, EvidenceKind.RECORDED):
        return
    terms = _without_pages(read_terms(reading.text[:_MOST_TEXT], reading.language))
    clauses = clauses_of(terms, reading.text[:_MOST_TEXT], _read_quote, language=reading.language)
    stated = {c.act for c in clauses if not c.general}
    # A lone "yes" is a chance word of an order ("bank transfer"), no licence: those come with limits or a "no".
    if not clauses or (stated <= _LONE and all(c.ruling is Ruling.YES for c in clauses)):
        return
    yield TermsSeen(
        id=f"document:{sha256}",
        place=_PLACES.get(reading.kind, TermsPlace.TEXT),
        name=reading.subject or source.replace("\\", "/").rsplit("/", 1)[-1],
        sha256=sha256,
        seen_on=reading.dated,
        terms=terms or LicenceTerms(),
        clauses=clauses,
        credit=terms.credit_required if terms else None,
    )


def _of_added(added: AddedTerms) -> Iterator[TermsSeen]:
    terms = read_terms(added.text, added.language)
    if terms is not None and "\f" not in added.text:
        terms = _without_pages(terms)
    yield TermsSeen(
        id=f"added:{added.id}",
        place=added.place,
        name=added.name,
        sha256=added.sha256,
        seen_on=added.seen_on,
        terms=terms or LicenceTerms(),
        clauses=clauses_of(terms, added.text, _read_quote, language=added.language),
        credit=terms.credit_required if terms else None,
        granted=added.granted,
        until=added.until,
    )


def _without_pages(terms: LicenceTerms | None) -> LicenceTerms | None:
    """The terms of a text that has no pages."""
    return terms and replace(terms, quotes=tuple(Quote(text=q.text, page=None) for q in terms.quotes))


# ---- recording -----------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class TermsText:
    """The words of recorded terms with the bytes they stand in."""

    content: bytes
    text: str
    place: TermsPlace
    name: str


def typed_terms(text: str) -> TermsText:
    """Terms that were typed or pasted.  Raises UsageError for an empty text."""
    if not text.strip():
        raise UsageError("there are no words to record", "give them with --text, or name a file")
    content = text.encode("utf-8", "replace")
    return TermsText(content=content, text=text[:_MOST_TEXT], place=TermsPlace.TEXT, name="the words you recorded")


def terms_in_file(path: Path, readers: Readers | None = None) -> TermsText:
    """The words of a saved page, mail, PDF or text.

    Raises UnreadableError for a file that cannot be read or has no words.
    """
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise UnreadableError(f"{path} is too large for terms of use", "save the page or text alone")
        content = path.read_bytes()
    except OSError as error:
        raise UnreadableError(f"{path} cannot be read: {error.strerror}", "name a file that you can open") from None
    kind = sniff(content[:HEAD_BYTES], path.name).kind
    text = _words_of(path, content, kind, readers or real_readers())
    if not text.strip():
        raise UnreadableError(
            f"{path} has no words that can be read", "copy the words and record them: pinfold licence add ITEM --text"
        )
    place = {FileKind.PAGE: TermsPlace.PAGE, FileKind.PDF: TermsPlace.FILE}.get(
        kind, TermsPlace.MAIL if kind in _READABLE else TermsPlace.TEXT
    )
    return TermsText(content=content, text=text[:_MOST_TEXT], place=place, name=path.name)


def _words_of(path: Path, content: bytes, kind: FileKind, readers: Readers) -> str:
    if kind is FileKind.PDF:
        job = FileJob(path=path, media_type="application/pdf", name=path.name)
        with readers.files() as read:
            reading = next(iter(read([job])))
        return _pages_of(reading.pdf) if reading.pdf else reading.facts.text
    if kind in _READABLE:
        return readers.document(_READABLE[kind], content, name=path.name).text
    if kind is FileKind.TEXT:
        return readers.document(EvidenceKind.TEXT, content, name=path.name).text
    return ""


def _pages_of(pdf: PdfReading) -> str:
    from vault.patterns.pages_text import pages_of

    return "\f".join(page.text for page in pages_of(pdf))


def record_terms(
    folder: VaultFolder,
    catalogue: Catalogue,
    item_id: str,
    found: TermsText,
    *,
    seen_on: date,
    granted: bool = False,
    until: date | None = None,
) -> AddedTerms:
    """Keeps the bytes, then remembers the terms.  Recording the same words for an item twice changes nothing.

    Needs the vault's lock.  Raises StoreError.
    """
    sha256 = ObjectStore(folder).keep(found.content)
    language = detect(found.text[:4000])
    said = "\0".join([item_id, sha256, seen_on.isoformat(), str(granted)])
    added = AddedTerms(
        id="t" + hashlib.sha256(said.encode()).hexdigest()[:11],
        item_id=item_id,
        sha256=sha256,
        place=found.place,
        name=found.name,
        seen_on=seen_on,
        text=found.text,
        granted=granted,
        until=until,
        language=language,
        terms=read_terms(found.text, language),
    )
    with catalogue.transaction():
        catalogue.add_terms(added)
    return added
