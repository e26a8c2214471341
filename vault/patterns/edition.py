"""Which version a file says it is (number, edition or date) and the product code it carries.

"Version" has another meaning in the trade: version A and B, or 1 and 2, are views of one garment.  So a version counts
where a file states its own: on the first or last page, in a footer, beside the title or the copyright, alone or at the
end of a line; and not where a second one of equal rank stands beside it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache

from vault.patterns.memo import remembered
from vault.patterns.pages_text import PageText
from vault.patterns.title_words import BUYER_RE
from vault.patterns.words import CJK_RE, entries, fold

_LONGEST_LINE, _MOST_WORDS = 160, 16
_NUMBER = r"\d{1,3}(?:[.,]\d{1,3}){0,3}[a-z]?"
_MONTHS = (
    r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|mär|mai|okt|dez|janv|févr|mars|avr|juin|juil|août|sept|déc|mrt|mei|"
    r"maart|enero|ene|abr|ago|dic|gen|mag|giu|lug|set|ott|maj|sty|lut|kwi|cze|lip|sie|wrz|paź|lis|gru|tammi|helmi|maalis|"
    r"huhti|touko|kesä|heinä|elo|syys|loka|marras|joulu)\w*\.?"
)
_DATE = (
    rf"(?:\d{{1,2}}[./-]\d{{1,2}}[./-](?:\d{{4}}|\d{{2}})|\d{{4}}[./-]\d{{1,2}}(?:[./-]\d{{1,2}})?|\d{{1,2}}[./-]\d{{4}}|"
    rf"(?:\d{{1,2}}\.?\s+(?:de\s+)?)?{_MONTHS}\s+(?:de\s+)?(?:\d{{1,2}}(?:st|nd|rd|th)?,?\s+)?\d{{4}}|"
    r"\d{4}年\d{1,2}月(?:\d{1,2}日)?)"
)
_ORDINAL_RE = re.compile(
    r"(\d{1,2}(?:st|nd|rd|th)|first|second|third|fourth|revised)\s+(?:revised\s+)?edition|(\d{1,2})\.\s*(?:auflage|ausgabe|"
    r"utgåva|upplaga|udgave|utgave|versjon|version|painos|versio)|(\d{1,2})(?:e|ème|de|ste|[ªº]|\.ª|a)\s+(?:édition|editie|druk|"
    r"edición|edizione)|第(\d{1,2})版|wydanie\s+(\d{1,2})",
    re.IGNORECASE,
)
_VIEW_AFTER_RE = re.compile(
    r"\s*(?:[:,]?\s*(?:with|without|mit|ohne|avec|sans|met|zonder|con|sin|med|uten|utan|z|ilman)\b|\s&\s|\sand\s\d)",
    re.IGNORECASE,
)
_NOT_OURS_RE = re.compile(
    r"(?:pdf|acrobat|reader|software|browser|windows|android|ios|app|ocg|us|uk|eu|ipad)\s*$", re.IGNORECASE
)


def version_of(pages: Sequence[PageText]) -> tuple[str | None, str]:
    """The version as written without the word before it ("1.2", "03/2024"), and the line that says so."""
    numbers: dict[str, tuple[int, str]] = {}
    dates: dict[str, str] = {}
    for line in _likely_lines(pages):
        for number, rank in _numbers(line):
            before = numbers.get(number)
            numbers[number] = (max(rank, before[0]) if before else rank, before[1] if before else line)
        date = _dated(line)
        if date:
            dates.setdefault(date, line)
    if numbers:
        best = max(rank for rank, _ in numbers.values())
        leaders = [number for number, (rank, _) in numbers.items() if rank == best]
        if len(leaders) == 1:
            return leaders[0], numbers[leaders[0]][1]
        if best == 1:
            numbers = {}  # views 1 and 2
        else:
            return leaders[0], numbers[leaders[0]][1]
    if dates:
        date = next(iter(dates))
        return date, dates[date]
    return None, ""


def _likely_lines(pages: Sequence[PageText]) -> Iterator[str]:
    """Short lines of the first two and the last page, and those at the top and foot of others."""
    seen: set[str] = set()
    for index, page in enumerate(pages):
        whole = index < 2 or index == len(pages) - 1
        for line in page.lines[:400]:
            edge = line.y < 0.09 * page.height_mm or line.y > 0.9 * page.height_mm
            if (whole or edge) and line.text not in seen and len(seen) < 3000:
                seen.add(line.text)
                if len(line.text) <= _LONGEST_LINE and (len(line.text.split()) <= _MOST_WORDS or "©" in line.text):
                    yield line.text


@cache
def _number_re() -> re.Pattern[str]:
    words = [word for word in entries("labels", "version") if fold(word) not in ("v", "第", "版", "no")]
    latin = "|".join(re.escape(word) for word in words if not CJK_RE.search(word))
    cjk = "|".join(re.escape(word) for word in words if CJK_RE.search(word))
    return re.compile(
        rf"(?<![\w.])(?:(?P<word>{latin})\.?\s*(?:no\.?|nr\.?|n°)?\s*[:\-]?\s*|(?P<cjk>{cjk})\s*[:：]?\s*|(?P<v>v)\.?\s?)"
        rf"(?P<number>{_NUMBER})(?![\w.,]*\d|\s?(?:mm|cm|m|%|in\b|\"|x\s?\d))",
        re.IGNORECASE,
    )


def _numbers(line: str) -> Iterator[tuple[str, int]]:
    """(number, rank): a dotted number or a "v" before it is a version's; a bare "Version 2" may be a view."""
    for match in _number_re().finditer(line):
        number = match["number"].replace(",", ".")
        dotted = "." in number
        if _NOT_OURS_RE.search(line[: match.start()]) or _VIEW_AFTER_RE.match(line[match.end() :]):
            continue
        alone = match.end() >= len(line.rstrip(" .)]")) or line[match.end() :].lstrip()[:1] in "-–—|·•(,;©/)"
        if match["v"] and not (dotted or alone):
            continue
        if not dotted and (not alone or len(line.split()) > 9):
            continue
        in_a_sentence = not (dotted or match["v"]) and line[: match.start()].strip(" -–—|·•(,;/")[-1:].islower()
        if in_a_sentence and (len(line.split()) > 6 or line[:1].islower() or line[match.end() :].strip()):
            continue  # "sew version 2, then ..."
        if len(number) > 3 and not dotted:
            continue
        yield number, 3 if dotted else 2 if match["v"] else 1
    ordinal = _ORDINAL_RE.search(line)
    if ordinal:
        yield next(group for group in ordinal.groups() if group), 2


@cache
def _dated_re() -> re.Pattern[str]:
    labels = (*entries("labels", "updated"), "version", "edition")
    words = "|".join(re.escape(word).replace(r"\ ", r"\s+") for word in labels)
    on = r"(?:\s+(?:on|am|vom|le|op|el|il|den|d\.|dnia))?"
    return re.compile(rf"(?<!\w)(?:{words}){on}\s*[:：\-]?\s*\(?(?P<date>{_DATE})", re.IGNORECASE)


@remembered
def _dated(line: str) -> str | None:
    match = _dated_re().search(line)
    return match["date"].strip() if match else None


_CODE = r"[A-Z]{1,5}[\-–_ ]?\d{2,6}[A-Z]?|\d{3,6}[A-Z]?|[A-Z]{2,4}\d{1,2}[\-–]\d{2,6}"
_BARE_CODE_RE = re.compile(r"(?<![\w\-–])([A-Z]{2,5}[\-–]?\d{2,6}[A-Z]?|[A-Z][\-–]\d{3,6})(?![\w\-–.])")
_NO_CODE_RE = re.compile(
    r"(?:US|UK|EU|DE|FR|DIN|ISO|GR|CM|MM|EN|A|B|DK|NM|TEX|ISBN|V|VOL|NO|HEX|RGB|TD|RC|CO|ST|CH|SC|DC|K|P)[\-–]?\d+[A-Z]?"
)


@cache
def _code_re() -> re.Pattern[str]:
    words = [word for word in entries("labels", "code") if len(fold(word)) > 2]
    labels = "|".join(re.escape(label).replace(r"\ ", r"\s*") for label in words)
    after = r"(?![\w\-–]*\d)(?!\s?(?:mm|cm|x|€|\$|£))"
    return re.compile(rf"(?<!\w)(?:{labels})\s*[:.#]?\s*(?P<code>{_CODE}){after}", re.IGNORECASE)


def product_code_of(pages: Sequence[PageText]) -> str | None:
    """The designer's own number of the product: after a label, or standing alone beside the title on the first page."""
    for page in pages[:3]:
        for line in page.lines[:80]:
            read = len(line.text) <= _LONGEST_LINE and not BUYER_RE.match(line.text)
            match = _code_re().search(line.text) if read else None
            if match and not _NO_CODE_RE.fullmatch(match["code"]):
                return match["code"]
    for page in pages[:1]:
        for line in page.lines[:40]:
            if len(line.text.split()) <= 8 and not BUYER_RE.match(line.text):
                for match in _BARE_CODE_RE.finditer(line.text):
                    if not _NO_CODE_RE.fullmatch(match.group(1)):
                        return match.group(1)
    return None
