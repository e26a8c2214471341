"""The kinds of mails in every language: what is a purchase, what ends one, what is none."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from tests.receipts.engine_kinds import CANCELLED, FILES, NOTHING, ORDERS, REFUND, TITLES
from tests.receipts.engine_mails import claim, reading
from tests.receipts.engine_silence import SILENT
from vault.language import LANGUAGES
from vault.model.evidence import DocumentKind


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", NOTHING)
def test_what_is_no_purchase_in_any_language(kind: str, language: str) -> None:
    subject, body = NOTHING[kind][language]
    found = reading(body, subject=subject)
    assert found.claims == ()
    assert found.language == language


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_refund_in_any_language(language: str) -> None:
    subject, body = REFUND[language]
    one = claim(body, subject=subject)
    assert (one.document, one.order_number, one.refunded) == (DocumentKind.REFUND, "2087", True)
    assert one.refund_amount in (Decimal("14.00"), Decimal("140.00"), Decimal(1400))
    assert one.seller == "Cap & Bells"


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_cancellation_in_any_language(language: str) -> None:
    subject, body = CANCELLED[language]
    one = claim(body, subject=subject)
    assert (one.document, one.order_number, one.cancelled) == (DocumentKind.CANCELLATION, "2087", True)


@pytest.mark.parametrize("language", LANGUAGES)
def test_files_to_fetch_in_any_language(language: str) -> None:
    subject, body = FILES[language]
    one = claim(body, subject=subject)
    assert [i.title for i in one.items] == [TITLES[language]]
    (item,) = one.items
    assert (item.digital, item.craft_pattern) == (True, True)
    (link,) = item.links
    assert (link.url, link.expires_on) == ("https://capbells.example/dl/77", date(2024, 6, 10))


@pytest.mark.parametrize("language", LANGUAGES)
def test_an_order_in_any_language(language: str) -> None:
    subject, body = ORDERS[language]
    one = claim(body, subject=subject)
    factor = {"sv": 10, "da": 10, "nb": 10, "ja": 100}.get(language, 1)
    amounts = [i.amount for i in one.items]
    assert amounts == [Decimal(14) * factor, Decimal(6) * factor]
    assert [i.quantity for i in one.items] == [1, 4]
    assert one.items[0].craft_pattern is True
    assert (one.shipping, one.discount) == (Decimal("3.5") * factor, Decimal(2) * factor)
    assert one.total == Decimal("21.5") * factor
    assert (one.order_number, one.purchased_on, one.date_printed) == ("5-881", date(2024, 6, 2), True)
    assert (one.seller, one.document) == ("Cap & Bells", DocumentKind.ORDER)


@pytest.mark.parametrize("name", SILENT)
def test_ordinary_mail_is_no_purchase(name: str) -> None:
    sender, subject, body = SILENT[name]
    found = reading(body, subject=subject, sender=sender)
    assert found.claims == ()
    assert found.problems == ()
