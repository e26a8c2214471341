"""Letters that tell a language: naive Bayes over groups of two to six bytes, for texts whose words do not decide.

`grams.bin` is the part for our languages of the model that comes with py3langid (BSD-3-Clause, see grams_licence.txt):
the groups that say most, with their weights in tenths.  The whole model knows 97 languages and takes half a second
and 200 MB to load; this one a few milliseconds.  `fixtures/language/make_grams.py` wrote it, a test compares the two.

The file: `PFGRAMS1`, then packed by zlib: the codes in ASCII ended by a line feed, the number of groups (4 bytes,
big-endian), each group as a length byte and its bytes, then for each group one signed byte per language.
"""

from __future__ import annotations

import math
import struct
import zlib
from collections import Counter
from dataclasses import dataclass
from functools import cache
from importlib import resources

MAGIC = b"PFGRAMS1"
_LONGEST = 6  # bytes of a group
_SHORTEST = 2
_READ = 2000  # bytes of the text


@dataclass(frozen=True)
class Grams:
    """The model: language codes, and for each group of bytes the place of its weights."""

    languages: tuple[str, ...]
    places: dict[bytes, int]
    weights: bytes  # signed, one per language, in tenths

    def scores(self, text: str) -> dict[str, float]:
        """How much the letters speak for each language; all 0 where they say nothing."""
        data = text.encode("utf-8", "replace")[:_READ]
        seen: Counter[bytes] = Counter()
        places = self.places
        for end in range(_SHORTEST, len(data) + 1):
            for start in range(max(end - _LONGEST, 0), end - _SHORTEST + 1):
                if data[start:end] in places:  # the longest group that ends here
                    seen[data[start:end]] += 1
                    break
        width = len(self.languages)
        sums = [0.0] * width
        for gram, times in seen.items():
            place = places[gram]
            weight = math.log1p(times) / 10
            for column, value in enumerate(struct.unpack_from(f"{width}b", self.weights, place * width)):
                sums[column] += weight * value
        return dict(zip(self.languages, sums, strict=True))


@cache
def grams() -> Grams:
    """The model, unpacked when first asked for."""
    return unpacked(resources.files("vault.language").joinpath("grams.bin").read_bytes())


def unpacked(data: bytes) -> Grams:
    """The model that `packed` wrote.  Raises ValueError where it did not."""
    if not data.startswith(MAGIC):
        raise ValueError("not a file of letter groups")
    body = zlib.decompress(data[len(MAGIC) :])
    head, _, rest = body.partition(b"\n")
    (count,) = struct.unpack_from(">I", rest)
    places: dict[bytes, int] = {}
    at = 4
    for place in range(count):
        length = rest[at]
        places[rest[at + 1 : at + 1 + length]] = place
        at += 1 + length
    return Grams(tuple(head.decode("ascii").split()), places, rest[at:])


def packed(languages: tuple[str, ...], table: dict[bytes, tuple[int, ...]]) -> bytes:
    """The file for a table of groups with their weights in tenths."""
    names = b"".join(bytes([len(gram)]) + gram for gram in table)
    weights = b"".join(struct.pack(f"{len(languages)}b", *values) for values in table.values())
    body = " ".join(languages).encode("ascii") + b"\n" + struct.pack(">I", len(table)) + names + weights
    return MAGIC + zlib.compress(body, 9)
