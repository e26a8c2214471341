"""Which language a text is in, among those Pinfold reads.

Receipts are short, full of names and half translated, so that a general model alone errs.  Evidence in order: the
script (kana), then everyday words and letters that few of the languages share, counted over the first few thousand
characters; only when these do not decide, groups of letters are weighed (`grams`).
A text with nothing to go by (numbers, names) gives the hint or None.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from functools import lru_cache
from importlib import resources

from vault.language.grams import grams

LANGUAGES = ("en", "de", "fr", "nl", "es", "it", "sv", "da", "nb", "pl", "fi", "ja")

_READ = 6000
_WORD_RE = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)?")
_LONE_RE = re.compile(r"(?<!\w)\w(?!\w)")

_ENOUGH, _LEAD = 4.0, 1.5
_LONE = 0.3  # of a word of one letter, which may be a symbol or a label as well
_MOST_TIMES = 12  # that one word counts: the symbols of a chart are words of some language


@lru_cache(maxsize=1)
def _table() -> tuple[dict[str, dict[str, float]], dict[str, dict[str, float]]]:
    """What each word and each letter says for each language that has it."""
    table = tomllib.loads(resources.files("vault.language").joinpath("everyday.toml").read_text("utf-8"))
    words: dict[str, list[str]] = {}
    letters: dict[str, list[str]] = {}
    for language in LANGUAGES:
        for word in set(table[language]["words"].split()):
            words.setdefault(word, []).append(language)
        for letter in table[language]["letters"]:
            letters.setdefault(letter, []).append(language)
    return (
        {word: dict.fromkeys(owners, 1.0 / len(owners)) for word, owners in words.items()},
        {letter: dict.fromkeys(owners, 0.5 / len(owners)) for letter, owners in letters.items()},
    )


def _scores(text: str) -> dict[str, float]:
    scores = dict.fromkeys(LANGUAGES, 0.0)
    words, letters = _table()
    for word, times in Counter(_WORD_RE.findall(text)).items():
        for language, weight in words.get(word, {}).items():
            scores[language] += weight * min(times, _MOST_TIMES) * (_LONE if len(word) == 1 else 1.0)
    for letter, owners in letters.items():
        times = min(text.count(letter), 4)
        for language, weight in owners.items() if times else ():
            scores[language] += times * weight
    return scores


def detect(text: str, *, hint: str | None = None) -> str | None:
    """The language of `text` as one of `LANGUAGES`, or `hint` (None) where it does not say.

    `hint` is what the document declares (`lang`, Content-Language); it decides between near equals only, because
    templates often declare a language that their owner's texts are not in.
    """
    sample = text[:_READ].casefold()
    kana = sum("\u3040" <= c <= "\u30ff" for c in sample)
    if kana >= 4 or (kana and kana * 20 > len(sample)):
        return "ja"
    hint = hint.lower().replace("_", "-").split("-")[0] if hint else None
    hint = {"no": "nb", "nn": "nb"}.get(hint or "", hint)
    hint = hint if hint in LANGUAGES else None
    scores = _scores(sample)
    if hint:
        scores[hint] *= 1.25
    best, second = sorted(scores, key=lambda code: -scores[code])[:2]
    if scores[best] >= _ENOUGH and scores[best] >= _LEAD * scores[second]:
        return best
    if scores[best] < 0.5 and len(sample) < 60:
        return hint
    if hint in (best, second) and scores[hint or best] * _LEAD >= scores[best]:
        return hint
    if scores[best] >= 1.0 and scores[best] >= 2 * scores[second]:
        return best
    by_letters = grams().scores(sample)
    model_says = max(by_letters, key=lambda code: by_letters[code])
    only_lone = not max(_scores(_LONE_RE.sub(" ", sample)).values())  # what looked like words may be symbols
    return model_says if only_lone or scores.get(model_says, 0.0) * 2 >= scores[best] else best
