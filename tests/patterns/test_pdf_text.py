"""Blanks where a reader sees them, however a program writes its letters."""

from __future__ import annotations

from rawpdf import RawPdf
from reportlab.pdfbase.pdfmetrics import stringWidth

from vault.patterns.pdf import read_pdf

SIZE = 10.0


def _objects(*pieces: tuple[str, float]) -> bytes:
    """Text objects one behind the other, each with its letter spacing (Tc, §9.3.2 of ISO 32000-1)."""
    body, x = b"", 50.0
    for text, spacing in pieces:
        body += b"BT /F1 %g Tf %g Tc %g 700 Td (%s) Tj ET " % (SIZE, spacing, x, text.encode("ascii"))
        x += stringWidth(text, "Helvetica", SIZE) + spacing * len(text)
        x -= spacing  # the next object starts where the last letter ends
    return body


def _texts(body: bytes) -> list[str]:
    pdf = RawPdf()
    pdf.page(body)
    return [run.text for run in read_pdf(pdf.finish()).pages[0].runs]


def test_a_blank_made_of_letter_spacing_inside_a_short_object_is_seen() -> None:
    assert _texts(_objects(("Anleitung vo", 0), ("nN", 2.6), ("adelwald", 0))) == ["Anleitung von Nadelwald"]


def test_a_word_parted_for_kerning_stays_one_word() -> None:
    assert _texts(_objects(("Vo", -0.4), ("rd", 0.1), ("erteil", 0))) == ["Vorderteil"]


def test_letters_set_wide_for_show_stay_as_they_are() -> None:
    assert _texts(_objects(("ROSALIE", 1.5))) == ["ROSALIE"]
