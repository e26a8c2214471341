"""An order that a friend, or her own other account, passed on: read as the shop's, in whatever wording and wrapping."""

from __future__ import annotations

from datetime import date
from email.message import EmailMessage

import pytest

from tests.receipts.test_mime import FORWARDS
from vault.model.evidence import EvidenceKind, PurchaseClaim
from vault.receipts.likely import may_be_evidence
from vault.receipts.read import read
from vault.receipts.words import languages

SHOP = "Larch & Loom <orders@larchloom.example>"
LAST_OF_EACH = dict(FORWARDS)


def order(language: str) -> tuple[str, str]:
    """Subject and text of an order in the words of a language."""
    table = languages()[language].table
    signs, labels = table["signs"], table["labels"]
    thanks = signs["order"][0]
    text = f"{thanks}!\n\n{labels['order_number'][0]}: LL-20417\n\nLinnet Hat (PDF)    1    7.50 EUR\n\n{labels['total'][0]}: 7.50 EUR\n\nLarch & Loom\n"
    return thanks, text


def mail(subject: str, text: str, sender: str = "Ada Winters <ada@post.example>", day: int = 9) -> EmailMessage:
    out = EmailMessage()
    out["From"], out["To"], out["Subject"] = sender, "nora@post.example", subject
    out["Date"] = f"{day} Dec 2019 10:00:00 +0100"
    out.set_content(text)
    return out


def claim_of(raw: bytes) -> PurchaseClaim:
    assert may_be_evidence(raw)
    (claim,) = read(EvidenceKind.MAIL, raw).claims
    assert (claim.order_number, str(claim.total), claim.currency) == ("LL-20417", "7.50", "EUR")
    assert (claim.seller, claim.seller_domain) == ("Larch & Loom", "larchloom.example")
    assert [item.title for item in claim.items] == ["Linnet Hat (PDF)"]
    return claim


@pytest.mark.parametrize("language", sorted(LAST_OF_EACH))
def test_forwarded_in_the_text(language: str) -> None:
    subject, text = order(language)
    once = LAST_OF_EACH[language].format(f=SHOP, s=subject, b=text)
    assert claim_of(mail(f"Fwd: {subject}", once).as_bytes()).purchased_on == date(2019, 11, 29)
    twice = FORWARDS[0][1].format(f="Ada <ada@post.example>", s=f"Fwd: {subject}", b=f"look\n\n{once}")
    assert claim_of(mail(f"Fwd: Fwd: {subject}", twice).as_bytes()).purchased_on == date(2019, 11, 29)


@pytest.mark.parametrize("language", sorted(LAST_OF_EACH))
def test_forwarded_as_an_attachment(language: str) -> None:
    subject, text = order(language)
    inner = mail(subject, text, SHOP, day=2)
    middle = mail(f"Fwd: {subject}", "see below\n")
    middle.add_attachment(inner)
    assert claim_of(middle.as_bytes()).purchased_on == date(2019, 12, 2)
    outer = mail(f"Fwd: Fwd: {subject}", "for you\n", "Ida <ida@post.example>")
    outer.add_attachment(middle)
    assert claim_of(outer.as_bytes()).purchased_on == date(2019, 12, 2)
    as_file = mail("the order", "here\n")
    as_file.add_attachment(inner.as_bytes(), maintype="application", subtype="octet-stream", filename="order.eml")
    assert claim_of(as_file.as_bytes()).purchased_on == date(2019, 12, 2)


@pytest.mark.parametrize(
    ("language", "charset", "label"),
    [
        ("ja", "iso-2022-jp", "iso-2022-jp"),
        ("ja", "iso-2022-jp", None),
        ("ja", "iso-2022-jp", "utf-8"),
        ("ja", "shift_jis", "shift_jis"),
        ("ja", "shift_jis", None),
        ("ja", "shift_jis", "iso-8859-1"),
        ("ja", "euc_jp", None),
        ("de", "cp1252", None),
        ("de", "cp1252", "utf-8"),
        ("de", "utf-8", "iso-8859-1"),
        ("fr", "cp1252", "us-ascii"),
        ("pl", "cp1250", "windows-1250"),
        ("pl", "cp1250", None),
        ("pl", "iso8859_2", "iso-8859-2"),
        ("fi", "cp1252", "x-unknown"),
        ("sv", "mac-roman", "macintosh"),
    ],
)
def test_whatever_charset_it_says(language: str, charset: str, label: str | None) -> None:
    _, text = order(language)
    head = f"From: {SHOP}\nTo: nora@post.example\nSubject: 20417\nDate: 2 Dec 2019 10:00:00 +0100\n"
    head += f"Content-Type: text/plain; charset={label}\n" if label else "Content-Type: text/plain\n"
    raw = head.encode() + b"Content-Transfer-Encoding: 8bit\n\n" + text.encode(charset)
    claim_of(raw)
