"""The shelf: names legal everywhere, stable, rebuildable, never at the cost of anybody's file."""

from __future__ import annotations

import errno
import unicodedata
from pathlib import Path

import pytest
from faulty_disk import FaultyDisk, tree
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.errors import StoreError
from vault.safekeeping.disk import Disk
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.names import folded, legal_file_name, legal_name, numbered
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.shelf import ShelfEntry, is_place, place_of, places, rebuild_shelf

# Names that one system or another refuses or changes -> what stands on the shelf.  Rules: Microsoft, "Naming Files,
# Paths, and Namespaces"; POSIX; Apple on HFS+ and APFS (case and Unicode spelling).
NAMES = [
    ("Skirt.pdf", "Skirt.pdf"),
    ("  Skirt.pdf ", "Skirt.pdf"),
    ("a/b\\c.pdf", "a-b-c.pdf"),
    ('What "now"?.pdf', "What 'now'.pdf"),
    ("A<B>C|D:E*F.pdf", "A(B)C-D-E_F.pdf"),
    ("CON", "_CON"),
    ("con.pdf", "_con.pdf"),
    ("Lpt1.tar.gz", "_Lpt1.tar.gz"),
    ("COM¹.pdf", "_COM¹.pdf"),
    ("CONIN$", "_CONIN$"),
    ("CON .pdf", "_CON.pdf"),
    ("nul.", "_nul"),
    ("COM10.pdf", "COM10.pdf"),
    ("CONTACT.pdf", "CONTACT.pdf"),
    ("trailing dots...", "trailing dots"),
    ("trailing blank. . ", "trailing blank"),
    (".hidden.pdf", "hidden.pdf"),
    ("..", "file"),
    (".", "file"),
    ("", "file"),
    ("///", "---"),
    ("?", "file"),
    ("tab\tand\nline.pdf", "tab and line.pdf"),
    ("bell\x07.pdf", "bell.pdf"),
    ("nul\x00byte.pdf", "nulbyte.pdf"),
    ("evil\u202efdp.exe", "evilfdp.exe"),
    ("zero\u200bwidth.pdf", "zerowidth.pdf"),
    ("bad\udcffbyte.pdf", "badbyte.pdf"),
    ("Gro\u0308\u00dfe.pdf", "Gr\u00f6\u00dfe.pdf"),
    ("型紙.pdf", "型紙.pdf"),
    ("-rf.pdf", "-rf.pdf"),
    ("x" * 300 + ".pdf", "x" * 76 + ".pdf"),
    ("型" * 300 + ".pdf", "型" * 50 + ".pdf"),
    ("no ending " * 30, ("no ending " * 30)[:80].strip()),
]


@pytest.mark.parametrize("given_name, shown", NAMES)
def test_names_are_legal_on_all_systems(given_name: str, shown: str) -> None:
    assert legal_file_name(given_name, fallback="file", max_chars=80) == shown


_DEVICES = {"con", "prn", "aux", "nul", "conin$", "conout$"}
_DEVICES |= {f"{device}{number}" for device in ("com", "lpt") for number in "0123456789¹²³"}


@settings(deadline=None, max_examples=300)
@given(st.text(max_size=400))
def test_any_text_gives_a_legal_name(text: str) -> None:
    name = legal_file_name(text, fallback="file", max_chars=80)
    assert name and len(name) <= 80 and len(name.encode("utf-8")) <= 255
    assert not set(name) & set('<>:"/\\|?*') and not any(unicodedata.category(c) in ("Cc", "Cf", "Cs") for c in name)
    assert name == name.strip() and not name.startswith(".") and not name.endswith(".")
    assert name.split(".")[0].rstrip().lower() not in _DEVICES
    assert unicodedata.is_normalized("NFC", name)
    assert legal_file_name(name, fallback="file", max_chars=80) == name


@pytest.mark.parametrize("character", ["a", ".", " ", "\u0301"])
def test_long_names_cost_little(character: str) -> None:
    assert len(legal_name(character * 1_000_000, fallback="file", max_chars=60)) <= 60


def test_numbers_stand_before_the_ending() -> None:
    assert [numbered("a.pdf", n) for n in (1, 2)] == ["a.pdf", "a (2).pdf"]
    assert numbered("archive", 3) == "archive (3)"
    assert folded("GRÖSSE") == folded("Gro\u0308ße".lower()) or folded("STRASSE") == folded("straße")


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    folder = VaultFolder(tmp_path / "vault")
    folder.create()
    return folder


def entry(
    folder: VaultFolder, content: bytes, name: str, designer: str | None = "Lark", title: str | None = "Skirt"
) -> ShelfEntry:
    return ShelfEntry(sha256=ObjectStore(folder).keep(content), name=name, designer=designer, title=title)


def test_files_stand_under_designer_and_title(folder: VaultFolder) -> None:
    one = entry(folder, b"1", "A4.pdf", "Lark & Thimble", "Cloak: the long one")
    two = entry(folder, b"2", "x.pdf", None, None)
    report = rebuild_shelf(folder, [one, two])
    assert tree(folder.shelf_path) == {
        "Lark & Thimble/Cloak- the long one/A4.pdf": b"1",
        "Unknown designer/Untitled/x.pdf": b"2",
    }
    assert (report.names, report.added, report.copied, report.removed) == (2, 2, 0, 0)
    assert place_of(folder, one.sha256) == folder.shelf_path / "Lark & Thimble" / "Cloak- the long one" / "A4.pdf"
    assert place_of(folder, "ab" * 32) is None


def test_they_are_hard_links_and_the_objects_stay_untouched(folder: VaultFolder) -> None:
    one = entry(folder, b"1", "A4.pdf")
    path = ObjectStore(folder).path_of(one.sha256)
    before = path.stat()
    rebuild_shelf(folder, [one])
    assert path.stat().st_ino == (folder.shelf_path / "Lark/Skirt/A4.pdf").stat().st_ino
    assert (before.st_mtime_ns, before.st_mode) == (path.stat().st_mtime_ns, path.stat().st_mode)


class LinklessDisk(Disk):
    """A file system without hard links, as on sticks."""

    def link(self, source: Path, target: Path) -> None:
        raise OSError(errno.EPERM, "no links here")


def test_without_links_copies_stand_there_and_are_recognised(tmp_path: Path) -> None:
    folder = VaultFolder(tmp_path / "vault", disk=LinklessDisk())
    entries = [entry(folder, b"%d" % n, f"{n}.pdf") for n in range(4)]
    assert rebuild_shelf(folder, entries).copied == 4
    again = rebuild_shelf(folder, entries)
    assert (again.added, again.copied, again.removed) == (0, 0, 0)
    assert rebuild_shelf(folder, entries[:1]).removed == 3
    assert set(tree(folder.shelf_path)) == {"Lark/Skirt/0.pdf"}


def test_names_that_are_one_name_on_some_systems_get_numbers(folder: VaultFolder) -> None:
    spelled = ["A4.pdf", "a4.PDF", "Größe.pdf", "Gro\u0308ße.pdf", "A4 (2).pdf"]
    entries = [entry(folder, b"%d" % n, name) for n, name in enumerate(spelled)]
    entries.append(entry(folder, b"x", "A4.pdf", "LARK", "SKIRT"))
    rebuild_shelf(folder, entries)
    names = list(tree(folder.shelf_path))
    assert len(names) == 6 and len({folded(name) for name in names}) == 6
    assert len({name.rpartition("/")[0] for name in names}) == 1, "LARK and Lark are one folder"


def test_names_stay_when_other_files_come_and_go(folder: VaultFolder) -> None:
    entries = [entry(folder, b"%d" % n, "download.pdf") for n in range(6)]
    rebuild_shelf(folder, entries[2:5])
    first = places(folder)
    rebuild_shelf(folder, entries)
    assert {d: p for d, p in places(folder).items() if d in first} == first
    rebuild_shelf(folder, entries[3:])
    now = places(folder)
    assert all(now[d] == p for d, p in first.items() if d in now)
    assert len(now) == 3


def test_a_better_title_moves_the_file(folder: VaultFolder) -> None:
    one = entry(folder, b"1", "A4.pdf", None, None)
    rebuild_shelf(folder, [one])
    better = ShelfEntry(sha256=one.sha256, name="A4.pdf", designer="Lark", title="Skirt")
    rebuild_shelf(folder, [better])
    assert set(tree(folder.shelf_path)) == {"Lark/Skirt/A4.pdf"}
    assert not (folder.shelf_path / "Unknown designer").exists(), "empty folders go too"


@pytest.mark.parametrize("mishap", ["shelf", "index", "both", "one-name", "garbage-index"])
def test_it_can_be_rebuilt_after_any_mishap(folder: VaultFolder, mishap: str) -> None:
    import shutil

    entries = [entry(folder, b"%d" % n, "download.pdf", title=f"T{n % 2}") for n in range(6)]
    rebuild_shelf(folder, entries)
    before = tree(folder.shelf_path)
    if mishap in ("shelf", "both"):
        shutil.rmtree(folder.shelf_path)
    if mishap in ("index", "both"):
        folder.shelf_index_path.unlink()
    if mishap == "one-name":
        (folder.shelf_path / next(iter(before))).unlink()
    if mishap == "garbage-index":
        folder.shelf_index_path.write_bytes(b"\xff\n" + b"x" * 9999 + b"\n" + b"ab" * 32 + b"\t../../evil\n")
    rebuild_shelf(folder, entries)
    assert set(tree(folder.shelf_path).values()) == set(before.values())
    assert set(tree(folder.shelf_path)) == set(before)


def test_a_persons_own_files_are_never_touched(folder: VaultFolder) -> None:
    one, two = entry(folder, b"1", "A4.pdf"), entry(folder, b"2", "A0.pdf")
    rebuild_shelf(folder, [one])
    home = folder.shelf_path / "Lark" / "Skirt"
    (home / "notes.txt").write_bytes(b"mine")
    (home / "A0.pdf").write_bytes(b"my own A0")
    (home / "A4.pdf").unlink()
    (home / "A4.pdf").write_bytes(b"my own A4")
    rebuild_shelf(folder, [one, two])
    files = tree(folder.shelf_path)
    assert {b"mine", b"my own A0", b"my own A4", b"1", b"2"} == set(files.values())
    rebuild_shelf(folder, [])
    assert set(tree(folder.shelf_path).values()) == {b"mine", b"my own A0", b"my own A4"}


def test_the_last_name_of_a_lost_object_is_kept(folder: VaultFolder) -> None:
    one = entry(folder, b"1", "A4.pdf")
    rebuild_shelf(folder, [one])
    ObjectStore(folder).path_of(one.sha256).unlink()
    report = rebuild_shelf(folder, [one])
    assert report.gone == (one.sha256,)
    assert tree(folder.shelf_path) == {"Lark/Skirt/A4.pdf": b"1"}


def test_one_file_under_two_entries_stands_once(folder: VaultFolder) -> None:
    one = entry(folder, b"1", "b.pdf")
    rebuild_shelf(folder, [one, ShelfEntry(sha256=one.sha256, name="a.pdf", designer="Lark", title="Skirt")])
    assert set(tree(folder.shelf_path)) == {"Lark/Skirt/a.pdf"}


def test_a_fault_at_any_step_is_mended_by_the_next_run(tmp_path: Path) -> None:
    def prepare(root: Path, disk: Disk | None = None) -> tuple[VaultFolder, list[ShelfEntry]]:
        plain = VaultFolder(root)
        entries = [entry(plain, b"%d" % n, "download.pdf", title=f"T{n}") for n in range(3)]
        rebuild_shelf(plain, entries[:2])
        return VaultFolder(root, disk=disk) if disk else plain, entries[1:]

    count = FaultyDisk()
    rebuild_shelf(*prepare(tmp_path / "count", count))
    expected = tree(tmp_path / "count" / "shelf")
    for step in range(1, count.steps + 1):
        broken, entries = prepare(tmp_path / str(step), FaultyDisk(step, number=errno.EIO))
        with pytest.raises(StoreError):
            rebuild_shelf(broken, entries)
        rebuild_shelf(VaultFolder(broken.root), entries)
        assert tree(broken.shelf_path) == expected


@pytest.mark.parametrize("place", ["a/b/c.pdf", "Lark & Thimble/Cloak- long/A4 (2).pdf"])
def test_places(place: str) -> None:
    assert is_place(place)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(st.text(max_size=20), st.text(max_size=20), st.text(max_size=20)), max_size=6))
def test_any_names_give_distinct_legal_places(
    tmp_path_factory: pytest.TempPathFactory, names: list[tuple[str, str, str]]
) -> None:
    folder = VaultFolder(tmp_path_factory.mktemp("v") / "vault")
    entries = [entry(folder, b"%d" % n, *name) for n, name in enumerate(names)]
    rebuild_shelf(folder, entries)
    known = places(folder)
    assert len(known) == len(names) == len({folded(place) for place in known.values()})
    assert all(is_place(place) for place in known.values())
    assert len(tree(folder.shelf_path) if folder.shelf_path.exists() else {}) == len(names)
