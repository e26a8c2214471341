"""Text that is safe and fits on a terminal.

Titles, seller names and links come from strangers.  Before they reach a screen, control characters (which a terminal
would obey), bidirectional overrides and invisible characters are taken out, and surrogates of undecodable file names
are shown as a replacement sign.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

# Marks that change the order or hide characters on screen: U+200B-200F, U+202A-202E, U+2060-2069, U+FEFF.
_HIDDEN = frozenset(
    [*range(0x200B, 0x2010), *range(0x202A, 0x202F), *range(0x2060, 0x206A), 0xFEFF, 0x2028, 0x2029, 0x00AD]
)
_ASCII = str.maketrans(
    {
        "…": "...", "—": "-", "–": "-", "•": "*", "·": "-", "×": "x", "→": "->", "‘": "'", "’": "'", "“": '"',
        "”": '"', "✓": "ok", "€": "EUR", "£": "GBP", "─": "-", "│": "|",
    }
)  # fmt: skip


def plain(text: str) -> str:
    """`text` on one line, NFC, without control, bidirectional and invisible characters or lone surrogates."""
    out = []
    for char in unicodedata.normalize("NFC", text):
        code = ord(char)
        if 0xD800 <= code <= 0xDFFF:
            out.append("\ufffd")
        elif char in "\t\n\r\v\f":
            out.append(" ")
        elif code not in _HIDDEN and unicodedata.category(char) not in ("Cc", "Cs"):
            out.append(char)
    return " ".join("".join(out).split())


def ascii_only(text: str) -> str:
    """`text` for a terminal without Unicode: typographic signs spelled out, diacritics dropped, the rest as '?'."""
    spelled = unicodedata.normalize("NFKD", text.translate(_ASCII))
    return "".join(c for c in spelled if not unicodedata.combining(c)).encode("ascii", "replace").decode("ascii")


def char_width(char: str) -> int:
    """Columns that `char` takes on a terminal: 0, 1 or 2."""
    if unicodedata.combining(char) or unicodedata.category(char) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(char) in ("W", "F") else 1


def width(text: str) -> int:
    """Columns that `text` takes on a terminal."""
    return len(text) if text.isascii() else sum(map(char_width, text))


def clip(text: str, columns: int) -> str:
    """`text` cut to `columns` with an ellipsis where something was cut."""
    if width(text) <= columns:
        return text
    out, used = [], 0
    for char in text:
        step = char_width(char)
        if used + step > max(0, columns - 1):
            break
        out.append(char)
        used += step
    return "".join(out).rstrip() + "…"


def pad(text: str, columns: int, *, right: bool = False) -> str:
    """`text` filled with blanks to `columns`; `right` puts it at the right edge."""
    blanks = " " * max(0, columns - width(text))
    return blanks + text if right else text + blanks


def wrap(text: str, columns: int, *, first: str = "", rest: str = "", keep_long: bool = False) -> list[str]:
    """`text` in lines of at most `columns`, the first led by `first`, the others by `rest`.

    A word longer than a line is cut unless `keep_long` (a link that one wants to copy stays whole).
    """
    lines: list[str] = []
    lead, current = first, ""
    least = max(8, columns - max(width(first), width(rest)))
    for word in text.split():
        rooms = max(8, columns - width(lead))
        # a word that may have to move to the next line must fit there too
        while width(word) > (least if current else rooms) and not keep_long:
            if current:
                lines.append(lead + current)
                lead, current = rest, ""
                rooms = max(8, columns - width(lead))
            head = _take(word, rooms)
            lines.append(lead + head)
            word, lead = word[len(head) :], rest
            rooms = max(8, columns - width(lead))
        if current and width(current) + 1 + width(word) > rooms:
            lines.append(lead + current)
            lead, current = rest, word
        else:
            current = f"{current} {word}" if current else word
    if current or not lines:
        lines.append((lead + current).rstrip())
    return lines


def _take(word: str, columns: int) -> str:
    used = 0
    for n, char in enumerate(word):
        used += char_width(char)
        if used > columns:
            return word[: max(1, n)]
    return word


@dataclass(frozen=True, kw_only=True)
class Style:
    """How a screen may be written to: its width in columns, whether it takes colour, whether it has Unicode."""

    columns: int = 80
    colour: bool = False
    unicode: bool = True

    def finish(self, text: str) -> str:
        """`text` as this screen can show it."""
        return text if self.unicode else ascii_only(text)

    def bold(self, text: str) -> str:
        """`text` emphasised where the screen takes colour."""
        return f"\x1b[1m{text}\x1b[0m" if self.colour else text

    def faint(self, text: str) -> str:
        """`text` toned down where the screen takes colour."""
        return f"\x1b[2m{text}\x1b[0m" if self.colour else text

    def alert(self, text: str) -> str:
        """`text` as something that presses, where the screen takes colour."""
        return f"\x1b[1;31m{text}\x1b[0m" if self.colour else text
