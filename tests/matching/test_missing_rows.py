"""The missing report: which items, how urgent, why, and what to do next; and states from links."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from hashlib import sha256

import pytest

from vault.matching import duplicates, match, missing_rows
from vault.model.evidence import DownloadLink
from vault.model.match import ItemView, MatchItem, MissingRow, PurchaseView, Standing
from vault.model.pattern import PatternFacts, PatternFile, Sighting
from vault.model.purchase import Item, ItemState, Purchase, Seller

TODAY = date(2026, 6, 1)
OPEN = Seller(id="s1", name="Pettle & Thrum")
CLOSING = Seller(id="s2", name="Moor Ewe Knits", status="closing", closes_on=date(2026, 6, 10))
CLOSED = Seller(id="s3", name="Old Mill Patterns", status="closed", closes_on=date(2026, 1, 31))
SOLD = Seller(id="s4", name="Tern Row", status="closed", closes_on=date(2026, 1, 31), succeeded_by="Millrace Sewing")
NEXT = Seller(id="s5", name="Millrace Sewing")
SELLERS = (OPEN, CLOSING, CLOSED, SOLD, NEXT)


def item(
    title: str = "Sedge Smock", *, amount: str | None = "9.00", links: tuple[DownloadLink, ...] = (), **more: object
) -> Item:
    fields: dict[str, object] = {"digital": True, "craft_pattern": True, **more}
    worth = Decimal(amount) if amount else None
    return Item(id=title, title=title, amount=worth, links=links, **fields)  # type: ignore[arg-type]


def purchase(made: Item, seller: Seller | None = OPEN, on: date | None = date(2026, 5, 1), **more: object) -> Purchase:
    fields: dict[str, object] = {"order_number": "1", "currency": "EUR", "total": None, **more}
    return Purchase(
        id=f"p-{made.id}", seller_id=seller.id if seller else None, seller=seller.name if seller else None,
        purchased_on=on, items=(made,), **fields,  # type: ignore[arg-type]
    )  # fmt: skip


def view(
    made: Item,
    seller: Seller | None = OPEN,
    *,
    state: ItemState = ItemState.MISSING,
    lacking: tuple[str, ...] = (),
    **more: object,
) -> PurchaseView:
    standing = Standing(item_id=made.id, state=state, lacking=lacking)
    bought = purchase(made, seller, **more)  # type: ignore[arg-type]
    return PurchaseView(purchase=bought, items=(ItemView(item=made, standing=standing),))


def row(made: Item, seller: Seller | None = OPEN, **more: object) -> MissingRow:
    (only,) = missing_rows([view(made, seller, **more)], SELLERS, TODAY)  # type: ignore[arg-type]
    return only


def link(**more: object) -> DownloadLink:
    return DownloadLink(url="https://pettle.example/d/1", **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("made", "state", "listed"),
    [
        (item(), ItemState.MISSING, True),
        (item(digital=None), ItemState.MISSING, True),
        (item(craft_pattern=None), ItemState.PARTIAL, True),
        (item(), ItemState.HELD, False),
        (item(), ItemState.REFUNDED, False),
        (item(digital=False), ItemState.NOT_DIGITAL, False),
        (item(digital=False), ItemState.MISSING, False),
        (item(craft_pattern=False), ItemState.MISSING, False),
    ],
)
def test_what_is_listed(made: Item, state: ItemState, listed: bool) -> None:
    assert bool(missing_rows([view(made, state=state)], SELLERS, TODAY)) is listed


@pytest.mark.parametrize(
    ("made", "seller", "urgency"),
    [
        (item(links=(link(expires_on=date(2026, 6, 1)),)), OPEN, "now"),  # its last day
        (item(links=(link(expires_on=date(2026, 6, 15)),)), OPEN, "now"),
        (item(links=(link(expires_on=date(2026, 7, 15)),)), OPEN, "soon"),
        (item(links=(link(expires_on=date(2027, 7, 15)),)), OPEN, "later"),
        (item(links=(link(),)), OPEN, "later"),
        (item(links=(link(downloads_left=1),)), OPEN, "soon"),
        (item(links=(link(expires_on=date(2026, 5, 31)),)), OPEN, "soon"),  # ran out; the account may still have it
        (item(), OPEN, "later"),
        (item(), None, "later"),
        (item(links=(link(),)), CLOSING, "now"),
        (item(), CLOSED, "lost?"),
        (item(links=(link(),)), CLOSED, "lost?"),
        (item(), SOLD, "soon"),
    ],
)
def test_urgency(made: Item, seller: Seller | None, urgency: str) -> None:
    assert row(made, seller).urgency == urgency


def test_the_deadline_is_the_first_day_that_matters() -> None:
    assert row(item(links=(link(expires_on=date(2026, 8, 1)),)), CLOSING).deadline == date(2026, 6, 10)
    assert row(item(links=(link(expires_on=date(2026, 6, 5)),)), CLOSING).deadline == date(2026, 6, 5)
    assert row(item(links=(link(expires_on=date(2020, 6, 5)),))).deadline is None
    assert row(item(links=(link(downloads_left=3), link(downloads_left=2)))).downloads_left == 2


@pytest.mark.parametrize(
    ("made", "seller", "says"),
    [
        (item(links=(link(),)), OPEN, "Download it from the link"),
        (item(), OPEN, "Look in the mail"),
        (item(links=(link(expires_on=date(2026, 5, 1)),)), OPEN, "Look whether your account"),
        (item(), SOLD, "Write to Millrace Sewing"),
        (item(), CLOSED, "write to the designer"),
        (item(links=(link(),)), CLOSED, "may not work any more"),
        (item(), None, "Look in the mail"),
    ],
)
def test_the_next_step(made: Item, seller: Seller | None, says: str) -> None:
    assert says in row(made, seller).next


def test_the_next_step_names_the_mail_account_of_the_order() -> None:
    assert (
        "the mail account runa@askvik.example from 2026-05-01 on" in row(item(), buyer_mail="runa@askvik.example").next
    )


def test_of_one_urgency_a_shop_stands_together() -> None:
    dear, cheap = item("Dear", amount="30.00"), item("Cheap", amount="3.00")
    between = item("Between", amount="12.00")
    rows = missing_rows([view(cheap), view(between, NEXT), view(dear)], SELLERS, TODAY)
    assert [r.view.item.title for r in rows] == ["Dear", "Cheap", "Between"]
    assert rows[0].shop == ()
    (sold,) = missing_rows([view(item(), SOLD)], SELLERS, TODAY)
    assert sold.shop == ("Tern Row closed on 2026-01-31", "Millrace Sewing took over from Tern Row")
    assert set(sold.shop) <= set(sold.why)


def test_why_claims_nothing_beyond_the_evidence() -> None:
    lines = row(item(links=(link(expires_on=date(2026, 7, 15), downloads_left=2),)), CLOSING, on=date(2019, 1, 5)).why
    assert "the link is good until 2026-07-15, says the receipt" in lines
    assert "2 downloads left, says the receipt" in lines
    assert "Moor Ewe Knits closes on 2026-06-10" in lines
    assert "bought 7 years ago; old links often stop working" in lines


def test_the_most_urgent_comes_first_then_the_dearer() -> None:
    ending = (link(expires_on=date(2026, 6, 3)),)
    views = [
        view(item("Later"), OPEN),
        view(item("Lost"), CLOSED),
        view(item("Now", links=ending)),
        view(item("Now dearer", amount="20.00", links=ending)),
        view(item("Soon"), SOLD),
    ]
    rows = missing_rows(views, SELLERS, TODAY)
    assert [r.view.item.title for r in rows] == ["Now dearer", "Now", "Soon", "Later", "Lost"]
    assert missing_rows(views[::-1], SELLERS[::-1], TODAY) == rows


def test_a_lacking_part_is_named_in_the_next_step() -> None:
    made = row(item(links=(link(),)), state=ItemState.PARTIAL, lacking=("A0",))
    assert "Download the A0 (copy shop) sheet from the link" in made.next


# ---- states


def file(name: str, **facts: object) -> PatternFile:
    made = PatternFacts(media_type="application/pdf", is_pattern=True, **facts)  # type: ignore[arg-type]
    return PatternFile(
        sha256=sha256(name.encode()).hexdigest(), n_bytes=10, facts=made, sightings=(Sighting(path=f"d/{name}"),)
    )


def standing(made: Item, *files: PatternFile, **more: object) -> Standing:
    bought = purchase(made, **more)  # type: ignore[arg-type]
    return match([MatchItem(item=made, purchase=bought, seller=OPEN)], files).standings[0]


def test_a_damaged_file_is_named_as_the_reason() -> None:
    found = standing(item(), file("Sedge Smock.pdf", unusable="error page", damaged=True))
    assert found.state is ItemState.MISSING
    assert found.why == ("Sedge Smock.pdf is an error page, not the pattern",)


def test_what_the_receipt_promises_and_no_file_holds_is_lacking() -> None:
    made = item(promised=("A4", "livret d'instructions", "fichier projecteur"))
    found = standing(
        made, file("Sedge Smock A4.pdf", parts=("A4",)), file("Sedge Smock livret.pdf", parts=("instructions",))
    )
    assert found.state is ItemState.PARTIAL
    assert found.lacking == ("fichier projecteur",)
    assert any("receipt promises" in w for w in found.why)


def test_a_newer_version_is_held_and_says_so() -> None:
    found = standing(item(), file("Sedge_Smock_v2.1.pdf", title="Sedge Smock", version="2.1"))
    assert found.state is ItemState.HELD
    assert found.why == ("the file says version 2.1",)


@pytest.mark.parametrize(
    ("made", "more", "state"),
    [
        (item(refunded=True), {}, ItemState.REFUNDED),
        (item(), {"refunded": True}, ItemState.REFUNDED),
        (item(), {"refunded": None}, ItemState.HELD),
        (item(), {"cancelled": True}, ItemState.REFUNDED),
        (item(digital=False), {}, ItemState.NOT_DIGITAL),
        (item(digital=None), {}, ItemState.HELD),
    ],
)
def test_states_that_no_file_decides(made: Item, more: dict[str, object], state: ItemState) -> None:
    assert standing(made, file("Sedge Smock.pdf"), **more).state is state


def test_a_zip_is_told_by_its_members() -> None:
    member = file("Sedge Smock.pdf")
    zipped = PatternFile(
        sha256="e" * 64, n_bytes=99, facts=PatternFacts(media_type="application/zip"),
        sightings=(Sighting(path="d/Sedge Smock.zip"),), members=(member.sha256,),
    )  # fmt: skip
    made = item()
    result = match([MatchItem(item=made, purchase=purchase(made), seller=OPEN)], [member, zipped])
    assert [k.sha256 for k in result.links] == [member.sha256]


def test_files_with_the_same_content_have_one_that_stands_for_all() -> None:
    def saved(sha: str, on: str, fingerprint: str | None = "f", unusable: str | None = None) -> PatternFile:
        facts = PatternFacts(media_type="application/pdf", content_fingerprint=fingerprint, unusable=unusable)
        sighting = Sighting(path=f"d/{sha}.pdf", modified=on)
        return PatternFile(sha256=sha, n_bytes=1, facts=facts, sightings=(sighting,))

    files = [
        saved("c", "2024-01-01T00:00:00+00:00"), saved("a", "2025-01-01T00:00:00+00:00"),
        saved("b", "2023-01-01T00:00:00+00:00", unusable="truncated"), saved("d", "2020-01-01T00:00:00+00:00", None),
    ]  # fmt: skip
    assert duplicates(files) == {"a": "c"}
    assert duplicates(files[::-1]) == {"a": "c"}
