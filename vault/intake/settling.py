"""When a file that appeared is finished: a pure machine over looks at it, without a clock or a disk.

A file counts as finished when it was the same (size, times, identity) for `settle` seconds, `settle_empty` for an empty
one (programs lay an empty file first and fill it later).  Whoever looks tells what was seen and when; a file that is
still held open by a writer is told with `still_open` and looked at again, less and less often.  A file that was given
out once is not given out again until it looks different.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

_PATIENCE = 2.0  # growth of the pause between two looks at a file that is still held open
_LONGEST_PAUSE = 30.0


@dataclass(frozen=True, kw_only=True)
class Signature:
    """What tells one state of a file from another; times in nanoseconds."""

    n_bytes: int
    mtime_ns: int
    ctime_ns: int
    inode: int


@dataclass
class _Waiting:
    signature: Signature
    since: float
    due: float
    pause: float


class Settling:
    """The files that wait until they are finished, and those that were dealt with.  Times are of one clock, seconds."""

    def __init__(self, *, settle: float, settle_empty: float) -> None:
        self._settle, self._settle_empty = settle, settle_empty
        self._waiting: dict[Path, _Waiting] = {}
        self._dealt: dict[Path, Signature] = {}

    def see(self, path: Path, signature: Signature, now: float, *, quiet_for: float = 0.0) -> bool:
        """`path` was looked at; `quiet_for`: how long it has surely not been written to already.

        Whether it looks different from what was known, so that it waits from now on.
        """
        if self._dealt.get(path) == signature:
            self._waiting.pop(path, None)
            return False
        waiting = self._waiting.get(path)
        if waiting is not None and waiting.signature == signature:
            return False
        wait = self._settle if signature.n_bytes else self._settle_empty
        since = now - max(0.0, quiet_for)
        self._waiting[path] = _Waiting(signature=signature, since=since, due=since + wait, pause=wait)
        return True

    def gone(self, path: Path) -> None:
        """Nothing that counts is at `path` any more."""
        self._waiting.pop(path, None)
        self._dealt.pop(path, None)

    def gone_below(self, folder: Path) -> None:
        """Nothing is below `folder` any more."""
        for known in (self._waiting, self._dealt):
            for path in [p for p in known if folder in p.parents]:
                del known[path]

    def still_open(self, path: Path, now: float) -> None:
        """A program holds `path` open for writing."""
        waiting = self._waiting.get(path)
        if waiting is not None:
            waiting.due = now + waiting.pause
            waiting.pause = min(waiting.pause * _PATIENCE, _LONGEST_PAUSE)

    def due(self, now: float) -> list[Path]:
        """Paths that may be finished: look at them once more, then `deal` or `see`."""
        return sorted(p for p, w in self._waiting.items() if w.due <= now)

    def deal(self, path: Path, signature: Signature) -> bool:
        """Whether `path`, just seen again as `signature`, is to be taken in now; it then counts as dealt with."""
        waiting = self._waiting.get(path)
        if waiting is None or waiting.signature != signature:
            return False
        del self._waiting[path]
        self._dealt[path] = signature
        return True

    def next_due(self) -> float | None:
        """When the next look is worth while; None: nothing waits."""
        return min((w.due for w in self._waiting.values()), default=None)

    def dealt(self) -> frozenset[Path]:
        """Every path that was given out and is as it was then."""
        return frozenset(self._dealt)

    def __len__(self) -> int:
        return len(self._waiting)
