"""The reading side: what comes back, what never happens to a target, and what a hostile destination can do."""

from __future__ import annotations

import errno
import gzip
import hashlib
import io
import json
import random
import shutil
import tarfile
from collections.abc import Callable
from pathlib import Path

import pytest
from faulty_disk import FaultyDisk, tree
from sample_vaults import PASSPHRASE, add_objects, back_up, damage, make_vault, same_vaults

from vault.errors import BackupError, VaultError
from vault.safekeeping import restore as restore_module
from vault.safekeeping import unpacking
from vault.safekeeping.destination import FolderDestination
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.recovery import key_lines
from vault.safekeeping.restore import RestoreReport, restore


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    return make_vault(tmp_path / "vault")


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    return tmp_path / "stick"


def bring(stick: Path, to: Path, **options: object) -> RestoreReport:
    options = {"passphrase": PASSPHRASE, **options}
    workers = 1 if "disk" in options else None  # a disk that counts its steps wants them one after another
    return restore(FolderDestination(stick, workers=workers), to, **options)  # type: ignore[arg-type]


def code_of(call: Callable[[], object]) -> str:
    with pytest.raises(VaultError) as caught:
        call()
    assert caught.value.message and caught.value.next_step
    return caught.value.code


# What comes back


@pytest.mark.parametrize("plain", [False, True])
def test_the_restored_vault_is_the_vault(folder: VaultFolder, stick: Path, tmp_path: Path, plain: bool) -> None:
    back_up(folder, stick, plain=plain)
    report = bring(stick, tmp_path / "new")
    assert report.ok and report.objects == 12 and report.snapshot == "2026-03-07T09:15:00Z"
    assert same_vaults(folder, VaultFolder(tmp_path / "new"))
    assert VaultFolder(tmp_path / "new").settings() == folder.settings()
    assert {p.name for p in tmp_path.iterdir()} == {"vault", "stick", "new"}, "nothing else is left"
    assert not list((tmp_path / "new" / "tmp").iterdir())


def test_the_recovery_key_opens_it_without_key_age(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    report = back_up(folder, stick)
    assert report.made_key is not None
    (stick / "key.age").unlink()
    assert code_of(lambda: bring(stick, tmp_path / "new")) == "no-key"
    identity = report.made_key.identities[0]
    for number, typed in enumerate((identity, "\n".join(key_lines(identity)))):
        assert bring(stick, tmp_path / str(number), passphrase=None, recovery_key=typed).ok
        assert same_vaults(folder, VaultFolder(tmp_path / str(number)))


def test_an_older_snapshot_is_restored_whole(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    shutil.copytree(folder.root, tmp_path / "before")
    add_objects(folder, [b"new"])
    back_up(folder, stick, day=1)
    for number, wanted in enumerate(("2026-03-07", "20260307T091500Z", "2026-03-07T09:15:00Z", "2026-03-07 09:15")):
        assert bring(stick, tmp_path / str(number), snapshot=wanted).objects == 12
        assert same_vaults(VaultFolder(tmp_path / "before"), VaultFolder(tmp_path / str(number)))
    assert bring(stick, tmp_path / "newest").objects == 13
    with pytest.raises(BackupError) as caught:
        bring(stick, tmp_path / "none", snapshot="2026-04-01")
    assert caught.value.code == "no-snapshot" and "2026-03-08T09:15:00Z" in caught.value.next_step


def test_a_backup_without_a_finished_snapshot_says_so(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    shutil.rmtree(stick / "snapshots")
    assert code_of(lambda: bring(stick, tmp_path / "new")) == "no-snapshot"
    assert code_of(lambda: bring(tmp_path / "nowhere", tmp_path / "new")) == "missing"


# Keys


def test_wrong_keys_are_one_sentence_and_leave_nothing(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    from vault.age import X25519Identity

    back_up(folder, stick)
    other = X25519Identity.generate().to_text()
    assert code_of(lambda: bring(stick, tmp_path / "new", passphrase="wrong")) == "wrong-passphrase"
    assert code_of(lambda: bring(stick, tmp_path / "new", passphrase=None)) == "needs-passphrase"
    assert code_of(lambda: bring(stick, tmp_path / "new", recovery_key=other)) == "wrong-key"
    assert code_of(lambda: bring(stick, tmp_path / "new", recovery_key="hello")) == "recovery-key"
    assert {p.name for p in tmp_path.iterdir()} == {"vault", "stick"}


@pytest.mark.parametrize("content", [b"", b"age-encryption.org/v1\n", b"\xff" * 300])
def test_a_damaged_key_file_points_to_the_sheet(
    folder: VaultFolder, stick: Path, tmp_path: Path, content: bytes
) -> None:
    back_up(folder, stick)
    (stick / "key.age").chmod(0o644)
    (stick / "key.age").write_bytes(content)
    with pytest.raises(BackupError) as caught:
        bring(stick, tmp_path / "new")
    assert caught.value.code == "damaged-key" and "--recovery-key" in caught.value.next_step


def test_a_passphrase_is_the_same_in_both_unicode_spellings(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick, passphrase="Knopflo\u0308cher")
    assert bring(stick, tmp_path / "new", passphrase="Knopfl\u00f6cher").ok


# Targets


def test_a_vault_is_never_restored_over(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    before = tree(folder.root)
    assert code_of(lambda: bring(stick, folder.root)) == "target-not-empty"
    assert tree(folder.root) == before
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "taxes.pdf").write_bytes(b"mine")
    assert code_of(lambda: bring(stick, tmp_path / "full")) == "target-not-empty"
    assert code_of(lambda: bring(stick, tmp_path / "full" / "taxes.pdf")) == "target-not-empty"
    assert tree(tmp_path / "full") == {"taxes.pdf": b"mine"}


@pytest.mark.parametrize(
    "name, content",
    [
        (".hidden", b"mine"),
        ("deep/down/letter.txt", b"mine"),
        ("objects/ab/notes.txt", b"mine"),
        ("vault.toml", b"# my own words\n"),
        ("backups/key.age", b"the key of another backup"),
        ("film.part", b"mine"),
    ],
)
def test_a_folder_with_anything_in_it_is_left_alone(
    folder: VaultFolder, stick: Path, tmp_path: Path, name: str, content: bytes
) -> None:
    back_up(folder, stick)
    (tmp_path / "new" / name).parent.mkdir(parents=True)
    (tmp_path / "new" / name).write_bytes(content)
    assert code_of(lambda: bring(stick, tmp_path / "new")) == "target-not-empty"
    assert tree(tmp_path / "new") == {name: content}


def test_what_came_into_the_target_during_a_restore_is_left_alone(
    folder: VaultFolder, stick: Path, tmp_path: Path
) -> None:
    back_up(folder, stick)
    (tmp_path / "new").mkdir()

    def meanwhile(done: int, total: int) -> None:
        (tmp_path / "new" / "letter.txt").write_bytes(b"mine")

    assert code_of(lambda: bring(stick, tmp_path / "new", progress=meanwhile)) == "target-not-empty"
    assert tree(tmp_path / "new") == {"letter.txt": b"mine"}


def test_an_empty_target_or_a_vault_that_never_held_anything_is_taken(
    folder: VaultFolder, stick: Path, tmp_path: Path
) -> None:
    back_up(folder, stick)
    (tmp_path / "empty").mkdir()
    VaultFolder(tmp_path / "begun").create()
    for name in ("empty", "begun", "deep/er/new"):
        assert bring(stick, tmp_path / name).ok
        assert same_vaults(folder, VaultFolder(tmp_path / name))


def test_a_strange_folder_in_the_way_is_left_alone(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    way = tmp_path / "new.restoring"
    way.mkdir()
    (way / "letter.txt").write_bytes(b"mine")
    assert code_of(lambda: bring(stick, tmp_path / "new")) == "target-not-empty"
    assert tree(way) == {"letter.txt": b"mine"}


def test_too_little_room_is_said_before_anything_is_written(
    folder: VaultFolder, stick: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    back_up(folder, stick)
    monkeypatch.setattr(restore_module, "free_bytes", lambda _: 50_000)
    with pytest.raises(BackupError) as caught:
        bring(stick, tmp_path / "new")
    assert caught.value.code == "no-room" and "MB" in caught.value.message
    assert {p.name for p in tmp_path.iterdir()} == {"vault", "stick"}


# Interruptions


class Stop(Exception):
    pass


def test_an_interrupted_restore_leaves_no_target_and_goes_on(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)

    def stop(done: int, total: int) -> None:
        if done == 7:
            raise Stop

    with pytest.raises(Stop):
        bring(stick, tmp_path / "new", progress=stop)
    assert not (tmp_path / "new").exists()
    seen: list[int] = []
    assert bring(stick, tmp_path / "new", progress=lambda done, total: seen.append(done)).ok
    assert same_vaults(folder, VaultFolder(tmp_path / "new"))
    assert {p.name for p in tmp_path.iterdir()} == {"vault", "stick", "new"}


def test_what_an_interrupted_restore_left_is_read_again_before_it_counts(
    folder: VaultFolder, stick: Path, tmp_path: Path
) -> None:
    back_up(folder, stick)
    left = tmp_path / "new.restoring"
    (left / "tmp").mkdir(parents=True)
    (left / "tmp" / "restore-in-progress.part").write_bytes(b"")
    good, rotten, *_ = list(ObjectStore(folder).digests())
    for sha256, content in ((good, ObjectStore(folder).open(good).read()), (rotten, b"half"), ("ef" * 32, b"strange")):
        (left / "objects" / sha256[:2]).mkdir(parents=True, exist_ok=True)
        (left / "objects" / sha256[:2] / sha256).write_bytes(content)
    seen: list[int] = []
    assert bring(stick, tmp_path / "new", progress=lambda done, total: seen.append(done)).ok
    assert len(seen) == 11
    assert same_vaults(folder, VaultFolder(tmp_path / "new"))


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EIO])
def test_a_fault_at_any_step_leaves_no_target_and_can_be_run_again(tmp_path: Path, number: int) -> None:
    folder = make_vault(tmp_path / "vault", n=3)
    stick = tmp_path / "stick"
    back_up(folder, stick)
    count = FaultyDisk()
    bring(stick, tmp_path / "count", disk=count)
    assert count.steps > 15
    for step in range(1, count.steps + 1):
        target = tmp_path / f"step{step}" / "new"
        with pytest.raises(VaultError) as caught:
            bring(stick, target, disk=FaultyDisk(step, number=number))
        assert caught.value.next_step
        if target.exists():  # only the very last step, the sync of the name, can fail after it
            assert step == count.steps
        else:
            assert bring(stick, target).ok
        assert same_vaults(folder, VaultFolder(target))


# A damaged or hostile destination


def _object_files(stick: Path) -> list[Path]:
    return sorted(p for p in (stick / "objects").rglob("*") if p.is_file())


@pytest.mark.parametrize("plain", [False, True])
@pytest.mark.parametrize("how", ["flip", "cut", "empty", "grown", "gone"])
def test_whatever_rots_is_named_and_the_rest_comes_back(
    folder: VaultFolder, stick: Path, tmp_path: Path, how: str, plain: bool
) -> None:
    back_up(folder, stick, plain=plain)
    rng = random.Random(how)
    victims = rng.sample([p for p in _object_files(stick) if p.stat().st_size > 250], 3)
    for victim in victims:
        damage(victim, how, rng)
    report = bring(stick, tmp_path / "new")
    told = report.gone if how == "gone" else report.damaged
    assert len(told) == 3 and len(report.gone) + len(report.damaged) == 3 and not report.ok
    assert report.objects == 9
    new, old = ObjectStore(VaultFolder(tmp_path / "new")), ObjectStore(folder)
    assert set(old.digests()) - set(new.digests()) == {d.sha256 for d in told}
    assert all(new.intact(d) for d in new.digests())
    on_shelf = {d.sha256: d.name for d in told if d.name}
    assert all("/" in name for name in on_shelf.values())


@pytest.mark.parametrize("plain", [False, True])
def test_swapped_objects_are_noticed_and_named(folder: VaultFolder, stick: Path, tmp_path: Path, plain: bool) -> None:
    back_up(folder, stick, plain=plain)
    one, two = [p for p in _object_files(stick) if p.stat().st_size > 250][:2]
    first, second = one.read_bytes(), two.read_bytes()
    one.chmod(0o644), two.chmod(0o644)
    one.write_bytes(second), two.write_bytes(first)
    report = bring(stick, tmp_path / "new")
    assert len(report.damaged) == 2


def test_an_object_sealed_to_the_same_key_cannot_stand_in_for_another(
    folder: VaultFolder, stick: Path, tmp_path: Path
) -> None:
    """One who knows the public key can make an age file that opens; its content still has the wrong digest."""
    from vault.safekeeping.keys import seal

    report = back_up(folder, stick)
    assert report.made_key is not None
    victim = max(_object_files(stick), key=lambda p: p.stat().st_size)
    size = victim.stat().st_size
    forged = io.BytesIO()
    seal(io.BytesIO(b"x" * (size - 216)), forged, report.made_key.recipients)
    assert len(forged.getvalue()) == size
    victim.chmod(0o644)
    victim.write_bytes(forged.getvalue())
    told = bring(stick, tmp_path / "new").damaged
    assert len(told) == 1 and told[0].sha256 not in set(ObjectStore(VaultFolder(tmp_path / "new")).digests())


def test_links_and_devices_in_place_of_objects_are_gone(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    one, two = _object_files(stick)[:2]
    one.unlink(), two.unlink()
    one.symlink_to("/dev/zero")
    two.symlink_to(_object_files(stick)[-1])
    report = bring(stick, tmp_path / "new")
    assert len(report.gone) == 2 and report.objects == 10


def test_an_older_snapshot_under_a_newer_name_is_noticed(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    add_objects(folder, [b"new"])
    back_up(folder, stick, day=1)
    shutil.copy(stick / "snapshots" / "20260307T091500Z.age", stick / "snapshots" / "20260309T000000Z.age")
    with pytest.raises(BackupError, match="renamed") as caught:
        bring(stick, tmp_path / "new")
    assert caught.value.code == "bad-snapshot" and "2026-03-09T00:00:00Z" in caught.value.message
    assert bring(stick, tmp_path / "new", snapshot="2026-03-08").ok


@pytest.mark.parametrize("how", ["flip", "cut", "empty", "grown"])
def test_a_rotten_snapshot_is_named_and_the_one_before_still_opens(
    folder: VaultFolder, stick: Path, tmp_path: Path, how: str
) -> None:
    back_up(folder, stick)
    back_up(folder, stick, day=1)
    damage(stick / "snapshots" / "20260308T091500Z.age", how, random.Random(how))
    with pytest.raises(BackupError) as caught:
        bring(stick, tmp_path / "new")
    assert caught.value.code in ("bad-snapshot", "wrong-key")
    assert bring(stick, tmp_path / "new", snapshot="2026-03-07").ok


def test_another_copy_that_an_older_snapshot_knows_is_used(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick)
    (folder.backups_path / "placed.tsv").unlink()
    before = set(_object_files(stick))
    back_up(folder, stick, day=1, passphrase=None)
    newer = [p for p in _object_files(stick) if p not in before]
    assert len(newer) == 12
    damage(max(newer, key=lambda p: p.stat().st_size), "flip", random.Random(0))
    damage(min(newer, key=lambda p: p.stat().st_size), "gone", random.Random(0))
    report = bring(stick, tmp_path / "new")
    assert report.ok and len(report.notes) == 2
    assert same_vaults(folder, VaultFolder(tmp_path / "new"))


def test_settings_that_cannot_be_read_do_not_stop_a_restore(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick, plain=True)
    _rewrite(stick, settings=b"[backup\n")
    report = bring(stick, tmp_path / "new")
    assert report.ok and "settings" in report.notes[0]
    assert VaultFolder(tmp_path / "new").settings().destinations == ()


# Hostile snapshots.  A plain one can be made by anybody; it is rewritten here with one thing wrong each.


def _members(stick: Path) -> tuple[Path, dict[str, bytes]]:
    path = max((stick / "snapshots").iterdir())
    with tarfile.open(path) as archive:
        return path, {m.name: archive.extractfile(m).read() for m in archive.getmembers()}  # type: ignore[union-attr]


def _rewrite(
    stick: Path,
    *,
    settings: bytes | None = None,
    rows: Callable[[list[str]], list[str]] = lambda rows: rows,
    about: Callable[[dict], dict] = lambda about: about,  # type: ignore[type-arg]
    members: Callable[[dict[str, bytes]], dict[str, bytes]] = lambda members: members,
    pack: Callable[[dict[str, bytes]], bytes] | None = None,
) -> None:
    path, files = _members(stick)
    if settings is not None:
        files["vault.toml"] = settings
    files["objects.tsv"] = "\n".join(rows(files["objects.tsv"].decode().split("\n"))).encode()
    said = json.loads(files["about.json"])
    for name in said["members"]:
        said["members"][name] = {"sha256": hashlib.sha256(files[name]).hexdigest(), "bytes": len(files[name])}
    said["objects"] = sum(bool(r) and r[0] != "#" for r in files["objects.tsv"].decode().split("\n"))
    files["about.json"] = json.dumps(about(said)).encode()
    path.chmod(0o644)
    path.write_bytes((pack or _packed)(members(files)))


def _packed(files: dict[str, bytes], **head: object) -> bytes:
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w:gz", format=tarfile.USTAR_FORMAT) as archive:
        for name, content in files.items():
            member = tarfile.TarInfo(name)
            member.size = len(content)
            for key, value in head.items():
                setattr(member, key, value)
            archive.addfile(member, io.BytesIO(content))
    return out.getvalue()


def _with_path_tricks(files: dict[str, bytes]) -> bytes:
    return _packed({**files, "../../evil.txt": b"out"})


def _as_link(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w:gz", format=tarfile.USTAR_FORMAT) as archive:
        member = tarfile.TarInfo("about.json")
        member.type, member.linkname = tarfile.SYMTYPE, "/etc/passwd"
        archive.addfile(member)
    return out.getvalue()


def _bomb(files: dict[str, bytes]) -> bytes:
    head = tarfile.TarInfo("catalogue.sqlite")
    head.size = 5 << 30
    out = io.BytesIO()
    with gzip.GzipFile(fileobj=out, mode="wb", compresslevel=9) as packed:
        packed.write(_tar_only({n: files[n] for n in ("about.json", "objects.tsv", "vault.toml")}))
        packed.write(head.tobuf(tarfile.USTAR_FORMAT))
        for _ in range(20):
            packed.write(bytes(1 << 20))
    return out.getvalue()


def _tar_only(files: dict[str, bytes]) -> bytes:
    """The archive without its end."""
    blocks = sum(1 + (len(content) + 511) // 512 for content in files.values())
    return gzip.decompress(_packed(files))[: 512 * blocks]


def _twice(files: dict[str, bytes]) -> bytes:
    return gzip.compress(_tar_only(files) + gzip.decompress(_packed(files)))


HOSTILE: dict[str, dict[str, object]] = {
    "member-outside": {"pack": _with_path_tricks},
    "member-is-a-link": {"pack": _as_link},
    "member-twice": {"pack": _twice},
    "absolute-member": {"members": lambda f: {"/" + n: c for n, c in f.items()}},
    "wrong-order": {"members": lambda f: dict(reversed(f.items()))},
    "no-list": {"members": lambda f: {n: c for n, c in f.items() if n != "objects.tsv"}},
    "no-catalogue": {"members": lambda f: {n: c for n, c in f.items() if n != "catalogue.sqlite"}},
    "stranger": {"members": lambda f: {**f, "run-me.exe": b"MZ"}},
    "not-gzip": {"pack": lambda f: b"hello"},
    "not-tar": {"pack": lambda f: gzip.compress(b"hello" * 1000)},
    "empty": {"pack": lambda f: b""},
    "truncated": {"pack": lambda f: _packed(f)[:-20]},
    "trailing": {"pack": lambda f: gzip.compress(gzip.decompress(_packed(f)) + b"more")},
    "bomb": {"pack": _bomb},
    "list-changed": {"members": lambda f: {**f, "objects.tsv": f["objects.tsv"] + b"\n"}},
    "catalogue-changed": {"members": lambda f: {**f, "catalogue.sqlite": f["catalogue.sqlite"][:-1]}},
    "list-path": {"rows": lambda r: [x.replace("objects/", "objects/../") for x in r]},
    "list-absolute": {"rows": lambda r: [x.replace("objects/", "/objects/") for x in r]},
    "list-digest": {"rows": lambda r: [x if x[:1] == "#" else "../" + x[3:] for x in r if x]},
    "list-twice": {"rows": lambda r: [*r[:-1], r[1]]},
    "list-fields": {"rows": lambda r: [x.replace("\t", " ", 1) if x[:1] != "#" else x for x in r]},
    "list-size": {"rows": lambda r: [x if x[:1] == "#" else x.replace("\t", "\t-", 2) for x in r if x]},
    "list-not-text": {"members": lambda f: {**f, "objects.tsv": b"\xff\xfe\n"}},
    "list-swaps": {
        "rows": lambda r: [
            r[0],
            "\t".join([r[1].split("\t")[0], *r[2].split("\t")[1:]]),
            "\t".join([r[2].split("\t")[0], *r[1].split("\t")[1:]]),
            *r[3:],
        ]
    },
    "about-format": {"about": lambda a: {**a, "format": "other"}},
    "about-newer": {"about": lambda a: {**a, "version": 2}},
    "about-version-text": {"about": lambda a: {**a, "version": "1"}},
    "about-not-a-table": {"about": lambda a: [a]},
    "about-members": {"about": lambda a: {**a, "members": {}}},
    "about-count": {"about": lambda a: {**a, "objects": 3}},
    "about-encrypted": {"about": lambda a: {**a, "encrypted": True}},
    "about-deep": {"members": lambda f: {**f, "about.json": b"[" * 100_000}},
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_snapshot_is_refused_and_leaves_nothing(
    folder: VaultFolder, stick: Path, tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(unpacking, "_FLOOR", 1 << 22)
    back_up(folder, stick, plain=True)
    _rewrite(stick, **HOSTILE[name])  # type: ignore[arg-type]
    with pytest.raises(BackupError) as caught:
        bring(stick, tmp_path / "new")
    assert caught.value.code == "bad-snapshot" and "2026-03-07T09:15:00Z" in caught.value.message
    assert {p.name for p in tmp_path.iterdir()} == {"vault", "stick"}
    if name == "about-newer":
        assert "newer program" in caught.value.message


def test_the_rewriting_itself_makes_a_good_snapshot(folder: VaultFolder, stick: Path, tmp_path: Path) -> None:
    back_up(folder, stick, plain=True)
    _rewrite(stick)
    assert bring(stick, tmp_path / "new").ok


@pytest.mark.parametrize(
    "place", ["../../evil.pdf", "/etc/passwd", "a/b/CON", "a/b/x.", "a/b", "a/b/c/d", "a/../c", "a/b/x\x1b[2J", "\\\\x"]
)
def test_hostile_places_on_the_shelf_are_left_out(folder: VaultFolder, stick: Path, tmp_path: Path, place: str) -> None:
    back_up(folder, stick, plain=True)

    def misplaced(rows: list[str]) -> list[str]:
        return [row if row[:1] == "#" else "\t".join([*row.split("\t")[:4], place]) for row in rows if row]

    _rewrite(stick, rows=misplaced)
    assert bring(stick, tmp_path / "new").ok
    assert VaultFolder(tmp_path / "new").shelf_index_path.read_bytes() == b""
