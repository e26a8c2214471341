"""The candidates for the seller's name: spellings of one name count together, and what names nobody is refused."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from vault.language.folding import fold, squeeze
from vault.receipts.page_names import is_page_name
from vault.receipts.seller_names import name_key
from vault.receipts.titles import says_something, speaks
from vault.receipts.view import View, lead
from vault.receipts.words import trim_label

_BUYER_RE = re.compile(r"(?:様|さま|御中)\Z")
_OFFICIAL = frozenset(["sender", "signature", "copyright", "site name"])


@dataclass(slots=True)
class Named:
    """One candidate name with what speaks for it."""

    name: str
    weight: float = 0.0
    why: list[str] = field(default_factory=list)
    best: float = 0.0


class Poll:
    """Counts names together that are one name."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.names: dict[str, Named] = {}
        self.generic = view.words.phrase_set("seller", "generic")
        buyer = fold(view.doc.recipient_name)
        self.buyer = name_key(buyer) if buyer else ""

    def add(self, name: str, weight: float, why: str, *, shown: float | None = None) -> None:
        """Count a name; of several spellings that with the heaviest `shown` is the one to show."""
        printed, name = name, clean_name(name, self.generic)
        key = name_key(name)
        if not key or len(name) > 60 or len(name) < 2 or key == self.buyer or key.isdigit() or _BUYER_RE.search(name):
            return
        if trim_label(name) in self.generic or self.view.words.label(name):
            return
        if why != "label" and not why.startswith("label “"):
            digits = sum(c.isdigit() for c in name)
            found = lead(name, self.view.words)
            if digits >= 4 or (digits and found is not None):
                return
            if is_page_name(printed, self.view) or _is_sentence(printed, self.view):
                return
        entry = self.names.setdefault(key, Named(name))
        if (shown or weight) > entry.best:
            entry.best, entry.name = shown or weight, name
        entry.weight += weight
        entry.why.append(why)

    def copy(self) -> Poll:
        """The same votes, to be added to."""
        other = Poll(self.view)
        other.names = {key: replace(entry, why=list(entry.why)) for key, entry in self.names.items()}
        return other


def _is_sentence(name: str, view: View) -> bool:
    """Whether words say something instead of naming someone ("You did it! Your purchase is confirmed.")."""
    name = name.strip()
    if speaks(name) or (name.endswith((".", "!", "?")) and name.count(" ") >= 4):
        return True
    return says_something(trim_label(name), view.words)


def clean_name(name: str, generic: frozenset[str]) -> str:
    """A shown name without quotes and without the words that only say which mailbox it is ("Orders", "Team")."""
    name = squeeze(name).strip(" \"'“”„«»|,;:–—-·•*<>()[]=~#_")
    if "@" in name and " " not in name:
        return ""
    words = name.split(" ")
    while len(words) > 1 and trim_label(words[-1]) in generic:
        words.pop()
    while len(words) > 1 and trim_label(words[0]) in generic and trim_label(words[0]) not in ("the", "shop", "store"):
        words.pop(0)
    return " ".join(words).strip(" \"'“”„«»|,;:–—-·•*")


def fuller(poll: Poll) -> None:
    """What speaks for a part of a name speaks for the whole, where the shop itself writes the whole."""
    for key, entry in poll.names.items():
        if not _OFFICIAL & set(entry.why):
            continue
        words = fold(entry.name).split(" ")
        for other, part in poll.names.items():
            if other != key and len(other) < len(key) and set(fold(part.name).split(" ")) < set(words):
                entry.weight += part.weight
