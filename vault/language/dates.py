"""Dates as printed, in words or in numbers.

Month names of all languages come from CLDR (Babel) and live in one table: no name means two months.  A date in
numbers is read by the order its language uses; where day and month could be exchanged (English, or no language
known) both readings are reported, and `settle` chooses by a day that the date must be near, or says None.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from vault.language.folding import narrow

_LOCALES = ("en", "de", "fr", "nl", "es", "it", "sv", "da", "nb", "pl", "fi", "ca", "pt")
_FINNISH = ("tammi", "helmi", "maalis", "huhti", "touko", "kesä", "heinä", "elo", "syys", "loka", "marras", "joulu")
# Forms in use that CLDR does not list: older, longer or unaccented abbreviations, the Finnish cases in dates.
_MORE = """
sept=9 janv=1 fevr=2 fevrier=2 aout=8 avr=4 decembre=12 mrz=3 maerz=3 jänner=1 feber=2 mrt=3 set=9 ene=1 abr=4 ago=8
dic=12 gen=1 mag=5 giu=6 lug=7 ott=10 septiembre=9 setiembre=9
"""
_MORE_MONTHS: dict[str, int] = {
    **{name: int(number) for name, _, number in (pair.partition("=") for pair in _MORE.split())},
    **{name + ending: n for n, name in enumerate(_FINNISH, 1) for ending in ("", "k", "kuuta", "kuun")},
}
_ERAS = {"令和": 2018, "平成": 1988, "reiwa": 2018}
_MONTH_FIRST_POSSIBLE = frozenset({"en"})
_YEAR_FIRST = frozenset({"sv", "ja"})

_ISO_RE = re.compile(r"(?<!\d)((?:19|20)\d\d)([-/.])(\d{1,2})\2(\d{1,2})(?!\d)")
_NUMERIC_RE = re.compile(r"(?<![\d.,/-])(\d{1,2})(?:([/-])(\d{1,2})\2|(\.)\s?(\d{1,2})\.\s?)((?:19|20)\d\d|\d\d)(?!\d)")
_JAPANESE_RE = re.compile(r"((?:19|20)\d\d|令和\s?\d{1,2}|平成\s?\d{1,2})\s?年\s?(\d{1,2})\s?月\s?(\d{1,2})\s?日")
_JAPANESE_SHORT_RE = re.compile(r"(?<!\d)(\d{1,2})月(\d{1,2})日")


@dataclass(frozen=True, kw_only=True)
class FoundDate:
    """One printed date: its place in the text and the days it may mean; `year` tells whether a year is printed."""

    start: int
    end: int
    candidates: tuple[date, ...]
    year: bool = True

    @property
    def value(self) -> date | None:
        """The day, if the print leaves no choice."""
        return self.candidates[0] if len(self.candidates) == 1 and self.year else None


@lru_cache(maxsize=1)
def _months() -> dict[str, int]:
    from babel.dates import get_month_names

    out = dict(_MORE_MONTHS)
    for locale in _LOCALES:
        for width in ("wide", "abbreviated"):
            for context in ("format", "stand-alone"):
                for number, name in get_month_names(width, context, locale).items():
                    out.setdefault(name.casefold().rstrip("."), int(number))
    return {name: number for name, number in out.items() if len(name) > 1 and not name[0].isdigit()}


@lru_cache(maxsize=1)
def _worded() -> tuple[re.Pattern[str], re.Pattern[str], re.Pattern[str]]:
    names = "|".join(re.escape(n) for n in sorted(_months(), key=len, reverse=True))
    month = rf"(?P<m>{names})(?![^\W\d_])\.?"
    day = r"(?<![\d.,:/-])(?P<d>\d{1,2})(?:st|nd|rd|th|er|:a|:e|\.|º|ª|°)?"
    year = r"(?P<y>(?:19|20)\d\d|['’]\d\d)(?!\d)"
    return (
        re.compile(rf"{day}[\s-]?(?:de\s|of\s|d['’])?{month}(?:,?[\s-]?(?:de\s|del\s)?{year})?", re.I),
        re.compile(rf"(?<![^\W\d_]){month}\s(?P<d>\d{{1,2}})(?:st|nd|rd|th|\.)?(?![\d.,]\d|:)(?:,?\s{year})?", re.I),
        re.compile(rf"(?<![\d-])(?P<y>(?:19|20)\d\d)[-.\s]+{month}[-.\s]+(?P<d>\d{{1,2}})(?!\d)", re.I),
    )


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _full_year(text: str) -> int:
    digits = text.strip("'’")
    if len(digits) == 4:
        return int(digits)
    short = int(digits)
    return 2000 + short if short < 80 else 1900 + short


def _numeric(match: re.Match[str], language: str | None) -> tuple[date, ...]:
    dotted = match.group(4) is not None
    first, second = int(match.group(1)), int(match.group(5) if dotted else match.group(3))
    year = _full_year(match.group(6))
    orders = [(second, first)]  # day, then month
    if not dotted and (language is None or language in _MONTH_FIRST_POSSIBLE):
        orders.append((first, second))
    days = [d for month, day in orders if (d := _day(year, month, day)) is not None]
    if len(match.group(6)) == 2 and not dotted and language in _YEAR_FIRST and match.group(2) in "-/":
        swapped = _day(2000 + first, second, int(match.group(6)))
        days = [swapped] if swapped is not None else days
    return tuple(dict.fromkeys(days))


def _era_year(text: str) -> int:
    for era, base in _ERAS.items():
        if text.startswith(era):
            return base + int(text[len(era) :].strip())
    return int(text)


def find_dates(text: str, language: str | None = None, *, near: date | None = None) -> tuple[FoundDate, ...]:
    """Every date printed in `text`, in order, none overlapping another.

    A date without a year is reported only where `near` is given; its candidates are then the days of that name
    around it.
    """
    if not any(c.isdigit() for c in text):
        return ()
    text = narrow(text)
    found: list[FoundDate] = []

    def add(match: re.Match[str], days: Iterable[date | None], *, year: bool = True) -> None:
        candidates = tuple(d for d in days if d is not None)
        if candidates and not any(f.start < match.end() and match.start() < f.end for f in found):
            found.append(FoundDate(start=match.start(), end=match.end(), candidates=candidates, year=year))

    for match in _ISO_RE.finditer(text):
        add(match, [_day(int(match.group(1)), int(match.group(3)), int(match.group(4)))])
    for match in _JAPANESE_RE.finditer(text):
        add(match, [_day(_era_year(match.group(1)), int(match.group(2)), int(match.group(3)))])
    for match in _NUMERIC_RE.finditer(text):
        add(match, _numeric(match, language))
    for pattern in reversed(_worded()):
        for match in pattern.finditer(text):
            month, day = _months()[match.group("m").casefold()], int(match.group("d"))
            if match.group("y"):
                add(match, [_day(_full_year(match.group("y")), month, day)])
            elif near is not None:
                add(match, _around(month, day, near), year=False)
    if near is not None:
        for match in _JAPANESE_SHORT_RE.finditer(text):
            add(match, _around(int(match.group(1)), int(match.group(2)), near), year=False)
    return tuple(sorted(found, key=lambda f: f.start))


def _around(month: int, day: int, near: date) -> list[date]:
    days = [d for year in (near.year - 1, near.year, near.year + 1) if (d := _day(year, month, day)) is not None]
    return sorted(days, key=lambda d: abs((d - near).days))


def settle(found: FoundDate, *, near: date | None = None, within: timedelta = timedelta(days=5)) -> date | None:
    """The day `found` means: its only reading, else the one reading that lies within `within` of `near`, else None."""
    if found.value is not None:
        return found.value
    if near is None:
        return None
    close = [d for d in found.candidates if abs(d - near) <= within]
    return close[0] if len(close) == 1 else None


def settle_after(found: FoundDate, start: date) -> date | None:
    """The day an end (of a link, of a shop) means that is announced on `start`: the first reading not before it."""
    if found.value is not None:
        return found.value
    later = sorted(d for d in found.candidates if d >= start)
    if not found.year:
        return later[0] if later else None
    return later[0] if len(later) == 1 else None
