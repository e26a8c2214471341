"""`pinfold licence`: terms with their words and places, the answer, the ledger, recorded terms, the export."""

from __future__ import annotations

import hashlib
import json
from datetime import timedelta
from pathlib import Path

import pytest

from tests.claims.vaults import DAY, FILE, Vault
from vault.errors import UnreadableError, UsageError

PAGE = (
    "<html><head><title>Bustle</title><script>alert(1)</script></head><body><h1>Heron Bustle Skirt</h1>"
    "<p>Finished items may not be sold.</p><p>Sewing on commission is not allowed.</p></body></html>"
)


@pytest.fixture
def skirt(vault: Vault) -> str:
    item = vault.item("Heron Bustle Skirt")
    vault.hold(item)
    return item


def test_terms_are_shown_with_words_page_place_and_day(vault: Vault, skirt: str) -> None:
    out = vault("licence", "show", "bustle skirt").out
    assert "in the file skirt.pdf, seen 2026-09-15" in out
    assert '"You may sell up to 20 finished pieces with credit to the designer." (page 4)' in " ".join(out.split())
    assert "No legal advice" in out
    (version,) = vault("licence", "show", skirt, "--json").json()["licence"]["versions"]
    assert version["seen"][0]["sha256"] == FILE
    assert {c["act"]: c["answer"] for c in version["clauses"]} == {
        "use": "yes", "sell": "limited", "share": "no", "give": "no", "hire": "unclear",
    }  # fmt: skip


def test_the_answer_counts_what_was_sold_and_says_when_it_is_too_much(vault: Vault, skirt: str) -> None:
    first = vault("licence", "may", "sell", skirt, "--count", "10", "--json").json()["may"]
    assert (first["answer"], first["limit"], first["left"], first["fits"], first["credit"]) == (
        "limited",
        20,
        20,
        True,
        True,
    )
    assert (
        vault("licence", "log", skirt, "sold", "--count", "15", "--on", "2026-11-01", "--where", "Harbour fair").status
        == 0
    )
    out = vault("licence", "may", "sell", skirt, "--count", "10").out
    assert "yes, up to 20, with credit to the designer" in out
    assert "15 of 20 used, 5 left: 10 more would pass the limit by 5" in out
    passed = vault("licence", "log", skirt, "sold", "--count", "10")
    assert passed.status == 1
    assert "25 of 20 used: the limit is passed by 5" in " ".join(passed.out.split())


def test_the_ledger_refuses_nothing_and_lines_can_be_taken_back(vault: Vault, skirt: str) -> None:
    for kind, count in (("made", 30), ("given", 2), ("taught", 1), ("sold", 21)):
        vault("licence", "log", skirt, kind, "--count", count)
    rows = vault("licence", "log", skirt, "--json").json()
    assert [(u["kind"], u["count"]) for u in rows["uses"]] == [("made", 30), ("given", 2), ("taught", 1), ("sold", 21)]
    assert rows["passed"] is True
    (sold,) = [u["id"] for u in rows["uses"] if u["kind"] == "sold"]
    assert vault("licence", "log", skirt, "--take-back", sold).status == 0
    assert vault("licence", "log", skirt, "--json").json()["passed"] is False
    assert isinstance(vault("licence", "log", skirt, "--take-back", sold).error, UsageError)


def test_a_saved_page_is_kept_as_evidence_and_stands_beside_the_file(vault: Vault, skirt: str, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    page.write_text(PAGE, encoding="utf-8")
    shown = vault("licence", "add", skirt, page, "--seen", "2026-10-01")
    assert shown.status == 0
    assert "2: 2026-10-01" in shown.out
    assert "on the page page.html, seen 2026-10-01" in shown.out
    digest = hashlib.sha256(PAGE.encode()).hexdigest()
    assert (vault.root / "objects" / digest[:2] / digest).read_bytes() == PAGE.encode()
    with vault.catalogue() as catalogue:
        assert catalogue.kept_names()[digest] == "page.html"
    # bought on 14 September 2026, so both were seen with the purchase, and they contradict each other
    answer = vault("licence", "may", "sell", skirt, "--json").json()["may"]
    assert answer["answer"] == "unclear"
    assert [r["source"]["place"] for r in answer["rests_on"]] == ["file", "page"]
    assert vault("licence", "may", "hire", skirt, "--json").json()["may"]["answer"] == "no"


def test_terms_of_later_days_do_not_replace_those_of_the_purchase(vault: Vault, skirt: str, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    page.write_text(PAGE, encoding="utf-8")
    later = DAY + timedelta(days=200)
    vault("licence", "add", skirt, page, day=later)
    answer = vault("licence", "may", "sell", skirt, "--json", day=later).json()["may"]
    assert (answer["answer"], answer["limit"]) == ("limited", 20)
    assert [o["answer"] for o in answer["others"]] == ["no"]


def test_a_grant_outweighs_and_ends(vault: Vault, skirt: str) -> None:
    words = "You may sell up to 50 finished pieces a year."
    vault("licence", "add", skirt, "--text", words, "--granted", "--until", "2026-12-31")
    answer = vault("licence", "may", "sell", skirt, "--count", "30", "--json").json()["may"]
    assert (answer["limit"], answer["per"], answer["fits"]) == (50, "year", True)
    after = vault("licence", "may", "sell", skirt, "--json", day=DAY + timedelta(days=60)).json()["may"]
    assert after["limit"] == 20
    versions = vault("licence", "show", skirt, "--json").json()["licence"]["versions"]
    (terms_id,) = [s["id"] for v in versions for s in v["seen"] if s["granted"]]
    assert vault("licence", "add", skirt, "--take-back", terms_id).status == 0
    assert vault("licence", "may", "sell", skirt, "--json").json()["may"]["limit"] == 20


def test_recorded_terms_fill_the_licence_of_purchases(vault: Vault) -> None:
    item = vault.item("Fog Horn Greatcoat")

    def licence() -> object:
        rows = vault("purchases", "--json").json()["purchases"]
        return next(i["licence"] for p in rows for i in p["items"] if i["id"] == item)

    assert licence() is None
    vault("licence", "add", item, "--text", "You may sell up to 5 finished pieces.")
    found = licence()
    assert isinstance(found, dict)
    assert (found["sell_finished"], found["limit"]) == ("limited", 5)


def test_an_item_without_words_is_silent_and_says_what_to_do(vault: Vault) -> None:
    out = vault("licence", "show", "Rope Walk Braces").out
    assert "licence add" in out
    answer = vault("licence", "may", "sell", "Rope Walk Braces", "--json").json()["may"]
    assert (answer["answer"], answer["rests_on"]) == ("silent", [])


def test_the_export_is_one_policy_per_version(vault: Vault, skirt: str, tmp_path: Path) -> None:
    out = tmp_path / "terms.jsonld"
    assert vault("licence", "show", skirt, "--odrl", out).status == 0
    policy = json.loads(out.read_text(encoding="utf-8"))
    assert policy["@context"] == "http://www.w3.org/ns/odrl.jsonld"
    assert policy["@type"] == "Set"
    assert {p["action"] for p in policy["permission"]} == {"use", "sell"}
    everything = tmp_path / "all.jsonld"
    vault("licence", "add", "Fog Horn Greatcoat", "--text", "Finished items may not be sold.")
    assert vault("licence", "show", "--odrl", everything).status == 0
    assert len(json.loads(everything.read_text(encoding="utf-8"))["@graph"]) == 2


WRONG = (
    (("licence", "show", "no such thing"), "no item"),
    (("licence", "show", "e"), "fits"),
    (("licence", "add", "bustle skirt"), "what are the terms"),
    (("licence", "add", "bustle skirt", "--text", "  "), "no words"),
    (("licence", "add", "bustle skirt", "--text", "x", "--until", "2027-01-01"), "granted"),
    (("licence", "add", "bustle skirt", "--text", "x", "--seen", "2027-01-01"), "still to come"),
    (("licence", "add", "bustle skirt", "--take-back", "t1"), "no terms"),
    (("licence", "log", "bustle skirt", "sold", "--on", "2027-01-01"), "still to come"),
    (("licence", "log", "bustle skirt", "sold", "--take-back", "u1"), "either"),
    (("licence", "show", "Rope Walk Braces", "--odrl", "x.json"), "nothing that ODRL"),
)


@pytest.mark.parametrize(("words", "said"), WRONG, ids=lambda w: " ".join(w) if isinstance(w, tuple) else "")
def test_wrong_use_is_one_sentence_with_a_next_step(vault: Vault, words: tuple[str, ...], said: str) -> None:
    ran = vault(*words)
    assert isinstance(ran.error, UsageError)
    assert said in ran.error.message
    assert ran.error.next_step


@pytest.mark.parametrize("content", [b"", b"\x00\xff\xfe" * 50, b"\x89PNG\r\n\x1a\n" + b"\0" * 60])
def test_a_file_without_words_is_refused(vault: Vault, tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "terms.bin"
    path.write_bytes(content)
    assert isinstance(vault("licence", "add", "bustle skirt", path).error, UnreadableError)
    assert isinstance(vault("licence", "add", "bustle skirt", tmp_path / "none").error, UnreadableError)


def test_terms_and_ledger_stay_when_purchases_are_derived_again(vault: Vault, skirt: str) -> None:
    from vault.intake.derive import rejoin

    vault("licence", "add", skirt, "--text", "Teaching with this pattern is not allowed.")
    vault("licence", "log", skirt, "made", "--count", "2")
    with vault.catalogue() as catalogue:
        before = catalogue.added_terms(), catalogue.licence_uses()
        rejoin(catalogue)
        assert (catalogue.added_terms(), catalogue.licence_uses()) == before
    assert vault("licence", "may", "teach", skirt, "--json").json()["may"]["answer"] == "no"


def test_all_that_was_said_comes_back_when_the_catalogue_is_made_anew(vault: Vault, tmp_path: Path) -> None:
    from tests.claims.vaults import RECEIPTS
    from vault.intake.rebuild import rebuild_catalogue
    from vault.safekeeping.folder import VaultFolder

    item = vault.item("Fog Horn Greatcoat")
    # a mail that is evidence of the purchase and was recorded as terms too
    assert vault("licence", "add", item, RECEIPTS / "mail" / "thimblewick-1042.eml", "--seen", "2026-09-14").status == 0
    vault("licence", "add", item, "--text", "Finished items may not be sold.")
    vault("licence", "log", item, "sold", "--count", "2")
    vault("claim", "Thimblewick Patterns", "--out", tmp_path / "packet")
    asked = (("purchases", "--json"), ("licence", "log", item, "--json"), ("claim", "--json"))
    before = [vault(*words).json() for words in asked]
    rebuild_catalogue(VaultFolder(vault.root), day=DAY)
    assert [vault(*words).json() for words in asked] == before
