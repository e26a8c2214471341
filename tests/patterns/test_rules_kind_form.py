"""Papers that talk of patterns, cloth or yarn, and sheets that are patterns with hardly a word.

Common practice, no published source: the signs by which a person tells them.
"""

from __future__ import annotations

import pytest

from vault.patterns.form import form_of, named_at_head
from vault.patterns.pages_text import pages_of_text
from vault.patterns.rules import facts_from_text
from vault.patterns.seam import seam_allowance_mm

TALK = {
    "en price list": "Yarn shed price list\nDK merino, needles 4 mm, tension 22 sts 7.50\nSock yarn 100 g 9.20\n"
    "Knitting pattern Burdock Hat 4.00",
    "fr minutes": "Club de couture : compte rendu\nPrésents : 9. Excusés : 2.\nPatron de la jupe, marge de couture, "
    "tailles 36 à 44.\nQuestions diverses",
    "nl newsletter": "Nieuwsbrief van de kostuumgroep\nBeste leden, het nieuwe naaipatroon heeft een naadtoeslag.\n"
    "Afmelden kan altijd.",
    "en review": "My review of the Sorrel Pinafore\nI cut 2 on the fold and the seam allowance was easy.\n"
    "This post contains affiliate links. Leave a comment!",
    "en contents": "Sleeves of the old stage\nContents\n1 Paper patterns and their makers ..... 4\n"
    "2 Seam allowances at work ..... 20\n3 Knitting machines ..... 61\nISBN 000",
    "en order": "Order confirmation 20931\nBurdock Hat knitting pattern (PDF) 1 4.00\nSizes S, M, L. Needles 4 mm\n"
    "Total 4.00 GBP",
    "en joinery": "Nest box, a woodworking plan\nOne plank 140 mm wide, wood screws\nCut 2 sides, cut 1 front.\n"
    "Check square: 5 cm at 100 % print scale.",
    "en sums": "Mathematics: worksheet 4\nName: ______ Date: ______\nContinue the pattern: 3, 6, 9\n"
    "Measure the test square: 5 cm.",
    "es prices": "Lista de precios\nTela de algodón, ancho 140 cm 8,50 €\nPatrón de costura falda, tallas 36-44 9,00 €",
    "en cake": "Knitted-look biscuits\nIngredients: 200 g flour, 90 g butter\nCut 2 rounds, pipe k2, p2 in icing.\n"
    "Bake in the oven.",
    "en bill of amounts": "Evening ticket\n12.50\n7.90\n20.40",
    "en play": "The Tailor's Ghost - a play in three acts\nWardrobe: the volunteers. Costumes sewn in the old mill.",
    "en words of nothing": "Parking at the hall is behind the church and closes at ten, please bring a torch.",
}
# A manual of few words that names a seam allowance too: not sure to be none.
MANUAL = (
    "Overlock Duo 3 - Bedienungsanleitung\nDen Faden einfädeln, die Naht steppen.\n"
    "Reißverschluss einnähen: 1,5 cm Nahtzugabe, bügeln.\nTechnische Daten: 60 W"
)
SHEETS = {
    "tile labels": "\f".join(
        f"Burdock Tunic\nby Teasel Row Patterns\nSeam allowance 1 cm included\nPage {n} of 4" for n in range(1, 5)
    ),
    "journal cover": "Journal Cover - sewing pattern\nTeasel Row Patterns\nSeam allowance 1 cm is included.\n"
    "Cut 2 in main fabric, cut 2 in lining. Place right sides together, stitch, clip the corners, turn and press.",
}


@pytest.mark.parametrize("name", TALK)
def test_a_paper_that_talks_of_patterns_is_none(name: str) -> None:
    assert facts_from_text(TALK[name], name="document.pdf").is_pattern is False


def test_a_manual_that_tells_how_to_sew_is_never_called_a_pattern() -> None:
    assert facts_from_text(MANUAL, name="document.pdf").is_pattern is not True


@pytest.mark.parametrize("name", SHEETS)
def test_sheets_of_few_words_are_patterns(name: str) -> None:
    facts = facts_from_text(SHEETS[name], name="download.txt")
    assert (facts.is_pattern, facts.craft) == (True, "sewing")


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("Newsletter\nAutumn", True),
        ("Autumn price list\nYarn", True),
        ("Burdock Hat\nTeasel Row\nCast on 80 stitches.\nSee our newsletter", False),
        ("The invoice of the miller's daughter\nA tale", False),
    ],
)
def test_a_name_of_another_paper_tells_at_its_head_only(text: str, named: bool) -> None:
    assert named_at_head(text) is named


HEADS = ("Diary", "Recipe", "Exam", "Newsletter", "Worksheet", "Minutes", "Patent", "Invoice", "Programme", "Agenda")


@pytest.mark.parametrize("word", HEADS)
def test_no_word_of_a_heading_refuses_instructions(word: str) -> None:
    knitted = (
        f"{word} Cardigan\nSizes S (M, L)\nYarn: 500 g DK wool\nTension: 22 sts and 30 rows to 10 cm\n"
        "Cast on 90 (98, 106) sts. Row 1: *k1, p1; rep from * to end. Work 8 rows in rib. Knit 60 rows. Cast off.\n"
    )
    sewn = (
        f"{word} Bag\nYou need 50 cm canvas\nCut 2 fronts and 2 linings. Sew the side seams, right sides together.\n"
        "Press the seams open. Turn through and topstitch the edge. Not for sale.\n"
    )
    for text, craft in ((knitted, "knitting"), (sewn, "sewing")):
        facts = facts_from_text(text, name="download.txt")
        assert (facts.is_pattern, facts.craft) == (True, craft)


@pytest.mark.parametrize("hostile", ["a", "<", " ", ".", "1 ", "_"])
def test_the_form_of_a_long_line_costs_bounded_time(hostile: str) -> None:
    pages = pages_of_text(hostile * 1_000_000)
    form_of(pages, hostile * 1_000_000)


@pytest.mark.parametrize(
    ("text", "language", "mm"),
    [
        ('All seams are 1/4" unless otherwise noted.', "en", 6.35),
        ("A seam allowance of one half inch is included.", "en", 12.7),
        ("Seam allowance: five eighths of an inch", "en", 15.875),
        ("Naad inbegrepen: 1 cm", "nl", 10.0),
    ],
)
def test_seams_told_in_other_words(text: str, language: str, mm: float) -> None:
    assert seam_allowance_mm(pages_of_text(text), language)[0] == mm


@pytest.mark.parametrize(
    ("head", "title", "designer"),
    [
        ("THE BURDOCK COAT Sheet 1 of 2\nSize 8, 10, 12\n", "The Burdock Coat", None),
        ("Burdock in Rain\nCross-stitch chart by Linen & Rye 60 x 40 stitches\n", "Burdock in Rain", "Linen & Rye"),
    ],
)
def test_names_end_before_sheets_and_counts(head: str, title: str, designer: str | None) -> None:
    steps = "Cut 2 fronts and 2 backs.\nPlace right sides together, stitch and press.\n14 count Aida, back stitch.\n"
    facts = facts_from_text(head + steps, name="download.txt")
    assert facts.title is not None and facts.title.casefold() == title.casefold()
    assert facts.designer == designer
