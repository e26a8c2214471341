"""The sizes a file holds, in the order they are written: from its layers, its size line, its size key or a table head.

A size counts only where a word for sizes stands beside it, or as the name of a layer: numbers stand everywhere in a
pattern.  "34-44" is one label unless the single sizes are written too; "34/36" is a double size, "S / M / L" three.
"""

from __future__ import annotations

import itertools
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from vault.model.pdf import Layer
from vault.patterns.licence_words import LANGUAGES, joined, of_all, plain, table
from vault.patterns.pages_text import PageText, TextLine

_MOST_SIZES = 40
_MOST_LABELS = 200
_LONGEST = 400  # characters of a line that may list sizes
_LETTER = r"(?:x{1,5}[sl]|[2-9]\s?x[sl]|[1-9]x|xs|ll|[3-6]l|s|m|l|xl)"
_AGE = (
    r"(?:[ymtwpv]|\s?(?:yrs?|years?|mos?|mths?|months?|jahre?|monate?|ans?|mois|jaar|mnd|mdr?|år|mån|lat|mies|kk"
    r"|歳|才|号|か月))"
)
_NUMBER = rf"(?:\d{{1,3}}(?:½|\.5)?(?:\s?cm)?{_AGE}?)"
_ONE = rf"(?:{_LETTER}|{_NUMBER})"
_PAIR = rf"(?:{_LETTER}[/+-]{_LETTER}|\d{{1,3}}{_AGE}?\s?[/-]\s?\d{{1,3}}(?:\s?cm)?{_AGE}?)"
_PREFIX = r"(?:(?:us|uk|eu|eur|de|fr|it)\s)?"
_TOKEN_RE = re.compile(rf"{_PREFIX}(?:{_PAIR}|{_ONE})(?![\w½%]|\.\d)", re.IGNORECASE)
_ALONE_RE = re.compile(rf"{_PREFIX}(?:{_PAIR}|{_ONE})", re.IGNORECASE)
_SEPARATOR_RE = re.compile(r"\s*(?:[·•,;|()\[\]{}*:：、・，]|\s/\s|/|\s-\s|-|&|\+)?\s*")
# What makes a number behind "Size" a measure and no size.
_FOREIGN_RE = re.compile(r"\s*(?:[x×]\s?\d|mm|in\b|inch|\"|cm\b|%|g\b|m\b|stitch|sts|needle|pag|of\b|/)", re.IGNORECASE)
_CHAIN_RE = re.compile(r"(?<![\w/])\w{1,4}(?:\s?/\s?\w{1,4}){1,40}(?![\w/])")
_DASH_RE = re.compile(r"\s*[-–—~〜～]\s*")
_LETTERS = ["xxxxs", "xxxs", "xxs", "xs", "s", "m", "l", "xl", "xxl", "xxxl", "xxxxl", "xxxxxl"]
_LEGEND_ALONE = 4  # letters in a row that are sizes without a word that says so
_WAIST_LANGUAGES = ("de", "nl", "da", "nb", "sv")  # where "Taille" is the waist


@dataclass(frozen=True)
class _Found:
    """A list of sizes, what it rests on (2: a size line, 1: a table head or key) and the language of its label."""

    sizes: tuple[str, ...]
    weight: int
    language: str


def sizes_of(pages: Sequence[PageText], layers: Sequence[Layer], craft: str | None, name: str) -> tuple[str, ...]:
    """The size labels without words such as "Size"; empty where none are said.  `name` is the file's own name."""
    by_layer = _by_layer(layers)
    if len(by_layer) >= 2:
        return by_layer
    if craft == "embroidery":
        return ()
    found = _without_waists(list(_labelled(pages)))
    best = _best(found)
    legends = list(_legends(pages))
    if best:
        return next((legend for legend in legends if _tells_more(legend, best)), best)
    if by_layer:
        return by_layer
    letters = [legend for legend in legends if len(legend) >= _LEGEND_ALONE and not any(map(_bare_number, legend))]
    if letters:
        return max(letters, key=len)
    return _by_letters(pages) or _by_name(name)


# ---- layers --------------------------------------------------------------------------------------


@cache
def _size_word_re() -> re.Pattern[str]:
    labels = [entry for language in LANGUAGES for entry in table(language).get("sizes", {}).get("label", ())]
    short = r"t(?=\d)|sz(?=[\s.-])|gr(?=[\s.-]|\d)|gr[oö]e?(?:ss|ß)e"
    return re.compile(rf"^(?:{joined(labels).pattern}|{short})[\s:.-]*", re.IGNORECASE)


# What may stand behind the size in the name of a layer: "38 (blue)", "40 - red".
_BEHIND_RE = re.compile(r"\s*[(\[].*$|\s+-\s+\D+$")


def _by_layer(layers: Sequence[Layer]) -> tuple[str, ...]:
    """The sizes that layers are named after, as written but for the size word."""
    sizes: dict[str, None] = {}
    for layer in layers[:500]:
        text = " ".join(plain((layer.name or "").replace("\0", "").replace("_", " ")).split())[:60]
        bare = _BEHIND_RE.sub("", _size_word_re().sub("", text) or text)
        if _ALONE_RE.fullmatch(bare) or of_all("sizes.names").fullmatch(bare):
            sizes[bare] = None
    numbers = [size for size in sizes if size.isdigit()]
    if len(numbers) == len(sizes) and [int(n) for n in numbers] == list(range(1, len(numbers) + 1)):
        return ()  # layers that are only counted
    return tuple(sizes)


# ---- lines with a label --------------------------------------------------------------------------


def _labelled(pages: Sequence[PageText]) -> Iterator[_Found]:
    tried = 0
    seen: set[tuple[str, str]] = set()
    for page in pages:
        for index, line in enumerate(page.lines):
            if len(line.text) > _LONGEST or tried >= _MOST_LABELS:
                continue
            text = plain(line.text)
            after = page.lines[index + 1].text if index + 1 < len(page.lines) else ""
            if (text, after) in seen:
                continue
            for language, match in _labels(text):
                seen.add((text, after))
                tried += 1
                found = _beside(text, match, line, page, index, language)
                if found is not None:
                    yield found
                    break


@cache
def _label_re(language: str) -> re.Pattern[str]:
    return joined(table(language).get("sizes", {}).get("label", ()), blanks=language != "ja")


@cache
def _any_label_re() -> re.Pattern[str]:
    return re.compile(
        r"siz|age|grö(?:ß|ss)|gr\.|alter|taille|maten|maat|leeftijd|talla|tagli|edad|\btg|età|âge|storlek|stl|størrelse|\bstr|alder"
        r"|ålder|rozm|wiek|\bko[kio]|ikä|サイズ|年齢",
        re.IGNORECASE,
    )


def _labels(text: str) -> Iterator[tuple[str, re.Match[str]]]:
    if not _any_label_re().search(text):
        return
    for language in LANGUAGES:
        for match in _label_re(language).finditer(text):
            yield language, match


def _beside(
    text: str, match: re.Match[str], line: TextLine, page: PageText, index: int, language: str
) -> _Found | None:
    """The list behind a label on its line, or in the cells and lines that follow."""
    for other in _label_re(language).finditer(text, match.start()):
        sizes, complete = _list_of(_label_re(language).sub(" ", text[other.end() :]))
        if len(sizes) >= 2:
            more = _further(page, index, sizes) if complete else ()
            return _Found((*sizes, *more), 2, language)
        if complete and sizes and (other.start() <= 2 or (_is_range(sizes[0]) and len(text) < 40)):
            return _Found(tuple(sizes), 2, language)
    one = of_all("sizes.one").search(text)
    if one is not None and len(text) < 60:
        return _Found((one.group(),), 2, language)
    if match.start() > 2 and match.end() < len(text.rstrip(" :.")):
        return None
    rest = text[match.end() :].strip(" :.()")
    if rest and len(rest) > 12:
        return None
    return _below(line, page, index, language)


def _below(line: TextLine, page: PageText, index: int, language: str) -> _Found | None:
    """Sizes in the cells behind a label, each a line of its own, or a list on the next line."""
    cells: list[str] = []
    before = line
    for follower in page.lines[index + 1 : index + 1 + _MOST_SIZES]:
        text = plain(follower.text).strip()
        if _ALONE_RE.fullmatch(text) or of_all("sizes.names").fullmatch(text):
            if abs(follower.y - before.y) > 25:
                break
            cells.append(text)
            before = follower
            continue
        if not cells:
            sizes, complete = _list_of(text)
            if len(sizes) >= 2 and complete:
                return _Found(tuple(sizes), 2, language)
        break
    if len(cells) == 1 and _is_range(cells[0]):
        return _Found((cells[0],), 1, language)
    if len(cells) >= 2 and _ascending(cells):
        return _Found(tuple(dict.fromkeys(cells)), 1, language)
    return None


def _further(page: PageText, index: int, sizes: Sequence[str]) -> tuple[str, ...]:
    """The sizes on the lines close below that go on with a list: a legend is broken where its corner ends."""
    found: list[str] = []
    before = page.lines[index]
    for line in page.lines[index + 1 : index + 4]:
        more, complete = _list_of(plain(line.text).strip()) if len(line.text) <= 80 else ([], False)
        near = 0 < line.y - before.y < 0.9 * max(before.size_pt, line.size_pt) and line.size_pt == before.size_pt
        if not (more and complete and near and _ascending([*sizes, *found, *more])):
            break
        found += more
        before = line
    return tuple(found)


def _legends(pages: Sequence[PageText]) -> Iterator[tuple[str, ...]]:
    """Lists of sizes that stand on lines of their own, as the legend of a sheet does."""
    seen: set[str] = set()
    for page in pages[:40]:
        for index, line in enumerate(page.lines):
            if len(line.text) > 120 or line.text in seen or not line.text[:1].isalnum():
                continue
            seen.add(line.text)
            if not _ALONE_RE.match(line.text.split()[0]):
                continue
            sizes, complete = _list_of(plain(line.text).strip())
            if complete and len(sizes) >= 2:
                whole = (*sizes, *_further(page, index, sizes))
                if len(whole) >= 3:
                    yield whole


def _tells_more(legend: Sequence[str], said: Sequence[str]) -> bool:
    """Whether a legend lists the sizes of a range that was said, or goes on with a list that broke off."""
    if len(said) == 1:
        ends = _RANGE_RE.fullmatch(said[0]) if _is_range(said[0]) or " " in said[0] else None
        return ends is not None and (ends[1].casefold(), ends[2].casefold()) == (
            legend[0].casefold(),
            legend[-1].casefold(),
        )
    return len(legend) > len(said) and tuple(legend[: len(said)]) == tuple(said)


_RANGE_RE = re.compile(r"(\w{1,5})\s*(?:-|–|[^\W\d_]{1,4}|à)\s*(\w{1,5})")


def _bare_number(size: str) -> bool:
    return size.isdigit()


def _is_range(size: str) -> bool:
    return re.search(r"\w\s?-\s?\w", size) is not None


def _list_of(text: str) -> tuple[list[str], bool]:
    """The sizes a text starts with, and whether it holds nothing else."""
    at = 0
    sizes: list[str] = []
    text = _unchained(text)
    joining = of_all("sizes.to")
    while at < len(text) and len(sizes) < _MOST_SIZES:
        separator = _SEPARATOR_RE.match(text, at)
        start = separator.end() if separator else at
        word = of_all("sizes.also").match(text, start)
        while word is not None and not _TOKEN_RE.match(text, start):
            start = word.end()
            separator = _SEPARATOR_RE.match(text, start)
            start = separator.end() if separator else start
            word = of_all("sizes.also").match(text, start)
        token = of_all("sizes.names").match(text, start) or _TOKEN_RE.match(text, start)
        if token is None:
            break
        end = token.end()
        gap = re.match(r"\s*", text[end:])
        to = _DASH_RE.match(text, end) or joining.match(text, end + (gap.end() if gap else 0))
        blank = re.compile(r"\s*").match(text, to.end()) if to is not None else None
        names = of_all("sizes.names")
        other = (names.match(text, blank.end()) or _TOKEN_RE.match(text, blank.end())) if blank is not None else None
        if other is not None:
            end = other.end()
        sizes.append(" ".join(text[token.start() : end].split()))
        if text[end - 1].isdigit() and _FOREIGN_RE.match(text, end) and not re.match(r"\s*/\s", text[end:]):
            sizes.pop()
            break
        at = end
    rest = of_all("sizes.also").sub("", text[at:]).strip(" .:;,()[]·•|*-")
    sizes = list(dict.fromkeys(sizes))
    if not _ascending(sizes):
        return [], False
    return sizes, not rest


def _unchained(text: str) -> str:
    """Text with one separator: "S/M/L" and "S / M / L" are lists, "34/36 38/40" double sizes, "34-36-38" a list."""
    chains = list(_CHAIN_RE.finditer(text))

    def parted(match: re.Match[str]) -> str:
        parts = [part.strip() for part in match.group().split("/")]
        spaced = len(chains) == 1 and " / " in match.group()
        return " , ".join(parts) if len(parts) > 2 or spaced else "/".join(parts)

    text = _CHAIN_RE.sub(parted, text)
    if len(re.findall(r"\s-\s", text)) >= 2:
        text = re.sub(r"\s-\s", " , ", text)
    if re.match(r"[\s:]*(?:\w{1,3}-){2,}\w{1,3}\b", text):
        text = re.sub(r"(?<=\w)-(?=\w)", " , ", text)
    return text


def _ascending(sizes: Sequence[str]) -> bool:
    """Whether the labels rise, as sizes do and page numbers, prices and measures beside each other hardly do."""
    by_unit = [rank for size in sizes if (rank := _rank(size)) is not None]
    plainly = [float(match.group()) for size in sizes if (match := re.search(r"\d{1,3}", size))]
    # "0-3, 3-6, 6-12 months" names the unit once; "3 months, 1 year" rises by its units only.
    return _rises(by_unit) or (len(plainly) == len(sizes) and _rises(plainly))


def _rises(numbers: Sequence[float]) -> bool:
    return all(one < other for one, other in itertools.pairwise(numbers))


def _rank(size: str) -> float | None:
    text = re.sub(rf"^{_PREFIX}", "", size.casefold())
    first = re.split(r"[/+\s-]", text)[0]
    if first in _LETTERS:
        return 1000.0 + _LETTERS.index(first)
    big = re.match(r"([2-9])\s?x([sl])?$", first)
    if big:
        return 1000.0 - int(big.group(1)) if big.group(2) == "s" else 1006.0 + int(big.group(1))
    if first == "ll" or re.fullmatch("[3-6]l", first):  # as Japan counts them
        return 1007.0 + (int(first[0]) if first[0].isdigit() else 0)
    number = re.match(r"\d{1,3}", text)
    if number is None:
        return None
    value = float(number.group())
    return value / 100 if re.search(r"\d\s?m(?:o|t|$|onth)|mois|monat|mån|mdr|kk|か月", text) else value


# ---- choosing ------------------------------------------------------------------------------------


def _without_waists(found: Sequence[_Found]) -> list[_Found]:
    """Drops lists behind "Taille" in files whose sizes are called otherwise: there it is the waist."""
    languages = {one.language for one in found}
    if "fr" in languages and languages & set(_WAIST_LANGUAGES):
        return [one for one in found if one.language != "fr"]
    return list(found)


def _best(found: Sequence[_Found]) -> tuple[str, ...]:
    """The list said most often; a wrapped or a short one goes before the longer one that starts alike; single sizes
    go before a range."""
    if not found:
        return ()
    lists = Counter[tuple[str, ...]]()
    for one in found:
        lists[one.sizes] += one.weight
    order = list(lists)
    whole = [sizes for sizes in order if not any(_starts(sizes, other) for other in order if other != sizes)]
    several = [sizes for sizes in whole if len(sizes) >= 2]
    choices = several or whole or order
    return max(choices, key=lambda sizes: (lists[sizes], len(sizes), -order.index(sizes)))


def _starts(sizes: tuple[str, ...], other: tuple[str, ...]) -> bool:
    return len(sizes) < len(other) and set(sizes) <= set(other)


def _by_letters(pages: Sequence[PageText]) -> tuple[str, ...]:
    """Letters of sizes that stand one after the other at the lines of a sheet, without any word."""
    best: tuple[str, ...] = ()
    for page in pages:
        run: list[str] = []
        for line in page.lines:
            text = line.text.strip()
            if text.casefold() in _LETTERS or re.fullmatch(r"[2-9]X[SL]", text):
                rank, before = _rank(text), _rank(run[-1]) if run else None
                if rank is not None and before is not None and rank <= before:
                    run = []
                run.append(text)
                if len(run) >= 3 and len(run) > len(best):
                    best = tuple(run)
            else:
                run = []
    return best


def _by_name(name: str) -> tuple[str, ...]:
    """The size in a file's name behind a word for it: "skirt_size38.pdf"."""
    stem = re.sub(r"\.\w{2,5}$", "", plain(name))[:200].replace("_", " ")
    match = re.search(
        rf"(?<![^\W\d_])(?:size|gr(?:ö|oe|o)?(?:ß|ss)?e?|taille|maat|talla|taglia|storlek|str|koko|rozmiar)[\s.-]*({_PAIR}|{_ONE})(?![\w])",
        stem,
        re.IGNORECASE,
    )
    return (match.group(1),) if match else ()
