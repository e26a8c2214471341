"""What the reading of rows keeps in mind from line to line."""

from __future__ import annotations

from vault.receipts.headings import Header, fact_lines
from vault.receipts.row import Row
from vault.receipts.view import Spot, View
from vault.receipts.words import TOTALS


class RowState:
    """The rows found so far, and what stood before an amount that has no title of its own."""

    def __init__(self, view: View, start: int, stop: int) -> None:
        self.view, self.start, self.stop = view, start, stop
        self.words = view.words
        self.rows: list[Row] = []
        self.header: Header | None = None
        self.above: list[tuple[int, Spot]] = []  # lines that may be the title of the next amount
        self.count: int | None = None
        self.figures: list[Spot] = []  # counts, codes and prices that came before their title
        self.run = 0
        self.facts = fact_lines(view)

    def clear(self) -> None:
        """Forget what stood above: it belongs to nothing that follows."""
        self.above.clear()
        self.figures.clear()
        self.count = None

    def keep(self, row: Row) -> None:
        """Take a row in; one that is called like a day is none."""
        if any(c.isdigit() for c in row.title) and len(row.title) < 40:
            days = self.view.dates_in(row.title)
            if days and days[0].end - days[0].start >= len(row.title) - 3:
                self.clear()
                return
        row.links = list(dict.fromkeys(row.links))
        self.rows.append(row)
        self.clear()

    def index(self, spot: Spot) -> int:
        """The spot's place in the view."""
        found = self.view.spot_at(spot.line, spot.cell, spot.piece)
        return found if found is not None else 0

    def breaks(self, line: int) -> bool:
        """Whether a line parts the rows before it from those after it: a heading, a sum."""
        spots = self.view.of_line(line)
        return any(s.heading or (s.whole and set(s.concepts) & TOTALS) for s in spots)

    def summed(self, line: int) -> bool:
        """Whether a sum stands between the last row and a line: what follows it is the whole order's."""
        between = range(self.rows[-1].last_line + 1, line)
        return any(s.label and set(s.concepts) & {"total", "subtotal"} for n in between for s in self.view.of_line(n))

    def breaks_hard(self, line: int) -> bool:
        """Whether a line names a sum."""
        return any(s.whole and set(s.concepts) & TOTALS for s in self.view.of_line(line))
