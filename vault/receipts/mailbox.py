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

from vault.receipts.scan import Marks

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
_BEFORE = 8  # bytes before a place that tell whether a blank line stands there
_FROM = Marks(b"\nFrom ")


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
    """The messages, empty ones too.

    The stream is read a chunk at a time.  A place is judged once enough stands behind it; what cannot be judged yet is
    carried into the next chunk with a little before it, and what of a long message lies further back is laid aside.
    """
    data = _fill(stream)
    data = data.removeprefix(b"\xef\xbb\xbf").lstrip(b"\r\n")
    start = _after_from(data) if data.startswith(b"From ") else 0
    judged = 0  # places before it are judged
    aside = _Aside()
    ended = False
    while True:
        for found in _FROM.places(data):
            if found < judged or found + 1 < start:
                continue
            if len(data) - found < _LOOK_AHEAD and not ended:
                break
            if _begins_message(data, found + 1) and _is_apart(data, found):
                yield from aside.taken(data[start : found + 1])
                start = found + 1 + _after_from(data[found + 1 : found + 2_001])
        if ended:
            break
        cut = max(0, min(start, len(data)) - _BEFORE, len(data) - _LOOK_AHEAD - _BEFORE)
        if cut > start:
            aside.lay(data[start:cut])
            start, judged = 0, _BEFORE
        else:
            start, judged = start - cut, 0
        piece = _fill(stream)
        ended = not piece
        data = data[cut:] + piece
    if start < len(data) or aside.n_bytes:
        yield from aside.taken(data[start:])


class _Aside:
    """The beginning of a message whose end is not seen yet; over the limit, its rest is dropped."""

    def __init__(self) -> None:
        self.pieces: list[bytes] = []
        self.n_bytes = 0

    def lay(self, piece: bytes) -> None:
        if self.n_bytes <= MAX_MESSAGE_BYTES:
            self.pieces.append(piece)
        self.n_bytes += len(piece)

    def taken(self, last: bytes) -> Iterator[bytes]:
        """The whole message, which ends with `last`; nothing is aside any more."""
        whole = b"".join([*self.pieces, last]) if self.pieces else last
        self.pieces, self.n_bytes = [], 0
        yield whole[:MAX_MESSAGE_BYTES] if len(whole) > MAX_MESSAGE_BYTES else _without_separator(whole)


def _fill(stream: BinaryIO) -> bytes:
    """The next chunk, put together where the stream gives less at a time; empty at its end."""
    piece = stream.read(_CHUNK)
    if len(piece) >= _CHUNK or not piece:
        return piece
    pieces, n_bytes = [piece], len(piece)
    while n_bytes < _CHUNK and (piece := stream.read(_CHUNK - n_bytes)):
        pieces.append(piece)
        n_bytes += len(piece)
    return b"".join(pieces)


def _after_from(buffer: bytes) -> int:
    end = buffer.find(b"\n", 0, 2_000)
    return end + 1 if end >= 0 else 0


def _begins_message(buffer: bytes, position: int) -> bool:
    """Whether a plausible From_ line stands at `position`, with a header field below it."""
    window = buffer[position : position + _LOOK_AHEAD]
    found = _FROM_RE.match(window)
    if not found or not _YEAR_RE.search(found.group()):
        return False
    return bool(_HEADER_RE.match(window, found.end())) or found.end() == len(window)


def _is_apart(buffer: bytes, found: int) -> bool:
    """Whether a blank line stands before; without one, the field below must be one of mail."""
    if buffer[max(0, found - 2) : found].rstrip(b"\r").endswith(b"\n") or found == 0:
        return True
    window = buffer[found + 1 : found + 1 + _LOOK_AHEAD]
    below = window[window.find(b"\n") + 1 :]
    field = _LINE_FIELD_RE.match(below)
    return bool(field and field.group(1).lower() in _FIELDS)


def _without_separator(message: bytes) -> bytes:
    """The message without the one blank line that ends it in an mbox."""
    if message.endswith(b"\r\n\r\n"):
        return message[:-2]
    return message[:-1] if message.endswith(b"\n\n") else message
