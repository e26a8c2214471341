"""The words of notices as patterns, compiled once for each language.

A phrase of `words/notices_<language>.toml` may end in `*` (any ending), hold ` .. ` (some words between) and, in the
templates of names, `{old}` and `{new}`.  Everything is compared folded; scripts without blanks have no word ends.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from vault.language.folding import fold
from vault.receipts.mail_words import all_words

# Languages that write compounds: "Frühlingsaktion" holds "aktion".
_COMPOUNDING = frozenset(["de", "nl", "sv", "da", "nb", "fi"])
_INSIDE = frozenset(["sale", "holiday"])
_TEMPLATES = ("renamed", "sold")
_SPEAKING = ("strong", "verb", "until", "closed", "moved", "reopened")
_SEPARATORS = r"[:;,.!?()\[\]\n„“”\"»«–—|]"
_NAME = r"[^:;!?\n–—|]"
_FRAGILE = 8  # letters of a template that may mean anything ("is now", "wird")


@dataclass(frozen=True, kw_only=True)
class NameTemplate:
    """A phrase with places for names; `fragile` if its own words are too few to be trusted alone.

    `first` is the gap that the phrase begins with, if any: its name ends where the phrase goes on.
    """

    regex: re.Pattern[str]
    parts: tuple[str, ...]  # its own words, folded: all stand in a sentence it fits
    has_old: bool
    first: str
    fragile: bool
    sold: bool


@dataclass(frozen=True, kw_only=True)
class NoticeWords:
    """The patterns of one language: name of the list -> pattern, and the templates."""

    language: str
    lists: dict[str, re.Pattern[str]]
    templates: tuple[NameTemplate, ...]
    stop: frozenset[str]
    gate: tuple[str, ...]  # one word of each phrase; a sentence with none of them is not looked at

    endings: tuple[re.Pattern[str], ...] = ()  # "end of {month}", with groups m and y
    before_day: frozenset[str] = frozenset()  # small words before a day, and `stop` with them
    calls: re.Pattern[str] | None = None  # verbs that stand before both names ("from May is called Old New")

    def month_ends(self, text: str) -> Iterator[re.Match[str]]:
        """Where a text speaks of the end of a month."""
        for pattern in self.endings:
            yield from pattern.finditer(text)

    def has(self, name: str, folded: str) -> bool:
        """Whether a phrase of that list stands in the folded text."""
        pattern = self.lists.get(name)
        return pattern is not None and pattern.search(folded) is not None


@lru_cache(maxsize=32)
def notice_words(language: str) -> NoticeWords | None:
    """The patterns of a language, None if it has no file."""
    table = all_words().get(language, {}).get("notice")
    if not table:
        return None
    lists = {
        name: _pattern(phrases, inside=language in _COMPOUNDING and name in _INSIDE)
        for name, phrases in table.items()
        if name not in (*_TEMPLATES, "stop", "month_end", "calls", "before_day") and phrases
    }
    named = [(phrase, name == "sold") for name in _TEMPLATES for phrase in table.get(name, ())]
    named.sort(key=lambda pair: -len(pair[0]))  # the one that says most first: "is now part of" before "is now"
    templates = tuple(_template(phrase, sold) for phrase, sold in named)
    said = [p for name in (*_SPEAKING, "calls") for p in table.get(name, ())]
    parts = [part for template in templates for part in template.parts[:1]]
    return NoticeWords(
        language=language,
        lists=lists,
        templates=templates,
        stop=frozenset(fold(word) for word in table.get("stop", ())),
        gate=tuple(sorted({_telling(phrase) for phrase in [*said, *parts]})),
        endings=tuple(_month_end(phrase) for phrase in table.get("month_end", ())),
        before_day=frozenset(fold(w) for name in ("stop", "before_day") for w in table.get(name, ())),
        calls=_calls(table.get("calls", [])),
    )


def _calls(verbs: list[str]) -> re.Pattern[str] | None:
    """The pattern of the verbs, for text as it is printed."""
    if not verbs:
        return None
    body = "|".join(_fixed(fold(verb)).replace("ss", "(?:ss|ß)") for verb in verbs)
    return re.compile(rf"(?<!\w)(?:{body})(?!\w)", re.IGNORECASE)


def _month_end(phrase: str) -> re.Pattern[str]:
    """The pattern of "end of {month}", for text as it is printed."""
    before, _, after = fold(phrase).partition("{month}")
    if phrase.endswith("末"):
        return re.compile(r"(?:(?P<y>(?:19|20)\d\d)年)?(?P<m>\d{1,2})月末")
    year = r"(?P<y>(?:19|20)\d\d)(?!\d)"
    month = r"(?P<m>[^\W\d_]{3,14})\.?"
    if not after.strip():
        return re.compile(rf"(?<!\w){_fixed(before)}\s{{0,2}}{month}(?:,?\s(?:de\s|del\s)?{year})?(?!\w)", re.I)
    lead = rf"(?<!\w){_fixed(before)}\s{{1,2}}" if before.strip() else r"(?<!\w)"
    space = "" if after.startswith(("'", "’")) else r"\s"
    return re.compile(rf"{lead}{month}(?:\s{year})?{space}{_fixed(after)}(?!\w)", re.I)


def _telling(phrase: str) -> str:
    """The longest word of a phrase, folded: quick to look for."""
    words = [w for piece in fold(phrase).split(" .. ") for w in piece.split()]
    return max((w.strip("*.,:!?") for w in words), key=lambda w: (len(w), w))


def _pattern(phrases: list[str], *, inside: bool) -> re.Pattern[str]:
    return re.compile("|".join(_phrase(p, inside=inside) for p in sorted(phrases, key=len, reverse=True)))


def _phrase(phrase: str, *, inside: bool) -> str:
    text = fold(phrase)
    stem = text.endswith("*")
    text = text.rstrip("*")
    body = (
        ".{0,60}?".join(_fixed(part) for part in text.split(" .. "))
        if " .. " in text
        else _fixed(text.removeprefix(".. "))
    )
    before = "" if not _is_spaced(text[0]) or (inside and stem and len(text) >= 4) else r"(?<!\w)"
    after = r"\w{0,14}" if stem else r"(?!\w)" if _is_spaced(text[-1]) else ""
    return f"{before}{body}{after}"


def plain(text: str) -> str:
    """A text folded, with one kind of apostrophe: what phrases are looked for in."""
    return fold(text).replace("’", "'")


def _fixed(text: str) -> str:
    return re.escape(text.strip()).replace(r"\ ", r"\s{1,3}").replace("'", "['’]")


def _is_spaced(character: str) -> bool:
    """A letter of a script that puts blanks between words."""
    return character.isalnum() and not "\u3040" <= character <= "\u9fff"


def _parts(phrase: str) -> list[str]:
    return [part.strip() for part in re.split(r"\{old\}|\{new\}", fold(phrase)) if part.strip()]


def _template(phrase: str, sold: bool) -> NameTemplate:
    """The pattern of a template, for text as it is printed: case does not count, names keep theirs."""
    pieces: list[str] = []
    spaced = not any("\u3040" <= c <= "\u9fff" for c in phrase)
    parts = [part for part in re.split(r"(\{old\}|\{new\})", phrase) if part]
    for number, part in enumerate(parts):
        if part in ("{old}", "{new}"):
            lazy = "?" if number + 1 < len(parts) else ""  # the last name takes the rest of the sentence
            pieces.append(rf"(?P<{part[1:-1]}>{_NAME}{{2,80}}{lazy})")
        elif part.strip():
            words = _fixed(fold(part)).replace("ss", "(?:ss|ß)")
            pieces.append(rf"\s{{0,3}}(?<!\w){words}(?!\w)\s{{0,3}}" if spaced else words)
    body = "".join(pieces)
    start = rf"(?:\A|(?<={_SEPARATORS})\s{{0,3}}|\s)" if phrase.startswith("{") else ""
    fixed = sum(len(p) for p in _parts(phrase))
    return NameTemplate(
        regex=re.compile(start + body, re.IGNORECASE),
        parts=tuple(sorted((" ".join(p.split()) for p in _parts(phrase)), key=len, reverse=True)),
        has_old="{old}" in phrase,
        first=phrase[1:4] if phrase.startswith("{") else "",
        fragile=spaced and fixed <= _FRAGILE,
        sold=sold,
    )
