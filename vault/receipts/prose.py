"""Purchases told in sentences: "you bought X for 4.50", "we have refunded 6.50".

Each language lists its sentences with gaps.  Amounts are masked by one character before a sentence is tried, so that
an amount is always an amount; a title that stands in bold, in quotes or as a link is taken from there.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from vault.language.amounts import Amount, find_amounts
from vault.language.folding import fold, narrow, squeeze
from vault.receipts.lines import Link
from vault.receipts.titles import may_be_title, tell
from vault.receipts.view import View
from vault.receipts.words import Template

_MASK = 0xE000
_END_RE = re.compile(r"[.!。！]\s|[.!。！:：]?\Z|\n")
_LIST_RE = re.compile(r"[:：]\s|[.!?]\s(?=[A-ZÀ-Þ])")
_SENTENCE_RE = re.compile(r"[!?]\s|\w{3}\.\s+(?=[A-ZÀ-Þ])")
_AMOUNT_TAIL_RE = re.compile(r"\s*[(（]?[\ue000-\uefff][)）]?\s*\Z")
_QUOTED_RE = re.compile(r"[\"“„«「『](.{2,160}?)[\"”“»」』]")
MAX_PARAGRAPH = 900


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Lines of one block as one text, with what is set off in it."""

    text: str
    masked: str
    amounts: tuple[Amount, ...]
    strong: tuple[str, ...]
    links: tuple[Link, ...]
    line: int
    spot: int


@dataclass(frozen=True, slots=True)
class Told:
    """A sentence that tells of a purchase or refund."""

    title: str | None
    amount: Amount | None
    paragraph: Paragraph
    words: str


def paragraphs(view: View, start: int, stop: int) -> list[Paragraph]:
    """The running text between two lines."""
    out: list[Paragraph] = []
    group: list[int] = []

    def flush() -> None:
        if group:
            out.append(_paragraph(view, group))
            group.clear()

    for number in range(start, stop):
        line = view.lines[number]
        if len(line.cells) != 1 or line.listed:
            flush()
            if len(line.cells) >= 1:
                group.append(number)
                flush()
            continue
        if group and view.lines[group[-1]].block != line.block:
            flush()
        group.append(number)
    flush()
    return out


def _paragraph(view: View, numbers: list[int]) -> Paragraph:
    spots = [s for n in numbers for s in view.of_line(n)]
    text = squeeze(" ".join(s.text for s in spots if s.text))[:MAX_PARAGRAPH]
    amounts = find_amounts(text, view.language) if any(s.amounts for s in spots) else ()
    masked = text
    for number, amount in reversed(list(enumerate(amounts[:200]))):
        masked = masked[: amount.start] + chr(_MASK + number) + masked[amount.end :]
    strong = tuple(p for s in spots for p in ((s.text,) if s.bold and len(spots) > 1 else s.strong))
    return Paragraph(
        text=text,
        masked=masked,
        amounts=amounts,
        strong=strong,
        links=tuple(k for s in spots for k in s.links),
        line=numbers[0],
        spot=view.first_spot[numbers[0]],
    )


def _lower(text: str) -> str:
    text = narrow(text)
    folded = text.casefold()
    return folded if len(folded) == len(text) else text.lower() if len(text.lower()) == len(text) else text


def matches(paragraph: Paragraph, templates: tuple[Template, ...], view: View) -> Iterator[Told]:
    """Every sentence of `templates` that the paragraph tells."""
    lower = _lower(paragraph.masked)
    for template in templates:
        if template.anchor not in lower and template.anchor.replace("ss", "ß") not in lower:
            continue
        if "amount" in template.gaps and not paragraph.amounts:
            continue
        for match in template.regex.finditer(lower):
            amount = None
            if "amount" in template.gaps:
                number = ord(match.group("amount")) - _MASK
                amount = paragraph.amounts[number] if number < len(paragraph.amounts) else None
            title = None
            if "title" in template.gaps:
                title = _title(paragraph, match.start("title"), match.end("title"), template.gaps[-1] == "title", view)
                if title is None:
                    continue
            yield Told(title, amount, paragraph, paragraph.text[:200])
            break


def _name_in(text: str, view: View) -> str | None:
    """The name that running text begins with: words in capitals, joined by small linking words; None if it has none.

    Scripts without capitals give the text itself.
    """
    words = text.split(" ")
    articles, linking = view.words.phrase_set("prose", "articles"), view.words.phrase_set("prose", "linking")
    while words and fold(words[0]) in articles and words[0][:1].islower():
        words.pop(0)
    if not words or words[0][:1].islower():
        return None
    if not any(c.isupper() or c.islower() for c in text):
        return text
    kept = 0
    for number, word in enumerate(words):
        bare = word.lstrip("(\"“„«'’‘")
        named = bare[:1].isupper() or bare[:1].isdigit() or bare in ("&", "–", "-", "+", "/")
        if named or _of_goods(fold(word).strip(".,;:!()"), view):
            kept = number + 1
        elif fold(word) not in linking and not _bracketed(words, number):
            break
    return " ".join(words[:kept]).rstrip(",;:–- ") or None


def _of_goods(word: str, view: View) -> bool:
    """Whether a small word may be part of a title: a craft, a garment, a form ("waistcoat", "digital", "pattern")."""
    return any(word in view.words.phrase_set("goods", key) for key in ("pattern", "craft", "digital", "format"))


def _bracketed(words: list[str], number: int) -> bool:
    """Whether a word stands inside brackets ("Falda (tallas 34-50)")."""
    before = " ".join(words[: number + 1])
    return before.count("(") > before.count(")") or (words[number].endswith(")") and "(" in before)


def _title(paragraph: Paragraph, start: int, end: int, last: bool, view: View) -> str | None:
    """The title in its own letters; where the gap ends the sentence, up to what is set off or to its end."""
    rest = paragraph.masked[start:]
    for passage in (*paragraph.strong, *(k.text for k in paragraph.links if k.text)):
        at = rest.find(passage)
        if 0 <= at <= 12 and len(passage) > 2 and (last or at + len(passage) <= end - start + 12):
            return passage
    if last:
        quoted = _QUOTED_RE.match(rest)
        if quoted:
            return quoted.group(1)
        stop = _END_RE.search(rest, 2)
        title = _AMOUNT_TAIL_RE.sub("", rest[: stop.start()] if stop else rest).strip()
        if paragraph.masked[:start].rstrip().endswith((":", "：")):
            return title or None
        return _name_in(title, view)
    inside = paragraph.masked[start:end].strip()
    quoted = _QUOTED_RE.search(inside)
    if quoted and len(quoted.group(1)) * 2 > len(inside):
        return quoted.group(1)
    if _SENTENCE_RE.search(inside):
        return None
    words = inside.split(" ")
    articles = view.words.phrase_set("prose", "articles")
    while len(words) > 1 and words[0][:1].islower() and fold(words[0]) in articles:
        words.pop(0)
    return " ".join(words).strip(" \"“”„«»'")


def bought(view: View, start: int, stop: int) -> list[Told]:
    """Sentences that say what was bought, with its price where they say it; each title once."""
    out: list[Told] = []
    seen: set[str] = set()
    for paragraph in paragraphs(view, start, stop):
        told = list(matches(paragraph, view.words.templates("prose", "bought"), view)) if paragraph.amounts else []
        if len(paragraph.amounts) > 2 and (added := _added_up(paragraph, view)):
            out = [t for t in out if t.paragraph is not paragraph] + added
            seen.update((t.title or "").casefold() for t in added)
            continue
        if not told:
            told = list(matches(paragraph, view.words.templates("prose", "bought_only"), view))
        for one in told:
            title = tell(one.title or "", view.words).title
            if (
                not may_be_title(title, view.words)
                or len(title) > 150
                or any(chr(0xE000) <= c <= chr(0xEFFF) for c in title)
            ):
                continue
            key = title.casefold()
            if key in seen or any(key in s for s in seen):
                continue
            seen.add(key)
            out.append(Told(title, one.amount, one.paragraph, one.words))
            break
    return out


def _added_up(paragraph: Paragraph, view: View) -> list[Told]:
    """Things told one after the other with their prices, where their sum is told too ("A for 5, B for 7 ... 12")."""
    values = [a.value for a in paragraph.amounts]
    count = next((n for n in range(2, len(values)) if sum(values[:n]) == values[n]), None)
    if count is None or any(v <= 0 for v in values):
        return []
    joints = view.words.phrase_set("prose", "joint")
    out: list[Told] = []
    at = 0
    for amount in paragraph.amounts[:count]:
        words = _LIST_RE.split(paragraph.text[at : amount.start])[-1].strip(" ,;(–-•").split(" ")
        at = amount.end
        while words and fold(words[0]) in joints:
            words.pop(0)
        while words and fold(words[-1]) in joints:
            words.pop()
        title = tell(" ".join(words).strip(" ,;–-").removesuffix("(").strip(), view.words).title
        if not may_be_title(title, view.words) or len(title) > 120:
            return []
        out.append(Told(title, amount, paragraph, paragraph.text[:200]))
    return out


def refunded(view: View, start: int, stop: int) -> tuple[Amount | None, list[str], bool | None, str]:
    """What a refund letter says: the amount, the titles it names, whether it is for the whole (None: not said)."""
    amount: Amount | None = None
    titles: list[str] = []
    whole: bool | None = None
    said = ""
    for paragraph in paragraphs(view, start, stop):
        for one in matches(paragraph, view.words.templates("prose", "refunded"), view):
            if amount is None and one.amount is not None:
                amount, said = one.amount, one.words
        for one in matches(paragraph, view.words.templates("prose", "refunded_item"), view):
            title = tell(one.title or "", view.words).title
            key = fold(title)
            if may_be_title(title, view.words) and not any(key in fold(t) for t in titles):
                titles = [t for t in titles if fold(t) not in key] + [title]
        lower = _lower(paragraph.text)
        if any(p in lower for p in view.words.phrases("prose", "rest_stays")):
            whole = False
        elif whole is None and any(p in lower for p in view.words.phrases("prose", "whole")):
            whole = True
    return amount, titles, whole, said
