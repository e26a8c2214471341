"""The whole main job on the bundled scenario, explained step by step, in a scratch folder."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any

import typer

from vault.cli import ask, bring, regain, safe, screen
from vault.cli.session import Session, style
from vault.errors import VaultError

_PASSPHRASE = "four gulls over a cold harbour"
_DAY = "2026-11-25"  # the scenario's today, so that deadlines mean the same whenever the demo runs


def scenario_folder() -> Path:
    """The bundled scenario: inside the installed package, or in the source tree."""
    package = Path(__file__).parent.parent
    for place in (package / "_fixtures" / "demo", package.parent / "fixtures" / "demo"):
        if (place / "receipts").is_dir():
            return place
    raise VaultError("the demo scenario is not part of this installation", "install pinfold anew", code="no-demo")


@contextmanager
def _scratch(keep: Path | None) -> Iterator[Path]:
    import tempfile

    if keep is None:
        with tempfile.TemporaryDirectory(prefix="pinfold-demo-", ignore_cleanup_errors=True) as name:
            yield Path(name)
        return
    if keep.exists() and any(keep.iterdir()):
        raise VaultError(f"{keep} holds something already", "name a new folder with --keep", code="folder-in-use")
    keep.mkdir(parents=True, exist_ok=True)
    yield keep


def demo(
    ctx: typer.Context,
    keep: Annotated[Path | None, typer.Option("--keep", metavar="DIR", help="Keep what the demo makes here.")] = None,
) -> None:
    """The whole main job on invented data.

    Example: pinfold demo --keep demo-vault
    """
    from vault.cli.session import parse_day

    session: Session = ctx.obj
    with _scratch(keep.expanduser().absolute() if keep else None) as scratch:
        _run(replace(session, vault=scratch / "vault", as_of=session.as_of or parse_day(_DAY)), scratch)
        _where_to_go(keep)


def _step(number: int, heading: str, words: str) -> None:
    st = style()
    from vault.reports.text import wrap

    screen.say(["", st.bold(f"{number}. {heading}"), *(st.finish(x) for x in wrap(words, st.columns)), ""])


def _run(session: Session, scratch: Path) -> None:
    import shutil

    from vault.reports.text import wrap

    st = style()
    intro = (
        'The wardrobe volunteers of the Lanternfield Players, a small amateur theatre, dress "The Harbour Winter". '
        "For two years they bought patterns as downloads from small shops, and one of those shops is about to close. "
        "Everything here is invented, and everything happens in a scratch folder."
    )
    screen.say([st.finish(x) for x in wrap(intro, st.columns)])
    for part in ("receipts", "downloads"):
        shutil.copytree(scenario_folder() / part, scratch / part)

    _step(
        1,
        "Import the receipts",
        "Mails, a mailbox, a saved account page, a PDF invoice, an export, a pasted text: whatever proves a purchase. "
        "A newsletter, a basket reminder and a parcel notice are in there too, and give no purchase.",
    )
    screen.say([f"$ pinfold import {'receipts'}"])
    _import(session, scratch / "receipts")

    _step(
        2,
        "Import the downloads folder",
        "The files are fingerprinted, read and linked to what was bought. One is cut off, one is an error page, one "
        "only a preview: none of these counts as held.",
    )
    screen.say([f"$ pinfold import {'downloads'}"])
    _import(session, scratch / "downloads")

    _step(3, "What was bought but is not held?", "The most urgent first, with the link as text: nothing is opened.")
    screen.say(["$ pinfold missing"])
    _missing(session)

    _step(
        4,
        "Back up",
        f'Encrypted with age; the passphrase here is "{_PASSPHRASE}". A recovery sheet to print goes with it.',
    )
    screen.say([f"$ pinfold backup --to {'stick'} --recovery-sheet recovery-sheet.html"])
    safe.back_up(session, scratch / "stick", passphrase=_PASSPHRASE, sheet=scratch / "recovery-sheet.html")

    _step(5, "The laptop dies", "On a new computer there is nothing but the stick and the passphrase.")
    new = replace(session, vault=scratch / "new-computer")
    screen.say([f"$ pinfold restore --from {'stick'} --vault new-computer"])
    regain.bring_back(new, scratch / "stick", passphrase=_PASSPHRASE)
    _prove_equal(session, new)


def _import(session: Session, path: Path) -> None:
    summary = bring.bring_in(session, [str(path)])
    quiet = replace(session, quiet=True)
    screen.say(_indented(bring.summary_lines(summary, quiet, path.parent)))


def _indented(lines: list[str]) -> list[str]:
    return [f"  {line}" if line else "" for line in lines]


def _missing(session: Session) -> None:
    from vault.reports import missing as report

    st = style()
    with session.reading() as catalogue:
        rows = ask.missing_rows(catalogue, session.day)
        n_items = ask.wanted(catalogue.purchases())
    screen.say(_indented(report.missing(rows, n_items, replace(st, columns=st.columns - 2), most=4)))


def answers(session: Session) -> dict[str, Any]:
    """What the vault answers to purchases, files, missing and sellers, as their JSON has it."""
    from collections import Counter

    from vault.reports import rows as as_rows

    with session.reading() as catalogue:
        files = ask.files_by_digest(catalogue)
        missing = ask.missing_rows(catalogue, session.day)
        counts = Counter(r.purchase.seller_id for r in missing)
        return {
            **as_rows.purchases(catalogue.purchases(), files),
            **as_rows.files(tuple(files.values())),
            **as_rows.missing(missing),
            **as_rows.sellers(catalogue.sellers(), {k: n for k, n in counts.items() if k}),
        }


def _prove_equal(old: Session, new: Session) -> None:
    from vault.reports.text import wrap

    before, after = answers(old), answers(new)
    differing = [name for name in before if before[name] != after[name]]
    if differing:
        raise VaultError(
            f"the restored vault differs in: {', '.join(differing)}", "please report this as a fault", code="demo"
        )
    counted = ", ".join(f"{len(before[name])} {name}" for name in ("purchases", "files", "missing", "sellers"))
    words = f"The restored vault gives the same answers as the lost one: {counted}."
    screen.say(["", *(style().finish(x) for x in wrap(words, style().columns))])


def _where_to_go(keep: Path | None) -> None:
    from vault.reports.text import wrap

    st = style()
    lines = ["", st.bold("Where to go from here")]
    if keep:
        lines += wrap(
            f"Look around in it: pinfold --vault {keep / 'vault'} purchases", st.columns, first="  ", rest="    "
        )
    else:
        lines += ["  Look around in it: pinfold demo --keep DIR"]
    lines += [
        "  Begin with your own: pinfold import FOLDER",
        "  All commands: pinfold --help",
    ]
    screen.say([st.finish(line) for line in lines])


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command()(demo)
