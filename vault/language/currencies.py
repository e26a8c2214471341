"""What is printed for a currency, and the ISO 4217 codes it may mean.

A sign that several currencies share ("$", "kr", "¥") lists them all, likeliest first; the reader of the document
settles it with other evidence or says nothing.
"""

from __future__ import annotations

_CODES = """
AED ARS AUD BGN BRL CAD CHF CLP CNY COP CZK DKK EGP EUR GBP HKD HRK HUF IDR ILS INR ISK JPY KRW MAD MXN MYR NOK NZD PEN
PHP PLN QAR RON RSD RUB SAR SEK SGD THB TRY TWD UAH USD UYU VND ZAR
"""
CODES = frozenset(_CODES.split())

DOLLARS = ("USD", "CAD", "AUD", "NZD", "SGD", "HKD", "MXN")
KRONER = ("SEK", "NOK", "DKK", "ISK")

# Printed form -> codes.  Compared without regard to case where the form has letters; longest form wins.
SIGNS: dict[str, tuple[str, ...]] = {
    "€": ("EUR",),
    "£": ("GBP",),
    "￡": ("GBP",),
    "$": DOLLARS,
    "＄": DOLLARS,
    "US$": ("USD",),
    "US $": ("USD",),
    "USD$": ("USD",),
    "$US": ("USD",),
    "C$": ("CAD",),
    "CA$": ("CAD",),
    "CAD$": ("CAD",),
    "CDN$": ("CAD",),
    "$CA": ("CAD",),
    "A$": ("AUD",),
    "AU$": ("AUD",),
    "AUD$": ("AUD",),
    "NZ$": ("NZD",),
    "NZD$": ("NZD",),
    "S$": ("SGD",),
    "HK$": ("HKD",),
    "MX$": ("MXN",),
    "R$": ("BRL",),
    "¥": ("JPY", "CNY"),
    "￥": ("JPY", "CNY"),
    "JP¥": ("JPY",),
    "CN¥": ("CNY",),
    "円": ("JPY",),
    "yen": ("JPY",),
    "元": ("CNY",),
    "kr": KRONER,
    "kr.": KRONER,
    ":-": KRONER,
    "skr": ("SEK",),
    "nkr": ("NOK",),
    "dkr": ("DKK",),
    "kronor": ("SEK",),
    "kroner": ("DKK", "NOK"),
    "zł": ("PLN",),
    "zl": ("PLN",),
    "złotych": ("PLN",),
    "złote": ("PLN",),
    "Kč": ("CZK",),
    "Ft": ("HUF",),
    "lei": ("RON",),
    "лв": ("BGN",),
    "₽": ("RUB",),
    "₴": ("UAH",),
    "₺": ("TRY",),
    "₩": ("KRW",),
    "₹": ("INR",),
    "₪": ("ILS",),
    "฿": ("THB",),
    "₱": ("PHP",),
    "Fr.": ("CHF",),
    "SFr.": ("CHF",),
    "Fr": ("CHF",),
    "Franken": ("CHF",),
    "euro": ("EUR",),
    "euros": ("EUR",),
    "euroa": ("EUR",),
    "eur.": ("EUR",),
    "pounds": ("GBP",),
    "dollars": DOLLARS,
    "US dollars": ("USD",),
    **{code: (code,) for code in CODES},
}

# Whether the sign stands before the amount in a language's usual form (CLDR); the others write it after.
BEFORE = frozenset({"en", "nl", "ja"})

# The currency a shared sign means when the language has one home for it.
BY_LANGUAGE: dict[str, str] = {"sv": "SEK", "nb": "NOK", "da": "DKK", "ja": "JPY"}
