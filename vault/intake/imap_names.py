"""Names in IMAP: modified UTF-7 (RFC 3501, 5.1.3), lines of LIST answers (7.2.2), quoted strings, places as URLs.

A folder's name comes from the server and is only ever sent back to it, byte for byte; what people see is decoded.
"""

from __future__ import annotations

import base64
import binascii
import re
from dataclasses import dataclass
from typing import Any

# mailbox-list = "(" [mbx-list-flags] ")" SP (DQUOTE QUOTED-CHAR DQUOTE / nil) SP mailbox   (RFC 3501, 9)
_LIST_RE = re.compile(rb'\A\((?P<flags>[^()]{0,1000})\) +(?:NIL|"(?P<sign>\\?[^"])"|"") +(?P<name>.*)\Z', re.DOTALL)
_LITERAL_RE = re.compile(rb"\{\d{1,9}\}\Z")
_UNESCAPE_RE = re.compile(rb"\\(.)", re.DOTALL)


@dataclass(frozen=True, kw_only=True)
class MailFolder:
    """A folder of an account: its `raw` name as the server knows it, its `name` for people, its flags in lower case."""

    raw: bytes
    name: str
    flags: frozenset[str] = frozenset()


def decode_name(raw: bytes) -> str:
    """A folder's name as text.  What is no modified UTF-7 (some servers send UTF-8) stays as readable as it can."""
    out: list[str] = []
    position = 0
    while position < len(raw):
        start = raw.find(b"&", position)
        if start < 0:
            out.append(_plain(raw[position:]))
            break
        out.append(_plain(raw[position:start]))
        end = raw.find(b"-", start)
        if end < 0:
            out.append(_plain(raw[start:]))
            break
        out.append("&" if end == start + 1 else _shifted(raw[start + 1 : end]))
        position = end + 1
    return "".join(out)


def _plain(raw: bytes) -> str:
    return raw.decode("utf-8", "replace")


def _shifted(raw: bytes) -> str:
    try:
        packed = raw.replace(b",", b"/")
        # utf-16-be without surrogates that stand alone
        return base64.b64decode(packed + b"=" * (-len(packed) % 4), validate=True).decode("utf-16-be")
    except (binascii.Error, ValueError):
        return _plain(b"&" + raw + b"-")


def encode_name(name: str) -> bytes:
    """A folder's name in modified UTF-7."""
    out = bytearray()
    waiting: list[str] = []

    def flush() -> None:
        if waiting:
            packed = base64.b64encode("".join(waiting).encode("utf-16-be")).rstrip(b"=").replace(b"/", b",")
            out.extend(b"&" + packed + b"-")
            waiting.clear()

    for sign in name:
        if " " <= sign <= "~":
            flush()
            out.extend(b"&-" if sign == "&" else sign.encode("ascii"))
        else:
            waiting.append(sign)
    flush()
    return bytes(out)


def folder_of(answer: Any) -> MailFolder | None:
    """The folder in one part of a LIST answer as imaplib gives it: bytes, or (bytes with a literal's size, literal)."""
    literal: bytes | None = None
    if isinstance(answer, tuple) and len(answer) >= 2 and all(isinstance(p, bytes) for p in answer[:2]):
        answer, literal = answer[0], answer[1]
    if not isinstance(answer, bytes):
        return None
    found = _LIST_RE.match(answer)
    if not found:
        return None
    raw = found["name"]
    if literal is not None and _LITERAL_RE.search(raw):
        raw = literal
    elif raw.startswith(b'"') and raw.endswith(b'"') and len(raw) >= 2:
        raw = _UNESCAPE_RE.sub(rb"\1", raw[1:-1])
    flags = frozenset(f.decode("ascii", "replace").lower() for f in found["flags"].split())
    return MailFolder(raw=raw, name=decode_name(raw), flags=flags) if raw else None


def quoted(raw: bytes) -> bytes:
    """`raw` as a quoted string.  Raises ValueError for what none can hold: CR, LF, NUL."""
    if any(sign in raw for sign in (b"\r", b"\n", b"\0")):
        raise ValueError("a line break in a name")
    return b'"' + raw.replace(b"\\", b"\\\\").replace(b'"', b'\\"') + b'"'


def mail_place(user: str, host: str, folder: str = "", uid: int | None = None) -> str:
    """Where a mail lies, for people and JSON: `imap://user@host/Folder#uid`.

    In the spirit of RFC 5092; signs that would make it ambiguous are percent-encoded, letters of all languages stay.
    """
    place = f"imap://{_safe(user)}@{_safe(host, also=':[]')}"
    if folder:
        place += f"/{_safe(folder, also='/')}"
    return place if uid is None else f"{place}#{uid}"


def _safe(text: str, also: str = "") -> str:
    kept = "-._~!$'()*+,=" + also
    return "".join(
        c if c.isalnum() or c in kept else "".join(f"%{b:02X}" for b in c.encode("utf-8", "replace")) for c in text
    )
