"""A file that hangs, crashes or swells costs only itself; workers are kept, recycled, and end with their parent."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest
from rawpdf import RawPdf, words

from vault.model.pattern import FileReading
from vault.patterns import guard as guard_module
from vault.patterns.guard import Guard, Job

HERE = Path(__file__).resolve().parent


@pytest.fixture
def module(monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv("PYTHONPATH", str(HERE))
    return "misbehaving_worker"


def _children() -> set[int]:
    return {child.pid for child in psutil.Process().children(recursive=True)}


@pytest.fixture(autouse=True)
def nothing_is_left() -> Iterator[None]:
    before = _children()
    yield
    left = [psutil.Process(pid) for pid in _children() - before if psutil.pid_exists(pid)]
    assert [p for p in left if p.status() == psutil.STATUS_ZOMBIE] == []
    assert left == []


def _pdf(path: Path, text: str = "Cut 2 on fold") -> Path:
    pdf = RawPdf()
    pdf.page(words(text, 50, 700))
    path.write_bytes(pdf.finish())
    return path


def _read(guard: Guard, path: Path, name: str) -> FileReading:
    return guard.read(path, media_type="text/plain", name=name)


@pytest.mark.parametrize(
    ("text", "handed_over"),
    [
        ("Invoice 2291 of 7 March 2026", True),
        ("Sewing pattern. Cut 2 sleeves on fold. Sew the side seams. Seam allowance 1 cm.", False),
    ],
)
def test_a_pdf_comes_back_as_values(tmp_path: Path, text: str, handed_over: bool) -> None:
    """The words themselves only where a receipt reader may want them: a pattern is no receipt."""
    with Guard(workers=1) as guard:
        reading = guard.read(_pdf(tmp_path / "a.pdf", text), media_type="application/pdf", name="a.pdf")
    assert reading.problem is None
    assert reading.facts.pages == 1
    assert reading.facts.is_pattern is not handed_over
    assert reading.pdf is not None
    assert [run.text for run in reading.pdf.pages[0].runs] == ([text] if handed_over else [])


def test_many_come_back_in_the_order_given(tmp_path: Path) -> None:
    paths = [_pdf(tmp_path / f"{n}.pdf", f"file {n}") for n in range(60)]
    taken: list[int] = []

    def jobs() -> Iterator[Job]:
        for number, path in enumerate(paths):
            taken.append(number)
            yield Job(path=path, media_type="application/pdf", name=path.name, key=number)

    with Guard(workers=2) as guard:
        keys = []
        for job, reading in guard.read_many(jobs()):
            if not keys:
                assert len(taken) <= 40  # jobs are taken as they are needed
            keys.append(job.key)
            assert reading.facts.text.strip() == f"file {job.key}"
    assert keys == list(range(60))


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("hang", "took longer than 1 seconds"),
        ("spin", "took longer than 1 seconds"),
        ("crash", "its reader crashed"),
        ("exit", "its reader crashed"),
        ("swell", "more memory"),
    ],
)
def test_trouble_costs_only_its_file(tmp_path: Path, module: str, name: str, said: str) -> None:
    path = tmp_path / "file"
    path.touch()
    with Guard(workers=1, seconds=1, max_bytes=256 << 20, module=module) as guard:
        assert _read(guard, path, "first").problem is None
        bad = _read(guard, path, name)
        assert _read(guard, path, "after").problem is None
    assert bad.problem is not None
    assert bad.problem.source == name
    assert said in bad.problem.reason
    assert bad.problem.next
    assert bad.facts.pages == 7  # what can be told without its pages is told
    assert any(said in why for why in bad.facts.why)


def test_a_file_that_fails_the_light_reading_too_still_has_its_problem(tmp_path: Path, module: str) -> None:
    path = tmp_path / "file"
    path.touch()
    with Guard(workers=1, seconds=5, module=module) as guard:
        bad = _read(guard, path, "crash even-light")
    assert bad.problem is not None
    assert bad.facts.pages is None


def test_a_crash_after_other_files_is_given_a_fresh_worker_once(tmp_path: Path, module: str) -> None:
    path = tmp_path / "file"
    path.touch()
    with Guard(workers=1, module=module) as guard:
        _read(guard, path, "first")
        assert _read(guard, path, "flaky").problem is None


def test_bad_files_among_good_ones(tmp_path: Path, module: str) -> None:
    path = tmp_path / "file"
    path.touch()
    names = ["a", "crash", "b", "hang", "c", "exit", "d"]
    jobs = [Job(path=path, media_type="text/plain", name=name) for name in names]
    with Guard(workers=2, seconds=1, module=module) as guard:
        found = [(job.name, reading.problem is None) for job, reading in guard.read_many(jobs)]
    assert found == [(name, len(name) == 1) for name in names]


def test_a_lying_worker_is_not_believed(tmp_path: Path, module: str, monkeypatch: pytest.MonkeyPatch) -> None:
    mark = tmp_path / "mark"
    monkeypatch.setenv("LIAR_MARK", str(mark))
    path = tmp_path / "file"
    path.touch()
    with Guard(workers=1, module=module) as guard:
        bad = _read(guard, path, "lie")
    assert bad.problem is not None
    assert not mark.exists()


def test_chatter_of_a_library_does_not_disturb(tmp_path: Path, module: str) -> None:
    path = tmp_path / "file"
    path.touch()
    with Guard(workers=1, module=module) as guard:
        assert _read(guard, path, "chatter").problem is None
        assert _read(guard, path, "next").problem is None


def test_one_worker_serves_many_files_and_is_recycled(
    tmp_path: Path, module: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guard_module, "RECYCLE_AFTER", 3)
    path = tmp_path / "file"
    path.touch()
    with Guard(workers=2, module=module) as guard:
        pids = [(_read(guard, path, "x").facts.title or "").split()[-1] for _ in range(7)]
    assert [pids.count(pid) for pid in dict.fromkeys(pids)] == [3, 3, 1]


def test_a_file_that_is_gone(tmp_path: Path) -> None:
    with Guard(workers=1) as guard:
        reading = guard.read(tmp_path / "gone.pdf", media_type="application/pdf", name="gone.pdf")
    assert reading.problem is not None
    assert reading.problem.reason == "the file is gone"


def test_names_that_are_no_unicode(tmp_path: Path) -> None:
    name = os.fsdecode(b"gr\xf6sse.pdf")
    path = tmp_path / name
    try:
        _pdf(path)
    except OSError:
        pytest.skip("this file system takes Unicode names only")
    with Guard(workers=1) as guard:
        assert guard.read(path, media_type="application/pdf", name=name).facts.pages == 1


@pytest.mark.parametrize("pause", [0, 0.02, 0.06, 0.12, 0.2])
def test_leaving_in_the_middle_ends_the_workers(tmp_path: Path, module: str, pause: float) -> None:
    """Whatever the workers are at: starting, reading, or about to be given the next file."""
    path = tmp_path / "file"
    path.touch()
    jobs = [Job(path=path, media_type="text/plain", name=name) for name in ("a", "hang", "hang", "b")]
    started = time.monotonic()
    with pytest.raises(KeyError), Guard(workers=2, seconds=60, module=module) as guard:
        for _ in guard.read_many(jobs):
            time.sleep(pause)
            raise KeyError
    assert time.monotonic() - started < 10


def test_page_pictures_are_made_in_the_worker(tmp_path: Path) -> None:
    with Guard(workers=1) as guard:
        picture = guard.picture(_pdf(tmp_path / "a.pdf"), media_type="application/pdf")
        assert guard.picture(tmp_path / "gone.pdf", media_type="application/pdf") is None
    assert picture is not None
    assert picture.startswith(b"\x89PNG")


def test_a_guard_is_used_inside_its_with_block(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError):
        Guard().read(tmp_path, media_type="", name="")


PARENT = """
import sys, time
from pathlib import Path
from vault.patterns.guard import Guard, Job
if __name__ == "__main__":
    path = Path(sys.argv[1])
    with Guard(workers=2, seconds=600, module="misbehaving_worker") as guard:
        guard.read(path, media_type="text/plain", name="warm")
        jobs = [Job(path=path, media_type="text/plain", name=name) for name in ("hang", "hang", "hang")]
        print("ready", flush=True)
        for _ in guard.read_many(jobs):
            pass
"""


@pytest.mark.kill
@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL")
def test_workers_end_with_a_killed_parent(tmp_path: Path, module: str) -> None:
    path = tmp_path / "file"
    path.touch()
    parent = subprocess.Popen([sys.executable, "-c", PARENT, str(path)], stdout=subprocess.PIPE, text=True)
    assert parent.stdout is not None
    assert parent.stdout.readline() == "ready\n"
    end = time.monotonic() + 10
    while len(workers := psutil.Process(parent.pid).children()) < 2 and time.monotonic() < end:
        time.sleep(0.05)
    assert len(workers) == 2
    os.kill(parent.pid, signal.SIGKILL)
    parent.wait()
    parent.stdout.close()
    _, alive = psutil.wait_procs(workers, timeout=10)
    for process in alive:
        process.kill()
    assert alive == []
