"""Following folders from end to end, with stand-in readers: real files, real events, real writers in other processes.

Unfinished names: the table of downloads in progress of the common browsers (`.crdownload`, `.part` beside an empty file
of the final name, a `.download` folder; `.opdownload`, `.partial`, `.tmp`).
"""

from __future__ import annotations

import errno
import io
import os
import subprocess
import sys
import threading
import time
import zipfile
from collections.abc import Callable, Iterator
from datetime import date
from hashlib import sha256
from pathlib import Path

import pytest
from stand_ins import Counted, mail, pdf, put, readers

from vault.catalogue import Catalogue
from vault.errors import StoreError
from vault.intake import busy, walk
from vault.intake.following import LIMIT, NETWORK, Follower, Hint
from vault.intake.mounts import is_remote
from vault.intake.only_watcher import is_watched, only_watcher
from vault.intake.summary import IngestSummary
from vault.intake.watching import Pace, Watcher
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock

DAY = date(2026, 3, 3)
PACE = Pace(settle=0.2, settle_empty=0.6, poll=0.15, beat=0.15, through=3600)
# A writer in a process of its own: each argument is one step.
_WRITER = """
import os, sys, time
for step in sys.argv[1:]:
    do, _, rest = step.partition(":")
    if do == "sleep": time.sleep(float(rest))
    elif do == "empty": open(rest, "wb").close()
    elif do == "mkdir": os.mkdir(rest)
    elif do == "rmdir": os.rmdir(rest)
    elif do == "unlink": os.unlink(rest)
    elif do == "move": os.replace(*rest.split("|"))
    elif do == "hold":  # writes half, waits with the file open, writes the rest
        path, content, seconds = rest.split("|")
        with open(path, "ab", buffering=0) as f:
            f.write(content[: len(content) // 2].encode()); time.sleep(float(seconds))
            f.write(content[len(content) // 2 :].encode())
    elif do == "write":  # slowly, in many small writes
        path, content = rest.split("|")
        with open(path, "ab", buffering=0) as f:
            for n in range(0, len(content), 100):
                f.write(content[n : n + 100].encode()); time.sleep(0.05)
"""


class Face:
    """What the watcher tells, remembered."""

    def __init__(self) -> None:
        self.told: list[str] = []
        self.summaries: list[IngestSummary] = []
        self.beats = 0

    def tell(self, words: str) -> None:
        self.told.append(words)

    def took(self, summary: IngestSummary) -> None:
        self.summaries.append(summary)

    def progress(self, done: int, total: int | None, words: str) -> None:
        pass

    def beat(self) -> None:
        self.beats += 1

    def lines(self) -> list[str]:
        return [t for s in self.summaries for t in (*s.titles, *s.unclaimed, *(p.reason for p in s.problems_new))]


class Scene:
    """A vault, a downloads folder and a watcher in a thread."""

    def __init__(self, root: Path, follower: Callable[[Callable[[Hint], None]], Follower] = Follower) -> None:
        self.downloads = root / "Downloads"
        self.downloads.mkdir()
        self.folder = VaultFolder(root / "vault")
        self.folder.create()
        self.face = Face()
        self.counted = Counted()
        self.follower = follower
        self.folders = [self.downloads]
        self.watcher: Watcher | None = None
        self.thread: threading.Thread | None = None
        self.failed: list[BaseException] = []

    def made(self) -> Watcher:
        return Watcher(
            folder=self.folder,
            folders=self.folders,
            face=self.face,
            pace=PACE,
            readers=readers(self.counted),
            day=lambda: DAY,
            make_follower=self.follower,
        )

    def begin(self) -> None:
        self.watcher = self.made()
        self.thread = threading.Thread(target=self._run, daemon=True)
        before = self.face.beats
        self.thread.start()
        self.until(lambda: self.face.beats > before)

    def _run(self) -> None:
        assert self.watcher is not None
        try:
            self.watcher.run()
        except BaseException as error:
            self.failed.append(error)

    def end(self) -> None:
        if self.watcher is not None and self.thread is not None:
            self.watcher.stop()
            self.thread.join(60)
            assert not self.thread.is_alive(), "the watcher does not end"
        assert self.failed == []

    def until(self, ready: Callable[[], bool], seconds: float = 60.0) -> None:
        until = time.monotonic() + seconds
        while not ready():
            assert time.monotonic() < until, f"it does not come about; told: {self.face.told} {self.face.lines()}"
            assert self.failed == []
            time.sleep(0.02)

    def quiet(self, seconds: float = 0.6) -> None:
        """Waits until nothing was read for a while."""
        count, since = -1, time.monotonic()
        while time.monotonic() - since < seconds:
            if len(self.counted.jobs) != count:
                count, since = len(self.counted.jobs), time.monotonic()
            time.sleep(0.05)

    def kept(self) -> set[str]:
        with Catalogue.open_read_only(self.folder.catalogue_path) as catalogue:
            return {v.file.sha256 for v in catalogue.files() if v.file.kept}

    def write(self, *steps: str) -> None:
        subprocess.run([sys.executable, "-c", _WRITER, *steps], check=True, cwd=self.downloads, timeout=120)


@pytest.fixture
def scene(tmp_path: Path) -> Iterator[Scene]:
    made = Scene(tmp_path)
    yield made
    made.end()


def digest(content: bytes) -> str:
    return sha256(content).hexdigest()


TEXT = pdf("PATTERN", "Title: Bustle Skirt", *(f"line {n} of the instructions" for n in range(20))).decode()
# (what the browser does, with the final name x.pdf)
BROWSERS = {
    "renamed-when-done": ("empty:x.pdf.crdownload", f"write:x.pdf.crdownload|{TEXT}", "move:x.pdf.crdownload|x.pdf"),
    "unconfirmed-name-first": (
        f"write:Unconfirmed 17511.crdownload|{TEXT}",
        "move:Unconfirmed 17511.crdownload|x.pdf",
    ),
    "empty-file-beside-its-part": (
        "empty:x.pdf",
        "empty:x.pdf.part",
        f"write:x.pdf.part|{TEXT}",
        "sleep:0.8",
        "move:x.pdf.part|x.pdf",
    ),
    "empty-file-beside-a-part-with-letters-by-chance": (
        "empty:x.pdf",
        f"write:x.Q7hT3s.pdf.part|{TEXT}",
        "sleep:0.8",
        "move:x.Q7hT3s.pdf.part|x.pdf",
    ),
    "in-a-folder-until-done": (
        "mkdir:x.pdf.download",
        f"write:x.pdf.download/x.pdf|{TEXT}",
        "sleep:0.4",
        "move:x.pdf.download/x.pdf|x.pdf",
        "rmdir:x.pdf.download",
    ),
    "opdownload": (f"write:x.pdf.opdownload|{TEXT}", "sleep:0.3", "move:x.pdf.opdownload|x.pdf"),
    "partial": (f"write:x.pdf.partial|{TEXT}", "sleep:0.3", "move:x.pdf.partial|x.pdf"),
    "under-its-own-name": (f"write:x.pdf|{TEXT}",),
}
if sys.platform == "linux":  # elsewhere no system tells who holds a file open for writing
    BROWSERS["stalled-with-the-file-open"] = (f"hold:x.pdf|{TEXT}|0.8",)


def test_each_browsers_download_counts_once_and_whole(scene: Scene) -> None:
    """All at the same time, each in a process and a folder of its own."""
    put(
        scene.downloads,
        {f"{how}/order.eml": mail(f"Order: {how}", f"Item: {how}", number=n) for n, how in enumerate(BROWSERS)},
    )
    scene.begin()
    scene.until(lambda: len(scene.face.lines()) == len(BROWSERS))
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", _WRITER, *(s.replace("Bustle Skirt", how) for s in steps)], cwd=scene.downloads / how
        )
        for how, steps in BROWSERS.items()
    ]
    assert [w.wait(120) for w in writers] == [0] * len(BROWSERS)
    scene.until(lambda: len(scene.face.lines()) >= 2 * len(BROWSERS))
    scene.quiet()
    bought = [f"bought: {how}, Thimblewick" for how in BROWSERS]
    held = [f"held now: {how} (Thimblewick)" for how in BROWSERS]
    assert sorted(scene.face.lines()) == sorted(bought + held)
    assert scene.counted.jobs == ["x.pdf"] * len(BROWSERS), "each read once, when it was whole"
    assert scene.kept() == {digest(TEXT.replace("Bustle Skirt", how).encode()) for how in BROWSERS}


def test_a_download_that_is_given_up_is_never_read(scene: Scene) -> None:
    scene.begin()
    scene.write("empty:x.pdf", f"write:x.pdf.part|{TEXT}", "sleep:0.3", "unlink:x.pdf.part", "unlink:x.pdf")
    scene.write(f"write:y.pdf.crdownload|{TEXT}", "sleep:0.3", "unlink:y.pdf.crdownload")
    scene.quiet()
    assert (scene.counted.jobs, scene.face.lines()) == ([], [])


def test_five_hundred_at_once_each_exactly_once(scene: Scene) -> None:
    scene.begin()
    files = {f"{n % 7}/pattern {n}.pdf": pdf("PATTERN", f"Title: Costume {n}") for n in range(500)}
    put(scene.downloads, files)
    scene.until(lambda: sum(s.files_new for s in scene.face.summaries) >= 500, 60)
    scene.quiet()
    assert len(scene.kept()) == 500
    assert sorted(scene.counted.jobs) == sorted(Path(n).name for n in files)
    assert sum(s.files_new for s in scene.face.summaries) == 500


def test_a_file_replaced_under_its_name_is_looked_at_again_even_with_its_old_time(scene: Scene) -> None:
    old, new = pdf("PATTERN", "Title: A"), pdf("PATTERN", "Title: B")
    put(scene.downloads, {"x.pdf": old})
    before = (scene.downloads / "x.pdf").stat()
    scene.begin()
    scene.until(lambda: scene.face.lines() == ["x.pdf"])
    other = scene.downloads.parent / "new.pdf"
    other.write_bytes(new)
    os.utime(other, ns=(before.st_atime_ns, before.st_mtime_ns))
    other.replace(scene.downloads / "x.pdf")
    scene.until(lambda: scene.kept() == {digest(old), digest(new)})


def test_a_file_deleted_half_way_is_no_trouble(scene: Scene) -> None:
    scene.begin()
    scene.write(f"write:x.pdf|{TEXT[:200]}", "unlink:x.pdf", "mkdir:d", f"write:d/y.pdf|{TEXT[:200]}", "unlink:d/y.pdf")
    scene.write("rmdir:d", f"write:z.pdf|{TEXT}")
    scene.until(lambda: scene.face.lines() == ["z.pdf"])
    with Catalogue.open_read_only(scene.folder.catalogue_path) as catalogue:
        assert catalogue.problems() == ()


def test_what_goes_away_between_settling_and_reading_is_no_problem(scene: Scene) -> None:
    from vault.intake.ingest import ingest

    gone = walk.FoundFile(place=str(scene.downloads / "gone.pdf"), n_bytes=1, mtime_ns=1)
    summary = ingest(scene.folder, [gone], day=DAY, readers=readers())
    assert (summary.problems, summary.passed_over) == ((), ((walk.GONE, 1),))


def test_a_zip_with_a_pattern_inside_is_told_by_what_was_bought(scene: Scene) -> None:
    put(scene.downloads, {"order.eml": mail("Order: TW-1", "Item: Bustle Skirt")})
    scene.begin()
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as made:
        made.writestr("skirt/A4.pdf", TEXT)
    (scene.downloads / "order.zip").write_bytes(buffer.getvalue())
    scene.until(lambda: "held now: Bustle Skirt (Thimblewick)" in scene.face.lines())
    scene.quiet()
    assert scene.counted.jobs == ["skirt/A4.pdf"]


def test_a_placeholder_of_a_cloud_drive_is_not_read_until_its_bytes_are_here(
    scene: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Attributes: FILE_ATTRIBUTE_RECALL_ON_DATA_ACCESS of Windows, SF_DATALESS of macOS (sys/stat.h)."""
    elsewhere = {"x.pdf"}
    real = walk.is_elsewhere
    assert not real(scene.downloads.stat())
    monkeypatch.setattr(walk, "_file", _with_placeholders(walk._file, elsewhere))
    put(scene.downloads, {"x.pdf": TEXT.encode()})
    scene.begin()
    put(scene.downloads, {"y.pdf": pdf("PATTERN", "Title: Y")})
    scene.until(lambda: scene.face.lines() == ["y.pdf"])
    assert scene.counted.jobs == ["y.pdf"]
    elsewhere.clear()  # she opened it, so the drive fetched it and said so
    os.utime(scene.downloads / "x.pdf")
    put(scene.downloads, {"x.pdf": TEXT.encode()})
    scene.until(lambda: scene.face.lines() == ["y.pdf", "x.pdf"])


def _with_placeholders(real: Callable[..., object], names: set[str]) -> Callable[..., object]:
    def judged(place: str, name: str, *rest: object) -> object:
        return walk.PassedBy(path=Path(place), reason=walk.ELSEWHERE) if name in names else real(place, name, *rest)

    return judged


@pytest.mark.parametrize(
    ("attributes", "flags", "expected"),
    [
        (0, 0, False),
        (0x20, 0, False),
        (0x1000, 0, True),
        (0x400000, 0, True),
        (0x40000, 0, True),
        (0, 0x40000000, True),
    ],
)
def test_marks_of_placeholders(attributes: int, flags: int, expected: bool) -> None:
    class Found:
        st_file_attributes = attributes
        st_flags = flags

    assert walk.is_elsewhere(Found()) is expected  # type: ignore[arg-type]


def test_folders_that_are_moved_renamed_and_come_later(scene: Scene, tmp_path: Path) -> None:
    later = tmp_path / "Stick"
    scene.folders = [scene.downloads, later]
    scene.begin()
    assert scene.face.told == [f"{later} is not there; it is followed as soon as it comes"]
    put(tmp_path / "made", {"deep/er/a.pdf": pdf("PATTERN", "Title: A")})
    (tmp_path / "made").rename(scene.downloads / "moved in")
    scene.until(lambda: scene.face.lines() == ["a.pdf"])
    (scene.downloads / "moved in").rename(scene.downloads / "renamed")
    put(scene.downloads, {"renamed/deep/b.pdf": pdf("PATTERN", "Title: B")})
    scene.until(lambda: scene.face.lines() == ["a.pdf", "b.pdf"])
    put(later, {"c.pdf": pdf("PATTERN", "Title: C")})
    scene.until(lambda: scene.face.lines() == ["a.pdf", "b.pdf", "c.pdf"])
    assert scene.face.told[1:] == [f"{later} is there again"]
    # The whole folder is moved away, and another one takes its place.
    scene.downloads.rename(tmp_path / "Old downloads")
    scene.until(lambda: f"{scene.downloads} is not there; it is followed as soon as it comes" in scene.face.told)
    put(scene.downloads, {"d.pdf": pdf("PATTERN", "Title: D")})
    scene.until(lambda: "d.pdf" in scene.face.lines())
    put(scene.downloads, {"new/e.pdf": pdf("PATTERN", "Title: E")})
    scene.until(lambda: "e.pdf" in scene.face.lines())
    with Catalogue.open_read_only(scene.folder.catalogue_path) as catalogue:
        paths = {s.path for v in catalogue.files() for s in v.file.sightings}
    assert str(scene.downloads / "renamed/deep/er/a.pdf") in paths, "its new place is known too"


class _Full:
    """An observer of a system whose limit of watched folders is reached (inotify(7): ENOSPC)."""

    def start(self) -> None:
        pass

    def schedule(self, *_: object, **__: object) -> object:
        raise OSError(errno.ENOSPC, "inotify watch limit reached")

    def is_alive(self) -> bool:
        return False


@pytest.mark.parametrize(
    ("follower", "why"),
    [
        (lambda hint: Follower(hint, elsewhere=lambda _: True), NETWORK),
        (lambda hint: Follower(hint, make_observer=_Full, elsewhere=lambda _: False), LIMIT),  # type: ignore[arg-type,return-value]
    ],
    ids=["network", "limit"],
)
def test_where_the_system_cannot_tell_the_folder_is_polled_and_it_is_said(
    tmp_path: Path, follower: Callable[[Callable[[Hint], None]], Follower], why: str
) -> None:
    scene = Scene(tmp_path, follower)
    put(scene.downloads, {"a.pdf": pdf("PATTERN", "Title: A")})
    scene.begin()
    assert len(scene.face.told) == 1 and why in scene.face.told[0]
    scene.until(lambda: scene.face.lines() == ["a.pdf"])
    scene.write("empty:x.pdf.crdownload", f"write:x.pdf.crdownload|{TEXT}", "move:x.pdf.crdownload|x.pdf")
    scene.until(lambda: scene.face.lines() == ["a.pdf", "x.pdf"])
    scene.quiet()
    assert scene.counted.jobs == ["a.pdf", "x.pdf"]
    scene.end()


@pytest.mark.parametrize(
    ("kind", "options", "expected"),
    [
        ("ext4", "rw", False),
        ("apfs", "rw,local", False),
        ("NTFS", "rw,fixed", False),
        ("fuseblk", "rw", False),
        ("nfs4", "rw", True),
        ("cifs", "rw", True),
        ("smbfs", "rw", True),
        ("fuse.sshfs", "rw", True),
        ("9p", "rw", True),
        ("NTFS", "rw,remote", True),
        ("", "", False),
    ],
)
def test_drives_of_other_computers(kind: str, options: str, expected: bool) -> None:
    assert is_remote(kind, options) is expected


def test_the_vault_in_use_by_another_is_waited_for(scene: Scene) -> None:
    scene.begin()
    with VaultLock(scene.folder, purpose="backup"):
        put(scene.downloads, {"x.pdf": TEXT.encode()})
        time.sleep(0.8)
        assert scene.face.lines() == [] and scene.counted.jobs == []
    scene.until(lambda: scene.face.lines() == ["x.pdf"])
    with VaultLock(scene.folder, purpose="backup"):
        pass  # it is not held while nothing is imported


def test_a_second_watcher_is_refused_and_says_who_the_first_is(scene: Scene) -> None:
    assert not is_watched(scene.folder)
    with only_watcher(scene.folder):
        assert is_watched(scene.folder)
        with (
            pytest.raises(StoreError, match=f"a watcher is at work.*process {os.getpid()} on") as caught,
            only_watcher(scene.folder),
        ):
            pass
        assert "--at-login off" in caught.value.next_step
        with VaultLock(scene.folder):
            pass  # it is no lock on the vault
    assert not is_watched(scene.folder)


def test_what_is_known_is_not_read_again_by_the_next_watcher(scene: Scene) -> None:
    put(scene.downloads, {"x.pdf": TEXT.encode(), "box": mail("Order: TW-1", "Item: Bustle Skirt")})
    scene.begin()
    scene.until(lambda: "held now: Bustle Skirt (Thimblewick)" in scene.face.lines())
    scene.end()
    told = scene.face.lines()
    scene.begin()
    scene.quiet()
    assert scene.counted.jobs == ["x.pdf"] and scene.face.lines() == told


def test_once_takes_in_what_is_finished_and_ends(scene: Scene) -> None:
    put(scene.downloads, {"x.pdf": TEXT.encode(), "y.pdf.part": b"%PDF", "y.pdf": b""})
    scene.made().once()
    assert scene.face.lines() == ["x.pdf"] and scene.face.told == []
    if sys.platform == "linux":
        with (scene.downloads / "z.pdf").open("wb") as held:
            held.write(b"%PDF-1.4 half")
            held.flush()
            scene.made().once()
        assert scene.face.told == ["1 file is still being written; the next run sees to it"]
    with VaultLock(scene.folder), pytest.raises(StoreError, match="in use"):
        scene.made().once()


def test_the_vault_inside_the_followed_folder_is_left_alone(tmp_path: Path) -> None:
    scene = Scene(tmp_path)
    scene.folders = [tmp_path]
    scene.begin()
    put(scene.downloads, {"x.pdf": TEXT.encode()})
    scene.until(lambda: scene.face.lines() == ["x.pdf"])
    scene.quiet()
    assert scene.counted.jobs == ["x.pdf"], "the copy on the shelf is not news"
    scene.end()


def test_a_link_to_the_folder_is_followed_under_its_own_name(scene: Scene, tmp_path: Path) -> None:
    link = tmp_path / "link"
    try:
        link.symlink_to(scene.downloads, target_is_directory=True)
    except OSError:
        pytest.skip("this system makes no links")
    scene.folders = [link]
    scene.begin()
    put(scene.downloads, {"sub/x.pdf": TEXT.encode()})
    scene.until(lambda: scene.face.lines() == ["x.pdf"])
    with Catalogue.open_read_only(scene.folder.catalogue_path) as catalogue:
        assert catalogue.files()[0].file.sightings[0].path == str(link / "sub" / "x.pdf")


@pytest.mark.skipif(sys.platform != "linux", reason="leases are of Linux")
def test_a_writer_is_seen_and_not_disturbed(tmp_path: Path) -> None:
    path = tmp_path / "x"
    path.write_bytes(b"")
    assert busy.held_open(path) is False
    with path.open("wb") as writer:
        assert busy.held_open(path) is True
        writer.write(b"all of it")
    with path.open("rb"):
        assert busy.held_open(path) is False, "a reader does not matter"
    assert busy.held_open(tmp_path / "none") is None
    assert path.read_bytes() == b"all of it"


class _Deaf(Follower):
    """Follows nothing and says so to nobody: what an interface of the system looks like that lost its events."""

    def follow(self, folder: Path) -> str:
        return ""


class _Clock:
    """The time module with a clock on the wall that can be put on, as by a night's sleep of the computer."""

    def __init__(self) -> None:
        self.ahead = 0.0

    def time(self) -> float:
        return time.time() + self.ahead

    def __getattr__(self, name: str) -> object:
        return getattr(time, name)


def test_after_sleep_everything_is_looked_through(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from vault.intake import watching

    clock = _Clock()
    monkeypatch.setattr(watching, "time", clock)
    scene = Scene(tmp_path, _Deaf)
    scene.begin()
    put(scene.downloads, {"x.pdf": TEXT.encode()})
    time.sleep(0.8)
    assert scene.face.lines() == []
    clock.ahead = 8 * 3600
    scene.until(lambda: scene.face.lines() == ["x.pdf"])
    scene.end()


def test_lost_events_are_made_good_by_a_look_now_and_then(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.modules[__name__], "PACE", Pace(settle=0.2, beat=0.15, through=0.3))
    scene = Scene(tmp_path, _Deaf)
    scene.begin()
    put(scene.downloads, {"x.pdf": TEXT.encode()})
    scene.until(lambda: scene.face.lines() == ["x.pdf"])
    scene.end()


def test_a_vault_that_was_moved_away_is_waited_for_and_no_new_one_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from vault.intake import watching

    monkeypatch.setattr(watching, "_RETRY_TROUBLE", 0.3)
    scene = Scene(tmp_path)
    scene.begin()
    scene.folder.root.rename(tmp_path / "on holiday")
    put(scene.downloads, {"x.pdf": TEXT.encode()})
    scene.until(lambda: any("is gone" in words for words in scene.face.told))
    assert not scene.folder.root.exists()
    (tmp_path / "on holiday").rename(scene.folder.root)
    scene.until(lambda: scene.face.lines() == ["x.pdf"])
    assert len(scene.face.told) == 1, "said once"
    scene.end()
