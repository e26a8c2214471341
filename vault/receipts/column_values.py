"""Numbers and days of a column, settled by the whole column: one file keeps one habit.

`1.234` alone may be twelve hundred or one point two; beside `5,50` in the same file it is twelve hundred.  `03/04/2024`
is two days; in a column that holds `25/04/2024` it is one.  What the column leaves open its language decides, and what
that leaves open is None.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal, InvalidOperation
from itertools import pairwise

from vault.language.dates import find_dates
from vault.receipts.export_grid import Cell

# Languages whose usual decimal sign is the point.
_POINT = frozenset(["en", "ja"])
_DIGITS_RE = re.compile(r"[-−–+(]?[^\d\-−–+(]{0,6}[-−–+]?\s?(\d[\d.,'’\s]{0,20})[^\d]{0,8}\Z")
_ENDS_RE = re.compile(r"([.,])(\d+)\Z")
_ORDER_RE = re.compile(r"\A\s*(\d{1,2})([/.-])(\d{1,2})\2((?:19|20)?\d\d)\b")


def amounts_of(
    columns: Sequence[Sequence[Cell]], language: str, comma: bool | None = None
) -> list[list[Decimal | None]]:
    """The amounts of several columns of one file, read by one habit.

    `comma` True: the delimiter leaves the comma to the decimals, which speaks for it where nothing else does.
    """
    texts = [str(cell) for column in columns for cell in column if isinstance(cell, str) and cell]
    sign = _decimal_sign(texts, language, comma)
    return [[_amount(cell, sign) for cell in column] for column in columns]


def _decimal_sign(texts: Sequence[str], language: str, comma: bool | None) -> str | None:
    """The decimal sign of a file: by numbers that leave no choice, else by delimiter and language; None if unknown."""
    votes = {",": 0, ".": 0}
    open_question = False
    for text in texts[:5_000]:
        digits = _digits(text)
        found = _ENDS_RE.search(digits)
        if not found:
            continue
        sign, tail = found.groups()
        other = "," if sign == "." else "."
        if other in digits:
            votes[sign] += 1  # both signs: the last one is the decimal sign
        elif digits.count(sign) > 1:
            votes[other] += 1  # a repeated sign separates groups
        elif len(tail) != 3:
            votes[sign] += 1
        else:
            open_question = True
    if votes[","] != votes["."]:
        return "," if votes[","] > votes["."] else "."
    if not open_question:
        return "."
    if comma:
        return ","
    return "." if language in _POINT else ","


def _digits(text: str) -> str:
    found = _DIGITS_RE.match(text.strip())
    return re.sub(r"\s", "", found.group(1)) if found else ""


def _amount(cell: Cell, sign: str | None) -> Decimal | None:
    if isinstance(cell, Decimal):
        return cell
    if not isinstance(cell, str):
        return None
    text = cell.strip()
    digits = _digits(text)
    if not digits or sign is None:
        return None
    group = "." if sign == "," else ","
    plain = re.sub(rf"[{group}'’]", "", digits).replace(sign, ".")
    try:
        value = Decimal(plain.rstrip("."))
    except InvalidOperation:
        return None
    negative = text[:1] in "-−–(" or re.search(r"[-−–]\s?\d", text[:8]) is not None
    return -value if negative else value


def days_of(column: Sequence[Cell], language: str) -> list[date | None]:
    """The days of a column; where day and month could be exchanged, the column's other days decide."""
    orders = [m for cell in column if isinstance(cell, str) and (m := _ORDER_RE.match(cell))]
    day_first: bool | None = None
    if any(int(m.group(1)) > 12 for m in orders):
        day_first = True
    elif any(int(m.group(3)) > 12 for m in orders):
        day_first = False
    elif orders and (language != "en" or any(m.group(2) == "." for m in orders)):
        day_first = True
    elif orders:
        day_first = _by_sequence(orders)
    return [_day(cell, day_first, language) for cell in column]


def _by_sequence(orders: Sequence[re.Match[str]]) -> bool | None:
    """Exports are sorted by day: the reading under which the column is in order."""
    sorted_under: dict[bool, bool] = {}
    for day_first in (True, False):
        days = [d for m in orders if (d := _numeric(m, day_first)) is not None]
        rising = all(a <= b for a, b in pairwise(days))
        falling = all(a >= b for a, b in pairwise(days))
        sorted_under[day_first] = len(set(days)) > 2 and (rising or falling)
    if sorted_under[True] != sorted_under[False]:
        return sorted_under[True]
    return None


def _numeric(found: re.Match[str], day_first: bool) -> date | None:
    first, second = int(found.group(1)), int(found.group(3))
    year = int(found.group(4))
    year += 2000 if year < 80 else 1900 if year < 100 else 0
    try:
        return date(year, second, first) if day_first else date(year, first, second)
    except ValueError:
        return None


def _day(cell: Cell, day_first: bool | None, language: str) -> date | None:
    if isinstance(cell, date):
        return cell
    if not isinstance(cell, str) or not cell:
        return None
    found = _ORDER_RE.match(cell)
    if found:
        both = {_numeric(found, True), _numeric(found, False)}
        if day_first is None:
            return both.pop() if len(both) == 1 else None
        return _numeric(found, day_first)
    days = find_dates(cell[:80], language)
    return days[0].value if days else None


def whole_number(text: str) -> int | None:
    """A count of at most six digits, also as `2.0` or `2 x`; None for anything else."""
    found = re.match(r"\A(?:[x×]\s?)?(\d{1,6})(?:[.,]0{1,3})?(?:\s?[x×])?\Z", text.strip())
    return int(found.group(1)) if found else None
