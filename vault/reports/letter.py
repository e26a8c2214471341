"""Claims on a screen and as JSON: what was asked of whom, how it stands, the letter itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from vault.model.claim import ClaimedItem, ClaimState, ClaimView
from vault.reports.rows import amount
from vault.reports.rows import day as iso
from vault.reports.tables import Column, table
from vault.reports.text import Style, plain, wrap

STATE_WORDS = {
    ClaimState.DRAFTED: "drafted, not sent",
    ClaimState.SENT: "sent",
    ClaimState.ANSWERED: "answered",
    ClaimState.RECEIVED: "files received",
    ClaimState.REFUSED: "refused",
}


def state_words(view: ClaimView, day: date) -> str:
    """How a claim stands, in one phrase."""
    words = STATE_WORDS[view.state]
    if view.state is ClaimState.RECEIVED:
        return words
    words = f"{words} {view.since.isoformat()}"
    if view.received:
        words += f", {len(view.received)} of {len(view.claim.items)} received"
    if view.state is ClaimState.SENT and day > view.claim.answer_by:
        words += f", answer was asked for by {view.claim.answer_by.isoformat()}"
    return words


def claims(views: Sequence[ClaimView], day: date, style: Style) -> list[str]:
    """One line for each claim."""
    if not views:
        return ["Nothing was asked for yet: pinfold claim SELLER"]
    columns = [
        Column(heading="Claim"),
        Column(heading="Asked", gives=True),
        Column(heading="Things", right=True),
        Column(heading="State", gives=True),
    ]
    rows = [[v.claim.id, v.claim.to, str(len(v.claim.items)), state_words(v, day)] for v in views]
    lines = table(columns, rows, style)
    for view in views:
        told = [s for s in view.claim.steps if s.note]
        if told:
            lines += ["", *wrap(f"{view.claim.id}, {plain(view.claim.to)}", style.columns)]
        for step in told:
            words = f'{step.on.isoformat()} {STATE_WORDS[step.state]}: "{plain(step.note)}"'
            lines += wrap(words, style.columns, first="  ", rest="    ")
    return [style.finish(line) for line in lines]


def letter(subject: str, lines: Sequence[str], style: Style) -> list[str]:
    """The letter, wrapped for a screen."""
    shown = [style.bold(line) for line in wrap(plain(subject), style.columns)] + [""]
    for line in lines:
        indent = line[: len(line) - len(line.lstrip(" "))]
        rest = indent + ("  " if line.startswith(("- ", "  ")) else "")
        shown += wrap(plain(line), style.columns, first=indent, rest=rest) if line else [""]
    return [style.finish(line) for line in shown]


def hints(rows: Sequence[tuple[str, str]], note: str, style: Style) -> list[str]:
    """Pointers to texts, each with the place it is from."""
    lines = ["Where to read on:"]
    for place, text in rows:
        lines += wrap(f"{place}: {text}", style.columns, first="  ", rest="    ")
    return [style.finish(line) for line in [*lines, *wrap(note, style.columns, first="  ", rest="  ")]]


def _item_row(item: ClaimedItem) -> dict[str, Any]:
    return {
        "item_id": item.item_id,
        "purchase_id": item.purchase_id,
        "title": item.title,
        "order_number": item.order_number,
        "purchased_on": iso(item.purchased_on),
        "amount": amount(item.amount, item.currency),
        "total": amount(item.total, item.currency),
        "currency": item.currency,
        "lacking": list(item.lacking),
    }


def claim_row(view: ClaimView) -> dict[str, Any]:
    """One claim."""
    claim = view.claim
    return {
        "id": claim.id,
        "seller": claim.seller,
        "to": claim.to,
        "language": claim.language,
        "written_on": iso(claim.written_on),
        "answer_by": iso(claim.answer_by),
        "state": view.state.value,
        "since": iso(view.since),
        "open": view.open,
        "items": [{**_item_row(i), "received": i.item_id in view.received} for i in claim.items],
        "steps": [{"state": s.state.value, "on": iso(s.on), "note": s.note or None} for s in claim.steps],
    }


def letter_row(view: ClaimView, subject: str, text: str, left_out: Mapping[str, int]) -> dict[str, Any]:
    """`claim SELLER --json`: the claim with its letter."""
    return {**claim_row(view), "subject": subject, "letter": text, "left_out": dict(left_out)}
