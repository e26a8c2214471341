"""PDF text, brought to lines: runs with their places become rows of cells, whatever the order they were drawn in.

Runs whose base lines agree form a row; a gap wider than a blank or two starts a new cell; a vertical gap larger than
usual starts a new block.  Columns keep their distance from the left edge in millimetres, so that a heading finds the
cells below it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from vault.language.folding import squeeze
from vault.model.pdf import PageReading, PdfReading, TextRun
from vault.receipts.lines import MAX_LINES, MAX_PIECE, Cell, Counter, Document, Line, Link, Piece, take_links

MAX_PAGES = 60
MAX_RUNS = 60_000
_POINT_MM = 25.4 / 72
_NO_TITLE = frozenset(["untitled", "unbenannt", "sans titre", "unknown", "anonymous", "document", "about:blank"])
_FILE_RE = re.compile(r"\.(?:docx?|odt|xlsx?|ods|indd|html?|tmp|pdf|rtf)\Z|\Amicrosoft word\b", re.I)
_WIDE_RE = re.compile(r"\s{3,}")
_RULE_RE = re.compile(r"[-–—_=*·.~ ]{5,}")


def read_pdf(reading: PdfReading, **envelope: Any) -> Document:
    """The document that the pages show; `envelope` fills the other fields of `Document`."""
    blocks = Counter()
    lines: list[Line] = []
    for page in reading.pages[:MAX_PAGES]:
        lines.extend(_page_lines(page, blocks))
        blocks.next()
    fields: dict[str, Any] = {
        "lines": tuple(lines[:MAX_LINES]),
        "title": _title(reading.metadata.get("Title", "")),
    }
    return Document(**{**fields, **envelope})


def _title(text: str) -> str:
    """The title that someone gave the file, not what a program writes in its place."""
    title = squeeze(text)[:300]
    return "" if title.casefold().strip("()") in _NO_TITLE or _FILE_RE.search(title) else title


def _rows(runs: Iterable[TextRun]) -> list[list[TextRun]]:
    """Runs grouped by base line, top to bottom; in a row from left to right."""
    rows: list[list[TextRun]] = []
    bottoms: list[float] = []
    for run in sorted(runs, key=lambda r: (round(r.y + r.height, 1), r.x)):
        bottom = run.y + run.height
        tolerance = max(0.6, 0.35 * run.size_pt * _POINT_MM)
        if rows and abs(bottom - bottoms[-1]) <= tolerance:
            rows[-1].append(run)
        else:
            rows.append([run])
            bottoms.append(bottom)
    return [sorted(row, key=lambda r: r.x) for row in rows]


def _page_lines(page: PageReading, blocks: Counter) -> list[Line]:
    runs = [p for r in page.runs[:MAX_RUNS] if r.text.strip() and 1.5 < r.size_pt < 400 for p in _parts(r)]
    rows = _rows(runs)
    usual = sorted(r.size_pt for r in runs)[len(runs) // 2] if runs else 10.0
    block = blocks.next()
    out: list[Line] = []
    last_bottom: float | None = None
    for row in rows:
        size = max(r.size_pt for r in row) * _POINT_MM
        top = min(r.y for r in row)
        if last_bottom is not None and top - last_bottom > 0.9 * size:
            block = blocks.next()
        last_bottom = max(r.y + r.height for r in row)
        if _RULE_RE.fullmatch("".join(r.text for r in row)):
            out.append(Line(cells=(), block=block, rule=True))
        else:
            out.append(Line(cells=_cells(row, usual), block=block))
    seen = {link.url for line in out for link in line.links}
    extra = [url for url in page.links if url not in seen]
    return _with_links(out, extra, block)


def _parts(run: TextRun) -> list[TextRun]:
    """A run that blanks push apart ("1 x 4.50      4.50"), as the runs it looks like."""
    if "   " not in run.text.strip():
        return [run]
    each = run.width / len(run.text)
    out: list[TextRun] = []
    at = 0
    for gap in [*_WIDE_RE.finditer(run.text), None]:
        end = gap.start() if gap is not None else len(run.text)
        if run.text[at:end].strip():
            out.append(replace(run, text=run.text[at:end], x=run.x + at * each, width=(end - at) * each))
        at = gap.end() if gap is not None else end
    return out


def _closed(text: str) -> str:
    """Letters that only their spacing sets off ("I N V O I C E"), as the word they are."""
    letters = text.split(" ")
    spaced = len(letters) > 3 or (len(letters) > 1 and text[0] >= "\u2e80")
    return "".join(letters) if spaced and all(len(c) == 1 and c.isalpha() for c in letters) else text


def _cells(row: list[TextRun], usual: float) -> tuple[Cell, ...]:
    cells: list[list[TextRun]] = []
    for run in row:
        if cells:
            previous = cells[-1][-1]
            gap = run.x - (previous.x + previous.width)
            em = max(run.size_pt, previous.size_pt) * _POINT_MM
            if gap < 0.85 * em:
                cells[-1].append(run)
                continue
        cells.append([run])
    out: list[Cell] = []
    for group in cells:
        words: list[str] = []
        for run in group:
            if words:
                previous = group[len(words) - 1]
                gap = run.x - (previous.x + previous.width)
                joined = gap < 0.12 * run.size_pt * _POINT_MM and not previous.text.endswith(" ")
                words.append(run.text if joined else " " + run.text)
            else:
                words.append(run.text)
        text, links = take_links(_closed(squeeze("".join(words))))
        size = max(r.size_pt for r in group)
        heading = 1 if size >= 1.7 * usual else 3 if size >= 1.35 * usual else 0
        piece = Piece(text=text[:MAX_PIECE], links=links, bold=all(r.bold for r in group), heading=heading)
        left = group[0].x
        right = group[-1].x + group[-1].width
        out.append(Cell(pieces=(piece,), column=round(left, 2), width=round(right - left, 2)))
    return tuple(out)


def _with_links(lines: list[Line], urls: list[str], block: int) -> list[Line]:
    """Link annotations have no place in the reading: they follow the page, without a label."""
    if not urls:
        return lines
    pieces = tuple(Piece(text="", links=(Link(text="", url=url),)) for url in urls[:200])
    return [*lines, *(Line(cells=(Cell(pieces=(p,)),), block=block) for p in pieces)]
