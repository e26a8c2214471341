"""Mails as they are found: charsets, encodings, forwards, attachments, and whatever bytes there are."""

from __future__ import annotations

import base64
import importlib.util
import quopri
import time
from datetime import date
from email import policy
from email.message import EmailMessage
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.receipts.charsets import decode_text
from vault.receipts.mime import parse_mail


def mail_with(content_type: str, body: bytes, *more: str) -> bytes:
    head = "\r\n".join(
        ["From: Larch & Loom <shop@larch.example>", "Subject: x", f"Content-Type: {content_type}", *more]
    )
    return head.encode() + b"\r\n\r\n" + body


# --- charsets: label, bytes, what they mean --------------------------------------------------

CHARSETS = [
    ("utf-8", "Größe – Mütze".encode(), "Größe – Mütze"),
    (None, "Größe – Mütze".encode(), "Größe – Mütze"),
    ("iso-8859-1", "12,50 € “Hülle”".encode("cp1252"), "12,50 € “Hülle”"),  # false label, windows-1252 bytes
    ("iso-8859-1", "Größe".encode(), "Größe"),  # false label, UTF-8 bytes
    ("us-ascii", "Größe".encode("latin-1"), "Größe"),
    ("iso-8859-15", "9 € für Röcke".encode("iso-8859-15"), "9 € für Röcke"),
    ("iso-8859-2", "Zamówienie – kłębuszek".replace("–", "-").encode("iso-8859-2"), "Zamówienie - kłębuszek"),
    ("windows-1250", "wełna, żółty".encode("cp1250"), "wełna, żółty"),
    ("shift_jis", "ダウンロード①".encode("cp932"), "ダウンロード①"),
    ("iso-2022-jp", "針と月".encode("iso2022_jp"), "針と月"),
    (None, "針と月のご注文".encode("iso2022_jp"), "針と月のご注文"),
    ("euc-jp", "針と月".encode("euc_jp"), "針と月"),
    ("utf-8", b"caf\xe9 cr\xe8me", "café crème"),  # false label, windows-1252 bytes
    ("utf-8", "Zu\u0308rich".encode(), "Zürich"),  # NFC
    ("utf-16", "Öl".encode("utf-16"), "Öl"),
    ("x-nonsense", "Öl".encode(), "Öl"),
    ("utf-8", "12,50 €, Größe".encode().decode("cp1252").encode(), "12,50 €, Größe"),  # encoded twice
    ("hex", b"6162", "6162"),  # a codec of Python that is no charset
]


@pytest.mark.parametrize(("label", "data", "text"), CHARSETS)
def test_charsets(label: str | None, data: bytes, text: str) -> None:
    assert decode_text(data, label) == text
    content_type = "text/plain" if label is None else f'text/plain; charset="{label}"'
    encoded = base64.encodebytes(data)
    assert parse_mail(mail_with(content_type, encoded, "Content-Transfer-Encoding: base64")).text == text


def test_meta_charset_of_a_page() -> None:
    data = '<html><head><meta charset="iso-8859-2"></head><body>Kłębuszek</body></html>'.encode("iso-8859-2")
    assert "Kłębuszek" in decode_text(data, None, html=True)


# --- transfer encodings ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("encoding", "body", "text"),
    [
        ("quoted-printable", b"Gr=C3=B6=\r\n=C3=9Fe", "Größe"),
        ("quoted-printable", b"one =  \r\ntwo", "one two"),
        (
            "quoted-printable",
            b'<a href="https://a.example/?d=1&k=ab">x</a>',
            '<a href="https://a.example/?d=1&k=ab">x</a>',
        ),
        ("quoted-printable", b"100=ZZ =", "100=ZZ "),
        ("base64", b"R3LDtsOfZQ==", "Größe"),
        ("base64", b"R3LDtsOf\r\nZQ", "Größe"),
        ("base64", b"R3LDtsOf*ZQ==\r\n-- \r\nunsubscribe!", "Größe"),
        ("8bit", "Größe".encode(), "Größe"),
        ("x-unheard-of", b"plain", "plain"),
    ],
)
def test_transfer_encodings(encoding: str, body: bytes, text: str) -> None:
    raw = mail_with("text/plain; charset=utf-8", body, f"Content-Transfer-Encoding: {encoding}")
    assert parse_mail(raw).text.startswith(text)


def test_a_lost_encoding_field_is_noticed() -> None:
    page = ("<p>Order</p>" + '<a href="https://shop.example/?a=1&b=2">Kleid „Größe“ herunterladen</a>\n') * 6
    quoted = quopri.encodestring(page.encode())
    assert "Größe" in parse_mail(mail_with("text/html; charset=utf-8", quoted)).html
    coded = base64.encodebytes(page.encode())
    assert "Größe" in parse_mail(mail_with("text/html; charset=utf-8", coded)).html


# --- structure -------------------------------------------------------------------------------


def message(subject: str, text: str, html: str | None = None) -> EmailMessage:
    mail = EmailMessage(policy=policy.SMTP)
    mail["From"] = "Larch & Loom <shop@larch.example>"
    mail["To"] = "Ada Winters <ada@post.example>"
    mail["Subject"] = subject
    mail["Date"] = "Tue, 04 Mar 2025 10:00:00 +0100"
    mail.set_content(text)
    if html is not None:
        mail.add_alternative(html, subtype="html")
    return mail


def test_bodies_and_attachments() -> None:
    mail = message("Deine Bestellung", "Danke\n", "<p>Danke</p>")
    mail.add_attachment(b"%PDF-1.7", maintype="application", subtype="pdf", filename="Größe 38.pdf")
    mail.add_attachment(b"\x89PNG", maintype="image", subtype="png", filename="logo.png", cid="<logo>")
    del mail.get_payload()[-1]["Content-Disposition"]  # type: ignore[union-attr,index]
    parsed = parse_mail(mail.as_bytes())
    assert (parsed.text, parsed.html) == ("Danke\n", "<p>Danke</p>\n")
    assert [(a.name, a.content) for a in parsed.attachments] == [("Größe 38.pdf", b"%PDF-1.7")]


def test_attached_forward_of_a_forward() -> None:
    innermost = message("Your order 12", "Thanks for your order\n")
    inner = message("Fwd: Your order 12", "see below\n")
    inner.add_attachment(innermost)
    outer = message("Fwd: Fwd: Your order 12", "for you\n")
    outer.add_attachment(inner)
    assert [m.subject for m in parse_mail(outer.as_bytes()).everything()] == [
        "Fwd: Fwd: Your order 12", "Fwd: Your order 12", "Your order 12",
    ]  # fmt: skip


# The wording of mail programs in the languages, as they write it (common practice, no published source).
FORWARDS = [
    ("en", "---------- Forwarded message ---------\nFrom: {f}\nDate: Fri, 29 Nov 2019 at 09:21\nSubject: {s}\nTo: <a@b.example>\n\n\n{b}"),
    ("en", "> Begin forwarded message:\n> \n> From: {f}\n> Subject: {s}\n> Date: 29 November 2019 at 18:17:50 BST\n> To: a@b.example\n> \n> {b}"),
    ("en", "-----Original Message-----\nFrom: {f}\nSent: Friday, November 29, 2019 9:21 AM\nTo: a@b.example\nSubject: {s}\n\n{b}"),
    ("en", "________________________________\nFrom: {f}\nSent: Friday, November 29, 2019 9:21:10 AM\nTo: a@b.example <a@b.example>\nSubject: {s}\n\n{b}"),
    ("en", "*From:* {f}\n*Sent:* Friday, November 29, 2019 9:21 AM\n*To:* a@b.example\n*Subject:* {s}\n\n{b}"),
    ("de", "-------- Weitergeleitete Nachricht --------\nBetreff: \t{s}\nDatum: \tFri, 29 Nov 2019 09:21:00 +0100\nVon: \t{f}\nAn: \ta@b.example\n\n{b}"),
    ("de", "Anfang der weitergeleiteten Nachricht:\n\nVon: {f}\nBetreff: {s}\nDatum: 29. November 2019 um 09:21:10 MEZ\nAn: a@b.example\n\n{b}"),
    ("de", "Von: {f}\nGesendet: Freitag, 29. November 2019 09:21\nAn: a@b.example\nBetreff: {s}\n\n{b}"),
    ("fr", "---------- Message transféré ---------\nDe : {f}\nDate: ven. 29 nov. 2019 à 09:21\nObjet : {s}\nÀ : <a@b.example>\n\n{b}"),
    ("fr", "De : {f}\nEnvoyé : vendredi 29 novembre 2019 09:21\nÀ : a@b.example\nObjet : {s}\n\n{b}"),
    ("nl", "---------- Doorgestuurd bericht ---------\nVan: {f}\nDatum: vr 29 nov 2019 om 09:21\nOnderwerp: {s}\nAan: <a@b.example>\n\n{b}"),
    ("es", "Inicio del mensaje reenviado:\n\nDe: {f}\nAsunto: {s}\nFecha: 29 de noviembre de 2019, 9:21:10 CET\nPara: a@b.example\n\n{b}"),
    ("it", "---------- Messaggio inoltrato ---------\nDa: {f}\nData: ven 29 nov 2019 alle ore 09:21\nOggetto: {s}\nA: <a@b.example>\n\n{b}"),
    ("sv", "-------- Vidarebefordrat meddelande --------\nÄmne: {s}\nDatum: 29 november 2019\nFrån: {f}\nTill: a@b.example\n\n{b}"),
    ("da", "Start på videresendt besked:\n\nFra: {f}\nEmne: {s}\nDato: 29. november 2019 kl. 09.21.10 CET\nTil: a@b.example\n\n{b}"),
    ("nb", "---------- Videresendt melding ---------\nFra: {f}\nDate: fre. 29. nov. 2019 kl. 09:21\nSubject: {s}\nTo: <a@b.example>\n\n{b}"),
    ("pl", "-------- Przekazana wiadomość --------\nTemat: {s}\nData: 29 listopada 2019 09:21\nOd: {f}\nDo: a@b.example\n\n{b}"),
    ("fi", "-------- Välitetty viesti --------\nAihe: {s}\nPäiväys: 29. marraskuuta 2019\nLähettäjä: {f}\nVastaanottaja: a@b.example\n\n{b}"),
    ("ja", "---------- 転送メッセージ ---------\n差出人: {f}\n日付: 2019年11月29日(金) 9:21\n件名: {s}\n宛先: <a@b.example>\n\n{b}"),
]  # fmt: skip
# The other programs of each language; some leave half of the words in English.
MORE_FORWARDS = [
    "---------- Forwarded message ---------\nVon: {f}\nDate: Fr., 29. Nov. 2019 um 09:21 Uhr\nSubject: {s}\nTo: <a@b.example>\n\n{b}",
    "Von: {f}\nDatum: Freitag, 29. November 2019 um 09:21\nAn: a@b.example\nBetreff: {s}\n{b}",
    "Début du message réexpédié :\n\nDe: {f}\nObjet: {s}\nDate: 29 novembre 2019 à 09:21:10 UTC+1\nÀ: a@b.example\n\n{b}",
    "-------- Message transféré --------\nSujet : \t{s}\nDate : \tFri, 29 Nov 2019 09:21:00 +0100\nDe : \t{f}\nPour : \ta@b.example\n\n{b}",
    "Van: {f}\nVerzonden: vrijdag 29 november 2019 09:21\nAan: a@b.example\nOnderwerp: {s}\n\n{b}",
    "Begin doorgestuurd bericht:\n\nVan: {f}\nOnderwerp: {s}\nDatum: 29 november 2019 om 09:21:10 CET\nAan: a@b.example\n\n{b}",
    "---------- Forwarded message ---------\nDe: {f}\nDate: vie, 29 nov 2019 a las 09:21\nSubject: {s}\nTo: <a@b.example>\n\n{b}",
    "De: {f}\nEnviado el: viernes, 29 de noviembre de 2019 9:21\nPara: a@b.example\nAsunto: {s}\n\n{b}",
    "De: {f}\nEnviado: viernes, 29 de noviembre de 2019 9:21\nPara: a@b.example\nAsunto: {s}\n\n{b}",
    "Da: {f}\nInviato: venerdì 29 novembre 2019 09:21\nA: a@b.example\nOggetto: {s}\n\n{b}",
    "Inizio messaggio inoltrato:\n\nDa: {f}\nOggetto: {s}\nData: 29 novembre 2019 alle ore 09:21:10 CET\nA: a@b.example\n\n{b}",
    "Från: {f}\nSkickat: den 29 november 2019 09:21\nTill: a@b.example\nÄmne: {s}\n\n{b}",
    "---------- Forwarded message ---------\nFrån: {f}\nDate: fre 29 nov. 2019 kl 09:21\nSubject: {s}\nTo: <a@b.example>\n\n{b}",
    "Vidarebefordrat brev:\n\nFrån: {f}\nÄmne: {s}\nDatum: 29 november 2019 09:21:10 CET\nTill: a@b.example\n\n{b}",
    "Fra: {f}\nSendt: 29. november 2019 09:21\nTil: a@b.example\nEmne: {s}\n\n{b}",
    "---------- Forwarded message ---------\nFra: {f}\nDate: fre. 29. nov. 2019 kl. 09.21\nSubject: {s}\nTo: <a@b.example>\n\n{b}",
    "Fra: {f}\nSendt: fredag 29. november 2019 09:21\nTil: a@b.example\nEmne: {s}\n\n{b}",
    "Videresendt melding:\n\nFra: {f}\nEmne: {s}\nDato: 29. november 2019 kl. 09:21:10 CET\nTil: a@b.example\n\n{b}",
    "Od: {f}\nWysłano: piątek, 29 listopada 2019 09:21\nDo: a@b.example\nTemat: {s}\n\n{b}",
    "---------- Forwarded message ---------\nOd: {f}\nDate: pt., 29 lis 2019 o 09:21\nSubject: {s}\nTo: <a@b.example>\n\n{b}",
    "Początek przekazanej wiadomości:\n\nOd: {f}\nTemat: {s}\nData: 29 listopada 2019 09:21:10 CET\nDo: a@b.example\n\n{b}",
    "Lähettäjä: {f}\nLähetetty: perjantai 29. marraskuuta 2019 9.21\nVastaanottaja: a@b.example\nAihe: {s}\n\n{b}",
    "---------- Forwarded message ---------\nLähettäjä: {f}\nDate: pe 29. marrask. 2019 klo 9.21\nSubject: {s}\nTo: <a@b.example>\n\n{b}",
    "Välitetty viesti alkaa:\n\nLähettäjä: {f}\nAihe: {s}\nPäiväys: 29. marraskuuta 2019 klo 9.21.10 EET\nVastaanottaja: a@b.example\n\n{b}",
    "差出人: {f}\n送信日時: 2019年11月29日金曜日 9:21\n宛先: a@b.example\n件名: {s}\n\n{b}",
    "---------- Forwarded message ---------\nFrom: {f}\nDate: 2019年11月29日(金) 9:21\nSubject: {s}\nTo: <a@b.example>\n\n{b}",
    "転送されたメッセージ:\n\n差出人: {f}\n件名: {s}\n日付: 2019年11月29日 9:21:10 JST\n宛先: a@b.example\n\n{b}",
]  # fmt: skip
SENDER, INNER_SUBJECT, INNER = "Larch & Loom <shop@larch.example>", "Order 21594 is complete", "Linnet Hat 12.00"


@pytest.mark.parametrize(("language", "form"), FORWARDS)
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_inline_forwards(language: str, form: str, ending: str) -> None:
    text = "for the folder\n\n" + form.format(f=SENDER, s=INNER_SUBJECT, b=INNER)
    raw = mail_with("text/plain; charset=utf-8", text.replace("\n", ending).encode())
    parsed = parse_mail(raw)
    (inner,) = parsed.forwarded
    assert parsed.text.strip().strip("_").strip() == "for the folder"
    assert (inner.subject, inner.from_address, inner.from_name) == (INNER_SUBJECT, "shop@larch.example", "Larch & Loom")
    assert inner.date is not None
    assert inner.date.date() == date(2019, 11, 29)
    assert inner.text.strip() == INNER
    assert inner.inline
    assert inner.language_hint in (language, "da" if language == "nb" else language)


@pytest.mark.parametrize("form", MORE_FORWARDS)
def test_inline_forwards_of_other_programs(form: str) -> None:
    text = "for the folder\n\n" + form.format(f=SENDER, s=INNER_SUBJECT, b=INNER)
    (inner,) = parse_mail(mail_with("text/plain; charset=utf-8", text.encode())).forwarded
    assert (inner.subject, inner.from_address, inner.text.strip()) == (INNER_SUBJECT, "shop@larch.example", INNER)
    assert inner.date is not None
    assert inner.date.date() == date(2019, 11, 29)


@pytest.mark.parametrize(("language", "form"), FORWARDS)
def test_inline_forwards_in_a_page(language: str, form: str) -> None:
    del language
    head, _, _ = form.format(
        f="Larch &amp; Loom &lt;<a href='mailto:shop@larch.example'>shop@larch.example</a>&gt;", s=INNER_SUBJECT, b="@@"
    ).partition("@@")
    page = "<div>for the folder<br><blockquote>" + head.replace("> ", "").replace("\n", "<br>")
    page += "<table><tr><td>Linnet Hat</td><td>12.00</td></tr></table></blockquote></div>"
    (inner,) = parse_mail(mail_with("text/html; charset=utf-8", page.encode())).forwarded
    assert (inner.subject, inner.from_address) == (INNER_SUBJECT, "shop@larch.example")
    assert "<td>Linnet Hat</td>" in inner.html
    assert INNER_SUBJECT not in inner.html


def test_inline_forward_of_a_forward() -> None:
    once = FORWARDS[0][1].format(f=SENDER, s=INNER_SUBJECT, b=INNER)
    twice = FORWARDS[7][1].format(f="Ada <ada@post.example>", s="Fwd: " + INNER_SUBJECT, b="schau mal\n\n" + once)
    parsed = parse_mail(mail_with("text/plain; charset=utf-8", twice.encode()))
    assert [m.subject for m in parsed.everything()] == ["x", "Fwd: " + INNER_SUBJECT, INNER_SUBJECT]
    assert [m.text.strip() for m in parsed.everything()] == ["", "schau mal", INNER]


@pytest.mark.parametrize(
    "text",
    [
        "Invoice\nFrom: Larch & Loom\nTo: Ada Winters\nDate: 29.11.2019\nTotal: 12.00",
        "Date: 29 November 2019\nOrder: 21594\nTotal: 12.00",
        "From: 12.00\nTo: 14.00",
    ],
)
def test_an_invoice_head_is_no_forward(text: str) -> None:
    assert parse_mail(mail_with("text/plain; charset=utf-8", text.encode())).forwarded == ()


# --- hostile ---------------------------------------------------------------------------------


def test_twenty_thousand_headers() -> None:
    raw = b"From: a@b.example\n" + b"".join(b"X-%d: y\n" % n for n in range(20_000)) + b"Subject: z\n\nbody"
    start = time.process_time()
    parsed = parse_mail(raw)
    assert parsed.from_address == "a@b.example"
    assert parsed.text == "body"
    assert time.process_time() - start < 2


def test_three_hundred_nested_parts() -> None:
    raw = b"From: a@b.example\n"
    for n in range(300):
        raw += b'Content-Type: multipart/mixed; boundary="b%d"\n\n--b%d\n' % (n, n)
    parsed = parse_mail(raw + b"Content-Type: text/plain\n\ndeep")
    assert parsed.from_address == "a@b.example"
    assert "parts nested deeper than are read" in parsed.notes


def test_many_parts_cost_only_themselves() -> None:
    raw = b"From: a@b.example\nContent-Type: multipart/mixed; boundary=b\n\n" + b"--b\n\nx\n" * 50_000
    assert parse_mail(raw).notes


@pytest.mark.parametrize(
    "unit", [b"a", b"<", b" ", b"=?utf-8?q?", b"(", b'"', b"--b\n", b"=", b"From: ", b"\xe3\x81", b">"]
)
def test_a_megabyte_of_one_thing(unit: bytes) -> None:
    many = unit * (1_000_000 // len(unit))
    start = time.process_time()
    for raw in (
        many,
        b"From: " + many + b"\n\n",
        mail_with("text/html", b"<p>" + many),
        mail_with("multipart/mixed; boundary=b", many),
        mail_with("text/plain", many, "Content-Transfer-Encoding: quoted-printable"),
        b"Subject: " + many[:30_000] + b"\nContent-Type: " + many[:30_000] + b"\n\n" + many,
    ):
        parse_mail(raw)
    assert time.process_time() - start < 12


@settings(deadline=None, max_examples=150)
@given(st.binary(max_size=2_000))
def test_any_bytes_are_a_mail(raw: bytes) -> None:
    parse_mail(raw)


FRAGMENTS = st.sampled_from([
    b"From: a <a@b.example>\n", b"Subject: =?utf-8?B?S8O=?=\n", b"Content-Type: multipart/mixed; boundary=b\n", b"\n",
    b"--b\n", b"--b--\n", b"Content-Type: message/rfc822\n", b"Content-Transfer-Encoding: base64\n", b"S8O2\n", b"\r\n",
    b"Content-Type: text/html; charset=utf-7\n", b"---------- Forwarded message ---------\n", b"Date: 1 Jan 2020\n",
    b"> ", b"<br>", b"<style>", b"filename*0*=x'", b"\xff\xfe", b"\x1b$B",
])  # fmt: skip


@settings(deadline=None, max_examples=200)
@given(st.lists(FRAGMENTS, max_size=40))
def test_any_heap_of_mail_fragments_is_a_mail(pieces: list[bytes]) -> None:
    for mail in parse_mail(b"".join(pieces)).everything():
        assert "\x00" not in mail.text + mail.html + mail.subject


def _cpython_mails() -> list[Path]:
    spec = importlib.util.find_spec("test.test_email")
    places = [Path(spec.origin).parent / "data"] if spec and spec.origin else []
    places.append(Path("/usr/lib/python3.11/test/test_email/data"))
    found = next((place for place in places if place.is_dir()), None)
    return sorted(found.glob("msg_*.txt")) if found else []


# Names of attachments in CPython's test mails.
CPYTHON_ATTACHMENTS = {
    "msg_07.txt": ["dingusfish.gif"],
    "msg_13.txt": ["dingusfish.gif"],
    "msg_22.txt": ["wibble.JPG", "wibble2.JPG"],
    "msg_36.txt": ["draft-ietf-mboned-mix-00.txt"],
    "msg_45.txt": ["signature.asc"],
}


@pytest.mark.parametrize("path", _cpython_mails() or [None], ids=lambda p: p.name if p else "none")
def test_cpython_mails(path: Path | None) -> None:
    if path is None:
        pytest.skip("CPython's own test mails are not installed")
    parsed = parse_mail(path.read_bytes())
    names = {a.name for mail in parsed.everything() for a in mail.attachments}
    wanted = {n for n in CPYTHON_ATTACHMENTS.get(path.name, []) if not n.endswith((".asc", "00.txt"))}
    assert wanted <= names
