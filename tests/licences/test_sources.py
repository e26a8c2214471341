"""Where terms are found: files of an item, what lies beside them in their zip, mails of the purchase, recorded words."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from vault.catalogue import Catalogue
from vault.errors import UsageError
from vault.intake.terms import read_terms, record_terms, terms_in_file, terms_of, typed_terms
from vault.model.evidence import DocumentKind, DocumentReading, EvidenceKind
from vault.model.licence import Act, TermsPlace, TermsSeen
from vault.model.match import Link, MatchResult, Standing
from vault.model.pattern import PatternFacts, PatternFile, Sighting
from vault.model.purchase import Item, ItemState, Joined, Purchase
from vault.safekeeping.folder import VaultFolder

MAIL, ZIP, SHEETS, SHEET, OTHER = ("aa" * 32, "bb" * 32, "cc" * 32, "dd" * 32, "ee" * 32)
BOUGHT = date(2026, 3, 1)


def _file(sha256: str, text: str, inside: str | None = None, members: tuple[str, ...] = ()) -> PatternFile:
    facts = PatternFacts(media_type="application/pdf", language="en", licence=read_terms(text, "en"), text=text)
    sighting = Sighting(
        path="/downloads/order.zip" if inside else "/downloads/x.pdf",
        inside=inside,
        zip_sha256=ZIP if inside else None,
        modified="2026-03-02T10:00:00Z",
        seen_on=date(2026, 11, 25),
    )
    return PatternFile(sha256=sha256, n_bytes=1, facts=facts, sightings=(sighting,), members=members)


def _mail(text: str) -> DocumentReading:
    return DocumentReading(
        kind=EvidenceKind.MAIL, document=DocumentKind.ORDER, language="en", subject="Order 1", dated=BOUGHT, text=text
    )


@pytest.fixture
def catalogue(tmp_path: Path) -> Iterator[Catalogue]:
    with Catalogue.open(tmp_path / "catalogue.sqlite") as opened:
        yield opened


def _fill(catalogue: Catalogue, mail: str = "", *, licensed: str = "", other_is_linked: bool = False) -> None:
    items = (Item(id="i1", title="Capelet"), Item(id="i2", title="Bonnet"))
    purchase = Purchase(
        id="p1", seller_id=None, seller="Thimblewick", order_number="1", purchased_on=BOUGHT, currency=None, total=None,
        items=items, evidence=(MAIL,),
    )  # fmt: skip
    with catalogue.transaction():
        catalogue.record_document(MAIL, source="box.mbox#1", reading=_mail(mail))
        catalogue.record_file(_file(SHEETS, "Cut two.", "A4.pdf"))
        catalogue.record_file(_file(SHEET, licensed, "licence.pdf"))
        catalogue.record_file(_file(OTHER, "Finished items may not be sold.", "bonnet.pdf"))
        catalogue.record_file(_file(ZIP, "", members=(SHEETS, SHEET, OTHER)))
        catalogue.replace_joined(Joined(purchases=(purchase,), sellers=()))
        links = [Link(item_id="i1", sha256=SHEETS, part="A4", score=1.0)]
        if other_is_linked:
            links.append(Link(item_id="i2", sha256=OTHER, part=None, score=1.0))
        standings = tuple(Standing(item_id=i.id, state=ItemState.HELD) for i in items)
        catalogue.replace_matches(MatchResult(links=tuple(links), questions=(), standings=standings))


def _terms(catalogue: Catalogue, item_id: str = "i1") -> tuple[TermsSeen, ...]:
    files = {v.file.sha256: v for v in catalogue.files()}
    view = catalogue.purchases()[0]
    return terms_of(catalogue, view, next(i for i in view.items if i.item.id == item_id), files)


def test_a_licence_sheet_in_the_zip_speaks_for_the_pattern_beside_it(catalogue: Catalogue) -> None:
    _fill(catalogue, licensed="You may sell up to 20 finished pieces.", other_is_linked=True)
    (found,) = _terms(catalogue)
    assert (found.name, found.sha256, found.place) == ("licence.pdf", SHEET, TermsPlace.FILE)
    assert found.seen_on == date(2026, 3, 2)
    assert {c.act: c.limit for c in found.clauses}[Act.SELL] == 20


def test_what_belongs_to_another_item_in_the_zip_does_not(catalogue: Catalogue) -> None:
    _fill(catalogue, other_is_linked=True)
    assert _terms(catalogue) == ()
    assert [t.sha256 for t in _terms(catalogue, "i2")] == [OTHER]


def test_a_mail_of_the_purchase_speaks_with_its_subject_and_day(catalogue: Catalogue) -> None:
    _fill(catalogue, "Thank you!\nYou may sell up to 25 finished items made from this pattern.", other_is_linked=True)
    (found,) = _terms(catalogue)
    assert (found.place, found.name, found.seen_on) == (TermsPlace.MAIL, "Order 1", BOUGHT)
    assert [q.page for c in found.clauses for q in c.quotes] == [None] * sum(len(c.quotes) for c in found.clauses)


# Sentences of order mails, no licence: common practice, no published source.
@pytest.mark.parametrize(
    "text",
    [
        "PAID WITH THANKS - bank transfer 17 May 2025 The patterns are attached.",
        "Share your makes with #thimblewick! We love to see what you sew.",
        "You may not reply to this mail. Downloads are not refundable.",
        "Not for you? Cancel the club. Print at 100 % and check the test square.",
        "Sale! Everything sold at half price until Sunday.",
        "Your order contains 20 items. Thank you for shopping with us.",
    ],
)
def test_ordinary_sentences_of_a_mail_are_no_terms(catalogue: Catalogue, text: str) -> None:
    _fill(catalogue, text, other_is_linked=True)
    assert _terms(catalogue) == ()


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    made = VaultFolder(tmp_path / "vault")
    made.create()
    return made


def test_recording_the_same_words_twice_changes_nothing(catalogue: Catalogue, folder: VaultFolder) -> None:
    _fill(catalogue, other_is_linked=True)
    words = typed_terms("Finished items may not be sold.")
    one = record_terms(folder, catalogue, "i1", words, seen_on=BOUGHT)
    two = record_terms(folder, catalogue, "i1", words, seen_on=BOUGHT)
    assert one == two
    assert len(catalogue.added_terms()) == 1
    record_terms(folder, catalogue, "i2", words, seen_on=BOUGHT)
    assert [t.item_id for t in catalogue.added_terms()] == ["i1", "i2"]
    assert len([p for p in (folder.root / "objects").rglob("*") if p.is_file()]) == 1


def test_the_pages_of_a_recorded_pdf_are_named(catalogue: Catalogue, folder: VaultFolder, tmp_path: Path) -> None:
    from vault.claims.paper import Sheet, as_pdf

    path = tmp_path / "terms.pdf"
    path.write_bytes(
        as_pdf(Sheet(title="Capelet", lines=(*("",) * 60, "You may sell up to 12 finished items a year.")))
    )
    found = terms_in_file(path)
    assert found.place is TermsPlace.FILE
    record_terms(folder, catalogue, "i1", found, seen_on=BOUGHT)
    _fill(catalogue, other_is_linked=True)
    (terms,) = _terms(catalogue)
    (sell,) = [c for c in terms.clauses if c.act is Act.SELL]
    assert (sell.limit, sell.per, sell.quotes[0].page) == (12, "year", 2)


@pytest.mark.parametrize(
    ("name", "content", "place"),
    [
        ("page.html", b"<html><body><p>Finished items may not be sold.</p></body></html>", TermsPlace.PAGE),
        ("terms.txt", b"Finished items may not be sold.\n", TermsPlace.TEXT),
        (
            "mail.eml",
            b"From: a@shop.example\r\nTo: b@x.example\r\nSubject: Terms\r\nDate: Sun, 1 Mar 2026 10:00:00 +0000\r\n"
            b"Message-ID: <1@shop.example>\r\n\r\nFinished items may not be sold.\r\n",
            TermsPlace.MAIL,
        ),
    ],
)
def test_pages_texts_and_mails_are_read(tmp_path: Path, name: str, content: bytes, place: TermsPlace) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    found = terms_in_file(path)
    assert (found.place, found.content) == (place, content)
    terms = read_terms(found.text)
    assert terms is not None
    assert terms.sell_finished == "no"


def test_no_words_are_refused() -> None:
    with pytest.raises(UsageError):
        typed_terms(" \n\t")
