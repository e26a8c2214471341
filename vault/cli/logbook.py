"""The log of what was done with the vault: shown, and proved to be whole."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from vault.cli import screen
from vault.cli.session import Session, style
from vault.errors import ExitStatus

if TYPE_CHECKING:
    from vault.model.event import Event


def show(session: Session, *, json: bool) -> ExitStatus:
    """Prints the log, newest last, and what is wrong with it."""
    from vault.reports.handover import event_row

    with session.reading() as catalogue:
        events = catalogue.events()
    wrong = problems(session, events)
    if json:
        screen.say_json({"events": [event_row(e) for e in events], "problems": wrong, "ok": not wrong})
    else:
        screen.say(_lines(events, wrong))
    return ExitStatus.NEEDS_YOU if wrong else ExitStatus.DONE


def problems(session: Session, events: Sequence[Event]) -> list[str]:
    """What is wrong with a log, also by what each backup has noted of its end."""
    from vault.model.event import log_problems
    from vault.safekeeping.state import BackupState

    heads = BackupState(session.folder()).log_heads()
    return log_problems(events, [(f"the backup in {where}", head) for where, head in sorted(heads.items())])


def _lines(events: Sequence[Event], wrong: Sequence[str]) -> list[str]:
    from vault.reports.text import plain, wrap

    st = style()
    lines: list[str] = []
    for e in events:
        where = " ".join(filter(None, [plain(e.destination), plain(e.detail)]))
        lines += wrap(f"{e.at}  {e.event_type}: {e.result}. {where}", st.columns, rest="    ", keep_long=True)
    if not events:
        lines += ["Nothing was noted yet."]
    lines += [x for words in wrong for x in wrap(f"the log: {words}", st.columns, first="  - ", rest="    ")]
    if events and not wrong:
        lines += wrap(
            f"{len(events)} events, none changed, none cut out. To prove it later, note: "
            f"{len(events)} {events[-1].link}",
            st.columns,
            rest="  ",
            keep_long=True,
        )
    return [st.finish(line) for line in lines]
