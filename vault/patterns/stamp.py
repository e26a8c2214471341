"""The buyer's stamp on the pages: her name, mail address and order number.

A stamp starts with words such as "licensed to", or is a line in the margin with a mail address and an order number that
comes back on the pages.  A footer may also hold the designer's own address, a hashtag or a copyright line: those are
no stamp.  A name is taken only where the words leave no doubt that it is one; a wrong buyer is worse than none.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from vault.model.pattern import Stamp
from vault.patterns.licence_words import CJK_RE, of_all, opens, plain
from vault.patterns.pages_text import PageText, TextLine

_LONGEST = 240  # characters of a line that may be a stamp
_MOST_LINES = 20_000
_MOST_TRIED = 1_000  # lines with words of a stamp; a real file has a handful
_MOST_PARTS = 4  # lines that follow a "licensed to"
_EDGE = 0.14  # of the page: the margin in which stamps without words stand
MM_PER_PT = 25.4 / 72
MAIL_RE = re.compile(r"(?<![\w.+-])([\w.+-]{1,64}@(?:[\w-]{1,63}\.){1,6}[^\W\d_]{2,24})(?!\w)")
_NUMBER = r"(?P<number>(?:[A-Z]{1,6}[-_/ ]?)?(?:\d[\w]{0,30}(?:[-/_.][\w]{1,20}){0,4}))"
_NUMBER_RE = re.compile(rf"(?<![\w@.,/-])(?:#\s?)?{_NUMBER}(?![\w@])", re.IGNORECASE)
_HASH_RE = re.compile(rf"#\s?{_NUMBER}(?![\w@])", re.IGNORECASE)
_LABEL_END_RE = re.compile(r"\s*(?:no\b\.?|nr\b\.?|n[°º]\.?|num\b\.?|#|№)?\s*[:：.#-]?\s*(?:is\b)?\s*", re.IGNORECASE)
_DATE_RE = re.compile(
    r"(?<!\d)(?:\d{4}[-/.年]\s?\d{1,2}[-/.月]\s?\d{1,2}日?|\d{1,2}[-/.]\s?\d{1,2}[-/.]\s?\d{2,4})(?!\d)"
)
_TIME_RE = re.compile(r"(?<!\d)\d{1,2}:\d{2}(?::\d{2})?(?!\d)")
_CUT_RE = re.compile(r"\s[-–—]+\s|[|•·<>()（）\[\]{};:/\\*©=~]|\s\.\s|、|・|，|(?<=\w{4})\.\s|\s{2,}|\d")
_SITE_RE = re.compile(
    r"https?://|\bwww\.|(?<![@\w.-])(?:[a-z0-9-]{2,40}\.)+"
    r"(?:com|net|org|shop|store|co|de|fr|nl|es|it|se|dk|no|pl|fi|jp|uk|example)\b(?!@)",
    re.IGNORECASE,
)
# What stands before the @ of an address that belongs to a shop and not to a person.
_SHARED_BOXES = frozenset(
    {
        "info",
        "hello",
        "hallo",
        "hi",
        "hey",
        "mail",
        "email",
        "kontakt",
        "contact",
        "contacto",
        "contatto",
        "shop",
        "store",
        "support",
        "help",
        "service",
        "team",
        "office",
        "kundenservice",
        "bonjour",
        "hola",
        "ciao",
        "hej",
        "post",
        "admin",
        "webmaster",
        "sales",
        "orders",
        "order",
        "patterns",
        "pattern",
        "studio",
        "atelier",
        "customerservice",
        "noreply",
        "design",
        "designs",
        "questions",
        "ask",
    }
)
_NAME_WORD_RE = re.compile(r"[^\W\d_][^\W\d_'.’-]*(?:['’-][^\W\d_][^\W\d_'’-]*)*\.?$")
_PARTICLES = frozenset(
    {
        "von",
        "van",
        "der",
        "den",
        "de",
        "du",
        "del",
        "della",
        "di",
        "da",
        "la",
        "le",
        "dos",
        "das",
        "zu",
        "zur",
        "ter",
        "ten",
        "af",
        "av",
        "y",
        "e",
        "i",
        "bin",
        "ibn",
        "al",
    }
)
_HONORIFIC_RE = re.compile(
    r"^(?:frau|herrn?|mrs?\.?|ms\.?|mme\.?|mlle|sra?\.?|sig\.?(?:ra)?|mevr\.?|dhr\.?)\s+", re.IGNORECASE
)
# "Made for" may go on with girls or jersey; "licensed to" and "bought by" hardly with anything but the buyer.
_LOOSE_RE = re.compile(r"(?:\b(?:for|für|pour|voor|para|per|till?|dla|of|de|di|van|för)|[:：])$", re.IGNORECASE)
_LICENSED_RE = re.compile("li[cszk]en[csz]|lizen", re.IGNORECASE)
# "This copy was prepared for", "zakupiono przez": said of nothing but a sale.
_THIS_COPY_RE = re.compile(
    r"this (?:copy|file|pattern|pdf|document) was|dieses exemplar|cet exemplaire|dit exemplaar|este ejemplar"
    r"|questa copia|detta exemplar|dette eksemplar|ten egzemplarz|tämä kappale|zakupion|kupion|nabyt",
    re.IGNORECASE,
)
_FIELD_RE = re.compile(
    r"(?:name|nom|naam|nome|nombre|namn|navn|nimi|e-?mail|mail|courriel|correo|sähköposti|氏名|お名前|メール)\s*[:：]\s*",
    re.IGNORECASE,
)
_CJK_HONORIFIC_RE = re.compile(r"\s*(?:様|さま|さん|殿)$")


@dataclass(frozen=True)
class _Seen:
    """A line of text, the first page it stands on, on how many pages, and where."""

    line: TextLine
    page: PageText
    index: int
    times: int


def stamp_of(pages: Sequence[PageText], designer: str | None) -> Stamp | None:
    """The buyer's stamp, or None where there is none that is sure.  `designer` is never the buyer."""
    best: Stamp | None = None
    n_pages = sum(bool(page.lines) for page in pages)
    for seen in _seen(pages):
        stamp = _labelled(seen, designer) or _unlabelled(seen, designer, n_pages)
        if stamp is not None and _weight(stamp) > (_weight(best) if best else 0):
            best = stamp
    return best


def _weight(stamp: Stamp) -> int:
    return 4 * (stamp.name is not None) + 2 * (stamp.mail is not None) + (stamp.order_number is not None)


def _seen(pages: Sequence[PageText]) -> Iterator[_Seen]:
    """Each line that may be (the start of) a stamp, once."""
    times: dict[str, int] = {}
    first: dict[str, tuple[TextLine, PageText, int]] = {}
    for page in pages:
        for text in {line.text for line in page.lines}:
            times[text] = times.get(text, 0) + 1
        for index, line in enumerate(page.lines):
            if line.text not in first and len(line.text) <= _LONGEST and len(first) < _MOST_LINES:
                first[line.text] = (line, page, index)
    label, order, weak = of_all("stamp.to"), of_all("stamp.order"), of_all("stamp.weak")
    tried = 0
    for text, (line, page, index) in first.items():
        if tried >= _MOST_TRIED:
            return
        if "@" not in text and not opens(text, "stamp"):
            continue
        folded = plain(text)
        if "@" in text or label.search(folded) or order.search(folded) or weak.match(folded):
            tried += 1
            yield _Seen(line, page, index, times[text])


# ---- with words ----------------------------------------------------------------------------------


def _labelled(seen: _Seen, designer: str | None) -> Stamp | None:
    """ "Licensed to Petra Quist, p.quist@mailbox.example, order A-77120", on one line or on a few."""
    text = plain(seen.line.text)
    label = of_all("stamp.to").search(text)
    weak = None if label else of_all("stamp.weak").match(text)
    if label is None and weak is None:
        return None
    match = label or weak
    assert match is not None
    if weak is not None and (_is_foreign(text) or not re.match(r"\s*[:：]", text[weak.end() :])):
        return None
    rest = text[match.end() :].lstrip(" :：-.")
    ended = not rest
    stamp = _parts(rest, named=not ended)
    for line in _following(seen):
        if _is_foreign(line.text):
            break
        more = _parts(_unlabel(plain(line.text)), named=ended and stamp.name is None)
        if more == Stamp():
            break
        stamp = Stamp(
            name=stamp.name or more.name,
            mail=stamp.mail or more.mail,
            order_number=stamp.order_number or more.order_number,
        )
    stamp = _own(stamp, designer)
    if stamp.name is None and stamp.mail is None and (stamp.order_number is None or weak is not None):
        return None
    if stamp.mail is not None or stamp.order_number is not None:
        return stamp
    return stamp if weak is None and _sure_alone(stamp.name or "", match.group(), seen.times) else None


def _sure_alone(name: str, label: str, times: int) -> bool:
    """Whether a name without address and number is the buyer's."""
    if not CJK_RE.search(name) and (len(name.split()) < 2 or name.islower()):
        return False
    sure = _LICENSED_RE.search(label) or _THIS_COPY_RE.match(label)
    loose = CJK_RE.search(label) or (_LOOSE_RE.search(label) and not sure)
    return times >= 2 or not loose


def _following(seen: _Seen) -> Iterator[TextLine]:
    """The lines that go on with a stamp: on the same row, or close below it."""
    before = seen.line
    for line in seen.page.lines[seen.index + 1 : seen.index + 1 + _MOST_PARTS]:
        height = max(before.size_pt, line.size_pt) * MM_PER_PT
        if not -0.6 * height <= line.y - before.y <= 2.2 * height or abs(line.size_pt - before.size_pt) > 2.5:
            return
        yield line
        before = line


def _unlabel(text: str) -> str:
    """A following line without a label of its own ("Name: ...", "E-mail: ...")."""
    match = _FIELD_RE.match(text)
    return text[match.end() :] if match else text


def _parts(text: str, *, named: bool) -> Stamp:
    """Name (where one is expected), mail address and order number of the words behind a label."""
    mail = MAIL_RE.search(text)
    bare = MAIL_RE.sub(" | ", text)
    bare = _TIME_RE.sub(" | ", _DATE_RE.sub(" | ", bare))
    number, at = _order(bare)
    if number is None and mail is not None:
        loose = _HASH_RE.search(bare) or next((m for m in _NUMBER_RE.finditer(bare) if _is_order(m["number"])), None)
        if loose is not None:
            number, at = loose["number"].strip(), loose.start()
    name = _name(bare if at is None else bare[:at] + " | " + bare[at:]) if named else None
    return Stamp(name=name, mail=mail.group(1) if mail else None, order_number=number)


def _order(text: str) -> tuple[str | None, int | None]:
    """An order number behind its label, and where the label starts."""
    for label in of_all("stamp.order").finditer(text):
        gap = _LABEL_END_RE.match(text, label.end())
        number = _NUMBER_RE.match(text, gap.end() if gap else label.end())
        if number is not None and _is_order(number["number"]):
            return number["number"].strip(), label.start()
    mark = _HASH_RE.search(text)
    if mark is not None and _is_order(mark["number"]):
        return mark["number"].strip(), mark.start()
    return None, None


def _is_order(number: str) -> bool:
    """Whether it can be a number of an order: at least three digits, no date."""
    return sum(char.isdigit() for char in number) >= 3 and not _DATE_RE.fullmatch(number)


def _name(text: str) -> str | None:
    """The name a text starts with, or None where it starts with other words."""
    text = _HONORIFIC_RE.sub("", text.strip(" ,.\"'"))
    end = _CUT_RE.search(text)
    head = text[: end.start()] if end else text
    pieces = [piece.strip(" ,.\"'") for piece in head.split(",")]
    name = pieces[0]
    if len(pieces) > 1 and len(name.split()) == 1 and len(pieces[1].split()) in (1, 2) and _is_name(pieces[1]):
        name = f"{pieces[1]} {name}"  # "Quist, Petra"
    words = name.split()
    for at, word in enumerate(words):
        if at >= 2 and word.islower() and word not in _PARTICLES and not words[0].islower():
            words = words[:at]  # "... on March 3"
            break
    name = _CJK_HONORIFIC_RE.sub("", " ".join(words))
    return name if _is_name(name) else None


def _is_name(name: str) -> bool:
    words = name.split()
    if not words or len(words) > 6 or len(name) > 60:
        return False
    if CJK_RE.search(name):
        return 2 <= len(name) <= 14 and not of_all("stamp.generic").search(name)
    generic = of_all("stamp.generic")
    if any(generic.fullmatch(word) and (n == 0 or word not in _PARTICLES) for n, word in enumerate(words)):
        return False
    if not all(_NAME_WORD_RE.match(word) for word in words):
        return False
    capital = [word[0].isupper() for word in words if word.casefold() not in _PARTICLES]
    small = [not upper for upper in capital]
    # "petra quist" as typed by the buyer has no capital at all; words of a sentence have some.
    return all(capital) if any(capital) else len(words) in (2, 3) and all(small)


# ---- without words -------------------------------------------------------------------------------


def _unlabelled(seen: _Seen, designer: str | None, n_pages: int) -> Stamp | None:
    """A line in the margin of the pages with the buyer's address and an order number, or an order number alone."""
    text = plain(seen.line.text)
    if _is_foreign(text) or not (_in_margin(seen) and (seen.times >= 2 or n_pages == 1)):
        return None
    stamp = _own(_parts(text, named=True), designer)
    # Without words a name is one only where the address is made from it: it might be a title.
    names = (_name(piece) for piece in _CUT_RE.split(MAIL_RE.sub(" | ", text))) if stamp.mail is not None else ()
    stamp = replace(stamp, name=next((name for name in names if name and _fits(name, stamp.mail or "")), None))
    if stamp.mail is not None:
        return stamp if stamp.order_number is not None else None
    number, at = _order(text)
    label = of_all("stamp.order").search(text)
    if number is None or label is None or at is None or seen.times < max(2, 0.6 * n_pages):
        return None
    goods = of_all("stamp.goods").search(text)
    return None if goods or at > 60 else replace(stamp, order_number=number)


def _in_margin(seen: _Seen) -> bool:
    line, page = seen.line, seen.page
    across = min(line.y, page.height_mm - line.y) < _EDGE * page.height_mm
    return across or min(line.x, page.width_mm - line.x) < 0.07 * page.width_mm


def _is_foreign(text: str) -> bool:
    """Whether the line speaks for the designer or the shop: contact, copyright, web address, hashtag."""
    folded = plain(text)
    if of_all("stamp.contact").search(folded) or "©" in folded or re.search(r"#[^\W\d]{3,}", folded):
        return True
    if _SITE_RE.search(MAIL_RE.sub(" ", folded)):
        return True
    mail = MAIL_RE.search(folded)
    return mail is not None and re.split(r"[.+_-]", mail.group(1).partition("@")[0].casefold())[0] in _SHARED_BOXES


def _fits(name: str, mail: str) -> bool:
    """Whether an address is made from the name: "p.quist@" for Petra Quist."""
    box = _ascii(mail.partition("@")[0])
    return any(len(word) >= 3 and _ascii(word) in box for word in name.split())


def _own(stamp: Stamp, designer: str | None) -> Stamp:
    """The stamp without what belongs to the designer."""
    if designer is None:
        return stamp
    known = _ascii(designer)
    name = None if stamp.name is not None and _ascii(stamp.name) == known else stamp.name
    mail = stamp.mail
    if mail is not None and len(known) >= 5:
        host = _ascii(mail.partition("@")[2].rpartition(".")[0])
        if host and (host in known or known in host) and len(host) >= 5 and name is None:
            mail = None
    return Stamp(name=name, mail=mail, order_number=stamp.order_number)


def _ascii(text: str) -> str:
    """Letters and digits without accents, for comparing names with addresses."""
    folded = unicodedata.normalize("NFKD", text).casefold().replace("ß", "ss").replace("ø", "o").replace("ł", "l")
    return "".join(char for char in folded if (char.isascii() and char.isalnum()) or CJK_RE.match(char))
