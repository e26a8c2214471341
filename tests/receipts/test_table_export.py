"""Exports of orders: delimiters, encodings, numbers and days by the whole column, and the tables that are none."""

from __future__ import annotations

import io
import time
import zipfile
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.evidence import DocumentKind, PurchaseClaim
from vault.receipts.column_values import amounts_of, days_of
from vault.receipts.table_export import read_csv, read_sheet


def claims(text: str, encoding: str = "utf-8") -> tuple[PurchaseClaim, ...]:
    return read_csv(text.encode(encoding)).claims


def brief(claim: PurchaseClaim) -> tuple[object, ...]:
    titles = tuple((i.title, str(i.amount) if i.amount is not None else None) for i in claim.items)
    return claim.order_number, claim.seller, claim.purchased_on, claim.currency, str(claim.total), titles


LINES = """Order number,Order date,Shop,Item,Quantity,Item total,Order total,Currency
1001,2024-03-01,Larch & Loom,Linnet Hat (PDF),1,7.00,12.00,EUR
1001,2024-03-01,Larch & Loom,"Wren Mittens, two sizes",1,5.00,12.00,EUR
1002,2024-04-25,Otter Yarns,Otter Socks,2,9.00,9.00,EUR
"""
WANTED = [
    (
        "1001",
        "Larch & Loom",
        date(2024, 3, 1),
        "EUR",
        "12.00",
        (("Linnet Hat (PDF)", "7.00"), ("Wren Mittens, two sizes", "5.00")),
    ),
    ("1002", "Otter Yarns", date(2024, 4, 25), "EUR", "9.00", (("Otter Socks", "9.00"),)),
]


def semicolons(text: str) -> str:
    rows = [
        line.replace('"Wren Mittens, two sizes"', "Wren Mittens@ two sizes").split(",") for line in text.splitlines()
    ]
    return "\n".join(";".join(cell.replace("@", ",") for cell in row) for row in rows) + "\n"


FORMS = {
    "commas": (LINES, "utf-8"),
    "semicolons": (semicolons(LINES), "utf-8"),
    "tabs": (semicolons(LINES).replace(";", "\t"), "utf-8"),
    "byte order mark": ("\ufeff" + LINES, "utf-8"),
    "utf-16": (LINES, "utf-16"),
    "stated delimiter": ("sep=;\n" + semicolons(LINES), "utf-8"),
    "all quoted": ("\n".join(",".join(f'"{c}"' for c in line.split(",")) for line in LINES.replace('"Wren Mittens, two sizes"', "Wren Mittens; two sizes").splitlines()), "utf-8"),
    "carriage returns": (LINES.replace("\n", "\r\n"), "utf-8"),
    "a title above": ("My orders\n\n" + LINES, "utf-8"),
    "decimal comma": (semicolons(LINES).replace(".00", ",00"), "utf-8"),
    "guarded numbers": (LINES.replace("\n1001", '\n"=""1001"""').replace("\n1002", '\n"=""1002"""'), "utf-8"),
    "blank repeats": (LINES.replace("\n1001,2024-03-01,Larch & Loom,\"Wren", '\n,,,"Wren').replace(",5.00,12.00,EUR", ",5.00,,"), "utf-8"),
    "sign in the cells": (LINES.replace(".00,", ".00 €,").replace(",Currency", "").replace(",EUR", ""), "utf-8"),
    "currency in the heading": (LINES.replace("Order total,Currency", "Order total (EUR)").replace(",EUR", ""), "utf-8"),
}  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_forms_of_one_export(form: str) -> None:
    text, encoding = FORMS[form]
    wanted = [(*w[:5], tuple((t.replace(",", ";") if form == "all quoted" else t, a) for t, a in w[5])) for w in WANTED]
    assert [brief(c) for c in claims(text, encoding)] == wanted


HEADINGS = {
    "de": "Bestellnummer;Bestelldatum;Shop;Artikel;Menge;Preis;Gesamtsumme;Währung",
    "nl": "Bestelnummer;Besteldatum;Winkel;Product;Aantal;Bedrag;Totaal;Munt",
}


@pytest.mark.parametrize("language", HEADINGS)
def test_headings_of_languages(language: str) -> None:
    text = (
        HEADINGS[language]
        + "\n7001;01.03.2024;Larch;Linnet Hat (PDF);1;7,00;12,00;EUR\n7001;01.03.2024;Larch;Wren;1;5,00;12,00;EUR\n"
    )
    reading = read_csv(text.encode("cp1252"))
    assert reading.language == language
    (claim,) = reading.claims
    assert brief(claim) == (
        "7001",
        "Larch",
        date(2024, 3, 1),
        "EUR",
        "12.00",
        (("Linnet Hat (PDF)", "7.00"), ("Wren", "5.00")),
    )
    assert claim.document is DocumentKind.HISTORY
    assert claim.date_printed


NO_EXPORTS = {
    "statement of a bank": "Date,Description,Debit,Credit,Balance\n2024-03-01,LARCH AND LOOM,12.00,,88.00\n2024-03-02,OTTER YARNS,9.00,,79.00\n",
    "statement of a bank, German": "Buchungstag;Wertstellung;Verwendungszweck;Begünstigter;Betrag;Währung\n01.03.2024;01.03.2024;Bestellung 1001;Larch;-12,00;EUR\n",
    "statement with amounts only": "Date,Description,Amount\n2024-03-01,LARCH AND LOOM,-12.00\n",
    "sales of one's own": "Order number,Sale Date,Item,Buyer,Price\n1,2024-03-01,Felt fox,Ada,9.00\n2,2024-03-02,Felt fox,Bea,9.00\n",
    "wish list": "Item,Shop,Price,Date added\nLinnet Hat,Larch,7.00,2024-03-01\n",
    "stash": "Name,Colour,Weight,Price\nTorf,brown,100 g,16.90\n",
    "price list": "Article number,Product,Price\nKS-104,Linnet Hat,7.00\nKS-105,Wren,5.00\n",
    "contacts": "Name,Email,Phone\nAda,ada@post.example,1\nBea,bea@post.example,2\n",
    "yardage": "Size,110 cm,140 cm\n38,2.1,1.7\n40,2.2,1.8\n",
    "prose": "Dear all,\nplease bring scissors, pins and thread.\n",
    "nothing": "",
    "a heading alone": "Order number,Order date,Item,Price\n",
    "bytes": "\x00\x01\x02;;;;\x7f",
}  # fmt: skip


@pytest.mark.parametrize("name", NO_EXPORTS)
def test_other_tables_give_nothing_and_say_why(name: str) -> None:
    reading = read_csv(NO_EXPORTS[name].encode())
    assert reading.claims == ()
    assert reading.signs
    assert reading.text == ""


def test_states_of_orders() -> None:
    text = (
        "Order,Date,Product,Total,Status\n1,2024-01-01,Linnet,7.00,Completed\n2,2024-01-02,Wren,5.00,Refunded\n"
        "3,2024-01-03,Otter,5.00,Cancelled\n4,2024-01-04,Fox,5.00,Pending payment\n5,2024-01-05,Elk,5.00,Partially refunded\n"
    )
    one, two, three, four, five = claims(text)
    assert (one.document, one.refunded) == (DocumentKind.HISTORY, False)
    assert two.refunded is True
    assert (three.document, three.cancelled) == (DocumentKind.CANCELLATION, True)
    assert (four.document, four.unpaid) == (DocumentKind.FAILED_PAYMENT, True)
    assert five.refunded is None


def test_one_row_for_an_order_of_several_titles() -> None:
    (claim,) = claims("Order,Date,Products,Order total\n1,2024-01-01,Linnet Hat (PDF); Wren Mittens (PDF),12.00\n")
    assert [(i.title, i.amount) for i in claim.items] == [("Linnet Hat (PDF)", None), ("Wren Mittens (PDF)", None)]
    assert claim.total == Decimal("12.00")


def test_download_links_with_their_ends() -> None:
    (claim,) = claims(
        "Order,Date,Product,Price,Download link,Expires,Downloads left\n"
        "1,2024-01-01,Linnet Hat,7.00,https://larch.example/d/1?t=a&b=2,2024-02-01,3\n"
    )
    (link,) = claim.items[0].links
    assert (link.url, link.expires_on, link.downloads_left) == (
        "https://larch.example/d/1?t=a&b=2",
        date(2024, 2, 1),
        3,
    )
    assert claim.items[0].digital is True


def test_prices_of_pieces_and_no_total() -> None:
    (claim,) = claims("Order,Date,Product,Unit price,Qty\n1,2024-01-01,Linnet Hat,7.00,2\n")
    assert claim.items[0].amount == Decimal("14.00")
    assert claim.total == Decimal("14.00")


@pytest.mark.parametrize(
    ("cells", "language", "comma", "values"),
    [
        (["5,50", "1.234"], "de", None, ["5.50", "1234"]),
        (["5.50", "1,234"], "en", None, ["5.50", "1234"]),
        (["1.234,50", "12"], "en", None, ["1234.50", "12"]),
        (["1.234", "2.500"], "de", None, ["1234", "2500"]),
        (["1.234", "2.500"], "en", True, ["1234", "2500"]),
        (["1 234,50 €", "kr 7,00"], "sv", None, ["1234.50", "7.00"]),
        (["1'234.50", "CHF 3.00"], "de", None, ["1234.50", "3.00"]),
        (["-3.50", "(4.00)", "−2.00"], "en", None, ["-3.50", "-4.00", "-2.00"]),
        (["¥1,200", "700"], "ja", None, ["1200", "700"]),
        (["free", "", "7.00"], "en", None, [None, None, "7.00"]),
    ],
)
def test_amounts_by_the_whole_column(
    cells: list[str], language: str, comma: bool | None, values: list[str | None]
) -> None:
    wanted = [None if v is None else Decimal(v) for v in values]
    assert amounts_of([cells], language, comma) == [wanted]


@pytest.mark.parametrize(
    ("cells", "language", "days"),
    [
        (["03/04/2024", "25/04/2024"], "en", [date(2024, 4, 3), date(2024, 4, 25)]),
        (["03/04/2024", "04/25/2024"], "en", [date(2024, 3, 4), date(2024, 4, 25)]),
        (["03/04/2024"], "en", [None]),
        (["03/04/2024"], "nl", [date(2024, 4, 3)]),
        (["05/05/2024"], "en", [date(2024, 5, 5)]),
        (["01/02/2024", "01/03/2024", "02/01/2024"], "en", [date(2024, 1, 2), date(2024, 1, 3), date(2024, 2, 1)]),
        (["3.4.24", "1 May 2024"], "de", [date(2024, 4, 3), date(2024, 5, 1)]),
        (["2024-03-01T10:00:00Z", "x"], "en", [date(2024, 3, 1), None]),
    ],
)
def test_days_by_the_whole_column(cells: list[str], language: str, days: list[date | None]) -> None:
    assert days_of(cells, language) == days


# --- workbooks --------------------------------------------------------------------------------


def workbook(*sheets: list[list[object]]) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    for n, rows in enumerate(sheets):
        sheet = book.create_sheet(f"s{n}")
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_workbook() -> None:
    rows: list[list[object]] = [
        ["Order number", "Order date", "Shop", "Item", "Quantity", "Item total", "Currency"],
        [1001, date(2024, 3, 1), "Larch & Loom", "Linnet Hat (PDF)", 1, 7, "EUR"],
        ["1001", date(2024, 3, 1), "Larch & Loom", "Wren Mittens", 1, 5.1, "EUR"],
    ]
    reading = read_sheet(workbook([["Notes"], ["nothing here"]], rows))
    (claim,) = reading.claims
    assert (claim.order_number, claim.purchased_on, claim.total) == ("1001", date(2024, 3, 1), Decimal("12.1"))
    assert [(i.title, i.quantity, i.amount) for i in claim.items] == [
        ("Linnet Hat (PDF)", 1, Decimal("7")),
        ("Wren Mittens", 1, Decimal("5.1")),
    ]


def test_workbooks_that_cannot_be_opened() -> None:
    good = workbook([["Order number", "Item"], [1, "x"]])
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 50_000_000)
    for raw in (b"", b"PK\x03\x04", good[: len(good) // 2], b"no zip", bomb.getvalue()):
        assert read_sheet(raw).claims == ()


# --- hostile ----------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", ["a", ",", ";", '"', "\n", '",', "1,", "=", "Order number,"])
def test_a_megabyte_of_one_thing(unit: str) -> None:
    start = time.process_time()
    read_csv((unit * (1_000_000 // len(unit))).encode())
    read_csv(("Order number,Order date,Item,Price\n" + unit * (1_000_000 // len(unit))).encode())
    assert time.process_time() - start < 20


@settings(deadline=None, max_examples=100)
@given(st.binary(max_size=600))
def test_any_bytes(raw: bytes) -> None:
    read_csv(raw)
    read_csv(b"Order number;Order date;Item;Price\n" + raw)
    assert read_sheet(raw).claims == ()


CELLS = st.sampled_from(
    ["1001", "2024-03-01", "03/04/2024", "Linnet Hat", "7.00", "7,00", "", "EUR", "-3", "x" * 200, "\n"]
)


@settings(deadline=None, max_examples=100)
@given(st.lists(st.lists(CELLS, min_size=4, max_size=6), max_size=12))
def test_any_rows_below_a_heading(rows: list[list[str]]) -> None:
    text = "Order number\tOrder date\tItem\tPrice\tTotal\n" + "\n".join("\t".join(row) for row in rows)
    for claim in claims(text):
        assert claim.items
        assert claim.order_number
