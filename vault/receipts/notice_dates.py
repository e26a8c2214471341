"""Days in notices of shops: the end of a month told in words, and sentences without their days.

"At the end of March 2026" means the last day of March; "in March 2026" means no day.  The words for it are in the
lists `month_end` of words/notices_<language>.toml.  A day that stands between the words of a phrase ("is from 1 April
called") is taken out before names are looked for.
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterator
from datetime import date, timedelta

from vault.language.dates import FoundDate, find_dates, settle_after
from vault.receipts.notice_words import NoticeWords

_ANY = date(2000, 1, 1)  # a day without a year has a place in the text whatever its year
_TRAIL_RE = re.compile(r"(?:より|から|付けで|付で|をもちまして|をもって)?、?")  # what follows a day in Japanese
_LEAD_RE = re.compile(r"\s+([^\W\d_]{1,12})(?:\s+([^\W\d_]{1,4}))?\s*\Z")


def days_of(text: str, words: NoticeWords, dated: date | None) -> Iterator[FoundDate]:
    """The days that a sentence tells, ends of months among them."""
    found = find_dates(text, words.language, near=dated)
    yield from found
    for match in words.month_ends(text):
        if any(f.start < match.end() and match.start() < f.end for f in found):
            continue
        month = _month(match, words.language, dated)
        if month is not None:
            start, end = match.span()
            yield FoundDate(start=start, end=end, candidates=month, year=bool(match.group("y")))


def _month(match: re.Match[str], language: str, dated: date | None) -> tuple[date, ...] | None:
    """The last day of the month, one for each year that it may be."""
    name, year = match.group("m"), match.group("y")
    if name.isdigit():
        if not 1 <= int(name) <= 12:
            return None
        years = [int(year)] if year else [dated.year - 1, dated.year, dated.year + 1] if dated else []
        return tuple(_end(y, int(name)) for y in years) or None
    found = find_dates(f"1 {name} {year or ''}".strip(), language, near=dated)
    if len(found) != 1 or found[0].start != 0:
        return None
    return tuple(_end(d.year, d.month) for d in found[0].candidates) or None


def _end(year: int, month: int) -> date:
    return date(year, month, monthrange(year, month)[1])


def reading(found: FoundDate, dated: date | None) -> date | None:
    """The day meant: as printed, or without a year the next one."""
    if found.value is not None:
        return found.value
    return settle_after(found, dated) if dated else None


def is_span(text: str, language: str, dated: date | None) -> bool:
    """Two days at most some weeks apart: closed from then to then, not for good."""
    days = [reading(found, dated) for found in find_dates(text, language, near=dated)]
    known = sorted({d for d in days if d is not None})
    return len(known) >= 2 and known[-1] - known[0] <= timedelta(days=70)


def without_days(text: str, words: NoticeWords) -> str:
    """The sentence without its days and the small words before them ("from", "ab dem")."""
    if not any(c.isdigit() for c in text):
        return text
    out, last = [], 0
    for found in sorted(find_dates(text, words.language, near=_ANY), key=lambda f: f.start):
        before = text[last : found.start]
        lead = _LEAD_RE.search(" " + before[-30:])
        if lead and any(part and part.casefold() in words.before_day for part in lead.groups()):
            first = lead.group(1).casefold() in words.before_day
            cut = lead.start(1 if first else 2) - 1 - len(before[-30:])
            before = before[: len(before) + cut] if cut < 0 else before
        out.append(before)
        trail = _TRAIL_RE.match(text, found.end)
        last = trail.end() if trail else found.end
    return " ".join([*out, text[last:]]).strip(" ,") if out else text
