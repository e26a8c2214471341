"""What shops say about themselves, in twelve languages: closing, closed, renamed, sold, moved; and what is none of these.

The texts are invented in the manner of such mails (common practice, no published source).
"""

from __future__ import annotations

import time
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.receipts.mail_words import all_words
from vault.receipts.notices import read_notices

DATED = date(2025, 3, 3)
NAME, DOMAIN = "Larch & Loom", "larchloom.example"
END = date(2025, 3, 31)


def read(language: str | None, subject: str, text: str, dated: date = DATED) -> tuple[object, ...] | None:
    notices = read_notices(subject, text.split("\n"), language, NAME, DOMAIN, dated)
    if not notices:
        return None
    (notice,) = notices
    assert notice.words
    assert notice.domain == DOMAIN
    return notice.status, notice.on, notice.succeeded_by, notice.successor_domain


CLOSING = [
    ("en", "Goodbye from Larch & Loom", "Dear all,\nafter eleven years we have decided to close our shop. Our last day is 31 March 2025.\nPlease download your patterns before then."),
    ("en", "Important: please save your files", "We're closing our doors for good on March 31, 2025. Download links will stop working after that."),
    ("en", "Closing down sale", "Everything must go! Larch & Loom is closing down on 31 March 2025, and until then all patterns are 50% off."),
    ("en", "News about the shop", "I am retiring, and the website will be taken offline on 31 March. Make sure you download everything you bought."),
    ("de", "Larch & Loom schließt", "Liebe alle,\nschweren Herzens schließen wir unseren Shop am 31. März 2025. Bitte ladet eure Schnittmuster vorher herunter."),
    ("de", "Abschied", "Nach zwölf Jahren mache ich den Shop zu: Am 31.03.2025 wird die Seite abgeschaltet. Bis dahin könnt ihr eure Downloads noch sichern."),
    ("de", "Wichtige Information", "Wir stellen den Betrieb ein. Der Online-Shop ist noch bis zum 31.3.2025 erreichbar, danach sind keine Downloads mehr möglich."),
    ("fr", "Fermeture de la boutique", "Bonjour,\naprès dix ans, je ferme la boutique le 31 mars 2025. Pensez à télécharger vos patrons avant cette date."),
    ("fr", "Au revoir", "Larch & Loom cesse son activité le 31/03/2025. Vos fichiers ne seront plus accessibles ensuite."),
    ("nl", "We stoppen ermee", "Lieve allemaal,\nna tien jaar sluiten we de deuren van Larch & Loom. De webshop gaat op 31 maart 2025 definitief dicht. Download je patronen op tijd."),
    ("es", "Nos despedimos", "Después de nueve años hemos decidido cerrar la tienda el 31 de marzo de 2025. Descarga tus patrones antes de esa fecha."),
    ("it", "Larch & Loom chiude", "Dopo otto anni chiudiamo il negozio: il 31 marzo 2025 il sito verrà spento. Scaricate i vostri cartamodelli entro quella data."),
    ("sv", "Larch & Loom stänger", "Efter sju år stänger vi butiken för gott den 31 mars 2025. Ladda ner dina mönster innan dess."),
    ("da", "Vi lukker", "Efter otte år har vi besluttet at lukke butikken den 31. marts 2025. Husk at downloade dine opskrifter inden da."),
    ("nb", "Vi legger ned", "Etter åtte år stenger vi nettbutikken for godt 31. mars 2025. Last ned oppskriftene dine før den tid."),
    ("pl", "Zamykamy sklep", "Kochani,\npo ośmiu latach zamykamy sklep. Strona będzie działać do 31 marca 2025, pobierzcie swoje pliki do tego dnia."),
    ("fi", "Larch & Loom lopettaa", "Kahdeksan vuoden jälkeen suljemme verkkokauppamme lopullisesti 31.3.2025. Lataathan ostamasi ohjeet sitä ennen."),
    ("ja", "閉店のお知らせ", "長年のご愛顧、誠にありがとうございました。\n当店は2025年3月31日をもちまして閉店いたします。ご購入された型紙データは、それまでにダウンロードしてください。"),
]  # fmt: skip


@pytest.mark.parametrize(("language", "subject", "text"), CLOSING)
def test_closing_on_a_day(language: str, subject: str, text: str) -> None:
    assert read(language, subject, text) == ("closing", END, None, None)


PAST = date(2025, 1, 31)
CLOSED = [
    ("en", "Larch & Loom has closed", "Our shop closed for good on 31 January 2025. Downloads are no longer available."),
    ("de", "Larch & Loom gibt es nicht mehr", "Der Shop wurde am 31. Januar 2025 endgültig geschlossen. Downloads sind nicht mehr möglich."),
    ("fr", "Larch & Loom a fermé", "La boutique a définitivement fermé le 31 janvier 2025."),
    ("nl", "Larch & Loom is gestopt", "Onze webshop is op 31 januari 2025 voorgoed gesloten. Downloads zijn niet meer beschikbaar."),
    ("es", "Larch & Loom ha cerrado", "La tienda cerró definitivamente el 31 de enero de 2025."),
    ("it", "Larch & Loom ha chiuso", "Il negozio ha chiuso definitivamente il 31 gennaio 2025."),
    ("sv", "Larch & Loom har stängt", "Butiken stängde för gott den 31 januari 2025."),
    ("da", "Larch & Loom er lukket", "Butikken lukkede for altid den 31. januar 2025."),
    ("nb", "Larch & Loom har stengt", "Nettbutikken ble stengt for godt 31. januar 2025."),
    ("pl", "Sklep został zamknięty", "Sklep Larch & Loom został na stałe zamknięty 31 stycznia 2025."),
    ("fi", "Larch & Loom on lopettanut", "Verkkokauppa suljettiin pysyvästi 31.1.2025."),
    ("ja", "閉店いたしました", "当店は2025年1月31日をもって閉店いたしました。"),
]  # fmt: skip


@pytest.mark.parametrize(("language", "subject", "text"), CLOSED)
def test_closed_already(language: str, subject: str, text: str) -> None:
    assert read(language, subject, text) == ("closed", PAST, None, None)


RENAMED = [
    ("en", "We have a new name", "Larch & Loom is now called Gum & Gable. Find us at https://gumgable.example/"),
    ("en", "Larch & Loom becomes Gum & Gable", "Same patterns, same people. https://www.gumgable.example"),
    ("en", "News", "Good news: we have changed our name to Gum & Gable. Visit gumgable.example."),
    ("de", "Neuer Name", "Aus Larch & Loom wird Gum & Gable. Ihr findet uns ab sofort unter https://gumgable.example"),
    ("de", "Wir heißen jetzt Gum & Gable", "Alles bleibt, nur der Name ist neu: Larch & Loom heißt jetzt Gum & Gable. www.gumgable.example"),
    ("fr", "Nouveau nom", "Larch & Loom s'appelle désormais Gum & Gable. Retrouvez-nous sur https://gumgable.example/"),
    ("nl", "Nieuwe naam", "Larch & Loom heet voortaan Gum & Gable. Je vindt ons op https://gumgable.example/"),
    ("es", "Cambiamos de nombre", "Larch & Loom pasa a llamarse Gum & Gable. Nos encontrarás en https://gumgable.example/"),
    ("it", "Nuovo nome", "Larch & Loom ora si chiama Gum & Gable. Ci trovi su https://gumgable.example/"),
    ("sv", "Nytt namn", "Larch & Loom heter nu Gum & Gable. Du hittar oss på https://gumgable.example/"),
    ("da", "Nyt navn", "Larch & Loom hedder nu Gum & Gable. Find os på https://gumgable.example/"),
    ("nb", "Nytt navn", "Larch & Loom heter nå Gum & Gable. Du finner oss på https://gumgable.example/"),
    ("pl", "Nowa nazwa", "Larch & Loom nazywa się teraz Gum & Gable. Znajdziesz nas na https://gumgable.example/"),
    ("fi", "Uusi nimi", "Larch & Loom on nyt Gum & Gable. Löydät meidät osoitteesta https://gumgable.example/"),
    ("ja", "店名変更のお知らせ", "Larch & LoomはGum & Gableに店名を変更いたします。https://gumgable.example/"),
]  # fmt: skip


@pytest.mark.parametrize(("language", "subject", "text"), RENAMED)
def test_renamed(language: str, subject: str, text: str) -> None:
    assert read(language, subject, text) == (None, None, "Gum & Gable", "gumgable.example")


SOLD = [
    ("en", "A new home for our patterns", "Larch & Loom has been sold to Otter Yarns. Your account moves to https://otteryarns.example/"),
    ("de", "Neue Inhaberin", "Larch & Loom wurde von Otter Yarns übernommen. Eure Konten findet ihr auf https://otteryarns.example/"),
    ("fr", "Du nouveau", "Larch & Loom a été reprise par Otter Yarns. https://otteryarns.example/"),
    ("nl", "Nieuws", "Larch & Loom is overgenomen door Otter Yarns. Je account staat op https://otteryarns.example/"),
    ("sv", "Nyheter", "Otter Yarns tar över Larch & Loom. https://otteryarns.example/"),
    ("pl", "Wiadomości", "Larch & Loom został przejęty przez Otter Yarns. https://otteryarns.example/"),
]  # fmt: skip


@pytest.mark.parametrize(("language", "subject", "text"), SOLD)
def test_sold(language: str, subject: str, text: str) -> None:
    assert read(language, subject, text) == (None, None, "Otter Yarns", "otteryarns.example")


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "We have moved to a new website: https://larch-loom-patterns.example/ . Your old account works there."),
        ("de", "Wir sind umgezogen! Unser neuer Shop: https://larch-loom-patterns.example"),
        ("fr", "Nous avons déménagé : https://larch-loom-patterns.example/"),
        ("nl", "We zijn verhuisd naar https://larch-loom-patterns.example/"),
        ("es", "Nos hemos mudado a https://larch-loom-patterns.example/"),
        ("ja", "サイトを移転しました。新しいアドレスは https://larch-loom-patterns.example/ です。"),
    ],
)
def test_moved_to_another_address(language: str, text: str) -> None:
    assert read(language, "News", text) == (None, None, None, "larch-loom-patterns.example")


NOTHING = [
    ("en", "Last chance: sale closes on 5 May", "The spring sale at Larch & Loom closes on 5 May 2025. Download your favourites now."),
    ("en", "Summer break", "Our shop is closed from 1 to 14 August 2025. Downloads work as always. We're back on 15 August."),
    ("en", "Closed for the holidays", "Larch & Loom will be closed from 24 December to 2 January."),
    ("en", "Pattern testers wanted", "Registration closes on 31 March 2025. Sign up in our shop."),
    ("en", "New pattern", "The Boxy Tee is now Relaxed Tee. It closes with three buttons."),
    ("en", "Opening hours", "The shop closes at 6 pm on Saturdays."),
    ("en", "Your account", "Your account will be closed if you do not log in before 31 March 2025."),
    ("en", "New in the shop", "The zip closes at the back. Our favourite shop for zips is now Otter Notions."),
    ("en", "Larch & Loom is now open for wholesale", "Write to us."),
    ("en", "Maintenance", "The website will be taken offline on 31 March 2025 for maintenance and reopens on 1 April."),
    ("en", "Fair", "Our stall closes at noon on the last day. Thank you for everything, it was a wonderful weekend!"),
    ("en", "Shop in the High Street", "We are closing our shop in the High Street. The online shop stays open."),
    ("de", "Frühlingsaktion endet", "Unsere Frühlingsaktion endet am 31. März 2025. Im Shop gibt es noch bis dahin 20 %."),
    ("de", "Betriebsferien", "Wir machen Urlaub: Der Shop ist vom 1. bis 14. August 2025 geschlossen. Downloads gehen wie immer."),
    ("de", "Sommerpause", "Liebe alle, wir schließen unseren Shop für zwei Wochen und sind ab 15. August wieder für euch da."),
    ("de", "Probenäherinnen gesucht", "Die Anmeldung schließt am 31. März 2025."),
    ("fr", "Soldes", "Les soldes prennent fin le 31 mars 2025 dans la boutique."),
    ("fr", "Vacances", "La boutique ferme pour les vacances du 1er au 14 août 2025."),
    ("nl", "Laatste kans", "De lenteactie bij Larch & Loom sluit op 31 maart 2025."),
    ("nl", "Zomervakantie", "Onze webshop is gesloten van 1 t/m 14 augustus 2025 wegens vakantie."),
    ("es", "Últimos días", "Las rebajas terminan el 31 de marzo de 2025 en nuestra tienda."),
    ("es", "Vacaciones", "La tienda cierra por vacaciones del 1 al 14 de agosto de 2025."),
    ("it", "Saldi", "I saldi finiscono il 31 marzo 2025 nel nostro negozio."),
    ("it", "Ferie", "Il negozio chiude per ferie dal 1 al 14 agosto 2025."),
    ("sv", "Sista chansen", "Vårrean hos Larch & Loom slutar den 31 mars 2025."),
    ("sv", "Semesterstängt", "Butiken stänger för semester 1-14 augusti 2025 och öppnar igen den 15."),
    ("da", "Sommerferie", "Butikken lukker for sommerferie fra 1. til 14. august 2025."),
    ("nb", "Sommerferie", "Nettbutikken stenger for ferie fra 1. til 14. august 2025."),
    ("pl", "Wyprzedaż", "Wyprzedaż w sklepie kończy się 31 marca 2025."),
    ("pl", "Urlop", "Sklep będzie nieczynny od 1 do 14 sierpnia 2025 z powodu urlopu."),
    ("fi", "Ale päättyy", "Kevätale päättyy 31.3.2025 verkkokaupassamme."),
    ("fi", "Kesäloma", "Kauppa on suljettu kesäloman ajan 1.-14.8.2025."),
    ("ja", "セール終了のお知らせ", "春のセールは2025年3月31日で終了いたします。"),
    ("ja", "夏季休業のお知らせ", "8月10日から8月15日までお休みをいただきます。"),
    ("ja", "販売終了のお知らせ", "次の商品は3月31日で販売終了となります。ダウンロード購入はお早めに。"),
    ("en", "Your order 12", "Thank you for your order! Linnet Hat 7.00. The download link expires on 31 March 2025."),
    ("en", "Your files", "Your files are available until 31 March 2025 on our website. Download them from your account."),
    ("en", "Order 12 complete", "Larch & Loom: your download links stop working on 31 March 2025."),
    ("en", "Your order", "Downloads are available for 30 days. The link to the shop: larchloom.example. Thank you for everything!"),
    ("de", "Deine Bestellung", "Der Download ist noch bis 31.03.2025 in unserem Shop verfügbar. Danke!"),
    ("de", "Dein Download", "Larch & Loom: Deine Links sind nur noch bis zum 31. März 2025 gültig."),
    ("fr", "Votre commande", "Vos fichiers sont disponibles jusqu'au 31 mars 2025 sur notre site."),
    ("nl", "Je bestelling", "Je bestanden staan nog tot 31 maart 2025 in onze webshop."),
    ("fi", "Tilauksesi", "Tiedostosi ovat ladattavissa 31.3.2025 asti verkkokaupassamme."),
    ("en", "Last day for free shipping", "Last day! Free shipping in our shop ends on 31 March 2025."),
    ("en", "Your account", "Your account at Larch & Loom has been closed."),
    ("en", "Pre-orders", "Pre-orders at Larch & Loom close on 31 March 2025."),
    (None, "", ""),
]  # fmt: skip


@pytest.mark.parametrize(("language", "subject", "text"), NOTHING)
def test_what_is_no_notice(language: str | None, subject: str, text: str) -> None:
    assert read(language, subject, text) is None


# The same told in other words, as many shops would.
OTHERWISE = [
    ('en','A hard email to write','Hello lovely makers, this is a hard email to write. On June 30th, 2025 Larch & Loom will shut its doors after 14 years.','closing 2025-06-30'),
    ('en','Changes',"We're winding things down at Larch & Loom. You have until 1 May 2025 to grab your files from your account.",'closing 2025-05-01'),
    ('en','The end','Larch & Loom is no more. The shop shut up shop on 28 February 2025.','closed 2025-02-28'),
    ('en','Last orders','Last orders 12 May 2025. After that the shop disappears and downloads stop working.','closing 2025-05-12'),
    ('en','The shop has closed','Larch & Loom closed its doors at the end of last year. Files can no longer be downloaded.','closed'),
    ('en','A new chapter','From today Larch & Loom trades as Nettle Works.','-> Nettle Works'),
    ('en','Nettle Works is the new Larch & Loom','Hello! Same patterns. You will find everything at https://nettleworks.example','-> Nettle Works'),
    ('en','We are merging','Larch & Loom and Nettle Works are merging. From 1 June you will find all patterns at nettleworks.example.','-> Nettle Works'),
    ('en','New domain','Our domain is changing: from now on the shop lives at https://larch-and-loom.example','at larch-and-loom.example'),
    ('en','Bye','This is the last newsletter. The website goes dark on 31 March 2025, so please download everything you own before that date.','closing 2025-03-31'),
    ('en','Important notice about your purchases','Larch & Loom ceases trading on 31st March 2025.','closing 2025-03-31'),
    ('de','Schluss','Zum Jahresende ist Schluss: Larch & Loom macht zum 31.12.2025 dicht. Bitte ladet eure Dateien herunter.','closing 2025-12-31'),
    ('de','Tschüss','Wir sagen Tschüss: Den Shop gibt es nur noch bis zum 30. April 2025.','closing 2025-04-30'),
    ('de','Neuer Name','Larch & Loom firmiert künftig unter dem Namen Nettle Works.','-> Nettle Works'),
    ('de','Geschäftsaufgabe','Aus gesundheitlichen Gründen gebe ich Larch & Loom zum 30.04.2025 auf.','closing 2025-04-30'),
    ('de','Insolvenz','Larch & Loom hat Insolvenz angemeldet und wurde am 28.02.2025 geschlossen.','closed 2025-02-28'),
    ('fr','La fin',"C'est la fin d'une belle aventure : Larch & Loom s'arrête le 31 mars 2025. Téléchargez vos patrons.",'closing 2025-03-31'),
    ('fr','Rideau','Larch & Loom baisse le rideau le 31 mars 2025.','closing 2025-03-31'),
    ('fr',"C'est fini",'Larch & Loom, c’est fini : la boutique est définitivement fermée depuis le 28 février 2025.','closed 2025-02-28'),
    ('fr','Changement','Larch & Loom change de nom : appelez-nous désormais Nettle Works !','-> Nettle Works'),
    ('nl','Stoppen','Larch & Loom houdt er per 1 mei 2025 mee op.','closing 2025-05-01'),
    ('nl','Het doek valt','Het doek valt voor Larch & Loom: op 30 april 2025 gaat de webshop dicht.','closing 2025-04-30'),
    ('es','Cierre','Larch & Loom echa el cierre el 31 de marzo de 2025. Descarga tus patrones.','closing 2025-03-31'),
    ('es','Adiós','Bajamos la persiana: la web dejará de funcionar el 31 de marzo de 2025.','closing 2025-03-31'),
    ('it','Chiusura','Larch & Loom abbassa la saracinesca il 31 marzo 2025. Scaricate i vostri file.','closing 2025-03-31'),
    ('it','Fine',"L'avventura di Larch & Loom finisce qui: il sito resterà online fino al 31 marzo 2025.",'closing 2025-03-31'),
    ('sv','Slutet','Larch & Loom slår igen portarna den 31 mars 2025.','closing 2025-03-31'),
    ('sv','Tack och hej','Webbutiken läggs ner den 31 mars 2025, så ladda ner det du har köpt.','closing 2025-03-31'),
    ('da','Slut','Larch & Loom lukker og slukker den 31. marts 2025.','closing 2025-03-31'),
    ('da','Farvel','Webshoppen bliver lukket ned 31. marts 2025. Hent dine filer inden.','closing 2025-03-31'),
    ('nb','Takk for oss','Larch & Loom takker for seg. Nettbutikken stenges 31. mars 2025.','closing 2025-03-31'),
    ('pl','Koniec','Larch & Loom kończy działalność 31 marca 2025. Pobierzcie pliki.','closing 2025-03-31'),
    ('pl','Pożegnanie','Żegnamy się z Wami. Sklep przestanie działać 31 marca 2025.','closing 2025-03-31'),
    ('pl','Zmiana','Od dziś działamy jako Nettle Works: https://nettleworks.example','-> Nettle Works'),
    ('fi','Loppu','Larch & Loom sulkee ovensa 31.3.2025.','closing 2025-03-31'),
    ('fi','Uutinen','Larch & Loom lopettaa verkkokaupan 31.3.2025. Lataa tiedostosi.','closing 2025-03-31'),
    ('ja','お知らせ','Larch & Loomは2025年3月31日をもってサービスを終了いたします。','closing 2025-03-31'),
    ('ja','店名変更','このたび店名を「Nettle Works」に変更いたしました。','-> Nettle Works'),
    ('en','Spring','Spring is here and so is our sale: doors close on 31 March at midnight!','none'),
    ('en','Course','The doors to our sewing course close on 31 March 2025. Join now.','none'),
    ('en','Retiring patterns','We are retiring the Boxy Tee on 31 March 2025. Buy it in our shop while you can.','none'),
    ('en','Restock','The kit shop closes on Friday while we pack. It will open again on Monday.','none'),
    ('de','Letzte Chance','Der Vorverkauf schließt am 31. März 2025 im Shop.','none'),
    ('de','Abverkauf','Wir nehmen das Schnittmuster Svea zum 31.03.2025 aus dem Shop.','none'),
    ('fr','Dernière chance','La vente privée ferme le 31 mars 2025 sur notre boutique.','none'),
    ('nl','Laatste kans','De voorinschrijving sluit op 31 maart 2025 in onze webshop.','none'),
    ('ja','配信終了','この型紙の販売は3月31日で終了します。','none'),
]  # fmt: skip


@pytest.mark.parametrize(("language", "subject", "text", "meant"), OTHERWISE)
def test_told_otherwise(language: str, subject: str, text: str, meant: str) -> None:
    told = read(language, subject, text)
    if told is None:
        assert meant == "none"
        return
    status, on, new, domain = told
    if meant.startswith("-> "):
        assert new == meant[3:] or domain == "nettleworks.example"
    elif meant.startswith("at "):
        assert domain == meant[3:]
    else:
        assert " ".join(str(v) for v in (status, on) if v) == meant


def test_a_mail_from_under_the_new_name() -> None:
    (notice,) = read_notices(
        "New name", ["Larch & Loom is now called Gum & Gable."], "en", "Gum & Gable", "gumgable.example", DATED
    )
    assert (notice.seller, notice.succeeded_by) == ("Larch & Loom", "Gum & Gable")


def test_closing_after_all_not() -> None:
    assert read("en", "We stay!", "Good news: we have decided not to close our shop after all.") == (
        "open",
        None,
        None,
        None,
    )


def test_wrapped_lines_are_one_sentence() -> None:
    text = "After many years I have come to a decision that was not easy, and so I am\nclosing the shop for good on the\n31st of March 2025."
    assert read("en", "A decision", text) == ("closing", END, None, None)


def test_the_day_of_the_sale_is_not_the_day_of_the_end() -> None:
    text = "The farewell sale starts on 10 March 2025.\nLarch & Loom closes for good on 31 March 2025."
    assert read("en", "Farewell", text) == ("closing", END, None, None)


def test_a_day_without_a_year_is_the_next_one() -> None:
    assert read("de", "Wir schließen", "Wir schließen unseren Shop für immer am 15. Januar.", date(2025, 11, 3)) == (
        "closing", date(2026, 1, 15), None, None,
    )  # fmt: skip


def test_every_language_has_all_lists() -> None:
    tables = all_words()
    english = set(tables["en"]["notice"]) - {"stop"}
    assert sorted(tables) == ["da", "de", "en", "es", "fi", "fr", "it", "ja", "nb", "nl", "pl", "sv"]
    for code, table in tables.items():
        assert english <= set(table["notice"]), code
        assert set(tables["en"]["columns"]) <= set(table["columns"]), code
        assert set(tables["en"]["forward"]) <= set(table["forward"]), code


@pytest.mark.parametrize(
    "unit",
    ["a", " ", "closing our shop ", "is now ", "Larch ", "31 March 2025 ", "“", "閉店", "https://a.example/ ", "\n"],
)
def test_a_megabyte_of_one_thing(unit: str) -> None:
    text = unit * (1_000_000 // len(unit))
    start = time.process_time()
    for language in ("en", "de", "ja"):
        read_notices(text[:2_000], text.split("\n"), language, NAME, DOMAIN, DATED)
    assert time.process_time() - start < 10


@settings(deadline=None, max_examples=60)
@given(st.text(max_size=300), st.sampled_from(["en", "de", "fi", "ja", None]))
def test_any_text(text: str, language: str | None) -> None:
    read_notices(text[:40], text.split("\n"), language, text[:9], "x.example", DATED)
