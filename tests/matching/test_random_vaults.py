"""Random vaults of hard families, imperfectly read: what must never happen, and what must nearly always."""

from __future__ import annotations

import pytest
from vaults import Vault, make_vault

from vault.matching import match
from vault.model.match import MatchResult

CASES = [(1, 60, 0.1), (2, 60, 0.3), (3, 120, 0.1)]


@pytest.fixture(scope="module", params=CASES, ids=lambda c: f"seed {c[0]}, {c[1]} orders, {c[2]:.0%} missed")
def case(request: pytest.FixtureRequest) -> tuple[Vault, MatchResult]:
    seed, orders, imperfect = request.param
    vault = make_vault(seed, orders, imperfect=imperfect)
    return vault, match(vault.items, vault.files, ())


def test_no_link_is_wrong(case: tuple[Vault, MatchResult]) -> None:
    vault, result = case
    links = {(k.item_id, k.sha256) for k in result.links}
    assert links - vault.same - vault.may == set()


def test_nothing_missing_is_reported_as_held(case: tuple[Vault, MatchResult]) -> None:
    vault, result = case
    states = {s.item_id: s.state.value for s in result.standings}
    assert [i for i, state in vault.states.items() if state != "held" and states[i] == "held"] == []


def test_nearly_every_link_is_made(case: tuple[Vault, MatchResult]) -> None:
    vault, result = case
    links = {(k.item_id, k.sha256) for k in result.links}
    assert len(links & vault.same) >= 0.98 * len(vault.same)


def test_nearly_every_state_is_right(case: tuple[Vault, MatchResult]) -> None:
    vault, result = case
    states = {s.item_id: s.state.value for s in result.standings}
    assert sum(states[i] == s for i, s in vault.states.items()) >= 0.98 * len(vault.states)


def test_questions_are_few_and_the_right_file_comes_first(case: tuple[Vault, MatchResult]) -> None:
    vault, result = case
    assert len(result.questions) <= 0.08 * len(vault.items)
    answerable = [
        q for q in result.questions if any((q.item_id, c.sha256) in vault.same | vault.ask for c in q.candidates)
    ]
    first = sum((q.item_id, q.candidates[0].sha256) in vault.same | vault.ask for q in answerable)
    assert first >= 0.95 * len(answerable)
