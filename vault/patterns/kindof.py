"""Whether a file is a pattern and of which craft.

A pattern tells how to make something, or is drawn to be cut out; and it has more than one kind of evidence: materials
with amounts, a gauge, sizes, a seam allowance, a test square, its shorthand explained, terms for what is made
(`making`).  Each kind counts once.  To name things of the trade is not enough, however often: a novel, an exam, a
catalogue and a bill do so too.  What has the form of another paper (`form`) needs more before it is believed, but no
word refuses a body of instructions.  The answer is None where something speaks for a pattern and too little: what might
be one is kept.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from vault.model.pdf import PdfReading
from vault.patterns.form import Form, form_of, speaks_against
from vault.patterns.making import CRAFTS, Making, making_of
from vault.patterns.pages_text import PageText
from vault.patterns.scale import scale_check
from vault.patterns.seam import seam_allowance_mm
from vault.patterns.words import CJK_RE, LANGUAGES, NEIGHBOURS, expression_re

# What the signs of a group say for its craft; the first counts whole, many at most two and a half times.
WEIGHTS: dict[str, float] = {
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
}
_SHARED_BY_YARN = ("knitting.gauge", "knitting.yarn")
_STEP, _MOST_STEPS = 1.5, 5  # what a step says for its craft, and how many count
_QUILTED = 4.0  # what layers and rows of squares say: a quilt is sewn of the same words as a skirt
_BODY, _LONG_BODY = 3, 6  # sentences that tell what to do
_DENSE, _OWN_WORDS = 0.1, 8  # of them a word, and words of the craft alone, where little else is said
_SPARSE = 4.0  # of them in a thousand words, below which a long text is no instructions
_LONG_TEXT = 600  # words
_SLIGHT, _LIGHT, _HEAVY = 0.8, 1.5, 4.0  # what speaks for another paper
_DRAWN_ENOUGH = 3.0  # of a drawing that no other paper has
_SHEETS = 2.0  # of sheets that may be a pattern's
_DESIGN = 4  # data of a stitched design
_FEW_TILES = 3  # pages with a label of their place and few words
_ONE_PAGE = 200  # words
_SHORT_TEXT = 25  # words below which the words of every language count
_HEAD_LINES, _HEAD_WORDS = 5, 8
_FEW_WORDS = 40
_SILENT_WORDS = 12  # from which words without any of the trade's are another paper
_TOLD = ("Title", "Author", "Subject", "Keywords")  # of the document, asked where its pages hold few words
_CHART_CELLS, _CHART_WORDS = 100, 120  # paths of a chart, and words beside it
_LOOKED_AT = 300_000  # characters
_FOREIGN_RE = re.compile("[\u0370-\u1fff\uac00-\ud7af]")  # letters of scripts that are not read
_STRANGE_RE = re.compile("[ěčřůňťďľĺŕőűășțţğşãõāēīūņļķģėįųđĚČŘŮŇŤĎĽŐŰĂȘȚŢĞŞÃÕĀĒĪŪŅĻĶĢĖĮŲĐ]")  # of languages not read
_SIZE_LAYER_RE = re.compile(
    r"(?:\D{0,12}[\s._-])?(?:\d{1,3}(?:\s?[-/]\s?\d{1,3})?[wy]?|x{0,5}[sml]|\d?xl|\dx|xs|one size)(?: ?cm)?",
    re.IGNORECASE,
)
_CAMERA_RE = re.compile(r"(?:img|dsc[fn]?|pict|pxl|dcim|photo|foto|whatsapp image)[-_ ]?\d|\d{8}_\d{6}", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class Kind:
    """The answer with its reasons; `by_silence`: False only because nothing speaks for a pattern."""

    is_pattern: bool | None
    craft: str | None
    why: tuple[str, ...]
    by_silence: bool = False


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """All that was found: in the words, in the form, in the drawing."""

    n_words: int
    made: Making
    form: Form
    against: dict[str, float]
    drawn: float
    drawn_why: tuple[str, ...]
    measured: bool  # a square that its label measures
    seam: bool
    named: bool  # a line of its head says what kind of pattern it is
    preview: bool  # it says that it is a part of a whole
    groups: dict[str, float]

    @property
    def body(self) -> int:
        """Sentences that tell what to do; in a long text only where they stand close together."""
        made = self.made
        yarn = made.steps["knitting"] + made.steps["crochet"]
        named = len(made.own) + ("other.pattern" in self.groups)
        body = made.body if named >= min(2, made.body) or yarn >= made.body - yarn else yarn
        sparse = self.n_words > _LONG_TEXT and body * 1000 < _SPARSE * self.n_words
        return min(body, 1) if sparse else body

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of evidence beside instructions and drawing."""
        kinds = [kind for kind in self.made.kinds if kind != "a seam allowance"]
        if self.seam:
            kinds.append("a seam allowance")
        if self.body >= _LONG_BODY and self.body >= _DENSE * self.n_words and len(self.made.own) >= _OWN_WORDS:
            kinds.append("hardly anything but steps")
        if 0 < self.made.cuts < self.made.body:
            kinds.append("pieces to cut")
        if self.named:
            kinds.append("its name in the head")
        if self.measured or "print.square" in self.groups:
            kinds.append("a test square")
        if "a chart of many cells" in self.drawn_why:
            kinds.append("a chart")
        return tuple(kinds)

    @property
    def sheets(self) -> float:
        """How much the pages are sheets to cut out."""
        tiles = _SHEETS if self.form.tiles >= _FEW_TILES else 0.0
        return self.drawn + tiles + (1.0 if self.measured else 0.0)

    @property
    def weight(self) -> float:
        """What speaks for another paper; the second and third thing count less."""
        weights = sorted(self.against.values(), reverse=True)
        return sum(value * share for value, share in zip(weights, (1.0, 0.5, 0.25), strict=False))


def kind_of(
    pages: Sequence[PageText], *, language: str | None = None, reading: PdfReading | None = None, name: str = ""
) -> Kind:
    """What the file is, by its words, its drawing (where there is a `reading`) and, with few words, its name."""
    evidence, text = _evidence(pages, language, reading, name)
    if is_pattern(evidence):
        return Kind(is_pattern=True, craft=craft_of(evidence), why=(f"a pattern: {_reasons(evidence)}",))
    if reading is not None and _photographs(reading, evidence.n_words, name):
        return Kind(is_pattern=False, craft=None, why=("no pattern: photographs, named as a camera names them",))
    if might_be(evidence, text, reading):
        said = _reasons(evidence)
        return Kind(
            is_pattern=None, craft=None, why=(f"cannot be told: {said}" if said else "cannot be told by its words",)
        )
    weighs = evidence.weight >= _LIGHT
    why = _NAMES[max(evidence.against, key=lambda name: evidence.against[name])] if weighs else _NOTHING
    return Kind(is_pattern=False, craft=None, why=(f"no pattern: {why}",), by_silence=not weighs)


def _evidence(
    pages: Sequence[PageText], language: str | None, reading: PdfReading | None, name: str
) -> tuple[Evidence, str]:
    text = distinct_text(pages)
    n_words = _n_words(text)
    charted = reading is not None and any(page.n_paths >= _CHART_CELLS for page in reading.pages)
    # the symbols of a chart and a handful of words tell no language
    short = n_words < (_CHART_WORDS if charted else _SHORT_TEXT)
    made, languages = _best_reading(text, language, short=short)
    groups = dict(made.groups)
    if n_words < 30:
        told = " ".join(reading.metadata.get(key, "") for key in _TOLD)[:2000] if reading is not None else ""
        for group, signs in making_of(f"{name}\n{told}", frozenset(LANGUAGES)).groups.items():
            groups[group] = groups.get(group, 0.0) + 0.5 * signs
    form = form_of(pages, text)
    measured = reading is not None and scale_check(reading)[0] is not None
    drawn, drawn_why = _drawn(reading, n_words, groups, measured=measured)
    seam = made.seam > 0 or ("sewing.seam" in groups and seam_allowance_mm(pages, language)[0] is not None)
    evidence = Evidence(
        n_words=n_words,
        made=made,
        form=form,
        against=speaks_against(form, made, text),
        drawn=drawn,
        drawn_why=drawn_why,
        measured=measured,
        seam=seam,
        named=_named(text, languages),
        preview=expression_re("parts", "preview").search(text) is not None,
        groups=groups,
    )
    return evidence, text


def _named(text: str, languages: frozenset[str]) -> bool:
    """Whether one of the first lines is short and names a pattern of a craft: "A cross stitch chart"."""
    head = [line for line in text.split("\n")[:_HEAD_LINES] if len(line.split()) <= _HEAD_WORDS]
    signs = making_of("\n".join(head), languages).groups
    return any(group in signs for group in _PATTERN_NAMES)


def _best_reading(text: str, language: str | None, *, short: bool) -> tuple[Making, frozenset[str]]:
    """What the words show in their language; a handful of them in whichever of all languages they show most."""
    every = frozenset(LANGUAGES)
    if language is None:
        return making_of(text, every), every
    choice = frozenset([language, *NEIGHBOURS.get(language, ())])
    made = making_of(text, choice)
    other = every if short else frozenset(["en"]) - choice
    if other and (short or not (made.body or made.kinds)):
        second = making_of(text, other)
        if (second.body, len(second.kinds)) > (made.body, len(made.kinds)):
            return second, other
    return made, choice


def is_pattern(evidence: Evidence) -> bool:
    """Whether there is enough: instructions or sheets, and at least one kind of evidence beside them."""
    kinds, weight, body = len(evidence.kinds), evidence.weight, evidence.body
    if evidence.drawn >= _DRAWN_ENOUGH and (weight < _LIGHT or (kinds and weight < _HEAVY)):
        return True
    ours = body or evidence.seam or evidence.made.materials or any(group in evidence.groups for group in _OURS)
    if evidence.sheets >= _SHEETS and ours and weight < _LIGHT:
        return True
    if evidence.preview and evidence.seam and kinds >= 2 and evidence.n_words < _FEW_WORDS and weight < _SLIGHT:
        return True
    if not set(evidence.kinds) - _SAID_ELSEWHERE:
        return False
    if body >= _LONG_BODY and kinds >= (1 if weight < _LIGHT else 3):
        return True
    if body >= _BODY and kinds >= (1 if weight < _SLIGHT else 2 if weight < _LIGHT else 3) and weight < _HEAVY:
        return True
    if body and kinds >= 4 - body and weight < _SLIGHT:
        return True
    named = "embroidery.pattern" in evidence.groups
    designed = evidence.made.design + (2 if named else 0) >= _DESIGN
    return designed and bool(kinds) and bool(body or named) and weight < _LIGHT


def might_be(evidence: Evidence, text: str, reading: PdfReading | None) -> bool:
    """Whether something speaks for a pattern, so that it is kept."""
    body, kinds, weight = evidence.body, len(evidence.kinds), evidence.weight
    if evidence.n_words < _SILENT_WORDS and weight < _LIGHT:
        return True
    if weight < _LIGHT and _is_foreign(text):
        return True
    if body >= (_BODY if weight < _LIGHT or kinds >= 2 else _LONG_BODY) or evidence.drawn >= _DRAWN_ENOUGH:
        return True
    if body and body + kinds >= 3 and weight < _LIGHT:
        return True
    if body and kinds and weight < _SLIGHT and evidence.n_words < _ONE_PAGE:
        return True
    if evidence.sheets >= 1.0 and weight < _LIGHT:
        return True
    if evidence.made.design >= _DESIGN and weight < _LIGHT:
        return True
    if evidence.n_words < _FEW_WORDS and weight < _SLIGHT:
        drawn = reading is not None and any(page.large_paths or page.cut_paths for page in reading.pages)
        named = evidence.named and (kinds >= 2 or "any.pattern" in evidence.groups)
        return bool(body or drawn or evidence.seam or evidence.measured or named)
    return evidence.preview and weight < _LIGHT and bool(body or kinds)


def _is_foreign(text: str) -> bool:
    """Whether a text is in a language that is not read, by letters that none of those read has."""
    strange = len(_STRANGE_RE.findall(text))
    return len(_FOREIGN_RE.findall(text)) * 4 > len(text) or (strange >= 4 and strange * 120 > len(text))


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


def _drawn(
    reading: PdfReading | None, n_words: int, groups: dict[str, float], *, measured: bool
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
    if "any.chart" in groups and any(page.n_paths >= _CHART_CELLS for page in reading.pages):
        value += _SHEETS
        why.append("a chart of many cells")
    large = [p for p in reading.pages if min(p.width_mm, p.height_mm) >= 500 and p.large_paths >= 2]
    if large and n_words < 500:
        # a plotted plan whose letters are drawn has thousands of small strokes
        outlines = all(page.framed and page.large_paths * 3 >= page.n_paths for page in large)
        value += 4.0 if outlines and not n_words else 1.5
        why.append("large outlines on a large sheet")
        value += 2.0 if "print.format" in groups else 0.0
    if ("print.square" in groups or measured) and outlined and n_words < 120:
        value += 1.0
        why.append("outlines beside a test square")
    return value, tuple(why)


def _pictures(reading: PdfReading) -> bool:
    return any(page.n_images for page in reading.pages)


def craft_of(evidence: Evidence) -> str | None:
    """The craft that its steps and its words name; sewing for sheets that name none."""
    groups = evidence.groups
    values = {group: WEIGHTS[group] * 2.5 * (1 - float(0.6 ** min(groups.get(group, 0.0), 12.0))) for group in WEIGHTS}
    crafts = {craft: sum(value for group, value in values.items() if group.startswith(craft + ".")) for craft in CRAFTS}
    for craft in CRAFTS:
        steps = evidence.made.steps[craft]
        crafts[craft] += _STEP * min(steps, _MOST_STEPS)
    if "quilting.step" in groups and ("quilting.cloth" in groups or "quilting.pattern" in groups):
        crafts["quilting"] += _QUILTED * min(groups["quilting.step"], 2.0)
    crafts["embroidery"] += evidence.made.design if evidence.made.design >= _DESIGN else 0.0
    shared = sum(values[group] for group in _SHARED_BY_YARN)
    if values["crochet.step"] + values["crochet.tool"] + values["crochet.pattern"] >= 3:
        crafts["crochet"] += shared
    craft = max(CRAFTS, key=lambda one: crafts[one])
    if crafts[craft] >= 1.5:
        return craft
    return "sewing" if evidence.sheets >= _SHEETS or evidence.seam else None


def _photographs(reading: PdfReading, n_words: int, name: str) -> bool:
    pictures = all(page.n_images and not page.n_paths for page in reading.pages)
    return not n_words and pictures and len(reading.pages) <= 4 and _CAMERA_RE.match(name) is not None


def _reasons(evidence: Evidence) -> str:
    made, said = evidence.made, []
    crafts = [craft for craft, _ in made.steps.most_common(3) if craft in CRAFTS[:-1]][:2]
    if evidence.body:
        steps = "step" if evidence.body == 1 else "steps"
        said.append(f"{evidence.body} {steps}" + (f" of {' and '.join(crafts)}" if crafts else ""))
    if made.cuts and "pieces to cut" not in evidence.kinds:
        said.append("pieces to cut")
    if made.design >= _DESIGN:
        said.append("the data of a stitched design")
    if evidence.form.tiles >= _FEW_TILES:
        said.append("pages with labels of their place")
    said += evidence.kinds[:4]
    said += [why for why in evidence.drawn_why if why not in said]
    if not said:
        said += [_GROUPS[group] for group in evidence.groups if group in _GROUPS][:3]
    return ", ".join(said)


_SAID_ELSEWHERE = frozenset(["sizes", "terms of use"])  # kinds that manuals and shops have too
_PATTERN_NAMES = tuple(f"{craft}.pattern" for craft in CRAFTS)
_OURS = (
    *_PATTERN_NAMES,
    "sewing.cut",
    "sewing.mark",
    "knitting.step",
    "crochet.step",
    "embroidery.step",
)
_GROUPS = {
    "any.pattern": "calls itself a pattern",
    **{f"{craft}.pattern": f"names a pattern of {craft}" for craft in CRAFTS[:-1]},
    "other.pattern": "names another craft",
    "print.tile": "pages to tape together",
    "print.format": "print formats",
    "sewing.piece": "names of pattern pieces",
    "sewing.cloth": "fabrics",
    "knitting.yarn": "yarn",
}
_NOTHING = "nothing in it tells how to make something, and nothing is drawn to cut out"
_NAMES = {
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
    "not.times": "a timetable",
    "not.marks": "questions with marks",
    "not.tale": "a tale or an opinion",
    "not.questions": "questions",
    "not.named": "its head says what it is",
}
