"""Mailbox files and folders: where one message ends and the next begins.

An mbox (RFC 4155) has no end marks: a message begins at a line `From ` + sender + date.  Body lines may begin with
`From ` too, so a line counts only if it holds a plausible date (trap 12 of CPython's own splitter), stands at the
start or below a blank line or above a header field, and is followed by a header field.  `>From ` quoting is left as it
stands: which quoting a file uses is not recorded in it, and the bytes are the evidence.  Memory stays that of one
message, whatever the size of the mailbox.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from typing import BinaryIO

MAX_MESSAGE_BYTES = 128 << 20  # a longer message is cut here
_CHUNK = 1 << 20

# RFC 4155 appendix A: asctime date in UTC; in the wild also zones, offsets and missing seconds.
_FROM_RE = re.compile(
    rb"From [^\r\n]{0,300}?\b(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun),? {1,3}"
    rb"(?:(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec) {1,3}\d{1,2}|\d{1,2} (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug"
    rb"|Sep|Oct|Nov|Dec))[, ]{1,3}(?:\d{4} )?\d{1,2}:\d{2}(?::\d{2})?[^\r\n]{0,60}(?:\r?\n|\Z)"
)
_YEAR_RE = re.compile(rb"\b(?:19|20)\d\d\b")
_HEADER_RE = re.compile(rb"(?:>?From [^\r\n]{0,300}\r?\n)?[!-9;-~]{1,76}[ \t]{0,5}:")
_FIELDS = frozenset(
    b"from to subject date received message-id return-path delivered-to mime-version content-type reply-to sender "
    b"x-original-to envelope-to dkim-signature cc list-unsubscribe x-gm-thrid x-mozilla-status status x-uid "
    b"authentication-results arc-seal x-received content-transfer-encoding references in-reply-to".split()
)
_LINE_FIELD_RE = re.compile(rb"([!-9;-~]{1,76})[ \t]{0,5}:")
_LOOK_AHEAD = 1_200


def is_mbox(head: bytes) -> bool:
    """Whether a file that begins with `head` (a few kilobytes) is an mbox."""
    head = head.removeprefix(b"\xef\xbb\xbf").lstrip(b"\r\n")
    return head.startswith(b"From ") and _begins_message(head, 0) and looks_like_mail(head)


def looks_like_mail(head: bytes) -> bool:
    """Whether `head` (a few kilobytes) begins with the header section of a mail: fields, two of them of mail."""
    known: set[bytes] = set()
    seen = strange = 0
    for line in head[:16_384].removeprefix(b"\xef\xbb\xbf").lstrip(b"\r\n").splitlines():
        if not line.strip():
            break
        if line[:1] in b" \t" or line.startswith((b"From ", b">From ")):
            continue
        found = _LINE_FIELD_RE.match(line)
        if not found:
            strange += 1
            if strange > 2 or not seen:
                return False
            continue
        seen += 1
        known.add(found.group(1).lower())
    hits = known & _FIELDS
    return len(hits) >= 2 and bool(hits & {b"from", b"subject", b"received", b"message-id", b"date", b"return-path"})


def is_maildir(names: Collection[str]) -> bool:
    """Whether a folder with these entries is a Maildir: cur, new and tmp."""
    return {"cur", "new", "tmp"} <= set(names)


def split_mbox(stream: BinaryIO) -> Iterator[tuple[int, bytes]]:
    """Each message of an mbox with its number from 1: its raw bytes without its From_ line.

    The blank line that separates it from the next message is not part of it.  A stream that does not begin with a
    From_ line gives what stands before the first one as message 1 (an mbox that lost its start).
    """
    number = 0
    for message in _messages(stream):
        if message.strip():
            number += 1
            yield number, message


def _messages(stream: BinaryIO) -> Iterator[bytes]:
    buffer = bytearray()
    while len(buffer) < _LOOK_AHEAD and (piece := stream.read(_CHUNK)):
        buffer += piece
    if buffer.startswith(b"\xef\xbb\xbf"):
        del buffer[:3]
    while buffer.startswith((b"\r", b"\n")):
        del buffer[:1]
    start = _after_from(buffer) if buffer.startswith(b"From ") else 0
    scan = start
    ended = False
    dropped = False  # the message is over its limit: its rest is passed over
    while True:
        found = buffer.find(b"\nFrom ", max(0, scan - 6))
        if found < 0 or (len(buffer) - found < _LOOK_AHEAD and not ended):
            if found < 0:
                scan = len(buffer)
                if scan - start > MAX_MESSAGE_BYTES:
                    if not dropped:
                        yield bytes(buffer[start : start + MAX_MESSAGE_BYTES])
                    dropped = True
                    del buffer[: scan - 8]
                    start, scan = 0, 8
            else:
                scan = found
            if ended:
                break
            piece = stream.read(_CHUNK)
            if piece:
                buffer += piece
            else:
                ended = True
            continue
        if _begins_message(buffer, found + 1) and _is_apart(buffer, found):
            if not dropped:
                yield _without_separator(bytes(buffer[start : found + 1]))
            dropped = False
            del buffer[: found + 1]
            start = scan = _after_from(buffer)
        else:
            scan = found + 7
    if start < len(buffer) and not dropped:
        yield _without_separator(bytes(buffer[start:]))


def _after_from(buffer: bytes | bytearray) -> int:
    end = buffer.find(b"\n", 0, 2_000)
    return end + 1 if end >= 0 else 0


def _begins_message(buffer: bytes | bytearray, position: int) -> bool:
    """Whether a plausible From_ line stands at `position`, with a header field below it."""
    window = bytes(buffer[position : position + _LOOK_AHEAD])
    found = _FROM_RE.match(window)
    if not found or not _YEAR_RE.search(found.group()):
        return False
    return bool(_HEADER_RE.match(window, found.end())) or found.end() == len(window)


def _is_apart(buffer: bytes | bytearray, found: int) -> bool:
    """Whether a blank line stands before; without one, the field below must be one of mail."""
    if bytes(buffer[max(0, found - 2) : found]).rstrip(b"\r").endswith(b"\n") or found == 0:
        return True
    window = bytes(buffer[found + 1 : found + 1 + _LOOK_AHEAD])
    below = window[window.find(b"\n") + 1 :]
    field = _LINE_FIELD_RE.match(below)
    return bool(field and field.group(1).lower() in _FIELDS)


def _without_separator(message: bytes) -> bytes:
    """The message without the one blank line that ends it in an mbox."""
    if message.endswith(b"\r\n\r\n"):
        return message[:-2]
    return message[:-1] if message.endswith(b"\n\n") else message
