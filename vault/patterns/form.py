"""What only other papers have: the forms of bills, lists, forms, plans, timetables, exams, tales and talk.

None of these refuses a pattern by itself: a booklet may be called "Diary Cardigan", end with a list of prices or tell a
tale on its first page.  Each form weighs, in bounded measure; what stands against it are the instructions.  Words of
other papers count where several different ones of a kind stand together, in the language of the document.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from vault.patterns.making import Making
from vault.patterns.pages_text import PageText
from vault.patterns.sheet_words import COUNT_RE, GRID_RE, PAGE_RE
from vault.patterns.sheet_words import fold as fold_label
from vault.patterns.words import fold, folded_entries

_LONGEST_LINE = 300
_MOST_LINES = 2000
_HEAD_LINES, _LONGEST_HEAD = 3, 90
_CURRENCY = r"(?:€|£|\$|zł|kr|¥|円|eur|usd|gbp|chf|sek|nok|dkk|pln|jpy)"
_PRICE_RE = re.compile(
    rf"(?:^|\s){_CURRENCY}\s?\d{{1,4}}(?:[.,]\d\d)?\b|\b\d{{1,4}}(?:[.,]\d\d)?\s?{_CURRENCY}(?!\w)|"
    r"(?:^|\s)\d{1,4}[.,]\d\d(?:\s?/\s?(?:m|yd|kg|st|stk|pc)\b)?$|\d\s?/\s?m$",
    re.IGNORECASE,
)
_LEADER_RE = re.compile(r"\w\s?(?:\.\s?){3,}\s*\d{1,3}$|…\s*\d{1,3}$")
_BLANK_RE = re.compile(r"_{3,}|\.{8,}|\[\s\]|☐|^[^\d:]{3,40}:$")
# "1:50", or "1/50" behind a word for it: alone "1/5" and "1/24" are the first of five or 24 pages.
_MAP_SCALE_RE = re.compile(
    r"\b1\s?:\s?(?:5\b(?!\s?(?:oz|in|\"))|[2-9]\d|\d{3}|\d{1,3}[ .,]\d{3})"
    r"|(?:scale|échelle|escala|scala|maßstab|massstab|schaal|skala|målestok\w*|mittakaava\w*|縮尺)\W{0,3}1\s?/\s?\d",
    re.IGNORECASE,
)
_CLOCK_RE = re.compile(
    r"\b(?:[01]?\d|2[0-4])[:.][0-5]\d\s?(?:uhr|am|pm|h\b)|\b\d{1,2}(?:[.:]\d\d)?\s?[-–]\s?\d{1,2}(?:[.:][0-5]\d)\b|"
    r"\b\d{1,2}[-–]\d{1,2}\s(?:uhr|h)\b|\d{1,2}時",
    re.IGNORECASE,
)
_MARKS_RE = re.compile(
    r"\(\d{1,2}\s?(?:marks?|points?|punkte|poeng|pts|p|pkt|puntos|punti|poäng|pistettä)\)|/\s?20$", re.I
)
_CLUE_RE = re.compile(r"^\d{1,2}\.?\s[^\d]+\(\d{1,2}\)$")  # of a crossword
_QUOTE_RE = re.compile(r"[«»„“”\"‘’「」][^«»„“”\"]{4,}[«»„“”\"‘’「」]")
_MOST_WORDS_OF_A_TILE = 20


@dataclass(frozen=True, kw_only=True)
class Form:
    """Counts of lines (`tiles`, of pages)."""

    prices: int
    leaders: int
    blanks: int
    clocks: int
    marks: int
    quotes: int
    map_scale: bool
    tiles: int


def form_of(pages: Sequence[PageText], text: str) -> Form:
    """What the lines show; `text` holds each line of the pages once."""
    lines = [line for line in text.split("\n")[:_MOST_LINES] if len(line) <= _LONGEST_LINE]

    def count(expression: re.Pattern[str]) -> int:
        return sum(expression.search(line) is not None for line in lines)

    return Form(
        prices=count(_PRICE_RE),
        leaders=count(_LEADER_RE),
        blanks=count(_BLANK_RE),
        clocks=count(_CLOCK_RE),
        marks=count(_MARKS_RE) + count(_CLUE_RE),
        quotes=count(_QUOTE_RE),
        map_scale=count(_MAP_SCALE_RE) > 0,
        tiles=sum(_is_tile(page) for page in pages[:300]),
    )


def _is_tile(page: PageText) -> bool:
    """A page that has a label of its place and hardly any other word."""
    few = sum(len(line.text.split()) for line in page.lines) <= _MOST_WORDS_OF_A_TILE
    return few and any(len(line.text) <= 40 and _labels_tile(line.text) for line in page.lines)


def _labels_tile(text: str) -> bool:
    label = fold_label(text).strip(" ()")
    return any(expression.fullmatch(label) for expression in (GRID_RE, COUNT_RE, PAGE_RE))


# How much the words of another kind of paper weigh, for each different one beyond the first; at most three.
_WORDS = {
    "not.money": 0.8,
    "not.bank": 0.9,
    "not.manual": 0.8,
    "not.recipe": 0.7,
    "not.travel": 0.6,
    "not.plan": 0.8,
    "not.school": 0.7,
    "not.letter": 0.6,
    "not.shop": 0.7,
    "not.talk": 0.8,
    "not.wood": 0.9,
}
_MOST_OF_WORDS = 2.7


def speaks_against(form: Form, made: Making, text: str) -> dict[str, float]:
    """What speaks for another paper, by its name, with its weight."""
    found: dict[str, float] = {}
    if form.prices >= 3:
        found["not.prices"] = min(0.5 * form.prices, 3.0)
    if form.leaders >= 3:
        found["not.contents"] = 2.0
    if form.blanks >= 3:
        found["not.blanks"] = min(0.5 * form.blanks, 2.5)
    if form.map_scale:
        found["not.plan"] = 1.6
    if form.clocks >= 3:
        found["not.times"] = 1.6
    if form.marks >= 2:
        found["not.marks"] = min(0.7 * form.marks, 4.0)
    told = made.told / max(made.sentences, 1)
    if made.told >= 2 and told >= 0.12:
        found["not.tale"] = min(6.0 * told, 2.0) + (0.6 if form.quotes >= 2 else 0.0)
    elif made.told and form.quotes and told >= 0.25:
        found["not.tale"] = 1.0
    if made.asked >= 2:
        found["not.questions"] = min(0.4 * made.asked, 1.6)
    named = "not.named" in made.groups and named_at_head(text)
    for group, weight in _WORDS.items():
        signs = made.groups.get(group, 0.0)
        if signs >= 2:  # one word alone is a chance
            signs -= not named
            found[group] = max(found.get(group, 0.0), min(weight * signs, _MOST_OF_WORDS))
    if named:
        found["not.named"] = 1.0
    return found


def named_at_head(text: str) -> bool:
    """Whether one of the first lines is, or begins or ends with, the name of another paper."""
    names = folded_entries("signs", "not.named")
    lines = [folded for line in text.split("\n")[:6] if len(line) <= _LONGEST_HEAD and (folded := fold(line))]
    heads = {head for line in lines[:_HEAD_LINES] for head in _heads(line)}
    return bool(heads & names)


def _heads(line: str) -> set[str]:
    words = line.split()
    return {" ".join(part) for n in range(1, 5) for part in (words[:n], words[-n:])}
