"""Single printed lines: a name with a price, a name above its price, a count, a detail of what stands above."""

from __future__ import annotations

import re

from vault.language.amounts import Amount
from vault.language.folding import fold
from vault.receipts.headings import label_around
from vault.receipts.page_names import is_page_name
from vault.receipts.row import MAX_TITLE, Row
from vault.receipts.row_details import before_amount, count_price, detail, name_row, optional, price
from vault.receipts.row_state import RowState
from vault.receipts.titles import acts, counted, is_action, is_code, is_format, links_file, may_be_title, tell
from vault.receipts.view import Spot, lead
from vault.receipts.words import COLUMNS, MONEY, NUMBERS, TOTALS, trim_label, whole_phrase

_AFTER_OK_RE = re.compile(r"\A[\s.,;*)\]]*(?:\([^()]{0,40}\))?[\s.]*\Z")
_DASH_RE = re.compile(r"\s*[-–—|:·]\s+(?=\S)")
_LIST_CUT_RE = re.compile(r"[,;]\s+(?=[^\W\d_])")
_COUNTED_RE = re.compile(r"\(?\d{1,3}\s?[x×]\)?\s+\S", re.I)


class LineRows(RowState):
    """Reads the lines of one cell, and rows of figures that belong to a title above."""

    def single(self, line: int) -> None:
        view = self.view
        listed = view.lines[line].listed
        if listed:
            self.clear()
        for spot in view.of_line(line):
            self.line_spot(line, spot, listed)

    def line_spot(self, line: int, spot: Spot, listed: bool) -> None:
        """One printed line: a name, a price, a count, a heading, or a detail of what stands above."""
        if not spot.text:
            self._hang(line, spot)
        elif spot.heading and not spot.amounts:
            self.clear()
            if may_be_title(spot.text, self.words):
                self.above.append((line, spot))
        elif spot.amounts:
            self._priced_line(line, spot, listed)
        elif spot.whole and set(spot.concepts) & COLUMNS and not spot.links:
            announces = set(spot.concepts) & {"price", "unit_price", "line_amount"}
            near = bool(self.above) and line - self.above[-1][0] <= 1
            if not (self.above and (announces or (near and "download" in spot.concepts))):
                self.clear()  # "Product price" below a title announces its price; other headings end what was above
        elif spot.quantity_only is not None or (counted(spot.text, self.words) is not None and self.above):
            self.count = counted(spot.text, self.words)
        elif self._continues(line, spot) or (self.figures and self._titled_below(line, spot)):
            return
        elif spot.label and set(spot.concepts) & {"title"} and spot.value and not spot.whole:
            self.clear()
            self.above.append((line, spot))
        elif listed and spot.links and self._free_line(line, spot):
            return
        elif self._belongs(line, spot):
            detail(self.view, self.rows[-1], spot, ())
        elif (_COUNTED_RE.match(spot.text) and self._counted_line(line, spot)) or (
            ("," in spot.text or spot.text.endswith(")")) and self._counted_list(line, spot)
        ):
            return
        else:
            self.above.append((line, spot))
            del self.above[:-12]

    def _hang(self, line: int, spot: Spot) -> None:
        """A link with no text of its own: to the row above it."""
        if self.rows and line - self.rows[-1].last_line <= 3 and not self.above and not self.summed(line):
            self.rows[-1].links.extend(spot.links)
            self.rows[-1].last_line = line

    def _continues(self, line: int, spot: Spot) -> bool:
        """A title that was too long for its column goes on in the next line (PDF, aligned text)."""
        last = self.rows[-1] if self.rows else None
        if last is None or last.last_line != line - 1 or last.room < 8 or self.view.lines[line].table or spot.label:
            return False
        cell = self.view.lines[line].cells[0]
        if abs(cell.column - last.column) > 2.5 or spot.links or not last.title:
            return False
        if len(last.title) + len(spot.text) > MAX_TITLE:
            return False
        if self.view.lines[line].block != self.view.lines[last.line].block:
            return False
        per_letter = last.width / max(1, len(last.title))
        first_word = spot.text.split(" ")[0]
        last.last_line = line
        ended = last.title.rsplit(" ", 1)[-1].casefold()
        if (
            spot.text[:1].islower()
            or ended.endswith((",", "-", "&"))
            or ended in self.words.phrase_set("prose", "linking")
            or last.title.count("(") > last.title.count(")")
            or last.width + per_letter * (len(first_word) + 1) > last.room * 0.97  # the next word had no room
        ):
            last.title = f"{last.title} {spot.text}"
            last.width = cell.width
        elif optional(self.view, spot.text):
            last.options.append(spot.text)
        return True

    def _belongs(self, line: int, spot: Spot) -> bool:
        """Whether a line without a price goes with the row above: a labelled detail, a link, an indented line."""
        if not self.rows or self.above:
            return False
        last = self.rows[-1]
        near = line - last.last_line <= 2 and not self.view.lines[line - 1].rule and not self.summed(line)
        if not near:
            return False
        if set(spot.concepts) & {
            "option",
            "designer",
            "reference",
            "download",
            "downloads_left",
            "expires",
            "quantity",
        }:
            return True
        if spot.links and (is_action(spot, self.view) or links_file(spot)):
            return True
        same = self.view.lines[line].block == self.view.lines[last.line].block
        return same and self.view.lines[line].indent > self.view.lines[last.line].indent

    def _priced_line(self, line: int, spot: Spot, listed: bool) -> None:
        text = spot.text
        money = set(spot.concepts) & MONEY
        only = spot.amount_only or self._beside_a_button(spot)
        after = text[spot.amounts[-1].end :]
        for link in spot.links:
            if link.text and acts(trim_label(link.text), self.words):  # the button behind the price
                after = after.replace(link.text, " ")
        recorded = bool(self.above) and "title" in self.above[-1][1].concepts  # "Item: X" above "Total: 5"
        if spot.label and money and (not money & TOTALS or (money & {"line_amount"} and recorded)):
            # "Price: £4.60" below a title; "Item total" may also end the list
            if self.above and not (money & {"subtotal"} and self.rows and not self._fresh()):
                self._from_above(line, spot, money)
            elif self.rows and line - self.rows[-1].last_line <= 3 and not money & {"subtotal"}:
                detail(self.view, self.rows[-1], spot, tuple(money))
            return
        if spot.label and set(spot.concepts) & TOTALS:
            self.clear()
            return
        figures, count = count_price(self.view, spot)
        if figures and count:
            self.count = self.count or count
        if only is not None or figures:
            if self._label_above() & TOTALS:
                self.clear()
            elif self.above:
                self._from_above(line, spot, set())
            elif self.rows and line - self.rows[-1].last_line <= 3 and self.rows[-1].group.startswith("lines below"):
                detail(self.view, self.rows[-1], spot, ())
            return
        if self._price_first(line, spot):
            return
        title = tell(before_amount(self.view, spot), self.words).title
        label = self.words.label(title)
        numbered = set(spot.concepts) & NUMBERS and title != tell(text[: spot.amounts[0].start], self.words).title
        if set(label) & (TOTALS | MONEY) or (spot.label and not set(spot.concepts) & {"title"} and not numbered):
            if set(label) & TOTALS:
                self.clear()
            return
        fine = _AFTER_OK_RE.match(after) or listed or self._tail_ok(after)
        if not fine or not may_be_title(title, self.words) or self._sentence(title, text):
            return
        row = Row(title="", line=line, spot=self.index(spot), group=self._line_group(line), last_line=line)
        name_row(self.view, row, spot)
        self._begun_above(row, line)
        if row.title:
            self.keep(row)

    def _beside_a_button(self, spot: Spot) -> Amount | None:
        """The amount, if nothing else stands in the line but a button ("13,50 € Download")."""
        if len(spot.amounts) != 1 or not spot.links:
            return None
        rest = spot.text[: spot.amounts[0].start] + " " + spot.text[spot.amounts[0].end :]
        for link in spot.links:
            if link.text and acts(trim_label(link.text), self.words):
                rest = rest.replace(link.text, " ")
        return spot.amounts[0] if not rest.strip(" *.:=()|·•-–") else None

    def _begun_above(self, row: Row, line: int) -> None:
        """A title too long for one line of plain text: it began in the line above, which says nothing else."""
        last = self.rows[-1] if self.rows else None
        counted_row = last is not None and not last.priced and last.line == last.last_line == line - 1
        if not row.title[:1].islower() or not (self.above or counted_row):
            return
        number, spot = self.above[-1] if self.above else (line - 1, self.view.of_line(line - 1)[0])
        lines = self.view.lines
        joined = number == line - 1 and lines[number].block == lines[line].block and not lines[line].listed
        if not joined or lines[line].table or spot.label or len(lines[number].cells) != 1:
            return
        begun = lines[number].listed or lines[line].indent > lines[number].indent
        if not begun or spot.text.endswith((".", "!", ":")):
            return
        told = tell(f"{spot.text} {row.title}", self.words)
        row.title, row.quantity, row.code = told.title, row.quantity or told.quantity, row.code or told.code
        row.line = number
        if counted_row and not self.above:
            self.rows.pop()  # "2 x Pattern for a": the same thing, begun

    def _price_first(self, line: int, spot: Spot) -> bool:
        """ "4.50 - Cloche hat": the price stands before the name."""
        amount = spot.amounts[0]
        match = _DASH_RE.match(spot.text[amount.end :])
        if len(spot.amounts) != 1 or spot.text[: amount.start].strip() or match is None:
            return False
        if set(label_around(self.view, "", spot.text[amount.end :])) & TOTALS:
            self.clear()
            return True
        name = spot.text[amount.end + match.end() :]
        if not may_be_title(name, self.words) or self._sentence(name, spot.text):
            return False
        told = tell(name, self.words)
        row = Row(title=told.title, line=line, spot=self.index(spot), group=self._line_group(line), last_line=line)
        row.quantity, row.code, row.options, row.links = told.quantity, told.code, list(told.options), list(spot.links)
        price(self.view, row, spot, ())
        self.keep(row)
        return True

    def _free_line(self, line: int, spot: Spot) -> bool:
        """ "Ruffle Sampler  Free  Download": a list item named by its link, given away."""
        name = spot.links[0].text
        rest = spot.text[len(name) :]
        words = {trim_label(w) for w in rest.split(" ")} | {trim_label(rest)}
        if not spot.text.startswith(name) or not words & self.words.phrase_set("goods", "free"):
            return False
        if not may_be_title(name, self.words):
            return False
        told = tell(name, self.words)
        row = Row(title=told.title, line=line, spot=self.index(spot), group=self._line_group(line), last_line=line)
        row.free, row.links, row.quantity = True, list(spot.links), told.quantity
        self.keep(row)
        return True

    def _titled_below(self, line: int, spot: Spot) -> bool:
        """A title that comes after its figures: number, code and count, then the prices, then the name."""
        figures = list(self.figures)
        if not any(s.amounts for s in figures) or line - figures[-1].line > 2 or spot.label:
            return False
        if not may_be_title(spot.text, self.words) or self._sentence(spot.text, spot.text):
            return False
        row = Row(title="", line=line, spot=self.index(spot), group="table of figures", last_line=line)
        name_row(self.view, row, spot)
        numbers = [s for s in figures if s.quantity_only]
        row.quantity = numbers[-1].quantity_only if numbers else None
        for figure in figures:
            if figure.amounts:
                price(self.view, row, figure, ())
            elif not figure.quantity_only:
                row.code = row.code or figure.text
        if row.title:
            self.keep(row)
        return bool(row.title)

    def _counted_line(self, line: int, spot: Spot) -> bool:
        """ "2 x Cotton lawn": a thing and how many of it, without a price."""
        told = tell(spot.text, self.words)
        if told.quantity is None or not may_be_title(told.title, self.words) or self._sentence(told.title, spot.text):
            return False
        row = Row(title="", line=line, spot=self.index(spot), group=f"list {line}", last_line=line)
        name_row(self.view, row, spot)
        if row.title:
            self.keep(row)
        return bool(row.title)

    def _counted_list(self, line: int, spot: Spot) -> bool:
        """ "Cloche hat (1 pc), Ribbon (3 pcs)": things in one line, each with its count."""
        told = [tell(part, self.words) for part in _LIST_CUT_RE.split(spot.text)]
        if any(t.quantity is None or not may_be_title(t.title, self.words) for t in told):
            return False
        for one in told:
            row = Row(title=one.title, line=line, spot=self.index(spot), group=f"list {line}", last_line=line)
            row.quantity, row.code, row.options = one.quantity, one.code, list(one.options)
            self.keep(row)
        return True

    def _fresh(self) -> bool:
        """Whether a title came after the last row."""
        return bool(self.above) and (not self.rows or self.above[-1][0] > self.rows[-1].last_line)

    def _label_above(self) -> set[str]:
        last = self.view.spots[self.index(self.above[-1][1])] if self.above else None
        return set(last.concepts) if last is not None and last.whole else set()

    def _tail_ok(self, after: str) -> bool:
        found = lead(after.strip(" -–,;("), self.words)
        return found is not None or counted(after.strip(" -–,;()"), self.words) is not None

    def _sentence(self, title: str, text: str) -> bool:
        """Running text with a price in it is no row."""
        said = (p for name in ("purchase", "order", "receipt") for p in self.words.phrases("signs", name) if " " in p)
        if whole_phrase(fold(title), said):
            return True  # "Thank you for buying X for £4"
        return title.count(" ") > 14 or (text.rstrip().endswith(".") and title.count(" ") > 6)

    def _line_group(self, line: int) -> str:
        last = self.rows[-1] if self.rows else None
        if last is not None and last.group.startswith("lines") and not last.group.startswith("lines below"):
            between = range(last.last_line + 1, line)
            return last.group if len(between) < 8 and not any(self.breaks(n) for n in between) else f"lines {line}"
        return f"lines {line}"

    def _from_above(self, line: int, spot: Spot, money: set[str]) -> None:
        """An amount whose title stands in the lines above it."""
        chosen = self._choose_above(line)
        if chosen is None:
            self.clear()
            return
        at, title_spot = chosen
        last = self.rows[-1] if self.rows else None
        group = f"lines below {line}"
        near = last is not None and last.group.startswith("lines below") and line - last.last_line <= 16
        if last is not None and near and not any(self.breaks_hard(n) for n in range(last.last_line + 1, line)):
            group = last.group
        row = Row(title="", line=at, spot=self.index(title_spot), group=group, last_line=line)
        name_row(self.view, row, title_spot)
        for number, other in self.above:
            if other is not title_spot and number >= at:
                detail(self.view, row, other, ())
        row.above = list(self.above)
        row.quantity = row.quantity or self.count
        price(self.view, row, spot, money)
        row.links.extend(spot.links)
        if row.title and not self.words.label(row.title):
            self.keep(row)
        self.clear()

    def _only_day(self, spot: Spot) -> bool:
        """Whether a line is nothing but a day, the value of a label above it."""
        if not any(c.isdigit() for c in spot.text) or len(spot.text) > 40:
            return False
        found = self.view.dates_in(spot.text)
        return bool(found) and found[0].end - found[0].start >= len(spot.text) - 3

    def _choose_above(self, line: int) -> tuple[int, Spot] | None:
        fitting = [
            (n, s)
            for n, s in self.above
            if line - n <= 12
            and may_be_title(s.value if "title" in s.concepts and s.value else s.text, self.words)
            and not is_action(s, self.view)
            and not links_file(s)
            and not (s.heading and is_page_name(s.text, self.view))
            and not self._only_day(s)
            and not (s.label and "title" not in s.concepts)
        ]
        if not fitting:
            return None
        plain = [(n, s) for n, s in fitting if not is_format(s.text, self.words)] or fitting
        for test in (lambda s: "title" in s.concepts and bool(s.value), lambda s: s.heading > 0 or s.bold):
            marked = [(n, s) for n, s in plain if test(s)]
            if marked:
                return marked[-1]
        fitting = plain
        block = self.view.lines[fitting[-1][0]].block
        same = [(n, s) for n, s in fitting if self.view.lines[n].block == block]
        return same[0]

    def loose(self, line: int) -> None:
        """A row of cells that names no thing: its prices may belong to a title above."""
        spots = self.view.of_line(line)
        labels = {c for s in spots if s.whole for c in s.concepts}
        if labels & TOTALS:
            self.clear()
            return
        own = {"unit_price", "price", "line_amount"}
        priced = [
            s for s in spots if s.amounts and (set(s.concepts) & own or not (s.label and set(s.concepts) & TOTALS))
        ]
        if not self.above and all(not s.text or s.amount_only or s.quantity_only or is_code(s.text) for s in spots):
            self.figures.extend(spots)
            return
        counts = [
            count_price(self.view, s)[1] if s.amounts else counted(s.text, self.words) if s.text else None
            for s in spots
        ]
        if priced and self.above and all(not s.text or s.amounts or c or s.whole for s, c in zip(spots, counts)):
            self.count = self.count or next((c for c in counts if c), None)
            rest = priced[1:]
            before = len(self.rows)
            self._from_above(line, priced[0], set(priced[0].concepts) & MONEY)
            if len(self.rows) > before:
                for spot in rest:
                    detail(self.view, self.rows[-1], spot, ())
