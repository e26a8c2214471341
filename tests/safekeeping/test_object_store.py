"""The content store: bytes once, under their digest, whole or not at all."""

from __future__ import annotations

import errno
import hashlib
import io
import os
from pathlib import Path

import pytest
from faulty_disk import FaultyDisk, tree
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.errors import StoreError, UnreadableError
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore, is_digest

# FIPS 180-4, as published with the standard's examples.
FIPS = [
    (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
]


@pytest.fixture
def store(tmp_path: Path) -> ObjectStore:
    return ObjectStore(VaultFolder(tmp_path / "vault"))


@pytest.mark.parametrize("content, sha256", FIPS, ids=["empty", "abc", "two-blocks", "million-a"])
def test_names_are_fips_180_4_digests(store: ObjectStore, content: bytes, sha256: str) -> None:
    assert store.keep(content) == sha256
    assert store.path_of(sha256) == store.folder.root / "objects" / sha256[:2] / sha256
    assert store.path_of(sha256).read_bytes() == content


def test_keeping_twice_changes_nothing(store: ObjectStore) -> None:
    sha256 = store.keep(b"once")
    before = store.path_of(sha256).stat()
    assert store.keep(b"once") == sha256
    after = store.path_of(sha256).stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)
    assert list(store.digests()) == [sha256]


def test_objects_are_read_only(store: ObjectStore) -> None:
    assert not store.path_of(store.keep(b"x")).stat().st_mode & 0o222


def test_keep_file_leaves_the_source_alone(store: ObjectStore, tmp_path: Path) -> None:
    source = tmp_path / "Kleid Größe 38.pdf"
    source.write_bytes(os.urandom(700_000))
    before = source.stat()
    sha256, n_bytes = store.keep_file(source)
    after = source.stat()
    assert (before.st_size, before.st_mtime_ns, before.st_mode) == (after.st_size, after.st_mtime_ns, after.st_mode)
    assert n_bytes == 700_000 and store.open(sha256).read() == source.read_bytes()
    assert store.size_of(sha256) == n_bytes


@pytest.mark.parametrize("damage", ["flip", "cut", "empty", "grown"])
def test_keeping_again_heals_a_rotten_object(store: ObjectStore, damage: str) -> None:
    content = b"0123456789" * 50_000
    sha256 = store.keep(content)
    path = store.path_of(sha256)
    path.chmod(0o644)
    path.write_bytes({"flip": b"x" + content[1:], "cut": content[:-1], "empty": b"", "grown": content + b"y"}[damage])
    assert not store.intact(sha256)
    assert store.keep(content) == sha256
    assert store.intact(sha256)


def test_a_link_in_place_of_an_object_is_not_intact(store: ObjectStore, tmp_path: Path) -> None:
    sha256 = store.keep(b"content")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.write_bytes(b"content")
    store.path_of(sha256).unlink()
    store.path_of(sha256).symlink_to(elsewhere)
    assert not store.intact(sha256)
    store.keep(b"content")
    assert store.intact(sha256) and not store.path_of(sha256).is_symlink()


def test_digests_pass_over_what_is_no_object(store: ObjectStore) -> None:
    kept = sorted(store.keep(str(n).encode()) for n in range(40))
    (store.folder.objects_path / "ab").mkdir(exist_ok=True)
    (store.folder.objects_path / "ab" / "notes.txt").write_text("mine")
    (store.folder.objects_path / "ab" / ("cd" + "0" * 62)).write_text("in the wrong folder")
    (store.folder.objects_path / "README").write_text("mine")
    assert list(store.digests()) == kept


def test_sweeping_removes_only_temporary_files(store: ObjectStore) -> None:
    sha256 = store.keep(b"kept")
    store.folder.tmp_file().write_bytes(b"half")
    store.folder.tmp_file().write_bytes(b"half")
    for name in ("snapshot-of-now", "snapshot-of-long-ago"):
        (store.folder.tmp_path / name).mkdir()
        (store.folder.tmp_path / name / "catalogue.sqlite").write_bytes(b"rows")
    os.utime(store.folder.tmp_path / "snapshot-of-long-ago", (0, 0))
    (store.folder.root / "download.part").write_bytes(b"a person's own")
    assert store.sweep_temporary() == 2
    assert store.sweep_temporary() == 0
    assert list(store.digests()) == [sha256]
    assert [p.name for p in store.folder.tmp_path.iterdir()] == ["snapshot-of-now"]
    assert (store.folder.root / "download.part").exists()


def test_forgetting_is_idempotent(store: ObjectStore) -> None:
    sha256 = store.keep(b"deaccessioned")
    store.forget(sha256)
    store.forget(sha256)
    assert not store.has(sha256) and list(store.digests()) == []


@pytest.mark.parametrize("text", ["", "../../etc/passwd", "AB" * 32, "0" * 63, "0" * 65, "g" * 64, "0" * 64 + "\n"])
def test_only_digests_are_paths(store: ObjectStore, text: str) -> None:
    assert not is_digest(text)
    with pytest.raises(ValueError):
        store.path_of(text)


def test_what_cannot_be_read_is_named(store: ObjectStore, tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match=r"gone\.pdf"):
        store.keep_file(tmp_path / "gone.pdf")
    with pytest.raises(UnreadableError):
        store.keep_file(tmp_path)
    with pytest.raises(StoreError, match="0000"):
        store.open("0" * 64)


def test_a_pipe_is_refused_at_once(store: ObjectStore, tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("no pipes here")
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(UnreadableError):
        store.keep_file(tmp_path / "pipe")


class GrowingFile(io.BytesIO):
    """A download in progress: the second reading finds more than the first."""

    def seek(self, place: int, whence: int = 0) -> int:
        super().seek(0, 2)
        self.write(b"more")
        return super().seek(place, whence)


def test_a_growing_file_is_kept_under_the_digest_of_what_was_copied(store: ObjectStore) -> None:
    sha256, _ = store.keep_stream(GrowingFile(b"first"))
    assert hashlib.sha256(store.open(sha256).read()).hexdigest() == sha256
    assert list(store.digests()) == [sha256]


class RecordingDisk(FaultyDisk):
    """Notes the steps in their order."""

    def __init__(self) -> None:
        super().__init__()
        self.order: list[str] = []

    def _step(self, name: str) -> None:
        super()._step(name)
        self.order.append(name)


def test_bytes_are_synced_before_they_get_their_name_and_the_name_after(tmp_path: Path) -> None:
    disk = RecordingDisk()
    store = ObjectStore(VaultFolder(tmp_path / "v", disk=disk))
    store.keep(b"first")
    disk.order.clear()
    store.keep(b"second")
    order = [step for step in disk.order if step != "make_folder"]
    assert order[:3] == ["create", "write_some", "sync"]
    assert order[-2:] == ["rename", "sync_folder"] and order.count("rename") == 1


def _steps_of_keeping(tmp_path: Path) -> int:
    disk = FaultyDisk()
    ObjectStore(VaultFolder(tmp_path / "count", disk=disk)).keep(b"content" * 100_000)
    return disk.steps


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EIO, errno.EROFS, errno.EACCES])
def test_a_fault_at_any_step_leaves_nothing_half_written(tmp_path: Path, number: int) -> None:
    content = b"content" * 100_000
    sha256 = hashlib.sha256(content).hexdigest()
    total = _steps_of_keeping(tmp_path)
    assert total > 8
    for step in range(1, total + 1):
        root = tmp_path / f"{number}-{step}"
        with pytest.raises(StoreError) as caught:
            ObjectStore(VaultFolder(root, disk=FaultyDisk(step, number=number))).keep(content)
        assert str(root) in caught.value.message and caught.value.next_step
        after = ObjectStore(VaultFolder(root))
        assert all(after.intact(d) for d in after.digests())
        assert not list(root.glob("tmp/*")), "a failed run leaves no temporary file"
        assert after.keep(content) == sha256 and after.intact(sha256)


def test_a_disk_that_takes_few_bytes_at_a_time_gets_them_all(tmp_path: Path) -> None:
    store = ObjectStore(VaultFolder(tmp_path / "v", disk=FaultyDisk(short=True)))
    content = os.urandom(300_000)
    assert store.intact(store.keep(content))


@settings(deadline=None, max_examples=40)
@given(st.lists(st.binary(max_size=200), max_size=8))
def test_the_store_is_a_set_of_byte_strings(tmp_path_factory: pytest.TempPathFactory, contents: list[bytes]) -> None:
    store = ObjectStore(VaultFolder(tmp_path_factory.mktemp("v") / "vault"))
    for content in contents:
        store.keep(content)
    assert {store.open(d).read() for d in store.digests()} == set(contents)
    if contents:
        assert set(tree(store.folder.root)) - {"vault.toml"} == {
            f"objects/{d[:2]}/{d}" for d in (hashlib.sha256(c).hexdigest() for c in contents)
        }
