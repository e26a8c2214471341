"""The missing report as one self-contained HTML page: no script, no picture, nothing loaded; prints well.

Everything that comes from a document is escaped; only http and https links become links, and they are followed by
the person alone.  On paper every thing has a box to tick, and an address is printed in full.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape
from urllib.parse import urlsplit

from vault.model.match import MissingRow
from vault.model.purchase import ItemState
from vault.reports.missing import (
    URGENCY_WORDS,
    about_shop,
    bought_words,
    by_shop,
    deadline_words,
    own_reasons,
    worth,
)
from vault.reports.text import plain

_STYLE = """
:root{color-scheme:light}
body{font:16px/1.45 Georgia,'Times New Roman',serif;max-width:46rem;margin:2rem auto;padding:0 1rem;
color:#222;background:#fff}
h1{font-size:1.6rem;margin:0 0 .2rem}header p{margin:.1rem 0;color:#444}
h2{font-size:.95rem;margin:2.2rem 0 .2rem;letter-spacing:.08em;border-bottom:2px solid #222;padding-bottom:.15rem}
h2.now{color:#a11208;border-color:#a11208}
h3{font-size:1.05rem;margin:1.2rem 0 .2rem;font-weight:normal;font-style:italic;color:#444}
h2,h3{break-after:avoid}
article{border-top:1px solid #bbb;padding:.55rem 0 .7rem 1.9rem;break-inside:avoid;position:relative}
article::before{content:"";position:absolute;left:.2rem;top:.85rem;width:.8rem;height:.8rem;border:1.5px solid #555}
h4{font-size:1.05rem;margin:0 0 .2rem}h4 small{font-weight:normal;color:#444}
dl{margin:0;display:grid;grid-template-columns:5rem 1fr;gap:.1rem .6rem;font-size:.94rem}
dt{color:#666}dd{margin:0;overflow-wrap:anywhere}dd.next{font-weight:bold}a{color:#13457a}
footer{margin-top:2rem;color:#555;font-size:.85rem;border-top:1px solid #bbb;padding-top:.5rem}
@page{margin:16mm 15mm}
@media print{body{margin:0;padding:0;max-width:none;font-size:10.5pt}a{color:inherit;text-decoration:none}}
"""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def missing_page(rows: Sequence[MissingRow], day: date) -> str:
    """The whole page for `rows` as they stand on `day`."""
    parts = [
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
        '<meta name="viewport" content="width=device-width,initial-scale=1">',
        '<meta name="referrer" content="no-referrer">',
        f"<title>Bought but not held, {day.isoformat()}</title><style>{_STYLE}</style></head><body>",
        f"<header><h1>Bought but not held</h1>{_summary(rows, day)}</header>",
    ]
    before = ""
    for urgency, group in by_shop(rows):
        if urgency != before:
            before = urgency
            heading = escape(URGENCY_WORDS.get(urgency, urgency))
            parts.append(f'<h2 class="now">{heading}</h2>' if urgency == "now" else f"<h2>{heading}</h2>")
        parts.append(f"<h3>{escape(about_shop(group[0]))}</h3>")
        parts += [_article(row) for row in group]
    parts.append("<footer>Made by Pinfold from your own receipts and files. Nothing was sent anywhere.</footer>")
    return "\n".join([*parts, "</body></html>", ""])


def _summary(rows: Sequence[MissingRow], day: date) -> str:
    if not rows:
        return f"<p>Nothing is missing on {day.isoformat()}.</p>"
    partial = sum(r.view.standing.state is ItemState.PARTIAL for r in rows)
    head = f"{len(rows)} {'thing' if len(rows) == 1 else 'things'}, as on {day.isoformat()}, most urgent first"
    lines = [head + (f"; {partial} held in part." if partial else ".")]
    lines += [f"Paid for what is not here at all: {worth(rows)}."] if worth(rows) else []
    return "".join(f"<p>{escape(line)}</p>" for line in lines)


def _article(row: MissingRow) -> str:
    standing = row.view.standing
    pairs = [("Bought", "", escape(bought_words(row)))]
    if standing.lacking:
        pairs.append(("Lacking", "", escape(plain(", ".join(standing.lacking)))))
    pairs.append(("Fetch", "", escape(deadline_words(row))))
    pairs += [("Link" if n == 0 else "", "", _link(link.url)) for n, link in enumerate(row.view.item.links)]
    pairs += [("Why" if n == 0 else "", "", escape(plain(words))) for n, words in enumerate(own_reasons(row))]
    pairs.append(("Next", ' class="next"', escape(plain(row.next))))
    body = "".join(f"<dt>{label}</dt><dd{look}>{value}</dd>" for label, look, value in pairs if value)
    part = " <small>(held in part)</small>" if standing.state is ItemState.PARTIAL else ""
    return f"<article><h4>{escape(plain(row.view.item.title))}{part}</h4><dl>{body}</dl></article>"


def _link(url: str) -> str:
    shown = escape(plain(url), quote=True)
    try:
        safe = urlsplit(url).scheme.lower() in ("http", "https")
    except ValueError:
        safe = False
    return f'<a href="{shown}" rel="noreferrer noopener">{shown}</a>' if safe else shown
