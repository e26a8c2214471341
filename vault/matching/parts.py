"""Parts of a download: which a receipt promises, which a file holds, and which are lacking.

A part is named by one word here ("A4", "A0", "Letter", "projector", "instructions", "chart", a format such as "SVG"),
however the receipt or the file calls it.  A file's parts come from its content; its name is asked only where the
content says nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from vault.matching.sizes import SizeRange
from vault.matching.sizes import find as find_sizes
from vault.matching.title import Title, informative, parse
from vault.matching.words import FORMATS
from vault.model.pattern import PatternFacts

SHEET_PARTS = ("A4", "A0", "Letter", "projector")
_WIDE = ("A0", "A1", "2A0", "Arch E", "36 in")
_PART_WORDS = {
    "A4": "the A4 sheets",
    "A0": "the A0 (copy shop) sheet",
    "Letter": "the US Letter sheets",
    "projector": "the projector file",
    "instructions": "the instructions",
    "chart": "the chart",
}


@dataclass(frozen=True, slots=True)
class Promise:
    """What one promised part means: a part, a size range, or the title of a member of a bundle."""

    words: str
    parts: frozenset[str] = frozenset()
    sizes: tuple[SizeRange, ...] = ()
    member: Title | None = None


def promise(text: str) -> Promise:
    """What a receipt's word for a part promises."""
    title = parse(text)
    if title.parts and not informative(title):
        return Promise(text, parts=title.parts - {"preview"})
    if title.sizes and not informative(title):
        return Promise(text, sizes=title.sizes)
    ranges, _ = find_sizes(text, marked=True)
    if ranges and not informative(title):
        return Promise(text, sizes=ranges)
    if informative(title) and not (title.parts and len(title.words) == 0):
        return Promise(text, member=title)
    return Promise(text)


def promises(texts: Iterable[str]) -> tuple[Promise, ...]:
    """All promised parts; those that nothing can be made of are left out."""
    made = (promise(t) for t in texts)
    return tuple(p for p in made if p.parts or p.sizes or p.member)


def of_file(facts: PatternFacts, name: Title, extension: str) -> frozenset[str]:
    """The parts a file holds: by its facts, else by its sheets, else by its name."""
    found = {_known(p) for p in facts.parts}
    if not found:
        for sheet in facts.sheets:
            if sheet.use == "tiled":
                found.add("Letter" if sheet.paper == "Letter" else "A4")
            elif sheet.use == "copy-shop":
                found.add("A0")
            elif sheet.use in ("projector", "instructions", "chart"):
                found.add(sheet.use)
    if not found - {"A4"} and name.parts - {"preview", "A4"} and not (found & name.parts):
        # Pages of A4 with nothing to read on them: the name tells a booklet or chart from tiles.
        found = set(name.parts - {"preview"})
    if not found:
        found = set(name.parts - {"preview"})
    if extension in FORMATS:
        found.add(extension.upper())
    return frozenset(found)


def _known(part: str) -> str:
    title = parse(part)
    return next(iter(sorted(title.parts)), part)


def named(part: str) -> str:
    """A part in plain words."""
    return _PART_WORDS.get(part, part)


def link_part(held: frozenset[str]) -> str | None:
    """The parts of a file as the one word of a link."""
    order = (*SHEET_PARTS, "instructions", "chart")
    ranked = sorted(held, key=lambda p: (order.index(p) if p in order else len(order), p))
    return " + ".join(ranked) or None


def lacking(
    promised: Sequence[Promise],
    held: Iterable[frozenset[str]],
    sizes: Iterable[tuple[SizeRange, ...]],
    members: Iterable[str],
) -> tuple[str, ...]:
    """The promised parts, in the receipt's words, that no linked file holds.

    `held` and `sizes` say of every linked file its parts and size ranges, `members` which members of a bundle are
    there.  A file of unknown parts counts for the instructions or a chart only where it is the only thing promised.
    """
    files = list(held)
    every: set[str] = set().union(*files) if files else set()
    unknown = any(not f for f in files)
    there = set(members)
    found_sizes = [s for r in sizes for s in r]
    out: list[str] = []
    n_parts = sum(1 for p in promised if p.parts)
    for p in promised:
        if p.parts:
            ok = bool(p.parts & every) or (unknown and n_parts == 1)
        elif p.sizes:
            comparable = [b for b in found_sizes if any(set(a.systems) & set(b.systems) for a in p.sizes)]
            ok = not comparable or any(_overlap(a, b) for a in p.sizes for b in comparable)
        else:
            ok = p.words in there
        if not ok:
            out.append(p.words)
    return tuple(out)


def _overlap(a: SizeRange, b: SizeRange) -> bool:
    return bool(set(a.systems) & set(b.systems)) and a.low <= b.high and b.low <= a.high
