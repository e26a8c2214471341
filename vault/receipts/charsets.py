"""Bytes of a mail or a page to text, whatever the label says.

Strategy: what the bytes prove comes before what the label claims.  A byte order mark, valid multi-byte UTF-8 and the
escape sequences of ISO-2022-JP are proof; then the declared charset, then that of the page's `meta` element, each
decoded strictly; then a guess on a small sample; at last windows-1252, in which every byte means something.  Labels
are read as browsers read them (WHATWG Encoding): iso-8859-1 and us-ascii mean windows-1252, shift_jis means its
Microsoft superset.  Text is NFC with LF line ends and no NUL.
"""

from __future__ import annotations

import codecs
import re
import unicodedata

# Labels as found in mail -> Python codec.  Only where Python's own alias table differs from common use.
_LABELS: dict[str, str] = {
    **dict.fromkeys(
        [
            "iso-8859-1",
            "iso8859-1",
            "iso_8859-1",
            "latin1",
            "latin-1",
            "l1",
            "us-ascii",
            "ascii",
            "ansi_x3.4-1968",
            "cp1252",
            "windows-1252",
            "x-ansi",
            "ansi",
            "8859-1",
            "iso-8859-1-windows-3.1-latin-1",
        ],
        "cp1252",
    ),
    **dict.fromkeys(["iso-8859-9", "iso8859-9", "latin5", "windows-1254"], "cp1254"),
    **dict.fromkeys(["iso-8859-11", "tis-620", "windows-874"], "cp874"),
    **dict.fromkeys(["shift_jis", "shift-jis", "sjis", "x-sjis", "ms_kanji", "windows-31j", "ms932", "cp932"], "cp932"),
    **dict.fromkeys(["gb2312", "gbk", "gb_2312-80", "x-gbk", "gb18030"], "gb18030"),
    **dict.fromkeys(["ks_c_5601-1987", "euc-kr", "ksc5601", "cp949", "windows-949"], "cp949"),
    **dict.fromkeys(
        ["iso-2022-jp", "csiso2022jp", "iso-2022-jp-1", "iso-2022-jp-2", "iso-2022-jp-ms", "cp50220", "cp50221"],
        "iso2022_jp_ext",
    ),
    **dict.fromkeys(["x-euc-jp", "euc-jp", "eucjp-ms", "cp51932"], "euc_jp"),
    **dict.fromkeys(["iso-8859-8-i", "iso-8859-8-e"], "iso8859-8"),
    **dict.fromkeys(["unicode-1-1-utf-7", "utf-7", "utf7"], "utf-7"),
    **dict.fromkeys(["utf8", "utf-8", "unicode-1-1-utf-8", "utf-8-sig", "utf8mb4", "x-utf-8"], "utf-8"),
    **dict.fromkeys(["macintosh", "x-mac-roman", "mac", "mac-roman"], "mac-roman"),
}
# Codecs of Python that are no character sets, or that can cost far more than their input.
_REFUSED = frozenset(
    [
        "idna",
        "punycode",
        "unicode_escape",
        "raw_unicode_escape",
        "undefined",
        "mbcs",
        "oem",
        "rot_13",
        "hex",
        "base64",
        "zlib",
        "bz2",
        "uu",
        "quopri",
        "unicode-escape",
        "raw-unicode-escape",
        "palmos",
    ]
)
_BOMS: tuple[tuple[bytes, str], ...] = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_META_RE = re.compile(rb"<meta[^>]{0,200}?charset\s{0,5}=\s{0,5}[\"']?\s{0,5}([A-Za-z0-9_:.\-]{2,40})", re.IGNORECASE)
_XML_RE = re.compile(rb"<\?xml[^>]{0,100}?encoding\s{0,5}=\s{0,5}[\"']([A-Za-z0-9_:.\-]{2,40})", re.IGNORECASE)
_MULTI_RE = re.compile(rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}")
_SAMPLE_BYTES = 4096
_HIGH = bytes(range(0x80, 0x100))
_FEW = 12  # bytes above ASCII below which statistics say nothing
_ODD_RE = re.compile(r"(?<=[^\W\d_])[\u0080-\u00bf\u00d7\u00f7](?=[^\W\d_])")
# No French: what "ść" and "ź" of windows-1250 look like in windows-1252.
_UNLIKELY_RE = re.compile(r"œ(?![uidstn])|[a-z]Ÿ|Ÿ[a-z]")
_KANA_LEADS = (0x82, 0x83)  # first bytes of kana in Shift_JIS; a low quote and a florin sign in windows-1252
# What UTF-8 looks like when it was read as windows-1252 and written as UTF-8 once more.
_TWICE_RE = re.compile(
    "[\u00c2\u00c3][\u0080-\u00bf\u0152\u0153\u0160\u0161\u0178\u017d\u017e\u0192\u02c6\u02dc"
    "\u2013\u2014\u2018-\u201e\u2020-\u2022\u2026\u2030\u2039\u203a\u20ac\u2122]|\u00e2\u20ac"
)


def codec_of(label: str | None) -> str | None:
    """Python's codec for a charset label as found in the wild; None for no or an unknown label."""
    if not label:
        return None
    name = label.strip().strip("\"'").strip().casefold().split("*", 1)[0]
    if name in _LABELS:
        return _LABELS[name]
    if not name or len(name) > 40 or name.replace("-", "_") in _REFUSED or name in _REFUSED:
        return None
    try:
        info = codecs.lookup(name)
    except (LookupError, ValueError):
        return None
    # Only true text encodings: bytes to str.
    return info.name if getattr(info, "_is_text_encoding", True) and info.name not in _REFUSED else None


def decode_text(data: bytes, declared: str | None = None, *, html: bool = False) -> str:
    """`data` as text.  `declared` is the charset label of the mail part, `html` lets a `meta` element speak too.

    Never raises: what cannot be decoded at all becomes U+FFFD or its windows-1252 reading.
    """
    return tidy(_decode(data, declared, html=html))


def tidy(text: str) -> str:
    """NFC, LF line ends, no NUL."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\x00", "")
    return unicodedata.normalize("NFC", text.removeprefix("\ufeff"))


def _decode(data: bytes, declared: str | None, *, html: bool) -> str:
    for bom, marked in _BOMS:
        if data.startswith(bom):
            return data[len(bom) :].decode(marked, "replace")
    if b"\x1b$" in data or b"\x1b(J" in data:  # ISO-2022-JP is seven-bit: nothing else writes these
        return data.decode("iso2022_jp_ext", "replace")
    codec_declared = codec_of(declared)
    if data.isascii() and codec_declared not in ("utf-7", "utf-16", "utf-16-le", "utf-16-be"):
        return data.decode("ascii")
    try:
        return repair_twice(data.decode("utf-8"))
    except UnicodeDecodeError:
        pass
    for codec in (codec_declared, codec_of(_meta_charset(data)) if html else None):
        if codec in (None, "utf-8"):
            continue
        if codec == "cp1252":
            return _japanese(data) or _windows_1252(data)
        try:
            return data.decode(codec or "ascii")
        except (UnicodeError, LookupError, ValueError, OverflowError):
            continue
    if codec_declared not in (None, "utf-8", "cp1252") and _nearly(data, codec_declared or ""):
        return data.decode(codec_declared or "ascii", "replace")
    multi = len(_MULTI_RE.findall(data))
    if multi and multi * 2 >= len(data) - len(data.translate(None, _HIGH)) - multi * 2:
        return data.decode("utf-8", "replace")  # UTF-8 with a few broken bytes
    return _guess(data)


def _japanese(data: bytes) -> str | None:
    """Shift_JIS under a western label, which every byte fits: where a fifth of what is not ASCII begins kana."""
    high = len(data) - len(data.translate(None, _HIGH))
    if high < _FEW or 5 * sum(data.count(lead) for lead in _KANA_LEADS) < high:
        return None
    try:
        return data.decode("cp932")
    except UnicodeDecodeError:
        return None


def _meta_charset(data: bytes) -> str | None:
    head = data[:4096]
    found = _META_RE.search(head) or _XML_RE.search(head)
    return found.group(1).decode("ascii") if found else None


def _nearly(data: bytes, codec: str) -> bool:
    """Whether `data` is in `codec` but for a few bytes (a cut tail, one stray byte)."""
    try:
        text = data.decode(codec, "replace")
    except (UnicodeError, LookupError, ValueError, OverflowError):
        return False
    return text.count("\ufffd") * 20 <= sum(1 for character in text if character > "\x7f")


def _windows_1252(data: bytes) -> str:
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError:  # five bytes have no meaning there; as C1 controls they do no harm
        return "".join(chr(b) if b in (0x81, 0x8D, 0x8F, 0x90, 0x9D) else bytes((b,)).decode("cp1252") for b in data)


def _guess(data: bytes) -> str:
    """The charset by a guess on the lines that are not ASCII; windows-1252 when the guess is no help."""
    sample = b"\n".join(line[:400] for line in data[: 1 << 20].split(b"\n") if not line.isascii())[:_SAMPLE_BYTES]
    if len(sample) - len(sample.translate(None, _HIGH)) < _FEW:
        return _least_odd(data, sample)
    from charset_normalizer import from_bytes  # heavy, and hardly ever needed

    best = from_bytes(
        sample,
        cp_isolation=["cp1252", "cp1250", "iso8859_2", "cp932", "euc_jp", "cp1251", "cp1257"],
        enable_fallback=False,
    ).best()
    if best is not None and best.encoding != "cp1252":
        try:
            return data.decode(best.encoding)
        except (UnicodeError, LookupError):
            pass
    return _windows_1252(data)


def _least_odd(data: bytes, sample: bytes) -> str:
    """For a handful of bytes, too few for statistics: the charset in which no sign stands inside a word."""
    for codec in ("cp1250", "iso8859_2"):
        try:
            western = _windows_1252(sample)
            odd = len(_ODD_RE.findall(western)) + len(_UNLIKELY_RE.findall(western))
            if len(_ODD_RE.findall(sample.decode(codec))) < odd:
                return data.decode(codec)
        except UnicodeDecodeError:
            continue
    return _windows_1252(data)


def repair_twice(text: str) -> str:
    """UTF-8 that was encoded twice, decoded once more, where the whole text allows it; else `text` as it is."""
    if not _TWICE_RE.search(text):
        return text
    try:
        return text.encode("cp1252").decode("utf-8")
    except UnicodeError:
        return text
