"""The command that asks a seller for lost files: claim."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from vault.cli import screen
from vault.cli.ask import JsonOption, missing_rows
from vault.cli.session import Session, parse_day, style
from vault.errors import UsageError, VaultError

if TYPE_CHECKING:
    from vault.catalogue import Catalogue
    from vault.claims.asking import Asked
    from vault.claims.letter import Letter
    from vault.claims.proof import Proof, Receipt
    from vault.claims.redact import Hide
    from vault.model.claim import Claim, ClaimState, ClaimStep, ClaimView
    from vault.model.match import PurchaseView


def claim(
    ctx: typer.Context,
    seller: Annotated[
        str | None, typer.Argument(metavar="SELLER", help="The shop, as sellers lists it, or who carries it on.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Write letter and proof: a folder, or FILE.zip.")
    ] = None,
    by: Annotated[str | None, typer.Option("--by", metavar="DATE", help="Ask for an answer by that day.")] = None,
    language: Annotated[str | None, typer.Option("--language", metavar="CODE", help="en, de, fr ...")] = None,
    to: Annotated[str | None, typer.Option("--to", metavar="NAME", help="Whom to address.")] = None,
    signed: Annotated[str | None, typer.Option("--signed", metavar="NAME", help="Who signs.")] = None,
    hide: Annotated[
        list[str] | None,
        typer.Option("--hide", metavar="WHAT", help="Leave out of the proof: address, payment, others."),
    ] = None,
    sent: Annotated[str | None, typer.Option("--sent", metavar="DATE", help="The letter went out.")] = None,
    answered: Annotated[str | None, typer.Option("--answered", metavar="DATE", help="They answered.")] = None,
    refused: Annotated[str | None, typer.Option("--refused", metavar="DATE", help="They refused.")] = None,
    note: Annotated[str, typer.Option("--note", metavar="WORDS", help="What they said.")] = "",
    take_back: Annotated[bool, typer.Option("--take-back", help="Forget the last claim.")] = False,
    json: JsonOption = False,
) -> None:
    """A letter with the proof of each purchase, to ask for lost files.

    Nothing is sent. Without --out the letter is only shown; without SELLER your claims are listed. A claim closes by
    itself when all its files are held.

    Example: pinfold claim 'Thimblewick Patterns' --out claim.zip
    """
    session: Session = ctx.obj
    steps = _steps(sent, answered, refused, note)
    if seller is None:
        if steps or out or take_back:
            raise UsageError("which seller?", "pinfold claim lists your claims, pinfold sellers the shops")
        _list(session, json=json)
    elif steps or take_back:
        _follow(session, seller, steps, take_back=take_back, json=json)
    else:
        _write(session, seller, _Wishes(out, by, language, to, signed, _hidden(hide)), json=json)


@dataclass(frozen=True)
class _Wishes:
    out: Path | None
    by: str | None
    language: str | None
    to: str | None
    signed: str | None
    hide: frozenset[Hide]


def _hidden(words: list[str] | None) -> frozenset[Hide]:
    from vault.claims.redact import Hide

    try:
        return frozenset(Hide(part) for word in words or () for part in word.replace(",", " ").split())
    except ValueError:
        raise UsageError("that cannot be left out", f"--hide takes {', '.join(Hide)}") from None


def _steps(sent: str | None, answered: str | None, refused: str | None, note: str) -> list[ClaimStep]:
    from vault.model.claim import ClaimState, ClaimStep

    said: list[tuple[ClaimState, str | None]] = [
        (ClaimState.SENT, sent),
        (ClaimState.ANSWERED, answered),
        (ClaimState.REFUSED, refused),
    ]
    return [ClaimStep(state=state, on=parse_day(day), note=note) for state, day in said if day]


# ---- following -----------------------------------------------------------------------------------


def _list(session: Session, *, json: bool) -> None:
    from vault.reports import letter as report

    with session.reading() as catalogue:
        views = catalogue.claim_views()
    if json:
        screen.say_json({"claims": [report.claim_row(v) for v in views]})
    else:
        screen.say(report.claims(views, session.day, style()))


def _follow(session: Session, seller: str, steps: list[ClaimStep], *, take_back: bool, json: bool) -> None:
    from vault.reports import letter as report

    with session.writing() as catalogue:
        view = _claim_meant(catalogue, seller)
        for step in steps:
            if step.on > session.day or step.on < view.claim.written_on:
                raise UsageError(
                    f"{step.on} is not between the letter ({view.claim.written_on}) and today ({session.day})",
                    "give the day on which it happened",
                )
        with catalogue.transaction():
            if take_back:
                catalogue.withdraw_claim(view.claim.id)
            for step in steps:
                catalogue.add_claim_step(view.claim.id, step)
        views = [v for v in catalogue.claim_views() if v.claim.id == view.claim.id]
    if json:
        screen.say_json({"claims": [report.claim_row(v) for v in views]})
    else:
        screen.say(report.claims(views, session.day, style()) if views else ["Taken back."])


def _claim_meant(catalogue: Catalogue, wanted: str) -> ClaimView:
    folded = wanted.casefold()
    views = [
        v
        for v in catalogue.claim_views()
        if wanted == v.claim.id or folded in (v.claim.seller.casefold(), v.claim.to.casefold())
    ]
    if not views:
        raise UsageError(f"nothing was asked of {wanted!r} yet", "write the letter first: pinfold claim SELLER --out")
    still_open = [v for v in views if v.open]
    return (still_open or views)[-1]


# ---- writing -------------------------------------------------------------------------------------


def _write(session: Session, name: str, wishes: _Wishes, *, json: bool) -> None:
    from vault.claims.letter import LetterOptions, compose
    from vault.claims.phrases import phrases
    from vault.claims.proof import prove

    with session.reading() as catalogue:
        asked = _asked(session, catalogue, name, wishes.to)
        purchases = catalogue.purchases()
        made = _claim(session, catalogue, asked, purchases, wishes)
        receipts = _receipts(session, catalogue, made, purchases)
        previous = [v for v in catalogue.claim_views() if v.claim.seller_id == asked.seller.id and v.open]
    proof = prove(receipts, phrases(made.language), wishes.hide)
    closes = asked.seller.closes_on
    options = LetterOptions(
        signed=wishes.signed or _buyer(made, purchases) or "",
        closes_on=closes if closes is not None and closes >= session.day else None,
        proof=bool(proof.files),
        redacted=any(proof.left_out.values()),
    )
    letter = compose(made, options)
    _check(letter, made)
    if wishes.out is not None:
        _keep(session, wishes.out.expanduser(), made, letter, proof, previous)
    _say(session, asked, made, letter, proof, receipts, wishes, previous, json=json)


def _asked(session: Session, catalogue: Catalogue, name: str, to: str | None) -> Asked:
    from vault.claims.asking import ask, sellers_meant

    sellers = catalogue.sellers()
    meant = sellers_meant(name, sellers)
    if len(meant) != 1:
        known = ", ".join(s.name for s in (meant or sellers)[:12])
        words = f"there is no seller {name!r}" if not meant else f"{name!r} carries on several shops"
        raise UsageError(words, f"sellers here: {known}")
    asked = ask(meant[0], missing_rows(catalogue, session.day), to=to)
    if not asked.rows:
        raise UsageError(f"nothing that was bought from {meant[0].name} is missing", "pinfold missing lists what is")
    return asked


def _claim(
    session: Session, catalogue: Catalogue, asked: Asked, purchases: Sequence[PurchaseView], wishes: _Wishes
) -> Claim:
    from vault.claims.asking import claim_of, language_of

    read_as = {c.evidence_sha256: c.language for c in catalogue.claims()}
    language = wishes.language or language_of(purchases, read_as, (asked.to, asked.seller.name))
    by = parse_day(wishes.by) if wishes.by else None
    if by is not None and by <= session.day:
        raise UsageError(f"{by} is not to come", "give a day that leaves them time")
    return claim_of(asked, language=language, day=session.day, by=by)


def _check(letter: Letter, made: Claim) -> None:
    from vault.claims.checker import objections

    wrong = objections(letter.text, made)
    if wrong:
        raise VaultError(
            f"the letter was not written: {wrong[0]}", "please report this as a fault", code="letter-check"
        )


def _buyer(made: Claim, purchases: Sequence[PurchaseView]) -> str | None:
    """The name that most of the purchases were made in."""
    ids = {i.purchase_id for i in made.items}
    said = Counter(v.purchase.buyer_name for v in purchases if v.purchase.id in ids and v.purchase.buyer_name)
    return said.most_common(1)[0][0] if said else None


def _receipts(
    session: Session, catalogue: Catalogue, made: Claim, purchases: Sequence[PurchaseView]
) -> tuple[Receipt, ...]:
    """The kept documents of the purchases that the claim is about; each once."""
    from vault.claims.proof import Receipt
    from vault.claims.redact import Subject
    from vault.safekeeping.objects import ObjectStore

    store = ObjectStore(session.folder())
    wanted = {i.purchase_id: i for i in made.items}
    asked_for = {i.item_id for i in made.items}
    by_document: dict[str, list[PurchaseView]] = {}
    for view in purchases:
        for sha256 in view.purchase.evidence:
            by_document.setdefault(sha256, []).append(view)
    found: list[Receipt] = []
    for view in purchases:
        if view.purchase.id not in wanted:
            continue
        for sha256 in view.purchase.evidence:
            reading = catalogue.document(sha256)
            if reading is None or not store.has(sha256) or any(r.sha256 == sha256 for r in found):
                continue
            here = by_document[sha256]
            own = [v for v in here if v.purchase.id in wanted]
            others = [v for v in here if v.purchase.id not in wanted]
            with store.open(sha256) as stream:
                content = stream.read()
            subject = Subject(
                orders=tuple(n for v in own for n in (v.purchase.order_number, v.purchase.payment_number) if n),
                titles=tuple(i.item.title for v in own for i in v.items if i.item.id in asked_for),
                buyer=view.purchase.buyer_name,
                others=tuple(i.item.title for v in here for i in v.items if i.item.id not in asked_for),
                other_orders=tuple(v.purchase.order_number for v in others if v.purchase.order_number),
            )
            found.append(
                Receipt(
                    sha256=sha256,
                    kind=reading.kind,
                    content=content,
                    lines=tuple(reading.text.split("\n")),
                    subject=subject,
                    title=reading.subject or "",
                    dated=reading.dated or view.purchase.purchased_on,
                    order_number=view.purchase.order_number,
                    language=reading.language,
                )
            )
    return tuple(found)


def _keep(
    session: Session, out: Path, made: Claim, letter: Letter, proof: Proof, previous: Sequence[ClaimView]
) -> None:
    """Writes the packet, then remembers the claim; a draft that was never sent gives way to the new one."""
    from vault.claims import packet
    from vault.model.claim import ClaimState

    packet.write(packet.contents(letter, proof), out)
    with session.writing() as catalogue, catalogue.transaction():
        for view in previous:
            if view.state is ClaimState.DRAFTED and view.claim.id != made.id:
                catalogue.withdraw_claim(view.claim.id)
        catalogue.add_claim(made)
    if not session.quiet:
        screen.tell(f"written: {out}")


def _say(
    session: Session,
    asked: Asked,
    made: Claim,
    letter: Letter,
    proof: Proof,
    receipts: Sequence[Receipt],
    wishes: _Wishes,
    previous: Sequence[ClaimView],
    *,
    json: bool,
) -> None:
    from vault.claims.hints import NO_ADVICE, hints
    from vault.claims.phrases import phrases
    from vault.claims.redact import found_in
    from vault.model.claim import ClaimState, ClaimView
    from vault.reports import letter as report
    from vault.reports.text import wrap

    if json:
        view = ClaimView(claim=made, state=ClaimState.DRAFTED, since=made.written_on)
        left_out = {kind.value: n for kind, n in proof.left_out.items()}
        screen.say_json({"claim": report.letter_row(view, letter.subject, letter.text, left_out)})
        return
    st = style()
    if wishes.out is None:
        screen.say([*report.letter(letter.subject, letter.lines, st), ""])
    remarks = []
    for view in previous:
        if view.state in (ClaimState.SENT, ClaimState.ANSWERED):
            remarks.append(
                f"A claim of {view.claim.written_on} is still open: {report.state_words(view, session.day)}."
            )
    if asked.seller.status == "closed" and made.to == asked.seller.name:
        remarks.append(
            f"{made.seller} is closed and nobody is known to carry it on. If you hear of somebody: "
            f"pinfold seller '{made.seller}' --succeeded-by NAME"
        )
    if not wishes.signed and letter.lines[-1] == phrases(made.language)["regards"]:
        remarks.append("No receipt names you, so nobody signs the letter: --signed NAME")
    n = len(receipts)
    if n == 0:
        remarks.append("No receipt of these purchases is kept here, so there is no proof to attach.")
    elif wishes.hide:
        counted = ", ".join(f"{kind} {count}" for kind, count in proof.left_out.items())
        of = "1 receipt" if n == 1 else f"{n} receipts"
        remarks.append(f"Lines left out of {of}: {counted}. Look at each PDF before you send it.")
    else:
        held = sorted({kind for r in receipts for kind in found_in(r.lines, r.subject, r.language)})
        if held:
            what = ", ".join(_HELD[kind] for kind in held)
            options = " ".join(f"--hide {kind}" for kind in held)
            remarks.append(f"The receipts also hold {what}. To leave that out: {options}")
    who = made.to
    if wishes.out is None:
        remarks.append("To write the letter with its proof: pinfold claim SELLER --out FOLDER (or FILE.zip)")
    else:
        remarks.append(f"Nothing was sent. When you have sent it: pinfold claim '{who}' --sent {session.day}")
    for remark in remarks:
        screen.say(st.finish(x) for x in wrap(remark, st.columns, keep_long=True))
    screen.say(["", *report.hints([(h.place, h.text) for h in hints()], NO_ADVICE, st)])


_HELD = {"address": "a postal address", "payment": "digits of a card or account", "others": "other goods or orders"}


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command()(claim)
