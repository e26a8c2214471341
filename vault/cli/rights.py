"""The commands on terms of use: licence show, may, log, add."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from vault.cli import screen
from vault.cli.ask import JsonOption, files_by_digest
from vault.cli.session import Session, parse_day, style
from vault.errors import ExitStatus, UsageError
from vault.model.act import Act, UseKind

if TYPE_CHECKING:
    from vault.catalogue import Catalogue
    from vault.licences.versions import Version
    from vault.model.licence import LicenceUse, MayAnswer, TermsSeen
    from vault.model.match import FileView, ItemView, PurchaseView

ItemArgument = Annotated[str, typer.Argument(metavar="ITEM", help="An item's id, or words of its title.")]

app = typer.Typer(
    name="licence",
    rich_markup_mode=None,
    no_args_is_help=True,
    help="What you may do with a pattern: its terms, your ledger. No legal advice.",
)


def item_meant(catalogue: Catalogue, wanted: str) -> tuple[PurchaseView, ItemView]:
    """The one item that `wanted` (an id, a title, words of a title) means; raises UsageError where it is not one."""
    from vault.reports.text import plain

    items = [(v, i) for v in catalogue.purchases() for i in v.items]
    folded = wanted.casefold()
    for hits in (
        [x for x in items if x[1].item.id == wanted],
        [x for x in items if x[1].item.title.casefold() == folded],
        [x for x in items if folded in x[1].item.title.casefold()],
    ):
        if len(hits) == 1:
            return hits[0]
        if hits:
            named = "; ".join(f"{i.item.id} {plain(i.item.title)}" for _, i in hits[:6])
            raise UsageError(f"{wanted!r} fits {len(hits)} things: {named}", "say it with the id")
    raise UsageError(f"no item is called {wanted!r}", "look for it with: pinfold find WORDS")


def _sources(
    catalogue: Catalogue, view: PurchaseView, item: ItemView, files: dict[str, FileView] | None = None
) -> tuple[TermsSeen, ...]:
    from vault.intake.terms import terms_of

    return terms_of(catalogue, view, item, files if files is not None else files_by_digest(catalogue))


def _answer(
    catalogue: Catalogue, act: Act, view: PurchaseView, item: ItemView, count: int | None, day: date
) -> MayAnswer:
    from vault.licences.may import may as answer

    return answer(
        act,
        _sources(catalogue, view, item),
        catalogue.licence_uses(item.item.id),
        count=count,
        bought_on=view.purchase.purchased_on,
        day=day,
    )


@app.command()
def show(
    ctx: typer.Context,
    item: Annotated[
        str | None, typer.Argument(metavar="ITEM", help="An item's id, or words of its title; without it, all.")
    ] = None,
    odrl: Annotated[
        Path | None, typer.Option("--odrl", metavar="FILE", help="Write the terms as ODRL 2.2 (JSON-LD).")
    ] = None,
    json: JsonOption = False,
) -> None:
    """The terms with their words, and where and when they were seen.

    Example: pinfold licence show 'bustle skirt'
    """
    session: Session = ctx.obj
    with session.reading() as catalogue:
        if item is None:
            _show_all(session, catalogue, odrl, json=json)
            return
        view, found = item_meant(catalogue, item)
        files = files_by_digest(catalogue)
        seen = _versions(_sources(catalogue, view, found, files))
        uses = catalogue.licence_uses(found.item.id)
    from vault.reports import licence as report

    if odrl:
        _write_odrl(odrl, [(view, found, seen)])
    if json:
        screen.say_json({"licence": report.show_row(found.item.id, found.item.title, seen, uses)})
    elif not odrl:
        screen.say(report.show(found.item.title, seen, uses, style()))


def _versions(sources: tuple[TermsSeen, ...]) -> tuple[Version, ...]:
    from vault.licences.versions import versions

    return versions(sources)


def _show_all(session: Session, catalogue: Catalogue, odrl: Path | None, *, json: bool) -> None:
    from vault.licences.may import may as answer
    from vault.reports import licence as report

    files = files_by_digest(catalogue)
    found = []
    for view in catalogue.purchases():
        for item in view.items:
            sources = _sources(catalogue, view, item, files)
            if sources:
                found.append((view, item, sources))
    if odrl:
        _write_odrl(odrl, [(v, i, _versions(s)) for v, i, s in found])
    if json:
        rows = [
            report.show_row(i.item.id, i.item.title, _versions(s), catalogue.licence_uses(i.item.id))
            for _, i, s in found
        ]
        screen.say_json({"licences": rows})
    elif not odrl:
        lines = [
            (
                i.item.id,
                i.item.title,
                answer(
                    Act.SELL,
                    s,
                    catalogue.licence_uses(i.item.id),
                    bought_on=v.purchase.purchased_on,
                    day=session.day,
                ),
            )
            for v, i, s in found
        ]
        screen.say(report.overview(lines, style()) if lines else ["No terms of use were seen yet."])


def _write_odrl(path: Path, found: list[tuple[PurchaseView, ItemView, tuple[Version, ...]]]) -> None:
    from vault.licences import odrl
    from vault.reports.rows import dumps

    documents = []
    for view, item, seen in found:
        work = odrl.Work(
            item_id=item.item.id,
            title=item.item.title,
            designer=item.item.designer or view.purchase.seller,
            digests=tuple(link.sha256 for link in item.links),
        )
        documents.append(odrl.document(work, seen))
    policies = [p for d in documents for p in d.get("@graph", [{k: v for k, v in d.items() if k != "@context"}])]
    if not policies:
        raise UsageError("the words state nothing that ODRL could say", "see them with: pinfold licence show ITEM")
    whole = documents[0] if len(documents) == 1 else {"@context": odrl.CONTEXT, "@graph": policies}
    screen.write_file(path, (dumps(whole) + "\n").encode("utf-8"))


@app.command()
def may(
    ctx: typer.Context,
    act: Annotated[Act, typer.Argument(metavar="ACT", help="use, sell, teach, share, alter, print, give or hire.")],
    item: ItemArgument,
    count: Annotated[int | None, typer.Option("--count", min=1, metavar="N", help="How many more.")] = None,
    json: JsonOption = False,
) -> None:
    """What the words say: yes, no, up to N, only with a licence, silent, unclear.

    Acts: use, sell (finished pieces), teach, share (the file), alter, print (again), give (a copy away), hire (make
    pieces for somebody who pays).

    Example: pinfold licence may sell 'bustle skirt' --count 10
    """
    from vault.reports import licence as report

    session: Session = ctx.obj
    with session.reading() as catalogue:
        view, found = item_meant(catalogue, item)
        answer = _answer(catalogue, act, view, found, count, session.day)
    if json:
        screen.say_json({"may": report.may_row(found.item.id, found.item.title, answer)})
    else:
        screen.say(report.may(found.item.title, answer, style()))


@app.command()
def log(
    ctx: typer.Context,
    item: ItemArgument,
    kind: Annotated[
        UseKind | None, typer.Argument(metavar="KIND", help="made, sold, given or taught; without it, the ledger.")
    ] = None,
    count: Annotated[int, typer.Option("--count", min=1, metavar="N", help="How many.")] = 1,
    on: Annotated[str | None, typer.Option("--on", metavar="DATE", help="The day; without it, today.")] = None,
    where: Annotated[str, typer.Option("--where", metavar="WORDS", help="Where: a fair, a shop, a class.")] = "",
    take_back: Annotated[str | None, typer.Option("--take-back", metavar="ID", help="Strike out that line.")] = None,
    json: JsonOption = False,
) -> None:
    """Your ledger: what you made, sold, gave away or taught.

    Nothing is refused.  Exit status 1 if a limit is passed.

    Example: pinfold licence log 'bustle skirt' sold --count 3 --where 'Harbour fair'
    """
    session: Session = ctx.obj
    if take_back is not None and kind is not None:
        raise UsageError("either a new line or one to strike out", "give KIND or --take-back, not both")
    if take_back is None and kind is None:
        with session.reading() as catalogue:
            _say_ledger(session, catalogue, item, json=json)
        return
    with session.writing() as catalogue:
        _, found = item_meant(catalogue, item)
        with catalogue.transaction():
            if take_back is not None:
                _strike_out(catalogue, found.item.id, take_back)
            elif kind is not None:
                catalogue.add_use(_line(found.item.id, kind, count, on, where, session.day))
        passed = _say_ledger(session, catalogue, item, json=json)
    raise typer.Exit(int(ExitStatus.NEEDS_YOU if passed else ExitStatus.DONE))


def _line(item_id: str, kind: UseKind, count: int, on: str | None, where: str, today: date) -> LicenceUse:
    import secrets

    from vault.model.licence import LicenceUse

    day = parse_day(on) if on else today
    if day > today:
        raise UsageError(f"{day} is still to come", "give the day on which it was done")
    return LicenceUse(
        id="u" + secrets.token_hex(4), item_id=item_id, kind=kind, count=count, on=day, where=" ".join(where.split())
    )


def _strike_out(catalogue: Catalogue, item_id: str, use_id: str) -> None:
    if not any(u.id == use_id for u in catalogue.licence_uses(item_id)):
        raise UsageError(f"the ledger has no line {use_id!r} for this item", "pinfold licence log ITEM lists them")
    catalogue.withdraw_use(use_id)


def _say_ledger(session: Session, catalogue: Catalogue, wanted: str, *, json: bool) -> bool:
    """Shows the ledger and every limit that it touches; whether one is passed."""
    from vault.licences.may import ACT_OF
    from vault.model.licence import Ruling
    from vault.reports import licence as report
    from vault.reports.text import wrap

    view, found = item_meant(catalogue, wanted)
    uses = catalogue.licence_uses(found.item.id)
    answers = [
        _answer(catalogue, ACT_OF[kind], view, found, None, session.day)
        for kind in UseKind
        if kind in ACT_OF and any(u.kind is kind for u in uses)
    ]
    # "silent" and "unclear" pass nothing: nobody can say that they do
    passed = [a for a in answers if a.fits is False or (a.ruling is Ruling.NO and a.used)]
    if json:
        rows = [report.may_row(found.item.id, found.item.title, a) for a in answers]
        screen.say_json({"uses": [report.use_row(u) for u in uses], "limits": rows, "passed": bool(passed)})
        return bool(passed)
    st = style()
    lines = report.ledger(uses, st) if uses else ["Nothing is in the ledger of this item."]
    for a in answers:
        words = f"{report.ACT_WORDS[a.act]}: {report.answer_words(a)}"
        counted = report.count_words(a)
        said = wrap(f"{words}; {counted}" if counted else words, st.columns, rest="  ")
        lines += ["", *((st.alert(x) for x in said) if a in passed else said)]
    if answers:
        lines += ["", *wrap(report.NO_ADVICE, st.columns)]
    screen.say([st.finish(line) for line in lines])
    return bool(passed)


@app.command()
def add(
    ctx: typer.Context,
    item: ItemArgument,
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="A saved page, mail, PDF or text with the terms.")
    ] = None,
    text: Annotated[str | None, typer.Option("--text", metavar="WORDS", help="The words themselves.")] = None,
    seen: Annotated[str | None, typer.Option("--seen", metavar="DATE", help="When they were seen.")] = None,
    granted: Annotated[
        bool, typer.Option("--granted", help="Given to you: a licence you bought, a permission by mail.")
    ] = False,
    until: Annotated[str | None, typer.Option("--until", metavar="DATE", help="The last day of a grant.")] = None,
    take_back: Annotated[str | None, typer.Option("--take-back", metavar="ID", help="Forget these terms.")] = None,
    json: JsonOption = False,
) -> None:
    """Record terms that you saw: a saved page, a mail, a PDF, or the words.

    What you record is kept in the vault as evidence.

    Example: pinfold licence add 'bustle skirt' shop-page.html --seen 2026-09-14
    """
    from vault.reports import licence as report

    session: Session = ctx.obj
    if sum((file is not None, text is not None, take_back is not None)) != 1:
        raise UsageError("what are the terms?", "give one of FILE, --text, --take-back")
    if until and not granted:
        raise UsageError("only what was granted to you has a last day", "give --granted with --until")
    if take_back is not None:
        with session.writing() as catalogue, catalogue.transaction():
            _, found = item_meant(catalogue, item)
            terms_id = take_back.removeprefix("added:")
            if not any(t.id == terms_id for t in catalogue.added_terms(found.item.id)):
                raise UsageError(f"no terms {take_back!r} were recorded for it", "licence show ITEM --json lists them")
            catalogue.withdraw_terms(terms_id)
        screen.say(["Taken back; the kept bytes stay in the vault."])
        return
    item_id = _record(session, item, file, text, seen, granted=granted, until=until)
    with session.reading() as catalogue:
        view, found = item_meant(catalogue, item_id)
        versions = _versions(_sources(catalogue, view, found))
        uses = catalogue.licence_uses(item_id)
    if json:
        screen.say_json({"licence": report.show_row(item_id, found.item.title, versions, uses)})
    else:
        screen.say(report.show(found.item.title, versions, uses, style()))


def _record(
    session: Session,
    item: str,
    file: Path | None,
    text: str | None,
    seen: str | None,
    *,
    granted: bool,
    until: str | None,
) -> str:
    from vault.intake.terms import record_terms, terms_in_file, typed_terms

    seen_on = parse_day(seen) if seen else session.day
    last = parse_day(until) if until else None
    if seen_on > session.day:
        raise UsageError(f"{seen_on} is still to come", "give the day on which you saw the words")
    words = terms_in_file(file.expanduser()) if file is not None else typed_terms(text or "")
    with session.writing() as catalogue:
        _, found = item_meant(catalogue, item)
        record_terms(session.folder(), catalogue, found.item.id, words, seen_on=seen_on, granted=granted, until=last)
    return found.item.id


def add_to(main: typer.Typer) -> None:
    """Puts the commands of this module into `main`."""
    main.add_typer(app)
