"""A purchase for which there is no receipt, as the person remembers it.

It becomes a small document of its own, kept as bytes like any other evidence: what she said, in JSON, so that it is
read again when everything else is lost.  Saying the same twice is one document.
"""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from typing import Any

from vault.catalogue import Catalogue
from vault.errors import UsageError
from vault.intake.derive import is_stale, mark_stale, rejoin, shelve
from vault.intake.readers import READER_VERSION
from vault.intake.remembering import keep_records
from vault.intake.summary import IngestSummary
from vault.model.evidence import (
    DocumentKind,
    DocumentReading,
    DownloadLink,
    EvidenceKind,
    FieldSource,
    ItemClaim,
    PurchaseClaim,
)
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock
from vault.safekeeping.objects import ObjectStore

SOURCE = "recorded"
_MARK = "pinfold-recorded-purchase"
# Field of a claim -> what the person said of it.
_TYPED = {
    "seller": "seller",
    "items": "title",
    "purchased_on": "purchased_on",
    "order_number": "order_number",
    "currency": "currency",
    "total": "amount",
}


def record_purchase(
    folder: VaultFolder,
    *,
    seller: str,
    title: str,
    on: date,
    amount: Decimal | None = None,
    currency: str | None = None,
    designer: str | None = None,
    order_number: str | None = None,
    link: str | None = None,
    day: date,
) -> IngestSummary:
    """Remembers a purchase of one pattern; what is held already is matched with it.  `day` is today.

    Raises UsageError when seller or title is empty, StoreError when the vault cannot be written.
    """
    if on > day:
        raise UsageError(f"{on} is still to come", "give the day on which it was bought")
    if not seller.strip() or not title.strip():
        raise UsageError("a purchase needs a seller and a title", "give both: --seller NAME --title TITLE")
    said = {
        "format": _MARK,
        "version": 1,
        "seller": seller.strip(),
        "title": title.strip(),
        "purchased_on": on.isoformat(),
        "amount": None if amount is None else str(amount),
        "currency": currency,
        "designer": designer,
        "order_number": order_number,
        "link": link,
    }
    # The day of recording is no part of it: saying the same again tomorrow is still the same.
    raw = (json.dumps(said, indent=1) + "\n").encode("ascii")
    with VaultLock(folder, purpose="record"), Catalogue.open(folder.catalogue_path) as catalogue:
        before = catalogue.purchase_ids(), catalogue.linked_pairs()
        sha256 = ObjectStore(folder).keep(raw)
        known = catalogue.document_known(sha256) == "read"
        if not known:
            with catalogue.transaction():
                reading = read_recorded(raw)
                catalogue.record_document(sha256, source=SOURCE, reading=reading, reader=READER_VERSION)
                mark_stale(catalogue)
        if is_stale(catalogue):
            rejoin(catalogue)
        shelve(folder, catalogue)
        keep_records(folder, catalogue)
        return IngestSummary(
            documents=int(not known),
            purchases_new=len(catalogue.purchase_ids() - before[0]),
            linked=len(catalogue.linked_pairs() - before[1]),
            questions=len(catalogue.questions()),
            unchanged=int(known),
        )


def is_recorded(raw: bytes) -> bool:
    """Whether bytes are a purchase that a person typed in."""
    return raw.startswith(b"{") and f'"format": "{_MARK}"'.encode() in raw[:100]


def read_recorded(raw: bytes) -> DocumentReading:
    """What a recorded purchase says.  Raises ValueError or KeyError for other bytes."""
    said: dict[str, Any] = json.loads(raw)
    if said["format"] != _MARK:
        raise ValueError("not a recorded purchase")
    amount = Decimal(said["amount"]) if said["amount"] is not None else None
    links = (DownloadLink(url=said["link"]),) if said["link"] else ()
    item = ItemClaim(
        title=said["title"],
        designer=said["designer"],
        quantity=1,
        amount=amount,
        digital=True,
        craft_pattern=True,
        links=links,
    )
    claim = PurchaseClaim(
        document=DocumentKind.ORDER,
        seller=said["seller"],
        order_number=said["order_number"],
        purchased_on=date.fromisoformat(said["purchased_on"]),
        date_printed=True,
        currency=said["currency"],
        total=amount,
        items=(item,),
        sources=tuple(
            FieldSource(field=field, words=str(said[key]), how="you typed it in")
            for field, key in _TYPED.items()
            if said[key] is not None
        ),
    )
    return DocumentReading(
        kind=EvidenceKind.RECORDED,
        document=DocumentKind.ORDER,
        subject=f"{said['seller']}: {said['title']}",
        dated=claim.purchased_on,
        claims=(claim,),
        text=" ".join(str(said[k]) for k in ("seller", "title", "designer", "order_number") if said[k]),
    )
