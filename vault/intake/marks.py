"""What mail programs write into their mailbox files about a mail: read, starred, its number.

These fields were never part of the mail, and change whenever she opens it; without them it is the same mail still.
There is no standard for them (RFC 4155 leaves them out); the names are common practice, no published source.
"""

from __future__ import annotations

import re

_HEAD = 16_384
# Status, X-Status, X-Keywords, X-UID, and the same with a word of the program's own between.
_MARK_RE = re.compile(
    rb"^(?:Status|Content-Length|Lines|X-(?:[A-Za-z]{1,30}-)?(?:Status2?|Keywords|Keys|UIDL?|IMAP(?:base)?|Account-Key))"
    rb":[^\n]{0,998}\n(?:[ \t][^\n]{0,998}\n){0,50}",
    re.MULTILINE,
)


# A quick look for most mails: one of these stands in every such field.
_SIGNS = (b"Status", b"Keywords:", b"Keys:", b"-UID", b"-IMAP", b"-Key:", b"Content-Length:", b"Lines:")


def without_marks(raw: bytes) -> bytes | None:
    """The mail without such fields; None where there are none, as in every mail that comes straight from a server."""
    first = raw.find(b"\n", 0, _HEAD)
    end = raw.find(b"\r\n\r\n" if raw[first - 1 : first] == b"\r" else b"\n\n", 0, _HEAD)
    if end < 0:
        return None
    fields = raw[: end + 2]
    if not any(sign in fields for sign in _SIGNS):
        return None
    plain = _MARK_RE.sub(b"", fields)
    return plain + raw[len(fields) :] if len(plain) < len(fields) else None
