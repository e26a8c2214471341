"""Whole or not: downloads that broke off, error pages, and what is merely untidy."""

from __future__ import annotations

import io
from pathlib import Path

import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from makers import tiles_that_stop_at_the_frame
from rawpdf import RawPdf, words

from vault.patterns.damage import is_cut_off, looks_like_error_page
from vault.patterns.pdf import read_pdf
from vault.patterns.read import read_file


def _saved(**options: object) -> bytes:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(tiles_that_stop_at_the_frame().data)) as pdf:
        pdf.save(out, **options)  # type: ignore[arg-type]
    return out.getvalue()


FORMS = {
    "classic": tiles_that_stop_at_the_frame().data,
    "object streams": _saved(object_stream_mode=pikepdf.ObjectStreamMode.generate),
    "linearised": _saved(linearize=True),
}


@pytest.mark.parametrize("form", FORMS)
def test_whole_files_are_whole(form: str) -> None:
    reading = read_pdf(FORMS[form])
    assert (reading.damaged, reading.truncated, reading.n_pages) == (None, False, 9)


@pytest.mark.parametrize("form", FORMS)
@settings(deadline=None, max_examples=40)
@given(share=st.floats(0.02, 0.985))
def test_a_download_that_broke_off_is_damaged(form: str, share: float) -> None:
    whole = FORMS[form]
    reading = read_pdf(whole[: int(len(whole) * share)])
    assert reading.damaged is not None
    assert reading.truncated


@pytest.mark.parametrize("form", FORMS)
def test_a_file_reserved_on_the_disk_and_not_filled_is_damaged(form: str) -> None:
    whole = FORMS[form]
    half = whole[: len(whole) // 2]
    reading = read_pdf(half + bytes(len(whole) - len(half) + 8_192))
    assert reading.damaged is not None


UNTIDY = {
    "wrong cross-reference offset": lambda d: d.replace(b"startxref\n", b"startxref\n9"),
    "startxref 0": lambda d: d[: d.rindex(b"startxref")] + b"startxref\n0\n%%EOF\n",
    "no final line break": lambda d: d.rstrip(b"\n"),
    "a web page after the end": lambda d: d + b"\n<!-- served by cache 7 -->\n<html></html>\n",
    "blanks after the end": lambda d: d + b"\r\n" * 400,
    "zeros after the end": lambda d: d + bytes(900),
    "junk before the header": lambda d: b"\r\n\r\nContent-Type: application/pdf\r\n\r\n" + d,
    "byte order mark before the header": lambda d: b"\xef\xbb\xbf" + d,
    "an object shifted": lambda d: d.replace(b"3 0 obj", b"  3 0 obj", 1),
    "end marker cut": lambda d: d[:-4],
}


@pytest.mark.parametrize("name", UNTIDY)
def test_what_every_reader_repairs_is_not_damaged(name: str) -> None:
    pdf = RawPdf()
    for number in range(3):
        pdf.page(words(f"Tile {number}", 50, 700) + b"10 10 500 700 re S")
    reading = read_pdf(UNTIDY[name](pdf.finish()))  # type: ignore[no-untyped-call]
    assert (reading.damaged, reading.n_pages) == (None, 3)
    assert reading.pages[2].runs[0].text == "Tile 2"


def test_an_incremental_update_that_broke_off_is_damaged() -> None:
    pdf = RawPdf()
    pdf.page(words("first", 50, 700))
    data = pdf.finish()
    update = b"4 0 obj\n<< /Length 40 >>\nstream\nBT /F1 12 Tf 50 50 Td (sec"
    assert read_pdf(data + update).damaged == "the end of the file is missing"


def test_a_page_tree_in_a_circle_is_told() -> None:
    pdf = RawPdf()
    pdf.page()
    pdf.objects[2] = b"<< /Type /Pages /Count 2 /Kids [2 0 R 2 0 R] /MediaBox [0 0 595 842] >>"
    assert read_pdf(pdf.finish()).damaged in ("its page tree runs in a circle", "none of its pages can be read")


@pytest.mark.parametrize(
    ("head", "is_page"),
    [
        (b"<!DOCTYPE html><html><body>404", True),
        (b"\xef\xbb\xbf  <html>", True),
        (b"<?xml version='1.0'?>", True),
        (b'{"error": "link expired"}', True),
        (b'{"message":"Forbidden"}', True),
        (b"%PDF-1.4", False),
        (b'{"layers": []}', False),
        (b"plain words", False),
        (b"", False),
    ],
)
def test_error_pages(head: bytes, is_page: bool) -> None:
    assert looks_like_error_page(head) is is_page


@pytest.mark.parametrize(
    ("data", "media_type", "unusable"),
    [
        (b"", "application/octet-stream", "empty"),
        (b"<!DOCTYPE html><title>Gone</title><p>This download has expired.", "text/html", "error page"),
        (b'{"error":"expired"}', "application/json", "error page"),
        (b"%PDF-1.4\n1 0 obj\n<< /Type /Catalog", "application/pdf", "truncated"),
        (bytes(5_000), "application/pdf", "damaged"),
        (b"PK\x03\x04 and so on", "application/pdf", "damaged"),
    ],
)
def test_files_that_make_no_item_held(tmp_path: Path, data: bytes, media_type: str, unusable: str) -> None:
    path = tmp_path / "A4.pdf"
    path.write_bytes(data)
    facts = read_file(path, media_type=media_type, name="A4.pdf").facts
    assert (facts.damaged, facts.unusable) == (True, unusable)


def test_a_web_page_under_its_own_name_is_no_damage(tmp_path: Path) -> None:
    path = tmp_path / "page"
    path.write_bytes(b"<!DOCTYPE html><p>Hello")
    assert not read_file(path, media_type="text/html", name="order.html").facts.damaged


@pytest.mark.parametrize("filler", [b"a", b"<", b" ", b"/L 1 ", b"/Linearized "])
def test_telling_costs_little_on_any_bytes(filler: bytes) -> None:
    data = filler * (1_000_000 // len(filler))
    is_cut_off(data)
    assert not looks_like_error_page(data)
