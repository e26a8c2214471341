"""Where receipts and files come from, remembered so that they can be read again without being named."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class SourceKind(StrEnum):
    """What a source is: a file or folder on this computer, or a mail account on a server (IMAP4rev1, RFC 3501)."""

    FOLDER = "folder"
    IMAP = "imap"


@dataclass(frozen=True, kw_only=True)
class Source:
    """One source.

    `place` is the path, or the server's name.  Of a mail account also: `port`, `user`, the `folders` to read (empty:
    all that may hold receipts), whether `everything` is fetched instead of what the server finds likely, and the file
    with the server's own `certificate`, if it has one that no authority signed.  A password is never part of it.
    `read_on` is the day of the last reading that came to its end.
    """

    id: int
    kind: SourceKind
    place: str
    port: int | None = None
    user: str | None = None
    folders: tuple[str, ...] = ()
    everything: bool = False
    certificate: str | None = None
    added_on: date | None = None
    read_on: date | None = None

    def __post_init__(self) -> None:
        if not self.place:
            raise ValueError("a source needs a place")
        if (self.kind is SourceKind.IMAP) != bool(self.user):
            raise ValueError("a mail account needs a user, nothing else has one")

    @property
    def words(self) -> str:
        """How the source is called on a screen."""
        return f"imap://{self.user}@{self.place}" if self.kind is SourceKind.IMAP else self.place


@dataclass(frozen=True, kw_only=True)
class MailFolderState:
    """How far one folder of a mail account was read.

    `uid_validity` is the server's word for "these UIDs still mean what they meant" (RFC 3501, 2.3.1.1): with another
    one all is to be read again.  `searched_to` is the highest UID up to which everything likely was fetched, by the
    search words of `words`.
    """

    folder: str
    uid_validity: int
    searched_to: int = 0
    words: str = ""
