"""Bundles: the titles that a line of the receipt names, and lists of formats that are none."""

from __future__ import annotations

import pytest

from vault.receipts.goods import bundle_members
from vault.receipts.words import Words

MEMBERS = ("Kelp Coat", "Dulse Dress", "Wrack Wrap")


@pytest.mark.parametrize(
    ("language", "line", "members"),
    [
        ("en", "Includes: Kelp Coat, Dulse Dress, Wrack Wrap", MEMBERS),
        ("en", "Includes: Kelp Coat, Dulse Dress and Wrack Wrap", MEMBERS),
        ("en", "Contains 3 patterns: Kelp Coat + Dulse Dress + Wrack Wrap", MEMBERS),
        ("en", "Digital download (PDF) - Includes: Kelp Coat, Dulse Dress, Wrack Wrap", MEMBERS),
        ("de", "Enthält: Hose Tang + Kleid Düne", ("Hose Tang", "Kleid Düne")),
        ("fr", "Contient : Jupe Algue, Veste Dune", ("Jupe Algue", "Veste Dune")),
        ("sv", "Innehåller: Filt Tång + Poncho Sand", ("Filt Tång", "Poncho Sand")),
        ("pl", "Zawiera: Spódnica Fala, Bluza Wydma", ("Spódnica Fala", "Bluza Wydma")),
        ("en", "Includes: A4, A0, projector and instructions", ()),
        ("en", "Includes A4 and A0", ()),
        ("de", "Enthält: A4 + A0 + Anleitung", ()),
        ("sv", "Innehåller: instruktioner + diagram", ()),
        ("en", "Includes: sizes 34, 36, 38", ()),
        ("en", "Includes: Kelp Coat", ()),
        ("en", "Kelp Coat, Dulse Dress", ()),
        ("en", "Includes: " + "Kelp Coat, " * 40, ()),
    ],
)
def test_what_a_bundle_consists_of(language: str, line: str, members: tuple[str, ...]) -> None:
    assert bundle_members([line], Words(language)) == members
