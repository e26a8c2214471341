"""One spelling for comparison.  Printed text is kept as it stands; only what is compared is folded."""

from __future__ import annotations

import re
import unicodedata

# Blanks, soft hyphens, joiners and direction marks that mail templates pad their text with.
_INVISIBLE = dict.fromkeys(
    [0x00AD, 0x034F, 0x061C, 0x180E, 0xFEFF, *range(0x200B, 0x2010), *range(0x2028, 0x202F), *range(0x2060, 0x2070)]
)
_BLANK_RE = re.compile(r"\s+")
_WIDE = {0xFF01 + n: 0x21 + n for n in range(94)} | {0x3000: 0x20}


def squeeze(text: str) -> str:
    """`text` in NFC with every run of blanks as one space, invisible characters dropped, ends trimmed."""
    if text.isascii():
        return " ".join(text.split())
    return _BLANK_RE.sub(" ", unicodedata.normalize("NFC", text.translate(_INVISIBLE))).strip()


def narrow(text: str) -> str:
    """Full-width Latin letters, digits and signs as plain ones, one character for one (offsets stay)."""
    return text if text.isascii() else text.translate(_WIDE)


def fold(text: str) -> str:
    """`text` squeezed, narrowed and case-folded: equal for texts that differ only in looks."""
    return squeeze(narrow(text)).casefold()
