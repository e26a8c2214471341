"""The command that follows folders: watch, and its place at login."""

from __future__ import annotations

import contextlib
import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from vault.cli import screen
from vault.cli.bring import downloads_folder, draw_pictures
from vault.cli.session import Session, style
from vault.errors import ExitStatus, StoreError, UsageError

if TYPE_CHECKING:
    from vault.intake.summary import IngestSummary
    from vault.intake.watching import Watcher

_MOST_LISTED = 20
_SOURCES_EVERY = 3600.0  # seconds
# What ends a watcher: Ctrl-C, the system's request to end, the end of the login session.
_ENDING = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")

# Called after each batch that was taken in, and on each new day (at the start too): what hangs on what has arrived or
# on the day.  What they raise ends the watcher, so they catch their own troubles.
AFTER_BATCH: list[Callable[[Session, IngestSummary], None]] = []
EACH_DAY: list[Callable[[Session], None]] = []


def watch(
    ctx: typer.Context,
    folders: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="FOLDER...", help="What to follow; else the folders in vault.toml, else your downloads."
        ),
    ] = None,
    once: Annotated[bool, typer.Option("--once", help="Take in what is there and finished, then end.")] = False,
    at_login: Annotated[
        str | None, typer.Option("--at-login", metavar="on|off|status", help="Begin with your login, or no more.")
    ] = None,
    sources: Annotated[
        bool, typer.Option("--sources", help="Every hour read the remembered sources too (pinfold source list).")
    ] = False,
    notify: Annotated[
        bool, typer.Option("--notify", help="Show a desktop notice of what is due, at most once a day each.")
    ] = False,
    settle: Annotated[
        float, typer.Option("--settle", metavar="SECONDS", help="A file that is the same for so long is finished.")
    ] = 2.0,
) -> None:
    """Follow your downloads folder and take in what arrives.

    Each file is taken in when it is finished, and told in a line. Ctrl-C ends it. Exit status 1 if --once found
    something that could not be read, or if it does not begin at login (--at-login status).

    Example: pinfold watch ~/Downloads
    """
    session: Session = ctx.obj
    if not 0 <= settle <= 3600:
        raise UsageError(f"not a number of seconds: {settle:g}", "give one from 0 to 3600, such as --settle 2")
    if at_login is not None:
        from vault.cli.login import at_login as arrange

        named = [_given(f) for f in folders or ()]
        raise typer.Exit(int(arrange(session, at_login, named, sources=sources, notify=notify)))
    chosen = folders_to_watch(session, folders or ())
    if notify:
        from vault.cli.reminding import DueNotices

        told = DueNotices()
        AFTER_BATCH.append(told)
        EACH_DAY.append(told)
    raise typer.Exit(int(follow(session, chosen, once=once, settle=settle, sources=sources)))


def folders_to_watch(session: Session, named: tuple[Path, ...] | list[Path]) -> list[Path]:
    """The folders that were named, else those of vault.toml, else the downloads folder.  UsageError for a file."""
    folders = [_given(f) for f in named]
    if not folders:
        folders = [_given(Path(f)) for f in session.folder().settings().watch_folders] or [downloads_folder()]
    for folder in folders:
        if folder.exists() and not folder.is_dir():
            raise UsageError(f"{folder} is a file, not a folder", f"name its folder: pinfold watch {folder.parent}")
    return folders


def _given(folder: Path) -> Path:
    return Path.cwd() / folder.expanduser()


def follow(session: Session, folders: list[Path], *, once: bool, settle: float, sources: bool = False) -> ExitStatus:
    """Follows `folders` until the person or the system ends it; with `once` only takes in what is there.

    With `sources` the remembered sources are read too, every hour.
    """
    from vault.intake.only_watcher import only_watcher
    from vault.intake.watching import Pace, Stopped, Watcher

    vault = session.folder()
    is_new = not vault.exists()
    with only_watcher(vault):
        face = _Face(session, sources=sources)
        if is_new:
            face.tell(f"A new vault is made in {vault.root}")
        # An empty file is given more time: programs lay it first and fill it later.
        pace = Pace(settle=settle, settle_empty=settle if once else 15 * settle)
        watcher = Watcher(
            folder=vault, folders=folders, face=face, pace=pace, day=lambda: session.as_of or date.today()
        )
        face.is_ending = lambda: watcher.stopping
        with _ended_by_signals(watcher):
            if once:
                watcher.once()
                with contextlib.suppress(Stopped):
                    face.read_sources()
            else:
                where = ", ".join(str(f) for f in folders)
                face.tell(f"Following {where}; nothing there is changed. Ctrl-C ends it.")
                face.each_day()
                watcher.run()
                face.tell("Ended; what arrived was taken in.")
        face.finish()
    return ExitStatus.NEEDS_YOU if once and face.has_problems else ExitStatus.DONE


@contextmanager
def _ended_by_signals(watcher: Watcher) -> Iterator[None]:
    """While the block runs, what ends a process asks the watcher to end."""
    before = {}
    for name in _ENDING:
        number = getattr(signal, name, None)
        # A signal that is ignored from outside (nohup) stays so.
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            before[number] = signal.signal(number, lambda *_: watcher.stop())
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


class _Face:
    """Tells of the watching in lines, with the time of day on a terminal; a log has its own."""

    def __init__(self, session: Session, *, sources: bool) -> None:
        self._session = session
        self._sources = sources
        self._sources_due = 0.0
        self.is_ending: Callable[[], bool] = lambda: False
        self._progress = screen.Progress(quiet=session.quiet)
        self._clock = sys.stdout.isatty()
        self._questions = 0
        self._told_older = False
        self._day: date | None = None
        self.has_problems = False

    def tell(self, words: str) -> None:
        """A remark on the watching itself: to standard error."""
        self._progress.finish()
        if not self._session.quiet:
            screen.tell(words)
            sys.stderr.flush()

    def took(self, summary: IngestSummary) -> None:
        """What a batch brought: to standard output, a line each."""
        self._progress.finish()
        lines = [*summary.titles]
        troubled = {Path(p.source).name for p in summary.problems_new}
        lines += [f"kept, no purchase is known for it yet: {n}" for n in summary.unclaimed if n not in troubled]
        lines = _shortened(lines)
        for problem in summary.problems_new:
            name = Path(problem.source).name
            lines.append(f"{name}: {problem.reason}" + (f"; what to do: {problem.next}" if problem.next else ""))
        older = len(summary.problems) - len(summary.problems_new)
        if older and not self._told_older:
            lines.append(f"could not be read earlier: {older} (pinfold status --unread)")
            self._told_older = True
        self.has_problems = self.has_problems or bool(summary.problems)
        if summary.questions > self._questions:
            lines.append(f"waiting for your answer: {summary.questions} (pinfold settle)")
        self._questions = summary.questions
        self._say(lines)
        if summary.files_new:
            draw_pictures(self._session, self._progress)
            self._progress.finish()
        for hook in AFTER_BATCH:
            hook(self._session, summary)

    def progress(self, done: int, total: int | None, words: str) -> None:
        """A long import goes on."""
        self._progress(done, total, words)

    def beat(self) -> None:
        """Every few seconds: sees whether a new day has begun, or the sources are to be read again."""
        self.each_day()
        if self._sources and time.monotonic() >= self._sources_due:
            try:
                self.read_sources()
            except StoreError as error:
                if not error.code.endswith("locked"):
                    raise  # else it is tried again with the next beat

    def read_sources(self) -> None:
        """Reads the remembered sources, if that is wanted.  Raises StoreError where the vault is in use."""
        from vault.cli.sources import inputs_of, mark_read, remembered
        from vault.intake.ingest import ingest

        again = remembered(self._session) if self._sources else ()
        with inputs_of(self._session, again, may_ask=False) as inputs:
            if inputs:
                vault = self._session.folder()
                self.took(ingest(vault, inputs, progress=self._while_reading, day=self._session.day))
        mark_read(self._session, again)
        self._sources_due = time.monotonic() + _SOURCES_EVERY

    def _while_reading(self, done: int, total: int | None, words: str) -> None:
        if self.is_ending():
            from vault.intake.watching import Stopped

            raise Stopped
        self._progress(done, total, words)

    def each_day(self) -> None:
        """Does what is to be done once a day."""
        if self._session.day != self._day:
            self._day = self._session.day
            for hook in EACH_DAY:
                hook(self._session)

    def finish(self) -> None:
        """Wipes the line of progress."""
        self._progress.finish()

    def _say(self, lines: list[str]) -> None:
        from vault.reports.text import plain, wrap

        st = style()
        stamp = f"{time.strftime('%H:%M')}  " if self._clock else ""
        for line in lines:
            screen.say(st.finish(part) for part in wrap(plain(line), st.columns, first=stamp, rest=" " * len(stamp)))
        sys.stdout.flush()


def _shortened(lines: list[str]) -> list[str]:
    if len(lines) <= _MOST_LISTED:
        return lines
    return [*lines[:_MOST_LISTED], f"... and {len(lines) - _MOST_LISTED} more (pinfold files lists them)"]


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command()(watch)
