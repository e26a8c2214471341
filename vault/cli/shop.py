"""One shop: all that is known of it, and what she knows of it herself."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from vault.cli import screen
from vault.cli.ask import JsonOption, missing_rows
from vault.cli.session import Session, parse_day, style
from vault.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from vault.catalogue import Catalogue
    from vault.model.purchase import Seller
    from vault.model.same_shop import PerhapsSame, SameShopWords
    from vault.reports.seller import Said, Shop


def seller(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME", help="The shop, as sellers lists it.")],
    closes: Annotated[str | None, typer.Option("--closes", metavar="DATE", help="It will close on that day.")] = None,
    closed: Annotated[str | None, typer.Option("--closed", metavar="DATE", help="It closed on that day.")] = None,
    is_open: Annotated[bool, typer.Option("--open", help="It is open after all.")] = False,
    succeeded_by: Annotated[str | None, typer.Option("--succeeded-by", metavar="NAME", help="Who goes on.")] = None,
    same_as: Annotated[
        str | None, typer.Option("--same-as", metavar="NAME", help="That name is the same shop's.")
    ] = None,
    apart_from: Annotated[
        str | None, typer.Option("--apart-from", metavar="NAME", help="That name is another shop's.")
    ] = None,
    take_back: Annotated[
        bool, typer.Option("--take-back", help="Forget what you said with --same-as and --apart-from.")
    ] = False,
    json: JsonOption = False,
) -> None:
    """One shop: what is known of it, or what you learned about it.

    Example: pinfold seller 'Thimblewick Patterns' --closes 2026-12-31
    """
    session: Session = ctx.obj
    if sum((closes is not None, closed is not None, is_open)) > 1:
        raise UsageError("a shop is open, closing or closed", "give one of --closes, --closed, --open")
    if sum((same_as is not None, apart_from is not None, take_back)) > 1:
        raise UsageError("one thing at a time", "give one of --same-as, --apart-from and --take-back")
    said = closes or closed
    day = parse_day(said) if said else None
    status = "closing" if closes else "closed" if closed else "open" if is_open else None
    done: list[str] = []
    if status or succeeded_by:
        done.append(_note(session, name, status, day, succeeded_by))
    if same_as or apart_from or take_back:
        done.append(_say_same(session, name, same_as or apart_from, same=same_as is not None))
    if done and not json:
        screen.say(done)
        return
    from vault.reports import seller as report

    with session.reading() as catalogue:
        shop = _shop(session, catalogue, seller_meant(catalogue.sellers(), name))
    if json:
        screen.say_json(report.row(shop))
    else:
        screen.say(report.screen(shop, style()))


def _note(session: Session, name: str, status: str | None, day: date | None, succeeded_by: str | None) -> str:
    """Remembers how a shop stands; the words to say of it."""
    from vault.intake.ingest import rematch

    with session.writing() as catalogue:
        known = seller_meant(catalogue.sellers(), name)
        catalogue.set_seller(known.name, status=status, closes_on=day, succeeded_by=succeeded_by)
        rematch(catalogue)
    return f"Noted for {known.name}."


def _say_same(session: Session, name: str, other: str | None, *, same: bool) -> str:
    """Remembers that two names are one shop's or not; without `other` forgets it; the words to say."""
    from vault.intake.derive import mark_stale, rejoin, shelve

    with session.writing() as catalogue:
        sellers = catalogue.sellers()
        one = seller_meant(sellers, name)
        with catalogue.transaction():
            if other is None:
                told = said_of(one, catalogue.same_shops())
                if not told:
                    raise UsageError(f"nothing was said of {one.name} and another name", "pinfold sellers lists them")
                for words in told:
                    catalogue.withdraw_same_shop(words)
                done = f"Taken back for {one.name}."
            else:
                second = seller_meant(sellers, other)
                if second.id == one.id:
                    raise UsageError(f"{name!r} and {other!r} are one shop already", "pinfold seller NAME shows it")
                catalogue.say_same_shop(one.name, second.name, same=same)
                done = f"{one.name} and {second.name} are {'one shop' if same else 'two shops'} from now on."
            mark_stale(catalogue)
            rejoin(catalogue)
        shelve(session.folder(), catalogue)
    return done


def seller_meant(sellers: Sequence[Seller], name: str) -> Seller:
    """The one seller that a name, an id or a part of a name means.  UsageError if there is none or several."""
    wanted = name.casefold().strip()
    hits = [s for s in sellers if wanted in {n.casefold() for n in (s.id, s.name, *s.also_known_as, *s.domains)}]
    if not hits and wanted:
        hits = [s for s in sellers if any(wanted in n.casefold() for n in (s.name, *s.also_known_as))]
    if len(hits) == 1:
        return hits[0]
    names = ", ".join(s.name for s in (hits or sellers)[:12])
    raise UsageError(
        f"{name!r} may be several sellers" if hits else f"there is no seller {name!r}",
        f"{'these' if hits else 'sellers here'}: {names}"
        if names
        else "there are no sellers yet: pinfold import FOLDER",
    )


def said_of(one: Seller, said: Sequence[SameShopWords]) -> tuple[SameShopWords, ...]:
    """What she said of this seller's names."""
    names = {n.casefold() for n in (one.name, *one.also_known_as, *one.domains)}
    return tuple(w for w in said if w.one.casefold() in names or w.other.casefold() in names)


def pairs_of(catalogue: Catalogue, sellers: Sequence[Seller]) -> tuple[PerhapsSame, ...]:
    """Which sellers are perhaps one shop."""
    from email.utils import parseaddr

    from vault.receipts.perhaps_same import perhaps_same

    purchases = catalogue.joined_purchases()
    senders = catalogue.senders()
    hers = {p.buyer_mail.casefold() for p in purchases if p.buyer_mail}
    designers: dict[str, set[str]] = {}
    addresses: dict[str, set[str]] = {}
    for purchase in purchases:
        seller_id = purchase.seller_id or ""
        designers.setdefault(seller_id, set()).update(i.designer for i in purchase.items if i.designer)
        for sha256 in purchase.evidence:
            address = parseaddr(senders.get(sha256, ""))[1].casefold()
            if "@" in address and address not in hers:
                addresses.setdefault(seller_id, set()).add(address)
    return perhaps_same(sellers, designers, catalogue.same_shops(), writes_from=addresses)


def _shop(session: Session, catalogue: Catalogue, one: Seller) -> Shop:
    from vault.reports.seller import Shop, hers_words

    sellers = catalogue.sellers()
    by_id = {s.id: s.name for s in sellers}
    joined = {s.id: s for s in catalogue.joined_sellers()}
    names = {n.casefold() for n in (one.name, *one.also_known_as)}
    pairs = [p for p in pairs_of(catalogue, sellers) if one.id in (p.one, p.other)]
    return Shop(
        seller=one,
        day=session.day,
        purchases=tuple(v for v in catalogue.purchases() if v.purchase.seller_id == one.id),
        missing=tuple(r for r in missing_rows(catalogue, session.day) if r.purchase.seller_id == one.id),
        claims=tuple(
            v for v in catalogue.claim_views() if v.claim.seller_id == one.id or v.claim.seller.casefold() in names
        ),
        said=_said(catalogue, one),
        hers=hers_words(joined.get(one.id, one), one),
        perhaps=tuple((by_id[p.other if p.one == one.id else p.one], p) for p in pairs),
        told=said_of(one, catalogue.same_shops()),
    )


def _said(catalogue: Catalogue, one: Seller) -> tuple[Said, ...]:
    """The words of its notices with their day and place, those that are not believed last."""
    from vault.reports.seller import Said

    days = {n.evidence_sha256: n.dated for n in catalogue.notices()}
    found: dict[tuple[str, str], Said] = {}
    for word, doubted in [*((w, False) for w in one.words), *((w, True) for w in one.doubted)]:
        sha256 = word.evidence_sha256
        source = next(iter(catalogue.sources(sha256)), sha256[:12])
        words = Said(
            words=word.source.words, on=days.get(sha256), source=source, doubt=word.source.how if doubted else ""
        )
        found.setdefault((sha256, words.words), words)
    return tuple(found.values())


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.command()(seller)
