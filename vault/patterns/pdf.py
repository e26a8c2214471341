"""A PDF as plain values: one pass over its pages with pdfium, one over its structure with pypdf.

Text is read on every page within the limits, drawn geometry only on pages whose words make a test square likely.
Every bound that is reached leaves a note; what one reader cannot open the other may.  Nothing in the file is run,
no link is followed.
"""

from __future__ import annotations

import re
import time
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from vault.model.pdf import DrawnBox, PageReading, PdfReading, TextRun
from vault.patterns.damage import is_cut_off, unopened_reason
from vault.patterns.limits import DEFAULT_LIMITS, ReadLimits
from vault.patterns.pdf_drawing import DrawingReader
from vault.patterns.pdf_page import Matrix, PageFrame
from vault.patterns.pdf_paths import PathReader
from vault.patterns.pdf_structure import METADATA_KEYS, Structure, page_tree_trouble, read_structure, says_more, tidy
from vault.patterns.pdf_text import TextReader, joined
from vault.patterns.pdfium import (
    ERROR_PASSWORD,
    ERROR_SECURITY,
    IMAGE,
    PATH,
    TEXT,
    PdfiumError,
    library,
    narrow,
    objects_of,
    opened,
    page_of,
    text_of,
    utf16,
)
from vault.patterns.sheet_words import names_square

# A length with its unit: what the label of a test square holds in every language.
LENGTH_RE = re.compile(
    r"[\d¼½¾⅛⅜⅝⅞] ?-?(?:cm|mm|in\b|inch|zoll|pouce|duim|pulg|pollic|tum\b|tomme|cal|tuuma|sentti|[cz]ent"
    r"|センチ|㎝|㎜|ｃｍ|インチ|[\"″”“'])",
    re.IGNORECASE,
)


def read_pdf(data: bytes, *, limits: ReadLimits = DEFAULT_LIMITS) -> PdfReading:
    """The reading of the bytes of a PDF.  Never raises for what the bytes hold: trouble stands in `damaged`."""
    try:
        with opened(data) as document:
            return _read(data, document, limits)
    except PdfiumError as error:
        if error.code in (ERROR_PASSWORD, ERROR_SECURITY):
            return PdfReading(n_pages=0, encrypted="user", notes=("a password is needed to open it",))
        return PdfReading(n_pages=0, damaged=unopened_reason(data), truncated=is_cut_off(data))


def _read(data: bytes, document: Any, limits: ReadLimits) -> PdfReading:
    raw = library()
    structure = read_structure(data) if says_more(data) else Structure(metadata=_metadata(document))
    notes = list(structure.notes)
    n_pages = max(int(raw.FPDF_GetPageCount(document)), 0)
    pages, unread = _pages(document, n_pages, structure, limits, notes)
    cut = is_cut_off(data)
    damaged = None
    if cut:
        damaged = "the end of the file is missing"
    elif n_pages == 0:
        damaged = "it has no pages"
    elif unread == len(pages):
        damaged = "none of its pages can be read"
    elif all(_blank(page) for page in pages):
        damaged = page_tree_trouble(data)
        notes.append("its pages show nothing")
    elif unread:
        damaged = f"{unread} of its {n_pages} pages cannot be read"
    return PdfReading(
        n_pages=n_pages,
        pages=pages,
        layers=structure.layers,
        metadata=structure.metadata,
        encrypted="owner" if raw.FPDF_GetSecurityHandlerRevision(document) != -1 else "none",
        damaged=damaged,
        truncated=cut,
        attachments=_attachments(document),
        active_content=structure.active_content,
        notes=tuple(dict.fromkeys(notes)),
    )


class Measuring:
    """What is left of the file's bounds for drawings, and on which pages they are measured."""

    def __init__(self, limits: ReadLimits) -> None:
        self.segments = limits.segments
        self.paths = limits.paths
        self._named = self._plain = limits.geometry_pages

    def wanted(self, runs: Sequence[TextRun]) -> bool:
        """Whether a test square may be among the drawings of a page with these words."""
        if self._named > 0 and any(names_square(run.text) for run in runs):
            self._named -= 1
            return True
        if self._plain > 0 and any(LENGTH_RE.search(run.text) for run in runs):
            self._plain -= 1
            return True
        return False


def _blank(page: PageReading) -> bool:
    return page.text_read and not page.runs and not page.n_paths and not page.n_images


def _pages(
    document: Any, n_pages: int, structure: Structure, limits: ReadLimits, notes: list[str]
) -> tuple[tuple[PageReading, ...], int]:
    """The pages in order and how many of them could not be loaded."""
    started = time.monotonic()
    fonts: dict[int, bool] = {}
    pages: list[PageReading] = []
    unread = chars = 0
    measuring = Measuring(limits)
    units = structure.user_units if len(structure.user_units) == n_pages else ()
    labels = _has_labels(document)
    listed = min(n_pages, limits.listed_pages)
    if listed < n_pages:
        notes.append(f"only the first {listed} of its {n_pages} pages were looked at")
    for index in range(listed):
        unit = units[index] if units else (structure.user_units[0] if len(set(structure.user_units)) == 1 else 1.0)
        label = _label(document, index) if labels else None
        enough = index >= limits.text_pages or chars > limits.chars or time.monotonic() - started > limits.seconds
        if enough:
            notes.append("the text of its later pages was not read")
            pages.append(_listed(document, index, unit, label))
            continue
        with page_of(document, index) as page:
            if page is None:
                unread += 1
                pages.append(_listed(document, index, unit, label))
                continue
            reading = _page(document, page, index, unit, label, fonts, limits, measuring)
        chars += sum(len(run.text) for run in reading.runs)
        pages.append(reading)
    return tuple(pages), unread


def _listed(document: Any, index: int, unit: float, label: str | None) -> PageReading:
    """A page of which only the size is told."""
    raw = library()
    size = raw.FS_SIZEF()
    raw.FPDF_GetPageSizeByIndexF(document, index, size)
    scale = 25.4 / 72 * unit
    return PageReading(
        number=index + 1,
        label=label,
        width_mm=round(size.width * scale, 2),
        height_mm=round(size.height * scale, 2),
        user_unit=unit,
        text_read=False,
    )


def frame_of(page: Any, unit: float) -> PageFrame:
    """The visible box of a loaded page (CropBox within MediaBox, both inheritable) and its rotation."""
    raw = library()
    box = raw.FS_RECTF()
    raw.FPDF_GetPageBoundingBox(page, box)
    return PageFrame(
        left=min(box.left, box.right),
        bottom=min(box.bottom, box.top),
        right=max(box.left, box.right),
        top=max(box.bottom, box.top),
        rotate=raw.FPDFPage_GetRotation(page) % 4 * 90,
        user_unit=unit,
    )


def _page(
    document: Any,
    page: Any,
    index: int,
    unit: float,
    label: str | None,
    fonts: dict[int, bool],
    limits: ReadLimits,
    measuring: Measuring,
) -> PageReading:
    frame = frame_of(page, unit)
    width, height = frame.size_mm
    paths: list[tuple[Any, Matrix]] = []
    pieces = []
    drawing = DrawingReader(frame.to_mm, width, height)
    most_paths = min(limits.paths_per_page, measuring.paths)
    with text_of(page) as text_page:
        reader = TextReader(fonts, width, height)
        for page_object, kind, outer in objects_of(page, at_most=limits.objects_per_page, depth=limits.form_depth):
            if kind == TEXT and text_page is not None:
                piece = reader.piece(page_object, text_page, outer, frame.to_mm)
                if piece is not None:
                    pieces.append(piece)
            elif kind == PATH and drawing.n_paths < most_paths:
                if drawing.path(page_object, outer):
                    paths.append((page_object, outer))
            elif kind == IMAGE:
                drawing.image(page_object, outer)
        runs = joined(pieces)
        measuring.paths -= drawing.n_paths
        measure = bool(paths) and measuring.wanted(runs)
        boxes: tuple[DrawnBox, ...] = ()
        if measure:
            reader_of_paths = PathReader(frame.to_mm, min(limits.segments_per_page, measuring.segments))
            for path, outer in paths:
                reader_of_paths.add(path, outer)
            boxes = reader_of_paths.found()
            measuring.segments -= reader_of_paths.walked
    return PageReading(
        number=index + 1,
        label=label,
        width_mm=round(width, 2),
        height_mm=round(height, 2),
        rotate=frame.rotate,
        user_unit=unit,
        runs=runs,
        boxes=boxes,
        n_paths=drawing.n_paths,
        large_paths=drawing.large,
        cut_paths=drawing.cut,
        framed=drawing.framed,
        drawing=drawing.digest(),
        shapes=drawing.shapes(),
        n_images=drawing.n_images,
        image_share=round(drawing.image_share, 3),
        geometry_read=measure,
        links=_links(document, page),
    )


def _links(document: Any, page: Any) -> tuple[str, ...]:
    """The addresses of the page's link annotations, as text; at most 200."""
    import ctypes

    raw = library()
    position = ctypes.c_int(0)
    link = raw.FPDF_LINK()
    found: list[str] = []
    while len(found) < 200 and raw.FPDFLink_Enumerate(page, position, link):
        action = raw.FPDFLink_GetAction(link)
        if action and raw.FPDFAction_GetType(action) == raw.PDFACTION_URI:
            uri = narrow(lambda b, n, a=action: raw.FPDFAction_GetURIPath(document, a, b, n))  # type: ignore[misc]
            if uri:
                found.append(uri.decode("utf-8", "replace")[:2_000])
    return tuple(found)


def _has_labels(document: Any) -> bool:
    return bool(_label(document, 0))


def _label(document: Any, index: int) -> str | None:
    raw = library()
    return utf16(lambda b, n: int(raw.FPDF_GetPageLabel(document, index, b, n)))[:100] or None


def _metadata(document: Any) -> dict[str, str]:
    raw = library()
    found = {}
    for key in METADATA_KEYS:
        value = utf16(lambda b, n, k=key: int(raw.FPDF_GetMetaText(document, k.encode("ascii"), b, n)))  # type: ignore[misc]
        if value.strip("\0 "):
            found[key] = tidy(value)
    return found


def _attachments(document: Any) -> tuple[str, ...]:
    raw = library()
    names = []
    for index in range(min(max(raw.FPDFDoc_GetAttachmentCount(document), 0), 100)):
        attachment = raw.FPDFDoc_GetAttachment(document, index)
        if attachment:
            names.append(utf16(lambda b, n, a=attachment: int(raw.FPDFAttachment_GetName(a, b, n)))[:300])  # type: ignore[misc]
    return tuple(names)


def without_text(reading: PdfReading, *, after: int = 0) -> PdfReading:
    """The same reading without boxes, and without the runs of the pages after the first `after`."""
    pages = tuple(replace(page, runs=page.runs if page.number <= after else (), boxes=()) for page in reading.pages)
    return replace(reading, pages=pages)


__all__ = ["LENGTH_RE", "TextRun", "read_pdf", "without_text"]
