"""What follows from the evidence: purchases, sellers, links, questions, standings.  Replaced whole, in one transaction.

Items that are still there keep their standing until matching has run again, so that a reader who looks between joining
and matching sees nothing worse than yesterday's answer.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from vault.catalogue.codec import from_json, to_json
from vault.catalogue.documents import storable
from vault.catalogue.search import Search
from vault.model.match import Link, MatchResult, Question, Standing
from vault.model.purchase import Item, Joined, Purchase, Seller


class Derived(Search):
    """The part of the catalogue that can be made again from the rest."""

    def replace_joined(self, joined: Joined) -> None:
        """Puts the outcome of joining all claims in the place of the former one."""
        with self.transaction():
            self._write("CREATE TEMP TABLE IF NOT EXISTS stays (id TEXT PRIMARY KEY)")
            self._replace_purchases(joined.purchases)
            self._write("DELETE FROM sellers")
            self._write_all(
                "INSERT INTO sellers (id, place, name, body) VALUES (?, ?, ?, ?)",
                [(s.id, place, storable(s.name), to_json(s)) for place, s in enumerate(joined.sellers)],
            )
            self._index_items(joined.purchases)

    def _replace_purchases(self, purchases: tuple[Purchase, ...]) -> None:
        items = [(p.id, place, item) for p in purchases for place, item in enumerate(p.items)]
        self._keep_only("items", [item.id for _, _, item in items])
        self._write_all(
            "INSERT INTO purchases (id, place, seller, order_number, purchased_on, currency, total, body)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET place = excluded.place,"
            " seller = excluded.seller, order_number = excluded.order_number, purchased_on = excluded.purchased_on,"
            " currency = excluded.currency, total = excluded.total, body = excluded.body",
            [
                (
                    p.id,
                    place,
                    storable(p.seller),
                    storable(p.order_number),
                    p.purchased_on.isoformat() if p.purchased_on else None,
                    p.currency,
                    None if p.total is None else str(p.total),
                    to_json(replace(p, items=())),
                )
                for place, p in enumerate(purchases)
            ],
        )
        self._write_all(
            "INSERT INTO items (id, purchase_id, place, title, designer, body) VALUES (?, ?, ?, ?, ?, ?)"
            " ON CONFLICT (id) DO UPDATE SET purchase_id = excluded.purchase_id, place = excluded.place,"
            " title = excluded.title, designer = excluded.designer, body = excluded.body",
            [(i.id, p_id, place, storable(i.title), storable(i.designer), to_json(i)) for p_id, place, i in items],
        )
        # Last, for an item may have moved to another purchase and must not go with the old one.
        self._keep_only("purchases", [p.id for p in purchases])

    def _keep_only(self, table: str, ids: list[str]) -> None:
        self._write("DELETE FROM stays")
        self._write_all("INSERT OR IGNORE INTO stays VALUES (?)", [(i,) for i in ids])
        self._write(f"DELETE FROM {table} WHERE id NOT IN (SELECT id FROM stays)")

    def replace_matches(self, result: MatchResult, duplicates: Mapping[str, str] | None = None) -> None:
        """Puts the outcome of matching in the place of the former one.

        `duplicates`: digest of a file -> digest of the other file with the same content.
        """
        with self.transaction():
            for table in ("links", "questions", "standings", "duplicates"):
                self._write(f"DELETE FROM {table}")
            self._write_all(
                "INSERT INTO links (item_id, sha256, place, part, settled, body) VALUES (?, ?, ?, ?, ?, ?)",
                [(k.item_id, k.sha256, n, k.part, k.settled, to_json(k)) for n, k in enumerate(result.links)],
            )
            self._write_all(
                "INSERT INTO questions (id, place, item_id, body) VALUES (?, ?, ?, ?)",
                [(q.id, n, q.item_id, to_json(q)) for n, q in enumerate(result.questions)],
            )
            self._write_all(
                "INSERT INTO standings (item_id, state, body) VALUES (?, ?, ?)",
                [(s.item_id, s.state.value, to_json(s)) for s in result.standings],
            )
            self._write_all(
                "INSERT INTO duplicates (sha256, duplicate_of) VALUES (?, ?)", sorted((duplicates or {}).items())
            )

    def joined_purchases(self) -> tuple[Purchase, ...]:
        """The purchases with their items, as joined."""
        items: dict[str, list[Item]] = {}
        for r in self._rows("SELECT purchase_id, body FROM items ORDER BY purchase_id, place"):
            items.setdefault(r[0], []).append(from_json(Item, r[1]))
        return tuple(
            replace(from_json(Purchase, r[1]), items=tuple(items.get(r[0], ())))
            for r in self._rows("SELECT id, body FROM purchases ORDER BY place")
        )

    def purchase_ids(self) -> frozenset[str]:
        """The ids of all purchases."""
        return frozenset(r[0] for r in self._rows("SELECT id FROM purchases"))

    def linked_pairs(self) -> frozenset[tuple[str, str]]:
        """Item id and digest of every link."""
        return frozenset((r[0], r[1]) for r in self._rows("SELECT item_id, sha256 FROM links"))

    def joined_sellers(self) -> tuple[Seller, ...]:
        """The sellers as joined, without what the person said about them."""
        return tuple(from_json(Seller, r[0]) for r in self._rows("SELECT body FROM sellers ORDER BY place"))

    def links(self) -> tuple[Link, ...]:
        """All links between items and files."""
        return tuple(from_json(Link, r[0]) for r in self._rows("SELECT body FROM links ORDER BY place"))

    def questions(self) -> tuple[Question, ...]:
        """What the person is to decide, in the order in which matching would ask."""
        return tuple(from_json(Question, r[0]) for r in self._rows("SELECT body FROM questions ORDER BY place"))

    def standings(self) -> tuple[Standing, ...]:
        """The state of every item."""
        return tuple(from_json(Standing, r[0]) for r in self._rows("SELECT body FROM standings"))

    def duplicates(self) -> dict[str, str]:
        """Digest of a file -> digest of the other file with the same content."""
        return {r[0]: r[1] for r in self._rows("SELECT sha256, duplicate_of FROM duplicates")}
