"""The command by which the person decides what belongs together: settle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

from vault.cli import screen
from vault.cli.ask import JsonOption, files_by_digest
from vault.cli.session import Session, style
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
    answered: Annotated[bool, typer.Option("--answered", help="List the answers and what they taught.")] = False,
    json: JsonOption = False,
) -> None:
    """Answer what matching is unsure of.

    An answer holds for ever, until you take it back.  It may teach more: a designer's other name, a code.

    Exit status 1 if questions are left.

    Example: pinfold settle
    """
    session: Session = ctx.obj
    chosen = sum((file is not None, none, later, take_back, answered))
    if chosen > 1:
        raise UsageError("one answer at a time", "give one of --file, --none, --later, --take-back, --answered")
    if answered:
        _list_answers(session, question, json=json)
        return
    if chosen and question is None:
        raise UsageError("which question is answered?", "pinfold settle --json lists their ids")
    if chosen and question is not None:
        outcome = _answer(session, question, file=file, later=later, take_back=take_back)
        if not session.quiet and not json:
            _tell_outcome(outcome)
    elif json or not screen.interactive():
        _list(session, question, json=json)
    else:
        _ask_all(session, question)
    with session.reading() as catalogue:
        left = len(catalogue.questions())
    if chosen and not session.quiet:
        screen.tell(f"{left} left to answer")
    raise typer.Exit(int(ExitStatus.NEEDS_YOU if left else ExitStatus.DONE))


@dataclass(frozen=True, kw_only=True)
class _Outcome:
    """What came of an answer: other questions that it settled, other files that it linked, what it taught."""

    settled: int = 0
    linked: int = 0
    taught: tuple[str, ...] = ()
    taken_back: bool = False


def _items(catalogue: Catalogue) -> dict[str, tuple[Purchase, Item]]:
    return {i.item.id: (v.purchase, i.item) for v in catalogue.purchases() for i in v.items}


def _list(session: Session, wanted: str | None, *, json: bool) -> None:
    from vault.reports import questions as report
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
        screen.say([*report.question(q, item, purchase, views, style()), ""])


def _list_answers(session: Session, wanted: str | None, *, json: bool) -> None:
    from vault.reports import questions as report
    from vault.reports import rows as as_rows

    with session.reading() as catalogue:
        answers = [a for a in catalogue.answers() if wanted in (None, a.item_id, "q" + a.item_id)]
        views, items = files_by_digest(catalogue), _items(catalogue)
        taught = _lessons(catalogue)
    rows: list[report.Answered] = []
    for a in answers:
        purchase, item = items.get(a.item_id, (None, None))
        view = views.get(a.sha256 or "")
        rows.append(
            report.Answered(
                answer=a,
                title=item.title if item else a.item_id,
                seller=purchase.seller if purchase else None,
                name=as_rows.file_name(view) if view else None,
                taught=taught.get(a.item_id, ()),
            )
        )
    if json:
        found = [as_rows.answer_row(r.answer, r.title, r.seller, r.name, r.taught) for r in rows]
        screen.say_json({"answers": found})
    else:
        screen.say(report.answered(rows, style()))


def _lessons(catalogue: Catalogue) -> dict[str, tuple[str, ...]]:
    """By item, what the answer to it taught."""
    from vault.intake.derive import match_items
    from vault.matching.taught import lessons

    answers = catalogue.answers()
    named = {a.sha256: found for a in answers if a.sha256 and (found := catalogue.file(a.sha256))}
    out: dict[str, tuple[str, ...]] = {}
    for lesson in lessons(match_items(catalogue), answers, named) if named else ():
        out[lesson.item_id] = (*out.get(lesson.item_id, ()), lesson.words)
    return out


def _answer(session: Session, wanted: str, *, file: str | None, later: bool, take_back: bool) -> _Outcome:
    from vault.intake.derive import shelve
    from vault.intake.ingest import rematch
    from vault.model.match import Answer

    with session.writing() as catalogue:
        item_id = _item_meant(catalogue, wanted)
        asked, linked = {q.item_id for q in catalogue.questions()}, catalogue.linked_pairs()
        if take_back:
            if not catalogue.withdraw_answer(item_id):
                raise UsageError(f"nothing was answered for {wanted!r}", "pinfold settle --answered lists the answers")
        else:
            digest = _digest_meant(catalogue, file) if file is not None else None
            seen = [c.sha256 for q in catalogue.questions() if q.item_id == item_id for c in q.candidates]
            rejected = () if digest or later else tuple(seen)
            catalogue.add_answer(Answer(item_id=item_id, sha256=digest, later=later, rejected=rejected))
        rematch(catalogue)
        shelve(session.folder(), catalogue)
        now_asked, now_linked = {q.item_id for q in catalogue.questions()}, catalogue.linked_pairs()
        return _Outcome(
            settled=len(asked - now_asked - {item_id}),
            linked=sum(pair[0] != item_id for pair in now_linked - linked),
            taught=() if take_back else _lessons(catalogue).get(item_id, ()),
            taken_back=take_back,
        )


def _tell_outcome(outcome: _Outcome) -> None:
    """Says what came of an answer beyond itself; nothing where it decided nothing else."""
    if outcome.taken_back:
        screen.tell("Taken back; what it taught is forgotten too.")
    for words in outcome.taught:
        screen.tell(f"Learnt from it: {words}. (pinfold settle --answered)")
    also = [f"{outcome.settled} more answered by it"] if outcome.settled else []
    also += [f"{outcome.linked} more linked"] if outcome.linked else []
    if also:
        screen.tell("; ".join(also) + ".")


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
    given: list[str] = []  # items that were answered now, the last one last
    while True:
        with session.reading() as catalogue:
            views, items = files_by_digest(catalogue), _items(catalogue)
            open_ones = [
                q
                for q in catalogue.questions()
                if wanted in (None, q.id, q.item_id) and q.item_id in items and q.id not in put_off
            ]
        if not open_ones:
            done = f" {len(given)} answered; pinfold settle --answered lists them." if given else ""
            screen.tell(f"That is all there is to answer.{done}")
            return
        asked = open_ones[0]
        purchase, item = items[asked.item_id]
        key = _ask_one(session, asked, item, purchase, views, left=len(open_ones), back=bool(given))
        if key == "q":
            return
        if key == "b":
            last = given.pop()
            _tell_outcome(_answer(session, last, file=None, later=False, take_back=True))
            put_off.discard("q" + last)
            continue
        put_off.add(asked.id)
        if key == "l":
            _answer(session, asked.id, file=None, later=True, take_back=False)
            continue
        chosen = asked.candidates[int(key) - 1].sha256 if key != "n" else None
        _tell_outcome(_answer(session, asked.id, file=chosen, later=False, take_back=False))
        given.append(asked.item_id)


def _ask_one(
    session: Session,
    asked: Question,
    item: Item,
    purchase: Purchase,
    views: Mapping[str, FileView],
    *,
    left: int,
    back: bool,
) -> str:
    """Shows one question and waits for a key: the number of a file, n, l, b or q."""
    from vault.reports import questions as report

    screen.say(["", *report.question(asked, item, purchase, views, style()), ""])
    n_files = len(asked.candidates)
    keys = f"1-{n_files} it is that file" if n_files > 1 else "y it is it"
    undo = ", b back" if back else ""
    while True:
        typed = screen.ask(f"{keys}, o open it, n no, l later{undo}, q stop ({left} left): ").lower()
        if typed in ("q", ""):
            return "q"
        if typed in ("l", "n") or (typed == "b" and back):
            return typed
        if typed in ("y", "j", "1") and n_files == 1:
            return "1"
        if typed.isdecimal() and 1 <= int(typed) <= n_files:
            return typed
        if typed[:1] == "o" and (typed[1:].strip() or "1").isdecimal():
            _open(session, asked, int(typed[1:].strip() or "1"), views)
            continue
        screen.tell("That is none of the keys.")


def _open(session: Session, asked: Question, number: int, views: Mapping[str, FileView]) -> None:
    """Opens a candidate in whatever the system shows such files with: where it lies, else under its shelf name."""
    from pathlib import Path

    from vault.safekeeping.shelf import place_of

    if not 1 <= number <= len(asked.candidates):
        screen.tell("There is no such file.")
        return
    view = views.get(asked.candidates[number - 1].sha256)
    seen = [Path(s.path) for s in view.file.sightings if s.inside is None] if view else []
    shelved = place_of(session.folder(), view.file.sha256) if view else None
    place = next((p for p in (*seen, *([shelved] if shelved else [])) if p.is_file()), None)
    if place is None:
        screen.tell("The file is not where it was seen; pinfold show tells where that was.")
    elif typer.launch(str(place)) != 0:
        screen.tell(f"It could not be opened from here: {place}")


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command()(settle)
