"""ASCII armor (C2SP age, "ASCII armor"): strict PEM (RFC 7468, figure 3) around the whole binary file.

"age implementations SHOULD reject non-canonical ASCII armor encodings except for whitespace before and after the PEM
block, and MAY choose to accept both LF and CRLF line endings."  Accepted here: LF or CRLF, one of them throughout; up
to `MAX_SPACE_BYTES` of white space before the BEGIN line (whole lines) and after the END line.  Everything else that
a canonical writer does not write is an `ArmorError`: a second spelling would make the file malleable.

The reader decodes many lines in one call and checks them by encoding them again.  "-" is no letter of base64, so the
first one in a block marks where the body ends.
"""

from __future__ import annotations

import binascii
from collections.abc import Callable

from vault.age import encoding
from vault.age.errors import NOT_WHOLE, ArmorError
from vault.age.header import VERSION_PREFIX
from vault.age.source import Source

BEGIN = b"-----BEGIN AGE ENCRYPTED FILE-----"
END = b"-----END AGE ENCRYPTED FILE-----"
MAX_SPACE_BYTES = 1024
COLUMNS = 64
LINE_BYTES = 48  # what a full line decodes to
_BLOCK = 1024 * (COLUMNS + 2)
_SPACE = b" \t\n\v\f\r"


def looks_armored(source: Source) -> bool:
    """Whether `source` is to be read as armor, sound or broken, rather than as a binary file.

    Whatever begins like a binary file is one; dashes near the start of anything else are taken for a BEGIN line.
    """
    if source.peek(len(VERSION_PREFIX)) == VERSION_PREFIX:
        return False
    return b"-----" in source.peek(MAX_SPACE_BYTES + len(BEGIN))


class ArmorReader:
    """The binary file within an armored `source`.  Raises ArmorError from `read`."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self._decoded = memoryview(b"")
        self._line_end = b""  # unknown until the BEGIN line
        self._ended = False

    def read(self, n: int, /) -> bytes:
        """At most `n` bytes; b"" at the end only, after the END line and what follows it have been checked."""
        if not self._line_end:
            self._begin()
        while not self._decoded and not self._ended:
            self._decode_block()
        data = bytes(self._decoded[:n])
        self._decoded = self._decoded[n:]
        return data

    def _begin(self) -> None:
        text = self._source.peek(MAX_SPACE_BYTES + len(BEGIN) + 2)
        start = len(text) - len(text.lstrip(_SPACE))
        if start > MAX_SPACE_BYTES:
            raise _broken("more than 1024 bytes of white space stand before it")
        if start and not text[:start].endswith(b"\n"):
            raise _broken("its first line is not the BEGIN line of an age file")
        for line_end in (b"\n", b"\r\n"):
            if text.startswith(BEGIN + line_end, start):
                self._line_end = line_end
                self._source.skip(start + len(BEGIN) + len(line_end))
                return
        raise _broken("its first line is not the BEGIN line of an age file")

    def _decode_block(self) -> None:
        """Decode the full lines of one block that are surely not the last, else the last line and the END line."""
        text = self._source.peek(_BLOCK)
        width = COLUMNS + len(self._line_end)
        dash = text.find(b"-")
        body_bytes = dash if dash >= 0 else len(text)
        n_lines = max(0, body_bytes - 1) // width
        if n_lines:
            self._decoded = memoryview(self._full_lines(text[: n_lines * width], n_lines))
            self._source.skip(n_lines * width)
        elif dash >= 0:
            self._decoded = memoryview(self._last_line(text[:dash]))
            self._source.skip(dash)
            self._finish(text[dash:])
        else:
            raise _broken("it has no END line")

    def _full_lines(self, lines: bytes, n_lines: int) -> bytes:
        width = COLUMNS + len(self._line_end)
        ends_right = all(
            lines[COLUMNS + i :: width] == self._line_end[i : i + 1] * n_lines for i in range(len(self._line_end))
        )
        text = lines.replace(self._line_end, b"")
        data = encoding.decode_padded(text) if ends_right and len(text) == n_lines * COLUMNS else None
        # A full line in the middle has no padding, so it decodes to 48 bytes.
        if data is None or len(data) != n_lines * LINE_BYTES:
            raise _broken("a line is not 64 columns of canonical base64")
        return data

    def _last_line(self, line: bytes) -> bytes:
        """The line before the END line: 1 to 64 columns with padding.  No line at all is an empty file."""
        if not line:
            return b""
        text = line.removesuffix(self._line_end)
        data = encoding.decode_padded(text) if line.endswith(self._line_end) and 0 < len(text) <= COLUMNS else None
        if data is None:
            raise _broken("its last line is not canonical base64 with padding, followed by the END line")
        return data

    def _finish(self, text: bytes) -> None:
        """Check the END line, and that at most white space follows it up to the end of the stream."""
        if not text.startswith(END):
            raise _broken("it has no END line of an age file where its body ends")
        self._source.skip(len(END))
        rest = self._source.peek(MAX_SPACE_BYTES + 1)
        if rest.strip(_SPACE) or (rest and not rest.startswith((b"\n", b"\r\n"))):
            raise _broken("something stands after its END line")
        if len(rest) > MAX_SPACE_BYTES:
            raise _broken("more than 1024 bytes of white space stand after it")
        self._source.skip(len(rest))
        self._ended = True


class ArmorWriter:
    """Writes what it is given as armor, with LF line ends; `close` writes the last line and the END line."""

    def __init__(self, write: Callable[[bytes], object]) -> None:
        self._write = write
        self._pending = bytearray()  # less than one line
        self._begun = False

    def write(self, data: bytes | memoryview) -> None:
        """Write the full lines of `data` and what was pending."""
        if not self._begun:
            self._begun = True
            self._write(BEGIN + b"\n")
        self._pending += data
        full = len(self._pending) // LINE_BYTES * LINE_BYTES
        if full:
            encode = binascii.b2a_base64
            with memoryview(self._pending) as view:
                self._write(b"".join([encode(view[at : at + LINE_BYTES]) for at in range(0, full, LINE_BYTES)]))
            del self._pending[:full]

    def close(self) -> None:
        """Write the end of the armor."""
        last = encoding.encode_padded(self._pending) + b"\n" if self._pending else b""
        self._write(last + END + b"\n")


def _broken(why: str) -> ArmorError:
    return ArmorError(f"the age armor is malformed: {why}", NOT_WHOLE)
