"""The text of a page as runs: one per piece of text on one base line, in the order of the page description.

pdfium gives the text of each text object, with ligatures opened, doubled glyphs (false bold) dropped and spaces
put where the gaps are.  Programs break lines into objects as they please: one per line, per word, or per letter.
So neighbours on one base line are joined where the gap is that of letters (nothing between) or words (a space), and
kept apart where it is that of columns or where the weight or size changes.
"""

from __future__ import annotations

import ctypes
import unicodedata
from dataclasses import dataclass
from math import hypot
from typing import Any

from vault.model.pdf import TextRun
from vault.patterns.pdf_page import IDENTITY, MM_PER_POINT, Matrix, apply, multiply
from vault.patterns.pdfium import bounds_of, library, matrix_of, narrow, utf16

ASCENT = 0.8  # of the font size: where the top of a run is put above its base line
# Gaps between the ink of neighbours, in font sizes: up to the first no blank, up to WORD_GAP a blank.  Where a program
# sets each letter by itself the side bearings count as well; those of digits, which share one width, are widest.
LETTER_GAP, SINGLE_GAP, DIGIT_GAP, WORD_GAP = 0.14, 0.22, 0.33, 1.1
KANA_GAP = 0.6  # kana and ideographs fill a square each, with room around the narrow ones
SPREAD_GAP, _SPREAD_LETTERS = 0.22, 4  # a blank made of letter spacing within a short object
BOLD_WORDS = ("bold", "black", "heavy", "demi", "-bd", "fett", "extrab")
BOLD_WEIGHT = 600
_BUFFER = 256  # code units; longer texts are asked for again
_MOST_SEARCHED = 4_000_000
_MOST_CHARS = 400_000  # characters of one page

# Within one text object pdfium breaks the line wherever the base line moves at all, as it does in turned text; such
# breaks mean nothing and go.  U+FFFE and U+0002 are what it puts for a hyphen at the end of a line.
_CLEAN = {0xFFFE: "-", 0x02: "-", 0xAD: "-", 0x00: None, 0xFEFF: None, 0xA0: " ", 0x09: " "}
_CLEAN.update({code: None for code in range(1, 32) if code not in _CLEAN})


@dataclass(slots=True)
class _Piece:
    """One text object in mm, before joining."""

    text: str
    x0: float
    x1: float
    y0: float
    y1: float
    base: float
    size: float  # mm
    bold: bool
    level: bool  # reads from left to right
    single: bool = False  # ends with a letter set by itself


def clean(text: str) -> str:
    """NFC text without control characters; layout blanks become spaces."""
    return unicodedata.normalize("NFC", text.translate(_CLEAN))


class TextReader:
    """Reads the text objects of one page of the given size, mm; fonts are asked for their name once per document."""

    def __init__(self, fonts: dict[int, bool], width: float, height: float) -> None:
        self._width, self._height = width, height
        self._raw = library()
        self._fonts = fonts
        self._size = ctypes.c_float()
        self._buffer = (ctypes.c_ushort * _BUFFER)()
        self._n_chars: int | None = None
        self._searched = 0  # characters that pdfium has gone through so far
        self._by_object: dict[int, str] | None = None
        self._places: dict[int, int] | None = None  # first character of each object, asked for when needed
        self._last: _Piece | None = None

    def _text(self, text_object: Any, text_page: Any) -> str:
        """The text of an object.  pdfium goes through the whole page for each: past a bound the page is turned over
        once instead, character by character."""
        raw = self._raw
        if self._n_chars is None:
            self._n_chars = max(raw.FPDFText_CountChars(text_page), 0)
        if self._by_object is None:
            self._searched += self._n_chars
            if self._searched <= _MOST_SEARCHED:
                length = raw.FPDFTextObj_GetText(text_object, text_page, self._buffer, _BUFFER * 2)
                if length <= _BUFFER * 2:
                    return bytes(self._buffer)[: max(length - 2, 0)].decode("utf-16-le", "replace")
                return utf16(lambda b, n: int(raw.FPDFTextObj_GetText(text_object, text_page, b, n)))
            self._by_object = _texts_by_object(raw, text_page, self._n_chars)
        return self._by_object.get(_address(text_object), "")

    def piece(self, text_object: Any, text_page: Any, outer: Matrix, to_mm: Matrix) -> _Piece | None:
        """One text object of the page, or None where it shows nothing."""
        raw = self._raw
        text = clean(self._text(text_object, text_page))
        bounds = bounds_of(text_object)
        if not text.strip() or bounds is None:
            return None
        space = to_mm if outer is IDENTITY else multiply(outer, to_mm)
        corners = (apply(space, bounds[0], bounds[1]), apply(space, bounds[2], bounds[3]))
        x0, x1 = sorted((corners[0][0], corners[1][0]))
        y0, y1 = sorted((corners[0][1], corners[1][1]))
        if x1 <= 0 or y1 <= 0 or x0 >= self._width or y0 >= self._height:
            return None  # a tile often carries the whole sheet and shows a part of it
        m = multiply(matrix_of(text_object), space)
        raw.FPDFTextObj_GetFontSize(text_object, self._size)
        size = abs(self._size.value) * hypot(m[2], m[3])
        level = m[0] > 0 and abs(m[1]) < 0.02 * abs(m[0])
        base = m[5] if level else y1
        found = _Piece(text, x0, x1, y0, y1, base, size or (y1 - y0), self._bold(text_object), level, len(text) == 1)
        last, self._last = self._last, found
        if last is not None and 2 <= len(text) <= _SPREAD_LETTERS and _within_word(last, found):
            found.text = self._spread(text_object, text_page, text)
        return found

    def _spread(self, text_object: Any, text_page: Any, text: str) -> str:
        """The text of a short object that goes on with a word, with a blank where its letters stand far apart.

        Some typesetters write the last letter of a word and the first of the next as one object, with the blank as
        letter spacing; pdfium does not see it.
        """
        raw = self._raw
        if self._places is None:
            self._places = {}
            for index in range(min(self._n_chars or 0, _MOST_CHARS)):
                self._places.setdefault(_address(raw.FPDFText_GetTextObject(text_page, index)), index)
        first = self._places.get(_address(text_object))
        if first is None:
            return text
        edges = [ctypes.c_double() for _ in range(4)]
        out, right = "", None
        for index, char in enumerate(text, start=first):
            raw.FPDFText_GetCharBox(text_page, index, *edges)
            high = raw.FPDFText_GetFontSize(text_page, index)
            if right is not None and high > 0 and edges[0].value - right > SPREAD_GAP * high and char.isalnum():
                out += " "
            out += char
            right = edges[1].value
        return out

    def _bold(self, text_object: Any) -> bool:
        raw = self._raw
        font = raw.FPDFTextObj_GetFont(text_object)
        if not font:
            return False
        address = _address(font)
        known = self._fonts.get(address)
        if known is None:
            name = narrow(lambda b, n: raw.FPDFFont_GetBaseFontName(font, b, n)).decode("latin-1").casefold()
            known = any(word in name for word in BOLD_WORDS) or raw.FPDFFont_GetWeight(font) >= BOLD_WEIGHT
            self._fonts[address] = known
        return known


def _address(pointer: Any) -> int:
    return ctypes.cast(pointer, ctypes.c_void_p).value or 0


def _texts_by_object(raw: Any, text_page: Any, n_chars: int) -> dict[int, str]:
    """The text of every object of a page in one pass."""
    texts: dict[int, list[str]] = {}
    before = blank = 0
    for index in range(min(n_chars, _MOST_CHARS)):
        code = raw.FPDFText_GetUnicode(text_page, index)
        address = _address(raw.FPDFText_GetTextObject(text_page, index))
        if not address:  # put in by pdfium: a blank counts where it lies within one object
            blank = before if code == 0x20 else 0
            continue
        letters = texts.setdefault(address, [])
        if blank == address:
            letters.append(" ")
        letters.append(chr(code) if 0 < code < 0x110000 and not 0xD800 <= code < 0xE000 else "")
        before, blank = address, 0
    return {address: "".join(letters) for address, letters in texts.items()}


def joined(pieces: list[_Piece]) -> tuple[TextRun, ...]:
    """Runs from the pieces of a page, in their order."""
    runs: list[TextRun] = []
    current: _Piece | None = None
    for piece in pieces:
        if current is not None and _follows(current, piece):
            gap = piece.x0 - current.x1
            blank = gap > _letter_gap(current, piece) * current.size
            blank = blank and current.text[-1] != " " and piece.text[0] != " "
            current = _Piece(
                current.text + (" " if blank else "") + piece.text,
                current.x0,
                max(current.x1, piece.x1),
                min(current.y0, piece.y0),
                max(current.y1, piece.y1),
                current.base,
                current.size,
                current.bold,
                True,
                piece.single,
            )
            continue
        if current is not None:
            runs.append(_run(current))
        current = piece
    if current is not None:
        runs.append(_run(current))
    return tuple(runs)


def _follows(before: _Piece, after: _Piece) -> bool:
    size = before.size
    return (
        before.level
        and after.level
        and before.bold == after.bold
        and abs(before.base - after.base) < 0.2 * size
        and abs(before.size - after.size) < 0.15 * size
        and -0.4 * size < after.x0 - before.x1 < WORD_GAP * size
    )


def _within_word(before: _Piece, after: _Piece) -> bool:
    near = before.level and after.level and abs(before.base - after.base) < 0.05 * before.size
    return near and -0.1 * before.size < after.x0 - before.x1 < LETTER_GAP * before.size and before.text[-1].isalnum()


def _letter_gap(before: _Piece, after: _Piece) -> float:
    if before.text[-1] >= "\u3040" and after.text[0] >= "\u3040":
        return KANA_GAP
    if before.text[-1].isdigit() and after.text[0].isdigit() and (before.single or after.single):
        return DIGIT_GAP
    return SINGLE_GAP if before.single or after.single else LETTER_GAP


def _run(piece: _Piece) -> TextRun:
    text = " ".join(piece.text.split())
    if piece.level:
        top, height = piece.base - ASCENT * piece.size, piece.size
    else:
        top, height = piece.y0, piece.y1 - piece.y0
    return TextRun(
        text=text,
        x=round(piece.x0, 2),
        y=round(top, 2),
        width=round(piece.x1 - piece.x0, 2),
        height=round(height, 2),
        size_pt=round(piece.size / MM_PER_POINT, 2),
        bold=piece.bold,
    )
