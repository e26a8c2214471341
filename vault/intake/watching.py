"""Following folders: what arrives and is finished is imported at once, each finished file exactly once.

    events of the system, or a look now and then  ->  settling (is it finished?)  ->  ingest  ->  told in a line

Everything happens in the thread that calls `run`; other threads and signal handlers only put a word into its queue.
The vault's lock is taken for the import alone; where another command holds it, the watcher waits and tries again.
Nothing hangs on a single event: after a burst, after sleep, when a folder comes back, and once an hour, everything is
looked through again, which costs a look at names and times.
"""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Protocol

from vault.errors import StoreError
from vault.intake.busy import held_open
from vault.intake.following import NETWORK, Follower, Hint
from vault.intake.ingest import ingest
from vault.intake.mounts import lies_elsewhere
from vault.intake.readers import Readers
from vault.intake.settling import Settling, Signature
from vault.intake.summary import IngestSummary
from vault.intake.walk import FoundFile, PassedBy, is_unfinished, look, walk
from vault.safekeeping.folder import VaultFolder

_MOST_AT_ONCE = 500  # files of one import; between two of them others may have the vault
_GATHER = 0.2  # seconds: what comes together is looked at together
_BURST = 2000  # hints, after which some may have been lost
_SLEPT = 30.0  # seconds that the clock on the wall is ahead of ours
_RETRY = (1.0, 2.0, 5.0, 10.0, 30.0)
_RETRY_TROUBLE = 60.0
# Troubles that may pass by themselves, or that the person can mend while the watcher waits.
_PASSING = (
    "locked",
    "vault-gone",
    "full",
    "catalogue-full",
    "catalogue-locked",
    "catalogue-not-writable",
    "disk",
    "catalogue-disk",
)


class Stopped(Exception):
    """The watcher was asked to end while it imported."""


@dataclass(frozen=True, kw_only=True)
class Pace:
    """How patient the watcher is, in seconds.

    `settle`: size and times of a file stay so long before it counts as finished, `settle_empty` those of an empty one.
    `poll`: between two looks where the system tells of no changes.  `beat`: between two looks whether the folders
    themselves are still there.  `through`: between two looks through everything.
    """

    settle: float = 2.0
    settle_empty: float = 30.0
    poll: float = 10.0
    beat: float = 10.0
    through: float = 3600.0


class Face(Protocol):
    """Where the watcher tells what happens."""

    def tell(self, words: str) -> None:
        """A remark on the watching itself."""

    def took(self, summary: IngestSummary) -> None:
        """A batch of finished files was imported."""

    def progress(self, done: int, total: int | None, words: str) -> None:
        """A long import goes on."""

    def beat(self) -> None:
        """Every few seconds, so that what hangs on the day can be done."""


@dataclass
class _Top:
    """A folder that is followed.  `place` tells it from another one that takes its name; None: it is not there."""

    path: Path
    place: tuple[int, int] | None = None
    polled: bool = False
    on_network: bool = False
    poll_due: float = 0.0
    said_missing: bool = False
    said_polled: bool = False


@dataclass(kw_only=True)
class Watcher:
    """Follows `folders` for the vault in `folder`.  `stop` may be called from anywhere, signal handlers too."""

    folder: VaultFolder
    folders: Sequence[Path]
    face: Face
    pace: Pace = field(default_factory=Pace)
    readers: Readers | None = None
    day: Callable[[], date] = date.today
    make_follower: Callable[[Callable[[Hint], None]], Follower] = Follower

    def __post_init__(self) -> None:
        self._queue: SimpleQueue[Hint | None] = SimpleQueue()
        self._stopping = False
        self._settling = Settling(settle=self.pace.settle, settle_empty=self.pace.settle_empty)
        self._tops = [_Top(path=p) for p in dict.fromkeys(self.folders)]
        self._ready: dict[Path, FoundFile] = {}
        self._sure: set[Path] = set()  # seen to change, so that the bytes are looked at
        self._retries = 0
        self._retry_due = 0.0
        self._said_waiting = False
        self._hints = 0
        self._new_folders = False
        self._own = folder.resolve() if (folder := self.folder.root).exists() else folder

    # --- from outside ---------------------------------------------------------------------------

    def stop(self) -> None:
        """Asks the watcher to end; safe in a signal handler (SimpleQueue.put may come in between itself)."""
        self._stopping = True
        self._queue.put(None)

    @property
    def stopping(self) -> bool:
        """Whether it was asked to end."""
        return self._stopping

    def once(self) -> None:
        """Takes in what lies in the folders and is finished, or is so within a little while; then returns.

        Raises StoreError where the vault is in use all the time, or cannot be used at all.
        """
        with contextlib.suppress(Stopped):
            self._once()

    def _once(self) -> None:
        for top in self._tops:
            top.place, top.on_network = _place(top.path), lies_elsewhere(top.path)
            if top.place is None:
                self.face.tell(f"{top.path} is not there")
            else:
                self._look_through(top, first=True)
        until = time.monotonic() + 2 * self.pace.settle + 1
        while not self._stopping and (len(self._settling) or self._ready) and time.monotonic() < until:
            self._deal()
            self._take()
            self._sleep(min(self.pace.settle / 4, 0.25))
        self._deal()
        self._take()
        if self._ready:
            raise StoreError(
                f"the vault in {self.folder.root} is in use by another pinfold",
                "wait until it is done and run the same command again",
                code="locked",
            )
        if len(self._settling):
            self.face.tell(f"{_files(len(self._settling))} still being written; the next run sees to it")

    def run(self) -> None:
        """Follows until `stop` is called.  Raises StoreError where the vault cannot be used at all."""
        follower = self.make_follower(self._queue.put)
        try:
            with contextlib.suppress(Stopped):
                self._loop(follower)
        finally:
            follower.stop()

    # --- the loop -------------------------------------------------------------------------------

    def _loop(self, follower: Follower) -> None:
        self._beat(follower)
        beat_due = time.monotonic() + self.pace.beat
        through_due = time.monotonic() + self.pace.through
        drift = time.time() - time.monotonic()
        while not self._stopping:
            self._deal()
            self._take()
            now = time.monotonic()
            polls = [t.poll_due for t in self._tops if t.polled and t.place]
            wakes = [beat_due, self._settling.next_due(), self._retry_due if self._ready else None, *polls]
            self._sleep(max(0.0, min(w for w in wakes if w is not None) - now))
            now = time.monotonic()
            for top in self._tops:
                if top.polled and top.place and top.poll_due <= now:
                    self._look_through(top, first=False)
            slept = time.time() - time.monotonic() - drift > _SLEPT
            drift = time.time() - time.monotonic()
            lost = self._hints > _BURST and not len(self._settling)
            if slept or lost or now >= through_due:
                self._hints = 0
                through_due = now + self.pace.through
                self._look_through_all()
            if now >= beat_due or slept:
                self._beat(follower)
                self.face.beat()
                beat_due = now + self.pace.beat

    def _sleep(self, seconds: float) -> None:
        """Waits for hints, at most so long; then gathers what comes with the first one and looks at it."""
        try:
            first = self._queue.get(timeout=seconds) if seconds > 0 else self._queue.get_nowait()
        except Empty:
            return
        found = {first}
        until = time.monotonic() + _GATHER
        while not self._stopping:
            try:
                found.add(self._queue.get(timeout=max(0.001, until - time.monotonic())))
            except Empty:
                break
            if time.monotonic() >= until:
                break
        hints = sorted((h for h in found if h is not None), key=lambda h: h.path)
        self._hints += len(hints)
        names: dict[Path, frozenset[str]] = {}
        for hint in hints:
            self._look_at(hint, names)

    def _beat(self, follower: Follower) -> None:
        """Looks whether the folders are there, and begins or ends following them."""
        full, self._new_folders = self._new_folders and follower.is_full(), False
        for top in self._tops:
            place = _place(top.path)
            if full and top.place and not top.polled:
                follower.forget(top.path)
                top.place = None  # begun anew below, which says why it is polled from now on
            if place == top.place and place is not None:
                continue
            if top.place is not None:
                follower.forget(top.path)
                self._settling.gone_below(top.path)
            top.place = place
            if place is None:
                if not top.said_missing:
                    self.face.tell(f"{top.path} is not there; it is followed as soon as it comes")
                top.said_missing = True
                continue
            if top.said_missing:
                self.face.tell(f"{top.path} is there again")
                top.said_missing = False
            why = follower.follow(top.path)
            top.polled, top.on_network = bool(why), why == NETWORK
            if why and not top.said_polled:
                top.said_polled = True
                self.face.tell(f"{top.path} is looked through every {self.pace.poll:g} seconds instead: {why}")
            self._look_through(top, first=True)

    # --- looking --------------------------------------------------------------------------------

    def _look_through_all(self) -> None:
        for top in self._tops:
            if top.place is not None:
                self._look_through(top, first=False)

    def _look_through(self, top: _Top, *, first: bool) -> None:
        """Looks at everything below a folder.  `first`: what lies there is not known to have changed."""
        begun = time.monotonic()
        there: set[Path] = set()
        for step in walk([top.path], own=self.folder.root):
            if isinstance(step, FoundFile):
                there.add(step.path)
                self._see(step, sure=not first)
            if self._stopping:
                return
        for path in self._settling.dealt():
            if path not in there and top.path in path.parents:
                self._settling.gone(path)
        took = time.monotonic() - begun
        # A tree that takes long to look through is looked through more rarely.
        top.poll_due = time.monotonic() + max(self.pace.poll, 50 * took)

    def _look_at(self, hint: Hint, names: dict[Path, frozenset[str]]) -> None:
        top = next((t for t in self._tops if t.path == hint.path or t.path in hint.path.parents), None)
        if top is None or self._is_ours(hint.path):
            return
        below = hint.path.relative_to(top.path).parts
        if any(is_unfinished(part) for part in below[:-1]):
            return
        found = _looked_at(hint.path, names)
        if isinstance(found, FoundFile):
            self._see(found, sure=True)
            return
        self._settling.gone(hint.path)
        if hint.whole and hint.path != top.path:
            self._new_folders = True
            self._settling.gone_below(hint.path)
            if hint.path.is_dir() and not hint.path.is_symlink():
                for step in walk([hint.path], own=self.folder.root):
                    if isinstance(step, FoundFile):
                        self._see(step, sure=True)

    def _is_ours(self, path: Path) -> bool:
        own = (self.folder.root, self._own)
        return any(o == path or o in path.parents for o in own)

    def _see(self, found: FoundFile, *, sure: bool) -> None:
        # The clock of another computer may be behind ours.
        quiet_for = 0.0 if self._on_network(found.path) else _quiet_for(found)
        is_news = self._settling.see(found.path, _signature(found), time.monotonic(), quiet_for=quiet_for)
        if is_news and sure:
            self._sure.add(found.path)

    def _on_network(self, path: Path) -> bool:
        return any(t.on_network and t.path in path.parents for t in self._tops)

    # --- taking in ------------------------------------------------------------------------------

    def _deal(self) -> None:
        """Looks once more at what may be finished; what is, is ready."""
        names: dict[Path, frozenset[str]] = {}
        for path in self._settling.due(time.monotonic()):
            found = _looked_at(path, names)
            if not isinstance(found, FoundFile):
                self._settling.gone(path)
            elif held_open(path):
                self._settling.still_open(path, time.monotonic())
            elif self._settling.deal(path, _signature(found)):
                sure = path in self._sure
                self._sure.discard(path)
                # Names beside are for telling pictures of designs; a set per file would be held for long.
                self._ready[path] = FoundFile(
                    place=str(path),
                    n_bytes=found.n_bytes,
                    mtime_ns=found.mtime_ns,
                    beside=found.beside,
                    changed=sure,
                )
            else:
                self._see(found, sure=True)

    def _take(self) -> None:
        """Imports what is ready, or says that it waits."""
        while self._ready and time.monotonic() >= self._retry_due and not self._stopping:
            some = sorted(self._ready)[:_MOST_AT_ONCE]
            try:
                self._see_that_the_vault_is_there()
                summary = ingest(
                    self.folder,
                    [self._ready[p] for p in some],
                    progress=self._progress,
                    day=self.day(),
                    readers=self.readers,
                )
            except StoreError as error:
                if error.code not in _PASSING:
                    raise
                self._wait_for_vault(error)
                return
            for path in some:
                del self._ready[path]
            self._retries, self._retry_due, self._said_waiting = 0, 0.0, False
            self.face.took(summary)

    def _see_that_the_vault_is_there(self) -> None:
        """A vault that was moved away or unplugged is waited for: a new one in its place would be a nasty surprise."""
        if not self.folder.objects_path.is_dir():
            raise StoreError(
                f"the vault in {self.folder.root} is gone",
                "bring it back, or end this and begin with: pinfold --vault DIR watch",
                code="vault-gone",
            )

    def _wait_for_vault(self, error: StoreError) -> None:
        locked = error.code.endswith("locked")
        pause = _RETRY[min(self._retries, len(_RETRY) - 1)] if locked else _RETRY_TROUBLE
        self._retries += 1
        self._retry_due = time.monotonic() + pause
        if self._said_waiting:
            return
        if not locked or self._retries > 2:  # a short wait is nobody's business
            self._said_waiting = True
            step = "" if locked else f"; {error.next_step}"
            self.face.tell(f"{_files(len(self._ready))} waiting: {error.message}{step}")

    def _progress(self, done: int, total: int | None, words: str) -> None:
        if self._stopping:
            raise Stopped
        self.face.progress(done, total, words)


def _files(count: int) -> str:
    return "1 file is" if count == 1 else f"{count} files are"


def _place(path: Path) -> tuple[int, int] | None:
    """What tells a folder from another one at the same path."""
    try:
        if not path.is_dir():
            return None
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _signature(found: FoundFile) -> Signature:
    return Signature(n_bytes=found.n_bytes, mtime_ns=found.mtime_ns, ctime_ns=found.ctime_ns, inode=found.inode)


def _quiet_for(found: FoundFile) -> float:
    """Seconds since the file was last written or renamed.  Only `ctime` cannot be set back; without it, nothing."""
    if not found.ctime_ns:
        return 0.0
    return time.time() - max(found.mtime_ns, found.ctime_ns) / 1e9


def _looked_at(path: Path, names: dict[Path, frozenset[str]]) -> FoundFile | PassedBy | None:
    """What lies at `path`, judged as a walk would; None: nothing.  `names` remembers listings."""
    try:
        found = path.lstat()
        if path.parent not in names:
            with os.scandir(path.parent) as scan:
                names[path.parent] = frozenset(e.name.lower() for e in scan)
    except OSError:
        return None
    return look(path, found, names[path.parent])
