"""Members of bundles that a title names, and makers that a file names in passing."""

from __future__ import annotations

import pytest

from vault.matching.bundles import members
from vault.matching.keys import key, words
from vault.matching.makers import by_first_word, makers, named_in


@pytest.mark.parametrize(
    ("title", "named"),
    [
        ("Lot de 2 patrons : Jupe Serpolet + Top Genêt", ("Jupe Serpolet", "Top Genêt")),
        ("Hedgerow Bundle (Stoat Hat, Vole Bag and Shrew Socks)", ("Stoat Hat", "Vole Bag", "Shrew Socks")),
        ("Stoat Hat + Vole Bag Bundle", ("Stoat Hat", "Vole Bag")),
        ("Herbstpaket: Rock Schlehe und Kleid Hagebutte", ("Rock Schlehe", "Kleid Hagebutte")),
        ("Ledge & Larder Bundle", ()),
        ("Herbstpaket Nr. 2", ()),
        ("Hedgerow Bundle: A4, A0 and Letter", ()),
        ("Stoat Hat (A4, A0)", ()),
        ("Stoat Hat and Vole Bag", ()),
        ("Hedgerow Bundle - PDF sewing patterns", ()),
    ],
)
def test_members_are_named_by_the_title_of_a_bundle_alone(title: str, named: tuple[str, ...]) -> None:
    assert members(title) == named


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Gannet Smock by Tallow Lane Patterns", True),
        ("made at Tallow Lane", True),
        ("tallow and a lane", False),
        ("Teasel", True),
        ("Teasel Patterns", True),
        ("the teasel coat", False),
    ],
)
def test_a_maker_of_one_word_is_named_only_by_a_whole_segment(text: str, found: bool) -> None:
    starts = by_first_word(makers(["Tallow Lane Patterns", "Teasel Studio"]))
    assert bool(named_in([tuple(map(key, words(text)))], starts)) is found
