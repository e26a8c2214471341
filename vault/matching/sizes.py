"""Size ranges as titles, options and files print them, and whether two of them can be the same product's.

Sizes are printed in several systems (letters, women's numbers of Europe or of the US and UK, body height in cm, age);
ranges are compared only where one system can hold both, for `34-46` and `6-18` may well be the same sizes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

# Letters by their place from XXXS; the first name of each is how it is shown.
_NAMES = (
    "3XS XXXS",
    "2XS XXS",
    "XS",
    "S",
    "M",
    "L",
    "XL",
    "2XL XXL",
    "3XL XXXL",
    "4XL XXXXL",
    "5XL",
    "6XL",
    "7XL",
    "8XL",
)
_LETTERS = {name: n for n, names in enumerate(_NAMES) for name in names.split()}
_DASH = r"\s{0,2}(?:-|–|—|~|〜|_?to_?|_?bis_?|_?tot_?|_?till_?|\bà\b|\bal?\b|\bdo\b|\btil\b)\s{0,2}"
_LETTER = r"(?:[2-8]X|X{1,4})?[SL]|M"
_LETTER_RE = re.compile(rf"(?<![^\W_])({_LETTER}){_DASH}({_LETTER})(?![^\W_])", re.IGNORECASE)
_NUMBER_RE = re.compile(rf"(?<![\d.,/-])(\d{{1,3}}){_DASH}(\d{{1,3}})(?![\d.,]|-\d)", re.IGNORECASE)
_LONE_RE = re.compile(rf"({_LETTER}|\d{{1,3}})\Z")
# Systems of numbers: name, least, most.
_SYSTEMS = (("eu", 26, 68), ("us", 0, 36), ("age", 0, 18), ("cm", 40, 188))


@dataclass(frozen=True, order=True)
class SizeRange:
    """From `low` to `high` in one of `systems` (letters count from XXXS = 0)."""

    systems: tuple[str, ...]
    low: int
    high: int

    def __str__(self) -> str:
        if self.systems == ("letters",):
            return f"{_NAMES[self.low].split()[0]}-{_NAMES[self.high].split()[0]}"
        return f"{self.low}-{self.high}"


def _numbers(low: int, high: int) -> SizeRange | None:
    systems = tuple(name for name, least, most in _SYSTEMS if least <= low and high <= most)
    return SizeRange(systems, low, high) if systems and low < high else None


def find(text: str, *, marked: bool = False) -> tuple[tuple[SizeRange, ...], str]:
    """The size ranges in `text`, and `text` with them cut out.

    `marked`: the text is about sizes, so that any range counts; else a range of numbers must look like one of sizes.
    """
    found: list[SizeRange] = []

    def letters(m: re.Match[str]) -> str:
        low, high = _LETTERS[m.group(1).upper()], _LETTERS[m.group(2).upper()]
        if low >= high:
            return m.group()
        found.append(SizeRange(("letters",), low, high))
        return " "

    def numbers(m: re.Match[str]) -> str:
        low, high = int(m.group(1)), int(m.group(2))
        made = _numbers(low, high)
        likely = made is not None and high - low >= 4 and low % 2 == 0 and high % 2 == 0
        if made is None or not (marked or likely or _says_size(m.string[: m.start()])):
            return m.group()
        found.append(made)
        return " "

    rest = _NUMBER_RE.sub(numbers, _LETTER_RE.sub(letters, text))
    return tuple(sorted(set(found))), rest


_SIZE_WORD_RE = re.compile(
    r"(?:sizes?|sz|ages?|gr\.?|größen?|grössen?|tailles?|maten?|maat|tallas?|taglie?a?|strl\.?|stl\.?|str\.?"
    r"|storlek(?:ar)?|størrelser?|rozm\.?|rozmiary?|koot|koko|サイズ)[\s:_-]{0,3}\Z",
    re.IGNORECASE,
)


_LABEL_RE = re.compile(_SIZE_WORD_RE.pattern.removesuffix(r"[\s:_-]{0,3}\Z") + r"[\s:_-]{1,3}", re.IGNORECASE)
_LABEL_STARTS = frozenset("si sz ag gr ta ma st ro ko サイ".split())  # of the words above
_LABELLED_LINE = 60  # characters


def _says_size(before: str) -> bool:
    return _SIZE_WORD_RE.search(before[-16:]) is not None


def labelled(text: str) -> tuple[SizeRange, ...]:
    """The ranges in lines of `text` that say that they are about sizes (`Größen: 32-50`)."""
    found: set[SizeRange] = set()
    for line in text.splitlines():
        if line[:2].lower() in _LABEL_STARTS and len(line) <= _LABELLED_LINE and (m := _LABEL_RE.match(line)):
            found.update(find(line[m.end() :], marked=True)[0])
    return tuple(sorted(found))


def of_file(sizes: Iterable[str]) -> tuple[SizeRange, ...]:
    """The range that a file's list of sizes spans, one for each system; ranges in the list count as they stand."""
    found: set[SizeRange] = set()
    letters: list[int] = []
    numbers: list[int] = []
    for size in sizes:
        ranges, _ = find(size, marked=True)
        found.update(ranges)
        lone = None if ranges else _LONE_RE.match(size.strip().upper())
        if lone and lone.group(1) in _LETTERS:
            letters.append(_LETTERS[lone.group(1)])
        elif lone and lone.group(1).isdigit():
            numbers.append(int(lone.group(1)))
    if letters and min(letters) < max(letters):
        found.add(SizeRange(("letters",), min(letters), max(letters)))
    if numbers:
        made = _numbers(min(numbers), max(numbers))
        if made:
            found.add(made)
    return tuple(sorted(found))


# How the file's range lies to the item's, from best to worst.
RELATIONS = ("same", "inside", "contains", "other")


def compare(item: Iterable[SizeRange], file: Iterable[SizeRange]) -> str | None:
    """How the file's sizes lie to those of the item; None where nothing can be compared.

    "other" says that each side has sizes that the other has not: another product.
    """
    ranks = [RELATIONS.index(_relation(a, b)) for a in item for b in file if set(a.systems) & set(b.systems)]
    return RELATIONS[min(ranks)] if ranks else None


def _relation(item: SizeRange, file: SizeRange) -> str:
    if (item.low, item.high) == (file.low, file.high):
        return "same"
    if item.low <= file.low and file.high <= item.high:
        return "inside"
    if file.low <= item.low and item.high <= file.high:
        return "contains"
    return "other"
