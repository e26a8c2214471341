"""One order, printed in many ways: whatever the layout, the same order is read."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from tests.receipts.engine_mails import claim, lines_of

THANKS = "Thank you for your order!"
ORDER = [("Cloche Hat PDF pattern", 1, "6.00"), ("Ribbon, red", 3, "4.50")]


def table(rows: list[list[str]]) -> str:
    return "<table>" + "".join("<tr>" + "".join(f"<td>{c}</td>" for c in row) + "</tr>" for row in rows) + "</table>"


SUMS = [["Subtotal", "£10.50"], ["Postage", "£2.00"], ["Total", "£12.50"]]
HEAD = f"<p>{THANKS}</p><p>Order number: 1042<br>Order date: 2 June 2024</p>"
TEXT_HEAD = f"{THANKS}\n\nOrder number: 1042\nOrder date: 2 June 2024\n\n"
TEXT_SUMS = "\n\nSubtotal  £10.50\nPostage  £2.00\nTotal  £12.50\n"

LAYOUTS = {
    "table with headings": HEAD
    + "<table><tr><th>Item</th><th>Qty</th><th>Price</th><th>Total</th></tr>"
    + "<tr><td>Cloche Hat PDF pattern</td><td>1</td><td>£6.00</td><td>£6.00</td></tr>"
    + "<tr><td>Ribbon, red</td><td>3</td><td>£1.50</td><td>£4.50</td></tr></table>"
    + table(SUMS),
    "columns in another order": HEAD
    + "<table><tr><th>Quantity</th><th>Amount</th><th>Unit price</th><th>Description</th></tr>"
    + "<tr><td>1</td><td>£6.00</td><td>£6.00</td><td>Cloche Hat PDF pattern</td></tr>"
    + "<tr><td>3</td><td>£4.50</td><td>£1.50</td><td>Ribbon, red</td></tr></table>"
    + table(SUMS),
    "no headings": HEAD + table([["Cloche Hat PDF pattern", "× 1", "£6.00"], ["Ribbon, red", "× 3", "£4.50"], *SUMS]),
    "count first": HEAD + table([["1 x", "Cloche Hat PDF pattern", "£6.00"], ["3 x", "Ribbon, red", "£4.50"], *SUMS]),
    "price of one only": HEAD + table([["Cloche Hat PDF pattern", "1 @ £6.00"], ["Ribbon, red", "3 @ £1.50"], *SUMS]),
    "list": HEAD + "<ul><li>Cloche Hat PDF pattern – £6.00</li><li>3 × Ribbon, red – £4.50</li></ul>" + table(SUMS),
    "divs below each other": HEAD
    + "<div><div><b>Cloche Hat PDF pattern</b></div><div>Qty: 1</div><div>£6.00</div></div>"
    + "<div><div><b>Ribbon, red</b></div><div>Qty: 3</div><div>£4.50</div></div>"
    + table(SUMS),
    "flex": HEAD
    + '<div style="display:flex"><div>Cloche Hat PDF pattern</div><div>1</div><div>£6.00</div></div>'
    + '<div style="display:flex"><div>Ribbon, red</div><div>3</div><div>£4.50</div></div>'
    + "".join(f'<div style="display:flex"><span>{a}</span> <span>{b}</span></div>' for a, b in SUMS),
    "aligned text": TEXT_HEAD
    + "Item                       Qty     Price\nCloche Hat PDF pattern       1     £6.00\n"
    + "Ribbon, red                  3     £4.50"
    + TEXT_SUMS,
    "dotted text": TEXT_HEAD
    + "1 x Cloche Hat PDF pattern ..... £6.00\n3 x Ribbon, red ................ £4.50"
    + TEXT_SUMS,
    "labelled text": TEXT_HEAD
    + "Item: Cloche Hat PDF pattern\nQuantity: 1\nPrice: £6.00\n\nItem: Ribbon, red\nQuantity: 3\nPrice: £4.50"
    + TEXT_SUMS,
    "dashes": TEXT_HEAD + "- Cloche Hat PDF pattern (x1) - £6.00\n- Ribbon, red (x3) - £4.50" + TEXT_SUMS,
    "price first": TEXT_HEAD + "£6.00 - 1 x Cloche Hat PDF pattern\n£4.50 - 3 x Ribbon, red" + TEXT_SUMS,
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_an_order_in_any_layout(name: str) -> None:
    one = claim(LAYOUTS[name])
    assert lines_of(one) == ORDER
    assert (one.seller, one.order_number, one.purchased_on) == ("Cap & Bells", "1042", date(2024, 6, 2))
    assert (one.currency, one.total, one.shipping) == ("GBP", Decimal("12.50"), Decimal("2.00"))


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_field_says_where_it_was_read(name: str) -> None:
    fields = {s.field for s in claim(LAYOUTS[name]).sources}
    assert {"seller", "order_number", "purchased_on", "currency", "total"} <= fields
    assert sum(f.startswith("item ") for f in fields) == 2


def test_the_sums_choose_between_order_and_offers() -> None:
    offers = table([["Bolero Pattern", "£7.00"], ["Tabard Pattern", "£9.00"]])
    assert lines_of(claim(HEAD + table([["Cloche Hat PDF pattern", "£6.00"], ["Total", "£6.00"]]) + offers)) == [
        ORDER[0]
    ]


def test_the_sums_choose_between_the_price_of_one_and_of_the_line() -> None:
    rows = [["Cloche Hat PDF pattern", "1", "£6.00"], ["Ribbon, red", "3", "£1.50"], *SUMS]
    assert lines_of(claim(HEAD + table(rows))) == ORDER


def test_a_discount_and_tax_on_top() -> None:
    rows = [
        ["Cloche Hat PDF pattern", "$10.00"],
        ["Discount", "-$2.00"],
        ["Sales tax (5%)", "$0.40"],
        ["Total", "$8.40"],
    ]
    one = claim(HEAD + table(rows))
    assert (one.total, one.discount, one.tax) == (Decimal("8.40"), Decimal("2.00"), Decimal("0.40"))
    assert lines_of(one) == [("Cloche Hat PDF pattern", 1, "10.00")]


def test_a_thing_given_away_costs_nothing() -> None:
    rows = [["Cloche Hat PDF pattern", "£6.00"], ["Sampler pattern", "Free"], ["Total", "£6.00"]]
    assert lines_of(claim(HEAD + table(rows)))[1] == ("Sampler pattern", 1, "0.00")


def test_what_stands_apart_is_no_part_of_the_title() -> None:
    body = HEAD + (
        "<table><tr><th>Item</th><th>Price</th></tr><tr><td><b>Cloche Hat PDF pattern</b><br>by Effie Plume<br>"
        "Size: S-XL<br>Licence: personal<br>SKU: CH-12</td><td>£6.00</td></tr><tr><td>Total</td><td>£6.00</td></tr></table>"
    )
    (item,) = claim(body).items
    assert (item.title, item.designer, item.product_code) == ("Cloche Hat PDF pattern", "Effie Plume", "CH-12")
    assert item.options == ("Size: S-XL", "Licence: personal")
    assert "S-XL" in item.promised


def test_hidden_text_changes_nothing() -> None:
    hidden = '<div style="display:none">Secret Pattern £3.00 Total £99.00 Order number: 9</div>'
    assert claim(hidden + LAYOUTS["no headings"] + hidden).items == claim(LAYOUTS["no headings"]).items


@pytest.mark.parametrize(
    ("title", "digital", "pattern"),
    [
        ("Cloche Hat PDF sewing pattern", True, True),
        ("Cloche Hat paper pattern", False, True),
        ("Ribbon, red, per metre", False, False),
        ("Scarlet gewgaw", None, None),
    ],
)
def test_what_kind_of_thing_it_is(title: str, digital: bool | None, pattern: bool | None) -> None:
    (item,) = claim(HEAD + table([[title, "£6.00"], ["Total", "£6.00"]])).items
    assert (item.digital, item.craft_pattern) == (digital, pattern)
