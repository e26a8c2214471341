"""Many phrases looked for at once in raw bytes.

Behind `ahocorasick_rs` (the automaton of Aho and Corasick, 1975, "Efficient string matching: an aid to bibliographic
search"): its cost does not grow with the number of phrases, and one phrase alone is found about as fast as the memory
is read.  Nothing here knows what the phrases mean.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ahocorasick_rs import MATCHKIND_LEFTMOST_FIRST, BytesAhoCorasick, Implementation


class Phrases:
    """A fixed list of byte strings; none may be empty.  Some 25 megabytes for 5,000 of them: twice as fast as small."""

    def __init__(self, phrases: Sequence[bytes]) -> None:
        self._automaton = BytesAhoCorasick(phrases, implementation=Implementation.DFA) if phrases else None

    def find(self, data: bytes) -> Iterable[tuple[int, int, int]]:
        """Every place where one stands: (number of the phrase, start, end), overlapping ones too, by their ends."""
        if self._automaton is None:
            return ()
        return self._automaton.find_matches_as_indexes(data, overlapping=True)


class Marks:
    """A handful of byte strings, of which it matters only where one stands: found at the speed of memory."""

    def __init__(self, *marks: bytes) -> None:
        # Of two that begin at one place the first counts; this is what lets the library look for all in one step.
        self._find = BytesAhoCorasick(marks, matchkind=MATCHKIND_LEFTMOST_FIRST).find_matches_as_indexes

    def places(self, data: bytes) -> list[int]:
        """Where they begin, not overlapping."""
        return [start for _, start, _ in self._find(data)]

    def stand_in(self, data: bytes) -> bool:
        """Whether one of them stands in `data`."""
        return bool(self._find(data))
