"""One item on a screen: all that is known, and the words and documents it rests on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from vault.model.match import FileView, ItemView, PurchaseView
from vault.model.money import amount_text
from vault.model.purchase import JoinedSource
from vault.reports.file_screen import licence
from vault.reports.listings import STATE_WORDS, money_words, order_words
from vault.reports.rows import file_name
from vault.reports.tables import labelled
from vault.reports.text import Style, plain, wrap


def item(view: PurchaseView, shown: ItemView, files: Mapping[str, FileView], style: Style) -> list[str]:
    """Everything about one item: purchase, state with reasons, links, files, licence, and where each field was read."""
    it, p = shown.item, view.purchase
    lines = [style.bold(line) for line in wrap(plain(it.title), style.columns)]
    amount = f"{amount_text(it.amount, p.currency)} {p.currency or ''}" if it.amount is not None else ""
    lines += labelled(
        [
            ("id", it.id),
            ("bought", order_words(p)),
            ("total", money_words(p)),
            ("designer", it.designer or ""),
            ("quantity", str(it.quantity) if it.quantity and it.quantity != 1 else ""),
            ("amount", amount),
            ("options", ", ".join(it.options)),
            ("promised", ", ".join(it.promised)),
            ("state", STATE_WORDS[shown.standing.state]),
            ("lacking", ", ".join(shown.standing.lacking)),
            *((" ", w) for w in shown.standing.why),
        ],
        style,
    )
    for link in it.links:
        until = f"until {link.expires_on.isoformat()}" if link.expires_on else ""
        left = f"{link.downloads_left} downloads left" if link.downloads_left is not None else ""
        told = ", ".join(filter(None, [link.label or "", until, left]))
        lines += labelled([("link", link.url), (" ", told)], style)
    lines += _held_files(shown, files, style)
    lines += _evidence(view, style)
    lines += sources(p.sources, style, f"items.{it.id}")
    return [style.finish(line) for line in lines]


def _held_files(shown: ItemView, files: Mapping[str, FileView], style: Style) -> list[str]:
    lines: list[str] = []
    for link in shown.links:
        view = files.get(link.sha256)
        name = file_name(view) if view else link.sha256[:12]
        how = "you said so" if link.settled == "user" else f"{link.score:.0%} sure"
        part = f", {link.part}" if link.part else ""
        lines += ["", *wrap(f"File {plain(name)} ({how}{part})", style.columns, rest="  ")]
        for reason in link.reasons:
            sign = "+" if reason.weight >= 0 else "-"
            lines += wrap(f"{sign} {plain(reason.words)}", style.columns, first="    ", rest="      ")
        if view and view.file.facts.licence:
            lines += licence(view.file.facts.licence, style)
    return lines


def _evidence(view: PurchaseView, style: Style) -> list[str]:
    lines = ["", "Evidence"]
    for e in view.evidence:
        lines += wrap(f"{e.kind}: {plain(e.source)}", style.columns, first="  ", rest="    ")
    return lines


def sources(rows: Sequence[JoinedSource], style: Style, item_prefix: str) -> list[str]:
    """For each field the words it was read from; fields of other items are left out."""
    shown = [s for s in rows if not s.source.field.startswith("items.") or s.source.field.startswith(item_prefix)]
    if not shown:
        return []
    lines = ["", "Where it was read"]
    for row in shown:
        label = row.source.field.removeprefix(item_prefix + ".")
        words = f'{label}: "{plain(row.source.words)}" ({plain(row.source.how)})'
        lines += wrap(words, style.columns, first="  ", rest="    ")
    return lines
