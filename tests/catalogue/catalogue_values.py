"""Invented values of the wardrobe volunteers of a small theatre, shared by the catalogue's tests."""

from __future__ import annotations

import hashlib
from datetime import date
from decimal import Decimal

from vault.model.evidence import (
    DocumentKind,
    DocumentReading,
    DownloadLink,
    EvidenceKind,
    FieldSource,
    ItemClaim,
    PurchaseClaim,
    SellerNotice,
)
from vault.model.match import Candidate, Link, MatchResult, Question, Reason, Standing
from vault.model.pattern import PatternFacts, PatternFile, Sheet, Sighting
from vault.model.purchase import Item, ItemState, Joined, JoinedSource, Purchase, Seller


def digest(name: str) -> str:
    return hashlib.sha256(name.encode()).hexdigest()


MAIL, PAGE = digest("mail"), digest("page")
SKIRT_PDF, ZIP, SOCKS_PDF = digest("skirt.pdf"), digest("order.zip"), digest("socks.pdf")

LINK = DownloadLink(
    url="https://thimblewick.example/d/1?t=abc", label="A4", expires_on=date(2026, 12, 1), downloads_left=3
)
CLAIM = PurchaseClaim(
    document=DocumentKind.ORDER,
    seller="Thimblewick Patterns",
    seller_domain="thimblewick.example",
    order_number="TW-1042",
    purchased_on=date(2026, 3, 1),
    currency="EUR",
    total=Decimal("18.50"),
    items=(
        ItemClaim(title="Bustle Skirt", amount=Decimal("9.50"), promised=("A4", "A0"), links=(LINK,), digital=True),
        ItemClaim(title="Prompter's Socks", amount=Decimal("9.00"), craft_pattern=True),
    ),
    sources=(FieldSource(field="total", words="Total: €18.50", how="label beside value"),),
)
READING = DocumentReading(
    kind=EvidenceKind.MAIL,
    document=DocumentKind.ORDER,
    language="en",
    subject="Your order TW-1042",
    message_id="tw-1042@thimblewick.example",
    dated=date(2026, 3, 1),
    claims=(CLAIM,),
    notices=(SellerNotice(seller="Thimblewick Patterns", status="closing", on=date(2026, 12, 31), words="we close"),),
    text="Thank you for your order. Bustle Skirt, Prompter's Socks.",
)
SKIRT = Item(id="i1", title="Bustle Skirt", amount=Decimal("9.50"), promised=("A4", "A0"), links=(LINK,), digital=True)
SOCKS = Item(id="i2", title="Prompter's Socks", designer="Ida Fenn", amount=Decimal("9.00"))
PURCHASE = Purchase(
    id="p1",
    seller_id="s1",
    seller="Thimblewick Patterns",
    order_number="TW-1042",
    purchased_on=date(2026, 3, 1),
    currency="EUR",
    total=Decimal("18.50"),
    items=(SKIRT, SOCKS),
    evidence=(MAIL,),
    sources=(JoinedSource(evidence_sha256=MAIL, source=CLAIM.sources[0]),),
)
SELLER = Seller(
    id="s1", name="Thimblewick Patterns", also_known_as=("Thimblewick",), status="closing", closes_on=date(2026, 12, 31)
)
JOINED = Joined(purchases=(PURCHASE,), sellers=(SELLER,))
SKIRT_FILE = PatternFile(
    sha256=SKIRT_PDF,
    n_bytes=1234,
    facts=PatternFacts(
        media_type="application/pdf",
        is_pattern=True,
        craft="sewing",
        title="Bustle Skirt",
        sheets=(Sheet(paper="A4", width_mm=210.0, height_mm=297.0, pages=12, use="tiled"),),
        metadata={"Title": "Bustle Skirt", "Author": "Möhrchen"},
        text="Cut 2 on fold. Crinoline optional.",
    ),
    sightings=(
        Sighting(path="/home/nora/Downloads/skirt.pdf", modified="2026-03-02T10:00:00Z", seen_on=date(2026, 3, 3)),
    ),
)
ZIP_FILE = PatternFile(
    sha256=ZIP,
    n_bytes=9000,
    facts=PatternFacts(media_type="application/zip"),
    sightings=(Sighting(path="/home/nora/Downloads/order.zip"),),
    members=(SOCKS_PDF,),
)
SOCKS_FILE = PatternFile(
    sha256=SOCKS_PDF,
    n_bytes=700,
    facts=PatternFacts(media_type="application/pdf", is_pattern=True, title="Prompter's Socks", craft="knitting"),
    sightings=(Sighting(path="/home/nora/Downloads/order.zip", inside="pdf/socks.pdf", zip_sha256=ZIP),),
)
REASON = Reason(name="title", words="the title is the same", weight=4.0)
MATCHES = MatchResult(
    links=(Link(item_id="i1", sha256=SKIRT_PDF, part="A4", score=0.98, reasons=(REASON,)),),
    questions=(
        Question(id="q1", item_id="i2", candidates=(Candidate(sha256=SOCKS_PDF, score=0.6, reasons=(REASON,)),)),
    ),
    standings=(
        Standing(item_id="i1", state=ItemState.PARTIAL, lacking=("A0",), why=("no file for A0",)),
        Standing(item_id="i2", state=ItemState.MISSING),
    ),
)
