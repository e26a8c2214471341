"""What is evidence of a purchase and what is not; what looks like one but cannot be read."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from email.message import EmailMessage

import pytest

from tests.receipts.engine_mails import claim, lines_of, reading
from vault.model.evidence import DocumentKind, EvidenceKind, PurchaseClaim, RecordedClaim
from vault.receipts.joining import join
from vault.receipts.read import read

NOTHING = {
    "newsletter": (
        "New patterns this week",
        "Hello!\n\nCloche Hat pattern  £6.00\nBolero pattern  £7.00\n\nShop now: https://capbells.example/new\n\nUnsubscribe",
    ),
    "basket": (
        "You left something behind",
        "Hi Wanda,\n\nYou left these in your basket:\n\nCloche Hat PDF pattern  £6.00\nTotal £6.00\n\nComplete your order",
    ),
    "wish list": (
        "Price drop on your wish list",
        "Good news!\n\nCloche Hat PDF pattern, now £4.00 (was £6.00)\n\nView your wish list",
    ),
    "review": (
        "How did you like your Cloche Hat pattern?",
        "Hi Wanda,\n\nYou recently bought Cloche Hat PDF pattern. Leave a review and get 10% off.\n\nWrite a review",
    ),
    "parcel": (
        "Your parcel is on its way",
        "Hi Wanda,\n\nYour order 1042 has been shipped. Tracking number: AB123456789GB.\n\nTrack your parcel",
    ),
    "password": (
        "Reset your password",
        "Hi Wanda,\n\nYou asked to reset your password. Click here: https://capbells.example/reset?t=1",
    ),
    "failed payment": (
        "Payment failed",
        "Hi Wanda,\n\nYour payment was declined. Nothing has been charged.\n\nCloche Hat pattern £6.00\nTotal £6.00",
    ),
    "bank": (
        "Card transaction alert",
        "A payment of £6.00 to CAP AND BELLS was made with your card ending 0000 on 3 June 2024. Your balance is £120.00.",
    ),
    "fraud": (
        "Your account has been suspended",
        "Dear customer,\n\nWe could not verify your payment of £499.99 for order 99812. Verify your account within 24 hours "
        "or it will be closed: http://capbells-verify.example/login",
    ),
    "own sale": (
        "You sold Cloche Hat! Order 1042",
        "Congratulations, you made a sale!\n\nCloche Hat pattern  £6.00\nYour earnings: £5.40",
    ),
    "quote": (
        "Your quote 77",
        "Here is the quote you asked for.\n\nCloche Hat, made to measure  £60.00\nTotal £60.00\nValid for 14 days",
    ),
    "talk": ("Re: hats", "Did you see the cloche hat pattern for £6.00? I might order it for the spring show."),
    "nothing": ("Hello", "See you at rehearsal on Monday."),
}


@pytest.mark.parametrize("name", NOTHING)
def test_what_is_no_purchase_gives_none(name: str) -> None:
    subject, body = NOTHING[name]
    found = reading(body, subject=subject)
    assert found.claims == ()
    assert found.problems == ()


def test_a_purchase_that_cannot_be_read_says_what_to_do() -> None:
    found = reading("<p>Thank you for your order!</p><img src='cid:receipt'>", subject="Order 1042 confirmed")
    assert found.claims == ()
    (problem,) = found.problems
    assert "pinfold record" in (problem.next or "")


def test_the_signs_are_shown() -> None:
    found = reading("Thank you for your order!\n\nOrder number: 1042\n\nCloche Hat pattern  £6.00\nTotal  £6.00")
    assert found.document is DocumentKind.ORDER
    assert any("thank you for your order" in s for s in found.signs)


def test_legal_words_about_refunds_are_no_refund() -> None:
    body = (
        "Thank you for your order!\n\nOrder number: 1042\n\nCloche Hat pattern  £6.00\nTotal  £6.00\n\n"
        "Your right to cancel\nYou may cancel this contract within 14 days. If you cancel, we will refund all payments "
        "received from you. The refund is made with the same means of payment. A cancelled order cannot be restored.\n"
    )
    one = claim(body)
    assert (one.document, one.refunded, one.cancelled) == (DocumentKind.ORDER, False, False)


def test_the_plain_alternative_is_not_read_twice() -> None:
    message = EmailMessage()
    message["From"], message["Subject"] = "Cap & Bells <orders@capbells.example>", "Your order 1042"
    message.set_content("Thank you for your order!\nOrder number: 1042\nCloche Hat pattern  £6.00\nTotal £6.00")
    message.add_alternative(
        "<p>Thank you for your order!</p><p>Order number: 1042</p><p>Cloche Hat pattern £6.00</p><p>Total £6.00</p>",
        subtype="html",
    )
    assert len(read(EvidenceKind.MAIL, message.as_bytes()).claims) == 1


# --- sentences ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sentence", "title", "amount"),
    [
        ("Thank you for buying Cloche Hat for £6.00.", "Cloche Hat", "6.00"),
        ("You bought “The Full Falstaff: a beard” for £5.25 on 2 June 2024.", "The Full Falstaff: a beard", "5.25"),
        ("You paid £6.00 for Cloche Hat pattern.", "Cloche Hat pattern", "6.00"),
    ],
)
def test_purchases_told_in_a_sentence(sentence: str, title: str, amount: str) -> None:
    one = claim(f"Hi Wanda,\n\n{sentence}\n\nCap & Bells", subject="Thanks for your purchase")
    assert lines_of(one) == [(title, 1, amount)]
    assert one.total == Decimal(amount)


# --- money back ---------------------------------------------------------------------------------


def test_a_refund_of_the_whole() -> None:
    one = claim(
        "Hi Wanda,\n\nWe have refunded your order 1042 in full. £12.50 has been refunded to your card.\n\nCap & Bells",
        subject="Refund for order 1042",
    )
    assert (one.document, one.refunded, one.refund_amount) == (DocumentKind.REFUND, True, Decimal("12.50"))
    assert one.order_number == "1042"


def test_a_refund_of_one_thing() -> None:
    one = claim(
        "Hi Wanda,\n\nWe have refunded £4.50 for your order 1042.\n\nRefunded item: Ribbon, red\n\n"
        "The rest of your order stays as it is.\n\nCap & Bells",
        subject="Partial refund for order 1042",
    )
    assert one.refunded is None
    assert one.refund_amount == Decimal("4.50")
    assert [(i.title, i.refunded) for i in one.items] == [("Ribbon, red", True)]


def test_a_cancelled_order() -> None:
    one = claim(
        "Hi Wanda,\n\nYour order 1042 has been cancelled at your request. You have not been charged.\n\nCap & Bells",
        subject="Your order 1042 has been cancelled",
    )
    assert not is_purchase_alone(one)
    assert (one.document, one.cancelled) == (DocumentKind.CANCELLATION, True)


def is_purchase_alone(one: PurchaseClaim) -> bool:
    """Whether joining makes a purchase of this claim alone."""
    recorded = RecordedClaim(seq=1, evidence_sha256="0" * 64, evidence_kind=EvidenceKind.MAIL, index=0, claim=one)
    return bool(join([recorded], []).purchases)


def test_a_failed_payment_that_names_its_order_stops_it() -> None:
    one = claim(
        "Hi Wanda,\n\nYour payment for order 1042 was declined. Nothing has been charged.\n\nCap & Bells",
        subject="Payment failed for order 1042",
    )
    assert (one.document, one.order_number) == (DocumentKind.FAILED_PAYMENT, "1042")
    assert not is_purchase_alone(one)


def test_an_order_that_waits_for_payment() -> None:
    one = claim(
        "Thank you for your order!\n\nOrder number: 1042\n\nYour order is on hold until we receive your payment by bank "
        "transfer.\n\nCloche Hat pattern  £6.00\nTotal  £6.00\n"
    )
    assert one.items[0].title == "Cloche Hat pattern"


# --- dates --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("printed", "mail", "expected", "said"),
    [
        ("03/06/2024", "3 Jun 2024", date(2024, 6, 3), True),
        ("06/03/2024", "3 Jun 2024", date(2024, 6, 3), True),
        ("2 June 2024", "3 Jun 2024", date(2024, 6, 2), True),
        ("as soon as possible", "3 Jun 2024", date(2024, 6, 3), False),
    ],
)
def test_the_day_of_the_order(printed: str, mail: str, expected: date, said: bool) -> None:
    body = f"Thank you for your order!\n\nOrder number: 1042\nOrder date: {printed}\n\nCloche Hat pattern  6.00 EUR\nTotal 6.00 EUR"
    one = claim(body, day=mail)
    assert (one.purchased_on, one.date_printed) == (expected, said)


def test_an_open_date_stays_open() -> None:
    body = "Thank you for your order!\n\nOrder number: 1042\nOrder date: 03/04/2024\n\nCloche Hat pattern  6.00\nTotal 6.00"
    (one,) = read(EvidenceKind.TEXT, body.encode()).claims
    assert one.purchased_on is None
