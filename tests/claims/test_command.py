"""`pinfold claim` on the demo's mails: letters, packets, what is remembered, how a claim goes on and closes."""

from __future__ import annotations

import hashlib
import io
import zipfile
from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.claims.vaults import DAY, Vault
from vault.errors import UsageError, VaultError

SHOP = "Thimblewick Patterns"


def _files(packet: Path) -> dict[str, bytes]:
    if packet.suffix == ".zip":
        with zipfile.ZipFile(packet) as archive:
            return {name: archive.read(name) for name in archive.namelist()}
    return {p.relative_to(packet).as_posix(): p.read_bytes() for p in packet.rglob("*") if p.is_file()}


@pytest.mark.parametrize("name", ["packet", "packet.zip"])
def test_a_packet_holds_the_letter_the_proof_and_a_manifest_that_fits(vault: Vault, tmp_path: Path, name: str) -> None:
    out = tmp_path / name
    assert vault("claim", SHOP, "--out", out).status == 0
    files = _files(out)
    listed = {}
    for row in files["manifest-sha256.txt"].decode("ascii").splitlines():
        digest, _, path = row.partition("  ")
        listed[path] = digest
    assert {path: hashlib.sha256(files[path]).hexdigest() for path in files if path != "manifest-sha256.txt"} == listed
    letter = files["letter.txt"].decode("utf-8")
    for words in ("TW-1042", "14 September 2026", "30.00 GBP", "11.50 GBP", "31 December 2026", "16 December 2026"):
        assert words in letter
    mails = [n for n in files if n.endswith(".eml")]
    assert len(mails) == 2
    kept = {p.read_bytes() for p in (vault.root / "objects").rglob("*") if p.is_file()}
    assert all(files[n] in kept for n in mails)
    for row in files["originals.txt"].decode("ascii").splitlines():
        digest, _, path = row.partition("  ")
        assert path in files
        assert (vault.root / "objects" / digest[:2] / digest).is_file()


def test_every_pdf_can_be_read_again_with_what_it_proves(vault: Vault, tmp_path: Path) -> None:
    pypdf = pytest.importorskip("pypdf")
    out = tmp_path / "packet"
    vault("claim", SHOP, "--out", out)
    texts = [
        "".join(page.extract_text() for page in pypdf.PdfReader(path).pages) for path in sorted(out.rglob("*.pdf"))
    ]
    assert len(texts) == 3
    assert all("TW-1042" in text and "30.00" in text for text in texts)


def test_the_same_claim_gives_the_same_bytes_and_nothing_is_written_over(vault: Vault, tmp_path: Path) -> None:
    one, two = tmp_path / "one.zip", tmp_path / "two.zip"
    vault("claim", SHOP, "--out", one)
    vault("claim", SHOP, "--out", two)
    assert one.read_bytes() == two.read_bytes()
    again = vault("claim", SHOP, "--out", one)
    assert isinstance(again.error, VaultError)
    assert "exists" in again.error.message
    assert sorted(p.name for p in tmp_path.iterdir()) == ["one.zip", "two.zip", "vault"]


@pytest.mark.parametrize(
    ("shop", "language", "words"),
    [
        ("Garnbryggan", "sv", "Ordernummer: GB-4410"),
        ("Naaldkade", "nl", "Bestelnummer: NK-664"),
        ("Filo di Mare", "it", "Numero d'ordine: FM-52"),
        ("Ardoise Couture", "fr", "Numéro de commande\u00a0: "),
        ("Moss & Bobbin", "en", "Order number: MB-2207"),
    ],
)
def test_a_letter_is_in_the_language_of_the_shops_own_mails(vault: Vault, shop: str, language: str, words: str) -> None:
    made = vault("claim", shop, "--json").json()["claim"]
    assert made["language"] == language
    assert words in made["letter"]
    assert made["answer_by"] == "2026-12-16"


def test_the_successor_is_asked_and_the_first_shop_named(vault: Vault) -> None:
    assert vault("seller", SHOP, "--closed", "2026-10-01", "--succeeded-by", "Gannet & Co").status == 0
    for name in (SHOP, "gannet & co"):
        made = vault("claim", name, "--json").json()["claim"]
        assert (made["seller"], made["to"]) == (SHOP, "Gannet & Co")
        assert "you carry on that shop" in made["letter"]
        assert "closes on" not in made["letter"]


def test_an_answer_is_asked_for_before_the_shop_closes(vault: Vault) -> None:
    vault("seller", SHOP, "--closes", "2026-12-05")
    assert vault("claim", SHOP, "--json").json()["claim"]["answer_by"] == "2026-12-05"
    assert vault("claim", SHOP, "--json", "--by", "2026-12-01").json()["claim"]["answer_by"] == "2026-12-01"


def test_showing_a_letter_remembers_nothing(vault: Vault) -> None:
    assert "TW-1042" in vault("claim", SHOP).out
    assert vault("claim", "--json").json() == {"claims": []}


def test_a_claim_is_followed_and_closes_by_itself_when_all_is_held(vault: Vault, tmp_path: Path) -> None:
    vault("claim", SHOP, "--out", tmp_path / "a")
    (row,) = vault("claim", "--json").json()["claims"]
    assert (row["state"], row["open"]) == ("drafted", True)
    assert vault("claim", SHOP, "--sent", DAY.isoformat()).status == 0
    later = DAY + timedelta(days=9)
    (row,) = vault(
        "claim", SHOP, "--answered", later.isoformat(), "--note", "They look for it", "--json", day=later
    ).json()["claims"]
    assert (row["state"], row["since"]) == ("answered", later.isoformat())
    assert [s["note"] for s in row["steps"]] == [None, "They look for it"]
    assert f'{later.isoformat()} answered: "They look for it"' in vault("claim", day=later).out
    ids = [i["item_id"] for i in row["items"]]
    vault.hold(ids[0])
    (row,) = vault("claim", "--json").json()["claims"]
    assert (row["state"], [i["received"] for i in row["items"]]) == ("answered", [True, False, False])
    vault.hold(*ids)
    (row,) = vault("claim", "--json").json()["claims"]
    assert (row["state"], row["open"]) == ("received", False)
    vault.hold()
    assert vault("claim", "--json").json()["claims"][0]["state"] == "answered"


def test_a_refusal_closes_a_claim_and_it_can_be_taken_back(vault: Vault, tmp_path: Path) -> None:
    vault("claim", SHOP, "--out", tmp_path / "a")
    vault("claim", SHOP, "--sent", DAY.isoformat(), "--refused", DAY.isoformat())
    (row,) = vault("claim", "--json").json()["claims"]
    assert (row["state"], row["open"]) == ("refused", False)
    vault("claim", SHOP, "--take-back")
    assert vault("claim", "--json").json()["claims"] == []


def test_a_draft_that_was_never_sent_gives_way_to_the_next(vault: Vault, tmp_path: Path) -> None:
    vault("claim", SHOP, "--out", tmp_path / "a")
    later = DAY + timedelta(days=3)
    vault("claim", SHOP, "--out", tmp_path / "b", day=later)
    assert [c["written_on"] for c in vault("claim", "--json").json()["claims"]] == [later.isoformat()]
    vault("claim", SHOP, "--sent", later.isoformat(), day=later)
    vault("claim", SHOP, "--out", tmp_path / "c", day=later + timedelta(days=30))
    assert [c["state"] for c in vault("claim", "--json").json()["claims"]] == ["sent", "drafted"]


WRONG = (
    (("claim", "Nobody"), "no seller"),
    (("claim", "--sent", "2026-11-25"), "which seller"),
    (("claim", SHOP, "--sent", "2026-11-25"), "nothing was asked"),
    (("claim", SHOP, "--hide", "everything"), "cannot be left out"),
    (("claim", SHOP, "--language", "xx"), "no letters"),
    (("claim", SHOP, "--by", "2026-11-25"), "not to come"),
    (("claim", SHOP, "--by", "soon"), "not a date"),
)


@pytest.mark.parametrize(("words", "said"), WRONG, ids=lambda w: " ".join(w) if isinstance(w, tuple) else "")
def test_wrong_use_is_one_sentence_with_a_next_step(vault: Vault, words: tuple[str, ...], said: str) -> None:
    ran = vault(*words)
    assert isinstance(ran.error, UsageError)
    assert said in ran.error.message
    assert ran.error.next_step


def test_a_step_before_the_letter_or_after_today_is_refused(vault: Vault, tmp_path: Path) -> None:
    vault("claim", SHOP, "--out", tmp_path / "a")
    for day in (DAY - timedelta(days=1), DAY + timedelta(days=1)):
        assert isinstance(vault("claim", SHOP, "--sent", day.isoformat()).error, UsageError)


def test_a_letter_on_the_screen_says_no_right_and_names_the_country(vault: Vault) -> None:
    out = vault("claim", SHOP).out
    assert "No legal advice" in out
    assert "European Union: Directive (EU) 2019/770" in " ".join(out.split())
    assert "United Kingdom: Consumer Rights Act 2015" in " ".join(out.split())
    letter = vault("claim", SHOP, "--json").json()["claim"]["letter"]
    for word in ("right", "law", "Directive", "entitled", "must", "obliged"):
        assert word not in letter.lower().split()


def test_hidden_receipts_go_as_marked_copies_and_never_as_kept(vault: Vault, tmp_path: Path) -> None:
    vault.hold(vault.item("Ferryman Cap"))
    out = tmp_path / "p"
    assert vault("claim", "Selvedge Lane", "--out", out, "--hide", "others").status == 0
    files = _files(out)
    kept = {p.read_bytes() for p in (vault.root / "objects").rglob("*") if p.is_file()}
    assert not any(content in kept for content in files.values())
    from pypdf import PdfReader

    (name,) = [n for n in files if n.startswith("proof/") and n.endswith(".pdf")]
    text = "".join(p.extract_text() for p in PdfReader(io.BytesIO(files[name])).pages)
    assert "Mooring Mittens" in text
    assert "SL-301" in text
    assert "Ferryman Cap" not in text
    assert "[left out]" in text
    assert "I have left out" in files["letter.txt"].decode()


def test_claims_survive_a_backup_of_the_catalogue(vault: Vault, tmp_path: Path) -> None:
    vault("claim", SHOP, "--out", tmp_path / "a")
    with vault.catalogue() as catalogue:
        before = catalogue.claim_views()
        catalogue.snapshot_to(tmp_path / "copy.sqlite")
    from vault.catalogue import Catalogue

    with Catalogue.open_read_only(tmp_path / "copy.sqlite") as copy:
        assert copy.claim_views() == before
        assert before[0].claim.written_on == date(2026, 11, 25)
