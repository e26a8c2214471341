"""The missing report as one self-contained HTML page: no script, no picture, nothing loaded; prints well.

Everything that comes from a document is escaped; only http and https links become links, and they are followed by
the person alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape
from urllib.parse import urlsplit

from vault.model.match import MissingRow
from vault.reports.listings import order_words
from vault.reports.missing import URGENCY_WORDS, deadline_words
from vault.reports.text import plain

_STYLE = """
body{font:16px/1.45 Georgia,'Times New Roman',serif;max-width:46rem;margin:2rem auto;padding:0 1rem;color:#222}
h1{font-size:1.5rem;margin-bottom:.2rem}h2{font-size:1.05rem;margin:2rem 0 .4rem;letter-spacing:.04em}
article{border-top:1px solid #999;padding:.7rem 0;break-inside:avoid}
h3{font-size:1.05rem;margin:0 0 .2rem}dl{margin:0;display:grid;grid-template-columns:6rem 1fr;gap:.1rem .6rem}
dt{color:#555}dd{margin:0;overflow-wrap:anywhere}a{color:inherit}footer{margin-top:2rem;color:#555;font-size:.85rem}
@media print{body{margin:0;max-width:none;font-size:11pt}a{text-decoration:none}}
"""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def begin(title: str, style: str = "") -> list[str]:
    """The head of a page of ours, which loads nothing and runs nothing; `style` is added to the common one."""
    return [
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
        '<meta name="viewport" content="width=device-width,initial-scale=1">',
        '<meta name="referrer" content="no-referrer">',
        f"<title>{escape(title)}</title><style>{_STYLE}{style}</style></head><body>",
    ]


def end() -> list[str]:
    """The foot of a page of ours."""
    return [
        "<footer>Made by Pinfold from your own receipts and files. Nothing was sent anywhere.</footer>",
        "</body></html>",
        "",
    ]


def missing_page(rows: Sequence[MissingRow], day: date) -> str:
    """The whole page for `rows` as they stand on `day`."""
    parts = [
        *begin(f"Bought but not held, {day.isoformat()}"),
        f"<h1>Bought but not held</h1><p>{len(rows)} {'thing' if len(rows) == 1 else 'things'}, ",
        f"as on {day.isoformat()}, most urgent first.</p>",
    ]
    group = ""
    for row in rows:
        if row.urgency != group:
            group = row.urgency
            parts.append(f"<h2>{escape(URGENCY_WORDS.get(group, group))}</h2>")
        parts.append(_article(row))
    return "\n".join([*parts, *end()])


def _article(row: MissingRow) -> str:
    pairs = [("Bought", escape(order_words(row.purchase)))]
    if row.view.standing.lacking:
        pairs.append(("Lacking", escape(plain(", ".join(row.view.standing.lacking)))))
    pairs.append(("Fetch", escape(deadline_words(row))))
    pairs += [("Link", _link(link.url)) for link in row.view.item.links]
    pairs += [("Why", escape(plain(words))) for words in row.why]
    pairs.append(("Next", escape(plain(row.next))))
    body = "".join(f"<dt>{label}</dt><dd>{value}</dd>" for label, value in pairs if value)
    return f"<article><h3>{escape(plain(row.view.item.title))}</h3><dl>{body}</dl></article>"


def _link(url: str) -> str:
    shown = escape(plain(url), quote=True)
    try:
        safe = urlsplit(url).scheme.lower() in ("http", "https")
    except ValueError:
        safe = False
    return f'<a href="{shown}" rel="noreferrer noopener">{shown}</a>' if safe else shown
