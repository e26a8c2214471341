"""Plain bar charts as inline SVG: pure functions from numbers to text, no script, nothing loaded.

A bar lies, its label stands above or beside it and its value in words at its end, so that nothing depends on colour:
what is held is filled, what is held in part is hatched, what is missing is empty with an outline.  Each chart has a
title and a description for screen readers (SVG 2, `title` and `desc`; WAI-ARIA `role="img"`), and the page gives the
same numbers as a table.  One unit of the drawing is about one CSS pixel on a narrow screen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from vault.reports.text import clip, plain

WIDTH = 360
_ROW, _BAR = 22, 13
_ABOVE = 16  # the height of a label above its bar
_VALUE = 92  # room for the value behind the longest bar
_LOOKS = {
    "held": "fill:#1f4e5f;stroke:#1f4e5f",
    "partial": "fill:url(#{id}-hatch);stroke:#1f4e5f",
    "missing": "fill:#fff;stroke:#1f4e5f",
}
_WORDS = {"held": "held", "partial": "held in part", "missing": "not held"}


@dataclass(frozen=True, kw_only=True)
class Bar:
    """One bar: its label, its parts from left to right (how many, and "held", "partial" or "missing"), its value."""

    label: str
    parts: tuple[tuple[int, str], ...]
    value: str

    @property
    def total(self) -> int:
        """How long the bar is."""
        return sum(n for n, _ in self.parts)


def bars(chart_id: str, title: str, said: str, rows: Sequence[Bar], *, beside: int = 0) -> str:
    """A chart of lying bars as one SVG element.

    `chart_id` is unique in the page; `said` describes the chart in a sentence.  With `beside` the labels stand in a
    column of that width, else above their bars.
    """
    step = _ROW if beside else _ROW + _ABOVE
    longest = max((r.total for r in rows), default=0) or 1
    room = WIDTH - beside - _VALUE
    drawn: list[str] = []
    for n, row in enumerate(rows):
        top = n * step + (0 if beside else _ABOVE)
        drawn += _bar(chart_id, row, n * step, top, beside, room / longest)
    height = len(rows) * step + _ROW
    return "\n".join(
        [
            f'<svg class="chart" role="img" aria-labelledby="{chart_id}-title {chart_id}-desc"'
            f' viewBox="0 0 {WIDTH} {height}" xmlns="http://www.w3.org/2000/svg">',
            f'<title id="{chart_id}-title">{escape(title)}</title>',
            f'<desc id="{chart_id}-desc">{escape(said)}</desc>',
            f'<defs><pattern id="{chart_id}-hatch" width="5" height="5" patternUnits="userSpaceOnUse"'
            ' patternTransform="rotate(45)"><rect width="5" height="5" fill="#fff"/>'
            '<rect width="2" height="5" fill="#1f4e5f"/></pattern></defs>',
            *drawn,
            *_legend(chart_id, rows, len(rows) * step + 4),
            "</svg>",
        ]
    )


def _bar(chart_id: str, row: Bar, label_top: float, top: float, left: int, unit: float) -> list[str]:
    label = escape(clip(plain(row.label), max(5, left // 7) if left else 46))
    out = [f'<text x="0" y="{label_top + 11:g}">{label}</text>']
    x = float(left)
    for n, kind in row.parts:
        if n:
            out.append(_box(chart_id, kind, x, top, max(n * unit, 1.0)))
            x += n * unit
    out.append(f'<text x="{x + 6:.1f}" y="{top + 11:g}">{escape(plain(row.value))}</text>')
    return out


def _box(chart_id: str, kind: str, x: float, y: float, width: float, height: float = _BAR) -> str:
    look = _LOOKS[kind].format(id=chart_id)
    return (
        f'<rect x="{x + 0.5:.1f}" y="{y + 0.5:.1f}" width="{max(width - 1, 0.5):.1f}" height="{height - 1:g}"'
        f' style="{look}"/>'
    )


def _legend(chart_id: str, rows: Sequence[Bar], top: float) -> list[str]:
    used = {kind for r in rows for n, kind in r.parts if n}
    out: list[str] = []
    x = 0.0
    for kind in (k for k in _WORDS if k in used):
        out.append(_box(chart_id, kind, x, top, 14, 11))
        out.append(f'<text x="{x + 19:g}" y="{top + 10:g}">{_WORDS[kind]}</text>')
        x += 35 + 6.2 * len(_WORDS[kind])
    return out
