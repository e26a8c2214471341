"""Counts behind the charts: bought per year with what is held of it, and where the missing things are."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from vault.model.match import MissingRow, PurchaseView
from vault.model.purchase import ItemState

UNDATED = "no day"
_STATES = (ItemState.HELD, ItemState.PARTIAL, ItemState.MISSING)


@dataclass(frozen=True, kw_only=True)
class Tally:
    """How many patterns of a year or a seller are held, held in part and missing."""

    label: str
    held: int = 0
    partial: int = 0
    missing: int = 0

    @property
    def bought(self) -> int:
        """All of them."""
        return self.held + self.partial + self.missing

    @property
    def short(self) -> int:
        """Those that are not wholly held."""
        return self.partial + self.missing


def by_year(purchases: Iterable[PurchaseView]) -> tuple[Tally, ...]:
    """A tally for each year in which anything was bought, years between included, oldest first; undated ones last.

    Counted are patterns bought as downloads and not given back, as in the rest of the status.
    """
    found: dict[int | None, Counter[ItemState]] = {}
    for view in purchases:
        year = view.purchase.purchased_on.year if view.purchase.purchased_on else None
        for item in view.items:
            if item.item.craft_pattern is not False and item.standing.state in _STATES:
                found.setdefault(year, Counter())[item.standing.state] += 1
    years = sorted(y for y in found if y is not None)
    # A year misread by centuries must not draw centuries of empty rows.
    whole = range(years[0], years[-1] + 1) if years and years[-1] - years[0] < 60 else years
    rows = [_tally(str(year), found.get(year, Counter())) for year in whole]
    return tuple(rows + ([_tally(UNDATED, found[None])] if None in found else []))


def by_seller(missing: Iterable[MissingRow]) -> tuple[Tally, ...]:
    """A tally for each seller with missing things, the most first."""
    found: dict[str, Counter[ItemState]] = {}
    names: dict[str, str] = {}
    for row in missing:
        name = row.seller.name if row.seller else row.purchase.seller or "seller not named"
        key = row.seller.id if row.seller else name.casefold()
        names.setdefault(key, name)
        found.setdefault(key, Counter())[row.view.standing.state] += 1
    ordered = sorted(found, key=lambda k: (-found[k].total(), names[k].casefold(), k))
    return tuple(_tally(names[k], found[k]) for k in ordered)


def _tally(label: str, counted: Counter[ItemState]) -> Tally:
    return Tally(
        label=label,
        held=counted[ItemState.HELD],
        partial=counted[ItemState.PARTIAL],
        missing=counted[ItemState.MISSING],
    )


def year_rows(tallies: Iterable[Tally]) -> list[dict[str, Any]]:
    """`by_year` of `status --json`."""
    return [
        {
            "year": int(t.label) if t.label != UNDATED else None,
            "bought": t.bought,
            "held": t.held,
            "partial": t.partial,
            "missing": t.missing,
        }
        for t in tallies
    ]


def seller_rows(tallies: Iterable[Tally]) -> list[dict[str, Any]]:
    """`missing_by_seller` of `status --json`."""
    return [{"seller": t.label, "missing": t.missing, "partial": t.partial} for t in tallies]
