"""Cutting a line down to the name that may stand in it: a title or a maker.

Around a title stand the kind ("sewing pattern"), the part ("A0", "instructions"), sizes, version, page number and
the maker, parted by dashes, bars and dots.  `segments` parts a line and drops the pieces that are none of it;
`bare_title` takes kind and part words off both ends of a piece.  A line that consists of the words of the trade alone
(a heading, the name of a pattern piece, a test square) is nobody's name.
"""

from __future__ import annotations

import re
from functools import cache

from vault.patterns.memo import remembered
from vault.patterns.sheet_words import TILE_RE
from vault.patterns.words import CJK_RE, entries, expression_re, fold, folded_entries, phrase_re, tables

LONGEST_TITLE, MOST_WORDS = 90, 11
_SEPARATOR_RE = re.compile(r"\s+[-–—|·•/~:]\s+|\s*[|•·]\s*|\s*//\s*|:\s+|\s{3,}|(?<=\d)\s*©|\s*[©Ⓒ]\s*(?=\d)|\t")
_PAPER_RE = re.compile(
    r"(?:din\s+)?[ab][0-5]\+?|2?a0|a4\s*(?:/|\+|&|and|und|et|y|e|og|och|en|i|ja)\s*(?:us\s+)?letter|(?:us\s+)?letter|"
    r"us\s+legal|legal|tabloid|ledger|ansi\s?[a-e]|arch\s?[a-e]1?|36\s*(?:in(?:ch)?|\"|″)?(?:\s*wide)?|\d{2,4}\s*[x×]\s*"
    r"\d{2,4}(?:\s*(?:mm|cm|in))?|pdf|svg|dxf|png|eps|pes|dst|jef|exp|vp3",
    re.IGNORECASE,
)
_PAGE_WORD = (
    r"(?:page|pg|p|sheet|tile|seite|s|blatt|bogen|feuille|pagina|pag|blad|vel|página|pág|hoja|foglio|tavola|sida|sid|ark|"
    r"side|strona|str|arkusz|sivu|arkki|row|reihe|rangée|rij|fila|riga|rad|række|rekke|rząd|rivi|col|column|ページ|頁)"
)
_PAGE_RE = re.compile(
    rf"{_PAGE_WORD}\.?\s*[a-z]?\d{{1,3}}[a-z]?(?:\s*(?:/|of|von|sur|van|de|di|av|af|z|の)\s*\d{{1,3}})?"
    r"|[-–]?\s*\d{1,3}\s*(?:/|of|von|sur|van|de|di|av|af|z)\s*\d{1,3}\s*[-–]?|[-–]\s*\d{1,3}\s*[-–]"
    r"|\d{1,3}[a-z]?|[a-z]\d{1,2}"
    rf"|r\s?\d{{1,2}}\s?[,/-]?\s?[cs]\s?\d{{1,2}}|\d{{1,3}}\s*ページ|{_PAGE_WORD}",
    re.IGNORECASE,
)
_PAGE_LABEL_RE = re.compile(rf"{_PAGE_WORD}\.?\s*\d{{1,3}}\b", re.IGNORECASE)  # "Row 1, column 2"
_SIZE = (
    r"(?:\d{1,3}(?:[.,]5)?|x{0,5}[sml]|\d{0,2}xl|xxs|\d{1,2}x|one size|os|einheitsgröße)"
    r"(?:\s?(?:cm|y|m|mo|w|years?|months?))?"
)
_SIZE_LIST_RE = re.compile(rf"\b{_SIZE}\s?\(\s?{_SIZE}(?:\s?[,)\]/]|\s?[-–]\s?{_SIZE}\))", re.IGNORECASE)  # "S (M, L)"
_MEASURE_RE = re.compile(
    r"\d+(?:[.,/]\d+|\s?[½¼¾])?\s*"
    r"(?:[x×]\s*\d|(?:cm|mm|in|inch(?:es)?|yds?|pouces?|zoll|tommer|tum|cale?|tuumaa)\b|[\"″])",
    re.IGNORECASE,
)
_SIZES_RE = re.compile(
    rf"(?:(?:us|uk|eu|de|fr)?\s*{_SIZE})(?:\s*(?:[-–—,·/+&()\[\]|]|to|bis|à|a|al|til|till|tot|do|and|und|et|〜|～|から)*\s*"
    rf"(?:us|uk|eu|de|fr)?\s*{_SIZE}){{0,40}}\s*[)\]]?",
    re.IGNORECASE,
)
_VERSION_RE = re.compile(
    r"(?:v|ver|vers|version|versie|versión|versione|versjon|wersja|versio|rev|edition|バージョン)\.?\s*\d+(?:\.\d+)*[a-z]?",
    re.IGNORECASE,
)
_DATE_RE = re.compile(
    r"(?:\d{1,2}[./-])?\d{1,2}[./-](?:19|20)?\d{2}|(?:19|20)\d{2}(?:[./-]\d{1,2}){0,2}(?:\s*[-–]\s*(?:19|20)\d{2})?"
)
_ADDRESS_RE = re.compile(
    r"https?://|www\.|\S@\S|\b[\w-]+\.(?:com|net|org|de|fr|nl|es|it|se|dk|no|pl|fi|jp|eu|shop|co|example|test)\b",
    re.IGNORECASE,
)
_WORDS_RE = re.compile(r"[^\W\d_]")
_QUOTES = "\"'“”„«»‹›‚‘’「」『』()[]"
_TRIM = " \t-–—|·•:,;/~*_=#"


@remembered
def segments(line: str) -> tuple[str, ...]:
    """The pieces of a line that may be names: parted at dashes, bars, dots; format, page, size and version dropped."""
    if len(line) > 400 or BUYER_RE.match(line):
        return ()
    head, colon, _ = line.partition(":")
    if colon and len(head) < 40 and fold(head) in trade_words() and fold(head) not in _title_labels():
        return ()  # "Sizes: ...", "Materials: ..."
    found = []
    for piece in _SEPARATOR_RE.split(line):
        piece = piece.strip(_TRIM)
        if piece and not is_format(piece) and not expression_re("parts", "preview").match(piece):
            found.append(piece)
    return tuple(found)


@cache
def _title_labels() -> frozenset[str]:
    """Labels with a name after them: the kinds of pattern, "Title", "Model"."""
    titles = (fold(label) for label in entries("labels", "title"))
    return frozenset(titles) | folded_entries("title", "kinds")


@remembered
def is_format(piece: str) -> bool:
    """Whether the piece only says paper, page, sizes, version, date or web address."""
    bare = piece.strip(_TRIM + "().")
    if any(expression.fullmatch(bare) for expression in (_PAPER_RE, _PAGE_RE, _SIZES_RE, _VERSION_RE, _DATE_RE)):
        return True
    if _SIZE_LIST_RE.search(bare) or _MEASURE_RE.match(bare):
        return True
    if _PAGE_LABEL_RE.match(bare) and len(bare.split()) <= 6:
        return True
    return not _WORDS_RE.search(bare) or _ADDRESS_RE.search(bare) is not None or says_sizes(bare)


@cache
def _size_label_re() -> re.Pattern[str]:
    labels = "|".join(re.escape(label) for label in entries("labels", "size"))
    return re.compile(rf"(?:{labels})\.?\s*[:=]?\s*(?={_SIZE}(?!\w)|\(|[～〜])", re.IGNORECASE)


def says_sizes(text: str) -> bool:
    """Whether a line lists sizes: a size label with sizes after it."""
    return _size_label_re().match(text) is not None and len(text) < 160


@cache
def trade_words() -> frozenset[str]:
    """Everything that, standing alone, is a word of the trade and nobody's name (folded)."""
    words: set[str] = set()
    for table in tables().values():
        for signs in table.get("signs", {}).values():
            words.update(fold(sign) for sign in signs)
        for labels in table.get("labels", {}).values():
            words.update(fold(label) for label in labels)
    for key in ("kinds", "parts", "headings"):
        words.update(folded_entries("title", key))
    return frozenset(words - {""})


@cache
def _headlines() -> frozenset[str]:
    return frozenset().union(*(folded_entries("title", key) for key in ("kinds", "parts", "headings")))


@cache
def _around_re() -> tuple[re.Pattern[str], re.Pattern[str]]:
    """Kind and part phrases at the beginning and at the end of a piece."""
    kinds = [re.escape(word).replace(r"\ ", r"[\s\-]+") for word in entries("title", "kinds")]
    parts = [re.escape(word).replace(r"\ ", r"[\s\-]+") for word in entries("title", "parts")]
    lead = rf"(?:{'|'.join(kinds)})(?:\s*[:\-–—]\s*|\s+)(?=\S)"
    numbers = r"(?:\s+[a-z]|\s*\d{1,2})?"
    both = sorted((*kinds, *parts), key=len, reverse=True)
    tail = rf"[\s\-–—:,(]+(?:{'|'.join(both)}){numbers}\)?"
    return re.compile(lead, re.IGNORECASE), re.compile(tail, re.IGNORECASE)


_TAIL_FORMAT_RE = re.compile(
    rf"[\s,(\-–]+(?:{_PAPER_RE.pattern}|{_VERSION_RE.pattern}|\d{{1,3}}\s*/\s*\d{{1,3}}|"
    rf"{_PAGE_WORD}\.?\s*\d{{1,3}}(?:\s*(?:/|of|von|sur|van|de|di|av|af|z)\s*\d{{1,3}})?)\)?",
    re.IGNORECASE,
)


@remembered
def bare_title(piece: str) -> str:
    """The piece without kind and part words, paper and version around it, quotation marks and spaced-out letters."""
    whole = text = _unspaced(" ".join(piece.split()).strip(_TRIM))
    if fold(text) in trade_words():
        return text
    lead, tail = _around_re()
    for _ in range(4):
        before = text
        match = lead.match(text)
        if match and _WORDS_RE.search(text[match.end() :]) and not _belongs(text[: match.end()], text[match.end() :]):
            text = text[match.end() :]
        text = _cut_tail(text, tail)
        for more in (_TAIL_FORMAT_RE, _TAIL_MORE_RE, _tail_sizes_re()):
            text = _cut_tail(text, more)
        text = _LEAD_FORMAT_RE.sub("", text)
        text = _unquoted(text.strip(_TRIM))
        if text == before:
            break
    text = _OPEN_RE.sub("", text).strip(_TRIM) or text
    if text[:1].islower() and whole[:1].isupper():
        return whole  # "Schnittmuster und Nähanleitung": no name in it
    return text


_OPEN_RE = re.compile(r"\s*[(\[][^()\[\]]{0,8}$")  # what is left of "(US sizes 0-14)"
_LEAD_FORMAT_RE = re.compile(r"(?:[A-Z]{2,4}[-–]?\d{2,6}|[aA][0-4]|us\s?letter)(?:\s+[-–:]\s+|\s+)(?=[^\W\d])")
_TAIL_MORE_RE = re.compile(
    r"[\s,\-–]+[A-Z]{2,4}[-–]?\d{2,6}|[\s,\-–]+\(?(?:english|deutsch|français|nederlands|español|italiano|svenska|dansk|"
    r"norsk|polski|suomi|日本語)(?:\s+version)?\)?",
    re.IGNORECASE,
)


@cache
def _tail_sizes_re() -> re.Pattern[str]:
    """Sizes at the end: after a size label, in brackets, or a range of numbers ("34-46")."""
    labels = "|".join(re.escape(label) for label in entries("labels", "size") if len(label) > 1)
    span = rf"{_SIZE}\s?(?:[-–—/]|to|bis|à|al|til|till|tot|do)\s?t?{_SIZE}"
    return re.compile(
        rf"[\s,\-–:]+(?:\(?(?:{labels})\.?:?\s*{_SIZE}(?:\s?(?:[-–—/,]|to|bis|à|al|til|till|tot|do)\s?{_SIZE})*\)?"
        rf"|\(\s?{_SIZE}(?:\s?[-–—/,]\s?{_SIZE})*\s?\)|t?{span})",
        re.IGNORECASE,
    )


_OF_RE = re.compile(
    r"(?:of|for|von|für|de|du|des|d['’]|pour|van|voor|del|para|di|per|av|för|af|til|for|och|og|dla|do|i|ja)\s*", re.I
)


def _belongs(lead: str, rest: str) -> bool:
    """ "Pattern of the Moon" is a title, and "Design de ..." is none of ours to cut."""
    return _OF_RE.match(rest) is not None and rest[:1].islower()


def _cut_tail(text: str, tail: re.Pattern[str]) -> str:
    """Takes the last match off where it reaches the end and leaves a name."""
    start = max(0, len(text) - 60)
    for match in tail.finditer(text, start):
        if match.end() == len(text) and _WORDS_RE.search(text[: match.start()]):
            return text[: match.start()]
    return text


def _unquoted(text: str) -> str:
    inner = re.fullmatch(r"[\"“„«»‹‚‘「『'](.+)[\"“”«»›‘’」』']", text)
    if inner and not any(mark in inner.group(1) for mark in "“”„«»「」"):
        return inner.group(1).strip()
    quoted = re.fullmatch(r"(.{3,40}?)\s[\"“„«»「『](.{2,60}?)[\"“”«»」』]", text)
    if quoted and fold(quoted.group(1)) in trade_words():
        return quoted.group(2).strip()
    return text


def _unspaced(text: str) -> str:
    """ "R O S A L I E" as a word."""
    letters = text.split(" ")
    if len(letters) >= 4 and all(len(letter) == 1 for letter in letters):
        return "".join(letters)
    return text


@remembered
def may_be_name(text: str) -> bool:
    """Whether a bare piece can be a title or a maker at all."""
    if not 2 <= len(text) <= LONGEST_TITLE or len(text.split()) > MOST_WORDS or is_format(text):
        return False
    letters = len(_WORDS_RE.findall(text))
    if not CJK_RE.search(text) and (letters < 2 or (letters < 3 and any(char.isdigit() for char in text))):
        return False  # "KU 46" is a size or a code
    folded = fold(text)
    if not folded or folded in trade_words() or all(part in _headlines() for part in _AND_RE.split(folded)):
        return False  # "Pattern", "Materials and abbreviations"
    if text.endswith((".", "?", ",", ";")) and len(text.split()) >= 3 and not _ABBREVIATED_RE.search(text):
        return False
    if _RIGHTS_RE.search(text) or BUYER_RE.match(text):
        return False
    if len(text.split()) >= 5 and _SENTENCES_RE.search(text):
        return False
    if _BY_RE.match(text):
        return False  # "by Tidewrack Patterns"
    if TILE_RE.search(folded) and len(text.split()) >= 2:
        return False  # "tape to next page"
    if expression_re("parts", "preview").match(text) or _only_preview(text):
        return False
    if _PART_RE.fullmatch(folded) and folded.rsplit(" ", 1)[0] in trade_words():
        return False  # "Chart A", "Template 2"
    return not _numbered_re().match(text) and not _only_trade_words(folded)


_AND_RE = re.compile(r"\s(?:and|und|et|en|y|e|og|och|i|ja)\s")
_NUMBERED_NAME_RE = re.compile(r"\w (?:no|nr|vol|n) \d")
_SENTENCES_RE = re.compile(r"\w{3,}\.\s")
_BY_RE = re.compile(r"(?:by|par|von|door|por)\s(?=[A-ZÀ-Þ])")
_PART_RE = re.compile(r"[^\W\d].* (?:[a-z]|\d{1,2})")


_ABBREVIATED_RE = re.compile(r"\b(?:co|ltd|inc|bros|jr|sr|no|vol|nr|st|dr|u\.\s?a|etc)\.$", re.IGNORECASE)
_RIGHTS_RE = re.compile(
    r"\b(?:all\s+rights|alle\s+recht\w*|tous\s+droits|todos\s+los\s+derechos|tutti\s+i\s+diritti|alla\s+rättigheter|"
    r"alle\s+rettigh\w*|wszelkie\s+prawa|kaikki\s+oikeudet|(?:personal|private|non-?commercial|commercial)\s+use|"
    r"usage\s+(?:\w+\s+)?(?:personnel|privé)|privaten?\s+gebrauch|(?:eigen|privé|persoonlijk)\s?gebruik|uso\s+(?:personal|"
    r"privado|personale|privato)|privat\s+bruk|privat\s+brug|użytku\s+(?:własnego|prywatnego)|(?:yksityiseen|omaan)\s+"
    r"käyttöön|not\s+for\s+(?:re)?sale)\b|無断|個人使用|商用",
    re.IGNORECASE,
)

# The beginning of a buyer's stamp, in the languages of the trade.
BUYER_RE = re.compile(
    r"(?:this\s+(?:copy|pattern|file)\s+)?(?:licen[cs]ed?|purchased|bought|sold|registered|issued|prepared|customer|order(?:ed)?|"
    r"liz[ei]n[zs]\w*|gekauft|erworben|verkauft|bestell\w*|kund\w*|käufer\w*|licentie|gekocht|klant|licencia|comprado|"
    r"vendido|pedido|acheté|vendu|commande|client|licenza|acquistato|ordine|licens|köpt|såld|købt|solgt|ordre|lisens|kjøpt|"
    r"licencja|zakupiono|zamówienie|lisenssi|ostaja|tilaus|購入者|ご購入|注文)\b.{0,12}?"
    r"(?:\s(?:to|for|by|of|an|für|von|aan|voor|door|a|para|por|à|pour|par|n[º°o]\.?|nr\.?|no\.?|number|til|till|för|av|af|dla|"
    r"przez|per|da|di|id|\#)\b|\s?[:：\#])",
    re.IGNORECASE,
)


def _only_preview(text: str) -> bool:
    return expression_re("parts", "preview_word").fullmatch(text) is not None


@cache
def _numbered_re() -> re.Pattern[str]:
    """Steps and pattern pieces: "1. Front", "3) Press", "(2)", "Step 4", bullets."""
    return re.compile(
        r"\(?\d{1,3}[.):]\s|\(\d{1,2}\)\s|[•*○▪■□✓➤►-]\s|[①-⑳]"
        r"|(?:step|schritt|étape|stap|paso|passo|steg|trin|krok|vaihe)\s\d",
        re.IGNORECASE,
    )


@cache
def _plain_words() -> frozenset[str]:
    """Single words of the trade, for lines that are made of them alone ("Front - cut 2", "Materials and tools")."""
    words = {word for phrase in trade_words() for word in phrase.split() if len(phrase.split()) <= 3}
    return frozenset(words | {"1x", "2x", "3x", "4x", "x", "1", "2", "3", "4", "5", "6", "8", "cm", "mm", "inch", "in"})


def _only_trade_words(folded: str) -> bool:
    """A line whose every word is of the trade, with a number or a cutting word among them."""
    if _NUMBERED_NAME_RE.search(folded):
        return False  # "Dress No. 12" is a name
    words = folded.split()
    if not all(word in _plain_words() or word.isdigit() for word in words):
        return False
    return any(word[0].isdigit() for word in words) or (len(words) > 3 and all(w in trade_words() for w in words))


@remembered
def without_label(line: str, key: str) -> str | None:
    """What stands after a label such as "Designer:" (with a colon) or None."""
    match = _label_re(key).match(line)
    return line[match.end() :].strip(_TRIM) if match else None


@cache
def _label_re(key: str) -> re.Pattern[str]:
    labels = "|".join(re.escape(label).replace(r"\ ", r"\s+") for label in entries("labels", key))
    return re.compile(rf"\s*(?:{labels})\s*(?:[:：=])\s*(?=\S)", re.IGNORECASE)


def has_kind(text: str) -> bool:
    """Whether the line names a kind of pattern ("sewing pattern")."""
    return phrase_re("title", "kinds").search(text) is not None
