"""The commands that prove that nothing is lost: verify, rehearse."""

from __future__ import annotations

from contextlib import ExitStack
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vault.cli import logbook, screen
from vault.cli.ask import JsonOption
from vault.cli.safe import (
    PassphraseFile,
    RecoveryKey,
    destination_of,
    opening_of,
    remember,
    with_passphrase,
)
from vault.cli.session import Session, style
from vault.cli.upkeep import damage_lines, damage_row
from vault.errors import ExitStatus, StoreError

if TYPE_CHECKING:
    from vault.safekeeping.fixity import VerifyReport
    from vault.safekeeping.folder import VaultFolder
    from vault.safekeeping.layout import Damage
    from vault.safekeeping.rehearse import Check, RehearsalReport

_CHECKED = "fixity.last_checked"


def verify(
    ctx: typer.Context,
    sample: Annotated[
        int | None, typer.Option("--sample", min=1, metavar="N", help="Only N things, the longest unchecked first.")
    ] = None,
    minutes: Annotated[
        float | None,
        typer.Option("--minutes", min=0, metavar="M", help="Stop after M minutes; the longest unchecked come first."),
    ] = None,
    repair_from: Annotated[
        str | None, typer.Option("--repair-from", metavar="DEST", help="Bring back what is damaged from this backup.")
    ] = None,
    rebuild: Annotated[
        bool, typer.Option("--rebuild-catalogue", help="Make the catalogue anew from what is kept.")
    ] = False,
    log: Annotated[
        bool, typer.Option("--log", help="Only show what was done when, and that nothing is cut out.")
    ] = False,
    passphrase_file: PassphraseFile = None,
    recovery_key: RecoveryKey = None,
    json: JsonOption = False,
) -> None:
    """Read what is kept and compare it with its digests.

    What is damaged is brought back from the shelf or the original, if one of them still has it.

    Exit status 1 if anything is damaged or gone.

    Example: pinfold verify --minutes 10
    """
    session: Session = ctx.obj
    folder = session.existing_folder()
    if log:
        raise typer.Exit(int(logbook.show(session, json=json)))
    if rebuild:
        raise typer.Exit(int(_rebuilt(session, folder, json=json)))
    names, unsound, last = _known(session)
    report = _checked(session, folder, names, last, sample=sample, minutes=minutes)
    _note_checked(session, report, last)
    bad = [*report.damaged, *report.gone]
    left, repaired = _repaired(session, folder, bad, repair_from, passphrase_file, recovery_key)
    if json:
        screen.say_json({**_verify_row(report, left), "repaired": repaired, "catalogue": unsound})
    else:
        screen.say(_verify_lines(report, left, repaired, unsound))
    raise typer.Exit(int(ExitStatus.NEEDS_YOU if left or unsound else ExitStatus.DONE))


def _known(session: Session) -> tuple[dict[str, str], list[str], dict[str, str]]:
    """Names of what should be kept, what is wrong with the catalogue and its log, and when each thing was checked.

    A catalogue that cannot be read is one more thing that is wrong; the objects can be checked without it.
    """
    import json as jsonlib

    try:
        with session.reading() as catalogue:
            unsound = [*catalogue.check(), *logbook.problems(session, catalogue.events())]
            return catalogue.kept_names(), unsound, jsonlib.loads(catalogue.value(_CHECKED) or "{}")
    except StoreError as error:
        if error.code not in ("catalogue-damaged", "not-a-catalogue", "no-vault"):
            raise
        return {}, [f"{error.message}; to make it anew: pinfold verify --rebuild-catalogue"], {}


def _checked(
    session: Session,
    folder: VaultFolder,
    names: dict[str, str],
    last: dict[str, str],
    *,
    sample: int | None,
    minutes: float | None,
) -> VerifyReport:
    from vault.safekeeping.fixity import verify as run

    progress = screen.Progress(quiet=session.quiet)
    try:
        return run(
            folder,
            expected=dict.fromkeys(names),
            sample=sample,
            seconds=minutes * 60 if minutes is not None else None,
            last_checked=last,
            names=names,
            progress=lambda done, total: progress(done, total, "checking"),
        )
    finally:
        progress.finish()


def _note_checked(session: Session, report: VerifyReport, last: dict[str, str]) -> None:
    import json as jsonlib

    now = datetime.now(UTC).isoformat(timespec="seconds")
    try:
        with session.writing() as catalogue, catalogue.transaction():
            catalogue.set_value(_CHECKED, jsonlib.dumps({**last, **dict.fromkeys(report.checked_digests, now)}))
            outcome = "done" if report.ok else "damage"
            bad = f", {len(report.damaged)} damaged, {len(report.gone)} gone" if not report.ok else ""
            catalogue.add_event("verify", outcome, f"{report.checked} checked{bad}")
    except StoreError as error:
        screen.tell(f"not noted in the catalogue: {error.message}")


def _repaired(
    session: Session,
    folder: VaultFolder,
    bad: list[Damage],
    repair_from: str | None,
    passphrase_file: Path | None,
    recovery_key: Path | None,
) -> tuple[list[Damage], list[str]]:
    """What is still bad after a repair from shelf, originals and, if named, a backup; and what is whole again."""
    if not bad:
        return [], []
    from vault.catalogue import Catalogue
    from vault.intake.originals import originals
    from vault.safekeeping.lock import VaultLock
    from vault.safekeeping.repair import RepairReport, repair

    secret, key = opening_of(passphrase_file, recovery_key)
    destination = destination_of(repair_from) if repair_from else None

    def once(passphrase: str | None) -> RepairReport:
        with ExitStack() as opened:
            opened.enter_context(VaultLock(folder))
            try:
                catalogue = opened.enter_context(Catalogue.open_read_only(folder.catalogue_path))
            except StoreError:  # it is damaged itself; the shelf and a backup can still be asked
                find = None
            else:
                find = partial(originals, folder, catalogue)
            return repair(
                folder,
                [d.sha256 for d in bad],
                originals=find,
                destination=destination,
                passphrase=passphrase,
                recovery_key=key,
            )

    report: RepairReport = with_passphrase(once, secret, key)
    if report.repaired:
        remember(session, "repair", "done", f"{len(report.repaired)} things brought back", destination=destination)
    whole = set(report.repaired)
    return [d for d in bad if d.sha256 not in whole], sorted(whole)


def _rebuilt(session: Session, folder: VaultFolder, *, json: bool) -> ExitStatus:
    """Makes the catalogue anew from the objects, and says what came back."""
    from vault.intake.rebuild import rebuild_catalogue
    from vault.intake.shelving import reshelve
    from vault.reports.text import wrap

    progress = screen.Progress(quiet=session.quiet)
    try:
        report = rebuild_catalogue(
            folder, day=session.day, progress=lambda done, total: progress(done, total, "reading what is kept")
        )
    finally:
        progress.finish()
    with session.writing() as catalogue:
        reshelve(folder, catalogue)
        lost = "" if report.log_kept else "; the log before it could not be read"
        words = f"{report.purchases} purchases, {report.files} files, {report.brought_back} answers and notes{lost}"
        catalogue.add_event("rebuild", "incomplete" if report.damaged else "done", words)
    if json:
        row = {
            "purchases": report.purchases,
            "files": report.files,
            "documents": report.documents,
            "brought_back": report.brought_back,
            "damaged": list(report.damaged),
            "not_understood": list(report.not_understood),
            "log_kept": report.log_kept,
        }
        screen.say_json({"rebuilt": row})
        return ExitStatus.NEEDS_YOU if report.damaged else ExitStatus.DONE
    st = style()
    lines = wrap(f"The catalogue is made anew: {words}.", st.columns)
    if report.not_understood:
        lines += wrap(f"{len(report.not_understood)} kept things are neither receipt nor pattern today.", st.columns)
    lines += [f"  - damaged and left out: {sha256}" for sha256 in report.damaged]
    if report.damaged:
        lines += wrap("Bring them back (pinfold verify --repair-from DEST), then do this again.", st.columns)
    screen.say([st.finish(line) for line in lines])
    return ExitStatus.NEEDS_YOU if report.damaged else ExitStatus.DONE


def _verify_row(report: VerifyReport, left: list[Damage]) -> dict[str, Any]:
    gone = {d.sha256 for d in report.gone}
    return {
        "checked": report.checked,
        "bytes": report.n_bytes,
        "damaged": [damage_row(d) for d in left if d.sha256 not in gone],
        "gone": [d.sha256 for d in left if d.sha256 in gone],
        "seconds": round(report.seconds, 2),
        "ok": not left,
    }


def _verify_lines(report: VerifyReport, left: list[Damage], repaired: list[str], unsound: list[str]) -> list[str]:
    from vault.reports.text import wrap

    st = style()
    lines = wrap(f"{report.checked} things checked, {report.n_bytes / 1e6:.1f} MB.", st.columns)
    if repaired:
        lines += wrap(f"{len(repaired)} were damaged or gone and are whole again.", st.columns)
    lines += damage_lines([d for d in left if d in report.damaged], [d for d in left if d in report.gone])
    lines += [line for words in unsound for line in wrap(f"catalogue: {words}", st.columns, first="  - ", rest="    ")]
    if left:
        lines += wrap(
            "To bring them back: pinfold verify --repair-from DEST, or import the originals again.", st.columns
        )
    elif not unsound:
        lines += ["Everything is as it was."]
    return [st.finish(line) for line in lines]


def rehearse(
    ctx: typer.Context,
    source: Annotated[str, typer.Option("--from", metavar="DEST", help="Where the backup is.")],
    passphrase_file: PassphraseFile = None,
    recovery_key: RecoveryKey = None,
    snapshot: Annotated[
        str | None, typer.Option("--snapshot", metavar="TIME", help="An older state, such as 2026-03-07T09:15:00Z.")
    ] = None,
    json: JsonOption = False,
) -> None:
    """Would the backup bring everything back?

    Restores into a scratch folder, checks everything, and removes it again.

    Exit status 1 if not.

    Example: pinfold rehearse --from /media/stick/patterns
    """
    from vault.safekeeping.rehearse import rehearse as run

    session: Session = ctx.obj
    secret, key = opening_of(passphrase_file, recovery_key)
    destination = destination_of(source)
    held: dict[str, str] = {}
    if session.folder().exists():
        with session.reading() as catalogue:
            held = catalogue.kept_names()
    progress = screen.Progress(quiet=session.quiet)

    def once(passphrase: str | None) -> RehearsalReport:
        return run(
            destination,
            passphrase=passphrase,
            recovery_key=key,
            snapshot=snapshot,
            checks=_checks(session),
            held_today=held.keys(),
            progress=lambda done, total: progress(done, total, "rehearsing"),
        )

    try:
        report: RehearsalReport = with_passphrase(once, secret, key)
    finally:
        progress.finish()
    if session.folder().exists():
        outcome = "done" if report.ok else "failed"
        remember(session, "rehearse", outcome, report.snapshot, destination=destination)
    if json:
        screen.say_json(_rehearsal_row(report))
    else:
        screen.say(_rehearsal_lines(report))
    raise typer.Exit(int(ExitStatus.DONE if report.ok else ExitStatus.NEEDS_YOU))


def _checks(session: Session) -> tuple[Check, ...]:
    from vault.safekeeping.rehearse import Check

    def sound(folder: VaultFolder) -> list[str]:
        from vault.catalogue import Catalogue

        with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
            return catalogue.check()

    def answers(folder: VaultFolder) -> list[str]:
        from vault.catalogue import Catalogue
        from vault.cli.ask import missing_rows

        with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
            restored = missing_rows(catalogue, session.day)
        if not session.folder().exists():
            return []
        with session.reading() as catalogue:
            here = missing_rows(catalogue, session.day)
        new = {r.view.item.id for r in here} ^ {r.view.item.id for r in restored}
        return [f"the missing report differs in {len(new)} things: back up again"] if new else []

    def same_log(folder: VaultFolder) -> list[str]:
        from vault.catalogue import Catalogue
        from vault.model.event import head_of, log_problems

        with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
            then = catalogue.events()
        problems = log_problems(then)
        if session.folder().exists():
            with session.reading() as catalogue:
                problems += log_problems(catalogue.events(), [("the backup", head_of(then))])
        return problems

    return (
        Check(words="the catalogue is sound", run=sound),
        Check(words="the missing report is the same as that of the vault", run=answers),
        Check(words="the log of events is whole, and that of the vault goes on from it", run=same_log),
    )


def _rehearsal_row(report: RehearsalReport) -> dict[str, Any]:
    return {
        "checked": report.checked,
        "bytes": report.n_bytes,
        "damaged": [damage_row(d) for d in report.damaged],
        "gone": [d.sha256 for d in report.gone],
        "seconds": round(report.seconds, 2),
        "ok": report.ok,
        "snapshot": report.snapshot,
        "problems": list(report.problems),
        "proved": list(report.proved),
        "not_proved": list(report.not_proved),
    }


def _rehearsal_lines(report: RehearsalReport) -> list[str]:
    from vault.reports.text import wrap

    st = style()
    lines = [st.bold("It would come back whole." if report.ok else "It would NOT come back whole.")]
    lines += wrap(
        f"The state of {report.snapshot}: {report.checked} things, {report.n_bytes / 1e6:.1f} MB, "
        f"in {report.seconds:.1f} seconds here.",
        st.columns,
    )
    for heading, rows in (
        ("proved", report.proved),
        ("not proved", report.not_proved),
        ("wrong", report.problems),
    ):
        lines += [x for words in rows for x in wrap(f"{heading}: {words}", st.columns, first="  - ", rest="    ")]
    return [st.finish(line) for line in [*lines, *damage_lines(report.damaged, report.gone)]]


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command()(verify)
    app.command()(rehearse)
