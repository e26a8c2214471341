"""The things sold: rows of tables with or without headings, single lines with a price, lines below each other.

Every way to print an item ends in a `Row`.  Rows found the same way in the same place form a group; which groups are
the order's is decided later by the sums (`sums`).  Nothing here knows a shop.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from vault.language.amounts import Amount, find_amounts
from vault.language.dates import settle_after
from vault.receipts.lines import Link
from vault.receipts.titles import acts, counted, is_action, is_code, is_file_name, is_format, may_be_title, tell
from vault.receipts.view import Spot, View, lead
from vault.receipts.words import COLUMNS, MONEY, NUMBERS, TOTALS, bare_label, trim_label

_AFTER_OK_RE = re.compile(r"\A[\s.,;*)\]]*(?:\([^()]{0,40}\))?[\s.]*\Z")
_UNIT_RE = re.compile(r"(\d{1,3})\s?(?:[x×*@]|à|a)\s?\Z", re.I)
_COUNTED_RE = re.compile(r"\(?\d{1,3}\s?[x×]\)?\s+\S", re.I)
_ENUMERATED_RE = re.compile(r"\(?(\d{1,2})[.)]\s+(?=\S)")
_SENTENCE_RE = re.compile(r"(?<=\w{4})[.!?]\s+(?=[A-ZÀ-Þ])")
_BARE_COUNT_RE = re.compile(r"(\d{1,2})\s+(?=[^\W\d_])")
_BACK_PARTS_RE = re.compile(r"\s[·•|]\s|\s[–—-]\s")


UNLIMITED = -1  # downloads left where the row says there is no limit


@dataclass(slots=True)
class Row:
    """One thing sold, as printed.  `amounts` carry their role: unit, line, price (either), tax, discount."""

    title: str
    line: int
    spot: int
    group: str
    quantity: int | None = None
    amounts: list[tuple[str, Amount]] = field(default_factory=list)
    options: list[str] = field(default_factory=list)
    parts: list[str] = field(default_factory=list)  # titles that a bundle holds
    designer: str | None = None
    code: str | None = None
    seller: str | None = None
    links: list[Link] = field(default_factory=list)
    expires: date | None = None
    lasting: bool = False  # a word stands where the end of the link would ("Never")
    left: int | None = None
    free: bool = False
    order_number: str | None = None
    last_line: int = 0
    column: float = 0
    width: float = 0
    room: float = 0  # width of the title's column, where the form has measures
    above: list[tuple[int, Spot]] = field(default_factory=list)  # lines its title was chosen from

    @property
    def priced(self) -> bool:
        """Whether the row says what it cost."""
        return self.free or any(role in ("unit", "line", "price") for role, _ in self.amounts)

    def values(self) -> list[Decimal]:
        """What the line may have cost, likeliest first."""
        if self.free and not self.amounts:
            return [Decimal(0)]
        count = Decimal(self.quantity or 1)
        lines = [a.value for role, a in self.amounts if role == "line"]
        units = [a.value for role, a in self.amounts if role == "unit"]
        prices = [a.value for role, a in self.amounts if role == "price"]
        out = list(lines)
        if not lines and len(prices) > 1:
            out += [p for p in prices if any(q * count == p for q in prices + units)][-1:] + [prices[-1]]
        out += prices
        out += [u * count for u in units]
        if count > 1:
            out += [p * count for p in prices]
        out += units
        out += [o for _, a in self.amounts for o in a.others]
        return list(dict.fromkeys(out))


@dataclass(slots=True)
class _Header:
    """A row of column headings."""

    table: int
    line: int
    columns: list[tuple[float, float, tuple[str, ...]]]  # left, width, concepts
    group: str

    def role(self, view: View, line: int, cell: int) -> tuple[str, ...]:
        """The concepts of the column a cell stands in."""
        cells = view.lines[line].cells
        if len(cells) == len(self.columns):
            return self.columns[cell][2]
        left, width = cells[cell].column, cells[cell].width
        best = min(
            self.columns,
            key=lambda c: min(
                abs(c[0] - left), abs(c[0] + c[1] - left - width), abs(c[0] + c[1] / 2 - left - width / 2)
            ),
        )
        return best[2]

    @property
    def money(self) -> bool:
        return any(c in MONEY for _, _, concepts in self.columns for c in concepts)


def label_around(view: View, before: str, after: str) -> tuple[str, ...]:
    """The concepts of the words around an amount: of those just before it, else of those after it."""
    left = bare_label(_SENTENCE_RE.split(before)[-1].replace("(", " "))
    words = left.split(" ") if left else []
    for count in range(len(words) - 1, 0, -1):
        # "Rechnungsbetrag inkl. MwSt.": the first words say what it is, the rest that tax is in it
        concepts, rest = view.words.exact(" ".join(words[:count])), view.words.exact(" ".join(words[count:]))
        if set(concepts) & (TOTALS - {"tax", "tax_included"}) and set(rest) & {"tax", "tax_included"}:
            return concepts
    for count in range(min(5, len(words)), 0, -1):
        concepts = view.words.exact(" ".join(words[-count:]))
        if set(concepts) & MONEY and (
            count == len(words) or not set(concepts) <= {"price", "unit_price", "line_amount"}
        ):
            return concepts
    for count in range(min(4, len(words)), 0, -1):
        # "Discount SPRING10", "VAT 20", "Versand nach DE": what follows the label is not in any list
        concepts = view.words.exact(" ".join(words[:count]))
        rest = words[count:]
        if set(concepts) & TOTALS and len(rest) <= 4 and not set(concepts) & {"total", "subtotal"}:
            return concepts
        if set(concepts) & TOTALS and len(rest) == 1 and (rest[0].isdigit() or len(rest[0]) <= 3):
            return concepts
    right = bare_label(after.split(". ")[0].split(",")[0])
    if right:
        both = view.words.exact(f"{left.rsplit(' ', 1)[-1]} {right}".strip()) if left else ()
        if set(both) & TOTALS:
            return both
        own = view.words.exact(right)
        if set(own) & {"tax", "tax_included", "discount", "shipping", "gift_card"}:
            return own
    return ()


def header_of(view: View, line: int, *, history: bool = False) -> _Header | None:
    """The column headings, if the line is a row of them; `history` also takes those of a list of orders."""
    cells = view.lines[line].cells
    if len(cells) < 2 or any(s.amounts for s in view.of_line(line)):
        return None
    columns: list[tuple[float, float, tuple[str, ...]]] = []
    named = 0
    for number, cell in enumerate(cells):
        spots = view.of_cell(line, number)
        text = " ".join(s.text for s in spots if s.text)
        concepts = spots[0].concepts if spots and spots[0].whole else view.words.label(text) if len(text) < 50 else ()
        concepts = tuple(c for c in concepts if c in COLUMNS)
        named += bool(concepts)
        columns.append((cell.column, cell.width, concepts))
    if named < 2 or named * 5 < len(cells) * 3:
        return None
    kinds = {c for _, _, concepts in columns for c in concepts}
    if not kinds & {"title", "quantity", "unit_price", "price", "reference", "download"} and not history:
        return None
    return _Header(view.lines[line].table, line, _one_each(columns), f"table {line}")


def _one_each(
    columns: list[tuple[float, float, tuple[str, ...]]],
) -> list[tuple[float, float, tuple[str, ...]]]:
    """A concept that two headings may mean belongs to the plainer one: "#" numbers the lines where "Qty" counts."""
    out: list[tuple[float, float, tuple[str, ...]]] = []
    for left, width, concepts in columns:
        kept = tuple(
            c
            for c in concepts
            if not any(c in other and len(other) < len(concepts) for _, _, other in columns if other is not concepts)
        )
        out.append((left, width, kept or concepts[:1]))
    return out


def read_rows(view: View, start: int, stop: int) -> list[Row]:
    """Every row that may be a thing sold between two lines, in reading order."""
    reader = _Reader(view, start, stop)
    reader.read()
    reader.regular()
    return reader.rows


def _fact_lines(view: View) -> set[int]:
    """Lines that only hold the values of a row of labels above them ("Order | Date | Total" and what is below)."""
    counts: dict[int, int] = {}
    for pair in view.pairs:
        if pair.how == "column" and not set(pair.concepts) & {"title", "quantity", "unit_price"}:
            counts[view.spots[pair.at].line] = counts.get(view.spots[pair.at].line, 0) + 1
    return {
        line
        for line, count in counts.items()
        if count >= 2 and line > 0 and header_of(view, line - 1) is None and 2 * count >= len(view.lines[line].cells)
    }


class _Reader:
    """Goes through the lines once and keeps what stood before an amount that has no title of its own."""

    def __init__(self, view: View, start: int, stop: int) -> None:
        self.view, self.start, self.stop = view, start, stop
        self.words = view.words
        self.rows: list[Row] = []
        self.header: _Header | None = None
        self.above: list[tuple[int, Spot]] = []  # lines that may be the title of the next amount
        self.count: int | None = None
        self.figures: list[Spot] = []  # counts, codes and prices that came before their title
        self.run = 0
        self.facts = _fact_lines(view)

    def read(self) -> None:
        line = self.start
        while line < self.stop:
            cells = self.view.lines[line].cells
            if not cells:
                self._break()
            elif len(cells) == 1:
                self._single(line)
            else:
                header = header_of(self.view, line)
                if header is not None:
                    self.header = header
                    self._break()
                elif line in self.facts:
                    self._break()
                elif (pair := self._pair_row(line)) is not None:
                    self._line_spot(line, pair, False)
                elif not self._row(line):
                    self._loose(line)
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

    def _same_height(self, group: list[Row]) -> None:
        """Items printed as the same number of lines begin with their title, each on the first of them."""
        heights = {len(r.above) for r in group[1:]}
        if len(group) < 2 or len(heights) != 1 or not group[0].group.startswith("lines below"):
            return
        height = heights.pop()
        if height < 2 or len(group[0].above) < height:
            return
        for row in group:
            line, spot = row.above[-height]
            if spot.label or not may_be_title(spot.text, self.words) or spot.text == row.title:
                continue
            old = row.title
            row.title, row.line, row.spot = tell(spot.text, self.words).title, line, self._index(spot)
            row.options = [o for o in row.options if o != spot.text]
            if old not in row.options:
                row.options.append(old)

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

    def _break(self) -> None:
        self.above.clear()
        self.figures.clear()
        self.count = None

    # --- rows of cells --------------------------------------------------------------------------

    def _row(self, line: int) -> bool:
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
        counts = any(counted(s.text, self.words) for g in groups[1:] for s in g if s.text and not s.amounts)
        if any(self._totals_label(s) for g in groups for s in g[:1]) and not self._titled(roles, groups):
            if not (counts and not groups[0][:1] or counts and groups[0] and not groups[0][0].whole):
                return False
        if self._part_of(groups):
            return True
        if self._cards(line, groups):
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
                    self._detail(row, spot, roles[number])
        if header is None and not row.priced and not row.links:
            return False
        fetches = any(is_file_name(k.text) or acts(trim_label(k.text), self.words) for k in row.links)
        if header is None and not row.priced and row.quantity is None and not fetches:
            return False
        self._keep(row)
        return True

    def _pair_row(self, line: int) -> Spot | None:
        """A row of label and value ("Title | Peasant Skirt") as the line it stands for."""
        spots = self.view.of_line(line)
        if len(self.view.lines[line].cells) != 2 or len(spots) != 2 or not spots[0].whole or not spots[1].text:
            return None
        label, value = spots
        if set(label.concepts) & TOTALS and not set(label.concepts) & {"line_amount"} or value.whole:
            return None
        if not set(label.concepts) & {"title", "quantity", "price", "unit_price", "line_amount", "option", "designer"}:
            return None
        if self.header is not None and self.view.lines[line].table == self.header.table:
            return None
        return replace(
            value, text=f"{label.text.rstrip(':')}: {value.text}", concepts=label.concepts, label=label.text,
            value=value.text, amounts=find_amounts(f"{label.text.rstrip(':')}: {value.text}", self.view.language),
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

    def _under(self, header: _Header, line: int) -> bool:
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

    def _group(self, line: int) -> str:
        """Rows without headings that follow each other, each in a small table of its own, belong together."""
        last = self.rows[-1] if self.rows else None
        table = self.view.lines[line].table
        if last is not None and last.group.startswith("rows"):
            between = range(last.last_line + 1, line)
            if table and self.view.lines[last.line].table == table:
                return last.group
            if all(not self._breaks(n) for n in between) and len(between) <= 6:
                return last.group
        self.run += 1
        return f"rows {line}"

    def _breaks(self, line: int) -> bool:
        spots = self.view.of_line(line)
        return any(s.heading or (s.whole and set(s.concepts) & TOTALS) for s in spots)

    def _title_cell(self, roles: list[tuple[str, ...]], groups: list[list[Spot]], header: _Header | None) -> int | None:
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
                self._keep(row)
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
        index = self._index(chosen)
        row = Row(title="", line=line, spot=index, group=group, last_line=line)
        self._name(row, chosen)
        for spot in spots:
            if spot is not chosen:
                self._detail(row, spot, ())
        return row if row.title else None

    def _index(self, spot: Spot) -> int:
        found = self.view.spot_at(spot.line, spot.cell, spot.piece)
        return found if found is not None else 0

    def _name(self, row: Row, spot: Spot) -> None:
        """Title, count, code and prices of the line that names the thing."""
        text = spot.text
        if spot.amounts:
            text = self._before_amount(spot)
            self._price(row, spot, ())
        if spot.label and "title" in spot.concepts and spot.value and not spot.amounts:
            text = spot.value
        strong = next((s for s in spot.strong if text.startswith(s) and len(s) >= 3), None)
        told = tell(text, self.words)
        if strong is not None and may_be_title(strong, self.words) and not told.title.startswith(strong + " ("):
            # the bold passage is the name, the rest of the line is about it
            inner = tell(strong, self.words)
            told.title = inner.title
            told.quantity = told.quantity or inner.quantity
        row.title = told.title
        row.quantity = row.quantity or told.quantity
        row.code = row.code or told.code
        row.options.extend(told.options)
        row.links.extend(spot.links)
        self._free(row, spot)

    def _before_amount(self, spot: Spot) -> str:
        """The words before the first price, without labelled parts before them ("Invoice 12 · Club fee · £4")."""
        text = spot.text[: spot.amounts[0].start]
        unit = _UNIT_RE.search(text.rstrip())
        if unit and len(text[: unit.start()].strip()) > 2:
            text = text[: unit.start()]
        for cut in list(_BACK_PARTS_RE.finditer(text)):
            head = text[: cut.start()]
            found = lead(head, self.words)
            if found is not None and not ({"title", "quantity"} & set(found[0])):
                return text[cut.end() :]
        return text

    # --- details --------------------------------------------------------------------------------

    def _detail(self, row: Row, spot: Spot, role: tuple[str, ...]) -> None:
        """What a line beside or below the title adds."""
        row.links.extend(spot.links)
        text = spot.text
        if not text:
            return
        row.last_line = max(row.last_line, spot.line)
        concepts = role if role and not (spot.whole or (spot.label and spot.value)) else spot.concepts or role
        value = spot.value if spot.label and spot.value and spot.concepts else text
        if "expires" in concepts:
            for found in self.view.dates_in(text):
                row.expires = settle_after(found, self.view.dated) if self.view.dated else found.value
            row.lasting = row.expires is None and bool(value)
            if row.expires is not None or role or row.lasting:
                return
        if "downloads_left" in concepts:
            number = re.search(r"\d{1,4}", value)
            row.left = int(number.group()) if number else UNLIMITED
            return
        if spot.amounts:
            self._price(row, spot, concepts)
            return
        count = counted(text, self.words) if not ("reference" in role and "quantity" not in role) else None
        if count is not None and not (set(concepts) & {"reference", "order_number"}):
            if row.quantity is None or (spot.label and "quantity" in spot.concepts):
                row.quantity = count
            return
        if set(concepts) & {"quantity"} and count is None and role:
            number = re.match(r"\d{1,3}\b", text)
            row.quantity = int(number.group()) if number and int(number.group()) else row.quantity
            return
        self._free(row, spot)
        if "designer" in concepts and value and len(value) < 80:
            row.designer = row.designer or value
        elif "seller" in concepts and value and len(value) < 80:
            row.seller = row.seller or value
        elif "order_number" in concepts and value and (role or spot.label):
            row.order_number = row.order_number or value
        elif "reference" in concepts and len(value) < 40:
            if not (value.isdigit() and len(value) <= 3):  # the number of the line
                row.code = row.code or value.lstrip("# ")
        elif spot.links and (is_action(spot, self.view) or is_file_name(text) or spot.links[0].text == text):
            return
        elif is_code(text) and not role:
            row.code = row.code or (text if not (text.isdigit() and len(text) <= 3) else None)
        elif "option" in concepts or (not spot.whole and not role and self._optional(text)):
            if text != row.title:
                row.options.append(text)

    def _optional(self, text: str) -> bool:
        """Whether an unlabelled line in the cell of the title is a chosen option: short, no sentence, no free word."""
        key = trim_label(text)
        if len(text) > 70 or text.endswith((".", "!", "?")) or is_file_name(text):
            return False
        return key not in self.words.phrase_set("goods", "free") and key not in self.words.phrase_set(
            "download", "action"
        )

    def _free(self, row: Row, spot: Spot) -> None:
        tail = trim_label(spot.text.rsplit("–", 1)[-1].rsplit(" - ", 1)[-1])
        if tail in self.words.phrase_set("goods", "free"):
            row.free = True
            if row.title.casefold().endswith(tail):
                row.title = row.title[: -len(tail)].rstrip(" –-:")

    def _price(self, row: Row, spot: Spot, concepts: Iterable[str]) -> None:
        """The amounts of a line with their roles."""
        concepts = set(concepts) or set(spot.concepts)
        text = spot.text
        for number, amount in enumerate(spot.amounts):
            before = text[spot.amounts[number - 1].end if number else 0 : amount.start]
            after = text[amount.end : spot.amounts[number + 1].start if number + 1 < len(spot.amounts) else len(text)]
            role = "price"
            said = set(self.words.label(before.strip(" (-–,·")) or ())
            said = said or concepts
            unit = _UNIT_RE.search(before.rstrip())
            if unit:
                row.quantity = row.quantity or int(unit.group(1)) or None
                role = "unit"
            elif (
                trim_label(after) in self.words.phrase_set("goods", "each")
                or "unit_price" in said
                and "line_amount" not in said
            ):
                role = "unit"
            elif said & {"tax", "tax_included"} and not said & {"line_amount", "total", "price"}:
                role = "tax"
            elif "discount" in said and not said & {"line_amount", "total", "price"}:
                role = "discount"
            elif said & {"line_amount", "total", "subtotal"}:
                role = "line"
            counted_after = re.match(r"\s?[x×*]\s?(\d{1,3})(?!\d)", after)
            if counted_after:
                row.quantity = row.quantity or int(counted_after.group(1)) or None
                role = "unit"
            row.amounts.append((role, amount))

    # --- single lines ---------------------------------------------------------------------------

    def _single(self, line: int) -> None:
        view = self.view
        listed = view.lines[line].listed
        if listed:
            self._break()
        for spot in view.of_line(line):
            self._line_spot(line, spot, listed)

    def _line_spot(self, line: int, spot: Spot, listed: bool) -> None:
        """One printed line: a name, a price, a count, a heading, or a detail of what stands above."""
        if not spot.text:
            self._hang(line, spot)
        elif spot.heading and not spot.amounts:
            self._break()
            if may_be_title(spot.text, self.words):
                self.above.append((line, spot))
        elif spot.amounts:
            self._priced_line(line, spot, listed)
        elif spot.whole and set(spot.concepts) & COLUMNS and not spot.links:
            announces = set(spot.concepts) & {"price", "unit_price", "line_amount"}
            near = bool(self.above) and line - self.above[-1][0] <= 1
            if not (self.above and (announces or (near and "download" in spot.concepts))):
                self._break()  # "Product price" below a title announces its price; other headings end what was above
        elif spot.quantity_only is not None or (counted(spot.text, self.words) is not None and self.above):
            self.count = counted(spot.text, self.words)
        elif self._continues(line, spot) or (self.figures and self._titled_below(line, spot)):
            return
        elif spot.label and set(spot.concepts) & {"title"} and spot.value and not spot.whole:
            self._break()
            self.above.append((line, spot))
        elif listed and spot.links and self._free_line(line, spot):
            return
        elif self._belongs(line, spot):
            self._detail(self.rows[-1], spot, ())
        elif _COUNTED_RE.match(spot.text) and self._counted_line(line, spot):
            return
        else:
            self.above.append((line, spot))
            del self.above[:-12]

    def _hang(self, line: int, spot: Spot) -> None:
        """A link with no text of its own: to the row above it."""
        if self.rows and line - self.rows[-1].last_line <= 3 and not self.above:
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
        ):
            last.title = f"{last.title} {spot.text}"
            last.width = cell.width
        elif last.width + per_letter * (len(first_word) + 1) > last.room * 0.97 or last.title.count(
            "("
        ) > last.title.count(")"):
            last.title = f"{last.title} {spot.text}"
            last.width = cell.width
        elif self._optional(spot.text):
            last.options.append(spot.text)
        return True

    def _belongs(self, line: int, spot: Spot) -> bool:
        """Whether a line without a price goes with the row above: a labelled detail, a link, an indented line."""
        if not self.rows or self.above:
            return False
        last = self.rows[-1]
        near = line - last.last_line <= 2 and not self.view.lines[line - 1].rule
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
        if spot.links and (is_action(spot, self.view) or is_file_name(spot.text) or is_file_name(spot.links[0].text)):
            return True
        same = self.view.lines[line].block == self.view.lines[last.line].block
        return same and self.view.lines[line].indent > self.view.lines[last.line].indent

    def _priced_line(self, line: int, spot: Spot, listed: bool) -> None:
        text = spot.text
        money = set(spot.concepts) & MONEY
        only = spot.amount_only
        after = text[spot.amounts[-1].end :]
        recorded = bool(self.above) and "title" in self.above[-1][1].concepts  # "Item: X" above "Total: 5"
        if spot.label and money and (not money & TOTALS or (money & {"line_amount"} and recorded)):
            # "Price: £4.60" below a title; "Item total" may also end the list
            if self.above and not (money & {"subtotal"} and self.rows and not self._fresh()):
                self._from_above(line, spot, money)
            elif self.rows and line - self.rows[-1].last_line <= 3 and not money & {"subtotal"}:
                self._detail(self.rows[-1], spot, tuple(money))
            return
        if spot.label and set(spot.concepts) & TOTALS:
            self._break()
            return
        if only is not None or self._count_price(spot):
            if self._label_above() & TOTALS:
                self._break()
            elif self.above:
                self._from_above(line, spot, set())
            elif self.rows and line - self.rows[-1].last_line <= 3 and self.rows[-1].group.startswith("lines below"):
                self._detail(self.rows[-1], spot, ())
            return
        title = tell(self._before_amount(spot), self.words).title
        label = self.words.label(title)
        numbered = set(spot.concepts) & NUMBERS and title != tell(text[: spot.amounts[0].start], self.words).title
        if set(label) & (TOTALS | MONEY) or (spot.label and not set(spot.concepts) & {"title"} and not numbered):
            if set(label) & TOTALS:
                self._break()
            return
        fine = _AFTER_OK_RE.match(after) or listed or self._tail_ok(after)
        if not fine or not may_be_title(title, self.words) or self._sentence(title, text):
            return
        row = Row(title="", line=line, spot=self._index(spot), group=self._line_group(line), last_line=line)
        self._name(row, spot)
        if row.title:
            self._keep(row)

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
        row = Row(title=told.title, line=line, spot=self._index(spot), group=self._line_group(line), last_line=line)
        row.free, row.links, row.quantity = True, list(spot.links), told.quantity
        self._keep(row)
        return True

    def _titled_below(self, line: int, spot: Spot) -> bool:
        """A title that comes after its figures: number, code and count, then the prices, then the name."""
        figures = list(self.figures)
        if not any(s.amounts for s in figures) or line - figures[-1].line > 2 or spot.label:
            return False
        if not may_be_title(spot.text, self.words) or self._sentence(spot.text, spot.text):
            return False
        row = Row(title="", line=line, spot=self._index(spot), group="table of figures", last_line=line)
        self._name(row, spot)
        numbers = [s for s in figures if s.quantity_only]
        row.quantity = numbers[-1].quantity_only if numbers else None
        for figure in figures:
            if figure.amounts:
                self._price(row, figure, ())
            elif not figure.quantity_only:
                row.code = row.code or figure.text
        if row.title:
            self._keep(row)
        return bool(row.title)

    def _counted_line(self, line: int, spot: Spot) -> bool:
        """ "2 x Cotton lawn": a thing and how many of it, without a price."""
        told = tell(spot.text, self.words)
        if told.quantity is None or not may_be_title(told.title, self.words) or self._sentence(told.title, spot.text):
            return False
        row = Row(title="", line=line, spot=self._index(spot), group=f"list {line}", last_line=line)
        self._name(row, spot)
        if row.title:
            self._keep(row)
        return bool(row.title)

    def _fresh(self) -> bool:
        """Whether a title came after the last row."""
        return bool(self.above) and (not self.rows or self.above[-1][0] > self.rows[-1].last_line)

    def _label_above(self) -> set[str]:
        last = self.view.spots[self._index(self.above[-1][1])] if self.above else None
        return set(last.concepts) if last is not None and last.whole else set()

    def _count_price(self, spot: Spot) -> bool:
        """ "1 × £5.00", "2 à 4,50 € 9,00 €": a count and prices without a name."""
        rest = spot.text
        for amount in reversed(spot.amounts):
            rest = rest[: amount.start] + " " + rest[amount.end :]
        known = self.words.phrase_set("goods", "pieces") | self.words.phrase_set("goods", "each")
        tokens = (trim_label(t.strip("()")) for t in rest.replace("×", " × ").split(" "))
        count = re.match(r"\s*(\d{1,3})\b", rest)
        fine = all(
            not t or t.isdigit() or t in known or t in ("x", "×", "@", "à", "á", "je", "per", "st") for t in tokens
        )
        if fine and count:
            self.count = self.count or int(count.group(1)) or None
        return fine

    def _tail_ok(self, after: str) -> bool:
        found = lead(after.strip(" -–,;("), self.words)
        return found is not None or counted(after.strip(" -–,;()"), self.words) is not None

    def _sentence(self, title: str, text: str) -> bool:
        """Running text with a price in it is no row."""
        return title.count(" ") > 14 or (text.rstrip().endswith(".") and title.count(" ") > 6)

    def _line_group(self, line: int) -> str:
        last = self.rows[-1] if self.rows else None
        if last is not None and last.group.startswith("lines") and not last.group.startswith("lines below"):
            if line - last.last_line <= 8 and not any(self._breaks(n) for n in range(last.last_line + 1, line)):
                return last.group
        return f"lines {line}"

    def _from_above(self, line: int, spot: Spot, money: set[str]) -> None:
        """An amount whose title stands in the lines above it."""
        chosen = self._choose_above(line)
        if chosen is None:
            self._break()
            return
        at, title_spot = chosen
        last = self.rows[-1] if self.rows else None
        group = f"lines below {line}"
        if last is not None and last.group.startswith("lines below") and line - last.last_line <= 16:
            if not any(self._breaks_hard(n) for n in range(last.last_line + 1, line)):
                group = last.group
        row = Row(title="", line=at, spot=self._index(title_spot), group=group, last_line=line)
        self._name(row, title_spot)
        for number, other in self.above:
            if other is not title_spot and number >= at:
                self._detail(row, other, ())
        row.above = list(self.above)
        row.quantity = row.quantity or self.count
        self._price(row, spot, money)
        row.links.extend(spot.links)
        if row.title and not self.words.label(row.title):
            self._keep(row)
        self._break()

    def _breaks_hard(self, line: int) -> bool:
        return any(s.whole and set(s.concepts) & TOTALS for s in self.view.of_line(line))

    def _choose_above(self, line: int) -> tuple[int, Spot] | None:
        fitting = [
            (n, s)
            for n, s in self.above
            if line - n <= 12
            and may_be_title(s.value if "title" in s.concepts and s.value else s.text, self.words)
            and not is_action(s, self.view)
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

    def _loose(self, line: int) -> None:
        """A row of cells that names no thing: its prices may belong to a title above."""
        spots = self.view.of_line(line)
        labels = {c for s in spots if s.whole for c in s.concepts}
        if labels & TOTALS:
            self._break()
            return
        priced = [s for s in spots if s.amounts and not (s.label and set(s.concepts) & TOTALS)]
        if not self.above and all(not s.text or s.amount_only or s.quantity_only or is_code(s.text) for s in spots):
            self.figures.extend(spots)
            return
        if priced and self.above and all(not s.text or s.amounts or s.quantity_only or s.whole for s in spots):
            counts = [s.quantity_only for s in spots if s.quantity_only]
            self.count = self.count or (counts[0] if counts else None)
            rest = priced[1:]
            before = len(self.rows)
            self._from_above(line, priced[0], set(priced[0].concepts) & MONEY)
            if len(self.rows) > before:
                for spot in rest:
                    self._detail(self.rows[-1], spot, ())

    def _keep(self, row: Row) -> None:
        row.links = list(dict.fromkeys(row.links))
        self.rows.append(row)
        self._break()
