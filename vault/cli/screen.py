"""Standard output, standard error, progress and questions to the person."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterable
from pathlib import Path

from vault.cli.session import style
from vault.errors import UsageError, VaultError
from vault.reports.text import ascii_only, clip, plain, wrap


def write(text: str, stream_name: str = "stdout") -> None:
    """One line on a stream, in whatever the stream can encode."""
    stream = getattr(sys, stream_name)
    try:
        stream.write(text + "\n")
    except UnicodeEncodeError:
        stream.write(ascii_only(text) + "\n")


def say(lines: Iterable[str]) -> None:
    """Lines on standard output."""
    for line in lines:
        write(line)


def say_json(value: object) -> None:
    """Pure JSON on standard output, UTF-8 whatever the terminal's encoding."""
    from vault.reports.rows import dumps

    reconfigure = getattr(sys.stdout, "reconfigure", None)
    if reconfigure:
        reconfigure(encoding="utf-8", newline="\n")
    write(dumps(value))


def tell(text: str) -> None:
    """A remark on standard error, wrapped."""
    for line in wrap(text, style().columns, keep_long=True):
        write(line, "stderr")


def tell_error(error: VaultError) -> None:
    """An expected error in one sentence, with the next step below it."""
    tell(f"pinfold: {plain(error.message)}")
    if error.next_step:
        tell(f"  what to do: {plain(error.next_step)}")


def write_file(path: Path, content: bytes, *, private: bool = False) -> None:
    """Writes a report to `path` all at once (temporary file, then rename); raises VaultError with the next step.

    `private`: only the owner may read it, where the system knows such a thing.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        beside.touch(mode=0o600 if private else 0o666)
        beside.write_bytes(content)
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise VaultError(
            f"cannot write {path}: {error.strerror}", "name a file in a folder that you can write to"
        ) from None
    tell(f"written: {path}")


class Progress:
    """A line on standard error that says how far long work is; silent where nobody watches.

    Nothing is shown in the first second, so short work stays quiet.
    """

    def __init__(self, *, quiet: bool = False) -> None:
        self._on = not quiet and sys.stderr.isatty()
        self._begun = self._last = time.monotonic()
        self._shown = 0

    def __call__(self, done: int, total: int | None, words: str) -> None:
        """`done` of `total` (None: unknown), `words` names what is at work."""
        now = time.monotonic()
        if not self._on or now - self._begun < 1 or now - self._last < 0.1:
            return
        self._last = now
        count = f"{done}/{total}" if total else str(done)
        line = clip(f"{count}  {plain(words)}", max(20, style().columns - 1))
        sys.stderr.write("\r" + ascii_only(line).ljust(self._shown))
        sys.stderr.flush()
        self._shown = len(line)

    def finish(self) -> None:
        """Wipes the line."""
        if self._shown:
            sys.stderr.write("\r" + " " * self._shown + "\r")
            sys.stderr.flush()
            self._shown = 0


def interactive() -> bool:
    """Whether a person sits at both ends."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def ask(prompt: str) -> str:
    """One line typed by the person.  Raises UsageError where nobody can answer."""
    if not interactive():
        raise UsageError("there is no terminal to ask on", "give the answer as an option (see --help)")
    sys.stderr.write(prompt)
    sys.stderr.flush()
    line = sys.stdin.readline()
    if not line:
        raise UsageError("no answer was given")
    return line.strip()


def ask_secret(prompt: str) -> str:
    """A passphrase typed without echo."""
    if not interactive():
        raise UsageError(
            "a passphrase is needed and there is no terminal to ask on",
            "put it into a file that only you can read and name it with --passphrase-file",
        )
    from getpass import getpass

    return getpass(prompt, stream=sys.stderr)
