"""Documents of several orders, names that are none, counts and sums in other words: invented shops, all languages."""

from __future__ import annotations

from decimal import Decimal

import pytest

from vault.model.evidence import DocumentReading, EvidenceKind
from vault.receipts.read import read
from vault.receipts.titles import is_format, speaks, tell
from vault.receipts.words import words_for


def _page(title: str, body: str, language: str = "en") -> DocumentReading:
    html = f'<html lang="{language}"><head><title>{title}</title></head><body>{body}</body></html>'
    return read(EvidenceKind.PAGE, html.encode(), name="saved.html")


def _mail(subject: str, body: str, sender: str = "Prompt Box <hello@promptbox.example>") -> DocumentReading:
    head = f"From: {sender}\nTo: wanda@lantern.example\nSubject: {subject}\nDate: Mon, 3 Jun 2024 10:00:00 +0000\n"
    kind = "Content-Type: text/plain; charset=utf-8\n\n"
    return read(EvidenceKind.MAIL, (head + kind + body).encode(), name="m.eml")


_NUMBER_FIRST = (
    "<h1>Gaslight Cuts</h1><h2>My orders</h2>"
    "<section><h3>Order number: 31-1</h3><p>Date: 4 May 2021</p><p>Total: £7.00</p>"
    "<ul><li>Toga pattern <em>£7.00</em></li></ul></section>"
    "<section><h3>Order number: 31-9</h3><p>Date: 9 June 2022</p><p>Total: £11.00</p>"
    "<ul><li>Ruff pattern <em>£5.00</em></li><li>Hose pattern <em>£6.00</em></li></ul></section>"
)
_LINKED_CODES = (
    "<h1>Order history</h1>"
    "<article><header><span>4 May 2021</span> <a href='https://gaslight.example/o/G-31'>G-31</a></header>"
    "<div>Toga pattern £7.00</div><footer>Order total £7.00</footer></article>"
    "<article><header><span>9 June 2022</span> <a href='https://gaslight.example/o/G-32'>G-32</a></header>"
    "<div>Ruff pattern £5.00</div><div>Hose pattern £6.00</div><footer>Order total £11.00</footer></article>"
)
_SMALL_LABELS = "<h1>Order history</h1>" + "".join(
    f"<div><div><small>Order</small><div>{code}</div></div><div><small>Placed on</small><div>{day}</div></div>"
    f"<div><small>Total</small><div>£{total}</div></div>{items}</div>"
    for code, day, total, items in (
        ("20210031", "4 May 2021", "7.00", "<div>Toga pattern</div><div>1 × £7.00</div>"),
        (
            "20220032",
            "9 June 2022",
            "11.00",
            "<div>Ruff pattern</div><div>1 × £5.00</div><div>Hose pattern</div><div>1 × £6.00</div>",
        ),
    )
)


@pytest.mark.parametrize("body", [_NUMBER_FIRST, _LINKED_CODES, _SMALL_LABELS], ids=["number", "code", "labels"])
def test_each_order_of_an_account_page_keeps_its_items(body: str) -> None:
    claims = _page("My orders | Gaslight Cuts", body).claims
    assert [c.total for c in claims] == [Decimal("7.00"), Decimal("11.00")]
    assert [[i.title for i in c.items] for c in claims] == [["Toga pattern"], ["Ruff pattern", "Hose pattern"]]
    assert {c.seller for c in claims} == {"Gaslight Cuts"}
    assert [c.purchased_on.isoformat() for c in claims if c.purchased_on] == ["2021-05-04", "2022-06-09"]


def test_codes_that_head_goods_are_no_orders() -> None:
    body = _LINKED_CODES.replace("Order history", "Spring catalogue").replace("Order total", "Price")
    assert _page("Spring catalogue | Gaslight Cuts", body).claims == ()


def test_a_list_of_orders_that_cannot_be_read_is_a_problem() -> None:
    body = "<h1>My orders</h1><p>4 May 2021</p><p>for £7.00 in all</p><p>9 June 2022</p><p>for £11.00 in all</p>"
    reading = _page("My orders | Gaslight Cuts", body)
    assert reading.claims or reading.problems


@pytest.mark.parametrize(
    ("language", "title"),
    [
        ("de", "Meine Bestellungen"),
        ("sv", "Mina köp"),
        ("ja", "購入履歴"),
        ("it", "I miei ordini"),
        ("en", "My orders"),
    ],
)
def test_a_page_is_not_its_seller(language: str, title: str) -> None:
    claims = _page(f"{title} | Zopf und Zwirn", f"<h1>{title}</h1>" + _NUMBER_FIRST[33:], language).claims
    assert {c.seller for c in claims} == {"Zopf und Zwirn"}


@pytest.mark.parametrize(
    ("subject", "body"),
    [
        ("I: Ordine", "Buongiorno,\n\nin allegato.\n\nBottega Sipario s.r.l.\nCap. Soc. € 10.000,00 i.v.\n"),
        ("PI", "Dear Sirs,\n\nplease check the invoice.\n\nCREDIT NOTE BX/CN/06   -198.90 USD\n"),
    ],
    ids=["a word and a sum", "a credit note"],
)
def test_a_word_and_a_sum_are_no_purchase(subject: str, body: str) -> None:
    assert _mail(subject, body, "Aldo Quinta <aldo@quinta.example>").claims == ()


def test_what_was_paid_for_all_orders_is_the_total_of_none() -> None:
    body = (
        "Thank you for your purchase!\n\nSeller: Pin Loft\nOrder no. B-711\n"
        "1 x Toga pattern PDF   £7.00\nTotal  £7.00\n\n"
        "Seller: Ruff House\nOrder no. B-712\n1 x Ruff pattern PDF   £5.00\n\nYou paid: £12.00\n"
    )
    claims = _mail("Your orders", body).claims
    assert [c.total for c in claims] in ([Decimal("7.00"), None], [Decimal("7.00"), Decimal("5.00")])


def test_names_with_addresses_below_your_files_are_downloads() -> None:
    body = (
        "Thank you for your order PB-88!\n\nToga pattern (PDF)    £7.00\nTotal    £7.00\n\n"
        "Download your patterns here:\n\nToga: https://promptbox.example/x/1\n\nFollow us: https://elsewhere.example/pb\n"
    )
    (claim,) = _mail("Your order PB-88", body).claims
    assert [k.url for k in claim.items[0].links] == ["https://promptbox.example/x/1"]
    assert claim.links == ()


@pytest.mark.parametrize(
    ("language", "text", "title", "quantity"),
    [
        ("de", "1 Stück Schnittmuster Mamsell", "Schnittmuster Mamsell", 1),
        ("da", "2 stk. Snitmønster ører", "Snitmønster ører", 2),
        ("sv", "1 st Stickmönster Fyr", "Stickmönster Fyr", 1),
        ("ja", "・袴の型紙 1点", "袴の型紙", 1),
        ("ja", "羽織型紙 数量 3", "羽織型紙", 3),
        ("en", "50 pcs Snap fasteners", "50 pcs Snap fasteners", None),  # a pack
        ("en", "12 Days of Ruffles", "12 Days of Ruffles", None),
    ],
)
def test_a_count_with_its_unit_is_no_part_of_a_title(
    language: str, text: str, title: str, quantity: int | None
) -> None:
    told = tell(text, words_for(language))
    assert (told.title, told.quantity) == (title, quantity)


@pytest.mark.parametrize(
    ("language", "label", "concept"),
    [
        ("en", "Shop total", "total"),
        ("fi", "Summa yhteensä", "total"),
        ("de", "Neukundenrabatt", "discount"),
        ("nl", "Zomerkorting", "discount"),
    ],
)
def test_labels_of_sums_are_known_by_their_last_word(language: str, label: str, concept: str) -> None:
    assert concept in words_for(language).label(label)


@pytest.mark.parametrize("title", ["Wrap dress", "Total eclipse shawl", "Zwirnhexe", "Karottenhose"])
def test_titles_are_no_labels_of_sums(title: str) -> None:
    assert words_for("de").label(title) == () == words_for("en").label(title)


def test_sentences_and_formats_are_no_names() -> None:
    assert speaks("You did it! Your purchase is confirmed.")
    assert not speaks("Frau Holle No. 7 Umhang")
    assert is_format("Maat 36-46 · pdf", words_for("nl")) and not is_format("Naaipatroon jas", words_for("nl"))


@pytest.mark.parametrize("sign", ["a", " ", ".", "! a ", "1 "])
def test_long_lines_take_no_time(sign: str) -> None:
    text = (sign * 1_000_000)[:1_000_000]
    assert tell(text, words_for("en")) is not None and not speaks(text[:-1] + "x")
