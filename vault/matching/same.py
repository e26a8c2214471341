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
    groups: dict[str, list[PatternFile]] = defaultdict(list)
    for file in files:
        facts = file.facts
        if facts.content_fingerprint and not facts.unusable and not file.members:
            groups[facts.content_fingerprint].append(file)
    out: dict[str, str] = {}
    for group in groups.values():
        first, *others = sorted(group, key=_age)
        out.update({f.sha256: first.sha256 for f in others})
    return out


def _age(file: PatternFile) -> tuple[str, str]:
    times = [s.modified for s in file.sightings if s.modified]
    return (min(times, default="9999"), file.sha256)
