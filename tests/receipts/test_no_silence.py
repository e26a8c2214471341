"""What looks like a purchase and could not be read is a problem with a next step, whatever kind of document it is."""

from __future__ import annotations

import io

import pytest
from openpyxl import Workbook

from vault.model.evidence import EvidenceKind
from vault.model.pdf import PageReading, PdfReading, TextRun
from vault.receipts.likely import may_be_evidence
from vault.receipts.read import read

HEAD = b"From: Larch & Loom <shop@larchloom.example>\nDate: Mon, 4 Mar 2024 10:00:00 +0100\nSubject: "
THANKS = "Order confirmation\n\nThank you for your order!\nOrder number: 20417\n\nWe have received your order.\n"


def workbook(*rows: tuple[object, ...]) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


DOCUMENTS = [
    (EvidenceKind.MAIL, HEAD + b"Order confirmation 20417\n\n" + THANKS.encode()),
    (EvidenceKind.MAIL, HEAD + b"Your order confirmation\nContent-Type: text/html\n\n<h1>Thank you for your order</h1><img src='order.png'>"),
    (EvidenceKind.MAIL, HEAD + "Deine Bestellung\nContent-Type: text/plain; charset=utf-8\n\nVielen Dank für deine Bestellung!\nBestellnummer: 20417\n".encode()),
    (EvidenceKind.PAGE, b"<html><head><title>Order confirmation</title></head><body><h1>Thank you for your order</h1><p>Order number: 20417</p><div id='app'></div></body></html>"),
    (EvidenceKind.TEXT, THANKS.encode()),
    (EvidenceKind.CSV, b"Order number,Order date,Shop,Total\n1042,2024-03-01,Larch,7.00\n1043,2024-03-02,Larch,8.00\n"),
    (EvidenceKind.CSV, b"Bestellnummer;Bestelldatum;Gesamtsumme\n1042;01.03.2024;7,00\n"),
    (EvidenceKind.SHEET, workbook(("Order number", "Order date", "Total"), ("A-1042", "2024-03-01", 7.0))),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "raw"), DOCUMENTS)
def test_a_purchase_that_cannot_be_read_is_told(kind: EvidenceKind, raw: bytes) -> None:
    reading = read(kind, raw, name="the document")
    assert reading.claims == ()
    (problem,) = reading.problems
    assert problem.source in ("the document", reading.subject)
    assert problem.reason
    assert "pinfold record" in (problem.next or "")
    assert kind is not EvidenceKind.MAIL or may_be_evidence(raw)


def test_a_pdf_that_cannot_be_read_is_told() -> None:
    runs = [
        TextRun(text=line, x=20, y=20 + 8 * n, width=60, height=4, size_pt=11)
        for n, line in enumerate(filter(None, THANKS.split("\n")))
    ]
    pdf = PdfReading(
        n_pages=1, pages=(PageReading(number=1, label=None, width_mm=210, height_mm=297, runs=tuple(runs)),)
    )
    reading = read(EvidenceKind.PDF, b"%PDF-1.7", name="order.pdf", pdf=pdf)
    assert reading.claims == ()
    (problem,) = reading.problems
    assert "pinfold record" in (problem.next or "")


@pytest.mark.parametrize(
    ("kind", "raw"),
    [
        (EvidenceKind.CSV, b"Order,Name,Date\n1,Ada,2024-03-01\n2,Ida,2024-03-02\n"),
        (EvidenceKind.CSV, b"Date,Description,Debit,Balance\n2024-03-01,LARCH LOOM,7.00,93.00\n"),
        (
            EvidenceKind.CSV,
            b"Order number,Order date,Item,Total,Status\n1,2024-03-01,Linnet Hat (PDF),7.00,cancelled\n",
        ),
        (EvidenceKind.CSV, b"Order number,Order date,Total\n"),
        (EvidenceKind.TEXT, b"Bring the order of the scenes and the downloads of the script on Thursday.\n"),
        (EvidenceKind.MAIL, HEAD + b"Thursday\n\nShall we order tea? I have the receipt for the cloth.\n"),
        (EvidenceKind.PAGE, b"<html><head><title>Larch & Loom</title></head><body><h1>New patterns</h1></body></html>"),
    ],
)
def test_what_does_not_look_like_one_is_passed_over_in_silence(kind: EvidenceKind, raw: bytes) -> None:
    reading = read(kind, raw, name="x")
    assert (reading.problems, reading.notices) == ((), ())
    assert all(claim.cancelled for claim in reading.claims)
