"""Mails and pages in other wrappings: Outlook .msg, MHTML, .webarchive.

Strategy: unwrap, then everything goes the common way.  `parse_msg` (which `mime.parse_mail` calls for such files)
gives the same `Mail` as an .eml: the transport headers inside it are read by the same code, the bodies by what
their bytes prove.  `page_of` gives the main page of a saved page with the address it was saved from; what is loaded
beside it (pictures, frames) is left alone.
"""

from __future__ import annotations

import plistlib
import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any
from xml.parsers.expat import ExpatError

from vault.model.evidence import Attachment
from vault.receipts.charsets import decode_text, tidy
from vault.receipts.mail_headers import Address, clean_name
from vault.receipts.mime import MAX_ATTACHMENTS, OLE_MAGIC, Mail, parse_mail, with_inline_forwards
from vault.receipts.rtf import RtfBody, body_of

if TYPE_CHECKING:
    from oxmsg.storage import Storage

MAX_BYTES = 128 << 20
_MAX_EMBEDDED = 5  # mails inside mails
_MSG_HEADERS = 0x007D
_MSG_HTML = 0x1013
_MSG_RTF = 0x1009  # PidTagRtfCompressed
_MSG_EMBEDDED = re.compile(r"__substg1\.0_3701000D\Z", re.IGNORECASE)
_MHTML_RE = re.compile(rb"(?:^|\n)content-type:\s*multipart/related", re.IGNORECASE)
_ENCODING_ALIASES = {"utf-16": "utf-16", "x-mac-roman": "mac-roman"}


@dataclass(frozen=True, kw_only=True)
class SavedPage:
    """The main page of a saved page, and the address it was saved from (None: not said)."""

    html: str
    url: str | None = None


def is_msg(head: bytes) -> bool:
    """Whether a file that begins with `head` is an OLE file, as Outlook mails are.  Word files of old are too."""
    return head.startswith(OLE_MAGIC)


def is_mhtml(head: bytes) -> bool:
    """Whether a file that begins with `head` is a page saved as one MIME file."""
    top = head[:4_096]
    if not _MHTML_RE.search(top):
        return False
    lowered = top.lower()
    return (
        b"snapshot-content-location:" in lowered
        or b"saved by" in lowered
        or (b"\nreceived:" not in lowered and b"\nto:" not in lowered and b"content-location:" in lowered)
    )


def is_webarchive(head: bytes) -> bool:
    """Whether a file that begins with `head` is a property list that may hold a saved page."""
    return head.startswith(b"bplist00") or (b"<plist" in head[:1_024] and b"WebMainResource" in head[:4_096])


def page_of(raw: bytes) -> SavedPage:
    """The main page of a saved page: plain HTML, MHTML or webarchive.  Never raises; an empty page if there is none."""
    if is_webarchive(raw[:4_096]):
        return _webarchive(raw)
    if is_mhtml(raw[:4_096]):
        mail = parse_mail(raw)
        url = mail.field("snapshot-content-location") or mail.field("content-location")
        html = next((m.html for m in mail.everything() if m.html), "") or mail.text
        return SavedPage(html=html, url=url if url.startswith(("http://", "https://")) else None)
    return SavedPage(html=decode_text(raw, None, html=True))


# --- webarchive -------------------------------------------------------------------------------


def _webarchive(raw: bytes) -> SavedPage:
    try:
        content = plistlib.loads(raw[:MAX_BYTES])
    except (plistlib.InvalidFileException, ExpatError, ValueError, TypeError, OverflowError, RecursionError,
            AttributeError, KeyError, IndexError, MemoryError):  # fmt: skip
        return SavedPage(html="")
    main = content.get("WebMainResource") if isinstance(content, dict) else None
    data = main.get("WebResourceData") if isinstance(main, dict) else None
    if not isinstance(main, dict) or not isinstance(data, bytes):
        return SavedPage(html="")
    encoding, url = main.get("WebResourceTextEncodingName"), main.get("WebResourceURL")
    return SavedPage(
        html=decode_text(data, encoding if isinstance(encoding, str) else None, html=True),
        url=url if isinstance(url, str) and url.startswith(("http://", "https://")) else None,
    )


# --- Outlook ----------------------------------------------------------------------------------


def parse_msg(raw: bytes) -> Mail:
    """The mail in an Outlook file.  Never raises; a file that cannot be read is an empty mail with a note."""
    if len(raw) > MAX_BYTES:
        return Mail(notes=("an Outlook file over the limit",))
    try:
        from oxmsg import Message

        message = Message.load(raw)
        return _mail_of(message, 0)
    except Exception:  # noqa: BLE001 - the OLE and MSG readers fail in many ways on damaged files
        return Mail(notes=("an Outlook file that cannot be read",))


def _mail_of(message: Any, depth: int) -> Mail:
    """The mail of an opened Outlook message; what one property lacks costs only that property."""
    headers = _said(lambda: message.properties.str_prop_value(_MSG_HEADERS)) or ""
    mail = parse_mail(tidy(headers).strip().encode("utf-8", "replace") + b"\n\n") if headers.strip() else Mail()
    if not headers.strip():
        mail = _without_headers(message)
    text = tidy(_said(lambda: message.body) or "")
    html = _html(message)
    if not html.strip():
        wrapped = _rtf(message)
        html, text = wrapped.html, text if text.strip() else wrapped.text
    attachments, forwarded = _attached(message, depth)
    mail = replace(
        mail,
        subject=mail.subject or tidy(_said(lambda: message.subject) or "").strip(),
        date=mail.date or _date(message),
        text=text,
        html=html,
        attachments=tuple(attachments),
        forwarded=tuple(forwarded),
    )
    return with_inline_forwards(mail)


def _said(ask: Any) -> Any:
    """What a property says, None where it is damaged."""
    try:
        return ask()
    except Exception:  # noqa: BLE001 - a damaged property is a missing property
        return None


def _without_headers(message: Any) -> Mail:
    """The envelope of a mail that never went over the wire (a sent copy, an export): from its properties."""
    sender = _said(lambda: message.sender) or ""
    envelope = parse_mail(f"From: {' '.join(str(sender).split())}\n\n".encode("utf-8", "replace"))
    recipients = _said(lambda: message.recipients) or ()
    to = tuple(
        Address(name=tidy(_said(lambda r=r: r.name) or ""), address=(_said(lambda r=r: r.email_address) or "").strip())
        for r in recipients[:200]
    )
    return replace(envelope, to=tuple(a for a in to if a.name or a.address))


def _date(message: Any) -> datetime | None:
    sent = _said(lambda: message.sent_date)
    if not isinstance(sent, datetime):
        return None
    return sent if sent.tzinfo else sent.replace(tzinfo=UTC)


def _html(message: Any) -> str:
    data = _said(lambda: message.properties.binary_prop_value(_MSG_HTML))
    if isinstance(data, bytes) and data:
        encoding = _said(lambda: message.properties.body_encoding)
        return decode_text(data, encoding if isinstance(encoding, str) else None, html=True)
    html = _said(lambda: message.html_body)
    return tidy(html) if isinstance(html, str) else ""


def _rtf(message: Any) -> RtfBody:
    """The body where Outlook keeps it as RTF only."""
    data = _said(lambda: message.properties.binary_prop_value(_MSG_RTF))
    return body_of(data) if isinstance(data, bytes) else RtfBody()


def _attached(message: Any, depth: int) -> tuple[list[Attachment], list[Mail]]:
    attachments: list[Attachment] = []
    forwarded: list[Mail] = []
    for attachment in list(_said(lambda: message.attachments) or ())[:MAX_ATTACHMENTS]:
        embedded = _embedded(attachment)
        if embedded is not None:
            if depth < _MAX_EMBEDDED:
                forwarded.append(_mail_of(embedded, depth + 1))
            continue
        content = _said(lambda a=attachment: a.file_bytes)
        if not isinstance(content, bytes) or not content:
            continue
        media_type = _said(lambda a=attachment: a.mime_type) or "application/octet-stream"
        name = clean_name(_said(lambda a=attachment: a.file_name) or "", f"attachment-{len(attachments) + 1}")
        if name.casefold().endswith(".eml") or media_type == "message/rfc822":
            forwarded.append(parse_mail(content))
        else:
            attachments.append(Attachment(name=name, media_type=media_type, content=content))
    return attachments, forwarded


def _embedded(attachment: Any) -> Any:
    """The message inside an attachment of the kind "embedded message", None for a file."""
    from oxmsg import Message

    storage: Storage | None = getattr(attachment, "_storage", None)
    for inner in getattr(storage, "storages", ()):
        if _MSG_EMBEDDED.search(inner.name):
            return _Embedded(Message(inner))
    return None


class _Embedded:
    """An embedded message: its properties stream has a shorter header than that of a message file ([MS-OXMSG] 2.4)."""

    def __init__(self, message: Any) -> None:
        from oxmsg.properties import Properties

        self._message = message
        self.properties = Properties(message._storage, properties_header_offset=24)

    @property
    def body(self) -> Any:
        """The plain text."""
        return self.properties.str_prop_value(0x1000)

    @property
    def html_body(self) -> Any:
        """The page, where it is kept as text."""
        return self.properties.str_prop_value(_MSG_HTML)

    @property
    def subject(self) -> Any:
        """The subject line."""
        return self.properties.str_prop_value(0x0037)

    @property
    def sender(self) -> Any:
        """Name and address of the sender."""
        name = self.properties.str_prop_value(0x0C1A) or ""
        address = self.properties.str_prop_value(0x0C1F) or self.properties.str_prop_value(0x5D01)
        return f'"{name}" <{address}>' if address else name

    @property
    def sent_date(self) -> Any:
        """When it was sent."""
        return self.properties.date_prop_value(0x0039)

    @property
    def recipients(self) -> Any:
        """Its recipients."""
        return self._message.recipients

    @property
    def attachments(self) -> Any:
        """What is attached to it."""
        return self._message.attachments
