"""schema.org markup: the published examples in three syntaxes, the mail markup example, and what real pages do to it."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from html import escape
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.evidence import DocumentKind, PurchaseClaim
from vault.receipts.structured import read_structured

# --- one meaning, three syntaxes --------------------------------------------------------------


def json_ld(node: dict[str, Any]) -> str:
    return f'<script type="application/ld+json">{json.dumps({"@context": "https://schema.org/", **node})}</script>'


def microdata(node: dict[str, Any], prop: str = "") -> str:
    attribute = f' itemprop="{prop}"' if prop else ""
    out = f'<div{attribute} itemscope itemtype="https://schema.org/{node["@type"]}">'
    return out + _inner(node, microdata, "itemprop") + "</div>"


def rdfa(node: dict[str, Any], prop: str = "") -> str:
    attribute = f' property="{prop}"' if prop else ' vocab="https://schema.org/"'
    return f'<div{attribute} typeof="{node["@type"]}">' + _inner(node, rdfa, "property") + "</div>"


def _inner(node: dict[str, Any], write: Callable[[dict[str, Any], str], str], attribute: str) -> str:
    out = ""
    for name, values in node.items():
        for value in values if isinstance(values, list) else [values]:
            if name == "@type":
                continue
            if isinstance(value, dict):
                out += write(value, name)
            elif str(value).startswith("http"):
                out += f'<link {attribute}="{name}" href="{value}"/>'
            elif name.endswith("Date"):
                out += f"<time {attribute}={name}>{value}</time>"
            elif name in ("productID", "price"):
                out += f'<meta {attribute}="{name}" content="{value}"/>'
            else:
                out += f"<span {attribute}='{name}'>{escape(str(value))}</span>"
    return out


SYNTAXES = [json_ld, microdata, rdfa]


def money(price: object) -> dict[str, Any]:
    return {"@type": "PriceSpecification", "price": price, "priceCurrency": "USD"}


# schema.org, examples of release 30, told anew: eg-0374 the bill of a bank, eg-0375 an invoice about two orders,
# eg-0376 an order of two lines.
EG_0374 = {
    "@type": "Invoice",
    "description": "January 2015",
    "broker": {"@type": "BankOrCreditUnion", "name": "ACME Bank"},
    "accountId": "xxxx-xxxx-xxxx-1234",
    "customer": {"@type": "Person", "name": "Jane Doe"},
    "paymentDueDate": "2015-01-30T12:00:00",
    "minimumPaymentDue": money("15.00"),
    "totalPaymentDue": money("200.00"),
    "paymentStatus": "https://schema.org/PaymentDue",
}
EG_0375 = {
    "@type": "Invoice",
    "description": "New furnace and installation",
    "broker": {"@type": "LocalBusiness", "name": "ACME Home Heating"},
    "customer": {"@type": "Person", "name": "Jane Doe"},
    "paymentDueDate": "2015-01-30",
    "totalPaymentDue": money("0.00"),
    "paymentStatus": "https://schema.org/PaymentComplete",
    "referencesOrder": [
        {
            "@type": "Order",
            "orderDate": "2014-12-01",
            "orderNumber": "123ABC",
            "orderedItem": {"@type": "Product", "name": "ACME Furnace 3000", "productID": "ABC123"},
        },
        {
            "@type": "Order",
            "orderDate": "2014-12-02",
            "orderedItem": {"@type": "Service", "description": "furnace installation"},
        },
    ],
}
EG_0376 = {
    "@type": "Order",
    "seller": {"@type": "Organization", "name": "ACME Supplies"},
    "customer": {"@type": "Person", "name": "Jane Doe"},
    "orderedItem": [
        {
            "@type": "OrderItem",
            "orderItemNumber": "abc123",
            "orderQuantity": 1,
            "orderedItem": {"@type": "Product", "name": "Widget"},
            "orderItemStatus": "https://schema.org/OrderDelivered",
        },
        {
            "@type": "OrderItem",
            "orderItemNumber": "def456",
            "orderQuantity": 3,
            "orderedItem": {"@type": "Product", "name": "Widget accessories"},
            "orderItemStatus": "https://schema.org/OrderInTransit",
        },
    ],
}


@pytest.mark.parametrize("write", SYNTAXES)
def test_eg_0374_the_bill_of_a_bank_proves_no_purchase(write: Callable[[dict[str, Any]], str]) -> None:
    (claim,) = read_structured(write(EG_0374))
    assert claim.document is DocumentKind.OTHER
    assert (claim.total, claim.currency, claim.buyer_name) == (Decimal("200.00"), "USD", "Jane Doe")
    assert claim.seller is None
    assert claim.unpaid


@pytest.mark.parametrize("write", SYNTAXES)
def test_eg_0375_an_invoice_about_two_orders(write: Callable[[dict[str, Any]], str]) -> None:
    first, second = read_structured(write(EG_0375))
    assert (first.order_number, first.purchased_on) == ("123ABC", date(2014, 12, 1))
    assert [(i.title, i.product_code) for i in first.items] == [("ACME Furnace 3000", "ABC123")]
    assert (second.order_number, second.purchased_on) == (None, date(2014, 12, 2))
    assert [i.title for i in second.items] == ["furnace installation"]
    for claim in (first, second):
        assert (claim.document, claim.seller, claim.buyer_name) == (
            DocumentKind.INVOICE,
            "ACME Home Heating",
            "Jane Doe",
        )
        assert claim.total is None  # nothing is due any more: no one says what it cost
        assert not claim.unpaid


@pytest.mark.parametrize("write", SYNTAXES)
def test_eg_0376_an_order_of_two_lines(write: Callable[[dict[str, Any]], str]) -> None:
    (claim,) = read_structured(write(EG_0376))
    assert (claim.document, claim.seller, claim.buyer_name) == (DocumentKind.ORDER, "ACME Supplies", "Jane Doe")
    assert [(i.title, i.quantity, i.product_code) for i in claim.items] == [
        ("Widget", 1, "abc123"),
        ("Widget accessories", 3, "def456"),
    ]


# The minimal example of mail markup: old name of the seller, price as text, quantity as text.
MAIL = {
    "@type": "Order",
    "merchant": {"@type": "Organization", "name": "Larch & Loom", "url": "https://www.larchloom.example/"},
    "orderNumber": "123-4567890-1234567",
    "priceCurrency": "USD",
    "price": "29.99",
    "orderStatus": "http://schema.org/orderProcessing",
    "acceptedOffer": {
        "@type": "Offer",
        "itemOffered": {"@type": "Product", "name": "Linnet Hat"},
        "price": "29.99",
        "priceCurrency": "USD",
        "eligibleQuantity": {"@type": "QuantitativeValue", "value": "1"},
    },
}


@pytest.mark.parametrize("write", SYNTAXES)
def test_the_mail_markup_example(write: Callable[[dict[str, Any]], str]) -> None:
    (claim,) = read_structured(write(MAIL))
    assert (claim.seller, claim.seller_domain) == ("Larch & Loom", "larchloom.example")
    assert (claim.order_number, claim.total, claim.currency) == ("123-4567890-1234567", Decimal("29.99"), "USD")
    assert [(i.title, i.quantity, i.amount) for i in claim.items] == [("Linnet Hat", 1, Decimal("29.99"))]
    assert {s.how for s in claim.sources} == {"schema.org"}
    assert {s.field: s.words for s in claim.sources}["total"] == "29.99"


def the(html: str) -> PurchaseClaim:
    (claim,) = read_structured(html)
    return claim


def script(text: str) -> str:
    return f"<html><head><script type='application/ld+json'>{text}</script></head></html>"


PLAIN = json.dumps({"@context": "http://schema.org", **MAIL})

# How pages wrap, break and vary it; every form says the same.
VARIANTS = {
    "in a comment": script(f"<!--\n{PLAIN}\n-->"),
    "in a CDATA section": script(f"//<![CDATA[\n{PLAIN}\n//]]>"),
    "trailing commas": script(PLAIN.replace("}}", "},}").replace('"1"}', '"1",}')),
    "entities": script(PLAIN.replace('"', "&quot;")),
    "in a list": script(f"[{PLAIN}]"),
    "in a graph": script(json.dumps({"@context": "http://schema.org", "@graph": [{"@type": "WebPage"}, MAIL]})),
    "two objects": script('{"@type": "WebSite", "name": "x"}\n' + PLAIN),
    "with a prefix": script(PLAIN.replace('"@type": "', '"@type": "schema:')),
    "types as lists": script(PLAIN.replace('"@type": "Order"', '"@type": ["Order", "Thing"]')),
    "price as a number": script(PLAIN.replace('"29.99"', "29.99")),
    "price with a sign": script(PLAIN.replace('"29.99"', '"$29.99"')),
    "price with a comma": script(PLAIN.replace('"29.99"', '"29,99"')),
    "wrapped values": script(PLAIN.replace('"29.99"', '{"@type": "xsd:decimal", "@value": "29.99"}')),
    "offers as a list": script(json.dumps({**MAIL, "acceptedOffer": [MAIL["acceptedOffer"]]})),
    "seller for merchant": script(PLAIN.replace("merchant", "seller")),
    "by reference": script(
        json.dumps(
            {
                "@graph": [
                    {"@id": "#s", "@type": "Organization", "name": "Larch & Loom", "url": "https://larchloom.example"},
                    {**MAIL, "merchant": {"@id": "#s"}},
                ]
            }
        )
    ),
    "twice on one page": script(PLAIN) + script(PLAIN),
    "uppercase properties": script(PLAIN.replace("orderNumber", "OrderNumber")),
}


@pytest.mark.parametrize("name", VARIANTS)
def test_variants_say_the_same(name: str) -> None:
    wanted = the(json_ld(MAIL))
    claim = the(VARIANTS[name])
    assert replace(claim, sources=()) == replace(wanted, sources=())


@pytest.mark.parametrize(
    ("status", "document", "changes"),
    [
        ("http://schema.org/OrderCancelled", DocumentKind.CANCELLATION, {"cancelled": True}),
        ("OrderReturned", DocumentKind.REFUND, {"refunded": True}),
        ("https://schema.org/OrderPaymentDue", DocumentKind.ORDER, {"unpaid": True}),
        ("https://schema.org/OrderDelivered", DocumentKind.ORDER, {}),
        ("http://schema.org/orderProcessing", DocumentKind.ORDER, {}),
    ],
)
def test_statuses(status: str, document: DocumentKind, changes: dict[str, Any]) -> None:
    claim = the(json_ld({**MAIL, "orderStatus": status}))
    assert claim.document is document
    assert {k: getattr(claim, k) for k in changes} == changes


def test_prices_of_pieces_and_of_lines() -> None:
    def lines(total: str, *offers: tuple[str, int]) -> list[Decimal | None]:
        offered = [
            {**MAIL["acceptedOffer"], "itemOffered": {"name": f"Thing {n}"}, "price": price, "eligibleQuantity": {"value": q}}  # type: ignore[dict-item]
            for n, (price, q) in enumerate(offers)
        ]  # fmt: skip
        return [i.amount for i in the(json_ld({**MAIL, "price": total, "acceptedOffer": offered})).items]

    assert lines("30.00", ("10.00", 3)) == [Decimal("30.00")]
    assert lines("10.00", ("10.00", 3)) == [Decimal("10.00")]  # the price is already that of the line
    assert lines("31.00", ("10.00", 2), ("5.00", 1)) == [Decimal("20.00"), Decimal("5.00")]  # shipping or tax on top


def test_sellers_of_single_lines() -> None:
    offers = [
        {"@type": "Offer", "itemOffered": {"name": f"Thing {n}"}, "price": 2, "seller": {"name": n}}
        for n in ("Otter", "Wren")
    ]
    claim = the(json_ld({**MAIL, "acceptedOffer": offers}))
    assert [i.seller for i in claim.items] == ["Otter", "Wren"]


def test_download_actions_are_links_and_product_pages_are_not() -> None:
    action = {
        "@type": "DownloadAction",
        "name": "A4",
        "target": {"@type": "EntryPoint", "urlTemplate": "https://l.example/d"},
    }
    product = {"@type": "Product", "name": "Linnet", "url": "https://l.example/linnet", "potentialAction": action}
    claim = the(json_ld({"@type": "Order", "seller": "Larch", "orderedItem": product}))
    assert [(link.url, link.label) for link in claim.items[0].links] == [("https://l.example/d", "A4")]
    assert claim.seller == "Larch"


@pytest.mark.parametrize(
    "html",
    [
        json_ld({"@type": "Product", "name": "Linnet Hat", "offers": {"@type": "Offer", "price": "7.00"}}),
        microdata({"@type": "Offer", "price": "7.00", "itemOffered": {"@type": "Product", "name": "Linnet Hat"}}),
        json_ld({"@type": "Order"}),
        "<script type='application/ld+json'>{broken</script>",
        "<div itemprop='orderNumber'>12</div>",
        "",
    ],
)
def test_no_order_no_claim(html: str) -> None:
    assert read_structured(html) == ()


def test_a_parcel_notice_is_no_order() -> None:
    claim = the(json_ld({"@type": "ParcelDelivery", "partOfOrder": {**MAIL}}))
    assert claim.document is DocumentKind.SHIPPING
    assert claim.order_number == "123-4567890-1234567"


@pytest.mark.parametrize(
    "html",
    [
        "<script type='application/ld+json'>" + "[" * 200_000 + "</script>",
        "<script type='application/ld+json'>" + '{"a":' * 100_000 + "</script>",
        "<div itemscope itemtype='Order'>" * 20_000,
        "<p itemtype>" + "<b>" * 100_000,
        script('{"@type": "Order", "price": ' + "9" * 100_000 + "}"),
        script(PLAIN.replace("Linnet Hat", "x" * 500_000)),
        script("," * 500_000),
    ],
)
def test_hostile_pages(html: str) -> None:
    start = time.process_time()
    read_structured(html)
    assert time.process_time() - start < 5


JSON = st.recursive(
    st.one_of(st.none(), st.booleans(), st.floats(), st.integers(), st.text(max_size=8), st.sampled_from(["Order", "Invoice"])),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(
            st.sampled_from(["@type", "@id", "@graph", "price", "orderedItem", "acceptedOffer", "seller", "itemOffered",
                             "referencesOrder", "orderDate", "orderNumber", "orderStatus", "name", "customer"]),
            inner,
            max_size=5,
        ),
    ),
    max_leaves=25,
)  # fmt: skip


@settings(deadline=None, max_examples=200)
@given(JSON)
def test_any_json_ends_in_claims_or_none(value: object) -> None:
    for claim in read_structured(script(json.dumps(value))):
        assert claim.total is None or claim.total.is_finite()


@settings(deadline=None, max_examples=100)
@given(st.lists(st.sampled_from(["<div itemscope itemtype='http://schema.org/Order'>", "</div>", "<p itemprop=price>9</p>",
                                 "<b typeof=Invoice>", "<i property=name>x</i>", "<table>", "</p>", "<!--"]), max_size=20))  # fmt: skip
def test_any_tags(pieces: list[str]) -> None:
    read_structured("".join(pieces))
