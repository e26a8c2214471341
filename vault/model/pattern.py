"""Facts of a pattern file: the values that `vault.patterns` returns and `vault.catalogue` records."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from vault.model.evidence import Problem
from vault.model.pdf import Layer, PdfReading

CRAFTS = ("sewing", "knitting", "crochet", "embroidery", "quilting", "other")
SHEET_USES = ("tiled", "copy-shop", "projector", "instructions", "chart", "other")


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Pages of one paper size and use.  `paper` is a name of the paper table or "custom"; lengths in mm."""

    paper: str
    width_mm: float
    height_mm: float
    pages: int
    use: str = "other"


@dataclass(frozen=True, kw_only=True)
class ScaleCheck:
    """The test square: what its label says, how large it is drawn, mm; `ok` within the larger of 0.5 mm and 0.8 %."""

    stated_mm: float
    drawn_mm: float
    ok: bool
    page: int
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Quote:
    """The file's own words, verbatim, and the page they stand on (from 1; None where there are no pages)."""

    text: str
    page: int | None


@dataclass(frozen=True, kw_only=True)
class LicenceTerms:
    """What the file's own words allow.  Answers: "yes", "no", "limited", "with-licence", "silent", "unclear".

    Not legal advice: `quotes` are what every answer rests on.
    """

    personal_use: bool | None = None
    sell_finished: str = "silent"
    limit: int | None = None
    credit_required: bool | None = None
    teach: str = "silent"
    share_file: str = "silent"
    alter_file: str = "silent"
    quotes: tuple[Quote, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Stamp:
    """The buyer's stamp on the pages."""

    name: str | None = None
    mail: str | None = None
    order_number: str | None = None


@dataclass(frozen=True, kw_only=True)
class PatternFacts:
    """What a file is.  None and empty mean: the file does not say.

    `is_pattern` None: cannot be told.  `unusable` says why the file does not make an item held ("empty", "truncated",
    "error page", "preview", "locked") or is None.  `parts` are the parts the file itself holds, by its content ("A4",
    "A0", "Letter", "projector", "instructions", "chart", ...); `promised` those its words promise.  `headings` are the
    largest lines of its first pages, `text` its plain text (bounded) for search and matching.  `other_titles` are
    titles of other products that the file only mentions (adverts on the last page).
    """

    media_type: str
    is_pattern: bool | None = None
    craft: str | None = None
    title: str | None = None
    designer: str | None = None
    language: str | None = None
    pages: int | None = None
    sheets: tuple[Sheet, ...] = ()
    layers: tuple[Layer, ...] = ()
    sizes: tuple[str, ...] = ()
    scale_check: ScaleCheck | None = None
    seam_allowance_mm: float | None = None
    licence: LicenceTerms | None = None
    stamp: Stamp | None = None
    version: str | None = None
    encrypted: str = "none"
    damaged: bool = False
    unusable: str | None = None
    unread: str | None = None  # why the reader could not look into it: then its name is all that speaks for it
    parts: tuple[str, ...] = ()
    promised: tuple[str, ...] = ()
    product_code: str | None = None
    metadata: dict[str, str] = field(default_factory=dict)
    headings: tuple[str, ...] = ()
    other_titles: tuple[str, ...] = ()
    text: str = ""
    content_fingerprint: str | None = None
    text_sketch: str = ""  # least hashes of the words on their pages, and of the places of large shapes: files whose
    drawn_sketch: str = ""  # sketches are alike show the same, even where another program wrote them anew
    details: dict[str, str] = field(default_factory=dict)  # gauge, needle, yarn, stitches, colours, fabric, notions ...
    why: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class FileReading:
    """What the guarded worker hands back for one file.

    `pdf` is there for PDFs, so that a receipt reader can read the text without a second worker.
    `problem` is set when the reader failed, hung or hit a limit; `facts` then hold what is known without it.
    """

    facts: PatternFacts
    pdf: PdfReading | None = None
    problem: Problem | None = None


@dataclass(frozen=True, kw_only=True)
class Sighting:
    """Where a file was seen: `path` as given, `inside` the member's path inside its zip, where it came from."""

    path: str
    inside: str | None = None
    zip_sha256: str | None = None
    modified: str | None = None  # ISO 8601 date and time, UTC
    origin_url: str | None = None
    referrer_url: str | None = None
    seen_on: date | None = None


@dataclass(frozen=True, kw_only=True)
class PatternFile:
    """A file of the vault: its digest, size, facts and every place it was seen."""

    sha256: str
    n_bytes: int
    facts: PatternFacts
    sightings: tuple[Sighting, ...] = ()
    members: tuple[str, ...] = ()  # digests of the members, for a zip
    kept: bool = True
