"""Remembering what short texts gave: the lines of a pattern come again on every tile, and each rule asks of each line.

Long texts are not remembered, so that the memory of a worker stays bounded whatever a file holds.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, wraps
from typing import Concatenate, ParamSpec, TypeVar

LONGEST = 240  # characters
REMEMBERED = 4096  # texts for each function

Rest = ParamSpec("Rest")
Answer = TypeVar("Answer")


def remembered(function: Callable[Concatenate[str, Rest], Answer]) -> Callable[Concatenate[str, Rest], Answer]:
    """The function with a memory for short first arguments; its answers must be values that nobody changes."""
    cached = lru_cache(maxsize=REMEMBERED)(function)

    @wraps(function)
    def ask(text: str, /, *args: Rest.args, **kwargs: Rest.kwargs) -> Answer:
        if len(text) > LONGEST:
            return function(text, *args, **kwargs)
        return cached(text, *args, **kwargs)  # type: ignore[arg-type]

    return ask
