"""Where a downloaded file came from, as browsers write it beside the file.

| system | where | what |
|---|---|---|
| Linux | extended attributes `user.xdg.origin.url`, `user.xdg.referrer.url` (freedesktop.org) | text |
| Windows | stream `name:Zone.Identifier` | `[ZoneTransfer]`, `HostUrl=`, `ReferrerUrl=` |
| macOS | attribute `com.apple.metadata:kMDItemWhereFroms` | binary plist: list of URL and referrer |

Many files have none of it (browsers based on Chromium 74 or later write none on Linux, copying loses it).  A URL is
text from a stranger: it is never opened, and only compared with links of receipts.
"""

from __future__ import annotations

import ctypes
import os
import plistlib
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

_LONGEST = 64 * 1024
_LONGEST_URL = 4096
_WHERE_FROMS = b"com.apple.metadata:kMDItemWhereFroms"


@dataclass(frozen=True, kw_only=True)
class Origin:
    """The URL a file was downloaded from and the page that led there."""

    url: str | None = None
    referrer: str | None = None


def origin_of(path: Path) -> Origin:
    """What the file system knows of the origin of `path`; nothing known is no error."""
    try:
        if sys.platform == "win32":
            with open(f"{path}:Zone.Identifier", "rb") as stream:  # noqa: PTH123 - a stream is no path
                return from_zone_identifier(stream.read(_LONGEST))
        if sys.platform == "darwin":
            return from_where_froms(_mac_attribute(os.fsencode(path), _WHERE_FROMS))
        return Origin(
            url=_url(_linux_attribute(path, "user.xdg.origin.url")),
            referrer=_url(_linux_attribute(path, "user.xdg.referrer.url")),
        )
    except (OSError, ValueError):
        return Origin()


def from_zone_identifier(raw: bytes) -> Origin:
    """The origin in the text of a Zone.Identifier stream."""
    said: dict[str, str] = {}
    for line in raw.decode("utf-8-sig", "replace").replace("\0", "").splitlines():
        key, equals, value = line.partition("=")
        if equals:
            said.setdefault(key.strip().lower(), value.strip())
    return Origin(url=_url(said.get("hosturl")), referrer=_url(said.get("referrerurl")))


def from_where_froms(raw: bytes) -> Origin:
    """The origin in a binary property list of macOS."""
    try:
        listed: Any = plistlib.loads(raw, fmt=plistlib.FMT_BINARY)
    except (plistlib.InvalidFileException, ValueError, LookupError, RecursionError, MemoryError, OverflowError):
        return Origin()
    texts = [t for t in listed if isinstance(t, str)] if isinstance(listed, list) else []
    return Origin(url=_url(texts[0] if texts else None), referrer=_url(texts[1] if len(texts) > 1 else None))


def _url(text: str | bytes | None) -> str | None:
    """`text` as a URL on one line, or None."""
    if isinstance(text, bytes):
        text = text.decode("utf-8", "replace")
    clean = "".join(c for c in text or "" if c.isprintable()).strip()
    return clean if "://" in clean and len(clean) <= _LONGEST_URL else None


def _linux_attribute(path: Path, name: str) -> bytes | None:
    read = getattr(os, "getxattr", None)
    if read is None:
        return None
    try:
        value: bytes = read(path, name)
    except OSError:
        return None
    return value[:_LONGEST]


def _mac_attribute(path: bytes, name: bytes) -> bytes:
    """An extended attribute through the C library: Python offers them on Linux only."""
    library = ctypes.CDLL(None, use_errno=True)
    buffer = ctypes.create_string_buffer(_LONGEST)
    size = library.getxattr(path, name, buffer, _LONGEST, 0, 0)
    return buffer.raw[:size] if size > 0 else b""
