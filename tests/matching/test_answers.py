"""Answers: they hold, what lies beside a named file follows it, and they teach, visibly and reversibly."""

from __future__ import annotations

from datetime import date
from hashlib import sha256

from vault.matching import Matcher, match
from vault.matching.taught import lessons
from vault.model.match import Answer, Link, MatchItem, MatchResult
from vault.model.pattern import PatternFacts, PatternFile, Sighting
from vault.model.purchase import Item, Purchase


def item(title: str, designer: str | None = "Old Mill Patterns") -> MatchItem:
    made = Item(id=f"i-{title}", title=title, designer=designer, digital=True, craft_pattern=True)
    bought = Purchase(
        id=f"p-{title}", seller_id=None, seller=designer, order_number=None, purchased_on=date(2024, 2, 2),
        currency=None, total=None, items=(made,),
    )  # fmt: skip
    return MatchItem(item=made, purchase=bought)


def file(path: str, *, inside: str | None = None, zipped: str | None = None, **facts: object) -> PatternFile:
    made = PatternFacts(media_type="application/pdf", is_pattern=True, **facts)  # type: ignore[arg-type]
    sighting = Sighting(path=path, inside=inside, zip_sha256=zipped)
    digest = sha256(f"{path}!{inside}".encode()).hexdigest()
    return PatternFile(sha256=digest, n_bytes=9, facts=made, sightings=(sighting,))


def linked(result: MatchResult, title: str) -> dict[str, Link]:
    return {k.sha256: k for k in result.links if k.item_id == f"i-{title}"}


SMOCK, VEST = item("Sedge Smock"), item("Reed Vest")
SMOCK_FILE = file("d/a.pdf", title="Sedge Smock", designer="Millrace Sewing")
VEST_FILE = file("d/b.pdf", title="Reed Vest", designer="Millrace Sewing")


def test_what_lies_in_the_zip_of_a_named_file_follows_it() -> None:
    named = file("d/x.zip", inside="1.pdf", zipped="z", title="Something else")
    beside = file("d/x.zip", inside="A0.pdf", zipped="z", parts=("A0",))
    result = match([SMOCK], [named, beside], [Answer(item_id="i-Sedge Smock", sha256=named.sha256)])
    found = linked(result, "Sedge Smock")
    assert {s: k.settled for s, k in found.items()} == {named.sha256: "user", beside.sha256: "auto"}
    assert any(r.name == "same zip" for r in found[beside.sha256].reasons)


def test_a_named_file_is_taken_from_where_it_was_linked() -> None:
    clear = file("d/Reed Vest.pdf", title="Reed Vest", designer="Old Mill Patterns")
    assert linked(match([SMOCK, VEST], [clear]), "Reed Vest")
    after = match([SMOCK, VEST], [clear], [Answer(item_id="i-Sedge Smock", sha256=clear.sha256)])
    assert not linked(after, "Reed Vest")
    assert linked(after, "Sedge Smock")[clear.sha256].settled == "user"


def test_an_answer_teaches_a_makers_other_name() -> None:
    before = match([SMOCK, VEST], [SMOCK_FILE, VEST_FILE])
    assert not before.links
    assert {q.item_id for q in before.questions} == {"i-Sedge Smock", "i-Reed Vest"}
    after = match([SMOCK, VEST], [SMOCK_FILE, VEST_FILE], [Answer(item_id="i-Sedge Smock", sha256=SMOCK_FILE.sha256)])
    learnt = linked(after, "Reed Vest")[VEST_FILE.sha256]
    assert learnt.settled == "auto"
    words = "you said before that a file by Millrace Sewing is a pattern of Old Mill Patterns"
    assert words in [r.words for r in learnt.reasons]


def test_what_was_taught_does_not_depend_on_the_order_of_import() -> None:
    answer = Answer(item_id="i-Sedge Smock", sha256=SMOCK_FILE.sha256)
    matcher = Matcher([SMOCK, VEST], [answer])
    matcher.add([VEST_FILE])
    matcher.result()
    matcher.add([SMOCK_FILE])
    assert matcher.result() == match([VEST, SMOCK], [SMOCK_FILE, VEST_FILE], [answer])


def test_an_answer_teaches_a_code() -> None:
    named = file("d/n.pdf", product_code="KS-104", text="Model KS-104")
    later = file("e/KS-104_A0.pdf", parts=("A0",))
    answer = Answer(item_id="i-Sedge Smock", sha256=named.sha256)
    assert not linked(match([SMOCK], [named, later]), "Sedge Smock")
    found = linked(match([SMOCK], [named, later], [answer]), "Sedge Smock")
    assert {s: k.settled for s, k in found.items()} == {named.sha256: "user", later.sha256: "auto"}


def test_a_new_file_may_be_linked_after_none_of_the_old_was_it() -> None:
    old = file("d/a.pdf", title="Sedge Smock Meadow", designer="Old Mill Patterns")
    asked = match([SMOCK], [old])
    assert [c.sha256 for q in asked.questions for c in q.candidates] == [old.sha256]
    none = Answer(item_id="i-Sedge Smock", rejected=(old.sha256,))
    assert not match([SMOCK], [old], [none]).questions
    new = file("d/Sedge Smock.pdf", title="Sedge Smock", designer="Old Mill Patterns")
    assert set(linked(match([SMOCK], [old, new], [none]), "Sedge Smock")) == {new.sha256}


def test_an_answer_about_a_file_that_is_not_here_waits_for_it() -> None:
    answer = Answer(item_id="i-Sedge Smock", sha256=VEST_FILE.sha256)
    assert not match([SMOCK], [], [answer]).links
    assert linked(match([SMOCK], [VEST_FILE], [answer]), "Sedge Smock")[VEST_FILE.sha256].settled == "user"


def test_a_named_zip_stands_for_the_files_in_it() -> None:
    members = [file("d/x.zip", inside=f"{n}.pdf", zipped="z", title=f"Sheet {n}") for n in "ab"]
    zipped = PatternFile(
        sha256="z", n_bytes=9, facts=PatternFacts(media_type="application/zip"),
        sightings=(Sighting(path="d/x.zip"),), members=tuple(m.sha256 for m in members),
    )  # fmt: skip
    answer = Answer(item_id="i-Sedge Smock", sha256="z")
    expected = {m.sha256: "user" for m in members}
    for order in ([zipped, *members], [*members, zipped]):
        matcher = Matcher([SMOCK], [answer])
        for one in order:
            matcher.add([one])
            matcher.result()
        assert {s: k.settled for s, k in linked(matcher.result(), "Sedge Smock").items()} == expected


def test_an_answer_about_an_item_that_is_gone_does_no_harm() -> None:
    result = match([SMOCK], [SMOCK_FILE], [Answer(item_id="i-nothing", sha256=SMOCK_FILE.sha256)])
    assert result.standings[0].item_id == "i-Sedge Smock"


def test_what_an_answer_taught_is_told_and_gone_with_it() -> None:
    answers = [Answer(item_id="i-Sedge Smock", sha256=SMOCK_FILE.sha256)]
    named = {SMOCK_FILE.sha256: SMOCK_FILE}
    (lesson,) = lessons([SMOCK, VEST], answers, named)
    assert (lesson.item_id, lesson.words) == (
        "i-Sedge Smock",
        "a file by Millrace Sewing may be a pattern of Old Mill Patterns",
    )
    coded = file("d/KS-104.pdf", product_code="KS-104", designer="Old Mill Patterns")
    (lesson,) = lessons([SMOCK], [Answer(item_id="i-Sedge Smock", sha256=coded.sha256)], {coded.sha256: coded})
    assert lesson.words == "a file with the code KS-104 is “Sedge Smock”"
    assert lessons([SMOCK, VEST], [Answer(item_id="i-Sedge Smock")], named) == ()


def test_the_question_that_decides_most_comes_first() -> None:
    """One answer about a maker's other name settles the two others, so it is asked before a likelier lone question."""
    coat = item("Tern Coat", designer="Somebody Else")
    coat_file = file("d/Tern Coat Meadow.pdf", title="Tern Coat Meadow", designer="Somebody Else")
    cape, cape_file = item("Ember Cape"), file("d/c.pdf", title="Ember Cape", designer="Millrace Sewing")
    files = [SMOCK_FILE, VEST_FILE, cape_file, coat_file]
    asked = match([SMOCK, VEST, cape, coat], files).questions
    assert [q.item_id for q in asked][-1] == "i-Tern Coat"
    assert len(asked) == 4
    first = asked[0]
    answer = Answer(item_id=first.item_id, sha256=first.candidates[0].sha256)
    assert {q.item_id for q in match([SMOCK, VEST, cape, coat], files, [answer]).questions} == {"i-Tern Coat"}
