"""Rows of several cells: tables with and without headings, cards beside each other, rows of label and value."""

from __future__ import annotations

from dataclasses import replace

from vault.language.amounts import find_amounts
from vault.receipts.headings import Header, label_around
from vault.receipts.row import Row
from vault.receipts.row_details import count_price, detail, name_row
from vault.receipts.row_state import RowState
from vault.receipts.titles import acts, counted, is_action, is_file_name, may_be_title, tell
from vault.receipts.view import Spot
from vault.receipts.words import MONEY, TOTALS, trim_label


class CellRows(RowState):
    """Reads the lines that have several cells."""

    def cell_row(self, line: int) -> bool:
        """A row of several cells; False if it names no thing."""
        view = self.view
        header = self.header
        if header is not None and not self._under(header, line):
            header = None
        cells = view.lines[line].cells
        roles: list[tuple[str, ...]] = [
            header.role(view, line, c) if header is not None else () for c in range(len(cells))
        ]
        groups = [view.of_cell(line, c) for c in range(len(cells))]
        totals = any(self._totals_label(s) for g in groups for s in g[:1])
        if totals and not self._titled(roles, groups) and not self._counted(groups):
            return False
        if self._part_of(groups) or self._cards(line, groups):
            return True
        title_cell = self._title_cell(roles, groups, header)
        if title_cell is None:
            return False
        row = self._start(line, groups[title_cell], header.group if header is not None else self._group(line))
        if row is None:
            return False
        row.column, row.width = cells[title_cell].column, cells[title_cell].width
        if title_cell + 1 < len(cells):
            row.room = cells[title_cell + 1].column - cells[title_cell].column
        for number, group in enumerate(groups):
            if number != title_cell:
                for spot in group:
                    detail(self.view, row, spot, roles[number])
        if header is None and not row.priced and not row.links:
            return False
        fetches = any(is_file_name(k.text) or acts(trim_label(k.text), self.words) for k in row.links)
        if header is None and not row.priced and row.quantity is None and not fetches:
            return False
        self.keep(row)
        return True

    def pair_row(self, line: int) -> Spot | None:
        """A row of label and value ("Title | Peasant Skirt") as the line it stands for."""
        spots = self.view.of_line(line)
        if len(self.view.lines[line].cells) != 2 or len(spots) != 2 or not spots[0].whole or not spots[1].text:
            return None
        label, value = spots
        if (set(label.concepts) & TOTALS and "line_amount" not in label.concepts) or value.whole:
            return None
        if not set(label.concepts) & {"title", "quantity", "price", "unit_price", "line_amount", "option", "designer"}:
            return None
        if self.header is not None and self.view.lines[line].table == self.header.table:
            return None
        return replace(
            value,
            text=f"{label.text.rstrip(':')}: {value.text}",
            concepts=label.concepts,
            label=label.text,
            value=value.text,
            amounts=find_amounts(f"{label.text.rstrip(':')}: {value.text}", self.view.language),
        )

    def _part_of(self, groups: list[list[Spot]]) -> bool:
        """ "Frost Fair Muff | included": a part of the bundle above."""
        texts = [g[0] for g in groups if g and g[0].text]
        if (
            len(texts) != 2
            or not self.rows
            or trim_label(texts[1].text) not in self.words.phrase_set("goods", "included")
        ):
            return False
        if may_be_title(texts[0].text, self.words):
            self.rows[-1].parts.append(tell(texts[0].text, self.words).title)
            self.rows[-1].last_line = texts[0].line
            return True
        return False

    def _under(self, header: Header, line: int) -> bool:
        """Whether a row still belongs to a header."""
        own = self.view.lines[line]
        if header.table:
            return own.table == header.table or (own.table > header.table and line == header.line + 1)
        if own.table:
            return False
        gaps = sum(not self.view.lines[n].cells for n in range(header.line, line))
        return line - header.line < 400 and gaps <= 3

    def _totals_label(self, spot: Spot) -> bool:
        """Whether a cell names a line of the totals or the payment ("plus 7 % sales tax", "Payment to X")."""
        if not spot.text or spot.amounts or len(spot.text) > 60:
            return False
        if spot.whole:
            return bool(set(spot.concepts) & TOTALS)
        named = any(self.words.has_word(spot.folded, "goods", key) for key in ("pattern", "craft", "digital"))
        if not named and set(label_around(self.view, spot.text, "")) & TOTALS:
            return True
        return any("seller" in c and " " in label for c, label, _ in self.words.leading(spot.text))

    def _titled(self, roles: list[tuple[str, ...]], groups: list[list[Spot]]) -> bool:
        """Whether a row whose first cell reads like a total has a title elsewhere ("Discount" as a product code)."""
        named = any("title" in role and g and g[0].text for role, g in zip(roles, groups))
        return named and any(s.quantity_only for g in groups for s in g)

    def _counted(self, groups: list[list[Spot]]) -> bool:
        """Whether a count stands beside a first cell that is no label of the totals."""
        first_free = not groups[0] or not groups[0][0].whole
        return first_free and any(
            counted(s.text, self.words) for g in groups[1:] for s in g if s.text and not s.amounts
        )

    def _group(self, line: int) -> str:
        """Rows without headings that follow each other, each in a small table of its own, belong together."""
        last = self.rows[-1] if self.rows else None
        table = self.view.lines[line].table
        if last is not None and last.group.startswith("rows"):
            between = range(last.last_line + 1, line)
            if table and self.view.lines[last.line].table == table:
                return last.group
            if all(not self.breaks(n) for n in between) and len(between) <= 6:
                return last.group
        self.run += 1
        return f"rows {line}"

    def breaks(self, line: int) -> bool:
        spots = self.view.of_line(line)
        return any(s.heading or (s.whole and set(s.concepts) & TOTALS) for s in spots)

    def _title_cell(self, roles: list[tuple[str, ...]], groups: list[list[Spot]], header: Header | None) -> int | None:
        named = [n for n, role in enumerate(roles) if "title" in role]
        exact = [n for n in named if roles[n][0] == "title"] or named
        for number in exact:
            spots = groups[number]
            counted_row = header is not None and any(s.quantity_only for g in groups for s in g)
            if any(s.text and (may_be_title(s.text, self.words) or counted_row) for s in spots):
                return number
        candidates: list[tuple[int, int]] = []
        for number, spots in enumerate(groups):
            if exact and set(roles[number]) & (MONEY | {"quantity", "expires", "download", "downloads_left"}):
                continue
            first = next((s for s in spots if s.text), None)
            if first is None or first.amount_only or first.quantity_only or first.whole:
                continue
            if count_price(self.view, first)[0]:
                continue
            if first.label and "title" not in first.concepts:
                continue
            told = self._own_title(first)
            if may_be_title(told, self.words) and not self._dated(first) and not is_action(first, self.view):
                candidates.append((min(sum(c.isalpha() for c in told), 25) + 10 * first.bold - number, number))
        return max(candidates)[1] if candidates else None

    def _own_title(self, spot: Spot) -> str:
        return spot.text[: spot.amounts[0].start] if spot.amounts and spot.amounts[0].start > 1 else spot.text

    def _dated(self, spot: Spot) -> bool:
        found = self.view.dates_in(spot.text) if any(c.isdigit() for c in spot.text) and len(spot.text) < 40 else ()
        return bool(found) and found[0].end - found[0].start >= len(spot.text) - 12

    def _cards(self, line: int, groups: list[list[Spot]]) -> bool:
        """Several things beside each other, each cell with a title and a price of its own."""
        full = [g for g in groups if len(g) >= 2 and any(s.amounts for s in g) and may_be_title(g[0].text, self.words)]
        if len(full) < 2 or len(full) < len(groups):
            return False
        for group in full:
            row = self._start(line, group, f"cards {line}")
            if row is not None:
                self.keep(row)
        return True

    def _start(self, line: int, spots: list[Spot], group: str) -> Row | None:
        """A row from its title cell."""
        texts = [s for s in spots if s.text]
        first = next((s for s in texts if may_be_title(self._own_title(s), self.words)), None)
        if first is None and group.startswith("table") and texts and texts[0].whole and not texts[0].amounts:
            first = texts[0]  # a thing that is called like a label ("Gift voucher")
        if first is None:
            return None
        strong = next((s for s in texts if s.bold and may_be_title(self._own_title(s), self.words)), first)
        chosen = (
            strong if not first.bold and len(strong.text) > 3 and strong is not first and not first.links else first
        )
        index = self.index(chosen)
        row = Row(title="", line=line, spot=index, group=group, last_line=line)
        name_row(self.view, row, chosen)
        for spot in spots:
            if spot is not chosen:
                detail(self.view, row, spot, ())
        return row if row.title else None
