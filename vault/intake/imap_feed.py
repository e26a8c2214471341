"""A mail account as a feed: folder by folder, likely mails first found by the server, each fetched once.

What is remembered with the mails, in one transaction: which UIDs were fetched, under which UIDVALIDITY, and, once a
folder is done, up to where it was searched with which words.  So a lost connection, a kill, or tomorrow's run goes on
where the last one stopped.  A connection that breaks is opened again a few times before the feed gives up.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass, replace
from datetime import date

from vault.catalogue import Catalogue
from vault.errors import VaultError
from vault.intake.feed import Fed, FedMail, FedNote, FedProgress
from vault.intake.imap import LARGEST_MAIL, TLS_PORT, Account, MailTrouble, Opened, Server
from vault.intake.imap_names import MailFolder, mail_place
from vault.intake.imap_search import likely, with_attachments, words_version
from vault.model.evidence import Problem
from vault.model.source import MailFolderState, Source

_PAUSES = (1.0, 3.0, 10.0)  # seconds before the connection is tried again; it counts anew with every mail that came
_PASSING = ("lost", "unreachable")
_NEVER_READ = frozenset(["\\junk", "\\drafts"])  # RFC 6154: what was never hers, what she never sent
_ALL, _TRASH = "\\all", "\\trash"
EVERYTHING = "everything"  # stands for the version of the words where all mails are fetched


@dataclass(frozen=True, kw_only=True)
class Closed:
    """An account that could not be opened: a feed of nothing but the reason."""

    source: Source
    error: VaultError

    def mails(self, catalogue: Catalogue) -> Iterator[Fed]:
        """The one problem."""
        del catalogue
        yield Problem(source=self.source.words, reason=self.error.message, next=self.error.next_step)


def server_of(source: Source) -> Server:
    """Where the account of a source is."""
    return Server(
        host=source.place, port=source.port or TLS_PORT, user=source.user or "", certificate=source.certificate
    )


@dataclass
class ImapFeed:
    """The mails of one account.  Open the account before the vault is locked: `begin` tells what is wrong at once."""

    source: Source
    connect: Callable[[], Account]
    day: date
    pause: Callable[[float], None] = time.sleep

    def __post_init__(self) -> None:
        self._account: Account | None = None
        self._done: set[tuple[bytes, int, int]] = set()  # folder, validity, UID: given out in this run
        self._found: dict[
            tuple[bytes, Opened], set[int]
        ] = {}  # what a search found, should the connection break after it
        self._failures = 0

    def begin(self) -> None:
        """Connects and logs in.  Raises MailTrouble."""
        self._account = self._account or self.connect()

    def take(self, account: Account) -> None:
        """Uses an account that is open already."""
        self._account = account

    def end(self) -> None:
        """Says goodbye to the server."""
        account, self._account = self._account, None
        if account is not None:
            account.close()

    def mails(self, catalogue: Catalogue) -> Iterator[Fed]:
        """Every mail that is likely and was not seen.  Trouble comes as a Problem."""
        left: list[MailFolder] | None = None
        while left is None or left:
            try:
                self.begin()
                assert self._account is not None
                if left is None:
                    left = self._chosen(self._account.folders())
                    yield from self._unknown(left)
                while left:
                    yield from self._carefully(self._account, left[0], catalogue)
                    left.pop(0)
            except MailTrouble as error:
                if error.code not in _PASSING or self._failures >= len(_PAUSES):
                    done = f" after {len(self._done)} mails" if self._done else ""
                    yield Problem(source=self.source.words, reason=f"{error.message}{done}", next=error.next_step)
                    return
                self.end()
                yield FedProgress(done=len(self._done), total=None, words=f"{error.message}; trying again")
                self.pause(_PAUSES[self._failures])
                self._failures += 1
        yield FedNote(source=self.source.words, note=self._read)

    def _read(self, catalogue: Catalogue) -> None:
        catalogue.origin_read(self.source.id, self.day)
        catalogue.clear_problem(self.source.words, inside=False)

    def _unknown(self, found: list[MailFolder]) -> Iterator[Problem]:
        for name in self.source.folders:
            if name not in {f.name for f in found}:
                yield Problem(
                    source=self._place(name),
                    reason="there is no folder of that name",
                    next="see its name in your mail program; remove this source and add it anew with --folder NAME",
                )

    def _carefully(self, account: Account, folder: MailFolder, catalogue: Catalogue) -> Iterator[Fed]:
        """A folder; one that the server will not open costs only itself."""
        try:
            yield from self._folder(account, folder, catalogue)
        except MailTrouble as error:
            if error.code != "answer":
                raise
            yield Problem(source=self._place(folder.name), reason=error.message, next=error.next_step)

    def _chosen(self, folders: list[MailFolder]) -> list[MailFolder]:
        """The folders to read: those named, else all that hold her mails; each mail once, where that can be told."""
        if self.source.folders:
            return [f for f in folders if f.name in self.source.folders]
        if any(_ALL in f.flags for f in folders):  # RFC 6154: one folder that shows every mail
            return [f for f in folders if f.flags & {_ALL, _TRASH}]
        return [f for f in folders if not f.flags & _NEVER_READ]

    def _folder(self, account: Account, folder: MailFolder, catalogue: Catalogue) -> Iterator[Fed]:
        opened = account.open_folder(folder)
        state = self._state(catalogue, folder, opened)
        wanted = yield from self._wanted(account, folder, opened, state, catalogue)
        sizes = account.sizes(sorted(wanted)) if wanted else {}
        for uid, size in sorted(sizes.items()):
            if size > LARGEST_MAIL:
                del sizes[uid]
                yield self._too_large(folder, opened, uid, size)
        for done, (uid, raw) in enumerate(account.mails(sizes), 1):
            self._failures = 0
            self._done.add((folder.raw, opened.uid_validity, uid))
            yield FedProgress(done=done, total=len(sizes), words=f"fetching from {folder.name}")
            yield FedMail(source=self._place(folder.name, uid), raw=raw, note=self._saw(folder, opened, uid))
        # Everything below the UID that was next at the beginning is dealt with.
        whole = replace(state, searched_to=max(state.searched_to, opened.uid_next - 1), words=self._words())

        def note(catalogue: Catalogue) -> None:
            catalogue.set_mail_folder(self.source.id, whole)
            catalogue.clear_problem(self._place(folder.name), inside=False)

        yield FedNote(source=self._place(folder.name), note=note)

    def _state(self, catalogue: Catalogue, folder: MailFolder, opened: Opened) -> MailFolderState:
        """How far the folder was read: not at all, where its UIDs mean something else now or the words are others."""
        known = catalogue.mail_folder(self.source.id, folder.name)
        fresh = MailFolderState(folder=folder.name, uid_validity=opened.uid_validity)
        if known is None or known.uid_validity != opened.uid_validity or known.words != self._words():
            return fresh
        return known

    def _words(self) -> str:
        return EVERYTHING if self.source.everything else words_version()

    def _wanted(
        self, account: Account, folder: MailFolder, opened: Opened, state: MailFolderState, catalogue: Catalogue
    ) -> Generator[Fed, None, set[int]]:
        """UIDs of the mails to fetch; tells how far the search is."""
        if not opened.mails or 0 < opened.uid_next <= state.searched_to + 1:
            return set()
        seen = set(catalogue.seen_uids(self.source.id, state.folder, opened.uid_validity))
        seen |= {uid for raw, validity, uid in self._done if (raw, validity) == (folder.raw, opened.uid_validity)}
        found = self._found.get((folder.raw, opened))
        if found is None:
            askings = [None] if self.source.everything else [with_attachments(), *likely(literals=account.literals)]
            found = set()
            words = f"asking {self.source.place} for receipts in {folder.name}"
            yield FedProgress(done=0, total=opened.mails, words=words)
            for left, (attached, *rest) in account.search(opened, askings, state.searched_to):
                some = set().union(*rest)
                found |= some | (
                    attached if self.source.everything else self._carrying(account, attached - some - seen)
                )
                yield FedProgress(done=opened.mails - left, total=opened.mails, words=words)
            self._found[folder.raw, opened] = found
        return found - seen

    def _carrying(self, account: Account, uids: set[int]) -> set[int]:
        return account.carrying_files(sorted(uids)) if uids else set()

    def _saw(self, folder: MailFolder, opened: Opened, uid: int) -> Callable[[Catalogue], None]:
        def note(catalogue: Catalogue) -> None:
            catalogue.see_uids(self.source.id, folder.name, opened.uid_validity, [uid])

        return note

    def _too_large(self, folder: MailFolder, opened: Opened, uid: int, size: int) -> Problem:
        self._done.add((folder.raw, opened.uid_validity, uid))
        return Problem(
            source=self._place(folder.name, uid),
            reason=f"the mail is too large to be fetched ({size >> 20} MB)",
            next="save what is attached to it in your mail program, and import that",
        )

    def _place(self, folder: str = "", uid: int | None = None) -> str:
        return mail_place(self.source.user or "", self.source.place, folder, uid)
