"""Where to read about consumer law: pointers with the place they are from.  No right is ever stated."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

NO_ADVICE = (
    "No legal advice: whether any of this applies to what you bought is not said here. "
    "The consumer advice service of your country can tell you more."
)


@dataclass(frozen=True, kw_only=True)
class Hint:
    """A text to read, and where it comes from."""

    place: str
    text: str


@cache
def hints() -> tuple[Hint, ...]:
    """All pointers."""
    text = resources.files("vault.claims").joinpath("hints.toml").read_text(encoding="utf-8")
    return tuple(Hint(place=h["place"], text=h["text"]) for h in tomllib.loads(text)["hint"])
