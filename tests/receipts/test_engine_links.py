"""Links that fetch files and links that do not; whose they are, until when, how often."""

from __future__ import annotations

from datetime import date

import pytest

from tests.receipts.engine_mails import claim
from vault.receipts.downloads import is_download
from vault.receipts.lines import Link
from vault.receipts.words import words_for

HEAD = "<p>Thank you for your order!</p><p>Order number: 1042</p><table><tr><th>Item</th><th>Price</th></tr>"
ITEMS = "<tr><td>Cloche Hat PDF pattern</td><td>£6.00</td></tr><tr><td>Bolero PDF pattern</td><td>£7.00</td></tr><tr><td>Total</td><td>£13.00</td></tr></table>"

FETCHING = [
    ("Download", "https://capbells.example/x/1"),
    ("Download now", "https://capbells.example/?download_file=7&key=a"),
    ("hat-a4.pdf", "https://capbells.example/get/9"),
    ("Cloche Hat", "https://capbells.example/files/hat.pdf"),
    ("Get your files", "https://capbells.example/d/abc"),
    ("Download Cloche Hat (A4)", "https://track.capbells.example/c/abc?u=1"),
    ("Jetzt herunterladen", "https://capbells.example/x/1"),
    ("Télécharger", "https://capbells.example/x/1"),
    ("Ladda ner", "https://capbells.example/x/1"),
    ("ダウンロード", "https://capbells.example/x/1"),
]
NOT_FETCHING = [
    ("View order", "https://capbells.example/orders/1042"),
    ("Unsubscribe", "https://capbells.example/unsubscribe?u=1"),
    ("Cloche Hat PDF pattern", "https://capbells.example/products/cloche-hat"),
    ("Track your parcel", "https://post.example/track/AB1"),
    ("Download our app", "https://capbells.example/app"),
    ("Download invoice", "https://capbells.example/invoice/1042.html"),
    ("Follow us", "https://social.example/capbells"),
    ("", "https://capbells.example/logo.png"),
    ("Contact us", "mailto:help@capbells.example"),
    ("Download", "javascript:alert(1)"),
    ("Shop", "https://capbells.example/"),
]


@pytest.mark.parametrize(("label", "url"), FETCHING)
def test_links_that_fetch(label: str, url: str) -> None:
    languages = ("en", "de", "fr", "sv", "ja")
    assert any(is_download(Link(label, url), words_for(language)) for language in languages)


@pytest.mark.parametrize(("label", "url"), NOT_FETCHING)
def test_links_that_do_not(label: str, url: str) -> None:
    assert not is_download(Link(label, url), words_for("en"))


def test_a_link_in_the_row_is_the_items() -> None:
    rows = "".join(
        f"<tr><td>{t} PDF pattern</td><td><a href='https://capbells.example/d/{n}'>Download</a></td><td>£{p}.00</td></tr>"
        for n, (t, p) in enumerate([("Cloche Hat", 6), ("Bolero", 7)])
    )
    one = claim(
        f"{HEAD.replace('<th>Price', '<th>Download</th><th>Price')}{rows}<tr><td></td><td>Total</td><td>£13.00</td></tr></table>"
    )
    assert [[k.url[-1] for k in i.links] for i in one.items] == [["0"], ["1"]]


def test_links_below_that_name_the_items() -> None:
    links = "<p><a href='https://capbells.example/d/b'>Download Bolero</a></p><p><a href='https://capbells.example/d/h'>Download Cloche Hat</a></p>"
    one = claim(HEAD + ITEMS + links)
    assert [[k.url[-1] for k in i.links] for i in one.items] == [["h"], ["b"]]


def test_a_link_for_everything_is_the_orders() -> None:
    one = claim(HEAD + ITEMS + "<p><a href='https://capbells.example/d/all'>Download all files</a></p>")
    assert [k.url[-3:] for k in one.links] == ["all"]
    assert all(i.links == () for i in one.items)


@pytest.mark.parametrize(
    ("terms", "until", "times"),
    [
        ("The links expire on 30 June 2024.", date(2024, 6, 30), None),
        ("The download links are valid for 14 days.", date(2024, 6, 17), None),
        ("Your download link works for 48 hours.", date(2024, 6, 5), None),
        ("You can download each file up to 3 times within 30 days.", date(2024, 7, 3), 3),
        ("Downloads remaining: 5", None, 5),
        ("The link never expires.", None, None),
        ("Use code SUMMER for 10% off, valid until 30 June 2024.", None, None),
        ("You may return goods within 14 days.", None, None),
    ],
)
def test_until_when_and_how_often(terms: str, until: date | None, times: int | None) -> None:
    one = claim(HEAD + ITEMS + f"<p><a href='https://capbells.example/d/all'>Download all files</a></p><p>{terms}</p>")
    (link,) = one.links
    assert (link.expires_on, link.downloads_left) == (until, times)


def test_terms_in_a_row_are_the_rows() -> None:
    one = claim(
        "<p>Thank you for your order!</p><p>Order number: 1042</p><table><tr><th>Product</th><th>Expires</th><th>Downloads remaining</th><th>Download</th></tr>"
        "<tr><td>Cloche Hat pattern</td><td>30 June 2024</td><td>3</td><td><a href='https://capbells.example/d/1'>hat.pdf</a></td></tr>"
        "<tr><td>Bolero pattern</td><td>Never</td><td>∞</td><td><a href='https://capbells.example/d/2'>bolero.pdf</a></td></tr></table>"
    )
    terms = [(k.expires_on, k.downloads_left) for i in one.items for k in i.links]
    assert terms == [(date(2024, 6, 30), 3), (None, None)]


@pytest.mark.parametrize(
    ("text", "promised"),
    [
        ("Cloche Hat pattern (A4, A0 and US Letter)", {"A4", "A0", "Letter"}),
        ("Cloche Hat pattern with projector file and instructions", {"projector", "instructions"}),
        ("Cloche Hat pattern, sizes 36-46", {"36-46"}),
        ("Cloche Hat pattern", set()),
    ],
)
def test_parts_that_are_promised(text: str, promised: set[str]) -> None:
    body = f"{HEAD}<tr><td>{text}</td><td>£6.00</td></tr><tr><td>Total</td><td>£6.00</td></tr></table>"
    assert promised <= set(claim(body).items[0].promised)
    assert bool(promised) == bool(claim(body).items[0].promised)
