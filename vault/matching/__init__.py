"""Which file is which purchase: items x files -> links with reasons, questions, and what is missing.

| module | does |
|---|---|
| `matcher` | the whole: `match` |
| `index` | blocking: which pairs are worth a look |
| `targets`, `filed` | the bought and the held side made ready |
| `title`, `likeness` | titles taken apart and compared |
| `keys`, `words`, `sizes`, `makers`, `parts` | one spelling; words of the trade; size ranges; names; parts |
| `hearing`, `evidence`, `weights` | what speaks for and against a pair, titles first; the one table of points |
| `together`, `hints`, `taught` | what files say of each other; what only the day says; what answers teach |
| `deciding`, `standing` | link, question or nothing; held, partial, missing |
| `missing`, `same` | the missing report; files with the same content |

Pure: values in, values out.  The method is described in docs/linking.md.
"""

from __future__ import annotations

from vault.matching.matcher import Matcher, match
from vault.matching.missing import missing_rows
from vault.matching.same import duplicates

__all__ = ["Matcher", "duplicates", "match", "missing_rows"]
