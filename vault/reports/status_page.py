"""How the vault stands as one page: the counts, two charts with their tables, the backups.

Self-contained, no script; made to be printed and to be read aloud.  What strangers wrote is escaped.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape

from vault.model.reminder import Reminder
from vault.reports import copies as of_copies
from vault.reports.charts import Bar, bars
from vault.reports.frame import begin, end
from vault.reports.standing import Standings, files_words, risk_words
from vault.reports.tallies import Tally
from vault.reports.text import plain

_STYLE = """
.chart{display:block;width:100%;max-width:27rem;height:auto;margin:.4rem 0}
.chart text{font:12px system-ui,'DejaVu Sans',sans-serif;fill:#222}
h2,caption{break-after:avoid}.chart,tr{break-inside:avoid}.day{white-space:nowrap}
dl.counts{grid-template-columns:8rem 1fr}
table{border-collapse:collapse;font-size:.9rem;margin:.6rem 0;max-width:100%}
caption{text-align:left;color:#444;padding-bottom:.2rem}
th,td{text-align:left;font-weight:normal;padding:.12rem .9rem .12rem 0;border-bottom:1px solid #ccc}
th,td{overflow-wrap:anywhere}
thead th{border-bottom:1px solid #555;overflow-wrap:normal}
td.n,thead th.n{text-align:right;font-variant-numeric:tabular-nums;padding-right:1.1rem}
ul{margin:.3rem 0;padding-left:1.2rem}li{margin:.15rem 0}.due{break-inside:auto}
@media(max-width:30rem){th,td{padding-right:.5rem}td.n,thead th.n{padding-right:.6rem}}
@media print{.chart{max-width:12cm}.chart rect,pattern rect{print-color-adjust:exact;-webkit-print-color-adjust:exact}}
"""
_MOST_DUE, _MOST_BARS = 12, 10
_DAY = ' class="day"'


def page(s: Standings, due: Sequence[Reminder], day: date) -> str:
    """The page for the vault as it stands on `day`."""
    parts = [
        *begin(f"How things stand, {day.isoformat()}", _STYLE),
        f"<main><h1>How things stand</h1><p>As on {day.isoformat()}.</p>",
        *_counts(s),
        *_due(due),
        *_years(s.years),
        *_shops(s),
        *_backups(s),
        "</main>",
    ]
    return "\n".join([*parts, *end()])


def _counts(s: Standings) -> list[str]:
    first = f" The first can be fetched until {s.next_deadline.isoformat()}." if s.next_deadline else ""
    pairs = [
        ("Bought", f"{s.items} patterns in {s.purchases} purchases"),
        ("Held", f"{s.held} of {s.items}, {share(s.held, s.items)}" if s.items else ""),
        ("In part", str(s.partial) if s.partial else ""),
        ("Not held", f"{s.missing}.{first}" if s.missing else "nothing"),
        ("Shops at risk", risk_words(s)),
        ("Questions", f"{s.questions} wait for an answer" if s.questions else "none"),
        ("Unread", f"{s.problems} documents or files could not be read" if s.problems else "nothing"),
        ("Files", files_words(s)),
    ]
    body = "".join(f"<dt>{label}</dt><dd>{escape(value)}</dd>" for label, value in pairs if value)
    return [f'<dl class="counts">{body}</dl>']


def share(part: int, whole: int) -> str:
    """A share in whole per cent, never 0 % of something nor 100 % of less than all."""
    per_cent = round(100 * part / whole) if whole else 0
    if 0 < part < whole:
        per_cent = min(99, max(1, per_cent))
    return f"{per_cent} %"


def _share_of(t: Tally) -> str:
    return share(t.held, t.bought) if t.bought else ""


def _due(due: Sequence[Reminder]) -> list[str]:
    if not due:
        return ["<h2>Due</h2><p>Nothing.</p>"]
    rows = [f"<li>{escape(plain(r.title))}</li>" for r in due[:_MOST_DUE]]
    more = [f"<p>And {len(due) - _MOST_DUE} more.</p>"] if len(due) > _MOST_DUE else []
    return ["<h2>Due</h2>", '<ul class="due">', *rows, "</ul>", *more]


def _years(years: Sequence[Tally]) -> list[str]:
    if not years:
        return []
    drawn = [_bar(t, f"{t.held} of {t.bought}" if t.bought else "none") for t in years]
    bought, held = sum(t.bought for t in years), sum(t.held for t in years)
    said = (
        f"A bar for each year, as long as the number of patterns bought in it. "
        f"Over all, {held} of {bought} are held. The numbers stand in the table below."
    )
    cells = [
        (
            t.label,
            str(t.bought),
            str(t.held),
            str(t.partial),
            str(t.missing),
            share(t.held, t.bought) if t.bought else "",
        )
        for t in years
    ]
    heads = ("Year", "Bought", "Held", "In part", "Not held", "Held share")
    return [
        "<section><h2>Bought per year, and what is held of it</h2>",
        bars("years", "Patterns bought per year, and how many of them are held", said, drawn, beside=52),
        _table("Patterns bought per year", heads, cells),
        "</section>",
    ]


def _shops(s: Standings) -> list[str]:
    if not s.shops:
        return []
    drawn = [_bar(t, str(t.short)) for t in s.shops[:_MOST_BARS]]
    others = s.shops[_MOST_BARS:]
    rest = sum(t.short for t in others)
    more = f"<p>{rest} more from {len(others)} other seller{'' if len(others) == 1 else 's'}: in the table.</p>"
    said = (
        f"A bar for each seller, as long as the number of patterns from it that are missing or held in part; "
        f"the most are missing from {plain(s.shops[0].label)}. The numbers stand in the table below."
    )
    at_risk = set(s.sellers_at_risk)
    cells = [
        (t.label, str(t.missing), str(t.partial), "closes or has closed" if t.label in at_risk else "") for t in s.shops
    ]
    return [
        "<section><h2>Where the missing ones are</h2>",
        bars("shops", "Patterns missing or held in part, by seller", said, drawn),
        *([more] if others else []),
        _table("Missing patterns by seller", ("Seller", "Not held", "In part", "The shop"), cells),
        "</section>",
    ]


def _bar(t: Tally, value: str) -> Bar:
    return Bar(label=t.label, parts=((t.held, "held"), (t.partial, "partial"), (t.missing, "missing")), value=value)


def _backups(s: Standings) -> list[str]:
    rule = "".join(f"<li>{escape(words)}</li>" for words in of_copies.sentences(s.copies))
    parts = ["<section><h2>How safe it is</h2>"]
    if s.copies.places:
        cells = [
            (
                p.history.destination,
                _day_of(p.backed_up_on),
                _day_of(p.rehearsed_on),
                f"failed on {p.failed_on.isoformat()}" if p.failed_on else of_copies.where_words(p, s.copies),
            )
            for p in s.copies.places
        ]
        heads = ("Backups in", "Last backup", "Restored on trial", "Remarks")
        parts.append(_table("Where backups go", heads, cells, numbers=False))
    else:
        parts.append(f"<p>Last backup: {escape(s.last_backup or 'never')}.</p>")
    return [
        *parts,
        f"<p>All kept bytes were last checked: {escape(s.last_verify or 'never')}.</p>",
        "<p>Copies, by the rule of thumb 3-2-1 (common practice, no published source):</p>",
        f"<ul>{rule}</ul></section>",
    ]


def _day_of(day: date | None) -> str:
    return day.isoformat() if day else "never"


def _table(caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]], *, numbers: bool = True) -> str:
    """A table whose first column heads its rows; with `numbers` columns of digits stand to the right."""
    right = [numbers and n > 0 and all(not r[n] or r[n][:1].isdigit() for r in rows) for n in range(len(heads))]
    look = [' class="n"' if r else "" for r in right]
    head = "".join(f'<th scope="col"{look[n]}>{escape(h)}</th>' for n, h in enumerate(heads))
    lines = [
        f'<tr><th scope="row">{escape(plain(r[0]))}</th>'
        + "".join(_cell(r[n], look[n]) for n in range(1, len(r)))
        + "</tr>"
        for r in rows
    ]
    top = f"<table><caption>{escape(caption)}</caption><thead><tr>{head}</tr></thead>"
    return "\n".join([top, "<tbody>", *lines, "</tbody></table>"])


def _cell(value: str, look: str) -> str:
    is_day = not look and len(value) == 10 and value[4:5] == value[7:8] == "-"
    return f"<td{_DAY if is_day else look}>{escape(plain(value))}</td>"
