"""The command that brings a vault, or a part of it, back: restore."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from vault.cli import screen, upkeep
from vault.cli.ask import JsonOption
from vault.cli.safe import PassphraseFile, RecoveryKey, destination_of, opening_of, with_passphrase
from vault.cli.session import Session, style
from vault.errors import ExitStatus, StoreError, UsageError

if TYPE_CHECKING:
    from vault.safekeeping.destination import Destination
    from vault.safekeeping.restore import RestoreReport


def restore(
    ctx: typer.Context,
    source: Annotated[str, typer.Option("--from", metavar="DEST", help="Where the backup is.")],
    passphrase_file: PassphraseFile = None,
    recovery_key: RecoveryKey = None,
    snapshot: Annotated[
        str | None, typer.Option("--snapshot", metavar="TIME", help="An older state, such as 2026-03-07T09:15:00Z.")
    ] = None,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="DIR", help="With --item or --designer: a new folder for the files.")
    ] = None,
    item: Annotated[list[str] | None, typer.Option("--item", metavar="ID", help="Only the files of this item.")] = None,
    designer: Annotated[
        list[str] | None, typer.Option("--designer", metavar="NAME", help="Only the files of this designer.")
    ] = None,
    json: JsonOption = False,
) -> None:
    """Bring the vault back on a new computer.

    Into the folder named with --vault, never over a vault that holds something.  With --item or --designer only their
    files and receipts, under readable names, into the folder --to.

    Exit status 1 if the backup could not give everything back.

    Example: pinfold restore --from /media/stick/patterns --vault ~/Patterns
    """
    session: Session = ctx.obj
    secret, key = opening_of(passphrase_file, recovery_key)
    if item or designer:
        part = Part(items=tuple(item or ()), designers=tuple(designer or ()))
        raise typer.Exit(int(_a_part(session, source, to, part, secret, key, snapshot, json=json)))
    if to is not None:
        raise UsageError("--to goes with --item or --designer", "a whole vault is restored into the folder --vault")
    report = bring_back(session, source, passphrase=secret, recovery_key=key, snapshot=snapshot, say=not json)
    if json:
        screen.say_json(
            {
                "restored": {
                    "vault": str(report.target),
                    "snapshot": report.snapshot,
                    "objects": report.objects,
                    "bytes": report.n_bytes,
                    "seconds": round(report.seconds, 2),
                    "damaged": [upkeep.damage_row(d) for d in report.damaged],
                    "gone": [d.sha256 for d in report.gone],
                }
            }
        )
    raise typer.Exit(int(ExitStatus.DONE if report.ok else ExitStatus.NEEDS_YOU))


@dataclass(frozen=True, kw_only=True)
class Part:
    """A part of a vault: items by their ids, designers by their names."""

    items: tuple[str, ...] = ()
    designers: tuple[str, ...] = ()


def _a_part(
    session: Session,
    source: str,
    to: Path | None,
    part: Part,
    passphrase: str | None,
    recovery_key: str | None,
    snapshot: str | None,
    *,
    json: bool,
) -> ExitStatus:
    """Brings the files of some items or designers out of a backup, without the rest."""
    import tempfile
    from dataclasses import replace

    from vault.cli import handover

    if to is None:
        raise UsageError("where should the files go?", "name a new folder: --to DIR")
    to = to.expanduser().absolute()
    if to.exists():
        raise UsageError(f"{to} is there already", "name a new folder: --to DIR")
    if not to.parent.is_dir():
        raise UsageError(f"there is no folder {to.parent}", "check the path")
    with tempfile.TemporaryDirectory(prefix=".pinfold-part-", dir=to.parent, ignore_cleanup_errors=True) as scratch:
        there = replace(session, vault=Path(scratch) / "vault")
        report = _restored(
            there,
            destination_of(source),
            passphrase,
            recovery_key,
            snapshot,
            lambda catalogue: handover.wanted_digests(there, catalogue, part.items, part.designers),
        )
        handed = handover.hand_over(there, to, items=part.items, designers=part.designers)
        bad = [*report.damaged, *report.gone]
        if json:
            row = {
                "to": str(handed.bag),
                "snapshot": report.snapshot,
                "objects": report.objects,
                "damaged": [upkeep.damage_row(d) for d in report.damaged],
                "gone": [d.sha256 for d in report.gone],
            }
            screen.say_json({"restored": row})
        else:
            screen.say(upkeep.damage_lines(report.damaged, report.gone))
            handover.say(handed)
    return ExitStatus.NEEDS_YOU if bad else ExitStatus.DONE


def bring_back(
    session: Session,
    source: str | Path,
    *,
    passphrase: str | None = None,
    recovery_key: str | None = None,
    snapshot: str | None = None,
    say: bool = True,
) -> RestoreReport:
    """Restores into the session's vault folder and makes its shelf anew."""
    from vault.catalogue import Catalogue
    from vault.intake.shelving import reshelve
    from vault.safekeeping.lock import VaultLock

    destination = destination_of(source)
    report = _restored(session, destination, passphrase, recovery_key, snapshot, _up_to_date)
    folder = session.folder()
    with VaultLock(folder), Catalogue.open(folder.catalogue_path) as catalogue:
        reshelve(folder, catalogue)
        outcome = "done" if report.ok else "incomplete"
        catalogue.add_event("restore", outcome, report.snapshot, destination=destination.name)
    if say:
        _say_restore(report)
    return report


def _restored(
    session: Session,
    destination: Destination,
    passphrase: str | None,
    recovery_key: str | None,
    snapshot: str | None,
    look: Callable[[Path], Collection[str] | None],
) -> RestoreReport:
    """Restores into the session's vault folder; asks for the passphrase where one is needed."""
    from vault.safekeeping.restore import restore as run

    progress = screen.Progress(quiet=session.quiet)

    def once(secret: str | None) -> RestoreReport:
        return run(
            destination,
            session.folder().root,
            passphrase=secret,
            recovery_key=recovery_key,
            snapshot=snapshot,
            look=look,
            progress=lambda done, total: progress(done, total, "restoring"),
        )

    try:
        report: RestoreReport = with_passphrase(once, passphrase, recovery_key)
    finally:
        progress.finish()
    return report


def _up_to_date(path: Path) -> None:
    """Brings a snapshot's catalogue up to date; StoreError for one of a newer program, before anything is written."""
    from vault.catalogue import Catalogue

    try:
        Catalogue.open(path).close()
    except StoreError as error:
        if error.code != "newer":
            raise
        raise StoreError(
            "this backup was written by a newer Pinfold, which this one cannot read",
            "update the program (pip install --upgrade pinfold), or use an older snapshot: --snapshot TIME",
            code="newer",
        ) from error


def _say_restore(report: RestoreReport) -> None:
    from vault.reports.text import wrap

    st = style()
    words = f"Restored the state of {report.snapshot}: {report.objects} things into {report.target}."
    lines = wrap(words, st.columns, rest="  ", keep_long=True)
    for note in report.notes:
        lines += wrap(note, st.columns, first="  ", rest="  ")
    lines += upkeep.damage_lines(report.damaged, report.gone)
    screen.say([st.finish(line) for line in lines])


def add_to(app: typer.Typer) -> None:
    """Puts the command of this module into `app`."""
    app.command()(restore)
