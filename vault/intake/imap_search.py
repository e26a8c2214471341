"""What a mail server is asked for: parts of the words of receipts, as keys of SEARCH (RFC 3501, 6.4.4).

Keys are joined by OR in balanced trees and sent some at a time, for servers bound the length and depth of a command.
Words that are not ASCII need the charset named and travel as literals; a server without LITERAL+ (RFC 7888) is asked
for those one by one.
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from vault.intake.imap_names import quoted

# A client should keep its commands to about 8192 octets (RFC 7162, 4); each search is a pass over all mails, so the
# fewer the better.
_LONGEST = 7000


@dataclass(frozen=True, kw_only=True)
class Asking:
    """One search: its `criteria` as bytes; `literal` is sent behind them where the server takes no other way."""

    criteria: bytes
    utf8: bool = False
    literal: bytes | None = None


@lru_cache(maxsize=1)
def _words() -> tuple[tuple[str, str], ...]:
    """(SUBJECT or BODY, part of a word), each once."""
    table = tomllib.loads((files("vault.intake") / "imap_words.toml").read_text(encoding="utf-8"))
    out: list[tuple[str, str]] = []
    for key in ("subject", "body"):
        parts = dict.fromkeys(p for language in table.values() for p in language.get(key, ()))
        # A part that holds another one finds nothing more.
        out += [(key.upper(), p) for p in parts if not any(o != p and o in p for o in parts)]
    return tuple(out)


@lru_cache(maxsize=1)
def words_version() -> str:
    """Changes with the words: what was searched with others is searched again."""
    return hashlib.sha256(repr(_words()).encode()).hexdigest()[:12]


def likely(*, literals: bool) -> Iterator[Asking]:
    """The searches that together find every likely mail.  `literals`: the server takes non-synchronizing ones."""
    plain = [_key(kind, part) for kind, part in _words() if part.isascii()]
    for some in _handfuls(plain):
        yield Asking(criteria=_any_of(some))
    other = [(kind, part) for kind, part in _words() if not part.isascii()]
    if literals:
        for some in _handfuls([kind.encode() + b" " + _literal(part) for kind, part in other]):
            yield Asking(criteria=_any_of(some), utf8=True)
        return
    for kind, part in other:
        if kind == "SUBJECT" or len(part) <= 4:  # one search each: the longer words of texts are left to the short ones
            yield Asking(criteria=kind.encode(), utf8=True, literal=part.encode())


def with_attachments() -> Asking:
    """The search for mails that have something attached: by hand-written ones come patterns without any word."""
    return Asking(criteria=b'HEADER "Content-Type" "multipart/mixed"')


def _key(kind: str, part: str) -> bytes:
    return kind.encode() + b" " + quoted(part.encode("ascii"))


def _literal(part: str) -> bytes:
    raw = part.encode()
    return b"{%d+}\r\n%b" % (len(raw), raw)


def _any_of(keys: Sequence[bytes]) -> bytes:
    if len(keys) == 1:
        return keys[0]
    half = len(keys) // 2
    return b"OR " + _any_of(keys[:half]) + b" " + _any_of(keys[half:])


def _handfuls(keys: Sequence[bytes]) -> Iterator[Sequence[bytes]]:
    some: list[bytes] = []
    length = 0
    for key in keys:
        if some and length + len(key) + 4 > _LONGEST:
            yield some
            some, length = [], 0
        some.append(key)
        length += len(key) + 4
    if some:
        yield some
