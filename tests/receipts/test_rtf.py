"""RTF bodies of Outlook: the published examples of the unpacking, and pages that come out as they went in."""

from __future__ import annotations

import struct
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.receipts.msg_writer import message, ole
from vault.model.evidence import EvidenceKind
from vault.receipts.mime import parse_mail
from vault.receipts.read import read
from vault.receipts.rtf import body_of, decompressed, unwrapped

# [MS-OXRTFCP] section 3: "Compressing RTF" with and without a run that crosses the write position, and what they hold.
EXAMPLES = [
    (
        "2d0000002b0000004c5a4675f1c5c7a703000a007263706731323542320af32068656c090020627705b06c647d0a800fa0",
        b"{\\rtf1\\ansi\\ansicpg1252\\pard hello world}\r\n",
    ),
    ("1a0000001c0000004c5a4675e2d44b51410004205758595a0d6e7d010eb0", b"{\\rtf1 WXYZWXYZWXYZWXYZWXYZ}"),
]


@pytest.mark.parametrize(("packed", "rtf"), EXAMPLES)
def test_the_published_examples(packed: str, rtf: bytes) -> None:
    assert decompressed(bytes.fromhex(packed)) == rtf


def packed(rtf: bytes) -> bytes:
    """RTF with the header of the compressed form and not compressed: [MS-OXRTFCP] 2.1.3.1, MELA."""
    return struct.pack("<IIII", len(rtf) + 12, len(rtf), 0x414C454D, 0) + rtf


# After the example of [MS-OXRTFEX] 3.1: a style with braces, text between tags, what is only for RTF readers.
PAGE = rb"""{\rtf1\ansi\ansicpg1252\fromhtml1 \deff0
{\fonttbl {\f0\fmodern Courier New;}{\f1\fswiss\fcharset238 Arial;}{\f2\fnil\fcharset128 Gothic;}}
{\colortbl\red0\green0\blue0;\red0\green0\blue255;}
{\*\htmltag64}\uc1\pard\plain\deftab360 \f0\fs24
{\*\htmltag <html><head><style>\par BODY \{font-family:Verdana\}\par </style></head><body><p>}
\htmlrtf \f1 \htmlrtf0 Danke! {\*\htmltag <b>}{\htmlrtf \b \htmlrtf0 Gr\'f6\'dfe 38{\*\htmltag </b>}}
\htmlrtf \par \htmlrtf0 {\*\htmltag </p><p>}{\htmlrtf\f1\htmlrtf0 K\'b3\'eabuszek}, 7,00 \u8364?{\*\mhtmltag <a href="x">}
{\f2\'92\'8d\'95\'b6} \u-10179?\u-8704? \{x\} \ldblquote a\rdblquote{\*\unknown gone}
{\*\htmltag </p></body></html>}}"""


def test_a_page_in_rtf() -> None:
    html = unwrapped(PAGE).html
    assert "<style>\n BODY {font-family:Verdana}\n </style>".replace("\n ", "\n") in html.replace("\n ", "\n")
    assert "Danke! <b>Größe 38</b>" in html
    assert "Kłębuszek, 7,00 €" in html
    assert "注文 😀 {x} &ldquo;a&rdquo;" in html
    assert not {"gone", "Courier", 'href="x"', "\\"} & set(html.split()) and "Courier" not in html
    assert unwrapped(PAGE).text == ""


def test_text_in_rtf() -> None:
    said = rb"{\rtf1\ansi\ansicpg1250\fromtext{\fonttbl{\f0 A;}}\pard Dzi\'eakujemy\par Suma: 12,00 z\'b3\line x\tab y}"
    assert unwrapped(said).text == "Dziękujemy\nSuma: 12,00 zł\nx\ty"
    assert unwrapped(rb"{\rtf1\ansi{\info{\title no}}Thanks\par 5.00{\pict 00ff}}").text == "Thanks\n5.00"


ORDER = rb"""{\rtf1\ansi\ansicpg1252\fromhtml1 {\*\htmltag <html><body><p>}Thank you for your order!{\*\htmltag </p><p>}Order number: 1042
{\*\htmltag </p><table><tr><th>}Item{\*\htmltag </th><th>}Price{\*\htmltag </th></tr><tr><td>}Linnet Hat (PDF)
{\*\htmltag </td><td>}7.00 EUR{\*\htmltag </td></tr><tr><td>}Total{\*\htmltag </td><td>}7.00 EUR{\*\htmltag </td></tr></table></body></html>}}"""


def test_an_order_that_is_kept_as_rtf_only() -> None:
    headers = (
        "From: Larch & Loom <shop@larch.example>\r\nSubject: Your order\r\nDate: Mon, 4 Mar 2024 10:00:00 +0100\r\n\r\n"
    )
    raw = ole(message({0x007D: headers, 0x0037: "Your order", 0x1009: packed(ORDER)}))
    assert "<td>Linnet Hat (PDF)" in parse_mail(raw).html
    (claim,) = read(EvidenceKind.MAIL, raw).claims
    assert (claim.order_number, str(claim.total), claim.currency) == ("1042", "7.00", "EUR")
    assert [item.title for item in claim.items] == ["Linnet Hat (PDF)"]
    text = ole(message({0x007D: headers, 0x1009: packed(rb"{\rtf1\ansi Thanks\par for it}")}))
    assert parse_mail(text).text == "Thanks\nfor it"


@settings(deadline=None, max_examples=150)
@given(st.binary(max_size=300), st.sampled_from([0x75465A4C, 0x414C454D, 7]), st.integers(0, 2**32 - 1))
def test_any_bytes(content: bytes, kind: int, size: int) -> None:
    body_of(struct.pack("<IIII", len(content) + 12, size, kind, 0) + content)
    body_of(content)
    unwrapped(b"{\\rtf1\\fromhtml1 " + content)


@pytest.mark.parametrize(
    "unit", [b"{", b"}", b"\\", b"\\'", b"\\u1?", b"a", b"\\par", b"{\\*\\htmltag ", b"\\'e4", b"\r\n"]
)
def test_a_megabyte_of_one_thing(unit: bytes) -> None:
    start = time.process_time()
    unwrapped(b"{\\rtf1\\fromhtml1 " + unit * (1_000_000 // len(unit)))
    assert time.process_time() - start < 6
    # 16 MB out of two kilobytes of references to themselves are bounded by what the header says and by the limit
    assert (
        len(decompressed(struct.pack("<IIII", 3000, 2**31, 0x75465A4C, 0) + b"\xff" + b"\x00\x0f" * 1400)) <= 16 << 20
    )
