"""The sentences of a letter: one data file per language (`words/<code>.toml`), all with the same keys.

`{seller}`, `{to}` and `{date}` stand for what is filled in.  A new language is a new file.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from vault.errors import UsageError

SENTENCES = (
    "subject", "greeting", "intro", "intro_successor", "intro_one", "intro_successor_one", "request", "closing",
    "proof", "redacted", "licence", "thanks", "regards",
)  # fmt: skip
LABELS = ("order", "payment", "date", "total", "account", "price", "designer", "missing", "everything", "unknown")
MARKS = ("left_out", "copy")
PARTS = ("instructions", "projector", "chart")


@dataclass(frozen=True)
class Phrases:
    """The sentences and labels of one language."""

    language: str
    words: dict[str, str]
    parts: dict[str, str]

    def __getitem__(self, key: str) -> str:
        return self.words[key]

    def part(self, name: str) -> str:
        """A part of a pattern in the language; paper sizes and the like stay as they are."""
        return self.parts.get(name, name)

    def labelled(self, key: str, value: str) -> str:
        """ "Label: value", as the language writes it."""
        colon = {"fr": "\u00a0: ", "ja": "："}.get(self.language, ": ")
        return f"{self.words[key]}{colon}{value}"


@cache
def languages() -> tuple[str, ...]:
    """The languages that letters can be written in."""
    folder = resources.files("vault.claims") / "words"
    return tuple(sorted(f.name.removesuffix(".toml") for f in folder.iterdir() if f.name.endswith(".toml")))


@cache
def phrases(language: str) -> Phrases:
    """The phrases of a language.  Raises UsageError for one that there are none of."""
    if language not in languages():
        raise UsageError(f"no letters are written in {language!r}", f"choose one of: {', '.join(languages())}")
    text = (resources.files("vault.claims") / "words" / f"{language}.toml").read_text(encoding="utf-8")
    words = tomllib.loads(text)
    parts = words.pop("parts")
    return Phrases(language, words, parts)
