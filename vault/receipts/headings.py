"""Column headings, and the labels that stand around amounts: what tells a price from a tax, a sum from a row."""

from __future__ import annotations

import re
from dataclasses import dataclass

from vault.receipts.view import View
from vault.receipts.words import COLUMNS, MONEY, TOTALS, bare_label

_SENTENCE_RE = re.compile(r"(?<=\w{4})[.!?]\s+(?=[A-ZÀ-Þ])")

_DASH_RE = re.compile(r"\s*[-–—|:·]\s+(?=\S)")

_TIMES_RE = re.compile(r"\s[x×*@]\s")
Columns = list[tuple[float, float, tuple[str, ...]]]  # left, width, concepts


@dataclass(slots=True)
class Header:
    """A row of column headings."""

    table: int
    line: int
    columns: Columns
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


def label_around(view: View, before: str, after: str) -> tuple[str, ...]:
    """The concepts of the words around an amount: of those just before it, else of those after it."""
    left = bare_label(_SENTENCE_RE.split(before)[-1].replace("(", " "))
    words = tuple(left.split(" ")) if left else ()
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
    head, colon, about = before.partition(":")
    if colon and set(concepts := view.words.label(head)) & TOTALS and len(about.split()) <= 5:
        return concepts  # "Delivery: parcel shop"
    right = bare_label(after.split(". ")[0].split(",")[0])
    if right:
        both = view.words.exact(f"{left.rsplit(' ', 1)[-1]} {right}".strip()) if left else ()
        if set(both) & TOTALS:
            return both
        own = view.words.exact(right)
        if set(own) & {"tax", "tax_included", "discount", "shipping", "gift_card"}:
            return own
        if not before.strip() and _DASH_RE.match(after):
            # "20.40 - TOTAL": the amounts stand first
            return own or next((c for c, _, _ in view.words.leading(right) if set(c) & TOTALS), ())
    return ()


def header_of(view: View, line: int, *, history: bool = False) -> Header | None:
    """The column headings, if the line is a row of them; `history` also takes those of a list of orders."""
    cells = view.lines[line].cells
    if len(cells) < 2 or any(s.amounts for s in view.of_line(line)):
        return None
    columns: Columns = []
    named = 0
    for number, cell in enumerate(cells):
        spots = view.of_cell(line, number)
        text = " ".join(s.text for s in spots if s.text)
        concepts = spots[0].concepts if spots and spots[0].whole else view.words.label(text) if len(text) < 50 else ()
        if not concepts and len(parts := _TIMES_RE.split(text)) == 2:
            # "Qty x price"
            left, right = (view.words.label(part) for part in parts)
            concepts = tuple(dict.fromkeys((*left, *right))) if left and right else ()
        concepts = tuple(c for c in concepts if c in COLUMNS)
        named += bool(concepts)
        columns.append((cell.column, cell.width, concepts))
    if named < 2 or named * 5 < len(cells) * 3:
        return None
    kinds = {c for _, _, concepts in columns for c in concepts}
    if not kinds & {"title", "quantity", "unit_price", "price", "reference", "download"} and not history:
        return None
    return Header(view.lines[line].table, line, _one_each(columns), f"table {line}")


def _one_each(
    columns: Columns,
) -> Columns:
    """A concept that two headings may mean belongs to the plainer one: "#" numbers the lines where "Qty" counts."""
    out: Columns = []
    for left, width, concepts in columns:
        kept = tuple(
            c
            for c in concepts
            if not any(c in other and len(other) < len(concepts) for _, _, other in columns if other is not concepts)
        )
        out.append((left, width, kept or concepts[:1]))
    return out


def fact_lines(view: View) -> set[int]:
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
