"""What the person decided and what happened: answers, words about sellers, events, key-values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import TypedDict, Unpack

from vault.catalogue.documents import storable
from vault.catalogue.store import Store
from vault.errors import UsageError
from vault.model.event import FIRST_LINK, DestinationHistory, Event, LogHead, link_of
from vault.model.match import Answer
from vault.model.purchase import Seller
from vault.model.same_shop import SameShopWords

_OF_DESTINATIONS = ("backup", "rehearse", "check")


class SellerWords(TypedDict, total=False):
    """What the person may say about a seller; what is None or left out stays as it was."""

    status: str | None  # "open", "closing", "closed"
    closes_on: date | None
    succeeded_by: str | None


class Decisions(Store):
    """The part of the catalogue that nothing but the person changes."""

    def answers(self) -> tuple[Answer, ...]:
        """Every answer that was given and not taken back."""
        rows = self._rows("SELECT item_id, sha256, later, rejected FROM answers ORDER BY item_id")
        return tuple(Answer(item_id=r[0], sha256=r[1], later=bool(r[2]), rejected=tuple(r[3].split())) for r in rows)

    def add_answer(self, answer: Answer) -> None:
        """Remembers what the person said about an item; a later answer takes the place of an earlier one."""
        self._write(
            "INSERT OR REPLACE INTO answers (item_id, sha256, later, rejected) VALUES (?, ?, ?, ?)",
            (answer.item_id, answer.sha256, int(answer.later), " ".join(answer.rejected)),
        )

    def withdraw_answer(self, item_id: str) -> bool:
        """Takes an answer back.  False if there was none."""
        return bool(self._write("DELETE FROM answers WHERE item_id = ?", (item_id,)))

    def set_seller(self, name: str, **changes: Unpack[SellerWords]) -> None:
        """Remembers what the person says about the seller called `name`; it outweighs every notice.

        Saying that a shop is open takes back the day on which it closes.  Raises UsageError for an unknown status.
        """
        status = changes.get("status")
        if status not in (None, "open", "closing", "closed"):
            raise UsageError(f"not a status: {status!r}", "say open, closing or closed")
        closes_on = changes.get("closes_on")
        row = self._row("SELECT status, closes_on, succeeded_by FROM seller_words WHERE name = ?", (storable(name),))
        before = row or (None, None, None)
        day = closes_on.isoformat() if closes_on else None if status == "open" else before[1]
        self._write(
            "INSERT OR REPLACE INTO seller_words (name, status, closes_on, succeeded_by) VALUES (?, ?, ?, ?)",
            (storable(name), status or before[0], day, changes.get("succeeded_by") or before[2]),
        )

    def same_shops(self) -> tuple[SameShopWords, ...]:
        """What the person said of names being one shop's or not."""
        rows = self._rows("SELECT one, other, same FROM same_sellers ORDER BY one, other")
        return tuple(SameShopWords(one=r[0], other=r[1], same=bool(r[2])) for r in rows)

    def say_same_shop(self, one: str, other: str, *, same: bool) -> None:
        """Remembers that two names are one shop's, or are not; it takes the place of what was said before.

        Purchases and sellers follow from it when they are joined again.
        """
        first, second = sorted((storable(one) or "", storable(other) or ""))
        if first == second:
            raise UsageError(f"{one!r} is the same name", "give two names")
        self._write(
            "INSERT OR REPLACE INTO same_sellers (one, other, same) VALUES (?, ?, ?)", (first, second, int(same))
        )

    def withdraw_same_shop(self, words: SameShopWords) -> bool:
        """Takes back what was said of two names.  False if nothing was."""
        return bool(self._write("DELETE FROM same_sellers WHERE one = ? AND other = ?", (words.one, words.other)))

    def _with_words(self, sellers: tuple[Seller, ...]) -> tuple[Seller, ...]:
        """The sellers as the person knows them, by any of their names."""
        said = {
            r[0].casefold(): r for r in self._rows("SELECT name, status, closes_on, succeeded_by FROM seller_words")
        }
        if not said:
            return sellers
        return tuple(_told(s, said) for s in sellers)

    def add_event(
        self, kind: str, outcome: str, detail: str = "", *, destination: str = "", at: datetime | None = None
    ) -> Event:
        """Adds an event to the end of the log; `at` defaults to now, `destination` is the backup it is about."""
        moment = (at or datetime.now(UTC)).astimezone(UTC)
        with self.transaction():
            head = self.log_head()
            event = Event(
                at=moment.isoformat(timespec="seconds").replace("+00:00", "Z"),
                kind=kind,
                outcome=outcome,
                detail=storable(detail) or "",
                destination=storable(destination) or "",
                seq=head.events + 1,
            )
            event = replace(event, link=link_of(head.link, event))
            self._write(
                "INSERT INTO events (seq, at, kind, outcome, detail, destination, link) VALUES (?, ?, ?, ?, ?, ?, ?)",
                (event.seq, event.at, event.kind, event.outcome, event.detail, event.destination, event.link),
            )
        return event

    def events(self, kind: str | None = None) -> tuple[Event, ...]:
        """What was done, oldest first; of one kind, if given."""
        rows = self._rows(
            "SELECT at, kind, outcome, detail, destination, seq, link FROM events"
            " WHERE ? IS NULL OR kind = ? ORDER BY seq",
            (kind, kind),
        )
        return tuple(
            Event(at=r[0], kind=r[1], outcome=r[2], detail=r[3], destination=r[4], seq=r[5], link=r[6]) for r in rows
        )

    def bring_events(self, events: Sequence[Event]) -> None:
        """Puts a whole log into a catalogue that has none yet, as it was."""
        self._write_all(
            "INSERT INTO events (seq, at, kind, outcome, detail, destination, link) VALUES (?, ?, ?, ?, ?, ?, ?)",
            [(e.seq, e.at, e.kind, e.outcome, e.detail, e.destination, e.link) for e in events],
        )

    def log_head(self) -> LogHead:
        """The end of the log: to be noted elsewhere, so that a log cut short is noticed."""
        row = self._row("SELECT seq, link FROM events ORDER BY seq DESC LIMIT 1")
        return LogHead(events=row[0], link=row[1]) if row else LogHead(events=0, link=FIRST_LINK)

    def destinations(self) -> tuple[DestinationHistory, ...]:
        """Every destination that was ever backed up to, rehearsed or checked, with what was last done, by name."""
        found: dict[str, dict[str, Event]] = {}
        for event in self.events():
            if event.destination and event.kind in _OF_DESTINATIONS:
                seen = found.setdefault(event.destination, {})
                well = event.outcome in ("done", "incomplete") if event.kind == "backup" else event.outcome == "done"
                seen[event.kind if well else f"bad {event.kind}"] = event
                if well:
                    seen.pop(f"bad {event.kind}", None)
        return tuple(
            DestinationHistory(
                destination=name,
                last_backup=seen.get("backup"),
                last_rehearsal=seen.get("rehearse"),
                last_check=seen.get("check"),
                failed=max(
                    (e for what, e in seen.items() if what.startswith("bad ")), key=lambda e: e.seq, default=None
                ),
            )
            for name, seen in sorted(found.items())
        )

    def value(self, key: str) -> str | None:
        """A small setting or mark that belongs to the vault's rows."""
        row = self._row("SELECT value FROM key_values WHERE key = ?", (key,))
        return str(row[0]) if row else None

    def set_value(self, key: str, value: str | None) -> None:
        """Sets a key, or removes it with None."""
        if value is None:
            self._write("DELETE FROM key_values WHERE key = ?", (key,))
        else:
            self._write("INSERT OR REPLACE INTO key_values (key, value) VALUES (?, ?)", (key, value))


def _told(seller: Seller, said: dict[str, tuple[str, str | None, str | None, str | None]]) -> Seller:
    for name in (seller.name, *seller.also_known_as):
        row = said.get(name.casefold())
        if row:
            _, status, closes_on, succeeded_by = row
            day = date.fromisoformat(closes_on) if closes_on else None if status else seller.closes_on
            return replace(
                seller, status=status or seller.status, closes_on=day, succeeded_by=succeeded_by or seller.succeeded_by
            )
    return seller
