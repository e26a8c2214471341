"""Canonical base64 (RFC 4648, sections 3.5 and 4): without padding in the header, with padding in the armor.

"Encoders MUST generate canonical base64 [...], and decoders MUST reject non-canonical encodings and encodings ending
with `=` padding characters" (C2SP age, Conventions).  A text is canonical exactly when encoding what it decodes to
gives the same text again, so that is the check: it leaves no second spelling, whatever the decoder tolerates.
"""

from __future__ import annotations

import binascii


def encode(data: bytes) -> bytes:
    """`data` as base64 without padding."""
    return encode_padded(data).rstrip(b"=")


def encode_padded(data: bytes | bytearray | memoryview) -> bytes:
    """`data` as base64 with padding, on one line."""
    return binascii.b2a_base64(data, newline=False)


def decode(text: bytes) -> bytes | None:
    """The bytes of canonical base64 without padding, else None."""
    data = _lenient(text + b"=" * (-len(text) % 4))
    return data if data is not None and encode(data) == text else None


def decode_padded(text: bytes) -> bytes | None:
    """The bytes of canonical base64 with padding, else None."""
    data = _lenient(text)
    return data if data is not None and encode_padded(data) == text else None


def _lenient(text: bytes) -> bytes | None:
    try:
        return binascii.a2b_base64(text)
    except binascii.Error:
        return None
