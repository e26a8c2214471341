"""A mail as values: `parse_mail` takes any bytes and always gives a `Mail`.

Strategy: an own, small reader of MIME (RFC 2045, 2046, 2047, 2231, 5322) instead of `email`, because evidence must be
read where the standard library gives up (a blank before a colon loses every header, deep nesting ends in a
RecursionError, a false charset label in U+FFFD) and because everything must be bounded.  The parts are walked with an
explicit stack; bodies are decoded by what their bytes prove (`charsets`), attachments get clean names, and forwarded
mails, attached or inline (`forwards`), become mails of their own, so that a forward of a forward is three mails.

Nothing in a mail is trusted, loaded or run; the shown address proves nothing (CVE-2023-27043).
"""

from __future__ import annotations

import mimetypes
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from vault.model.evidence import Attachment
from vault.receipts.charsets import decode_text
from vault.receipts.forwards import InlineForward, cut_inline
from vault.receipts.mail_headers import (
    Address,
    HeaderSection,
    clean_name,
    decode_base64,
    decode_value,
    message_ids,
    parse_addresses,
    parse_date,
    parse_parameters,
    split_headers,
)

OLE_MAGIC = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # an Outlook .msg file
MAX_PARTS = 1_000
MAX_DEPTH = 30  # multiparts inside multiparts
MAX_FORWARD_DEPTH = 6  # mails inside mails
MAX_BODY_BYTES = 4 << 20  # of one text part; more is a book, not a receipt
MAX_ATTACHMENTS = 200

_NOT_KEPT = frozenset(
    [
        "received",
        "dkim-signature",
        "arc-seal",
        "arc-message-signature",
        "arc-authentication-results",
        "x-received",
        "authentication-results",
    ]
)
_BASE64_LINES_RE = re.compile(rb"(?:[A-Za-z0-9+/]{60,76}\r?\n){2,}[A-Za-z0-9+/]{0,76}={0,2}\s*\Z")
_QP_SPACE_RE = re.compile(rb"=[ \t]{1,80}(?=\r?\n)")
_QP_SIGNS_RE = re.compile(rb"=(?:3D|20|0A|C2|C3|E2|\r?\n)")
_HTML_HEAD_RE = re.compile(r"\s{0,200}<(?:!doctype|html|head|body|table|div|p|meta|style|center|span)\b", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class Mail:
    """One mail.  `text` and `html` hold its own words; what it forwards stands in `forwarded`.

    `date` has a zone; where the Date field is missing or unreadable it is that of the newest Received field.
    `date_text` is the field as written: an inline forward carries a date in the words of its mail program; where
    they are ambiguous `date` is None.  `inline` marks a mail that was cut out of the text of another.
    `fields` holds the other header fields (name in lower case, decoded value), without the traces of transport.
    `notes` say what was broken or over a limit.
    """

    subject: str = ""
    from_name: str = ""
    from_address: str = ""
    reply_to: tuple[Address, ...] = ()
    to: tuple[Address, ...] = ()
    cc: tuple[Address, ...] = ()
    date: datetime | None = None
    date_text: str = ""
    message_id: str | None = None
    in_reply_to: tuple[str, ...] = ()
    references: tuple[str, ...] = ()
    fields: tuple[tuple[str, str], ...] = ()
    text: str = ""
    html: str = ""
    attachments: tuple[Attachment, ...] = ()
    forwarded: tuple[Mail, ...] = ()
    inline: bool = False
    language_hint: str | None = None  # of the mail program that forwarded it
    notes: tuple[str, ...] = ()

    def field(self, name: str) -> str:
        """The first header field of that name (lower case), or ""."""
        return next((value for key, value in self.fields if key == name), "")

    @property
    def from_domain(self) -> str:
        """Domain of the shown sender, or ""."""
        return self.from_address.rpartition("@")[2] if "@" in self.from_address else ""

    @property
    def is_bulk(self) -> bool:
        """Whether its header calls it a mailing: a list id, or bulk precedence (RFC 2919, RFC 2369)."""
        return bool(self.field("list-id")) or self.field("precedence").casefold() in ("bulk", "list", "junk")

    def everything(self) -> Iterator[Mail]:
        """This mail and all it forwards, outermost first."""
        yield self
        for inner in self.forwarded:
            yield from inner.everything()


@dataclass(frozen=True, kw_only=True)
class _Part:
    """A leaf of the MIME tree."""

    media_type: str
    parameters: dict[str, str]
    disposition: str
    file_name: str
    content_id: str
    parent: str  # media type of the multipart around it
    body: bytes  # transfer encoding undone


def parse_mail(raw: bytes) -> Mail:
    """The mail in `raw`, RFC 5322 text or an Outlook file.  Never raises; what cannot be read is left out and noted."""
    if raw.startswith(OLE_MAGIC):
        from vault.receipts.other_mail import parse_msg  # builds on this module

        return parse_msg(raw)
    return _parse(raw, 0)


def _parse(raw: bytes, level: int) -> Mail:
    if b"\n" not in raw[:65_536] and b"\r" in raw[:65_536]:
        raw = raw.replace(b"\r", b"\n")  # line ends of an old Macintosh
    header, start = split_headers(raw)
    notes: list[str] = []
    texts: list[tuple[str, str]] = []  # (parent, text)
    pages: list[tuple[str, str]] = []
    attachments: list[Attachment] = []
    forwarded: list[Mail] = []
    for part in _leaves(raw, header, start, notes):
        if part.media_type in ("message/rfc822", "message/global") or _is_mail_file(part):
            if level < MAX_FORWARD_DEPTH and len(forwarded) < 100:
                forwarded.append(_parse(part.body, level + 1))
            else:
                notes.append("mails inside mails deeper than are read")
        elif _is_body(part):
            content = part.body[:MAX_BODY_BYTES]
            is_html = part.media_type == "text/html"
            decoded = decode_text(content, part.parameters.get("charset"), html=is_html)
            if not is_html and _HTML_HEAD_RE.match(decoded) and "</" in decoded:
                is_html = True  # a page sent under the label of plain text
            (pages if is_html else texts).append((part.parent, decoded))
        elif _is_attachment(part) and len(attachments) < MAX_ATTACHMENTS:
            attachments.append(_attachment(part, len(attachments) + 1))
    own = replace(
        _mail_of(header),
        text=_joined(texts),
        html=_joined(pages),
        attachments=tuple(attachments),
        forwarded=tuple(forwarded),
        notes=tuple(dict.fromkeys(notes)),
    )
    return _with_inline(own, level)


def _mail_of(header: HeaderSection) -> Mail:
    """The mail without its bodies."""
    senders = parse_addresses(header.raw("from") or b"") or parse_addresses(header.raw("sender") or b"")
    sender = senders[0] if senders else Address(name="", address="")
    date_text = header.text("date")
    date = parse_date(date_text)
    if date is None and (received := header.text("received")):
        date = parse_date(received.rpartition(";")[2])
    ids = message_ids(header.text("message-id"))
    return Mail(
        subject=header.text("subject").strip(),
        from_name=sender.name,
        from_address=sender.address,
        reply_to=parse_addresses(header.raw("reply-to") or b""),
        to=parse_addresses(header.raw("to") or b""),
        cc=parse_addresses(header.raw("cc") or b""),
        date=date,
        date_text=date_text,
        message_id=ids[0] if ids else None,
        in_reply_to=message_ids(header.text("in-reply-to")),
        references=message_ids(header.text("references")),
        fields=tuple(
            (name, decode_value(value)[:4_000]) for name, value in header.fields[:400] if name not in _NOT_KEPT
        ),
    )


# --- the MIME tree ----------------------------------------------------------------------------


def _leaves(raw: bytes, header: HeaderSection, start: int, notes: list[str]) -> Iterator[_Part]:
    """The leaves in order, by an explicit stack of (header, body, parent type, depth)."""
    stack: list[tuple[HeaderSection, bytes, str, int]] = [(header, raw[start:], "", 0)]
    count = 0
    while stack:
        current, body, parent, depth = stack.pop()
        count += 1
        if count > MAX_PARTS:
            notes.append(f"more than {MAX_PARTS} parts")
            return
        default = b"message/rfc822" if parent == "multipart/digest" else b"text/plain"
        media_type, parameters = parse_parameters(current.raw("content-type") or default)
        encoding = current.text("content-transfer-encoding").strip().strip('"').casefold()
        if media_type.startswith("multipart/"):
            boundary = parameters.get("boundary", "")
            if depth >= MAX_DEPTH:
                notes.append("parts nested deeper than are read")
                continue
            if encoding in ("base64", "quoted-printable"):  # forbidden for a multipart, and yet found
                body = _transfer_decoded(body, encoding, "text/plain")
            children = _split_multipart(body, boundary)
            if children:
                stack.extend((*_part_header(child), media_type, depth + 1) for child in reversed(children))
                continue
            notes.append("a multipart without its boundary")
            media_type, parameters = "text/plain", {}
        yield _leaf(current, body, media_type, parameters, encoding, parent)


def _part_header(part: bytes) -> tuple[HeaderSection, bytes]:
    """Header section and body of a part; a part that begins with a blank line has no header (RFC 2046 5.1)."""
    first, newline, rest = part.partition(b"\n")
    if not first.strip():
        return HeaderSection(fields=()), rest if newline else part
    header, offset = split_headers(part)
    return header, part[offset:]


def _leaf(
    header: HeaderSection, body: bytes, media_type: str, parameters: dict[str, str], encoding: str, parent: str
) -> _Part:
    disposition, extra = parse_parameters(header.raw("content-disposition") or b"")
    if "/" not in media_type:
        media_type = {"text": "text/plain", "html": "text/html", "": "text/plain"}.get(
            media_type, "application/octet-stream"
        )
    name = extra.get("filename") or parameters.get("name") or ""
    return _Part(
        media_type=media_type,
        parameters=parameters,
        disposition=disposition,
        file_name=name,
        content_id=header.text("content-id"),
        parent=parent,
        body=_transfer_decoded(body, encoding, media_type),
    )


def _split_multipart(body: bytes, boundary: str) -> list[bytes]:
    """The parts between the boundary lines (RFC 2046 5.1.1); a missing last boundary costs nothing."""
    if not boundary:
        return []
    mark = b"--" + boundary.encode("utf-8", "replace")
    cuts: list[tuple[int, int, bool]] = []  # start and end of a boundary line, whether it is the last one
    position = 0
    while len(cuts) <= MAX_PARTS:
        found = body.find(mark, position)
        if found < 0:
            break
        end = body.find(b"\n", found)
        end = len(body) if end < 0 else end + 1
        tail = body[found + len(mark) : min(end, found + len(mark) + 200)].strip()
        if (found == 0 or body[found - 1 : found] == b"\n") and tail in (b"", b"--"):
            cuts.append((found, end, tail == b"--"))
            if tail:
                break
            position = end
        else:
            position = found + len(mark)
    parts: list[bytes] = []
    for k, (_, end, last) in enumerate(cuts):
        if last:
            break
        stop = cuts[k + 1][0] if k + 1 < len(cuts) else len(body)
        part = body[end:stop]
        # The line end before a boundary belongs to the boundary.
        if k + 1 < len(cuts):
            part = part[:-2] if part.endswith(b"\r\n") else part[:-1] if part.endswith(b"\n") else part
        parts.append(part)
    return parts


def _transfer_decoded(body: bytes, encoding: str, media_type: str) -> bytes:
    if encoding in ("base64", "b64", "b"):
        return decode_base64(body)
    if encoding in ("quoted-printable", "qp", "quoted_printable"):
        return _decode_quoted_printable(body) if _looks_quoted(body) else body
    if encoding in ("", "7bit", "8bit", "binary") and media_type.startswith("text/"):
        # Exports sometimes keep the encoded body and lose the field that says so.
        head = body[:20_000]
        if len(_QP_SIGNS_RE.findall(head)) >= 6 and b"=\n" in head.replace(b"\r", b"") and b"=3D" in head:
            return _decode_quoted_printable(body)
        if _BASE64_LINES_RE.match(body[: 1 << 16] if len(body) > 1 << 16 else body):
            return decode_base64(body)
    return body


def _looks_quoted(body: bytes) -> bool:
    """False for a body that only carries the label: equals signs, none of them followed as the encoding has it."""
    if b"=" not in body:
        return True
    return bool(re.search(rb"=(?:[0-9A-Fa-f]{2}|[ \t]{0,80}\r?\n|\Z)", body)) and not (
        b"=3D" not in body
        and b"=3d" not in body
        and bool(re.search(rb"=[\"'][^\"'\n]{0,300}[\"']", body))
        and not re.search(rb"=\r?\n", body)
    )


def _decode_quoted_printable(body: bytes) -> bytes:
    from binascii import a2b_qp

    return a2b_qp(_QP_SPACE_RE.sub(b"=", body))


# --- what a part is ---------------------------------------------------------------------------


def _is_body(part: _Part) -> bool:
    if part.media_type not in ("text/plain", "text/html", "text/enriched", "text/x-amp-html", "text/markdown"):
        return False
    if part.media_type == "text/x-amp-html" or part.disposition == "attachment":
        return False
    return not part.file_name or part.disposition == "inline" or part.parent == "multipart/alternative"


def _is_mail_file(part: _Part) -> bool:
    return (
        part.file_name.casefold().endswith(".eml")
        and part.media_type in ("application/octet-stream", "text/plain", "application/eml", "message/rfc822")
        and b":" in part.body[:1000]
    )


def _is_attachment(part: _Part) -> bool:
    if not part.body or part.media_type.startswith(("message/", "multipart/")):
        return False
    if part.media_type in (
        "text/x-amp-html",
        "text/rfc822-headers",
        "application/pgp-signature",
        "application/pkcs7-signature",
        "application/x-pkcs7-signature",
    ):
        return False
    # A picture that the page shows is part of the page.
    shown = part.media_type.startswith("image/") and part.content_id and part.disposition != "attachment"
    return not shown


def _attachment(part: _Part, number: int) -> Attachment:
    suffix = mimetypes.guess_extension(part.media_type, strict=False) or ""
    name = clean_name(part.file_name, f"attachment-{number}{suffix}")
    return Attachment(name=name, media_type=part.media_type, content=part.body)


def _joined(bodies: list[tuple[str, str]]) -> str:
    """The bodies of one kind in order; of alternatives only the last, richest one counts (RFC 2046 5.1.4)."""
    kept: list[str] = []
    for k, (parent, body) in enumerate(bodies):
        following = bodies[k + 1][0] if k + 1 < len(bodies) else ""
        if parent == following == "multipart/alternative":
            continue
        if body.strip():
            kept.append(body)
    return "\n".join(kept)


# --- forwards ---------------------------------------------------------------------------------


def with_inline_forwards(mail: Mail) -> Mail:
    """The mail with what is forwarded inside its text taken out of it, as `parse_mail` gives it."""
    return _with_inline(mail, 0)


def _with_inline(mail: Mail, level: int) -> Mail:
    if level >= MAX_FORWARD_DEPTH:
        return mail
    cut = cut_inline(mail.text, mail.html)
    if cut is None:
        return mail
    inner = _with_inline(_inline_mail(cut.forward), level + 1)
    return replace(mail, text=cut.own_text, html=cut.own_html, forwarded=(inner, *mail.forwarded))


def _worded_date(text: str, language: str | None) -> datetime | None:
    """The date an inline header block prints, at midnight UTC, where the words leave no choice."""
    from vault.language.dates import find_dates  # its tables cost time at start

    days = [found.value for found in find_dates(text[:200], language)]
    return datetime(days[0].year, days[0].month, days[0].day, tzinfo=UTC) if days and days[0] else None


_BRACKETED_RE = re.compile(r"\[(?:mailto:)?\s{0,3}([^\[\]\s<>]{1,100}@[^\[\]\s<>]{1,200})\]", re.IGNORECASE)


def _inline_mail(forward: InlineForward) -> Mail:
    shown = _BRACKETED_RE.sub(r"<\1>", forward.sender)  # "Name [mailto:name@host]"
    senders = parse_addresses(shown.encode("utf-8", "replace"))
    sender = senders[0] if senders else Address(name=forward.sender, address="")
    return Mail(
        subject=forward.subject,
        from_name=sender.name,
        from_address=sender.address,
        to=parse_addresses(forward.recipient.encode("utf-8", "replace")),
        date=parse_date(forward.date_text) or _worded_date(forward.date_text, forward.language),
        date_text=forward.date_text,
        text=forward.text,
        html=forward.html,
        inline=True,
        language_hint=forward.language,
    )
