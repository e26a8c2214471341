"""The form of a paper: what only a pattern has, and what only other papers have.

Trade words alone make no pattern: a price list, a review and the minutes of a guild are full of them.  A pattern has a
form: pieces to cut with steps to join them, rounds of stitches, a chart, sheets to print at a scale.  Other papers show
theirs too: prices at the ends of lines, leaders in a table of contents, blanks to fill in, and at their head the name
of what they are.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from vault.patterns.pages_text import PageText
from vault.patterns.words import fold, signs_in

_HEAD_LINES = 3
_LONGEST_HEAD = 90  # characters
_LONGEST_LINE = 300
_MOST_LINES = 2000
_CURRENCY = r"(?:€|£|\$|zł|kr|¥|円|eur|usd|gbp|chf|sek|nok|dkk|pln|jpy)"
_PRICE_RE = re.compile(
    rf"(?:^|\s){_CURRENCY}\s?\d{{1,4}}(?:[.,]\d\d)?\b|\b\d{{1,4}}(?:[.,]\d\d)?\s?{_CURRENCY}(?!\w)|"
    r"(?:^|\s)\d{1,4}[.,]\d\d(?:\s?/\s?(?:m|yd|kg|st|stk|pc)\b)?$|\d\s?/\s?m$",
    re.IGNORECASE,
)
_LEADER_RE = re.compile(r"\w\s?(?:\.\s?){3,}\s*\d{1,3}$|…\s*\d{1,3}$")
_BLANK_RE = re.compile(r"_{3,}|\.{8,}|\[\s\]|☐")
_MAP_SCALE_RE = re.compile(r"\b1\s?:\s?(?:[2-9]\d|\d{3}|\d{1,3}[ .,]\d{3})")
_PAGE_LABEL_RE = re.compile(
    r"(?:page|seite|pagina|página|sida|side|sivu|strona|sheet|blatt|feuille|blad|foglio|hoja|arkusz|arkki)?\s*"
    r"\d{1,3}\s*(?:of|von|sur|de|van|di|av|af|z|/)\s*\d{1,3}|[a-z]{1,2}-?\d{1,2}|\d{1,2}-?[a-z]{1,2}|\d{1,3}\s?ページ",
    re.IGNORECASE,
)


@dataclass(frozen=True, kw_only=True)
class Form:
    """`named`: what a paper calls itself at its head; the counts are of lines (`tiles`, of pages)."""

    named: bool
    prices: int
    leaders: int
    blanks: int
    map_scale: bool
    tiles: int


def form_of(pages: Sequence[PageText], text: str) -> Form:
    """What the lines show; `text` holds each line of the pages once."""
    lines = [line for line in text.split("\n")[:_MOST_LINES] if len(line) <= _LONGEST_LINE]
    head = [line for line in lines if fold(line)][:_HEAD_LINES]
    named = any(_names_another(line) for line in head if len(line) <= _LONGEST_HEAD)
    return Form(
        named=named,
        prices=sum(_PRICE_RE.search(line) is not None for line in lines),
        leaders=sum(_LEADER_RE.search(line) is not None for line in lines),
        blanks=sum(_BLANK_RE.search(line) is not None for line in lines),
        map_scale=any(_MAP_SCALE_RE.search(line) for line in lines),
        tiles=sum(_is_tile(page) for page in pages[:300]),
    )


def _names_another(line: str) -> bool:
    """ "Autumn price list", but not "Recipe book cover, a sewing pattern"."""
    groups = {sign.group for sign in signs_in(line)}
    return "not.named" in groups and not any(group.endswith(".pattern") and group != "any.pattern" for group in groups)


def _is_tile(page: PageText) -> bool:
    """A page that has a label of its place and hardly any other word."""
    few = sum(len(line.text.split()) for line in page.lines) <= 20
    return few and any(_PAGE_LABEL_RE.fullmatch(line.text) for line in page.lines)


def speaks_against(form: Form) -> dict[str, float]:
    """The weights of the lines that are another paper's, by group."""
    found = {}
    if form.prices >= 2:
        found["not.prices"] = min(1.0 + 0.8 * form.prices, 4.0)
    if form.leaders >= 3:
        found["not.contents"] = 2.4
    if form.blanks >= 2 or form.map_scale:
        found["not.blanks" if form.blanks >= 2 else "not.plan"] = 1.6
    if form.named:
        found["not.named"] = 4.0
    return found


def making_form(groups: Mapping[str, float], form: Form, drawn: float) -> tuple[str, ...]:
    """What of a pattern's own form is there, by the number of signs in each group; empty for talk of patterns."""
    n = groups.get
    sewing = {part: n(f"sewing.{part}", 0.0) for part in ("cut", "mark", "cloth", "notion", "seam", "step", "piece")}
    joined = sewing["step"] + sewing["mark"]
    signs = {
        "pieces to cut and steps": sewing["cut"] >= 1 and joined + sewing["piece"] >= 2,
        "a cut list": sewing["cut"] >= 2 and sewing["seam"] + sewing["cloth"] + sewing["mark"] + sewing["piece"] >= 1,
        "pieces to cut and a test square": sewing["cut"] >= 1 and sewing["seam"] >= 1 and n("print.square", 0.0) >= 1,
        "steps of sewing": sewing["step"] >= 3 or (sewing["step"] >= 2 and sewing["piece"] + sewing["mark"] >= 1),
        "rows of knitting": n("knitting.step", 0.0) + n("knitting.machine", 0.0) >= 3
        or (n("knitting.step", 0.0) >= 1 and n("knitting.gauge", 0.0) + n("any.chart", 0.0) >= 1),
        "rounds of crochet": n("crochet.step", 0.0) >= 3
        or (n("crochet.step", 0.0) >= 1 and n("crochet.tool", 0.0) + n("knitting.gauge", 0.0) >= 1),
        "stitches to work": n("embroidery.step", 0.0) + n("embroidery.tool", 0.0) >= 2,
        "blocks to piece": n("quilting.step", 0.0) >= 2
        or (n("quilting.step", 0.0) >= 1 and n("quilting.cloth", 0.0) >= 1),
        "sheets to print": drawn >= 2.0
        or form.tiles >= 3
        or (n("print.square", 0.0) >= 1 and n("print.scale", 0.0) + n("print.tile", 0.0) >= 2)
        or n("print.tile", 0.0) >= 2,
        "another craft's steps": n("other.pattern", 0.0) >= 2,
    }
    return tuple(name for name, there in signs.items() if there)
