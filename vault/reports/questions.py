"""What is to be answered, and what was: both sides side by side, the reasons in plain words, what an answer taught."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from vault.model.match import Answer, Candidate, FileView, Question
from vault.model.purchase import Item, Purchase
from vault.reports.listings import order_words, sheet_words
from vault.reports.rows import file_name
from vault.reports.tables import labelled
from vault.reports.text import Style, pad, plain, width, wrap

_LABEL = 9  # columns of the labels
_NARROW = 64  # columns below which both sides stand under each other
NOT_SAID = "-"


@dataclass(frozen=True, kw_only=True)
class Answered:
    """An answer with what it is about: `title` bought, `name` of the file, `taught` in plain words."""

    answer: Answer
    title: str
    seller: str | None
    name: str | None
    taught: tuple[str, ...] = ()


def question(asked: Question, item: Item, purchase: Purchase, views: Mapping[str, FileView], style: Style) -> list[str]:
    """One question: what was bought beside each file that it might be, with the reasons for and against."""
    lines = [style.bold(line) for line in wrap(plain(item.title), style.columns)]
    lines += wrap(f"{order_words(purchase)}  ({asked.id})", style.columns)
    for n, candidate in enumerate(asked.candidates, start=1):
        view = views.get(candidate.sha256)
        name = file_name(view) if view else candidate.sha256[:12]
        lines += ["", *(style.bold(line) for line in wrap(f"{n}  {plain(name)}", style.columns, rest="   "))]
        lines += _sides(_pairs(item, purchase, view), style)
        lines += _reasons(candidate, style)
    return [style.finish(line) for line in lines]


def _pairs(item: Item, purchase: Purchase, view: FileView | None) -> list[tuple[str, str, str]]:
    """Label, what was bought, what is here; only where one of them says something."""
    rows = [("", "bought", "here")]
    if view is None:
        return rows
    facts = view.file.facts
    seen = view.file.sightings[0] if view.file.sightings else None
    origin = (seen.origin_url or "") if seen else ""
    stamp = facts.stamp
    stamped = ", ".join(filter(None, [stamp.name, stamp.order_number])) if stamp else ""
    where = f"{seen.path} > {seen.inside}" if seen and seen.inside else seen.path if seen else ""
    found = [
        ("title", item.title, facts.title or ""),
        ("by", item.designer or purchase.seller or "", facts.designer or ""),
        ("sizes", ", ".join(item.options), ", ".join(facts.sizes)),
        ("parts", ", ".join(item.promised), ", ".join(sheet_words(s) for s in facts.sheets)),
        ("stamp", f"order {purchase.order_number}" if purchase.order_number and stamped else "", stamped),
        ("code", item.product_code or "", facts.product_code or ""),
        ("day", purchase.purchased_on.isoformat() if purchase.purchased_on else "", _day(view)),
        ("from", item.links[0].url if item.links and origin else "", origin),
        ("lies in", "", where),
    ]
    return rows + [(label, a or NOT_SAID, b or NOT_SAID) for label, a, b in found if a or b]


def _day(view: FileView) -> str:
    days = sorted(s.modified[:10] for s in view.file.sightings if s.modified)
    return f"{days[0]} (saved)" if days else ""


def _sides(rows: Sequence[tuple[str, str, str]], style: Style) -> list[str]:
    """The rows in two columns, each wrapped for itself; under each other on a narrow screen."""
    if style.columns < _NARROW:
        pairs = [(label, f"{plain(a)} / {plain(b)}") for label, a, b in rows[1:]]
        return labelled(pairs, style, indent=3)
    room = (style.columns - 3 - _LABEL - 2) // 2
    lines: list[str] = []
    for label, left, right in rows:
        if label == "lies in":
            lines += wrap(plain(right), style.columns, first="   " + pad(label, _LABEL), rest=" " * (3 + _LABEL))
            continue
        cells = [wrap(plain(text), room) for text in (left, right)]
        for n in range(max(map(len, cells))):
            one, two = (cell[n] if n < len(cell) else "" for cell in cells)
            text = f"   {pad(label if n == 0 else '', _LABEL)}{pad(one, room)}  {two}".rstrip()
            lines.append(style.faint(text) if not label else text)
    return lines


def _reasons(candidate: Candidate, style: Style) -> list[str]:
    lines: list[str] = []
    for label, wanted in (("for", True), ("against", False)):
        words = [plain(r.words) for r in candidate.reasons if (r.weight >= 0) is wanted]
        for n, text in enumerate(dict.fromkeys(words)):
            first = "   " + pad(label if n == 0 else "", _LABEL)
            lines += wrap(text, style.columns, first=first, rest=" " * width(first))
    return lines


def answered(rows: Sequence[Answered], style: Style) -> list[str]:
    """The answers that hold, what each taught, and how it is taken back."""
    if not rows:
        return [style.finish("No answers yet.")]
    lines: list[str] = []
    for row in rows:
        seller = f", {row.seller}" if row.seller else ""
        lines += [style.bold(line) for line in wrap(plain(f"{row.title}{seller}"), style.columns)]
        pairs = [("you said", answer_words(row))]
        pairs += [("taught" if n == 0 else " ", words) for n, words in enumerate(row.taught)]
        pairs += [("undo", f"pinfold settle {row.answer.item_id} --take-back")]
        lines += [*labelled(pairs, style), ""]
    return [style.finish(line) for line in lines[:-1]]


def answer_words(row: Answered) -> str:
    """What she said, in words."""
    if row.answer.sha256:
        return f"it is {row.name or row.answer.sha256[:12]}"
    if row.answer.later:
        return "later"
    seen = len(row.answer.rejected)
    return (
        "it is none of the files" if not seen else "it is not the file shown" if seen == 1 else f"none of {seen} files"
    )
