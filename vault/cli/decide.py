"""The commands by which the person decides: settle, seller."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated

import typer

from vault.cli import screen
from vault.cli.ask import JsonOption, files_by_digest
from vault.cli.session import Session, parse_day, style
from vault.errors import ExitStatus, UsageError

if TYPE_CHECKING:
    from vault.catalogue import Catalogue
    from vault.model.match import FileView, Question
    from vault.model.purchase import Item, Purchase


def settle(
    ctx: typer.Context,
    question: Annotated[str | None, typer.Argument(metavar="QUESTION", help="The id of a question or item.")] = None,
    file: Annotated[str | None, typer.Option("--file", metavar="SHA256", help="It is this file.")] = None,
    none: Annotated[bool, typer.Option("--none", help="It is none of them.")] = False,
    later: Annotated[bool, typer.Option("--later", help="Do not ask now.")] = False,
    take_back: Annotated[bool, typer.Option("--take-back", help="Forget what was answered.")] = False,
    json: JsonOption = False,
) -> None:
    """Answer what matching is unsure of.

    An answer holds for ever, until you take it back.

    Exit status 1 if questions are left.

    Example: pinfold settle
    """
    session: Session = ctx.obj
    chosen = sum((file is not None, none, later, take_back))
    if chosen > 1:
        raise UsageError("one answer at a time", "give one of --file, --none, --later, --take-back")
    if chosen and question is None:
        raise UsageError("which question is answered?", "pinfold settle --json lists their ids")
    if chosen and question is not None:
        _answer(session, question, file=file, later=later, take_back=take_back)
    elif json or not screen.interactive():
        _list(session, question, json=json)
    else:
        _ask_all(session, question)
    with session.reading() as catalogue:
        left = len(catalogue.questions())
    if chosen and not session.quiet:
        screen.tell(f"{left} left to answer")
    raise typer.Exit(int(ExitStatus.NEEDS_YOU if left else ExitStatus.DONE))


def _items(catalogue: Catalogue) -> dict[str, tuple[Purchase, Item]]:
    return {i.item.id: (v.purchase, i.item) for v in catalogue.purchases() for i in v.items}


def _list(session: Session, wanted: str | None, *, json: bool) -> None:
    from vault.reports import listings
    from vault.reports import rows as as_rows

    with session.reading() as catalogue:
        views, items = files_by_digest(catalogue), _items(catalogue)
        asked = [q for q in catalogue.questions() if wanted in (None, q.id, q.item_id) and q.item_id in items]
    names = {sha: as_rows.file_name(v) for sha, v in views.items()}
    if json:
        rows = [as_rows.question_row(q, items[q.item_id][1], items[q.item_id][0], names) for q in asked]
        screen.say_json({"questions": rows})
        return
    if not asked:
        screen.say(["There is nothing to answer."])
    for q in asked:
        purchase, item = items[q.item_id]
        screen.say([*listings.question(q, item, purchase, views, style()), ""])


def _answer(session: Session, wanted: str, *, file: str | None, later: bool, take_back: bool) -> None:
    from vault.intake.derive import shelve
    from vault.intake.ingest import rematch
    from vault.model.match import Answer

    with session.writing() as catalogue:
        item_id = _item_meant(catalogue, wanted)
        if take_back:
            catalogue.withdraw_answer(item_id)
        else:
            digest = _digest_meant(catalogue, file) if file is not None else None
            seen = [c.sha256 for q in catalogue.questions() if q.item_id == item_id for c in q.candidates]
            rejected = () if digest or later else tuple(seen)
            catalogue.add_answer(Answer(item_id=item_id, sha256=digest, later=later, rejected=rejected))
        rematch(catalogue)
        shelve(session.folder(), catalogue)


def _item_meant(catalogue: Catalogue, wanted: str) -> str:
    for q in catalogue.questions():
        if wanted in (q.id, q.item_id):
            return q.item_id
    for view in catalogue.purchases():
        for item in view.items:
            if wanted in (item.item.id, "q" + item.item.id):
                return item.item.id
    raise UsageError(f"there is no question {wanted!r}", "pinfold settle --json lists their ids")


def _digest_meant(catalogue: Catalogue, text: str) -> str:
    start = text.lower()
    hits = [v.file.sha256 for v in catalogue.files() if len(start) >= 6 and v.file.sha256.startswith(start)]
    if len(hits) != 1:
        raise UsageError(
            f"{text!r} is the digest of {'no file' if not hits else 'several files'} here",
            "give the first twelve signs of its SHA-256; pinfold files --json lists them",
        )
    return hits[0]


def _ask_all(session: Session, wanted: str | None) -> None:
    """Asks one question after the other; the most telling first, as the catalogue orders them."""
    put_off: set[str] = set()
    while True:
        with session.reading() as catalogue:
            views, items = files_by_digest(catalogue), _items(catalogue)
            open_ones = [
                q
                for q in catalogue.questions()
                if wanted in (None, q.id, q.item_id) and q.item_id in items and q.id not in put_off
            ]
        if not open_ones:
            screen.tell("That is all there is to answer.")
            return
        asked = open_ones[0]
        purchase, item = items[asked.item_id]
        if not _ask_one(session, asked, item, purchase, views, len(open_ones)):
            return
        put_off.add(asked.id)


def _ask_one(
    session: Session,
    asked: Question,
    item: Item,
    purchase: Purchase,
    views: Mapping[str, FileView],
    left: int,
) -> bool:
    from vault.reports import listings

    screen.say([*listings.question(asked, item, purchase, views, style()), ""])
    keys = f"1-{len(asked.candidates)}" if len(asked.candidates) > 1 else "1"
    while True:
        key = screen.ask(f"Which is it? {keys}, n none of them, l later, q stop ({left} left): ").lower()
        if key in ("q", ""):
            return False
        if key == "l":
            return True
        if key == "n":
            _answer(session, asked.id, file=None, later=False, take_back=False)
            return True
        if key.isdecimal() and 1 <= int(key) <= len(asked.candidates):
            _answer(session, asked.id, file=asked.candidates[int(key) - 1].sha256, later=False, take_back=False)
            return True
        screen.tell("That is none of the keys.")


def seller(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME", help="The shop, as sellers lists it.")],
    closes: Annotated[str | None, typer.Option("--closes", metavar="DATE", help="It will close on that day.")] = None,
    closed: Annotated[str | None, typer.Option("--closed", metavar="DATE", help="It closed on that day.")] = None,
    is_open: Annotated[bool, typer.Option("--open", help="It is open after all.")] = False,
    succeeded_by: Annotated[str | None, typer.Option("--succeeded-by", metavar="NAME", help="Who goes on.")] = None,
) -> None:
    """What you learned about a shop.

    Example: pinfold seller 'Thimblewick Patterns' --closes 2026-12-31
    """
    session: Session = ctx.obj
    if sum((closes is not None, closed is not None, is_open)) > 1:
        raise UsageError("a shop is open, closing or closed", "give one of --closes, --closed, --open")
    if not (closes or closed or is_open or succeeded_by):
        raise UsageError("nothing was said about the shop", "give --closes, --closed, --open or --succeeded-by")
    said = closes or closed
    day = parse_day(said) if said else None
    status = "closing" if closes else "closed" if closed else "open" if is_open else None
    with session.writing() as catalogue:
        known = [
            s
            for s in catalogue.sellers()
            if name.casefold() in {n.casefold() for n in (s.name, *s.also_known_as, s.id)}
        ]
        if len(known) != 1:
            names = ", ".join(s.name for s in catalogue.sellers()[:12])
            raise UsageError(f"there is no seller {name!r}", f"sellers here: {names}")
        catalogue.set_seller(known[0].name, status=status, closes_on=day, succeeded_by=succeeded_by)
        from vault.intake.ingest import rematch

        rematch(catalogue)
    screen.say([f"Noted for {known[0].name}."])


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command()(settle)
    app.command()(seller)
