"""What an import tells in a line each: what was bought, what is held now."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from vault.model.match import ItemView, PurchaseView
from vault.model.purchase import ItemState


def news_lines(
    purchases: Sequence[PurchaseView],
    linked: Sequence[tuple[PurchaseView, ItemView]],
    held_before: Collection[str] = (),
) -> tuple[str, ...]:
    """Lines on new `purchases` and on items that got a file (`linked`, an item may stand there often).

    `held_before`: ids of the items that were held already.
    """
    held = {item.item.id: _held(view, item, again=item.item.id in held_before) for view, item in linked}
    return (*(_bought(v) for v in purchases), *(line for line in held.values() if line))


def _bought(view: PurchaseView) -> str:
    titles = [i.item.title for i in view.items]
    first = titles[0] if titles else "a purchase"
    more = f" and {len(titles) - 1} more" if len(titles) > 1 else ""
    return f"bought: {first}{more}" + (f", {view.purchase.seller}" if view.purchase.seller else "")


def _held(view: PurchaseView, item: ItemView, *, again: bool) -> str:
    """Only what is held by its state is called so: a file may be a part, or no use."""
    named = item.item.title + (f" ({view.purchase.seller})" if view.purchase.seller else "")
    if item.standing.state is ItemState.HELD:
        return f"one more file of: {named}" if again else f"held now: {named}"
    if item.standing.state is ItemState.PARTIAL:
        lacking = f", still lacking: {', '.join(item.standing.lacking)}" if item.standing.lacking else ""
        return f"held in part: {named}{lacking}"
    return ""
