"""The page on linking: its table of weights is the program's own."""

from __future__ import annotations

from pathlib import Path

from vault.matching.deciding import score01
from vault.matching.weights import ASK, GAP, LIFTED, LINK, PROOFS, WEIGHTS, table_markdown

PAGE = Path(__file__).resolve().parents[2] / "docs" / "linking.md"


def test_the_table_of_weights_is_that_of_the_program() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert table_markdown() in text, "python -m vault.matching.weights prints the table"


def test_the_thresholds_are_those_of_the_program() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert f"at least {LINK:g} points" in text
    assert f"at least {ASK:g} points" in text
    assert f"{GAP:g} points" in text


def test_every_weight_that_is_lifted_by_proof_is_a_stop() -> None:
    assert all(WEIGHTS[name].stop for name in LIFTED)
    assert all(WEIGHTS[name].points >= LINK for name in PROOFS)


def test_no_hint_links_by_itself() -> None:
    for name in ("same day", "same folder", "seller's site", "maker agrees", "stamped for this order of several"):
        assert WEIGHTS[name].points < LINK


def test_a_link_has_a_higher_score_than_any_question_needs() -> None:
    assert score01(LINK) > score01(ASK) > score01(0) >= 0
