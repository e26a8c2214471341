"""The title block: a title, the maker on the line below it, and then what is no name (sizes, a heading, a sentence).

Makers put their name there without any word before it.  So does a subtitle stand there ("Unlined Chore Jacket"), which
is told by the product it names; two lines that both may be names are told apart by nothing and none is taken.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from functools import cache
from importlib import resources
from itertools import pairwise

from vault.patterns.memo import remembered
from vault.patterns.pages_text import TextLine
from vault.patterns.title_words import has_kind, is_format, may_be_name, says_sizes, trade_words
from vault.patterns.words import CJK_RE, fold

MM_PER_PT = 0.3528
_MOST_WORDS, _LONGEST, _LONGEST_CJK = 5, 40, 14
_NEAR = 2.6  # heights of the title's letters from its line to the maker's
_COMPOUND = 5  # letters of a noun that may end a longer word
_JOINING = frozenset(
    "& + and und et en y e i og och ja of de du des la le les los las el del di da von van der den the zu am im".split()
)
# Letters of names; digits, colons, commas, brackets and full stops make a line something else (but "St. Abb", "Co.").
_NAME_RE = re.compile(r"[^\W\d_](?:[^\W\d_]|[ &+'’\-]|(?<=[Ss]t)\.|(?<=Co)\.|(?<=[A-Z])\.)*")
# "Marlow Lane Patterns": what they all make, after the name.
_KIND_RE = re.compile(
    r"\s(?:sewing |knitting |crochet |quilt )?(?:patterns|designs|schnitte|schnittmuster|patrons|patrones|patronen|"
    r"cartamodelli|mönster|mønst(?:er|re)|wzory|wykroje|kaavat)$",
    re.IGNORECASE,
)
_LABEL_RE = re.compile(r"[^:：]{2,40}[:：]")
_ITEM_RE = re.compile(r"[•\-–*○▪■□✓➤►\d(]")


@cache
def _goods() -> tuple[frozenset[str], tuple[str, ...], tuple[str, ...]]:
    """Nouns of products: single words, those that end compounds, and those written without blanks (kana)."""
    table = tomllib.loads(resources.files("vault.patterns").joinpath("goods.toml").read_text("utf-8"))
    words = {fold(word) for entries in table.values() for word in entries}
    cjk = tuple(word for word in words if CJK_RE.search(word))
    ends = tuple(word for word in words if len(word) >= _COMPOUND and " " not in word and not CJK_RE.search(word))
    return frozenset(words), ends, cjk


@remembered
def names_goods(text: str) -> bool:
    """Whether the line says what is made, for whom or how: a product and no maker."""
    words, ends, cjk = _goods()
    folded = fold(text)
    parts = folded.split()
    if any(part in words or (len(part) > _COMPOUND + 2 and part.endswith(ends)) for part in parts):
        return True
    if any(f"{a} {b}" in words for a, b in pairwise(parts)):
        return True
    return any(word in folded for word in cjk)


@remembered
def reads_as_name(text: str) -> bool:
    """Whether a line can be somebody's name by its form: few words, each written large, nothing of the trade."""
    text = text.strip()
    if CJK_RE.search(text):
        plain = len(text) <= _LONGEST_CJK and not re.search(r"[\d、。：:・／/（）()]", text)
        return plain and may_be_name(text) and not names_goods(text) and fold(text) not in trade_words()
    words = text.split()
    if not 1 <= len(words) <= _MOST_WORDS or len(text) > _LONGEST or not _NAME_RE.fullmatch(text):
        return False
    large = [word for word in words if word.casefold() not in _JOINING]
    if not large or not all(word[0].isupper() for word in large):
        return False
    if len(large) == 1 and len(large[0]) < 4:
        return False
    if not may_be_name(text) or has_kind(text) or is_format(text) or names_goods(text):
        return False
    return not all(fold(word) in trade_words() for word in large)


def maker_under(lines: Sequence[TextLine], title: int) -> str | None:
    """The name on the line below the title (its place in `lines`), or None where the block does not show one."""
    if title + 1 >= len(lines):
        return None
    first, second = lines[title], lines[title + 1]
    height = first.size_pt * MM_PER_PT
    if not 0 < second.y - first.y <= _NEAR * max(height, second.size_pt * MM_PER_PT) or second.size_pt > first.size_pt:
        return None
    if not reads_as_name(_KIND_RE.sub("", second.text)) or _shares_word(first.text, second.text):
        return None
    after = lines[title + 2].text if title + 2 < len(lines) else ""
    if after and reads_as_name(after):
        return None
    if first.size_pt == second.size_pt and not _ends_block(after):
        return None  # two lines of one size are one title, unless a third of the block shows otherwise
    if len(second.text.split()) == 1 or CJK_RE.search(second.text):
        return second.text if not after or _ends_block(after) else None
    return second.text


def _shares_word(title: str, name: str) -> bool:
    return not {w for w in fold(title).split() if len(w) > 3}.isdisjoint(fold(name).split())


def _ends_block(text: str) -> bool:
    """A line that a block ends with: a heading, a label, sizes, an item or a sentence."""
    return bool(
        _LABEL_RE.match(text)
        or _ITEM_RE.match(text)
        or says_sizes(text)
        or fold(text) in trade_words()
        or len(text.split()) >= 4
        or any(fold(word) in trade_words() for word in text.split())
    )
