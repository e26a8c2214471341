"""The plain line under a title: a maker's name, or something else that stands there as often."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.patterns.identity import title_of
from vault.patterns.maker import designer_of
from vault.patterns.pages_text import PageText, TextLine
from vault.patterns.title_block import maker_under, names_goods, reads_as_name


def block(*lines: tuple[str, float], gap: float = 2.0) -> list[TextLine]:
    found, y = [], 20.0
    for text, size in lines:
        found.append(TextLine(text=text, y=y, size_pt=size, bold=size > 15))
        y += max(gap * size * 0.3528, 4.5)
    return found


MAKERS = [
    ("Teal Wristlet", "Hemlock House", "Supplies"),
    ("Jersey Salitre", "Hebras de Duna", "Tallas: S (M) L (XL)"),
    ("Checkerboard Granny Vest", "Tansy Hook Co.", "US terms. Sizes XS (S, M, L, XL)"),
    ("Serwetka Szron", "Kłębek i Spółka", "Materiały"),
    ("花モチーフのコースター", "糸と窓", "材料"),
    ("Sukat Kuutar", "Silmukkala", "Koko: 36/37 (38/39) 40/41"),
    ("Fjellrev Lue", "Ullvår", "Størrelser: 2 (4) 6 (8) år"),
    ("Bonnet Mésange", "Les Mailles de Solène", "Tailles : enfant (adulte)"),
    ("Skjørt Rypa", "Tiriltunge Mønster", "Størrelser 34 - 50"),
    ("Quilt Fischgrät", "Flickenhof", "Größe 140 x 180 cm"),
    ("Broek Zeemeeuw", "Draad & Duin", "Naadwaarde van 1 cm is inbegrepen"),
    ("Lantern Sleeve Blouse", "Marlow Lane Patterns", "Sizes 8 to 20"),
    ("Cabled Cowl", "Anna-Lisa Pettersson", "a knitting pattern in three sizes"),
]
NO_MAKERS = [
    ("Heron Coat", "Unlined Chore Jacket", "Sizes 8 to 20"),
    ("Heron Coat", "Women's Sizes", "34 to 52"),
    ("Heron Coat", "Sewing Pattern", "Sizes 8 to 20"),
    ("Heron Coat", "A4 Print-at-Home", "Sizes 8 to 20"),
    ("Heron Coat", "with welt pockets and a half lining", "Sizes 8 to 20"),
    ("Heron Coat", "Materials", "2 m wool"),
    ("Heron Coat", "Intermediate", "Sizes 8 to 20"),
    ("Heron Coat", "Version 1.2", "Sizes 8 to 20"),
    ("Heron Coat", "Winter Collection", "Sizes 8 to 20"),
    ("Heron Coat", "Heron Pattern", "Sizes 8 to 20"),
    ("Tunika Linde", "Damenmode Kollektion", "Größe 34-46"),
    ("Mantel Isegrim", "Kinderjacke", "Gr. 98 bis 116"),
    ("Bonnet Mésange", "Tricot Facile", "Tailles : enfant"),
    ("Robe Myrtille", "Robe Longue", "Tailles 34 à 46"),
    ("Otterburn", "Fern Hollow", "Rook Lane"),  # two names: which is which?
    ("Larkspur", "Hemlock House, 12 Mill Lane", "Sizes"),
]


@pytest.mark.parametrize(("title", "maker", "after"), MAKERS)
def test_a_plain_name_under_the_title_is_the_maker(title: str, maker: str, after: str) -> None:
    page = PageText(number=1, width_mm=210, height_mm=297, lines=tuple(block((title, 22), (maker, 10), (after, 10))))
    assert maker_under(page.lines, 0) == maker
    designer = designer_of([page], {}, name="download.pdf")
    assert designer == maker
    found = title_of([page], {}, designer=designer, name="download.pdf")
    assert found is not None
    assert found.text == title


@pytest.mark.parametrize(("title", "line", "after"), NO_MAKERS)
def test_what_else_stands_under_a_title_is_no_maker(title: str, line: str, after: str) -> None:
    page = PageText(number=1, width_mm=210, height_mm=297, lines=tuple(block((title, 22), (line, 10), (after, 10))))
    assert maker_under(page.lines, 0) is None
    assert designer_of([page], {}, name="download.pdf") is None


def test_a_label_block_of_one_size_shows_its_maker_where_it_goes_on() -> None:
    assert maker_under(block(("Giacca Brughiera", 36), ("Sartoria Lucciola", 36), ("Taglie 40 - 50", 36)), 0)
    assert maker_under(block(("The Great", 36), ("Northern Cloak", 36)), 0) is None


def test_a_line_far_below_the_title_is_not_of_its_block() -> None:
    assert maker_under(block(("Teal Wristlet", 22), ("Hemlock House", 10), ("Supplies", 10), gap=6.0), 0) is None


@pytest.mark.parametrize(
    "text", ["Wickeljacke", "Chore Jacket", "Sommerkleid", "ワンピース", "Strikkegenser", "Summer Collection"]
)
def test_products_are_told_in_compounds_too(text: str) -> None:
    assert names_goods(text)


@pytest.mark.parametrize("text", ["Nadelwald", "Ravel & Rye", "Silmukkala", "糸と窓", "Hebras de Duna"])
def test_names_are_no_products(text: str) -> None:
    assert not names_goods(text)
    assert reads_as_name(text)


def test_the_buyers_line_is_never_the_title() -> None:
    """The stamp is on every page, the title on the first tile only: what is repeated must not speak for a buyer."""
    stamp = "Dit patroon is gekocht door Tjitske Wiersma, bestelling 88213"
    first = block(("Rok Wielewaal", 9), ("Draad & Duin", 9), ("Naadtoeslag 1 cm inbegrepen", 9), (stamp, 7))
    pages = [PageText(number=1, width_mm=210, height_mm=297, lines=tuple(first))]
    pages += [PageText(number=n, width_mm=210, height_mm=297, lines=tuple(block((stamp, 7)))) for n in (2, 3, 4)]
    found = title_of(pages, {}, designer="Draad & Duin", name="rok.pdf", not_these=("Tjitske Wiersma",))
    assert found is not None
    assert found.text == "Rok Wielewaal"


@settings(deadline=None, max_examples=80)
@given(st.lists(st.tuples(st.text(max_size=60), st.floats(4, 40)), max_size=6), st.integers(0, 7))
def test_any_lines_give_one_of_them_or_nothing(lines: list[tuple[str, float]], at: int) -> None:
    found = maker_under(block(*lines), at)
    assert found is None or found in [text for text, _ in lines]
