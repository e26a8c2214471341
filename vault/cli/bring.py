"""The commands that bring something in: import, record."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vault.cli import screen
from vault.cli.session import Session, parse_day, style
from vault.errors import ExitStatus, UsageError

if TYPE_CHECKING:
    from decimal import Decimal

    from vault.intake.ingest import IngestSummary
    from vault.model.source import Source
    from vault.safekeeping.folder import VaultFolder

JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON (docs/json.md).")]
_MOST_LISTED = 12


def import_(
    ctx: typer.Context,
    paths: Annotated[
        list[str] | None,
        typer.Argument(metavar="PATH...", help="Receipts, files, folders, mailboxes; - is standard input."),
    ] = None,
    keep: Annotated[bool, typer.Option("--keep", help="Keep even what is neither receipt nor pattern.")] = False,
    sources: Annotated[bool, typer.Option("--sources", help="Read every source too (pinfold source list).")] = False,
    json: JsonOption = False,
) -> None:
    """Take in receipts and files, whatever they are.

    Folders are walked, zips opened, nothing is moved or changed. Without a path the sources are read that are
    remembered. Exit status 1 if something could not be read.

    Example: pinfold import ~/Downloads ~/Mail/receipts.mbox
    """
    from vault.cli.sources import remembered

    session: Session = ctx.obj
    again = remembered(session) if sources or not paths else ()
    if sources and not again:
        raise UsageError("no source is remembered", "remember one: pinfold source add FOLDER, or: pinfold source find")
    named = list(paths or ([] if again else _offered_folder()))
    summary = bring_in(session, named, keep=keep, again=again)
    if json:
        screen.say_json(summary_row(summary))
    else:
        screen.say(summary_lines(summary, session))
    raise typer.Exit(int(ExitStatus.NEEDS_YOU if summary.problems else ExitStatus.DONE))


def bring_in(
    session: Session, sources: list[str], *, keep: bool = False, again: Sequence[Source] = ()
) -> IngestSummary:
    """Imports what is named, and the remembered sources `again`, into the session's vault; it is made if need be."""
    from vault.cli.sources import inputs_of, mark_read
    from vault.intake.ingest import ingest

    folder = session.folder()
    if not folder.exists():
        folder.create()
        if not session.quiet:
            screen.tell(f"A new vault is made in {folder.root}")
    with inputs_of(session, again) as remembered:
        progress = screen.Progress(quiet=session.quiet)
        try:
            named = [_source(s) for s in sources]
            summary = ingest(folder, [*named, *remembered], keep=keep, progress=progress, day=session.day)
            if summary.files_new:
                draw_pictures(session, progress)
        finally:
            progress.finish()
    mark_read(session, again)
    return summary


def draw_pictures(session: Session, progress: screen.Progress) -> None:
    """Pictures of the new patterns; an import that succeeded does not fail for want of them."""
    from vault.errors import VaultError
    from vault.intake.thumbnails import draw

    with contextlib.suppress(VaultError), session.reading() as catalogue:
        draw(session.folder(), catalogue.pattern_files(), progress=progress)


def _source(text: str) -> Any:
    from vault.intake.ingest import StandardInput

    if text == "-":
        import sys

        return StandardInput(sys.stdin.buffer.read())
    return Path(text).expanduser()


def downloads_folder() -> Path:
    """The folder that the system calls the person's downloads folder."""
    from platformdirs import user_downloads_path

    return user_downloads_path()


def _offered_folder() -> list[str]:
    folder = downloads_folder()
    if not screen.interactive():
        raise UsageError("nothing was named to import", f"name files or folders: pinfold import {folder}")
    if not folder.is_dir():
        raise UsageError("nothing was named to import", "name files or folders: pinfold import FOLDER")
    if screen.ask(f"Look through {folder}? Nothing there is changed. [y/N] ").lower() not in ("y", "yes"):
        raise UsageError("nothing was imported", "name files or folders: pinfold import FOLDER")
    return [str(folder)]


def summary_row(summary: IngestSummary) -> dict[str, Any]:
    """`import --json`."""
    return {
        "imported": {
            "documents": summary.documents,
            "purchases_new": summary.purchases_new,
            "files_new": summary.files_new,
            "linked": summary.linked,
            "questions": summary.questions,
            "unchanged": summary.unchanged,
            "passed_over": dict(summary.passed_over),
        },
        "problems": [{"source": p.source, "reason": p.reason, "next": p.next} for p in summary.problems],
    }


def summary_lines(summary: IngestSummary, session: Session, base: Path | None = None) -> list[str]:
    """The one summary at the end of an import; paths below `base` (the current folder) are shown from there."""
    from vault.reports.text import plain, wrap

    start = f"{base or Path.cwd()}{os.sep}"

    st = style()
    lines: list[str] = []
    new = [
        (summary.documents, "receipt", "receipts"),
        (summary.purchases_new, "purchase", "purchases"),
        (summary.files_new, "file", "files"),
    ]
    if any(n for n, _, _ in new):
        counted = ", ".join(f"{n} {one if n == 1 else many}" for n, one, many in new if n)
        lines += wrap(f"New: {counted}.", st.columns)
    elif summary.unchanged:
        lines += wrap(f"Nothing new: {summary.unchanged} things are known already, nothing was changed.", st.columns)
    else:
        lines += ["Nothing new was found here."]
    if summary.linked:
        lines += [f"Linked: {summary.linked} {'file' if summary.linked == 1 else 'files'} to what you bought."]
    for title in summary.titles[: 0 if session.quiet else _MOST_LISTED]:
        lines += wrap(plain(title), st.columns, first="  + ", rest="    ")
    passed = sum(n for _, n in summary.passed_over)
    if passed:
        reasons = ", ".join(f"{why}: {n}" for why, n in summary.passed_over)
        lines += wrap(f"Passed over and not copied: {passed} ({reasons}).", st.columns, rest="  ")
    if summary.problems:
        lines += ["", st.bold(f"Could not be read: {len(summary.problems)}")]
        for problem in summary.problems[:_MOST_LISTED]:
            source = plain(problem.source.removeprefix(start))
            lines += wrap(f"{source}: {plain(problem.reason)}", st.columns, first="  - ", rest="    ")
            if problem.next:
                lines += wrap(f"what to do: {plain(problem.next)}", st.columns, first="    ", rest="    ")
        if len(summary.problems) > _MOST_LISTED:
            lines += [f"  ... and {len(summary.problems) - _MOST_LISTED} more (with --json all of them)"]
    if summary.questions:
        lines += ["", *wrap(f"{summary.questions} wait for your answer: pinfold settle", st.columns)]
    if not session.quiet:
        lines += ["", "See what is not held: pinfold missing"]
    return [st.finish(line) for line in lines]


def record(
    ctx: typer.Context,
    seller: Annotated[str, typer.Option("--seller", metavar="NAME", help="Who sold it.")],
    title: Annotated[str, typer.Option("--title", help="What it is called.")],
    on: Annotated[str, typer.Option("--on", metavar="DATE", help="When it was bought.")],
    amount: Annotated[str | None, typer.Option("--amount", help="What it cost, such as 12.50.")] = None,
    currency: Annotated[str | None, typer.Option("--currency", help="ISO 4217 code, such as EUR.")] = None,
    designer: Annotated[str | None, typer.Option("--designer", help="Who designed it.")] = None,
    order_number: Annotated[str | None, typer.Option("--order-number", help="The shop's number.")] = None,
    link: Annotated[str | None, typer.Option("--link", metavar="URL", help="Where it is downloaded from.")] = None,
    json: JsonOption = False,
) -> None:
    """A purchase for which there is no receipt.

    Example: pinfold record --seller 'Thimblewick' --title 'Heron Skirt' --on 2026-03-01 --amount 9 --currency EUR
    """
    from vault.intake.recording import record_purchase

    session: Session = ctx.obj
    folder = _made(session)
    summary = record_purchase(
        folder,
        seller=seller,
        title=title,
        on=parse_day(on),
        amount=_amount(amount),
        currency=_currency(currency),
        designer=designer,
        order_number=order_number,
        link=link,
        day=session.day,
    )
    if json:
        screen.say_json(summary_row(summary))
    else:
        screen.say([f"Recorded: {title}, {seller}, {on}"] if summary.purchases_new else ["That is recorded already."])


def _made(session: Session) -> VaultFolder:
    folder = session.folder()
    if not folder.exists():
        folder.create()
    return folder


def _amount(text: str | None) -> Decimal | None:
    from decimal import Decimal, InvalidOperation

    if text is None:
        return None
    try:
        value = Decimal(text)
    except InvalidOperation:
        raise UsageError(f"not an amount: {text!r}", "write it with a point and without the currency: 12.50") from None
    if not value.is_finite() or value < 0:
        raise UsageError(f"not an amount: {text!r}", "write it with a point and without the currency: 12.50")
    return value


def _currency(text: str | None) -> str | None:
    if text is None:
        return None
    code = text.upper()
    if len(code) != 3 or not code.isascii() or not code.isalpha():
        raise UsageError(f"not a currency: {text!r}", "write its ISO 4217 code, such as EUR, GBP or USD")
    return code


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command("import")(import_)
    app.command()(record)
