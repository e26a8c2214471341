"""File paths as they stand in manifests (RFC 8493, 2.1.3), and which of them stay inside a bag.

"If a filepath includes a line feed (LF), a carriage return (CR), carriage return plus line feed (CRLF) or percent sign
(%), those characters (and only those) MUST be percent-encoded following RFC 3986."
"""

from __future__ import annotations

import re
import unicodedata

_ENCODED = {"%": "%25", "\r": "%0D", "\n": "%0A"}
_DECODED = {"%25": "%", "%0D": "\r", "%0A": "\n"}
_PERCENT_RE = re.compile(r"%(..)?", re.DOTALL)
_DRIVE_RE = re.compile(r"[A-Za-z]:")


def encode_path(path: str) -> str:
    """`path` as it is written into a manifest."""
    return "".join(_ENCODED.get(c, c) for c in path)


def decode_path(text: str) -> str:
    """The path that a manifest's text means; ValueError where anything but CR, LF and % is percent-encoded."""

    def one(found: re.Match[str]) -> str:
        code = found[0].upper()
        if code not in _DECODED:
            raise ValueError(f"{found[0]!r} is no encoding of CR, LF or %")
        return _DECODED[code]

    return _PERCENT_RE.sub(one, text)


def why_outside(path: str) -> str | None:
    """Why `path` may lead out of a bag, on any system; None if it does not."""
    if not path or "\0" in path:
        return "it is no path"
    if path.startswith("/"):
        return "it begins at the root"
    if path.startswith("~"):
        return "it begins with a home folder"
    if "\\" in path and (path.startswith("\\") or ".." in path.split("\\") or _DRIVE_RE.match(path)):
        return "it is a path of Windows that leads elsewhere"
    if _DRIVE_RE.match(path):
        return "it names a drive"
    if ".." in path.split("/"):
        return "it leads upwards"
    return None


def one_spelling(path: str) -> str:
    """`path` in NFC: systems write the same letters in two ways."""
    return unicodedata.normalize("NFC", path)
