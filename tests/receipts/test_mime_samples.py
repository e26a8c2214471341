"""Mails that break one rule each, fixtures/mail/<the broken rule>.eml, and what a careful reader makes of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from vault.receipts.mime import Mail, parse_mail

FOLDER = Path(__file__).parents[2] / "fixtures" / "mail"

# File -> what must come out: fields of the mail; "inner" the subjects of what it forwards.
EXPECTED: dict[str, dict[str, Any]] = {
    "address_proves_nothing": {"from_address": "bob@evil.example"},
    "attachment_name_with_folders": {"text": "here it is", "attachments": ["Mütze – A4.pdf"]},
    "base64_missing_padding": {"text": "Linnet Hat – 7.00 GBP"},
    "base64_with_foreign_footer": {"text": "Linnet Hat – 7.00"},
    "blank_before_colon": {"subject": "Your order 1042", "from_address": "shop@larch.example", "day": "2024-03-04"},
    "boundary_with_trailing_blanks": {"text": "Linnet Hat"},
    "encoded_twice": {"text": "Mütze – 7,00 €"},
    "encoded_word_cuts_a_character": {"subject": "Deine Mütze"},
    "false_latin1_label": {"text": "Mütze „Zaunkönig“ 7,00 €"},
    "forward_attached_in_base64": {"inner": ["Your order 1042 is complete"]},
    "forward_of_a_forward": {
        "text": "for the box",
        "inner": ["Fwd: Your order 1042 is complete", "Your order 1042 is complete"],
    },
    "iso2022jp_without_label": {"subject": "ご注文", "text": "針と月 ご注文番号 1042"},
    "macintosh_line_ends": {"subject": "Your order", "text": "Linnet Hat 7.00"},
    "multipart_without_boundary": {"text": "Linnet Hat 7.00"},
    "no_closing_boundary": {"text": "Linnet Hat", "html": "<p>Linnet Hat</p>"},
    "no_date_but_received": {"day": "2024-03-04"},
    "page_under_plain_label": {"html": "<html><body><p>Linnet Hat</p></body></html>"},
    "quoted_printable_in_name_only": {"html": '<a href="https://larch.example/d?file=ab&key=cd">Linnet</a>'},
    "raw_eight_bit_subject": {"subject": "Größe 38 – deine Bestellung"},
    "utf8_under_latin1_label": {"text": "Mütze Größe 38"},
}


def told(mail: Mail, name: str) -> object:
    if name == "inner":
        return [m.subject for m in list(mail.everything())[1:]]
    if name == "attachments":
        return [a.name for a in mail.attachments]
    if name == "day":
        return mail.date.date().isoformat() if mail.date else None
    value = getattr(mail, name)
    return value.strip().split("\n")[0] if name in ("text", "html") else value


def test_every_sample_is_expected() -> None:
    assert {p.stem for p in FOLDER.glob("*.eml")} == set(EXPECTED)


@pytest.mark.parametrize("name", EXPECTED)
def test_samples(name: str) -> None:
    mail = parse_mail((FOLDER / f"{name}.eml").read_bytes())
    assert {key: told(mail, key) for key in EXPECTED[name]} == EXPECTED[name]
