"""Looking after a backup where it lies: reading it through, thinning its snapshots, and naming damage."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from vault.cli import screen
from vault.cli.session import Session, style
from vault.errors import ExitStatus

if TYPE_CHECKING:
    from vault.safekeeping.destination import Destination
    from vault.safekeeping.inspecting import InspectReport
    from vault.safekeeping.layout import Damage
    from vault.safekeeping.thinning import KeepRule


def damage_lines(damaged: Sequence[Damage], gone: Sequence[Damage]) -> list[str]:
    from vault.reports.text import plain, wrap

    columns = style().columns
    lines: list[str] = []
    for words, rows in (("damaged", damaged), ("gone", gone)):
        for d in rows:
            lines += wrap(
                f"{words}: {plain(d.name or d.sha256)}: {plain(d.reason)}", columns, first="  - ", rest="    "
            )
    return lines


def damage_row(d: Damage) -> dict[str, Any]:
    return {"sha256": d.sha256, "name": d.name, "reason": d.reason}


def inspect(session: Session, destination: Destination, passphrase: str | None, *, json: bool) -> ExitStatus:
    """Reads everything in a backup and says what is amiss; without a passphrase only the stored bytes."""
    from vault.safekeeping.inspecting import inspect_backup
    from vault.safekeeping.state import BackupState

    progress, state = screen.Progress(quiet=session.quiet), BackupState(session.folder())
    report = inspect_backup(
        destination,
        passphrase=passphrase,
        own_key=state.locked_key(),
        written=state.written(destination.name),
        progress=lambda done, total: progress(done, total, "reading the backup"),
    )
    progress.finish()
    _note_inspected(session, destination, report)
    if json:
        screen.say_json(
            {
                "checked": report.checked,
                "bytes": report.n_bytes,
                "damaged": [damage_row(d) for d in report.damaged],
                "gone": [d.sha256 for d in report.gone],
                "snapshots": list(report.snapshots),
                "bad_snapshots": list(report.bad_snapshots),
                "with_key": report.with_key,
                "seconds": round(report.seconds, 2),
                "ok": report.ok,
            }
        )
    else:
        screen.say(_inspected(report))
    return ExitStatus.DONE if report.ok else ExitStatus.NEEDS_YOU


def _note_inspected(session: Session, destination: Destination, report: InspectReport) -> None:
    """Notes the check, and which stored names are not to be trusted: the next backup stores them again."""
    from vault.cli.safe import remember
    from vault.safekeeping.state import BackupState

    if not session.folder().exists():
        return
    state = BackupState(session.folder())
    state.make()
    state.set_distrusted(destination.name, report.damaged_names)
    bad = len(report.damaged) + len(report.gone) + len(report.bad_snapshots)
    words = f"{report.checked} checked" + (f", {bad} damaged or gone" if bad else "")
    remember(session, "check", "done" if report.ok else "damage", words, destination=destination)


def _inspected(report: InspectReport) -> list[str]:
    from vault.reports.text import wrap

    st = style()
    how = "with its key, everything" if report.with_key else "without its key, the stored bytes only"
    lines = wrap(
        f"Read {how}: {report.checked} things, {report.n_bytes / 1e6:.1f} MB, {len(report.snapshots)} snapshots.",
        st.columns,
        rest="  ",
    )
    for words in report.bad_snapshots:
        lines += wrap(words, st.columns, first="  - ", rest="    ")
    lines += damage_lines(report.damaged, report.gone)
    if report.ok:
        lines += ["Nothing is amiss."]
    else:
        lines += wrap("The next backup stores again what this one has lost: pinfold backup --to it.", st.columns)
    return [st.finish(line) for line in lines]


def rule_of(text: str) -> KeepRule:
    """A rule for snapshots such as `7d,5w,12m`; UsageError with an example."""
    from vault.safekeeping.thinning import parse_keep

    return parse_keep(text)


def thin(session: Session, destination: Destination, rule: KeepRule, passphrase: str | None) -> None:
    """Removes the snapshots that the rule does not keep, then what no snapshot needs."""
    from vault.cli.safe import remember
    from vault.safekeeping.thinning import thin as run

    report = run(session.folder(), destination, rule, passphrase=passphrase)
    if report.removed:
        words = f"{len(report.removed)} snapshots removed, {len(report.kept)} kept"
        remember(session, "thin", "done", words, destination=destination)
    if session.quiet:
        return
    if report.removed:
        freed = f"{report.removed_objects} things removed, {report.freed_bytes / 1e6:.1f} MB freed"
        screen.tell(f"{len(report.removed)} older snapshots thinned, {len(report.kept)} kept; {freed}.")
    for note in report.notes:
        screen.tell(note)
