"""Names that are perhaps one shop's: proposed with reasons; what she says joins and parts them (common practice)."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.evidence import DocumentKind, EvidenceKind, ItemClaim, PurchaseClaim, RecordedClaim
from vault.model.purchase import Seller
from vault.model.same_shop import SameShopWords
from vault.receipts.joining import join
from vault.receipts.perhaps_same import perhaps_same


def seller(name: str, *domains: str, **more: object) -> Seller:
    return Seller(id=name, name=name, domains=domains, **more)  # type: ignore[arg-type]


CASES = [
    # name, domains, designers; the other's; what must be said (None: not proposed)
    (("Larch Patterns",), (), ("Larch Designs",), (), "words of the trade"),
    (("Tansy and Flint",), (), ("Flint & Tansy",), (), "the same words"),
    (("Selvedge Lane",), (), ("Selvege Lane",), (), "one letter apart"),
    (("Cap & Bells", "capbells.example"), (), ("Bells Costume", "capbells.test"), (), "differ only in the ending"),
    (("Jester",), ("Nora Lantern",), ("Jester Hood Works",), ("Nora Lantern",), "both sell patterns by Nora Lantern"),
    (("Motley Row",), (), ("Row Online", "motleyrow.example"), (), "called after Motley Row"),
    # not enough, or something against it
    (("Jester",), (), ("Jester Hood Works",), (), None),
    (("Tansy",), (), ("Pansy",), (), None),
    (("Selvedge Lane", "selvedgelane.example"), (), ("Selvege Lane", "selvegelane.example"), (), None),
    (("Cap & Bells",), ("Nora Lantern",), ("Motley Row",), ("Nora Lantern",), None),
    (("The Pattern Shop",), (), ("The Yarn Shop",), (), None),
    (("Ox",), (), ("Ax",), (), None),
]


@pytest.mark.parametrize(("one", "by", "other", "other_by", "said"), CASES)
def test_what_is_proposed_and_why(
    one: tuple[str, ...], by: tuple[str, ...], other: tuple[str, ...], other_by: tuple[str, ...], said: str | None
) -> None:
    sellers = [seller(*one), seller(*other)]
    designers = {one[0]: by, other[0]: other_by}
    found = perhaps_same(sellers, designers)
    assert [any(said in w for w in p.why) for p in found] == ([True] if said else [])
    again = perhaps_same(sellers[::-1], designers)
    assert {frozenset((p.one, p.other)) for p in again} == {frozenset((p.one, p.other)) for p in found}


def test_her_word_and_a_successor_end_the_question() -> None:
    one, other = seller("Larch Patterns"), seller("Larch Designs")
    assert len(perhaps_same([one, other], {})) == 1
    for same in (True, False):
        assert not perhaps_same(
            [one, other], {}, [SameShopWords(one="larch designs", other="Larch Patterns", same=same)]
        )
    assert not perhaps_same([seller("Larch Patterns", succeeded_by="Larch Designs"), other], {})


def test_a_designer_of_many_shops_is_no_sign() -> None:
    sellers = [seller("Jester"), seller("Jester Hood Works"), seller("Motley Row")]
    assert not perhaps_same(sellers, {s.id: ("Nora Lantern",) for s in sellers})


def test_a_mail_address_counts_with_another_sign_and_not_where_it_writes_for_many() -> None:
    one, other, third = seller("Jester"), seller("Jester Hood Works"), seller("Motley Row")
    mail = "nora@post.example"
    (pair,) = perhaps_same([one, other], {}, writes_from={s.id: (mail,) for s in (one, other)})
    assert f"both write from {mail}" in pair.why
    assert not perhaps_same([one, third], {}, writes_from={s.id: (mail,) for s in (one, third)})
    assert not perhaps_same([one, other, third], {}, writes_from={s.id: (mail,) for s in (one, other, third)})


@settings(deadline=None, max_examples=60)
@given(st.lists(st.text(max_size=30), min_size=2, max_size=6, unique=True))
def test_any_names_are_compared_without_an_error_and_no_seller_with_itself(names: list[str]) -> None:
    for pair in perhaps_same([seller(n) for n in names], {}):
        assert pair.one != pair.other and pair.why


def recorded(seq: int, name: str, number: str | None, title: str) -> RecordedClaim:
    claim = PurchaseClaim(
        document=DocumentKind.ORDER,
        seller=name,
        order_number=number,
        purchased_on=date(2026, 3, seq),
        currency="GBP",
        total=Decimal(seq),
        items=(ItemClaim(title=title, amount=Decimal(seq)),),
    )
    return RecordedClaim(seq=seq, evidence_sha256=f"{seq:064x}", evidence_kind=EvidenceKind.MAIL, index=0, claim=claim)


CLAIMS = [recorded(1, "Thimblewick", "A-77001", "Jester Hood"), recorded(2, "Widow's Row", "A-77002", "Cloak")]


def test_what_she_says_is_one_shop_is_joined_and_comes_apart_again() -> None:
    apart = join(CLAIMS, ())
    assert [s.name for s in apart.sellers] == ["Thimblewick", "Widow's Row"]
    together = join(CLAIMS, (), [("Widow's Row", "THIMBLEWICK")])
    (shop,) = together.sellers
    assert {shop.name, *shop.also_known_as} == {"Thimblewick", "Widow's Row"}
    assert {p.seller_id for p in together.purchases} == {shop.id}
    assert [p.id for p in together.purchases] == [p.id for p in apart.purchases]
    assert [i.id for p in together.purchases for i in p.items] == [i.id for p in apart.purchases for i in p.items]


def test_a_name_that_nothing_bears_joins_nothing() -> None:
    assert join(CLAIMS, (), [("Thimblewick", "Nobody"), ("nobody.example", "Widow's Row")]) == join(CLAIMS, ())
