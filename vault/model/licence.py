"""Terms of use as they were seen, the ledger of what was done, and what the terms answer.  No legal advice."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from vault.model.act import Act as Act
from vault.model.act import UseKind as UseKind
from vault.model.pattern import LicenceTerms, Quote


class Ruling(StrEnum):
    """What the words say about an act."""

    YES = "yes"
    NO = "no"
    LIMITED = "limited"
    WITH = "with-licence"
    SILENT = "silent"
    UNCLEAR = "unclear"


class TermsPlace(StrEnum):
    """Where terms were seen."""

    FILE = "file"
    PAGE = "page"
    MAIL = "mail"
    TEXT = "text"


@dataclass(frozen=True, kw_only=True)
class Clause:
    """What one source says about one act, and the words it rests on.

    `limit` pieces, `per` "year", "month" or None (in all); `general` where the answer only follows from words about
    something wider ("for personal use only" for selling).
    """

    act: Act
    ruling: Ruling
    limit: int | None = None
    per: str | None = None
    general: bool = False
    quotes: tuple[Quote, ...] = ()


@dataclass(frozen=True, kw_only=True)
class TermsSeen:
    """The terms of one source: where it is kept, when it was seen, what it says, act by act.

    `granted`: given to this person (a licence she bought, a permission by mail) and outweighing what everybody gets;
    `until` is its last day.
    """

    id: str
    place: TermsPlace
    name: str
    sha256: str | None
    seen_on: date | None
    terms: LicenceTerms
    clauses: tuple[Clause, ...] = ()
    credit: bool | None = None
    granted: bool = False
    until: date | None = None


@dataclass(frozen=True, kw_only=True)
class AddedTerms:
    """Terms that the person recorded herself: the words as text, and the digest of the bytes they were read from."""

    id: str
    item_id: str
    sha256: str
    place: TermsPlace
    name: str
    seen_on: date
    text: str
    granted: bool = False
    until: date | None = None
    language: str | None = None
    terms: LicenceTerms | None = None  # as read when they were added


@dataclass(frozen=True, kw_only=True)
class LicenceUse:
    """One line of the ledger: what was done, how often, on which day, where."""

    id: str
    item_id: str
    kind: UseKind
    count: int
    on: date
    where: str = ""

    def __post_init__(self) -> None:
        if self.count < 1:
            raise ValueError(f"a count is at least 1: {self.count}")


@dataclass(frozen=True, kw_only=True)
class Sourced:
    """A clause with the source it stands in."""

    source: TermsSeen
    clause: Clause


@dataclass(frozen=True, kw_only=True)
class MayAnswer:
    """The answer to "may I?".

    `used` is what the ledger counts in the period that the limit names (all of it where none is named), `left` what
    the limit leaves, `fits` whether `asked` more stay within it (None where that cannot be said).  `rests_on` are the
    clauses that gave the answer, `others` what other sources say differently (seen later, or run out).
    """

    act: Act
    ruling: Ruling
    asked: int | None = None
    limit: int | None = None
    per: str | None = None
    used: int = 0
    left: int | None = None
    fits: bool | None = None
    credit: bool = False
    why: tuple[str, ...] = ()
    rests_on: tuple[Sourced, ...] = ()
    others: tuple[Sourced, ...] = ()
