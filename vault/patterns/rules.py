"""What the words of a file say, put together: one call per subject, each with its reasons.

The rules see pages of lines (`pages_text`); for a PDF they see its reading too.  Whether the file is a pattern is asked
first, because a bill has a title and a licence as well, and then those of a pattern would be wrong.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from vault.language import detect
from vault.model.pattern import LicenceTerms, Stamp
from vault.model.pdf import PdfReading
from vault.patterns.kindof import distinct_text, kind_of
from vault.patterns.pages_text import PageText, pages_of, pages_of_text

LARGEST_TEXT = 400_000  # characters kept for search and matching


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
    return RuleFacts(
        is_pattern=kind.is_pattern, craft=kind.craft, language=language, text=text[:LARGEST_TEXT], why=kind.why,
    )
