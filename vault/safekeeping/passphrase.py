"""How long a passphrase would hold, as an estimate with advice.  Nothing is forbidden: it is her vault.

The estimate counts what a guesser has to try, piece by piece: a run of letters as words (by how common it is), dates,
runs along the keyboard or the alphabet and repetitions as next to nothing, the rest by its alphabet.  It errs on the
low side.  The lock itself (scrypt at 2^18) adds the work of some 2^17 hashes to every guess, which is counted in the
words, not in the bits.  The weights are common practice with no published source.
"""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

_RUNS = (
    "abcdefghijklmnopqrstuvwxyz",
    "01234567890",
    "qwertzuiop",
    "qwertyuiop",
    "azertyuiop",
    "asdfghjkl",
    "yxcvbnm",
    "zxcvbnm",
    "1qaz2wsx3edc",
)
_PIECE_RE = re.compile(r"[^\W\d_]+|\d+|[\W_]+")
_YEAR_RE = re.compile(r"(?:19|20)\d\d\Z")
_VOWELS = set("aeiouyäöüåæøéèêáàíóúı")
_DISGUISES = str.maketrans("0134578@$!", "oieastbasi")
_WORDS_FILE = Path(__file__).with_name("common_words.txt")
_MAX = 1000  # characters that are looked at
_WORD_BITS = 11.0  # a word picked from a few thousand in use
_COMMON_BITS = 6.0
_WEAK, _STRONG = 40.0, 60.0


@dataclass(frozen=True, kw_only=True)
class Strength:
    """`bits`: guesses needed, as a power of two, on the low side.  `level`: "weak", "fair" or "strong".

    `words` says it (to go on from "that is"), `advice` what would make it better; both are for the person.
    """

    bits: float
    level: str
    words: str
    advice: tuple[str, ...]


@cache
def _common() -> frozenset[str]:
    lines = _WORDS_FILE.read_text(encoding="utf-8").splitlines()
    return frozenset(line for line in lines if not line.startswith("#"))


def estimate(passphrase: str) -> Strength:
    """How strong a passphrase is."""
    pieces = _PIECE_RE.findall(passphrase[:_MAX])
    bits = _bits(passphrase[:_MAX])
    level = "weak" if bits < _WEAK else "fair" if bits < _STRONG else "strong"
    return Strength(bits=round(bits, 1), level=level, words=_LEVELS[level], advice=_advice(passphrase, pieces, level))


_LEVELS = {
    "weak": "weak: somebody who steals the backup could find it with one good computer",
    "fair": "fair: it keeps a thief out, but perhaps not one with money and patience",
    "strong": "strong: it is out of reach for guessing",
}


def _bits(text: str) -> float:
    part = _repeated_part(text)
    pieces = _PIECE_RE.findall(part)
    by_piece = sum(_piece_bits(p) for p in _distinct(pieces)) + _order_bits(pieces)
    return max(by_piece, _random_bits(part)) + (3.0 if part != text else 0.0)


def _advice(passphrase: str, pieces: list[str], level: str) -> tuple[str, ...]:
    if level == "strong":
        return ("write it on paper and keep that away from the backups, or print the recovery sheet",)
    advice = ["five or six words that have nothing to do with each other are strong and easy to remember"]
    if any(p.lower() in _common() for p in pieces):
        advice.append("words that many people choose are tried first")
    if any(_YEAR_RE.match(p) for p in pieces) or (pieces and pieces[-1].isdigit() and len(pieces) == 2):
        advice.append("a year or a number at the end adds next to nothing")
    if len(passphrase) < 12:
        advice.append("length helps more than signs and capitals")
    return tuple(advice)


def _distinct(pieces: list[str]) -> list[str]:
    return list(dict.fromkeys(p.lower() for p in pieces))


def _order_bits(pieces: list[str]) -> float:
    """Repeating a piece costs a guesser one more try or two, capitals about as much."""
    repeats = len(pieces) - len(_distinct(pieces))
    capitals = sum(p != p.lower() and p != p.capitalize() for p in pieces)
    return min(repeats, 4) * 1.0 + capitals * 2.0


def _piece_bits(piece: str) -> float:
    if piece.isdigit():
        return _digit_bits(piece)
    if piece.isalpha():
        return _letter_bits(piece)
    return min(len(set(piece)), len(piece)) * 4.0 if piece.strip() else 1.0


def _random_bits(passphrase: str) -> float:
    """For texts that switch between letters, digits and signs all the time, as programs make them; 0 for others.

    A common word in disguise (P4ssw0rd) is none.
    """
    if " " in passphrase or len(passphrase) < 8:
        return 0.0
    kinds = [c.isdigit() + 2 * c.isalpha() for c in passphrase]
    switches = sum(one != two for one, two in itertools.pairwise(kinds))
    undisguised = passphrase.lower().translate(_DISGUISES)
    if switches * 3 < len(passphrase) or any(len(word) >= 4 and word in undisguised for word in _common()):
        return 0.0
    return len(set(passphrase)) * 4.5


def _digit_bits(digits: str) -> float:
    if _is_run(digits) or len(set(digits)) <= 2:
        return 4.0
    if _YEAR_RE.match(digits):
        return 6.0
    if len(digits) in (6, 8):  # most likely a date
        return 14.0
    return len(digits) * math.log2(10)


def _letter_bits(letters: str) -> float:
    if letters in _common():
        return _COMMON_BITS
    if _is_run(letters) or len(set(letters)) <= 2:
        return 5.0
    vowels = sum(c in _VOWELS for c in letters) / len(letters)
    if any(ord(c) > 0x2E80 for c in letters):  # scripts without letters: a character is about a syllable
        return len(letters) * 6.0
    if len(letters) >= 5 and not 0.2 <= vowels <= 0.65:  # not pronounceable, so hardly a word
        return len(letters) * math.log2(26)
    return min(len(letters) * 3.0, _WORD_BITS + 1.2 * max(0, len(letters) - 7))


def _is_run(text: str) -> bool:
    return len(text) >= 3 and any(text in run or text in run[::-1] for run in _RUNS)


def _repeated_part(text: str) -> str:
    """The shortest text that repeated gives `text`: all a guesser has to find."""
    for length in range(1, len(text) // 2 + 1):
        if len(text) % length == 0 and text[:length] * (len(text) // length) == text:
            return text[:length]
    return text
