"""The entry point: global options, and errors turned into words and an exit status in one place.

Commands live in modules that are imported only when their command runs, so that `--help` stays as quick as typer.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from vault import __version__
from vault.cli import (
    ask,
    bring,
    claiming,
    decide,
    handover,
    overview,
    proof,
    regain,
    reminding,
    rights,
    safe,
    screen,
    shop,
    sources,
    watching,
)
from vault.cli import demo as demo_command
from vault.cli.session import Session, parse_day
from vault.errors import ExitStatus, UsageError, VaultError

# Global options may stand before or after the command's name.
_WITH_VALUE = ("--vault", "--as-of")
_FLAGS = ("--quiet",)

app = typer.Typer(
    name="pinfold",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="Keeps what you bought as pattern downloads: proof, files, licence, backups.",
    epilog="Begin with: pinfold demo, or: pinfold import FOLDER",
)


def _version(asked: bool) -> None:
    if asked:
        screen.write(f"pinfold {__version__}")
        raise typer.Exit(0)


@app.callback(invoke_without_command=True)
def begin(
    ctx: typer.Context,
    vault: Annotated[Path | None, typer.Option("--vault", metavar="DIR", help="The vault folder.")] = None,
    as_of: Annotated[str | None, typer.Option("--as-of", metavar="DATE", help="Answer as on that day.")] = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Say only what is needed.")] = False,
    version: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help="Say which.")] = False,
) -> None:
    """Keeps what you bought as pattern downloads: proof, files, licence, backups."""
    ctx.obj = Session(vault=vault, as_of=parse_day(as_of) if as_of else None, quiet=quiet)
    if ctx.invoked_subcommand is None:
        overview.first_words(ctx.obj)


for module in (
    bring,
    watching,
    sources,
    ask,
    decide,
    shop,
    reminding,
    claiming,
    rights,
    overview,
    proof,
    safe,
    regain,
    handover,
    demo_command,
):
    module.add_to(app)


def hoist(words: list[str]) -> list[str]:
    """`words` with the global options moved to the front, where typer looks for them."""
    front: list[str] = []
    rest: list[str] = []
    n = 0
    while n < len(words):
        word = words[n]
        if word == "--":
            rest += words[n:]
            break
        if word in _WITH_VALUE and n + 1 < len(words):
            front += words[n : n + 2]
            n += 1
        elif word in _FLAGS or word.startswith(tuple(f"{w}=" for w in _WITH_VALUE)):
            front.append(word)
        else:
            rest.append(word)
        n += 1
    return front + rest


def main() -> None:
    """Runs the command line of this process and exits with its status."""
    try:
        app(hoist(sys.argv[1:]))
    except UsageError as error:
        _end(error, ExitStatus.WRONG_USAGE)
    except VaultError as error:
        _end(error, error.exit_status)
    except KeyboardInterrupt:
        screen.tell("stopped; what was done so far is kept")
        sys.exit(130)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(ExitStatus.DONE)
    except Exception as fault:
        if os.environ.get("PINFOLD_DEBUG"):
            raise
        _end(_reported(fault), ExitStatus.NOT_DONE)


def _reported(fault: Exception) -> VaultError:
    """Writes what went wrong into a file for those who mend it, and says where."""
    import tempfile
    import traceback

    words = f"pinfold {__version__} came upon a fault of its own ({type(fault).__name__})"
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="pinfold-fault-", suffix=".txt", delete=False, encoding="utf-8", errors="replace"
        ) as report:
            report.write(f"pinfold {__version__}, Python {sys.version}, {sys.platform}\n\n")
            traceback.print_exception(fault, file=report)
    except OSError:
        return VaultError(words, "set PINFOLD_DEBUG=1 and run it again to see all of it", code="fault")
    return VaultError(words, f"what was done so far is kept; {report.name} tells those who mend it", code="fault")


def _end(error: VaultError, status: ExitStatus) -> None:
    sys.stdout.flush()
    screen.tell_error(error)
    sys.exit(int(status))


if __name__ == "__main__":
    main()
