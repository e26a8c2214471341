"""Sizes as written: lists, knitting brackets, double sizes, ages, keys, tables and layers, in twelve languages."""

from __future__ import annotations

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.pdf import Layer
from vault.patterns.pages_text import PageText, TextLine, pages_of_text
from vault.patterns.sizes import sizes_of

WRITTEN = [
    ("Sizes XS · S · M · L · XL", "XS | S | M | L | XL"),
    ("Sizes: XS (S, M, L, XL)", "XS | S | M | L | XL"),
    ("Sizes: S (M, L) XL", "S | M | L | XL"),
    ("Size S (M) L (XL) 2XL", "S | M | L | XL | 2XL"),
    ("Sizes: 1 (2, 3, 4, 5)", "1 | 2 | 3 | 4 | 5"),
    ("Sizes XS-XL", "XS-XL"),
    ("Sizes 34-44", "34-44"),
    ("Sizes 34 to 44", "34 to 44"),
    ("Sizes 34/36, 38/40, 42/44", "34/36 | 38/40 | 42/44"),
    ("Größe: 98/104", "98/104"),
    ("Größen 62/68 - 74/80 - 86/92", "62/68 | 74/80 | 86/92"),
    ("Størrelser: S / M / L", "S | M | L"),
    ("Sizes: S/M, L/XL", "S/M | L/XL"),
    ("Sizes XS/S/M/L", "XS | S | M | L"),
    ("Ages 2, 4, 6, 8", "2 | 4 | 6 | 8"),
    ("Sizes 2Y, 3Y, 4Y, 5Y", "2Y | 3Y | 4Y | 5Y"),
    ("Sizes: 0-3m, 3-6m, 6-12m, 12-18m", "0-3m | 3-6m | 6-12m | 12-18m"),
    ("Sizes 1-2, 3-4, 5-6 years", "1-2 | 3-4 | 5-6 years"),
    ("Tailles 34 36 38 40 42", "34 | 36 | 38 | 40 | 42"),
    ("Tailles : 36, 38, 40 et 42", "36 | 38 | 40 | 42"),
    ("Taille : unique", ""),
    ("Taille unique", "Taille unique"),
    ("Size: one size", "one size"),
    ("Maten: 92, 98, 104, 110 en 116", "92 | 98 | 104 | 110 | 116"),
    ("Tallas 36, 38, 40 y 42", "36 | 38 | 40 | 42"),
    ("Taglie: S, M, L", "S | M | L"),
    ("Taglia 2 volte in tessuto", ""),
    ("Storlekar: S (M, L)", "S | M | L"),
    ("Rozmiary: XS, S, M, L", "XS | S | M | L"),
    ("Koot: 36, 38, 40", "36 | 38 | 40"),
    ("Koko 104/110", "104/110"),
    ("サイズ：S・M・L", "S | M | L"),
    ("サイズ 90、100、110cm", "90 | 100 | 110cm"),
    ("Quilt sizes: Crib, Throw, Twin", "Crib | Throw | Twin"),
    ("Sizes: Small, Medium and Large", "Small | Medium | Large"),
    ("Size: 90 x 90 mm", ""),
    ("Size 7 needles", ""),
    ("4 mm needles or size to obtain gauge", ""),
    ("Sizes 1X, 2X, 3X", "1X | 2X | 3X"),
    ("Sizes 14W, 16W, 18W", "14W | 16W | 18W"),
    ("US sizes 0, 2, 4, 6", "0 | 2 | 4 | 6"),
    ("Sizes 0 2 4 6 8 10 12", "0 | 2 | 4 | 6 | 8 | 10 | 12"),
    ("Größe\n34\n36\n38", "34 | 36 | 38"),
    ("Size key\nXS\nS\nM", "XS | S | M"),
    ("Size\nXS-S-M-L", "XS | S | M | L"),
    ("Größe 36\nTaille 60 64 68 72\nGr. 36", "36"),
    ("The pattern comes in sizes 32, 34, 36, 38, 40 and 42.", "32 | 34 | 36 | 38 | 40 | 42"),
    ("Sizes 32 34 36 38 40 42 44 46\nSizes 32-46", "32 | 34 | 36 | 38 | 40 | 42 | 44 | 46"),
    ("Page size A4\nImage size 1200", ""),
    ("Sizes: 4-6 (8-10, 12-14)", "4-6 | 8-10 | 12-14"),
    ("Women's sizes 8, 10, 12, 14, 16", "8 | 10 | 12 | 14 | 16"),
    ("Kids' sizes 3, 4, 5, 6", "3 | 4 | 5 | 6"),
    ("Sizes: newborn, 3 months, 6 months", "newborn | 3 months | 6 months"),
    ("Sizes XXS, XS, S, M, L, XL, XXL, 3XL", "XXS | XS | S | M | L | XL | XXL | 3XL"),
    ("Sizes A, B, C, D", ""),
    ("To fit bust 81 (86, 91, 97) cm", ""),
    ("Größen 34-36-38-40-42", "34 | 36 | 38 | 40 | 42"),
    ("Sizes: 6/8/10/12/14", "6 | 8 | 10 | 12 | 14"),
    ("Size 38", "38"),
    ("Gr. 38", "38"),
    ("Sizes included: 36, 38, 40", "36 | 38 | 40"),
    ("Size range: 34–52", "34-52"),
    ("Dolls clothes for 30 cm dolls", ""),
    ("Sizes: 56, 62, 68, 74 cm", "56 | 62 | 68 | 74 cm"),
    ("Größen: 50/56, 62/68, 74/80, 86/92, 98/104", "50/56 | 62/68 | 74/80 | 86/92 | 98/104"),
    ("Sizes 16 to 28 (UK)", "16 to 28"),
    ("Sizes / Größen 34, 36, 38", "34 | 36 | 38"),
    ("Size / Taille\n34\n36\n38", "34 | 36 | 38"),
    ("Size (EU)\n34\n36\n38", "34 | 36 | 38"),
    ("Größen\n34–44", "34-44"),
    ("EU sizes 34, 36, 38, 40", "34 | 36 | 38 | 40"),
    ("Size XS S M L XL\nBust 80 84 88 92 96", "XS | S | M | L | XL"),
    ("Size: XS [S, M, L] XL", "XS | S | M | L | XL"),
    ("Sizes: 1 (2) 3 (4) 5", "1 | 2 | 3 | 4 | 5"),
    ("To fit: S (M: L: XL)", ""),
    ("Size: S (M:L:XL)", "S | M | L | XL"),
    ("Størrelse: 1 år (2 år) 3 år", "1 år | 2 år | 3 år"),
    ("Størrelser: 0-3 (3-6) 6-12 mdr", "0-3 | 3-6 | 6-12 mdr"),
    ("Storlek 80 (86) 92 (98) cl", "80 | 86 | 92 | 98"),
    ("Storlekar: 80/86 (92/98) 104/110", "80/86 | 92/98 | 104/110"),
    ("Koot: XS, S, M, L, XL, XXL", "XS | S | M | L | XL | XXL"),
    ("Rozmiary 34-44", "34-44"),
    ("Maat 34 t/m 44", "34 t/m 44"),
    ("Größe 34 bis 44", "34 bis 44"),
    ("Tailles du 34 au 44", "34 au 44"),
    ("Grösse: 36 38 40 42", "36 | 38 | 40 | 42"),
    ("Gr. 56/62 – 68/74 – 80/86", "56/62 | 68/74 | 80/86"),
    ("Gr. S", "S"),
    ("Damen Größen 36-44", "36-44"),
    ("Teen 134, 140, 146", ""),
    ("Größe: 134 · 140 · 146 · 152 · 158 · 164", "134 | 140 | 146 | 152 | 158 | 164"),
    ("Sizes: UK 8, 10, 12, 14", "UK 8 | 10 | 12 | 14"),
    ("Sizes: US 2–4, 6–8, 10–12", "US 2-4 | 6-8 | 10-12"),
    ("Size 1 (2, 3)", "1 | 2 | 3"),
    ("Adult sizes S, M and L", "S | M | L"),
    ("Size S, size M, size L", "S | M | L"),
    ("サイズ：90・100・110・120", "90 | 100 | 110 | 120"),
    ("サイズ 7号、9号、11号", "7号 | 9号 | 11号"),
    ("サイズ：フリーサイズ", "フリーサイズ"),
    ("Sizes S, M, L (one file each)", "S | M | L"),
    ("Finished size: 40 x 60 cm", ""),
    ("Hat size 54 cm", ""),
    ("Shoe sizes 36/37, 38/39, 40/41", "36/37 | 38/39 | 40/41"),
    ("Sizes: Preemie (Newborn, 3-6 months, 6-12 months)", "Preemie | Newborn | 3-6 months | 6-12 months"),
    ("Quilt sizes: Baby, Lap, Twin, Queen and King", "Baby | Lap | Twin | Queen | King"),
    ("Sizes Small (Medium, Large, X-Large)", "Small | Medium | Large | X-Large"),
    ("Sizes: XS/S (M/L) XL/XXL", "XS/S | M/L | XL/XXL"),
    ("Talla única", "Talla única"),
]


@pytest.mark.parametrize(("text", "expected"), WRITTEN)
def test_sizes_as_written(text: str, expected: str) -> None:
    assert " | ".join(sizes_of(pages_of_text(text), (), "sewing", "pattern.pdf")) == expected


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        (["Page borders", "Size 34", "Size 36", "Size 38"], ("34", "36", "38")),
        (["Seitenrahmen", "Gr. 98/104", "Gr. 110/116"], ("98/104", "110/116")),
        (["Taille 36\0", "Taille 38\0", "Taille 38\0"], ("36", "38")),
        (["XS", "S", "M"], ("XS", "S", "M")),
        (["92", "98", "104"], ("92", "98", "104")),
        (["Str. S", "Str. M"], ("S", "M")),
        (["Tg S", "Tg M"], ("S", "M")),
        (["size_S", "size_M"], ("S", "M")),
        (["38 - red", "40 - blue"], ("38", "40")),
        (["Layer 1", "Layer 2", "Layer 3"], ()),
        (["1", "2", "3"], ()),
        ([None, "Text", ""], ()),
    ],
)
def test_sizes_of_layers(names: list[str | None], expected: tuple[str, ...]) -> None:
    assert sizes_of((), [Layer(name=name) for name in names], "sewing", "pattern.pdf") == expected


def test_one_layer_with_a_size_does_not_hide_the_size_line() -> None:
    layers = [Layer(name="Gr. 34"), Layer(name="Layer 1")]
    assert sizes_of(pages_of_text("Größen 34 · 36 · 38"), layers, "sewing", "x.pdf") == ("34", "36", "38")


def test_a_list_over_two_lines_gives_way_to_the_whole_one() -> None:
    text = "You will find sizes 34 · 36 · 38\n· 40 in one file.\nSize\n34\n36\n38\n40"
    assert sizes_of(pages_of_text(text), (), "sewing", "x.pdf") == ("34", "36", "38", "40")


def test_taille_is_the_waist_in_a_german_table() -> None:
    rows = ((50, ("Größe", "34", "36")), (56, ("Taille", "60", "64", "68")))
    lines = [TextLine(text=text, x=20 + 20 * n, y=y) for y, row in rows for n, text in enumerate(row)]
    assert sizes_of((PageText(1, 210.0, 297.0, tuple(lines)),), (), "sewing", "x.pdf") == ("34", "36")


def test_letters_along_the_lines_of_a_sheet() -> None:
    lines = tuple(TextLine(text=text, x=20 + n, y=30 + n) for n, text in enumerate(("a1", "XS", "S", "M", "L", "b1")))
    assert sizes_of((PageText(1, 210.0, 297.0, lines),), (), "sewing", "x.pdf") == ("XS", "S", "M", "L")


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("skirt_size38.pdf", ("38",)),
        ("Gr.40 Hose.pdf", ("40",)),
        ("pattern size S-M.pdf", ("S-M",)),
        ("A4.pdf", ()),
        ("great 40.pdf", ()),
        ("order_48213.zip", ()),
    ],
)
def test_the_name_of_a_file_for_one_size(name: str, expected: tuple[str, ...]) -> None:
    assert sizes_of((), (), "sewing", name) == expected


def test_an_embroidery_design_has_a_size_in_mm_only() -> None:
    assert sizes_of(pages_of_text("Size: 90\n90\n100"), (), "embroidery", "x.pdf") == ()


@pytest.mark.parametrize(
    "text",
    [
        "size " * 200_000,
        "\n".join("sizes " + "34 " * 120 for _ in range(2_600)),
        "\n".join(["size", "34"] * 70_000),
        "sizes " + "1/" * 400_000,
        "\n".join("Size S" + "-S" * 190 for _ in range(2_500)),
        "a" * 1_000_000,
        "\n".join("sizes" + " " * 300 + "x" for _ in range(3_000)),
    ],
    ids=lambda text: text[:10],
)
def test_hostile_text_costs_bounded_time(text: str) -> None:
    started = time.process_time()
    sizes_of(pages_of_text(text), (), None, "x.pdf")
    assert time.process_time() - started < 8


@settings(deadline=None, max_examples=60)
@given(st.integers(15, 25), st.integers(2, 9), st.sampled_from([", ", " · ", " ", " / ", "; "]))
def test_any_even_sizes_with_any_separator(first: int, count: int, separator: str) -> None:
    sizes = [str(2 * (first + n)) for n in range(count)]
    assert sizes_of(pages_of_text(f"Sizes {separator.join(sizes)}"), (), "sewing", "x.pdf") == tuple(sizes)


@settings(deadline=None, max_examples=60)
@given(st.text(max_size=80))
def test_any_text_gives_labels_of_the_text(text: str) -> None:
    for size in sizes_of(pages_of_text("Sizes " + text), (), "sewing", "x.pdf"):
        assert size
