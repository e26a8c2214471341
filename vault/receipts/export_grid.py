"""A CSV file or a workbook as rows of cells: bytes in, text (and dates and numbers of a workbook) out.

Strategy: nothing is believed.  The encoding is proved (`charsets`), the delimiter is the one under which most rows have
the same number of cells, formulas and the marks that guard against them are text.  A workbook is opened read-only and
only after its zip directory has been looked at: a bomb costs nothing.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections import Counter
from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal

from vault.receipts.charsets import decode_text

Cell = str | date | Decimal
Row = tuple[Cell, ...]

MAX_ROWS = 100_000
MAX_COLUMNS = 200
MAX_CELL = 4_000
MAX_SHEETS = 20
MAX_TEXT = 64 << 20
MAX_UNZIPPED = 256 << 20
_DELIMITERS = (",", ";", "\t", "|")


def csv_rows(raw: bytes) -> tuple[list[Row], str]:
    """The rows of a CSV file and its delimiter; no rows where it is no table."""
    text = decode_text(raw[:MAX_TEXT])
    first, _, rest = text.partition("\n")
    stated = first.strip().strip('"').casefold()
    if stated.startswith("sep=") and len(stated) <= 5:  # a line for spreadsheet programs
        delimiter = stated[4:] or "\t"
        text = rest
    else:
        delimiter = _delimiter(text)
    if not delimiter or len(delimiter) != 1:
        return [], ""
    return list(_parse(text, delimiter, MAX_ROWS)), delimiter


def _delimiter(text: str) -> str:
    """The delimiter under which the first rows agree best on a number of cells; "" if there is none."""
    head = text[:65_536]
    best, score = "", 0.0
    for delimiter in _DELIMITERS:
        rows = list(_parse(head, delimiter, 60))
        counts = Counter(len(row) for row in rows if any(row))
        if not counts:
            continue
        width, agreeing = max(counts.items(), key=lambda entry: (entry[1] * (entry[0] > 1), entry[0]))
        if width < 2:
            continue
        found = agreeing / sum(counts.values()) * min(width, 6)
        if found > score:
            best, score = delimiter, found
    return best


def _parse(text: str, delimiter: str, limit: int) -> Iterator[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    count = 0
    while count < limit:
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error:  # a cell without end: only its line is lost
            count += 1
            continue
        count += 1
        yield tuple(plain_cell(cell) for cell in row[:MAX_COLUMNS])


def plain_cell(text: str) -> str:
    """A cell without what programs put around it: the apostrophe against formulas (OWASP), `="000123"`, blanks."""
    text = text[:MAX_CELL].strip().strip("\u00a0\u200b\ufeff")
    if text.startswith('="') and text.endswith('"'):
        text = text[2:-1]
    if text.startswith("'") and text[1:2] in "=+-@\t\r":
        text = text[1:]
    return text.strip()


def sheet_rows(raw: bytes) -> list[list[Row]]:
    """The rows of each sheet of a workbook; none where it cannot be opened or is over a limit."""
    if not _is_bearable(raw):
        return []
    from openpyxl import load_workbook  # heavy, and seldom needed

    try:
        book = load_workbook(io.BytesIO(raw), read_only=True, data_only=True, keep_links=False)
    except Exception:  # noqa: BLE001 - openpyxl fails in many ways on damaged files; no workbook is the answer
        return []
    out: list[list[Row]] = []
    try:
        for sheet in book.worksheets[:MAX_SHEETS]:
            out.append(_sheet(sheet))
    except Exception:  # noqa: BLE001 - a damaged sheet ends the reading; what was read before it counts
        pass
    finally:
        book.close()
    return out


def _is_bearable(raw: bytes) -> bool:
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            entries = archive.infolist()
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError):
        return False
    size = sum(entry.file_size for entry in entries)
    return len(entries) <= 2_000 and size <= MAX_UNZIPPED and size <= max(len(raw) * 400, 8 << 20)


def _sheet(sheet: object) -> list[Row]:
    rows: list[Row] = []
    for values in sheet.iter_rows(values_only=True, max_col=MAX_COLUMNS):  # type: ignore[attr-defined]
        rows.append(tuple(_sheet_cell(value) for value in values))
        if len(rows) >= MAX_ROWS:
            break
    while rows and not any(rows[-1]):
        rows.pop()
    return rows


def _sheet_cell(value: object) -> Cell:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, (int, float)):
        return _number(value)
    return plain_cell(str(value))


def _number(value: float) -> Cell:
    """A number of a workbook as the person sees it: 12.5, not 12.499999999999998."""
    if isinstance(value, int):
        return Decimal(value) if abs(value) < 10**15 else str(value)
    if value != value or value in (float("inf"), float("-inf")):
        return ""
    return Decimal(repr(round(value, 6))).normalize() + 0
