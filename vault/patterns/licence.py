"""What the file's own words allow: personal use, selling finished pieces, credit, teaching, sharing, altering the file.

Sentences that a gate of beginnings of words lets through are read in the language whose wordings cover most of them;
each gives statements (`licence_statements`), which are put together here: what is specific goes before what is
general, a number before a plain yes, and two answers that cannot both hold make "unclear".  Every answer rests on
quotes with their page.  This is no legal advice; what the words do not say stays silent.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from vault.model.pattern import LicenceTerms, Quote
from vault.patterns.licence_statements import Statement, answer_of, limit_alone, read_sentence
from vault.patterns.licence_text import Sentence, pages_with, sentences_of
from vault.patterns.licence_words import LANGUAGES, NEIGHBOURS, Words, gate, header_words, opens, words_of
from vault.patterns.pages_text import PageText

_MOST_READ = 60_000  # characters of sentences let through the gate; a licence has some thousands
_MOST_LOOKED_AT = 30_000  # sentences
_MOST_QUOTES = 20
_IN_LICENCE = 12  # sentences after a heading or a first statement that still speak of the licence
_LABEL = 60  # characters
_IN_LIST = 10  # points under "you may:" where they carry no bullets
_COVERING = (
    "sell",
    "resale",
    "commercial",
    "share",
    "copy",
    "teach",
    "personal",
    "finished",
    "file",
    "no",
    "yes",
    "condition",
    "credit",
    "keep",
    "limit",
    "mass",
    "weak",
    "contrast",
    "must",
    "alter",
)
_CC_RE = re.compile(
    r"\b(?:CC0|CC[ -]BY((?:-(?:NC|ND|SA))*)\b"
    r"|creative commons attribution((?:[ -]+(?:non-?commercial|no-?deriv\w+|share-?alike))*))",
    re.IGNORECASE,
)
# "Selling finished pieces: yes, up to 20"
_LABEL_RE = re.compile(r"([^:：]{3,80}?)\s*(?:[:：=]|\s-+\s|\?)\s*(\S.*)")


@dataclass(frozen=True)
class _Said:
    statement: Statement
    sentences: tuple[Sentence, ...]


def licence_terms(pages: Sequence[PageText], language: str | None) -> LicenceTerms | None:
    """The terms that the words of the pages state, or None where they say nothing about any of them."""
    said = list(_said(pages, language))
    if not said:
        return None
    sell, limit = _sell([s.statement for s in _after_exceptions(said, "sell")])
    return LicenceTerms(
        personal_use=_flag(said, "personal"),
        sell_finished=sell,
        limit=limit,
        credit_required=_flag(said, "credit"),
        teach=_one(_values(said, "teach"), conditional="with-licence"),
        share_file=_one(_values(said, "share"), conditional="no"),
        alter_file=_one(_values(said, "alter"), conditional="with-licence"),
        quotes=_quotes(said),
    )


# ---- reading -------------------------------------------------------------------------------------


class _Reader:
    """Walks through the sentences of one page and remembers what stands before: object, list header, open question."""

    def __init__(self, language: str | None) -> None:
        self.language = language
        self.about: str | None = None
        self.near = 0  # sentences left that count as standing in the licence
        self.header: bool | None = None
        self.header_left = 0
        self.listed = False
        self.pending: tuple[str, ...] = ()
        self.question: Sentence | None = None
        self.refused: Sentence | None = None
        self.allowed: Sentence | None = None
        self.spoken: Words | None = None

    def read(self, sentence: Sentence) -> Iterator[_Said]:
        text = sentence.text
        if self._is_header(sentence):
            return
        words = _words_for(text, self.language)
        answer = self._answer(sentence, words)
        if answer:
            yield from answer
        if words is None:
            if self.spoken is not None and not answer:
                yield from self._follow_up(sentence, self.spoken, ())
            self._pass(sentence)
            return
        self.spoken = words
        given = sentence.mark if sentence.mark is not None else self._given(sentence)
        reading = read_sentence(text, words, about=self.about, given=given, in_licence=self.near > 0)
        asked = text.endswith(("?", "？")) and not words.has("licence.condition", text)
        statements = [] if asked else reading.statements
        if not answer:
            for statement in statements:
                yield _Said(statement, (sentence,))
            yield from self._follow_up(sentence, words, statements)
        wished = not statements and bool(reading.pending or asked)
        self.pending = reading.pending or tuple(s.subject for s in reading.statements) if wished else ()
        self.question = sentence if self.pending else None
        if statements or (len(text) < 70 and words.has("licence.heading", text)):
            self.near = _IN_LICENCE
            self.about = reading.about
        elif self.near:
            self.near -= 1
            self.about = reading.about
        selling = {s.value for s in statements if s.subject == "sell"}
        self.refused = sentence if "no" in selling else None
        self.allowed = sentence if selling == {"yes"} else None

    def _pass(self, sentence: Sentence) -> None:
        self.near = max(self.near - 1, 0)
        self.refused = self.allowed = None
        if self.question is not None and len(sentence.text) > 12:
            self.pending, self.question = (), None
        if not sentence.item:
            self.header_left = min(self.header_left - 1, self.header_left)

    def _is_header(self, sentence: Sentence) -> bool:
        """Whether the sentence opens a list of what is allowed or not ("You may:")."""
        text = sentence.text.rstrip(" *!")
        ends = text.endswith((":", "："))
        if len(text) > 90 or sentence.item or not (ends or len(text) < 40):
            return False
        bare = text.rstrip(" .:：")
        if not ends and header_words().isdisjoint(bare.casefold().split()):
            return False
        for language in _languages(self.language):
            words = words_of(language)
            for key, value in (("head_no", False), ("head_yes", True)):
                for match in words.of(f"licence.{key}").finditer(bare):
                    if match.end() < len(bare) or not (ends or match.start() == 0):
                        continue
                    if read_sentence(text, words).statements:
                        continue
                    self.header, self.header_left, self.listed = value, _IN_LIST, False
                    self.near = _IN_LICENCE
                    return True
        return False

    def _given(self, sentence: Sentence) -> bool | None:
        if self.header is None:
            return None
        if sentence.item:
            self.listed = True
        elif self.listed or self.header_left <= 0:
            self.header = None
            return None
        self.header_left -= 0 if sentence.item else 1
        return self.header

    def _answer(self, sentence: Sentence, words: Words | None) -> list[_Said]:
        """The answer to an open question or label, where the sentence starts with one."""
        label = _LABEL_RE.match(sentence.text)
        if label and words is not None:
            allowed = _yes_or_no(label.group(2), words)
            named = read_sentence(label.group(1), words, about=self.about, in_licence=True)
            if allowed is not None and named.pending:
                found = answer_of(named.pending, label.group(2), words, allowed=allowed)
                return [_Said(statement, (sentence,)) for statement in found]
        question, pending = self.question, self.pending
        if question is None or not pending:
            return []
        asked = question.text.endswith(("?", "？"))
        if not asked and max(len(question.text), len(sentence.text)) > _LABEL:
            return []  # a label and its answer are short
        for language in _languages(self.language):
            table = words if words is not None and words.language == language else words_of(language)
            allowed = _yes_or_no(sentence.text, table, asked=asked)
            if allowed is not None:
                self.pending, self.question = (), None
                found = answer_of(pending, sentence.text, table, allowed=allowed)
                return [_Said(statement, (question, sentence)) for statement in found]
        return []

    def _follow_up(self, sentence: Sentence, words: Words, statements: Sequence[Statement]) -> Iterator[_Said]:
        """ "Want to sell? Ask for our licence." and "No commercial use. Licences can be bought." """
        if any(s.subject in ("sell", "teach", "share") for s in statements):
            return
        limit = limit_alone(sentence.text, words) if self.allowed is not None else None
        if limit is not None and self.allowed is not None:
            yield _Said(Statement("sell", "limited", limit), (self.allowed, sentence))
            return
        if not words.has("licence.condition", sentence.text) or words.has("licence.condition_free", sentence.text):
            return
        if self.question is not None:
            for subject in self.pending:
                name = "sell" if subject == "commercial" else subject
                yield _Said(Statement(name, "with-licence", general=subject == "commercial"), (self.question, sentence))
        elif self.refused is not None and words.has("licence.licence_word", sentence.text):
            yield _Said(Statement("sell", "with-licence"), (self.refused, sentence))


def _yes_or_no(text: str, words: Words, *, asked: bool = True) -> bool | None:
    """What an answer starts with, if it starts with one; where nothing was asked, "No" must stand alone."""
    after = " ,.!:;-(、。！（" if asked else ",.!:;(、。！（"
    for key, allowed in (("label_no", False), ("label_yes", True)):
        match = words.of(f"licence.{key}").match(text)
        if match and (match.end() == len(text) or text[match.end()] in after):
            return allowed
    return None


def _languages(language: str | None) -> tuple[str, ...]:
    if language is None:
        return LANGUAGES
    return tuple(dict.fromkeys((language, "en", *NEIGHBOURS.get(language, ()))))


def _words_for(text: str, language: str | None) -> Words | None:
    """The wordings of the language that covers most of the sentence, or None where no gate opens."""
    counts = gate("licence").languages(text)
    if not counts:
        return None
    near = _languages(language)
    candidates = [code for code in counts if code in near or counts[code] >= 2]
    if len(candidates) < 2:
        return words_of(candidates[0]) if candidates else None
    if language in candidates and all(counts[language] > counts[code] for code in candidates if code != language):
        return words_of(language)  # the rest need not be weighed, nor their expressions be compiled
    ranked = sorted(candidates, key=lambda code: (-_covered(text, words_of(code)), code != language, code))
    return words_of(ranked[0])


def _covered(text: str, words: Words) -> int:
    """How many characters of the text the wordings of a language match."""
    seen = bytearray(len(text))
    for key in _COVERING:
        for match in words.of(f"licence.{key}").finditer(text):
            seen[match.start() : match.end()] = b"\1" * (match.end() - match.start())
    return sum(seen)


def _said(pages: Sequence[PageText], language: str | None) -> Iterator[_Said]:
    seen: set[str] = set()
    looked_at = read = 0
    for page in pages_with(pages, "licence"):
        reader = _Reader(language)
        for sentence in sentences_of(page):
            looked_at += 1
            if looked_at > _MOST_LOOKED_AT or read >= _MOST_READ:
                return
            if sentence.text in seen and len(sentence.text) > 12:
                continue
            seen.add(sentence.text)
            if opens(sentence.text, "licence"):
                read += len(sentence.text)
            found = [*reader.read(sentence), *_commons(sentence)]
            yield from found


def _commons(sentence: Sentence) -> Iterator[_Said]:
    """The public licences that are named by their letters."""
    match = _CC_RE.search(sentence.text)
    if match is None:
        return
    parts = re.sub(r"[^a-z]", "", ((match.group(1) or "") + (match.group(2) or "")).casefold())
    yield _Said(Statement("share", "yes"), (sentence,))
    if match.group().casefold() != "cc0":
        yield _Said(Statement("credit", "yes"), (sentence,))
    reserved = "nc" in parts or "noncommercial" in parts
    yield _Said(Statement("sell", "no" if reserved else "yes", general=True), (sentence,))
    yield _Said(Statement("alter", "no" if "nd" in parts or "noderiv" in parts else "yes"), (sentence,))


# ---- putting together ----------------------------------------------------------------------------


def _after_exceptions(said: Sequence[_Said], subject: str) -> list[_Said]:
    """The statements about a subject, without those that an exception in their own sentence takes back."""
    about = [s for s in said if s.statement.subject == subject]
    excepted = {s.sentences for s in about if s.statement.exception}
    return [s for s in about if s.statement.exception or s.sentences not in excepted]


def _sell(statements: Sequence[Statement]) -> tuple[str, int | None]:
    """The answer about selling finished pieces, and the limit."""
    firm = [s for s in statements if not s.beyond] or list(statements)
    specific = [s for s in firm if not s.general]
    values = {s.value for s in firm}
    if specific and {s.value for s in specific} != {"yes"}:
        values = {s.value for s in specific} | ({"no"} & values if "yes" in {s.value for s in specific} else set())
    elif specific and "no" not in values:
        values = {"yes"}
    if "no" in values and "with-licence" in values:
        values.discard("no")
    limits = {s.limit for s in firm if s.limit is not None}
    if "no" in values and len(values) > 1:
        return "unclear", None
    for value in ("limited", "with-licence", "yes", "no"):
        if value in values:
            if value == "limited" and len(limits) > 1:
                return "unclear", None
            return value, limits.pop() if value == "limited" and limits else None
    return "silent", None


def _values(said: Sequence[_Said], subject: str) -> set[str]:
    return {s.statement.value for s in _after_exceptions(said, subject)}


def _one(values: set[str], *, conditional: str) -> str:
    """One answer; `conditional` is what a plain no together with a no without permission comes to."""
    if not values:
        return "silent"
    if values == {"no", "with-licence"}:
        return conditional
    if "yes" in values and "no" in values:
        return "unclear"
    return "with-licence" if "with-licence" in values else values.pop()


def _flag(said: Sequence[_Said], subject: str) -> bool | None:
    values = _values(said, subject)
    return None if len(values) != 1 else values == {"yes"}


def _quotes(said: Sequence[_Said]) -> tuple[Quote, ...]:
    found: dict[str, Quote] = {}
    for one in said:
        for sentence in one.sentences:
            found.setdefault(sentence.quote, Quote(text=sentence.quote, page=sentence.page))
    return tuple(found.values())[:_MOST_QUOTES]
