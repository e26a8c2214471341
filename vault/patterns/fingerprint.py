"""A fingerprint of what a file shows, so that the same pattern stamped for another buyer or saved again is known.

It is taken over the letters of every page in order (spaces, case and the way a program cuts lines into pieces do not
count), the sizes of the pages, and the digest of the large shapes and pictures drawn on each.  Left out is what is
put on afterwards: lines with the buyer's name, mail address or order number, lines the trade's stamp words begin, and
any line with a mail address; metadata and file structure are never looked at.

A program that writes a file anew moves every line a hair and every shape a little.  For that there are sketches: of all
words with their page, and of the places of all large shapes, the 64 with the least hashes.  Two sketches share as much
as the two files do (bottom-k sketch: Broder, On the resemblance and containment of documents, 1997).
"""

from __future__ import annotations

import hashlib
import re
import unicodedata
import zlib
from collections.abc import Iterable

from vault.model.pattern import Stamp
from vault.model.pdf import PageReading, PdfReading
from vault.patterns.memo import remembered
from vault.patterns.pdf_lines import lines_of

_MAIL_RE = re.compile(r"[\w.+-]{1,64}@[\w-]{1,63}(?:\.[\w-]{1,63}){1,4}")
_LETTERS_RE = re.compile(r"[\W_]+")
_LEAST = 12  # letters and drawings below which two files are not compared
# How a stamp begins, in the languages of the trade; the line goes, whoever the buyer is.
_STAMP_RE = re.compile(
    r"\b(?:licen[sc]ed (?:to|for)|prepared for|purchased by|bought by|sold to|this copy|copy for|issued to"
    r"|registered to|order (?:no|nr|number|#|id)"
    r"|lizen[sz]iert f(?:ü|ue)r|lizen[sz] f(?:ü|ue)r|gekauft von|erworben von|verkauft an|bestell(?:ung|nummer|nr)"
    r"|dieses exemplar|licence accord(?:é|e)e|achet(?:é|e) par|vendu (?:à|a)|exemplaire de|commande (?:n|no)"
    r"|gelicentieerd aan|gekocht door|bestel(?:ling|nummer)|exemplaar van"
    r"|licencia(?:do)? (?:a|para)|comprado por|vendido a|pedido (?:n|no)"
    r"|concesso in licenza|acquistato da|venduto a|ordine (?:n|no)"
    r"|licensierad (?:till|för)|köpt av|ordernummer|licenseret til|købt af|ordrenummer|lisensiert til|kjøpt av"
    r"|licencja dla|zakupione przez|kupione przez|zamówienie|lisensoitu|ostaja|tilausnumero)",
    re.IGNORECASE,
)
_STAMP_JA = ("購入者", "ご購入", "様専用", "注文番号", "ライセンス")


@remembered
def letters(text: str) -> str:
    """Letters and digits only, folded."""
    return _LETTERS_RE.sub("", unicodedata.normalize("NFKC", text).casefold())


def _marks(stamp: Stamp | None) -> tuple[str, ...]:
    if stamp is None:
        return ()
    values = (stamp.name, stamp.mail, stamp.order_number)
    return tuple(mark for mark in (letters(v) for v in values if v) if len(mark) >= 3)


@remembered
def is_stamp_line(text: str, marks: tuple[str, ...] = ()) -> bool:
    """Whether a line is, or may be, put on for the buyer."""
    if _MAIL_RE.search(text) or any(word in text for word in _STAMP_JA):
        return True
    if len(text) <= 200 and _STAMP_RE.search(text):
        return True
    squeezed = letters(text)
    return len(squeezed) <= 160 and any(mark in squeezed for mark in marks)


def _page(page: PageReading, marks: tuple[str, ...]) -> tuple[str, str]:
    words = "".join(letters(line.text) for line in lines_of(page) if not is_stamp_line(line.text, marks))
    return words, f"{page.width_mm:.0f}x{page.height_mm:.0f};{page.drawing}"


def fingerprint(reading: PdfReading, stamp: Stamp | None = None) -> str | None:
    """The fingerprint of a PDF's content, or None where there is too little to compare."""
    marks = _marks(stamp)
    digest = hashlib.sha256(f"{reading.n_pages}\n".encode("ascii"))
    weight = 0
    for page in reading.pages:
        words, drawn = _page(page, marks)
        weight += len(words) + (20 if page.drawing else 0)
        digest.update(words.encode("utf-8") + b"\0" + drawn.encode("ascii") + b"\n")
    return f"pdf1:{digest.hexdigest()[:40]}" if weight >= _LEAST else None


def text_fingerprint(text: str, stamp: Stamp | None = None) -> str | None:
    """The same for a plain text file."""
    marks = _marks(stamp)
    words = "".join(letters(line) for line in text.splitlines() if not is_stamp_line(line, marks))
    if len(words) < _LEAST:
        return None
    return f"text1:{hashlib.sha256(words.encode('utf-8')).hexdigest()[:40]}"


SKETCH = 64  # hashes of a sketch
_WORD_RE = re.compile(r"[^\W_]{2,}")


def _sketch(hashes: Iterable[int]) -> str:
    return "".join(f"{value:08x}" for value in sorted(set(hashes))[:SKETCH])


def text_sketch(reading: PdfReading, stamp: Stamp | None = None) -> str:
    """The sketch of the words on their pages, without the buyer's stamp; empty where there are no words."""
    marks = _marks(stamp)
    hashes: set[int] = set()
    for page in reading.pages:
        start = zlib.crc32(f"{page.number}:".encode("ascii"))
        for line in lines_of(page):
            if not is_stamp_line(line.text, marks):
                folded = unicodedata.normalize("NFKC", line.text).casefold()
                hashes.update(zlib.crc32(word.encode("utf-8"), start) for word in _WORD_RE.findall(folded))
    return _sketch(hashes)


def drawn_sketch(reading: PdfReading) -> str:
    """The sketch of where the large shapes and pictures lie; empty where nothing large is drawn."""
    return _sketch(
        zlib.crc32(f"{page.number}:{shape:08x}".encode("ascii")) for page in reading.pages for shape in page.shapes
    )
