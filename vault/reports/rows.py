"""Rows as the JSON contract has them (docs/json.md): plain dictionaries, dates as YYYY-MM-DD, amounts as strings.

Fields may be added, never renamed.  Unknown is null.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from vault.model.evidence import DownloadLink
from vault.model.match import Answer, Candidate, FileView, ItemView, Link, MissingRow, PurchaseView, Question, Reason
from vault.model.money import amount_text
from vault.model.pattern import LicenceTerms, PatternFacts, ScaleCheck, Stamp
from vault.model.purchase import Item, Purchase, Seller

Row = dict[str, Any]


def dumps(value: object) -> str:
    """`value` as JSON text that any UTF-8 stream takes: undecodable bytes of file names become U+FFFD."""
    text = json.dumps(value, ensure_ascii=False, indent=1)
    return text.encode("utf-8", "surrogatepass").decode("utf-8", "replace") if not text.isascii() else text


def day(value: date | None) -> str | None:
    """An ISO 8601 date or None."""
    return value.isoformat() if value else None


def amount(value: Decimal | None, currency: str | None) -> str | None:
    """A decimal string with the currency's number of places or None."""
    return amount_text(value, currency) if value is not None else None


def link_row(link: DownloadLink) -> Row:
    """One download link."""
    return {
        "url": link.url,
        "label": link.label,
        "expires_on": day(link.expires_on),
        "downloads_left": link.downloads_left,
    }


def licence_row(terms: LicenceTerms | None) -> Row | None:
    """What a file's words allow, with the quotes it rests on."""
    if terms is None:
        return None
    return {
        "personal_use": terms.personal_use,
        "sell_finished": terms.sell_finished,
        "limit": terms.limit,
        "credit_required": terms.credit_required,
        "teach": terms.teach,
        "share_file": terms.share_file,
        "alter_file": terms.alter_file,
        "quotes": [{"text": q.text, "page": q.page} for q in terms.quotes],
    }


def _reasons(reasons: Sequence[Reason]) -> list[str]:
    return [r.words for r in reasons]


def _linked(link: Link, names: Mapping[str, str]) -> Row:
    return {
        "sha256": link.sha256,
        "name": names.get(link.sha256),
        "part": link.part,
        "score": round(link.score, 3),
        "settled": link.settled,
        "why": _reasons(link.reasons),
    }


def item_row(
    view: ItemView,
    currency: str | None,
    files: Mapping[str, FileView],
    recorded: Mapping[str, LicenceTerms] | None = None,
) -> Row:
    """One item of a purchase with its state, links and files; `recorded` are terms that the person recorded, by item.

    What a file of the item says of its use goes before what was recorded.
    """
    item = view.item
    terms = [files[k.sha256].file.facts.licence for k in view.links if k.sha256 in files]
    terms.append((recorded or {}).get(item.id))
    names = dict(view.names)
    return {
        "id": item.id,
        "title": item.title,
        "designer": item.designer,
        "quantity": item.quantity,
        "amount": amount(item.amount, currency),
        "digital": item.digital,
        "craft_pattern": item.craft_pattern,
        "options": list(item.options),
        "product_code": item.product_code,
        "promised": list(item.promised),
        "state": view.standing.state.value,
        "lacking": list(view.standing.lacking),
        "why": list(view.standing.why),
        "links": [link_row(k) for k in item.links],
        "files": [_linked(k, names) for k in view.links],
        "licence": licence_row(next((t for t in terms if t is not None), None)),
    }


def purchase_row(
    view: PurchaseView, files: Mapping[str, FileView], recorded: Mapping[str, LicenceTerms] | None = None
) -> Row:
    """One purchase with its items and evidence."""
    p = view.purchase
    return {
        "id": p.id,
        "seller": p.seller,
        "seller_id": p.seller_id,
        "order_number": p.order_number,
        "payment_number": p.payment_number,
        "purchased_on": day(p.purchased_on),
        "currency": p.currency,
        "total": amount(p.total, p.currency),
        "tax": amount(p.tax, p.currency),
        "shipping": amount(p.shipping, p.currency),
        "discount": amount(p.discount, p.currency),
        "gift_card": amount(p.gift_card, p.currency),
        "refunded": bool(p.refunded),
        "cancelled": p.cancelled,
        "items": [item_row(i, p.currency, files, recorded) for i in view.items],
        "evidence": [
            {"source": e.source, "message_id": e.message_id, "sha256": e.sha256, "kind": e.kind} for e in view.evidence
        ],
    }


def purchases(
    views: Sequence[PurchaseView], files: Mapping[str, FileView], recorded: Mapping[str, LicenceTerms] | None = None
) -> Row:
    """`purchases --json`."""
    return {"purchases": [purchase_row(v, files, recorded) for v in views]}


def missing(rows: Sequence[MissingRow]) -> Row:
    """`missing --json`."""
    counts: dict[str, int] = {"missing": 0, "partial": 0}
    for row in rows:
        state = row.view.standing.state.value
        counts[state] = counts.get(state, 0) + 1
    return {"missing": [missing_row(r) for r in rows], "counts": counts}


def missing_row(row: MissingRow) -> Row:
    """One thing bought and not held."""
    item, purchase = row.view.item, row.purchase
    return {
        "purchase_id": purchase.id,
        "item_id": item.id,
        "seller": purchase.seller,
        "seller_status": row.seller.status if row.seller else None,
        "title": item.title,
        "order_number": purchase.order_number,
        "purchased_on": day(purchase.purchased_on),
        "state": row.view.standing.state.value,
        "lacking": list(row.view.standing.lacking),
        "links": [link_row(k) for k in item.links],
        "deadline": day(row.deadline),
        "downloads_left": row.downloads_left,
        "urgency": row.urgency,
        "why": list(row.why),
        "next": row.next,
    }


def _scale(check: ScaleCheck | None) -> Row | None:
    if check is None:
        return None
    return {
        "stated_mm": check.stated_mm,
        "drawn_mm": check.drawn_mm,
        "ok": check.ok,
        "page": check.page,
        "note": check.note or None,
    }


def _stamp(stamp: Stamp | None) -> Row | None:
    if stamp is None:
        return None
    return {"name": stamp.name, "mail": stamp.mail, "order_number": stamp.order_number}


def _facts(facts: PatternFacts) -> Row:
    return {
        "media_type": facts.media_type,
        "is_pattern": facts.is_pattern,
        "craft": facts.craft,
        "title": facts.title,
        "designer": facts.designer,
        "language": facts.language,
        "pages": facts.pages,
        "sheets": [
            {
                "paper": s.paper,
                "width_mm": round(s.width_mm, 2),
                "height_mm": round(s.height_mm, 2),
                "pages": s.pages,
                "use": s.use,
            }
            for s in facts.sheets
        ],
        "layers": [layer.name for layer in facts.layers],
        "sizes": list(facts.sizes),
        "scale_check": _scale(facts.scale_check),
        "seam_allowance_mm": facts.seam_allowance_mm,
        "licence": licence_row(facts.licence),
        "stamp": _stamp(facts.stamp),
        "version": facts.version,
        "encrypted": facts.encrypted,
        "damaged": facts.damaged,
        "unusable": facts.unusable,
        "parts": list(facts.parts),
        "promised": list(facts.promised),
        "product_code": facts.product_code,
        "details": dict(facts.details),
    }


def file_name(view: FileView) -> str:
    """The file's own name, without folders, as it was first seen."""
    for sighting in view.file.sightings:
        return _last_part(sighting.inside or sighting.path)
    return view.file.sha256[:12]


def _last_part(path: str) -> str:
    return path.rsplit(" > ", 1)[-1].replace("\\", "/").rsplit("/", 1)[-1]


def file_row(view: FileView) -> Row:
    """One file with its facts and every place it was seen."""
    file = view.file
    places = [f"{s.path} > {s.inside}" if s.inside else s.path for s in file.sightings]
    return {
        "sha256": file.sha256,
        "name": file_name(view),
        "size": file.n_bytes,
        **_facts(file.facts),
        "duplicate_of": None,
        "same_content_as": [],
        "also_at": places[1:],
        "seen_at": places,
        "origin_url": next((s.origin_url for s in file.sightings if s.origin_url), None),
        "item_ids": list(view.item_ids),
        "members": list(file.members),
        "kept": file.kept,
        "why": list(file.facts.why),
    }


def _copies(view: FileView, row: Row) -> list[Row]:
    """A row for every further place where the same bytes were seen, naming the first as what it is a copy of."""
    places = row["also_at"]
    return [
        {**row, "name": _last_part(p), "duplicate_of": view.file.sha256, "also_at": [], "seen_at": [p]} for p in places
    ]


def _same_content(views: Sequence[FileView]) -> dict[str, list[str]]:
    """Digest -> the digests of other files with the same content (another stamp, saved again)."""
    groups: dict[str, list[str]] = {}
    for view in views:
        groups.setdefault(view.duplicate_of or view.file.sha256, []).append(view.file.sha256)
    found: dict[str, list[str]] = {}
    for first, members in groups.items():
        everyone = sorted({first, *members})
        found.update({sha: [other for other in everyone if other != sha] for sha in everyone})
    return found


def files(views: Sequence[FileView]) -> Row:
    """`files --json`."""
    same = _same_content(views)
    out = []
    for view in views:
        row = {**file_row(view), "same_content_as": same.get(view.file.sha256, [])}
        out += [row, *_copies(view, row)]
    return {"files": out}


def sellers(rows: Sequence[Seller], missing_counts: Mapping[str, int]) -> Row:
    """`sellers --json`; `missing_counts` by seller id."""
    return {
        "sellers": [
            {
                "id": s.id,
                "name": s.name,
                "also_known_as": list(s.also_known_as),
                "domains": list(s.domains),
                "status": s.status,
                "closes_on": day(s.closes_on),
                "succeeded_by": s.succeeded_by,
                "missing_count": missing_counts.get(s.id, 0),
                "words": [w.source.words for w in s.words],
                "doubted": [{"words": w.source.words, "why": w.source.how} for w in s.doubted],
            }
            for s in rows
        ]
    }


def candidate_row(candidate: Candidate, names: Mapping[str, str]) -> Row:
    """One file that might be the item."""
    return {
        "sha256": candidate.sha256,
        "name": names.get(candidate.sha256),
        "score": round(candidate.score, 3),
        "why": _reasons(candidate.reasons),
    }


def question_row(question: Question, item: Item, purchase: Purchase, names: Mapping[str, str]) -> Row:
    """One question with its candidates, best first."""
    return {
        "id": question.id,
        "item_id": question.item_id,
        "title": item.title,
        "seller": purchase.seller,
        "candidates": [candidate_row(c, names) for c in question.candidates],
    }


def answer_row(answer: Answer, title: str | None, seller: str | None, name: str | None, taught: Sequence[str]) -> Row:
    """One answer that holds, with what it taught."""
    said = "file" if answer.sha256 else "later" if answer.later else "none"
    return {
        "item_id": answer.item_id,
        "title": title,
        "seller": seller,
        "answer": said,
        "sha256": answer.sha256,
        "name": name,
        "rejected": list(answer.rejected),
        "taught": list(taught),
    }
