"""The recovery sheet as a PDF page: text in the fonts that every viewer has, and the QR code as filled squares.

A page of text needs a small part of PDF (ISO 32000): one page object, three of the standard fonts, one stream of
drawing orders, a table of where each object stands.  That is less than any library that writes it, and nothing of the
secret passes through code that was not written for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

# A4 in points; everything stands in the upper 750 and inside 17 mm, so that US Letter takes it at full size too.
_WIDTH, _HEIGHT = 595.28, 841.89
_MARGIN = 50.0
_FONTS = {"F1": "Helvetica", "F2": "Helvetica-Bold", "F3": "Courier-Bold"}
_ENCODING = "cp1252"  # what PDF calls WinAnsiEncoding
# Widths of Helvetica for the characters from 32 to 126, in thousandths of the font's size (Adobe font metrics).
_HELVETICA = (
    "278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 278 278 "
    "584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 667 778 722 667 611 722 667 944 "
    "667 667 611 278 278 278 469 556 333 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 556 556 333 500 "
    "278 556 500 722 500 500 500 334 260 334 584"
)
_WIDTHS = tuple(int(n) for n in _HELVETICA.split())
_OTHER_WIDTH = 667


@dataclass
class _Page:
    """Drawing orders, from the top of the page downwards."""

    y: float = _HEIGHT - _MARGIN
    orders: list[bytes] = field(default_factory=list)

    def line(self, text: str, *, font: str = "F1", size: float = 10, at: float = _MARGIN) -> None:
        """One line of text; the next goes below it."""
        self.y -= size * 1.3
        self.orders.append(
            b"BT /%s %.1f Tf %.2f %.2f Td (%s) Tj ET" % (font.encode(), size, at, self.y, _escaped(text))
        )

    def paragraph(self, text: str, *, size: float = 10, at: float = _MARGIN, first: str = "") -> None:
        """Text in lines that fit; `first` stands before it, outside."""
        for number, words in enumerate(wrapped(text, _WIDTH - _MARGIN - at, size)):
            if number == 0 and first:
                self.line(first, size=size, at=at - 16)
                self.y += size * 1.3
            self.line(words, size=size, at=at)

    def gap(self, height: float) -> None:
        """Some room."""
        self.y -= height

    def square(self, matrix: Sequence[Iterable[int]], *, left: float, top: float, size: float) -> None:
        """A QR code, one filled rectangle for each run of dark modules."""
        step = size / len(matrix)
        boxes = [
            b"%.3f %.3f %.3f %.3f re" % (left + begin * step, top - (row + 1) * step, length * step, step)
            for row, modules in enumerate(matrix)
            for begin, length in _runs(list(modules))
        ]
        self.orders.append(b"\n".join([*boxes, b"f"]))


def sheet_page(
    title: str,
    warning: str,
    facts: Sequence[tuple[str, str]],
    key_heading: str,
    key_lines: Sequence[str],
    steps: Sequence[str],
    matrix: Sequence[Iterable[int]],
) -> bytes:
    """The whole PDF.  What the standard fonts do not have is shown as a question mark."""
    page = _Page()
    page.line(title, font="F2", size=17)
    page.gap(6)
    page.paragraph(warning, size=10.5)
    page.gap(8)
    for name, words in facts:
        for number, part in enumerate(wrapped(words, _WIDTH - 2 * _MARGIN - 90, 10)):
            if number == 0:
                page.line(name, font="F2", at=_MARGIN)
                page.y += 13
            page.line(part, at=_MARGIN + 90)
    page.gap(10)
    page.line("The key", font="F2", size=13)
    page.gap(2)
    page.paragraph(key_heading)
    top = page.y - 8
    page.gap(12)
    for number, line in enumerate(key_lines, start=1):
        page.line(f"{number}.  {line}", font="F3", size=14)
        page.gap(8)
    page.square(matrix, left=_WIDTH - _MARGIN - 136, top=top, size=136)
    page.y = min(page.y, top - 144)
    page.line("What to do", font="F2", size=13)
    page.gap(2)
    for number, step in enumerate(steps, start=1):
        page.paragraph(step, at=_MARGIN + 16, first=f"{number}.")
        page.gap(2)
    return _document(title, b"\n".join(page.orders))


def wrapped(text: str, width: float, size: float) -> list[str]:
    """`text` in lines that are at most `width` points wide in Helvetica; words that are longer are cut."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        while text_width(word, size) > width:
            fits = next(n for n in range(len(word), 0, -1) if text_width(word[:n], size) <= width or n == 1)
            lines += [line] if line else []
            lines.append(word[:fits])
            line, word = "", word[fits:]
        longer = f"{line} {word}".strip()
        if text_width(longer, size) <= width:
            line = longer
        else:
            lines.append(line)
            line = word
    return [*lines, line] if line else lines


def text_width(text: str, size: float) -> float:
    """Width in points of a line in Helvetica."""
    return sum(_WIDTHS[ord(c) - 32] if 32 <= ord(c) < 127 else _OTHER_WIDTH for c in text) * size / 1000


def _runs(modules: Sequence[int]) -> Iterable[tuple[int, int]]:
    """Where dark modules begin in a row, and how many follow."""
    begin: int | None = None
    for at, dark in enumerate([*modules, 0]):
        if dark and begin is None:
            begin = at
        elif not dark and begin is not None:
            yield begin, at - begin
            begin = None


def _escaped(text: str) -> bytes:
    raw = text.encode(_ENCODING, "replace")
    return b"".join(b"\\" + bytes([c]) if c in b"()\\" else bytes([c]) if c >= 32 else b" " for c in raw)


def _document(title: str, content: bytes) -> bytes:
    """Objects, the table of their places, and the trailer."""
    fonts = b" ".join(b"/%s %d 0 R" % (name.encode(), number) for number, name in enumerate(_FONTS, start=6))
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %.2f %.2f] /Resources << /Font << %s >> >> /Contents 4 0 R >>"
        % (_WIDTH, _HEIGHT, fonts),
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(content), content),
        b"<< /Title (%s) >>" % _escaped(title),
        *(
            b"<< /Type /Font /Subtype /Type1 /BaseFont /%s /Encoding /WinAnsiEncoding >>" % name.encode()
            for name in _FONTS.values()
        ),
    ]
    out = bytearray(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
    places = []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer\n<< /Size %d /Root 1 0 R /Info 5 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, table)
    return bytes(out)
