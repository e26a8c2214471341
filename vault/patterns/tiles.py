"""Tiles that are not there: the pages of a tiled sheet say "7 of 15", and some number never comes.

Only counted labels are believed.  Grid labels ("B3") skip where a maker leaves out empty tiles, which is no fault.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from vault.model.pdf import PageReading
from vault.patterns.sheet_words import COUNT_RE, fold

_MOST = 400  # tiles; a larger count is no count of tiles


def _counted(page: PageReading) -> list[tuple[int, int]]:
    found = []
    for run in page.runs:
        if len(run.text) <= 30 and (match := COUNT_RE.fullmatch(fold(run.text).strip())):
            number, total = int(match[1]), int(match[2])
            if 1 <= number <= total <= _MOST and total > 1:
                found.append((number, total))
    return found


def missing_tiles(pages: Sequence[PageReading], uses: Sequence[str]) -> tuple[int, ...]:
    """The numbers of the tiles that the labels count but no page of the file bears."""
    tiles = [page for page, use in zip(pages, uses, strict=True) if use == "tiled" and page.text_read]
    labels = [_counted(page) for page in tiles]
    totals = Counter(total for found in labels for total in {total for _, total in found})
    if not totals:
        return ()
    total, times = totals.most_common(1)[0]
    numbers = {number for found in labels for number, its_total in found if its_total == total}
    if times < max(2, 0.6 * len(tiles)) or len(tiles) >= total or len(numbers) < times:
        return ()
    return tuple(number for number in range(1, total + 1) if number not in numbers)


def said(missing: Sequence[int], *, at_most: int = 12) -> str:
    """The reason in words."""
    names = ", ".join(str(number) for number in missing[:at_most])
    return f"tiles are missing: {names}" + (" and more" if len(missing) > at_most else "")
