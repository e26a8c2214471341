"""Whether a program still holds a file open for writing, where the system tells.

| system | how it is asked |
|---|---|
| Linux | a read lease (fcntl(2), F_SETLEASE) is only given on a file that nobody has open for writing |
| Windows | an open that shares with no writer fails with a sharing violation while one is there |
| others | not told: size and time alone decide |

A file is only opened for reading; nothing is locked that another program could trip over: the lease is given back at
once, and a writer that comes in between is told by the kernel to us, with a signal that does nothing.
"""

from __future__ import annotations

import contextlib
import errno
import os
import signal
import sys
from pathlib import Path

_SHARING_VIOLATIONS = (32, 33)  # ERROR_SHARING_VIOLATION, ERROR_LOCK_VIOLATION of winerror.h


def held_open(path: Path) -> bool | None:
    """Whether `path` is open for writing somewhere; None where the system does not tell."""
    if sys.platform == "linux":
        return _by_lease(path)
    if sys.platform == "win32":
        return _by_sharing(path)
    return None


def _by_lease(path: Path) -> bool | None:
    if sys.platform != "linux":
        return None
    import fcntl

    try:
        handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_NOFOLLOW | os.O_CLOEXEC)
    except OSError:
        return None
    try:
        # The signal of a broken lease ends a process by default; SIGURG is ignored by default.
        fcntl.fcntl(handle, fcntl.F_SETSIG, signal.SIGURG)
        fcntl.fcntl(handle, fcntl.F_SETLEASE, fcntl.F_RDLCK)
    except OSError as error:
        return True if error.errno in (errno.EAGAIN, errno.EACCES) and _is_ours(handle) else None
    finally:
        with contextlib.suppress(OSError):
            fcntl.fcntl(handle, fcntl.F_SETLEASE, fcntl.F_UNLCK)
        os.close(handle)
    return False


def _is_ours(handle: int) -> bool:
    """Leases are for the owner of a file (and for root): another's refusal says nothing."""
    return os.fstat(handle).st_uid == os.geteuid() or os.geteuid() == 0


def _by_sharing(path: Path) -> bool | None:
    if sys.platform != "win32":
        return None
    import ctypes
    from ctypes import wintypes

    read, share_read_and_delete, open_existing = 0x80000000, 0x1 | 0x4, 3
    kernel = ctypes.WinDLL("kernel32", use_last_error=True)
    kernel.CreateFileW.restype = wintypes.HANDLE
    handle = kernel.CreateFileW(str(path), read, share_read_and_delete, None, open_existing, 0, None)
    if handle in (None, wintypes.HANDLE(-1).value):
        return True if ctypes.get_last_error() in _SHARING_VIOLATIONS else None
    kernel.CloseHandle(handle)
    return False
