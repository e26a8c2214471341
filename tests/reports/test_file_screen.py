"""The screen for one file: short answers before printing, nothing wider than the terminal, nothing said that is not so."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from vault.model.match import FileView, Relation
from vault.model.pattern import LicenceTerms, PatternFacts, PatternFile, Quote, ScaleCheck, Sheet, Sighting, Stamp
from vault.reports.file_screen import allowed_words, file_screen, scale_words, whole_words
from vault.reports.listings import concern_words, files
from vault.reports.text import Style, width

TILES = Sheet(paper="A4", width_mm=210, height_mm=297, pages=16, use="tiled")
FACTS = PatternFacts(
    media_type="application/pdf",
    is_pattern=True,
    craft="sewing",
    title="Larkspur Coat",
    designer="Fern & Cog",
    language="en",
    version="1.1",
    pages=16,
    sheets=(TILES,),
    sizes=("34", "36", "38"),
    scale_check=ScaleCheck(stated_mm=100.0, drawn_mm=100.0, ok=True, page=1),
    seam_allowance_mm=10.0,
    licence=LicenceTerms(
        personal_use=True,
        sell_finished="limited",
        limit=20,
        share_file="no",
        quotes=(Quote(text="Up to 20 pieces may be sold.", page=3),),
    ),
    stamp=Stamp(name="Wanda Prentice", order_number="A-77"),
    parts=("A4",),
    promised=("A0", "A4"),
    details={"fabric": "Wool, 150 cm wide", "needle_mm": "4"},
    why=("a pattern: pieces to cut", "test square on page 1: says 100 mm, drawn 100 mm"),
)


def view(sha256: str = "a" * 64, name: str = "larkspur_A4.pdf", **changes: Any) -> FileView:
    sighting = Sighting(path=f"/home/wanda/Downloads/{name}", origin_url="https://fernandcog.example/dl/77")
    facts = replace(FACTS, **changes)
    return FileView(file=PatternFile(sha256=sha256, n_bytes=1, facts=facts, sightings=(sighting,)))


SHRUNK = ScaleCheck(
    stated_mm=101.6, drawn_mm=95.58, ok=False, page=2, note="drawn at 94.07 %, as an A4 page fitted on Letter"
)


@pytest.mark.parametrize("columns", [60, 80])
def test_the_screen_answers_what_is_asked_before_printing(columns: int) -> None:
    other = view("b" * 64, "larkspur_instructions.pdf", parts=("instructions",))
    newer = view("c" * 64, "larkspur_A4_v2.pdf", version="2")
    related = [
        Relation(kind="version", sha256="c" * 64, words="version 2 instead of 1.1", newer=True),
        Relation(kind="part", sha256="b" * 64, words="another part: instructions"),
    ]
    lines = file_screen(
        view(),
        Style(columns=columns),
        shelf="/vault/shelf/Fern & Cog/Larkspur Coat/larkspur_A4.pdf",
        picture="/vault/pictures/aaaaaaaaaaaaaaaaaaaaaaaa.png",
        relations=related,
        others={v.file.sha256: v for v in (view(), other, newer)},
    )
    assert all(width(line) <= columns for line in lines)
    text = " ".join(" ".join(lines).split())
    for said in (
        "is sewing pattern, English, version 1.1",
        "paper 16 x A4 (tiled)",
        "scale right: the test square on page 1 says 100 mm",
        "allows for personal use only; selling what you make: in small numbers (up to 20); sharing the file: no; nothing on teaching",
        "whole yes, but it speaks of parts that are not among your files: A0",
        "newer held larkspur_A4_v2.pdf: version 2 instead of 1.1",
        "goes with instructions: larkspur_instructions.pdf",
        "came from https://fernandcog.example/dl/77",
        "stamped for Wanda Prentice, order A-77",
        '"Up to 20 pieces may be sold." (page 3)',
        "no legal advice",
    ):
        assert said in text, said
    assert "needle_mm" not in text


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"scale_check": SHRUNK},
            "WRONG: the test square on page 2 says 101.6 mm and is drawn 95.6 mm, drawn at 94.07 %",
        ),
        ({"scale_check": None}, "no test square found"),
        ({"scale_check": None, "why": ("its pages are pictures: the scale cannot be measured",)}, "cannot be measured"),
        ({"scale_check": None, "craft": "knitting", "sheets": (replace(TILES, use="instructions"),)}, ""),
    ],
)
def test_the_scale_in_words(changes: dict[str, Any], words: str) -> None:
    said = scale_words(replace(FACTS, **changes))
    assert words in said
    assert bool(said) == bool(words)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"unusable": "truncated", "damaged": True}, "NO: truncated"),
        ({"encrypted": "user", "unusable": "locked"}, "locked with a password"),
        ({"details": {"missing_tiles": "7, 8"}}, "NO: tiles are missing (7, 8)"),
        ({"promised": ()}, "yes, as far as can be seen"),
        ({"unread": "reading it took longer than 60 seconds"}, "cannot be told"),
    ],
)
def test_whether_it_is_whole(changes: dict[str, Any], words: str) -> None:
    assert words in whole_words(replace(FACTS, **changes))


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        (None, "the file does not say"),
        (LicenceTerms(sell_finished="unclear"), "contradict"),
        (LicenceTerms(sell_finished="with-licence", teach="no", share_file="no"), "only with a licence"),
        (LicenceTerms(credit_required=True), "nothing on selling or teaching or sharing"),
    ],
)
def test_what_is_allowed_with_its_silence(terms: LicenceTerms | None, words: str) -> None:
    assert words in allowed_words(replace(FACTS, licence=terms))


def test_the_list_says_what_to_know_before_printing() -> None:
    shown = [
        view(),
        view("b" * 64, "shrunk.pdf", scale_check=SHRUNK),
        view("c" * 64, "gaps.pdf", details={"missing_tiles": "3"}),
    ]
    lines = files(shown, Style(columns=80), superseded={"a" * 64})
    assert "newer held" in lines[1]
    assert "SCALE WRONG" in lines[2]
    assert "tiles missing" in lines[3]
    assert concern_words(replace(FACTS, is_pattern=False)) == ""
