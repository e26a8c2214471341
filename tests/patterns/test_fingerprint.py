"""The same content under another stamp or saved again has one fingerprint; another size or version has another."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
from makers import all_files
from pypdf import PdfReader, PdfWriter
from rawpdf import RawPdf, words
from reportlab.pdfgen import canvas

from vault.model.pattern import Stamp
from vault.model.pdf import PdfReading
from vault.patterns.fingerprint import drawn_sketch, fingerprint, is_stamp_line, text_fingerprint, text_sketch
from vault.patterns.pdf import read_pdf


def _pattern(size: str = "38", version: str = "1.0", width: float = 300) -> bytes:
    pdf = RawPdf()
    pdf.page(
        words("Foxglove Vest", 50, 780, 24, "F2")
        + words(f"Size {size} - version {version}", 50, 750)
        + words("Cut 2 on fold. Stitch the side seams and press.", 50, 700)
        + b"60 100 m %g 100 l %g 500 l 60 480 l h S " % (60 + width, 20 + width)
    )
    pdf.page(words("Sheet 2", 50, 700) + b"-50 -50 400 900 re S ")
    return pdf.finish()


def _stamped(data: bytes, *lines: str, first_only: bool = False) -> bytes:
    """The trade's way: a layer of text put over the pages of a finished file."""
    over = io.BytesIO()
    sheet = canvas.Canvas(over)
    sheet.setFont("Helvetica", 7)
    for number, line in enumerate(lines):
        sheet.drawString(60, 12 + 9 * number, line)
    sheet.save()
    writer = PdfWriter(clone_from=io.BytesIO(data))
    layer = PdfReader(over).pages[0]
    for page in writer.pages[: 1 if first_only else None]:
        page.merge_page(layer)
    writer.add_metadata({"/Producer": "a stamping program", "/ModDate": "D:20240309"})
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _print(data: bytes, stamp: Stamp | None = None) -> str | None:
    return fingerprint(read_pdf(data), stamp)


@pytest.mark.parametrize(
    "lines",
    [
        ("Licensed to Edda Winterkorn, edda@korn.example, order 77-1904",),
        ("edda@korn.example",),
        ("Lizenziert für Edda Winterkorn - Bestellung 77-1904",),
        ("This copy belongs to Edda Winterkorn", "Order no. 77-1904"),
        ("Exemplaire de Edda Winterkorn",),
        ("Gekocht door Edda Winterkorn",),
    ],
)
@pytest.mark.parametrize("first_only", [False, True])
def test_the_stamp_of_a_buyer_does_not_count(lines: tuple[str, ...], first_only: bool) -> None:
    assert _print(_stamped(_pattern(), *lines, first_only=first_only)) == _print(_pattern())


def test_a_bare_name_is_left_out_once_it_is_known_as_the_stamp() -> None:
    stamp = Stamp(name="Edda Winterkorn", order_number="#1904")
    assert _print(_stamped(_pattern(), "Edda Winterkorn 1904"), stamp) == _print(_pattern())


def test_two_stamped_copies_are_alike() -> None:
    one = _stamped(_pattern(), "Purchased by Dorit Pfahl dorit@pfahl.example")
    two = _stamped(_pattern(), "Purchased by Edda Winterkorn edda@korn.example")
    assert one != two
    assert _print(one) == _print(two)


def _pikepdf(**options: object) -> Callable[[bytes], bytes]:
    def save(data: bytes) -> bytes:
        out = io.BytesIO()
        with pikepdf.open(io.BytesIO(data)) as pdf:
            pdf.save(out, **options)  # type: ignore[arg-type]
        return out.getvalue()

    return save


@pytest.mark.parametrize(
    "save",
    [
        _pikepdf(linearize=True),
        _pikepdf(normalize_content=True),
        _pikepdf(object_stream_mode=pikepdf.ObjectStreamMode.generate, recompress_flate=True),
        _pikepdf(encryption=pikepdf.Encryption(owner="o", user="")),
    ],
    ids=["linearised", "normalised", "packed", "locked by owner"],
)
def test_saving_again_does_not_count(save: Callable[[bytes], bytes]) -> None:
    assert save(_pattern()) != _pattern()
    assert _print(save(_pattern())) == _print(_pattern())


@pytest.mark.parametrize(
    "other",
    [_pattern(size="40"), _pattern(version="1.1"), _pattern(width=320)],
    ids=["another size", "another version", "another outline"],
)
def test_what_differs_is_different(other: bytes) -> None:
    assert _print(other) != _print(_pattern())


def test_a_missing_page_counts() -> None:
    writer = PdfWriter()
    writer.append(io.BytesIO(_pattern()), pages=(0, 1))
    out = io.BytesIO()
    writer.write(out)
    assert _print(out.getvalue()) != _print(_pattern())


def test_pictures_are_told_apart_by_their_pixels() -> None:
    def scan(shade: int) -> bytes:
        from reportlab.lib.utils import ImageReader

        out = io.BytesIO()
        sheet = canvas.Canvas(out, invariant=1)
        sheet.drawImage(ImageReader(io.BytesIO(b"P5 40 60 255\n" + bytes([shade]) * 2400)), 0, 0, 500, 700)
        sheet.showPage()
        sheet.save()
        return out.getvalue()

    assert _print(scan(10)) == _print(scan(10)) is not None
    assert _print(scan(10)) != _print(scan(90))


def test_too_little_is_not_compared() -> None:
    pdf = RawPdf()
    pdf.page(words("3", 50, 50))
    assert _print(pdf.finish()) is None
    assert text_fingerprint("A4") is None


def test_text_files() -> None:
    text = "SLIPWAY VEST\nSizes: S (M, L)\nCast on 92 (100, 108) sts."
    assert text_fingerprint(text) == text_fingerprint(text.replace("\n", "\r\n\r\n").upper())
    assert text_fingerprint(text) == text_fingerprint(text + "\nLicensed to edda@korn.example")
    assert text_fingerprint(text) != text_fingerprint(text.replace("92", "94"))


@pytest.mark.parametrize("line", ["a" * 1_000_000, "a@" * 300_000, "order no" * 100_000, "." * 1_000_000])
def test_telling_stamps_costs_little_on_any_line(line: str) -> None:
    is_stamp_line(line)


def _likeness(a: str, b: str) -> float:
    first, second = ({sketch[at : at + 8] for at in range(0, len(sketch), 8)} for sketch in (a, b))
    return len(first & second) / len(first | second)


@pytest.mark.skipif(shutil.which("pdftocairo") is None, reason="needs poppler-utils")
def test_sketches_outlive_a_program_that_writes_everything_anew(tmp_path: Path) -> None:
    tiles = all_files()[0]
    before, after = tmp_path / "before.pdf", tmp_path / "after.pdf"
    before.write_bytes(tiles.data)
    subprocess.run(["pdftocairo", "-pdf", str(before), str(after)], check=True, timeout=60)
    first, second = read_pdf(before.read_bytes()), read_pdf(after.read_bytes())
    assert _likeness(text_sketch(first), text_sketch(second)) >= 0.9
    assert _likeness(drawn_sketch(first), drawn_sketch(second)) >= 0.6


def test_sketches_tell_sizes_apart_and_leave_out_the_stamp() -> None:
    stamped = read_pdf(_stamped(_pattern(), "Licensed to Edda Winterkorn, edda@korn.example"))
    plain, wider = read_pdf(_pattern()), read_pdf(_pattern(size="40", width=320))
    assert text_sketch(stamped) == text_sketch(plain) != text_sketch(wider)
    assert drawn_sketch(stamped) == drawn_sketch(plain) != drawn_sketch(wider)
    assert text_sketch(PdfReading(n_pages=1)) == drawn_sketch(PdfReading(n_pages=1)) == ""
