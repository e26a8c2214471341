"""Names from strangers are labels, and bytes that are no text can be shown."""

from __future__ import annotations

import os
from pathlib import Path, PurePosixPath

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.intake.names import ending, file_part, member_name, shown


# The first four are what check values say of zips: CPython writes them elsewhere, here they are only labels.
@pytest.mark.parametrize(
    ("name", "label"),
    [
        ("../evil.txt", "evil.txt"),
        ("/abs.txt", "abs.txt"),
        ("a/../../x.txt", "a/x.txt"),
        ("C:\\Windows\\x.txt", "Windows/x.txt"),
        ("\\\\?\\C:\\x.txt", "x.txt"),
        ("../../etc/passwd", "etc/passwd"),
        ("a\0b\n.pdf", "ab.pdf"),
        ("fdp.\u202etxt.exe", "fdp.txt.exe"),
        ("Kleid Mo\u0308hrchen.pdf", "Kleid M\u00f6hrchen.pdf"),
        ("", "unnamed"),
        ("/", "unnamed"),
        ("x\udcff.pdf", "x\ufffd.pdf"),
    ],
)
def test_a_name_inside_something_is_made_harmless(name: str, label: str) -> None:
    assert member_name(name) == label


@settings(deadline=None, max_examples=200)
@given(st.text(alphabet=st.characters(codec=None, categories=None), max_size=400))
def test_no_name_leads_out(name: str) -> None:
    label = member_name(name)
    path = PurePosixPath(label)
    assert not path.is_absolute()
    assert ".." not in path.parts
    label.encode("utf-8")
    assert label == member_name(label)


def test_long_names_keep_both_ends() -> None:
    label = member_name("x" * 5000 + " A4.pdf")
    assert len(label) <= 240
    assert label.endswith(" A4.pdf")


def test_bytes_that_are_no_text_are_shown() -> None:
    path = Path(os.fsdecode(b"Downloads/M\xf6hre.pdf"))
    assert shown(path) == "Downloads/M\\xf6hre.pdf"


@pytest.mark.parametrize(
    ("name", "expected"),
    [("a.PDF", ".pdf"), (".bashrc", ""), ("x.pdf (1)", ".pdf (1)"), ("a/b.c/d", ""), ("x.averylongending", "")],
)
def test_endings(name: str, expected: str) -> None:
    assert ending(name) == expected


def test_the_last_part() -> None:
    assert file_part("a\\b/c.pdf") == "c.pdf"
