"""One watcher for one vault: a lock of its own, beside that of whoever writes."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from vault.errors import StoreError
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import FileLock

_LOCK = ".watch.lock"


@contextmanager
def only_watcher(folder: VaultFolder) -> Iterator[None]:
    """Holds the right to watch for one vault.  StoreError (code "watched") names who else does it."""
    folder.create()
    lock = FileLock(folder.root / _LOCK, f"the watch for the vault in {folder.root}", purpose="watch")
    try:
        lock.__enter__()
    except StoreError as error:
        if error.code != "locked":
            raise
        who = error.message.partition("by another pinfold")[2]
        raise StoreError(
            f"a watcher is at work for this vault already{who}",
            "one is enough: end that one first (Ctrl-C there, or: pinfold watch --at-login off)",
            code="watched",
        ) from None
    try:
        yield
    finally:
        lock.__exit__(None, None, None)


def is_watched(folder: VaultFolder) -> bool:
    """Whether a watcher is at work for this vault."""
    if not (folder.root / _LOCK).exists():
        return False
    try:
        with only_watcher(folder):
            return False
    except StoreError as error:
        return error.code == "watched"
