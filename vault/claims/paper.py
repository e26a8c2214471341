"""Text as a PDF that anybody can read: A4, one column, the same bytes for the same text.

Lines are drawn as they are (no markup is interpreted), wrapped and cut into pages here.  Latin, Greek and Cyrillic
letters come from DejaVu Sans, which is embedded; Japanese ones from the font that every PDF viewer with Japanese fonts
has for Adobe-Japan1, which is named and not embedded (an embedded one would add megabytes to the program, and whoever
is written to in Japanese can read Japanese).  What neither has is drawn as U+FFFD.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from vault.claims.safe_text import one_line

_LATIN, _JAPANESE = "DejaVuSans", "HeiseiKakuGo-W5"
_WIDTH, _HEIGHT = 595.27, 841.89  # A4 in points
_MARGIN = 56.7
_SIZE, _LEADING, _SMALL = 10.0, 14.0, 7.5
_LONGEST_LINE = 2000
_MOST_LINES = 4000


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What to draw: a bold-looking head, lines of text, a foot on every page."""

    title: str
    lines: tuple[str, ...]
    foot: str = ""


@cache
def _fonts() -> tuple[Any, Any]:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.cidfonts import UnicodeCIDFont
    from reportlab.pdfbase.ttfonts import TTFont

    data = (resources.files("vault.claims") / "fonts" / "DejaVuSans.ttf").read_bytes()
    latin = TTFont(_LATIN, io.BytesIO(data))
    pdfmetrics.registerFont(latin)
    japanese = UnicodeCIDFont(_JAPANESE)
    pdfmetrics.registerFont(japanese)
    return latin, japanese


def as_pdf(sheet: Sheet) -> bytes:
    """The PDF of a sheet."""
    from reportlab.pdfgen.canvas import Canvas

    _fonts()
    target = io.BytesIO()
    canvas = Canvas(target, pagesize=(_WIDTH, _HEIGHT), invariant=1, pageCompression=1)
    canvas.setTitle(one_line(sheet.title))
    canvas.setCreator("Pinfold")
    lines = [
        *_wrapped(sheet.title, 13.0),
        "",
        *(w for line in sheet.lines[:_MOST_LINES] for w in _wrapped(line, _SIZE)),
    ]
    heads = len(_wrapped(sheet.title, 13.0))
    pages = list(_paged(lines))
    for number, page in enumerate(pages, start=1):
        top = _HEIGHT - _MARGIN
        for n, line in enumerate(page):
            size = 13.0 if number == 1 and n < heads else _SIZE
            _draw(canvas, _MARGIN, top - n * _LEADING - size, line, size)
        _draw(canvas, _MARGIN, _MARGIN / 2, f"{one_line(sheet.foot)}   {number}/{len(pages)}".strip(), _SMALL)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


def _paged(lines: Sequence[str]) -> Iterator[Sequence[str]]:
    per_page = int((_HEIGHT - 2 * _MARGIN) / _LEADING)
    for start in range(0, max(1, len(lines)), per_page):
        yield lines[start : start + per_page]


def _wrapped(text: str, size: float) -> list[str]:
    """`text` in pieces that fit the column; indented as the first piece is."""
    indent = text[: len(text) - len(text.lstrip(" "))][:8]
    clean = one_line(text, _LONGEST_LINE)
    room = _WIDTH - 2 * _MARGIN - _measure(indent, size)
    out: list[str] = []
    current, used = "", 0.0
    for word in _words(clean):
        wide = _measure(word.rstrip(), size)
        if current and used + wide > room:
            out.append(current.rstrip())
            current, used = "", 0.0
        while wide > room:
            cut = _fitting(word, size, room)
            out.append(word[:cut])
            word = word[cut:]
            wide = _measure(word.rstrip(), size)
        current += word
        used += _measure(word, size)
    out.append(current.rstrip())
    return [indent + piece for piece in out]


def _words(text: str) -> Iterator[str]:
    """Words with the blank behind them; Japanese may break at every sign."""
    word = ""
    for char in text:
        word += char
        if char == " " or _is_wide(char):
            yield word
            word = ""
    if word:
        yield word


def _fitting(word: str, size: float, room: float) -> int:
    used = 0.0
    for n, char in enumerate(word):
        used += _measure(char, size)
        if used > room:
            return max(1, n)
    return len(word)


def _is_wide(char: str) -> bool:
    return "\u2e80" <= char <= "\u9fff" or "\uf900" <= char <= "\ufaff" or "\uff00" <= char <= "\uffef"


@cache
def _font_of(char: str) -> str:
    latin, _ = _fonts()
    if ord(char) in latin.face.charToGlyph and not _is_wide(char):
        return _LATIN
    try:
        char.encode("cp932")
    except UnicodeEncodeError:
        return ""
    return _JAPANESE


def _runs(text: str) -> Iterator[tuple[str, str]]:
    run, font = "", _LATIN
    for char in text:
        needed = _font_of(char)
        shown = char if needed else "\ufffd"
        needed = needed or _LATIN
        if needed != font and run:
            yield font, run
            run = ""
        font = needed
        run += shown
    if run:
        yield font, run


@cache
def _advance(char: str) -> float:
    """How far one sign moves the pen, at size 1; the fonts are used without kerning."""
    latin, japanese = _fonts()
    font = _font_of(char)
    shown = char if font else "\ufffd"
    return float((japanese if font == _JAPANESE else latin).stringWidth(shown, 1000.0)) / 1000


def _measure(text: str, size: float) -> float:
    return size * sum(map(_advance, text))


def _draw(canvas: Any, x: float, y: float, text: str, size: float) -> None:
    for font, run in _runs(text):
        canvas.setFont(font, size)
        canvas.drawString(x, y, run)
        x += _measure(run, size)
