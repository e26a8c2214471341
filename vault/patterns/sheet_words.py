"""Words and labels by which sheets and test squares are told, compiled from `sheet_words.toml`.

Everything here is searched for in folded text (`fold`).
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from pathlib import Path

from vault.patterns.memo import remembered

VULGAR = {"¼": ".25", "½": ".5", "¾": ".75", "⅛": ".125", "⅜": ".375", "⅝": ".625", "⅞": ".875"}
_PRIMES = str.maketrans({"″": '"', "”": '"', "“": '"', "„": '"', "′": "'", "’": "'", "⁄": "/"})


def fold(text: str) -> str:
    """Text for searching: width and compatibility forms opened, case folded, vulgar fractions as decimals."""
    if text.isascii():
        return text.casefold()
    for sign, decimal in VULGAR.items():
        if sign in text:
            text = re.sub(rf"(\d) ?{sign}", rf"\g<1>{decimal}", text).replace(sign, f"0{decimal}")
    return unicodedata.normalize("NFKC", text.translate(_PRIMES)).translate(_PRIMES).casefold()


def _compiled(table: dict[str, list[str]]) -> re.Pattern[str]:
    """One expression for the words of all languages; a word of Latin letters is found from its beginning."""
    words = sorted({fold(word) for language in table.values() for word in language}, key=lambda w: (-len(w), w))
    latin = "|".join(re.escape(word) for word in words if word[0] < "\u0250")
    other = "|".join(re.escape(word) for word in words if word[0] >= "\u0250")
    return re.compile("|".join(part for part in (rf"\b(?:{latin})" if latin else "", other) if part))


_WORDS = tomllib.loads(Path(__file__).with_suffix(".toml").read_text("utf-8"))

TILE_RE = _compiled(_WORDS["tile"])
PROJECTOR_RE = _compiled(_WORDS["projector"])
COPYSHOP_RE = _compiled(_WORDS["copy-shop"])
CHART_RE = _compiled(_WORDS["chart"])
TEMPLATE_RE = _compiled(_WORDS["template"])
SQUARE_RE = _compiled(_WORDS["square"])
_MOST_CHARS = 400  # of a run are searched


@remembered
def names_square(text: str) -> bool:
    """Whether a run of text speaks of a test square.  The runs of a tile come on every tile: told once."""
    return SQUARE_RE.search(fold(text[:_MOST_CHARS])) is not None


# A label that names a tile: a grid place ("3B", "2.4", "R2 C3"), or its number among all ("Page 2 / 15").
_ROW = r"(?:row|reihe|zeile|rang(?:ée)?|rij|fila|riga|rad|række|rekke|rząd|rivi|段|行|r)"
_COLUMN = r"(?:col(?:umn)?|spalte|colonne|kolom|columna|colonna|kolumn|kolonne|kolumna|sarake|列|c|s)"
_PAGE = (
    r"(?:page|sheet|tile|seite|blatt|feuille|pagina|blad|página|hoja|foglio|sida|ark|side|strona|arkusz|sivu|arkki"
    r"|ページ|頁)"
)
GRID_RE = re.compile(
    r"[a-z]{1,2} ?[-.]? ?\d{1,2}|\d{1,2} ?[-.]? ?[a-z]|\d{1,2}[.\-]\d{1,2}"
    rf"|{_ROW}\.? ?\d{{1,2}} ?[,/;:-]? ?{_COLUMN}\.? ?\d{{1,2}}"
    rf"|{_ROW}\.? ?\d{{1,2}} ?[,/;:-] ?{_PAGE}\.? ?\d{{1,3}}"
)
COUNT_RE = re.compile(rf"(?:{_PAGE}\.? ?)?(\d{{1,3}}) ?(?:/|of|von|sur|van|de|di|av|af|z|の) ?(\d{{1,3}})")
PAGE_RE = re.compile(rf"{_PAGE}\.? ?(\d{{1,3}})")

# In file names and headings.
LARGE_NAME_RE = re.compile(
    r"(?<![a-z0-9])(?:roll[eo]?|rotolo|rol|rouleau|rull[ea]?|rolka|ロール|[24]?a[01]|"
    r"36 ?(?:in\b|\"|x)|36-inch|arch ?[de]1?|ansi ?[de])(?![a-z0-9])"
)
TILED_NAME_RE = re.compile(
    r"(?<![a-z0-9])(?:a4|letter|tiled|print[ _-]?at[ _-]?home|home[ _-]?print|legal|a3|tabloid)(?![a-z0-9])"
)
