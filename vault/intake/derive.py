"""What follows from what was recorded: purchases from claims, links from items and files.

Everything derived is made again from the whole of the truth, never patched; so it does not depend on the order of
imports.  A mark in the catalogue, set with every change in the same transaction, says that this is still to be done:
a process that was killed in between leaves the mark, and the next run does it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from vault.catalogue import Catalogue
from vault.model.match import MatchItem
from vault.model.pattern import PatternFile
from vault.model.purchase import Seller
from vault.safekeeping.folder import VaultFolder

_STALE = "derived-stale"
_SHELF_STALE = "shelf-stale"


def mark_stale(catalogue: Catalogue) -> None:
    """Says that purchases, links and the shelf no longer follow from what is recorded."""
    catalogue.set_value(_STALE, "1")
    catalogue.set_value(_SHELF_STALE, "1")


def is_stale(catalogue: Catalogue) -> bool:
    """Whether purchases and links are still to be made again."""
    return catalogue.value(_STALE) is not None


def shelve(folder: VaultFolder, catalogue: Catalogue) -> None:
    """Makes the shelf show what the catalogue says, if that has changed.  Raises StoreError."""
    if catalogue.value(_SHELF_STALE) is None:
        return
    from vault.intake.shelving import reshelve

    reshelve(folder, catalogue)
    catalogue.set_value(_SHELF_STALE, None)


def rejoin(catalogue: Catalogue) -> None:
    """Makes purchases and sellers from all claims and notices, then links and questions."""
    from vault.receipts.joining import join

    with catalogue.transaction():
        same = [(w.one, w.other) for w in catalogue.same_shops() if w.same]
        catalogue.replace_joined(join(catalogue.claims(), catalogue.notices(), same))
        rematch(catalogue)
        catalogue.set_value(_STALE, None)


def rematch(catalogue: Catalogue, day: date | None = None) -> None:
    """Makes links, questions and states from items, files and answers; matching knows no today, so `day` is idle."""
    del day
    from vault.matching import Matcher
    from vault.matching.same import Copies

    with catalogue.transaction():
        answers = catalogue.answers()
        matcher, copies = Matcher(match_items(catalogue), answers), Copies()

        def passing() -> Iterator[PatternFile]:
            # What she named comes first, for what it teaches bears on all others.
            for file in catalogue.each_file(first=[a.sha256 for a in answers if a.sha256]):
                copies.note(file)
                yield file

        matcher.add(passing())
        catalogue.replace_matches(matcher.result(), copies.found())


def match_items(catalogue: Catalogue) -> tuple[MatchItem, ...]:
    """Every item with its purchase, its seller and the seller's successor."""
    sellers = catalogue.sellers()
    by_id = {s.id: s for s in sellers}
    by_name: dict[str, Seller] = {}
    for seller in sellers:
        for name in (seller.name, *seller.also_known_as):
            by_name.setdefault(name.casefold(), seller)
    items: list[MatchItem] = []
    for purchase in catalogue.joined_purchases():
        own = by_id.get(purchase.seller_id or "")
        after = by_name.get(own.succeeded_by.casefold()) if own and own.succeeded_by else None
        items += [MatchItem(item=i, purchase=purchase, seller=own, successor=after) for i in purchase.items]
    return tuple(items)
