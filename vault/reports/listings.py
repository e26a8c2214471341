"""The terminal listings of rows: purchases, files, sellers, open questions.

Each returns lines; nothing is printed here.  Everything that comes from a document goes through `plain`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from vault.model.match import FileView, PurchaseView
from vault.model.money import amount_text
from vault.model.pattern import PatternFacts, Sheet
from vault.model.purchase import ItemState, Purchase, Seller
from vault.reports.rows import file_name
from vault.reports.tables import Column, table
from vault.reports.text import Style, plain, wrap

STATE_WORDS = {
    ItemState.HELD: "held",
    ItemState.PARTIAL: "held in part",
    ItemState.MISSING: "not held",
    ItemState.REFUNDED: "refunded",
    ItemState.NOT_DIGITAL: "not digital",
}


def money_words(purchase: Purchase) -> str:
    """The total of a purchase, such as `12.00 EUR`, or an empty string."""
    if purchase.total is None:
        return ""
    return f"{amount_text(purchase.total, purchase.currency)} {purchase.currency or ''}".strip()


def order_words(purchase: Purchase) -> str:
    """Seller, order number and date in one phrase; what is unknown is left out."""
    parts = [plain(purchase.seller or "seller not named")]
    if purchase.order_number:
        parts.append(f"order {plain(purchase.order_number)}")
    if purchase.purchased_on:
        parts.append(purchase.purchased_on.isoformat())
    return ", ".join(parts)


def purchases(views: Sequence[PurchaseView], style: Style) -> list[str]:
    """Purchases with their items below them, as given."""
    lines: list[str] = []
    for view in views:
        p = view.purchase
        tail = [money_words(p), "refunded" if p.refunded else "", "cancelled" if p.cancelled else ""]
        head = ", ".join([order_words(p), *(t for t in tail if t)])
        lines += [style.bold(line) for line in wrap(head, style.columns, rest="  ")]
        for item in view.items:
            state = STATE_WORDS[item.standing.state]
            if item.item.craft_pattern is False and item.standing.state is ItemState.MISSING:
                state = "no pattern"
            lines += wrap(
                f"{plain(item.item.title)} [{state}] {item.item.id}", style.columns, first="  - ", rest="    "
            )
        lines.append("")
    return [style.finish(line) for line in lines[:-1]]


def sheet_words(sheet: Sheet) -> str:
    """One line for the pages of one paper: `24 x A4 (tiled)`."""
    paper = sheet.paper if sheet.paper != "custom" else f"{sheet.width_mm:.0f} x {sheet.height_mm:.0f} mm"
    use = "" if sheet.use == "other" else f" ({sheet.use})"
    return f"{sheet.pages} x {paper}{use}"


def kind_words(facts: PatternFacts) -> str:
    """What a file is, in a word or two."""
    if facts.unusable:
        return facts.unusable
    if facts.is_pattern is None:
        return "?"
    if not facts.is_pattern:
        return "no pattern"
    return facts.craft or "pattern"


def concern_words(facts: PatternFacts, *, superseded: bool = False) -> str:
    """What is to be known before printing, in a word or two; nothing where all is well."""
    if facts.unusable or facts.is_pattern is False:
        return ""
    if facts.scale_check is not None and not facts.scale_check.ok:
        return "scale wrong"
    if facts.details.get("missing_tiles"):
        return "tiles missing"
    if superseded:
        return "newer held"
    return "locked" if facts.encrypted == "user" else "damaged" if facts.damaged else ""


def files(views: Sequence[FileView], style: Style, *, superseded: Collection[str] = ()) -> list[str]:
    """Files as a table: name, what it is, on what paper, what to know before printing, whether a purchase claims it.

    `superseded` are digests of files of which a newer version is held.
    """
    columns = [
        Column(heading="File", gives=True),
        Column(heading="What", gives=True),
        Column(heading="Paper", gives=True),
        Column(heading="Bought"),
    ]
    rows = [
        [
            file_name(v),
            f"zip of {len(v.file.members)}" if v.file.members else _kind_and_concern(v, superseded),
            ", ".join(sheet_words(s) for s in v.file.facts.sheets) or "-",
            "yes" if v.item_ids else "copy" if v.duplicate_of else "no",
        ]
        for v in views
    ]
    return table(columns, rows, style)


def _kind_and_concern(view: FileView, superseded: Collection[str]) -> str:
    facts = view.file.facts
    concern = concern_words(facts, superseded=view.file.sha256 in superseded)
    return ", ".join(filter(None, [kind_words(facts), concern.upper() if concern == "scale wrong" else concern]))


def sellers(rows: Sequence[Seller], missing_counts: Mapping[str, int], style: Style) -> list[str]:
    """Sellers as a table, those at risk with their date and successor below."""
    columns = [
        Column(heading="Seller", gives=True),
        Column(heading="Domain", gives=True),
        Column(heading="Status"),
        Column(heading="Missing", right=True),
    ]
    cells = [[s.name, ", ".join(s.domains) or "-", status_words(s), str(missing_counts.get(s.id, 0))] for s in rows]
    lines = table(columns, cells, style)
    for s in rows:
        notes = [f"goes on as {s.succeeded_by}" if s.succeeded_by else ""]
        notes += [f"also known as {', '.join(s.also_known_as)}" if s.also_known_as else ""]
        notes += [f'it said: "{w.source.words}"' for w in s.words[:1]]
        doubts = [f'not believed: "{w.source.words}" ({w.source.how})' for w in s.doubted[:3]]
        if s.status != "open" or s.succeeded_by or doubts:
            for note in filter(None, [*notes, *doubts]):
                lines += wrap(plain(f"{s.name}: {note}"), style.columns, first="  ", rest="    ")
    return [style.finish(line) for line in lines]


def status_words(seller: Seller) -> str:
    """`open`, `closing 2026-12-01`, `closed`."""
    if seller.status == "open" or seller.closes_on is None:
        return seller.status
    return f"{seller.status} {seller.closes_on.isoformat()}"
