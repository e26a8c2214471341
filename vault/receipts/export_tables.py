"""Which table is an export of orders: a heading row by the words of the languages, and what its columns say.

A title and an order number, or a title, a day and a shop or price, are needed; balances, buyers, stock and wish lists
are other tables.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from vault.language.currencies import CODES
from vault.language.folding import fold, squeeze
from vault.receipts.export_grid import Cell, Row
from vault.receipts.mail_words import words as own_words
from vault.receipts.words import languages, trim_label, words_for

_HEADING_ROWS = 30  # rows in which the heading is looked for
_CODE_RE = re.compile(r"\(?([A-Z]{3})\)?\Z")
# Column meanings that the words of receipts give, in the order in which an ambiguous heading is resolved.
_MEANINGS = (
    *("order_number", "order_date", "seller", "title", "quantity", "unit_price", "line_amount", "price", "total"),
    *("tax", "shipping", "discount", "download", "expires", "downloads_left", "designer", "reference", "option"),
    *("status", "invoice_number", "payment_number", "refund"),
)
_OWN = ("currency", "bank", "sold", "wish")
UNNAMED = "orders without a column of things bought"


@dataclass(kw_only=True)
class ExportTable:
    """A table with its columns understood: meaning -> column number."""

    language: str
    columns: dict[str, int]
    rows: list[Row]
    delimiter: str = ""
    currency: str | None = None  # said in a heading: "Total (EUR)"
    amounts: dict[str, list[Decimal | None]] = field(default_factory=dict)
    days: dict[str, list[date | None]] = field(default_factory=dict)

    def text(self, row: int, meaning: str) -> str:
        """The cell of a row in the column of that meaning; "" if there is none."""
        column = self.columns.get(meaning)
        cells = self.rows[row]
        return squeeze(str(cells[column])) if column is not None and column < len(cells) else ""

    def column(self, meaning: str) -> list[Cell]:
        """The cells of a column that the table has."""
        number = self.columns[meaning]
        return [row[number] if number < len(row) else "" for row in self.rows]


def understand(rows: list[Row], delimiter: str) -> tuple[ExportTable | None, str]:
    """The table below its heading row, or why it is no export of orders."""
    found: tuple[int, int, str, dict[str, int]] | None = None
    for number, row in enumerate(rows[:_HEADING_ROWS]):
        cells = [str(c) for c in row]
        if sum(bool(c) for c in cells) < 2 or any(len(c) > 80 for c in cells):
            continue
        for language in languages():
            columns = _columns(cells, language)
            if found is None or len(columns) > found[0]:
                found = (len(columns), number, language, columns)
    if found is None or found[0] < 2:
        return None, "no heading that words of orders are in"
    _, number, language, columns = found
    table = ExportTable(language=language, columns=columns, rows=rows[number + 1 :], delimiter=delimiter)
    table.currency = _heading_currency([str(c) for c in rows[number]])
    _settle_valuta(table)
    reason = _is_other(table)
    return (None, reason) if reason else (table, f"an export of orders ({', '.join(sorted(columns))})")


def _columns(cells: list[str], language: str) -> dict[str, int]:
    """Meaning -> number of the first column that has it, by the words of one language."""
    words = words_for(language)
    own = {key: set(own_words(language, "columns", key)) for key in _OWN}
    out: dict[str, int] = {}
    for number, cell in enumerate(cells):
        label = trim_label(_CODE_RE.sub("", cell.strip()).strip() or cell)
        if not label:
            continue
        meaning = next((key for key in _OWN if label in own[key]), None)
        if meaning is None:
            concepts = words.read[0].labels.get(label) or words.label(cell)
            meaning = next((m for m in _MEANINGS if m in concepts and m not in out), None)
        if meaning is not None:
            out.setdefault(meaning, number)
    return out


def _settle_valuta(table: ExportTable) -> None:
    """ "Valuta" is a currency in most languages, a bank's day in German: codes of currencies below it tell."""
    if "bank" not in table.columns or "currency" in table.columns:
        return
    values = {str(c).strip().upper() for c in table.column("bank") if c is not None and str(c).strip()}
    if values and values <= CODES:
        table.columns["currency"] = table.columns.pop("bank")


def _heading_currency(cells: Iterable[str]) -> str | None:
    codes = {m.group(1) for cell in cells if (m := re.search(r"\b([A-Z]{3})\b", cell)) and m.group(1) in CODES}
    return codes.pop() if len(codes) == 1 else None


def _is_other(table: ExportTable) -> str:
    """Why the table is no export of orders; "" if it is one."""
    has = table.columns
    if "bank" in has and "order_number" not in has:
        return "a statement of an account"
    if "wish" in has and "order_number" not in has:
        return "a list of things, not of orders"
    if "sold" in has and len({fold(str(c)) for c in table.column("sold") if c}) > 1:
        return "a list of sales"
    if "title" not in has:
        return UNNAMED if _lists_orders(table) else "no column of things bought"
    priced = any(m in has for m in ("line_amount", "price", "unit_price", "total"))
    if "order_number" not in has and not ("order_date" in has and ("seller" in has or "download" in has) and priced):
        return "no column that tells an order"
    if not (priced or "order_date" in has or "seller" in has or "download" in has):
        return "no price, day or shop"
    if not (priced or "seller" in has or "download" in has) and _is_running(table):
        return "a numbered list"
    return ""


def _is_running(table: ExportTable) -> bool:
    """Whether the "order numbers" are the places in a list: 1, 2, 3 ..."""
    numbers = [table.text(row, "order_number") for row in range(min(len(table.rows), 50))]
    return [n.rstrip(".") for n in numbers if n] == [str(k) for k in range(1, 1 + sum(map(bool, numbers)))]


def _lists_orders(table: ExportTable) -> bool:
    """Whether a table without titles has numbers, days and sums of orders: what was bought is told elsewhere."""
    if not {"order_number", "order_date"} <= set(table.columns):
        return False
    money = next((m for m in ("total", "line_amount", "price") if m in table.columns), None)
    if money is None:
        return False
    return any(
        any(c.isdigit() for c in table.text(row, "order_number"))
        and any(c.isdigit() for c in table.text(row, "order_date"))
        and any(c.isdigit() for c in table.text(row, money))
        for row in range(min(len(table.rows), 50))
    )


def said_by_status(table: ExportTable) -> bool:
    """Whether the rows say themselves why they are no purchases (cancelled, unpaid), or are empty."""
    return "status" in table.columns or not any(table.text(row, "title") for row in range(min(len(table.rows), 200)))
