"""Folders are walked in a stable order; what is no file costs only itself."""

from __future__ import annotations

import os
import socket
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from vault.intake.walk import LINKS, SPECIAL, UNFINISHED, VAULT, FoundFile, PassedBy, is_elsewhere, walk
from vault.model.evidence import Problem


def names(root: Path, **options: object) -> list[str]:
    return [str(w.path.relative_to(root)) for w in walk([root], **options) if isinstance(w, FoundFile)]  # type: ignore[arg-type]


def put(root: Path, *files: str) -> None:
    for name in files:
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")


def test_the_order_is_that_of_the_names_and_stable(tmp_path: Path) -> None:
    put(tmp_path, "b.pdf", "a/z.pdf", "a/Z.pdf", "B.pdf", "a.pdf", "ü.pdf")
    assert names(tmp_path) == ["B.pdf", "a/Z.pdf", "a/z.pdf", "a.pdf", "b.pdf", "ü.pdf"]
    assert names(tmp_path) == names(tmp_path)


def test_size_time_and_neighbours_are_told(tmp_path: Path) -> None:
    put(tmp_path, "fox.SVG", "fox.png")
    os.utime(tmp_path / "fox.png", ns=(5, 7_000_000_001))
    found = [w for w in walk([tmp_path]) if isinstance(w, FoundFile)]
    assert (found[1].n_bytes, found[1].mtime_ns, found[1].beside) == (1, 7_000_000_001, {"fox.svg", "fox.png"})


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights on Windows")
def test_links_inside_folders_are_passed_by_and_named_ones_followed(tmp_path: Path) -> None:
    put(tmp_path, "real/a.pdf")
    (tmp_path / "real" / "loop").symlink_to(tmp_path)
    (tmp_path / "real" / "alias.pdf").symlink_to("a.pdf")
    (tmp_path / "named").symlink_to("real")
    walked = list(walk([tmp_path / "named", tmp_path / "real" / "alias.pdf"]))
    assert [w.path.name for w in walked if isinstance(w, FoundFile)] == ["a.pdf", "alias.pdf"]
    assert [(w.path.name, w.reason) for w in walked if isinstance(w, PassedBy)] == [
        ("alias.pdf", LINKS),
        ("loop", LINKS),
    ]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_pipes_and_sockets_are_passed_by_unopened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    os.chdir(tmp_path)  # a socket's path must be short
    with socket.socket(socket.AF_UNIX) as made:
        made.bind("sock")
        walked = list(walk([tmp_path]))
    assert [(w.path.name, w.reason) for w in walked if isinstance(w, PassedBy)] == [
        ("pipe", SPECIAL),
        ("sock", SPECIAL),
    ]
    (problem,) = walk([tmp_path / "pipe"])
    assert isinstance(problem, Problem)
    (problem,) = walk([Path("/dev/null")])
    assert isinstance(problem, Problem)
    assert problem.source == "/dev/null"


# Browsers' names from the published sources and from practice (check values, Downloads).
def test_downloads_that_are_not_finished_are_passed_by(tmp_path: Path) -> None:
    put(
        tmp_path,
        "Unconfirmed 17511.crdownload",
        "x.pdf.crdownload",
        "y.pdf.part",
        "z.pdf.download/z.pdf",
        "a.opdownload",
        "b.partial",
        "c.tmp",
        "done.pdf",
        "w.pdf",
        "w.pdf.part",
    )
    (tmp_path / "y.pdf").write_bytes(b"")
    assert names(tmp_path) == ["done.pdf", "w.pdf"]
    reasons = {w.reason for w in walk([tmp_path]) if isinstance(w, PassedBy)}
    assert reasons == {UNFINISHED}
    (named,) = walk([tmp_path / "c.tmp"])
    assert isinstance(named, FoundFile)


def test_a_maildir_is_walked_without_what_is_being_delivered(tmp_path: Path) -> None:
    put(tmp_path, "cur/1.M1:2,S" if os.name != "nt" else "cur/1", "new/2", "tmp/3", ".Archive/cur/4", ".Archive/new/5")
    (tmp_path / ".Archive" / "tmp").mkdir()
    assert [Path(n).name[0] for n in names(tmp_path)] == ["4", "5", "1", "2"]


def test_what_systems_leave_is_not_mentioned(tmp_path: Path) -> None:
    put(tmp_path, ".DS_Store", "Thumbs.db", "desktop.ini", "._skirt.pdf")
    assert list(walk([tmp_path])) == []


def test_the_vault_itself_is_not_walked(tmp_path: Path) -> None:
    put(tmp_path, "vault/objects/aa/x", "a.pdf")
    assert names(tmp_path, own=tmp_path / "vault") == ["a.pdf"]
    assert [w.reason for w in walk([tmp_path], own=tmp_path / "vault") if isinstance(w, PassedBy)] == [VAULT]


def test_another_vault_is_not_walked(tmp_path: Path) -> None:
    put(tmp_path, "old/catalogue.sqlite", "old/objects/aa/x", "a.pdf")
    assert names(tmp_path) == ["a.pdf"]


@pytest.mark.parametrize(
    ("attribute", "value", "elsewhere"),
    [
        ("st_file_attributes", 0x400000, True),
        ("st_file_attributes", 0x1000 | 0x20, True),
        ("st_file_attributes", 0x20, False),
        ("st_flags", 0x40000000, True),
        ("st_flags", 0x8000, False),
    ],
)
def test_placeholders_of_cloud_drives_are_told_by_their_marks(attribute: str, value: int, elsewhere: bool) -> None:
    assert is_elsewhere(SimpleNamespace(**{attribute: value})) is elsewhere  # type: ignore[arg-type]


@pytest.mark.skipif(sys.platform != "linux", reason="names that are no text need a file system that takes them")
def test_names_that_are_no_text_are_found(tmp_path: Path) -> None:
    raw = os.fsencode(tmp_path) + b"/Kleid M\xf6hrchen.pdf"
    with open(raw, "wb") as handle:  # noqa: PTH123
        handle.write(b"x")
    (found,) = walk([tmp_path])
    assert isinstance(found, FoundFile)
    assert os.fsencode(found.path) == raw


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="the superuser may read anything")
def test_a_folder_that_may_not_be_read_costs_only_itself(tmp_path: Path) -> None:
    put(tmp_path, "closed/a.pdf", "open/b.pdf")
    (tmp_path / "closed").chmod(0)
    try:
        walked = list(walk([tmp_path]))
    finally:
        (tmp_path / "closed").chmod(0o700)
    assert [w.reason for w in walked if isinstance(w, Problem)] == ["it may not be read"]
    assert [w.path.name for w in walked if isinstance(w, FoundFile)] == ["b.pdf"]


@pytest.mark.parametrize("path", ["no/such/file", "x\0y", "a" * 5000])
def test_a_path_that_does_not_exist_is_one_problem(tmp_path: Path, path: str) -> None:
    (problem,) = walk([tmp_path / path])
    assert isinstance(problem, Problem)
    assert problem.reason
    assert problem.next


def test_a_deep_tree_needs_no_deep_stack(tmp_path: Path) -> None:
    here = tmp_path
    for _ in range(300):
        here = here / "d"
        here.mkdir()
    put(here, "a.pdf")
    assert [Path(n).name for n in names(tmp_path)] == ["a.pdf"]
