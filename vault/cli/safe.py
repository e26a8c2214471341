"""The command that carries the vault elsewhere: backup; and what goes with keys and passphrases."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vault.cli import screen, upkeep
from vault.cli.ask import JsonOption
from vault.cli.session import Session, style
from vault.errors import BackupError, ExitStatus, StoreError, UsageError

if TYPE_CHECKING:
    from vault.safekeeping.backup import BackupReport
    from vault.safekeeping.destination import Destination

PassphraseFile = Annotated[
    Path | None, typer.Option("--passphrase-file", metavar="FILE", help="The first line is the passphrase.")
]
RecoveryKey = Annotated[
    Path | None, typer.Option("--recovery-key", metavar="FILE", help="The key of the recovery sheet, typed or saved.")
]
_MAX_SECRET = 1 << 16


def backup(
    ctx: typer.Context,
    to: Annotated[str, typer.Option("--to", metavar="DEST", help="Where: a folder on another disk or stick.")],
    plain: Annotated[bool, typer.Option("--plain", help="Without encryption: anyone who finds it reads it.")] = False,
    passphrase_file: PassphraseFile = None,
    recovery_sheet: Annotated[
        Path | None,
        typer.Option("--recovery-sheet", metavar="FILE", help="Write the key as a page to print (.pdf, .html, .txt)."),
    ] = None,
    post_quantum: Annotated[
        bool, typer.Option("--post-quantum", help="Make a key that a later quantum computer cannot break either.")
    ] = False,
    new_key: Annotated[
        bool, typer.Option("--new-key", help="Change the key: everything is stored again; old snapshots still open.")
    ] = False,
    keep: Annotated[
        str | None, typer.Option("--keep", metavar="RULE", help="Then thin older snapshots, such as 7d,5w,12m.")
    ] = None,
    check: Annotated[bool, typer.Option("--check", help="Only read what lies there and compare it.")] = False,
    json: JsonOption = False,
) -> None:
    """Write what is new, and a snapshot, to a backup.

    The first backup makes the key and asks for a passphrase; later ones need none.

    Example: pinfold backup --to /media/stick/patterns --recovery-sheet sheet.html
    """
    session: Session = ctx.obj
    secret = secret_of(passphrase_file)
    if check:
        raise typer.Exit(int(upkeep.inspect(session, destination_of(to), secret, json=json)))
    rule = upkeep.rule_of(keep) if keep else None
    how = KeyChoice(post_quantum=post_quantum, change=new_key)
    report = back_up(session, to, passphrase=secret, sheet=recovery_sheet, plain=plain, how=how, say=not json)
    if json:
        screen.say_json(
            {
                "backup": {
                    "destination": report.destination,
                    "snapshot": report.snapshot,
                    "objects_new": report.new_objects,
                    "objects_total": report.objects,
                    "bytes_written": report.new_bytes,
                    "encrypted": report.sealed,
                    "seconds": round(report.seconds, 2),
                    "damaged": [upkeep.damage_row(d) for d in report.damaged],
                    "gone": [d.sha256 for d in report.gone],
                }
            }
        )
    if rule is not None:
        upkeep.thin(session, destination_of(to), rule, secret)
    raise typer.Exit(int(ExitStatus.DONE if report.ok else ExitStatus.NEEDS_YOU))


@dataclass(frozen=True, kw_only=True)
class KeyChoice:
    """Which kind of key a backup makes, if it makes one, and whether it makes a new one."""

    post_quantum: bool = False
    change: bool = False


def back_up(
    session: Session,
    to: str | Path,
    *,
    passphrase: str | None = None,
    sheet: Path | None = None,
    plain: bool = False,
    how: KeyChoice = KeyChoice(),
    say: bool = True,
) -> BackupReport:
    """Backs the session's vault up to `to`; asks for a passphrase where one is needed and none is given."""
    folder = session.existing_folder()
    destination = destination_of(to)
    _refuse_inside(folder.root, to)
    from_file = passphrase is not None
    progress = screen.Progress(quiet=session.quiet)
    try:
        try:
            report = _one_backup(session, destination, passphrase, plain, how, progress)
        except BackupError as error:
            if error.code != "needs-passphrase" or passphrase is not None or not screen.interactive():
                raise
            passphrase = screen.ask_secret("Passphrase of the backup: ") if how.change else new_passphrase()
            report = _one_backup(session, destination, passphrase, plain, how, progress)
    finally:
        progress.finish()
    if report.made_key is not None and from_file and passphrase:
        _advise(passphrase)
    if report.made_key is not None and how.change:
        remember(session, "new-key", "done", "the key of the backups was changed", destination=destination)
    remember(session, "backup", "done" if report.ok else "incomplete", report.snapshot, destination=destination)
    if sheet is not None:
        _write_sheet(session, report, passphrase, sheet)
    if say:
        _say_backup(session, report, sheet)
    return report


def _one_backup(
    session: Session,
    destination: Destination,
    passphrase: str | None,
    plain: bool,
    how: KeyChoice,
    progress: screen.Progress,
) -> BackupReport:
    import tempfile

    from vault.safekeeping.backup import backup as run

    folder = session.folder()
    with contextlib.suppress(StoreError), session.writing():
        pass  # what the person said is brought up to date among the objects, unless another does so just now
    with tempfile.TemporaryDirectory(prefix="snapshot-", dir=folder.tmp_path, ignore_cleanup_errors=True) as scratch:
        snapshot = Path(scratch) / "catalogue.sqlite"
        with session.reading() as catalogue:
            expected, head = catalogue.kept_names(), catalogue.log_head()
            catalogue.snapshot_to(snapshot)
        return run(
            folder,
            destination,
            catalogue_snapshot=snapshot,
            now=datetime.now(UTC),
            passphrase=passphrase,
            plain=plain,
            post_quantum=how.post_quantum,
            change_key=how.change,
            expected=expected.keys(),
            log_head=head,
            progress=lambda done, total: progress(done, total, "backing up"),
        )


_KEY_WORDS = {
    False: "The key is of the classic kind, because every age program of today can open it; "
    "--post-quantum makes one that a later quantum computer cannot break.",
    True: "The key is post-quantum, so that a copy taken today cannot be opened by a quantum computer later; "
    "by hand it needs a newer age program (1.3).",
}
_CHANGED_WORDS = (
    "The key was changed: older snapshots still open with the passphrase, or with the older recovery sheet. "
    "A new sheet is needed for this and all later ones; --keep removes older snapshots."
)


def _say_backup(session: Session, report: BackupReport, sheet: Path | None) -> None:
    from vault.reports.text import wrap

    st = style()
    kind = "encrypted" if report.sealed else "NOT encrypted: anyone who finds it can read it"
    new = (
        f"{report.new_objects} new of {report.objects} things"
        if report.new_objects
        else f"nothing new, {report.objects} things"
    )
    lines = wrap(f"Backed up to {report.destination}: {new}, {kind}.", st.columns, rest="  ")
    for note in report.notes:
        lines += wrap(note, st.columns, first="  ", rest="  ")
    lines += upkeep.damage_lines(report.damaged, report.gone)
    if report.made_key is not None:
        lines += wrap(_KEY_WORDS[report.made_key.post_quantum], st.columns)
        if len(report.made_key.identities) > 1:
            lines += wrap(_CHANGED_WORDS, st.columns)
    if report.made_key is not None and sheet is None and not session.quiet:
        lines += wrap(
            "If the passphrase is forgotten, nothing opens this backup. Print a recovery sheet and keep it elsewhere: "
            f"pinfold backup --to {report.destination} --recovery-sheet sheet.pdf",
            st.columns,
        )
    screen.say([st.finish(line) for line in lines])


def _refuse_inside(vault: Path, to: str | Path) -> None:
    if "://" not in str(to) and Path(to).expanduser().absolute().is_relative_to(vault):
        raise UsageError(f"{to} lies inside the vault itself", "name a folder elsewhere, best on another disk")


def destination_of(to: str | Path) -> Destination:
    """The destination that a person names: a folder, or what `KINDS` of vault.safekeeping.destination knows."""
    from vault.safekeeping.destination import open_destination

    return open_destination(str(to))


def remember(session: Session, kind: str, outcome: str, detail: str, *, destination: Destination | None = None) -> None:
    """Notes what was done; a vault that is being written to by another process just misses the note."""
    try:
        with session.writing() as catalogue:
            catalogue.add_event(kind, outcome, detail, destination=destination.name if destination else "")
    except StoreError as error:
        screen.tell(f"not noted in the catalogue: {error.message}")


def secret_of(path: Path | None) -> str | None:
    """The first line of a passphrase file, without its line end."""
    if path is None:
        return None
    lines = _small_text(path, "passphrase file").splitlines()
    if not lines or not lines[0]:
        raise UsageError(f"the passphrase file {path} is empty", "put the passphrase on its first line")
    return lines[0]


def _small_text(path: Path, what: str) -> str:
    try:
        with path.expanduser().open("rb") as handle:
            raw = handle.read(_MAX_SECRET + 1)
    except OSError as error:
        raise UsageError(f"the {what} {path} cannot be read: {error.strerror}", "check its path") from None
    if len(raw) > _MAX_SECRET:
        raise UsageError(f"the {what} {path} is too large", "is it the right file?")
    return raw.decode("utf-8-sig", "replace")


def new_passphrase() -> str:
    """A passphrase asked for twice, with advice on its strength."""
    from vault.safekeeping.passphrase import estimate

    screen.tell(
        "This backup is encrypted. Choose a passphrase: several words that nobody would guess. "
        "Without it, or the recovery sheet, the backup cannot be opened by anyone."
    )
    while True:
        first = screen.ask_secret("Passphrase: ")
        if not first:
            raise UsageError("no passphrase was given", "run it again, or use --plain if anyone may read the backup")
        strength = estimate(first)
        screen.tell(f"That is {strength.words}.")
        for line in strength.advice:
            screen.tell(f"  {line}")
        if screen.ask_secret("The same again: ") == first:
            return first
        screen.tell("These two were not the same; once more.")


def _advise(passphrase: str) -> None:
    """Says what would make a passphrase stronger, where it was not chosen at the prompt and is not strong."""
    from vault.safekeeping.passphrase import estimate

    strength = estimate(passphrase)
    if strength.level != "strong":
        screen.tell(f"The passphrase is {strength.words}.")
        for line in strength.advice:
            screen.tell(f"  {line}")


def _write_sheet(session: Session, report: BackupReport, passphrase: str | None, sheet: Path) -> None:
    """Writes the recovery sheet; the key is that of this backup, or is opened with the passphrase."""
    from vault.safekeeping.ownership import key_of_vault
    from vault.safekeeping.recovery import recovery_sheet

    if not report.sealed:
        raise UsageError("this backup is not encrypted, so there is no key", "leave --recovery-sheet out")
    key = report.made_key
    if key is None:
        secret = passphrase if passphrase is not None else screen.ask_secret("Passphrase of the backup: ")
        key = key_of_vault(session.folder(), secret)
    made = recovery_sheet(
        key,
        made_on=session.day,
        n_files=report.objects,
        vault_name=session.folder().root.name,
        destinations=(report.destination,),
    )
    contents = {".html": made.html.encode(), ".htm": made.html.encode(), ".pdf": made.pdf}
    screen.write_file(sheet, contents.get(sheet.suffix.lower(), made.text.encode()), private=True)
    remember(session, "recovery-sheet", "done", "")


def opening_of(passphrase_file: Path | None, recovery_key: Path | None) -> tuple[str | None, str | None]:
    if passphrase_file and recovery_key:
        raise UsageError("one of the two is enough", "give --passphrase-file or --recovery-key")
    return secret_of(passphrase_file), _small_text(recovery_key, "recovery key") if recovery_key else None


def with_passphrase(once: Callable[[str | None], Any], passphrase: str | None, recovery_key: str | None) -> Any:
    """Runs `once`; asks for the passphrase where the backup turns out to need one."""
    try:
        return once(passphrase)
    except BackupError as error:
        if error.code != "needs-passphrase" or passphrase or recovery_key or not screen.interactive():
            raise
    return once(screen.ask_secret("Passphrase of the backup: "))


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command()(backup)
