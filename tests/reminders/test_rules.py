"""Each rule against small rows: what is found, from which day, and in which words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from vault.model.act import Act
from vault.model.claim import Claim, ClaimedItem, ClaimState, ClaimView
from vault.model.event import DestinationHistory, Event
from vault.model.evidence import DownloadLink
from vault.model.licence import MayAnswer, Ruling, TermsPlace, TermsSeen
from vault.model.match import ItemView, MissingRow, Standing
from vault.model.pattern import LicenceTerms
from vault.model.purchase import Item, ItemState, Purchase, Seller
from vault.reminders import rules
from vault.reminders.rules import LicenceStanding, Rows

DAY = date(2026, 11, 25)
SHOP = Seller(id="s1", name="Cap & Bells")


def missing(
    title: str = "Jester Hood",
    *,
    ends: str | None = None,
    left: int | None = None,
    bought: str | None = "2026-11-01",
    state: ItemState = ItemState.MISSING,
    lacking: tuple[str, ...] = (),
    seller: Seller = SHOP,
    order: str = "1",
) -> MissingRow:
    last = date.fromisoformat(ends) if ends else None
    link = DownloadLink(url="https://capandbells.example/d/1", expires_on=last, downloads_left=left)
    item = Item(id=f"i-{title}", title=title, links=(link,))
    purchase = Purchase(
        id=f"p{order}",
        seller_id=seller.id,
        seller=seller.name,
        order_number=order,
        purchased_on=date.fromisoformat(bought) if bought else None,
        currency="GBP",
        total=Decimal("9.00"),
        items=(item,),
    )
    return MissingRow(
        view=ItemView(item=item, standing=Standing(item_id=item.id, state=state, lacking=lacking)),
        purchase=purchase,
        seller=seller,
        deadline=last,
        downloads_left=left,
        urgency="soon",
        why=("no file here is it",),
        next="Download it.",
    )


def event(day: str, kind: str = "backup", outcome: str = "done") -> Event:
    return Event(at=f"{day}T10:00:00Z", kind=kind, outcome=outcome, destination="stick")


def claim(state: ClaimState, *, answer_by: str = "2026-11-20", since: str = "2026-11-06") -> ClaimView:
    item = ClaimedItem(item_id="i1", purchase_id="p1", title="Jester Hood")
    letter = Claim(
        id="c1",
        seller="Cap & Bells",
        seller_id="s1",
        to="Cap & Bells",
        language="en",
        written_on=date(2026, 11, 6),
        answer_by=date.fromisoformat(answer_by),
        items=(item,),
    )
    return ClaimView(claim=letter, state=state, since=date.fromisoformat(since))


def answered(used: int, limit: int | None) -> LicenceStanding:
    answer = MayAnswer(act=Act.SELL, ruling=Ruling.LIMITED, limit=limit, used=used)
    return LicenceStanding(item_id="i1", title="Jester Hood", answers=(answer,))


def granted(until: str) -> LicenceStanding:
    source = TermsSeen(
        id="t1",
        place=TermsPlace.MAIL,
        name="permission.eml",
        sha256=None,
        seen_on=DAY,
        terms=LicenceTerms(),
        granted=True,
        until=date.fromisoformat(until),
    )
    return LicenceStanding(item_id="i1", title="Jester Hood", granted=(source,))


CLOSED = replace(SHOP, status="closed", closes_on=date(2026, 6, 30))
CLOSING = replace(SHOP, status="closing", closes_on=date(2026, 12, 31), succeeded_by="Motley Row")
VAGUE = replace(SHOP, status="closing")

# rule, rows, the days from which something is due, words of the title
CASES = [
    (rules.link_runs_out, Rows(missing=[missing(ends="2026-12-20")]), ["2026-12-06"], "good until 2026-12-20"),
    (rules.link_runs_out, Rows(missing=[missing(ends="2026-11-24")]), [], ""),
    (rules.link_runs_out, Rows(missing=[missing()]), [], ""),
    (rules.few_downloads_left, Rows(missing=[missing(left=2)]), ["2026-11-25"], "2 times left"),
    (rules.few_downloads_left, Rows(missing=[missing(left=1)]), ["2026-11-25"], "1 time left"),
    (rules.few_downloads_left, Rows(missing=[missing(left=0)]), [], ""),
    (rules.few_downloads_left, Rows(missing=[missing(left=3)]), [], ""),
    (rules.shop_closes, Rows(missing=[missing(seller=CLOSING), missing("Ruff", seller=CLOSING)]), ["2026-11-25"], "2 things"),
    (rules.shop_closes, Rows(missing=[missing(seller=CLOSING)]), ["2026-11-25"], "Motley Row carries it on"),
    (rules.shop_closes, Rows(missing=[missing(seller=CLOSED)]), ["2026-11-25"], "has closed"),
    (rules.shop_closes, Rows(missing=[missing(seller=VAGUE)]), ["2026-11-25"], "says that it will close"),
    (rules.shop_closes, Rows(missing=[missing()]), [], ""),
    (rules.not_held, Rows(missing=[missing()]), ["2026-11-15"], "bought at Cap & Bells on 2026-11-01"),
    (rules.not_held, Rows(missing=[missing(), missing("Ruff")]), ["2026-11-15"], "2 things"),
    (rules.not_held, Rows(missing=[missing(), missing("Ruff", order="2")]), ["2026-11-15", "2026-11-15"], "Not held"),
    (rules.not_held, Rows(missing=[missing(bought=None)]), [], ""),
    (rules.not_held, Rows(missing=[missing(state=ItemState.PARTIAL)]), [], ""),
    (rules.in_part, Rows(missing=[missing(state=ItemState.PARTIAL, lacking=("A0",))]), ["2026-11-08"], "lacking A0"),
    (rules.in_part, Rows(missing=[missing()]), [], ""),
    (rules.open_questions, Rows(n_questions=1), ["2026-11-25"], "1 question is open"),
    (rules.open_questions, Rows(n_questions=3), ["2026-11-25"], "3 questions are open"),
    (rules.open_questions, Rows(), [], ""),
    (rules.licence_limit, Rows(licences=[answered(8, 10)]), ["2026-11-25"], "8 of 10 used"),
    (rules.licence_limit, Rows(licences=[answered(11, 10)]), ["2026-11-25"], "11 of 10 passed"),
    (rules.licence_limit, Rows(licences=[answered(7, 10)]), [], ""),
    (rules.licence_limit, Rows(licences=[answered(7, None)]), [], ""),
    (rules.licence_ends, Rows(licences=[granted("2026-12-31")]), ["2026-12-01"], "ends on 2026-12-31"),
    (rules.licence_ends, Rows(licences=[granted("2026-10-31")]), ["2026-10-01"], "ended on 2026-10-31"),
    (rules.claim_unanswered, Rows(claims=[claim(ClaimState.SENT)]), ["2026-11-23"], "No answer yet"),
    (rules.claim_unanswered, Rows(claims=[claim(ClaimState.DRAFTED)]), ["2026-11-09"], "not sent"),
    (rules.claim_unanswered, Rows(claims=[claim(ClaimState.ANSWERED)]), [], ""),
    (rules.claim_unanswered, Rows(claims=[claim(ClaimState.RECEIVED)]), [], ""),
    (rules.claim_unanswered, Rows(claims=[claim(ClaimState.REFUSED)]), [], ""),
    (rules.backup_old, Rows(first_import=date(2026, 11, 2)), ["2026-11-02"], "no backup yet"),
    (rules.backup_old, Rows(), [], ""),
    (
        rules.backup_old,
        Rows(destinations=[DestinationHistory(destination="stick", last_backup=event("2026-10-01"))]),
        ["2026-10-31"],
        "2026-10-01",
    ),
    (
        rules.backup_old,
        Rows(
            destinations=[
                DestinationHistory(
                    destination="stick", last_backup=event("2026-11-20"), failed=event("2026-11-24", outcome="failed")
                )
            ]
        ),
        ["2026-11-25"],
        "2026-11-24 failed",
    ),
    (
        rules.rehearsal_old,
        Rows(destinations=[DestinationHistory(destination="stick", last_backup=event("2026-11-10"))]),
        ["2026-11-17"],
        "never rehearsed",
    ),
    (
        rules.rehearsal_old,
        Rows(
            destinations=[
                DestinationHistory(
                    destination="stick",
                    last_backup=event("2026-11-10"),
                    last_rehearsal=event("2026-03-01", "rehearse"),
                )
            ]
        ),
        ["2026-08-28"],
        "last rehearsed on 2026-03-01",
    ),
    (rules.rehearsal_old, Rows(destinations=[DestinationHistory(destination="stick")]), [], ""),
    (
        rules.sheet_never_made,
        Rows(destinations=[DestinationHistory(destination="stick", last_backup=event("2026-11-10"))]),
        ["2026-11-10"],
        "No recovery sheet",
    ),
    (
        rules.sheet_never_made,
        Rows(destinations=[DestinationHistory(destination="s", last_backup=event("2026-11-10"))], sheet_made=True),
        [],
        "",
    ),
    (
        rules.sheet_never_made,
        Rows(destinations=[DestinationHistory(destination="s", last_backup=event("2026-11-10"))], encrypted=False),
        [],
        "",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "rows", "days", "words"), CASES)
def test_rule(rule: rules.Rule, rows: Rows, days: list[str], words: str) -> None:
    found = list(rule(rows, DAY))
    assert [r.due_on.isoformat() for r in found] == days
    assert all(words in r.title for r in found)
    assert all(r.next for r in found)


def test_every_rule_is_in_the_table_of_rules_and_tried_here() -> None:
    tried = {case[0] for case in CASES}
    assert tried == set(rules.RULES)
    assert len({c.__name__ for c in rules.RULES}) == len(rules.RULES)


def test_ids_are_stable_and_tell_subjects_apart() -> None:
    one, two = rules.link_runs_out(Rows(missing=[missing(ends="2026-12-20"), missing("Ruff", ends="2026-12-20")]), DAY)
    again = next(iter(rules.link_runs_out(Rows(missing=[missing(ends="2027-01-20")]), DAY + timedelta(days=9))))
    assert one.id != two.id
    assert again.id == one.id
    assert again.facts != one.facts
