"""What must hold for any vault: the order of import, answers, and files that have nothing to do with it."""

from __future__ import annotations

import random
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from vaults import Vault, make_vault

from vault.matching import Matcher, match
from vault.model.match import Answer, MatchResult
from vault.model.pattern import PatternFacts, PatternFile, Sighting
from vault.model.purchase import ItemState

seeds = st.integers(0, 400)
RUNS = settings(max_examples=25, deadline=None)


def small(seed: int) -> Vault:
    return make_vault(seed, 8, imperfect=0.3)


@RUNS
@given(seeds, st.integers(0, 1000))
def test_the_order_of_import_does_not_matter(seed: int, order: int) -> None:
    vault = small(seed)
    before = match(vault.items, vault.files, ())
    rng = random.Random(order)
    items, files = vault.items[:], vault.files[:]
    rng.shuffle(items)
    rng.shuffle(files)
    assert match(items, files, ()) == before


@RUNS
@given(seeds)
def test_files_added_one_by_one_come_to_the_same(seed: int) -> None:
    vault = small(seed)
    matcher = Matcher(vault.items)
    for file in vault.files:
        matcher.look(file)
        matcher.result()
    assert matcher.result() == match(vault.items, vault.files, ())


@RUNS
@given(seeds)
def test_a_file_that_has_nothing_to_do_with_it_changes_nothing(seed: int) -> None:
    vault = small(seed)
    stranger = PatternFile(
        sha256="f" * 64,
        n_bytes=1000,
        facts=PatternFacts(media_type="application/pdf", is_pattern=True, title="Zqxv Wurbl", designer="Krzt"),
        sightings=(Sighting(path="somewhere/else/zqxv_wurbl.pdf", modified="1999-01-01T00:00:00+00:00"),),
    )
    assert match(vault.items, [*vault.files, stranger], ()) == match(vault.items, vault.files, ())


@RUNS
@given(seeds, st.data())
def test_a_file_that_she_named_stays_hers(seed: int, data: st.DataObject) -> None:
    vault = small(seed)
    item = data.draw(st.sampled_from(vault.items)).item
    file = data.draw(st.sampled_from([f for f in vault.files if not f.facts.unusable]))
    result = match(vault.items, vault.files, [Answer(item_id=item.id, sha256=file.sha256)])
    hers = [k for k in result.links if k.item_id == item.id and k.sha256 == file.sha256]
    assert [k.settled for k in hers] == ["user"]
    assert not any(q.item_id == item.id for q in result.questions)
    assert standing(result, item.id) in (ItemState.HELD, ItemState.PARTIAL)


@RUNS
@given(seeds, st.data())
def test_a_file_that_she_turned_down_is_never_linked_again(seed: int, data: st.DataObject) -> None:
    vault = small(seed)
    before = match(vault.items, vault.files, ())
    if not before.links:
        return
    link = data.draw(st.sampled_from(before.links))
    after = match(vault.items, vault.files, [Answer(item_id=link.item_id, rejected=(link.sha256,))])
    assert not any(k.item_id == link.item_id and k.sha256 == link.sha256 for k in after.links)
    assert not any(c.sha256 == link.sha256 for q in after.questions if q.item_id == link.item_id for c in q.candidates)


@RUNS
@given(seeds, st.data())
def test_none_of_all_holds_for_every_file_where_the_candidates_are_not_known(seed: int, data: st.DataObject) -> None:
    vault = small(seed)
    item = data.draw(st.sampled_from(vault.items)).item
    after = match(vault.items, vault.files, [Answer(item_id=item.id)])
    assert not any(k.item_id == item.id for k in after.links)
    assert not any(q.item_id == item.id for q in after.questions)


@RUNS
@given(seeds)
def test_what_is_put_off_is_asked_last(seed: int) -> None:
    vault = make_vault(seed, 40, imperfect=0.4)
    before = match(vault.items, vault.files, ())
    if len(before.questions) < 2:
        return
    first = before.questions[0]
    after = match(vault.items, vault.files, [Answer(item_id=first.item_id, later=True)])
    assert {q.id for q in after.questions} == {q.id for q in before.questions}
    assert after.questions[-1] == first


@RUNS
@given(seeds)
def test_an_answer_taken_back_leaves_no_trace(seed: int) -> None:
    vault = small(seed)
    before = match(vault.items, vault.files, ())
    match(vault.items, vault.files, [Answer(item_id=vault.items[0].item.id)])
    assert match(vault.items, vault.files, ()) == before


@RUNS
@given(seeds)
def test_scores_lie_between_nothing_and_one_and_every_link_has_its_reasons(seed: int) -> None:
    vault = small(seed)
    result = match(vault.items, vault.files, ())
    assert all(0.0 <= k.score <= 1.0 and k.reasons for k in result.links)
    assert all(0.0 <= c.score <= 1.0 and c.reasons for q in result.questions for c in q.candidates)
    for q in result.questions:
        scores = [c.score for c in q.candidates]
        assert scores == sorted(scores, reverse=True)
        assert q.id == f"q{q.item_id}"


@RUNS
@given(seeds)
def test_an_unusable_file_makes_nothing_held(seed: int) -> None:
    vault = small(seed)
    spoiled = [replace(f, facts=replace(f.facts, unusable="truncated")) for f in vault.files]
    result = match(vault.items, spoiled, ())
    assert result.links == ()
    assert all(s.state is ItemState.MISSING for s in result.standings)


def standing(result: MatchResult, item_id: str) -> ItemState:
    return next(s.state for s in result.standings if s.item_id == item_id)
