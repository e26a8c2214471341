"""Whether a file is a pattern and of which craft, by weighed signs of the trade and of other documents.

Signs come in groups (`sewing.cut`, `not.money` ...; the word files list them).  A group counts once with its weight and
a little more for each further sign, so that one repeated word proves nothing.  Naming a pattern is not enough: an
invoice names one too.  What makes a pattern is the making (cut, seam, gauge, cast on, hoop) and the printing (test
square, tape here, layers of sizes, outlines that run over the edge of the page).  A pattern counts and measures:
in prose without numbers, and in long texts with the signs far between, they are worth little, since a novel too has
sleeves and buttons.  Answers are None where nothing speaks for either.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from vault.model.pdf import PdfReading
from vault.patterns.form import Form, form_of, making_form, speaks_against
from vault.patterns.maker import MAKER_RE
from vault.patterns.pages_text import PageText
from vault.patterns.words import CJK_RE, NEIGHBOURS, Sign, expression_re, fold, signs_in

WEIGHTS: dict[str, float] = {
    "any.pattern": 1.0,
    "any.size": 1.0,
    "any.skill": 1.0,
    "any.need": 0.7,
    "any.chart": 0.6,
    "sewing.pattern": 2.5,
    "sewing.cut": 2.5,
    "sewing.mark": 2.0,
    "sewing.cloth": 1.2,
    "sewing.notion": 0.8,
    "sewing.seam": 2.0,
    "sewing.step": 1.5,
    "sewing.piece": 0.8,
    "knitting.pattern": 2.5,
    "knitting.gauge": 1.5,
    "knitting.tool": 1.5,
    "knitting.step": 2.5,
    "knitting.machine": 2.5,
    "knitting.yarn": 1.0,
    "crochet.pattern": 2.5,
    "crochet.tool": 2.0,
    "crochet.step": 2.5,
    "embroidery.pattern": 2.5,
    "embroidery.tool": 1.7,
    "embroidery.step": 1.5,
    "quilting.pattern": 3.0,
    "quilting.cloth": 1.7,
    "quilting.step": 2.2,
    "other.pattern": 1.8,
    "print.square": 2.5,
    "print.scale": 0.7,
    "print.tile": 2.0,
    "print.format": 0.7,
    "not.money": 1.6,
    "not.bank": 1.8,
    "not.manual": 1.5,
    "not.recipe": 1.4,
    "not.travel": 1.2,
    "not.plan": 1.4,
    "not.school": 1.4,
    "not.letter": 1.1,
    "not.shop": 1.4,
    "not.talk": 1.6,
    "not.wood": 1.5,
}
CRAFTS = ("sewing", "knitting", "crochet", "embroidery", "quilting", "other")
_CORE = ("cut", "mark", "seam", "step", "cloth")  # what only instructions have; a machine's manual has the tools too
_NAMING = ("any.", "print.format", "print.scale")
_SHARED_BY_YARN = ("knitting.gauge", "knitting.yarn")
ENOUGH, OTHER_ENOUGH = 3.6, 2.3
_MAKING_ENOUGH = 2.0
_TALK_ENOUGH = 1.2  # signs of another paper that outweigh trade words without any form of a pattern
_NAMED_CORE = 8.0  # of the making, from which a paper is a pattern although its head names another paper
_LONG_LINE, _PROSE_LINES = 9, 2  # words; lines of them that make talk
_DRAWN_ENOUGH = 3.0  # of a drawing that no other paper has
_FEW_TILES = 3  # pages with a label of their place and few words
_SILENT_WORDS = 12  # from which words without any of the trade's are another paper
_SHORT_TEXT = 80  # words below which the words of every language count
_DENSE = 25.0  # signs in a thousand words of a pattern; seldom under 60 there, seldom over 12 elsewhere
_TOLD = ("Title", "Author", "Subject", "Keywords")  # of the document, asked where its pages hold few words
_CHART_CELLS = 100  # paths
_NUMBERED = 0.04  # share of words with a digit from which a text measures; patterns have 8 % and more, prose under 2
_WORKED = (".step", ".cut", ".mark", ".seam", ".gauge")
_STEPPED = 0.16  # signs of the making a word from which a text without numbers is instructions all the same
_LOOKED_AT = 300_000  # characters
_SIZE_LAYER_RE = re.compile(
    r"(?:\D{0,12}[\s._-])?(?:\d{1,3}(?:\s?[-/]\s?\d{1,3})?[wy]?|x{0,5}[sml]|\d?xl|\dx|xs|one size)(?: ?cm)?",
    re.IGNORECASE,
)
_CAMERA_RE = re.compile(r"(?:img|dsc[fn]?|pict|pxl|dcim|photo|foto|whatsapp image)[-_ ]?\d|\d{8}_\d{6}", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class Kind:
    """The answer with its reasons; `by_silence`: False only because no sign of the trade was found."""

    is_pattern: bool | None
    craft: str | None
    why: tuple[str, ...]
    by_silence: bool = False


def kind_of(
    pages: Sequence[PageText], *, language: str | None = None, reading: PdfReading | None = None, name: str = ""
) -> Kind:
    """What the file is, by its words, its drawing (where there is a `reading`) and, with few words, its name."""
    text = distinct_text(pages)
    n_words = _n_words(text)
    groups = _by_group(signs_in(text), language if n_words >= _SHORT_TEXT else None)
    if n_words < 30:
        told = " ".join(reading.metadata.get(key, "") for key in _TOLD)[:2000] if reading is not None else ""
        for group, signs in _by_group(signs_in(fold(f"{name} {told}")), None).items():
            groups[group] = groups.get(group, 0.0) + 0.5 * signs
    groups.pop("not.named", None)  # tells at the head of a paper only
    form = form_of(pages, text)
    values = {group: _value(group, n) for group, n in groups.items()}
    values.update((group, max(value, values.get(group, 0.0))) for group, value in speaks_against(form).items())
    drawn, drawn_why = _drawn(
        reading,
        n_words,
        charted="any.chart" in groups,
        squared="print.square" in groups,
        formats="print.format" in groups,
    )
    kind = _decide(values, groups, n_words, _closeness(groups, text, n_words), drawn, drawn_why, form, text)
    if kind.is_pattern is None and not drawn and _says_nothing(groups, n_words, text, reading):
        why = ("no pattern: nothing in its words is of the trade",)
        return Kind(is_pattern=False, craft=None, why=why, by_silence=True)
    if kind.is_pattern is None and reading is not None and _photographs(reading, n_words, name):
        return Kind(is_pattern=False, craft=None, why=("no pattern: photographs, named as a camera names them",))
    return kind


def distinct_text(pages: Iterable[PageText]) -> str:
    """Each line once (every tile repeats the title line), bounded."""
    lines: dict[str, None] = {}
    length = 0
    for page in pages:
        for line in page.lines:
            if line.text not in lines:
                length += len(line.text) + 1
                if length > _LOOKED_AT:
                    return "\n".join(lines)
                lines[line.text] = None
    return "\n".join(lines)


def _n_words(text: str) -> int:
    cjk = len(CJK_RE.findall(text))
    return round(cjk / 2.5) if cjk > len(text) / 4 else len(text.split())


def _by_group(signs: dict[Sign, int], language: str | None) -> dict[str, float]:
    """How many different signs of each group there are, in the languages that can be meant.

    A second and third occurrence add a little: a sign said often is meant.
    """
    languages = {language, "en", *NEIGHBOURS.get(language, ())} if language else None
    counts: dict[str, dict[tuple[str, ...], float]] = {}
    for sign, times in signs.items():
        if languages is None or sign.language in languages:
            counts.setdefault(sign.group, {})[sign.words] = 1.0 + 0.2 * min(times - 1, 3)
    return {group: sum(words.values()) for group, words in counts.items()}


def _value(group: str, n: float) -> float:
    """The weight for the first sign, at most two and a half times as much for many, of other documents four times.

    The words of an invoice are said once each, so there the number of different ones tells.
    """
    weight = WEIGHTS.get(group, 0.0)
    if group.startswith("not."):
        return weight * 4.0 * (1 - float(0.78 ** min(n, 12.0)))
    return weight * 2.5 * (1 - float(0.6 ** min(n, 12.0)))


def _drawn(
    reading: PdfReading | None, n_words: int, *, charted: bool, squared: bool, formats: bool
) -> tuple[float, tuple[str, ...]]:
    """What the drawing says: size layers, outlines running over the edges of pages, large outlines on a large page,
    framed sheets with outlines and no words, many small cells under the word chart, outlines beside a test square.
    """
    if reading is None or not reading.pages:
        return 0.0, ()
    value, why = 0.0, []
    names = {(layer.name or "").replace("\0", "").strip() for layer in reading.layers}
    sizes = [name for name in names if name and _SIZE_LAYER_RE.fullmatch(name)]
    outlined = any(page.large_paths for page in reading.pages)
    if len(sizes) >= 2:
        value += 4.0 if outlined else 3.0
        why.append(f"layers for sizes ({', '.join(sorted(sizes)[:3])})")
    wordless = n_words < 30 * len(reading.pages)
    bare = n_words < 8 * len(reading.pages)
    enough_cut = 2 if bare else 3
    tiles = sum(page.cut_paths >= 1 and (page.framed or page.cut_paths >= enough_cut) for page in reading.pages)
    framed = sum(page.framed and page.large_paths > 0 for page in reading.pages)
    if tiles >= 2 or (tiles and framed >= 2):
        value += 4.0 if bare else 3.0 if wordless else 1.5
        why.append("outlines that run from page to page")
        if framed * 2 > len(reading.pages) and wordless:
            value += 1.5
            why.append("framed pages to tape together")
    elif framed >= 3 and framed * 3 >= len(reading.pages) and not n_words and not _pictures(reading):
        value += 4.0
        why.append("framed pages with outlines and no words")
    if charted and any(page.n_paths >= _CHART_CELLS for page in reading.pages):
        value += 1.5
        why.append("a chart of many cells")
    large = [p for p in reading.pages if min(p.width_mm, p.height_mm) >= 500 and p.large_paths >= 2]
    if large and n_words < 500:
        # a plotted plan whose letters are drawn has thousands of small strokes
        outlines = all(page.framed and page.large_paths * 3 >= page.n_paths for page in large)
        value += 4.0 if outlines and not n_words else 1.5
        why.append("large outlines on a large sheet")
        value += 2.0 if formats else 0.0
    if squared and outlined and n_words < 120:
        value += 2.0
        why.append("outlines beside a test square")
    return value, tuple(why)


def _pictures(reading: PdfReading) -> bool:
    return any(page.n_images for page in reading.pages)


def _craft_values(values: dict[str, float]) -> dict[str, float]:
    crafts = {craft: sum(value for group, value in values.items() if group.startswith(craft + ".")) for craft in CRAFTS}
    shared = sum(values.get(group, 0.0) for group in _SHARED_BY_YARN)
    if values.get("crochet.step", 0) + values.get("crochet.tool", 0) + values.get("crochet.pattern", 0) >= 3:
        crafts["crochet"] += shared
    return crafts


def _decide(
    values: dict[str, float],
    groups: dict[str, float],
    n_words: int,
    closeness: float,
    drawn: float,
    drawn_why: tuple[str, ...],
    form: Form,
    text: str,
) -> Kind:
    crafts = _craft_values(values)
    craft = max(CRAFTS, key=lambda c: crafts[c])
    named = sum(value for group, value in values.items() if group.startswith(_NAMING))
    printed = values.get("print.square", 0.0) + values.get("print.tile", 0.0)
    printed += WEIGHTS["print.tile"] if form.tiles >= _FEW_TILES else 0.0
    naming = 0.3 if craft == "other" else 0.8  # its signs are the tools and knots themselves
    making = (crafts[craft] - naming * values.get(f"{craft}.pattern", 0.0)) * closeness + printed + drawn
    total = crafts[craft] * closeness + named * max(closeness, 0.3) + printed + drawn
    others = sorted((value for group, value in values.items() if group.startswith("not.")), reverse=True)
    other = sum(value * share for value, share in zip(others, (1.0, 0.5, 0.25), strict=False))
    why = _reasons(values, groups, drawn_why)
    core = closeness * sum(values.get(f"{craft}.{group}", 0.0) for group in _CORE) + printed + drawn
    if other >= OTHER_ENOUGH and (other > 0.75 * making or total < ENOUGH or other > 1.2 * core + 1.0):
        return Kind(is_pattern=False, craft=None, why=(f"no pattern: {_other_reason(values)}",))
    formed = making_form(groups, form, drawn)
    if drawn < _DRAWN_ENOUGH and (
        (form.named and core < _NAMED_CORE and "sheets to print" not in formed)
        or (other >= _TALK_ENOUGH and not formed)
        or (other and not making)
    ):
        return Kind(is_pattern=False, craft=None, why=(f"no pattern: {_other_reason(values)}",))
    if drawn >= 4.0 and not n_words:
        called = max(CRAFTS, key=lambda c: values.get(f"{c}.pattern", 0.0))
        settled = called if values.get(f"{called}.pattern") else "sewing"
        return Kind(is_pattern=True, craft=settled, why=(f"a pattern: {why}",))
    prosaic = sum(len(line.split()) >= _LONG_LINE for line in text.split("\n")) >= _PROSE_LINES
    if total >= ENOUGH and making >= _MAKING_ENOUGH and prosaic and not formed:
        return Kind(is_pattern=None, craft=None, why=(f"only talks of patterns: {why}",))
    if total >= ENOUGH and making >= _MAKING_ENOUGH:
        likely = craft if crafts[craft] >= 1.5 else "sewing" if drawn + printed >= 3.5 and drawn else None
        return Kind(is_pattern=True, craft=likely, why=(f"a pattern: {why}",))
    if total >= ENOUGH and n_words < 120 and crafts[craft] >= 2.0 and not other:
        return Kind(is_pattern=True, craft=craft, why=(f"calls itself a pattern: {why}",))
    if n_words >= 40 and (total < 0.6 * ENOUGH or (making < _MAKING_ENOUGH and crafts[craft] * closeness < 2.5)):
        why = "no pattern: nothing in its words is of the trade"
        return Kind(is_pattern=False, craft=None, why=(why,), by_silence=not other)
    return Kind(is_pattern=None, craft=None, why=(f"cannot be told: {why}" if why else "cannot be told by its words",))


def _closeness(groups: dict[str, float], text: str, n_words: int) -> float:
    """1 where a text measures and has the signs of the trade close together, less where it has them here and there."""
    if n_words < 50:
        return 1.0
    numbered = sum(any(c.isdigit() for c in word) for word in text.split()) / n_words
    steps = sum(n for group, n in groups.items() if group.endswith(_WORKED)) / n_words
    measured = min(1.0, max(0.15, numbered / _NUMBERED, steps / _STEPPED))
    if n_words < 300:
        return measured
    signs = sum(n for group, n in groups.items() if not group.startswith("not."))
    return measured * min(1.0, signs * 1000.0 / min(n_words, 3000) / _DENSE)


def _says_nothing(groups: dict[str, float], n_words: int, text: str, reading: PdfReading | None) -> bool:
    """Whether a paper has words, and none of the trade's, nor of a maker, nor any drawing that could be a piece."""
    if n_words < _SILENT_WORDS or any(not group.startswith("not.") for group in groups):
        return False
    if reading is not None and any(page.large_paths or page.cut_paths for page in reading.pages):
        return False
    return MAKER_RE.search(text) is None and expression_re("parts", "preview").search(text) is None


def _reasons(values: dict[str, float], groups: dict[str, float], drawn_why: tuple[str, ...]) -> str:
    best = sorted((g for g in values if not g.startswith("not.")), key=lambda g: -values[g])[:4]
    words = [_NAMES.get(group, group) for group in best if groups[group]]
    return ", ".join((*words, *drawn_why))


def _other_reason(values: dict[str, float]) -> str:
    best = max((group for group in values if group.startswith("not.")), key=lambda g: values[g])
    return _NAMES.get(best, best)


def _photographs(reading: PdfReading, n_words: int, name: str) -> bool:
    pictures = all(page.n_images and not page.n_paths for page in reading.pages)
    return not n_words and pictures and len(reading.pages) <= 4 and _CAMERA_RE.match(name) is not None


_NAMES = {
    "any.pattern": "calls itself a pattern",
    "any.size": "sizes",
    "any.skill": "a skill level",
    "any.need": "a list of what is needed",
    "any.chart": "a chart",
    "sewing.pattern": "a sewing pattern by name",
    "sewing.cut": "cutting words",
    "sewing.mark": "marks on pattern pieces",
    "sewing.cloth": "fabrics",
    "sewing.notion": "sewing notions",
    "sewing.seam": "seam allowances",
    "sewing.step": "sewing steps",
    "sewing.piece": "names of pattern pieces",
    "knitting.pattern": "a knitting pattern by name",
    "knitting.gauge": "a gauge",
    "knitting.tool": "knitting needles",
    "knitting.step": "knitting steps",
    "knitting.machine": "words of machine knitting",
    "knitting.yarn": "yarn",
    "crochet.pattern": "a crochet pattern by name",
    "crochet.tool": "a hook",
    "crochet.step": "crochet stitches",
    "embroidery.pattern": "an embroidery design by name",
    "embroidery.tool": "hoop, threads or count",
    "embroidery.step": "embroidery stitches",
    "quilting.pattern": "a quilt pattern by name",
    "quilting.cloth": "quilting cloth",
    "quilting.step": "piecing and quilting steps",
    "print.square": "a test square",
    "other.pattern": "another craft",
    "print.scale": "how to print",
    "print.tile": "pages to tape together",
    "print.format": "print formats",
    "not.money": "a bill or an order",
    "not.bank": "a statement or an official paper",
    "not.manual": "a manual",
    "not.recipe": "a recipe",
    "not.travel": "a ticket",
    "not.plan": "a plan of a building",
    "not.school": "school work",
    "not.letter": "a letter, a book or a programme",
    "not.shop": "a shop's catalogue or newsletter",
    "not.talk": "talk of a club, shop or book",
    "not.wood": "wood or wires",
    "not.prices": "a list of prices",
    "not.contents": "a table of contents",
    "not.blanks": "blanks to fill in",
    "not.named": "its head says what it is",
}
