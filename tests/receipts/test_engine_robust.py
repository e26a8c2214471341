"""Whatever the bytes: a reading, soon, and never an exception."""

from __future__ import annotations

import random
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.receipts.engine_mails import raw_mail
from vault.model.evidence import DocumentReading, EvidenceKind
from vault.receipts.downloads import read_terms
from vault.receipts.plain import read_plain
from vault.receipts.prose import bought
from vault.receipts.read import read
from vault.receipts.view import view_of

DOCUMENTS = Path(__file__).parents[2] / "fixtures" / "receipts" / "documents"
KINDS = [EvidenceKind.MAIL, EvidenceKind.PAGE, EvidenceKind.TEXT, EvidenceKind.CSV, EvidenceKind.SHEET]

# Pieces that the rules look at, thrown together.
PIECES = st.sampled_from(
    [
        "Thank you for your order!", "Order number:", "1042", "£6.00", "1.234,50 €", "Total", "Subtotal:", "2 x", "-", "\n",
        "\n\n", "\t", "<table>", "<tr>", "<td>", "</td>", "</table>", "<a href='https://a.example/d/1'>", "</a>", "Download",
        "<div style='display:flex'>", "</div>", "Item", "Qty", "Price", "Cloche Hat pattern", "refunded £3.00", "3 June 2024",
        "03/04/2024", "by Effie Plume", "Sold by:", "https://a.example/x.pdf", "合計", "1,200円", "Bestellnummer", "|", "....",
        "<del>", "<!--", "&nbsp;", "\u202f", "\x00", "\ufeff", "(", ")", "“", "”", "{", "}", "#", "%", "\u2028",
    ]
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=3000), st.sampled_from(KINDS))
def test_any_bytes_end_in_a_reading(raw: bytes, kind: EvidenceKind) -> None:
    assert isinstance(read(kind, raw, name="x"), DocumentReading)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(PIECES, max_size=60), st.sampled_from([EvidenceKind.PAGE, EvidenceKind.TEXT]), st.sampled_from([" ", ""])
)
def test_any_heap_of_pieces_ends_in_a_reading(pieces: list[str], kind: EvidenceKind, joint: str) -> None:
    found = read(kind, joint.join(pieces).encode(), name="x")
    for one in found.claims:
        assert one.total is None or one.total.is_finite()
        assert all(i.title.strip() and (i.quantity is None or i.quantity > 0) for i in one.items)


@pytest.mark.parametrize("path", sorted(DOCUMENTS.glob("*.eml"))[::6], ids=lambda p: p.name)
def test_a_damaged_mail_ends_in_a_reading(path: Path) -> None:
    raw = path.read_bytes()
    chance = random.Random(path.name)
    for _ in range(6):
        cut = raw[: chance.randrange(len(raw))]
        spoilt = bytearray(raw)
        for _ in range(40):
            spoilt[chance.randrange(len(spoilt))] = chance.randrange(256)
        for broken in (cut, bytes(spoilt)):
            assert isinstance(read(EvidenceKind.MAIL, broken), DocumentReading)


@pytest.mark.parametrize("path", sorted(DOCUMENTS.glob("*.eml"))[::9], ids=lambda p: p.name)
def test_the_same_mail_is_read_the_same_way_twice(path: Path) -> None:
    assert read(EvidenceKind.MAIL, path.read_bytes()) == read(EvidenceKind.MAIL, path.read_bytes())


LONG = [
    "a" * 400_000,
    " " * 400_000,
    "1" * 400_000,
    "1." * 200_000,
    "1 x " * 100_000,
    "£6.00 " * 60_000,
    "Total: " * 60_000,
    "Order number: 1 " * 25_000,
    "you bought " * 40_000,
    "you bought a for " * 25_000,
    "https://a.example/ " * 20_000,
    "www." * 100_000,
    "(((" * 100_000,
    "- " * 200_000,
    "3 June 2024 " * 30_000,
    "合計" * 100_000,
    "“" * 300_000,
    "a@" * 150_000,
]


@pytest.mark.parametrize("text", LONG, ids=lambda t: t[:12])
@pytest.mark.parametrize("broken", [False, True], ids=["one line", "lines"])
def test_long_texts_come_to_an_end(text: str, broken: bool) -> None:
    if broken:
        text = "\n".join(text[n : n + 90] for n in range(0, len(text), 90))
    start = time.process_time()
    read(EvidenceKind.TEXT, text.encode())
    assert time.process_time() - start < 20


def test_a_page_of_many_rows_stays_bounded() -> None:
    rows = "".join(f"<tr><td>Pattern {n}</td><td>1</td><td>£6.00</td></tr>" for n in range(3000))
    html = f"<p>Thank you for your order!</p><p>Order number: 1</p><table>{rows}</table>"
    start = time.process_time()
    (one,) = read(EvidenceKind.PAGE, html.encode()).claims
    assert time.process_time() - start < 20
    assert len(one.items) <= 3000


def test_templates_do_not_run_away() -> None:
    view = view_of(read_plain("you bought " + "X y " * 200 + "for £6.00. " + "Valid until " * 200), "en")
    start = time.process_time()
    list(bought(view, 0, len(view.lines)))
    read_terms(view, 0, len(view.lines))
    assert time.process_time() - start < 2


def test_a_mail_that_quotes_itself_is_read_once() -> None:
    body = "Thank you for your order!\n\nOrder number: 1042\n\nCloche Hat pattern  £6.00\nTotal  £6.00\n"
    quoted = "\n".join("> " + line for line in body.splitlines())
    raw = raw_mail(f"Thanks!\n\n{quoted}", subject="Re: Your order 1042")
    assert len({c.order_number for c in read(EvidenceKind.MAIL, raw).claims}) <= 1
