"""The languages Pinfold reads: which one a text is in, and its amounts and dates.

| module | does |
|---|---|
| `folding` | one spelling for comparison: NFC, case, blanks |
| `detect` | the language of a text |
| `amounts` | money as printed, by the strict rules of CLDR (through Babel), ambiguity reported |
| `currencies` | what is printed for a currency, and the ISO 4217 codes it may mean |
| `dates` | dates as printed, in words or numbers, ambiguity reported |

`LANGUAGES` holds the ISO 639 codes, most common first.  Babel and the language model are imported when first used.
"""

from __future__ import annotations

from vault.language.detect import LANGUAGES, detect
from vault.language.folding import fold

__all__ = ["LANGUAGES", "detect", "fold"]
