"""A purchase typed in by hand is evidence like any other."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
import stand_ins

from vault.catalogue import Catalogue
from vault.errors import UsageError
from vault.intake import recording
from vault.intake.ingest import ingest
from vault.intake.recording import is_recorded, read_recorded, record_purchase
from vault.model.evidence import EvidenceKind
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore

DAY = date(2026, 3, 3)


@pytest.fixture(autouse=True)
def _toy_joining(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(recording, "rejoin", stand_ins.derive)


def say(folder: VaultFolder, **changes: object) -> recording.IngestSummary:
    said = {"seller": "Thimblewick", "title": "Heron Skirt", "on": date(2026, 3, 1), "day": DAY, **changes}
    return record_purchase(folder, **said)  # type: ignore[arg-type]


def test_what_was_said_is_a_claim_and_is_kept(tmp_path: Path) -> None:
    folder = VaultFolder(tmp_path / "vault")
    summary = say(
        folder,
        amount=Decimal("9.50"),
        currency="EUR",
        designer="Ida Fenn",
        order_number="TW-7",
        link="https://thimblewick.example/d/7",
    )
    assert (summary.documents, summary.purchases_new) == (1, 1)
    with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
        (recorded,) = catalogue.claims()
    claim = recorded.claim
    assert recorded.evidence_kind is EvidenceKind.RECORDED
    assert (claim.seller, claim.order_number, claim.purchased_on) == ("Thimblewick", "TW-7", date(2026, 3, 1))
    assert (str(claim.total), claim.currency) == ("9.50", "EUR")
    (item,) = claim.items
    assert (item.title, item.designer, str(item.amount), item.digital, item.craft_pattern) == (
        "Heron Skirt",
        "Ida Fenn",
        "9.50",
        True,
        True,
    )
    assert [k.url for k in item.links] == ["https://thimblewick.example/d/7"]
    raw = ObjectStore(folder).open(recorded.evidence_sha256).read()
    assert is_recorded(raw)
    assert read_recorded(raw).claims == (claim,)


def test_saying_it_again_changes_nothing(tmp_path: Path) -> None:
    folder = VaultFolder(tmp_path / "vault")
    say(folder)
    before = folder.catalogue_path.read_bytes()
    again = say(folder, day=date(2026, 4, 4))
    assert (again.documents, again.purchases_new, again.unchanged) == (0, 0, 1)
    assert folder.catalogue_path.read_bytes() == before


def test_a_pattern_that_is_held_already_is_found(tmp_path: Path) -> None:
    folder = VaultFolder(tmp_path / "vault")
    stand_ins.put(tmp_path / "in", {"skirt.pdf": stand_ins.pdf("PATTERN", "Title: Heron Skirt")})
    ingest(folder, [tmp_path / "in"], day=DAY, readers=stand_ins.readers())
    assert say(folder).linked == 1


def test_better_readers_read_it_again(tmp_path: Path) -> None:
    folder = VaultFolder(tmp_path / "vault")
    say(folder)
    stand_ins.put(tmp_path / "in", {"x": b"x"})
    ingest(folder, [tmp_path / "in"], day=DAY, readers=stand_ins.readers(version="another"))
    with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
        (recorded,) = catalogue.claims()
        assert catalogue.document_known(recorded.evidence_sha256, reader="another") == "read"
    assert recorded.evidence_kind is EvidenceKind.RECORDED
    assert recorded.claim.seller == "Thimblewick"


@pytest.mark.parametrize("changes", [{"seller": " "}, {"title": ""}, {"on": date(2026, 3, 4)}])
def test_what_cannot_be_is_refused(tmp_path: Path, changes: dict[str, object]) -> None:
    folder = VaultFolder(tmp_path / "vault")
    with pytest.raises(UsageError):
        say(folder, **changes)
    assert not folder.root.exists()


@pytest.mark.parametrize("raw", [b"{}", b"[]", b'{"format": "other"}', b"not json", b""])
def test_other_bytes_are_not_taken_for_it(raw: bytes) -> None:
    assert not is_recorded(raw)
    with pytest.raises((ValueError, KeyError, TypeError)):
        read_recorded(raw)
