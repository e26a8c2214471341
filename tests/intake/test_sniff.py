"""What a file is, by its bytes."""

from __future__ import annotations

import io
import time
import zipfile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.intake.sniff import FileKind, inside_zip, sniff

MAIL = b"From: shop@thimblewick.example\r\nSubject: Your order\r\nDate: Sun, 1 Mar 2026 10:00:00 +0100\r\n\r\nHello\r\n"
MBOX = b"From shop@thimblewick.example Sun Mar  1 10:00:00 2026\n" + MAIL.replace(b"\r\n", b"\n")
ZIP = b"PK\x03\x04\x14\0\0\0\0\0"
PNG = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"
OUTLOOK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 64 + "__properties_version1.0".encode("utf-16-le")

CASES = [
    ("empty.pdf", b"", FileKind.EMPTY, "application/x-empty"),
    ("a.pdf", b"%PDF-1.7\n%\xe2\xe3", FileKind.PDF, "application/pdf"),
    ("late", b"\r\n\0junk before " * 9 + b"%PDF-1.4", FileKind.PDF, "application/pdf"),
    ("order.eml", MAIL, FileKind.MAIL, "message/rfc822"),
    ("1234.M5P6.host:2,S", MAIL.replace(b"\r\n", b"\n"), FileKind.MAIL, "message/rfc822"),
    ("Inbox", MBOX, FileKind.MAILBOX, "application/mbox"),
    ("crlf.mbox", MBOX.replace(b"\n", b"\r\n"), FileKind.MAILBOX, "application/mbox"),
    ("page.html", b"<!DOCTYPE html><html><body>Order</body></html>", FileKind.PAGE, "text/html"),
    ("page", b"\xef\xbb\xbf\n<!-- saved from url=(0042)https://x.example -->\n<html>", FileKind.PAGE, "text/html"),
    ("p.html", "<html><body>Bestellung</body></html>".encode("utf-16"), FileKind.PAGE, "text/html"),
    ("xhtml", b"<?xml version='1.0'?><!DOCTYPE html PUBLIC '-//W3C'><html xmlns='x'>", FileKind.PAGE, "text/html"),
    ("x.pdf", b"<html><head><title>404</title></head></html>", FileKind.PAGE, "text/html"),
    ("stored.zip", b"PK\x03\x04" + b"\0" * 26 + b"A4.pdf%PDF-1.4", FileKind.ZIP, "application/zip"),
    ("m.eml", MAIL + b"%PDF-1.4", FileKind.MAIL, "message/rfc822"),
    ("x.pdf", b"<p>see %PDF-1.4</p>", FileKind.PAGE, "text/html"),
    (
        "saved.mht",
        b"From: <Saved by a browser>\r\nSnapshot-Content-Location: https://x.example\r\nSubject: Orders\r\n"
        b"MIME-Version: 1.0\r\nContent-Type: multipart/related; boundary=x\r\n\r\n",
        FileKind.PAGE,
        "multipart/related",
    ),
    ("p.webarchive", b"bplist00\xd1\x01\x02_\x10\x0fWebMainResource", FileKind.PAGE, "application/x-webarchive"),
    ("order.msg", OUTLOOK, FileKind.OUTLOOK_MAIL, "application/vnd.ms-outlook"),
    ("mail", OUTLOOK, FileKind.OUTLOOK_MAIL, "application/vnd.ms-outlook"),
    ("letter.doc", OUTLOOK[:64], FileKind.OFFICE, "application/x-ole-storage"),
    ("o.csv", b"date,order,title\n2026-03-01,TW-1,Skirt\n", FileKind.TABLE, "text/csv"),
    ("o.csv", b"Datum;Titel\n1.3.2026;Rock\n", FileKind.TABLE, "text/csv"),
    ("o.tsv", b"date\ttitle\n2026-03-01\tSkirt\n", FileKind.TABLE, "text/csv"),
    ("export", b"a;b;c;d\n1;2;3;4\n1;2;3;4\n", FileKind.TABLE, "text/csv"),
    ("one.csv", b"no table at all\n", FileKind.TEXT, "text/plain"),
    ("note.txt", b"Order, thank you, bye\nTotal, 9\n", FileKind.TEXT, "text/plain"),
    ("note.txt", "Größe 38, Kleid\n".encode("cp1252"), FileKind.TEXT, "text/plain"),
    ("ja.txt", "ご注文".encode("iso2022_jp"), FileKind.TEXT, "text/plain"),
    ("a.zip", ZIP, FileKind.ZIP, "application/zip"),
    ("empty.zip", b"PK\x05\x06" + b"\0" * 18, FileKind.ZIP, "application/zip"),
    ("a.pdf", PNG, FileKind.PICTURE, "image/png"),
    ("a.jpg", b"\xff\xd8\xff\xe0\0\x10JFIF", FileKind.PICTURE, "image/jpeg"),
    ("a.gif", b"GIF89a\1\0", FileKind.PICTURE, "image/gif"),
    ("a.webp", b"RIFF\x10\0\0\0WEBPVP8 ", FileKind.PICTURE, "image/webp"),
    ("a.heic", b"\0\0\0\x18ftypheic\0\0\0\0", FileKind.PICTURE, "image/heic"),
    ("a.bmp", b"BM\x36\0\0\0\0\0\0\0\x36\0\0\0\x28\0\0\0\1\0\0\0", FileKind.PICTURE, "image/bmp"),
    ("bm.txt", b"BM is what we call the stage manager", FileKind.TEXT, "text/plain"),
    ("a.svg", b"<?xml version='1.0'?>\n<svg xmlns='http://www.w3.org/2000/svg'>", FileKind.CUTTING, "image/svg+xml"),
    ("b", b"<!-- made by hand -->\n<svg width='90mm'><title>x</title>", FileKind.CUTTING, "image/svg+xml"),
    ("c.html", b"<html><body><svg></svg></body></html>", FileKind.PAGE, "text/html"),
    ("a.dxf", b"  0\r\nSECTION\r\n  2\r\nHEADER\r\n", FileKind.CUTTING, "image/vnd.dxf"),
    ("a.dxf", b"999\nmade by hand\n0\nSECTION\n2\nENTITIES\n", FileKind.CUTTING, "image/vnd.dxf"),
    ("b.dxf", b"AutoCAD Binary DXF\r\n\x1a\0", FileKind.CUTTING, "image/vnd.dxf"),
    ("a.eps", b"%!PS-Adobe-3.0 EPSF-3.0", FileKind.CUTTING, "application/postscript"),
    ("a.pes", b"#PES0060\x10\0\0\0", FileKind.STITCHES, "application/x-pes"),
    ("a.dst", b"LA:FLOWER          \rST:    950\rCO:  3\r", FileKind.STITCHES, "application/x-dst"),
    ("a.vp3", b"%vsm%\0\0\x3a", FileKind.STITCHES, "application/x-vp3"),
    ("a.jef", b"\x74\0\0\0\x0a\0\0\0\x14\0\0\0", FileKind.STITCHES, "application/x-jef"),
    ("a.EXP", b"\x80\1\0\0\5\3", FileKind.STITCHES, "application/x-exp"),
    ("a.rar", b"Rar!\x1a\x07\1\0", FileKind.ARCHIVE, "application/vnd.rar"),
    ("a.7z", b"7z\xbc\xaf\x27\x1c\0\4", FileKind.ARCHIVE, "application/x-7z-compressed"),
    ("a.exe", b"MZ\x90\0\3", FileKind.OTHER, "application/x-msdownload"),
    ("a.mp4", b"\0\0\0\x20ftypisom\0\0", FileKind.OTHER, "video/mp4"),
    ("a.bin", b"\0\1\2\3\4\xff\xfe" * 40, FileKind.OTHER, None),
    ("notes.rtf", b"{\\rtf1\\ansi", FileKind.OFFICE, "application/rtf"),
]


@pytest.mark.parametrize(("name", "head", "kind", "media_type"), CASES, ids=[f"{c[0]}-{c[2]}" for c in CASES])
def test_a_file_is_known_by_its_bytes(name: str, head: bytes, kind: FileKind, media_type: str | None) -> None:
    sniffed = sniff(head, name)
    assert sniffed.kind is kind
    assert media_type in (None, sniffed.media_type)


@pytest.mark.parametrize(
    ("member", "kind"),
    [
        ("xl/workbook.xml", FileKind.SHEET),
        ("word/document.xml", FileKind.OFFICE),
        ("META-INF/container.xml", FileKind.OFFICE),
        ("A4.pdf", None),
    ],
)
def test_a_zip_is_known_by_its_names(member: str, kind: FileKind | None) -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as made:
        made.writestr(member, b"x")
    with zipfile.ZipFile(buffer) as made:
        found = inside_zip(frozenset(made.namelist()))
    assert (found.kind if found else None) is kind


@settings(deadline=None, max_examples=200)
@given(head=st.binary(max_size=600), name=st.text(max_size=12))
def test_any_bytes_are_something(head: bytes, name: str) -> None:
    sniffed = sniff(head, name)
    assert "/" in sniffed.media_type
    assert (sniffed.kind is FileKind.EMPTY) == (not head)


@pytest.mark.parametrize("filler", [b"a", b"<", b" ", b"\n", b"<!--", b'"', b";", b"From ", b"999\n", b"a:b\n"])
def test_a_megabyte_of_one_thing_takes_no_time(filler: bytes) -> None:
    begun = time.process_time()
    sniff((filler * (1 << 20))[: 1 << 20], "x.csv")
    assert time.process_time() - begun < 1.0
