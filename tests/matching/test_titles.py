"""Titles taken apart and compared; one spelling for words; names of makers; size ranges; parts."""

from __future__ import annotations

import time

import pytest

from vault.matching import sizes
from vault.matching.keys import code_key, key, plain_name, repair, squash, stem, words
from vault.matching.likeness import compare
from vault.matching.makers import maker, same_maker
from vault.matching.parts import link_part, promise
from vault.matching.targets import codes_in, link_keys
from vault.matching.title import informative, parse

NOTHING: frozenset[str] = frozenset()


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Möhrchen", "Moehrchen"), ("Möhrchen", "Mohrchen"), ("Blåbär", "Blabaer"), ("Blåbär", "Blaabaer"),
        ("Rødhals", "Roedhals"), ("Rødhals", "Rodhals"), ("Großmut", "Grossmut"), ("Œuf", "Oeuf"), ("Łąka", "Laka"),
        ("Cigüeña", "Cigueena"), ("Poëet", "Poeet"), ("ＡＢＣ", "abc"), ("Ｖｏｌ", "vol"),
    ],
)  # fmt: skip
def test_one_word_in_two_spellings_has_one_key(one: str, other: str) -> None:
    assert key(one) == key(other)


@pytest.mark.parametrize(("one", "other"), [("Mohn", "Möhre"), ("Hase", "Hose"), ("ばら", "はら"), ("Rock", "Rick")])
def test_other_words_have_other_keys(one: str, other: str) -> None:
    assert key(one) != key(other)


@pytest.mark.parametrize(
    ("broken", "whole"),
    [
        ("M%C3%B6hrchen", "Möhrchen"), ("M%F6hrchen", "Möhrchen"), ("MÃ¶hrchen", "Möhrchen"), ("M├╢hrchen", "Möhrchen"),
        ("100 % Wolle", "100 % Wolle"), ("Ålesund", "Ålesund"),
    ],
)  # fmt: skip
def test_text_that_was_escaped_or_read_with_the_wrong_table_is_repaired(broken: str, whole: str) -> None:
    assert repair(broken) == whole


@pytest.mark.parametrize(
    ("name", "bare"),
    [
        ("Rock (2).pdf", "Rock"), ("Rock - Kopie.pdf", "Rock"), ("Rock.pdf.pdf", "Rock"),
        ("Rock.pdf.crdownload", "Rock"),
        ("Rock 2.0.pdf", "Rock 2.0"), ("Rock", "Rock"), ("Rock.tar", "Rock.tar"),
    ],
)  # fmt: skip
def test_a_name_without_ending_and_mark_of_a_copy(name: str, bare: str) -> None:
    assert plain_name(name) == bare


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("HarbourLanternCoatA4", ["Harbour", "Lantern", "Coat", "A4"]), ("PDFPattern", ["PDF", "Pattern"]),
        ("BÜCHSENLICHT", ["BÜCHSENLICHT"]), ("L'Abeille", ["L", "Abeille"]), ("Bosun's", ["Bosun"]),
        ("trellis2.0_A4", ["trellis", "2.0", "A4"]), ("a_v2", ["a", "v2"]), ("ŁąkaŻuraw", ["Łąka", "Żuraw"]),
    ],
)  # fmt: skip
def test_names_are_cut_into_words(text: str, found: list[str]) -> None:
    assert words(text, is_name=True) == found


def test_plurals_share_a_stem() -> None:
    for one, many in (("rabbit", "rabbits"), ("bluse", "blusen"), ("kleid", "kleider"), ("vante", "vantar")):
        assert stem(key(one)) == stem(key(many))
    assert compare(parse("Thistle Mitten"), parse("Thistle Mittens"), NOTHING, {}).share == 1.0


@pytest.mark.parametrize(
    ("title", "volumes"),
    [
        ("Shawl Vol. 3", {"3"}), ("Shawl III", {"3"}), ("Decke 3. Teil", {"3"}), ("Châle tome II", {"2"}),
        ("Koc część 2", {"2"}), ("Peitto osa 4", {"4"}), ("つばめ 第３巻", {"3"}), ("Pinafore 2.0", {"2"}),
        ("Quilt Block C", {"C"}), ("Letters No. 19", {"19"}), ("Rock 7", {"7"}), ("Shirt v2", set()),
        ("Shirt version 2.1", set()), ("Part one: Sleeves", {"1"}), ("Mix & Match", set()), ("1930s Cloche", set()),
        ("Anno 1890", set()), ("Vol au Vent", set()),
    ],
)  # fmt: skip
def test_volumes_are_read_however_they_are_written(title: str, volumes: set[str]) -> None:
    assert parse(title).volumes == volumes


@pytest.mark.parametrize(
    ("title", "kinds"),
    [
        ("Anorak Kids", {"kids"}), ("Bluse für Kinder", {"kids"}), ("Jupe enfant", {"kids"}), ("Tröja barn", {"kids"}),
        ("キッズブラウス", {"kids"}), ("Pinafore Hack Pack", {"hack"}), ("pinafore_hackpack", {"hack"}),
        ("Anorak Add-On", {"addon"}), ("Anorak Expansion Pack", {"addon"}), ("Harrow Shirt Men's", {"men"}),
        ("Dress Plus Size", {"plus"}), ("Three Smocks Bundle", {"bundle"}), ("Anorak", set()), ("Kindred Coat", set()),
    ],
)  # fmt: skip
def test_kinds_are_read_in_any_language(title: str, kinds: set[str]) -> None:
    assert parse(title, is_name="_" in title).variants == kinds


@pytest.mark.parametrize(
    "name",
    [
        "download (1).pdf", "A4 (2).pdf", "document.pdf", "Unbenannt.pdf", "sans titre.pdf", "pattern_final.pdf",
        "Schnittmuster.pdf", "2024-11-03.pdf", "instructions.pdf", ".pdf",
    ],
)  # fmt: skip
def test_some_names_say_nothing(name: str) -> None:
    assert not informative(parse(name, is_name=True))


@pytest.mark.parametrize(
    ("item", "text", "share", "missing", "extra"),
    [
        ("Clover Dress", "Clover Dress", 1.0, [], []),
        ("Clover Dress", "Clover", 0.667, ["dres"], []),
        ("Clover Dress", "Clover Skirt", 0.667, ["dres"], ["skirt"]),
        ("Clover Dress", "Clover Dress Meadow", 1.0, [], ["meadow"]),
        ("Kleid Möhrchen", "Moehrchen Dress", 1.0, [], []),
        ("Hat Heron", "Heron Beanie", 0.667, ["hat"], ["beani"]),
        ("Hafenmantel", "Hafen Mantel", 1.0, [], []),
        ("Sun Dial Smock", "sundial smock", 1.0, [], []),
        ("Jacke Rauhreif", "Strickjacke Rauhreif", 0.667, ["jack"], ["strickjack"]),
        ("Robe d'été", "robe_dete", 1.0, [], []),
        ("Otter Bib", "Heron Vest", 0.0, [], []),
    ],
)  # fmt: skip
def test_titles_compared(item: str, text: str, share: float, missing: list[str], extra: list[str]) -> None:
    like = compare(parse(item), parse(text, is_name=True), NOTHING, {})
    assert like.share == pytest.approx(share, abs=0.001)
    assert [w.stem for w in like.missing] == missing
    assert [w.stem for w in like.extra] == extra


def test_typed_words_are_found_inside_a_run() -> None:
    like = compare(parse("Trellis Pinafore"), parse("trellispinaforehackpacka4.pdf", is_name=True), NOTHING, {})
    assert (like.share, like.variants) == (1.0, {"hack"})
    assert parse("trellispinaforehackpacka4.pdf", is_name=True).parts == {"A4"}
    like = compare(parse("Falda Almendro"), parse("faldaalmendroii.pdf", is_name=True), NOTHING, {})
    assert (like.share, like.volumes) == (1.0, {"2"})


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Wick & Wether", "Wick and Wether Knits", True), ("Zwirnbold GmbH & Co. KG", "Zwirnbold Schnittmuster", True),
        ("L'Atelier Cerise", "Atelier Cerise", True), ("Ada Pellworm", "Ada Pellworm Designs", True),
        ("Pettle & Thrum", "pettlethrum", True), ("Nålvind", "Nalvind", True), ("Quill Cottons", "Quill Linens", False),
        ("Moor Ewe Knits", "Moor Lane Knits", False), ("Ada Pellworm", "Ida Pellworm", False),
    ],
)  # fmt: skip
def test_names_of_makers(one: str, other: str, same: bool) -> None:
    a, b = maker(one), maker(other)
    assert a is not None and b is not None
    assert same_maker(a, b) is same


def test_programs_are_no_makers() -> None:
    assert all(maker(name) is None for name in ("anonymous", "user", "Unknown", "", "  "))


@pytest.mark.parametrize(
    ("text", "ranges"),
    [
        ("(sizes XS-L)", ["XS-L"]), ("XL–4XL", ["XL-4XL"]), ("Gr. 32-50", ["32-50"]), ("sizes32-50", ["32-50"]),
        ("age 3-8", ["3-8"]), ("98-140", ["98-140"]), ("Vol. 1-3", []), ("2024-11-12", []),
        ("No. 3-4", []), ("9-17", []),
        ("size 9-17", ["9-17"]), ("S to XXL", ["S-2XL"]),
    ],
)  # fmt: skip
def test_size_ranges_are_found(text: str, ranges: list[str]) -> None:
    assert [str(r) for r in sizes.find(text)[0]] == ranges


@pytest.mark.parametrize(
    ("item", "file", "relation"),
    [
        ("XS-L", "XS-L", "same"), ("XS-L", "XL-4XL", "other"), ("32-50", "36-40", "inside"),
        ("36-40", "32-50", "contains"),
        ("6-18", "16-30", "other"), ("34-46", "6-18", None), ("50-92", "98-140", "other"),
    ],
)  # fmt: skip
def test_ranges_are_compared_within_one_system(item: str, file: str, relation: str | None) -> None:
    assert sizes.compare(sizes.find(item, marked=True)[0], sizes.find(file, marked=True)[0]) == relation


def test_a_list_of_sizes_spans_a_range() -> None:
    assert [str(r) for r in sizes.of_file(["34", "36", "38", "40"])] == ["34-40"]
    assert [str(r) for r in sizes.of_file(["XS", "S", "M"])] == ["XS-M"]
    assert sizes.of_file(["one size"]) == ()


@pytest.mark.parametrize(
    ("words_", "parts"),
    [
        ("livret d'instructions", {"instructions"}), ("fichier projecteur", {"projector"}), ("A0", {"A0"}),
        ("print at home", {"A4"}), ("copy shop", {"A0"}), ("Anleitung", {"instructions"}), ("diagram", {"chart"}),
        ("US Letter", {"Letter"}), ("PES", {"PES"}),
    ],
)  # fmt: skip
def test_promised_parts_in_the_words_of_receipts(words_: str, parts: set[str]) -> None:
    assert promise(words_).parts == parts


def test_a_promise_may_be_a_size_range_or_a_member_of_a_bundle() -> None:
    assert [str(s) for s in promise("32-44").sizes] == ["32-44"]
    member = promise("Hose Hüttenzauber").member
    assert member is not None
    assert member.words[-1].key == "huttenzauber"


def test_parts_are_named_in_the_same_order() -> None:
    assert link_part(frozenset({"instructions", "A4"})) == "A4 + instructions"
    assert link_part(frozenset()) is None


def test_codes_and_order_numbers_in_names() -> None:
    assert codes_in("FA-106_sizes6-20") == {"FA106"}
    assert "PT204" in codes_in("pt204instructions")
    assert "2024" not in codes_in("tax_2024") and "2024" not in codes_in("tax 2024")
    assert code_key("#0012782") == "12782"


def test_links_are_known_by_their_long_ids() -> None:
    one = link_keys("https://www.pettle.example/download/88112/9f3b2c77e1a0?key=a")
    other = link_keys("https://pettle.example/files/9f3b2c77e1a0/heather.pdf")
    assert one & other
    assert not link_keys("https://pettle.example/") and not link_keys("not a link")
    assert not link_keys("https://pettle.example/downloads") & link_keys("https://quill.example/downloads")


@pytest.mark.parametrize("filling", ["a", "<", " ", "%", "(1)", "A", "-", "9-", "é", "第", "Vol. ", "\ufffd", "'", "."])
def test_hostile_texts_cost_little(filling: str) -> None:
    text = filling * (1_000_000 // len(filling))
    start = time.process_time()
    title = parse(text)
    parse(text, is_name=True)
    squash(text[:100_000])
    sizes.labelled(text[:100_000])
    codes_in(text)
    compare(parse("Clover Dress"), title, NOTHING, {})
    assert time.process_time() - start < 2.0
