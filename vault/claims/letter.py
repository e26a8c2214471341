"""A claim as a letter: a list of lines, each paragraph one line, so that it can be pasted into a mail.

Order by order: number, day, total, and below it each thing with its price and what is missing.  Whatever comes from a
document passes `safe_text.one_line` and stands on a line of its own behind a label.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from vault.claims.phrases import Phrases, phrases
from vault.claims.safe_text import one_line
from vault.language.writing import written_amount, written_date
from vault.model.claim import Claim, ClaimedItem

ITEM = "- "
BELOW = "  "


@dataclass(frozen=True, kw_only=True)
class LetterOptions:
    """What a letter says beside the list: who signs, the shop's last day, the proof."""

    signed: str = ""
    closes_on: date | None = None
    proof: bool = True
    redacted: bool = False


@dataclass(frozen=True, kw_only=True)
class Letter:
    """A finished letter."""

    language: str
    subject: str
    lines: tuple[str, ...]

    @property
    def text(self) -> str:
        """The letter as text, subject first."""
        return "\n".join([self.subject, "", *self.lines, ""])


def compose(claim: Claim, options: LetterOptions) -> Letter:
    """The letter for a claim.  Raises UsageError for a language without phrases."""
    words = phrases(claim.language)
    seller, to = one_line(claim.seller, 80), one_line(claim.to, 80)
    intro = "intro" if seller.casefold() == to.casefold() else "intro_successor"
    intro += "_one" if len(claim.items) == 1 else ""
    lines = [words["greeting"].format(to=to), "", words[intro].format(seller=seller), ""]
    for items in claim.items_by_order:
        lines += [*_order(items, words), ""]
    if options.closes_on:
        lines += [words["closing"].format(date=written_date(options.closes_on, words.language))]
    lines += [words["request"].format(date=written_date(claim.answer_by, words.language)), ""]
    if options.proof:
        lines += [words["proof"], *([words["redacted"]] if options.redacted else []), ""]
    lines += [words["licence"], words["thanks"], "", words["regards"]]
    if options.signed:
        lines.append(one_line(options.signed, 80))
    return Letter(language=words.language, subject=words["subject"].format(seller=seller), lines=tuple(lines))


def _order(items: Sequence[ClaimedItem], words: Phrases) -> list[str]:
    first = items[0]
    lines = [words.labelled("order", one_line(first.order_number or "", 80) or words["unknown"])]
    if first.payment_number and not first.order_number:
        lines.append(words.labelled("payment", one_line(first.payment_number, 80)))
    day = written_date(first.purchased_on, words.language) if first.purchased_on else words["unknown"]
    lines.append(words.labelled("date", day))
    total = first.total is not None and written_amount(first.total, first.currency, words.language)
    lines.append(words.labelled("total", total or words["unknown"]))
    if first.account:
        lines.append(words.labelled("account", one_line(first.account, 120)))
    for item in items:
        lines += _item(item, words)
    return lines


def _item(item: ClaimedItem, words: Phrases) -> list[str]:
    lines = [ITEM + (one_line(item.title) or words["unknown"])]
    if item.designer:
        lines.append(BELOW + words.labelled("designer", one_line(item.designer, 80)))
    if item.amount is not None:
        lines.append(BELOW + words.labelled("price", written_amount(item.amount, item.currency, words.language)))
    parts = ", ".join(one_line(words.part(p), 60) for p in item.lacking) or words["everything"]
    return [*lines, BELOW + words.labelled("missing", parts)]
