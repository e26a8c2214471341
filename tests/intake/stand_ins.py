"""Readers for tests of the import itself: they read a toy language, so nothing hangs on how good the real ones are.

A document with a line `Order: N` is a purchase of the lines `Item: TITLE`; `Closing: DATE` is a notice; `Unclear:` is
a document that cannot be read.  A file with the word `PATTERN` is one, with `STATEMENT` it is not.  `CRASH` crashes.
"""

from __future__ import annotations

import email
import email.policy
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from vault.catalogue import Catalogue
from vault.intake.readers import FileJob, Readers, ReadFiles
from vault.model.evidence import (
    Attachment,
    DocumentKind,
    DocumentReading,
    EvidenceKind,
    ItemClaim,
    Problem,
    PurchaseClaim,
    SellerNotice,
)
from vault.model.match import Link, MatchResult, Standing
from vault.model.pattern import FileReading, PatternFacts
from vault.model.pdf import PageReading, PdfReading
from vault.model.purchase import Item, ItemState, Joined, Purchase


def read_document(kind: EvidenceKind, raw: bytes, *, name: str = "", pdf: PdfReading | None = None) -> DocumentReading:
    text = raw.decode("utf-8", "replace").replace("\r\n", "\n")
    if "CRASH" in text:
        raise KeyError("a mistake of a reader")
    order = re.search(r"^Order: (.+)$", text, re.MULTILINE)
    items = tuple(ItemClaim(title=t) for t in re.findall(r"^Item: (.+)$", text, re.MULTILINE))
    closing = re.search(r"^Closing: (.+)$", text, re.MULTILINE)
    claim = PurchaseClaim(document=DocumentKind.ORDER, order_number=order and order[1], items=items)
    return DocumentReading(
        kind=kind,
        document=DocumentKind.ADVERT if "Sale!" in text else DocumentKind.ORDER,
        claims=(claim,) if order else (),
        notices=(SellerNotice(seller="Thimblewick", on=date.fromisoformat(closing[1])),) if closing else (),
        problems=(Problem(source=name, reason="it speaks of a purchase that cannot be read"),)
        if "Unclear:" in text
        else (),
        attachments=attachments(raw) if kind is EvidenceKind.MAIL else (),
        text=text[:1000],
    )


def attachments(raw: bytes) -> tuple[Attachment, ...]:
    mail = email.message_from_bytes(raw, policy=email.policy.default)
    return tuple(
        Attachment(name=a.get_filename() or "", media_type=a.get_content_type(), content=a.get_payload(decode=True))
        for a in mail.iter_attachments()
        if isinstance(a.get_payload(decode=True), bytes)
    )


def read_file(job: FileJob) -> FileReading:
    data = job.path.read_bytes()
    kind = True if b"PATTERN" in data else False if b"STATEMENT" in data else None
    if b"CRASH" in data:
        problem = Problem(source=job.name, reason="its reader crashed", next="open it in a viewer")
        return FileReading(facts=PatternFacts(media_type=job.media_type), problem=problem)
    pdf = None
    unusable = None
    if job.media_type == "application/pdf":
        pdf = PdfReading(n_pages=1, pages=(PageReading(number=1, label=None, width_mm=210, height_mm=297),))
        unusable = None if b"%%EOF" in data else "truncated"
    elif not data:
        unusable = "empty"
    title = re.search(rb"Title: (.+)", data)
    facts = PatternFacts(
        media_type=job.media_type,
        is_pattern=kind,
        title=title[1].decode() if title else None,
        unusable=unusable,
        damaged=unusable is not None,
        text=data[:200].decode("latin-1"),
    )
    return FileReading(facts=facts, pdf=pdf)


class Counted:
    """The guarded reader, counting what it was asked."""

    def __init__(self) -> None:
        self.jobs: list[str] = []

    @contextmanager
    def files(self) -> Iterator[ReadFiles]:
        def read(jobs: Iterable[FileJob]) -> Iterator[FileReading]:
            for job in jobs:
                self.jobs.append(job.name)
                yield read_file(job)

        yield read


def derive(catalogue: Catalogue) -> None:
    """Each order number is a purchase; a file of the same title is what was bought."""
    with catalogue.transaction():
        orders: dict[str, Purchase] = {}
        for claim in catalogue.claims():
            number = claim.claim.order_number or "?"
            if number not in orders:
                orders[number] = Purchase(
                    id=f"p{claim.seq}",
                    seller_id=None,
                    seller="Thimblewick",
                    order_number=number,
                    purchased_on=None,
                    currency=None,
                    total=None,
                    items=tuple(Item(id=f"i{claim.seq}-{n}", title=i.title) for n, i in enumerate(claim.claim.items)),
                    evidence=(claim.evidence_sha256,),
                )
        catalogue.replace_joined(Joined(purchases=tuple(orders.values()), sellers=()))
        links = [
            Link(item_id=item.id, sha256=file.sha256, part=None, score=1.0)
            for purchase in orders.values()
            for item in purchase.items
            for file in catalogue.pattern_files()
            if file.facts.title == item.title and file.facts.is_pattern
        ]
        held = {k.item_id for k in links}
        standings = [
            Standing(item_id=i.id, state=ItemState.HELD if i.id in held else ItemState.MISSING)
            for p in orders.values()
            for i in p.items
        ]
        catalogue.replace_matches(MatchResult(links=tuple(links), questions=(), standings=tuple(standings)))
        catalogue.set_value("derived-stale", None)


_TELLING = (b"Order:", b"Closing:", b"Unclear:", b"Sale!", b"application/")


def readers(counted: Counted | None = None, version: str = "t1") -> Readers:
    return Readers(
        document=read_document,
        may_be_evidence=lambda raw: any(word in raw for word in _TELLING),
        files=(counted or Counted()).files,
        derive=derive,
        version=version,
    )


def mail(*lines: str, number: int = 1, attached: dict[str, bytes] | None = None) -> bytes:
    made = email.message.EmailMessage()
    made["From"] = "orders@thimblewick.example"
    made["To"] = "nora@wardrobe.example"
    made["Subject"] = f"Mail {number}"
    made["Date"] = "Sun, 1 Mar 2026 10:00:00 +0100"
    made["Message-ID"] = f"<{number}@thimblewick.example>"
    made.set_content("\n".join(lines) + "\n")
    for name, content in (attached or {}).items():
        made.add_attachment(content, maintype="application", subtype="octet-stream", filename=name)
    return made.as_bytes()


def pdf(*words: str) -> bytes:
    return b"%PDF-1.4\n" + "\n".join(words).encode() + b"\n%%EOF\n"


def put(root: Path, files: dict[str, bytes]) -> None:
    for name, content in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
