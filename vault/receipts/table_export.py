"""Exports of orders (CSV, workbook) -> claims.

Strategy: a heading row is found by the words of the languages; the columns it names decide whether the table is an
export of orders at all.  A title and an order number, or a title, a day and a shop or price, are needed; balances,
buyers, stock and wish lists are other tables and give nothing.  How a column writes numbers and days is settled by the
whole column (one file, one habit), not cell by cell.  Rows of one number are one order; a row that leaves number and
day blank goes on with the order above it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from vault.language.currencies import CODES, SIGNS
from vault.language.folding import fold, squeeze
from vault.model.evidence import (
    DocumentKind,
    DocumentReading,
    DownloadLink,
    EvidenceKind,
    FieldSource,
    ItemClaim,
    PurchaseClaim,
)
from vault.receipts.column_values import amounts_of, days_of, whole_number
from vault.receipts.export_grid import Cell, Row, csv_rows, sheet_rows
from vault.receipts.goods import Setting, kind_of, promised_parts
from vault.receipts.mail_words import words as own_words
from vault.receipts.words import languages, trim_label, words_for

_HEADING_ROWS = 30  # rows in which the heading is looked for
_MAX_ORDERS = 20_000
_SPLIT_RE = re.compile(r"\s*(?:\n|\s\|\s|;\s)\s*")
_URL_RE = re.compile(r"https?://[^\s<>\"']{4,1000}")
_CODE_RE = re.compile(r"\(?([A-Z]{3})\)?\Z")
# Column meanings that the words of receipts give, in the order in which an ambiguous heading is resolved.
_MEANINGS = (
    *("order_number", "order_date", "seller", "title", "quantity", "unit_price", "line_amount", "price", "total"),
    *("tax", "shipping", "discount", "download", "expires", "downloads_left", "designer", "reference", "option"),
    *("status", "invoice_number", "payment_number", "refund"),
)
_MONEY = ("total", "line_amount", "price", "unit_price", "tax", "shipping", "discount", "refund")
_OWN = ("currency", "bank", "sold", "wish")


@dataclass(kw_only=True)
class _Table:
    """A table with its columns understood: meaning -> column number."""

    language: str
    columns: dict[str, int]
    rows: list[Row]
    delimiter: str = ""
    currency: str | None = None  # said in a heading: "Total (EUR)"
    amounts: dict[str, list[Decimal | None]] = field(default_factory=dict)
    days: dict[str, list[date | None]] = field(default_factory=dict)

    def text(self, row: int, meaning: str) -> str:
        column = self.columns.get(meaning)
        cells = self.rows[row]
        return squeeze(str(cells[column])) if column is not None and column < len(cells) else ""

    def column(self, meaning: str) -> list[Cell]:
        number = self.columns[meaning]
        return [row[number] if number < len(row) else "" for row in self.rows]


def read_csv(raw: bytes, name: str = "") -> DocumentReading:
    """What a CSV file says: the orders of an export, or nothing with the reason.  Never raises."""
    rows, delimiter = csv_rows(raw)
    return _reading(EvidenceKind.CSV, [rows], delimiter)


def read_sheet(raw: bytes, name: str = "") -> DocumentReading:
    """What a workbook says: the orders of its sheets, or nothing with the reason.  Never raises."""
    return _reading(EvidenceKind.SHEET, sheet_rows(raw), "")


def _reading(kind: EvidenceKind, sheets: list[list[Row]], delimiter: str) -> DocumentReading:
    claims: list[PurchaseClaim] = []
    signs: list[str] = []
    language: str | None = None
    for rows in sheets:
        table, reason = _understand(rows, delimiter)
        signs.append(reason)
        if table is not None:
            language = language or table.language
            claims += _claims(table)
    days = [c.purchased_on for c in claims if c.purchased_on]
    return DocumentReading(
        kind=kind,
        document=DocumentKind.HISTORY if claims else DocumentKind.OTHER,
        signs=tuple(dict.fromkeys(signs)) or ("no table",),
        language=language,
        dated=max(days, default=None),
        claims=tuple(claims[:_MAX_ORDERS]),
        text="\n".join(" ".join(str(c) for c in row if c) for rows in sheets for row in rows[:2_000])[:200_000]
        if claims
        else "",
    )


# --- headings ---------------------------------------------------------------------------------


def _understand(rows: list[Row], delimiter: str) -> tuple[_Table | None, str]:
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
    table = _Table(language=language, columns=columns, rows=rows[number + 1 :], delimiter=delimiter)
    table.currency = _heading_currency([str(c) for c in rows[number]])
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


def _heading_currency(cells: Iterable[str]) -> str | None:
    codes = {m.group(1) for cell in cells if (m := re.search(r"\b([A-Z]{3})\b", cell)) and m.group(1) in CODES}
    return codes.pop() if len(codes) == 1 else None


def _is_other(table: _Table) -> str:
    """Why the table is no export of orders; "" if it is one."""
    has = table.columns
    if "bank" in has and "order_number" not in has:
        return "a statement of an account"
    if "wish" in has and "order_number" not in has:
        return "a list of things, not of orders"
    if "sold" in has and len({fold(str(c)) for c in table.column("sold") if c}) > 1:
        return "a list of sales"
    if "title" not in has:
        return "no column of things bought"
    priced = any(m in has for m in ("line_amount", "price", "unit_price", "total"))
    if "order_number" not in has and not ("order_date" in has and ("seller" in has or "download" in has) and priced):
        return "no column that tells an order"
    if not (priced or "order_date" in has or "seller" in has or "download" in has):
        return "no price, day or shop"
    return ""


# --- rows -------------------------------------------------------------------------------------


def _claims(table: _Table) -> list[PurchaseClaim]:
    comma = True if table.delimiter == ";" else None
    money = [m for m in _MONEY if m in table.columns]
    for meaning, values in zip(money, amounts_of([table.column(m) for m in money], table.language, comma)):
        table.amounts[meaning] = values
    for dated in ("order_date", "expires"):
        if dated in table.columns:
            table.days[dated] = days_of(table.column(dated), table.language)
    out = []
    for members in _orders(table):
        claim = _claim(table, members)
        if claim is not None:
            out.append(claim)
        if len(out) >= _MAX_ORDERS:
            break
    return out


def _orders(table: _Table) -> list[list[int]]:
    """Row numbers of each order, in the order of their first rows."""
    by_key: dict[tuple[str, str], list[int]] = {}
    current: list[int] | None = None
    loose: list[list[int]] = []
    for number in range(len(table.rows)):
        if not table.text(number, "title"):
            continue
        order, seller = fold(table.text(number, "order_number")), fold(table.text(number, "seller"))
        if "order_number" in table.columns:
            if not order:
                goes_on = current is not None and not table.text(number, "order_date")
                if goes_on and current is not None:
                    current.append(number)
                continue
            current = by_key.setdefault((order, seller), [])
            current.append(number)
        else:
            loose.append([number])
    return list(by_key.values()) or _runs(table, loose)


def _runs(table: _Table, rows: list[list[int]]) -> list[list[int]]:
    """Rows without numbers: neighbours of one day and shop are one order where one total is the sum of their lines."""
    totals = table.amounts.get("total")
    lines = table.amounts.get("line_amount") or table.amounts.get("price") or table.amounts.get("unit_price")
    if totals is None or lines is None:
        return rows
    out: list[list[int]] = []
    k = 0
    while k < len(rows):
        end = k + 1
        while end < len(rows) and _same_order(table, rows[k][0], rows[end][0]):
            end += 1
        run = [r for entry in rows[k:end] for r in entry]
        known = [lines[r] for r in run]
        if len(run) > 1 and sum((a or Decimal(0) for a in known), Decimal(0)) == totals[run[0]]:
            out.append(run)
        else:
            out += [[r] for r in run]
        k = end
    return out


def _same_order(table: _Table, one: int, other: int) -> bool:
    return all(table.text(one, m) == table.text(other, m) for m in ("order_date", "seller", "total"))


def _claim(table: _Table, rows: list[int]) -> PurchaseClaim | None:
    first = rows[0]
    items: list[ItemClaim] = []
    for row in rows:
        items += _items(table, row)
    if not items:
        return None
    day = table.days["order_date"][first] if "order_date" in table.days else None
    total = _total(table, rows, items)
    currency = _currency(table, first)
    values = {
        "seller": table.text(first, "seller") or None,
        "order_number": table.text(first, "order_number") or table.text(first, "invoice_number") or None,
        "payment_number": table.text(first, "payment_number") or None,
        "purchased_on": day,
        "currency": currency,
        "total": total,
        **{m: _once(table, rows, m) for m in ("tax", "shipping", "discount")},
    }
    state = _state(table, rows)
    if state == "cancelled" or state == "failed":
        document = DocumentKind.CANCELLATION if state == "cancelled" else DocumentKind.FAILED_PAYMENT
    else:
        document = DocumentKind.HISTORY
    sources = [
        FieldSource(field=name, words=str(value), how=_where(table, name, first))
        for name, value in values.items()
        if value is not None
    ]
    return PurchaseClaim(
        document=document,
        date_printed=day is not None,
        items=tuple(items),
        refunded=True if state == "refunded" else None if state == "partly" else False,
        refund_amount=_once(table, rows, "refund") or None,
        cancelled=state == "cancelled",
        unpaid=state == "failed",
        sources=tuple(sources),
        **values,  # type: ignore[arg-type]
    )


def _where(table: _Table, name: str, row: int) -> str:
    column = table.columns.get("order_date" if name == "purchased_on" else name)
    return f"row {row + 1} of the table" + (f", column {column + 1}" if column is not None else "")


def _items(table: _Table, row: int) -> list[ItemClaim]:
    quantity = whole_number(table.text(row, "quantity"))
    cell = _raw_text(table, row, "title")
    # One row for a whole order lists its titles in one cell; a row of one piece is one title, whatever signs it holds.
    titles = [t for t in (_SPLIT_RE.split(cell) if quantity != 1 else [cell]) if t.strip()][:100]
    amount = _line_amount(table, row, quantity)
    links = _links(table, row)
    words = words_for(table.language)
    out = []
    for title in titles:
        text = squeeze(title)
        option = table.text(row, "option")
        linked = bool(links) and len(titles) == 1
        kind = kind_of(
            text,
            [option],
            words,
            Setting(patterns=False, downloads=bool(links), ships=False),
            linked=linked,
            fetched=False,
        )
        out.append(
            ItemClaim(
                title=text,
                designer=table.text(row, "designer") or None,
                quantity=quantity if len(titles) == 1 else None,
                amount=amount if len(titles) == 1 else None,
                digital=kind.digital,
                craft_pattern=kind.craft_pattern,
                options=(option,) if option else (),
                product_code=table.text(row, "reference") or None if len(titles) == 1 else None,
                promised=promised_parts([text, option], words),
                links=links if len(titles) == 1 else (),
            )
        )
    return out


def _raw_text(table: _Table, row: int, meaning: str) -> str:
    """A cell with its line ends."""
    cells, column = table.rows[row], table.columns[meaning]
    return str(cells[column]) if column < len(cells) else ""


def _line_amount(table: _Table, row: int, quantity: int | None) -> Decimal | None:
    for meaning in ("line_amount", "price"):
        if meaning in table.amounts:
            return table.amounts[meaning][row]
    unit = table.amounts["unit_price"][row] if "unit_price" in table.amounts else None
    if unit is not None:
        return unit * (quantity or 1)
    return None


def _total(table: _Table, rows: list[int], items: Sequence[ItemClaim]) -> Decimal | None:
    """The total printed for the order; without such a column what its lines make, if all are known.

    A column of totals may repeat that of the order on each row, or hold that of each line: the lines tell.
    """
    lines = [i.amount for i in items]
    summed = sum((a for a in lines if a is not None), Decimal(0)) if lines and None not in lines else None
    known = [t for r in rows if (t := table.amounts["total"][r]) is not None] if "total" in table.amounts else []
    if not known:
        return summed if len(items) >= len(rows) else None
    if len(rows) == 1 or len(known) == 1:
        return known[0]
    if len(set(known)) == 1:
        return known[0] if summed is not None else None
    return sum(known, Decimal(0))


def _once(table: _Table, rows: list[int], meaning: str) -> Decimal | None:
    """An amount of the order: said once, or the same on every row."""
    if meaning not in table.amounts:
        return None
    known = {a for r in rows if (a := table.amounts[meaning][r]) is not None}
    return known.pop() if len(known) == 1 else None


def _currency(table: _Table, row: int) -> str | None:
    said = table.text(row, "currency")
    if said.upper() in CODES:
        return said.upper()
    candidates: list[tuple[str, ...]] = []
    cells = [said, *(table.text(row, m) for m in ("total", "line_amount", "price", "unit_price"))]
    for cell in cells:
        letters = re.sub(r"[\d.,'’\s\u00a0\u202f+-]", "", cell)
        if letters.upper() in CODES:
            return letters.upper()
        if (codes := _SIGNS.get(letters.casefold())) is not None:
            candidates.append(codes)
    if candidates and len(candidates[0]) == 1:
        return candidates[0][0]
    if table.currency:
        return table.currency
    if candidates:
        from vault.language.amounts import settle_currency

        return settle_currency(candidates[0], table.language)
    return None


_SIGNS = {sign.casefold(): codes for sign, codes in SIGNS.items()}


def _state(table: _Table, rows: list[int]) -> str:
    """What the status column says: refunded, partly, cancelled, failed or ""."""
    said = {fold(table.text(row, "status")) for row in rows} - {""}
    for key in ("partly", "refunded", "cancelled", "failed"):
        words = {w for language in languages() for w in own_words(language, "columns", key)}
        if said and all(s in words for s in said):
            return key
        if key == "refunded" and said & words:
            return "partly"
    return ""


def _links(table: _Table, row: int) -> tuple[DownloadLink, ...]:
    if "download" not in table.columns:
        return ()
    urls = _URL_RE.findall(_raw_text(table, row, "download"))
    return tuple(
        DownloadLink(
            url=url.rstrip(".,;)"),
            expires_on=table.days["expires"][row] if "expires" in table.days else None,
            downloads_left=whole_number(table.text(row, "downloads_left")),
        )
        for url in urls[:50]
    )
