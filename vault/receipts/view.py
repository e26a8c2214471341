"""A document with its words: every printed line as a `Spot` that knows its label, its value and its amounts.

The reading rules (`pairs`, `rows`, `downloads`, ...) all look at this view; none looks at the document's original form.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from vault.language.amounts import Amount, find_amounts, parse_amount
from vault.language.currencies import CODES, SIGNS
from vault.language.dates import FoundDate, find_dates, settle
from vault.language.folding import fold
from vault.receipts.lines import Document, Line, Link
from vault.receipts.words import DATES, MONEY, NUMBERS, Words, trim_label, words_for

CODE_RE = re.compile(r"#?\s?([A-Za-z0-9][A-Za-z0-9_/.\-]{0,39})")
_COLON_RE = re.compile(r"\s?[:：](?=\s|\Z|[^\d/\s])")
_PART_RE = re.compile(
    r"\s[·•|–—]\s|\s-\s|;\s|\s{2,}|(?<=[^\d]),\s|\.\s(?=[A-ZÀ-Þ\u3040-\u9fff])|\s\((?=[^()]{2,40}:)|\s?[／]\s?"
)
_MARKED_RE = re.compile(
    r"[■●◆▼▶◇□○※★☆➤►・]*\s?[\[【「〔［]([^\[\]【】「」〔〕［］]{1,30})[\]】」〕］]|[■●◆▼▶◇□○※★☆➤►・]+()"
)
_QUANTITY_RE = re.compile(r"[x×*]?\s?(\d{1,3})\s?[x×]?\Z", re.I)
_NOT_CODE_RE = re.compile(r"\A(?:\d{1,2}[./-]\d{1,2}[./-]\d{2,4}|\d{4}-\d\d-\d\d|\d{1,3}[.,]\d\d|\d{1,2}:\d\d)\Z")
MAX_SPOTS = 40_000


@dataclass(slots=True)
class Spot:
    """One printed line in its place.

    `concepts` are those of the label it begins with (or is), `label` that label as printed, `value` what follows it;
    `whole` tells that the line is nothing but the label.
    """

    line: int
    cell: int
    piece: int
    text: str
    links: tuple[Link, ...]
    bold: bool
    heading: int
    strong: tuple[str, ...]
    struck: str
    amounts: tuple[Amount, ...]
    concepts: tuple[str, ...] = ()
    label: str = ""
    value: str = ""
    whole: bool = False
    folded: str = ""

    @property
    def amount_only(self) -> Amount | None:
        """The amount, if the line is nothing else."""
        if len(self.amounts) != 1:
            return None
        amount = self.amounts[0]
        rest = self.text[: amount.start] + self.text[amount.end :]
        return amount if not rest.strip(" *.:=()") else None

    @property
    def quantity_only(self) -> int | None:
        """The count, if the line is nothing else ("2", "x 2", "2 ×")."""
        if self.amounts or not self.text:
            return None
        match = _QUANTITY_RE.match(self.text)
        return int(match.group(1)) if match and 0 < int(match.group(1)) < 1000 else None


@dataclass(slots=True, frozen=True)
class Pair:
    """A label with its value.  `how`: inline, beside, below or column; `spot`, `at`: the places of both."""

    concepts: tuple[str, ...]
    label: str
    value: str
    spot: int
    at: int
    how: str

    def has(self, *concepts: str) -> bool:
        """Whether the label is one of `concepts`."""
        return any(c in self.concepts for c in concepts)


@dataclass(eq=False)
class View:
    """A document, the words it is read with, and its spots in reading order."""

    doc: Document
    words: Words
    language: str | None
    spots: list[Spot] = field(default_factory=list)
    first_spot: list[int] = field(default_factory=list)  # of each line
    memory: dict[str, object] = field(default_factory=dict)  # what a rule has found once for the whole document

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines of the document."""
        return self.doc.lines

    @property
    def dated(self) -> date | None:
        """The document's own date."""
        return self.doc.dated

    def dates_in(self, text: str) -> tuple[FoundDate, ...]:
        """The dates printed in `text`."""
        return find_dates(text, self.language)

    def day_in(self, text: str) -> date | None:
        """The first date printed in `text` that can be settled."""
        for found in self.dates_in(text):
            day = settle(found, near=self.dated) or self._by_custom(found)
            if day is not None:
                return day
        return None

    def _by_custom(self, found: FoundDate) -> date | None:
        """A date whose day and month could be exchanged, read as the country of the currency writes it."""
        if len(found.candidates) != 2 or not found.year:
            return None
        return found.candidates[0] if self.day_first else found.candidates[1] if self.day_first is False else None

    @cached_property
    def named_currency(self) -> str | None:
        """The one currency code that stands alone in the text, away from the amounts ("TOTAL GBP")."""
        text = " ".join(s.text for s in self.spots if s.text and len(s.text) < 120)
        words = {w.strip("().:,") for w in text.split(" ")}
        named = words & CODES or {SIGNS[w][0] for w in words if len(SIGNS.get(w, ())) == 1}  # "Price €" heads a column
        return next(iter(named)) if len(named) == 1 else None

    @cached_property
    def day_first(self) -> bool | None:
        """Whether numeric dates put the day first: other dates of the document tell, else its currency, else None."""
        signs = {a.currencies[0] for s in self.spots for a in s.amounts if a.currencies}
        signs = signs or {self.named_currency or ""} - {""}
        if not signs or signs & {"CAD"}:
            return None
        return False if signs == {"USD"} else "USD" not in signs or None

    def spot_at(self, line: int, cell: int, piece: int) -> int | None:
        """The index of the spot at a place."""
        start = self.first_spot[line]
        stop = self.first_spot[line + 1] if line + 1 < len(self.first_spot) else len(self.spots)
        for index in range(start, stop):
            spot = self.spots[index]
            if spot.cell == cell and spot.piece == piece:
                return index
        return None

    def of_line(self, line: int) -> list[Spot]:
        """The spots of a line."""
        start = self.first_spot[line]
        stop = self.first_spot[line + 1] if line + 1 < len(self.first_spot) else len(self.spots)
        return self.spots[start:stop]

    def of_cell(self, line: int, cell: int) -> list[Spot]:
        """The spots of a cell."""
        return [s for s in self.of_line(line) if s.cell == cell]

    @cached_property
    def pairs(self) -> list[Pair]:
        """Every label with its value, in reading order."""
        return list(_pairs(self))

    @cached_property
    def _by_concept(self) -> dict[str, tuple[list[int], list[tuple[int, Pair]]]]:
        """The pairs of each concept by the line of their value, for looking into a part of a long document."""
        rows: dict[str, list[tuple[int, int, Pair]]] = {}
        for number, pair in enumerate(self.pairs):
            for concept in pair.concepts:
                rows.setdefault(concept, []).append((self.spots[pair.at].line, number, pair))
        out: dict[str, tuple[list[int], list[tuple[int, Pair]]]] = {}
        for concept, found in rows.items():
            found.sort(key=lambda row: row[:2])
            out[concept] = ([line for line, _, _ in found], [(number, pair) for _, number, pair in found])
        return out

    def find(self, *concepts: str, start: int = 0, stop: int | None = None) -> list[Pair]:
        """The pairs of these concepts whose value stands between two lines, in reading order."""
        found: dict[int, Pair] = {}
        for concept in concepts:
            lines, pairs = self._by_concept.get(concept, ((), ()))
            first = bisect_left(lines, start)
            last = bisect_left(lines, stop) if stop is not None else len(lines)
            found.update(pairs[first:last])
        return [found[number] for number in sorted(found)]


def view_of(doc: Document, language: str | None) -> View:
    """The view of `doc` as a text in `language`."""
    words = words_for(language)
    view = View(doc=doc, words=words, language=language)
    for number, line in enumerate(doc.lines):
        view.first_spot.append(len(view.spots))
        for c, cell in enumerate(line.cells):
            for p, piece in enumerate(cell.pieces):
                if len(view.spots) >= MAX_SPOTS:
                    break
                text = piece.text
                amounts = find_amounts(text, language) if any(ch.isdigit() for ch in text) else ()
                spot = Spot(
                    number, c, p, text, piece.links, piece.bold, piece.heading, piece.strong, piece.struck, amounts
                )
                spot.folded = fold(text)
                _label(spot, words)
                view.spots.append(spot)
    return view


def _label(spot: Spot, words: Words) -> None:
    """Find the label that the spot is or begins with."""
    text = spot.text
    if not text or len(text) > 400:
        return
    if len(text) <= 70:
        concepts = words.label(text)
        if concepts:
            spot.concepts, spot.label, spot.whole = concepts, text, True
            return
    found = lead(text, words)
    if found is not None:
        spot.concepts, spot.label, spot.value = found


def lead(text: str, words: Words) -> tuple[tuple[str, ...], str, str] | None:
    """The label that `text` begins with and its value: before a colon, or before a value of the label's own kind."""
    marked = _MARKED_RE.match(text)
    if marked is not None:
        concepts = words.label(marked.group(1)) if marked.group(1) else ()
        if concepts:
            return concepts, marked.group(1), text[marked.end() :].strip(" :：")
        text = text.lstrip("■●◆▼▶◇□○※★☆➤►・ ")
    colon = _COLON_RE.search(text[:60])
    if colon is not None and colon.start() > 0:
        left = text[: colon.start()]
        concepts = words.label(left) or _of_money(left, text[colon.end() :], words)
        if concepts:
            return concepts, left, text[colon.end() :].strip()
    start = text.lstrip("[(「【 ")
    for concepts, label, rest in words.leading(start):
        fitting = tuple(c for c in concepts if fits(c, rest, words))
        if fitting:
            return fitting, label, rest.strip()
    return None


def _of_money(label: str, value: str, words: Words) -> tuple[str, ...]:
    """The concepts of a label that only its first word tells ("Price paid: 5.25"), where an amount follows."""
    first, _, rest = label.partition(" ")
    if not rest or rest.count(" ") > 3 or any(words.has_word(fold(label), "goods", k) for k in ("pattern", "craft")):
        return ()
    concepts = tuple(c for c in words.exact(trim_label(first)) if c in MONEY)
    return concepts if concepts and _amount_soon(value.strip(), words) else ()


def fits(concept: str, value: str, words: Words) -> bool:
    """Whether `value` begins with what the concept asks for (a code, an amount, a date)."""
    value = value.strip(" :：([=-–")
    if concept in NUMBERS or concept == "reference":
        return code_in(value) is not None
    if concept in MONEY:
        return bool(value) and _amount_soon(value, words)
    if concept in DATES:
        return any(found.start <= 14 for found in find_dates(value[:60], words.language))
    if concept == "quantity":
        return bool(re.match(r"[x×]?\s?\d{1,3}(?:\s|\Z|[x×])", value))
    return False


def _amount_soon(value: str, words: Words) -> bool:
    """Whether an amount follows with no more than a code or a percentage before it."""
    found = find_amounts(value[:60], words.language)
    if not found:
        return False
    between = re.sub(r"[-+]?\d{1,3}(?:[.,]\d{1,3})?\s?%|\([^()]{0,30}\)", " ", value[: found[0].start])
    rest = between.strip(" :：=-–.*(")
    return not rest or (len(rest) <= 20 and " " not in rest and (rest.isupper() or any(c.isdigit() for c in rest)))


def code_in(value: str) -> str | None:
    """The order number or other code that `value` begins with: holds a digit, or is six or more capitals."""
    value = value.strip().lstrip("#№:：.([「【- ").strip()
    for mark in ("nr.", "no.", "n°", "nº", "num.", "nr", "no", "id", "n."):
        if value.lower().startswith(mark) and value[len(mark) : len(mark) + 1] in (" ", "#", ":", ""):
            value = value[len(mark) :].lstrip(" #:.")
            break
    match = CODE_RE.match(value)
    if match is None:
        return None
    code = match.group(1).rstrip("./-_")
    following = value[match.end(1) : match.end(1) + 1]
    if _NOT_CODE_RE.match(code) or (following.isalpha() and following < "\u3040"):
        return None
    digits = sum(c.isdigit() for c in code)
    if digits >= 2 or (digits and len(code) >= 2 and not code.isdigit()) or (digits == 1 and code.isdigit()):
        found = parse_amount(value[:20])
        if found is not None and (found.marked or found.decimals == 2):
            return None
        return code
    long = len(code) >= 6 or (len(code) >= 4 and "-" in code)
    return code if long and code.isupper() and code.isascii() else None


def _pairs(view: View) -> Iterator[Pair]:
    for index, spot in enumerate(view.spots):
        if spot.whole:
            if not spot.links:  # a label that is a link is its own value
                yield from _distant(view, index, spot)
        elif spot.text.count(":") > 1 and len(spot.text) < 300 and len(parts := _by_colons(spot.text, view.words)) > 1:
            for concepts, label, value in parts:
                yield Pair(concepts, label, value, index, index, "inline")
        elif spot.concepts:
            yield from _split(view, index, spot.concepts, spot.label, spot.value)
        elif spot.text and len(spot.text) < 400 and _PART_RE.search(spot.text):
            for part in _PART_RE.split(spot.text)[:12]:
                part = part.strip()
                found = lead(part, view.words) if 3 < len(part) < 120 else None
                if found is not None:
                    yield Pair(*found, index, index, "inline")


def _by_colons(text: str, words: Words) -> list[tuple[tuple[str, ...], str, str]]:
    """Labels with colons that follow each other in one line ("Date: 8 Nov  Order: ZS-7 of 7 Nov"), with values."""
    found: list[tuple[int, int, tuple[str, ...], str]] = []  # start of label, start of value, concepts, label
    for colon in _COLON_RE.finditer(text):
        before = text[found[-1][1] if found else 0 : colon.start()]
        tokens = before.split(" ")
        for count in range(min(4, len(tokens)), 0, -1):
            label = " ".join(tokens[-count:])
            concepts = words.label(label)
            if concepts and "note" not in concepts:
                found.append((colon.start() - len(label), colon.end(), concepts, label.strip()))
                break
    out: list[tuple[tuple[str, ...], str, str]] = []
    for number, (_, begin, concepts, label) in enumerate(found):
        end = found[number + 1][0] if number + 1 < len(found) else len(text)
        out.append((concepts, label, text[begin:end].strip(" ·|,;–-")))
    return out


def _split(view: View, index: int, concepts: tuple[str, ...], label: str, value: str) -> Iterator[Pair]:
    """`value` may hold further pairs: "Order: X · Date: Y"."""
    parts = _PART_RE.split(value) if _PART_RE.search(value) else [value]
    kept = value
    for number, part in enumerate(parts[1:12], 1):
        found = lead(part.strip(), view.words) if 3 < len(part) < 120 else None
        if found is not None:
            if kept is value:
                cut = value.find(part)
                kept = value[:cut].rstrip(" ·•|–—-;,(") if cut > 0 and number == 1 else value
            yield Pair(*found, index, index, "inline")
    if not value and view.spots[index].links:
        kept = ""
    yield Pair(concepts, label, kept, index, index, "inline")


def _distant(view: View, index: int, spot: Spot) -> Iterator[Pair]:
    """The value of a line that is only a label: below in its cell, beside it, or in the column below it."""
    line = view.lines[spot.line]
    below = view.spot_at(spot.line, spot.cell, spot.piece + 1)
    if below is not None and view.spots[below].text and not view.spots[below].whole:
        yield Pair(spot.concepts, spot.label, view.spots[below].text, index, below, "below")
        return
    if below is None and spot.piece == 0 and spot.cell + 1 < len(line.cells):
        beside = view.of_cell(spot.line, spot.cell + 1)
        if beside and not beside[0].whole:
            at = view.spot_at(spot.line, spot.cell + 1, beside[0].piece)
            value = next((s.text for s in beside if s.text), "")
            if at is not None and value:
                yield Pair(spot.concepts, spot.label, value, index, at, "beside")
                return
    if len(line.cells) > 1:
        under = _under(view, spot)
        if under is not None:
            yield Pair(spot.concepts, spot.label, view.spots[under].text, index, under, "column")
        return
    for number in range(spot.line + 1, min(spot.line + 3, len(view.lines))):
        following = view.of_line(number)
        if not following:
            continue  # a rule between label and value
        first = following[0]
        if first.text and not first.whole and len(view.lines[number].cells) == 1:
            yield Pair(spot.concepts, spot.label, first.text, index, view.first_spot[number], "below")
        return


def _under(view: View, spot: Spot) -> int | None:
    """The spot below a label in a row of labels."""
    number = spot.line + 1
    if number >= len(view.lines) or len(view.lines[number].cells) < 1:
        return None
    column = view.lines[spot.line].cells[spot.cell].column
    cells = view.lines[number].cells
    same = len(cells) == len(view.lines[spot.line].cells)
    best = spot.cell if same else min(range(len(cells)), key=lambda c: abs(cells[c].column - column))
    found = view.spot_at(number, best, 0)
    if found is None or view.spots[found].whole or not view.spots[found].text:
        return None
    return found


def is_heading_label(spot: Spot, words: Words) -> bool:
    """Whether the line only names a section ("Order summary", "Your items")."""
    return spot.whole or trim_label(spot.text) in words.phrase_set("signs", "order")
