"""Two names that may be one shop's: what the rules find, and what the person said."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class SameShopWords:
    """What she said of two names: that they are one shop's (`same`), or that they are not."""

    one: str
    other: str
    same: bool


@dataclass(frozen=True, kw_only=True)
class PerhapsSame:
    """Two sellers (their ids) that are perhaps one shop, with the reasons in plain words.  Nothing is joined by it."""

    one: str
    other: str
    why: tuple[str, ...]
