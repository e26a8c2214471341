"""What the file is called: its title, its headings, and titles of other products that it only advertises.

Every place where a title stands gives candidates: the largest lines of the first pages, lines that repeat on the pages,
labels, the document's own title.  A candidate is worth its size against the running text; each other place that holds
the same words (footer, pattern pieces, file name, metadata) speaks for it.  Headings, kinds, parts and the maker are no
candidates at all.  Advertisements for other products stand under their own headline near the end, and names found
only there are never the title.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from vault.patterns.maker import MAKER_RE, named_lines, squash
from vault.patterns.memo import remembered
from vault.patterns.pages_text import PageText, TextLine
from vault.patterns.title_block import names_goods
from vault.patterns.title_words import bare_title, has_kind, is_format, may_be_name, segments, without_label
from vault.patterns.words import fold, folded_entries

WEIGHTS = {
    "large": 1.0,  # times the size against the running text, at most four
    "after a kind": 1.5,  # "Schnittmuster Hemd Mechthild"
    "label": 3.0,
    "repeated": 1.6,
    "metadata": 1.8,
    "in the file name": 1.5,
    "in the metadata": 1.5,
    "said again": 0.5,  # for each, at most four
    "beside the maker": 1.0,
    "above the maker": 1.2,  # the line before the maker's own, at the head of a page
    "joined": 0.3,  # two lines of one size are one title
    "capitals": -0.2,
    "small letters": -1.0,  # three words and more that begin small are no name but a note
    "a maker's word": -1.2,  # "Wee Magpie Patterns", where the maker is not known
}
ENOUGH = 1.6
_MUCH_SMALLER = 0.75
_FIRST_PAGES = 5
_MOST_LINES = 60  # of a page that are looked at
_MOST_CANDIDATES = 200
_MOST_OTHERS = 30
_GENERIC_TITLE_RE = re.compile(
    r"untitled.*|layout\s?\d*|document\d*|dokument\d*|.*\.(?:docx?|indd|ai|odt|pages|pdf|cdr|xlsx?|pub|pptx?|"
    r"svg|dxf|rtf|tex)|booklet|final.*|pdf|scan.*|print|page\s?\d*|neues?\s.*|new\s.*|unbenannt\d*|sans\s(?:nom|titre).*|"
    r"naamloos.*|sin\st[íi]tulo.*|senza\stitolo.*|namnlös.*|uden\snavn.*|bez\s(?:nazwy|tytułu).*|nimetön.*|無題.*|"
    r"slide\s?\d*|presentation\d*|template.*|\W*",
    re.IGNORECASE,
)


@dataclass(frozen=True, kw_only=True)
class Title:
    """The title as the file writes it, and what speaks for it."""

    text: str
    why: tuple[str, ...]


def title_of(
    pages: Sequence[PageText],
    metadata: Mapping[str, str],
    *,
    designer: str | None,
    name: str = "",
    not_these: Collection[str] = (),
) -> Title | None:
    """The title or None; `not_these` are names of the buyer, `name` the name of the file."""
    maker = fold(designer) if designer else ""
    buyers = {fold(other) for other in not_these if other}
    excluded = buyers | {maker}
    named = tuple(buyer for buyer in buyers if len(buyer) >= 4)
    advertised = {fold(title) for title in other_titles(pages)}
    scores: dict[str, float] = {}
    texts: dict[str, str] = {}
    reasons: dict[str, list[str]] = {}
    for why, raw, value in _candidates(pages, metadata, maker, advertised, named):
        text = _without_maker(bare_title(_without_maker(raw, designer)), designer)
        key = fold(text)
        if not may_be_name(text) or key in excluded or (maker and key in maker) or len(texts) >= _MOST_CANDIDATES:
            continue
        if any(buyer in key for buyer in named):
            continue  # "This copy was made for ..." is the buyer's line, however often it stands there
        if not maker and MAKER_RE.search(raw) and not names_goods(raw):
            value += WEIGHTS["a maker's word"]
        if key not in texts or (texts[key].isupper() and not text.isupper()):
            texts[key] = text
        scores[key] = max(value, scores.get(key, value))
        if why not in reasons.setdefault(key, []):
            reasons[key].append(why)
    if not scores:
        return None
    support = _Support(pages, metadata, name)
    largest = max((value for key, value in scores.items() if "large" in reasons[key]), default=0.0)
    for key in scores:
        value, why_more = support.of(texts[key], told_only=reasons[key] == ["metadata"])
        if (
            " " not in key
            and {"repeated", "metadata", "label"}.isdisjoint(reasons[key])
            and scores[key] < _MUCH_SMALLER * largest
        ):
            value = min(value, 0.5)  # a heading of one word, such as "Machine", that the file's name happens to hold
        scores[key] += value + 0.6 * (len(reasons[key]) - 1)
        reasons[key].extend(why_more)
        if key in advertised:
            scores[key] -= 3.0
    best = max(scores, key=lambda key: scores[key])
    if scores[best] < ENOUGH:
        return None
    return Title(text=texts[best], why=tuple(reasons[best]))


def _without_maker(text: str, designer: str | None) -> str:
    """ "Samphire Tee by Tidewrack Patterns" and "Tidewrack Patterns Samphire Tee" without the maker."""
    if not designer:
        return text
    at = text.casefold().find(designer.casefold())
    if at < 0:
        return text
    before = re.sub(r"(?:\s*[-–—|:(,]\s*|\s+(?:by|von|par|door|por|di|de|av|af|van|od|fra|från)\s*)$", "", text[:at])
    after = re.sub(r"^(?:['’]s)?[\s\-–—|:),]*", "", text[at + len(designer) :])
    return before.strip() or after.strip() or text


def _candidates(
    pages: Sequence[PageText],
    metadata: Mapping[str, str],
    maker: str,
    advertised: Collection[str],
    buyers: Collection[str] = (),
) -> Iterator[tuple[str, str, float]]:
    """(reason, text, value) for every place where a title may stand."""
    told = metadata.get("Title", "").strip()
    if told and not _GENERIC_TITLE_RE.fullmatch(told):
        # "program - working name_v3" needs the pages to agree
        plain = " - " not in told and "_" not in told
        for piece in segments(told)[:2]:
            yield "metadata", piece, WEIGHTS["metadata"] if plain else 0.5 * WEIGHTS["metadata"]
    body = _running_size(pages)
    for page in _first_pages(pages):
        yield from _large_lines(page, body, 1.0 if page is pages[0] else 0.75, advertised)
    for page in pages[:2] if maker else ():
        for line, below in pairwise(page.lines[:12]):
            if fold(below.text) == maker and line.size_pt >= below.size_pt and not line.text[:1].islower():
                yield "above the maker", line.text, WEIGHTS["above the maker"] + 0.5
        for line in page.lines[:12]:
            pair = segments(line.text)
            if len(pair) == 2 and maker in map(fold, pair):
                other = pair[1] if fold(pair[0]) == maker else pair[0]
                if not other[:1].islower():  # "Atelier Brindille - livret d'explications"
                    yield "beside the maker", other, WEIGHTS["beside the maker"] + 0.7
    seen: dict[str, int] = {}
    for page in pages:
        for line in page.lines[:400]:
            if not any(buyer in fold(line.text) for buyer in buyers):
                seen[line.text] = seen.get(line.text, 0) + 1
    for pieces, often in named_lines(seen, len(pages)):
        paired = WEIGHTS["beside the maker"] if maker in map(fold, pieces) else 0.0
        for place, piece in enumerate(pieces[:3]):
            yield "repeated", piece, (WEIGHTS["repeated"] if often else 1.0) + paired - 0.2 * place
    for text in seen:
        if "©" in text:
            for piece in segments(text.split("©")[0])[:2]:
                yield "beside the copyright", piece, 1.2


def _first_pages(pages: Sequence[PageText]) -> list[PageText]:
    """The first pages, and the first of each further paper (the cover of the tiles behind a booklet)."""
    chosen = list(pages[:_FIRST_PAGES])
    for before, page in zip(pages[_FIRST_PAGES - 1 :], pages[_FIRST_PAGES:], strict=False):
        if abs(before.width_mm - page.width_mm) > 5 and len(chosen) < 2 * _FIRST_PAGES:
            chosen.append(page)
    return chosen


def _running_size(pages: Sequence[PageText]) -> float:
    """The size that most letters are set in."""
    letters: dict[float, int] = {}
    for page in pages[:30]:
        for line in page.lines:
            size = round(line.size_pt * 2) / 2
            letters[size] = letters.get(size, 0) + min(len(line.text), 200)
    return max(letters, key=lambda size: letters[size], default=10.0) or 10.0


def _large_lines(
    page: PageText, body: float, share: float, advertised: Collection[str]
) -> Iterator[tuple[str, str, float]]:
    """The display lines of a page, neighbours of one size joined; in a text without sizes its first lines."""
    lines = page.lines[:_MOST_LINES]
    if advertised and page.number > 1:
        lines = tuple(line for line in lines if fold(bare_title(line.text)) not in advertised)
    sized = len({line.size_pt for line in lines}) > 1 or len(page.lines) < 3
    names = 0
    for index, line in enumerate(lines):
        labelled = without_label(line.text, "title")
        if labelled:
            yield "label", labelled, WEIGHTS["label"] * share
        times = line.size_pt / body
        if not sized:
            first = page.number == 1 and index < 6 and names < 3
            times = 1.9 - 0.3 * names + (0.5 if _underlined(lines, index) else 0.0) if first else 0.0
            names += any(may_be_name(bare_title(piece)) for piece in segments(line.text))
        if times < 1.1 and not line.bold and not (index < 4 and len(line.text) < 60):
            continue
        if index and line.text[:1].islower() and _goes_on(lines[index - 1], line):
            continue  # the second line of a title that is too long for one
        value = WEIGHTS["large"] * min(times, 4.0) * share + (0.2 if line.bold else 0.0)
        yield from _display(line.text, value)
        joined = _joined(lines, index) if sized and times >= 1.25 else None
        if joined:
            yield from _display(joined, value + WEIGHTS["joined"])


def _display(text: str, value: float) -> Iterator[tuple[str, str, float]]:
    pieces = segments(text)
    if len(text) > 160 or not pieces:
        return
    if len(pieces) == len(re.split(r"\s+[-–—:]\s+", text)) and len(pieces) == 2 and not has_kind(text):
        yield "large", text, value - 0.4  # "Rosalie - a wrap dress" may be one title
    for place, piece in enumerate(pieces[:3]):
        bare = bare_title(piece)
        extra = WEIGHTS["after a kind"] if bare != piece and has_kind(piece) else 0.0
        yield "large", piece, value + extra - 0.3 * place


def _goes_on(before: TextLine, line: TextLine) -> bool:
    """Whether a line stands close below another of the same size."""
    same = abs(line.size_pt - before.size_pt) < 0.06 * before.size_pt and line.bold == before.bold
    return same and 0 < line.y - before.y < 1.9 * before.size_pt * 0.353


def _underlined(lines: Sequence[TextLine], index: int) -> bool:
    """A plain-text headline: ruled off below, or a heading mark before it."""
    below = lines[index + 1].text if index + 1 < len(lines) else ""
    return bool(re.fullmatch(r"[=\-~*_#]{3,}", below)) or lines[index].text.startswith("#")


def _joined(lines: Sequence[TextLine], index: int) -> str | None:
    """The line with those that follow in the same size close below it, at most three, as one text."""
    first = lines[index]
    texts = [first.text]
    before = first
    for line in lines[index + 1 : index + 3]:
        height = before.size_pt * 0.353
        same = abs(line.size_pt - first.size_pt) < 0.06 * first.size_pt and line.bold == first.bold
        if not same or not 0 < line.y - before.y < 1.9 * height or is_format(line.text):
            break
        if not may_be_name(bare_title(line.text)) and not line.text[:1].islower():
            break
        texts.append(line.text)
        before = line
    if len(texts) == 1:
        return None
    joined = texts[0]
    for text in texts[1:]:
        split_word = joined.endswith("-") and text[:1].islower()
        joined = joined[:-1] + text if split_word else f"{joined} {text}"
    return joined


class _Support:
    """What else in the file, its name or its metadata holds the words of a candidate."""

    def __init__(self, pages: Sequence[PageText], metadata: Mapping[str, str], name: str) -> None:
        told = metadata.get("Title", "")
        self.name = squash(name)
        self.metadata = squash(told)
        lines: dict[str, int] = {}
        for page in pages[:200]:
            for line in page.lines[:400]:
                if len(line.text) <= 400:
                    lines[line.text] = lines.get(line.text, 0) + 1
        self.lines = [(fold(text), n) for text, n in list(lines.items())[:5000]]

    def of(self, text: str, *, told_only: bool) -> tuple[float, tuple[str, ...]]:
        """The value of all support and its reasons; what stands in the metadata only does not support itself."""
        key, squashed = fold(text), squash(text)
        value, why = 0.0, []
        if len(squashed) >= 4 or not squashed.isascii():
            metadata = "" if told_only else self.metadata
            for place, held in (("in the file name", self.name), ("in the metadata", metadata)):
                if squashed in held:
                    value += WEIGHTS[place]
                    why.append(place)
        word_re = re.compile(rf"(?<!\w){re.escape(key)}(?!\w)") if key.isascii() else re.compile(re.escape(key))
        again = 0
        for line, n in self.lines:
            if key in line and line != key and word_re.search(line):
                again += 1 + (n > 2)
                if again >= 4:
                    break
        if again:
            value += WEIGHTS["said again"] * min(again, 4)
            why.append("said again")
        if text[:1].islower() and len(text.split()) >= 3:
            value += WEIGHTS["small letters"]
        if text.isupper() and len(text) > 3:
            value += WEIGHTS["capitals"]
        return value, tuple(why)


def headings_of(pages: Sequence[PageText], *, most: int = 12) -> tuple[str, ...]:
    """The largest lines of the first pages, largest first, those that may be names."""
    body = _running_size(pages)
    found: dict[str, float] = {}
    for page in _first_pages(pages):
        for line in page.lines[:_MOST_LINES]:
            if (line.size_pt > 1.15 * body or line.bold) and 2 <= len(line.text) <= 120 and not is_format(line.text):
                found[line.text] = max(found.get(line.text, 0.0), line.size_pt)
    return tuple(sorted(found, key=lambda text: -found[text])[:most])


@cache
def _more_re() -> re.Pattern[str]:
    """The headlines of advertisements: at the beginning of a line, the longer ones anywhere in it."""
    phrases = sorted(folded_entries("labels", "more"), key=lambda phrase: -len(phrase))
    anywhere = [re.escape(phrase) for phrase in phrases if len(phrase) > 12]
    return re.compile(rf"(?:{'|'.join(map(re.escape, phrases))})|.{{1,60}}?(?:{'|'.join(anywhere)})")


def other_titles(pages: Sequence[PageText]) -> tuple[str, ...]:
    """Names under a headline such as "you might also like", on the last pages."""
    found: dict[str, None] = {}
    first = fold(" ".join(page.text for page in pages[:2])[:20_000]) if len(pages) > 2 else ""
    for page in pages[max(0, len(pages) - 4) :]:
        if page.number == 1 and len(pages) > 1:
            continue
        under: TextLine | None = None
        for line in page.lines:
            if _announces_others(line.text):
                under = line
                found.update(dict.fromkeys(_listed_after(line.text)))
                continue
            if under is None:
                continue
            piece = next(iter(segments(line.text.lstrip("•*-– "))), "")
            bare = bare_title(piece)
            ends = line.y < under.y - 5 or (line.size_pt > 1.05 * under.size_pt and line.y > under.y)
            if ends or "©" in line.text or len(found) >= _MOST_OTHERS:
                under = None
            elif may_be_name(bare) and len(line.text) <= 80 and not without_label(line.text, "size"):
                found[bare] = None
    return tuple(title for title in found if fold(title) not in first)


@remembered
def _announces_others(text: str) -> bool:
    if len(text) > 120:
        return False
    return _more_re().match(fold(text)) is not None


def _listed_after(text: str) -> list[str]:
    """Names in the same line: "Also available: Rosalie Skirt, Anton Shirt"."""
    head, colon, rest = text.partition(":")
    if not colon or not rest.strip() or len(head) > 60:
        return []
    names = (bare_title(part.strip()) for part in re.split(r",|;|\s·\s", rest))
    return [name for name in names if may_be_name(name)][:_MOST_OTHERS]
