"""Files that are the same pattern, although their bytes differ: stamped for another day, or saved again.

Files with equal bytes are one row of the catalogue to begin with, under however many names.  Here the fingerprint of
the content is compared, which leaves out the buyer's stamp and everything that is not shown.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from vault.model.pattern import PatternFile


def duplicates(files: Iterable[PatternFile]) -> dict[str, str]:
    """Digest of a file -> digest of the other file with the same content.

    The file that stands for all is the one seen first (by its own time, then by digest), never a damaged one.
    """
    copies = Copies()
    for file in files:
        copies.note(file)
    return copies.found()


class Copies:
    """Finds the same among files that pass by one at a time."""

    def __init__(self) -> None:
        self._groups: dict[str, list[tuple[str, str]]] = defaultdict(list)

    def note(self, file: PatternFile) -> None:
        """Takes note of one file."""
        facts = file.facts
        if facts.content_fingerprint and not facts.unusable and not file.members:
            self._groups[facts.content_fingerprint].append(_age(file))

    def found(self) -> dict[str, str]:
        """As `duplicates`."""
        out: dict[str, str] = {}
        for group in self._groups.values():
            (_, first), *others = sorted(group)
            out.update({sha256: first for _, sha256 in others})
        return out


def _age(file: PatternFile) -> tuple[str, str]:
    times = [s.modified for s in file.sightings if s.modified]
    return (min(times, default="9999"), file.sha256)
