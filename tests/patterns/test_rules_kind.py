"""What is a pattern and of which craft: texts of many crafts and languages, and documents that are none.

Common practice, no published source: the signs by which a person tells them.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trade_texts import MIXED, NOT_PATTERNS, PATTERNS, UNSURE

from vault.model.pdf import Layer, PageReading, PdfReading, TextRun
from vault.patterns.kindof import kind_of
from vault.patterns.pages_text import pages_of
from vault.patterns.rules import facts_from, facts_from_text
from vault.patterns.words import LANGUAGES, fold, signs_in, tables


@pytest.mark.parametrize("name", PATTERNS)
def test_patterns_are_told_with_their_craft_and_language(name: str) -> None:
    text, craft, *_ = PATTERNS[name]
    facts = facts_from_text(text, name="download.txt")
    assert (facts.is_pattern, facts.craft, facts.language) == (True, craft, name[:2])
    assert facts.why


@pytest.mark.parametrize("name", MIXED)
def test_the_craft_of_patterns_with_words_of_two(name: str) -> None:
    text, craft = MIXED[name]
    facts = facts_from_text(text, name="download.txt")
    assert (facts.is_pattern, facts.craft) == (True, craft)


@pytest.mark.parametrize("name", NOT_PATTERNS)
def test_other_documents_are_no_patterns(name: str) -> None:
    facts = facts_from_text(NOT_PATTERNS[name], name="document.pdf")
    assert facts.is_pattern is False
    assert facts.craft is None and facts.licence is None and facts.designer is None


@pytest.mark.parametrize("name", UNSURE)
def test_little_to_go_by_is_never_called_a_pattern(name: str) -> None:
    assert facts_from_text(UNSURE[name], name="document.pdf").is_pattern is not True


def test_instructions_without_numbers_are_a_pattern() -> None:
    text = (
        "Pin the front and back right sides together at the shoulders. Stitch, press the seam open and neaten the\n"
        "edges. Set in the sleeves, matching the notches. Sew the side seams from hem to cuff. Turn up the hem and\n"
        "topstitch. Attach the facing to the neckline, clip the curve, understitch and press. Fold the waistband,\n"
        "wrong sides together, and baste.\n"
    )
    facts = facts_from_text(text, name="instructions.txt")
    assert (facts.is_pattern, facts.craft) == (True, "sewing")


def test_nothing_to_go_by_is_no_answer() -> None:
    for text in ("", "Hello", "12 34 56", "Ottilie"):
        assert facts_from_text(text, name="file.txt").is_pattern is None


def test_a_licence_sheet_is_neither() -> None:
    text = "Terms of use\nThis file is for personal use only. You may not sell items made from it. Do not share it."
    facts = facts_from_text(text, name="licence.txt")
    assert facts.is_pattern is not True
    assert facts.licence is not None and facts.licence.sell_finished == "no"


def _page(number: int, *, text: str = "", width: float = 210, height: float = 297, **drawn: object) -> PageReading:
    lines = enumerate(text.splitlines())
    runs = tuple(TextRun(text=line, x=20, y=20 + 6 * i, width=100, height=4, size_pt=10) for i, line in lines)
    return PageReading(number=number, label=None, width_mm=width, height_mm=height, runs=runs, **drawn)  # type: ignore[arg-type]


def _kind(*pages: PageReading, layers: tuple[str, ...] = (), name: str = "file.pdf") -> tuple[bool | None, str | None]:
    reading = PdfReading(n_pages=len(pages), pages=pages, layers=tuple(Layer(name=layer) for layer in layers))
    kind = kind_of(pages_of(reading), reading=reading, name=name)
    return kind.is_pattern, kind.craft


def test_tiles_without_words_are_a_pattern() -> None:
    tiles = [_page(n, n_paths=9, large_paths=6, cut_paths=5, framed=True) for n in range(1, 8)]
    assert _kind(*tiles) == (True, "sewing")


def test_drawn_letters_and_framed_sheets_take_the_craft_from_what_the_document_is_called() -> None:
    pages = tuple(
        _page(n, n_paths=12, large_paths=12) if n < 5 else _page(n, n_paths=6, large_paths=6, framed=True)
        for n in range(1, 9)
    )
    for author, craft in (("Tilthorn Quilts", "quilting"), ("Tilthorn", "sewing")):
        reading = PdfReading(n_pages=8, pages=pages, metadata={"Title": "Hawthorn Cushion", "Author": author})
        kind = kind_of(pages_of(reading), reading=reading, name="untitled.pdf")
        assert (kind.is_pattern, kind.craft) == (True, craft)


def test_a_plotted_plan_with_drawn_letters_cannot_be_told() -> None:
    assert _kind(_page(1, width=841, height=1189, n_paths=4000, large_paths=60, framed=True)) == (None, None)


def test_a_projector_sheet_with_size_layers_is_a_pattern() -> None:
    page = _page(1, width=1200, height=1500, n_paths=30, large_paths=20)
    assert _kind(page, layers=("Gr. 34", "Gr. 36", "Gr. 38")) == (True, "sewing")


def test_blank_and_scanned_pages_cannot_be_told() -> None:
    assert _kind(_page(1)) == (None, None)
    assert _kind(*[_page(n, n_images=1, image_share=1.0) for n in range(1, 9)]) == (None, None)


def test_photographs_named_by_a_camera_are_none() -> None:
    assert _kind(_page(1, n_images=1, image_share=0.8), name="IMG_2207.pdf") == (False, None)


def test_a_large_drawing_with_rooms_is_a_plan() -> None:
    text = "Ground floor plan\nScale 1:50\nKitchen\nLiving room\nBedroom\nBathroom"
    page = _page(1, text=text, width=841, height=1189, n_paths=60, large_paths=30, framed=True)
    assert _kind(page)[0] is False


def test_every_language_has_the_same_groups_and_labels() -> None:
    english = tables()["en"]
    for language in LANGUAGES:
        table = tables()[language]
        for section in ("signs", "labels", "title", "parts", "gauge"):
            assert set(table[section]) == set(english[section]), (language, section)


def test_signs_are_whole_words_but_for_a_star() -> None:
    found = {sign.text for sign in signs_in("Gathering the hem; basting; nahtzugaben") if sign.language in ("en", "de")}
    assert "gather*" in found and "nahtzugabe*" in found
    assert "tack" not in {sign.text for sign in signs_in("attack tacks stack")}


@settings(deadline=None, max_examples=40)
@given(st.text(max_size=400))
def test_any_text_is_read_without_trouble(text: str) -> None:
    facts = facts_from_text(text, name=text[:40])
    assert facts.is_pattern in (True, False, None)
    assert fold(text) == fold(fold(text))


@pytest.mark.parametrize("piece", ["a", "<", " ", "1", "- ", "sizes 1-2-3-", "Page 1 of 2 - ", "あ", "a\n"])
def test_a_megabyte_of_one_thing_is_read_in_bounded_time(piece: str) -> None:
    text = (piece * 1_000_000)[:1_000_000]
    run = TextRun(text=text, x=1, y=1, width=10, height=4, size_pt=10)
    page = PageReading(number=1, label=None, width_mm=210, height_mm=297, runs=(run,))
    metadata = {"Title": text[:5000], "Author": text[:5000]}
    facts_from(PdfReading(n_pages=1, pages=(page,), metadata=metadata), name="a.pdf")
    assert facts_from_text(text, name="a.txt").is_pattern is not True
