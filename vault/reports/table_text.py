"""Tables as CSV (RFC 4180) that a spreadsheet program opens and that cannot run anything there.

A cell that a spreadsheet would take for a formula gets an apostrophe before it (the advice of OWASP on CSV injection):
titles and names come from strangers.  Numbers, negative ones too, stay numbers.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

from vault.reports.text import plain

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_NUMBER_RE = re.compile(r"-?[0-9]{1,20}([.,][0-9]{1,10})?\Z")
_MARK = b"\xef\xbb\xbf"  # without it some spreadsheet programs take UTF-8 for something older


def guarded(value: object) -> str:
    """One cell: text on one line, with an apostrophe before what looks like a formula; None is empty."""
    text = "" if value is None else value if isinstance(value, str) else str(value)
    clean = plain(text)
    if (clean.startswith(_FORMULA) or text.startswith(_FORMULA)) and not _NUMBER_RE.match(clean):
        return f"'{clean}"
    return clean


def csv_bytes(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A table with its header, in UTF-8 with a byte-order mark, lines ending CR LF."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    return _MARK + out.getvalue().encode("utf-8")
