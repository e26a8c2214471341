"""Gauge, needles, hooks, yarn and terms.

Gauge shapes, needle and hook numbers and yarn weights after the tables of the Craft Yarn Council and old British needle
charts (common practice, no published source: charts disagree on US 1, 1½ and 2½).
"""

from __future__ import annotations

import pytest
from trade_texts import PATTERNS

from vault.patterns.pages_text import pages_of_text
from vault.patterns.rules import facts_from_text
from vault.patterns.yarn import crochet_terms, labelled, read_gauge, yarn_details, yarn_weight


@pytest.mark.parametrize(
    ("text", "gauge"),
    [
        ('5 sts and 7 rows = 4" [10 cm]', (5.0, 7.0)),
        ("22 sts and 40 rows to 10 cm over stocking stitch on 3½mm (US 4)", (22.0, 40.0)),
        ('4½ sts and 9½ rows = 1"', (17.7, 37.4)),
        ("6 sts = 1 inch", (23.6, None)),
        ("11 sts over 5 cm", (22.0, None)),
        ("20-22 sts = 10 cm", (20.0, None)),
        ("22 M x 30 R = 10 x 10 cm", (22.0, 30.0)),
        ("10 x 10 cm = 22 m et 30 rgs", (22.0, 30.0)),
        ("22 stokjes en 30 toeren = 10 x 10 cm", (22.0, 30.0)),
        ("18 puntos y 24 vueltas = 10 x 10 cm", (18.0, 24.0)),
        ("18 maglie e 24 ferri = 10 x 10 cm", (18.0, 24.0)),
        ("22 m och 30 v = 10 cm", (22.0, 30.0)),
        ("22 masker og 30 pinde = 10 x 10 cm", (22.0, 30.0)),
        ("22 masker og 30 omganger = 10 x 10 cm", (22.0, 30.0)),
        ("22 o. i 30 rz. = 10 x 10 cm", (22.0, 30.0)),
        ("22 s ja 30 krs = 10 cm", (22.0, 30.0)),
        ("22目×30段=10cm角", (22.0, 30.0)),
        ("10cm角で22目30段", (22.0, 30.0)),
        ("The piece measures 10 cm", None),
        ("Cast on 22 sts.", None),
        ("a" * 10_000, None),
    ],
)
def test_gauge_is_read_per_ten_centimetres(text: str, gauge: tuple[float, float | None] | None) -> None:
    assert read_gauge(text) == gauge


@pytest.mark.parametrize(
    ("text", "craft", "details"),
    [
        ("Needles\n4 mm circular needle, 80 cm", "knitting", {"needle_mm": "4"}),
        ("Needles: 3.5 mm and 4 mm", "knitting", {"needle_mm": "3.5, 4"}),
        ("Needles: US 8 (5 mm)", "knitting", {"needle_mm": "5", "needle_us": "8"}),
        ("Needles: US 7", "knitting", {"needle_mm": "4.5", "needle_us": "7"}),
        ("Needles: US 1", "knitting", {"needle_mm": "unclear", "needle_us": "1"}),
        ("Needles: old UK 10", "knitting", {"needle_mm": "3.25", "needle_uk": "10"}),
        ("Hook: US G-6 (4 mm)", "crochet", {"hook_mm": "4", "hook_us": "G-6"}),
        ("Hook: US H-8", "crochet", {"hook_mm": "5", "hook_us": "H-8"}),
        ("Stricknadeln: Nr. 3,5", "knitting", {"needle_mm": "3.5"}),
        ("Aiguilles : n° 4", "knitting", {"needle_mm": "4"}),
        ("Haaknaald: 3 mm", "crochet", {"hook_mm": "3"}),
        ("かぎ針：2.5mm", "crochet", {"hook_mm": "2.5"}),
        ("Push 120 needles to working position", "knitting", {}),
    ],
)
def test_needles_and_hooks(text: str, craft: str, details: dict[str, str]) -> None:
    found = yarn_details(pages_of_text(text), craft)
    assert {key: value for key, value in found.items() if key.split("_")[-1] in ("mm", "us", "uk")} == details


@pytest.mark.parametrize(
    ("text", "weight"),
    [
        ("fingering weight yarn, 137 yds per 50 g", "1 Super Fine"),
        ("DK weight wool", "3 Light"),
        ("worsted weight", "4 Medium"),
        ("super bulky yarn", "6 Super Bulky"),
        ("chunky wool", "5 Bulky"),
        ("Yarn (weight #2): 3 skeins", "2 Fine"),
        ("merino, 3 balls", None),
    ],
)
def test_yarn_weights(text: str, weight: str | None) -> None:
    assert yarn_weight(text) == weight


@pytest.mark.parametrize(
    ("text", "terms"),
    [
        ("Written in US terms. 3 dc in next st", "US"),
        ("A crochet pattern in UK terms", "UK"),
        ("US terms with UK terms in brackets", "unclear"),
        ("sc in each st, hdc, sc2tog", "US (by its stitches)"),
        ("htr in next st, miss 2 sts, dtr", "UK (by its stitches)"),
        ("dc in each st", None),
    ],
)
def test_us_and_uk_terms(text: str, terms: str | None) -> None:
    assert crochet_terms(text.splitlines()) == terms


def test_labels_with_lines_below_them() -> None:
    lines = ["Notions", "• stitch markers", "• waste yarn", "Abbreviations", "k: knit"]
    assert labelled(lines, "notions") == "stitch markers; waste yarn"
    assert labelled(["Yarn: DK wool, 2 balls"], "yarn") == "DK wool, 2 balls"
    assert labelled(["We love wool."], "yarn") is None


def test_cloth_has_fabric_and_no_gauge() -> None:
    text = "Fabric: 2.2 m linen\nNotions: thread, 4 buttons\nSkill level: easy"
    details = yarn_details(pages_of_text(text), "sewing")
    assert details == {"fabric": "2.2 m linen", "notions": "thread, 4 buttons", "skill": "easy"}
    assert yarn_details(pages_of_text("Fabric: linen"), None) == {}


def test_details_reach_the_facts() -> None:
    details = facts_from_text(PATTERNS["fr-tricot"][0], name="pull.txt").details
    assert (details["stitches_per_10cm"], details["rows_per_10cm"], details["needle_mm"]) == ("22", "30", "4")
