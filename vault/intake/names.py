"""Names of files: shown safely, compared safely, never trusted as paths.

A path on the disk may hold bytes that are no text; Python carries them as lone surrogates (PEP 383), which no
terminal, no JSON and no SQLite text can take.  Names inside zips and mails come from strangers and are only labels.
"""

from __future__ import annotations

import os
import re
import unicodedata
from pathlib import Path

_SURROGATE_RE = re.compile(r"[\ud800-\udfff]")
_CONTROL_RE = re.compile(r"[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")
_DRIVE_RE = re.compile(r"\A(?://[?.]/)?[A-Za-z]:")
_LONGEST = 240


def shown(path: Path | str) -> str:
    """`path` as text: bytes that are no text stand as \\xNN."""
    return _SURROGATE_RE.sub(_as_byte, os.fspath(path))


def _as_byte(found: re.Match[str]) -> str:
    code = ord(found.group())
    return f"\\x{code - 0xDC00:02x}" if 0xDC80 <= code <= 0xDCFF else f"\\u{code:04x}"


def member_name(name: str) -> str:
    """A name inside a zip or mail as a harmless relative one: no drive, no root, no "..", no signs that hide.

    `C:\\Windows\\x.txt`, `/x.txt` and `../../x.txt` all become names below nothing; empty names become "unnamed".
    """
    flat = unicodedata.normalize("NFC", _SURROGATE_RE.sub("\ufffd", name)).replace("\\", "/")
    flat = _CONTROL_RE.sub("", flat).lstrip()
    while drive := _DRIVE_RE.match(flat):
        flat = flat[drive.end() :].lstrip()
    parts = [p.strip() for p in flat.split("/")]
    kept = [_cut(p) for p in parts if p not in ("", ".", "..")]
    return "/".join(kept[-12:]) or "unnamed"


def points_outside(name: str) -> bool:
    """Whether a name inside a zip would lead out of the folder it is unpacked in: a root, a drive, or ".."."""
    flat = name.replace("\\", "/")
    return flat.startswith("/") or bool(_DRIVE_RE.match(flat)) or ".." in flat.split("/")


def _cut(part: str) -> str:
    """`part` without its middle, where it is too long: beginning and ending tell most."""
    return part if len(part) <= _LONGEST else f"{part[: _LONGEST - 40]}…{part[-39:]}"


def file_part(name: str) -> str:
    """The last part of a path or member name."""
    return name.replace("\\", "/").rsplit("/", 1)[-1]


def ending(name: str) -> str:
    """The ending of a name in lower case, with its dot; "" if there is none.  `x.PDF (1)` has none."""
    stem, dot, end = file_part(name).rpartition(".")
    return dot + end.lower() if dot and stem and len(end) <= 12 else ""
