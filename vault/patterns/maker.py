"""Who designed the pattern: by copyright lines, "by ..." lines, labels, what repeats in footers, the document's author.

Each place where a maker stands is a candidate with a weight; the same name at several places adds up.  Names of the
buyer (stamped on the pages) and of programs are never taken: the caller hands in the buyer, and an author that metadata
of untouched templates would carry ("anonymous", "user") is no name.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cache

from vault.patterns.memo import remembered
from vault.patterns.pages_text import PageText, TextLine
from vault.patterns.title_block import maker_under, names_goods
from vault.patterns.title_words import bare_title, has_kind, is_format, may_be_name, segments, without_label
from vault.patterns.words import CJK_RE, entries, fold

WEIGHTS = {
    "copyright": 4.0,
    "label": 4.0,
    "by": 3.0,
    "paired": 2.5,
    "of": 2.0,
    "author": 2.0,
    "beside the title": 1.5,
    "two names": 1.0,  # "Oak & Anchor" under the title
    "under the title": 2.6,  # a plain name where the title block has one
    "repeated": 1.0,
}
_MAKER_BONUS = 1.5
ENOUGH = 2.5
_FIRST_PAGES = 4
_LONGEST, _MOST_WORDS = 60, 7

_YEARS = r"(?:(?:19|20)\d{2}(?:\s*[-–/,&]\s*(?:(?:19|20)\d{2}|\d{2}))*)"
_COPYRIGHT_RE = re.compile(
    rf"(?:©|Ⓒ|\(c\)(?=\s*(?:\d|by|[A-Z]))|\bcopyright\b\s*(?:©|\(c\))?(?=\s*(?:{_YEARS}|by\b|:))|\bcopyright\s+©)"
    rf"\s*:?\s*(?:by\s+)?{_YEARS}?\s*[,:]?\s*(?:(?:by|von|par|door|por|av|af|di|de)\s+)?",
    re.IGNORECASE,
)
_RIGHTS_RE = re.compile(
    r"all\s+rights|alle\s+recht\w*|tous\s+(?:les\s+)?droits|todos\s+los|reservados|tutti\s+i\s+diritti|alla\s+rättigheter|"
    r"alle\s+rettig\w*|med\s+ensamrätt|wszelkie\s+prawa|wszystkie\s+prawa|kaikki\s+oikeudet|無断|禁|all\s+right\s|"
    r"for\s+personal|nur\s+für|pour\s+usage|no\s+part\s|do\s+not|not\s+for|personal\s+use|patterns?\s+may\s+not|"
    r"private\s+use|this\s+pattern",
    re.IGNORECASE,
)
_END_RE = re.compile(
    r"\.(?=\s|$)|[|•·;:\"”»]|\s\d{1,3}\s?[x×]\s?\d|\s[-–—/]\s|"
    r",(?!\s*(?:inc|ltd|llc|gmbh|co)\b)|\s\(|\s(?:www\.|https?:)",
    re.IGNORECASE,
)
_INITIAL_RE = re.compile(r"(?:^|[\s.])(?:[A-ZÀ-Þ]|st|dr|mrs|mr|ms|co|no|ltd|inc|vol|u|jr)$", re.IGNORECASE)
_YEAR_RE = re.compile(rf"[\s,]*{_YEARS}[\s,]*")

_BY_WORDS = ("by", "par", "von", "door", "por", "suunnittelu", "projekt")
_OF_WORDS = ("de", "di", "da", "af", "av", "van", "od", "fra", "från")
_NAME_START_RE = re.compile('[A-ZÀ-ÞĀ-Ž0-9"“„«&\u3040-\u30ff\u3400-\u9fff]|[a-z][A-Z]')

# Words that names of pattern makers are built with, in the languages of the trade.
MAKER_RE = re.compile(
    r"\b(?:patterns|designs|studios?|handmade|ateliers?|couture|knits?|knitwear|crafts?|stitch(?:es|ing|ery)?|"
    r"quilts?|yarns?|sewing\s+(?:house|co|studio|room|company)|company|workshop|threads?|needles?|crochet|embroider(?:y|ies)|textiles?|"
    r"nähstube|näh\w*|schnitt\w*|strick\w*|masch\w*|garn\w*|woll\w*|stoff\w*|werkstatt|manufaktur|fadenw\w*|häkel\w*|"
    r"patrones|maison|club|cutting\s+room|patrons?|ciseaux|fil|aiguilles?|mercerie|naai\w*|haak\w*|brei\w*|garen\w*|draad|costura|costurero|taller|hilos?|tejidos?|"
    r"sartoria|cucito|filo|ditale|ricamo|maglia|sy\w{0,8}rum\w*|syateljé|sömnad\w*|stick\w*|garnloft\w*|strikk?e?\w*|"
    r"tråd\w*|pracownia|szyci\w*|krawiec\w*|włóczk\w*|ompelimo|neule\w*|lanka\w*)\b|工房|アトリエ|手芸|ソーイング|ハンドメイド",
    re.IGNORECASE,
)
_GENERIC_AUTHOR_RE = re.compile(
    r"anonymous|unknown|unspecified|user\d*|users?|owner|admin(?:istrator)?|author|default|none|n/?a|root|guest|pc|home|"
    r".*\b(?:pdf|office|writer|printer|scanner|laptop|desktop|notebook|computer)\b.*|[\W\d_]*|untitled|autor|benutzer|"
    r"utilisateur|gebruiker|usuario|utente|bruker|bruger|användare|użytkownik|käyttäjä|\w*[-_]\w*\d\w*|[a-z]{1,3}",
    re.IGNORECASE,
)


def designer_of(
    pages: Sequence[PageText],
    metadata: Mapping[str, str],
    *,
    not_these: Collection[str] = (),
    titles: Collection[str] = (),
    name: str = "",
) -> str | None:
    """The designer as the file writes it, or None.

    `not_these` are names of the buyer, `titles` lines that are known to be the title, `name` that of the file, where
    titles stand more often than makers.
    """
    excluded = {fold(other) for other in (*not_these, *titles) if other}
    titled = " ".join((squash(name), squash(metadata.get("Title", "")), *map(squash, titles)))
    scores: dict[str, float] = {}
    written: dict[str, dict[str, int]] = {}
    for place, found in _candidates(pages, metadata, titled, titles):
        key = fold(found)
        if key in excluded or not _possible(found):
            continue
        spellings = written.setdefault(key, {})
        first_here = place not in spellings
        spellings[place] = spellings.get(place, 0) + 1
        spellings[f"={found}"] = spellings.get(f"={found}", 0) + 1
        scores[key] = scores.get(key, 0.0) + (WEIGHTS[place] if first_here else 0.1)
    for key in scores:
        if MAKER_RE.search(key):
            scores[key] += _MAKER_BONUS
    best = max(scores, key=lambda key: scores[key], default=None)
    if best is None or scores[best] < ENOUGH:
        return None
    names = {spelling[1:]: n for spelling, n in written[best].items() if spelling.startswith("=")}
    return max(names, key=lambda spelling: (not spelling.isupper(), names[spelling]))


def _possible(name: str) -> bool:
    return (
        may_be_name(name) and len(name) <= _LONGEST and len(name.split()) <= _MOST_WORDS and not _RIGHTS_RE.match(name)
    )


def _candidates(
    pages: Sequence[PageText], metadata: Mapping[str, str], titled: str, titles: Collection[str]
) -> Iterator[tuple[str, str]]:
    author = metadata.get("Author", "").strip()
    programs = fold(f"{metadata.get('Creator', '')} {metadata.get('Producer', '')}")
    if author and not _GENERIC_AUTHOR_RE.fullmatch(author) and "@" not in author and fold(author) not in programs:
        yield "author", author
    seen: dict[str, int] = {}
    for page in pages:
        for line in page.lines:
            n = seen[line.text] = seen.get(line.text, 0) + 1
            if n > 2 or len(line.text) > 300:
                continue  # a footer says it once and once more
            copyright_name = copyright_holder(line.text)
            if copyright_name:
                yield "copyright", copyright_name
            elif page.number <= _FIRST_PAGES or page is pages[-1]:
                yield from _said_on(line)
    yield from _beside_title(pages, titled, titles)
    yield from _under_title(pages, titled, titles)
    if pages:
        yield from _paired_on_first(pages[0], titled)
    yield from _repeated(seen, len(pages), titled)


@remembered
def copyright_holder(line: str) -> str | None:
    """Who holds the copyright by a line that says so; None for other lines and for lines that name nobody."""
    match = _COPYRIGHT_RE.search(line)
    if match is None:
        return None
    after = _name_before_end(line[match.end() :])
    if after and _plausible_holder(after):
        return after
    before = _RIGHTS_RE.split(line[: match.start()])[0].strip(" -–|·•,.")
    pieces = segments(before) if before else ()
    if pieces and len(pieces[-1].split()) <= _MOST_WORDS and _plausible_holder(pieces[-1]):
        return pieces[-1]
    return None


def _plausible_holder(name: str) -> bool:
    return bool(_NAME_START_RE.match(name) or (name.islower() and len(name.split()) <= 4)) and not is_format(name)


def _name_before_end(text: str) -> str:
    """The name at the beginning of the text: up to a full stop, bar, dash, comma or the words of rights."""
    rights = _RIGHTS_RE.search(text)
    text = text[: rights.start()] if rights else text
    end = len(text)
    for match in _END_RE.finditer(text[:200]):
        inside = match.end() < len(text.rstrip())
        if inside and match.group().startswith(".") and _INITIAL_RE.search(text[: match.start()]):
            continue  # "St. Mary", "E. Fisk"
        end = match.start()
        break
    name = _YEAR_RE.sub(" ", text[:end]).strip(" -–|·•,.:\t")
    by = re.search(r"\s(?:by|von|par|door)\s(?=[A-ZÀ-Þ])", name)
    return name[by.end() :].strip() if by else name


def _said_on(line: TextLine) -> Iterator[tuple[str, str]]:
    """Names after a label with a colon, or after a word such as "by" at the beginning of a short line."""
    labelled = without_label(line.text, "designer")
    if labelled:
        name = _name_before_end(labelled)
        if name and _NAME_START_RE.match(name):
            yield "label", name
        return
    if len(line.text) > _LONGEST + 25:
        return
    for kind, expression in (("label", _phrase_label_re()), ("by", _by_re()), ("of", _of_re())):
        match = expression.match(line.text)
        if match:
            name = _name_before_end(line.text[match.end() :])
            if name and _NAME_START_RE.match(name):
                yield kind, name
            return
    within = _within_re().search(line.text)
    if within:
        name = _name_before_end(line.text[within.end() :])
        if name and len(name.split()) <= 4:
            yield "by", name


@cache
def _phrase_label_re() -> re.Pattern[str]:
    """Labels of several words ("Designed by", "Ein Schnittmuster von") and kinds of pattern followed by "by"."""
    labels = [re.escape(label).replace(r"\ ", r"\s+") for label in entries("labels", "designer") if " " in label]
    kinds = [re.escape(kind).replace(r"\ ", r"[\s-]+") for kind in entries("title", "kinds")]
    by = "|".join((*_BY_WORDS, *_OF_WORDS))
    article = r"(?:an?|une?|ein|eine|een|en|et|ett|un[ao]?)\s+"
    return re.compile(rf"(?:{'|'.join(labels)}|(?:{article})?(?:{'|'.join(kinds)})\s+(?:{by}))\s*:?\s+", re.IGNORECASE)


@cache
def _by_re() -> re.Pattern[str]:
    return re.compile(rf"[-–—~|]?\s*(?:{'|'.join(_BY_WORDS)})\s+", re.IGNORECASE)


@cache
def _of_re() -> re.Pattern[str]:
    labels = [re.escape(label) for label in entries("labels", "designer") if " " not in label and len(label) > 5]
    return re.compile(rf"(?:{'|'.join((*_OF_WORDS, *labels))})\s+", re.IGNORECASE)


@cache
def _within_re() -> re.Pattern[str]:
    """ "Samphire Tee by Tidewrack Patterns" in one line."""
    return re.compile(r"(?<=\S)\s+(?:(?:[Pp]attern|[Dd]esign(?:ed)?)\s+)?(?:by|par|von|door)\s+(?=[A-ZÀ-Þ&])")


def _beside_title(pages: Sequence[PageText], titled: str, titles: Collection[str]) -> Iterator[tuple[str, str]]:
    """The lines before and after the title where it is known, else after the largest line of the first page."""
    keys = {fold(title) for title in titles}
    for page in pages[:_FIRST_PAGES] if keys else ():
        for index, line in enumerate(page.lines[:80]):
            if fold(bare_title(line.text)) in keys:
                near = (*page.lines[max(0, index - 1) : index], *page.lines[index + 1 : index + 5])
                yield from (("beside the title", other.text) for other in near if _plain_maker(other.text))
                return
    if not pages or not pages[0].lines:
        return
    lines = [line for line in pages[0].lines if len(line.text) <= 80]
    if not lines:
        return
    if len({line.size_pt for line in lines}) == 1:
        yield from (("beside the title", line.text) for line in lines[1:4] if _plain_maker(line.text))
        return  # a text without sizes: only a maker's word tells
    largest = max(range(len(lines)), key=lambda i: lines[i].size_pt)
    for index in (largest + 1, largest + 2, largest - 1):
        if 0 <= index < len(lines) and lines[index].size_pt < 0.95 * lines[largest].size_pt:
            text = lines[index].text
            pieces = segments(text)
            if len(pieces) == 1 and _AND_OR_MAKER_RE.search(pieces[0]) and not has_kind(pieces[0]):
                text = pieces[0]  # "Teasel Row Patterns - projector file"
            elif len(pieces) == 2:
                text = maker_of_pair(pieces[0], pieces[1], titled) or ""
            of = _of_re().match(text)
            if of and _NAME_START_RE.match(text[of.end() :]):
                text = text[of.end() :]  # "av Tistelsøm", which a title seldom begins with
            written_large = text[:1].isupper() or CJK_RE.search(text) is not None
            plain = not re.search(r"[,:;]", text) and bare_title(text) == text
            if len(text.split()) <= 5 and written_large and plain:
                yield "beside the title", text
                if _AND_RE.search(text) and not MAKER_RE.search(text) and index > largest and _all_large(text):
                    yield "two names", text


def _under_title(pages: Sequence[PageText], titled: str, titles: Collection[str]) -> Iterator[tuple[str, str]]:
    """The plain name below the title: the line that is known as the title, else the largest of the first page."""
    keys = {fold(title) for title in titles}
    for page in pages[:2]:
        lines = [line for line in page.lines[:40] if len(line.text) <= 90]
        if not any(not is_format(line.text) for line in lines):
            continue
        known = [at for at, line in enumerate(lines) if fold(bare_title(line.text)) in keys]
        largest = max(range(len(lines)), key=lambda at: 0.0 if is_format(lines[at].text) else lines[at].size_pt)
        for at in dict.fromkeys([*known, *([] if keys else [largest])]):
            found = maker_under(lines, at)
            no_maker = not MAKER_RE.search(lines[at].text) or names_goods(lines[at].text)
            if found and no_maker and squash(found) not in titled:
                yield "under the title", found
                return


def _paired_on_first(page: PageText, titled: str) -> Iterator[tuple[str, str]]:
    """ "Jupe Ancolie - Atelier Brindille" at the head of a sheet: one names a product, the other has a maker's word."""
    for line in page.lines[:12]:
        pieces = segments(line.text) if len(line.text) <= 80 else ()
        if len(pieces) == 2 and any(names_goods(piece) for piece in pieces):
            maker = maker_of_pair(pieces[0], pieces[1], titled)
            if maker and MAKER_RE.search(maker) and not names_goods(maker) and not _DIGITS_RE.search(maker):
                yield "beside the title", maker
                return


def _all_large(text: str) -> bool:
    return all(word[0].isupper() for word in text.split() if word not in ("&", "+"))


_PLURAL_RE = re.compile(r"\s(?:patterns|designs)$", re.IGNORECASE)


def _plain_maker(text: str) -> bool:
    """A line that is a maker's name and nothing else: with a maker's word, and no kind of pattern."""
    written_large = _NAME_START_RE.match(text) is not None
    short = len(text.split()) <= 5 and not re.search(r"[,:;]", text)
    return written_large and short and MAKER_RE.search(text) is not None and not has_kind(_PLURAL_RE.sub("", text))


def _repeated(seen: Mapping[str, int], n_pages: int, titled: str) -> Iterator[tuple[str, str]]:
    """Makers in lines that stand on several pages, or beside a paper or page number ("Title - Maker - A4")."""
    for pieces, often in named_lines(seen, n_pages):
        if len(pieces) == 2:
            maker = maker_of_pair(pieces[0], pieces[1], titled)
            if maker and not _DIGITS_RE.search(maker) and len(maker.split()) <= 5:
                yield "paired", maker
        elif often:
            yield from (("repeated", piece) for piece in pieces if MAKER_RE.search(piece))


def named_lines(seen: Mapping[str, int], n_pages: int) -> Iterator[tuple[list[str], bool]]:
    """The pieces that may be names of each line that is a footer or headline, and whether it stands on many pages.

    `seen` counts the lines of the file; page numbers do not make them differ.
    """
    lines: dict[str, tuple[str, int]] = {}
    for text, n in seen.items():
        if len(text) <= 120:
            key = _DIGITS_RE.sub("#", text)
            there = lines.get(key)
            # a number at the end that changes from page to page is the page's
            lines[key] = (_LAST_NUMBER_RE.sub("", there[0]), there[1] + n) if there else (text, n)
    for text, n in lines.values():
        often = n >= max(2, n_pages // 3)
        if (often and len(text.split()) <= 14) or _has_format(text):
            pieces = [
                piece for piece in segments(text) if may_be_name(bare_title(piece)) and not copyright_holder(piece)
            ]
            if pieces:
                yield pieces, often


def maker_of_pair(first: str, second: str, titled: str) -> str | None:
    """Which of two names parted by a dash is the maker: the other stands in the file's name or title, or a word tells.

    Both orders are common, so that without a sign the answer is None.  `titled` is squashed text known to hold titles.
    """
    in_title = squash(first) in titled, squash(second) in titled
    if in_title[0] != in_title[1]:
        return second if in_title[0] else first
    for sign in (MAKER_RE.search, _AND_RE.search):
        if bool(sign(first)) != bool(sign(second)):
            return first if sign(first) else second
    return None


def squash(text: str) -> str:
    """Letters and digits only, umlauts and accents written plain, for finding a name in a file name."""
    text = fold(text).replace("ß", "ss").replace("ø", "o").replace("æ", "ae").replace("å", "a").replace("ł", "l")
    text = re.sub("([äöü])", lambda m: {"ä": "ae", "ö": "oe", "ü": "ue"}[m.group()], text)
    plain = unicodedata.normalize("NFD", text)
    return "".join(c for c in plain if c.isalnum())


_DIGITS_RE = re.compile(r"\d+")
_LAST_NUMBER_RE = re.compile(r"\s[-–]?\s?\d{1,3}$")
_AND_RE = re.compile(r"\s[&+]\s")
_AND_OR_MAKER_RE = re.compile(rf"{_AND_RE.pattern}|{MAKER_RE.pattern}", re.IGNORECASE)
_FORMAT_SEPARATOR_RE = re.compile(r"\s+[-–—|·•]\s+|\s*[|•·]\s*")


def _has_format(text: str) -> bool:
    return any(is_format(piece) for piece in _FORMAT_SEPARATOR_RE.split(text) if piece.strip())
