"""States of items on real files: what is lacking, what does not make an item held, and that the reason is said."""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.journey.conftest import DEMO, Pinfold

sys.path.append(str(DEMO))
from drawing import Design, booklet, tiled
from receipts import Line, mail, table_html

SHOP = "Estuary Drawing Room"
ITEMS = (
    Line(title="Wigeon Jacket", price="£12.00", link="https://estuary.example/d/1a", note="Includes A4, A0 and instructions"),
    Line(title="Saltmarsh Bundle", price="£20.00", link="https://estuary.example/d/2b", note="Includes: Curlew Cape, Dunlin Dress"),
    Line(title="Garganey Gown", price="£9.00", link="https://estuary.example/d/3c"),
    Line(title="Pintail Pinafore", price="£9.00", link="https://estuary.example/d/4d"),
    Line(title="Shoveler Smock", price="£9.00", link="https://estuary.example/d/5e"),
    Line(title="Avocet Apron", price="£9.00", link="https://estuary.example/d/6f"),
    Line(title="Redshank Robe", price="£9.00", link="https://estuary.example/d/7g"),
    Line(title="Brent Breeches", price="£9.00", link="https://estuary.example/d/8h"),
)  # fmt: skip


def design(title: str, **more: str) -> Design:
    return Design(title=title, designer=SHOP, **more)  # type: ignore[arg-type]


def locked(pdf: bytes) -> bytes:
    from pypdf import PdfReader, PdfWriter

    writer = PdfWriter(PdfReader(io.BytesIO(pdf)))
    writer.encrypt("secret", algorithm="AES-256")
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def files() -> dict[str, bytes]:
    return {
        "wigeon-jacket-A4.pdf": tiled(design("Wigeon Jacket")),
        "wigeon-jacket-instructions.pdf": booklet(design("Wigeon Jacket")),
        "curlew cape.pdf": tiled(design("Curlew Cape")),
        "garganey-gown-sample.pdf": booklet(design("Garganey Gown"), pages=1, note="PREVIEW - sample page, not the full pattern"),
        "pintail-pinafore.pdf": tiled(design("Pintail Pinafore"), pages=12)[:4000],
        "shoveler-smock.pdf": locked(tiled(design("Shoveler Smock"))),
        "avocet-apron.pdf": b"",
        "redshank-robe.pdf": booklet(design("Redshank Robe", version="v1.3 (updated 03/2026)")),
        "brent-breeches-kids.pdf": tiled(design("Brent Breeches for Kids")),
    }  # fmt: skip


@pytest.fixture(scope="module")
def vault(tmp_path_factory: pytest.TempPathFactory) -> Pinfold:
    root = tmp_path_factory.mktemp("states")
    (root / "home").mkdir()
    html = table_html(
        SHOP, "Thank you for your order!", ("Product", "Price"), ITEMS, (("Total", "£86.00"),),
        facts=(("Order number", "ED-508"), ("Order date", "3 February 2026")), bye=SHOP, download="Download",
    )  # fmt: skip
    order = mail(f"{SHOP} <post@estuary.example>", "Your order ED-508", "2026-02-03T10:00:00", 508, html=html)
    own = root / "own"
    for name, content in {"order.eml": order, **files()}.items():
        own.mkdir(exist_ok=True)
        (own / name).write_bytes(content)
    made = Pinfold(vault=root / "vault", home=root / "home")
    said = made("import", own)
    assert said.status in (0, 1), said.err
    return made


@pytest.fixture(scope="module")
def items(vault: Pinfold) -> dict[str, dict[str, Any]]:
    (purchase,) = vault("purchases", "--json").json()["purchases"]
    return {i["title"]: i for i in purchase["items"]}


@pytest.mark.parametrize(
    ("title", "state", "lacking", "why"),
    [
        ("Wigeon Jacket", "partial", ["A0"], "the receipt promises the A0 (copy shop) sheet; no file of it is here"),
        ("Saltmarsh Bundle", "partial", ["Dunlin Dress"], "the receipt promises Dunlin Dress; no file of it is here"),
        ("Garganey Gown", "missing", [], "garganey-gown-sample.pdf is only a preview"),
        ("Pintail Pinafore", "missing", [], "pintail-pinafore.pdf is cut off"),
        ("Shoveler Smock", "missing", [], "shoveler-smock.pdf needs a password"),
        ("Avocet Apron", "missing", [], "avocet-apron.pdf is empty"),
        ("Redshank Robe", "held", [], "the file says version 1.3"),
        ("Brent Breeches", "missing", [], "brent-breeches-kids.pdf comes near, but the file is for children"),
    ],
)
def test_the_state_and_its_reason(
    items: dict[str, dict[str, Any]], title: str, state: str, lacking: list[str], why: str
) -> None:
    found = items[title]
    assert (found["state"], found["lacking"]) == (state, lacking)
    assert why in found["why"]


def test_the_missing_report_names_what_is_lacking_and_where_it_is_promised(vault: Pinfold) -> None:
    said = vault("missing")
    assert said.status == 1
    text = " ".join(said.out.split())
    assert "lacking A0" in text and "lacking Dunlin Dress" in text
    assert "Download Dunlin Dress from the link on the receipt now" in text
    rows = {r["title"]: r for r in vault("missing", "--json").json()["missing"]}
    assert set(rows) == {x.title for x in ITEMS} - {"Redshank Robe"}


def test_the_bundle_is_complete_when_its_other_member_comes(vault: Pinfold, tmp_path: Path) -> None:
    late = tmp_path / "dunlin_dress.pdf"
    late.write_bytes(tiled(design("Dunlin Dress")))
    vault("import", late)
    rows = vault("missing", "--json").json()["missing"]
    assert "Saltmarsh Bundle" not in {r["title"] for r in rows}


def test_an_answer_is_listed_with_what_it_taught_until_it_is_taken_back(
    vault: Pinfold, items: dict[str, dict[str, Any]]
) -> None:
    kids = next(f for f in vault("files", "--unclaimed", "--json").json()["files"] if "kids" in f["name"])
    item = items["Brent Breeches"]["id"]
    vault("settle", item, "--file", kids["sha256"][:12])
    (answer,) = vault("settle", "--answered", "--json").json()["answers"]
    assert (answer["item_id"], answer["answer"], answer["sha256"]) == (item, "file", kids["sha256"])
    assert answer["taught"] == []
    assert vault("settle", item, "--take-back").status in (0, 1)
    assert vault("settle", "--answered", "--json").json() == {"answers": []}
    again = vault("settle", item, "--take-back")
    assert again.status == 2 and "nothing was answered" in again.err
