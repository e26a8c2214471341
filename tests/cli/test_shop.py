"""`seller NAME` and `sellers`: one screen per shop, and two names said to be one shop's and taken back."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.claims.vaults import Vault, made_vault
from vault.catalogue import Catalogue
from vault.cli.shop import seller_meant
from vault.errors import UsageError
from vault.model.claim import Claim, ClaimedItem, ClaimState, ClaimView
from vault.model.evidence import DownloadLink
from vault.model.match import ItemView, MissingRow, PurchaseView, Standing
from vault.model.purchase import Item, ItemState, Purchase, Seller
from vault.model.same_shop import PerhapsSame
from vault.reports.seller import Said, Shop, quoted, screen
from vault.reports.text import Style

DAY = date(2026, 11, 25)
HOSTILE = "Cap\x1b[2J \u202e& Bells"


@pytest.fixture(scope="module")
def vault(tmp_path_factory: pytest.TempPathFactory) -> Vault:
    made = made_vault(tmp_path_factory.mktemp("shop") / "vault")
    for shop, title in (("Motley Patterns", "Jester Hood"), ("Motley Designs", "Night Watch Cloak")):
        said = made("record", "--seller", shop, "--title", title, "--on", "2026-03-01", "--order-number", title[:3])
        assert said.status == 0, said.out
    return made


def names(vault: Vault) -> list[str]:
    return [s["name"] for s in vault("sellers", "--json").json()["sellers"]]


def test_one_screen_says_what_the_status_rests_on(vault: Vault) -> None:
    out = " ".join(vault("seller", "thimblewick").out.split())
    assert "status closing 2026-12-31" in out
    assert "will close its doors on 31 December 2026" in out and "(2026-11-20," in out
    assert "Not fetched, and perhaps still there" in out and "fetch until 2026-12-31" in out
    row = vault("seller", "thimblewick", "--json").json()["seller"]
    assert row["said"][0]["on"] == "2026-11-20" and row["said"][0]["source"].endswith("thimblewick-closing.eml")
    assert row["patterns"] == 3 and {m["unfetched"] for m in row["missing"]} == {True}


def test_what_she_heard_elsewhere_is_told_as_hers(vault: Vault) -> None:
    assert vault("seller", "Motley Designs", "--closed", "2026-10-01").out == "Noted for Motley Designs.\n"
    out = " ".join(vault("seller", "Motley Designs").out.split())
    assert "you said closed 2026-10-01" in out and "it said" not in out
    vault("seller", "Motley Designs", "--open")


def test_a_likely_twin_is_proposed_joined_by_her_word_alone_and_parted_again(vault: Vault) -> None:
    before = vault("purchases", "--json").json()
    assert {"Motley Patterns", "Motley Designs"} <= set(names(vault))
    assert "are perhaps one shop" in vault("sellers").out
    out = " ".join(vault("seller", "Motley Patterns").out.split())
    assert "Motley Designs" in out and "differ only in words of the trade" in out
    assert "pinfold seller 'Motley Patterns' --same-as 'Motley Designs'" in out

    assert vault("seller", "Motley Patterns", "--same-as", "Motley Designs").status == 0
    (shop,) = [n for n in names(vault) if n.startswith("Motley")]
    row = vault("seller", "Motley", "--json").json()["seller"]
    assert {shop, *row["also_known_as"]} == {"Motley Patterns", "Motley Designs"}
    assert len(row["purchases"]) == 2 and not row["perhaps_same"]
    with Catalogue.open_read_only(vault.root / "catalogue.sqlite") as catalogue:
        (kept,) = [t for t in catalogue.remembered_rows() if t.name == "same_sellers"]
    assert kept.rows == (("Motley Designs", "Motley Patterns", 1),)

    assert vault("seller", shop, "--take-back").out == f"Taken back for {shop}.\n"
    assert vault("purchases", "--json").json() == before
    assert isinstance(vault("seller", "Motley Patterns", "--take-back").error, UsageError)


def test_her_word_outlives_the_catalogue(vault: Vault) -> None:
    assert vault("seller", "Motley Patterns", "--same-as", "Motley Designs").status == 0
    before = vault("sellers", "--json").json()
    assert vault("verify", "--rebuild-catalogue").status in (0, 1)
    assert vault("sellers", "--json").json() == before
    vault("seller", "Motley", "--take-back")


def test_her_no_ends_the_question_too(vault: Vault) -> None:
    assert vault("seller", "Motley Patterns", "--apart-from", "Motley Designs").status == 0
    assert "perhaps one shop" not in vault("sellers").out
    assert "is not the same shop as" in " ".join(vault("seller", "Motley Patterns").out.split())
    vault("seller", "Motley Patterns", "--take-back")
    assert vault("sellers", "--json").json()["perhaps_same"]


@pytest.mark.parametrize(
    "words",
    [
        ("Nobody",),
        ("Motley",),
        ("Motley Patterns", "--same-as", "Motley Patterns"),
        ("Motley Patterns", "--same-as", "Nobody"),
        ("Motley Patterns", "--same-as", "Motley Designs", "--apart-from", "Motley Designs"),
        ("Motley Patterns", "--open", "--closes", "2026-12-01"),
        ("Motley Patterns", "--closes", "soon"),
    ],
)
def test_wrong_words_change_nothing(vault: Vault, words: tuple[str, ...]) -> None:
    before = names(vault)
    assert isinstance(vault("seller", *words).error, UsageError)
    assert names(vault) == before


def test_a_name_means_one_seller_or_none() -> None:
    sellers = [Seller(id="s1", name="Motley", domains=("motley.example",)), Seller(id="s2", name="Motley Row")]
    assert seller_meant(sellers, "motley").id == seller_meant(sellers, "MOTLEY.example").id == "s1"
    assert seller_meant(sellers, "row").id == "s2"
    for name in ("", "mot", "x"):
        with pytest.raises(UsageError):
            seller_meant(sellers, name)


def shop(**changes: object) -> Shop:
    """A shop with something to fetch, something with a link that ran out, and a claim under way."""
    seller = Seller(id="s", name=HOSTILE, domains=("capbells.example",), status="closing", closes_on=date(2026, 12, 31))
    links = (
        DownloadLink(url="https://capbells.example/d/1", expires_on=date(2026, 12, 1), downloads_left=2),
        DownloadLink(url="https://capbells.example/d/old", expires_on=date(2026, 11, 24)),
        DownloadLink(url="https://capbells.example/d/used", downloads_left=0),
    )
    rows = []
    for n, given in enumerate((links, links[1:])):
        item = Item(id=f"i{n}", title=f"Jester Hood {n} {HOSTILE}", links=given)
        purchase = Purchase(
            id=f"p{n}", seller_id="s", seller=HOSTILE, order_number=f"C-{n}", purchased_on=date(2026, 3, 1), currency="GBP",
            total=None, items=(item,),
        )  # fmt: skip
        view = ItemView(item=item, standing=Standing(item_id=item.id, state=ItemState.MISSING))
        rows.append(
            MissingRow(
                view=view,
                purchase=purchase,
                seller=seller,
                deadline=date(2026, 12, 1) if n == 0 else None,
                downloads_left=None,
                urgency="now",
                why=(),
                next="",
            )
        )
    claim = Claim(
        id="c1", seller=HOSTILE, seller_id="s", to=HOSTILE, language="en", written_on=date(2026, 11, 1),
        answer_by=date(2026, 12, 1), items=(ClaimedItem(item_id="i1", purchase_id="p1", title="Jester Hood"),),
    )  # fmt: skip
    made = Shop(
        seller=seller,
        day=DAY,
        purchases=tuple(PurchaseView(purchase=r.purchase, items=(r.view,)) for r in rows),
        missing=tuple(rows),
        claims=(ClaimView(claim=claim, state=ClaimState.SENT, since=date(2026, 11, 2)),),
        said=(
            Said(words=f"we close {HOSTILE}", on=date(2026, 11, 1), source="mail/1.eml"),
            Said(
                words="we moved", on=None, source="mail/2.eml", doubt="sent from capbell.example, which looks like it"
            ),
        ),
        perhaps=((HOSTILE, PerhapsSame(one="s", other="t", why=("one letter apart",))),),
    )
    return replace(made, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize("columns", [40, 60, 80, 100])
def test_the_screen_fits_and_hostile_names_do_nothing(columns: int) -> None:
    lines = screen(shop(), Style(columns=columns))
    text = " ".join(" ".join(lines).split())
    assert all(len(line) <= columns for line in lines if "://" not in line)
    assert "\x1b" not in text and "\u202e" not in text
    assert "/d/1" in text and "/d/old" not in text and "/d/used" not in text
    assert "Not held, and no link that may still work: 1" in text and "NOT BELIEVED" in text
    assert "Asked for" in text and "ask for them" not in text  # a claim is under way already


def test_a_day_that_has_passed_is_told() -> None:
    after = " ".join(" ".join(screen(shop(day=date(2027, 1, 2)), Style())).split())
    assert "closing 2026-12-31, a day that has passed" in after
    assert "Not fetched" not in after  # every link has run out by then


@pytest.mark.parametrize(("name", "word"), [("Cap & Bells", "'Cap & Bells'"), ("Widow's Row", '"Widow\'s Row"')])
def test_a_name_can_be_copied_into_a_command(name: str, word: str) -> None:
    assert quoted(name) == word
