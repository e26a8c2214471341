"""How everything stands: status, and what `pinfold` alone says."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from vault.cli import screen
from vault.cli.ask import JsonOption, missing_rows
from vault.cli.session import Session, style
from vault.errors import ExitStatus

if TYPE_CHECKING:
    from vault.catalogue import Catalogue
    from vault.reports.standing import Standings


def _standings(session: Session, catalogue: Catalogue) -> Standings:
    from vault.reports.standing import count

    events: dict[str, str | None] = {}
    for event in catalogue.events():
        if event.outcome == "done":
            events[event.kind] = event.at[:10]
    return count(
        str(session.folder().root),
        catalogue.purchases(),
        catalogue.files(),
        catalogue.sellers(),
        missing_rows(catalogue, session.day),
        questions=len(catalogue.questions()),
        problems=len(catalogue.problems()),
        last=events,
    )


def status(
    ctx: typer.Context,
    unread: Annotated[bool, typer.Option("--unread", help="List what could not be read, and what to do.")] = False,
    json: JsonOption = False,
) -> None:
    """How things stand, on one screen.

    Exit status 1 if anything waits for you.

    Example: pinfold status
    """
    from vault.reports import standing

    session: Session = ctx.obj
    with session.reading() as catalogue:
        found = _standings(session, catalogue)
        problems = catalogue.problems()
    if json:
        rows = [{"source": p.source, "reason": p.reason, "next": p.next} for p in problems]
        screen.say_json({**standing.row(found), "problems": rows})
    elif unread:
        screen.say(standing.unread(problems, style()))
    else:
        screen.say(standing.screen(found, style()))
    raise typer.Exit(int(ExitStatus.NEEDS_YOU if standing.needs_you(found) else ExitStatus.DONE))


def first_words(session: Session) -> None:
    """What `pinfold` alone says: how to begin, or how things stand in short."""
    from vault.reports import standing

    if not session.folder().exists():
        screen.say(
            [
                "See what Pinfold does, on invented data:  pinfold demo",
                "Begin with your own receipts and files:   pinfold import FOLDER",
                "All commands:                             pinfold --help",
            ]
        )
        return
    with session.reading() as catalogue:
        screen.say(standing.in_short(_standings(session, catalogue), style()))


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command()(status)
