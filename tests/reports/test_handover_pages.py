"""The written part of a handover: tables that cannot run, a page that loads nothing and escapes what strangers wrote."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from decimal import Decimal

import pytest

from vault.model.event import Event
from vault.model.match import EvidenceView, FileView, ItemView, Link, PurchaseView, Standing
from vault.model.pattern import LicenceTerms, PatternFacts, PatternFile, Quote, Sighting
from vault.model.purchase import Item, ItemState, Purchase
from vault.reports.handover import PAGE, HandoverContent, read_me, texts
from vault.reports.table_text import csv_bytes, guarded

HOSTILE = '<script>alert(1)</script> =HYPERLINK("http://x.example")'


@pytest.mark.parametrize(
    "cell, shown",
    [
        # OWASP, CSV injection: cells beginning with = + - @ tab or carriage return
        ("=1+1", "'=1+1"),
        ("+1", "'+1"),
        ("-sum", "'-sum"),
        ("@x", "'@x"),
        ("\t=1", "'=1"),
        ("\r=1", "'=1"),
        ("＝1", "'＝1"),
        ("-3.50", "-3.50"),
        ("-3,50", "-3,50"),
        (Decimal("-12.00"), "-12.00"),
        (None, ""),
        (7, "7"),
        ("two\nlines", "two lines"),
        ("a\u202ebc", "abc"),
        ("Größe 38", "Größe 38"),
    ],
)
def test_a_cell_never_begins_a_formula(cell: object, shown: str) -> None:
    assert guarded(cell) == shown


def test_a_table_comes_back() -> None:
    raw = csv_bytes(("a", "b"), [('say "x", now', None), ("=x", -1)])
    assert raw.startswith(b"\xef\xbb\xbf") and raw.endswith(b"\r\n")
    rows = list(csv.reader(io.StringIO(raw.decode("utf-8-sig"))))
    assert rows == [["a", "b"], ['say "x", now', ""], ["'=x", "-1"]]


def content() -> HandoverContent:
    item = Item(id="i1", title=HOSTILE, designer="Lark & Thimble", amount=Decimal("9.00"))
    lost = Item(id="i2", title="Top Hat", designer="Lark & Thimble")
    purchase = Purchase(
        id="p1",
        seller_id="s1",
        seller="Thimblewick",
        order_number="TW-7",
        purchased_on=date(2026, 3, 1),
        currency="EUR",
        total=Decimal("9.00"),
        items=(item, lost),
        evidence=("e" * 64,),
    )
    terms = LicenceTerms(
        personal_use=True, sell_finished="limited", limit=10, quotes=(Quote(text="Up to 10 <b>pieces</b>.", page=2),)
    )
    file = PatternFile(
        sha256="f" * 64,
        n_bytes=12,
        facts=PatternFacts(media_type="application/pdf", title="Cloak", designer="Lark & Thimble", licence=terms),
        sightings=(Sighting(path="/home/ada/cloak.pdf"),),
    )
    view = PurchaseView(
        purchase=purchase,
        items=(
            ItemView(
                item=item,
                standing=Standing(item_id="i1", state=ItemState.HELD),
                links=(Link(item_id="i1", sha256="f" * 64, part=None, score=0.9),),
            ),
            ItemView(item=lost, standing=Standing(item_id="i2", state=ItemState.MISSING)),
        ),
        evidence=(EvidenceView(sha256="e" * 64, kind="mail", message_id=None, source="a.mbox#1"),),
    )
    return HandoverContent(
        purchases=[view],
        files=[FileView(file=file, item_ids=("i1",))],
        sellers=[],
        events=[Event(at="2026-03-07T09:15:00Z", kind="verify", outcome="done", seq=1)],
        places={"f" * 64: "patterns/Lark & Thimble/Cloak/a #1.pdf", "e" * 64: "receipts/2026 Thimblewick.eml"},
        lacking={},
        day=date(2026, 3, 7),
    )


def test_the_page_links_to_what_is_beside_it_and_loads_nothing() -> None:
    page = texts(content())[PAGE].decode()
    assert 'href="patterns/Lark%20%26%20Thimble/Cloak/a%20%231.pdf"' in page
    assert 'href="receipts/2026%20Thimblewick.eml"' in page
    assert "<script" not in page and "&lt;script&gt;" in page and "Up to 10 &lt;b&gt;pieces" in page
    assert "default-src 'none'" in page and "src=" not in page and "url(" not in page
    assert "No file is here (not held)" in page


def test_the_lists_say_where_everything_lies() -> None:
    made = texts(content())
    files = json.loads(made["catalogue/files.json"])
    assert files["places"]["f" * 64] == "patterns/Lark & Thimble/Cloak/a #1.pdf"
    rows = list(csv.DictReader(io.StringIO(made["catalogue/purchases.csv"].decode("utf-8-sig"))))
    assert [(r["title"][:8], r["state"], r["files"]) for r in rows] == [
        ("<script>", "held", "patterns/Lark & Thimble/Cloak/a #1.pdf"),
        ("Top Hat", "missing", ""),
    ]
    event = json.loads(made["catalogue/events.json"])["events"][0]
    assert (event["event_type"], event["result"]) == ("fixity check", "success")
    licence = made["licences/Lark & Thimble/Cloak/a #1.pdf.txt"].decode()
    assert "Up to 10 <b>pieces</b>." in licence and "selling finished pieces: in small numbers, up to 10" in licence


def test_what_is_lacking_is_said_and_not_linked() -> None:
    from dataclasses import replace

    page = texts(replace(content(), lacking={"f" * 64: "its bytes have changed"}))[PAGE].decode()
    assert "not here: its bytes have changed" in page and 'href="patterns' not in page


def test_the_first_words_say_how_to_begin() -> None:
    words = read_me(content()).decode()
    assert f"data/{PAGE}" in words and "sha256sum -c manifest-sha256.txt" in words
