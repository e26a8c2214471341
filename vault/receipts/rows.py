"""The things sold: rows of tables with or without headings, single lines with a price, lines below each other."""

from __future__ import annotations

import re

from vault.receipts.headings import header_of
from vault.receipts.row import Row
from vault.receipts.row_cells import CellRows
from vault.receipts.row_lines import LineRows
from vault.receipts.titles import is_action, may_be_title, tell
from vault.receipts.view import Spot, View

_ENUMERATED_RE = re.compile(r"[(\[]?(\d{1,2})(?:\.\s+|[)\]]\s*)(?=\S)")
_BARE_COUNT_RE = re.compile(r"(\d{1,2})\s+(?=[^\W\d_])")


def read_rows(view: View, start: int, stop: int) -> list[Row]:
    """Every row that may be a thing sold between two lines, in reading order."""
    reader = _Reader(view, start, stop)
    reader.read()
    reader.regular()
    return reader.rows


class _Reader(CellRows, LineRows):
    """Goes through the lines once, then lets the rows of one make settle what one of them leaves open."""

    def read(self) -> None:
        line = self.start
        while line < self.stop:
            cells = self.view.lines[line].cells
            if not cells:
                self.clear()
            elif len(cells) == 1:
                self.single(line)
            else:
                header = header_of(self.view, line)
                if header is not None:
                    self.header = header
                    self.clear()
                elif line in self.facts:
                    self.clear()
                elif (pair := self.pair_row(line)) is not None:
                    self.line_spot(line, pair, False)
                elif not self.cell_row(line):
                    self.loose(line)
            line += 1

    def regular(self) -> None:
        """What one row leaves open, its neighbours of the same make settle."""
        groups: dict[str, list[Row]] = {}
        for row in self.rows:
            groups.setdefault(row.group, []).append(row)
        for group in groups.values():
            self._same_height(group)
            self._leading_counts(group)
            self._enumerated(group)
        self._sold_by()

    def _sold_by(self) -> None:
        """Headings "Sold by X" above the rows of several sellers, as a marketplace prints them.

        Only where the same label names different sellers, each has rows of its own, and no row stands above the first.
        """
        marks: dict[str, list[tuple[int, str]]] = {}  # label -> line and name
        for number in range(self.start, self.stop):
            spots = self.view.of_line(number)
            if len(spots) != 1 or spots[0].amounts or not 4 < len(spots[0].text) <= 80:
                continue
            for concepts, label, rest in self.words.leading(spots[0].text):
                name = rest.strip(" :：–—-·|")
                if "seller" in concepts and 1 < len(name) <= 60 and not any(c.isdigit() for c in name):
                    marks.setdefault(label, []).append((number, name))
                    break
        for found in marks.values():
            names = {name.casefold() for _, name in found}
            owners = [sum(line < row.line for line, _ in found) for row in self.rows]
            if 2 <= len(names) == len(found) and set(owners) == set(range(1, len(found) + 1)):
                for row, owner in zip(self.rows, owners):
                    row.seller = row.seller or found[owner - 1][1]
                return

    def _same_height(self, group: list[Row]) -> None:
        """Items printed as the same number of lines begin with their title, each on the first of them."""
        heights = {len(r.above) for r in group[1:]}
        if len(group) < 2 or len(heights) != 1 or not group[0].group.startswith("lines below"):
            return
        height = heights.pop()
        if height < 2 or len(group[0].above) < height:
            return
        picks = [row.above[-height] for row in group]
        if not all(spot.text == row.title or self._names(spot) for row, (_, spot) in zip(group, picks)):
            return
        for row, (line, spot) in zip(group, picks):
            if spot.text == row.title:
                continue
            old = row.title
            row.title, row.line, row.spot = tell(spot.text, self.words).title, line, self.index(spot)
            row.options = [o for o in row.options if o != spot.text]
            if old not in row.options:
                row.options.append(old)

    def _names(self, spot: Spot) -> bool:
        """Whether a line can be the title of an item: no label, no day, no button."""
        fits = not spot.label and may_be_title(spot.text, self.words)
        return fits and not self._only_day(spot) and not is_action(spot, self.view)

    def _leading_counts(self, group: list[Row]) -> None:
        """Rows that all begin with a small number begin with the count ("1 PATTERN", "3 RIBBON")."""
        matches = [_BARE_COUNT_RE.match(r.title) for r in group]
        if len(group) < 2 or not all(matches) or any(r.quantity for r in group):
            return
        for row, match in zip(group, matches):
            if match is not None:
                row.quantity, row.title = int(match.group(1)) or None, row.title[match.end() :].rstrip(" @")

    def _enumerated(self, group: list[Row]) -> None:
        """Rows numbered "1.", "2.", ... lose their number."""
        matches = [_ENUMERATED_RE.match(r.title) for r in group]
        if not all(m is not None and int(m.group(1)) == n for n, m in enumerate(matches, 1)):
            return
        for row, match in zip(group, matches):
            if match is not None and len(row.title) > match.end() + 1:
                row.title = row.title[match.end() :]
