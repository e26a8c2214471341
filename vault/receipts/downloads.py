"""Links: which of them fetch what was bought, until when and how often.

A link counts as a download by its label (an action, a file name), by the column or label it stands under, and by its
address (a file, a word for files or a token).  Links that follow the sender, leave the list, show the order or the
product are none.  Links are text; nothing is opened.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from urllib.parse import SplitResult, parse_qsl, unquote, urlsplit

from vault.language.dates import find_dates, settle_after
from vault.language.folding import fold
from vault.receipts.lines import Link
from vault.receipts.titles import acts, names_file
from vault.receipts.view import View
from vault.receipts.words import Template, Words, trim_label, whole_phrase

_FILE_PATH_RE = re.compile(r"\.(?:pdf|zip|svg|dxf|eps|pes|dst|jef|vp3|exp|hus|epub|rar|7z)(?:\Z|[?#])", re.I)
_FETCH_WORDS = """download downloads download_file downloadfile telecharger telechargement telechargements descarga
descargas descargar scarica scaricare herunterladen nedladdning ladda-ner ladda hent last-ned lastned nedlasting
pobierz pobieranie lataa lataus lataukset dl fetch getfile get-file filedownload grant attachment attachments deliver
asset assets"""
_FETCH_RE = re.compile(rf"(?:^|[/_?&=.\-])(?:{'|'.join(_FETCH_WORDS.split())})(?:[/_?&=.\-]|\Z)", re.I)
_NO_FETCH_RE = re.compile(
    r"invoice|receipt|rechnung|facture|factuur|factura|fattura|faktura|app-?store|/apps?/[a-z]+\Z", re.I
)
_FILES_RE = re.compile(r"(?:^|[/_?&=.\-])(?:files?|d|content|library|library-item|f)(?:[/_?&=]|\Z)", re.I)
_PICTURE_RE = re.compile(r"\.(?:png|jpe?g|gif|webp|bmp|ico)(?:\Z|[?#])", re.I)
_NOT_RE = re.compile(
    r"unsub|optout|opt-out|preferences|/account\b|/login|/signin|/cart\b|/basket|/checkout(?!.*download)|/privacy|/terms|/review|/track|/wishlist|/product[s/]|/products?/|/p/|/collections?/|/category|/reset|/blog|/contact|mailto:|tel:|/invite|/survey|/faq|/help",
    re.I,
)
_SIGNED_RE = re.compile(r"(?:expires|signature|token|key|hash|uid|sig|auth)=", re.I)


def score(link: Link, words: Words, *, column: bool = False, context: bool = False) -> int:
    """How much speaks for a link fetching a file; 3 is enough."""
    url = link.url.strip()
    lower = url.lower()
    if not lower.startswith(("http://", "https://", "www.")):
        return -9
    try:
        parts = urlsplit(url if "://" in url else "https://" + url)
    except ValueError:
        return -9
    parts = _counted(parts)
    path = unquote(parts.path) + ("?" + parts.query if parts.query else "")
    label = trim_label(link.text)
    points = 0
    if label in words.phrase_set("signs", "not_file"):
        return -5
    if _PICTURE_RE.search(parts.path) or not (parts.path.strip("/") or parts.query):
        return -5
    if _FILE_PATH_RE.search(parts.path):
        points += 3
    if _FETCH_RE.search(path) and not _NO_FETCH_RE.search(path):
        points += 3
    elif _FILES_RE.search(path):
        points += 1
    if _SIGNED_RE.search(parts.query):
        points += 1
    if _NOT_RE.search(path) and not _FETCH_RE.search(path) and label not in words.phrase_set("download", "action"):
        points -= 3
    said = label and any(p in label for p in words.phrases("signs", "download") if " " in p or not p.isascii())
    if said or label in words.phrase_set("download", "action") or (label and names_file(link.text)):
        points += 3
    elif label and acts(label, words):
        first = label.split(" ")[0] in words.phrase_set("download", "verbs")
        points += 3 if first or label.startswith(tuple(f"{a} " for a in words.phrases("download", "action"))) else 2
    if whole_phrase(label, words.phrases("signs", "not_file")):
        points -= 4
    if column:
        points += 2
    if context:
        points += 1
    if link.picture and not label:
        points -= 2
    return points


def _counted(parts: SplitResult) -> SplitResult:
    """The address that a counter of clicks leads to, if it stands in its query; else the address itself."""
    if "http" not in parts.query.lower():
        return parts
    for _, value in parse_qsl(parts.query, max_num_fields=50):
        if value.lower().startswith(("http://", "https://")):
            try:
                return urlsplit(value)
            except ValueError:
                return parts
    return parts


def is_download(link: Link, words: Words, *, column: bool = False, context: bool = False) -> bool:
    """Whether a link fetches what was bought."""
    return score(link, words, column=column, context=context) >= 3


@dataclass(frozen=True, slots=True)
class Terms:
    """Until when and how often files can be fetched, as the document says for all of them."""

    expires_on: date | None = None
    left: int | None = None
    words: str = ""


_UNIT_DAYS = {"hours": 1 / 24, "days": 1.0, "weeks": 7.0, "months": 30.0, "years": 365.0}


def read_terms(view: View, start: int, stop: int) -> Terms:
    """The terms that stand in a part of the document."""
    expires: date | None = None
    left: int | None = None
    said = ""
    base = view.dated
    for number in range(start, stop):
        line = view.lines[number]
        text = " ".join(p.text for p in line.pieces if p.text)
        if not text or len(text) > 1200 or len(line.cells) > 1:  # what a row says is the row's
            continue
        folded = fold(text)
        if not _about_files(folded, view, number):
            continue
        if any(whole_phrase(folded, (p,)) for p in view.words.phrases("download", "never")):
            said = said or text
        day = None if expires else _expiry(folded, view, base)
        if day is not None:
            expires, said = day, text
        times = None if left is not None else _times(folded, view)
        if times is not None:
            left, said = times, said or text
    return Terms(expires, left, said)


def _about_files(folded: str, view: View, number: int) -> bool:
    """Whether a line speaks of files and links, or is short and stands beside one that does; terms of a voucher, of
    returns or of payment are others."""
    about = view.words.phrases("download", "about")
    if any(p in folded for p in view.words.phrases("download", "other_term")):
        return any(p in folded for p in about[:3])
    if any(p in folded for p in about):
        return True
    if len(folded) > 60:
        return False
    near = [view.lines[n] for n in (number - 1, number + 1) if 0 <= n < len(view.lines)]
    return any(p in fold(" ".join(piece.text for piece in line.pieces)) for line in near for p in about)


def _number(text: str, view: View) -> int | None:
    if text.isdigit():
        return int(text)
    for _, table in view.words.table("numbers"):
        del table
        break
    for lang in view.words.read:
        value = lang.table.get("numbers", {}).get(text)
        if value is not None:
            return int(value)
    return None


def _matches(folded: str, templates: tuple[Template, ...]) -> list[tuple[Template, re.Match[str]]]:
    out = []
    for template in templates:
        if template.anchor and template.anchor not in folded:
            continue
        match = template.regex.search(folded)
        if match:
            out.append((template, match))
    return out


@lru_cache(maxsize=16)
def _units(words: Words) -> tuple[tuple[str, float], ...]:
    out: list[tuple[str, float]] = []
    for lang in words.read:
        for unit, names in lang.table.get("download", {}).get("units", {}).items():
            out.extend((fold(name), _UNIT_DAYS[unit]) for name in names)
    return tuple(sorted(out, key=lambda u: -len(u[0])))


def _expiry(folded: str, view: View, base: date | None) -> date | None:
    dates = [f for f in find_dates(folded, view.language, near=base) if f.year]
    for _, match in _matches(folded, view.words.templates("download", "expires_on")):
        for found in find_dates(match.group("date"), view.language, near=base):
            if found.start > 12:
                break
            day = settle_after(found, base) if base is not None else found.value
            if day is not None:
                return day
    if base is None:
        return None
    if len(dates) == 1 and any(p in folded for p in view.words.phrases("download", "about")):
        # a day to come in a line about files is the last one, whatever the words around it
        day = settle_after(dates[0], base)
        if day is not None and base < day <= base + timedelta(days=800):
            return day
    for _, match in _matches(folded, view.words.templates("download", "expires_in")):
        count = _number(match.group("n"), view)
        if count is None:
            continue
        around = folded[match.start() : match.end() + 12]
        after = folded[match.end("n") : match.end() + 12]
        for unit, days in _units(view.words):
            if whole_phrase(after, (unit,)) or (not unit.isascii() and unit in after) or whole_phrase(around, (unit,)):
                return base + timedelta(days=max(1, round(count * days)))
    return None


def _times(folded: str, view: View) -> int | None:
    for _, match in _matches(folded, view.words.templates("download", "times")):
        count = _number(match.group("n"), view)
        if count is not None and 0 < count < 1000:
            return count
    return None
