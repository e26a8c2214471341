"""What a held file has to do with other held files: the same again, another version, other sizes, other parts.

Everything is shown and nothing is decided: no file is dropped or preferred because of a relation.  Kinds, in the order
in which they are asked; the first that fits stands:

* `same`: the same content with another stamp or saved again (equal fingerprints);
* `redrawn`: the same words on the same pages of the same size, and the large shapes where they were: another program
  wrote the file anew, or a line was added;
* `version`: the same title, maker and part, but another version, date or number of pages, told with what differs;
* `sizes`: the same title and maker in other sizes;
* `language`: the same title and maker in another language;
* `part`: the same title and maker, another part (the A0 beside the tiles, the instructions).

Titles are compared as `title.parse` takes them apart, so that a hack or a children's version is another product.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from vault.matching import sizes as size_ranges
from vault.matching.keys import key
from vault.matching.title import Title, informative, parse
from vault.model.match import Relation
from vault.model.pattern import PatternFacts, PatternFile, Sheet

KINDS = ("same", "redrawn", "version", "sizes", "language", "part")
_LEAST_WORDS, _LEAST_SHAPES = 24, 8  # hashes of a sketch that are enough to tell by it alone
_WORDS_ALIKE, _SHAPES_ALIKE = 0.9, 0.55
_SKETCH = 64  # hashes of a whole sketch
_SIDE_MM = 2.5
_REDRAWN = "the same words and shapes, written anew by another program"
_MOST = 40  # relations told of one file
_NUMBER_RE = re.compile(r"\d+")
_PDF_DATE_RE = re.compile(r"D:(\d{4})(\d{2})(\d{2})")


def relations(file: PatternFile, files: Iterable[PatternFile]) -> tuple[Relation, ...]:
    """How `file` stands to the others, nearest first; what is not told to be a pattern has none but the same again."""
    return Relations(files).of(file)


class Relations:
    """The files by what could make two of them related, so that each is compared with few."""

    def __init__(self, files: Iterable[PatternFile]) -> None:
        self._by_print: dict[str, list[PatternFile]] = defaultdict(list)
        self._by_shape: dict[tuple[object, ...], list[PatternFile]] = defaultdict(list)
        self._by_product: dict[tuple[object, ...], list[PatternFile]] = defaultdict(list)
        for file in files:
            if file.members:
                continue
            if file.facts.content_fingerprint:
                self._by_print[file.facts.content_fingerprint].append(file)
            if _sketched(file.facts):
                self._by_shape[_shape(file.facts)].append(file)
            product = _product(file)
            if product is not None:
                self._by_product[product].append(file)

    def of(self, file: PatternFile) -> tuple[Relation, ...]:
        """The relations of one file, nearest first."""
        facts = file.facts
        near: list[PatternFile] = []
        if facts.content_fingerprint:
            near += self._by_print[facts.content_fingerprint]
        if _sketched(facts):
            near += self._by_shape[_shape(facts)]
        product = _product(file)
        if product is not None:
            near += self._by_product[product]
        found: dict[str, Relation] = {}
        for other in near:
            if other.sha256 == file.sha256 or other.sha256 in found or other.members:
                continue
            relation = _relation(file, other, product)
            if relation is not None:
                found[other.sha256] = relation
        return tuple(sorted(found.values(), key=lambda r: (KINDS.index(r.kind), r.sha256))[:_MOST])


def _relation(file: PatternFile, other: PatternFile, product: tuple[object, ...] | None) -> Relation | None:
    mine, its = file.facts, other.facts
    if mine.content_fingerprint and mine.content_fingerprint == its.content_fingerprint:
        return Relation(kind="same", sha256=other.sha256, words=_stamped(mine, its))
    alike = redrawn(mine, its)
    named_apart = bool(mine.title and its.title) and product != _product(other)
    if alike and not named_apart and mine.version == its.version and mine.sizes == its.sizes:
        return Relation(kind="redrawn", sha256=other.sha256, words=_REDRAWN)
    if product is None or product != _product(other) or not _same_maker(mine, its):
        return None
    if mine.language and its.language and mine.language != its.language:
        return Relation(kind="language", sha256=other.sha256, words=f"the same in another language ({its.language})")
    sizes = _other_sizes(mine, its)
    if sizes and not _newer_with_more(mine, its):
        return Relation(kind="sizes", sha256=other.sha256, words=sizes)
    if _same_part(mine, its):
        newer, words = _difference(mine, its)
        if words:
            return Relation(kind="version", sha256=other.sha256, words=words, newer=newer)
        return None
    return Relation(kind="part", sha256=other.sha256, words=f"another part: {_part_words(its)}")


def _sketched(facts: PatternFacts) -> bool:
    return bool(facts.is_pattern and not facts.unusable and (facts.text_sketch or facts.drawn_sketch))


def _shape(facts: PatternFacts) -> tuple[object, ...]:
    return (facts.pages, facts.craft)


def redrawn(a: PatternFacts, b: PatternFacts) -> bool:
    """Whether the sketches say that both show the same on pages of the same size."""
    if a.pages != b.pages or not _same_sheets(a.sheets, b.sheets):
        return False
    words, shapes = resemblance(a.text_sketch, b.text_sketch), resemblance(a.drawn_sketch, b.drawn_sketch)
    few_words = min(len(a.text_sketch), len(b.text_sketch)) < 8 * _LEAST_WORDS
    few_shapes = max(len(a.drawn_sketch), len(b.drawn_sketch)) < 8 * _LEAST_SHAPES
    if few_words and few_shapes:
        return False
    enough = (few_words and words >= 0.5) or words >= _WORDS_ALIKE or not (a.text_sketch or b.text_sketch)
    return enough and (few_shapes or shapes >= _SHAPES_ALIKE)


def resemblance(a: str, b: str) -> float:
    """How much two sketches share, 0 to 1 (bottom-k: Broder 1997)."""
    first = {a[at : at + 8] for at in range(0, len(a), 8)}
    second = {b[at : at + 8] for at in range(0, len(b), 8)}
    least = sorted(first | second)[:_SKETCH]
    return sum(value in first and value in second for value in least) / len(least) if least else 0.0


def _same_sheets(a: Sequence[Sheet], b: Sequence[Sheet]) -> bool:
    if len(a) != len(b):
        return False
    sides = [sorted((round(s.width_mm, 1), round(s.height_mm, 1), s.pages) for s in sheets) for sheets in (a, b)]
    return all(
        abs(x[0] - y[0]) <= _SIDE_MM and abs(x[1] - y[1]) <= _SIDE_MM and x[2] == y[2]
        for x, y in zip(sides[0], sides[1], strict=True)
    )


def _product(file: PatternFile) -> tuple[object, ...] | None:
    """What makes two files one product, or None where the file does not say."""
    facts = file.facts
    if not facts.is_pattern and facts.is_pattern is not None:
        return None
    title = _title(file)
    if not informative(title):
        return None
    words = tuple(sorted(w.key for w in title.words if w.kind != "number"))
    counts = title.volumes if facts.title else title.volumes | title.numbers  # a number in a file name may be a size
    return (words, tuple(sorted(title.variants)), tuple(sorted(counts)), facts.craft) if words else None


def _title(file: PatternFile) -> Title:
    if file.facts.title:
        return parse(file.facts.title)
    names = [(s.inside or s.path).replace("\\", "/").rsplit("/", 1)[-1] for s in file.sightings]
    return parse(names[0], is_name=True) if names else Title()


def _same_maker(a: PatternFacts, b: PatternFacts) -> bool:
    return not (a.designer and b.designer) or key(a.designer) == key(b.designer)


def _same_part(a: PatternFacts, b: PatternFacts) -> bool:
    return set(a.parts) == set(b.parts)


def _part_words(facts: PatternFacts) -> str:
    return ", ".join(facts.parts) or "not said which"


def _stamped(mine: PatternFacts, its: PatternFacts) -> str:
    if mine.stamp != its.stamp:
        return (
            "the same content with another buyer's stamp"
            if mine.stamp and its.stamp
            else (
                "the same content with a buyer's stamp" if its.stamp else "the same content without the buyer's stamp"
            )
        )
    return "the same content, saved again"


def _other_sizes(mine: PatternFacts, its: PatternFacts) -> str:
    if not mine.sizes or not its.sizes or mine.sizes == its.sizes:
        return ""
    relation = size_ranges.compare(size_ranges.of_file(mine.sizes), size_ranges.of_file(its.sizes))
    if relation == "same" or (relation is None and set(mine.sizes) & set(its.sizes)):
        return ""
    return f"in other sizes: {_span(its.sizes)} instead of {_span(mine.sizes)}"


def _newer_with_more(mine: PatternFacts, its: PatternFacts) -> bool:
    """A version that came with more sizes is told as a version."""
    bigger, smaller = sorted((set(mine.sizes), set(its.sizes)), key=len, reverse=True)
    return smaller < bigger and bool(mine.version or its.version) and mine.version != its.version


def _span(labels: Sequence[str]) -> str:
    return labels[0] if len(labels) == 1 else f"{labels[0]} to {labels[-1]}"


# ---- versions ------------------------------------------------------------------------------------


def _difference(mine: PatternFacts, its: PatternFacts) -> tuple[bool | None, str]:
    """Whether the other file is the newer one (None: cannot be told), and what differs; "" where nothing does."""
    told = []
    if mine.version != its.version:
        told.append(f"version {its.version or 'not said'} instead of {mine.version or 'one not said'}")
    if mine.pages != its.pages and mine.pages and its.pages:
        told.append(f"{its.pages} pages instead of {mine.pages}")
    if mine.sizes != its.sizes and mine.sizes and its.sizes:
        told.append(f"sizes {_span(its.sizes)} instead of {_span(mine.sizes)}")
    here, there = written_on(mine), written_on(its)
    if here and there and here != there:
        told.append(f"written on {there.isoformat()} instead of {here.isoformat()}")
    if not told:
        told.append("other words or shapes")
    return _is_newer(mine.version, its.version, here, there), ", ".join(told)


def _is_newer(mine: str | None, its: str | None, here: date | None, there: date | None) -> bool | None:
    first, second = _rank(mine), _rank(its)
    if first and second and first != second and len(first) == len(second):
        return second > first
    if here and there and here != there:
        return there > here
    return None


def _rank(version: str | None) -> tuple[int, ...]:
    """Numbers that order versions: `1.10` after `1.9`, `03/2024` by year, then month; () where that is not clear."""
    if not version or re.search(r"[^\W\d_]{3}", version):
        return ()  # the name of a month
    numbers = [int(number) for number in _NUMBER_RE.findall(version)[:4]]
    year = next((n for n in numbers if 1990 <= n <= 2100), None)
    if year is None:
        return (*numbers, 0, 0, 0)[:3] if numbers else ()
    return tuple(numbers if numbers[0] == year else numbers[::-1])


def written_on(facts: PatternFacts) -> date | None:
    """The day its program says that it wrote the file (§7.9.4 of ISO 32000-1)."""
    for name in ("ModDate", "CreationDate"):
        match = _PDF_DATE_RE.match(facts.metadata.get(name, ""))
        if match:
            try:
                return date(*(int(part) for part in match.groups()))
            except ValueError:
                continue
    return None
