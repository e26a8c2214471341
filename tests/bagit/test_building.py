"""Bags that are built here are valid here, valid to PyPI bagit, and written canonically."""

from __future__ import annotations

import hashlib
import io
import os
import tempfile
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.bagit import BagBuilder, check_bag
from vault.bagit.paths import decode_path, encode_path

DAY = date(2026, 3, 7)


def build(root: Path, files: dict[str, bytes], info: tuple[tuple[str, str], ...] = ()) -> None:
    builder = BagBuilder(root)
    for name, content in files.items():
        builder.add_bytes(name, content)
    builder.finish(info, bagging_date=DAY)


def test_what_a_bag_looks_like(tmp_path: Path) -> None:
    build(tmp_path / "bag", {"b/50% off.pdf": b"abc", "a.pdf": b""}, (("Contact-Name", "Ada"),))
    read = {p.relative_to(tmp_path / "bag").as_posix(): p.read_text() for p in (tmp_path / "bag").glob("*.txt")}
    assert read["bagit.txt"] == "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    assert read["bag-info.txt"] == "Contact-Name: Ada\nBagging-Date: 2026-03-07\nBag-Size: 3 bytes\nPayload-Oxum: 3.2\n"
    # FIPS 180-4: the digests of the empty string and of "abc"
    assert read["manifest-sha256.txt"] == (
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855  data/a.pdf\n"
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  data/b/50%25 off.pdf\n"
    )
    assert {line.split("  ")[1] for line in read["tagmanifest-sha512.txt"].splitlines()} == {
        "bagit.txt",
        "bag-info.txt",
        "manifest-sha256.txt",
        "manifest-sha512.txt",
    }


@pytest.mark.parametrize(
    "path, text",
    [("50% off.pdf", "50%25 off.pdf"), ("a\r\nb", "a%0D%0Ab"), ("Größe 38", "Größe 38"), ("a+b&c", "a+b&c")],
)
def test_only_cr_lf_and_percent_are_encoded(path: str, text: str) -> None:
    assert encode_path(path) == text
    assert decode_path(text) == path
    assert decode_path(text.replace("%0D", "%0d").replace("%0A", "%0a")) == path


@given(st.text(max_size=30))
def test_any_path_comes_back(path: str) -> None:
    assert decode_path(encode_path(path)) == path


@pytest.mark.parametrize("path", ["", "../x", "/x", "a/../../x", "a//b", "a/", "data/./x", "a\0b"])
def test_paths_that_do_not_belong_in_a_bag_are_refused(tmp_path: Path, path: str) -> None:
    builder = BagBuilder(tmp_path / "bag")
    with pytest.raises(ValueError):
        builder.add_bytes(path, b"x")


@pytest.mark.parametrize("again", ["Skirt.pdf", "skirt.pdf", "SKIRT.PDF"])
def test_two_names_that_are_one_on_some_systems_are_refused(tmp_path: Path, again: str) -> None:
    builder = BagBuilder(tmp_path / "bag")
    builder.add_bytes("Skirt.pdf", b"x")
    with pytest.raises(ValueError):
        builder.add_bytes(again, b"y")


def test_a_folder_that_holds_something_is_refused(tmp_path: Path) -> None:
    (tmp_path / "x").write_bytes(b"x")
    with pytest.raises(ValueError):
        BagBuilder(tmp_path)


def test_long_values_go_on_in_indented_lines(tmp_path: Path) -> None:
    words = "what was bought and kept " * 20
    build(tmp_path / "bag", {}, (("External-Description", words),))
    text = (tmp_path / "bag" / "bag-info.txt").read_text()
    assert max(map(len, text.splitlines())) <= 79
    assert dict(check_bag(tmp_path / "bag").info)["External-Description"] == words.strip()


def test_pypi_bagit_agrees(tmp_path: Path) -> None:
    bagit = pytest.importorskip("bagit")
    build(tmp_path / "bag", {"50 off.pdf": b"abc" * 1000, "スカート/Größe 38.pdf": b"x", "a b/c.txt": b""})
    bag = bagit.Bag(str(tmp_path / "bag"))
    assert bag.version_info == (1, 0) and sorted(bag.algorithms) == ["sha256", "sha512"]
    assert bag.is_valid() and check_bag(tmp_path / "bag").valid
    (tmp_path / "bag" / "data" / "a b" / "c.txt").write_bytes(b"!")
    assert not bag.is_valid() and not check_bag(tmp_path / "bag").valid


@pytest.mark.skipif(os.name == "nt", reason="names that Windows does not have")
def test_pypi_bagit_knows_line_ends_in_names_but_no_percent(tmp_path: Path) -> None:
    """Why a bag of ours has no percent sign in its names, although RFC 8493 says how to write it."""
    bagit = pytest.importorskip("bagit")
    build(tmp_path / "lines", {"a\nb.pdf": b"x"})
    assert bagit.Bag(str(tmp_path / "lines")).is_valid()
    build(tmp_path / "percent", {"50% off.pdf": b"x"})
    assert check_bag(tmp_path / "percent").valid
    assert not bagit.Bag(str(tmp_path / "percent")).is_valid()


NAMES = st.lists(
    st.text(
        st.characters(exclude_characters="/\\\0:", exclude_categories=["Cs", "Cc"]), min_size=1, max_size=12
    ).filter(lambda n: n.strip(". ~") != ""),
    max_size=6,
)


@settings(max_examples=30, deadline=None)
@given(NAMES, st.binary(max_size=50))
def test_any_files_make_a_valid_bag_and_any_change_is_noticed(names: list[str], content: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder) / "bag"
        builder = BagBuilder(root)
        added = 0
        for name in names:
            try:
                builder.add(f"d/{name}", io.BytesIO(content))
                added += 1
            except ValueError:
                pass
        builder.finish((), bagging_date=DAY)
        report = check_bag(root)
        assert report.valid and report.files == added, report.errors
        assert report.n_bytes == added * len(content)
        for path in [p for p in sorted(root.rglob("*")) if p.is_file()]:
            before = path.read_bytes()
            path.write_bytes(before + b"x")
            assert not check_bag(root).valid or path.name.startswith("tagmanifest"), path
            path.write_bytes(before)
        assert check_bag(root).valid


def test_digests_are_those_of_the_bytes(tmp_path: Path) -> None:
    content = bytes(range(256)) * 3000
    build(tmp_path / "bag", {"x.bin": content})
    line = (tmp_path / "bag" / "manifest-sha512.txt").read_text()
    assert line == f"{hashlib.sha512(content).hexdigest()}  data/x.bin\n"
