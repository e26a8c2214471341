"""Money as printed: where the amounts stand in a text, and which values they may mean.

A number is read under every convention of the trade's locales, each strictly (Babel refuses a group of the wrong
length, where a lenient reader makes 1250 of "12,50"): decimal point with comma groups, decimal comma with point
groups, groups of blanks or apostrophes.  A printed number that gives one value under all conventions that accept it
is certain.  Where they differ ("1.234"), the language of the document chooses and the other value is reported.

Blanks that typesetting puts between groups (U+0020, U+00A0, U+2009, U+202F) are one and the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise

from vault.language.currencies import BEFORE, BY_LANGUAGE, SIGNS
from vault.language.folding import narrow

_BLANKS = str.maketrans(dict.fromkeys("\u00a0\u2009\u202f\u2007\u2008\u2002\u2003\t", " "))

# One locale for each way to write a number; CLDR's group sign for French is U+202F, for de-CH U+2019.
_POINT, _COMMA, _BLANK, _APOSTROPHE, _BLANK_POINT = "en", "de", "fr", "de_CH", "en_ZA"
_CONVENTIONS: dict[str, tuple[str, ...]] = {
    "en": (_POINT, _BLANK_POINT),
    "ja": (_POINT,),
    "de": (_COMMA, _APOSTROPHE, _BLANK),
    "fr": (_BLANK, _COMMA, _APOSTROPHE, _BLANK_POINT),
    "it": (_COMMA, _APOSTROPHE, _BLANK),
    "nl": (_COMMA, _BLANK),
    "es": (_COMMA, _BLANK),
    "da": (_COMMA, _BLANK),
    "pl": (_BLANK, _COMMA),
    "sv": (_BLANK, _COMMA),
    "nb": (_BLANK, _COMMA),
    "fi": (_BLANK, _COMMA),
}
_ALL = (_POINT, _COMMA, _BLANK, _APOSTROPHE, _BLANK_POINT)

# digits, then groups or decimals, each after one separator; bounded so that nothing backtracks far
_NUMBER_RE = re.compile(r"(?<![\d.,])\d{1,12}(?:[.,'’ ]\d{1,6}){0,5}(?:[.,]\s?[-–—]{1,2}(?![\d-])|(?=:-))?")
_GROUPED_RE = re.compile(r"\d{1,3}(?:([.,'’ ])\d{3})(?:\1\d{3})*(?:[.,]\d+)?\Z|\d+(?:[.,]\d+)?\Z")
_DASHES_RE = re.compile(r"[.,]\s?[-–—]{1,2}\Z")
_SIGN_FORMS = sorted(SIGNS, key=len, reverse=True)
_FOLDED_SIGNS = {form.casefold(): codes for form, codes in SIGNS.items()}
_CJK = "\u2e80"  # scripts without blanks begin here: "1,400円を" ends the amount before を
_AFTER_RE = re.compile(
    r"\s?("
    + "|".join(re.escape(f) + (r"(?![^\W\d_])" if f[-1].isalpha() and f[-1] < _CJK else "") for f in _SIGN_FORMS)
    + ")",
    re.I,
)
_BEFORE_RE = re.compile(
    # a form that begins with a letter must not continue a word ("Total EUR", not "neur"); "Subtotal£23" is fine
    "("
    + "|".join(("(?<![^\\W\\d_])" if f[0].isalpha() else "") + re.escape(f) for f in _SIGN_FORMS)
    + r")\s?([-−–+]?\s?)\Z",
    re.I,
)
_BEFORE_SPAN = 14
_LAST_LETTERS = frozenset(form[-1].casefold() for form in _SIGN_FORMS)  # looked at before the pattern is tried
_UNIT_RE = re.compile(r"\s?(?:%|cm|mm|inch|in\b|g\b|kg|ml|m\b|mb|kb|gb|x\d|px|pt|st\b|:\d|/\d|-\d|°)", re.I)
_MINUS_RE = re.compile(r"(?:(?<=\s)|(?<=[(:=])|\A)([-−–])\s?\Z")


@dataclass(frozen=True, kw_only=True)
class Amount:
    """One printed amount: its place in the text, its value with sign, and what it is printed in.

    `others` are values it could also be; `currencies` the codes its sign may mean, likeliest first, empty when no
    currency is printed.
    """

    start: int
    end: int
    value: Decimal
    others: tuple[Decimal, ...] = ()
    currencies: tuple[str, ...] = ()
    decimals: int = 0

    @property
    def marked(self) -> bool:
        """Whether a currency is printed with it."""
        return bool(self.currencies)


def _reading(digits: str, locale: str) -> Decimal | None:
    """`digits` read strictly as `locale` writes numbers, or None where it would not write them so."""
    if not _GROUPED_RE.match(digits):
        return None
    if locale == _BLANK_POINT:  # CLDR 48 writes fr-CH so: blanks between groups, a decimal point
        if "," in digits or "'" in digits or "’" in digits or " " not in digits:
            return None
        return _babel(digits.replace(" ", ","), "en")
    if locale == _BLANK:
        return _babel(digits.replace(" ", "\u202f"), locale)
    if locale == _APOSTROPHE:
        return _babel(digits.replace("'", "’"), locale)
    return _babel(digits, locale)


def _babel(digits: str, locale: str) -> Decimal | None:
    from babel.numbers import NumberFormatError, parse_decimal

    try:
        value: Decimal = parse_decimal(digits, locale=locale, strict=True)
    except NumberFormatError:
        return None
    return value


@lru_cache(maxsize=8192)
def readings(digits: str, language: str | None = None) -> tuple[Decimal, ...]:
    """The values that the printed number `digits` may have, the language's own reading first; empty if it is none.

    `digits` has no sign and no currency; blanks of any kind count as one.
    """
    digits = narrow(digits).translate(_BLANKS).strip()
    if digits.isdigit() and digits.isascii():
        return (Decimal(digits),)
    own = _CONVENTIONS.get(language or "", ())
    out: list[Decimal] = []
    for locale in (*own, *(c for c in _ALL if c not in own)):
        value = _reading(digits, locale)
        if value is not None and value not in out:
            out.append(value)
    return tuple(out)


def _decimals(digits: str) -> int:
    tail = re.search(r"[.,](\d+)\Z", digits)
    return len(tail.group(1)) if tail else 0


def _money(values: tuple[Decimal, ...], currencies: tuple[str, ...]) -> tuple[Decimal, ...]:
    """Readings that money can have come first: no currency of the trade prints three decimals."""
    fine = [v for v in values if -2 <= _exponent(v) <= 0] if currencies else list(values)
    return (*fine, *(v for v in values if v not in fine))


def _exponent(value: Decimal) -> int:
    exponent = value.as_tuple().exponent
    return exponent if isinstance(exponent, int) else 0


@dataclass(slots=True)
class _Spot:
    """A number in the text with the signs beside it, before they are shared out."""

    start: int
    end: int
    digits: str
    whole: bool  # "12,-": no decimals, but money
    before: re.Match[str] | None
    after: re.Match[str] | None


def _spots(text: str) -> Iterator[_Spot]:
    for match in _NUMBER_RE.finditer(text):
        start, end = match.span()
        digits = match.group()
        whole = bool(_DASHES_RE.search(digits))
        if whole:
            digits = _DASHES_RE.sub("", digits)
        before = None
        if (text[max(0, start - 4) : start].rstrip(" -−–+") or " ")[-1].casefold() in _LAST_LETTERS:
            before = _BEFORE_RE.search(text, max(0, start - _BEFORE_SPAN), start)
        after = _AFTER_RE.match(text, end)
        previous = text[start - 1] if start else " "
        if before is None and (previous.isalnum() or previous in "#_/\\@%&=?"):
            continue
        yield _Spot(start, end, digits, whole, before, after)


def _share_signs(spots: list[_Spot], language: str | None) -> None:
    """A sign between two numbers belongs to one of them: to the one it touches, to the one with decimals, else as
    the language writes it."""
    for left, right in pairwise(spots):
        if left.after is None or right.before is None or left.after.end(1) <= right.before.start(1):
            continue
        touches_left = left.after.start(1) == left.end
        touches_right = right.before.end() == right.before.end(1)
        decimals_left, decimals_right = _decimals(left.digits) == 2, _decimals(right.digits) == 2
        if left.before is not None:
            give_right = True
        elif touches_left != touches_right:
            give_right = touches_right
        elif decimals_left != decimals_right:
            give_right = decimals_right
        else:
            give_right = language in BEFORE
        if give_right:
            left.after = None
        else:
            right.before = None


def find_amounts(text: str, language: str | None = None) -> tuple[Amount, ...]:
    """Every amount of money in `text`, in order: numbers with a currency, and bare numbers with two decimals.

    A number without a currency that is a percentage, a length, part of a date or of a code is left out.
    """
    text = narrow(text).translate(_BLANKS)
    spots = _split_runs(list(_spots(text)), text)
    _share_signs(spots, language)
    out: list[Amount] = []
    for spot in spots:
        amount = _amount(spot, text, language)
        if amount is not None:
            out.append(amount)
    return tuple(out)


def _split_runs(spots: list[_Spot], text: str) -> list[_Spot]:
    """A blank inside a number is a group sign only before three digits; "2 14,80" are two numbers."""
    out: list[_Spot] = []
    for spot in spots:
        if " " in spot.digits and not _GROUPED_RE.match(spot.digits):
            at = 0
            for part in spot.digits.split(" "):
                start = spot.start + spot.digits.index(part, at)
                at = start - spot.start + len(part)
                end = start + len(part)
                if start == spot.start or end == spot.start + len(spot.digits):
                    end = spot.end if end == spot.start + len(spot.digits) else end
                before = spot.before if start == spot.start else None
                after = _AFTER_RE.match(text, end)
                out.append(_Spot(start, end, part, spot.whole and end == spot.end, before, after))
        else:
            out.append(spot)
    return out


def _amount(spot: _Spot, text: str, language: str | None) -> Amount | None:
    values = readings(spot.digits, language)
    if not values:
        return None
    currencies: tuple[str, ...] = ()
    start, end = spot.start, spot.end
    negative = False
    if spot.before is not None:
        currencies = _FOLDED_SIGNS[spot.before.group(1).casefold()]
        negative = spot.before.group(2).strip() in {"-", "−", "–"}
        start = spot.before.start()
    if spot.after is not None:
        codes = _FOLDED_SIGNS[spot.after.group(1).casefold()]
        # "$12.00 USD", "12,00 € EUR": the second sign settles the first
        common = tuple(c for c in codes if c in currencies)
        currencies = common or codes if not currencies or len(codes) < len(currencies) else currencies
        end = spot.after.end()
        second = _AFTER_RE.match(text, end)
        if second is not None:
            codes = _FOLDED_SIGNS[second.group(1).casefold()]
            if set(codes) <= set(currencies):
                currencies, end = codes, second.end()
    decimals = _decimals(spot.digits)
    if not currencies:
        if decimals != 2 and not spot.whole:
            return None
        if _UNIT_RE.match(text, end) or (end < len(text) and (text[end].isalnum() or text[end] in "/_")):
            return None
    minus = _MINUS_RE.search(text, max(0, start - 3), start)
    if minus is not None:
        # a dash with a blank after it is a sign only at the start ("- 8,40 zł"), else it parts words from the price
        attached = minus.end() == minus.end(1)
        if minus.group(1) == "−" or (attached and minus.group(1) == "-") or minus.start(1) == 0:
            negative, start = True, minus.start(1)
    if end < len(text) and text[end] == "-" and not text[end + 1 : end + 2].strip():
        negative, end = True, end + 1
    if text[max(0, start - 1) : start] == "(" and text[end : end + 1] == ")" and not text[: start - 1].strip(" :"):
        negative, start, end = True, start - 1, end + 1
    ordered = _money(values, currencies)
    sign = -1 if negative else 1
    return Amount(
        start=start,
        end=end,
        value=ordered[0] * sign,
        others=tuple(v * sign for v in ordered[1:]),
        currencies=currencies,
        decimals=decimals,
    )


def parse_amount(text: str, language: str | None = None) -> Amount | None:
    """The one amount that `text` consists of, or None if it holds anything else."""
    stripped = text.strip()
    if len(stripped) > 40 or not any(c.isdigit() for c in stripped):
        return None
    found = find_amounts(stripped, language)
    if len(found) != 1:
        return None
    rest = stripped[: found[0].start] + stripped[found[0].end :]
    return found[0] if not rest.strip(" *.:=\u00a0\u202f") else None


def settle_currency(candidates: tuple[str, ...], language: str | None) -> str | None:
    """The one code a shared sign means in a document of `language`, or None where the language does not say."""
    if len(candidates) == 1:
        return candidates[0]
    home = BY_LANGUAGE.get(language or "")
    return home if home in candidates else None
