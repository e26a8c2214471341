"""The state of one item from its links, with what is lacking and why, in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vault.matching.filed import Filed
from vault.matching.parts import Promise, lacking, named
from vault.matching.title import Title
from vault.model.match import MatchItem, Standing
from vault.model.purchase import ItemState

_UNUSABLE = {
    "empty": "is empty",
    "truncated": "is cut off",
    "error page": "is an error page, not the pattern",
    "preview": "is only a preview",
    "locked": "needs a password",
    "damaged": "is damaged",
}


@dataclass(frozen=True, slots=True)
class Held:
    """A linked file and the member of a bundle that it is, if it is one."""

    file: Filed
    member: str | None


def standing(
    source: MatchItem,
    promised: Sequence[Promise],
    held: Sequence[Held],
    barred: Sequence[Filed],
    *,
    asked: int,
    said_none: bool,
) -> Standing:
    """The standing of an item.

    `held`: the usable files linked to it; `barred`: files that would be it, but are damaged or only a preview;
    `asked`: candidates of an open question; `said_none`: she said that none of the files is it.
    """
    item, purchase = source.item, source.purchase
    if item.refunded or purchase.refunded is True or purchase.cancelled:
        words = "the order was cancelled" if purchase.cancelled and not purchase.refunded else "it was refunded"
        return Standing(item_id=item.id, state=ItemState.REFUNDED, why=(words,))
    if item.digital is False:
        return Standing(item_id=item.id, state=ItemState.NOT_DIGITAL, why=("it is not a download",))
    why = [f"{f.name} {_UNUSABLE.get(f.unusable or '', f.unusable or 'cannot be used')}" for f in barred]
    if not held:
        why += [_words_for_questions(asked)] if asked else []
        why += ["you said that none of the files is it"] if said_none else []
        return Standing(item_id=item.id, state=ItemState.MISSING, why=tuple(why or ["no file here is it"]))
    absent = lacking(
        promised,
        [h.file.parts for h in held],
        [h.file.sizes for h in held] if any(p.sizes for p in promised) else [],
        [h.member for h in held if h.member] + members_inside(promised, held),
    )
    why += _notes(source, held)
    if not absent:
        return Standing(item_id=item.id, state=ItemState.HELD, why=tuple(why))
    why += [f"the receipt promises {named(p)}; no file of it is here" for p in absent]
    why += [_words_for_questions(asked)] if asked else []
    return Standing(item_id=item.id, state=ItemState.PARTIAL, lacking=absent, why=tuple(why))


def members_inside(promised: Sequence[Promise], held: Sequence[Held]) -> list[str]:
    """Members of a bundle whose titles stand as headings or in the title of a file that is the whole bundle."""
    if not any(p.member is not None for p in promised):
        return []
    whole = [v for h in held if h.member is None for v in h.file.voices]
    headings = {_named(v.title) for v in whole if v.kind == "heading"}
    titles = [v.title.plain for v in whole if v.kind in ("document", "name")]
    return [
        p.words
        for p in promised
        if p.member is not None and (_named(p.member) in headings or any(p.member.plain <= t for t in titles))
    ]


def _named(title: Title) -> tuple[frozenset[str], frozenset[str], frozenset[str]]:
    return (title.plain, title.variants, title.volumes)


def _words_for_questions(asked: int) -> str:
    return "one file here may be it: see settle" if asked == 1 else f"{asked} files here may be it: see settle"


def _notes(source: MatchItem, held: Sequence[Held]) -> list[str]:
    out = []
    versions = sorted({h.file.facts.version for h in held if h.file.facts.version})
    if len(versions) > 1:
        out.append(f"versions {', '.join(versions)} are here; the newest counts")
    elif versions:
        out.append(f"the file says version {versions[0]}")
    others = sorted({p for h in held for p in h.file.facts.promised} - {p for h in held for p in h.file.parts})
    if others and not source.item.promised:
        out.append(f"the file also speaks of {', '.join(map(named, others))}")
    return out
