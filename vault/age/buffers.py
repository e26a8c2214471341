"""Large buffers that are used again: many small files in a row would else spend their time on fresh memory.

Each thread keeps a few.  What is taken belongs to its taker until it is given back; a buffer that never comes back is
simply forgotten.
"""

from __future__ import annotations

import threading

_KEPT = 4


class _Kept(threading.local):
    def __init__(self) -> None:
        self.free: dict[int, list[bytearray]] = {}


_kept = _Kept()


def take(n_bytes: int) -> memoryview:
    """A buffer of `n_bytes` with anything in it."""
    free = _kept.free.get(n_bytes)
    return memoryview(free.pop() if free else bytearray(n_bytes))


def give_back(view: memoryview) -> None:
    """Ends the use of a buffer that was taken, whole; nothing for any other view."""
    whole = view.obj
    if isinstance(whole, bytearray) and len(whole) == len(view):
        free = _kept.free.setdefault(len(whole), [])
        if len(free) < _KEPT and not any(whole is other for other in free):
            free.append(whole)
