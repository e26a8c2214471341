"""Plain text files: decoded, or told to be something else."""

from __future__ import annotations

import unicodedata

LARGEST = 4 << 20  # bytes of a text file that are read
_TEXT_TYPES = ("text/plain", "text/markdown", "text/rtf", "application/rtf")


def decoded(data: bytes, media_type: str) -> str | None:
    """The text of a text file, NFC with plain line ends, or None where the bytes are no text."""
    if media_type not in _TEXT_TYPES and not (media_type in ("", "application/octet-stream") and _looks_written(data)):
        return None
    data = data[:LARGEST]
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = data.decode("utf-16", "replace")
    else:
        text = _narrow(data)
    return unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n")).replace("\0", "")


def _looks_written(data: bytes) -> bool:
    head = data[:4096]
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return True
    return bool(head) and not any(b < 9 or 13 < b < 27 for b in head)


def _narrow(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        pass
    from charset_normalizer import from_bytes

    best = from_bytes(data[:65_536]).best()
    return data.decode(best.encoding if best else "cp1252", "replace")
