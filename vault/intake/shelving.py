"""Which files stand on the shelf and under what names: by what was bought, else by what the file says of itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.catalogue import Catalogue
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.shelf import ShelfEntry, ShelfReport, rebuild_shelf

if TYPE_CHECKING:
    from vault.model.match import FileView
    from vault.model.purchase import Item, Purchase


def shelf_entries(catalogue: Catalogue) -> list[ShelfEntry]:
    """One entry for each kept file that is, or may be, part of a pattern; a zip whose members are read is left out."""
    bought = {i.item.id: (v.purchase, i.item) for v in catalogue.purchases() for i in v.items}
    return [_entry(view, bought) for view in catalogue.files() if _stands(view)]


def _stands(view: FileView) -> bool:
    file = view.file
    return file.kept and not file.members and (bool(view.item_ids) or file.facts.is_pattern is not False)


def _entry(view: FileView, bought: dict[str, tuple[Purchase, Item]]) -> ShelfEntry:
    facts = view.file.facts
    purchase, item = next((bought[i] for i in view.item_ids if i in bought), (None, None))
    seen = view.file.sightings[0] if view.file.sightings else None
    name = (seen.inside or seen.path) if seen else view.file.sha256[:12]
    return ShelfEntry(
        sha256=view.file.sha256,
        name=name.replace("\\", "/").rsplit("/", 1)[-1],
        designer=(item.designer if item else None) or facts.designer or (purchase.seller if purchase else None),
        title=facts.title or (item.title if item else None),
    )


def reshelve(folder: VaultFolder, catalogue: Catalogue) -> ShelfReport:
    """Makes the shelf show what the catalogue says.  Under the vault's lock."""
    return rebuild_shelf(folder, shelf_entries(catalogue))
