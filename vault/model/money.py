"""Money: an exact amount with its currency (ISO 4217).  Never a float."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

# ISO 4217 minor units that are not 2.
MINOR_UNITS: dict[str, int] = {
    **dict.fromkeys("BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF".split(), 0),
    **dict.fromkeys("BHD IQD JOD KWD LYD OMR TND".split(), 3),
    **dict.fromkeys("CLF UYW".split(), 4),
}
_CODE_RE = re.compile(r"[A-Z]{3}\Z")


def minor_units(currency: str) -> int:
    """Number of decimal places of `currency` by ISO 4217 (2 for codes that the table does not name)."""
    return MINOR_UNITS.get(currency, 2)


def amount_text(amount: Decimal, currency: str | None) -> str:
    """`amount` as a plain decimal string with the currency's number of places (more only if the amount has more)."""
    places = minor_units(currency) if currency else 2
    exponent = amount.normalize().as_tuple().exponent
    own = max(0, -exponent) if isinstance(exponent, int) else 0
    return f"{amount:.{max(places, own)}f}"


@dataclass(frozen=True, kw_only=True)
class Money:
    """An amount in one currency.  Raises ValueError for floats, non-finite amounts and malformed codes."""

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        if not isinstance(self.amount, Decimal):
            raise ValueError(f"amount must be Decimal, not {type(self.amount).__name__}")
        if not self.amount.is_finite():
            raise ValueError(f"amount must be finite: {self.amount}")
        if not _CODE_RE.match(self.currency):
            raise ValueError(f"currency must be an ISO 4217 code: {self.currency!r}")

    def __str__(self) -> str:
        return f"{amount_text(self.amount, self.currency)} {self.currency}"
