"""Title, designer, version and code on pages as makers of many kinds lay them out (common practice, no source)."""

from __future__ import annotations

import pytest
from trade_texts import PATTERNS

from vault.patterns.edition import product_code_of, version_of
from vault.patterns.identity import headings_of, other_titles, title_of
from vault.patterns.maker import copyright_holder, designer_of
from vault.patterns.pages_text import PageText, TextLine, pages_of_text
from vault.patterns.rules import facts_from_text
from vault.patterns.title_words import bare_title, may_be_name, segments

Line = tuple[str, float] | tuple[str, float, bool]
BODY: list[Line] = [
    ("Pin the front to the back at the shoulders, right sides together, and stitch.", 10),
    ("Press the seam allowances open and finish the edges with a zigzag stitch.", 10),
    ("Set in the sleeves between the notches, easing the cap. Turn up the hem.", 10),
]


def _page(number: int, lines: list[Line]) -> PageText:
    y, made = 20.0, []
    for line in lines:
        text, size, bold = line if len(line) == 3 else (*line, False)
        made.append(TextLine(text=text, x=20, y=y, size_pt=size, bold=bold))
        y += size * 0.353 * 1.3
    return PageText(number, 210, 297, tuple(made))


# name: pages of (text, points, bold), title, designer
LAYOUTS: dict[str, tuple[list[list[Line]], str, str | None]] = {
    "title in two lines": (
        [
            [
                ("The Marigold", 36, True),
                ("Pinafore Dress", 36, True),
                ("A dungaree dress for sunny days", 14),
                ("Sizes 6-20", 12),
                ("fern & fable", 16),
            ],
            [("Materials", 16, True), *BODY, ("The Marigold Pinafore Dress | © 2021 Fern & Fable", 7)],
        ],
        "The Marigold Pinafore Dress",
        "Fern & Fable",
    ),
    "designer larger than the title": (
        [
            [("TIDEWRACK", 44, True), ("Samphire Tee", 26, True), ("sewing pattern", 12)],
            [("Samphire Tee by Tidewrack", 8), ("Fabric", 14, True), *BODY, ("© Tidewrack 2020", 7)],
        ],
        "Samphire Tee",
        "Tidewrack",
    ),
    "paper in the largest letters": (
        [
            [
                ("A0", 60, True),
                ("PDF PATTERN", 30, True),
                ("Hollyhock Skirt", 24, True),
                ("Sizes XS-XXL", 18),
                ("by Nettle and Thread", 12),
            ],
            BODY,
        ],
        "Hollyhock Skirt",
        "Nettle and Thread",
    ),
    "number in the largest letters": (
        [
            [("No. 204", 40, True), ("Juniper Coat", 30, True), ("Bracken Sewing Co.", 14)],
            [
                ("Juniper Coat - 204 - Bracken Sewing Co.", 8),
                *BODY,
                ("Copyright Bracken Sewing Co. 2022. All rights reserved.", 7),
            ],
        ],
        "Juniper Coat",
        "Bracken Sewing Co.",
    ),
    "footers only": (
        [
            [("Before you start", 20, True), *BODY, ("Larkspur Blouse – Wisp & Willow – page 1", 7)],
            [("Sewing the collar", 20, True), *BODY, ("Larkspur Blouse – Wisp & Willow – page 2", 7)],
            [("Finishing", 20, True), ("Hem the sleeves.", 10), ("Larkspur Blouse – Wisp & Willow – page 3", 7)],
        ],
        "Larkspur Blouse",
        "Wisp & Willow",
    ),
    "tiles with larger piece names": (
        [
            [
                ("1A", 16, True),
                ("FRONT - cut 1 on fold", 16, True),
                ("Bilberry Romper", 11, True),
                ("Wee Magpie Patterns", 9),
                ("Sizes 56-86", 9),
                ("Test square 5 x 5 cm", 9),
            ],
            [("1B", 16, True), ("BACK - cut 2", 16, True), ("Bilberry Romper", 8)],
            [("2A", 16, True), ("SLEEVE - cut 2", 16, True), ("Bilberry Romper", 8)],
            [("2B", 16, True)],
        ],
        "Bilberry Romper",
        "Wee Magpie Patterns",
    ),
    "picture cover": (
        [
            [],
            [("Strickanleitung", 12), ("Mütze Nebelkrähe", 28, True), ("von Wollwinkel Antje", 12)],
            [
                ("Material", 14, True),
                ("Garn: 100 g Merinowolle", 10),
                ("Die Mütze wird in Runden von unten nach oben gestrickt.", 10),
                ("Mütze Nebelkrähe", 7),
            ],
        ],
        "Mütze Nebelkrähe",
        "Wollwinkel Antje",
    ),
    "heading larger than the title": (
        [
            [("Body measurements", 22, True), ("Otter Hoodie", 18, True), ("Size 92 98 104", 10), *BODY],
            [("Cutting layout", 22, True), ("Otter Hoodie", 8), *BODY, ("© 2023 Puddle Ducks Patterns", 7)],
        ],
        "Otter Hoodie",
        "Puddle Ducks Patterns",
    ),
    "French": (
        [
            [("PATRON", 14), ("La robe Églantine", 34, True), ("du 34 au 46", 14), ("Coudre avec Margot", 18)],
            [
                ("Fournitures", 16, True),
                ("2,20 m de viscose en 140 cm", 10),
                ("La robe Églantine - Coudre avec Margot", 7),
            ],
            [
                ("Montage", 16, True),
                ("Assembler les épaules endroit contre endroit.", 10),
                ("La robe Églantine - Coudre avec Margot", 7),
                ("Création Coudre avec Margot. Reproduction interdite.", 7),
            ],
        ],
        "La robe Églantine",
        "Coudre avec Margot",
    ),
    "German in quotation marks": (
        [
            [("Schnittmuster", 14), ("„Frau Löwenzahn“", 30, True), ("Gr. 32-54", 14), ("Schnittreif & Co", 10)],
            [
                ("Frau Löwenzahn", 9),
                ("Stoffempfehlung", 14, True),
                ("Die Teile rechts auf rechts nähen.", 10),
                ("© Schnittreif & Co", 7),
            ],
        ],
        "Frau Löwenzahn",
        "Schnittreif & Co",
    ),
    "kind after a dash": (
        [
            [("Kestrel Jacket – Sewing Instructions", 24, True), ("Version 3", 10), ("Hawthorn Lane Designs", 12)],
            [("KESTREL JACKET", 8), *BODY, ("www.hawthornlane.example  © Hawthorn Lane Designs", 7)],
        ],
        "Kestrel Jacket",
        "Hawthorn Lane Designs",
    ),
    "larger advertisements": (
        [
            [("Linnet Top", 30, True), ("by Finch Street", 12)],
            [*BODY, ("Linnet Top", 7)],
            [("You might also like", 24, True), ("Bunting Skirt", 20, True), ("Siskin Trousers", 20, True)],
        ],
        "Linnet Top",
        "Finch Street",
    ),
    "printing guide first": (
        [
            [
                ("PRINTING GUIDE", 28, True),
                ("Wren Jumpsuit", 16, True),
                ("Print at 100 %. Check the test square.", 10),
                ("Page 1 of 30", 8),
                ("Sparrowhawk Patterns", 9),
            ],
            [("Page 2 of 30", 8), ("Wren Jumpsuit", 9), ("front bodice", 12, True)],
            [("Page 3 of 30", 8), ("Wren Jumpsuit", 9), ("back bodice", 12, True)],
        ],
        "Wren Jumpsuit",
        "Sparrowhawk Patterns",
    ),
    "Japanese": (
        [
            [("大人のサロペット", 26, True), ("製図・デザイン：青い鳥手芸店", 10), ("サイズ S・M・L", 10)],
            [("材料", 14, True), ("表布 110cm幅 2.5m", 10), ("大人のサロペット ©青い鳥手芸店", 7)],
        ],
        "大人のサロペット",
        "青い鳥手芸店",
    ),
    "a person's name below the title": (
        [
            [("Cabled Hot Water Bottle Cover", 22, True), ("Anna-Lisa Pettersson", 14), ("a knitting pattern", 10)],
            [("Cast on 40 sts and work 6 rows in k2, p2 rib.", 10), ("22 sts = 10 cm on 4 mm needles", 10)],
        ],
        "Cabled Hot Water Bottle Cover",
        "Anna-Lisa Pettersson",
    ),
}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_title_and_designer_of_laid_out_pages(layout: str) -> None:
    lines, title, designer = LAYOUTS[layout]
    pages = [_page(number, page) for number, page in enumerate(lines, start=1)]
    first = designer_of(pages, {}, name="download.pdf")
    found = title_of(pages, {}, designer=first, name="download.pdf")
    assert found is not None and found.text == title
    assert (first or designer_of(pages, {}, name="download.pdf", titles=(title,))) == designer


@pytest.mark.parametrize("name", PATTERNS)
def test_title_designer_and_version_of_plain_texts(name: str) -> None:
    text, _, title, designer, version = PATTERNS[name]
    facts = facts_from_text(text, name="download.txt")
    assert (facts.title, facts.designer, facts.version) == (title, designer, version)


@pytest.mark.parametrize(
    ("line", "names"),
    [
        ("Heidekraut Rock | A4", ["Heidekraut Rock"]),
        ("Loam Dress - Moor & Mill - A4 - Page 1 of 6", ["Loam Dress", "Moor & Mill"]),
        ("Schnittmuster Hemd Mechthild", ["Hemd Mechthild"]),
        ("Rosalie Dress Sewing Pattern", ["Rosalie Dress"]),
        ("Otterburn Pullover - Chart A", ["Otterburn Pullover"]),
        ("JUPE AUBÉPINE A4 6/6", ["JUPE AUBÉPINE"]),
        ("R O S A L I E", ["ROSALIE"]),
        ("Latzhose Pauline Gr. 56-116", ["Latzhose Pauline"]),
        ("Puddle Hoodie (S-XXL)", ["Puddle Hoodie"]),
        ("Robe Capucine 34-46", ["Robe Capucine"]),
        ("Kofta Granlöv (English)", ["Kofta Granlöv"]),
        ("KS-104 Rosalie", ["Rosalie"]),
        ("A4 Rosalie", ["Rosalie"]),
        ("Rosalie Add-On", ["Rosalie Add-On"]),
        ("Tansy Pouch No. 1", ["Tansy Pouch No. 1"]),
        ("Dress No. 12", ["Dress No. 12"]),
        ("Studio 54 Bag", ["Studio 54 Bag"]),
        ("Muts Poëet Vol. 4", ["Muts Poëet Vol. 4"]),
        ("Trellis Pinafore 2.0", ["Trellis Pinafore 2.0"]),
        ("tape to next page", []),
        ("Reihe 1, Spalte 2", []),
        ("Pattern of the Moon", ["Pattern of the Moon"]),
        ("Größen 34 · 36 · 38 · 40", []),
        ("Sizes: XL-4XL", []),
        ("1. Front", []),
        ("Rückenteil - 1x im Bruch", []),
        ("Schnittmuster und Nähanleitung", []),
        ("Licensed to Josine Halmar - order 41254", []),
        ("PDF sewing pattern - A4 - v1.2", []),
        ("For personal use only", []),
        ("SAMPLE PAGES", []),
    ],
)
def test_a_line_is_cut_down_to_its_names(line: str, names: list[str]) -> None:
    assert [bare for piece in segments(line) if may_be_name(bare := bare_title(piece))] == names


@pytest.mark.parametrize(
    ("line", "holder"),
    [
        ("© 2022 Tidewrack Patterns. All rights reserved.", "Tidewrack Patterns"),
        ("Copyright © 2019-2023 by E. Fisk", "E. Fisk"),
        ("Wisp & Willow © 2020", "Wisp & Willow"),
        ("© Säumchen & Saum, alle Rechte vorbehalten", "Säumchen & Saum"),
        ("(c) 2021 St. Alban Quilts - Harbour Lights", "St. Alban Quilts"),
        ("© 2022 Les Ciseaux de Thaïs. Tous droits réservés.", "Les Ciseaux de Thaïs"),
        ("©2023 糸車工房 無断転載禁止", "糸車工房"),
        ("This pattern is protected by copyright.", None),
        ("© 2022 All rights reserved", None),
        ("© 2022 www.fadenlust.example", None),
    ],
)
def test_copyright_lines_name_their_holder(line: str, holder: str | None) -> None:
    assert copyright_holder(line) == holder


@pytest.mark.parametrize(
    ("lines", "version"),
    [
        (["v1.2"], "1.2"),
        (["Samphire Tee v2 - A4"], "2"),
        (["Versión 1.1 - mayo 2022"], "1.1"),
        (["Stand: 03/2024"], "03/2024"),
        (["2. Auflage"], "2"),
        (["Updated 12 May 2023"], "12 May 2023"),
        (["mise à jour : 12/03/2023"], "12/03/2023"),
        (["wersja 1.3"], "1.3"),
        (["Päivitetty 3.4.2022"], "3.4.2022"),
        (["第2版"], "2"),
        (["Version 1: with collar", "Version 2: without collar"], None),
        (["Version 1", "Version 2"], None),
        (["Version A"], None),
        (["PDF version 1.4"], None),
        (["For the longer sleeve sew version 2, then press."], None),
    ],
)
def test_versions_are_told_from_views(lines: list[str], version: str | None) -> None:
    assert version_of(pages_of_text("\n".join(lines)))[0] == version


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("Art.-Nr. KS-104", "KS-104"),
        ("Pattern No. 1042", "1042"),
        ("KS-104 Rosalie", "KS-104"),
        ("品番 TN-109", "TN-109"),
        ("A4", None),
        ("Size US10", None),
        ("Order no. WW-39696", None),
    ],
)
def test_product_codes(line: str, code: str | None) -> None:
    assert product_code_of(pages_of_text(line)) == code


def test_advertised_products_are_other_titles() -> None:
    text = "Kofta Ljung\fLägg upp 20 maskor\fDu kanske också gillar\nVantar Silverräv\nTröja Vintergäck\n© Maskros"
    assert other_titles(pages_of_text(text)) == ("Vantar Silverräv", "Tröja Vintergäck")
    assert other_titles(pages_of_text("Also available: Rosalie Skirt, Anton Shirt")) == ("Rosalie Skirt", "Anton Shirt")


def test_metadata_of_a_template_names_nobody() -> None:
    pages = [_page(1, BODY)]
    assert title_of(pages, {"Title": "Layout 1"}, designer=None) is None
    assert title_of(pages, {"Title": "Some Program - final_v3"}, designer=None) is None
    assert designer_of(pages, {"Author": "user"}) is None
    assert designer_of(pages, {"Author": "Drawing Suite", "Creator": "Drawing Suite 26.3"}) is None


def test_the_buyer_is_not_the_designer() -> None:
    pages = pages_of_text("Otter Hoodie\nSizes 92-116\nPurchased by Nora Pell\nby Nora Pell")
    assert designer_of(pages, {}, not_these=("Nora Pell",)) is None


def test_of_two_names_in_one_line_the_file_name_tells_the_title() -> None:
    pages = pages_of_text("\f".join(f"Moss & Bobbin - Lighthouse Smock\npage {n}" for n in range(1, 5)))
    maker = designer_of(pages, {}, name="LighthouseSmock_A4.pdf")
    title = title_of(pages, {}, designer=maker, name="LighthouseSmock_A4.pdf")
    assert (title.text if title else None, maker) == ("Lighthouse Smock", "Moss & Bobbin")


def test_headings_are_the_largest_lines() -> None:
    lines, *_ = LAYOUTS["printing guide first"]
    assert headings_of([_page(1, lines[0])])[:2] == ("PRINTING GUIDE", "Wren Jumpsuit")
