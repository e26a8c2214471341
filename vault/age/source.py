"""Reading from any binary stream: short reads are filled up, and bytes can be looked at before they are taken.

The header is read line by line and the payload in large blocks, from the same stream, which need not be seekable.
`Source` owns the few bytes that have been read too far.  Memory is bounded by the largest `peek` plus one block.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

_READ = 4096


class Readable(Protocol):
    """The only thing asked of an input: `read(n)` gives at most n bytes, and b"" at the end only."""

    def read(self, n: int, /) -> bytes: ...


class Source:
    """A look-ahead over `stream`.  Errors of the stream (OSError, ArmorError) pass through unchanged."""

    def __init__(self, stream: Readable) -> None:
        self._stream = stream
        self._ahead = bytearray()
        self._ended = False
        # An optional speed-up of real files: they fill our own buffer instead of building bytes objects.
        self._readinto: Callable[[memoryview], int | None] | None = getattr(stream, "readinto", None)

    def _fill(self, n: int) -> None:
        """Have at least `n` bytes ahead, or all that there are."""
        while len(self._ahead) < n and not self._ended:
            data = self._stream.read(max(_READ, n - len(self._ahead)))
            self._ahead += data
            self._ended = not data

    def peek(self, n: int) -> bytes:
        """The next `n` bytes without taking them; fewer only at the end of the stream."""
        self._fill(n)
        return bytes(self._ahead[:n])

    def skip(self, n: int) -> None:
        """Take `n` bytes that have been peeked at."""
        del self._ahead[:n]

    def at_end(self) -> bool:
        """Whether nothing follows."""
        self._fill(1)
        return not self._ahead

    def read_line(self, limit: int) -> bytes | None:
        """The next line with its LF, taken; None when no LF comes within `limit` bytes or before the end."""
        searched = 0
        while (at := self._ahead.find(b"\n", searched, limit)) < 0:
            searched = len(self._ahead)
            if searched >= limit or self._ended:
                return None
            self._fill(searched + 1)
        line = bytes(self._ahead[: at + 1])
        self.skip(at + 1)
        return line

    def read_into(self, view: memoryview) -> int:
        """Fill `view`, and say how many bytes that were; fewer than its length only at the end of the stream."""
        got = min(len(view), len(self._ahead))
        view[:got] = self._ahead[:got]
        self.skip(got)
        while got < len(view) and not self._ended:
            if self._readinto is not None:
                n = self._readinto(view[got:]) or 0
            else:
                data = self._stream.read(len(view) - got)
                n = len(data)
                view[got : got + n] = data
            got += n
            self._ended = n == 0
        return got
