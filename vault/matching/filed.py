"""The held side, made ready: what a file says of itself and what its surroundings say of it.

A file speaks with several voices: the title in the document, its headings, its metadata, lines that come again on its
pages, its name, the folders and the zip it lies in.  The first five are its own; a folder or zip speaks only for files
that do not speak for themselves.
"""

from __future__ import annotations

import re
import zlib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from pathlib import PurePosixPath

from vault.matching import parts as part_words
from vault.matching import sizes as size_ranges
from vault.matching.keys import code_key, key, plain_name, spread, words
from vault.matching.makers import MakerName, makers, named_in
from vault.matching.sizes import SizeRange
from vault.matching.targets import codes_in, host, link_keys
from vault.matching.title import EMPTY, Title, informative, parse
from vault.model.pattern import PatternFile, Sighting

MOST_HEADINGS = 6
MOST_LINES = 8
MOST_FIRST = 6
_LEAST_TEXT_CODE = 5
_LEAST_STEM = 4  # letters of a word by which files are named alike
_JOINED = 3  # headings that may be one title over several lines
_HEAD = 3000  # characters of text in which a maker's name is looked for
_LINES = 20000  # characters of text in which lines that come again are looked for
_LINE = (4, 90)
_DIGITS_RE = re.compile(r"\d+")
_CUT_RE = re.compile(r"\s*\d{1,2}\s?[x×]\s")
_SEGMENT_RE = re.compile(r"\s[-–—|·•:]+\s|[|()\[\]·•,;/_]+|–|—")
# What `Filed.release` lets go of, and what it makes first, while the whole text is there.
_HEAVY = (
    *("voices", "mentions", "_spoken", "text_codes", "document", "name_titles"),
    *("codes", "folder_codes", "urls", "sites", "makers", "authors"),
)
_OF_THE_TEXT = ("lines", "stated_sizes", "readable")
OWN = ("document", "heading", "metadata", "line", "name")


@dataclass(frozen=True, slots=True)
class Voice:
    """One place that may say what the file is."""

    kind: str  # "document", "heading", "metadata", "line", "name", "folder", "zip"
    text: str
    title: Title


class Filed:
    """A file made ready.  What costs time or room is made when first asked for, and let go of by `release`."""

    def __init__(self, file: PatternFile) -> None:
        facts = file.facts
        self.sha256 = file.sha256
        self.n_bytes = file.n_bytes
        self.facts = facts
        self._packed: bytes | None = None
        self.sightings = file.sightings
        self.places = tuple(_Place.of(s) for s in sorted(file.sightings, key=_sighting_key))
        self.names = tuple(dict.fromkeys(p.name for p in self.places))
        stamp = facts.stamp
        self.orders = frozenset({code_key(stamp.order_number)} if stamp and stamp.order_number else ())
        self.days = frozenset(s.modified[:10] for s in file.sightings if s.modified)
        self.zips = frozenset(p.zip_sha256 for p in self.places if p.zip_sha256)
        self.speaks = informative(self.document)
        self.generic_name = not any(informative(t) for t in self.name_titles)
        self._named_by: tuple[Mapping[str, tuple[MakerName, ...]], tuple[MakerName, ...]] | None = None
        self.unusable = self._unusable()

    def release(self, *, told: bool = True) -> None:
        """Forgets what can be made again; a vault of many files is held in little memory that way.

        `told`: something may be linked to it, so that the lines of its whole text are still asked for.
        """
        if self._packed is None:
            asked = told or not informative(self.document)
            for name in _OF_THE_TEXT if asked and len(self.text) > _HEAD else ():
                getattr(self, name)
            self._packed = zlib.compress(self.text[:_HEAD].encode("utf-8", "surrogatepass"), 1)
            self.facts = replace(self.facts, text="", layers=(), licence=None, details={}, why=())
        for name in _HEAVY:
            self.__dict__.pop(name, None)
        self._named_by = None

    @property
    def text(self) -> str:
        """Its text; after `release` the beginning of it."""
        packed = self._packed
        return self.facts.text if packed is None else zlib.decompress(packed).decode("utf-8", "surrogatepass")

    def begin_again(self) -> None:
        """Forgets what the bought side said of it."""
        self.speaks = informative(self.document)

    @property
    def name(self) -> str:
        """The file's own name, as first seen."""
        return self.names[0] if self.names else self.sha256[:12]

    def _unusable(self) -> str | None:
        facts = self.facts
        if facts.unusable:
            return facts.unusable
        if self.n_bytes == 0:
            return "empty"
        if facts.encrypted == "user":
            return "locked"
        if facts.damaged or self._belied():
            return "damaged"
        return "preview" if any("preview" in t.parts for t in (self.document, *self.name_titles)) else None

    def _belied(self) -> bool:
        """Whether every name calls it a PDF and its bytes are something else, as error messages that were saved are."""
        called = bool(self.names) and all(n.lower().endswith(".pdf") for n in self.names)
        return called and self.facts.media_type != "application/pdf"

    @cached_property
    def document(self) -> Title:
        """The title in the document; a line with the buyer's name, or one that says how often to cut, is none."""
        if _CUT_RE.match(self.facts.title or ""):
            return EMPTY
        title = parse(self.facts.title) if self.facts.title else EMPTY
        stamp = self.facts.stamp
        buyer = parse(stamp.name).plain if stamp and stamp.name else frozenset()
        return EMPTY if buyer and buyer <= title.plain else title

    @cached_property
    def name_titles(self) -> tuple[Title, ...]:
        """What the file's names say."""
        return tuple(parse(n, is_name=True) for n in self.names)

    @cached_property
    def codes(self) -> frozenset[str]:
        """What may be a product code or order number, in the document or the names."""
        own = {code_key(self.facts.product_code)} if self.facts.product_code else set()
        return frozenset(own.union(*(codes_in(n) for n in self.names)))

    @cached_property
    def folder_codes(self) -> frozenset[str]:
        """The same of its folders and zips."""
        return frozenset(c for p in self.places for f in (*p.folders, *p.zip_names) for c in codes_in(f))

    @cached_property
    def urls(self) -> frozenset[str]:
        """By what the addresses it came from are recognised."""
        addresses = (u for s in self.sightings for u in (s.origin_url, s.referrer_url) if u)
        return frozenset(k for u in addresses for k in link_keys(u))

    @cached_property
    def sites(self) -> frozenset[str]:
        """The sites it came from."""
        return frozenset(h for s in self.sightings if s.origin_url and (h := host(s.origin_url)))

    @cached_property
    def voices(self) -> tuple[Voice, ...]:
        """Everything that may name the file, without what names nothing."""
        facts = self.facts
        out: list[Voice] = []
        if self.document is not EMPTY and facts.title:
            out.append(Voice("document", facts.title, self.document))
        if (meta := facts.metadata.get("Title", "")) and meta != facts.title:
            out.append(Voice("metadata", meta, parse(meta)))
        lines = [h for h in facts.headings[:MOST_HEADINGS] if h and h != facts.title]
        # As names: a number at the end of a heading or line is as likely that of the page as that of a volume.
        out += [Voice("heading", h, parse(h, is_name=True)) for h in lines]
        if len(self.document.words) < 2:
            # The title may stand on several lines, of which the document's title is the first, or none.
            out += [
                Voice("heading", joined, parse(joined, is_name=True))
                for n in range(2, min(_JOINED, len(lines)) + 1)
                if len(joined := " ".join(lines[:n])) <= 2 * _LINE[1]
            ]
        if not informative(self.document):
            out += [Voice("line", line, parse(line, is_name=True)) for line in self.lines]
        out += [Voice("name", n, t) for n, t in zip(self.names, self.name_titles, strict=True)]
        for place in self.places:
            out += [Voice("folder", f, parse(f, is_name=True)) for f in place.folders]
            out += [Voice("zip", z, parse(z, is_name=True)) for z in place.zip_names]
        distinct: dict[tuple[str, tuple[str, ...], str], Voice] = {}
        for v in out:
            if informative(v.title) and not (
                v.kind == "heading"
                and v.title.plain == self.document.plain
                and len(v.title.words) == len(self.document.words)
            ):
                distinct.setdefault((v.kind, tuple(w.key for w in v.title.words), v.text), v)
        return tuple(distinct.values())

    @cached_property
    def lines(self) -> tuple[str, ...]:
        """Lines that stand on several pages, without the numbers in which they differ, and first lines."""
        text = self.text[:_LINES]
        adverts = set(self.facts.other_titles)
        shapes = [s.strip() for s in _without_digits(text).splitlines()]
        again = {s for s, n in Counter(shapes).items() if n > 1}
        groups: dict[str, list[str]] = {}
        for line, shape in zip(text.splitlines(), shapes, strict=True):
            if shape not in again:
                continue
            bare = line.strip()
            if _LINE[0] <= len(bare) <= _LINE[1] and bare not in adverts:
                groups.setdefault(shape, []).append(bare)
        often = [_steady(found) for found in groups.values() if len(found) > 1][:MOST_LINES]
        return tuple(dict.fromkeys([*self._first_lines(adverts), *often]))

    def _first_lines(self, adverts: set[str]) -> list[str]:
        """The first lines of a text without title and headings, and these put together, for a title may take two."""
        if self.facts.title or self.facts.headings:
            return []
        lines = [line.strip() for line in self.text[:_HEAD].splitlines() if line.strip()][:MOST_FIRST]
        lines = [line for line in lines if len(line) <= _LINE[1] and line not in adverts]
        return [*lines, *(f"{a} {b}" for a, b in pairwise(lines[:4]))]

    @cached_property
    def mentions(self) -> str:
        """Names, headings and first text in one run of letters, in which a maker's name is looked for; no titles."""
        return "".join(" ".join(self._spoken[1][2:]).split())

    @cached_property
    def _spoken(self) -> tuple[list[str], list[str]]:
        """Two titles, names, folders, headings, first lines: as they stand, and as keys with blanks between words."""
        facts = self.facts
        around = [f for p in self.places for f in (*p.folders, *p.zip_names)]
        titles = [facts.title or "", facts.metadata.get("Title", "")]
        names = (plain_name(n) for n in (*self.names, *around))
        stated = [*titles, *names, facts.metadata.get("Author", ""), *facts.headings]
        lines = "\n".join([*(" ".join(s.split()) for s in stated), self.text[:_HEAD]]).splitlines()
        return lines, spread("\n".join(lines)).split("\n")

    def named_makers(self, starts: Mapping[str, tuple[MakerName, ...]]) -> tuple[MakerName, ...]:
        """The makers of `starts` (see `named_in`) that it names; found once for all targets.

        They are looked for in parts of lines, cut at dashes; lines that speak of other patterns are left out.
        """
        if self._named_by is None or self._named_by[0] is not starts:
            lines, keys = self._spoken
            # Few lines name anybody: the words are looked at all together first.
            first = starts.keys() & set(" ".join(keys).split())
            adverts = set(self.facts.other_titles)
            there = [
                line[: 4 * _LINE[1]]
                for line, said in zip(lines, keys, strict=True)
                if first and any(w in said for w in first) and len(line) <= 2 * _LINE[1] and line not in adverts
            ]
            pieces = (words(p) for t in there for p in _SEGMENT_RE.split(t))
            segments = dict.fromkeys(tuple(map(key, p)) for p in pieces if p)
            self._named_by = (starts, named_in(segments, starts))
        return self._named_by[1]

    @property
    def about(self) -> bool:
        """Whether it says that it is about a pattern (a review, a size chart), and none itself."""
        return any("about" in t.variants for t in (self.document, *self.name_titles))

    @property
    def shows_pattern(self) -> bool:
        """Whether it can make an item held by itself."""
        # Of a scan without text its name is all there is; of a file that the reader failed on, nothing is known: it may
        # be a preview, so the person is asked.
        shown = self.facts.is_pattern is True or (self.facts.is_pattern is None and not self.readable)
        return shown and not self.about

    @cached_property
    def readable(self) -> bool:
        """Whether its text could be read, or the reader failed on it."""
        return bool(self.text.strip()) or self.facts.unread is not None

    @cached_property
    def stated_sizes(self) -> tuple[SizeRange, ...]:
        """The ranges in lines that say that they are about sizes."""
        return size_ranges.labelled(self.text[:_LINES])

    @cached_property
    def text_codes(self) -> frozenset[str]:
        """What may be an order number in the first text, long enough not to be there by chance."""
        return frozenset(c for c in codes_in(self.text, most=_HEAD) if len(c) >= _LEAST_TEXT_CODE)

    @cached_property
    def makers(self) -> tuple[MakerName, ...]:
        """Who made it, by the document."""
        return makers([self.facts.designer])

    @cached_property
    def authors(self) -> tuple[MakerName, ...]:
        """Who may have made it, by the metadata."""
        return makers([self.facts.metadata.get("Author")])

    @cached_property
    def sizes(self) -> tuple[SizeRange, ...]:
        """The size ranges of the file: of its content, else of its name, else of its folder."""
        found = size_ranges.of_file(self.facts.sizes)
        for kinds in (OWN, ("folder", "zip")):
            if not found:
                found = tuple(sorted({s for v in self._titles(kinds) for s in v.sizes}))
            if not found and kinds is OWN:
                found = self.stated_sizes
        return found

    def _titles(self, kinds: tuple[str, ...]) -> list[Title]:
        lines = (*self.facts.headings[:MOST_HEADINGS], *self.lines)
        own = [self.document, *(parse(h) for h in lines), *self.name_titles]
        if "name" in kinds:
            return own
        around = [f for p in self.places for f in (*p.folders, *p.zip_names)]
        return [parse(f, is_name=True) for f in around]

    @cached_property
    def parts(self) -> frozenset[str]:
        """The parts that the file holds."""
        name = next((t for t in self.name_titles if t.parts), EMPTY)
        return part_words.of_file(self.facts, name, PurePosixPath(self.name).suffix.lower().lstrip("."))

    @property
    def nameless(self) -> bool:
        """Whether the file says nothing of its own about what it is, in its title, headings or name."""
        return self.generic_name and not any(v.kind in ("document", "heading") for v in self.voices)

    @cached_property
    def stems(self) -> frozenset[tuple[str, tuple[str, ...]]]:
        """Where it lies with its name without the words for parts: files that share one are parts of one thing."""
        out = set()
        for place in self.places:
            t = parse(place.name, is_name=True)
            typed = (*t.variants, *t.volumes, *t.numbers, *t.years, *(str(s) for s in t.sizes))
            telling = any(w.kind == "content" and len(w.key) >= _LEAST_STEM for w in t.words)
            if informative(t) and (telling or any(len(n) >= 2 for n in t.numbers)):
                out.add((place.where, (t.squashed, *sorted(typed))))
        return frozenset(out)


_DIGITS = bytes.maketrans(b"0123456789", b"##########")


def _without_digits(text: str) -> str:
    """`text` with one sign for every number."""
    raw = text.encode("utf-8", "surrogatepass").translate(_DIGITS)
    while b"##" in raw:
        raw = raw.replace(b"##", b"#")
    return raw.decode("utf-8", "surrogatepass")


def _steady(lines: list[str]) -> str:
    """One line for lines that differ in numbers only: numbers that all have stay, others go."""
    first = lines[0]
    rows = [_DIGITS_RE.findall(line) for line in lines]
    stays = iter([len(set(column)) == 1 for column in zip(*rows, strict=True)])
    return _DIGITS_RE.sub(lambda m: m.group() if next(stays) else " ", first).strip()


@dataclass(frozen=True, slots=True)
class _Place:
    """A sighting taken apart: name, the folders around it (nearest first), the names of the zip."""

    name: str
    folders: tuple[str, ...]
    zip_names: tuple[str, ...]
    where: str  # folder or zip with the folder inside it
    zip_sha256: str | None

    @staticmethod
    def of(sighting: Sighting) -> _Place:
        path = PurePosixPath(sighting.path.replace("\\", "/"))
        if sighting.inside is None:
            return _Place(path.name, _near(path), (), str(path.parent), None)
        inside = PurePosixPath(sighting.inside.replace("\\", "/"))
        # Nested zips stand as folders in the path inside, with their ending.
        zips = tuple(p for p in inside.parts[:-1] if p.lower().endswith(".zip"))
        where = f"{sighting.zip_sha256 or path}!{inside.parent}"
        folders = tuple(p for p in _near(inside) if p not in zips)
        return _Place(inside.name, folders, (*reversed(zips), path.name, *_near(path)[:1]), where, sighting.zip_sha256)


def _near(path: PurePosixPath) -> tuple[str, ...]:
    """The two folders around a file, nearest first."""
    return tuple(p for p in reversed(path.parent.parts) if p not in ("/", ".", "..") and not p.endswith(":"))[:2]


def _sighting_key(sighting: Sighting) -> tuple[str, str]:
    return (sighting.path, sighting.inside or "")
