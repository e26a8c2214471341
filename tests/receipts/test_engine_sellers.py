"""Who sold it, in which order: shops behind platforms and payment services, several orders in one document."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from tests.receipts.engine_mails import claim, lines_of, reading
from vault.model.evidence import DocumentKind, EvidenceKind
from vault.receipts.read import read

ORDER = "Thank you for your order!\n\nOrder number: 1042\n\nCloche Hat pattern  £6.00\nTotal  £6.00\n"


@pytest.mark.parametrize(
    ("sender", "body", "seller", "domain"),
    [
        ("Cap & Bells <orders@capbells.example>", ORDER, "Cap & Bells", "capbells.example"),
        ("Cap & Bells Orders <no-reply@mailer.example>", ORDER, "Cap & Bells", "mailer.example"),
        (
            "orders@capbells.example",
            f"{ORDER}\n© 2024 Cap & Bells. All rights reserved.",
            "Cap & Bells",
            "capbells.example",
        ),
        ("Effie at Cap & Bells <effie@capbells.example>", ORDER, "Cap & Bells", "capbells.example"),
        ('"Cap & Bells via Stallholders" <x@stallholders.example>', ORDER, "Cap & Bells", None),
        ("no-reply@capbells.example", f"{ORDER}\nKind regards\nCap & Bells", "Cap & Bells", "capbells.example"),
        ("Stallholders <x@stallholders.example>", f"Sold by: Cap & Bells\n{ORDER}", "Cap & Bells", None),
    ],
)
def test_the_shop_is_named(sender: str, body: str, seller: str, domain: str | None) -> None:
    one = claim(body, sender=sender)
    assert one.seller == seller
    assert one.seller_domain in (domain, None) if domain is None else one.seller_domain == domain


def test_a_payment_service_is_not_the_shop() -> None:
    one = claim(
        "Hello Wanda,\n\nYou paid £6.00 GBP to Cap & Bells.\n\nTransaction ID: 5XX01\nMerchant: Cap & Bells\n"
        "Cloche Hat pattern  £6.00\nTotal  £6.00\n",
        subject="Receipt for your payment to Cap & Bells",
        sender="Paywell <service@paywell.example>",
    )
    assert (one.seller, one.payee_only, one.document) == ("Cap & Bells", True, DocumentKind.PAYMENT)
    assert (one.order_number, one.payment_number) == (None, "5XX01")


def test_the_buyer_is_not_the_seller() -> None:
    one = claim(ORDER + "\nBilling address:\nWanda Prentice\nGassenweg 4", sender="orders@capbells.example")
    assert one.seller != "Wanda Prentice"
    assert (one.buyer_name, one.buyer_mail) == ("Wanda Prentice", "wanda@masquers.example")


@pytest.mark.parametrize(
    ("printed", "number"),
    [
        ("Order number: 1042", "1042"),
        ("Order #CB-1042", "CB-1042"),
        ("Order no. 2024/07/88", "2024/07/88"),
        ("Your order reference is ABCDEFGH.", "ABCDEFGH"),
        ("Invoice number: R-77", "R-77"),
        ("Customer number: 5512", None),
        ("Tracking number: AB123456789GB", None),
    ],
)
def test_numbers_of_an_order(printed: str, number: str | None) -> None:
    one = claim(
        f"Thank you for your order!\n\n{printed}\n\nCloche Hat pattern  £6.00\nTotal  £6.00\n", subject="Thanks"
    )
    assert one.order_number == number


def test_stalls_of_a_market_are_orders_of_their_own() -> None:
    body = (
        "<h1>Thank you for your purchase</h1><p>Date: 2 June 2024</p>"
        "<h3>Sold by: Cap & Bells</h3><p>Order 900-1</p><table><tr><td>Cloche Hat pattern</td><td>£6.00</td></tr></table>"
        "<p>Order total: £6.00</p><h3>Sold by: Tabard & Tunic</h3><p>Order 900-2</p>"
        "<table><tr><td>Tabard pattern</td><td>£7.50</td></tr></table><p>Order total: £7.50</p>"
    )
    found = reading(body, subject="Your purchase", sender="Stallholders <x@stallholders.example>").claims
    assert [(c.seller, c.order_number, c.total) for c in found] == [
        ("Cap & Bells", "900-1", Decimal("6.00")),
        ("Tabard & Tunic", "900-2", Decimal("7.50")),
    ]
    assert {c.purchased_on for c in found} == {date(2024, 6, 2)}


def test_an_account_page_lists_orders_of_years() -> None:
    rows = "".join(
        f"<tr><td>#{n}</td><td>{n % 28 + 1} May 20{n}</td><td>{state}</td><td>£{n}.00</td></tr>"
        for n, state in ((21, "Completed"), (22, "Cancelled"), (23, "Completed"))
    )
    html = (
        "<html><head><title>My orders – Cap & Bells</title></head><body><h1>Order history</h1><table>"
        f"<tr><th>Order</th><th>Date</th><th>Status</th><th>Total</th></tr>{rows}</table></body></html>"
    )
    found = read(EvidenceKind.PAGE, html.encode(), name="orders.html").claims
    assert [(c.order_number, c.total, c.document) for c in found] == [
        ("21", Decimal("21.00"), DocumentKind.HISTORY),
        ("23", Decimal("23.00"), DocumentKind.HISTORY),
    ]
    assert {c.seller for c in found} == {"Cap & Bells"}


def test_a_forwarded_order_is_read_with_its_own_sender() -> None:
    body = (
        "For the accounts.\n\n---------- Forwarded message ---------\nFrom: Cap & Bells <orders@capbells.example>\n"
        "Date: Sun, 2 Jun 2024 at 10:00\nSubject: Your order 1042\nTo: Wanda Prentice <wanda@masquers.example>\n\n"
        + ORDER
    )
    (one,) = reading(body, subject="Fwd: Your order 1042", sender="Bertie Mould <bertie@masquers.example>").claims
    assert (one.seller, one.order_number) == ("Cap & Bells", "1042")
    assert lines_of(one) == [("Cloche Hat pattern", 1, "6.00")]


MARKET = """Thank you for your order! Paid on 18 April 2024.

{sold} Wren & Wool
Firecrest Mittens knitting pattern £4.50

{sold} Lower Mill Patterns
Sluice Skirt sewing pattern PDF £9.00
Weir Top sewing pattern PDF £8.00

Total £21.50
"""


@pytest.mark.parametrize("sold", ["Sold by", "Seller:", "Sold by:"])
def test_headings_name_the_sellers_of_a_marketplace(sold: str) -> None:
    (one,) = reading(
        MARKET.format(sold=sold), subject="Your order", sender="Threadhall <mail@threadhall.example>"
    ).claims
    assert [(i.title, i.seller) for i in one.items] == [
        ("Firecrest Mittens knitting pattern", "Wren & Wool"),
        ("Sluice Skirt sewing pattern PDF", "Lower Mill Patterns"),
        ("Weir Top sewing pattern PDF", "Lower Mill Patterns"),
    ]
