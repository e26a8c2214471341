"""The words of `words/notices_<language>.toml`, loaded once: a new language is one file, found by its name."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files
from typing import Any

from vault.language.folding import fold


@lru_cache(maxsize=1)
def all_words() -> dict[str, dict[str, Any]]:
    """Language code -> the tables of its file, in the order of the codes."""
    folder = files("vault.receipts") / "words"
    out: dict[str, dict[str, Any]] = {}
    for entry in sorted(folder.iterdir(), key=lambda e: e.name):
        if entry.name.startswith("notices_") and entry.name.endswith(".toml"):
            code = entry.name.removeprefix("notices_").removesuffix(".toml")
            out[code] = tomllib.loads(entry.read_text(encoding="utf-8"))
    return out


def words(language: str, table: str, key: str) -> tuple[str, ...]:
    """The folded words under `[table] key` of one language; none where the file has none."""
    return tuple(fold(word) for word in all_words().get(language, {}).get(table, {}).get(key, ()))


@lru_cache(maxsize=16)
def name_words_of(key: str) -> frozenset[str]:
    """A list of `words/seller_names.toml`: words of names and titles that belong to no one language."""
    return frozenset(_name_tables()[key])


@lru_cache(maxsize=1)
def _name_tables() -> dict[str, list[str]]:
    entry = files("vault.receipts") / "words" / "seller_names.toml"
    return tomllib.loads(entry.read_text(encoding="utf-8"))
