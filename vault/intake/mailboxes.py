"""Mail that lies on this computer, found by its form: the profile folders of mail programs, whatever program it is.

| form | how it is told |
|---|---|
| mailbox files (RFC 4155), mostly without an ending | a From_ line at their beginning; an index `name.msf` beside |
| Maildir | a folder with `cur`, `new` and `tmp` |
| the system's own mailbox | `MAIL`, `/var/mail/USER`, `/var/spool/mail/USER` |

Only names and the first bytes of likely files are looked at.  The search is bounded in depth, number and time, and
says so where it ended early.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from vault.intake.names import ending
from vault.intake.summary import Progress, silent

_DEEPEST = 10
_MOST_FOLDERS = 300_000
_MOST_OPENED = 50_000
_SECONDS = 60.0
_HEAD = 4096
# Folders in which programs keep what they can fetch or build again; mail is never there.
_SKIPPED = frozenset(
    [
        *(".git", ".hg", ".svn", ".cache", "cache", "caches", "node_modules", "__pycache__", "site-packages"),
        *(".venv", "venv", ".tox", ".npm", ".cargo", ".rustup", ".gradle", ".m2", ".trash", "trash", "$recycle.bin"),
        *("gpucache", "code cache", "shadercache", "crashpad", "temp", "tmp"),
    ]
)
_MAILBOX_ENDINGS = ("", ".mbox", ".mbx")
_INDEX = ".msf"
_SUBFOLDERS = ".sbd"  # a folder of mailboxes below the mailbox of the same name


@dataclass(frozen=True, kw_only=True)
class FoundMail:
    """A folder (or one file) with mail in it: how many mailboxes, how many bytes in mailbox files."""

    path: Path
    mailboxes: int
    n_bytes: int


@dataclass(frozen=True, kw_only=True)
class Findings:
    """What was found; `complete` is False where the search ended at one of its bounds."""

    found: tuple[FoundMail, ...]
    complete: bool


@dataclass
class _Search:
    own: Path | None
    progress: Progress
    until: float
    folders: int = 0
    opened: int = 0
    complete: bool = True
    hits: list[tuple[Path, Path, int]] = field(default_factory=list)  # (folder to name, mailbox, bytes)


def find_mail(home: Path, *, own: Path | None = None, progress: Progress = silent) -> Findings:
    """Every folder below `home` that holds mail, and the system's own mailbox.  `own` is the vault: not gone into."""
    search = _Search(own=own, progress=progress, until=time.monotonic() + _SECONDS)
    level = [home]
    for _ in range(_DEEPEST):
        below: list[Path] = []
        for folder in level:
            if search.folders >= _MOST_FOLDERS or time.monotonic() > search.until:
                search.complete = False
                break
            below += _looked_into(folder, search)
        level = below
    for spool in _spools():
        if spool.is_file() and _begins_as_mailbox(spool, search):
            search.hits.append((spool, spool, spool.stat().st_size))
    return Findings(found=_grouped(search.hits), complete=search.complete and not level)


def _spools() -> Iterator[Path]:
    """Where systems deliver mail to the users on them (Filesystem Hierarchy Standard 5.11)."""
    if os.name == "nt":
        return
    import getpass

    named = os.environ.get("MAIL", "")
    user = getpass.getuser()
    yield from dict.fromkeys(Path(p) for p in (named, f"/var/mail/{user}", f"/var/spool/mail/{user}") if p)


def _looked_into(folder: Path, search: _Search) -> list[Path]:
    """Notes what mail lies in `folder`; the folders below that are still to be looked into."""
    search.folders += 1
    search.progress(search.folders, None, f"looking for mail in {folder}")
    try:
        with os.scandir(folder) as scan:
            entries = sorted(scan, key=lambda e: e.name)
        folders = [e for e in entries if e.is_dir(follow_symlinks=False)]
        files = [e for e in entries if e.is_file(follow_symlinks=False)]
    except OSError:
        return []
    names = {e.name.lower() for e in entries}
    if {"cur", "new", "tmp"} <= {e.name for e in folders}:
        search.hits.append((folder, folder, 0))
        folders = [e for e in folders if e.name not in ("cur", "new", "tmp")]
    for entry in files:
        _note_file(entry, folder, names, search)
    return [
        Path(e.path)
        for e in folders
        if e.name.lower() not in _SKIPPED and (search.own is None or Path(e.path) != search.own)
    ]


def _note_file(entry: os.DirEntry[str], folder: Path, names: set[str], search: _Search) -> None:
    if ending(entry.name) not in _MAILBOX_ENDINGS or search.opened >= _MOST_OPENED:
        return
    try:
        n_bytes = entry.stat(follow_symlinks=False).st_size
    except OSError:
        return
    indexed = entry.name.lower() + _INDEX in names
    if n_bytes and (indexed or _begins_as_mailbox(Path(entry.path), search)):
        search.hits.append((_top_of(folder), Path(entry.path), n_bytes))


def _begins_as_mailbox(path: Path, search: _Search) -> bool:
    from vault.receipts.mailbox import is_mbox

    search.opened += 1
    try:
        with path.open("rb") as stream:
            head = stream.read(5)
            return head == b"From " and is_mbox(head + stream.read(_HEAD))
    except OSError:
        return False


def _top_of(folder: Path) -> Path:
    """The folder to name for a mailbox: subfolders of a mailbox belong to where it lies."""
    while folder.suffix == _SUBFOLDERS:
        folder = folder.parent
    return folder


def _grouped(hits: list[tuple[Path, Path, int]]) -> tuple[FoundMail, ...]:
    """One row for each outermost folder."""
    tops = sorted({top for top, _, _ in hits})
    outer = [t for t in tops if not any(o in t.parents for o in tops)]

    def of(outermost: Path) -> FoundMail:
        inside = {(box, n) for top, box, n in hits if top == outermost or outermost in top.parents}
        return FoundMail(path=outermost, mailboxes=len(inside), n_bytes=sum(n for _, n in inside))

    return tuple(map(of, outer))
