"""A stranger's words on one line of a letter.

Titles, shop names and order numbers come from documents that anybody may have written.  In a letter they must not add
a line, turn the reading direction, hide, overprint or push anything: control, format, private and unassigned
characters go, every kind of blank becomes one blank, marks are not piled up, and the length is bounded.
"""

from __future__ import annotations

import unicodedata

LONGEST = 160
_MOST_MARKS = 2  # combining marks on one letter, after NFC
_MARKS = ("Mn", "Me", "Mc")
_GONE = ("Cc", "Cf", "Co", "Cn", "Cs")


def one_line(text: str, longest: int = LONGEST) -> str:
    """`text` as one bounded, harmless line in NFC; what was cut ends with an ellipsis."""
    kept = "".join(_shown(char) for char in unicodedata.normalize("NFC", text[: 20 * longest]))
    out: list[str] = []
    marks = 0
    for char in unicodedata.normalize("NFC", " ".join(kept.split())):
        marks = marks + 1 if unicodedata.category(char) in _MARKS else 0
        # a mark stands on a letter, never alone, and not in piles
        if not marks or (out and out[-1] != " " and marks <= _MOST_MARKS):
            out.append(char)
    line = " ".join("".join(out).split())
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"


def _shown(char: str) -> str:
    """What of a character is shown: itself, a blank, or nothing."""
    category = unicodedata.category(char)
    if category.startswith("Z") or char in "\t\n\r\v\f\x85":
        return " "
    return "" if category in _GONE else char
