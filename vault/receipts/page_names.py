"""What pages of an account are called: never the name of a shop."""

from __future__ import annotations

from functools import lru_cache

from vault.receipts.view import View
from vault.receipts.words import languages, trim_label


@lru_cache(maxsize=1)
def _page_words() -> tuple[frozenset[str], tuple[str, ...]]:
    """The names of pages and the words for "my", of all languages: shops' pages are often half translated."""
    known = languages().values()
    pages = frozenset(p for lang in known for p in lang.phrases("seller", "page"))
    return pages, tuple(dict.fromkeys(p for lang in known for p in lang.phrases("seller", "mine")))


def is_page_name(name: str, view: View) -> bool:
    """Whether words name a page of an account or a step of buying ("My orders", "Order history"), not who sells."""
    key = trim_label(name)
    pages, mine = _page_words()
    own = next((m for m in mine if key.startswith(m + " ") or (not m.isascii() and key.startswith(m))), None)
    rest = key[len(own) :].strip() if own is not None else key
    if not rest or rest in pages:
        return True
    return own is not None and (rest in view.words.phrase_set("seller", "generic") or bool(view.words.exact(rest)))
