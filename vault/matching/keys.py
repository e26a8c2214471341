"""One spelling for words that are written in many: the keys that titles, names and codes are compared by.

A German or Scandinavian title reaches the disk as `Möhrchen`, `Moehrchen`, `Mohrchen`, `M%C3%B6hrchen` or `MÃ¶hrchen`.
`key` maps all of these to one: case, diacritics, ligatures and the two-letter spellings (ae, oe, ue, aa, ss) fall
together.  It is coarser than spelling on purpose and only ever compared with another key.  `stem` drops the endings by
which a plural differs.  `words` cuts a text, or a file name in camel case, into its words.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from urllib.parse import unquote_to_bytes

from vault.language.folding import narrow

# A letter that was lost on the way (U+FFFD, or "?" inside a word): stands for up to two letters of the other side.
LOST = "ꙮ"

_SPECIAL = str.maketrans(
    {
        "ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i", "ŋ": "n",
        "ſ": "s",
    }
)  # fmt: skip
_APOSTROPHES = str.maketrans(dict.fromkeys("’ʼ`´‘", "'"))
_PAIRS = (("ae", "a"), ("oe", "o"), ("ue", "u"), ("aa", "a"), ("ss", "s"))
_FOREIGN_RE = re.compile(r"[^\x00-\x7f]+")
_CAMEL_RE = re.compile("(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")
# ASCII letters small, everything else of ASCII that is no letter, digit or end of a line as a blank.
_PLAIN = bytes(
    n if n >= 128 else ord(chr(n).lower()) if chr(n).isalnum() or chr(n) == "\n" else ord(" ") for n in range(256)
)
# Endings of plural and case in the languages of the trade, longest first; a root of four letters must stay.
_ENDINGS = ("es", "en", "er", "ar", "or", "s", "n", "e", "r", "i")
_ESCAPE_RE = re.compile(r"%[0-9A-Fa-f]{2}")
_BROKEN_RE = re.compile(r"[ÃÂÅÄâ][\x80-\xff€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ]|[├┬╬ÔÇ][\x80-\xffÇ-ÿ░▒▓│┤╡╢╖╕╣║╗╝╜╛┐└┴┬├─┼]")
_COPY_RE = re.compile(
    r"(?:\s?\(\d{1,3}\)|\s-\s(?:copy|kopie|copie|copia|kopia|kopi|kopio)(?:\s\(\d{1,3}\))?"
    r"|[ _-]copy(?:[ _-]?\d)?)+$",
    re.IGNORECASE,
)
_MAY_BE_COPY_RE = re.compile(r"[ck]op|\)", re.IGNORECASE)
_EXTENSION_RE = re.compile(
    r"\.(?:pdf|zip|jpe?g|png|gif|tiff?|webp|heic|svg|dxf|eps|ai|plt|studio3?|fcm|docx?|odt|txt|rtf|html?|epub|md"
    r"|pes|dst|jef|exp|vp3|hus|xxx|vip|pec|sew|csv|xlsx?|rar|7z|crdownload|part|partial|download|tmp)$",
    re.IGNORECASE,
)
# `loamdressa4`: the sheet at the end of a run.
_SHEET_RE = re.compile(r"(?<=[^\W\d_]{5})([Aa][04])(?![^\W_]|[.,]\d)")
# `Trainassev1.2`: the version at the end of a run.
_GLUED_RE = re.compile(r"(?<=[^\W\d_]{4})(v\d{1,2}(?:\.\d{1,2}){0,2})(?![^\W_])")
_LOST_RE = re.compile(r"(?<=[^\W\d_])[\ufffd?](?=[^\W\d_])|\ufffd")
# Paper names and versions hold together; else a run of letters, or a number with its decimals.
_WORD_RE = re.compile(
    r"(?<![^\W_])(?:[ab]\d|v\d{1,3}(?:\.\d{1,3}){0,2})(?![^\W_])"
    r"|\d+(?:[.,]\d{1,3})?|[^\W\d_]+(?:'[^\W\d_]+)*",
    re.IGNORECASE,
)


def repair(text: str) -> str:
    """`text` with URL escapes undone and text that was decoded with the wrong table decoded again, where that works."""
    if "%" in text and _ESCAPE_RE.search(text):
        raw = unquote_to_bytes(text.replace("+", " ") if "%20" in text else text)
        try:
            text = raw.decode("utf-8")
        except UnicodeDecodeError:
            text = raw.decode("latin-1")
    if _BROKEN_RE.search(text):
        for table in ("cp1252", "latin-1", "cp437", "cp850"):
            try:
                return text.encode(table).decode("utf-8")
            except (UnicodeDecodeError, UnicodeEncodeError):
                continue
    return text


@lru_cache(maxsize=32768)
def key(word: str) -> str:
    """The coarse key of one word (see above)."""
    if word.isascii():
        plain = word.lower()
    else:
        spread = unicodedata.normalize("NFKD", narrow(word).casefold().translate(_SPECIAL))
        # The voiced marks of kana make other letters; all other marks fall away.
        plain = "".join(c for c in spread if not unicodedata.combining(c) or c in "\u3099\u309a")
        plain = unicodedata.normalize("NFC", plain)
    plain = plain.replace("'", "")
    return _single(plain)


def spread(text: str) -> str:
    """A long text as keys with blanks between the words, line by line."""
    if not text.isascii():
        text = _FOREIGN_RE.sub(lambda m: _foreign(m.group()), text)
    raw = text.encode("utf-8", "surrogatepass").translate(_PLAIN)
    return _single(raw.decode("utf-8", "surrogatepass"))


@lru_cache(maxsize=8192)
def _foreign(text: str) -> str:
    return "".join(c if c.isalnum() else " " for c in key(text))


def _single(text: str) -> str:
    """`text` with one letter for those that are written as two."""
    for _ in range(3):  # `cigueena` and `ciguena` must end as one
        shorter = text
        for two, one in _PAIRS:
            shorter = shorter.replace(two, one)
        if shorter == text:
            break
        text = shorter
    return text


@lru_cache(maxsize=16384)
def stem(word_key: str) -> str:
    """`word_key` without the ending that a plural or a case puts on it."""
    if len(word_key) < 5 or not word_key.isascii() or word_key[-1].isdigit():
        return word_key
    for ending in _ENDINGS:
        if word_key.endswith(ending) and len(word_key) - len(ending) >= 4:
            return word_key[: -len(ending)]
    return word_key


def squash(text: str) -> str:
    """Letters and digits of `text` in one run, as a key: for what is written in one word here and in two there."""
    folded = unicodedata.normalize("NFC", repair(text))
    return key("".join(c for c in folded if c.isalnum()))


def plain_name(name: str) -> str:
    """A file or folder name without its known ending and without the mark of a copy."""
    stripped = _EXTENSION_RE.sub("", repair(name).strip())
    if not _MAY_BE_COPY_RE.search(stripped):
        return _EXTENSION_RE.sub("", stripped)
    return _COPY_RE.sub("", _EXTENSION_RE.sub("", _COPY_RE.sub("", stripped)))


def words(text: str, *, is_name: bool = False) -> list[str]:
    """The words and numbers of `text` in their order; of a file name, camel case is cut too."""
    if not text.isascii():
        text = unicodedata.normalize("NFC", narrow(text.translate(_APOSTROPHES)))
    elif "`" in text:
        text = text.replace("`", "'")
    if "\ufffd" in text or "?" in text:
        text = _LOST_RE.sub(LOST, text)
    if is_name:
        text = _uncamel(_GLUED_RE.sub(r" \1", _SHEET_RE.sub(r" \1", text)))
    found: list[str] = _WORD_RE.findall(text)
    if "'" not in text:
        return found
    out: list[str] = []
    for word in found:
        if "'" in word:
            out += _elided(word)
        else:
            out.append(word)
    return out


def _uncamel(text: str) -> str:
    """`HarbourCoatPDFPattern` with a space before each word."""
    if text.islower() or text.isupper():
        return text
    if text.isascii():
        return _CAMEL_RE.sub(" ", text)
    out: list[str] = []
    for n, c in enumerate(text):
        if c.isupper() and n:
            after = text[n + 1] if n + 1 < len(text) else ""
            if text[n - 1].islower() or (text[n - 1].isupper() and after.islower()):
                out.append(" ")
        out.append(c)
    return "".join(out)


def _elided(word: str) -> list[str]:
    """`L'Abeille` is an article and a word, `Bosun's` a word and an ending, `d'Artagnan's` both."""
    parts = word.split("'")
    if len(parts[-1]) <= 1:
        parts = parts[:-1] or parts
    return parts


def code_key(code: str) -> str:
    """A product code or order number as it is compared: letters and digits, upper case, no leading zeros or hash."""
    return "".join(c for c in narrow(code).upper() if c.isalnum()).lstrip("0")
