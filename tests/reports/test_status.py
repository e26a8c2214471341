"""The status: its counts, its page with charts, and the copies by the rule of thumb; nothing is claimed unseen."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.event import DestinationHistory, Event
from vault.model.match import ItemView, MissingRow, PurchaseView, Standing
from vault.model.purchase import Item, ItemState, Purchase, Seller
from vault.model.reminder import Reminder
from vault.reports import standing
from vault.reports.charts import Bar, bars
from vault.reports.copies import Copies, Place, row, sentences, where_words
from vault.reports.status_page import page, share
from vault.reports.tallies import by_seller, by_year, seller_rows, year_rows
from vault.reports.text import Style

DAY = date(2026, 11, 25)
HOSTILE = '</svg><script>alert(1)</script>"\x1b[2J\u202e'


def event(day: str, kind: str = "backup", outcome: str = "done") -> Event:
    return Event(at=f"{day}T09:00:00Z", kind=kind, outcome=outcome)


def place(name: str, medium: str | None = None, **more: Event | bool) -> Place:
    remote = bool(more.pop("remote", False))
    known = {k: v for k, v in more.items() if isinstance(v, Event)}
    return Place(history=DestinationHistory(destination=name, **known), medium=medium, remote=remote)


def bought(
    year: int | None, *states: ItemState, seller: str = "Cap & Bells", pattern: bool | None = True
) -> PurchaseView:
    items = tuple(
        ItemView(
            item=Item(id=f"{seller}{year}{n}", title=f"Jester Hood {n}", amount=Decimal(9), craft_pattern=pattern),
            standing=Standing(item_id=f"{seller}{year}{n}", state=state),
        )
        for n, state in enumerate(states)
    )
    purchase = Purchase(
        id=f"p{seller}{year}",
        seller_id="s" + seller,
        seller=seller,
        order_number=None,
        purchased_on=date(year, 3, 1) if year else None,
        currency="GBP",
        total=None,
        items=tuple(i.item for i in items),
    )
    return PurchaseView(purchase=purchase, items=items)


def missing(views: list[PurchaseView], **status: str) -> list[MissingRow]:
    return [
        MissingRow(
            view=i,
            purchase=v.purchase,
            seller=Seller(
                id=v.purchase.seller_id or "", name=v.purchase.seller or "", status=status.get("status", "open")
            ),
            deadline=date(2026, 12, 31),
            downloads_left=None,
            urgency="later",
            why=(),
            next="",
        )
        for v in views
        for i in v.items
        if i.standing.state in (ItemState.MISSING, ItemState.PARTIAL)
    ]


HELD, PARTIAL, MISSING, REFUNDED = ItemState.HELD, ItemState.PARTIAL, ItemState.MISSING, ItemState.REFUNDED
VIEWS = [
    bought(2024, HELD, HELD, REFUNDED),
    bought(2026, HELD, PARTIAL, MISSING, seller="Motley Row"),
    bought(None, MISSING, seller=HOSTILE),
    bought(2026, MISSING, pattern=False, seller="Thread Box"),
]


def found(copies: Copies | None = None) -> standing.Standings:
    rows = missing(VIEWS[:3], status="closing")
    sellers = [r.seller for r in rows if r.seller]
    return standing.count(
        "/vault", VIEWS, [], sellers, rows, questions=2, problems=1, last={}, due=3, copies=copies or Copies()
    )


def test_years_between_are_rows_too_and_what_has_no_day_comes_last() -> None:
    assert year_rows(by_year(VIEWS)) == [
        {"year": 2024, "bought": 2, "held": 2, "partial": 0, "missing": 0},
        {"year": 2025, "bought": 0, "held": 0, "partial": 0, "missing": 0},
        {"year": 2026, "bought": 3, "held": 1, "partial": 1, "missing": 1},
        {"year": None, "bought": 1, "held": 0, "partial": 0, "missing": 1},
    ]
    assert len(by_year([bought(1026, HELD), bought(2026, HELD)])) == 2  # a misread year draws no thousand rows


def test_sellers_come_with_the_most_missing_first() -> None:
    rows = missing([bought(2026, MISSING, seller="Acorn"), bought(2026, MISSING, PARTIAL, seller="Motley Row")])
    assert seller_rows(by_seller(rows)) == [
        {"seller": "Motley Row", "missing": 1, "partial": 1},
        {"seller": "Acorn", "missing": 1, "partial": 0},
    ]


@pytest.mark.parametrize(
    ("part", "whole", "words"),
    [(0, 0, "0 %"), (0, 9, "0 %"), (1, 1000, "1 %"), (999, 1000, "99 %"), (9, 9, "100 %"), (1, 2, "50 %")],
)
def test_a_share_is_never_all_or_nothing_when_it_is_not(part: int, whole: int, words: str) -> None:
    assert share(part, whole) == words


@pytest.mark.parametrize(
    ("copies", "said"),
    [
        (Copies(medium="1"), ("the vault alone, 2 too few", "only the disk of the vault", "none, there is no backup")),
        (
            Copies(medium="1", places=(place("/stick", "1", last_backup=event("2026-11-01")),)),
            ("the vault and 1 backup, 1 too few", "all on the disk that the vault is on", "cannot see that"),
        ),
        (
            Copies(medium="1", places=(place("/stick", None, last_backup=event("2026-11-01")),)),
            ("the vault and 1 backup, 1 too few", "what cannot be seen now", "cannot see that"),
        ),
        (
            Copies(
                medium="1",
                places=(
                    place("/stick", "2", last_backup=event("2026-11-01")),
                    place("sftp://attic.example/pinfold", last_backup=event("2026-11-02"), remote=True),
                ),
            ),
            ("the vault and 2 backups", "3 that the system tells apart", "one is on another computer"),
        ),
        (  # what only failed is no copy
            Copies(medium="1", places=(place("/stick", "2", failed=event("2026-11-01", outcome="failed")),)),
            ("the vault alone, 2 too few", "only the disk of the vault", "none, there is no backup"),
        ),
    ],
)
def test_the_rule_of_thumb_says_what_is_known_and_what_is_not(copies: Copies, said: tuple[str, ...]) -> None:
    # 3-2-1: common practice, no published source
    for words, wanted in zip(sentences(copies), said, strict=True):
        assert wanted in words
    assert row(copies)["copies"]["elsewhere"] in (None, False)  # never claimed


def test_where_a_place_stands() -> None:
    copies = Copies(medium="1")
    assert where_words(place("/a", "1"), copies) == "on the disk that the vault is on"
    assert where_words(place("/a", "2"), copies) == "on another disk or partition"
    assert where_words(place("/a"), copies) == "cannot be seen now"
    assert where_words(place("sftp://h.example/a", remote=True), copies) == "on another computer"


@pytest.mark.parametrize("columns", [40, 60, 80, 100])
def test_the_screen_fits_and_names_each_destination(columns: int) -> None:
    copies = Copies(
        medium="1",
        places=(
            place("/stick", "2", last_backup=event("2026-11-01"), last_rehearsal=event("2026-11-02", "rehearse")),
            place("/disk", None, failed=event("2026-11-03", outcome="failed")),
        ),
    )
    lines = standing.screen(found(copies), Style(columns=columns))
    text = " ".join(" ".join(lines).split())
    assert all(len(line) <= columns for line in lines)
    assert "backup of 2026-11-01, rehearsed 2026-11-02" in text
    assert "never backed up to, FAILED on 2026-11-03" in text
    assert "due 3: pinfold remind" in text
    assert "\x1b" not in text and "\u202e" not in text


def test_json_keeps_its_keys_and_adds_new_ones() -> None:
    said = standing.row(found())["status"]
    assert list(said)[:15] == [
        "vault", "purchases", "items", "held", "partial", "missing", "next_deadline", "questions", "problems", "files",
        "unclaimed", "sellers_at_risk", "last_backup", "last_rehearsal", "last_verify",
    ]  # fmt: skip
    assert said["due"] == 3
    assert said["copies"] == {"count": 1, "media_known": 1, "media_unseen": 0, "elsewhere": False}
    assert [r["year"] for r in said["by_year"]] == [2024, 2025, 2026, None]


def charts(text: str) -> list[ElementTree.Element]:
    return [ElementTree.fromstring(svg) for svg in re.findall(r"<svg.*?</svg>", text, re.DOTALL)]


SVG = "{http://www.w3.org/2000/svg}"


def test_the_page_holds_charts_with_words_for_a_screen_reader_and_the_same_numbers_as_tables() -> None:
    due = [Reminder(kind="x", subject=str(n), due_on=DAY, title=f"{HOSTILE} {n}", next="") for n in range(20)]
    text = page(found(Copies(medium="1", places=(place(HOSTILE, "2", last_backup=event("2026-11-01")),))), due, DAY)
    assert "<script" not in text and "http-equiv" in text and "default-src 'none'" in text
    assert "src=" not in text and "url(http" not in text and "@import" not in text
    assert "\x1b" not in text and "\u202e" not in text
    drawn = charts(text)
    assert len(drawn) == 2
    ids = [e.get("id") for svg in drawn for e in svg.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    for svg in drawn:  # SVG 2, 5.8 title and desc; WAI-ARIA 1.2, role img
        title, desc = svg.find(f"{SVG}title"), svg.find(f"{SVG}desc")
        assert svg.get("role") == "img" and title is not None and desc is not None and title.text and desc.text
        assert svg.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    assert text.count("<caption>") == text.count("<table>") == 3
    assert '<tr><th scope="row">2026</th><td class="n">3</td><td class="n">1</td>' in text
    assert text.count('<html lang="en">') == 1 and "And 8 more." in text


def test_only_a_few_of_many_sellers_at_risk_are_named() -> None:
    views = [bought(2026, MISSING, seller=f"Shop {n}") for n in range(12)]
    rows = missing(views, status="closed")
    many = standing.count("/v", views, [], [r.seller for r in rows if r.seller], rows, questions=0, problems=0, last={})
    assert standing.risk_words(many).endswith("Shop 7 and 4 more: pinfold sellers")
    assert len(standing.row(many)["status"]["sellers_at_risk"]) == 12


def test_an_empty_vault_has_a_page_without_charts() -> None:
    empty = standing.count("/vault", [], [], [], [], questions=0, problems=0, last={})
    text = page(empty, [], DAY)
    assert charts(text) == [] and "Nothing." in text and "there is no backup" in text


def test_bars_tell_held_and_missing_apart_without_colour() -> None:
    svg = ElementTree.fromstring(
        bars("c", "t", "d", [Bar(label="2026", parts=((3, "held"), (1, "partial"), (2, "missing")), value="3 of 6")])
    )
    looks = [r.get("style", "") for r in svg.findall(f"{SVG}rect")]
    assert len(looks) == 6 and len(set(looks)) == 3  # three parts and three in the legend
    assert any("hatch" in one for one in looks) and any("fill:#fff" in one for one in looks)
    texts = [t.text for t in svg.findall(f"{SVG}text")]
    assert texts == ["2026", "3 of 6", "held", "held in part", "not held"]


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.text(max_size=80), st.integers(0, 10**6), st.integers(0, 10**6)), max_size=8))
def test_any_numbers_and_names_stay_inside_the_drawing(rows: list[tuple[str, int, int]]) -> None:
    made = [Bar(label=name, parts=((a, "held"), (b, "missing")), value=str(a + b)) for name, a, b in rows]
    svg = ElementTree.fromstring(bars("c", "t", "d", made))
    _, _, width, height = map(float, (svg.get("viewBox") or "").split())
    for rect in svg.findall(f"{SVG}rect"):
        x, y, w, h = (float(rect.get(k) or 0) for k in ("x", "y", "width", "height"))
        assert x >= 0 and x + w <= width and y >= 0 and y + h <= height
