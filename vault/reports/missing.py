"""The missing report on a terminal: what was bought and is not held, most urgent first."""

from __future__ import annotations

from collections.abc import Sequence

from vault.model.match import MissingRow
from vault.model.purchase import ItemState
from vault.reports.listings import order_words
from vault.reports.tables import labelled
from vault.reports.text import Style, plain, wrap

URGENCY_WORDS = {
    "now": "NOW",
    "soon": "SOON",
    "later": "WHEN YOU CAN",
    "lost?": "PERHAPS LOST",
}


def deadline_words(row: MissingRow) -> str:
    """Until when and how often it can still be fetched, as far as the evidence says."""
    parts = []
    if row.deadline:
        parts.append(f"until {row.deadline.isoformat()}")
    if row.downloads_left is not None:
        parts.append(f"{row.downloads_left} download{'' if row.downloads_left == 1 else 's'} left")
    return ", ".join(parts)


def missing(rows: Sequence[MissingRow], n_items: int, style: Style, *, most: int | None = None) -> list[str]:
    """Lines of the report.  `n_items` counts the patterns bought in all; `most` cuts the list."""
    if not rows:
        return [style.finish(f"Nothing is missing: all {n_items} patterns that you bought as downloads are held.")]
    partial = sum(r.view.standing.state is ItemState.PARTIAL for r in rows)
    head = f"{len(rows)} of {n_items} bought patterns are not held"
    lines = wrap(head + (f" ({partial} of them in part)." if partial else "."), style.columns)
    group = ""
    for row in rows[:most]:
        if row.urgency != group:
            group = row.urgency
            heading = URGENCY_WORDS.get(group, group)
            lines += ["", style.alert(heading) if group == "now" else style.bold(heading)]
        lines += [style.finish(line) for line in block(row, style)]
    if most is not None and len(rows) > most:
        lines += ["", f"... and {len(rows) - most} more: pinfold missing"]
    return [style.finish(line) for line in lines]


def block(row: MissingRow, style: Style) -> list[str]:
    """One missing thing as a block of lines."""
    item = row.view.item
    lines = [style.bold(line) for line in wrap(plain(item.title), style.columns, first="  ", rest="  ")]
    pairs = [("bought", order_words(row.purchase))]
    pairs += [("lacking", ", ".join(row.view.standing.lacking))] if row.view.standing.lacking else []
    pairs += [("fetch", deadline_words(row))]
    pairs += [("link" if n == 0 else "", link.url) for n, link in enumerate(item.links)]
    pairs += [("why" if n == 0 else "", words) for n, words in enumerate(row.why)]
    pairs += [("next", row.next)]
    lines += labelled([(label or " ", value) for label, value in pairs], style, indent=4)
    return lines
