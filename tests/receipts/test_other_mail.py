"""Outlook files, MHTML and webarchives come out as the same mails and pages that were put in."""

from __future__ import annotations

import plistlib
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.receipts.msg_writer import embedded, file_attachment, message, ole
from vault.receipts.mime import parse_mail
from vault.receipts.other_mail import is_mhtml, is_msg, is_webarchive, page_of

HEADERS = (
    "From: Larch & Loom <shop@larch.example>\r\nTo: Ada <ada@post.example>\r\nSubject: =?utf-8?Q?Deine_Bestellung_=C3=BC?=\r\n"
    "Date: Mon, 4 Mar 2024 10:00:00 +0100\r\nMessage-ID: <12@larch.example>\r\n"
    "Content-Type: multipart/alternative; boundary=lost\r\n\r\n"
)


def test_an_outlook_mail_with_its_headers() -> None:
    raw = ole(
        message(
            {
                0x007D: HEADERS,
                0x0037: "Deine Bestellung ü",
                0x1000: "Danke\r\nLinnet Hat 7,00 €\r\n",
                0x1013: "<html><body><p>Mütze 7,00 €</p></body></html>".encode(),
                0x3FDE: 65001,
            },
            attachments=[file_attachment("Größe 38.pdf", "application/pdf", b"%PDF-1.7 " + b"x" * 9000)],
        )
    )
    assert is_msg(raw)
    mail = parse_mail(raw)
    assert (mail.subject, mail.from_address, mail.from_name) == (
        "Deine Bestellung ü",
        "shop@larch.example",
        "Larch & Loom",
    )
    assert mail.message_id == "12@larch.example"
    assert mail.date == datetime(2024, 3, 4, 9, tzinfo=UTC)
    assert mail.text == "Danke\nLinnet Hat 7,00 €\n"
    assert "<p>Mütze 7,00 €</p>" in mail.html
    assert [(a.name, len(a.content)) for a in mail.attachments] == [("Größe 38.pdf", 9009)]


def test_an_outlook_mail_without_headers() -> None:
    raw = ole(
        message(
            {
                0x0037: "Order 12",
                0x0C1A: "Larch & Loom",
                0x0C1F: "shop@larch.example",
                0x0039: datetime(2024, 3, 4, 9, tzinfo=UTC),
                0x1000: "Thanks",
            }
        )
    )
    mail = parse_mail(raw)
    assert (mail.subject, mail.from_address, mail.from_name) == ("Order 12", "shop@larch.example", "Larch & Loom")
    assert mail.date == datetime(2024, 3, 4, 9, tzinfo=UTC)
    assert mail.text == "Thanks"


def test_a_mail_attached_to_an_outlook_mail() -> None:
    inner = message(
        {0x007D: HEADERS.replace("12@", "11@"), 0x1000: "Danke für deine Bestellung", 0x0037: "inner"}, header_size=24
    )
    mail = parse_mail(ole(message({0x0037: "Fwd: order", 0x1000: "see below"}, attachments=[embedded(inner)])))
    (forwarded,) = mail.forwarded
    assert (forwarded.message_id, forwarded.text) == ("11@larch.example", "Danke für deine Bestellung")
    assert forwarded.subject == "Deine Bestellung ü"


def test_an_inline_forward_in_an_outlook_mail() -> None:
    text = "schau\r\n\r\nVon: Larch <shop@larch.example>\r\nGesendet: Montag, 4. März 2024 10:00\r\nAn: Ada\r\nBetreff: Bestellung 7\r\n\r\nDanke"
    (forwarded,) = parse_mail(ole(message({0x0037: "WG: Bestellung 7", 0x1000: text}))).forwarded
    assert (forwarded.subject, forwarded.from_address, forwarded.text) == (
        "Bestellung 7",
        "shop@larch.example",
        "Danke",
    )


MHTML = (
    "From: <Saved by a browser>\r\nSnapshot-Content-Location: https://larch.example/account/orders\r\n"
    "Subject: My orders\r\nMIME-Version: 1.0\r\n"
    'Content-Type: multipart/related; type="text/html"; boundary="----M"\r\n\r\n'
    "------M\r\nContent-Type: text/html\r\nContent-Transfer-Encoding: quoted-printable\r\n"
    "Content-Location: https://larch.example/account/orders\r\n\r\n"
    '<html><head><meta charset=3D"utf-8"></head><body>Gr=C3=B6=C3=9Fe</body></html>\r\n'
    "------M\r\nContent-Type: image/png\r\nContent-Transfer-Encoding: base64\r\nContent-Location: https://larch.example/a.png\r\n\r\niVBO\r\n"
    "------M--\r\n"
)


def test_mhtml() -> None:
    raw = MHTML.encode()
    assert is_mhtml(raw)
    page = page_of(raw)
    assert "Größe" in page.html
    assert page.url == "https://larch.example/account/orders"
    assert not is_mhtml(b"From: a@b.example\r\nTo: c@d.example\r\nContent-Type: multipart/related; boundary=b\r\n\r\n")


@pytest.mark.parametrize("form", [plistlib.FMT_BINARY, plistlib.FMT_XML])
def test_webarchive(form: plistlib.PlistFormat) -> None:
    archive = {
        "WebMainResource": {
            "WebResourceData": "<html><body>Größe</body></html>".encode("utf-16"),
            "WebResourceTextEncodingName": "utf-16",
            "WebResourceURL": "https://larch.example/account",
            "WebResourceMIMEType": "text/html",
        },
        "WebSubresources": [{"WebResourceData": b"x", "WebResourceURL": "https://larch.example/a.png"}],
    }
    raw = plistlib.dumps(archive, fmt=form)
    assert is_webarchive(raw)
    assert page_of(raw).html == "<html><body>Größe</body></html>"
    assert page_of(raw).url == "https://larch.example/account"


def test_a_plain_page() -> None:
    assert page_of("<meta charset=iso-8859-2><p>Kłębuszek".encode("iso-8859-2")).html.endswith("Kłębuszek")


@pytest.mark.parametrize(
    "raw",
    [
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1",
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000),
        ole(message({0x0037: "x"}))[:900],
        b"bplist00",
        b"bplist00" + b"\xff" * 100,
        b"<?xml version='1.0'?><plist><dict><key>WebMainResource</key><string>x</string></dict></plist>",
    ],
)
def test_damaged_wrappings(raw: bytes) -> None:
    assert parse_mail(raw).attachments == ()
    page_of(raw)


@settings(deadline=None, max_examples=60)
@given(st.binary(max_size=300), st.integers(0, 3000), st.integers(0, 255))
def test_any_bytes(raw: bytes, place: int, value: int) -> None:
    parse_mail(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + raw)
    page_of(b"bplist00" + raw)
    damaged = bytearray(ole(message({0x0037: "x", 0x1000: "body", 0x007D: HEADERS})))
    damaged[place % len(damaged)] = value
    parse_mail(bytes(damaged))
