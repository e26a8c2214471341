"""Page marks such as "1/5" are no scale of a plan; a scale is written with a colon or behind a word for it."""

from __future__ import annotations

import pytest

from vault.patterns.rules import facts_from_text

SHAWL = """Larch Shawl
by Wick & Tether
{mark}
You will need
Yarn: 5 balls of 50 g (about 120 m each)
Gauge: 22 sts and 30 rows = 10 cm
Cast on 5 sts. Row 1: k2, yo, k1, yo, k2.
Row 2: purl. Repeat rows 1 and 2 until there are 201 sts.
Cast off and weave in all ends.
"""


@pytest.mark.parametrize("mark", ["1/5", "1/24", "1 / 50", "Page 1/20"])
def test_a_page_mark_makes_no_plan_of_a_pattern(mark: str) -> None:
    facts = facts_from_text(SHAWL.format(mark=mark), name="shawl.txt")
    assert facts.is_pattern is True
    assert facts.craft == "knitting"


@pytest.mark.parametrize("mark", ["Scale 1:50", "Échelle 1/50", "M 1:100"])
def test_a_scale_speaks_for_a_plan(mark: str) -> None:
    facts = facts_from_text(f"Ground floor\nKitchen\nHall\nBedroom\n{mark}\n12.5 m²", name="plan.txt")
    assert facts.is_pattern is False
