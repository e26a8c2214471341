"""Exports of orders (CSV, workbook) -> claims.

Strategy: a heading row is found by the words of the languages; the columns it names decide whether the table is an
export of orders at all.  A title and an order number, or a title, a day and a shop or price, are needed; balances,
buyers, stock and wish lists are other tables and give nothing.  How a column writes numbers and days is settled by the
whole column (one file, one habit), not cell by cell.  Rows of one number are one order; a row that leaves number and
day blank goes on with the order above it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
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
    Problem,
    PurchaseClaim,
)
from vault.receipts.column_values import amounts_of, days_of, whole_number
from vault.receipts.export_grid import Row, csv_rows, sheet_rows
from vault.receipts.export_tables import UNNAMED, ExportTable, said_by_status, understand
from vault.receipts.goods import Setting, kind_of, promised_parts
from vault.receipts.mail_words import words as own_words
from vault.receipts.words import languages, words_for

_MAX_ORDERS = 20_000
_SPLIT_RE = re.compile(r"\s*(?:\n|\s\|\s|;\s)\s*")
_URL_RE = re.compile(r"https?://[^\s<>\"']{4,1000}")
_MONEY = ("total", "line_amount", "price", "unit_price", "tax", "shipping", "discount", "refund")
_NEXT = "export the items of the orders too, or type them in: pinfold record --seller NAME --title TITLE --on DATE"


def read_csv(raw: bytes, name: str = "") -> DocumentReading:
    """What a CSV file says: the orders of an export, a problem, or nothing with the reason.  Never raises."""
    rows, delimiter = csv_rows(raw)
    return _reading(EvidenceKind.CSV, [rows], delimiter, name)


def read_sheet(raw: bytes, name: str = "") -> DocumentReading:
    """What a workbook says: the orders of its sheets, a problem, or nothing with the reason.  Never raises."""
    return _reading(EvidenceKind.SHEET, sheet_rows(raw), "", name)


def _reading(kind: EvidenceKind, sheets: list[list[Row]], delimiter: str, name: str) -> DocumentReading:
    claims: list[PurchaseClaim] = []
    unread: str | None = None
    signs: list[str] = []
    language: str | None = None
    for rows in sheets:
        table, reason = understand(rows, delimiter)
        signs.append(reason)
        if table is not None:
            language = language or table.language
            found = _claims(table)
            claims += found
            if not found and len(table.rows) and not said_by_status(table):
                unread = "it looks like an export of orders, but no order in it could be read"
        elif reason == UNNAMED:
            unread = "it lists orders, but no column says what was bought"
    days = [c.purchased_on for c in claims if c.purchased_on]
    return DocumentReading(
        kind=kind,
        document=DocumentKind.HISTORY if claims else DocumentKind.OTHER,
        signs=tuple(dict.fromkeys(signs)) or ("no table",),
        language=language,
        dated=max(days, default=None),
        claims=tuple(claims[:_MAX_ORDERS]),
        problems=(Problem(source=name, reason=unread, next=_NEXT),) if unread and not claims else (),
        text="\n".join(" ".join(str(c) for c in row if c) for rows in sheets for row in rows[:2_000])[:200_000]
        if claims
        else "",
    )


# --- rows -------------------------------------------------------------------------------------


def _claims(table: ExportTable) -> list[PurchaseClaim]:
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


def _orders(table: ExportTable) -> list[list[int]]:
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


def _runs(table: ExportTable, rows: list[list[int]]) -> list[list[int]]:
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


def _same_order(table: ExportTable, one: int, other: int) -> bool:
    return all(table.text(one, m) == table.text(other, m) for m in ("order_date", "seller", "total"))


def _claim(table: ExportTable, rows: list[int]) -> PurchaseClaim | None:
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


def _where(table: ExportTable, name: str, row: int) -> str:
    column = table.columns.get("order_date" if name == "purchased_on" else name)
    return f"row {row + 1} of the table" + (f", column {column + 1}" if column is not None else "")


def _items(table: ExportTable, row: int) -> list[ItemClaim]:
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


def _raw_text(table: ExportTable, row: int, meaning: str) -> str:
    """A cell with its line ends."""
    cells, column = table.rows[row], table.columns[meaning]
    return str(cells[column]) if column < len(cells) else ""


def _line_amount(table: ExportTable, row: int, quantity: int | None) -> Decimal | None:
    for meaning in ("line_amount", "price"):
        if meaning in table.amounts:
            return table.amounts[meaning][row]
    unit = table.amounts["unit_price"][row] if "unit_price" in table.amounts else None
    if unit is not None:
        return unit * (quantity or 1)
    return None


def _total(table: ExportTable, rows: list[int], items: Sequence[ItemClaim]) -> Decimal | None:
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


def _once(table: ExportTable, rows: list[int], meaning: str) -> Decimal | None:
    """An amount of the order: said once, or the same on every row."""
    if meaning not in table.amounts:
        return None
    known = {a for r in rows if (a := table.amounts[meaning][r]) is not None}
    return known.pop() if len(known) == 1 else None


def _currency(table: ExportTable, row: int) -> str | None:
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


_STATUS_PARTS_RE = re.compile(r"\s*[,;:/()|·]\s*|\s+[-–—]\s+")


def _state(table: ExportTable, rows: list[int]) -> str:
    """What the status column says: refunded, partly, cancelled, failed or ""."""
    said = {fold(table.text(row, "status")) for row in rows} - {""}
    for key in ("partly", "refunded", "cancelled", "failed"):
        words = {w for language in languages() for w in own_words(language, "columns", key)}
        fits = [bool(words & {s, *_STATUS_PARTS_RE.split(s)}) for s in said]  # "Cancelled - not paid"
        if fits and all(fits):
            return key
        if key == "refunded" and any(fits):
            return "partly"
    return ""


def _links(table: ExportTable, row: int) -> tuple[DownloadLink, ...]:
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
