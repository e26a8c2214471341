"""`pinfold watch` as its user runs it: real processes, real signals, and what it sets up for the login."""

from __future__ import annotations

import json
import os
import plistlib
import shlex
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from xml.etree import ElementTree

import pytest

from vault.catalogue import Catalogue
from vault.cli import login
from vault.errors import ExitStatus, VaultError

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"
posix = pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")


def _heeding() -> None:
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_DFL)


class Run:
    """A running `pinfold watch` and what it said."""

    def __init__(self, root: Path, *words: str) -> None:
        self.log = root / f"said-{time.monotonic_ns()}.txt"
        with self.log.open("wb") as out:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "vault.cli.main", "--vault", str(root / "vault"), "watch", *words],
                stdout=out,
                stderr=subprocess.STDOUT,
                start_new_session=True,
                # what runs the tests may ignore signals (nohup, a job in the background); a child would do so too
                preexec_fn=_heeding if os.name == "posix" else None,
                env={**os.environ, "COLUMNS": "100", "HOME": str(root)},
            )

    def said(self) -> str:
        return self.log.read_text(encoding="utf-8", errors="replace")

    def until(self, words: str, seconds: float = 90) -> None:
        until = time.monotonic() + seconds
        while words not in self.said():
            assert self.process.poll() is None and time.monotonic() < until, self.said()
            time.sleep(0.05)

    def end(self, number: int, *, group: bool = False) -> int:
        (os.killpg if group else os.kill)(self.process.pid, number)
        return self.process.wait(90)


@pytest.fixture
def runs(tmp_path: Path) -> Iterator[list[Run]]:
    made: list[Run] = []
    yield made
    for run in made:
        if run.process.poll() is None:
            run.process.kill()
            run.process.wait(10)


def _vault_problems(root: Path) -> list[str]:
    with Catalogue.open_read_only(root / "vault" / "catalogue.sqlite") as catalogue:
        assert catalogue.check() == []
        return [p.reason for p in catalogue.problems()]


@posix
def test_what_arrives_is_told_and_every_way_to_end_it_is_a_clean_end(tmp_path: Path, runs: list[Run]) -> None:
    downloads = tmp_path / "Downloads"
    downloads.mkdir()
    receipts = [sys.executable, "-m", "vault.cli.main", "--vault", str(tmp_path / "vault"), "import"]
    said = subprocess.run([*receipts, str(DEMO / "receipts")], check=False, capture_output=True)
    assert said.returncode in (0, 1), said.stderr.decode()

    runs.append(Run(tmp_path, str(downloads), "--settle", "0.2"))
    runs[-1].until("Following")
    refused = Run(tmp_path, str(downloads))
    assert refused.process.wait(90) == int(ExitStatus.NOT_DONE)
    assert "a watcher is at work" in refused.said() and str(runs[0].process.pid) in refused.said()
    shutil.copy(DEMO / "downloads" / "Hafenmantel_A4.pdf", downloads)
    runs[-1].until("held now: Schnittmuster Hafenmantel (Nadelhafen Schnitte)")
    assert runs[-1].end(signal.SIGTERM) == 0
    assert runs[-1].said().endswith("Ended; what arrived was taken in.\n")

    # Killed, it holds nothing; what came meanwhile is taken in by the next one.
    runs.append(Run(tmp_path, str(downloads), "--settle", "0.2"))
    runs[-1].until("Following")
    assert runs[-1].end(signal.SIGKILL) == -signal.SIGKILL
    shutil.copy(DEMO / "downloads" / "bonnet.pdf", downloads)
    runs.append(Run(tmp_path, str(downloads), "--settle", "0.2"))
    runs[-1].until("held now: Widow's Walk Bonnet")
    assert "Hafenmantel" not in runs[-1].said()
    assert runs[-1].end(signal.SIGHUP) == 0


@posix
def test_ctrl_c_in_the_middle_of_an_import_leaves_no_lie_behind(tmp_path: Path, runs: list[Run]) -> None:
    """The terminal sends it to the whole group, so the readers of files die with it; that says nothing of the files."""
    downloads = tmp_path / "Downloads"
    downloads.mkdir()
    pages = (DEMO / "downloads" / "Hafenmantel_A4.pdf").read_bytes()
    for n in range(16):
        (downloads / f"{n}.pdf").write_bytes(pages + b"\n%" + str(n).encode())
        os.utime(downloads / f"{n}.pdf", (1e9, 1e9))
    runs.append(Run(tmp_path, str(downloads), "--settle", "0.2"))
    runs[-1].until("Following")
    time.sleep(0.9)
    assert runs[-1].end(signal.SIGINT, group=True) == 0, runs[-1].said()
    if (tmp_path / "vault" / "catalogue.sqlite").exists():
        assert _vault_problems(tmp_path) == []
    again = Run(tmp_path, str(downloads), "--once", "--settle", "0.1")
    assert again.process.wait(120) == 0, again.said()
    with Catalogue.open_read_only(tmp_path / "vault" / "catalogue.sqlite") as catalogue:
        assert len(catalogue.files()) == 16
    assert _vault_problems(tmp_path) == []


# --- at login -----------------------------------------------------------------------------------

AWKWARD = '/home/nora/Meine "Schnitte" 100 % & <mehr> $HOME/pinfold'


def _place(tmp_path: Path, system: str, *words: str) -> login.Place:
    command = (sys.executable, "--vault", AWKWARD, "watch", *words)
    return login.Place(
        system=system, home=tmp_path, config=tmp_path / "c", user="ROOM\\nora & co", uid=1000, command=command
    )


class System:
    """Stands in for systemctl, launchctl, schtasks: remembers what it was asked."""

    def __init__(self, *no: str) -> None:
        self.asked: list[str] = []
        self.no = no

    def __call__(self, step: Sequence[str]) -> tuple[int, str]:
        self.asked.append(" ".join(step))
        refuses = any(word in step for word in self.no)
        return (1, "Failed to connect") if refuses else (0, "active")


@pytest.mark.skipif(
    sys.platform != "linux" or not shutil.which("systemd-analyze"), reason="systemd-analyze is not here"
)
def test_the_unit_passes_systemds_own_check(tmp_path: Path) -> None:
    place = _place(tmp_path, "linux", "/home/nora/Down loads")
    assert login.turn_on(place, System()) is ExitStatus.DONE

    def check(unit: Path) -> str:
        runtime = tmp_path / "run"
        runtime.mkdir(exist_ok=True)
        env = {**os.environ, "XDG_RUNTIME_DIR": str(runtime), "HOME": str(tmp_path)}
        done = subprocess.run(["systemd-analyze", "verify", "--user", str(unit)], capture_output=True, env=env)
        return done.stderr.decode() + done.stdout.decode()

    said = check(place.file)
    if "Failed to initialize manager" in said:
        pytest.skip("systemd-analyze cannot check units on this machine")
    assert said == ""
    broken = tmp_path / "broken.service"
    broken.write_text(place.file.read_text().replace("Restart=on-failure", "Restart=whenever"))
    assert "whenever" in check(broken), "the check finds what is wrong"


def test_the_unit_quotes_as_systemd_reads(tmp_path: Path) -> None:
    """systemd.service(5), "COMMAND LINES": double quotes, backslash escapes, %% and $$."""
    text = login.unit_text(_place(tmp_path, "linux"))
    line = next(x for x in text.splitlines() if x.startswith("ExecStart="))
    words = shlex.split(line.removeprefix("ExecStart="))
    assert [w.replace("%%", "%").replace("$$", "$") for w in words] == [sys.executable, "--vault", AWKWARD, "watch"]
    with pytest.raises(VaultError):
        login.unit_text(_place(tmp_path, "linux", "a\nExecStartPre=/bin/false"))


def test_the_agent_is_a_property_list_that_launchd_takes(tmp_path: Path) -> None:
    """launchd.plist(5): Label and ProgramArguments are needed, the keys used are of the types it names."""
    place = _place(tmp_path, "darwin", "/Users/nora/Downloads")
    system = System()
    assert login.turn_on(place, system) is ExitStatus.DONE
    read = plistlib.loads(place.file.read_bytes(), fmt=plistlib.FMT_XML)
    assert read["Label"] == "pinfold.watch" and place.file.name == f"{read['Label']}.plist"
    assert read["ProgramArguments"] == list(place.command)
    types = {
        "Label": str,
        "ProgramArguments": list,
        "RunAtLoad": bool,
        "KeepAlive": dict,
        "ProcessType": str,
        "LowPriorityIO": bool,
        "StandardOutPath": str,
        "StandardErrorPath": str,
    }
    assert {k: type(v) for k, v in read.items()} == types
    assert system.asked == [f"launchctl bootstrap gui/1000 {place.file}"]


# The order of elements in the Task Scheduler schema, [MS-TSCH] 2.5: taskType, settingsType is xs:all, execActionType is
# a sequence; only what the template uses.
_TASK_ORDER = {
    "Task": ["RegistrationInfo", "Triggers", "Principals", "Settings", "Actions"],
    "LogonTrigger": ["Enabled", "UserId"],
    "Principal": ["UserId", "LogonType", "RunLevel"],
    "Exec": ["Command", "Arguments"],
}
_TASK_SETTINGS = {
    "MultipleInstancesPolicy": {"Parallel", "Queue", "IgnoreNew", "StopExisting"},
    "DisallowStartIfOnBatteries": {"true", "false"},
    "StopIfGoingOnBatteries": {"true", "false"},
    "AllowHardTerminate": {"true", "false"},
    "StartWhenAvailable": {"true", "false"},
    "AllowStartOnDemand": {"true", "false"},
    "Enabled": {"true", "false"},
    "ExecutionTimeLimit": {"PT0S"},
    "Priority": {str(n) for n in range(11)},
}


def test_the_task_has_the_shape_of_the_schedulers_schema(tmp_path: Path) -> None:
    place = _place(tmp_path, "win32", "C:\\Users\\nora\\Down loads")
    system = System()
    assert login.turn_on(place, system) is ExitStatus.DONE
    raw = place.file.read_bytes()
    assert raw.startswith((b"\xff\xfe", b"\xfe\xff")), "the scheduler reads UTF-16 with a mark"
    root = ElementTree.fromstring(raw.decode("utf-16"))
    space = "{http://schemas.microsoft.com/windows/2004/02/mit/task}"
    assert root.tag == space + "Task" and root.get("version") == "1.2"
    for name, order in _TASK_ORDER.items():
        found = root if name == "Task" else next(root.iter(space + name))
        assert [c.tag.removeprefix(space) for c in found] == order
    settings = {c.tag.removeprefix(space): c.text for c in next(root.iter(space + "Settings"))}
    assert set(settings) == set(_TASK_SETTINGS) and all(settings[k] in v for k, v in _TASK_SETTINGS.items())
    assert next(root.iter(space + "UserId")).text == "ROOM\\nora & co"
    assert next(root.iter(space + "Command")).text == sys.executable
    assert next(root.iter(space + "Arguments")).text == subprocess.list2cmdline(place.command[1:])
    assert root.find(f"{space}Actions").get("Context") == root.find(f"{space}Principals/{space}Principal").get("id")  # type: ignore[union-attr]
    assert system.asked == [
        f"schtasks /Create /TN Pinfold watch /XML {place.file} /F",
        "schtasks /Run /TN Pinfold watch",
    ]


@pytest.mark.parametrize("name", ["linux", "darwin", "win32"])
def test_on_and_off_twice_leave_nothing(tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]) -> None:
    place, system = _place(tmp_path, name), System()
    for _ in range(2):
        login.turn_on(place, system)
    assert login.status(place, system) is ExitStatus.DONE
    assert "It runs now." in capsys.readouterr().out
    for _ in range(2):
        login.turn_off(place, system)
    assert [p for p in tmp_path.rglob("*") if not p.is_dir()] == []
    assert login.status(place, System("is-active", "print", "/Query")) is ExitStatus.NEEDS_YOU


def test_a_system_that_cannot_be_reached_now_begins_it_with_the_next_login(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = _place(tmp_path, "linux")
    assert login.turn_on(place, System("daemon-reload")) is ExitStatus.DONE
    said = " ".join(capsys.readouterr().err.split())
    assert "It begins with your next login" in said and "Failed to connect" in said
    link = tmp_path / "c" / "systemd" / "user" / "default.target.wants" / "pinfold-watch.service"
    assert link.resolve() == place.file
    with pytest.raises(VaultError, match="did not take it up"):
        login.turn_on(_place(tmp_path, "win32"), System("/Create"))


def test_the_watched_folders_come_from_the_call_the_settings_or_the_system(tmp_path: Path) -> None:
    """And a file in place of a folder is told in a sentence."""
    vault = tmp_path / "vault"
    file = tmp_path / "x.pdf"
    file.write_bytes(b"%PDF")
    call = [sys.executable, "-m", "vault.cli.main", "--vault", str(vault), "watch", "--once"]
    said = subprocess.run([*call, str(file)], capture_output=True, text=True)
    assert said.returncode == int(ExitStatus.WRONG_USAGE) and "is a file, not a folder" in " ".join(said.stderr.split())
    (tmp_path / "in").mkdir()
    shutil.copy(DEMO / "downloads" / "bonnet.pdf", tmp_path / "in")
    vault.mkdir()
    (vault / "vault.toml").write_text(f"[watch]\nfolders = [{json.dumps(str(tmp_path / 'in'))}]\n")
    said = subprocess.run([*call, "--settle", "0"], capture_output=True, text=True)
    assert said.returncode == 0, said.stderr
    assert "kept, no purchase is known for it yet: bonnet.pdf" in said.stdout
