"""Checks a bag by the rules of RFC 8493: is it complete, is it valid, and which rule is broken where.

The order: bag declaration, what lies in the folder, manifests, tag manifests, bag-info, fetch file, then every byte.
Nothing a bag says is followed out of its folder; links and devices count as missing; memory does not grow with files'
lengths.  All that is wrong is told, not only the first thing.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

from vault.bagit.paths import one_spelling, why_outside
from vault.bagit.tagfiles import (
    OXUM_RE,
    Declaration,
    Entry,
    TagFileError,
    read_declaration,
    read_fetch,
    read_info,
    read_manifest,
    text_of,
)

# Name in a manifest's file name -> hexadecimal digits of its checksums.
ALGORITHMS = {"md5": 32, "sha1": 40, "sha224": 56, "sha256": 64, "sha384": 96, "sha512": 128}
_MANIFEST_RE = re.compile(r"(tag)?manifest-([a-z0-9]+)\.txt\Z")
_CHUNK = 1 << 18
_MAX_TAG_FILE = 1 << 28
_ONCE, _RATHER_ONCE = "payload-oxum", ("bagging-date", "bag-size", "bag-group-identifier", "bag-count")
_DATA = "data/"

Progress = Callable[[int, int], None]  # files read, files to read


@dataclass(frozen=True, kw_only=True)
class BagFinding:
    """A broken rule: its short name, what is wrong in words, and the path it is about (or empty)."""

    rule: str
    words: str
    path: str = ""


@dataclass(frozen=True, kw_only=True)
class BagReport:
    """What a check found.  `errors` break a MUST, `warnings` a SHOULD or something that may trouble other systems."""

    root: Path
    version: tuple[int, int] | None
    files: int
    n_bytes: int
    info: tuple[tuple[str, str], ...]
    errors: tuple[BagFinding, ...]
    warnings: tuple[BagFinding, ...]
    complete: bool

    @property
    def valid(self) -> bool:
        """Complete, and every checksum in every manifest fits."""
        return not self.errors


def check_bag(root: Path, *, progress: Progress | None = None) -> BagReport:
    """Reads everything in the bag at `root`.  Raises nothing for a bad bag: all is in the report."""
    check = _Check(Path(root))
    check.run(progress)
    return BagReport(
        root=check.root,
        version=check.declared.version if check.declared else None,
        files=len(check.payload),
        n_bytes=sum(check.payload.values()),
        info=tuple(check.info),
        errors=tuple(check.errors),
        warnings=tuple(check.warnings),
        complete=not any(e.rule != "checksum" for e in check.errors),
    )


@dataclass
class _Check:
    root: Path
    declared: Declaration | None = None
    payload: dict[str, int] = field(default_factory=dict)  # path below the root -> bytes
    tags: dict[str, int] = field(default_factory=dict)
    info: list[tuple[str, str]] = field(default_factory=list)
    errors: list[BagFinding] = field(default_factory=list)
    warnings: list[BagFinding] = field(default_factory=list)
    manifests: dict[str, dict[str, str]] = field(default_factory=dict)  # manifest name -> path -> checksum
    _spelled: dict[str, str] = field(default_factory=dict)  # NFC -> as it stands on the disk

    def run(self, progress: Progress | None) -> None:
        if not self.root.is_dir():
            self._wrong("base-directory", f"{self.root} is no folder")
            return
        self._walk()
        self._declaration()
        if self.declared is None:
            return
        if not (self.root / "data").is_dir() or (self.root / "data").is_symlink():
            self._wrong("payload-directory", 'there is no folder "data"')
        self._read_manifests()
        self._payload_manifests()
        self._tag_manifests()
        self._bag_info()
        self._fetch()
        self._checksums(progress)

    # --- what is there ---------------------------------------------------------------------------

    def _walk(self) -> None:
        for folder, names, files in os.walk(self.root, followlinks=False):
            for name in sorted([*names, *files]):
                path = Path(folder) / name
                below = path.relative_to(self.root).as_posix()
                if path.is_symlink() or not (path.is_dir() or path.is_file()):
                    self._wrong("plain-files", "a link or a device stands in the bag", below)
                elif path.is_file():
                    into = self.payload if below.startswith(_DATA) else self.tags
                    into[below] = path.stat().st_size
                    self._spelled[one_spelling(below)] = below
        folds: dict[str, str] = {}
        for path_text in sorted([*self.payload, *self.tags]):
            other = folds.setdefault(one_spelling(path_text).casefold(), path_text)
            if other != path_text:
                self._doubt("names-differ-in-case", f"on some systems it is the same file as {other}", path_text)

    def _declaration(self) -> None:
        if "bagit.txt" not in self.tags:
            self._wrong("bag-declaration", "there is no bagit.txt")
            return
        try:
            self.declared = read_declaration(self._content("bagit.txt"))
        except TagFileError as error:
            self._wrong(error.rule, error.words, "bagit.txt")
            return
        if self.declared.version > (1, 0):
            self._doubt("version-known", "the bag is of a later version than 1.0", "bagit.txt")

    def _content(self, name: str) -> bytes:
        with (self.root / name).open("rb") as handle:
            raw = handle.read(_MAX_TAG_FILE + 1)
        if len(raw) > _MAX_TAG_FILE:
            raise TagFileError("tag-file-size", f"{name} is larger than a quarter of a gigabyte")
        return raw

    def _text(self, name: str) -> str:
        assert self.declared is not None
        return text_of(self._content(name), self.declared, name)

    # --- manifests -------------------------------------------------------------------------------

    def _read_manifests(self) -> None:
        for name in sorted(self.tags):
            found = _MANIFEST_RE.match(name)
            if found is None:
                continue
            if found[2] not in ALGORITHMS:
                self._doubt("algorithm-known", f"checksums of {found[2]} cannot be computed here", name)
                continue
            try:
                entries = read_manifest(self._text(name), name, ALGORITHMS[found[2]])
                self.manifests[name] = self._listed(name, entries)
            except TagFileError as error:
                self._wrong(error.rule, error.words, name)
                self.manifests[name] = {}
        if not any(not name.startswith("tag") for name in self.manifests):
            self._wrong("payload-manifest", "there is no payload manifest that can be checked")

    def _listed(self, name: str, entries: Iterable[Entry]) -> dict[str, str]:
        """The entries of one manifest by path, with what is wrong about the paths themselves."""
        listed: dict[str, str] = {}
        for entry in entries:
            path = self._path_meant(entry, name)
            if path is None:
                continue
            if path in listed:
                self._twice(name, path, same=listed[path] == entry.checksum)
            listed.setdefault(path, entry.checksum)
        return listed

    def _path_meant(self, entry: Entry, name: str) -> str | None:
        assert self.declared is not None
        path = entry.path
        if path.startswith("./"):
            self._doubt("path-form", f"line {entry.line} of {name} writes './' before a path", path)
            path = path.removeprefix("./")
        elif path.startswith("*") and not self.declared.strict:
            path = path.removeprefix("*")  # sha1sum in binary mode wrote it so, and earlier versions took it
        why = why_outside(path)
        if why is not None:
            self._wrong(
                "path-inside-bag", f"line {entry.line} of {name} names a path that {why.partition(' ')[2]}", path
            )
            return None
        meant = self._spelled.get(one_spelling(path), path)
        if meant != path:
            self._doubt("names-in-one-spelling", f"{name} spells it in other Unicode characters", meant)
        return meant

    def _twice(self, name: str, path: str, *, same: bool) -> None:
        assert self.declared is not None
        rule = "listed-twice-with-the-same-checksum" if same else "listed-twice-with-different-checksums"
        tell = self._doubt if same and not self.declared.strict else self._wrong
        tell(rule, f"it is listed twice in {name}", path)

    def _payload_manifests(self) -> None:
        assert self.declared is not None
        payload = {n: listed for n, listed in self.manifests.items() if not n.startswith("tag")}
        somewhere = {path for listed in payload.values() for path in listed}
        for name, listed in payload.items():
            for path in listed:
                if not path.startswith(_DATA):
                    self._wrong("payload-manifest-lists-payload", f"{name} lists what is no payload file", path)
                elif path not in self.payload:
                    self._wrong("listed-file-present", f"it is listed in {name} and is not there", path)
            for path in sorted((self.payload if self.declared.strict else set()) - listed.keys()):
                if path in somewhere:
                    self._wrong("every-manifest-lists-every-file", f"{name} does not list it", path)
        for path in sorted(self.payload.keys() - somewhere):
            self._wrong("present-file-listed", "it is in no payload manifest", path)

    def _tag_manifests(self) -> None:
        payload_manifests = {n for n in self.tags if n.startswith("manifest-") and _MANIFEST_RE.match(n)}
        for name, listed in self.manifests.items():
            if not name.startswith("tag"):
                continue
            for path in listed:
                if path.startswith(_DATA):
                    self._wrong("tag-manifest-lists-no-payload", f"{name} lists a payload file", path)
                elif "/" not in path and path.startswith("tagmanifest-"):
                    self._wrong("tag-manifest-lists-no-tag-manifest", f"{name} lists a tag manifest", path)
                elif path not in self.tags:
                    self._wrong("listed-tag-file-present", f"it is listed in {name} and is not there", path)
            for path in sorted(payload_manifests - listed.keys()):
                self._wrong("tag-manifest-lists-payload-manifests", f"{name} does not list it", path)
            unlisted = {t for t in self.tags if not t.startswith("tagmanifest-")} - listed.keys() - payload_manifests
            for path in sorted(unlisted):
                self._doubt("tag-manifest-lists-tag-files", f"{name} does not list it", path)

    # --- bag-info and fetch ----------------------------------------------------------------------

    def _bag_info(self) -> None:
        assert self.declared is not None
        if "bag-info.txt" not in self.tags:
            return
        try:
            self.info = read_info(self._text("bag-info.txt"), strict=self.declared.strict)
        except TagFileError as error:
            self._wrong(error.rule, error.words, "bag-info.txt")
            return
        labels = [label.lower() for label, _ in self.info]
        for label in _RATHER_ONCE:
            if labels.count(label) > 1:
                self._doubt("info-element-repeated", f"{label} stands there more than once", "bag-info.txt")
        if labels.count(_ONCE) > 1:
            self._wrong("payload-oxum-once", "Payload-Oxum stands there more than once", "bag-info.txt")
        for label, value in self.info:
            if label.lower() == _ONCE:
                self._oxum(value)

    def _oxum(self, value: str) -> None:
        found = OXUM_RE.match(value)
        if found is None:
            self._wrong("payload-oxum-form", f"Payload-Oxum is {value[:60]!r}, not bytes.files", "bag-info.txt")
        elif (int(found[1]), int(found[2])) != (sum(self.payload.values()), len(self.payload)):
            words = f"Payload-Oxum is {value}, and there are {sum(self.payload.values())}.{len(self.payload)}"
            self._wrong("payload-oxum", words, "bag-info.txt")

    def _fetch(self) -> None:
        if "fetch.txt" not in self.tags:
            return
        try:
            entries = list(read_fetch(self._text("fetch.txt")))
        except TagFileError as error:
            self._wrong(error.rule, error.words, "fetch.txt")
            return
        payload = [listed for n, listed in self.manifests.items() if not n.startswith("tag")]
        for entry in entries:
            path = self._path_meant(entry, "fetch.txt")
            if path is None:
                continue
            if not path.startswith(_DATA):
                self._wrong("fetch-lists-payload", "fetch.txt lists what is no payload file", path)
            elif any(path not in listed for listed in payload):
                self._wrong("fetched-file-listed", "fetch.txt lists it and a payload manifest does not", path)

    # --- bytes -----------------------------------------------------------------------------------

    def _checksums(self, progress: Progress | None) -> None:
        wanted: dict[str, dict[str, set[str]]] = {}
        for name, listed in self.manifests.items():
            algorithm = _MANIFEST_RE.match(name)
            for path, checksum in listed.items():
                if algorithm and (path in self.payload or path in self.tags):
                    wanted.setdefault(path, {}).setdefault(algorithm[2], set()).add(checksum)
        for done, path in enumerate(sorted(wanted), start=1):
            self._look(path, wanted[path])
            if progress is not None:
                progress(done, len(wanted))

    def _look(self, path: str, promised: dict[str, set[str]]) -> None:
        digests = {algorithm: hashlib.new(algorithm, usedforsecurity=False) for algorithm in promised}
        try:
            with (self.root / path).open("rb") as handle:
                while chunk := handle.read(_CHUNK):
                    for digest in digests.values():
                        digest.update(chunk)
        except OSError as error:
            self._wrong("file-readable", f"it cannot be read ({error.strerror})", path)
            return
        for algorithm, digest in digests.items():
            if promised[algorithm] != {digest.hexdigest()}:
                self._wrong("checksum", f"its {algorithm} is not the one in the manifest", path)

    def _wrong(self, rule: str, words: str, path: str = "") -> None:
        self.errors.append(BagFinding(rule=rule, words=words, path=path))

    def _doubt(self, rule: str, words: str, path: str = "") -> None:
        self.warnings.append(BagFinding(rule=rule, words=words, path=path))
