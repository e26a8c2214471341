"""The textual header (C2SP age, "Header"): version line, recipient stanzas, MAC line.

Each regular expression stands for one rule of the grammar in the specification:

    header     = v1-line 1*stanza end
    v1-line    = %s"age-encryption.org/v1" LF
    end        = "--- " 43base64char LF
    stanza     = arg-line *full-line final-line
    arg-line   = "-> " argument *(SP argument) LF
    argument   = 1*VCHAR
    full-line  = 64base64char LF
    final-line = *63base64char LF

Stricter than the grammar in one way: a header longer than `MAX_HEADER_BYTES` is refused, so that a hostile file
cannot fill the memory.  Lines end with LF alone; a CR is an error like any other character.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from vault.age import encoding, primitives
from vault.age.errors import NOT_WHOLE, HeaderError, HmacError
from vault.age.source import Source

MAX_HEADER_BYTES = 1 << 20  # about 10,000 X25519 or 650 hybrid recipients
VERSION_PREFIX = b"age-encryption.org/"
_V1_LINE = VERSION_PREFIX + b"v1\n"
_COLUMNS = 64
_MAC_BYTES = 32

_ARG_LINE_RE = re.compile(rb"-> ([\x21-\x7e]+(?: [\x21-\x7e]+)*)\n\Z")
_BODY_LINE_RE = re.compile(rb"([A-Za-z0-9+/]{0,64})\n\Z")
_END_RE = re.compile(rb"--- ([A-Za-z0-9+/]{43})\n\Z")
_ARGUMENT_RE = re.compile(rb"[\x21-\x7e]+\Z")


@dataclass(frozen=True, kw_only=True)
class Stanza:
    """The file key as wrapped for one recipient: `args` (the first is the type) and the body.

    Raises ValueError for an argument that could not be written.
    """

    args: tuple[bytes, ...]
    body: bytes

    def __post_init__(self) -> None:
        if not self.args or not all(_ARGUMENT_RE.match(arg) for arg in self.args):
            raise ValueError("a stanza needs arguments, each of printable ASCII without spaces")

    @property
    def kind(self) -> str:
        """The recipient type that the stanza names."""
        return self.args[0].decode("ascii")

    def encode(self) -> bytes:
        """The stanza as the header holds it; its last line is shorter than 64 columns, empty if need be."""
        text = encoding.encode(self.body)
        lines = [text[at : at + _COLUMNS] for at in range(0, len(text) + 1, _COLUMNS)]
        return b"-> " + b" ".join(self.args) + b"\n" + b"".join(line + b"\n" for line in lines)


@dataclass(frozen=True, kw_only=True)
class Header:
    """A header: its stanzas and its MAC."""

    stanzas: tuple[Stanza, ...]
    mac: bytes

    @classmethod
    def made(cls, stanzas: tuple[Stanza, ...], file_key: bytes) -> Header:
        """A header with its MAC under `file_key`."""
        return cls(stanzas=stanzas, mac=_mac(stanzas, file_key))

    def encode(self) -> bytes:
        """The header's bytes, the only ones that parse to this value."""
        return _maced(self.stanzas) + b" " + encoding.encode(self.mac) + b"\n"

    def check_mac(self, file_key: bytes) -> None:
        """Raises HmacError unless the header is what the holder of `file_key` wrote."""
        if not primitives.same(self.mac, _mac(self.stanzas, file_key)):
            raise HmacError("the age header was changed after it had been written", NOT_WHOLE)


def _maced(stanzas: tuple[Stanza, ...]) -> bytes:
    """What the MAC covers: "the whole header up to and including the `---` mark (excluding the space following it)".

    Since a parsed header can be spelled in one way only, encoding it again gives the bytes that were read.
    """
    return _V1_LINE + b"".join(stanza.encode() for stanza in stanzas) + b"---"


def _mac(stanzas: tuple[Stanza, ...], file_key: bytes) -> bytes:
    key = primitives.hkdf(ikm=file_key, salt=b"", info=b"header")
    return primitives.hmac_sha256(key, _maced(stanzas))


def read_header(source: Source) -> Header:
    """Take the header from `source`, which then stands at the payload.  Raises HeaderError."""
    lines = _Lines(source)
    _read_version(lines)
    stanzas: list[Stanza] = []
    while not (line := lines.next()).startswith(b"---"):
        stanzas.append(_read_stanza(line, lines))
    end = _END_RE.match(line)
    mac = encoding.decode(end[1]) if end else None
    if mac is None or len(mac) != _MAC_BYTES:
        raise _broken("its last line is not '---' and a MAC in base64")
    if not stanzas:
        raise _broken("it names no recipient")
    return Header(stanzas=tuple(stanzas), mac=mac)


class _Lines:
    """The lines of the header, within the limit for all of them together."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self._left = MAX_HEADER_BYTES

    def next(self) -> bytes:
        line = self._source.read_line(self._left)
        if line is None:
            at_limit = len(self._source.peek(self._left)) >= self._left
            raise _broken(f"it is longer than {MAX_HEADER_BYTES} bytes" if at_limit else "it ends too early")
        self._left -= len(line)
        return line

    def starts_with(self, prefix: bytes) -> bool:
        return self._source.peek(len(prefix)) == prefix


def _read_version(lines: _Lines) -> None:
    if not lines.starts_with(VERSION_PREFIX):
        raise HeaderError("this is no age file: it does not begin with 'age-encryption.org/'", NOT_WHOLE)
    line = lines.next()
    if line != _V1_LINE:
        version = line[len(VERSION_PREFIX) : -1][:20].decode("ascii", "backslashreplace")
        raise HeaderError(f"age format {version!r} is not supported, only 'v1' is", "open it with a newer program")


def _read_stanza(arg_line: bytes, lines: _Lines) -> Stanza:
    arguments = _ARG_LINE_RE.match(arg_line)
    if not arguments:
        raise _broken("a recipient stanza does not begin with '->' and arguments separated by one space")
    parts = []
    while True:
        body_line = _BODY_LINE_RE.match(lines.next())
        if not body_line:
            raise _broken("the body of a recipient stanza is not base64 wrapped at 64 columns")
        parts.append(body_line[1])
        # "The body MUST end with a line shorter than 64 characters, which MAY be empty."
        if len(body_line[1]) < _COLUMNS:
            break
    text = b"".join(parts)
    body = encoding.decode(text)
    if body is None:
        raise _broken("the body of a recipient stanza is not canonical base64")
    return Stanza(args=tuple(arguments[1].split(b" ")), body=body)


def _broken(why: str) -> HeaderError:
    return HeaderError(f"the age header is malformed: {why}", NOT_WHOLE)
