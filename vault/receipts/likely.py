"""A cheap look at a raw mail: may it be evidence at all?

A mailbox of years holds twenty times more talk and newsletters than receipts, and reading a mail properly costs
thousands of times more than hashing it.  This filter costs about as much as the hash.  It is conservative: it says no
only to mails in which none of the phrases stands that the reader itself needs to see an order, a payment, files to
download, a refund, or a shop that closes (the lists are taken from the same word files), neither in the subject nor in
the first part of the text.  Forwarded mails, PDF attachments and markup of orders always pass.

Strategy: bytes all the way.  A translation table turns a window of the body into lower-case words; a set of words, one
of which is in every phrase of the lists, ends the matter for most mails; only then are the phrases themselves looked
for.
"""

from __future__ import annotations

import re
from binascii import a2b_qp
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

from vault.receipts.charsets import codec_of
from vault.receipts.mail_headers import decode_base64, decode_value
from vault.receipts.mail_words import all_words
from vault.receipts.mime import OLE_MAGIC
from vault.receipts.words import languages

_HEADER = 32_768
_TEXT_WINDOW = 3_072  # of visible text: what a receipt is stands in its first lines
_PAGE_WINDOW = 10_240
_SIGNS = ("order", "purchase", "receipt", "invoice", "download", "refund", "cancelled")
_AGAINST = ("advert", "basket", "wish", "review", "shipping", "account", "bank", "phish", "quote", "flyer", "recommend")
_LABELS = ("order_number", "invoice_number", "payment_number")
_NOTICES = ("strong", "closed", "moved")
_OFTEN = 3  # phrases of one language that share a word, from which it speaks for itself in a subject
_ALWAYS = (b"application/pdf", b"message/rfc822")
_TAGS_RE = re.compile(rb"<(?:style|script)\b[^>]{0,300}>.{0,20000}?</(?:style|script)>|<[^<>]{0,2000}>", re.S | re.I)
# Everything but letters, figures and bytes above ASCII is a blank; letters are lower case.
_WORDS = bytes(
    (b + 32 if 65 <= b <= 90 else b) if (48 <= b <= 57 or 65 <= b <= 90 or 97 <= b <= 122 or b >= 128) else 32
    for b in range(256)
)


@dataclass(frozen=True, kw_only=True)
class _Lists:
    """The phrases of all languages as bytes between blanks.

    `phrases`: the word that most phrases of its language share -> the phrases; `numbered`: labels that count only with
    a number behind them; `subject`: words that are enough in a subject; `japanese`: phrases without blanks.
    """

    phrases: dict[bytes, tuple[bytes, ...]]
    numbered: dict[bytes, tuple[bytes, ...]]
    keys: frozenset[bytes]
    subject: frozenset[bytes]
    japanese: tuple[bytes, ...]


@lru_cache(maxsize=1)
def _lists() -> _Lists:
    phrases: dict[bytes, set[bytes]] = {}
    numbered: dict[bytes, set[bytes]] = {}
    subject: set[bytes] = set()
    japanese: set[bytes] = set()
    for code, language in languages().items():
        signs, labels = language.table.get("signs", {}), language.table.get("labels", {})
        said = [p for name in _SIGNS for p in signs.get(name, ())] + _notices(code)
        printed = [p for name in _LABELS for p in labels.get(name, ())]
        if code == "ja":
            japanese |= {p.encode() for p in said if len(p) >= 4}
            continue
        counts = Counter(t for p in said for t in set(_words_of(p)))
        other = Counter(t for name in _AGAINST for p in signs.get(name, ()) for t in set(_words_of(p)))
        for table, group in ((phrases, said), (numbered, printed)):
            for phrase in group:
                for words in {tuple(_words_of(p)) for p in (phrase, phrase.replace("ß", "ss"))} - {()}:
                    key = min(words, key=lambda t: (len(t) < 5, other[t], -len(t), t))
                    table.setdefault(key, set()).add(b" " + b" ".join(words) + b" ")
        subject |= {t for t, n in counts.items() if n >= max(_OFTEN, 2 * other[t]) and len(t) >= 5}
    return _Lists(
        phrases={key: tuple(sorted(group)) for key, group in phrases.items()},
        numbered={key: tuple(sorted(group)) for key, group in numbered.items()},
        keys=frozenset(phrases) | frozenset(numbered),
        subject=frozenset(subject),
        japanese=tuple(sorted(japanese)),
    )


def _notices(code: str) -> list[str]:
    """Phrases that announce the end, the new name or the new place of a shop, and those above a forwarded mail."""
    tables = all_words().get(code, {})
    notice = tables.get("notice", {})
    phrases = [p.rstrip("*") for name in _NOTICES for p in notice.get(name, ()) if " .. " not in p]
    templates = [part for name in ("renamed", "sold") for p in notice.get(name, ()) for part in re.split(r"\{\w+\}", p)]
    return [*phrases, *(t.strip() for t in templates if len(t.strip()) > 8), *tables.get("forward", {}).get("lead", ())]


def _words_of(phrase: str) -> list[bytes]:
    return phrase.lower().encode().translate(_WORDS).split()


def may_be_evidence(raw: bytes) -> bool:
    """Whether a mail may be evidence of a purchase or a notice of a shop.  False is meant, True is only a maybe."""
    if raw.startswith(OLE_MAGIC):
        return True
    end = _header_end(raw)
    header = raw[:end]
    lowered = header.lower()
    lists = _lists()
    if _speaks(_subject(header, lowered), lists, subject=True):
        return True
    if any(mark in raw for mark in _ALWAYS):
        return True
    if b"\nin-reply-to:" in lowered:
        return False  # talk: what it may bring is in the subject or attached
    return any(marked or _speaks(window, lists, subject=False) for window, marked in _windows(raw, end, lowered))


def _header_end(raw: bytes) -> int:
    first = raw.find(b"\n", 0, _HEADER)
    found = raw.find(b"\r\n\r\n" if raw[first - 1 : first] == b"\r" else b"\n\n", 0, _HEADER)
    return found if found >= 0 else min(len(raw), _HEADER)


def _subject(header: bytes, lowered: bytes) -> bytes:
    """The subject in UTF-8."""
    start = 0 if lowered.startswith(b"subject") else lowered.find(b"\nsubject") + 1
    if start == 0 and not lowered.startswith(b"subject"):
        return b""
    end = start
    while True:
        end = header.find(b"\n", end)
        if end < 0:
            end = len(header)
            break
        end += 1
        if header[end : end + 1] not in (b" ", b"\t"):
            break
    value = header[start:end].partition(b":")[2][:2_000]
    if b"=?" in value or not value.isascii():
        return decode_value(value).encode("utf-8", "replace")
    return value


def _windows(raw: bytes, end: int, lowered: bytes) -> list[tuple[bytes, bool]]:
    """The beginnings of the text parts of a mail, transfer encoding undone, in UTF-8; with whether markup is in it."""
    if b"multipart/" not in lowered:
        is_page = b"text/html" in lowered
        return [_decoded(raw[end : end + _PAGE_WINDOW * 2], lowered, is_page)]
    out: list[tuple[bytes, bool]] = []
    position = end
    for _ in range(6):
        position = raw.find(b"ontent-", position, end + 200_000)  # Content-Type, Content-Transfer-Encoding
        if position < 0:
            break
        head_end = _part_end(raw, position)
        head = raw[raw.rfind(b"\n--", 0, position) : head_end].lower()
        if b"text/plain" in head or b"text/html" in head:
            is_page = b"text/html" in head
            stop = raw.find(b"\n--", head_end, head_end + 2 * _PAGE_WINDOW)
            body = raw[head_end : stop if stop > 0 else head_end + 2 * _PAGE_WINDOW]
            out.append(_decoded(body, head, is_page))
            if len(out) >= 2:
                break
            if not is_page and len(body) > 400:
                break  # the plain alternative says enough
        position = head_end
    return out or [_decoded(raw[end : end + _PAGE_WINDOW], b"", True)]


def _part_end(raw: bytes, position: int) -> int:
    unix, dos = raw.find(b"\n\n", position, position + 4_096), raw.find(b"\r\n\r\n", position, position + 4_096)
    ends = [e for e in (unix, dos) if e >= 0]
    return min(ends) if ends else position + 1


def _decoded(body: bytes, head: bytes, is_page: bool) -> tuple[bytes, bool]:
    if b"base64" in head:
        body = decode_base64(body)
    marked = is_page and b"schema.org" in body
    if is_page:
        start = max(body.find(b"<body"), 0)
        body = body[start : start + _PAGE_WINDOW]
    if b"quoted-printable" in head or b"=3D" in body[:4_096]:
        body = a2b_qp(body if is_page else body[: 2 * _TEXT_WINDOW])
    if is_page:
        body = _TAGS_RE.sub(b" ", body)
    body = body[:_TEXT_WINDOW]
    return (body if body.isascii() and b"\x1b$" not in body else _utf8(body, head)), marked


def _utf8(body: bytes, head: bytes) -> bytes:
    try:
        body.decode("utf-8")
        if b"\x1b$" not in body:
            return body
    except UnicodeDecodeError as error:
        if error.start > len(body) - 4:  # the window cuts a character
            return body
    if b"\x1b$" in body:
        codec: str | None = "iso2022_jp_ext"
    else:
        found = re.search(rb"charset\s?=\s?\"?([\w-]{2,30})", head)
        codec = codec_of(found.group(1).decode("ascii")) if found else None
    return body.decode(codec if codec and codec != "utf-8" else "cp1252", "replace").encode("utf-8", "replace")


def _speaks(text: bytes, lists: _Lists, *, subject: bool) -> bool:
    """Whether a phrase of the lists stands in `text`; in a subject one of their telling words is enough."""
    words = text.translate(_WORDS).split()
    if subject and not lists.subject.isdisjoint(words):
        return True
    if not lists.keys.isdisjoint(words):
        joined = b" " + b" ".join(words) + b" "
        for key in lists.keys.intersection(words):
            if any(phrase in joined for phrase in lists.phrases.get(key, ())):
                return True
            if any(_has_number(joined, label) for label in lists.numbered.get(key, ())):
                return True
    # Kana and kanji in UTF-8 begin with the bytes E3 to E9.
    return text.count(b"\xe3") + text.count(b"\xe5") > 2 and any(phrase in text for phrase in lists.japanese)


def _has_number(joined: bytes, label: bytes) -> bool:
    """Whether a word with a figure, or a code in the place of one, stands behind a label."""
    at = joined.find(label)
    while at >= 0:
        following = joined[at + len(label) : at + len(label) + 24].split(b" ", 2)[:2]
        if any(any(48 <= b <= 57 for b in word) for word in following):
            return True
        at = joined.find(label, at + 1)
    return False
