"""What strangers wrote reaches no terminal as anything but plain words, however narrow it is."""

from __future__ import annotations

import unicodedata
from datetime import date

import pytest

from tests.claims.letters import HOSTILE, claim, item
from tests.licences.questions import source
from vault.claims.letter import LetterOptions, compose
from vault.licences.may import may
from vault.licences.versions import versions
from vault.model.claim import ClaimState, ClaimStep, ClaimView
from vault.model.licence import Act, LicenceUse, UseKind
from vault.reports import letter as letters
from vault.reports import licence as licences
from vault.reports.text import Style, width

DAY = date(2026, 11, 25)


def _screens(words: str, style: Style) -> list[str]:
    from dataclasses import replace

    terms = replace(source(f"You may sell up to 20 finished pieces. {words}"), name=words)
    uses = [LicenceUse(id="u1", item_id="i1", kind=UseKind.SOLD, count=21, on=DAY, where=words)]
    answer = may(Act.SELL, [terms], uses, count=5, day=DAY)
    steps = (ClaimStep(state=ClaimState.SENT, on=DAY, note=words or "-"),)
    made = claim("en", item(title=words, order_number=words), seller=words, to=words, steps=steps)
    written = compose(made, LetterOptions(signed=words))
    view = ClaimView(claim=made, state=ClaimState.SENT, since=DAY)
    return [
        *licences.may(words, answer, style),
        *licences.show(words, versions([terms, replace(terms, id="b", granted=True)]), uses, style),
        *licences.overview([("i1", words, answer)], style),
        *letters.claims([view], DAY, style),
        *letters.letter(written.subject, written.lines, style),
    ]


@pytest.mark.parametrize("columns", [40, 60, 100])
@pytest.mark.parametrize("words", HOSTILE)
def test_screens_are_plain_and_fit(words: str, columns: int) -> None:
    for line in _screens(words, Style(columns=columns)):
        assert not [c for c in line if unicodedata.category(c) in ("Cc", "Cs") or 0x202A <= ord(c) <= 0x202E]
        assert width(line) <= columns


def test_a_screen_without_unicode_gets_ascii() -> None:
    assert all(line.isascii() for line in _screens("Möhrchen 注文 €", Style(columns=60, unicode=False)))
