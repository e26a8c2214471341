"""What a worker runs for one file: bytes in, a FileReading out.

The kind of file is told by its first bytes, not by its name; READERS lists the kinds in the order they are tried.  A
PDF is read once into plain values (`pdf`); what it says is left to the rules over these values (`rules`, `sheets`,
`scale`, `fingerprint`), and this module only puts their answers together.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from vault.model.evidence import Problem
from vault.model.pattern import FileReading, PatternFacts, Sheet
from vault.model.pdf import PdfReading
from vault.patterns.limits import DEFAULT_LIMITS, LIGHT_LIMITS, ReadLimits

if TYPE_CHECKING:
    from vault.patterns.rules import RuleFacts

LARGEST_FILE = 512 << 20  # bytes read into memory; the guard's ceiling leaves room for little more
LARGEST_TEXT = 400_000  # characters kept for search and matching
_PDF_MARK = b"%PDF-"
_FIELDS = {f.name for f in fields(PatternFacts)}


@dataclass(frozen=True, kw_only=True)
class Source:
    """The bytes of one file with what is known of it from outside."""

    data: bytes
    media_type: str
    name: str
    limits: ReadLimits

    @property
    def called_pdf(self) -> bool:
        return self.media_type == "application/pdf" or self.name.casefold().endswith(".pdf")


def read_file(
    path: Path, *, media_type: str, name: str, seconds: float = DEFAULT_LIMITS.seconds, light: bool = False
) -> FileReading:
    """Everything the file says.

    `media_type` is what its bytes are as far as is known, `name` the name it had in the world, `seconds` the time
    after which only page sizes are still read; `light` reads no page's content at all.  Raises OSError where the file
    cannot be opened; what is in the file raises nothing that the guard does not turn into a problem.
    """
    name = name.encode("utf-8", "replace").decode("utf-8")
    size = path.stat().st_size
    if size > LARGEST_FILE:
        problem = Problem(
            source=name,
            reason=f"it is larger than {LARGEST_FILE >> 20} MB and was not read",
            next="the file itself is kept; open it in a viewer to see what it is",
        )
        return FileReading(facts=PatternFacts(media_type=media_type, why=(problem.reason,)), problem=problem)
    limits = LIGHT_LIMITS if light else replace(DEFAULT_LIMITS, seconds=seconds)
    source = Source(data=path.read_bytes(), media_type=media_type, name=name, limits=limits)
    for reader in READERS:
        reading = reader(source)
        if reading is not None:
            return reading
    return FileReading(facts=PatternFacts(media_type=media_type))


def _empty(source: Source) -> FileReading | None:
    if source.data:
        return None
    return FileReading(
        facts=PatternFacts(
            media_type=source.media_type,
            damaged=True,
            unusable="empty",
            why=("the file is empty",),
        )
    )


def _pdf(source: Source) -> FileReading | None:
    from vault.patterns.pdf import read_pdf

    if _PDF_MARK not in source.data[:1024] and not (source.called_pdf and _PDF_MARK in source.data[: 64 << 10]):
        return None
    reading = read_pdf(source.data, limits=source.limits)
    facts, problem = pdf_facts(reading, name=source.name)
    if facts.damaged:
        problem = Problem(
            source=source.name, reason=f"damaged: {reading.damaged}", next="download it again, if its link still works"
        )
    elif reading.encrypted == "user":
        problem = Problem(
            source=source.name,
            reason="a password is needed to open it",
            next="open it with its password, save it without one, and import that",
        )
    return FileReading(facts=facts, pdf=reading, problem=problem)


def _ruled(rules: Callable[[], RuleFacts], name: str) -> tuple[RuleFacts, Problem | None]:
    """What the rules over the words say.  Should they fail, what was measured still stands, with the failure told."""
    try:
        return rules(), None
    except Exception as error:  # noqa: BLE001 - words of any file come here; a rule's mistake must cost only its answers
        from vault.patterns.rules import RuleFacts

        reason = f"its words could not be interpreted ({type(error).__name__}: {str(error)[:200]})"
        next_step = "this is a mistake in the program: please report it; the file itself is kept"
        return RuleFacts(why=(reason,)), Problem(source=name, reason=reason, next=next_step)


def pdf_facts(reading: PdfReading, *, name: str) -> tuple[PatternFacts, Problem | None]:
    """The facts of a PDF by the rules over its reading, and the problem that came up."""
    from vault.patterns.fingerprint import drawn_sketch, fingerprint, text_sketch
    from vault.patterns.rules import RuleFacts, facts_from
    from vault.patterns.scale import scale_check
    from vault.patterns.sheets import grouped, uses_of
    from vault.patterns.tiles import missing_tiles, said

    rules, problem = RuleFacts(), None
    if reading.pages:
        rules, problem = _ruled(lambda: facts_from(reading, name=name), name)
    uses = uses_of(reading, name=name, craft=rules.craft, is_pattern=rules.is_pattern)
    sheets = grouped(reading, uses)
    check, reasons = scale_check(reading, craft=rules.craft) if rules.is_pattern is not False else (None, ())
    why = [*rules.why, *reasons, *reading.notes]
    details = dict(rules.details)
    if gone := missing_tiles(reading.pages, uses):
        why.append(said(gone))
        details["missing_tiles"] = ", ".join(str(number) for number in gone)
    if reading.active_content:
        why.append(f"holds {', '.join(reading.active_content)}, which is never run")
    if reading.attachments:
        why.append(f"holds embedded files: {', '.join(reading.attachments[:5])}")
    facts = PatternFacts(
        media_type="application/pdf",
        pages=reading.n_pages or None,
        sheets=sheets,
        layers=reading.layers,
        scale_check=check,
        encrypted=reading.encrypted,
        damaged=reading.damaged is not None,
        unusable=_unusable(reading) or ("preview" if rules.preview else None),
        metadata=reading.metadata,
        content_fingerprint=fingerprint(reading, rules.stamp),
        text_sketch=text_sketch(reading, rules.stamp),
        drawn_sketch=drawn_sketch(reading),
        why=tuple(dict.fromkeys(why)),
        **{**_said(rules), "parts": rules.parts or parts_of(sheets), "details": details},
    )
    return facts, problem


def _said(rules: RuleFacts) -> dict[str, Any]:
    """The answers of the rules that are facts under the same name; reasons are put together by the caller."""
    return {f.name: getattr(rules, f.name) for f in fields(rules) if f.name in _FIELDS and f.name != "why"}


def _unusable(reading: PdfReading) -> str | None:
    if reading.encrypted == "user":
        return "locked"
    if reading.damaged is None:
        return None
    if reading.damaged == "empty" or "error page" in reading.damaged:
        return "empty" if reading.damaged == "empty" else "error page"
    return "truncated" if reading.truncated else "damaged"


def parts_of(sheets: tuple[Sheet, ...]) -> tuple[str, ...]:
    """The parts a file holds by its sheets: papers of tiles and copy-shop sheets, and the other uses by name."""
    parts: dict[str, None] = {}
    for sheet in sheets:
        if sheet.use in ("tiled", "copy-shop"):
            parts.setdefault(sheet.paper if sheet.paper != "custom" else sheet.use)
        elif sheet.use in ("projector", "instructions", "chart"):
            parts.setdefault(sheet.use)
    return tuple(parts)


def _error_page(source: Source) -> FileReading | None:
    """Something that calls itself a PDF and is none."""
    from vault.patterns.damage import looks_like_error_page, unopened_reason

    if not source.called_pdf:
        return None
    page = looks_like_error_page(source.data[:1024])
    if not page and (source.media_type != "application/pdf" or _drawn_or_sewn(source)):
        return None
    reason = unopened_reason(source.data)
    facts = PatternFacts(
        media_type=source.media_type,
        is_pattern=False if page else None,
        damaged=True,
        unusable="error page" if page else "damaged",
        why=(f"named as a PDF, but {reason}",),
    )
    problem = Problem(source=source.name, reason=reason, next="download it again, if its link still works")
    return FileReading(facts=facts, problem=problem)


def _drawn_or_sewn(source: Source) -> bool:
    return _picture(source) is not None or _stitches(source) is not None


def _picture(source: Source) -> FileReading | None:
    from vault.patterns.pictures import read_picture

    picture = read_picture(source.data)
    if picture is None:
        return None
    details = {"pixels": f"{picture.width} x {picture.height}"} if picture.width else {}
    why = ("named as a PDF, but a picture",) if source.called_pdf else ()
    facts = PatternFacts(
        media_type=picture.media_type,
        damaged=not picture.whole,
        unusable=None if picture.whole else "truncated",
        details=details,
        why=why,
    )
    return FileReading(facts=facts)


def _stitches(source: Source) -> FileReading | None:
    from vault.patterns.stitch import read_stitch, stitch_format

    if stitch_format(source.data[:128], source.name) is None:
        return None
    design = read_stitch(source.data, source.name)
    if design is None:
        return None
    details = {
        "format": design.format.upper(),
        "width_mm": f"{design.width_mm:g}",
        "height_mm": f"{design.height_mm:g}",
        "stitches": str(design.stitches),
        "colours": str(design.colours),
    }
    return FileReading(
        facts=PatternFacts(
            media_type=source.media_type,
            is_pattern=True,
            craft="embroidery",
            parts=(design.format.upper(),),
            headings=(design.name,) if design.name else (),
            details=details,
            why=(f"a stitch file: {design.stitches} stitches, {design.width_mm:g} x {design.height_mm:g} mm",),
        )
    )


_DRAWINGS = {"image/svg+xml": "SVG", "image/vnd.dxf": "DXF", "application/postscript": "EPS"}


def _drawing(source: Source) -> FileReading | None:
    from vault.patterns.cutting import looks_like_plan, read_drawing
    from vault.patterns.paper import paper_name
    from vault.patterns.rules import RuleFacts, facts_from_text

    found = read_drawing(source.data)
    if found is None:
        return None
    media_type, drawing = found
    # A description strings its sentences together; the rules read lines.
    words = (drawing.text or drawing.title or "").replace(". ", "\n")
    rules, problem = RuleFacts(), None
    if words:
        rules, problem = _ruled(lambda: facts_from_text(words, name=source.name), source.name)
    pattern = rules.is_pattern or (True if drawing.width_mm and not looks_like_plan(drawing) else None)
    sheets: tuple[Sheet, ...] = ()
    if drawing.width_mm and drawing.height_mm:
        paper = paper_name(drawing.width_mm, drawing.height_mm)
        sheets = (Sheet(paper=paper, width_mm=drawing.width_mm, height_mm=drawing.height_mm, pages=1),)
    facts = PatternFacts(
        media_type=media_type,
        is_pattern=pattern,
        craft=rules.craft or ("other" if pattern else None),
        title=drawing.title or rules.title,
        designer=rules.designer,
        language=rules.language,
        pages=1,
        sheets=sheets,
        sizes=rules.sizes,
        licence=rules.licence,
        version=rules.version,
        text=words[:LARGEST_TEXT],
        parts=(_DRAWINGS[media_type],),
        damaged=not drawing.whole,
        unusable=None if drawing.whole else "truncated",
        headings=(drawing.title,) if drawing.title else (),
        why=(*rules.why, drawing.why),
    )
    return FileReading(facts=facts, problem=problem)


def _text(source: Source) -> FileReading | None:
    from vault.patterns.fingerprint import text_fingerprint
    from vault.patterns.rules import facts_from_text
    from vault.patterns.text import decoded

    text = decoded(source.data, source.media_type)
    if text is None:
        return None
    rules, problem = _ruled(lambda: facts_from_text(text, name=source.name), source.name)
    facts = PatternFacts(
        media_type=source.media_type if source.media_type.startswith("text/") else "text/plain",
        content_fingerprint=text_fingerprint(text, rules.stamp),
        unusable="preview" if rules.preview else None,
        why=rules.why,
        **_said(rules),
    )
    return FileReading(facts=facts, problem=problem)


READERS: tuple[Callable[[Source], FileReading | None], ...] = (
    _empty,
    _pdf,
    _error_page,
    _picture,
    _stitches,
    _drawing,
    _text,
)
