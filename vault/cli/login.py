"""Watching from login on: one small file for the system that begins programs, from a template of `units/`.

| system | what begins it | file |
|---|---|---|
| Linux | systemd, for the user | `~/.config/systemd/user/pinfold-watch.service` |
| macOS | launchd, an agent | `~/Library/LaunchAgents/pinfold.watch.plist` |
| Windows | Task Scheduler | the task "Pinfold watch", given as XML |

What is written depends on a `Place` alone, so that every system's file can be made and checked on any.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from string import Template
from xml.sax.saxutils import escape

from vault.cli import screen
from vault.cli.session import Session
from vault.errors import ExitStatus, UsageError, VaultError

NAME = "pinfold-watch"
LABEL = "pinfold.watch"
TASK = "Pinfold watch"
# Runs a command of the system's and gives its status and what it said.
Run = Callable[[Sequence[str]], tuple[int, str]]


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where the watcher is set up: the system's kind, the person's home, what is to run."""

    system: str  # "linux", "darwin", "win32"
    home: Path
    config: Path  # where programs keep settings (Linux: XDG_CONFIG_HOME)
    user: str
    uid: int
    command: tuple[str, ...]

    @property
    def file(self) -> Path:
        """The file that the system reads (Windows: that it is given once)."""
        if self.system == "darwin":
            return self.home / "Library" / "LaunchAgents" / f"{LABEL}.plist"
        if self.system == "win32":
            return self.config / f"{NAME}.xml"
        return self.config / "systemd" / "user" / f"{NAME}.service"

    @property
    def wanted(self) -> Path | None:
        """The link by which systemd finds what begins with the login, as `systemctl enable` would make it."""
        if self.system in ("darwin", "win32"):
            return None
        return self.file.parent / "default.target.wants" / self.file.name


def at_login(
    session: Session,
    what: str,
    folders: Sequence[Path],
    *,
    sources: bool = False,
    notify: bool = False,
    run: Run | None = None,
) -> ExitStatus:
    """Sets the watcher up for the person's login (`on`), takes it away (`off`), or says how it stands (`status`)."""
    place = place_here(session, folders, sources=sources, notify=notify)
    asked = {"on": turn_on, "off": turn_off, "status": status}.get(what)
    if asked is None:
        raise UsageError(f"not one of on, off, status: {what!r}", "for example: pinfold watch --at-login on")
    return asked(place, run or _run)


def place_here(session: Session, folders: Sequence[Path], *, sources: bool, notify: bool = False) -> Place:
    """This computer, this person, this vault."""
    import getpass

    home = Path.home()
    config = os.environ.get("XDG_CONFIG_HOME") or str(home / ".config")
    if sys.platform == "win32":
        config = os.environ.get("LOCALAPPDATA") or str(home)
    return Place(
        system="linux" if sys.platform.startswith("linux") else sys.platform,
        home=home,
        config=Path(config),
        user=_full_user(getpass.getuser()),
        uid=os.getuid() if hasattr(os, "getuid") else 0,
        command=(
            *program(),
            "--vault",
            str(session.folder().root),
            "watch",
            *map(str, folders),
            *(["--sources"] if sources else []),
            *(["--notify"] if notify else []),
        ),
    )


def program() -> tuple[str, ...]:
    """How to call this very program from anywhere, without a window of its own on Windows."""
    here = Path(sys.executable)
    if sys.platform == "win32":
        windowless = here.with_name("pythonw.exe")
        return (str(windowless if windowless.exists() else here), "-P", "-m", "vault.cli.main")
    script = here.with_name("pinfold")
    return (str(script),) if script.exists() else (str(here), "-P", "-m", "vault.cli.main")


def _full_user(name: str) -> str:
    domain = os.environ.get("USERDOMAIN", "")
    return f"{domain}\\{name}" if sys.platform == "win32" and domain else name


# --- the files ----------------------------------------------------------------------------------


def unit_text(place: Place) -> str:
    """What the file for the system says."""
    make = {"darwin": _launchd, "win32": _task}.get(place.system, _systemd)
    return make(place)


def _template(name: str) -> Template:
    return Template((files("vault.cli") / "units" / name).read_text(encoding="utf-8"))


def _systemd(place: Place) -> str:
    return _template(f"{NAME}.service").substitute(command=" ".join(_systemd_word(w) for w in place.command))


def _systemd_word(word: str) -> str:
    """A word of ExecStart as systemd.service(5) and systemd.syntax(7) quote it: %, $ and escapes are its own signs."""
    if any(ord(c) < 32 for c in word):
        raise VaultError(f"a path with a line break cannot be set up: {word!r}", "rename that folder")
    said = word.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%").replace("$", "$$")
    return f'"{said}"'


def _launchd(place: Place) -> str:
    return _template(f"{NAME}.plist").substitute(
        label=LABEL,
        arguments="\n".join(f"    <string>{escape(_xml(w))}</string>" for w in place.command),
        log=escape(_xml(str(place.home / "Library" / "Logs" / f"{NAME}.log"))),
    )


def _task(place: Place) -> str:
    return _template(f"{NAME}.xml").substitute(
        user=escape(_xml(place.user)),
        command=escape(_xml(place.command[0])),
        arguments=escape(_xml(subprocess.list2cmdline(place.command[1:]))),
    )


def _xml(text: str) -> str:
    """`text`, if XML 1.0 can hold it."""
    if any(ord(c) < 32 or 0xD800 <= ord(c) <= 0xDFFF for c in text):
        raise VaultError(f"a path with signs that are no text cannot be set up: {text!r}", "rename that folder")
    return text


# --- doing it -----------------------------------------------------------------------------------


def turn_on(place: Place, run: Run) -> ExitStatus:
    """Writes the file and tells the system.  Raises VaultError with the next step where that cannot be done."""
    text = unit_text(place)
    encoding = "utf-16" if place.system == "win32" else "utf-8"
    place.file.parent.mkdir(parents=True, exist_ok=True)
    screen.write_file(place.file, text.encode(encoding))
    if place.wanted is not None:
        place.wanted.parent.mkdir(parents=True, exist_ok=True)
        place.wanted.unlink(missing_ok=True)
        place.wanted.symlink_to(place.file)
    why = next((said for step in _ON[place.system](place) if (said := _said_no(step, run))), "")
    if why and place.system == "win32":
        raise VaultError(f"the system did not take it up ({why})", "set it up as the user who logs in", code="at-login")
    if why:
        screen.tell(f"It begins with your next login. It could not be begun now ({why}): pinfold watch")
    else:
        screen.tell("It begins with your login from now on, and it has begun.")
    screen.tell("Take it back: pinfold watch --at-login off")
    return ExitStatus.DONE


def turn_off(place: Place, run: Run) -> ExitStatus:
    """Ends it, and takes away what `on` wrote.  Doing it twice is no error."""
    if not place.file.exists() and place.system != "win32":
        screen.tell("It does not begin with your login; there is nothing to take back.")
        return ExitStatus.DONE
    for step in _OFF[place.system](place):
        run(step)  # what is off already cannot be turned off; the file decides
    place.file.unlink(missing_ok=True)
    if place.wanted is not None:
        place.wanted.unlink(missing_ok=True)
    if place.system == "linux":
        run(("systemctl", "--user", "daemon-reload"))
    screen.tell("It no longer begins with your login.")
    return ExitStatus.DONE


def status(place: Place, run: Run) -> ExitStatus:
    """Says whether it begins with the login and whether it runs; NEEDS_YOU if it does not begin."""
    there = place.file.exists()
    code, said = run(_STATUS[place.system](place))
    if place.system == "win32":
        there = code == 0
    if not there:
        screen.say(["It does not begin with your login. Set it up: pinfold watch --at-login on"])
        return ExitStatus.NEEDS_YOU
    running = code == 0 and (place.system != "linux" or said.strip() == "active")
    screen.say([f"It begins with your login ({place.file}).", "It runs now." if running else "It does not run now."])
    return ExitStatus.DONE


def _domain(place: Place) -> str:
    return f"gui/{place.uid}"


_Steps = Callable[[Place], list[tuple[str, ...]]]
_ON: dict[str, _Steps] = {
    "linux": lambda p: [
        ("systemctl", "--user", "daemon-reload"),
        ("systemctl", "--user", "restart", f"{NAME}.service"),
    ],
    "darwin": lambda p: [("launchctl", "bootstrap", _domain(p), str(p.file))],
    "win32": lambda p: [
        ("schtasks", "/Create", "/TN", TASK, "/XML", str(p.file), "/F"),
        ("schtasks", "/Run", "/TN", TASK),
    ],
}
_OFF: dict[str, _Steps] = {
    "linux": lambda p: [("systemctl", "--user", "stop", f"{NAME}.service")],
    "darwin": lambda p: [("launchctl", "bootout", f"{_domain(p)}/{LABEL}")],
    "win32": lambda p: [("schtasks", "/End", "/TN", TASK), ("schtasks", "/Delete", "/TN", TASK, "/F")],
}
_STATUS: dict[str, Callable[[Place], tuple[str, ...]]] = {
    "linux": lambda p: ("systemctl", "--user", "is-active", f"{NAME}.service"),
    "darwin": lambda p: ("launchctl", "print", f"{_domain(p)}/{LABEL}"),
    "win32": lambda p: ("schtasks", "/Query", "/TN", TASK),
}


def _said_no(step: Sequence[str], run: Run) -> str:
    """What the system said against a step; "" if it did it."""
    code, said = run(step)
    return "" if code == 0 else f"{step[0]}: {' '.join(said.split())[:200] or f'status {code}'}"


def _run(step: Sequence[str]) -> tuple[int, str]:
    """Runs a command of the system's; one that is not there counts as failed, with words."""
    try:
        done = subprocess.run(
            step,
            capture_output=True,
            timeout=60,
            check=False,
            stdin=subprocess.DEVNULL,
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
    except FileNotFoundError:
        return 127, f"there is no {step[0]} on this computer"
    except (OSError, subprocess.TimeoutExpired) as error:
        return 126, str(error)
    return done.returncode, (done.stdout + b" " + done.stderr).decode("utf-8", "replace").strip()
