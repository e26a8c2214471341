"""Changes below folders, told as hints: events of the system through watchdog, where it can tell of them.

A hint says only "look here"; what counts is what is found there then.  So nothing hangs on the order, the kind or the
completeness of events, which differ from system to system.  Where the system cannot tell (network drives, a limit on
the number of watched folders, no support at all) `follow` says why, and the caller looks for itself now and then.
"""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from vault.intake.mounts import lies_elsewhere

if TYPE_CHECKING:
    from watchdog.events import FileSystemEvent
    from watchdog.observers.api import BaseObserver, ObservedWatch

NETWORK = "it is on a network drive, and no system tells of what others change there"
LIMIT = (
    "the system follows no more folders at once"
    " (on Linux: raise fs.inotify.max_user_watches and fs.inotify.max_user_instances)"
)
UNTOLD = "the system does not tell of changes there"
_LIMITS = (errno.ENOSPC, errno.EMFILE, errno.ENFILE, errno.ENOMEM)


@dataclass(frozen=True, kw_only=True)
class Hint:
    """Something may have changed at `path`; `whole`: it may be a folder, and all below it may have changed."""

    path: Path
    whole: bool = False


class Follower:
    """Follows folders with the system's own events and hands hints to `hint`, from threads of its own."""

    def __init__(
        self,
        hint: Callable[[Hint], None],
        *,
        make_observer: Callable[[], BaseObserver] | None = None,
        elsewhere: Callable[[Path], bool] = lies_elsewhere,
    ) -> None:
        self._hint = hint
        self._make = make_observer or _real_observer
        self._elsewhere = elsewhere
        self._observer: BaseObserver | None = None
        self._watches: dict[Path, ObservedWatch] = {}

    def follow(self, folder: Path) -> str:
        """Begins to follow `folder` and all below it; the reason why it cannot be, or "" where it can."""
        if self._elsewhere(folder):
            return NETWORK
        try:
            if self._observer is None:
                self._observer = self._make()
                self._observer.start()
            real = folder.resolve()
            handler = _handler(folder, real, self._hint)
            self._watches[folder] = self._observer.schedule(handler, str(real), recursive=True, event_filter=_wanted())
            if self._is_full(self._observer):
                self.forget(folder)
                return LIMIT
        except OSError as error:
            return LIMIT if error.errno in _LIMITS else f"{UNTOLD} ({error.strerror or error})"
        except Exception as error:  # noqa: BLE001 - whatever the system's own interface trips over, looking ourselves works
            return f"{UNTOLD} ({type(error).__name__})"
        return ""

    def is_full(self) -> bool:
        """Whether the system's limit is reached by now, so that folders made later are not followed."""
        return self._observer is not None and self._is_full(self._observer)

    def _is_full(self, observer: BaseObserver) -> bool:
        """watchdog passes in silence over subfolders that the system's limit leaves out; one folder more tells."""
        if os.name == "nt":
            return False
        root = Path(Path.cwd().anchor)
        try:
            watch = observer.schedule(_handler(root, root, lambda _: None), str(root), event_filter=_wanted()[:1])
        except OSError as error:
            return error.errno in _LIMITS
        observer.unschedule(watch)
        return False

    def forget(self, folder: Path) -> None:
        """Ends following `folder`."""
        watch = self._watches.pop(folder, None)
        if watch is not None and self._observer is not None:
            with contextlib.suppress(KeyError, OSError, RuntimeError):
                self._observer.unschedule(watch)

    def stop(self) -> None:
        """Ends all following; threads are waited for, though not for long."""
        observer, self._observer = self._observer, None
        self._watches.clear()
        if observer is not None and observer.is_alive():
            observer.stop()
            observer.join(5)


def _real_observer() -> BaseObserver:
    from watchdog.observers import Observer

    return Observer()


def _wanted() -> list[Any]:
    """The kinds of events that are worth a hint.

    What is only read is none, or our own reading would wake us.  Linux says when a writer closes a file, so there each
    single write is passed over: a download makes thousands.
    """
    from watchdog import events as e
    from watchdog.utils import platform

    wanted: list[Any] = [e.FileCreatedEvent, e.FileMovedEvent, e.FileDeletedEvent]
    wanted += [e.DirCreatedEvent, e.DirMovedEvent, e.DirDeletedEvent]
    wanted += [e.FileClosedEvent] if platform.is_linux() else [e.FileModifiedEvent]
    return wanted


def _handler(folder: Path, real: Path, hint: Callable[[Hint], None]) -> Any:
    from watchdog.events import FileSystemEventHandler

    class Handler(FileSystemEventHandler):
        """Turns events into hints; paths are given below the name that the person knows the folder by."""

        def on_any_event(self, event: FileSystemEvent) -> None:
            for raw in (event.src_path, event.dest_path):
                if not raw:
                    continue
                path = Path(os.fsdecode(raw))
                with contextlib.suppress(ValueError):
                    path = folder / path.relative_to(real)
                hint(Hint(path=path, whole=bool(event.is_directory)))

    return Handler()
