"""The command that hands a vault over to whoever comes after: handover."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from vault.cli import screen, upkeep
from vault.cli.ask import JsonOption
from vault.cli.safe import remember
from vault.cli.session import Session, style
from vault.errors import ExitStatus, UsageError

if TYPE_CHECKING:
    from vault.catalogue import Catalogue
    from vault.model.match import FileView, PurchaseView
    from vault.reports.handover import HandoverContent
    from vault.safekeeping.handover import HandoverFile, HandoverReport

_ENDING_RE = re.compile(r"(?<=.)\.[A-Za-z0-9]{1,10}\Z")
_ENDINGS = {
    "mail": ".eml",
    "page": ".html",
    "pdf": ".pdf",
    "csv": ".csv",
    "sheet": ".xlsx",
    "text": ".txt",
    "recorded": ".json",
}


def handover(
    ctx: typer.Context,
    to: Annotated[Path, typer.Option("--to", metavar="DIR", help="A new folder for the bag.")],
    item: Annotated[
        list[str] | None, typer.Option("--item", metavar="ID", help="Only this item; may be given again.")
    ] = None,
    designer: Annotated[
        list[str] | None, typer.Option("--designer", metavar="NAME", help="Only this designer; may be given again.")
    ] = None,
    json: JsonOption = False,
) -> None:
    """Write the files, receipts and lists into a folder that needs no program.

    A BagIt bag of the vault or of a part of it, for whoever comes after.

    Exit status 1 if something that is kept could not be put in.

    Example: pinfold handover --to /media/stick/for-ada --designer 'Lark & Thimble'
    """
    session: Session = ctx.obj
    report = hand_over(session, to, items=item or (), designers=designer or ())
    if json:
        row = {
            "bag": str(report.bag),
            "files": report.files,
            "bytes": report.n_bytes,
            "damaged": [upkeep.damage_row(d) for d in report.damaged],
            "gone": [d.sha256 for d in report.gone],
            "warnings": list(report.warnings),
            "seconds": round(report.seconds, 2),
            "ok": report.ok,
        }
        screen.say_json({"handover": row})
    else:
        say(report)
    raise typer.Exit(int(ExitStatus.DONE if report.ok else ExitStatus.NEEDS_YOU))


def hand_over(session: Session, to: Path, *, items: Sequence[str], designers: Sequence[str]) -> HandoverReport:
    """Writes the bag and notes it in the log."""
    from dataclasses import replace

    from vault import __version__
    from vault.reports import handover as pages
    from vault.safekeeping.handover import arrange
    from vault.safekeeping.handover import hand_over as run

    folder = session.existing_folder()
    with session.reading() as catalogue:
        content = _content(session, catalogue, items, designers)
        kept = catalogue.kept_names()
        head = catalogue.log_head()
        wanted = _files(catalogue, content, kept, whole=not content.part)
    places = arrange(wanted)
    progress = screen.Progress(quiet=session.quiet)
    info = [
        (
            "External-Description",
            f"Pattern files, receipts and lists from a pinfold vault: {content.part or 'all of it'}",
        ),
        ("Bag-Software-Agent", f"pinfold {__version__}"),
        ("Pinfold-Log-Events", str(head.events)),
        ("Pinfold-Log-Link", head.link),
    ]
    try:
        report = run(
            folder,
            to,
            files=places,
            texts=lambda lacking: pages.texts(replace(content, places=places, lacking=lacking)),
            read_me=pages.read_me(content),
            info=info,
            day=session.day,
            progress=lambda done, total: progress(done, total, "handing over"),
        )
    finally:
        progress.finish()
    words = f"{report.files} files to {report.bag}" + (f": {content.part}" if content.part else "")
    remember(session, "handover", "done" if report.ok else "incomplete", words)
    return report


def wanted_digests(session: Session, path: Path, items: Sequence[str], designers: Sequence[str]) -> set[str]:
    """The objects that a part of the vault with the catalogue at `path` consists of."""
    from vault.catalogue import Catalogue

    with Catalogue.open_read_only(path) as catalogue:
        content = _content(session, catalogue, items, designers)
        return {f.sha256 for f in _files(catalogue, content, catalogue.kept_names(), whole=False)}


def _content(session: Session, catalogue: Catalogue, items: Sequence[str], designers: Sequence[str]) -> HandoverContent:
    """What is handed over: everything, or the purchases and files of some items and designers."""
    from vault.reports.handover import HandoverContent

    views, files = catalogue.purchases(), catalogue.files()
    if not items and not designers:
        return HandoverContent(
            purchases=views,
            files=[v for v in files if v.file.kept],
            sellers=catalogue.sellers(),
            events=catalogue.events(),
            places={},
            lacking={},
            day=session.day,
        )
    views = _selected(views, files, items, designers)
    linked = {k.sha256 for v in views for i in v.items for k in i.links}
    names = {d.casefold() for d in designers}
    chosen = [v for v in files if v.file.kept and (v.file.sha256 in linked or _by(v, names))]
    if not views and not chosen:
        raise UsageError("nothing of that is in the vault", "pinfold files lists designers, pinfold purchases items")
    sellers = {v.purchase.seller_id for v in views}
    return HandoverContent(
        purchases=views,
        files=chosen,
        sellers=[s for s in catalogue.sellers() if s.id in sellers],
        events=[],
        places={},
        lacking={},
        day=session.day,
        part=", ".join([*designers, *(f"item {i}" for i in items)]),
    )


def _selected(
    views: tuple[PurchaseView, ...], files: tuple[FileView, ...], items: Sequence[str], designers: Sequence[str]
) -> tuple[PurchaseView, ...]:
    from dataclasses import replace

    known = {i.item.id for v in views for i in v.items}
    for wanted in items:
        if wanted not in known:
            raise UsageError(f"there is no item {wanted!r}", "pinfold purchases --json lists their ids")
    names = {d.casefold() for d in designers}
    of_designer = {v.file.sha256 for v in files if _by(v, names)}
    out = []
    for view in views:
        shown = tuple(
            i
            for i in view.items
            if i.item.id in items
            or (i.item.designer or "").casefold() in names
            or any(k.sha256 in of_designer for k in i.links)
        )
        if shown:
            out.append(replace(view, items=shown))
    return tuple(out)


def _by(view: FileView, names: set[str]) -> bool:
    return (view.file.facts.designer or "").casefold() in names


def _files(catalogue: Catalogue, content: HandoverContent, kept: dict[str, str], *, whole: bool) -> list[HandoverFile]:
    """Where each kept object lies in the bag: patterns as on the shelf, receipts by date, the rest by name."""
    from vault.intake.shelving import shelf_entries
    from vault.safekeeping.handover import HandoverFile
    from vault.safekeeping.shelf import wanted_place

    chosen = {v.file.sha256 for v in content.files}
    out: list[HandoverFile] = []
    for entry in sorted(shelf_entries(catalogue), key=lambda e: (wanted_place(e), e.sha256)):
        if entry.sha256 in chosen:
            maker, title, name = wanted_place(entry).split("/")
            out.append(HandoverFile(sha256=entry.sha256, folders=("patterns", maker, title), name=name))
    for view in content.purchases:
        p = view.purchase
        words = " ".join(filter(None, [p.purchased_on.isoformat() if p.purchased_on else "", p.seller, p.order_number]))
        for evidence in view.evidence:
            if evidence.sha256 in kept:
                name = f"{(words or 'receipt')[:70]}{_ending(evidence.kind, evidence.source)}"
                out.append(HandoverFile(sha256=evidence.sha256, folders=("receipts",), name=name))
        for shown in view.items:
            for terms in catalogue.added_terms(shown.item.id):
                name = f"{shown.item.title[:40]} {terms.seen_on.isoformat()} {_last_part(terms.name)}"
                out.append(HandoverFile(sha256=terms.sha256, folders=("licences", "recorded"), name=name))
    if whole:
        placed = {f.sha256 for f in out}
        for sha256, source in sorted(kept.items(), key=lambda item: (item[1], item[0])):
            if sha256 in placed:
                continue
            reading = catalogue.document(sha256)
            name = _last_part(source)
            ending = _ending(reading.kind.value, source) if reading else ""
            folder = "receipts" if reading else "other"
            out.append(
                HandoverFile(sha256=sha256, folders=(folder,), name=name if name.endswith(ending) else name + ending)
            )
    return out


def _ending(kind: str, source: str) -> str:
    """The ending that a document came with (a saved page may be .mhtml), or that of its kind."""
    name = _last_part(source)
    found = _ENDING_RE.search(name)
    return found[0].lower() if found and "#" not in name else _ENDINGS.get(kind, "")


def _last_part(path: str) -> str:
    return path.replace("\\", "/").rsplit("/", 1)[-1]


def say(report: HandoverReport) -> None:
    """What was handed over, and where to begin."""
    from vault.reports.handover import PAGE
    from vault.reports.text import wrap

    st = style()
    lines = wrap(
        f"Handed over: {report.files} files, {report.n_bytes / 1e6:.1f} MB, in {report.bag}; checked and valid.",
        st.columns,
        rest="  ",
        keep_long=True,
    )
    lines += upkeep.damage_lines(report.damaged, report.gone)
    lines += wrap(f"Begin with: {report.bag / 'data' / PAGE}", st.columns, rest="  ", keep_long=True)
    screen.say([st.finish(line) for line in lines])


def add_to(app: typer.Typer) -> None:
    """Puts the command of this module into `app`."""
    app.command()(handover)
