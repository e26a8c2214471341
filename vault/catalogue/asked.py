"""Claims: the letters that were written to sellers, and how they went on.  Truth: nothing but the person changes them.

That all files of a claim have come follows from the states of its items, so it is never written down: a claim whose
items are all held is closed, and opens again by itself should a file be lost.
"""

from __future__ import annotations

from dataclasses import replace

from vault.catalogue.codec import from_json, to_json
from vault.catalogue.store import Store
from vault.model.claim import Claim, ClaimState, ClaimStep, ClaimView
from vault.model.purchase import ItemState


class Asked(Store):
    """The part of the catalogue that remembers what was asked for."""

    def add_claim(self, claim: Claim) -> None:
        """Remembers a letter; the same id again replaces it and keeps its steps."""
        known = self.claim(claim.id)
        kept = replace(claim, steps=known.steps if known else claim.steps)
        self._write(
            "INSERT OR REPLACE INTO letters (id, seller, written_on, answer_by, body) VALUES (?, ?, ?, ?, ?)",
            (claim.id, _text(claim.seller), claim.written_on.isoformat(), claim.answer_by.isoformat(), to_json(kept)),
        )

    def add_claim_step(self, claim_id: str, step: ClaimStep) -> bool:
        """Remembers what happened with a claim.  False if there is no such claim."""
        known = self.claim(claim_id)
        if known is None:
            return False
        steps = sorted((*known.steps, step), key=lambda s: s.on)
        self._write("UPDATE letters SET body = ? WHERE id = ?", (to_json(replace(known, steps=tuple(steps))), claim_id))
        return True

    def withdraw_claim(self, claim_id: str) -> bool:
        """Forgets a claim.  False if there was none."""
        return bool(self._write("DELETE FROM letters WHERE id = ?", (claim_id,)))

    def claim(self, claim_id: str) -> Claim | None:
        """One claim, or None."""
        row = self._row("SELECT body FROM letters WHERE id = ?", (claim_id,))
        return from_json(Claim, row[0]) if row else None

    def claim_views(self) -> tuple[ClaimView, ...]:
        """Every claim as it stands by what is held now, oldest first."""
        rows = self._rows("SELECT body FROM letters ORDER BY written_on, id")
        held = {r[0] for r in self._rows("SELECT item_id FROM standings WHERE state = ?", (ItemState.HELD.value,))}
        return tuple(_view(from_json(Claim, r[0]), held) for r in rows)


def _view(claim: Claim, held: set[str]) -> ClaimView:
    received = tuple(i.item_id for i in claim.items if i.item_id in held)
    state, since = ClaimState.DRAFTED, claim.written_on
    for step in claim.steps:
        state, since = step.state, step.on
    if claim.items and len(received) == len(claim.items):
        state = ClaimState.RECEIVED
    return ClaimView(claim=claim, state=state, since=since, received=received)


def _text(text: str) -> str:
    """`text` without lone surrogates, which SQLite's UTF-8 cannot hold."""
    return text.encode("utf-8", "replace").decode("utf-8")
