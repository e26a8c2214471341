"""Mails in the mailboxes of mail programs, which write into them what she did with a mail."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stand_ins import mail, readers

from vault.catalogue import Catalogue
from vault.intake.ingest import IngestSummary, ingest
from vault.intake.marks import without_marks
from vault.safekeeping.folder import VaultFolder

ORDER = mail("Order: TW-1", "Item: Bustle Skirt")
TALK = mail("See you on Thursday.", number=2)


@pytest.mark.parametrize(
    ("marks", "kept"),
    [
        (b"Status: RO\nX-Status: A\n", b""),
        (b"X-Post-Status: 0001\nX-Post-Status2: 00800000\nX-Post-Keys: $label1 \n", b""),
        (b"Status: R\r\nX-UID: 17\r\n", b""),
        (b"X-Keywords: one\n two\n", b""),
        (b"X-Account-Key: account1\nX-UIDL: 7\nContent-Length: 12\n", b""),
        (b"X-Order-Number: 17\nStatus: O\n", b"X-Order-Number: 17\n"),
    ],
)
def test_marks_are_taken_off_and_nothing_else(marks: bytes, kept: bytes) -> None:
    order = ORDER.replace(b"\n", b"\r\n") if b"\r\n" in marks else ORDER
    assert without_marks(marks + order) == kept + order
    body = order + b"Status: in the text stays\n"
    assert without_marks(marks + body) == kept + body


def test_a_mail_without_marks_is_left_alone() -> None:
    assert without_marks(ORDER) is None
    assert without_marks(b"A: b\n\nStatus: RO\n") is None
    assert without_marks(b"") is None and without_marks(b"Status: RO") is None


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes(raw: bytes) -> None:
    plain = without_marks(raw)
    assert plain is None or len(plain) < len(raw)


@pytest.mark.parametrize("raw", [b"Status: x\n" * 100_000, b"X-" + b"a" * 1_000_000, b"\n" * 1_000_000])
def test_long_input_costs_little(raw: bytes) -> None:
    without_marks(raw)


class Box:
    """A mailbox file of a mail program, and a vault that reads it."""

    def __init__(self, root: Path) -> None:
        self.path = root / "Inbox"
        self.folder = VaultFolder(root / "vault")

    def run(self, *mails: bytes, keep: bool = False, version: str = "t1") -> IngestSummary:
        line = b"From x@y.example Sun Mar  1 10:00:00 2026\n"
        self.path.write_bytes(b"".join(line + m + b"\n" for m in mails))
        return ingest(self.folder, [self.path], day=date(2026, 3, 3), keep=keep, readers=readers(version=version))

    def evidence(self) -> int:
        with Catalogue.open_read_only(self.folder.catalogue_path) as catalogue:
            assert catalogue.check() == []
            return len({c.evidence_sha256 for c in catalogue.claims()})


def test_reading_a_mail_in_its_program_makes_no_new_evidence(tmp_path: Path) -> None:
    box = Box(tmp_path)
    assert box.run(b"Status: O\n" + ORDER, b"Status: O\n" + TALK).documents == 1
    again = box.run(b"Status: RO\n" + ORDER, b"Status: RO\n" + TALK)
    assert (again.documents, again.unchanged) == (0, 1)
    assert box.evidence() == 1
    better = box.run(b"Status: ROA\n" + ORDER, b"Status: ROA\n" + TALK, version="t2")
    assert (better.documents, box.evidence()) == (0, 1)


def test_the_same_mail_as_a_file_and_in_a_mailbox_is_one(tmp_path: Path) -> None:
    box = Box(tmp_path)
    (tmp_path / "order.eml").write_bytes(ORDER)
    ingest(box.folder, [tmp_path / "order.eml"], day=date(2026, 3, 3), readers=readers())
    assert box.run(b"Status: O\n" + ORDER, TALK).documents == 0
    assert box.evidence() == 1
    # And the other way round.
    other = Box(tmp_path / "other")
    other.path.parent.mkdir()
    other.run(b"Status: O\n" + ORDER)
    ingest(other.folder, [tmp_path / "order.eml"], day=date(2026, 3, 3), readers=readers())
    assert other.evidence() == 1
    assert other.run(b"Status: O\n" + ORDER).documents == 0


def test_keep_keeps_what_was_passed_over_under_other_marks(tmp_path: Path) -> None:
    box = Box(tmp_path)
    box.run(b"Status: O\n" + TALK)
    assert box.run(b"Status: RO\n" + TALK, keep=True).documents == 1
