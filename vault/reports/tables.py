"""Narrow tables and blocks.  Everything fits the given width, 60 columns included, with no box drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vault.reports.text import Style, clip, pad, plain, width, wrap

_GAP = "  "
_LEAST = 6  # columns below which a column is not squeezed


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column: its heading, whether it is a number, and whether it gives way first when the screen is narrow."""

    heading: str
    right: bool = False
    gives: bool = False


def table(columns: Sequence[Column], rows: Sequence[Sequence[str]], style: Style) -> list[str]:
    """Lines of a table with a heading line; cells that do not fit are cut with an ellipsis."""
    cells = [[plain(cell) for cell in row] for row in rows]
    widths = [
        max(width(c.heading), *(width(r[n]) for r in cells), 1) if cells else width(c.heading)
        for n, c in enumerate(columns)
    ]
    _squeeze(widths, columns, style.columns)
    lines = [style.bold(_line([c.heading for c in columns], widths, columns))]
    lines += [_line(row, widths, columns) for row in cells]
    return [style.finish(line) for line in lines]


def _squeeze(widths: list[int], columns: Sequence[Column], room: int) -> None:
    over = sum(widths) + len(_GAP) * (len(widths) - 1) - room
    giving = [n for n, c in enumerate(columns) if c.gives] or list(range(len(widths)))
    for chosen in (giving, list(range(len(widths)))):
        while over > 0:
            widest = max(chosen, key=lambda n: widths[n])
            if widths[widest] <= _LEAST:
                break
            widths[widest] -= 1
            over -= 1


def _line(cells: Sequence[str], widths: Sequence[int], columns: Sequence[Column]) -> str:
    parts = [pad(clip(cell, w), w, right=c.right) for cell, w, c in zip(cells, widths, columns, strict=True)]
    return _GAP.join(parts).rstrip()


def labelled(pairs: Sequence[tuple[str, str]], style: Style, *, indent: int = 2) -> list[str]:
    """Lines of `label  value` with values wrapped under each other; empty values are left out."""
    shown = [(label, plain(value)) for label, value in pairs if value and plain(value)]
    column = max((width(label) for label, _ in shown), default=0) + 2
    lines = []
    for label, value in shown:
        first = " " * indent + pad(label, column)
        lines += wrap(value, style.columns, first=first, rest=" " * (indent + column), keep_long="://" in value)
    return [style.finish(line) for line in lines]
