"""Files without a purchase, by maker, and what they may mean."""

from __future__ import annotations

from vault.matching.unclaimed import unclaimed
from vault.model.match import Link, MatchItem
from vault.model.pattern import PatternFacts, PatternFile, Stamp
from vault.model.purchase import Item, Purchase


def file(sha: str, designer: str | None = None, **facts: object) -> PatternFile:
    made = PatternFacts(media_type="application/pdf", designer=designer, **facts)  # type: ignore[arg-type]
    return PatternFile(sha256=sha, n_bytes=1, facts=made)


def bought(designer: str) -> MatchItem:
    item = Item(id="i", title="Sedge Smock", designer=designer)
    purchase = Purchase(
        id="p", seller_id=None, seller=None, order_number=None, purchased_on=None, currency=None, total=None,
        items=(item,),
    )  # fmt: skip
    return MatchItem(item=item, purchase=purchase)


def test_files_are_grouped_by_maker_and_linked_ones_left_out() -> None:
    files = [file("a", "Pettle & Thrum"), file("b", "Pettle and Thrum"), file("c"), file("d", "Quill Cottons")]
    found = unclaimed(files, [Link(item_id="i", sha256="d", part=None, score=0.9)])
    assert [(u.designer, u.files, u.hint) for u in found] == [("Pettle & Thrum", ("a", "b"), ""), (None, ("c",), "")]


def test_what_is_no_pattern_or_spoiled_is_left_out() -> None:
    files = [file("a", is_pattern=False), file("b", unusable="preview"), file("c", damaged=True)]
    assert unclaimed(files, []) == ()


def test_the_parts_of_one_pattern_are_one() -> None:
    files = [file(s, "Pettle & Thrum", title="Sedge Smock") for s in "abc"]
    assert [u.hint for u in unclaimed(files, [])] == [""]


def test_a_stamp_names_the_order_whose_receipt_is_not_here() -> None:
    stamped = file("a", "Pettle & Thrum", stamp=Stamp(order_number="PT-77"))
    (found,) = unclaimed([stamped], [])
    assert found.hint == "stamped for order PT-77, of which no receipt is here"


def test_several_by_one_maker_suggest_a_receipt() -> None:
    files = [file(s, "Pettle & Thrum") for s in "abc"]
    (unknown,) = unclaimed(files, [], [bought("Quill Cottons")])
    assert "no purchase is here" in unknown.hint
    (known,) = unclaimed(files, [], [bought("Pettle & Thrum Patterns")])
    assert "another order" in known.hint
    assert unclaimed(files[::-1], [], [bought("Pettle & Thrum Patterns")]) == (known,)
