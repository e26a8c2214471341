"""How much of one PDF is looked into.

Text is read everywhere within bounds, drawn geometry only where a test square may be.  The bounds keep a file of
120 tiles cheap and a file of 5,000 pages, or one built to waste time, bounded; the guard behind them
(`vault.patterns.guard`) is for what no bound foresees.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class ReadLimits:
    """Bounds of one reading.  Past a bound the rest is left unread and a note says so; nothing fails."""

    listed_pages: int = 5_000  # pages whose size is read
    text_pages: int = 400  # pages whose text is read
    chars: int = 3_000_000  # characters of the whole file
    objects_per_page: int = 400_000  # page objects visited on one page
    paths_per_page: int = 60_000  # of these, paths looked at
    paths: int = 600_000  # and in the whole file
    form_depth: int = 8
    segments_per_page: int = 150_000  # path segments measured on one page
    segments: int = 600_000  # and in the whole file
    geometry_pages: int = 40  # pages whose geometry is measured: so many that name a square, so many that do not
    seconds: float = 40.0  # after this the remaining pages are only listed


DEFAULT_LIMITS = ReadLimits()
LIGHT_LIMITS = ReadLimits(text_pages=0, seconds=10.0)  # sizes of pages only, for a file whose pages are too much
