"""Reads the tag files of a bag, strictly for BagIt 1.0; what RFC 8493 says of earlier versions is allowed for those.

Each function takes bytes and gives values; a broken rule is a `TagFileError` with the rule's name.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass

from vault.bagit.paths import decode_path

_LINES_RE = re.compile(r"\r\n|\r|\n")
# 2.1.1: "BagIt-Version: M.N" and "Tag-File-Character-Encoding: ENCODING", exactly two lines in this order
_VERSION_RE = re.compile(r"BagIt-Version: ([0-9]{1,4})\.([0-9]{1,4})\Z")
_ENCODING_RE = re.compile(r"Tag-File-Character-Encoding: ([A-Za-z0-9._:+()-]{1,40})\Z")
_OLD_VERSION_RE = re.compile(r"BagIt-Version[ \t]*:[ \t]*([0-9]{1,4})\.([0-9]{1,4})[ \t]*\Z")
_OLD_ENCODING_RE = re.compile(r"Tag-File-Character-Encoding[ \t]*:[ \t]*([A-Za-z0-9._:+()-]{1,40})[ \t]*\Z")
# 2.1.3: "checksum filepath", parted by one or more blanks or tabs
_ENTRY_RE = re.compile(r"([0-9A-Fa-f]+)[ \t]+(\S.*)\Z", re.DOTALL)
_URL_RE = re.compile(r"([A-Za-z][A-Za-z0-9+.-]*:[^\s]+)[ \t]+([0-9]{1,20}|-)[ \t]+(\S.*)\Z", re.DOTALL)
OXUM_RE = re.compile(r"([0-9]{1,30})\.([0-9]{1,20})\Z")


class TagFileError(Exception):
    """A broken rule: its short name, and what is wrong in words."""

    def __init__(self, rule: str, words: str) -> None:
        super().__init__(words)
        self.rule, self.words = rule, words


@dataclass(frozen=True, kw_only=True)
class Declaration:
    """What bagit.txt says."""

    version: tuple[int, int]
    encoding: str

    @property
    def strict(self) -> bool:
        """Whether the rules of 1.0 hold."""
        return self.version >= (1, 0)


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One line of a manifest."""

    line: int
    checksum: str
    path: str


def read_declaration(raw: bytes) -> Declaration:
    """bagit.txt."""
    if raw.startswith((codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise TagFileError("declaration-without-byte-order-mark", "bagit.txt begins with a byte-order mark")
    try:
        lines = _LINES_RE.split(raw.decode("utf-8"))
    except UnicodeDecodeError:
        raise TagFileError("declaration-in-utf-8", "bagit.txt is not in UTF-8") from None
    if lines and lines[-1] == "":
        lines.pop()
    if len(lines) != 2:
        raise TagFileError("declaration-of-two-lines", f"bagit.txt has {len(lines)} lines, and it should have two")
    version = _VERSION_RE.match(lines[0])
    encoding = _ENCODING_RE.match(lines[1])
    if version is None or encoding is None:
        old = _OLD_VERSION_RE.match(lines[0]), _OLD_ENCODING_RE.match(lines[1])
        if old[0] is None or old[1] is None or (int(old[0][1]), int(old[0][2])) >= (1, 0):
            raise TagFileError("declaration-form", "bagit.txt does not say version and encoding in the one right form")
        version, encoding = old[0], old[1]
    try:
        name = codecs.lookup(encoding[1]).name
        "".encode(name)
    except LookupError:
        raise TagFileError("encoding-known", f"the encoding {encoding[1]!r} is not known") from None
    return Declaration(version=(int(version[1]), int(version[2])), encoding=name)


def text_of(raw: bytes, declared: Declaration, name: str) -> str:
    """A tag file's text in the declared encoding."""
    if declared.encoding == "utf-8" and raw.startswith(codecs.BOM_UTF8):
        raise TagFileError("tag-file-without-byte-order-mark", f"{name} begins with a byte-order mark")
    try:
        return raw.decode(declared.encoding)
    except (UnicodeDecodeError, LookupError):
        raise TagFileError("tag-file-in-declared-encoding", f"{name} is not in {declared.encoding}") from None


def read_manifest(text: str, name: str, n_digits: int) -> Iterator[Entry]:
    """The entries of a payload or tag manifest whose checksums have `n_digits` hexadecimal digits."""
    for number, line in enumerate(_LINES_RE.split(text), start=1):
        if not line:
            continue
        found = _ENTRY_RE.match(line)
        if found is None or len(found[1]) != n_digits:
            raise TagFileError("manifest-line-form", f"line {number} of {name} is no checksum and path")
        yield Entry(line=number, checksum=found[1].lower(), path=_path(found[2], name, number))


def read_fetch(text: str) -> Iterator[Entry]:
    """The paths of fetch.txt; `checksum` holds the length or "-".  Nothing is ever fetched."""
    for number, line in enumerate(_LINES_RE.split(text), start=1):
        if not line:
            continue
        found = _URL_RE.match(line)
        if found is None:
            raise TagFileError("fetch-line-form", f"line {number} of fetch.txt is no URL, length and path")
        yield Entry(line=number, checksum=found[2], path=_path(found[3], "fetch.txt", number))


def read_info(text: str, *, strict: bool) -> list[tuple[str, str]]:
    """The elements of bag-info.txt in their order."""
    elements: list[tuple[str, str]] = []
    for number, line in enumerate(_LINES_RE.split(text), start=1):
        if not line:
            continue
        if line[0] in " \t":
            if not elements:
                raise TagFileError("info-line-form", "bag-info.txt begins with the second line of a value")
            label, value = elements.pop()
            elements.append((label, f"{value} {line.strip()}"))
            continue
        label, colon, value = line.partition(":")
        if not colon or not label.strip():
            raise TagFileError("info-line-form", f"line {number} of bag-info.txt is no label and value")
        # "The label ... MUST NOT start or end with whitespace", "a single linear whitespace character"
        if strict and (label != label.strip() or (value and value[0] not in " \t")):
            raise TagFileError("info-whitespace", f"line {number} of bag-info.txt has its blanks at the wrong places")
        elements.append((label.strip(), value.strip()))
    return elements


def _path(text: str, name: str, number: int) -> str:
    try:
        return decode_path(text)
    except ValueError as error:
        raise TagFileError("percent-encoding", f"line {number} of {name}: {error}") from None
