"""The buyer's stamp: twelve languages, one line or several; the designer's own address is none."""

from __future__ import annotations

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.pattern import Stamp
from vault.patterns.pages_text import PageText, TextLine, pages_of_text
from vault.patterns.stamp import stamp_of


def _pages(*footer: str, pages: int = 3, y: float = 285.0) -> list[PageText]:
    """Pages of a pattern with the same small lines in the margin of each."""
    return [
        PageText(
            number,
            210.0,
            297.0,
            (
                TextLine(text="Front", x=80, y=120, size_pt=14),
                TextLine(text=f"Page {number} of {pages}", x=180, y=290, size_pt=7),
                *(TextLine(text=text, x=20, y=y + 3 * n, size_pt=7) for n, text in enumerate(footer)),
            ),
        )
        for number in range(1, pages + 1)
    ]


@pytest.mark.parametrize(
    ("text", "name", "mail", "order"),
    [
        (
            "Licensed to Petra Quist <p.quist@mailbox.example> - order A-77120",
            "Petra Quist",
            "p.quist@mailbox.example",
            "A-77120",
        ),
        ("This pattern was purchased by Jane O'Hara, order no. 2231", "Jane O'Hara", None, "2231"),
        ("Prepared exclusively for Dorrit Lamb (order #77120) on 2024-03-01", "Dorrit Lamb", None, "77120"),
        ("© 2024 Larkrise Patterns, licensed to Jane Holt, order no. 2231", "Jane Holt", None, "2231"),
        (
            "This pattern was purchased by Dr. Ursula von der Heide on 12.03.2024 14:02",
            "Dr. Ursula von der Heide",
            None,
            None,
        ),
        (
            "Lizenziert für Edda Winterkorn, edda@korn.example, Bestellung 77-1904",
            "Edda Winterkorn",
            "edda@korn.example",
            "77-1904",
        ),
        ("Gekauft von: Frau Marta Klee | Rechnungsnummer RE-2024-118", "Marta Klee", None, "RE-2024-118"),
        (
            "Acheté par Solène Marchais (solene@courrier.example), commande n° 20231187",
            "Solène Marchais",
            "solene@courrier.example",
            "20231187",
        ),
        (
            "Gekocht door: Joke van der Berg - joke@post.example - bestelnummer 4471",
            "Joke van der Berg",
            "joke@post.example",
            "4471",
        ),
        (
            "Licencia concedida a María Ortiz López | maria@correo.example | Pedido 88-21",
            "María Ortiz López",
            "maria@correo.example",
            "88-21",
        ),
        (
            "Acquistato da Giulia Fabbri giulia.fabbri@posta.example ordine n. 5512",
            "Giulia Fabbri",
            "giulia.fabbri@posta.example",
            "5512",
        ),
        ("Köpt av Anna-Lena Björk, order 10233", "Anna-Lena Björk", None, "10233"),
        ("Købt af Mette Sørensen mette@post.example ordre nr. 3321", "Mette Sørensen", "mette@post.example", "3321"),
        (
            "Kjøpt av Ingrid Haug · ingrid@post.example · Ordrenummer 90021",
            "Ingrid Haug",
            "ingrid@post.example",
            "90021",
        ),
        (
            "Zakupiony przez: Zofia Łęcka, zofia@poczta.example, zamówienie nr 1029",
            "Zofia Łęcka",
            "zofia@poczta.example",
            "1029",
        ),
        ("Ostaja: Aino Mäkelä, aino@posti.example, tilausnumero 8812", "Aino Mäkelä", "aino@posti.example", "8812"),
        ("ご購入者様：山田花子様 hanako@yubin.example ご注文番号 12345", "山田花子", "hanako@yubin.example", "12345"),
        ("Customer: Jane Doe, jane@doe.example", "Jane Doe", "jane@doe.example", None),
        ("Licensed to: jane@doe.example", None, "jane@doe.example", None),
        ("Personal copy of Marta Klee, do not share", "Marta Klee", None, None),
        ("petra quist p.quist@mailbox.example 100482", "petra quist", "p.quist@mailbox.example", "100482"),
        ("p.quist@mailbox.example #100482", None, "p.quist@mailbox.example", "100482"),
        ("Order 100482", None, None, "100482"),
        ("Order #2210 - Petra Quist - p.quist@mailbox.example", "Petra Quist", "p.quist@mailbox.example", "2210"),
        ("Foxglove Vest - Order 22107", None, None, "22107"),
        ("Purchased by Petra Quist on March 3, 2024 (order no. 2210)", "Petra Quist", None, "2210"),
        ("Kundin: Edda Winterkorn, Bestellnr. 77-1904", "Edda Winterkorn", None, "77-1904"),
        ("Pour l'usage exclusif de Solène Marchais, commande n°88123", "Solène Marchais", None, "88123"),
        ("Licencia: María Ortiz, maria@correo.example", "María Ortiz", "maria@correo.example", None),
        (
            "Licensed to PETRA QUIST ~ ORDER A-77120 ~ p.quist@mailbox.example",
            "PETRA QUIST",
            "p.quist@mailbox.example",
            "A-77120",
        ),
        ("ライセンス：山田花子（hanako@yubin.example）", "山田花子", "hanako@yubin.example", None),
    ],
)
def test_stamps(text: str, name: str | None, mail: str | None, order: str | None) -> None:
    expected = Stamp(name=name, mail=mail, order_number=order)
    assert stamp_of(_pages(text), None) == expected
    assert stamp_of(_pages(text, y=6.0), "Larkrise Patterns") == expected


@pytest.mark.parametrize(
    "text",
    [
        "© 2024 Larkrise Patterns - hello@larkrise.example",
        "Questions? mail anna@larkrise.example #larkriseskirt",
        "Larkrise Patterns · www.larkrise.example · anna@larkrise.example",
        "anna.fabel@post.example",
        "Licensed to the original purchaser for personal use only.",
        "Purchased by you for personal use",
        "Licensed for Personal Use Only",
        "Made for girls age 3",
        "Prepared for 140 cm fabric",
        "Copy for Personal Use",
        "Made with love by Anna Fabel anna@fabel.example",
        "Order the paper pattern at larkrise.example",
        "Bestell-Nr. 4471",
        "Licence: Larkrise Patterns, hello@larkrise.example",
        "Licence: for personal use",
        "Nur für den privaten Gebrauch von Kunden",
        "Exemplaire pour usage privé",
        "Name: Foxglove Vest",
        "Thank you for your order!",
        "Larkrise Patterns - Foxglove Vest - 10482",
        "個人での使用に限ります。",
    ],
)
def test_what_is_no_stamp(text: str) -> None:
    assert stamp_of(_pages(text), "Larkrise Patterns") is None
    assert stamp_of(_pages(text), None) is None


def test_lines_below_a_label_belong_to_it() -> None:
    pages = _pages("Licensed to:", "Petra Quist", "p.quist@mailbox.example", "Order #2210")
    assert stamp_of(pages, None) == Stamp(name="Petra Quist", mail="p.quist@mailbox.example", order_number="2210")


def test_the_shops_own_line_below_a_stamp_is_left_out() -> None:
    pages = _pages("Licensed to Petra Quist", "Questions? hello@larkrise.example")
    assert stamp_of(pages, None) == Stamp(name="Petra Quist")


def test_the_designer_is_never_the_buyer() -> None:
    assert stamp_of(_pages("Licensed to Anna Fabel"), "Anna Fabel") is None


def test_a_stamp_on_the_first_page_only() -> None:
    pages = [*_pages("Licensed to Petra Quist, order 4410", pages=1), *_pages(pages=2)]
    assert stamp_of(pages, None) == Stamp(name="Petra Quist", order_number="4410")


def test_an_order_number_in_the_text_is_no_stamp() -> None:
    pages = pages_of_text("Knit 12 rows in the given order 100482 and turn.\fPurl.")
    assert stamp_of(pages, None) is None


@pytest.mark.parametrize(
    "text",
    [
        "a" * 1_000_000,
        "@" * 1_000_000,
        "licensed to " * 80_000,
        "a@b." * 250_000,
        "\n".join(f"Licensed to X{n} order" for n in range(40_000)),
    ],
    ids=lambda t: t[:12],
)
def test_hostile_text_costs_bounded_time(text: str) -> None:
    started = time.process_time()
    stamp_of(pages_of_text(text), None)
    assert time.process_time() - started < 8


@settings(deadline=None, max_examples=60)
@given(st.from_regex(r"[A-Z][a-z]{2,9} [A-Z][a-z]{2,9}", fullmatch=True), st.integers(1000, 99_999_999))
def test_any_name_and_number_behind_licensed_to(name: str, number: int) -> None:
    stamp = stamp_of(_pages(f"Licensed to {name} - order {number}"), None)
    assert stamp is not None
    assert stamp.order_number == str(number)
    assert stamp.name in (name, None)  # None where a word of it is also a common one ("Use")
