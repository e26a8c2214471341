"""The import with the program's own readers: a few inputs of each kind from end to end.

How well they read is tested where they live; here it is that each kind reaches its reader and that the guard guards.
"""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path

import pytest
import stand_ins

from vault.catalogue import Catalogue
from vault.intake.ingest import IngestSummary, StandardInput, ingest
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore

DAY = date(2026, 3, 3)
ORDER = {
    "@context": "https://schema.org",
    "@type": "Order",
    "seller": {"@type": "Organization", "name": "Thimblewick Patterns"},
    "orderNumber": "TW-1042",
    "orderDate": "2026-03-01",
    "priceCurrency": "EUR",
    "price": "9.50",
    "acceptedOffer": {
        "@type": "Offer",
        "itemOffered": {"@type": "Product", "name": "Bustle Skirt sewing pattern (PDF)"},
        "price": "9.50",
        "priceCurrency": "EUR",
        "eligibleQuantity": {"@type": "QuantitativeValue", "value": "1"},
    },
}
PAGE = f"""<!DOCTYPE html><html><head><title>Order TW-1042</title>
<script type="application/ld+json">{json.dumps(ORDER)}</script></head>
<body><h1>Thank you for your order!</h1><p>Order number: TW-1042</p>
<table><tr><td>Bustle Skirt sewing pattern (PDF)</td><td>1</td><td>€9.50</td></tr>
<tr><td>Total</td><td></td><td>€9.50</td></tr></table></body></html>"""
MAIL = f"""From: Thimblewick Patterns <orders@thimblewick.example>
To: Nora <nora@wardrobe.example>
Subject: Your order TW-1042
Date: Sun, 1 Mar 2026 10:00:00 +0100
Message-ID: <tw-1042@thimblewick.example>
MIME-Version: 1.0
Content-Type: text/html; charset=utf-8
Content-Transfer-Encoding: 8bit

{PAGE}
"""


def run(tmp_path: Path, *paths: Path | StandardInput) -> IngestSummary:
    return ingest(VaultFolder(tmp_path / "vault"), paths or [tmp_path / "in"], day=DAY)


def orders(tmp_path: Path) -> list[tuple[str | None, str | None, int]]:
    with Catalogue.open_read_only(tmp_path / "vault" / "catalogue.sqlite") as catalogue:
        return [(v.purchase.order_number, v.purchase.seller, len(v.evidence)) for v in catalogue.purchases()]


def test_a_mail_and_the_page_of_one_order_are_one_purchase_in_any_order(tmp_path: Path) -> None:
    mail, page = MAIL.encode(), PAGE.encode()
    found = []
    for name, first, second in (("a", mail, page), ("b", page, mail)):
        root = tmp_path / name
        for content in (first, second):
            stand_ins.put(root, {"in/one": content})
            run(root, root / "in")
        found.append(orders(root))
        assert run(root).documents == 0
    assert found == [[("TW-1042", "Thimblewick Patterns", 2)]] * 2


def test_standard_input(tmp_path: Path) -> None:
    assert run(tmp_path, StandardInput(MAIL.encode())).purchases_new == 1
    assert orders(tmp_path) == [("TW-1042", "Thimblewick Patterns", 1)]


def test_hostile_and_broken_files_cost_only_themselves(tmp_path: Path) -> None:
    whole = b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n2 0 obj<</Type/Pages/Kids[]/Count 0>>endobj\n"
    stand_ins.put(
        tmp_path / "in",
        {
            "a/empty.pdf": b"",
            "a/cut.pdf": whole,
            "a/page.pdf": b"<!DOCTYPE html><html><body>Your link has expired</body></html>",
            "a/noise.pdf": b"%PDF-1.7" + bytes(range(256)) * 50,
            "b/order.eml": MAIL.encode(),
            "b/headers.eml": b"".join(b"X-%d: y\n" % n for n in range(20_000)) + MAIL.encode(),
        },
    )
    summary = run(tmp_path)
    broken = {Path(p.source).name for p in summary.problems}
    assert {"empty.pdf", "cut.pdf", "page.pdf", "noise.pdf"} <= broken
    assert all(p.reason and p.next for p in summary.problems)
    assert summary.purchases_new == 1
    assert run(tmp_path).problems == summary.problems


@pytest.mark.parametrize("name", ["nothing.eml", "nothing.html", "nothing.csv", "nothing.txt"])
def test_what_speaks_of_no_purchase_leaves_only_a_digest(tmp_path: Path, name: str) -> None:
    letter = MAIL.split("\n\n", 1)[0].replace("Your order TW-1042", "Rehearsal").replace("html", "plain")
    contents = {
        "nothing.eml": letter + "\n\nDear Nora, the rehearsal is on Tuesday.\n",
        "nothing.html": "<html><body><p>The rehearsal is on Tuesday.</p></body></html>",
        "nothing.csv": "name,part\nNora,wardrobe\nIda,prompter\n",
        "nothing.txt": "The rehearsal is on Tuesday.\n",
    }
    stand_ins.put(tmp_path / "in", {name: contents[name].encode()})
    summary = run(tmp_path)
    assert (summary.documents, summary.files_new, summary.problems) == (0, 0, ())
    assert sum(n for _, n in summary.passed_over) == 1
    assert list(ObjectStore(VaultFolder(tmp_path / "vault")).digests()) == []
    assert b"Tuesday" not in (tmp_path / "vault" / "catalogue.sqlite").read_bytes()


def test_a_vault_is_where_it_is_moved_to(tmp_path: Path) -> None:
    stand_ins.put(tmp_path / "in", {"order.eml": MAIL.encode()})
    run(tmp_path)
    shutil.move(tmp_path / "vault", tmp_path / "moved")
    summary = ingest(VaultFolder(tmp_path / "moved"), [tmp_path / "in"], day=DAY)
    assert (summary.documents, summary.unchanged) == (0, 1)
