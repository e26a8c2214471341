"""Booklets in all languages and crafts are patterns; other people's papers in all languages are none.

Common practice, no published source: the signs by which a person tells them.  The booklets stand in
`fixtures/patterns/booklets.toml`; the papers below name things of the trade, count, measure and give orders.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.patterns.lexicon import lexicon, making_words, split_words
from vault.patterns.making import making_of, sentences
from vault.patterns.rules import facts_from_text
from vault.patterns.words import LANGUAGES

BOOKLETS = tomllib.loads(
    (Path(__file__).parents[2] / "fixtures" / "patterns" / "booklets.toml").read_text(encoding="utf-8")
)
ALL = [(language, craft) for language, crafts in BOOKLETS.items() for craft in crafts]

# Papers that name the trade's things: a tale, a bill or list, a timetable or invitation, for each language.
PAPERS: dict[str, tuple[str, ...]] = {
    "en": (
        "Chapter Nine\nShe had sewn the hem by candlelight, and now she cut the thread with her teeth. 'Size twelve,' said\n"
        "the tailor, 'and no seam allowance at all.' He turned the sleeve and pressed it flat with his hand.",
        "Dear Ms Pell,\nthank you for the knitting. I have cast off at last: 64 stitches, 30 rows, 4 mm needles. Am I to send\n"
        "the pattern back? Yours sincerely, Ida",
        "Guided tour of the wool mill\nMonday 10.30, Tuesday 11.00, Friday 14.15\nSee the carding, the spinning and the\n"
        "looms. Tickets 6.00 at the gate. Dim light; mind the row of steps.",
        "Stock take, haberdashery\nBias binding 25 m\nZips 20 cm, 14\nButtons 400\nInterfacing 3 m\nNeedles, 12 packets",
    ),
    "de": (
        "Am Anger 4\nDie Änderungsschneiderei hat neue Zeiten: am Montag 9-12 Uhr, am Dienstag 14-18 Uhr. Reißverschlüsse\n"
        "ab 15,00, Hosensaum 9,00, Futter nach Aufwand.",
        "Zweites Kapitel\nIch legte das Strickzeug weg. »Zwei rechts, zwei links«, sagte die Großmutter, »und nach zehn Reihen\n"
        "hast du einen Schal.« Sie hatte recht, wie immer.",
        "Inventur Kostümfundus\nMantel, Wolle, Gr. 48, Futter fehlt\nRock, Leinen, Gr. 38, Saum offen\nWeste, 5 Knöpfe",
    ),
    "fr": (
        "Chapitre deux\nElle avait cousu toute la nuit. « Taille quarante, dit-il, sans marges de couture. » La laine était\n"
        "bleue, les mailles serrées, et le dos du fauteuil portait encore son ouvrage.",
        "Horaires de l'atelier\nLundi 14h-17h couture, mardi 18h-20h tricot, jeudi 10h-12h crochet. Tarif 12,00 la séance.\n"
        "Apporter tissu, fil et ciseaux.",
        "Facture 118\nTissu lin 2,50 m 37,50\nFil 3,20\nFermeture 20 cm 2,80\nTotal TTC 43,50 EUR, TVA 20 %",
    ),
    "nl": (
        "Van de penningmeester\nHet recht op inzage van de boeken geldt op elke vergadering. Er is stof gekocht, 14 m, en garen.\n"
        "De contributie blijft 20 euro.",
        "Hoofdstuk twee\nZe had de naad al drie keer losgehaald. 'Maat veertig', zei de kleermaker, 'en geen naadtoeslag.'\n"
        "Op tafel lag de schaar.",
        "Rooster\nMaandag 19.30 naaien, dinsdag 10.00 breien, vrijdag 14.00 haken. Kosten 95 euro voor zes lessen.",
    ),
    "es": (
        "Capítulo dos\nMi tía cosía de noche. Decía que la tela se corta mejor sin prisa. Tenía dos agujas, una madeja azul y\n"
        "la paciencia del mundo.",
        "Lista de precios\nLino, 140 cm, 12,90 €\nHilo 2,10 €\nCremallera 20 cm 3,40 €\nPatrón falda, tallas 36-44, 9,00 €",
        "Aviso a los socios\nEl taller de costura será el lunes de 18.00 a 20.00 y el de punto el jueves de 10.00 a 12.00.",
    ),
    "it": (
        "Capitolo secondo\nLa nonna cuciva in silenzio. Diceva che la stoffa si taglia meglio senza fretta. Aveva due ferri, un\n"
        "gomitolo e tutta la sera davanti.",
        "Preventivo\nOrlo pantaloni 12,00 €\nFodera giacca 45,00 €\nCerniera 18,00 €\nTotale 75,00 € IVA inclusa",
        "Orario dei corsi\nLunedì 18-20 cucito, martedì 10-12 maglia, venerdì 15-17 uncinetto. Iscrizioni in segreteria.",
    ),
    "sv": (
        "Kapitel två\nHon hade sytt hela natten. ”Storlek trettioåtta”, sade skräddaren, ”och ingen sömsmån.” På bordet låg\n"
        "saxen och tre nystan blått garn.",
        "Prislista\nLinne, 150 cm, 189 kr\nDragkedja 20 cm 35 kr\nSytråd 29 kr\nMönster kjol 95 kr",
        "Kallelse\nStickcafé tisdag 18.00, sykurs onsdag 19.00, årsmöte torsdag 18.30. Ta med garn och stickor.",
    ),
    "da": (
        "Kapitel to\nHun havde syet hele natten. »Størrelse 40,« sagde skrædderen, »og intet sømrum.« På bordet lå saksen og\n"
        "tre nøgler blåt garn.",
        "Faktura 31\nHør 2 m 258,00\nLynlås 20 cm 25,00\nSytråd 19,00\nI alt 302,00 kr. inkl. moms",
        "Vedtægter for Strikkeklubben Masken\n§ 1 Formålet er at fremme strik, syning og broderi.\n§ 2 Kontingentet er 150 kr.",
    ),
    "nb": (
        "Kapittel to\nHun hadde sydd hele natten. «Størrelse 40,» sa skredderen, «og ingen sømmonn.» På bordet lå saksa og tre\n"
        "nøster blått garn.",
        "Prisliste\nLin 150 cm 229 kr\nGlidelås 20 cm 35 kr\nSytråd 25 kr\nOppskrift genser 60 kr",
        "Innkalling\nStrikkekafé tirsdag 18.00, sykurs onsdag 19.00, årsmøte torsdag 18.30. Ta med garn og pinner.",
    ),
    "pl": (
        "Rozdział drugi\nNie ma już krawca z tej ulicy. „Rozmiar czterdzieści – mówił – i żadnych zapasów na szwy”. Na stole\n"
        "leżały nożyce, kreda i motek niebieskiej włóczki.",
        "Cennik\nLen 140 cm 59,00 zł\nZamek 20 cm 4,50 zł\nNici 6,00 zł\nWykrój spódnicy 35,00 zł",
        "Plan zajęć\nPoniedziałek 17:30 szycie, wtorek 18:00 druty, piątek 10:00 szydełko. Zapisy w sekretariacie.",
    ),
    "fi": (
        "Toinen luku\nHän oli ommellut koko yön. ”Koko neljäkymmentä”, sanoi räätäli, ”eikä lainkaan saumanvaroja.” Pöydällä\n"
        "olivat sakset ja kolme kerää sinistä lankaa.",
        "Hinnasto\nPellava 150 cm 24,90 €\nVetoketju 20 cm 3,50 €\nOmpelulanka 2,90 €\nHameen kaava 12,00 €",
        "Kutsu\nNeulekahvila tiistaina klo 18.00, ompelukurssi keskiviikkona 19.00, vuosikokous torstaina 18.30.",
    ),
    "ja": (
        "第二章\n祖母は夜ごとに縫い物をしていた。「サイズは十一号」と仕立屋は言った。机の上には鋏と青い毛糸があった。",
        "手芸教室のご案内\n洋裁 8回 20000円\n編み物 6回 12000円\n刺しゅう 4回 8000円\nお申し込みは受付まで。",
        "領収書\n布 2m 3000円\n糸 400円\nファスナー 500円\n合計 3900円（税込）",
    ),
}
CASES = [(language, number) for language, papers in PAPERS.items() for number in range(len(papers))]
# Single everyday words of one language that are shorthand of stitches or names of parts in another.
EVERYDAY = (
    "am",
    "op",
    "recht",
    "van",
    "dos",
    "P",
    "Ms",
    "tour",
    "ma",
    "Dim",
    "DST",
    "block",
    "thread",
    "facing",
    "sale",
)


@pytest.mark.parametrize(("language", "craft"), ALL)
def test_a_booklet_is_a_pattern_of_its_craft(language: str, craft: str) -> None:
    facts = facts_from_text(BOOKLETS[language][craft], name="download.txt")
    assert facts.is_pattern is True
    accepted = {"other", "sewing"} if craft == "other" else {craft}  # knots are named by few words
    assert facts.craft in accepted
    assert facts.language == language


def test_there_is_a_booklet_of_every_craft_in_every_language() -> None:
    assert set(BOOKLETS) == set(LANGUAGES) == set(PAPERS)
    assert {len(crafts) for crafts in BOOKLETS.values()} == {6}


@pytest.mark.parametrize(("language", "number"), CASES)
def test_a_paper_that_names_things_of_the_trade_is_no_pattern(language: str, number: int) -> None:
    facts = facts_from_text(PAPERS[language][number], name="document.pdf")
    assert facts.is_pattern is not True
    assert facts.craft is None


def test_hardly_any_of_these_papers_is_kept_as_unsure() -> None:
    unsure = [case for case in CASES if facts_from_text(PAPERS[case[0]][case[1]], name="a.pdf").is_pattern is None]
    assert len(unsure) * 10 <= len(CASES), unsure


@pytest.mark.parametrize("word", EVERYDAY)
def test_a_word_alone_says_nothing(word: str) -> None:
    text = f"The committee met on Monday and spoke of {word} for an hour, then of the roof and of the heating bill."
    facts = facts_from_text(text, name="document.pdf")
    assert facts.is_pattern is False
    assert facts_from_text(word, name="document.pdf").is_pattern is None


@pytest.mark.parametrize("language", LANGUAGES)
def test_terms_of_use_in_a_file_of_their_own_are_told(language: str) -> None:
    facts = facts_from_text(TERMS[language], name="terms.txt")
    assert facts.is_pattern is None
    assert facts.licence is not None
    assert facts.why[0].startswith("a licence sheet")


TERMS = {
    "en": "Terms of use\nFor personal use only. Items made from this pattern may not be sold.",
    "de": "Nutzungsbedingungen\nNur für den privaten Gebrauch. Der Verkauf fertiger Stücke ist nicht gestattet.",
    "fr": "Conditions d'utilisation\nUsage privé uniquement. La vente des pièces cousues est interdite.",
    "nl": "Gebruiksvoorwaarden\nAlleen voor eigen gebruik. Verkoop van gemaakte stukken is niet toegestaan.",
    "es": "Condiciones de uso\nSolo para uso personal. Prohibida la venta de las prendas.",
    "it": "Condizioni d'uso\nSolo per uso personale. È vietata la vendita dei capi realizzati.",
    "sv": "Villkor\nEndast för privat bruk. Färdiga plagg får inte säljas.",
    "da": "Vilkår\nKun til privat brug. Færdige varer må ikke sælges.",
    "nb": "Vilkår\nKun til privat bruk. Ferdige plagg kan ikke selges.",
    "pl": "Warunki\nTylko do użytku własnego. Sprzedaż gotowych wyrobów jest zabroniona.",
    "fi": "Käyttöehdot\nVain yksityiseen käyttöön. Valmiiden tuotteiden myynti on kielletty.",
    "ja": "利用規約\n個人使用のみ。作品の販売は禁止します。",
}


def test_the_licence_of_a_program_is_no_licence_sheet() -> None:
    text = (
        "Permission is granted to use this software for personal use. Copies may be sold.\n"
        "The software is provided without warranty of any kind."
    )
    assert facts_from_text(text, name="LICENSE.txt").is_pattern is False


def test_what_might_be_a_pattern_is_not_thrown_away() -> None:
    leather = (
        "Card wallet in leather\nPrint the template at 100 %.\nYou need 1.2 mm leather A4, waxed thread, 2 needles\n"
        "Trace the pieces and cut them out. Mark the stitching holes with a 4 mm pricking iron. Glue the pocket to the\n"
        "back, punch the holes and saddle stitch. Burnish the edges."
    )
    czech = (
        "Sukně Pomněnka\nVelikosti 36-44\nMateriál: 1,5 m plátna, šíře 150 cm\nSešijte boční švy lícem k sobě, rozžehlete.\n"
        "Všijte zip. Začistěte dolní kraj. Přídavky na švy 1 cm jsou zahrnuty."
    )
    greek = "Φούστα Ανεμώνα\nΜεγέθη 36-44\nΎφασμα 1,5 m λινό. Κόψτε δύο κομμάτια και ράψτε τις πλαϊνές ραφές."
    for text in (leather, czech, greek):
        assert facts_from_text(text, name="download.pdf").is_pattern is None


def test_what_else_a_maker_says_does_not_hide_her_instructions() -> None:
    talk = (
        "Hello, I am Petra and I have sewn since I was six. My grandmother said that I would never finish a thing!\n"
        "Newsletter: subscribe on the blog and leave a comment. FAQ and refund policy on our page. Add to cart: new arrivals.\n"
        "More patterns\nJacket 12.00 EUR\nSkirt 9.00 EUR\nHat 4.00 EUR\nBag 6.00 EUR\nWhat will you sew next? Which colour?\n"
    )
    steps = (
        "Marram Skirt\nSizes 8 to 20\nYou need 1.6 m linen, 140 cm wide, and 1 m elastic\nSeam allowance 1 cm is included.\n"
        "Cut 1 front on fold. Cut 2 backs. Cut 2 pockets. Sew the centre back seam, right sides together. Press open.\n"
        "Attach the pockets to the front. Sew the side seams. Fold the waist edge and stitch a casing. Insert the elastic. Hem.\n"
    )
    for text in (talk + steps, steps + talk):
        facts = facts_from_text(text, name="download.pdf")
        assert (facts.is_pattern, facts.craft) == (True, "sewing")


def test_a_preview_of_a_pattern_is_one() -> None:
    text = "Marram Skirt\nPREVIEW - sample pages. The full pattern has 24 pages.\nSizes 8-20. Seam allowance 1 cm included."
    facts = facts_from_text(text, name="sample.pdf")
    assert (facts.is_pattern, facts.craft) == (True, "sewing")


def test_the_labels_of_tiles_are_no_rows_of_knitting() -> None:
    tiles = "\f".join(f"Row {row} Col {col}" for row in (1, 2, 3) for col in (1, 2))
    text = "Marlpit Dungarees\nSizes 2T to 8\n1/2 inch seam allowance included\f" + tiles
    facts = facts_from_text(text, name="download.txt")
    assert (facts.is_pattern, facts.craft) == (True, "sewing")


def test_a_word_of_katakana_is_not_found_within_a_longer_one() -> None:
    japanese = lexicon(frozenset(["ja"]))
    assert not any(found.word == "ピース" for found in japanese.find(split_words("ワンピースの型紙")))
    assert any(found.word == "ピース" for found in japanese.find(split_words("ピースを縫い合わせます")))


def test_words_of_another_language_are_not_seen() -> None:
    english, german = (lexicon(frozenset([language])) for language in ("en", "de"))
    words = split_words("Saum am Mantel")
    assert not english.find(words)
    assert any(found.word == "saum" for found in german.find(words))


def test_every_language_has_the_same_tables_of_making() -> None:
    assert set(making_words()) == set(LANGUAGES)
    assert {frozenset(table) for table in making_words().values()} == {frozenset(making_words()["en"])}


@settings(deadline=None, max_examples=30)
@given(st.text(max_size=300), st.sampled_from(LANGUAGES))
def test_any_text_is_read_and_told_the_same_when_said_twice(text: str, language: str) -> None:
    once = making_of(text, frozenset([language]))
    twice = making_of(f"{text}\n\n{text}", frozenset([language]))
    assert once.body >= 0
    assert twice.body <= 2 * once.body + 2  # what is said again proves nothing; where the copies meet a line may differ


@settings(deadline=None, max_examples=30)
@given(st.lists(st.text(st.characters(categories=("Ll", "Lu", "Nd", "Po")), max_size=60), max_size=20))
def test_sentences_lose_no_letter(lines: list[str]) -> None:
    text = "\n".join(lines)
    kept = "".join("".join(sentence.split()) for sentence in sentences(text) if sentence)
    assert kept == "".join(text.split())
