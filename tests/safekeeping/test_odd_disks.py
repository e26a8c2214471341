"""Real file systems that know no links or no case: FAT, NTFS, case-insensitive ext4, where the machine can mount them.

Elsewhere these tests say why they are skipped; what such disks answer is imitated in the other tests.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from faulty_disk import tree
from sample_vaults import PASSPHRASE, add_objects, back_up, contents, make_vault, same_vaults

from vault.errors import BackupError
from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.disk import Disk
from vault.safekeeping.fixity import verify
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.inspecting import inspect_backup
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.rehearse import rehearse
from vault.safekeeping.restore import restore
from vault.safekeeping.shelf import ShelfEntry, rebuild_shelf
from vault.safekeeping.thinning import parse_keep, thin

_MB = 1 << 20


def _run(*command: str | Path) -> bool:
    try:
        return subprocess.run([str(c) for c in command], capture_output=True, timeout=30).returncode == 0
    except (OSError, subprocess.TimeoutExpired):
        return False


def _image(path: Path, size: int) -> Path:
    with path.open("wb") as handle:
        handle.truncate(size)
    return path


@contextlib.contextmanager
def _mounted(how: list[list[str | Path]], at: Path) -> Iterator[bool]:
    """Whether one of the ways worked; unmounted afterwards."""
    at.mkdir()
    done = any(_run(*way) and os.path.ismount(at) for way in how)
    try:
        yield done
    finally:
        for command in (["umount", at], ["fusermount", "-u", at], ["umount", "-l", at]):
            if not os.path.ismount(at):
                break
            _run(*command)
            time.sleep(0.05)


@pytest.fixture(params=["fat", "ntfs", "casefold"])
def odd(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Path]:
    """A folder on such a file system."""
    at = tmp_path / "odd"
    if request.param == "fat":
        image = _image(tmp_path / "fat.img", 40 * _MB)
        made = shutil.which("mkfs.vfat") and _run("mkfs.vfat", image)
        ways: list[list[str | Path]] = [
            ["mount", "-t", "vfat", "-o", "loop,utf8=1", image, at],
            ["fusefat", "-o", "rw+", image, at],
        ]
    elif request.param == "ntfs":  # as Windows has it: links, no case; this driver gives all names in small letters
        image = _image(tmp_path / "ntfs.img", 40 * _MB)
        made = shutil.which("mkntfs") and _run("mkntfs", "-F", "-q", "-f", image)
        ways = [["lowntfs-3g", "-o", "ignore_case,windows_names", image, at]]
    else:
        image = _image(tmp_path / "ext4.img", 40 * _MB)
        made = shutil.which("mkfs.ext4") and _run("mkfs.ext4", "-q", "-O", "casefold", "-E", "encoding=utf8", image)
        ways = [["mount", "-t", "ext4", "-o", "loop", image, at]]
    with _mounted(ways if made else [], at) as done:
        if not done:
            pytest.skip(f"this machine cannot mount {request.param} (root, mkfs and the file system are needed)")
        folder = at / "folder"
        folder.mkdir()
        if request.param == "casefold" and not _run("chattr", "+F", folder):
            pytest.skip("this system has no folders without case")
        (folder / "Case").write_bytes(b"x")
        assert (folder / "cASE").exists(), "it is what it should be"
        (folder / "Case").unlink()
        yield folder


def test_a_vault_lives_there_and_is_backed_up_from_there(odd: Path, tmp_path: Path) -> None:
    folder = make_vault(odd / "vault", n=8)
    assert verify(folder).ok
    assert back_up(folder, tmp_path / "stick").ok
    assert restore(FolderDestination(tmp_path / "stick"), tmp_path / "back", passphrase=PASSPHRASE).ok
    assert same_vaults(folder, VaultFolder(tmp_path / "back"))


@pytest.mark.parametrize("plain", [False, True])
def test_a_backup_lies_there(odd: Path, tmp_path: Path, plain: bool) -> None:
    folder = make_vault(tmp_path / "vault", n=8)
    stick = FolderDestination(odd / "stick")
    assert back_up(folder, stick, plain=plain).ok
    add_objects(folder, contents(3, seed=5)[2:])
    second = back_up(folder, stick, day=1, plain=plain, passphrase=None)
    assert second.ok and second.new_objects == 1
    assert inspect_backup(stick, passphrase=None if plain else PASSPHRASE).ok
    assert rehearse(stick, passphrase=PASSPHRASE, scratch=tmp_path).ok
    assert restore(stick, tmp_path / "back", passphrase=PASSPHRASE).ok
    assert same_vaults(folder, VaultFolder(tmp_path / "back"))
    assert len(thin(folder, stick, parse_keep("1d"), passphrase=PASSPHRASE).removed) == 1
    assert rehearse(stick, passphrase=PASSPHRASE, scratch=tmp_path).ok
    assert not list((odd / "stick").rglob("*.part")) and not (odd / "stick" / "in-use.json").exists()


def _keeps_what_is_in_a_renamed_folder(at: Path) -> bool:
    (at / "before").mkdir()
    (at / "before" / "x").write_bytes(b"x")
    (at / "before").rename(at / "after")
    return (at / "after" / "x").exists()


def test_a_vault_is_restored_onto_it(odd: Path, tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault", n=8)
    back_up(folder, tmp_path / "stick")
    if not _keeps_what_is_in_a_renamed_folder(odd):
        with pytest.raises(BackupError, match="the disk lost what was restored"):
            restore(FolderDestination(tmp_path / "stick"), odd / "new", passphrase=PASSPHRASE)
        pytest.skip("this driver loses what is in a folder that is renamed, which is told")
    assert restore(FolderDestination(tmp_path / "stick"), odd / "new", passphrase=PASSPHRASE).ok
    new = VaultFolder(odd / "new")
    assert same_vaults(folder, new)
    assert back_up(new, tmp_path / "stick", day=1, passphrase=None).new_objects == 0


def test_names_that_differ_in_case_only_stand_side_by_side(odd: Path) -> None:
    folder = VaultFolder(odd / "vault")
    folder.create()
    store = ObjectStore(folder)
    names = ["Cloak.pdf", "CLOAK.pdf", "cloak.PDF", "Rocke.pdf", "ROCKE.pdf", "A0 (2).pdf"]
    with contextlib.suppress(OSError):  # some drivers take no letters beyond ASCII at all
        (odd / "Größe").write_bytes(b"")
        names[3:] = ["Röcke.pdf", "RÖCKE.pdf", "Größe 38.pdf"]
    entries = [
        ShelfEntry(sha256=store.keep(name.encode()), name=name, designer=maker, title="T")
        for name, maker in zip(names, ["Lark", "LARK", "lark", "Lark", "Lark", "Lark"])
    ]
    first = rebuild_shelf(folder, entries)
    assert first.names == len(names)
    held = sorted(p.read_bytes() for p in folder.shelf_path.rglob("*") if p.is_file())
    assert held == sorted(n.encode() for n in names), "none took the place of another"
    again = rebuild_shelf(folder, entries)
    assert (again.added, again.removed) == (0, 0)


# ---- imitated: what FAT says to a file of 4 GiB ------------------------------------------------------------------


class Fat(Disk):
    """Takes no file longer than `limit` bytes."""

    def __init__(self, limit: int) -> None:
        self.limit = limit

    def write_some(self, handle: object, data: memoryview) -> int:
        if handle.tell() + len(data) > self.limit:  # type: ignore[attr-defined]
            raise OSError(errno.EFBIG, os.strerror(errno.EFBIG))
        return super().write_some(handle, data)  # type: ignore[arg-type]


def test_a_file_that_fat_does_not_take_is_named_and_the_rest_is_safe(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault", n=8)
    store = ObjectStore(folder)
    large = max(store.digests(), key=store.size_of)
    stick = FolderDestination(tmp_path / "stick", disk=Fat(store.size_of(large) - 10))
    report = back_up(folder, stick)
    assert [d.sha256 for d in report.damaged] == [large] and "FAT" in report.damaged[0].reason
    assert not report.ok and report.objects == 7
    back = restore(FolderDestination(tmp_path / "stick"), tmp_path / "back", passphrase=PASSPHRASE)
    assert back.ok and set(ObjectStore(VaultFolder(back.target)).digests()) == set(store.digests()) - {large}
    assert back_up(folder, tmp_path / "stick", day=1, passphrase=None).ok, "another disk takes it"


@pytest.mark.parametrize(
    "number, words", [(errno.EFBIG, "FAT"), (errno.ENAMETOOLONG, "shorter path"), (errno.EROFS, "write protection")]
)
def test_what_a_disk_refuses_is_said_with_what_to_do(tmp_path: Path, number: int, words: str) -> None:
    from vault.safekeeping.disk import trouble

    told = trouble(OSError(number, os.strerror(number)), "the stick cannot be written")
    assert words in f"{told.message} {told.next_step}"
    assert not tree(tmp_path)
