"""What may be the title of a thing sold, and what shops print around it: counts, codes, chosen options."""

from __future__ import annotations

import re
from dataclasses import dataclass

from vault.language.folding import fold
from vault.receipts.view import Spot, View, lead
from vault.receipts.words import Words, trim_label, whole_phrase

_LEADING_COUNT_RE = re.compile(r"\A\(?(\d{1,3})\s?(?:[x×*]|\bx\b)\)?\s+(?=\S)", re.I)
_TRAILING_COUNT_RE = re.compile(
    r"[\s,(]+[x×*]\s?(\d{1,3})\)?\s*\Z|[\s,]+(\d{1,3})\s?[x×]\s*\Z|\s\((\d{1,2})\)\s*\Z", re.I
)
_CODE_TAIL_RE = re.compile(r"\s*[(\[](?:#\s?|SKU:?\s?)?([A-Z]{2,6}[-_]\d{2,6}[A-Z]?|[A-Z]{1,4}\d{4,8})[)\]]\s*\Z")
_CODE_RE = re.compile(r"[A-Z0-9]{1,8}(?:[-_./][A-Z0-9]{1,10}){0,3}\Z")
_FILE_RE = re.compile(
    r"[\w\-.+%()&', ]{1,120}\.(?:pdf|zip|svg|dxf|eps|png|jpe?g|pes|dst|jef|vp3|exp|hus|epub|rar|7z|mp4|docx?)\Z", re.I
)
_LEADER_RE = re.compile(r"(?:\s…|[\s.]{4,})+\Z")  # dots that lead the eye to the price
_FIGURE_RE = re.compile(r"[\d.,:\-–x×*]+")
_FILE_SIZE_RE = re.compile(r"[\s(]\d{1,4}(?:[.,]\d{1,2})?\s?(?:[KMG]i?B|[KMG]o)\)?\s*\Z", re.I)
_LINKISH_RE = re.compile(r"https?://|www\.|\S@\S", re.I)
_TAIL_CUT_RE = re.compile(r"\s[-–—|·•/]\s|\s{2,}|[,;]\s|\s(?=\()")
_EDGE = " \t:：–—-=|·•・*,;>→"
_SENTENCE_END_RE = re.compile(r"[.!?。！？]\s*\Z")
_SIZES_RE = re.compile(r"(?:\d{1,3}|[2-9]?X{0,3}[SL]|M)(?:\s?[-–/]\s?(?:\d{1,3}|[2-9]?X{0,3}[SL]|M))?")
_UNIT_COUNT_RE = re.compile(r"(\d{1,3})\s?([^\W\d_]{1,10})\.?:?\s+(?=\S)")
_COUNT_UNIT_RE = re.compile(r"[\s,(]+(\d{1,3})\s?([^\W\d_]{1,8})\.?\)?\s*\Z")
_SENTENCES_RE = re.compile(r"\w{2}[.!?]\s+[^\W\d_]+\s.{2,200}[.!?]\s*\Z")
_PACK = 10  # from so many pieces on, the words are about a pack ("50 pcs buttons")
_UNIT_WORDS_RE = re.compile(r"(\d{1,3})\s?([^\W\d_]{1,8})\.?\Z")


@dataclass(slots=True)
class Told:
    """What a printed title says: the title itself, the count and the code that stood with it, chosen options."""

    title: str
    quantity: int | None = None
    code: str | None = None
    options: tuple[str, ...] = ()


def speaks(text: str) -> bool:
    """Whether `text` is more than one sentence ("You did it! Your purchase is confirmed.")."""
    return _SENTENCES_RE.search(text[:300]) is not None


def is_file_name(text: str) -> bool:
    """Whether `text` is the name of a file."""
    return _FILE_RE.fullmatch(text.strip()) is not None


def names_file(text: str) -> bool:
    """Whether the words of a link are a file's: its name, or its size behind them ("Hood (zip, 14 MB)")."""
    return is_file_name(text) or _FILE_SIZE_RE.search(text) is not None


def links_file(spot: Spot) -> bool:
    """Whether a line is a link to a file."""
    shown = (spot.text, *(k.text for k in spot.links))
    return bool(spot.links) and not spot.amounts and any(names_file(text) for text in shown)


def is_code(text: str) -> bool:
    """Whether `text` is an article number: capitals and digits, no words."""
    text = text.strip().lstrip("#")
    return _CODE_RE.fullmatch(text) is not None and any(c.isdigit() for c in text) and len(text) <= 24


def is_format(text: str, words: Words) -> bool:
    """Whether a line only says in which form something comes ("PDF pattern", "Digital download", "Size 38")."""
    found = lead(text, words)
    if found is not None and "option" in found[0]:
        return True
    parts = [p for p in re.split(r"\s[·•|/]\s|,\s", text) if p]
    if len(parts) > 1 and len(text) < 90:  # "Size 36-46 · PDF"
        return all(is_format(p, words) for p in parts)
    if any("option" in c and _SIZES_RE.fullmatch(rest) for c, _, rest in words.leading(text)):
        return True
    known = words.phrase_set("goods", "digital") | words.phrase_set("goods", "format")
    tokens = [t.strip(".,()/|&+-") for t in fold(text).split(" ")]
    return (len(text) < 60 and all(t in known or not t or t.isdigit() for t in tokens)) or fold(text) in known


def counted(text: str, words: Words) -> int | None:
    """The count, if `text` is nothing else: "2", "x 2", "Qty: 2", "2 pcs"."""
    spot_text = text.strip().strip("()")
    match = re.fullmatch(r"[x×*]?\s?(\d{1,3})\s?[x×]?", spot_text, re.I)
    if match:
        number = int(match.group(1))
        return number if 0 < number < 1000 else None
    unit = _UNIT_WORDS_RE.fullmatch(spot_text)
    if unit and unit.group(2).casefold() in words.phrase_set("goods", "pieces"):
        return int(unit.group(1)) or None
    found = lead(spot_text, words)
    if found is not None and "quantity" in found[0]:
        rest = re.match(r"[x×]?\s?(\d{1,3})\b", found[2].strip())
        return int(rest.group(1)) or None if rest else None
    return None


def tell(text: str, words: Words) -> Told:
    """Take the title out of a printed line: counts before or after it, a code in brackets, labelled tails."""
    quantity: int | None = None
    code: str | None = None
    options: list[str] = []
    text = _LEADER_RE.sub("", text.strip(_EDGE))
    match = _LEADING_COUNT_RE.match(text)
    if match:
        quantity, text = int(match.group(1)), text[match.end() :]
    else:
        quantity, text = _pieces(text, words)
    for cut in _TAIL_CUT_RE.finditer(text):
        tail = text[cut.end() :].strip().removeprefix("(").removesuffix(")")
        found = lead(tail, words) if tail else None
        if found is None or cut.start() < 2:
            continue
        concepts = found[0]
        if "quantity" in concepts and quantity is None:
            number = re.match(r"[x×]?\s?(\d{1,3})\b", found[2].strip())
            quantity = int(number.group(1)) if number else None
        elif "reference" in concepts:
            code = found[2].strip(_EDGE) or None
        elif "option" in concepts and found[2]:
            options.append(tail)
        elif not {"price", "unit_price", "line_amount", "total", "designer", "download", "expires"} & set(concepts):
            continue
        text = text[: cut.start()]
        break
    match = _TRAILING_COUNT_RE.search(text)
    if match and match.start() > 1 and quantity is None:
        count = int(next(g for g in match.groups() if g))
        if 0 < count < 100 and not (match.group(3) and not match.group(0).startswith(" (")):
            quantity, text = count, text[: match.start()]
    match = _CODE_TAIL_RE.search(text)
    if match and match.start() > 2:
        code, text = code or match.group(1), text[: match.start()]
    text = text.strip(_EDGE)
    if text.endswith("(") or (text.count("(") == text.count(")") + 1 and text.rfind("(") > len(text) - 3):
        text = text[: text.rfind("(")].rstrip(_EDGE)
    return Told(title=text, quantity=quantity, code=code, options=tuple(options))


def _pieces(text: str, words: Words) -> tuple[int | None, str]:
    """A count with a word for pieces before or after a name, or with its label ("1 Stück X", "X 1点", "X 数量 1")."""
    pieces = words.phrase_set("goods", "pieces")
    match = _UNIT_COUNT_RE.match(text)
    if match and match.group(2).casefold() in pieces and 0 < int(match.group(1)) < _PACK:
        return int(match.group(1)), text[match.end() :]
    match = _COUNT_UNIT_RE.search(text)
    if match and match.start() > 1 and match.group(2).casefold() in pieces and 0 < int(match.group(1)) < _PACK:
        return int(match.group(1)), text[: match.start()]
    head, _, tail = text.rpartition(" ")
    label = head.rpartition(" ")[2]
    # only in scripts whose words do not run on into the count ("数量 1")
    labelled = bool(label) and not label.isascii() and words.exact(trim_label(label)) == ("quantity",)
    if labelled and tail.isdecimal() and len(tail) <= 3 and int(tail) and len(head) > len(label) + 2:
        return int(tail), head[: -len(label)]
    return None, text


def may_be_title(text: str, words: Words, *, prose_ok: bool = False) -> bool:
    """Whether `text` can name a thing sold."""
    stripped = text.strip(_EDGE)
    if len(stripped) < 2 or len(stripped) > 220:
        return False
    letters = sum(c.isalpha() for c in stripped)
    if letters < (3 if stripped[0].isdigit() else 2) or _LINKISH_RE.search(stripped) or is_file_name(stripped):
        return False
    key = trim_label(stripped)
    if (
        words.label(stripped)
        or key in words.phrase_set("download", "action")
        or key in words.phrase_set("signs", "not_file")
    ):
        return False
    if key in words.phrase_set("goods", "free") or key in words.phrase_set("goods", "means") or is_code(stripped):
        return False
    if _counted_pieces(stripped, words):
        return False
    if says_something(key, words) or whole_phrase(key, words.phrases("download", "telling")):
        return False
    if not prose_ok and speaks(stripped):
        return False
    if not prose_ok and _SENTENCE_END_RE.search(stripped) and stripped.count(" ") > 7:
        return False
    if any(key.startswith(g + " ") or key == g for g in words.phrases("seller", "greeting")) and stripped[-1:] in ",!:":
        return False
    return not _greets(text, words)


def _counted_pieces(text: str, words: Words) -> bool:
    """Whether a line is a count or the price of one and nothing else ("1 kpl", "à 65:50")."""
    if len(text) > 30 or not any(c.isdigit() for c in text):
        return False
    known = words.phrase_set("goods", "pieces") | words.phrase_set("goods", "each")
    tokens = [t.strip("().,;").casefold() for t in text.split(" ")]
    return any(t in known for t in tokens) and all(t in known or _FIGURE_RE.fullmatch(t) for t in tokens if t)


_SAYING = ("order", "purchase", "receipt", "download", "invoice", "basket", "recommend", "shipping", "quote")


def says_something(folded: str, words: Words) -> bool:
    """Whether a short line is one of the phrases that tell what the document is ("Thank you for your order")."""
    for name in _SAYING:
        for phrase in words.phrases("signs", name):
            if phrase in folded and len(phrase) >= 0.55 * len(folded) and (" " in phrase or phrase == folded):
                return True
    return False


def _greets(text: str, words: Words) -> bool:
    return text.rstrip().endswith((",", "!", "、")) and trim_label(text).split(" ")[0] in words.phrase_set(
        "seller", "greeting"
    )


def acts(label: str, words: Words) -> bool:
    """Whether a folded label says what to do ("Download pattern (A4)"), not what something is called."""
    if label in words.phrase_set("download", "action"):
        return True
    verbs, opening = words.phrase_set("download", "verbs"), words.phrase_set("download", "opening")
    tokens = [t.strip(".,:;!()[]") for t in label.split(" ")]
    if any(t in verbs for t in tokens):
        return True
    files = any(p in label for p in words.phrases("download", "about")) or "pdf" in tokens
    if files and (tokens[0] in opening or tokens[-1] in opening):
        return True
    if label.isascii():
        return False
    # scripts without blanks: the word stands within
    return any(v in label for v in verbs if v[0] >= "\u2e80") or (
        ("pdf" in label or files) and any(label.endswith(o) for o in opening if o[0] >= "\u2e80")
    )


def is_action(spot: Spot, view: View) -> bool:
    """Whether a line is a button or link to act on, not a name."""
    key = trim_label(spot.text)
    if key in view.words.phrase_set("download", "action") or key in view.words.phrase_set("signs", "not_file"):
        return True
    rest = spot.text
    for link in spot.links:
        rest = rest.replace(link.text, " ", 1) if link.text else rest
    if not spot.links or any(c.isalnum() for c in rest):
        return False
    keys = [trim_label(link.text) for link in spot.links if link.text]
    return bool(keys) and all(k.count(" ") <= 3 and acts(k, view.words) for k in keys)
