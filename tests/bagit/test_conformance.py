"""One bag for each rule of RFC 8493 that can be broken, named after the rule; and good bags that look odd.

Written after the rules of the RFC, section by section (the Library of Congress has a suite of the same purpose; check
values: its four invalid bags of version 1.0 are among the cases here, made anew).
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.bagit import BagReport, check_bag
from vault.bagit.paths import one_spelling

DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
OLD = b"BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n"
FILES = {"data/skirt.pdf": b"a skirt", "data/hats/top hat.pdf": b"a hat"}


class Bag:
    """A bag written by hand, without the builder."""

    def __init__(self, root: Path, files: dict[str, bytes] | None = None, declaration: bytes = DECLARATION) -> None:
        self.root = root
        self.files = dict(FILES if files is None else files)
        (root / "data").mkdir(parents=True)
        for name, content in self.files.items():
            self.put(name, content)
        self.put("bagit.txt", declaration)
        self.manifest("sha256")
        self.manifest("sha512")
        self.put("bag-info.txt", f"Payload-Oxum: {self.n_bytes}.{len(self.files)}\n".encode())
        self.seal()

    @property
    def n_bytes(self) -> int:
        return sum(map(len, self.files.values()))

    def put(self, name: str, content: bytes) -> None:
        path = self.root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)

    def lines(self, algorithm: str) -> list[bytes]:
        encode = lambda n: n.replace("%", "%25").replace("\n", "%0A").replace("\r", "%0D")  # noqa: E731
        return [f"{hashlib.new(algorithm, c).hexdigest()}  {encode(n)}\n".encode() for n, c in self.files.items()]

    def manifest(self, algorithm: str, lines: list[bytes] | None = None) -> None:
        self.put(f"manifest-{algorithm}.txt", b"".join(self.lines(algorithm) if lines is None else lines))

    def seal(self, *, without: tuple[str, ...] = (), also: bytes = b"") -> None:
        names = [p.name for p in sorted(self.root.iterdir()) if p.is_file() and not p.name.startswith("tag")]
        rows = [
            f"{hashlib.sha256((self.root / n).read_bytes()).hexdigest()} {n}\n".encode()
            for n in names
            if n not in without
        ]
        self.put("tagmanifest-sha256.txt", b"".join(rows) + also)

    def info(self, text: str) -> None:
        self.put("bag-info.txt", text.encode())
        self.seal()

    def declare(self, content: bytes) -> None:
        self.put("bagit.txt", content)
        self.seal()

    def line(self, path: str, content: bytes = b"x", *, only: str | None = None) -> None:
        """One more line for `path` in the payload manifests."""
        for algorithm in ("sha256", "sha512"):
            if only in (None, algorithm):
                row = f"{hashlib.new(algorithm, content).hexdigest()} {path}\n".encode()
                self.manifest(algorithm, [*self.lines(algorithm), row])
        self.seal()


def _link(bag: Bag) -> None:
    (bag.root / "data" / "skirt.pdf").unlink()
    (bag.root / "data" / "skirt.pdf").symlink_to(bag.root / "data" / "hats" / "top hat.pdf")


def _gone(bag: Bag, name: str) -> None:
    (bag.root / name).unlink()
    if not name.startswith("tag"):
        bag.seal()


def _fetch(bag: Bag, text: str) -> None:
    bag.put("fetch.txt", text.encode())
    bag.seal()


OF_HAT = hashlib.sha256(b"a hat").hexdigest()
# rule -> how it is broken (2.1.1 declaration, 2.1.2 payload, 2.1.3 manifests, 2.2.1 tag manifests, 2.2.2 bag-info, 2.2.3 fetch, 2.3 tag files)
BROKEN: list[tuple[str, Callable[[Bag], object]]] = [
    ("bag-declaration", lambda b: _gone(b, "bagit.txt")),
    ("declaration-form", lambda b: b.declare(b"BagIt-Version : 1.0\nTag-File-Character-Encoding: UTF-8\n")),
    ("declaration-form", lambda b: b.declare(b"BagIt-Version:  1.0\nTag-File-Character-Encoding: UTF-8\n")),
    ("declaration-form", lambda b: b.declare(b"BagIt-Version: 1.0\nTag-File-Character-Encoding:UTF-8\n")),
    ("declaration-form", lambda b: b.declare(b"Tag-File-Character-Encoding: UTF-8\nBagIt-Version: 1.0\n")),
    ("declaration-form", lambda b: b.declare(b"BagIt-Version: one\nTag-File-Character-Encoding: UTF-8\n")),
    ("declaration-of-two-lines", lambda b: b.declare(b"BagIt-Version: 1.0\n")),
    ("declaration-of-two-lines", lambda b: b.declare(DECLARATION + b"Made-By: hand\n")),
    ("declaration-of-two-lines", lambda b: b.declare(b"")),
    ("declaration-without-byte-order-mark", lambda b: b.declare(b"\xef\xbb\xbf" + DECLARATION)),
    ("declaration-in-utf-8", lambda b: b.declare(b"BagIt-Version: 1.0\nTag-File-Character-Encoding: \xff\n")),
    ("encoding-known", lambda b: b.declare(b"BagIt-Version: 1.0\nTag-File-Character-Encoding: WOOL-8\n")),
    ("payload-directory", lambda b: shutil.rmtree(b.root / "data")),
    ("plain-files", _link),
    ("payload-manifest", lambda b: [_gone(b, "manifest-sha256.txt"), _gone(b, "manifest-sha512.txt")]),
    ("listed-file-present", lambda b: (b.root / "data/skirt.pdf").unlink()),
    ("present-file-listed", lambda b: b.put("data/stray.pdf", b"x")),
    ("every-manifest-lists-every-file", lambda b: [b.manifest("sha512", b.lines("sha512")[:1]), b.seal()]),
    ("listed-twice-with-the-same-checksum", lambda b: b.line("data/hats/top hat.pdf", b"a hat")),
    ("listed-twice-with-different-checksums", lambda b: b.line("data/hats/top hat.pdf", b"another hat")),
    ("manifest-line-form", lambda b: b.manifest("sha256", [*b.lines("sha256"), b"data/skirt.pdf\n"])),
    ("manifest-line-form", lambda b: b.manifest("sha256", [*b.lines("sha256"), b"abcd data/skirt.pdf\n"])),
    ("manifest-line-form", lambda b: b.manifest("sha256", b.lines("sha512"))),
    ("percent-encoding", lambda b: b.line("data/50%20off.pdf")),
    ("percent-encoding", lambda b: b.line("data/50% off.pdf")),
    ("percent-encoding", lambda b: b.line("data/50%")),
    ("path-inside-bag", lambda b: b.line("/etc/passwd")),
    ("path-inside-bag", lambda b: b.line("data/../../outside.txt")),
    ("path-inside-bag", lambda b: b.line("../outside.txt")),
    ("path-inside-bag", lambda b: b.line("~ada/outside.txt")),
    ("path-inside-bag", lambda b: b.line("C:\\outside.txt")),
    ("path-inside-bag", lambda b: b.line("C:/outside.txt")),
    ("path-inside-bag", lambda b: b.line("\\\\?\\C:\\outside.txt")),
    ("path-inside-bag", lambda b: b.line("data\\..\\..\\outside.txt")),
    ("payload-manifest-lists-payload", lambda b: b.line("bagit.txt", DECLARATION)),
    ("tag-file-without-byte-order-mark", lambda b: b.manifest("sha256", [b"\xef\xbb\xbf", *b.lines("sha256")])),
    ("tag-file-in-declared-encoding", lambda b: b.manifest("sha256", [*b.lines("sha256"), b"\xff\n"])),
    ("tag-manifest-lists-payload-manifests", lambda b: b.seal(without=("manifest-sha512.txt",))),
    ("tag-manifest-lists-no-tag-manifest", lambda b: b.seal(also=f"{OF_HAT} tagmanifest-sha256.txt\n".encode())),
    ("tag-manifest-lists-no-payload", lambda b: b.seal(also=f"{OF_HAT} data/hats/top hat.pdf\n".encode())),
    ("listed-tag-file-present", lambda b: b.seal(also=f"{OF_HAT} about.txt\n".encode())),
    ("checksum", lambda b: b.put("data/skirt.pdf", b"b skirt")),
    ("checksum", lambda b: b.put("bag-info.txt", b"Contact-Name: Somebody else\n")),
    (
        "checksum",
        lambda b: b.put("manifest-sha512.txt", b"".join(b.lines("sha512")).upper().replace(b"DATA/", b"data/")),
    ),
    ("info-line-form", lambda b: b.info("no colon here\n")),
    ("info-line-form", lambda b: b.info("  goes on\n")),
    ("info-line-form", lambda b: b.info(": no label\n")),
    ("info-whitespace", lambda b: b.info("Contact-Name : Ada\n")),
    ("info-whitespace", lambda b: b.info("Contact-Name:Ada\n")),
    ("payload-oxum", lambda b: b.info("Payload-Oxum: 13.2\n")),
    ("payload-oxum", lambda b: b.info("Payload-Oxum: 12.3\n")),
    ("payload-oxum-form", lambda b: b.info("Payload-Oxum: 12\n")),
    ("payload-oxum-once", lambda b: b.info("Payload-Oxum: 12.2\npayload-oxum: 12.2\n")),
    ("fetch-line-form", lambda b: _fetch(b, "https://lark.example/a.pdf data/skirt.pdf\n")),
    ("fetch-line-form", lambda b: _fetch(b, "lark/a.pdf 12 data/skirt.pdf\n")),
    ("fetched-file-listed", lambda b: _fetch(b, "https://lark.example/a.pdf 12 data/not there.pdf\n")),
    ("fetch-lists-payload", lambda b: _fetch(b, "https://lark.example/a.pdf - bag-info.txt\n")),
    ("path-inside-bag", lambda b: _fetch(b, "https://lark.example/a.pdf - ../../a.pdf\n")),
]


@pytest.mark.parametrize("rule, breaks", BROKEN, ids=[f"{n}-{r}" for n, (r, _) in enumerate(BROKEN)])
def test_a_broken_rule_is_named(tmp_path: Path, rule: str, breaks: Callable[[Bag], object]) -> None:
    bag = Bag(tmp_path / "bag")
    assert check_bag(bag.root).valid
    breaks(bag)
    report = check_bag(bag.root)
    assert not report.valid
    assert rule in {e.rule for e in report.errors}, report.errors
    assert report.complete == ({e.rule for e in report.errors} == {"checksum"})


def _info_ok(text: str) -> Callable[[Bag], object]:
    return lambda b: b.info(text)


def _many(names: list[str]) -> Callable[[Path], Bag]:
    return lambda root: Bag(root, {f"data/{n}": n.encode() for n in names})


GOOD: dict[str, Callable[[Bag], object]] = {
    "as-it-is": lambda b: None,
    "without-tag-manifest": lambda b: _gone(b, "tagmanifest-sha256.txt"),
    "without-bag-info": lambda b: _gone(b, "bag-info.txt"),
    "one-manifest": lambda b: _gone(b, "manifest-sha256.txt"),
    "capital-checksums": lambda b: [
        b.manifest("sha512", [r.split(b" ")[0].upper() + r[128:] for r in b.lines("sha512")]),
        b.seal(),
    ],
    "tabs-and-many-blanks": lambda b: [
        b.manifest("sha512", [r.replace(b"  ", b" \t   ") for r in b.lines("sha512")]),
        b.seal(),
    ],
    "carriage-returns": lambda b: [
        b.manifest("sha512", [r.replace(b"\n", b"\r") for r in b.lines("sha512")]),
        b.seal(),
    ],
    "both-line-ends": lambda b: b.declare(DECLARATION.replace(b"\n", b"\r\n")),
    "no-last-line-end": lambda b: b.declare(DECLARATION.rstrip()),
    "older-checksums": lambda b: [b.manifest("md5"), b.manifest("sha1"), b.seal()],
    "info-on-two-lines": _info_ok("External-Description: what was\n   kept\nPayload-Oxum: 12.2\n"),
    "info-repeated-in-order": _info_ok("Contact-Name: Ada\nContact-Name: Bo\n"),
    "info-with-a-tab": _info_ok("Contact-Name:\tAda\n"),
    "info-labels-with-blanks": _info_ok("Who has the key: Bo\n"),
    "info-empty-value": _info_ok("Contact-Name:\n"),
    "latin-1-tag-files": lambda b: [
        b.declare(DECLARATION.replace(b"UTF-8", b"ISO-8859-1")),
        b.put("bag-info.txt", "Contact-Name: Zoë\n".encode("latin-1")),
        b.seal(),
    ],
    "fetch-file-that-is-there": lambda b: _fetch(b, "https://lark.example/skirt.pdf 7 data/skirt.pdf\n"),
    "other-tag-files": lambda b: [b.put("notes/how.txt", b"\xff\xfe anything")],
    "empty-folder": lambda b: (b.root / "data" / "empty").mkdir(),
}


@pytest.mark.parametrize("what", GOOD)
def test_a_good_bag_is_valid(tmp_path: Path, what: str) -> None:
    bag = Bag(tmp_path / "bag")
    GOOD[what](bag)
    report = check_bag(bag.root)
    assert report.valid and report.complete, report.errors


@pytest.mark.parametrize(
    "names",
    [
        ["50% off.pdf", "100%25.pdf"],
        ["two\nlines.pdf", "a\rreturn.pdf"],
        ["  blanks  .pdf", "tab\there.pdf"],
        ["スカート.pdf", "Größe 38.pdf", "patron été.pdf"],
        [".hidden", "-dash", "star*", "a" * 200],
        [],
    ],
)
@pytest.mark.skipif(os.name == "nt", reason="names that Windows does not have")
def test_odd_names_are_read_as_they_are(tmp_path: Path, names: list[str]) -> None:
    report = check_bag(_many(names)(tmp_path / "bag").root)
    assert report.valid, report.errors
    assert report.files == len(names)


DOUBTS: list[tuple[str, Callable[[Bag], object]]] = [
    (
        "path-form",
        lambda b: [b.manifest("sha512", [r.replace(b"data/", b"./data/", 1) for r in b.lines("sha512")]), b.seal()],
    ),
    ("tag-manifest-lists-tag-files", lambda b: b.seal(without=("bag-info.txt",))),
    ("info-element-repeated", lambda b: b.info("Bagging-Date: 2026-03-07\nBagging-Date: 2026-03-08\n")),
    ("algorithm-known", lambda b: [b.put("manifest-wool1.txt", b"x"), b.seal()]),
    ("version-known", lambda b: b.declare(DECLARATION.replace(b"1.0", b"1.1"))),
]


@pytest.mark.parametrize("rule, change", DOUBTS, ids=[r for r, _ in DOUBTS])
def test_what_a_bag_should_not_do_is_a_warning(tmp_path: Path, rule: str, change: Callable[[Bag], object]) -> None:
    bag = Bag(tmp_path / "bag")
    change(bag)
    report = check_bag(bag.root)
    assert report.valid, report.errors
    assert rule in {w.rule for w in report.warnings}


def test_earlier_versions_have_looser_rules(tmp_path: Path) -> None:
    bag = Bag(tmp_path / "bag", declaration=OLD)
    bag.line("data/hats/top hat.pdf", b"a hat")
    bag.info("Contact-Name :   Ada\n")
    bag.declare(b"BagIt-Version :  0.97\nTag-File-Character-Encoding :UTF-8\n")
    report = check_bag(bag.root)
    assert report.valid, report.errors
    assert {w.rule for w in report.warnings} == {"listed-twice-with-the-same-checksum"}
    assert report.info == (("Contact-Name", "Ada"),)
    # in 0.97 a file need stand in one manifest only
    bag.manifest("sha512", bag.lines("sha512")[:1])
    bag.seal()
    assert check_bag(bag.root).valid


def test_a_name_in_another_unicode_spelling_is_the_same_file(tmp_path: Path) -> None:
    composed, apart = "data/Röcke.pdf", "data/Ro\u0308cke.pdf"
    assert one_spelling(apart) == composed
    bag = Bag(tmp_path / "bag", {apart: b"x"})
    for algorithm in ("sha256", "sha512"):
        bag.manifest(algorithm, [r.replace(apart.encode(), composed.encode()) for r in bag.lines(algorithm)])
    bag.seal()
    report = check_bag(bag.root)
    assert report.valid, report.errors
    assert {w.rule for w in report.warnings} == {"names-in-one-spelling"}


def test_a_bag_that_is_none(tmp_path: Path) -> None:
    report = check_bag(tmp_path / "nothing")
    assert not report.valid and not report.complete and report.version is None


def test_everything_wrong_is_told_at_once(tmp_path: Path) -> None:
    bag = Bag(tmp_path / "bag")
    (bag.root / "data" / "skirt.pdf").unlink()
    bag.put("data/stray.pdf", b"x")
    bag.put("data/hats/top hat.pdf", b"no hat")
    report = check_bag(bag.root)
    assert {e.rule for e in report.errors} == {"listed-file-present", "present-file-listed", "checksum", "payload-oxum"}


@pytest.mark.parametrize("piece", [b"a", b" ", b"\t", b"%", b"0" * 64 + b" ", b"\n", b"*", b":"])
@pytest.mark.parametrize("name", ["manifest-sha256.txt", "bag-info.txt", "bagit.txt", "fetch.txt"])
def test_hostile_tag_files_cost_little(tmp_path: Path, piece: bytes, name: str) -> None:
    bag = Bag(tmp_path / "bag")
    bag.put(name, piece * (300_000 // len(piece)))
    report: BagReport = check_bag(bag.root)
    assert report.errors or not piece.strip()  # lines with nothing in them say nothing


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(["manifest-sha256.txt", "tagmanifest-sha256.txt", "bag-info.txt", "bagit.txt", "fetch.txt"]),
    st.binary(max_size=200) | st.text(max_size=100).map(lambda t: f"{OF_HAT}  {t}\n".encode("utf-8", "replace")),
)
def test_any_bytes_in_a_tag_file_give_a_report(name: str, content: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        bag = Bag(Path(folder) / "bag")
        bag.put(name, content)
        report = check_bag(bag.root)
        assert report.complete == all(e.rule == "checksum" for e in report.errors)
