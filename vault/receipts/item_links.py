"""Download links and the items they belong to.

A link belongs to the item that its words or the words beside it name, that its row is about, or that its file is
called like.  What stands behind the totals, or names nothing among several items, is the whole order's.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from vault.language.folding import fold
from vault.model.evidence import DownloadLink
from vault.receipts.downloads import Terms, is_download, score
from vault.receipts.item import Item, plain_title, same_title, telling, title_key
from vault.receipts.lines import Link
from vault.receipts.row import UNLIMITED, Row
from vault.receipts.titles import acts, is_action, is_file_name, may_be_title, tell
from vault.receipts.view import Spot, View
from vault.receipts.words import trim_label

_ENDS = frozenset({"total", "subtotal", "tax", "shipping", "amount_due"})
_SENTENCE_RE = re.compile(r"\w{3}[.!?:]\s+(?=\w)")
_SENTENCES_RE = re.compile(r"(?<=[.!?])\s+|(?<=[。！？])")
_REACH = 7  # lines above a link in which its title may stand


@dataclass(frozen=True, slots=True)
class Found:
    """A download link with the title that stands nearest to it."""

    link: Link
    title: str | None
    spot: int
    line: int
    expires: date | None = None
    left: int | None = None
    lasting: bool = False


def downloads_in(
    view: View, start: int, stop: int, beside: set[int], loose: list[Row], titles: set[str]
) -> list[Found]:
    """Every download link of the section with the title that belongs to it; `titles` are the items' (as keys)."""
    out: list[Found] = []
    taken: set[str] = set()
    context, opened = False, None
    for row in loose:
        fetch = [k for k in row.links if is_download(k, view.words, column=row.group.startswith("table"))]
        if row.group.startswith("table") and not fetch and row.links and len(row.links) == 1:
            fetch = [k for k in row.links if score(k, view.words, column=True, context=True) >= 1]
        for link in fetch:
            taken.add(link.url)
            out.append(Found(link, row.title, row.spot, row.line, row.expires, row.left, row.lasting))
    said = view.words.phrases("signs", "download")
    about = view.words.phrases("download", "heading")
    begin = view.first_spot[start] if start < len(view.first_spot) else 0
    end = view.first_spot[stop] if stop < len(view.first_spot) else len(view.spots)
    for index in range(begin, end):
        spot = view.spots[index]
        if spot.text and (trim_label(spot.text) in about or any(p in spot.folded for p in said)):
            context = True
            opened = spot if not spot.links else None
        elif spot.heading and spot.text and context and not spot.links:
            context = any(p in spot.folded for p in said) or may_be_title(spot.text, view.words)
        if spot.line in beside:
            continue
        column = "download" in spot.concepts and (spot.whole or not spot.value)
        for link in spot.links:
            if link.url in taken:
                continue
            listed = context and (view.lines[spot.line].listed or (_listed_below(view, opened, spot)))
            key = title_key(link.text)
            named = len(key) > 3 and any(key in t for t in titles) and _announces(view, spot)
            named = named or _points(link, view, spot)
            if is_download(link, view.words, column=column or listed or named, context=context or named):
                taken.add(link.url)
                out.append(Found(link, _title_near(view, index, link), index, spot.line))
    out.sort(key=lambda f: f.spot)
    return out


def _listed_below(view: View, opened: Spot | None, spot: Spot) -> bool:
    """Whether a line "Name: address" stands in the list below the words that announce the files ("Your files:")."""
    if opened is None or not _name_and_link(spot) or not may_be_title(spot.links[0].text, view.words):
        return False
    lines = view.lines
    end = opened.line
    while end + 1 < spot.line and lines[end + 1].block == lines[opened.line].block and not lines[end + 1].links:
        end += 1
    last = view.of_line(end)
    if not last or not last[-1].text.rstrip().endswith((":", "：")):
        return False
    between = (s for n in range(end + 1, spot.line) for s in view.of_line(n) if s.text)
    return all(_name_and_link(s) for s in between)


def _name_and_link(spot: Spot) -> bool:
    """Whether a line of plain text is a name, a colon and an address."""
    text = spot.text.rstrip()
    return len(spot.links) == 1 and text.endswith((":", "：")) and text.rstrip(" :：") == spot.links[0].text


def _announces(view: View, spot: Spot) -> bool:
    """Whether the words around the links of a line speak of fetching ("Get your PDFs: A / B")."""
    rest = spot.folded
    for link in spot.links:
        rest = rest.replace(fold(link.text), " ") if link.text else rest
    about = (*view.words.phrases("download", "about"), "pdf")
    first = rest.strip().split(" ")[0]
    return not spot.amounts and (first in view.words.phrase_set("download", "verbs") or any(p in rest for p in about))


def _points(link: Link, view: View, spot: Spot) -> bool:
    """Whether a link of a word or two stands in a sentence about fetching ("You can download it here")."""
    words = view.words
    label = trim_label(link.text)
    if not label or label.count(" ") > 1 or label in words.phrase_set("signs", "not_file") or label not in spot.folded:
        return False
    verbs = words.phrase_set("download", "verbs")
    for sentence in _SENTENCES_RE.split(spot.folded):
        if label in sentence and label != sentence.strip():
            tokens = {t.strip(".,:;!()") for t in sentence.split(" ")}
            if tokens & verbs or any(v in sentence for v in verbs if v[0] >= "\u2e80"):
                return True
    return False


def _title_near(view: View, index: int, link: Link) -> str | None:
    """The name a link belongs to: its own words, else the nearest line above that can be a title."""
    words = view.words
    spot = view.spots[index]
    if may_be_title(link.text, words) and not _acts(link.text, view):
        return tell(link.text, words).title
    beside = spot.text
    for other_link in spot.links:
        beside = beside.replace(other_link.text, " ") if other_link.text else beside
    beside = " ".join(beside.split()).strip(" –—-:·|•()")
    alone = len(spot.links) == 1 and not spot.amounts and not spot.label
    named = sum(c.isalpha() for c in beside) > 3 and len(beside) < 90 and beside.count(" ") < 12
    if alone and named and may_be_title(beside, words) and not _acts(beside, view):
        return tell(beside, words).title
    if spot.amounts and may_be_title(spot.text[: spot.amounts[0].start], words):
        return tell(spot.text[: spot.amounts[0].start], words).title
    for other in view.of_line(spot.line):
        if other.cell != spot.cell and other.piece == 0 and _names(other, view):
            return tell(other.value if "title" in other.concepts and other.value else other.text, words).title
    for back in range(index - 1, max(-1, index - 14), -1):
        other = view.spots[back]
        if spot.line - other.line > _REACH:
            break
        if other.label and set(other.concepts) & _ENDS and other.line != spot.line:
            break  # past the sums a link is the whole order's
        if not other.text or (other.links and (is_file_name(other.text) or is_action(other, view))):
            continue
        if any(is_file_name(k.text) for k in other.links):
            continue
        if len(other.strong) == 1 and may_be_title(other.strong[0], words) and not other.label:
            return tell(other.strong[0], words).title
        if _names(other, view):
            return tell(other.value if "title" in other.concepts and other.value else other.text, words).title
        if other.line != spot.line and not other.amounts and not other.label:
            break
    return None


def _acts(text: str, view: View) -> bool:
    """Whether a link's words say what to do, not what it is."""
    return acts(trim_label(text), view.words)


def _names(spot: Spot, view: View) -> bool:
    text = spot.value if "title" in spot.concepts and spot.value else spot.text
    if spot.label and "title" not in spot.concepts:
        return False
    if spot.amounts:
        text = text[: spot.amounts[0].start]
    text = text.strip()
    if _SENTENCE_RE.search(text):
        return False
    return not text.endswith((":", ".", "!", "?", "：", "。", ",")) and may_be_title(text, view.words)


def attach(
    items: list[Item], found: list[Found], terms: Terms, places: dict[int, tuple[int, int]], ends: set[int]
) -> list[DownloadLink]:
    """Each link to its item; what belongs to none, to the order."""
    rest: list[DownloadLink] = []
    unnamed: list[tuple[Found, DownloadLink]] = []
    for one in found:
        link = DownloadLink(
            url=one.link.url,
            label=one.link.text or None,
            expires_on=one.expires or (None if one.lasting else terms.expires_on),
            downloads_left=terms.left if one.left is None else None if one.left == UNLIMITED else one.left,
        )
        home = _home(items, one, places, ends)
        if home is not None:
            home.links.append(link)
        elif one.link.text and is_file_name(one.link.text) and len(items) == 1:
            items[0].links.append(link)
        else:
            unnamed.append((one, link))
    one_file_each = len(unnamed) == len(items) > 1 and all(not i.links for i in items)
    for number, (_, link) in enumerate(unnamed):
        if one_file_each:
            items[number].links.append(link)
        elif (len(items) == 1 and not items[0].links) or len(items) == 1:
            items[0].links.append(link)
        else:
            rest.append(link)
    return rest


def _home(items: list[Item], one: Found, places: dict[int, tuple[int, int]], ends: set[int]) -> Item | None:
    """The item a link belongs to: by the title beside it, by the row it stands in, by the name of its file.

    What stands behind the totals (`ends`) belongs to the order, unless it names an item.
    """
    label = title_key(one.link.text or "")
    named = [i for i in items if len(title_key(i.claim.title)) > 5 and title_key(i.claim.title) in label]
    if len(named) == 1:
        return named[0]
    by_file = _by_file(items, one)
    if by_file is not None and by_file[1] >= 2:
        return by_file[0]
    if one.title:
        exact = [i for i in items if title_key(i.claim.title) == title_key(one.title)] or [
            i for i in items if same_title(i.claim.title, one.title)
        ]
        if len(exact) >= 1:
            return exact[0]
    for item in items:
        if id(item) in places and places[id(item)][0] <= one.line <= places[id(item)][1]:
            return item
    if by_file is not None:
        return by_file[0]
    above = [
        i
        for i in items
        if id(i) in places
        and places[id(i)][0] <= one.line <= places[id(i)][1] + 4
        and not any(places[id(i)][1] < end < one.line for end in ends)
    ]
    return above[-1] if above else None


def _begins_alike(title: str, label: str) -> bool:
    """Whether a link in a script without blanks is called like the beginning of a title."""
    return len(title) > 4 and not title[:4].isascii() and title[0] >= "\u3040" and label.startswith(title[:4])


def _by_file(items: list[Item], one: Found) -> tuple[Item, int] | None:
    """The one item whose title shares most words with the name of the file, and how many."""
    name = one.link.text if is_file_name(one.link.text or "") else one.link.url.rsplit("/", 1)[-1].split("?")[0]
    words = telling(name) | telling(one.link.text or "")
    keys = [plain_title(i.claim.title) for i in items]
    scored = sorted(
        (
            (
                len(words & telling(i.claim.title))
                + sum(len(w) > 4 and w in keys[n] for w in words)
                + 2 * _begins_alike(i.claim.title, one.link.text or ""),
                -n,
            )
            for n, i in enumerate(items)
        ),
        reverse=True,
    )
    if scored and scored[0][0] >= 1 and (len(scored) == 1 or scored[0][0] > scored[1][0]):
        return items[-scored[0][1]], scored[0][0]
    return None
