"""What is left out of a receipt, and the papers that are made of it."""

from __future__ import annotations

import email
import email.policy
import io
import time
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from tests.claims.letters import HOSTILE
from vault.claims.paper import Sheet, as_pdf
from vault.claims.phrases import phrases
from vault.claims.proof import Receipt, prove
from vault.claims.redact import Hide, Subject, found_in, redact
from vault.model.evidence import EvidenceKind

SUBJECT = Subject(
    orders=("TW-1042",), titles=("Gull Wing Capelet",), buyer="Nora Lantern", others=("Fog Horn Greatcoat",)
)
RECEIPT = (
    "Order number: TW-1042",
    "Order date: 1 March 2026",
    "Gull Wing Capelet PDF 7.50 GBP",
    "Fog Horn Greatcoat PDF 14.00 GBP",
    "Total: 21.50 GBP",
    "Billing address",
    "Nora Lantern",
    "14 Larch Row",
    "Hexley",
    "HX4 2QT",
    "United Kingdom",
    "Payment method: Card ending in 4417",
    "Thank you for your order!",
)
STAYS = {
    "Order number: TW-1042",
    "Order date: 1 March 2026",
    "Gull Wing Capelet PDF 7.50 GBP",
    "Total: 21.50 GBP",
    "Nora Lantern",
}


@pytest.mark.parametrize(
    ("hide", "gone"),
    [
        (Hide.ADDRESS, ("Larch", "Hexley", "HX4")),
        (Hide.PAYMENT, ("4417",)),
        (Hide.OTHERS, ("Fog Horn", "14.00")),
    ],
)
def test_what_was_chosen_goes_and_what_proves_the_purchase_stays(hide: Hide, gone: tuple[str, ...]) -> None:
    made = redact(RECEIPT, frozenset([hide]), SUBJECT, "en", "[left out]")
    text = "\n".join(made.lines)
    assert not [word for word in gone if word in text]
    assert set(made.lines) >= STAYS
    assert made.counts[hide] > 0
    assert "Thank you for your order!" in made.lines
    assert all(
        word in text for h, words in (("4417", Hide.PAYMENT), ("Larch", Hide.ADDRESS)) for word in [h] if words != hide
    )


def test_nothing_chosen_changes_nothing_and_all_is_found() -> None:
    assert redact(RECEIPT, frozenset(), SUBJECT, "en").lines == RECEIPT
    assert found_in(RECEIPT, SUBJECT, "en") == frozenset(Hide)
    assert found_in(RECEIPT[:3], SUBJECT, "en") == frozenset()


def test_a_longer_name_that_holds_the_shorter_one_is_another_thing() -> None:
    subject = Subject(titles=("Gull Wing Capelet",), others=("Gull Wing Capelet for dolls",))
    lines = ["Gull Wing Capelet 7.50 GBP", "Gull Wing Capelet for dolls 3.00 GBP"]
    made = redact(lines, frozenset([Hide.OTHERS]), subject, "en", "[left out]")
    assert made.lines == (lines[0], "[left out]")


# ISO/IEC 7812-1 (Luhn: the test number of its annex is 4992 73 9871 6), ISO 13616 (IBAN: GB82 WEST ... of its examples).
PAYMENT = {
    "Carte •• 4242": True,
    "Kreditkarte (…4417)": True,
    "Karte endet auf 4417": True,
    "Tarjeta terminada en 4417": True,
    "Kort som slutar på 4417": True,
    "カード末尾 4417": True,
    "IBAN: GB82 WEST 1234 5698 7654 32": True,
    "IBAN: GB82 WEST 1234 5698 7654 33": False,
    "4111 1111 1111 1111": True,
    "4111 1111 1111 1112": False,
    "Paid with thanks, bank transfer 17 May 2025": False,
    "Order number: TW-1042": False,
    "Total 1234.50": False,
    "Downloads left: 4417": False,
}


@pytest.mark.parametrize("line", PAYMENT)
def test_digits_of_cards_and_accounts_are_told_by_their_form(line: str) -> None:
    made = redact([line], frozenset([Hide.PAYMENT]), SUBJECT, None)
    assert (made.lines != (line,)) == PAYMENT[line]


def test_an_order_number_that_looks_like_a_card_stays() -> None:
    subject = Subject(orders=("4111111111111111",))
    line = "Order 4111111111111111"
    assert redact([line], frozenset(Hide), subject, "en").lines == (line,)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.text(max_size=80), max_size=25), st.sampled_from([None, "en", "de", "ja"]))
def test_no_text_breaks_the_redaction(lines: list[str], language: str | None) -> None:
    made = redact(lines, frozenset(Hide), SUBJECT, language)
    assert len(made.lines) <= len(lines)
    assert all(SUBJECT.others[0] not in line for line in made.lines)


@pytest.mark.parametrize("text", ["a" * 1_000_000, "4" * 1_000_000, "* " * 500_000, "GB82 " * 200_000])
def test_a_megabyte_is_redacted_quickly(text: str) -> None:
    begun = time.process_time()
    redact([text], frozenset([Hide.PAYMENT]), SUBJECT, "en")
    assert time.process_time() - begun < 10


def _text(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def test_a_paper_holds_latin_polish_and_japanese_and_nothing_is_markup() -> None:
    lines = ("Zażółć gęślą jaźń", "Größe 38, 1234,50 €", "注文番号：TW-1042", "<b>bold</b> &amp; <para>")
    made = as_pdf(Sheet(title="Order", lines=lines, foot="Copy"))
    assert made == as_pdf(Sheet(title="Order", lines=lines, foot="Copy"))
    text = _text(made)
    for words in ("Zażółć gęślą jaźń", "Größe 38, 1234,50 €", "<b>bold</b> &amp; <para>"):
        assert words in text


def test_japanese_can_be_read_again_by_a_second_reader() -> None:
    import pypdfium2

    made = as_pdf(Sheet(title="注文", lines=("ご注文番号 TW-1042、合計 1,400円",)))
    assert "ご注文番号TW-1042、合計1,400円" in "".join(_text(made).split())
    document = pypdfium2.PdfDocument(made)
    try:
        # the last sign is read only where the system has a Japanese font
        assert "ご注文番号 TW-1042、合計 1,400" in document[0].get_textpage().get_text_range()
    finally:
        document.close()


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_lines_become_a_paper_of_ordinary_pages(words: str) -> None:
    reader = PdfReader(io.BytesIO(as_pdf(Sheet(title=words, lines=(words, "after"), foot=words))))
    assert 1 <= len(reader.pages) <= 3
    assert all(round(float(page.mediabox.width)) == 595 for page in reader.pages)
    assert "after" in "".join(page.extract_text() for page in reader.pages)


def test_a_huge_receipt_is_bounded() -> None:
    begun = time.process_time()
    made = as_pdf(Sheet(title="t", lines=("word " * 2000,) * 300))
    assert len(PdfReader(io.BytesIO(made)).pages) < 400
    assert time.process_time() - begun < 20


MAIL = (
    b"From: Thimblewick <orders@thimblewick.example>\r\nTo: nora@wardrobe.example\r\nSubject: Order\r\n TW-1042\r\n"
    b"Date: Sun, 01 Mar 2026 10:00:00 +0100\r\nMessage-ID: <1@thimblewick.example>\r\n\r\nOrder number: TW-1042\r\n"
)


def _receipt(kind: EvidenceKind, content: bytes = MAIL) -> Receipt:
    return Receipt(
        sha256="ab" * 32,
        kind=kind,
        content=content,
        lines=RECEIPT,
        subject=SUBJECT,
        title="Order TW-1042",
        dated=date(2026, 3, 1),
        order_number="TW/../1042",
        language="en",
    )


def test_each_kind_goes_as_kept_and_as_a_paper() -> None:
    kinds = (EvidenceKind.MAIL, EvidenceKind.PAGE, EvidenceKind.PDF, EvidenceKind.CSV, EvidenceKind.RECORDED)
    made = prove([_receipt(k) for k in kinds], phrases("en"))
    assert [f.name for f in made.files] == [
        "01-2026-03-01-TW-1042.eml",
        "01-2026-03-01-TW-1042.pdf",
        "02-2026-03-01-TW-1042.html",
        "02-2026-03-01-TW-1042.pdf",
        "03-2026-03-01-TW-1042.pdf",
        "04-2026-03-01-TW-1042.csv",
        "04-2026-03-01-TW-1042.pdf",
    ]
    assert made.files[0].content == MAIL
    assert "From: Thimblewick <orders@thimblewick.example>" in _text(made.files[1].content)


@pytest.mark.parametrize("language", ["en", "ja", "pl"])
def test_a_redacted_mail_is_a_plain_one_that_says_so(language: str) -> None:
    words = phrases(language)
    made = prove([_receipt(EvidenceKind.MAIL)], words, frozenset(Hide))
    assert made.left_out == {Hide.ADDRESS: 4, Hide.OTHERS: 1, Hide.PAYMENT: 1}
    mail = email.message_from_bytes(made.files[0].content, policy=email.policy.default)
    body = mail.get_content()
    assert mail["Subject"] == "Order TW-1042"
    assert mail["X-Redacted-Copy-Of"].strip() == "sha256:" + "ab" * 32
    assert words["redacted"] in body
    assert "Larch" not in body
    assert words["left_out"] in body
    assert not any(MAIL in f.content for f in made.files)


@pytest.mark.parametrize(
    "head",
    [
        b"From: x\r\nSubject: a\r\nBcc: evil@x.example\r\n\r\n",
        b"From: =?utf-8?q?a=0d=0aBcc:_evil@x.example?= <a@b.example>\r\nSubject: =?utf-8?b?Cg1CY2M6IGV2aWw=?=\r\n\r\n",
        b"\xff\xfe\x00 no mail at all",
        b"",
        b'From: "unclosed <a@b\r\nTo: ,,,;;;<>\r\nDate: never\r\nMessage-ID: <<>>\r\n\r\nx',
    ],
)
def test_a_hostile_head_adds_no_header(head: bytes) -> None:
    made = prove([_receipt(EvidenceKind.MAIL, head)], phrases("en"), frozenset([Hide.PAYMENT]))
    mail = email.message_from_bytes(made.files[0].content, policy=email.policy.default)
    assert {k.lower().removeprefix("x-original-") for k in mail} <= {
        "from", "to", "date", "subject", "message-id", "x-redacted-copy-of", "content-type",
        "content-transfer-encoding", "mime-version",
    }  # fmt: skip
    assert "Order number: TW-1042" in mail.get_content()
