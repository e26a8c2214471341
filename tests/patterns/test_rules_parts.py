"""Promised parts and previews (common practice, no published source)."""

from __future__ import annotations

import pytest

from vault.patterns.pages_text import PageText, TextLine, pages_of_text
from vault.patterns.parts import parts_named, preview_of, promised_parts
from vault.patterns.rules import facts_from_text


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        (
            "This download includes:\n- instructions (24 pages)\n- A4 and US Letter print-at-home files\n"
            "- A0 copyshop file\n- projector file\n\nPlease note",
            ("instructions", "A4", "Letter", "A0", "projector"),
        ),
        ("Lieferumfang: Anleitung, Schnittbogen A4, A0 und Beamerdatei.", ("instructions", "A4", "A0", "projector")),
        ("Ce patron comprend le livret d'instructions, les planches A4 et A0.", ("instructions", "A4", "A0")),
        ("Dit patroon bevat een handleiding, A4 en een beamerbestand", ("instructions", "A4", "projector")),
        ("Este patrón incluye: instrucciones, A4 y copistería", ("instructions", "A4", "A0")),
        ("Questo cartamodello comprende istruzioni, A4 e A0", ("instructions", "A4", "A0")),
        ("Print the A4 pages at 100 %.", ()),
        ("The letter said that she was late.", ()),
    ],
)
def test_promised_parts(text: str, parts: tuple[str, ...]) -> None:
    assert promised_parts(pages_of_text(text)) == parts


def test_a_copy_shop_sheet_without_a_paper_is_a0() -> None:
    assert parts_named("copy shop file and instructions") == ("A0", "instructions")


def _pages(*texts: str, size_pt: float = 10.0) -> tuple[PageText, ...]:
    return tuple(
        PageText(number, 210, 297, tuple(TextLine(text=t, size_pt=size_pt) for t in text.splitlines()))
        for number, text in enumerate(texts, start=1)
    )


@pytest.mark.parametrize(
    "text",
    [
        "THIS IS ONLY A PREVIEW",
        "Sample pages - Page 1 of 24",
        "PREVIEW - sample page, not the full pattern",
        "Leseprobe",
        "Aperçu du patron",
        "Dit is een voorbeeld",
        "Vista previa",
        "Anteprima",
        "Förhandsvisning",
        "サンプルページ",
    ],
)
def test_previews_say_so(text: str) -> None:
    assert preview_of(_pages(f"Linnet Top\n{text}")) is not None


@pytest.mark.parametrize(
    "text",
    [
        "Check the size in the print preview before you print all pages of the file on your printer.",
        "Knit a sample and measure it before you begin.",
        "A sampler quilt in twelve blocks",
        "This PDF is not for printing: it is made for the projector.",
        "Druckvorschau prüfen",
        "Musterrapport von 12 Maschen",
        "Page 3 of 24",
    ],
)
def test_other_uses_of_the_words_are_no_previews(text: str) -> None:
    assert preview_of(_pages(f"Linnet Top\n{text}")) is None


def test_a_watermark_in_large_letters() -> None:
    assert preview_of(_pages("SAMPLE", size_pt=60)) is not None
    assert preview_of(_pages("Sample", "Sample", "Sample")) is not None


def test_few_of_the_pages_with_the_word_in_the_name() -> None:
    pages = _pages("Linnet Top\nPage 1 of 24", "Page 2 of 24")
    assert preview_of(pages, name="linnet_preview.pdf") is not None
    assert preview_of(pages, name="linnet.pdf") is None


def test_a_preview_is_a_fact_with_its_words() -> None:
    facts = facts_from_text("Linnet Top\nThis is only a preview\nSizes 34-46", name="linnet.txt")
    assert facts.preview is not None and "preview" in facts.preview
    assert facts.title == "Linnet Top"
