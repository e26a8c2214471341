"""The commands that answer: missing, purchases, files, sellers, find, show."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vault.cli import screen
from vault.cli.session import Session, style
from vault.errors import ExitStatus, UsageError

if TYPE_CHECKING:
    from vault.catalogue import Catalogue
    from vault.catalogue.search import SearchHit
    from vault.model.match import FileView, MissingRow, PurchaseView
    from vault.model.pattern import LicenceTerms

_SHORT_ID = 12  # digits of a digest that are enough to name a file
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON (docs/json.md).")]


def missing_rows(catalogue: Catalogue, day: date) -> tuple[MissingRow, ...]:
    """What was bought and is not held, most urgent first, as on `day`."""
    from vault.matching.missing import missing_rows as rows

    return rows(catalogue.purchases(), catalogue.sellers(), day)


def files_by_digest(catalogue: Catalogue) -> dict[str, FileView]:
    """Every file of the catalogue by its digest."""
    return {v.file.sha256: v for v in catalogue.files()}


def recorded_terms(catalogue: Catalogue) -> dict[str, LicenceTerms]:
    """What the person recorded of the terms of items, by item; the first that says anything."""
    found: dict[str, LicenceTerms] = {}
    for added in catalogue.added_terms():
        if added.terms is not None:
            found.setdefault(added.item_id, added.terms)
    return found


def wanted(views: tuple[PurchaseView, ...]) -> int:
    """How many items are patterns bought as downloads and not given back."""
    from vault.model.purchase import ItemState

    off = (ItemState.REFUNDED, ItemState.NOT_DIGITAL)
    return sum(
        i.standing.state not in off and i.item.craft_pattern is not False and i.item.digital is not False
        for v in views
        for i in v.items
    )


def missing(
    ctx: typer.Context,
    html: Annotated[Path | None, typer.Option("--html", metavar="FILE", help="Write a page that prints well.")] = None,
    calendar: Annotated[
        Path | None, typer.Option("--calendar", metavar="FILE", help="Write the deadlines as a calendar file.")
    ] = None,
    json: JsonOption = False,
) -> None:
    """Bought but not held, most urgent first.

    Exit status 1 if anything is missing.

    Example: pinfold missing --html missing.html
    """
    from vault.reports import missing as report
    from vault.reports import rows as as_rows

    session: Session = ctx.obj
    with session.reading() as catalogue:
        rows = missing_rows(catalogue, session.day)
        n_items = wanted(catalogue.purchases())
        questions = len(catalogue.questions())
    _write_reports(rows, session.day, html, calendar)
    if json:
        screen.say_json(as_rows.missing(rows))
    else:
        screen.say(report.missing(rows, n_items, style()))
        if questions:
            screen.say(["", f"{questions} more can perhaps be found if you answer: pinfold settle"])
    raise typer.Exit(int(ExitStatus.NEEDS_YOU if rows else ExitStatus.DONE))


def _write_reports(rows: Sequence[MissingRow], day: date, html: Path | None, calendar: Path | None) -> None:
    if html:
        from vault.reports.page import missing_page

        screen.write_file(html, missing_page(rows, day).encode("utf-8"))
    if calendar:
        from datetime import UTC, datetime

        from vault.reports.calendar import missing_calendar

        screen.write_file(calendar, missing_calendar(rows, datetime.now(UTC).replace(microsecond=0)))


def purchases(
    ctx: typer.Context,
    seller: Annotated[str | None, typer.Option("--seller", metavar="NAME", help="Only of this seller.")] = None,
    year: Annotated[int | None, typer.Option("--year", help="Only of this year.")] = None,
    json: JsonOption = False,
) -> None:
    """The purchases with their items.

    Example: pinfold purchases --year 2026
    """
    from vault.reports import listings
    from vault.reports import rows as as_rows

    session: Session = ctx.obj
    with session.reading() as catalogue:
        views = tuple(v for v in catalogue.purchases() if _wanted_purchase(v, seller, year))
        files = files_by_digest(catalogue)
        recorded = recorded_terms(catalogue)
    if json:
        screen.say_json(as_rows.purchases(views, files, recorded))
    else:
        screen.say(listings.purchases(views, style()) or ["No purchases here yet: pinfold import FOLDER"])


def _wanted_purchase(view: PurchaseView, seller: str | None, year: int | None) -> bool:
    p = view.purchase
    if seller and seller.casefold() not in (p.seller or "").casefold():
        return False
    return year is None or (p.purchased_on is not None and p.purchased_on.year == year)


def files(
    ctx: typer.Context,
    unclaimed: Annotated[bool, typer.Option("--unclaimed", help="Only patterns that no purchase claims.")] = False,
    craft: Annotated[str | None, typer.Option("--craft", help="Only of this craft.")] = None,
    json: JsonOption = False,
) -> None:
    """The files with what they are.

    Example: pinfold files --craft knitting
    """
    from vault.reports import listings
    from vault.reports import rows as as_rows

    session: Session = ctx.obj
    with session.reading() as catalogue:
        everything = catalogue.files()
        views = [
            v
            for v in everything
            if (not craft or v.file.facts.craft == craft)
            and (not unclaimed or (v.file.facts.is_pattern and not v.item_ids and not v.duplicate_of))
        ]
    if unclaimed:
        _unclaimed(session, views, json=json)
        return
    from vault.matching.relations import Relations

    if json:
        screen.say_json(as_rows.files(views))
        return
    related = Relations(v.file for v in everything)
    old = {v.file.sha256 for v in views if any(r.kind == "version" and r.newer for r in related.of(v.file))}
    screen.say(listings.files(views, style(), superseded=old) if views else ["No such files: pinfold import FOLDER"])


def _unclaimed(session: Session, views: Sequence[FileView], *, json: bool) -> None:
    """Patterns without a purchase, by maker, with what they suggest."""
    from vault.intake.derive import match_items
    from vault.matching.unclaimed import unclaimed as group_up
    from vault.reports import rows as as_rows
    from vault.reports import unclaimed as report

    with session.reading() as catalogue:
        items = match_items(catalogue)
    groups = group_up((v.file for v in views), (), items)
    by_digest = {v.file.sha256: v for v in views}
    if json:
        screen.say_json({**as_rows.files(views), "unclaimed": report.rows(groups)})
    else:
        screen.say(report.unclaimed(groups, by_digest, style()) or ["Every pattern here belongs to a purchase."])


def sellers(ctx: typer.Context, json: JsonOption = False) -> None:
    """The sellers, their domains and how they stand.

    Example: pinfold sellers
    """
    from vault.cli.shop import pairs_of
    from vault.reports import listings
    from vault.reports import rows as as_rows
    from vault.reports.seller import perhaps_lines

    session: Session = ctx.obj
    with session.reading() as catalogue:
        found = catalogue.sellers()
        names = {s.id: s.name for s in found}
        pairs = [(names[p.one], names[p.other], p) for p in pairs_of(catalogue, found)]
        counts = Counter(r.purchase.seller_id for r in missing_rows(catalogue, session.day))
    by_id = {seller_id: n for seller_id, n in counts.items() if seller_id}
    if json:
        perhaps = [{"one": p.one, "other": p.other, "why": list(p.why)} for _, _, p in pairs]
        screen.say_json({**as_rows.sellers(found, by_id), "perhaps_same": perhaps})
    else:
        screen.say(listings.sellers(found, by_id, style()) if found else ["No sellers yet: pinfold import FOLDER"])
        screen.say(perhaps_lines(pairs, style()))


def find(
    ctx: typer.Context,
    words: Annotated[list[str], typer.Argument(help="What to look for.")],
    json: JsonOption = False,
) -> None:
    """Search purchases, receipts and the text of files.

    Example: pinfold find wrap skirt
    """
    from vault.reports.tables import Column, table

    session: Session = ctx.obj
    with session.reading() as catalogue:
        hits = catalogue.search(" ".join(words))
        files = files_by_digest(catalogue) if any(h.kind == "file" for h in hits) else {}
    if json:
        screen.say_json({"found": [{"kind": h.kind, "id": h.key, "title": h.title, "words": h.words} for h in hits]})
        return
    if not hits:
        screen.say([f"Nothing found for: {' '.join(words)}"])
        return
    columns = [
        Column(heading="Kind"),
        Column(heading="Title", gives=True),
        Column(heading="Where", gives=True),
        Column(heading="Id"),
    ]
    rows = [[h.kind, h.title, _where(h, files), h.key[:_SHORT_ID]] for h in hits]
    screen.say([*table(columns, rows, style()), "", "All about one of them: pinfold show ID"])


def _where(hit: SearchHit, files: dict[str, FileView]) -> str:
    """What tells a hit from others with the same title: the name and paper of a file, else the words around."""
    view = files.get(hit.key)
    if hit.kind != "file" or view is None:
        return hit.words
    from vault.reports.listings import sheet_words
    from vault.reports.rows import file_name

    sheets = ", ".join(sheet_words(s) for s in view.file.facts.sheets[:2])
    return ", ".join(filter(None, [file_name(view), sheets]))


def show(
    ctx: typer.Context,
    what: Annotated[str, typer.Argument(metavar="ITEM", help="An id, a digest, or words of a title or file name.")],
    json: JsonOption = False,
) -> None:
    """One item or file, with all that is known.

    Example: pinfold show 'bustle skirt'
    """
    from vault.reports import detail
    from vault.reports import rows as as_rows

    session: Session = ctx.obj
    with session.reading() as catalogue:
        by_digest = files_by_digest(catalogue)
        items = [(v, i) for v in catalogue.purchases() for i in v.items]
        recorded = recorded_terms(catalogue)
    hit_items = [x for x in items if x[1].item.id == what] or [
        x for x in items if what.casefold() in x[1].item.title.casefold()
    ]
    hit_files = [v for v in by_digest.values() if len(what) >= 6 and v.file.sha256.startswith(what.lower())] or [
        v for v in by_digest.values() if what.casefold() in as_rows.file_name(v).casefold()
    ]
    named = [v for v in hit_files if as_rows.file_name(v).casefold() == what.casefold()]
    hit_files = named or hit_files
    exact = [x for x in hit_items if x[1].item.title.casefold() == what.casefold()]
    hit_items = exact or hit_items
    if len(hit_items) == 1:
        view, item = hit_items[0]
        row = as_rows.item_row(item, view.purchase.currency, by_digest, recorded)
        if json:
            sources = [
                {"field": s.source.field, "words": s.source.words, "how": s.source.how, "sha256": s.evidence_sha256}
                for s in view.purchase.sources
            ]
            screen.say_json(
                {"item": row, "purchase": as_rows.purchase_row(view, by_digest, recorded), "sources": sources}
            )
        else:
            screen.say(detail.item(view, item, by_digest, style()))
    elif not hit_items and len(hit_files) == 1:
        if json:
            screen.say_json({"file": _file_json(session, hit_files[0], by_digest)})
        else:
            screen.say(_file_screen(session, hit_files[0], by_digest))
    else:
        _say_choice(what, [f"{i.item.id}  {i.item.title}" for _, i in hit_items], hit_files)


def _file_json(session: Session, view: FileView, by_digest: dict[str, FileView]) -> dict[str, Any]:
    from vault.matching.relations import relations
    from vault.reports.rows import file_row

    found = relations(view.file, [v.file for v in by_digest.values()])
    shelf, picture = _shelf_place(session, view), _picture(session, view)
    return {
        **file_row(view),
        "relations": [{"kind": r.kind, "sha256": r.sha256, "words": r.words, "newer": r.newer} for r in found],
        "shelf": shelf,
        "picture": picture,
    }


def _file_screen(session: Session, view: FileView, by_digest: dict[str, FileView]) -> list[str]:
    from vault.matching.relations import relations
    from vault.reports.file_screen import file_screen

    found = relations(view.file, [v.file for v in by_digest.values()])
    shelf, picture = _shelf_place(session, view), _picture(session, view)
    return file_screen(view, style(), shelf=shelf, picture=picture, relations=found, others=by_digest)


def _picture(session: Session, view: FileView) -> str | None:
    """The picture of the first page; drawn now where it is lacking and the vault can be written."""
    import contextlib

    from vault.errors import VaultError
    from vault.intake.thumbnails import draw
    from vault.safekeeping.pictures import PictureFolder

    folder = session.folder()
    with contextlib.suppress(VaultError):
        draw(folder, [view.file])
    place = PictureFolder(folder).find(view.file.sha256)
    return str(place) if place else None


def _say_choice(what: str, items: list[str], files: list[FileView]) -> None:
    from vault.reports.rows import file_name

    names = items + [f"{v.file.sha256[:12]}  {file_name(v)}" for v in files]
    if not names:
        raise UsageError(f"nothing is called {what!r}", "look for it with: pinfold find WORDS")
    from vault.reports.text import plain

    shown = "; ".join(plain(n) for n in names[:8])
    raise UsageError(f"{what!r} fits {len(names)} things: {shown}", "say it with the id: pinfold show ID")


def _shelf_place(session: Session, view: FileView) -> str | None:
    from vault.safekeeping.shelf import place_of

    place = place_of(session.folder(), view.file.sha256)
    return str(place) if place else None


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    for command in (missing, purchases, files, sellers, find, show):
        app.command()(command)
