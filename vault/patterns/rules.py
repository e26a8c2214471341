"""What the words of a file say, put together: one call per subject, each with its reasons.

The rules see pages of lines (`pages_text`); for a PDF they see its reading too.  Whether the file is a pattern is asked
first, because a bill has a title and a copyright as well: of another document only its title and language are said.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from vault.language import detect
from vault.model.pattern import LicenceTerms, Stamp
from vault.model.pdf import PdfReading
from vault.patterns.edition import product_code_of, version_of
from vault.patterns.identity import headings_of, other_titles, title_of
from vault.patterns.kindof import Kind, distinct_text, kind_of
from vault.patterns.licence import licence_terms
from vault.patterns.maker import designer_of
from vault.patterns.pages_text import PageText, pages_of, pages_of_text
from vault.patterns.parts import preview_of, promised_parts
from vault.patterns.seam import seam_allowance_mm
from vault.patterns.sizes import sizes_of
from vault.patterns.stamp import stamp_of
from vault.patterns.yarn import yarn_details

LARGEST_TEXT = 400_000  # characters kept for search and matching
_LICENCE_SHEET = 3000  # characters
_PROGRAM_RE = re.compile(r"(?i)\b(?:software|source code|binar(?:y|ies)|warrant(?:y|ies)|copyright holders?)\b")


@dataclass(frozen=True, kw_only=True)
class RuleFacts:
    """The answers by the names of `vault.model.pattern.PatternFacts`; `preview` is the reason why it is only one."""

    is_pattern: bool | None = None
    craft: str | None = None
    title: str | None = None
    designer: str | None = None
    language: str | None = None
    sizes: tuple[str, ...] = ()
    seam_allowance_mm: float | None = None
    licence: LicenceTerms | None = None
    stamp: Stamp | None = None
    version: str | None = None
    parts: tuple[str, ...] = ()
    promised: tuple[str, ...] = ()
    product_code: str | None = None
    headings: tuple[str, ...] = ()
    other_titles: tuple[str, ...] = ()
    preview: str | None = None
    details: dict[str, str] = field(default_factory=dict)
    text: str = ""
    why: tuple[str, ...] = ()


def facts_from(reading: PdfReading, *, name: str) -> RuleFacts:
    """What a PDF says; `name` is the name it had in the world."""
    return _facts(pages_of(reading), reading=reading, name=name)


def facts_from_text(text: str, *, name: str) -> RuleFacts:
    """What a plain text says."""
    return _facts(pages_of_text(text[: 4 * LARGEST_TEXT]), reading=None, name=name)


def _facts(pages: Sequence[PageText], *, reading: PdfReading | None, name: str) -> RuleFacts:
    text = distinct_text(pages)
    language = detect(text)
    kind = kind_of(pages, language=language, reading=reading, name=name)
    metadata = reading.metadata if reading else {}
    short = kind.by_silence and len(text) < _LICENCE_SHEET
    licence = licence_terms(pages, language) if kind.is_pattern is not False or short else None
    if kind.is_pattern is not True and licence is not None and _is_licence_sheet(text, licence):
        kind = Kind(is_pattern=None, craft=None, why=("a licence sheet: its words are terms of use",))
    if kind.is_pattern is False:
        return _other_document(pages, metadata, kind, language=language, name=name, text=text)
    stamp = stamp_of(pages, None)
    buyer = tuple(said for said in (stamp.name, stamp.mail) if said) if stamp else ()
    designer, title, why = _identity(pages, metadata, name=name, buyer=buyer)
    if stamp is not None and designer is not None:
        stamp = stamp_of(pages, designer)
    # knitting and crochet have seams, but nothing is allowed for them
    seam, seam_why = seam_allowance_mm(pages, language) if kind.craft not in ("knitting", "crochet") else (None, "")
    version, version_line = version_of(pages)
    preview = preview_of(pages, name=name, language=language)
    reasons = [*kind.why, *why]
    if seam_why:
        reasons.append(f"seam allowance by “{seam_why}”")
    if version:
        reasons.append(f"version by “{version_line}”")
    if preview:
        reasons.append(preview)
    return RuleFacts(
        is_pattern=kind.is_pattern,
        craft=kind.craft,
        title=title,
        designer=designer,
        language=language,
        sizes=sizes_of(pages, reading.layers if reading else (), kind.craft, name),
        seam_allowance_mm=seam,
        licence=licence,
        stamp=stamp,
        version=version,
        parts=("instructions",) if reading is None and kind.is_pattern else (),
        promised=promised_parts(pages, language),
        product_code=product_code_of(pages),
        headings=headings_of(pages),
        other_titles=other_titles(pages),
        preview=preview,
        details=yarn_details(pages, kind.craft),
        text=text[:LARGEST_TEXT],
        why=tuple(reasons),
    )


def _is_licence_sheet(text: str, licence: LicenceTerms) -> bool:
    """Whether short words of use say what may be done with what is made; the licence of a program does not."""
    answers = licence.personal_use is True or licence.sell_finished != "silent"
    return answers and len(text) < _LICENCE_SHEET and _PROGRAM_RE.search(text) is None


def _identity(
    pages: Sequence[PageText], metadata: dict[str, str], *, name: str, buyer: tuple[str, ...]
) -> tuple[str | None, str | None, tuple[str, ...]]:
    """Designer and title, each found with the help of the other, and what speaks for the title."""
    designer = designer_of(pages, metadata, not_these=buyer, name=name)
    title = title_of(pages, metadata, designer=designer, name=name, not_these=buyer)
    if designer is None and title is not None:
        designer = designer_of(pages, metadata, not_these=buyer, titles=(title.text,), name=name)
    if title is None:
        return designer, None, ()
    return designer, title.text, (f"title {', '.join(title.why)}",)


def _other_document(
    pages: Sequence[PageText], metadata: dict[str, str], kind: Kind, *, language: str | None, name: str, text: str
) -> RuleFacts:
    """A document that is no pattern: no more than finds it again."""
    title = title_of(pages, metadata, designer=None, name=name)
    return RuleFacts(
        is_pattern=False,
        title=title.text if title else None,
        language=language,
        headings=headings_of(pages),
        text=text[:LARGEST_TEXT],
        why=kind.why,
    )
