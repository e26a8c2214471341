"""Zips are opened within bounds, and nothing is written under a name of theirs."""

from __future__ import annotations

import io
import itertools
import struct
import zipfile
import zlib
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stand_ins import readers

from vault.errors import UnreadableError
from vault.intake.ingest import ingest
from vault.intake.zips import Budget, Member, OpenedZip, Refused, ZipLimits, real_name
from vault.safekeeping.folder import VaultFolder

SMALL = ZipLimits(total_bytes=3 << 20, entries=20, depth=2, ratio=50, ratio_floor=1 << 20)


def opened(folder: Path, raw: bytes, limits: ZipLimits = SMALL) -> list[Member | Refused]:
    path = folder / "a.zip"
    path.write_bytes(raw)
    place = folder / "out"
    place.mkdir(exist_ok=True)
    numbers = itertools.count()
    with OpenedZip(path, Budget.of(limits)) as made:
        found = list(made.members(lambda: place / f"{next(numbers)}"))
    left = sorted(p.name for p in place.iterdir())
    assert left == sorted(m.path.name for m in found if isinstance(m, Member)), "only whole members leave a file"
    assert {p.name for p in folder.iterdir()} <= {"a.zip", "out"}
    return found


def zipped(*members: tuple[str, bytes], how: int = zipfile.ZIP_DEFLATED) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", how) as made:
        for name, content in members:
            made.writestr(name, content)
    return buffer.getvalue()


def test_members_come_out_as_they_went_in(tmp_path: Path) -> None:
    members = [("A4.pdf", b"%PDF-1.4 tiles"), ("sub/A0.pdf", b"x" * 300_000)]
    found = opened(tmp_path, zipped(*members))
    assert [(m.name, m.path.read_bytes(), m.n_bytes) for m in found if isinstance(m, Member)] == [
        (name, content, len(content)) for name, content in members
    ]


# Check values, Archive: what CPython makes of these names when it unpacks; here they are labels only.
def test_names_that_point_outside_stay_labels(tmp_path: Path) -> None:
    raw = zipped(("../evil.txt", b"1"), ("/abs.txt", b"2"), ("a/../../x.txt", b"3"), ("C:\\Windows\\x.txt", b"4"))
    found = opened(tmp_path, raw)
    assert [m.name for m in found if isinstance(m, Member)] == ["evil.txt", "abs.txt", "a/x.txt", "Windows/x.txt"]


def test_folders_links_and_noise_are_left_out(tmp_path: Path) -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as made:
        made.writestr("folder/", b"")
        made.writestr("__MACOSX/._A4.pdf", b"x")
        made.writestr("folder/.DS_Store", b"x")
        link = zipfile.ZipInfo("link.pdf")
        link.create_system, link.external_attr = 3, 0o120777 << 16
        made.writestr(link, "/etc/passwd")
        made.writestr("A4.pdf", b"x")
    assert [m.name for m in opened(tmp_path, buffer.getvalue()) if isinstance(m, Member)] == ["A4.pdf"]


# Check values: plain zeros pack about 1017 to 1; a floor keeps blank pages innocent.
@pytest.mark.parametrize(("n_bytes", "good"), [(1 << 20, True), ((1 << 20) + (256 << 10), False)])
def test_a_member_that_swells_is_refused_beyond_the_floor(tmp_path: Path, n_bytes: int, good: bool) -> None:
    raw = zipped(("blank.bmp", bytes(n_bytes)), ("A4.pdf", b"x"))
    first, second = opened(tmp_path, raw)
    assert isinstance(first, Member) is good
    if isinstance(first, Refused):
        assert "zip bomb" in first.reason
        assert first.next
    assert isinstance(second, Member), "the other members are read all the same"


def test_the_total_is_counted_over_all_members_and_ends_the_zip(tmp_path: Path) -> None:
    noise = [(f"{n}.bin", zlib.compress(bytes([n]) * 9_000_000, 0)[: 1 << 20]) for n in range(5)]
    found = opened(tmp_path, zipped(*noise, how=zipfile.ZIP_STORED))
    assert [type(m).__name__ for m in found] == ["Member", "Member", "Member", "Refused"]
    assert isinstance(found[-1], Refused)
    assert "more than 3 MB" in found[-1].reason
    assert sum(m.n_bytes for m in found if isinstance(m, Member)) <= SMALL.total_bytes


def test_sizes_that_lie_are_not_believed(tmp_path: Path) -> None:
    raw = bytearray(zipped(("a.bin", bytes(3 << 20))))
    for signature, offset in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        at = raw.index(signature)
        raw[at + offset : at + offset + 4] = struct.pack("<I", 10)
    (only,) = opened(tmp_path, bytes(raw))
    assert isinstance(only, Refused) or only.n_bytes <= 10


def test_too_many_entries_are_refused_before_anything_is_unpacked(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError) as caught:
        opened(tmp_path, zipped(*((f"{n}.txt", b"") for n in range(21))))
    assert caught.value.code == "zip-entries"


def overlapping() -> bytes:
    """Two directory entries for one local file, as in the bombs that reach 281 TB (check values, trap 9)."""
    with zipfile.ZipFile(buffer := io.BytesIO(), "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("a.txt", bytes(100_000))
        made.writestr("b.txt", b"y")
        made.filelist[1].header_offset = made.filelist[0].header_offset
        made.filelist[1].CRC, made.filelist[1].file_size = made.filelist[0].CRC, made.filelist[0].file_size
        made.filelist[1].compress_size = made.filelist[0].compress_size
    return buffer.getvalue()


def quoted() -> bytes:
    """An entry whose bytes reach into the next local header (the other kind of overlap)."""
    raw = bytearray(zipped(("a.txt", b"1" * 50), ("b.txt", b"2" * 50), how=zipfile.ZIP_STORED))
    first = raw.index(b"PK\x01\x02")
    for offset in (20, 24):
        raw[first + offset : first + offset + 4] = struct.pack("<I", 120)
    return bytes(raw)


@pytest.mark.parametrize("make", [overlapping, quoted])
def test_overlapping_entries_are_refused_whole(tmp_path: Path, make: object) -> None:
    with pytest.raises(UnreadableError) as caught:
        opened(tmp_path, make())  # type: ignore[operator]
    assert caught.value.code == "zip-overlap"


def test_locked_members_are_said(tmp_path: Path) -> None:
    raw = bytearray(zipped(("secret.pdf", b"x"), ("open.pdf", b"y")))
    raw[raw.index(b"PK\x03\x04") + 6] |= 1
    raw[raw.index(b"PK\x01\x02") + 8] |= 1
    locked, free = opened(tmp_path, bytes(raw))
    assert isinstance(locked, Refused)
    assert (locked.name, locked.code) == ("secret.pdf", "locked")
    assert isinstance(free, Member)


def test_a_damaged_member_costs_only_itself(tmp_path: Path) -> None:
    raw = bytearray(zipped(("a.txt", b"1" * 50), ("b.txt", b"2" * 50), how=zipfile.ZIP_STORED))
    raw[raw.index(b"1" * 50)] ^= 0xFF
    damaged, whole = opened(tmp_path, bytes(raw))
    assert isinstance(damaged, Refused)
    assert "damaged" in damaged.reason
    assert isinstance(whole, Member)


@pytest.mark.parametrize("how", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_unusual_packing_is_said(tmp_path: Path, how: int) -> None:
    (only,) = opened(tmp_path, zipped(("a.txt", b"1" * 50), how=how))
    assert isinstance(only, Refused)
    assert "unusual" in only.reason


@pytest.mark.parametrize("cut", [0.3, 0.6, 0.95])
def test_a_cut_off_zip_is_one_clear_error(tmp_path: Path, cut: float) -> None:
    raw = zipped(("A4.pdf", bytes(range(256)) * 40), ("A0.pdf", b"x" * 999))
    with pytest.raises(UnreadableError) as caught:
        opened(tmp_path, raw[: int(len(raw) * cut)])
    assert caught.value.code == "zip-damaged"
    assert caught.value.next_step


def test_a_directory_that_claims_to_be_huge_is_not_read(tmp_path: Path) -> None:
    raw = bytearray(zipped(("a.txt", b"1")))
    at = raw.rindex(b"PK\x05\x06")
    raw[at + 12 : at + 16] = struct.pack("<I", 1 << 30)
    with pytest.raises(UnreadableError):
        opened(tmp_path, bytes(raw))


def entry(name: bytes, *, flag: int = 0, extra: bytes = b"") -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name.decode("utf-8" if flag & 0x800 else "cp437"))
    info.orig_filename = info.filename
    info.flag_bits, info.extra = flag, extra
    return info


def unicode_path(name: str, header: bytes) -> bytes:
    data = b"\x01" + struct.pack("<I", zlib.crc32(header)) + name.encode()
    return struct.pack("<HH", 0x7075, len(data)) + data


@pytest.mark.parametrize(
    ("info", "name"),
    [
        # The name of CPython's own test file zip_cp437_header.zip (check values, Archive).
        (entry("filename_with_æ.txt".encode("cp437")), "filename_with_æ.txt"),
        (entry("Möhre.pdf".encode("cp437")), "Möhre.pdf"),
        (entry("Möhre.pdf".encode(), flag=0x800), "Möhre.pdf"),
        (entry("Möhre.pdf".encode()), "Möhre.pdf"),  # UTF-8 without the flag
        (entry("図.pdf".encode()), "図.pdf"),
        (entry(b"M_hre.pdf", extra=unicode_path("Möhre.pdf", b"M_hre.pdf")), "Möhre.pdf"),
        (entry(b"M_hre.pdf", extra=unicode_path("evil.pdf", b"other")), "M_hre.pdf"),
        (entry(b"plain.pdf", extra=b"\x75\x70\xff\xff"), "plain.pdf"),
    ],
)
def test_names_are_read_as_they_were_meant(info: zipfile.ZipInfo, name: str) -> None:
    assert real_name(info) == name


@settings(deadline=None, max_examples=60)
@given(data=st.data())
def test_a_zip_with_broken_bytes_ends_in_members_or_one_error(data: st.DataObject, tmp_path_factory: object) -> None:
    raw = bytearray(zipped(("A4.pdf", b"%PDF tiles " * 30), ("sub/A0.pdf", b"x" * 500)))
    for _ in range(data.draw(st.integers(1, 6))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    folder = tmp_path_factory.mktemp("zip")  # type: ignore[attr-defined]
    try:
        found = opened(folder, bytes(raw))
    except UnreadableError as error:
        assert error.message
    else:
        assert all(isinstance(m, Member | Refused) for m in found)


def test_of_many_zips_inside_each_other_only_some_are_opened(tmp_path: Path) -> None:
    """Eight zips in each of eight zips: small, not deep, and more with every level."""
    inner = zipped(("A4.pdf", b"PATTERN"))
    for level in range(2):
        inner = zipped(*((f"{level}-{n}.zip", inner + bytes([n])) for n in range(8)))
    source = tmp_path / "in" / "bomb.zip"
    source.parent.mkdir()
    source.write_bytes(inner)
    folder = VaultFolder(tmp_path / "vault")
    folder.create()
    summary = ingest(folder, [source], day=date(2026, 3, 1), readers=readers(), limits=ZipLimits(zips=10))
    told = [p for p in summary.problems if "more than 10 zips" in p.reason]
    assert 0 < len(told) < 72
    assert all(p.next for p in told)
