"""The catalogue of a vault: one SQLite file that remembers everything but the bytes.

`Catalogue` is put together from its subjects, each in a module of its own: documents, files, derived rows, decisions,
search.  This module adds the views, the rows as they are shown.
"""

from __future__ import annotations

from vault.catalogue.asked import Asked
from vault.catalogue.decisions import Decisions
from vault.catalogue.derived import Derived
from vault.catalogue.documents import Documents
from vault.catalogue.files import Files
from vault.catalogue.licences import Licences
from vault.catalogue.origins import Origins
from vault.catalogue.records import Records
from vault.catalogue.reminding import Reminding
from vault.model.match import EvidenceView, FileView, ItemView, Link, PurchaseView, Standing
from vault.model.purchase import Item, ItemState, Seller


class Catalogue(Documents, Files, Derived, Decisions, Licences, Asked, Records, Origins, Reminding):
    """Rows of the vault.  Open it with `open` (one writer, under the lock) or `open_read_only`; use it with `with`."""

    def purchases(self) -> tuple[PurchaseView, ...]:
        """Every purchase with its items, their states and files, and its evidence."""
        links: dict[str, list[Link]] = {}
        for link in self.links():
            links.setdefault(link.item_id, []).append(link)
        standings = {s.item_id: s for s in self.standings()}
        names = self._names() if links else {}
        evidence = self._evidence()

        def view(item: Item) -> ItemView:
            own = tuple(links.get(item.id, ()))
            return ItemView(
                item=item,
                standing=standings.get(item.id) or _unmatched(item),
                links=own,
                names=tuple((k.sha256, names[k.sha256]) for k in own if k.sha256 in names),
            )

        return tuple(
            PurchaseView(
                purchase=p,
                items=tuple(view(i) for i in p.items),
                evidence=tuple(evidence[sha256] for sha256 in p.evidence if sha256 in evidence),
            )
            for p in self.joined_purchases()
        )

    def files(self) -> tuple[FileView, ...]:
        """Every file with its facts (without its text) and the items it belongs to."""
        items: dict[str, list[str]] = {}
        for r in self._rows("SELECT sha256, item_id FROM links ORDER BY sha256, item_id"):
            items.setdefault(r[0], []).append(r[1])
        others = self.duplicates()
        return tuple(
            FileView(file=f, item_ids=tuple(items.get(f.sha256, ())), duplicate_of=others.get(f.sha256))
            for f in self._files(text=False)
        )

    def sellers(self) -> tuple[Seller, ...]:
        """Every seller, with what the person said about it."""
        return self._with_words(self.joined_sellers())

    def kept_names(self) -> dict[str, str]:
        """Digest -> a readable name for every byte string that the vault should hold: evidence and files."""
        digests = self._rows(
            "SELECT sha256 FROM documents WHERE kept = 1 UNION SELECT sha256 FROM files WHERE kept = 1"
            " UNION SELECT sha256 FROM licence_terms UNION SELECT sha256 FROM records ORDER BY sha256"
        )
        names = {r[0]: r[1] for r in self._rows("SELECT sha256, name FROM licence_terms")}
        names |= {sha256: f"record of {name}.json" for name, (sha256, _) in self.records().items()}
        names |= {**{k: v.source for k, v in self._evidence().items()}, **self._names()}
        return {r[0]: names.get(r[0], r[0][:12]) for r in digests}

    def _names(self) -> dict[str, str]:
        rows = self._rows("SELECT sha256, path, inside FROM sightings ORDER BY seq DESC")
        return {r[0]: (r[2] or r[1]).replace("\\", "/").rsplit("/", 1)[-1] for r in rows}

    def _evidence(self) -> dict[str, EvidenceView]:
        rows = self._rows(
            "SELECT d.sha256, d.kind, d.message_id, s.source FROM documents d JOIN sources s USING (sha256)"
            " ORDER BY s.seq DESC"
        )
        return {r[0]: EvidenceView(sha256=r[0], kind=r[1], message_id=r[2], source=r[3]) for r in rows}


def _unmatched(item: Item) -> Standing:
    """The state of an item that matching has not seen: never "held"."""
    if item.refunded:
        return Standing(item_id=item.id, state=ItemState.REFUNDED)
    if item.digital is False:
        return Standing(item_id=item.id, state=ItemState.NOT_DIGITAL)
    return Standing(item_id=item.id, state=ItemState.MISSING, why=("no files were compared with it yet",))
