"""How everything stands: status, and what `pinfold` alone says."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from vault.cli import screen
from vault.cli.ask import JsonOption, missing_rows
from vault.cli.session import Session, style
from vault.errors import ExitStatus

if TYPE_CHECKING:
    from vault.catalogue import Catalogue
    from vault.reports.copies import Copies
    from vault.reports.standing import Standings


def _standings(session: Session, catalogue: Catalogue, *, due: int) -> Standings:
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
        due=due,
        copies=_copies(session, catalogue),
    )


def _copies(session: Session, catalogue: Catalogue) -> Copies:
    from vault.reports.copies import Copies, Place

    root = session.folder().root
    places = tuple(
        Place(history=d, medium=_medium(d.destination), remote="://" in d.destination)
        for d in catalogue.destinations()
        if d.last_backup or d.failed
    )
    return Copies(places=places, medium=_medium(str(root)))


def _medium(place: str) -> str | None:
    """The mark of the file system under a folder; None where it is not there to be asked."""
    try:
        return None if "://" in place else str(Path(place).stat().st_dev)
    except (OSError, ValueError):
        return None


def status(
    ctx: typer.Context,
    unread: Annotated[bool, typer.Option("--unread", help="List what could not be read, and what to do.")] = False,
    html: Annotated[Path | None, typer.Option("--html", metavar="FILE", help="Write a page that prints well.")] = None,
    json: JsonOption = False,
) -> None:
    """How things stand, on one screen.

    Exit status 1 if anything waits for you.

    Example: pinfold status --html status.html
    """
    from vault.cli.reminding import due_now
    from vault.reports import standing

    session: Session = ctx.obj
    with session.reading() as catalogue:
        due = due_now(catalogue, session)
        found = _standings(session, catalogue, due=len(due))
        problems = catalogue.problems()
    if html:
        from vault.reports.status_page import page

        screen.write_file(html, page(found, due, session.day).encode("utf-8"))
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
    from vault.cli.reminding import due_now
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
        due = len(due_now(catalogue, session))
        screen.say(standing.in_short(_standings(session, catalogue, due=due), style()))


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command()(status)
