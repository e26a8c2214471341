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
| `missing`, `same`, `unclaimed` | the missing report; files with the same content; files without a purchase |

Pure: values in, values out.  The method is described in docs/linking.md.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from vault.matching.matcher import Matcher, match
    from vault.matching.missing import missing_rows
    from vault.matching.same import duplicates
    from vault.matching.unclaimed import unclaimed

__all__ = ["Matcher", "duplicates", "match", "missing_rows", "unclaimed"]

# Imported when first asked for: the missing report needs none of the rest, and a command should start at once.
_HOMES = {
    "Matcher": "matcher",
    "duplicates": "same",
    "match": "matcher",
    "missing_rows": "missing",
    "unclaimed": "unclaimed",
}


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f"vault.matching.{_HOMES[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
