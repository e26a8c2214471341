"""Bodies that Outlook keeps as RTF: unpacked, and the page or the text in them brought back.

[MS-OXRTFCP]: compressed RTF is LZ77 over a window of 4,096 bytes that begins with a known string.  [MS-OXRTFEX]: a
page that was wrapped in RTF stands in it piece by piece, its tags in `{\\*\\htmltag ...}` groups, what was made up for
RTF readers between `\\htmlrtf` and `\\htmlrtf0`; a text that was wrapped says `\\fromtext`.  RTF that says neither is
read as plain text.  One pass with an explicit stack, bounded; never raises.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from vault.receipts.charsets import codec_of, tidy

MAX_RAW = 16 << 20  # bytes of unpacked RTF
_MAX_DEPTH = 500
_COMPRESSED, _UNCOMPRESSED = 0x75465A4C, 0x414C454D  # "LZFu", "MELA"
_WINDOW = 4_096
# [MS-OXRTFCP] 2.1.2.1
_KNOWN = (
    b"{\\rtf1\\ansi\\mac\\deff0\\deftab720{\\fonttbl;}{\\f0\\fnil \\froman \\fswiss \\fmodern \\fscript "
    b"\\fdecor MS Sans SerifSymbolArialTimes New RomanCourier{\\colortbl\\red0\\green0\\blue0\r\n\\par "
    b"\\pard\\plain\\f0\\fs20\\b\\i\\u\\tab\\tx"
)
_TOKEN_RE = re.compile(
    rb"\\(?:([A-Za-z]{1,32})(-?\d{1,10})? ?|'([0-9A-Fa-f]{2})|([^A-Za-z]))|([{}])|[\r\n]+|([^\\{}\r\n]+)", re.DOTALL
)
# Destinations whose text is no text of the document.
_HIDDEN = frozenset("fonttbl colortbl stylesheet info pict object generator listtable xmlnstbl themedata".split())
# [MS-OXRTFEX] 2.1.3.1.4: control words that stand for signs, in a page and in a text.
_SIGNS: dict[str, tuple[str, str]] = {
    "par": ("\r\n", "\n"),
    "line": ("\r\n", "\n"),
    "tab": ("\t", "\t"),
    "lquote": ("&lsquo;", "‘"),
    "rquote": ("&rsquo;", "’"),
    "ldblquote": ("&ldquo;", "“"),
    "rdblquote": ("&rdquo;", "”"),
    "bullet": ("&bull;", "•"),
    "endash": ("&ndash;", "–"),
    "emdash": ("&mdash;", "—"),
    "row": ("", "\n"),
    "cell": ("", "\t"),
}
# RTF 1.9.1, table of \fcharset; what is not in it has the code page of the document.
_CHARSETS = {
    128: "cp932",
    129: "cp949",
    134: "gb18030",
    136: "cp950",
    161: "cp1253",
    162: "cp1254",
    163: "cp1258",
    177: "cp1255",
    178: "cp1256",
    186: "cp1257",
    204: "cp1251",
    222: "cp874",
    238: "cp1250",
}


@dataclass(frozen=True, slots=True)
class RtfBody:
    """What was wrapped: a page or a text, the other is empty."""

    html: str = ""
    text: str = ""


def body_of(compressed: bytes) -> RtfBody:
    """The page or the text in a compressed RTF body; both empty if there is none."""
    return unwrapped(decompressed(compressed))


def decompressed(data: bytes) -> bytes:
    """[MS-OXRTFCP] 2.2: the RTF; empty for what is no compressed RTF, cut where it is damaged."""
    if len(data) < 16:
        return b""
    # The check sum in the fourth field is not asked: a damaged body is read as far as it goes.
    size, raw_size, kind = (int.from_bytes(data[k : k + 4], "little") for k in (0, 4, 8))
    content = data[16 : 4 + max(size, 12)]
    if kind == _UNCOMPRESSED:
        return content[: min(raw_size, MAX_RAW)]
    return _inflated(content, min(raw_size, MAX_RAW)) if kind == _COMPRESSED else b""


def _inflated(content: bytes, limit: int) -> bytes:
    window = bytearray(_KNOWN.ljust(_WINDOW, b"\0"))
    write = len(_KNOWN)
    out = bytearray()
    at = 0
    while at < len(content) and len(out) < limit:
        control = content[at]
        at += 1
        for bit in range(8):
            if control >> bit & 1:
                if at + 1 >= len(content):
                    return bytes(out)
                reference = content[at] << 8 | content[at + 1]
                at += 2
                read, length = reference >> 4, (reference & 15) + 2
                if read == write:  # the end mark
                    return bytes(out[:limit])
                for _ in range(length):
                    byte = window[read]
                    out.append(byte)
                    window[write] = byte
                    write, read = (write + 1) % _WINDOW, (read + 1) % _WINDOW
            else:
                if at >= len(content):
                    return bytes(out)
                byte = content[at]
                out.append(byte)
                window[write] = byte
                write, at = (write + 1) % _WINDOW, at + 1
    return bytes(out[:limit])


@dataclass(frozen=True, slots=True)
class _State:
    """What a group inherits."""

    hidden: bool = False  # in a destination that is no text
    rtf_only: bool = False  # between \htmlrtf and \htmlrtf0
    codec: str = "cp1252"
    skip: int = 1  # signs behind \u that stand in for it


@dataclass(slots=True)
class _Reader:
    """Where the one pass is, and what it has read."""

    state: _State = field(default_factory=_State)
    stack: list[_State] = field(default_factory=list)
    depth: int = 0
    kind: str = ""  # "html", "text" or "" (neither is said)
    page: str = "cp1252"
    fonts: dict[int, str] = field(default_factory=dict)
    font: int = 0
    in_fonts: int = 0  # depth of the font table
    out: list[str] = field(default_factory=list)
    pending: bytearray = field(default_factory=bytearray)  # bytes of one codec
    to_skip: int = 0
    star: bool = False  # behind \*
    high: int = 0  # first half of a surrogate pair

    def flush(self) -> None:
        """Decode the bytes read so far: what follows may be in another charset."""
        if self.pending:
            self.out.append(self.pending.decode(self.state.codec, "replace"))
            self.pending.clear()

    def say(self, text: str) -> None:
        """Add a text as it is."""
        if self.shown():
            self.flush()
            self.out.append(text)

    def shown(self) -> bool:
        """Whether what comes now is text of the page or the document."""
        return not self.state.hidden and not self.state.rtf_only

    def write(self, data: bytes) -> None:
        """Add bytes in the charset of the font, without those that stand in for a sign already given."""
        if self.to_skip:
            taken = min(self.to_skip, len(data))
            self.to_skip -= taken
            data = data[taken:]
        if data and self.shown():
            self.pending += data


def unwrapped(rtf: bytes) -> RtfBody:
    """[MS-OXRTFEX] 2.2.3: the page or the text that an RTF document wraps, or its plain text."""
    if not rtf.lstrip()[:5].startswith(b"{\\rtf"):
        return RtfBody()
    reader = _Reader()
    for found in _TOKEN_RE.finditer(rtf[:MAX_RAW]):
        word, number, code, sign, brace, text = found.groups()
        if brace == b"{":
            reader.flush()
            reader.depth += 1
            reader.to_skip = 0
            if reader.depth > _MAX_DEPTH:
                break
            reader.stack.append(reader.state)
        elif brace == b"}":
            reader.flush()
            reader.depth -= 1
            reader.to_skip = 0
            if reader.depth < reader.in_fonts:
                reader.in_fonts = 0
            if not reader.stack:
                break
            reader.state = reader.stack.pop()
            if reader.depth <= 0:
                break
        elif word is not None:
            _control(reader, word.decode("ascii"), int(number) if number is not None else None)
            continue
        elif code is not None:
            reader.write(bytes((int(code, 16),)))
        elif sign is not None:
            _sign(reader, sign)
            continue
        elif text is not None:
            reader.write(text)
        reader.star = False
    reader.flush()
    said = tidy("".join(reader.out))
    return RtfBody(html=said) if reader.kind == "html" else RtfBody(text=said)


def _sign(reader: _Reader, sign: bytes) -> None:
    if sign == b"*":
        reader.star = True
        return
    if sign in (b"\\", b"{", b"}"):
        reader.write(sign)
    elif sign == b"~":
        reader.say("&nbsp;" if reader.kind == "html" else "\u00a0")
    elif sign == b"_":
        reader.say("&shy;" if reader.kind == "html" else "")
    elif sign in (b"\r", b"\n"):
        reader.say("\n")
    reader.star = False


def _control(reader: _Reader, word: str, number: int | None) -> None:
    star, reader.star = reader.star, False
    state = reader.state
    if word == "htmltag" and star:
        reader.flush()
        reader.state = replace(state, hidden=reader.kind != "html")
    elif word == "htmlrtf":
        reader.flush()
        reader.state = replace(state, rtf_only=number != 0)
    elif word in _HIDDEN or star:  # \mhtmltag and every other destination that may be passed over
        reader.flush()
        reader.state = replace(state, hidden=True)
        if word == "fonttbl":
            reader.in_fonts = reader.depth
    elif word in ("fromhtml", "fromtext"):
        reader.kind = word[4:]
    elif word == "ansicpg":
        reader.page = codec_of(f"cp{number}") or codec_of(f"windows-{number}") or "cp1252"
        if number == 65001:
            reader.page = "utf-8"
        reader.state = replace(state, codec=reader.page)
    elif word == "f" and number is not None:
        reader.flush()
        reader.font = number
        if not reader.in_fonts:
            reader.state = replace(state, codec=reader.fonts.get(number, reader.page))
    elif word == "fcharset" and reader.in_fonts and number in _CHARSETS and len(reader.fonts) < 1_000:
        reader.fonts[reader.font] = _CHARSETS[number]
    elif word == "uc":
        reader.state = replace(state, skip=max(0, min(number or 0, 20)))
    elif word == "u" and number is not None:
        _unicode(reader, number % 0x10000)
        reader.to_skip = state.skip
    elif word == "bin":
        reader.state = replace(state, hidden=True)
    elif word in _SIGNS:
        reader.say(_SIGNS[word][reader.kind != "html"])


def _unicode(reader: _Reader, code: int) -> None:
    if 0xD800 <= code < 0xDC00:
        reader.high = code
        return
    if 0xDC00 <= code < 0xE000:
        if reader.high:
            reader.say(chr(0x10000 + ((reader.high - 0xD800) << 10) + (code - 0xDC00)))
        reader.high = 0
        return
    reader.high = 0
    reader.say(chr(code))
