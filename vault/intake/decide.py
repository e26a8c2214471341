"""What becomes of an entry: evidence, pattern file, or passed over.  The policy of what is kept stands here.

* Evidence (a document that speaks of a purchase or of a shop, or looks like it and could not be read) is kept.
* A pattern, and whatever might be one (a PDF that cannot be told, locked, cut off), is kept.
* A text of terms of use (what may be done with what is made) is kept, wherever it lies.
* In a zip that holds a pattern everything that goes with it is kept: pictures, licence texts, instructions.
* A PDF that is neither is listed with its kind, so that it can be seen why it is not held; its bytes are not kept.
* Everything else is passed over: its digest and the reason are remembered.  `keep` overrides.

Nothing here reads or writes: an entry holds its readings already.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from vault.intake.entry import Entry, Fate
from vault.intake.names import ending
from vault.intake.sniff import FileKind
from vault.model.evidence import DocumentKind, DocumentReading
from vault.model.pattern import FileReading, PatternFacts

_K = FileKind

# Kinds that the guarded reader is asked about.
DESIGNS = frozenset([_K.PDF, _K.STITCHES, _K.CUTTING])
# Kinds that are kept beside a pattern in its zip.
COMPANIONS = frozenset([_K.PICTURE, _K.TEXT, _K.OFFICE, _K.PAGE, _K.TABLE, _K.SHEET, *DESIGNS])
# Endings by which a name promises a pattern.
_PROMISING = frozenset(
    [".pdf", ".zip", ".svg", ".dxf", ".eps", ".pes", ".dst", ".jef", ".vp3", ".exp", ".hus", ".vip", ".xxx"]
)

# Words that fit behind a number, for what is passed over.
WITHOUT_PURCHASE = "mails without a purchase"
_ABOUT_WORDS = {
    DocumentKind.ADVERT: "adverts",
    DocumentKind.SHIPPING: "shipping notices",
}
_KIND_WORDS = {
    _K.MAIL: WITHOUT_PURCHASE,
    _K.OUTLOOK_MAIL: WITHOUT_PURCHASE,
    _K.MAILBOX: "mailboxes inside zips",
    _K.PAGE: "web pages without a purchase",
    _K.TABLE: "tables without a purchase",
    _K.SHEET: "tables without a purchase",
    _K.TEXT: "texts without a purchase",
    _K.PDF: "PDFs that are neither pattern nor receipt",
    _K.PICTURE: "pictures",
    _K.OFFICE: "office documents",
    _K.ARCHIVE: "archives",
    _K.EMPTY: "empty files",
    _K.ZIP: "zips without a pattern",
}
_OTHER_WORDS = "other files"

# Codes of zips that are not kept although they could not be opened: a bomb, or more than any pattern is.
_NOT_WHAT_IT_SEEMS = frozenset(["zip-overlap", "zip-entries", "zip-depth"])

# Why a file does not make anything held: (sentence, next step).
_UNUSABLE = {
    "empty": ("the file is empty", "download it again"),
    "truncated": ("the end of the file is missing", "download it again"),
    "error page": (
        "it is a web page, not the file that its name promises",
        "open it to see what the shop said, then download the pattern again",
    ),
    "locked": (
        "it is locked with a password",
        "open it with its password, save a copy without one, and import that copy",
    ),
}
_DAMAGED = ("it is damaged", "open it in a viewer to see what is left; if need be, download it again")
_ARCHIVE_WORDS = {"application/vnd.rar": "a RAR archive", "application/x-7z-compressed": "a 7z archive"}


def wants_guard(entry: Entry, *, keep: bool) -> bool:
    """Whether the guarded reader is to look at an entry."""
    if entry.known is not None:
        return False
    kind = entry.sniffed.kind
    if kind in DESIGNS:
        return True
    if entry.in_mail:
        return False
    goes_along = entry.in_zip and kind in COMPANIONS
    return kind is _K.TEXT or goes_along or is_misnamed(entry) or _is_sibling(entry) or keep


def is_misnamed(entry: Entry) -> bool:
    """Whether the name promises a pattern and the bytes are something else."""
    promised = ending(entry.name) in _PROMISING and not entry.in_mail
    return promised and entry.sniffed.kind not in DESIGNS and entry.sniffed.kind is not _K.ZIP


def _is_sibling(entry: Entry) -> bool:
    """A picture beside a design of the same name shows or is that design."""
    return entry.has_sibling_design and entry.sniffed.kind is _K.PICTURE


def is_evidence(reading: DocumentReading | None) -> bool:
    """Whether a document says anything of a purchase or of a shop."""
    return reading is not None and bool(reading.claims or reading.notices or reading.problems)


def decide(entry: Entry, *, keep: bool) -> None:
    """Settles the fate of an entry and of all inside it, and words its problems."""
    for child in entry.children:
        decide(child, keep=keep)
    if entry.known is not None:
        entry.fate = Fate.KNOWN
        return
    if entry.failed:
        entry.fate = Fate.NOTHING
        return
    if is_evidence(entry.document) and not (_is_pattern(entry.file) and entry.sniffed.kind is _K.PDF):
        entry.fate = Fate.EVIDENCE
        return
    entry.fate = _FATES.get(entry.sniffed.kind, _other)(entry)
    if entry.fate in (Fate.PASSED, Fate.LISTED) and keep:
        entry.fate = Fate.EVIDENCE if entry.document is not None else Fate.FILE
    if entry.fate in (Fate.PASSED, Fate.LISTED) and entry.stays:
        entry.fate = Fate.FILE if entry.stays == "file" or entry.document is None else Fate.EVIDENCE
    if entry.fate is Fate.PASSED:
        if entry.in_mail and entry.sniffed.kind is not _K.PDF:
            entry.fate = Fate.NOTHING
        entry.reason = entry.reason or _reason(entry)
    if entry.fate in (Fate.FILE, Fate.LISTED):
        _word_file_problems(entry)


def _reason(entry: Entry) -> str:
    about = _ABOUT_WORDS.get(entry.document.document) if entry.document else None
    return about or _KIND_WORDS.get(entry.sniffed.kind, _OTHER_WORDS)


def _is_pattern(file: FileReading | None) -> bool:
    return file is not None and file.facts.is_pattern is True


def _design(entry: Entry) -> Fate:
    """A PDF, stitch or cutting file: kept unless it is surely no pattern."""
    if entry.file is None:
        return Fate.FILE  # not read, so it might be one
    if entry.file.facts.is_pattern is not False or entry.file.facts.unusable is not None:
        return Fate.FILE
    return Fate.PASSED if entry.in_mail else Fate.LISTED


def _text(entry: Entry) -> Fate:
    """Plain text is kept where its words are a pattern or might be one, or terms of use; most are something else."""
    file = entry.file
    if file is not None and (_is_pattern(file) or (file.facts.is_pattern is None and file.facts.licence is not None)):
        return Fate.FILE
    return _other(entry)


def _other(entry: Entry) -> Fate:
    if is_misnamed(entry) or (_is_sibling(entry) and not entry.in_zip):
        return Fate.FILE
    words = _ARCHIVE_WORDS.get(entry.sniffed.media_type)
    if words and not entry.in_mail:
        entry.trouble(f"it is {words}, which is not opened here", "unpack it and import the folder")
    return Fate.PASSED


def _zip(entry: Entry) -> Fate:
    """A zip is kept with a pattern in it, or where it might hold one that cannot be got at."""
    inside = [c for c in entry.children if _may_be_pattern(c)]
    for child in entry.children if inside else ():
        _take_along(child)
    if inside:
        return Fate.FILE
    if entry.open_error in _NOT_WHAT_IT_SEEMS or entry.refused & {"ratio", "full"}:
        return Fate.LISTED
    if entry.open_error or entry.refused:
        return Fate.FILE
    if any(c.fate is Fate.EVIDENCE or c.known == "document" for c in entry.children):
        entry.reason = "zips that hold receipts only"
    return Fate.PASSED


def _may_be_pattern(entry: Entry) -> bool:
    """Whether a member is a reason to keep the zip around it."""
    if entry.fate is Fate.FILE:
        return True
    return entry.fate is Fate.KNOWN and entry.known == "file" and entry.known_pattern


def _take_along(entry: Entry) -> None:
    """Keeps what goes with a pattern in its zip."""
    if entry.fate in (Fate.PASSED, Fate.LISTED) and entry.sniffed.kind in COMPANIONS:
        entry.fate = Fate.FILE
        _word_file_problems(entry)


_FATES: dict[FileKind, Callable[[Entry], Fate]] = {
    _K.PDF: _design,
    _K.STITCHES: _design,
    _K.CUTTING: _design,
    _K.TEXT: _text,
    _K.ZIP: _zip,
}


def facts_of(entry: Entry) -> PatternFacts:
    """The facts to record for a file: those read, completed by what the import itself knows."""
    facts = entry.file.facts if entry.file else PatternFacts(media_type=entry.sniffed.media_type)
    if entry.fate is Fate.LISTED or entry.fate is Fate.EVIDENCE:
        return bare(facts)
    if entry.sniffed.kind is _K.ZIP:
        damaged = entry.open_error == "zip-damaged"
        locked = entry.refused == {"locked"} and not entry.children
        unusable = "truncated" if damaged else "locked" if locked else None
        return replace(facts, damaged=damaged, unusable=unusable, encrypted="user" if locked else "none")
    if is_misnamed(entry) and facts.unusable is None:
        unusable = {_K.EMPTY: "empty", _K.PAGE: "error page"}.get(entry.sniffed.kind)
        return replace(facts, unusable=unusable, damaged=facts.damaged or unusable is not None)
    problem = entry.file.problem if entry.file else None
    if problem is not None and facts.unusable is None and not facts.text:
        return replace(facts, unread=problem.reason)
    return facts


def bare(facts: PatternFacts) -> PatternFacts:
    """What is remembered of a file that is no pattern: what it is as a thing, nothing of what it says."""
    return PatternFacts(
        media_type=facts.media_type,
        is_pattern=False,
        language=facts.language,
        pages=facts.pages,
        sheets=facts.sheets,
        encrypted=facts.encrypted,
        damaged=facts.damaged,
        why=facts.why,
    )


def _word_file_problems(entry: Entry) -> None:
    """A file that is no use as it is becomes a problem with a next step."""
    if entry.file is not None and entry.file.problem is not None:
        entry.trouble(entry.file.problem.reason, entry.file.problem.next)
        return
    if entry.sniffed.kind is _K.ZIP:
        return  # its problems were worded when it was opened
    facts = facts_of(entry)
    words = _UNUSABLE.get(facts.unusable or "") or (_DAMAGED if facts.damaged else None)
    if words:
        entry.trouble(*words)
    elif is_misnamed(entry):
        what = f"{_article(entry)}, not the {ending(entry.name)[1:].upper()} that its name promises"
        entry.trouble(f"it is {what}", "open it to see what it is, or download it again")


def _article(entry: Entry) -> str:
    words = {_K.PICTURE: "a picture", _K.TEXT: "plain text", _K.PAGE: "a web page", _K.TABLE: "a table"}
    return words.get(entry.sniffed.kind, f"something else ({entry.sniffed.media_type})")
