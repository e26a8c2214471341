"""Lines of a page: its runs put together by base line, in reading order.

A helper for rules that think in lines.  The runs of a page stand in the order of the page description; a line holds
the neighbours on one base line, cells apart by a wide gap stay separate runs of the line.
"""

from __future__ import annotations

from dataclasses import dataclass

from vault.model.pdf import PageReading, TextRun

COLUMN_GAP = 2.2  # of the font size: a wider gap parts columns


@dataclass(frozen=True, kw_only=True)
class Line:
    """Runs on one base line from left to right; `size_pt` is the largest, `bold` where every run is."""

    runs: tuple[TextRun, ...]
    page: int

    @property
    def text(self) -> str:
        return " ".join(run.text for run in self.runs)

    @property
    def size_pt(self) -> float:
        return max(run.size_pt for run in self.runs)

    @property
    def bold(self) -> bool:
        return all(run.bold for run in self.runs)

    @property
    def y(self) -> float:
        return min(run.y for run in self.runs)

    @property
    def x(self) -> float:
        return self.runs[0].x


def lines_of(page: PageReading, *, columns: bool = True) -> tuple[Line, ...]:
    """The lines in the order of the page description; with `columns` a wide gap starts a new line.

    Set `columns` false for rows of a table: all runs of one base line then make one line, from the top down.
    """
    if not columns:
        return _rows(page)
    lines: list[list[TextRun]] = []
    for run in page.runs:
        if lines and _continues(lines[-1][-1], run):
            lines[-1].append(run)
        else:
            lines.append([run])
    return tuple(Line(runs=tuple(line), page=page.number) for line in lines)


def _continues(before: TextRun, run: TextRun) -> bool:
    size = max(before.height, run.height)
    base_before, base = before.y + 0.8 * before.height, run.y + 0.8 * run.height
    gap = run.x - (before.x + before.width)
    return abs(base - base_before) < 0.4 * size and -0.4 * size < gap < COLUMN_GAP * size


def _rows(page: PageReading) -> tuple[Line, ...]:
    rows: list[list[TextRun]] = []
    for run in sorted(page.runs, key=lambda r: r.y + 0.8 * r.height):
        base = run.y + 0.8 * run.height
        if rows:
            first = rows[-1][0]
            if base - (first.y + 0.8 * first.height) < 0.4 * max(min(first.height, run.height), 0.5):
                rows[-1].append(run)
                continue
        rows.append([run])
    return tuple(Line(runs=tuple(sorted(row, key=lambda r: r.x)), page=page.number) for row in rows)


def text_of_page(page: PageReading) -> str:
    """The words of a page, one line each."""
    return "\n".join(line.text for line in lines_of(page))
