"""Fixity check: are the kept bytes still what they were?  Each object is read and its digest held against its name.

Bit rot, a cut file, an object that got the bytes of another, a lost one: each is named with its reason.  A sample takes
those first whose last check is longest ago (never checked: first of all), so that samples add up to a whole.
Repair brings back what is damaged or gone: from the shelf's copy, or from a backup.  Nothing is removed.
"""

from __future__ import annotations

import os
import stat
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.layout import Damage
from vault.safekeeping.objects import ObjectStore, digest_of
from vault.safekeeping.shelf import places

Progress = Callable[[int, int], None]  # objects done, objects to check


@dataclass(frozen=True, kw_only=True)
class VerifyReport:
    """What a fixity check found.  `checked_digests` are those read: the caller notes when that was."""

    checked: int
    n_bytes: int
    damaged: tuple[Damage, ...]
    gone: tuple[Damage, ...]
    seconds: float
    checked_digests: tuple[str, ...]

    @property
    def ok(self) -> bool:
        """Whether everything that was looked at is as it was."""
        return not self.damaged and not self.gone


def verify(
    folder: VaultFolder,
    *,
    expected: Mapping[str, int | None] | None = None,
    sample: int | None = None,
    seconds: float | None = None,
    last_checked: Mapping[str, date | datetime | str] | None = None,
    names: Mapping[str, str] | None = None,
    progress: Progress | None = None,
) -> VerifyReport:
    """Reads objects and holds them against their digests.  Needs no lock.

    `expected`: digest -> number of bytes (None: not known) that the catalogue says are kept; what is in the store
    beside them is checked too.  `sample`: at most so many objects, `seconds`: at most about so long; then those whose
    `last_checked` (dates, or ISO texts) is longest ago come first.  `names`: digest -> readable name for the report,
    beside those of the shelf.
    """
    started = time.monotonic()
    store = ObjectStore(folder)
    held = set(store.digests())
    sizes = dict(expected or {})
    known_names = {**places(folder), **(names or {})}
    gone = [
        Damage(sha256=sha256, name=known_names.get(sha256, ""), reason="it is gone from the vault")
        for sha256 in sorted(sizes.keys() - held)
    ]
    chosen = _in_turn(held, last_checked or {}) if sample is not None or seconds is not None else sorted(held)
    if sample is not None:
        chosen = chosen[: max(0, sample)]
    damaged: list[Damage] = []
    done: list[str] = []
    n_bytes = 0
    for sha256 in chosen:
        if seconds is not None and done and time.monotonic() - started >= seconds:
            break
        reason, read = _look(store, sha256, sizes.get(sha256), held)
        n_bytes += read
        done.append(sha256)
        if reason is not None:
            damaged.append(Damage(sha256=sha256, name=known_names.get(sha256, ""), reason=reason))
        if progress is not None:
            progress(len(done), len(chosen))
    return VerifyReport(
        checked=len(done),
        n_bytes=n_bytes,
        damaged=tuple(damaged),
        gone=tuple(gone),
        seconds=time.monotonic() - started,
        checked_digests=tuple(done),
    )


def _in_turn(held: set[str], last_checked: Mapping[str, date | datetime | str]) -> list[str]:
    """Longest unchecked first; dates, times and ISO texts sort alike as ISO texts."""

    def when(sha256: str) -> str:
        at = last_checked.get(sha256, "")
        return at if isinstance(at, str) else at.isoformat()

    return sorted(held, key=lambda sha256: (when(sha256), sha256))


def _look(store: ObjectStore, sha256: str, expected: int | None, held: set[str]) -> tuple[str | None, int]:
    """What is wrong with an object (None: nothing), and how many bytes were read."""
    path = store.path_of(sha256)
    try:
        if not stat.S_ISREG(os.lstat(path).st_mode):
            return "a link or something else stands in its place", 0
        with path.open("rb") as handle:
            found, n_bytes = digest_of(handle)
    except OSError as error:
        return f"it cannot be read ({error.strerror})", 0
    if found == sha256:
        return None, n_bytes
    if n_bytes == 0:
        return "it is empty", n_bytes
    if found in held:
        return f"it holds the bytes of another object ({found[:12]})", n_bytes
    if expected is not None and n_bytes != expected:
        how = "cut short" if n_bytes < expected else "longer than it was"
        return f"it is {how}: {n_bytes} of {expected} bytes", n_bytes
    return "its bytes have changed", n_bytes
