"""An item while it is put together, and whether two printed titles are one."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field

from vault.language.folding import fold
from vault.model.evidence import DownloadLink, ItemClaim

_WORD_RE = re.compile(r"[^\W_]+")


@dataclass(slots=True)
class Item:
    """An item as claimed, and where it was read."""

    claim: ItemClaim
    words: str
    how: str
    links: list[DownloadLink] = field(default_factory=list)
    details: list[str] = field(default_factory=list)
    fetched: bool = False
    parts: list[str] = field(default_factory=list)


def same_title(one: str, other: str) -> bool:
    """Whether two printed titles are one: equal but for looks, or one within the other."""
    a, b = title_key(one), title_key(other)
    if not a or not b:
        return False
    return a == b or (min(len(a), len(b)) >= 8 and (a in b or b in a))


def title_key(text: str) -> str:
    return "".join(_WORD_RE.findall(fold(text)))


_UMLAUTS = (("ae", "a"), ("oe", "o"), ("ue", "u"), ("ß", "ss"), ("ø", "o"), ("å", "a"), ("æ", "a"), ("ł", "l"))


_NO_NAME = frozenset(["pdf", "zip", "https", "www", "download", "file", "files", "pattern", "instructions", "letter"])


def _unaccented(text: str) -> str:
    text = fold(text)
    for pair, letter in _UMLAUTS:
        text = text.replace(pair, letter)
    return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))


def plain_title(text: str) -> str:
    return "".join(_WORD_RE.findall(_unaccented(text)))


def telling(text: str) -> set[str]:
    """The telling words of a title or a file name."""
    return {w for w in _WORD_RE.findall(_unaccented(text)) if len(w) > 2 and not w.isdigit() and w not in _NO_NAME}
