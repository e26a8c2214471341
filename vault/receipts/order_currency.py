"""The currency of an order: what its amounts say; of a shared sign ("$", "kr"), what else the document says."""

from __future__ import annotations

from collections import Counter

from vault.language.amounts import Amount, settle_currency
from vault.language.currencies import DOLLARS
from vault.receipts.view import View


def currency_of(view: View, amounts: list[Amount]) -> tuple[str | None, str]:
    """The currency of an order: of its own amounts, a shared sign settled by what else the document says."""
    if not amounts:
        amounts = [a for s in view.spots for a in s.amounts]
    sure = Counter(a.currencies[0] for a in amounts if len(a.currencies) == 1)
    if sure:
        code = sure.most_common(1)[0][0]
        return code, code
    shared = Counter(a.currencies for a in amounts if a.currencies)
    if not shared:
        return view.named_currency, "named beside the amounts"
    candidates = shared.most_common(1)[0][0]
    everywhere = Counter(
        a.currencies[0]
        for s in view.spots
        for a in s.amounts
        if len(a.currencies) == 1 and a.currencies[0] in candidates
    )
    if everywhere:
        return everywhere.most_common(1)[0][0], "printed elsewhere in the document"
    named = _named_code(view, candidates)
    if named:
        return named, "named in the document"
    usual = settle_currency(candidates, view.language)
    if usual:
        return usual, "the currency of the language"
    if candidates == DOLLARS:
        return _dollar(view), "dollars, by the country the document names"
    return None, ""


def _named_code(view: View, candidates: tuple[str, ...]) -> str | None:
    """A code that stands alone in the text ("All prices in CAD"), if it is the only one of the candidates."""
    text = " " + " ".join(s.text for s in view.spots if s.text and len(s.text) < 200) + " "
    named = [c for c in candidates if f" {c} " in text or f"({c})" in text or f" {c}." in text or f"{c}:" in text]
    return named[0] if len(named) == 1 else None


_DOLLAR_SIGNS = (
    ("CAD", ("canada", "gst/hst", " hst", "ontario", "quebec", "british columbia", "alberta", "nova scotia", ".ca")),
    ("AUD", ("australia", " abn", "nsw", "queensland", "victoria 3", ".com.au", ".au")),
    ("NZD", ("new zealand", "aotearoa", "auckland", ".co.nz", ".nz")),
    ("SGD", ("singapore", ".sg")),
    ("HKD", ("hong kong", ".hk")),
    ("MXN", ("méxico", "mexico", ".mx")),
)


def _dollar(view: View) -> str | None:
    """Which dollar: that of the country whose tax, places or domain the document names; the US one where none is.

    Services that sell in US dollars print the bare sign; shops of the other countries name theirs in some way
    (common practice, no published source).  Two countries leave it open.
    """
    text = view.doc.folded + " " + view.doc.sender_address.casefold()
    found = [code for code, words in _DOLLAR_SIGNS if any(_stands(text, w) for w in words)]
    if not found:
        return "USD"
    return found[0] if len(found) == 1 else None


def _stands(text: str, word: str) -> bool:
    at = text.find(word)
    while at >= 0:
        after = text[at + len(word) : at + len(word) + 1]
        if not after.isalnum() and after not in (".", "-"):
            return True
        at = text.find(word, at + 1)
    return False
