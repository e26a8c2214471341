"""Whatever text lies wherever on the pages of a PDF: a reading, and a purchase only with something bought."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.evidence import EvidenceKind
from vault.model.pdf import PageReading, PdfReading, TextRun
from vault.receipts.read import read

PIECES = [
    *("Invoice", "Order number:", "20417", "Order number: 20417", "Total", "7.00 EUR", "€ 7,00", "1 x", "2024-03-04"),
    *("Linnet Hat (PDF)", "Item", "Price", "Larch & Loom", "Thank you for your order!", "", " ", "\u00a0", "\x00", "—"),
    *(
        "Rechnung",
        "Bestellnummer",
        "合計",
        "￥700",
        "ご注文番号",
        "https://larch.example/d/1",
        "-7.00",
        "19 %",
        "99999999999999",
    ),
]
NUMBERS = st.one_of(st.floats(-50, 1_300, allow_nan=False), st.sampled_from([0.0, 20.0, 20.1, 1e6, -1e6]))
RUNS = st.builds(
    TextRun,
    text=st.one_of(st.sampled_from(PIECES), st.text(max_size=12)),
    x=NUMBERS,
    y=NUMBERS,
    width=NUMBERS,
    height=st.floats(0, 40, allow_nan=False),
    size_pt=st.floats(0, 60, allow_nan=False),
    bold=st.booleans(),
)
PAGES = st.builds(
    PageReading,
    number=st.integers(1, 3),
    label=st.none(),
    width_mm=st.sampled_from([210.0, 841.0, 0.0]),
    height_mm=st.sampled_from([297.0, 1189.0]),
    runs=st.lists(RUNS, max_size=30).map(tuple),
    links=st.lists(st.sampled_from(["https://larch.example/d/1", "javascript:alert(1)", ""]), max_size=3).map(tuple),
)


@settings(deadline=None, max_examples=50)
@given(st.lists(PAGES, max_size=3).map(tuple))
def test_any_pages_end_in_a_reading(pages: tuple[PageReading, ...]) -> None:
    reading = read(EvidenceKind.PDF, b"%PDF-1.7", name="x.pdf", pdf=PdfReading(n_pages=len(pages), pages=pages))
    assert reading == read(EvidenceKind.PDF, b"%PDF-1.7", name="x.pdf", pdf=PdfReading(n_pages=len(pages), pages=pages))
    assert not (reading.claims and reading.problems)
    for claim in reading.claims:
        assert claim.items or claim.order_number or claim.payment_number or claim.links or claim.total is not None
