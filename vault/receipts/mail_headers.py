"""The header section of a mail: fields, encoded words, parameters, addresses, dates.

Read leniently, as mail is found and not as RFC 5322 would have it: blanks before the colon (A.6.3), obsolete routes and
groups, comments anywhere, raw eight-bit text, encoded words inside quotes or cut in the middle of a character.
Everything is bounded, and nothing raises.
"""

from __future__ import annotations

import re
from binascii import Error as Base64Error
from binascii import a2b_base64, a2b_qp
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from email.utils import parsedate_tz
from urllib.parse import unquote_to_bytes

from vault.receipts.charsets import codec_of, decode_text, tidy

MAX_FIELDS = 2_000  # fields that are kept of one header section; the rest is passed over
MAX_FIELD_CHARACTERS = 32_768
MAX_ADDRESSES = 500

# RFC 5322 2.2: a field name is printable ASCII but the colon; 4.5.3 allows blanks before the colon.
_FIELD_RE = re.compile(rb"([!-9;-~]{1,200})[ \t]{0,50}:")
# RFC 2047 section 2, but the encoded text may hold blanks and question marks, as careless writers let it.
_WORD_RE = re.compile(r"=\?([^?\s]{1,60})\?([bBqQ])\?(.{0,2000}?)\?=")
_PARAMETER_NAME_RE = re.compile(r"([^*=\s]{1,100})(?:\*(\d{1,3}))?(\*)?\Z")
_MESSAGE_ID_RE = re.compile(r"<\s{0,5}([^<>\s]{1,500})\s{0,5}>")
_RESERVED_NAMES = frozenset(["con", "prn", "aux", "nul"]) | {f"{n}{k}" for n in ("com", "lpt") for k in range(1, 10)}
_MAX_NAME = 150


@dataclass(frozen=True, kw_only=True)
class Address:
    """A mail address as shown: proves nothing about who sent the mail."""

    name: str
    address: str  # local@domain, the domain in lower case; "" where there is none

    @property
    def domain(self) -> str:
        """The part after the last @, or ""."""
        return self.address.rpartition("@")[2] if "@" in self.address else ""


@dataclass(frozen=True, kw_only=True)
class HeaderSection:
    """The fields of one header section in order, names in lower case, values unfolded but not yet decoded."""

    fields: tuple[tuple[str, bytes], ...]

    def raw(self, name: str) -> bytes | None:
        """The first field of that name."""
        return next((value for key, value in self.fields if key == name), None)

    def text(self, name: str) -> str:
        """The first field of that name, decoded; "" if there is none."""
        value = self.raw(name)
        return decode_value(value) if value is not None else ""


def split_headers(raw: bytes) -> tuple[HeaderSection, int]:
    """The header section of `raw` and the offset of the body.

    A first line `From …` or `>From …` of a mailbox is passed over, as is a line that is no field.  Where the first line
    is neither, there is no header section at all and the body starts at 0.
    """
    fields: list[tuple[str, bytes]] = []
    position = len(raw) - len(raw.lstrip(b"\r\n"))
    start = position
    pieces: list[bytes] = []
    strays = 0
    while position < len(raw):
        end = raw.find(b"\n", position)
        following = len(raw) if end < 0 else end + 1
        line = raw[position : min(following, position + MAX_FIELD_CHARACTERS)].rstrip(b"\r\n")
        if not line:
            position = following
            break
        if line[:1] in b" \t":
            if pieces and len(pieces) < 500:
                pieces.append(line)
        elif found := _FIELD_RE.match(line):
            _close(fields, pieces)
            if len(fields) < MAX_FIELDS:
                fields.append((found.group(1).decode("ascii").lower(), b""))
                pieces = [line[found.end() :]]
            else:
                pieces = []
        elif not (position == start and line.lstrip(b">").startswith(b"From ")):
            if not fields:
                return HeaderSection(fields=()), 0
            strays += 1
            if strays > 20:
                break
        position = following
    _close(fields, pieces)
    return HeaderSection(fields=tuple(fields)), min(position, len(raw))


def _close(fields: list[tuple[str, bytes]], pieces: list[bytes]) -> None:
    if fields and pieces:
        fields[-1] = (fields[-1][0], b"".join(pieces)[:MAX_FIELD_CHARACTERS].strip())
        pieces.clear()


def decode_value(value: bytes) -> str:
    """An unstructured field as text: encoded words decoded (RFC 2047), raw eight-bit text by its bytes, one line."""
    return decode_words(" ".join(decode_text(value).split()))


def decode_words(text: str) -> str:
    """`text` with its encoded words decoded; blanks between two encoded words fall away (RFC 2047 6.2)."""
    if "=?" not in text:
        return text
    out: list[str] = []
    held: list[tuple[str, bytes]] = []  # neighbours of one charset are joined first: a character may be cut in two
    last = 0
    for found in _WORD_RE.finditer(text):
        between = text[last : found.start()]
        if between.strip() or not held:
            _pour(held, out)
            out.append(between)
        charset, encoding, body = found.group(1), found.group(2).lower(), found.group(3)
        held.append((charset.split("*", 1)[0].lower(), _word_bytes(encoding, body)))
        last = found.end()
    _pour(held, out)
    out.append(text[last:])
    return tidy("".join(out)).replace("\n", " ")


def _pour(held: list[tuple[str, bytes]], out: list[str]) -> None:
    while held:
        charset = held[0][0]
        count = next((k for k, (other, _) in enumerate(held) if other != charset), len(held))
        data = b"".join(piece for _, piece in held[:count])
        out.append(decode_text(data, charset))
        del held[:count]


def _word_bytes(encoding: str, body: str) -> bytes:
    data = body.encode("utf-8", "replace")
    if encoding == "q":
        return a2b_qp(data, header=True)
    return decode_base64(data)


_BLANKS = b" \t\r\n"
_NOT_BASE64 = bytes(set(range(256)) - set(b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/="))


def decode_base64(data: bytes) -> bytes:
    """Base64 with stray characters, missing padding or a cut end; what can be decoded is.

    Lines of plain words after it (the footer of a mailing list) are left out.
    """
    kept = data.translate(None, _NOT_BASE64)
    if len(kept) != len(data.translate(None, _BLANKS)):
        kept = _base64_lines(data) or kept
    body = kept.rstrip(b"=")
    if b"=" in body:  # padding in the middle: several encoded pieces
        return b"".join(decode_base64(piece) for piece in body.split(b"=")[:1_000] if piece)
    if len(body) % 4 == 1:
        body = body[:-1]
    try:
        return a2b_base64(body + b"=" * (-len(body) % 4))
    except Base64Error:
        return b""


def _base64_lines(data: bytes) -> bytes:
    """The lines before the first one that is no base64; b"" if that is the first of all."""
    out: list[bytes] = []
    for line in data.split(b"\n"):
        line = line.strip()
        if line.translate(None, _NOT_BASE64) != line:
            break
        out.append(line)
    return b"".join(out)


def strip_comments(text: str) -> str:
    """`text` without RFC 5322 comments (nested, with quoted pairs); an unclosed one goes to the end."""
    if "(" not in text:
        return text
    out: list[str] = []
    depth, quoted, k = 0, False, 0
    while k < len(text):
        character = text[k]
        if character == "\\" and k + 1 < len(text):
            if not depth:
                out.append(text[k : k + 2])
            k += 2
            continue
        if character == '"' and not depth:
            quoted = not quoted
        if character == "(" and not quoted:
            depth += 1
        elif character == ")" and depth and not quoted:
            depth -= 1
            if not depth:
                out.append(" ")
        elif not depth:
            out.append(character)
        k += 1
    return "".join(out)


def parse_parameters(value: bytes) -> tuple[str, dict[str, str]]:
    """The main value in lower case and the parameters, RFC 2231 continuations and charsets resolved."""
    text = strip_comments(" ".join(decode_text(value).split()))
    pieces = _split_outside_quotes(text, ";")
    sections: dict[str, dict[int, tuple[str, bool]]] = {}
    plain: dict[str, str] = {}
    for piece in pieces[1:200]:
        name, equals, content = piece.partition("=")
        found = _PARAMETER_NAME_RE.match(name.strip())
        if not equals or not found:
            continue
        key, number, starred = found.group(1).lower(), found.group(2), bool(found.group(3))
        if number is None and not starred:
            plain.setdefault(key, decode_words(_unquote(content)))
        else:
            sections.setdefault(key, {}).setdefault(int(number or 0), (_unquote(content), starred))
    for key, numbered in sections.items():
        plain[key] = _join_sections(numbered)
    return pieces[0].strip().lower(), plain


def _join_sections(numbered: dict[int, tuple[str, bool]]) -> str:
    charset: str | None = None
    data = bytearray()
    for number in sorted(numbered):
        content, starred = numbered[number]
        if starred and charset is None and content.count("'") >= 2:
            charset, _, content = content.split("'", 2)
        data += unquote_to_bytes(content) if starred else content.encode("utf-8", "replace")
    return decode_text(bytes(data), charset)


def _split_outside_quotes(text: str, separator: str) -> list[str]:
    out: list[str] = []
    start, quoted, k = 0, False, 0
    while k < len(text):
        if text[k] == "\\" and quoted:
            k += 1
        elif text[k] == '"':
            quoted = not quoted
        elif text[k] == separator and not quoted:
            out.append(text[start:k])
            start = k + 1
        k += 1
    out.append(text[start:])
    return out


def _unquote(text: str) -> str:
    text = text.strip()
    if len(text) >= 2 and text[0] == '"':
        text = text[1:-1] if text[-1] == '"' else text[1:]
        # A backslash quotes only what needs it; elsewhere it is the path of a careless Windows program.
        text = re.sub(r'\\(["\\])', r"\1", text)
    return text


def parse_addresses(value: bytes) -> tuple[Address, ...]:
    """The mailboxes of an address field, groups and routes resolved, at most `MAX_ADDRESSES`."""
    text = " ".join(decode_text(value).split())[:MAX_FIELD_CHARACTERS]
    out: list[Address] = []
    name: list[str] = []
    comment = ""
    address: str | None = None

    def close() -> None:
        nonlocal address, comment
        shown = "".join(name).strip()
        if address is None and "@" in shown:
            address, shown = re.sub(r"\s*([@.])\s*", r"\1", strip_quotes(shown)), ""
            address = address.split()[-1] if address.split() else ""
        if address is not None or shown:
            out.append(
                Address(
                    name=decode_words(_unescape(shown or comment)).strip().strip("'").strip(),
                    address=_clean_address(address or ""),
                )
            )
        name.clear()
        address, comment = None, ""

    k = 0
    while k < len(text) and len(out) < MAX_ADDRESSES:
        character = text[k]
        if character == '"':
            end = _closing(text, k + 1, '"')
            name.append(text[k + 1 : end] if text[end + 1 : end + 2] != "@" else text[k : end + 1])
            k = end
        elif character == "(":
            end = _closing_comment(text, k)
            comment = comment or decode_words(text[k + 1 : end])
            k = end
        elif character == "<":
            end = text.find(">", k)
            end = len(text) if end < 0 else end
            address = strip_comments(text[k + 1 : end])
            k = end
        elif character in ",;":
            close()
        elif character == ":":
            name.clear()  # the name of a group
        else:
            name.append(character)
        k += 1
    close()
    return tuple(a for a in out if a.address or a.name)


def strip_quotes(text: str) -> str:
    """`text` without double quotes around it."""
    return text.strip().strip('"')


def _unescape(text: str) -> str:
    return re.sub(r"\\(.)", r"\1", text)


def _closing(text: str, k: int, mark: str) -> int:
    while k < len(text) and text[k] != mark:
        k += 2 if text[k] == "\\" else 1
    return min(k, len(text))


def _closing_comment(text: str, k: int) -> int:
    depth = 0
    while k < len(text):
        if text[k] == "\\":
            k += 1
        elif text[k] == "(":
            depth += 1
        elif text[k] == ")":
            depth -= 1
            if not depth:
                return k
        k += 1
    return min(k, len(text))


def _clean_address(text: str) -> str:
    route, colon, rest = text.rpartition(":")  # RFC 5322 4.4: <@machine.tld:mary@example.net>
    if colon and route.lstrip().startswith("@"):
        text = rest
    text = re.sub(r"\s+", "", text)
    local, at, domain = text.rpartition("@")
    return f"{local}@{domain.casefold()}" if at else text


def parse_date(text: str) -> datetime | None:
    """An RFC 5322 date (obsolete forms too) with its zone; no zone counts as UTC.  None if it is none."""
    cleaned = " ".join(strip_comments(text[:500]).split())
    cleaned = re.sub(r"\s*:\s*", ":", cleaned)
    try:
        parts = parsedate_tz(cleaned)
    except (ValueError, TypeError, IndexError, OverflowError):  # CPython's parser is not total
        return None
    if parts is None:
        return None
    try:
        offset = parts[9]
        zone = timezone(timedelta(seconds=offset)) if offset else UTC
        return datetime(*parts[:5], min(parts[5], 59), tzinfo=zone)
    except (ValueError, OverflowError, TypeError):
        return None


def message_ids(text: str) -> tuple[str, ...]:
    """The ids of a Message-ID, In-Reply-To or References field, without angle brackets."""
    found = tuple(_MESSAGE_ID_RE.findall(text)[:200])
    if found:
        return found
    bare = strip_comments(text).strip().strip("<>").split()
    return (bare[0],) if bare and len(bare) == 1 and len(bare[0]) <= 500 else ()


def clean_name(name: str, fallback: str) -> str:
    """A file name of a mail as a plain name: no folder, no control or reserved character, of bearable length."""
    base = tidy(name).replace("\\", "/").rstrip("/").rpartition("/")[2]
    base = "".join("_" if c in '<>:"|?*' else c for c in base if c.isprintable())
    base = " ".join(base.split()).strip(" .")
    if not base:
        return fallback
    stem, dot, suffix = base.rpartition(".")
    if not dot or len(suffix) > 12:
        stem, suffix = base, ""
    if stem.casefold() in _RESERVED_NAMES:
        stem = f"_{stem}"
    stem = stem[: _MAX_NAME - len(suffix) - 1].rstrip(" .") or fallback
    return f"{stem}.{suffix}" if suffix else stem


__all__ = [
    "MAX_FIELDS",
    "Address",
    "HeaderSection",
    "clean_name",
    "codec_of",
    "decode_base64",
    "decode_value",
    "decode_words",
    "message_ids",
    "parse_addresses",
    "parse_date",
    "parse_parameters",
    "split_headers",
]
