"""File names that are legal on Windows, macOS and Linux alike, and say the same thing on all three.

Rules, from the systems' own documentation: no `< > : " / \\ | ? *` and no control characters, no blank or dot at the
end, no device name before the first dot (CON, PRN, AUX, NUL, COM0-9, LPT0-9 and their superscript forms, CONIN$,
CONOUT$), at most 255 bytes of UTF-8 and 255 UTF-16 units; names that differ only in case or in Unicode spelling are
one name on some systems.  Names also carry no invisible characters and no leading dot, which would hide them.
"""

from __future__ import annotations

import re
import unicodedata

_SWAPS = str.maketrans({"/": "-", "\\": "-", ":": "-", "|": "-", '"': "'", "<": "(", ">": ")", "?": "", "*": "_"})
_DEVICE_RE = re.compile(r"(?:CON|PRN|AUX|NUL|CONIN\$|CONOUT\$|CLOCK\$|(?:COM|LPT)[0-9¹²³])\Z", re.IGNORECASE)
_ENDING_RE = re.compile(r"\.[A-Za-z0-9]{1,10}\Z")
_MAX_INPUT = 2000  # longer names are cut before any work
_INVISIBLE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def legal_name(text: str, *, fallback: str, max_chars: int) -> str:
    """`text` as a legal name of at most `max_chars` characters and twice as many bytes; `fallback` if nothing is left.

    Legal names come back unchanged.
    """
    seen = unicodedata.normalize("NFC", text[:_MAX_INPUT]).translate(_SWAPS)
    seen = "".join(" " if c.isspace() else c for c in seen if c.isspace() or unicodedata.category(c) not in _INVISIBLE)
    seen = _cut(_trimmed(" ".join(seen.split())), max_chars)
    if not seen:
        return fallback
    return f"_{seen}"[:max_chars] if _DEVICE_RE.match(seen.split(".")[0].rstrip(" ")) else seen


def legal_file_name(text: str, *, fallback: str, max_chars: int) -> str:
    """As `legal_name`, but a name that is too long loses characters before its ending, not the ending."""
    ending = _ENDING_RE.search(text.strip())
    if ending is None:
        return legal_name(text, fallback=fallback, max_chars=max_chars)
    stem = text.strip()[: ending.start()]
    return legal_name(stem, fallback=fallback, max_chars=max_chars - len(ending[0])) + ending[0]


def folded(text: str) -> str:
    """`text` as a file system compares it that knows neither case nor Unicode spelling."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFD", text).casefold())


def numbered(file_name: str, number: int) -> str:
    """The name of the `number`-th file of that name: `Skirt.pdf`, `Skirt (2).pdf`, ..."""
    if number == 1:
        return file_name
    ending = _ENDING_RE.search(file_name)
    at = ending.start() if ending else len(file_name)
    return f"{file_name[:at]} ({number}){file_name[at:]}"


def _trimmed(text: str) -> str:
    return text.strip(" .")


def _cut(text: str, max_chars: int) -> str:
    text = text[:max_chars]
    while len(text.encode("utf-8", "replace")) > 2 * max_chars:
        text = text[:-1]
    while text and unicodedata.combining(text[-1]) and len(text) == max_chars:
        text = text[:-1]
    return _trimmed(text)
