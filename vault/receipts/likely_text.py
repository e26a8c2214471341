"""A mail as bare words, fast: which parts it has, and their visible text as one line of bytes.

A look, not a reading: no tree is built, nothing is checked, bytes stay bytes.  The text is UTF-8 in lower case (ASCII
letters only), signs are blanks, a blank stands at both ends, and no phrase is torn by several.  What `mime` and
`html_page` would show must be in it; that it holds more (styles, quoted text, what hides) does no harm here.
"""

from __future__ import annotations

import re
from binascii import Error, a2b_qp
from dataclasses import dataclass
from html import unescape

from vault.language.folding import narrow
from vault.receipts.charsets import decode_text, repair_twice, tidy
from vault.receipts.mail_headers import decode_base64, decode_value
from vault.receipts.scan import Marks

_HEADER = 32_768
_PART_HEADER = 8_192
_MOST_PARTS = 60
_MOST_BYTES = 4 << 20  # of one text part, as in `mime`
_SHORT = 300  # bytes of a text that is not worth a look before it is split
_ENOUGH = 20  # a plain alternative of a twentieth of the page says what the page says

_BOUNDARY_RE = re.compile(rb"\s{0,5}=\s{0,5}(?:\"([^\"\r\n]{1,200})\"|([^\s;\"]{1,200}))")
_END_RE = re.compile(rb"\.[A-Za-z]{2,20}(?=>?\s*\Z)")
_CHARSET_RE = re.compile(rb"charset\s{0,5}=\s{0,5}[\"']?([\w.:-]{2,40})")
_TEXT_RE = re.compile(rb">\s*+([^<]*[^<\s])")
_BLANK_ENTITIES = (b"&nbsp;", b"&#160;", b"&#xa0;", b"&#xA0;", b"&zwnj;")
# Bytes of what must be composed, narrowed or repaired first: combining accents, full-width letters, the ideographic
# blank, soft hyphens, and UTF-8 that was encoded twice.
_COMBINING = b"\xcc"
_DECOMPOSED = Marks(b"\xef\xbc", b"\xe3\x80\x80", b"\xc2\xad", b"\xc3\x83", b"\xc3\x82", b"\xc3\xa2\xc2")
_ESCAPE = b"\x1b"
_DASHES, _MARKUP, _BLANK = Marks(b"\n--"), Marks(b"schema.org"), Marks(b"\xc2\xa0")
_QUOTED, _INDENTED, _DOUBLE = Marks(b"\n>"), Marks(b"\n "), Marks(b"  ")
# Every sign but letters, figures and bytes above ASCII is a blank; letters are lower case.  Signs that a blank follows
# (or stands before) anyway are left out, so that two blanks are rare.
_DROPPED = b"\r.,;!?()'\"`"
_WORDS = bytes(
    (b + 32 if 65 <= b <= 90 else b) if (48 <= b <= 57 or 65 <= b <= 90 or 97 <= b <= 122 or b >= 128) else 32
    for b in range(256)
)
# Media types that may be a file to keep, or hold a mail or a document to read.
_CARRYING = Marks(
    *(b"application/pdf", b"application/x-pdf", b"application/zip", b"application/x-zip", b"application/octet-stream"),
    *(b"application/force-download", b"application/x-pes", b"application/download", b"application/binary"),
    *(b"application/vnd.ms-excel", b"application/vnd.openxmlformats", b"application/vnd.ms-outlook", b"text/csv"),
    *(b"application/csv", b"application/dxf", b"application/x-webarchive"),
    *(b"message/", b"image/svg", b"image/vnd.dxf"),
)


@dataclass(frozen=True, slots=True)
class Look:
    """What a look shows: the subject's words, the words of the texts."""

    header: bytes
    subject: bytes
    texts: tuple[bytes, ...]
    carries: bool  # files, or mails as files
    marked: bool  # markup of an order
    strange: bool  # not to be judged by a look

    @property
    def sender(self) -> bytes:
        """The words of the sender's field: name and address, without the end of the domain that many share."""
        return _words(_END_RE.sub(b"", _field(self.header, self.header.lower(), b"from")))


def look_at(raw: bytes) -> Look:
    """The words of a mail.  Never raises."""
    end = _header_end(raw)
    header = raw[:end]
    lowered = header.lower()
    subject = _words(_field(header, lowered, b"subject"))
    nameless = b"\nfrom" not in lowered and not lowered.startswith(b"from")
    parts, carries, strange = _parts(raw, header, lowered, end)
    texts, marked = _texts(raw, parts) if not carries else ([], False)
    return Look(header, subject, tuple(texts), carries, marked, strange or nameless)


@dataclass(frozen=True, slots=True)
class _Part:
    head: bytes  # its header section in lower case
    start: int
    stop: int
    alternative: bool

    @property
    def is_page(self) -> bool:
        return b"text/html" in self.head


def _header_end(raw: bytes) -> int:
    first = raw.find(b"\n", 0, _HEADER)
    found = raw.find(b"\r\n\r\n" if raw[first - 1 : first] == b"\r" else b"\n\n", 0, _HEADER)
    return found if found >= 0 else min(len(raw), _HEADER)


def _field(header: bytes, lowered: bytes, name: bytes) -> bytes:
    """The first field of that name, encoded words undone, in UTF-8."""
    start = 0 if lowered.startswith(name) else lowered.find(b"\n" + name) + 1
    if start == 0 and not lowered.startswith(name):
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
    value = header[start:end].partition(b":")[2][:4_000]
    if b"=?" in value or not value.isascii():
        return decode_value(value).encode("utf-8", "replace")
    return value


# --- parts ------------------------------------------------------------------------------------


def _parts(raw: bytes, header: bytes, lowered: bytes, end: int) -> tuple[list[_Part], bool, bool]:
    """The text parts; whether a part may be a file; whether the structure is too odd for a look."""
    whole = _Part(lowered, end, len(raw), False)
    if raw.find(b"\n", 0, 65_536) < 0:
        return [], False, True  # line ends of an old Macintosh
    if b"multipart/" not in lowered:
        if b"application/" in lowered and _carries(lowered):
            return [], True, False
        return [whole], _carries_only(lowered), False
    if b"multipart/digest" in lowered:
        return [], False, True  # mails without a word about them
    out: list[_Part] = []
    # (boundary, start, end, whether its parts say the same)
    todo = [(_boundary(header, lowered), end, len(raw), b"multipart/alternative" in lowered)]
    dashes = _DASHES.places(raw)
    seen = 0
    while todo:
        boundary, start, stop, alternative = todo.pop()
        cuts = _cuts(dashes, raw, boundary, start, stop) if boundary else []
        if not cuts:
            return [whole], False, True
        for begin, finish in zip(cuts, [*cuts[1:], stop]):
            seen += 1
            if seen > _MOST_PARTS:
                return out, False, True
            head_end = _part_end(raw, begin, finish)
            original = raw[begin:head_end]
            head = original.lower()
            if b"multipart/digest" in head:
                return out, False, True
            if b"multipart/" in head:
                todo.append((_boundary(original, head), head_end, finish, b"multipart/alternative" in head))
            elif _carries(head):
                return out, True, False
            elif b"image/" not in head or b"text/" in head:
                out.append(_Part(head, head_end, finish, alternative))
    out.sort(key=lambda part: part.start)
    return out, False, False


def _boundary(header: bytes, lowered: bytes) -> bytes:
    """What begins a boundary line, with the line end before it; empty if the header names none."""
    at = lowered.find(b"boundary", lowered.find(b"multipart/"))
    found = _BOUNDARY_RE.match(header, at + 8) if at >= 0 else None
    return b"\n--" + (found.group(1) or found.group(2)) if found else b""


def _cuts(dashes: list[int], raw: bytes, boundary: bytes, start: int, stop: int) -> list[int]:
    """Where the parts begin: behind each boundary line.  `dashes`: where any line begins with two hyphens."""
    out: list[int] = []
    for at in dashes:
        if at < start - 1 or not raw.startswith(boundary, at) or at >= stop:
            continue
        after = at + len(boundary)
        if raw.startswith(b"--", after):
            break
        line = raw.find(b"\n", after, after + 200)
        if line >= 0 and not raw[after:line].strip():
            out.append(line)
            if len(out) > _MOST_PARTS:
                break
    return out


def _part_end(raw: bytes, position: int, stop: int) -> int:
    """Where the header of a part ends that begins with the line end at `position`."""
    if raw[position + 1 : position + 3].lstrip(b"\r")[:1] == b"\n":
        return position
    limit = min(stop, position + _PART_HEADER)
    unix = raw.find(b"\n\n", position, limit)
    dos = raw.find(b"\r\n\r\n", position, unix if unix >= 0 else limit)
    return dos if dos >= 0 else unix if unix >= 0 else limit


def _carries(head: bytes) -> bool:
    """Whether the header of a part is that of a file that an import would look into."""
    if _CARRYING.stand_in(head):
        return True
    return b"text/html" in head and b"attachment" in head


def _carries_only(lowered: bytes) -> bool:
    at = lowered.find(b"\ncontent-type:")
    return at >= 0 and _carries(lowered[at : at + 300])


# --- texts ------------------------------------------------------------------------------------


def _texts(raw: bytes, parts: list[_Part]) -> tuple[list[bytes], bool]:
    """The words of the text parts, and whether markup of schema.org stands in one.

    Of alternatives the plain one is enough if it is long enough to say the same as the page.
    """
    out: list[bytes] = []
    marked = _MARKUP.stand_in(raw)
    plain = 0
    for part in parts:
        if part.is_page and part.alternative and plain * _ENOUGH >= part.stop - part.start:
            continue
        if not part.is_page and b"text/" not in part.head and b"content-type" in part.head:
            continue
        body = _decoded(raw[part.start : min(part.stop, part.start + _MOST_BYTES)], part.head)
        is_page = part.is_page or b"</" in body[:4_000]
        if not _is_plain_utf8(body, part.head):
            found = _CHARSET_RE.search(part.head)  # the reader's own way
            body = decode_text(body, found.group(1).decode("ascii") if found else None, html=is_page).encode()
        if is_page:
            marked = marked or _MARKUP.stand_in(body)
            body = b" ".join(_TEXT_RE.findall(body, max(body.find(b"<body"), 0)))
            if b"&" in body:
                body = _without_entities(body)
        elif part.alternative:
            plain = len(body)
        if not body.isascii() and (_COMBINING in body or _DECOMPOSED.stand_in(body)):
            body = narrow(tidy(repair_twice(body.decode("utf-8", "replace")))).replace("\u00ad", "").encode()
        out.append(_words(body))
    return out, marked


def _is_plain_utf8(body: bytes, head: bytes) -> bool:
    if body.isascii():
        return _ESCAPE not in body and b"utf-7" not in head
    try:
        body.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _without_entities(text: bytes) -> bytes:
    for blank in _BLANK_ENTITIES:
        text = text.replace(blank, b" ")
    return unescape(text.decode("utf-8", "replace")).encode("utf-8", "replace") if b"&" in text else text


def _decoded(body: bytes, head: bytes) -> bytes:
    if b"base64" in head:
        return decode_base64(body)
    if b"quoted-printable" in head or b"=3D" in body[:4_096] or b"=20\n" in body[:4_096]:
        try:
            return a2b_qp(body)
        except Error:
            return body
    first = body[:400].strip()
    if len(first) > 150 and b" " not in first and b"<" not in first:
        return decode_base64(body)  # an export that lost the field
    return body


def _words(text: bytes) -> bytes:
    """`text` in lower case, every sign that is no letter a blank, and blanks inside a sentence single ones."""
    if len(text) < _SHORT:
        return b" " + b" ".join(text.translate(_WORDS, _DROPPED).replace(b"\xc2\xa0", b" ").split()) + b" "
    if _QUOTED.stand_in(text):
        text = text.replace(b"\n> ", b"\n").replace(b"\n>", b"\n")
    ragged = b"\t" in text or _INDENTED.stand_in(text) or _DOUBLE.stand_in(text)
    text = b" ".join((b"", text.translate(_WORDS, _DROPPED), b""))
    if _BLANK.stand_in(text):
        ragged, text = True, text.replace(b"\xc2\xa0", b" ")
    return b" " + b" ".join(text.split()) + b" " if ragged else text


def normal(phrase: str) -> bytes:
    """A phrase of the word files in the form of the texts, without the blanks around it."""
    return b" ".join(_words(phrase.encode("utf-8")).split())
