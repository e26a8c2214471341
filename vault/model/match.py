"""Linking items to files: the values that go into `vault.matching` and come out of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from vault.model.pattern import PatternFile
from vault.model.purchase import Item, ItemState, Purchase, Seller


@dataclass(frozen=True, kw_only=True)
class MatchItem:
    """An item with what its purchase and its seller add as evidence."""

    item: Item
    purchase: Purchase
    seller: Seller | None = None
    successor: Seller | None = None


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What the person said to a question; holds for ever, until taken back.

    `sha256` None: none of the candidates; `later`: not now.  `rejected`: the candidates that she saw when she said
    none; empty where that is not known, and then the answer holds for every file.
    """

    item_id: str
    sha256: str | None = None
    later: bool = False
    rejected: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Reason:
    """One piece of evidence for or against a link: its stable name, the plain words, and what it weighed."""

    name: str
    words: str
    weight: float


@dataclass(frozen=True, kw_only=True)
class Link:
    """An item and a file that belong together.  `part` says which part of the item the file is (from its content)."""

    item_id: str
    sha256: str
    part: str | None
    score: float  # 0 to 1
    settled: str = "auto"  # "auto" or "user"
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A file that might be the item."""

    sha256: str
    score: float
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Question:
    """An item whose files cannot be told without the person; candidates best first."""

    id: str
    item_id: str
    candidates: tuple[Candidate, ...]


@dataclass(frozen=True, kw_only=True)
class Standing:
    """The state of one item, what it lacks (promised parts with no file) and why, in plain words."""

    item_id: str
    state: ItemState
    lacking: tuple[str, ...] = ()
    why: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class MatchResult:
    """Everything that follows from the items, the files and the answers.  Independent of their order."""

    links: tuple[Link, ...]
    questions: tuple[Question, ...]
    standings: tuple[Standing, ...]


@dataclass(frozen=True, kw_only=True)
class ItemView:
    """An item as it is shown: with its state, its files and its links."""

    item: Item
    standing: Standing
    links: tuple[Link, ...] = ()
    names: tuple[tuple[str, str], ...] = ()  # digest -> a readable file name, for each link


@dataclass(frozen=True, kw_only=True)
class EvidenceView:
    """A piece of evidence as it is shown: `source` as in the JSON contract (path, or path#n)."""

    source: str
    sha256: str
    kind: str
    message_id: str | None = None


@dataclass(frozen=True, kw_only=True)
class PurchaseView:
    """A purchase as it is shown."""

    purchase: Purchase
    items: tuple[ItemView, ...] = ()
    evidence: tuple[EvidenceView, ...] = ()


@dataclass(frozen=True, kw_only=True)
class MissingRow:
    """One line of the missing report.  `urgency` is "now", "soon", "later" or "lost?"; rows come sorted by it.

    `shop` are those sentences of `why` that hold for everything from this seller.
    """

    view: ItemView
    purchase: Purchase
    seller: Seller | None
    deadline: date | None
    downloads_left: int | None
    urgency: str
    why: tuple[str, ...]
    next: str
    shop: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Relation:
    """Another held file and how it stands to this one, in plain words.

    `kind` is one of "same", "redrawn", "version", "sizes", "language", "part"; `newer` says of a version whether the
    other file is the newer one (None: cannot be told).
    """

    kind: str
    sha256: str
    words: str
    newer: bool | None = None


@dataclass(frozen=True, kw_only=True)
class FileView:
    """A file as it is shown; `duplicate_of` is the digest of another file with the same content."""

    file: PatternFile
    item_ids: tuple[str, ...] = ()
    duplicate_of: str | None = None
