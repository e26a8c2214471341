"""What the catalogue remembers, and the views that are shown."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from catalogue_values import (
    CLAIM,
    JOINED,
    MAIL,
    MATCHES,
    PAGE,
    PURCHASE,
    READING,
    SELLER,
    SKIRT,
    SKIRT_FILE,
    SKIRT_PDF,
    SOCKS,
    SOCKS_FILE,
    SOCKS_PDF,
    ZIP,
    ZIP_FILE,
)

from vault.catalogue import Catalogue
from vault.errors import UsageError
from vault.model.evidence import Problem
from vault.model.match import Answer, MatchResult
from vault.model.pattern import PatternFacts, Sighting
from vault.model.purchase import ItemState, Joined


@pytest.fixture
def catalogue(tmp_path: Path) -> Iterator[Catalogue]:
    with Catalogue.open(tmp_path / "catalogue.sqlite") as opened:
        yield opened


@pytest.fixture
def filled(catalogue: Catalogue) -> Catalogue:
    with catalogue.transaction():
        catalogue.record_document(MAIL, source="mails/box.mbox#3", reading=READING)
        for file in (SKIRT_FILE, SOCKS_FILE, ZIP_FILE):
            catalogue.record_file(file)
        catalogue.replace_joined(JOINED)
        catalogue.replace_matches(MATCHES, {SOCKS_PDF: SKIRT_PDF})
    return catalogue


# --- documents ----------------------------------------------------------------------------------


def test_a_document_comes_back_as_it_was_read(filled: Catalogue) -> None:
    assert filled.document(MAIL) == READING
    assert filled.document(PAGE) is None


def test_claims_and_notices_say_where_they_stand(filled: Catalogue) -> None:
    (claim,) = filled.claims()
    assert (claim.seq, claim.evidence_sha256, claim.index, claim.claim) == (1, MAIL, 0, CLAIM)
    assert (claim.dated, claim.message_id, claim.language) == (READING.dated, READING.message_id, "en")
    (notice,) = filled.notices()
    assert (notice.evidence_sha256, notice.notice) == (MAIL, READING.notices[0])


def test_reading_again_keeps_the_number_of_a_claim(filled: Catalogue) -> None:
    filled.record_document(PAGE, source="page.html", reading=replace(READING, claims=(CLAIM, CLAIM)))
    better = replace(CLAIM, seller="Thimblewick")
    filled.record_document(MAIL, source="mails/box.mbox#3", reading=replace(READING, claims=(better,), notices=()))
    assert [(c.seq, c.evidence_sha256) for c in filled.claims()] == [(1, MAIL), (2, PAGE), (3, PAGE)]
    assert filled.claims()[0].claim.seller == "Thimblewick"
    assert [n.evidence_sha256 for n in filled.notices()] == [PAGE]


def test_a_shorter_reading_drops_what_is_no_longer_said(filled: Catalogue) -> None:
    filled.record_document(MAIL, source="m", reading=replace(READING, claims=()))
    assert filled.claims() == ()


def test_known_is_asked_for_each_version_of_the_readers(catalogue: Catalogue) -> None:
    assert catalogue.document_known(MAIL) is None
    catalogue.record_document(MAIL, source="m", reading=READING, reader="1")
    catalogue.pass_over(PAGE, "p", "a newsletter", reader="1")
    assert catalogue.document_known(MAIL, reader="1") == catalogue.document_known(MAIL) == "read"
    assert catalogue.document_known(PAGE, reader="1") == "a newsletter"
    assert catalogue.document_known(MAIL, reader="2") is None
    assert catalogue.document_known(PAGE, reader="2") is None
    assert catalogue.outdated_documents("2") == (MAIL,)
    assert catalogue.outdated_documents("1") == ()


def test_what_is_passed_over_leaves_no_name_behind(catalogue: Catalogue, tmp_path: Path) -> None:
    catalogue.pass_over(PAGE, "/home/nora/Kontoauszug.pdf", "a bank's paper")
    snapshot = tmp_path / "snapshot.sqlite"
    catalogue.snapshot_to(snapshot)
    assert b"Kontoauszug" not in snapshot.read_bytes()


def test_passed_over_becomes_evidence_when_a_better_reader_reads_it_and_back(catalogue: Catalogue) -> None:
    catalogue.pass_over(MAIL, "m", "not understood")
    catalogue.record_document(MAIL, source="m", reading=READING)
    assert catalogue.document_known(MAIL) == "read"
    catalogue.pass_over(MAIL, "m", "an advertisement")
    assert catalogue.document_known(MAIL) == "an advertisement"
    assert catalogue.claims() == ()


def test_a_second_source_is_remembered_and_the_first_is_shown(filled: Catalogue) -> None:
    assert filled.add_source(MAIL, "mail/1.eml") is True
    assert filled.add_source(MAIL, "mail/1.eml") is False
    assert filled.sources(MAIL) == ("mails/box.mbox#3", "mail/1.eml")
    (view,) = filled.purchases()
    assert [(e.source, e.sha256, e.kind, e.message_id) for e in view.evidence] == [
        ("mails/box.mbox#3", MAIL, "mail", "tw-1042@thimblewick.example")
    ]


def test_problems_last_until_they_are_cleared_with_all_that_lies_inside(catalogue: Catalogue) -> None:
    for source in ("a.zip", "a.zip > b.pdf", "a.zip2", "box#1", "box#12"):
        catalogue.record_problem(Problem(source=source, reason="damaged", next="download it again"))
    catalogue.record_problem(Problem(source="a.zip", reason="damaged", next="ask the shop"))
    assert len(catalogue.problems()) == 5
    assert catalogue.problems()[0].next == "ask the shop"
    assert catalogue.clear_problem("a.zip") == 2
    assert catalogue.clear_problem("box") == 2
    assert [p.source for p in catalogue.problems()] == ["a.zip2"]


# --- files --------------------------------------------------------------------------------------


def test_files_come_back_with_sightings_and_members(filled: Catalogue) -> None:
    assert filled.pattern_files() == (SKIRT_FILE, SOCKS_FILE, ZIP_FILE)
    assert filled.file(SKIRT_PDF) == SKIRT_FILE


def test_the_view_of_files_names_items_and_duplicates_but_holds_no_text(filled: Catalogue) -> None:
    skirt, socks, _ = filled.files()
    assert (skirt.item_ids, skirt.duplicate_of, skirt.file.facts.text) == (("i1",), None, "")
    assert (socks.item_ids, socks.duplicate_of) == ((), SKIRT_PDF)


def test_the_same_bytes_elsewhere_are_one_file_seen_twice(filled: Catalogue) -> None:
    copy = Sighting(path="/home/nora/Downloads/skirt (1).pdf")
    assert filled.add_sighting(SKIRT_PDF, copy) is True
    assert filled.add_sighting(SKIRT_PDF, copy) is False
    assert [s.path for s in filled.pattern_files()[0].sightings][1] == copy.path


def test_an_origin_is_not_unlearned_and_the_first_day_stays(catalogue: Catalogue) -> None:
    catalogue.record_file(SKIRT_FILE)
    known = SKIRT_FILE.sightings[0]
    assert catalogue.add_sighting(SKIRT_PDF, replace(known, origin_url="https://thimblewick.example/d/1")) is True
    assert catalogue.add_sighting(SKIRT_PDF, replace(known, seen_on=date(2027, 1, 1))) is False
    (seen,) = catalogue.pattern_files()[0].sightings
    assert (seen.origin_url, seen.seen_on) == ("https://thimblewick.example/d/1", date(2026, 3, 3))


def test_reading_a_file_again_replaces_its_facts_and_keeps_it_kept(filled: Catalogue) -> None:
    again = replace(SKIRT_FILE, facts=PatternFacts(media_type="application/pdf", title="Skirt"), kept=False)
    filled.record_file(again, reader="2")
    (first, *_) = filled.pattern_files()
    assert (first.facts.title, first.kept, len(first.sightings)) == ("Skirt", True, 1)
    assert filled.file_known(SKIRT_PDF, reader="2") and not filled.file_known(SKIRT_PDF, reader="1")
    assert filled.file_kept(SKIRT_PDF)


def test_members_may_be_recorded_after_their_zip_in_the_same_transaction(catalogue: Catalogue) -> None:
    with catalogue.transaction():
        catalogue.record_file(ZIP_FILE)
        catalogue.record_file(SOCKS_FILE)
    assert catalogue.file(ZIP) == ZIP_FILE


def test_path_states_take_names_that_are_no_text(catalogue: Catalogue) -> None:
    odd = Path(os.fsdecode(b"downloads/Kleid M\xf6hrchen.pdf"))
    catalogue.set_path_state(odd, 5, 7, "d", reader="1")
    state = catalogue.path_state(odd, reader="1")
    assert state is not None
    assert (state.n_bytes, state.mtime_ns, state.digest) == (5, 7, "d")
    assert catalogue.path_state(odd, reader="2") is None
    assert catalogue.path_state(Path("other")) is None


# --- derived ------------------------------------------------------------------------------------


def test_purchases_show_states_links_names_and_evidence(filled: Catalogue) -> None:
    (view,) = filled.purchases()
    assert view.purchase == PURCHASE
    skirt, socks = view.items
    assert (skirt.item, skirt.standing, skirt.links) == (SKIRT, MATCHES.standings[0], MATCHES.links)
    assert skirt.names == ((SKIRT_PDF, "skirt.pdf"),)
    assert (socks.item, socks.standing, socks.links) == (SOCKS, MATCHES.standings[1], ())
    assert filled.questions() == MATCHES.questions


def test_items_that_stay_keep_their_standing_until_matching_ran_again(filled: Catalogue) -> None:
    moved = replace(PURCHASE, id="p2", items=(SKIRT, replace(SOCKS, id="i3")))
    filled.replace_joined(Joined(purchases=(moved,), sellers=(SELLER,)))
    (view,) = filled.purchases()
    assert [i.standing.state for i in view.items] == [ItemState.PARTIAL, ItemState.MISSING]
    assert view.purchase.id == "p2"
    assert filled.questions() == ()
    assert filled.check() == []


def test_an_item_that_matching_has_not_seen_is_never_held(catalogue: Catalogue) -> None:
    items = (SKIRT, replace(SOCKS, digital=False), replace(SOCKS, id="i3", refunded=True))
    catalogue.replace_joined(Joined(purchases=(replace(PURCHASE, items=items),), sellers=()))
    states = [i.standing.state for i in catalogue.purchases()[0].items]
    assert states == [ItemState.MISSING, ItemState.NOT_DIGITAL, ItemState.REFUNDED]


def test_deriving_twice_changes_nothing(filled: Catalogue) -> None:
    before = (filled.purchases(), filled.files(), filled.sellers(), filled.questions(), filled.search("skirt"))
    with filled.transaction():
        filled.replace_joined(JOINED)
        filled.replace_matches(MATCHES, {SOCKS_PDF: SKIRT_PDF})
    assert (filled.purchases(), filled.files(), filled.sellers(), filled.questions(), filled.search("skirt")) == before


# --- decisions ----------------------------------------------------------------------------------


def test_an_answer_holds_over_new_joining_and_can_be_taken_back(filled: Catalogue) -> None:
    filled.add_answer(Answer(item_id="i2", sha256=SOCKS_PDF))
    filled.replace_joined(Joined(purchases=(), sellers=()))
    filled.replace_matches(MatchResult(links=(), questions=(), standings=()))
    assert filled.answers() == (Answer(item_id="i2", sha256=SOCKS_PDF),)
    none_of_these = Answer(item_id="i2", rejected=(SOCKS_PDF, SKIRT_PDF))
    filled.add_answer(none_of_these)
    assert filled.answers() == (none_of_these,)
    assert filled.withdraw_answer("i2") is True
    assert filled.withdraw_answer("i2") is False
    assert filled.answers() == ()


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"status": "closed", "closes_on": date(2026, 6, 1)}, ("closed", date(2026, 6, 1), None)),
        ({"status": "open"}, ("open", None, None)),
        ({"succeeded_by": "Needle & Nib"}, ("closing", date(2026, 12, 31), "Needle & Nib")),
    ],
)
def test_what_she_says_of_a_shop_outweighs_the_notice(
    filled: Catalogue, changes: dict[str, object], expected: tuple[object, ...]
) -> None:
    filled.set_seller("Thimblewick", **changes)  # type: ignore[arg-type]
    filled.replace_joined(JOINED)
    (seller,) = filled.sellers()
    assert (seller.status, seller.closes_on, seller.succeeded_by) == expected


def test_a_second_word_about_a_shop_adds_to_the_first(filled: Catalogue) -> None:
    filled.set_seller("Thimblewick Patterns", status="closed", closes_on=date(2026, 6, 1), succeeded_by=None)
    filled.set_seller("Thimblewick Patterns", status=None, closes_on=None, succeeded_by="Needle & Nib")
    (seller,) = filled.sellers()
    assert (seller.status, seller.closes_on, seller.succeeded_by) == ("closed", date(2026, 6, 1), "Needle & Nib")


def test_an_unknown_status_is_refused(catalogue: Catalogue) -> None:
    with pytest.raises(UsageError):
        catalogue.set_seller("Thimblewick", status="asleep")


def test_events_and_values(catalogue: Catalogue) -> None:
    catalogue.add_event("backup", "done", "to disk", at=datetime(2026, 3, 1, 12, 0, tzinfo=UTC))
    catalogue.add_event("verify", "damaged")
    assert [(e.at, e.kind, e.outcome, e.detail) for e in catalogue.events("backup")] == [
        ("2026-03-01T12:00:00Z", "backup", "done", "to disk")
    ]
    assert len(catalogue.events()) == 2
    assert catalogue.value("recipient") is None
    catalogue.set_value("recipient", "age1")
    assert catalogue.value("recipient") == "age1"
    catalogue.set_value("recipient", None)
    assert catalogue.value("recipient") is None


# --- search -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        ("bustle", ["i1", SKIRT_PDF, MAIL]),
        ("BUSTLE skir", ["i1", SKIRT_PDF, MAIL]),
        ("crinoline", [SKIRT_PDF]),
        ("socks.pdf", [SOCKS_PDF]),
        ("thimblewick TW-1042", ["i1", "i2"]),
        ("Fenn", ["i2"]),
        ("waistcoat", []),
        ('" OR NEAR( * -', []),
        ("", []),
    ],
)
def test_search_finds_items_then_files_then_receipts(filled: Catalogue, words: str, keys: list[str]) -> None:
    assert [h.key for h in filled.search(words)] == keys


@pytest.mark.parametrize("words", ["Möhrchen", "Mohrchen", "moehrchen", "MÖHRCHEN kl"])
def test_umlauts_are_found_in_every_spelling(catalogue: Catalogue, words: str) -> None:
    item = replace(SKIRT, title="Kleid Möhrchen")
    catalogue.replace_joined(Joined(purchases=(replace(PURCHASE, items=(item,)),), sellers=()))
    assert [(h.kind, h.title) for h in catalogue.search(words)] == [("item", "Kleid Möhrchen")]


@pytest.mark.parametrize("words", ["帽子", "編み図 帽", "冬の帽子"])
def test_japanese_is_found_without_blanks_between_words(catalogue: Catalogue, words: str) -> None:
    item = replace(SKIRT, title="冬の帽子 編み図")
    catalogue.replace_joined(Joined(purchases=(replace(PURCHASE, items=(item,)),), sellers=()))
    (hit,) = catalogue.search(words)
    assert "冬の帽子" in hit.title


def test_hostile_text_is_stored_and_found(catalogue: Catalogue) -> None:
    nasty = replace(READING, subject="a\0b \udcff crinoline", text="x\udc80\0 farthingale")
    catalogue.record_document(MAIL, source="s\udcff", reading=nasty)
    assert [h.key for h in catalogue.search("farthingale")] == [MAIL]
    again = catalogue.document(MAIL)
    assert again is not None
    assert again.subject == nasty.subject
