"""What lies together: files that say nothing of themselves are told by the files beside them.

A zip is downloaded whole, so `A0.pdf` in it is what the instructions in it are, unless the zip holds several things.
Files that are named alike (`KS-104_A4.pdf`, `KS-104_A0.pdf`) or have the same content are one thing as well.  A folder
is made by hand: what lies beside a file in it is worth a question, never a link.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from vault.matching.filed import Filed
from vault.matching.hearing import Evidence

SMALL_FOLDER = 12  # files up to which a folder may be that of one thing


@dataclass(slots=True)
class Groups:
    """Which files lie together, by digest."""

    zips: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    inside: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))  # by folder inside a zip
    folders: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    stems: dict[tuple[str, tuple[str, ...]], list[str]] = field(default_factory=lambda: defaultdict(list))
    contents: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))

    def add(self, file: Filed) -> None:
        """Notes where a file lies."""
        for z in file.zips:
            self.zips[z].append(file.sha256)
        for place in file.places:
            (self.folders if place.zip_sha256 is None else self.inside)[place.where].append(file.sha256)
        for s in file.stems:
            self.stems[s].append(file.sha256)
        if file.facts.content_fingerprint:
            self.contents[file.facts.content_fingerprint].append(file.sha256)

    def mates(self, file: Filed) -> Iterable[tuple[str, list[str]]]:
        """The groups of a file: the name of the weight, and the files of the group."""
        for s in sorted(file.stems):
            yield "same name", self.stems[s]
        for place in file.places:
            if place.zip_sha256 is not None:
                # The folder inside the zip, where there are others in it; else the whole zip.
                beside = [] if place.where.endswith("!.") else self.inside[place.where]
                yield "same zip", beside if len(beside) > 1 else self.zips[place.zip_sha256]
        for place in file.places:
            if place.zip_sha256 is None and len(self.folders[place.where]) <= SMALL_FOLDER:
                yield "same folder", self.folders[place.where]

    def same_content(self, file: Filed) -> list[str]:
        """Files with the same content, saved or stamped anew."""
        return self.contents[file.facts.content_fingerprint] if file.facts.content_fingerprint else []


def told_by_mates(
    file: Filed,
    groups: Groups,
    filed: Mapping[str, Filed],
    alone: Mapping[str, Mapping[int, Evidence]],
    own: Mapping[str, tuple[int, ...]],
    alone_in_zip: Callable[[int, Filed], bool],
) -> dict[int, list[tuple[str, tuple[str, ...]]]]:
    """For a file that tells nothing, what the files beside it say: place of a target -> evidence to add.

    `alone`: by digest, the evidence of each file by itself; `own`: the targets that it was linked to by that;
    `alone_in_zip`: whether no other item of the target's order can be what a file of the zip is.
    """
    out: dict[int, list[tuple[str, tuple[str, ...]]]] = {}

    def say(places: tuple[int, ...], name: str, mate: Filed) -> None:
        for p in places:
            if not any(n == name for n, _ in out.get(p, ())):
                out.setdefault(p, []).append((name, (mate.name,)))

    for sha in sorted(groups.same_content(file)):
        if sha != file.sha256 and own.get(sha):
            say(own[sha], "same content", filed[sha])
    if file.speaks:
        return out
    for name, shas in groups.mates(file):
        mates = [filed[s] for s in sorted(set(shas)) if s != file.sha256]
        told = {own[m.sha256] for m in mates if own.get(m.sha256)}
        if len(told) != 1:
            continue  # several things lie here, or nothing known
        places = next(iter(told))
        owners = [m for m in mates if own.get(m.sha256)]
        strangers = [m for m in mates if not own.get(m.sha256) and m.unusable is None and m.speaks]
        if strangers and not (name == "same zip" and _zip_says(owners, places, alone)):
            continue  # something that belongs to nothing known
        fits = _named_for_another_part(file, owners) if name == "same name" else _fits(file, owners)
        if not fits:
            continue
        if name == "same zip" and not all(alone_in_zip(p, file) for p in places):
            name = "same zip of several"
        say(places, name, owners[0])
    return out


def _zip_says(owners: Iterable[Filed], places: tuple[int, ...], alone: Mapping[str, Mapping[int, Evidence]]) -> bool:
    """Whether the zip itself is named for the target, so that all in it is for it."""
    return any(p in alone[m.sha256] and alone[m.sha256][p].zip_names_it for m in owners for p in places)


def _named_for_another_part(file: Filed, owners: Iterable[Filed]) -> bool:
    """Whether the names differ in the part they name.

    `x.pdf` and `x (1).pdf` were only called alike where they came from, and may well be two things.
    """
    own = {t.parts for t in file.name_titles}
    return any(t.parts not in own for m in owners for t in m.name_titles)


def _fits(file: Filed, owners: list[Filed]) -> bool:
    """Whether a file with a name for a part only adds a part that the others have not."""
    if not file.generic_name:
        return False
    held = set().union(*(m.parts for m in owners))
    return not file.parts or not file.parts <= held


def with_added(evidence: Evidence, added: Iterable[tuple[str, tuple[str, ...]]]) -> Evidence:
    """A copy of `evidence` with more."""
    out = replace(evidence, found=list(evidence.found))
    for name, fill in added:
        out.add(name, *fill)
    return out
