"""The missing report in its four forms, over rows made by hand."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from vault.model.evidence import DownloadLink
from vault.model.match import ItemView, MissingRow, Standing
from vault.model.purchase import Item, ItemState, Purchase, Seller
from vault.reports import calendar, missing, page, rows
from vault.reports.text import Style, width

LONG_LINK = "https://thimblewick.example/get/9f2d/fog-horn-greatcoat?token=" + "a1" * 40


def row(title: str = "Fog Horn Greatcoat", url: str = LONG_LINK, **changes: object) -> MissingRow:
    item = Item(id="i1", title=title, amount=Decimal("14.00"), links=(DownloadLink(url=url),))
    values: dict[str, object] = {
        "view": ItemView(item=item, standing=Standing(item_id="i1", state=ItemState.MISSING, why=("no file",))),
        "purchase": Purchase(
            id="p1",
            seller_id="s1",
            seller="Thimblewick Patterns",
            order_number="TW-1042",
            purchased_on=date(2026, 9, 14),
            currency="GBP",
            total=Decimal("30"),
        ),
        "seller": Seller(id="s1", name="Thimblewick Patterns", status="closing", closes_on=date(2026, 12, 31)),
        "deadline": date(2026, 12, 31),
        "downloads_left": 1,
        "urgency": "now",
        "why": ("the shop says it will close",),
        "next": "download it now from the link",
    }
    return MissingRow(**{**values, **changes})  # type: ignore[arg-type]


def test_terminal_report_fits_sixty_columns_but_keeps_links_whole() -> None:
    lines = missing.missing([row()], 23, Style(columns=60))
    assert any(LONG_LINK in line for line in lines)
    assert all(width(line) <= 60 for line in lines if LONG_LINK not in line)
    assert lines[0].startswith("1 of 23 bought patterns are not held. Paid for what is not")


def test_nothing_missing_says_so() -> None:
    assert missing.missing([], 7, Style())[0].startswith("Nothing is missing: all 7")


def test_json_row_has_the_names_of_the_contract() -> None:
    made = json.loads(rows.dumps(rows.missing([row()])))
    wanted = {"purchase_id", "item_id", "seller", "title", "order_number", "purchased_on", "state", "lacking", "links"}
    assert wanted | {"deadline", "urgency", "why"} <= set(made["missing"][0])
    assert made["counts"] == {"missing": 1, "partial": 0}
    assert made["missing"][0]["deadline"] == "2026-12-31"


def test_json_takes_undecodable_names() -> None:
    assert json.loads(rows.dumps({"name": "bad\udcff"}).encode("utf-8"))["name"].startswith("bad")


@pytest.mark.parametrize(
    "url",
    ["javascript:alert(1)", "data:text/html,<script>", "file:///etc/hosts", 'https://x.example/"><script>', "http://["],
)
def test_page_makes_no_link_of_a_hostile_address(url: str) -> None:
    made = page.missing_page([row(url=url, title="<script>alert(1)</script>")], date(2026, 11, 25))
    assert "<script>" not in made
    assert 'href="javascript' not in made and 'href="data' not in made and 'href="file' not in made


def test_calendar_is_read_back_by_its_library_and_keeps_its_uid() -> None:
    """RFC 5545: UID and DTSTAMP in every component, DISPLAY alarm with DESCRIPTION, lines of at most 75 octets."""
    import icalendar

    now = datetime(2026, 11, 25, 12, tzinfo=UTC)
    data = calendar.missing_calendar([row(title="Überrock, Größe; 38\nzweite Zeile"), row(deadline=None)], now)
    parsed = icalendar.Calendar.from_ical(data)
    todos = parsed.walk("VTODO")
    assert [str(t["UID"]) for t in todos] == ["i1@pinfold.invalid"]
    assert str(todos[0]["SUMMARY"]) == "Download Überrock, Größe; 38 zweite Zeile"
    assert todos[0].walk("VALARM")[0]["DESCRIPTION"]
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    assert data == calendar.missing_calendar([row(title="Überrock, Größe; 38\nzweite Zeile")], now)
