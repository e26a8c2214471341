"""A thing sold, as printed.  Every way to print an item ends in a `Row`; nothing here knows a shop.

Rows found the same way in the same place form a group; which groups are the order's is decided by the sums (`sums`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from vault.language.amounts import Amount
from vault.receipts.lines import Link
from vault.receipts.view import Spot

MAX_TITLE = 220  # characters
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
    fetched: bool = False  # the word for a download stands in the row
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
            out += [p for p in prices if any(q * count == p for q in (*prices, *units))][-1:]
            out.append(prices[-1])
        out += prices
        out += [u * count for u in units]
        if count > 1:
            out += [p * count for p in prices]
        out += units
        out += [o for _, a in self.amounts for o in a.others]
        return list(dict.fromkeys(out))
