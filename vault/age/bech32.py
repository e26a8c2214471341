"""Bech32 (BIP-173) without its length limit, as age uses it for the text of keys.

"Bech32 is as specified in BIP173, but without length limits on the data part.  Note that Bech32 strings can only be
all uppercase or all lowercase, but the checksum is always computed over the lowercase string" (C2SP age).
"""

from __future__ import annotations

from collections.abc import Iterable

_CHARSET = "qpzry9x8gf2tvdw0s3jn54khce6mua7l"
_VALUES = {character: value for value, character in enumerate(_CHARSET)}
_GENERATOR = (0x3B6A57B2, 0x26508E6D, 0x1EA119FA, 0x3D4233DD, 0x2A1462B3)
_CHECKSUM = 6


class Bech32Error(ValueError):
    """The text is not Bech32; the message says which rule it breaks without repeating the text."""


def encode(prefix: str, data: bytes) -> str:
    """`data` under the human-readable part `prefix`; upper case when the prefix is."""
    low = prefix.lower()
    values = _regroup(data, 8, 5, pad=True)
    rest = _polymod([*_expand(low), *values, *[0] * _CHECKSUM]) ^ 1
    values += [rest >> 5 * (_CHECKSUM - 1 - i) & 31 for i in range(_CHECKSUM)]
    text = low + "1" + "".join(_CHARSET[value] for value in values)
    return text.upper() if prefix != low else text


def decode(text: str) -> tuple[str, bytes]:
    """The human-readable part as written, and the data.  Raises Bech32Error."""
    prefix, values = split(text)
    return prefix, bytes(_regroup(values, 5, 8, pad=False))


def split(text: str) -> tuple[str, list[int]]:
    """The human-readable part as written, and the 5-bit values without the checksum.  Raises Bech32Error."""
    if any(not 33 <= ord(character) <= 126 for character in text):
        raise Bech32Error("holds a character that is not printable ASCII")
    if text not in (text.lower(), text.upper()):
        raise Bech32Error("mixes upper and lower case")
    prefix, one, rest = text.rpartition("1")
    if not one or not prefix:
        raise Bech32Error("has no prefix before a '1'")
    if len(rest) < _CHECKSUM:
        raise Bech32Error("is too short")
    values = [_VALUES.get(character, -1) for character in rest.lower()]
    if -1 in values:
        raise Bech32Error(f"has the character {rest[values.index(-1)]!r}, which Bech32 does not use")
    if _polymod([*_expand(prefix.lower()), *values]) != 1:
        raise Bech32Error("has a wrong checksum: at least one character is mistyped")
    return prefix, values[:-_CHECKSUM]


def _polymod(values: Iterable[int]) -> int:
    rest = 1
    for value in values:
        top = rest >> 25
        rest = (rest & 0x1FFFFFF) << 5 ^ value
        for i, generator in enumerate(_GENERATOR):
            if top >> i & 1:
                rest ^= generator
    return rest


def _expand(prefix: str) -> list[int]:
    return [*(ord(c) >> 5 for c in prefix), 0, *(ord(c) & 31 for c in prefix)]


def _regroup(values: Iterable[int], old: int, new: int, *, pad: bool) -> list[int]:
    """Bits in groups of `old` to groups of `new`.  Decoding refuses padding that is not short and zero."""
    bits = n_bits = 0
    groups = []
    for value in values:
        bits = bits << old | value
        n_bits += old
        while n_bits >= new:
            n_bits -= new
            groups.append(bits >> n_bits)
            bits &= (1 << n_bits) - 1
    if pad and n_bits:
        groups.append(bits << (new - n_bits))
    elif not pad and (n_bits >= old or bits):
        raise Bech32Error("has data after its last whole byte")
    return groups
