"""Sentences of a page for the licence rules: lines joined over their wraps, parted at ends, bullets, gaps and headings.

`raw` keeps the page's own words (line ends as line ends), so that a quote of it is verbatim but for white space; `text`
is what the rules compare: hyphens at line ends gone, one kind of quotation mark and dash.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from vault.patterns.licence_words import CJK_RE, opens, plain
from vault.patterns.memo import remembered
from vault.patterns.pages_text import PageText, TextLine

MM_PER_PT = 25.4 / 72
LONGEST = 1500  # characters of a sentence; longer ones are cut, since no licence needs them
_BULLET_RE = re.compile(
    r"^\s*(?:[•◦▪▫●○■□◆◇★☆·*‣⁃➢➤►▶→✂❤♥✓✔☑✅✗✘✕✖❌☒❎]|[-–—](?=\s)|\(?\d{1,2}[.)](?=\s)|[a-z]\)(?=\s))"
)
_YES_MARK_RE = re.compile("[✓✔☑✅]")
_NO_MARK_RE = re.compile("[✗✘✕✖❌☒❎🚫]")
# A full stop ends a sentence before a blank and anything but a small letter or digit; the Japanese ones always do.
_END_RE = re.compile(r"(?:[.!?…]+[\"'”’»)\]]*(?=\s+[^\sa-zà-öø-ÿ,;)\d]|\s*$|\s+\d+\s+\w)|[。！？])")
_SHORTENED_RE = re.compile(
    r"(?:\b(?:max|min|bzw|usw|etc|evtl|ggf|inkl|incl|excl|ca|z\.\s?b|d\.\s?h|u\.\s?a|e\.g|i\.e|p\.\s?ex|par\s?ex|art|nr|no"
    r"|st|stk|szt|np|kpl|esim|bl\.\s?a|f\.\s?eks|t\.\s?ex|bijv|vs|co|ltd|mr|mrs|ms|dr|pcs?|pp?|approx|resp|lfd|pz|máx|maks|ung|evt"
    r"|zb|ev)|\b\w)\.$",
    re.IGNORECASE,
)
_HYPHEN_RE = re.compile(
    r"(\w)[-\u00ad‐]\n(?!(?:und|oder|and|or|et|ou|en|of|e|o|y|och|eller|og|i|lub|ja|tai)\b)([a-zà-öø-ÿß-ÿąćęłńóśźż])"
)
_WIDE = "[\u3000-\u30ff\u3400-\u9fff\uff00-\uffef]"
_CJK_WRAP_RE = re.compile(rf"(?<={_WIDE})\s+(?={_WIDE})")


@dataclass(frozen=True)
class Sentence:
    """One sentence, bullet or heading of a page.

    `mark` is True or False where a tick or a cross stands before it; `item` tells a point of a list, `block` counts the
    paragraphs of the page.
    """

    raw: str
    text: str
    page: int
    block: int
    item: bool = False
    mark: bool | None = None

    @property
    def quote(self) -> str:
        """The page's own words with single blanks."""
        return " ".join(self.raw.split())


def pages_with(pages: Sequence[PageText], section: str) -> Iterator[PageText]:
    """The pages with a line that opens the gate of a section; most pages of a pattern are outlines with labels."""
    known: dict[str, bool] = {}
    for page in pages:
        found = False
        for line in page.lines:
            text = line.text
            if text not in known:
                known[text] = opens(text, section)
            found = found or known[text]
        if found:
            yield page


def sentences_of(page: PageText) -> Iterator[Sentence]:
    """The sentences of a page in reading order."""
    for block, lines in enumerate(_blocks(page.lines)):
        raw = "\n".join(lines)
        bullet = _BULLET_RE.match(raw)
        mark = True if _YES_MARK_RE.match(raw.lstrip()) else False if _NO_MARK_RE.match(raw.lstrip()) else None
        for part in _parts(raw):
            text = comparable(part)
            if text:
                yield Sentence(part, text, page.number, block, item=bullet is not None, mark=mark)


@remembered
def comparable(raw: str) -> str:
    """The words of a stretch of a page as the rules see them, on one line."""
    text = _HYPHEN_RE.sub(r"\1\2", raw)
    text = " ".join(plain(text).split())
    return _CJK_WRAP_RE.sub("", text) if CJK_RE.search(text) else text


def _blocks(lines: Sequence[TextLine]) -> Iterator[list[str]]:
    """Lines that belong together: bullets, gaps, other sizes and short last lines part them."""
    block: list[str] = []
    widest = 0
    before: TextLine | None = None
    length = 0
    for line in lines:
        if before is not None and (_parted(before, line, widest) or length > LONGEST):
            yield block
            block, widest, length = [], 0, 0
        block.append(line.text)
        widest = max(widest, len(line.text))
        length += len(line.text)
        before = line
    if block:
        yield block


def _parted(before: TextLine, line: TextLine, widest: int) -> bool:
    if _BULLET_RE.match(line.text) or (line.text.endswith(":") and len(line.text) < 60 and line.text[:1].isupper()):
        return True
    if before.text[-1:].isdigit() and line.text[:1].isnumeric():
        return True  # "Sizes 2 to 8" and '1/2" seam allowance': a number is not broken off at the end of a line
    height = max(before.size_pt, line.size_pt) * MM_PER_PT
    step = line.y - before.y
    if not 0.4 * height < step < 2.1 * height:
        return True
    if abs(before.size_pt - line.size_pt) > 0.13 * max(before.size_pt, line.size_pt):
        return True
    if before.bold != line.bold and line.text[:1].isupper():
        return True
    if before.text[-1:] in ".:;,-" or not line.text[:1].isupper():
        return before.text.endswith(":") and len(before.text) < 0.7 * widest
    # A short line with no full stop before a capital is a heading, a cell or a footer; a wrapped one fills its column.
    return len(before.text) < 0.6 * max(widest, len(line.text))


def _parts(raw: str) -> Iterator[str]:
    start = 0
    for match in _END_RE.finditer(raw):
        if match.end() - start < 3 or _SHORTENED_RE.search(raw, max(start, match.end() - 12), match.end()):
            continue
        yield from _cut(raw[start : match.end()])
        start = match.end()
    if raw[start:].strip():
        yield from _cut(raw[start:])


def _cut(part: str) -> Iterator[str]:
    part = part.strip()
    for start in range(0, len(part), LONGEST):
        yield part[start : start + LONGEST]
