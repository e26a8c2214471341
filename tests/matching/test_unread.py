"""A file that the reader failed on never makes an item held by its name alone: it might be a preview."""

from __future__ import annotations

from datetime import date

import pytest

from vault.matching import match
from vault.model.match import MatchItem
from vault.model.pattern import PatternFacts, PatternFile, Sighting
from vault.model.purchase import Item, ItemState, Purchase


@pytest.mark.parametrize(("unread", "links"), [(None, 1), ("reading it took too long", 0)])
def test_only_a_file_that_was_read_makes_an_item_held(unread: str | None, links: int) -> None:
    item = Item(id="i1", title="Lighthouse Keeper Smock", digital=True, craft_pattern=True)
    purchase = Purchase(
        id="p1",
        seller_id="s1",
        seller="Moss & Bobbin",
        order_number="7",
        purchased_on=date(2026, 5, 2),
        currency="GBP",
        total=None,
        items=(item,),
    )
    file = PatternFile(
        sha256="ab" * 32,
        n_bytes=1000,
        facts=PatternFacts(media_type="application/pdf", unread=unread),
        sightings=(Sighting(path="/home/w/Moss & Bobbin/Lighthouse Keeper Smock.pdf"),),
    )
    result = match([MatchItem(item=item, purchase=purchase)], [file], [])
    assert len(result.links) == links
    state = ItemState.HELD if links else ItemState.MISSING
    assert result.standings[0].state is state
    assert bool(result.questions) is not bool(links)
