"""Terms that the person recorded, and the ledger of what she did with her patterns.  Truth: nothing but she changes it.

Both hang on the id of an item, which is stable over later imports; they stay when the item is gone for a while.
"""

from __future__ import annotations

from vault.catalogue.codec import from_json, to_json
from vault.catalogue.store import Store
from vault.model.licence import AddedTerms, LicenceUse


class Licences(Store):
    """The part of the catalogue that remembers terms and their use."""

    def add_terms(self, terms: AddedTerms) -> None:
        """Remembers terms; the same id again replaces them."""
        self._write(
            "INSERT OR REPLACE INTO licence_terms (id, item_id, sha256, name, seen_on, body) VALUES (?, ?, ?, ?, ?, ?)",
            (terms.id, terms.item_id, terms.sha256, _text(terms.name), terms.seen_on.isoformat(), to_json(terms)),
        )

    def withdraw_terms(self, terms_id: str) -> bool:
        """Takes recorded terms back; the bytes stay in the vault.  False if there were none."""
        return bool(self._write("DELETE FROM licence_terms WHERE id = ?", (terms_id,)))

    def added_terms(self, item_id: str | None = None) -> tuple[AddedTerms, ...]:
        """The recorded terms of one item or of all, in order of recording."""
        rows = self._rows(
            "SELECT body FROM licence_terms WHERE ? IS NULL OR item_id = ? ORDER BY seen_on, rowid", (item_id, item_id)
        )
        return tuple(from_json(AddedTerms, r[0]) for r in rows)

    def add_use(self, use: LicenceUse) -> None:
        """Adds a line to the ledger."""
        self._write(
            "INSERT INTO licence_uses (id, item_id, kind, count, done_on, body) VALUES (?, ?, ?, ?, ?, ?)",
            (use.id, use.item_id, use.kind.value, use.count, use.on.isoformat(), to_json(use)),
        )

    def withdraw_use(self, use_id: str) -> bool:
        """Takes a line of the ledger back.  False if there was none."""
        return bool(self._write("DELETE FROM licence_uses WHERE id = ?", (use_id,)))

    def licence_uses(self, item_id: str | None = None) -> tuple[LicenceUse, ...]:
        """The ledger of one item or of all, by day."""
        rows = self._rows(
            "SELECT body FROM licence_uses WHERE ? IS NULL OR item_id = ? ORDER BY done_on, rowid", (item_id, item_id)
        )
        return tuple(from_json(LicenceUse, r[0]) for r in rows)


def _text(text: str) -> str:
    """`text` without lone surrogates, which SQLite's UTF-8 cannot hold."""
    return text.encode("utf-8", "replace").decode("utf-8")
