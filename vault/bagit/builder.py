"""Builds a bag: payload first, then bag-info, payload manifests, and last the tag manifests over all of them.

Every file is written once and digested on its way, synced before its folder is left.  The caller names a folder that
is new and gives it its final name when `finish` has returned; a bag without its manifests is no bag.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import BinaryIO

from vault.bagit.paths import encode_path, one_spelling, why_outside

# RFC 8493, 2.4: tools MUST support SHA-256 and SHA-512, and SHOULD make SHA-512 by default.
ALGORITHMS = ("sha256", "sha512")
VERSION = "1.0"
_CHUNK = 1 << 18
_LINE = 79


@dataclass(frozen=True, kw_only=True)
class BuiltBag:
    """A finished bag: where, and its payload's number of files and bytes."""

    root: Path
    files: int
    n_bytes: int


@dataclass
class BagBuilder:
    """One bag on its way.  All methods raise OSError of the disk, ValueError for a path that does not belong in a bag.

    Paths are written in NFC, with slashes; two that differ only in case or spelling are refused, for on many systems
    they are one.
    """

    root: Path
    algorithms: Sequence[str] = ALGORITHMS
    _payload: dict[str, tuple[str, ...]] = field(default_factory=dict, init=False)
    _tags: dict[str, tuple[str, ...]] = field(default_factory=dict, init=False)
    _taken: set[str] = field(default_factory=set, init=False)
    _folders: set[Path] = field(default_factory=set, init=False)
    _n_bytes: int = field(default=0, init=False)

    def __post_init__(self) -> None:
        self.root.mkdir(exist_ok=True)
        if any(self.root.iterdir()):
            raise ValueError(f"{self.root} is not empty")
        (self.root / "data").mkdir()

    def add(self, path: str, source: BinaryIO, *, sha256: str | None = None) -> bool:
        """Puts a payload file at data/`path`.

        False, and nothing is put, where its bytes do not have the digest `sha256` that they should have.
        """
        name = self._free(f"data/{one_spelling(path)}")
        digests, n_bytes = self._write(name, source)
        if sha256 is not None and digests[self.algorithms.index("sha256")] != sha256:
            (self.root / name).unlink()
            return False
        self._payload[name] = digests
        self._n_bytes += n_bytes
        return True

    def add_bytes(self, path: str, content: bytes) -> None:
        """Puts a payload file with `content` at data/`path`."""
        self.add(path, io.BytesIO(content))

    def tag(self, name: str, content: bytes) -> None:
        """Puts another tag file beside the payload, for people or programs that look there first."""
        path = self._free(one_spelling(name))
        self._tags[path] = self._write(path, io.BytesIO(content))[0]

    def finish(self, info: Sequence[tuple[str, str]], *, bagging_date: date) -> BuiltBag:
        """Writes all tag files.  `info` are elements of bag-info.txt; dates, sizes and Payload-Oxum are added."""
        elements = [
            *info,
            ("Bagging-Date", bagging_date.isoformat()),
            ("Bag-Size", _size_words(self._n_bytes)),
            ("Payload-Oxum", f"{self._n_bytes}.{len(self._payload)}"),
        ]
        self._tag("bagit.txt", f"BagIt-Version: {VERSION}\nTag-File-Character-Encoding: UTF-8\n")
        self._tag("bag-info.txt", "".join(_element(label, value) for label, value in elements))
        for n, algorithm in enumerate(self.algorithms):
            self._tag(f"manifest-{algorithm}.txt", _manifest(self._payload, n))
        listed = dict(self._tags)  # a tag manifest lists no tag manifest
        for n, algorithm in enumerate(self.algorithms):
            self._tag(f"tagmanifest-{algorithm}.txt", _manifest(listed, n))
        for folder in sorted(self._folders | {self.root, self.root / "data"}, reverse=True):
            _sync_folder(folder)
        return BuiltBag(root=self.root, files=len(self._payload), n_bytes=self._n_bytes)

    def _free(self, name: str) -> str:
        why = why_outside(name)
        if why or name.endswith("/") or "//" in name or "/./" in name:
            raise ValueError(f"{name!r} cannot be a file of a bag: {why or 'it is no plain path'}")
        if name.casefold() in self._taken:
            raise ValueError(f"{name!r} is in the bag already")
        self._taken.add(name.casefold())
        return name

    def _tag(self, name: str, text: str) -> None:
        self._tags[name] = self._write(name, io.BytesIO(text.encode("utf-8")))[0]

    def _write(self, name: str, source: BinaryIO) -> tuple[tuple[str, ...], int]:
        target = self.root / name
        target.parent.mkdir(parents=True, exist_ok=True)
        self._folders.add(target.parent)
        digests = [hashlib.new(a) for a in self.algorithms]
        n_bytes = 0
        with target.open("xb") as handle:
            while chunk := source.read(_CHUNK):
                for digest in digests:
                    digest.update(chunk)
                handle.write(chunk)
                n_bytes += len(chunk)
            handle.flush()
            os.fsync(handle.fileno())
        return tuple(d.hexdigest() for d in digests), n_bytes


def _manifest(listed: dict[str, tuple[str, ...]], n: int) -> str:
    return "".join(f"{digests[n]}  {encode_path(name)}\n" for name, digests in sorted(listed.items()))


def _element(label: str, value: str) -> str:
    """One element of bag-info.txt: label, colon, one blank, value; long values go on in indented lines."""
    words = " ".join(value.split()).split(" ")
    lines = [f"{label}:"]
    for word in words:
        if len(lines[-1]) + 1 + len(word) <= _LINE or lines == [f"{label}:"]:
            lines[-1] += f" {word}"
        else:
            lines.append(f"  {word}")
    return "\n".join(lines) + "\n"


def _size_words(n_bytes: int) -> str:
    for unit, size in (("GB", 10**9), ("MB", 10**6), ("KB", 10**3)):
        if n_bytes >= size:
            return f"{n_bytes / size:.1f} {unit}"
    return f"{n_bytes} bytes"


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        with contextlib.suppress(OSError):  # some file systems have no such step
            os.fsync(handle)
    finally:
        os.close(handle)
