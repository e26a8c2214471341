"""Members of a bundle that its own title names: `Lot : Jupe Serpolet + Top Genêt`, `Garden Bundle (Fox Hat, Owl Bag)`.

Only a title that says it is a bundle is taken apart, and only where every piece of a list can be a title by itself;
else nothing is promised, for a member that nobody sold would be missing for ever.
"""

from __future__ import annotations

import re

from vault.matching.title import MOST_TEXT, Title, parse

MOST_MEMBERS = 12
_COMPOUNDS = ("paket", "bundle", "pakket", "pakke", "paketti")  # `Frühlingspaket`
_MOST_WORDS = 6
_BRACKETS_RE = re.compile(r"[(\[]([^()\[\]]{3,200})[)\]]")
_AFTER_RE = re.compile(r"\s?:\s|\s[-–—|]\s")
_LIST_RE = re.compile(r"\s?[,;/]\s|\s[+&]\s|\s(?:and|und|et|en|y|e|och|og|ja|i|oraz)\s", re.IGNORECASE)
_PLUS_RE = re.compile(r"\s\+\s")


def members(text: str) -> tuple[str, ...]:
    """The titles of the members as the title of a bundle names them; empty where it names none."""
    text = text[:MOST_TEXT]
    title = parse(text)
    if "bundle" not in title.variants and not any(w.key.endswith(_COMPOUNDS) for w in title.words):
        return ()
    for piece in (*_BRACKETS_RE.findall(text), *_AFTER_RE.split(text)[1:]):
        found = _list(piece, _LIST_RE)
        if found:
            return found
    return _list(text, _PLUS_RE)


def _list(text: str, between: re.Pattern[str]) -> tuple[str, ...]:
    pieces = [p.strip(" .,;:()[]") for p in between.split(text)]
    pieces = [_without_last_word(p) if "bundle" in parse(p).variants else p for p in pieces if p]
    good = 2 <= len(pieces) <= MOST_MEMBERS and all(p[:1].isupper() and _may_be_title(parse(p)) for p in pieces)
    return tuple(dict.fromkeys(pieces)) if good else ()


def _without_last_word(piece: str) -> str:
    """`Owl Bag` of `Fox Hat + Owl Bag Bundle`."""
    return piece.rpartition(" ")[0]


def _may_be_title(title: Title) -> bool:
    telling = any(w.kind == "content" for w in title.words) and bool(title.keys)
    return telling and len(title.words) <= _MOST_WORDS and not title.variants & {"bundle", "free"} and not title.parts
