"""Notices of shops in words of every kind: tense, word order and synonyms; and what only sounds like one.

The texts of the first list are also put into raw mails, which the cheap look before reading must let pass.  The texts are invented
(common practice, no published source).
"""

from __future__ import annotations

from datetime import date

import pytest

from vault.receipts.likely import may_be_evidence
from vault.receipts.notices import read_notices

NAME, DOMAIN = "Larch & Loom", "larchloom.example"
DATED = date(2025, 3, 3)
NEW = "https://otterworks.example"

# Language, subject, text; what it means: status and day, "> new name" or "@ new domain".
NOTICES = [
    ("en", "The lamps go out", "after nineteen years I am retiring. Larch & Loom will shut for good on 30 June 2025.\nPlease fetch the files of your old orders before that day; afterwards the website is switched off.", "closing 2025-06-30"),
    ("en", "Pulling the plug", "It is with a heavy heart that we are pulling the plug on Larch & Loom on 30 June 2025.", "closing 2025-06-30"),
    ("en", "Last orders", "Larch & Loom will cease trading at the end of June 2025. Please download your purchases.", "closing 2025-06-30"),
    ("en", "Goodbye", "We have taken the difficult decision to close. Our website will be switched off in June 2025, so save your files.", "closing"),
    ("en", "Goodbye", "Our last day of trading was 28 February 2025. Larch & Loom is now permanently closed.", "closed 2025-02-28"),
    ("en", "Larch & Loom has a new home", f"big news: Larch & Loom has been bought by Otter Works. From 1 April 2025 all our patterns will be sold at {NEW} . Your purchases move with us.", "> Otter Works"),
    ("en", "New owner", f"Larch & Loom is under new ownership: Otter Works took over Larch & Loom on 1 March. {NEW}", "> Otter Works"),
    ("en", "We are rebranding", f"From 1 April Larch & Loom will be known as Otter Works. {NEW}", "> Otter Works"),
    ("en", "A new address on the web", f"From 1 April 2025 you will find our shop at {NEW} . The old address larchloom.example will be closed that day.", "@ otterworks.example"),
    ("de", "Larch & Loom sagt Adieu", "zum 28. Februar 2025 haben wir unseren Shop geschlossen. Alte Downloads sind nicht mehr möglich. Danke für zwölf schöne Jahre!", "closed 2025-02-28"),
    ("de", "Schließung unseres Shops", "Nach zwölf Jahren werden wir unseren Shop zum 30. Juni 2025 schließen. Bitte sichert eure Dateien.", "closing 2025-06-30"),
    ("de", "Abschied", "Larch & Loom stellt Ende Juni 2025 den Betrieb ein. Der Shop geht dann vom Netz.", "closing 2025-06-30"),
    ("de", "Ich gehe in Rente", "Zum 30.06.2025 gehe ich in Rente, und der Shop wird abgeschaltet. Ladet bitte eure Schnitte herunter.", "closing 2025-06-30"),
    ("de", "Neue Inhaberin: Otter Works", f"Larch & Loom ist zum 1. März 2025 von Otter Works gekauft worden. {NEW}", "> Otter Works"),
    ("de", "Neuer Name", f"Ab dem 1. April 2025 heißt Larch & Loom Otter Works. {NEW}", "> Otter Works"),
    ("de", "Umzug im Netz", f"Unser Shop hat eine neue Adresse: {NEW} . Die alte Adresse larchloom.example wird am 30. Juni 2025 abgeschaltet.", "@ otterworks.example"),
    ("fr", "Nous déménageons (sur la toile)", f"notre boutique change d'adresse : à partir du 1er avril 2025 vous nous trouverez sur {NEW}/. L'ancienne adresse larchloom.example sera fermée à cette date.", "@ otterworks.example"),
    ("fr", "Dernier chapitre", "Après quinze ans, Larch & Loom mettra la clé sous la porte le 30 juin 2025. Pensez à récupérer vos fichiers.", "closing 2025-06-30"),
    ("fr", "Au revoir", "Le 28 février 2025, nous avons fermé notre boutique. Les téléchargements ne sont plus possibles. Merci pour tout !", "closed 2025-02-28"),
    ("fr", "Retraite", "Je prends ma retraite : le site sera mis hors ligne fin juin 2025. Sauvegardez vos patrons.", "closing 2025-06-30"),
    ("fr", "Nouvelle équipe", f"Larch & Loom a été rachetée par Otter Works. {NEW}", "> Otter Works"),
    ("fr", "Nouveau nom", f"À partir du 1er avril 2025, Larch & Loom devient Otter Works. {NEW}", "> Otter Works"),
    ("nl", "Sluiting van de webshop", "Na twaalf jaar gaan we Larch & Loom op 30 juni 2025 sluiten. Download je patronen voor die tijd.", "closing 2025-06-30"),
    ("nl", "Einde", "Eind juni 2025 trekken we de stekker uit de webshop. Bewaar je bestanden.", "closing 2025-06-30"),
    ("nl", "Gesloten", "Op 28 februari 2025 hebben we onze webshop voorgoed gesloten. Bedankt voor alles.", "closed 2025-02-28"),
    ("nl", "Nieuwe eigenaar", f"Larch & Loom is gekocht door Otter Works. {NEW}", "> Otter Works"),
    ("nl", "Nieuwe naam", f"Vanaf 1 april 2025 heet Larch & Loom Otter Works. {NEW}", "> Otter Works"),
    ("nl", "Verhuizing", f"We verhuizen naar een nieuw webadres: {NEW} . Het oude adres wordt op 30 juni 2025 gesloten.", "@ otterworks.example"),
    ("es", "Hasta siempre", "Tras doce años, Larch & Loom cerrará para siempre el 30 de junio de 2025. Descarga tus archivos.", "closing 2025-06-30"),
    ("es", "Fin", "A finales de junio de 2025 apagaremos la web y dejaremos de vender patrones. Guarda tus archivos.", "closing 2025-06-30"),
    ("es", "Cerrado", "El 28 de febrero de 2025 cerramos nuestra tienda definitivamente. Gracias por todo.", "closed 2025-02-28"),
    ("es", "Novedades", f"Larch & Loom ha sido comprada por Otter Works. {NEW}", "> Otter Works"),
    ("es", "Nuevo nombre", f"Desde el 1 de abril de 2025 Larch & Loom se llamará Otter Works. {NEW}", "> Otter Works"),
    ("es", "Nos mudamos", f"Nuestra tienda cambia de dominio: {NEW} . La antigua dirección se cerrará el 30 de junio de 2025.", "@ otterworks.example"),
    ("it", "Cambiamo nome", f"dal 1° ottobre 2025 Larch & Loom diventa Otter Works. Ci trovate su {NEW} con tutti i vostri ordini.", "> Otter Works"),
    ("it", "Arrivederci", "Dopo dodici anni il 30 giugno 2025 Larch & Loom chiuderà per sempre. Scaricate i vostri file.", "closing 2025-06-30"),
    ("it", "Si spengono le luci", "A fine giugno 2025 spegneremo il sito e andremo in pensione. Salvate i vostri cartamodelli.", "closing 2025-06-30"),
    ("it", "Chiuso", "Il 28 febbraio 2025 abbiamo chiuso il nostro negozio. Grazie di tutto.", "closed 2025-02-28"),
    ("it", "Novità", f"Larch & Loom è stata comprata da Otter Works. {NEW}", "> Otter Works"),
    ("it", "Trasloco", f"Il nostro negozio cambia indirizzo: {NEW} . Il vecchio sito sarà chiuso il 30 giugno 2025.", "@ otterworks.example"),
    ("sv", "Tack för allt", "Efter tolv år kommer vi att stänga Larch & Loom den 30 juni 2025. Ladda ner dina filer innan dess.", "closing 2025-06-30"),
    ("sv", "Slut", "I slutet av juni 2025 släcker vi ner webbutiken för gott. Spara dina filer.", "closing 2025-06-30"),
    ("sv", "Stängt", "Den 28 februari 2025 stängde vi vår butik för alltid. Tack för allt.", "closed 2025-02-28"),
    ("sv", "Ny ägare", f"Larch & Loom har köpts av Otter Works. {NEW}", "> Otter Works"),
    ("sv", "Nytt namn", f"Från och med 1 april 2025 heter Larch & Loom Otter Works. {NEW}", "> Otter Works"),
    ("sv", "Flytt", f"Butiken har fått en ny adress: {NEW} . Den gamla adressen stängs den 30 juni 2025.", "@ otterworks.example"),
    ("da", "Farvel", "Efter tolv år lukker Larch & Loom for altid den 30. juni 2025. Husk at hente dine filer.", "closing 2025-06-30"),
    ("da", "Slut", "Med udgangen af juni 2025 trækker vi stikket på webshoppen. Gem dine filer.", "closing 2025-06-30"),
    ("da", "Lukket", "Den 28. februar 2025 lukkede vi vores butik for altid. Tak for alt.", "closed 2025-02-28"),
    ("da", "Ny ejer", f"Larch & Loom er blevet købt af Otter Works. {NEW}", "> Otter Works"),
    ("da", "Nyt navn", f"Fra 1. april 2025 hedder Larch & Loom Otter Works. {NEW}", "> Otter Works"),
    ("da", "Flytning", f"Vi flytter til en ny adresse: {NEW} . Den gamle adresse lukkes den 30. juni 2025.", "@ otterworks.example"),
    ("nb", "Farvel", "Etter tolv år kommer vi til å stenge Larch & Loom den 30. juni 2025. Last ned filene dine.", "closing 2025-06-30"),
    ("nb", "Slutt", "I slutten av juni 2025 trekker vi ut kontakten på nettbutikken. Lagre filene dine.", "closing 2025-06-30"),
    ("nb", "Stengt", "Den 28. februar 2025 stengte vi butikken for godt. Takk for alt.", "closed 2025-02-28"),
    ("nb", "Ny eier", f"Larch & Loom er kjøpt av Otter Works. {NEW}", "> Otter Works"),
    ("nb", "Nytt navn", f"Fra 1. april 2025 heter Larch & Loom Otter Works. {NEW}", "> Otter Works"),
    ("nb", "Flytting", f"Vi flytter til en ny adresse: {NEW} . Den gamle adressen stenges 30. juni 2025.", "@ otterworks.example"),
    ("pl", "Do widzenia", "Po dwunastu latach 30 czerwca 2025 Larch & Loom zakończy działalność. Pobierzcie swoje pliki.", "closing 2025-06-30"),
    ("pl", "Koniec", "Z końcem czerwca 2025 wyłączamy sklep na zawsze. Zapiszcie pliki.", "closing 2025-06-30"),
    ("pl", "Zamknięte", "28 lutego 2025 zamknęliśmy nasz sklep. Dziękujemy za wszystko.", "closed 2025-02-28"),
    ("pl", "Nowy właściciel", f"Larch & Loom został kupiony przez Otter Works. {NEW}", "> Otter Works"),
    ("pl", "Nowa nazwa", f"Od 1 kwietnia 2025 Larch & Loom będzie nosić nazwę Otter Works. {NEW}", "> Otter Works"),
    ("pl", "Przeprowadzka", f"Nasz sklep ma nowy adres: {NEW} . Stary adres zostanie wyłączony 30 czerwca 2025.", "@ otterworks.example"),
    ("fi", "Hyvästi", "Kahdentoista vuoden jälkeen Larch & Loom sulkee ovensa lopullisesti 30.6.2025. Lataa tiedostosi.", "closing 2025-06-30"),
    ("fi", "Loppu", "Verkkokauppamme suljetaan kesäkuun 2025 lopussa. Tallenna tiedostosi.", "closing 2025-06-30"),
    ("fi", "Suljettu", "28.2.2025 suljimme verkkokauppamme pysyvästi. Kiitos kaikesta.", "closed 2025-02-28"),
    ("fi", "Uusi omistaja", f"Otter Works on ostanut Larch & Loomin. Larch & Loom siirtyi omistajalle Otter Works. {NEW}", "> Otter Works"),
    ("fi", "Uusi nimi", f"1.4.2025 alkaen Larch & Loom on nimeltään Otter Works. {NEW}", "> Otter Works"),
    ("fi", "Muutto", f"Verkkokauppamme muutti uuteen osoitteeseen: {NEW} . Vanha osoite suljetaan 30.6.2025.", "@ otterworks.example"),
    ("ja", "お知らせ", "2025年6月30日をもって、当店は閉店することになりました。ファイルの保存をお願いいたします。", "closing 2025-06-30"),
    ("ja", "閉店のお知らせ", "当店は2025年6月末をもちまして閉店いたします。長らくのご愛顧ありがとうございました。", "closing 2025-06-30"),
    ("ja", "閉店のご報告", "オンラインショップは2025年2月28日に閉店いたしました。", "closed 2025-02-28"),
    ("ja", "店名変更", f"4月1日よりLarch & LoomはOtter Worksに改名いたします。{NEW}", "> Otter Works"),
    ("ja", "事業譲渡", f"Larch & LoomはOtter Worksに買収されました。{NEW}", "> Otter Works"),
    ("ja", "移転のお知らせ", f"サイトを移転いたしました。新しいアドレスは {NEW} です。旧サイトは2025年6月30日に閉鎖いたします。", "@ otterworks.example"),
]  # fmt: skip


# The same with bland subjects, which the cheap look may not always let pass.
FURTHER = [
    ("en", "Some news", "Dear customers, as of 31 May 2025 Larch & Loom will no longer exist. Please save everything you bought.", "closing 2025-05-31"),
    ("en", "Thank you", "After ten wonderful years I've decided it's time to stop. The website stays online until 31 May 2025; download your patterns.", "closing 2025-05-31"),
    ("en", "Wrapping up", "I'm wrapping up Larch & Loom. The last day to order is 31 May 2025, then I take the site offline.", "closing 2025-05-31"),
    ("en", "News", f"Otter Works has acquired Larch & Loom. Nothing changes for you. {NEW}", "> Otter Works"),
    ("en", "News", f"We have joined Otter Works! From May you'll find our patterns at {NEW}", "> Otter Works"),
    ("en", "Name", f"Say hello to Otter Works, the new name of Larch & Loom. {NEW}", "> Otter Works"),
    ("en", "Moving", f"Larch & Loom is moving to a new website at {NEW} on 1 May.", "@ otterworks.example"),
    ("de", "Info", "Larch & Loom wird es ab dem 1. Juni 2025 nicht mehr geben. Bitte sichert eure Downloads.", "closing 2025-06-01"),
    ("de", "Info", "Wir machen den Shop am 31. Mai 2025 endgültig dicht.", "closing 2025-05-31"),
    ("de", "Neu", f"Otter Works übernimmt Larch & Loom zum 1. Juni 2025. {NEW}", "> Otter Works"),
    ("de", "Neu", f"Larch & Loom wird ab 1. Juni 2025 unter dem Namen Otter Works weitergeführt. {NEW}", "> Otter Works"),
    ("de", "Neu", f"Wir sind ab dem 1. Juni 2025 unter einer neuen Domain erreichbar: {NEW}", "@ otterworks.example"),
    ("fr", "Info", "Notre boutique n'existera plus à partir du 31 mai 2025. Téléchargez vos patrons.", "closing 2025-05-31"),
    ("fr", "Info", "La boutique en ligne fermera définitivement ses portes le 31 mai 2025.", "closing 2025-05-31"),
    ("fr", "Info", f"Otter Works reprend Larch & Loom à compter du 1er juin 2025. {NEW}", "> Otter Works"),
    ("nl", "Info", "Per 31 mei 2025 stopt Larch & Loom. Download je bestanden.", "closing 2025-05-31"),
    ("nl", "Info", f"Larch & Loom wordt per 1 juni 2025 overgenomen door Otter Works. {NEW}", "> Otter Works"),
    ("es", "Info", "El 31 de mayo de 2025 será el último día de nuestra tienda. Descarga tus patrones.", "closing 2025-05-31"),
    ("it", "Info", f"Larch & Loom cambia nome: dal 1° giugno 2025 saremo Otter Works. {NEW}", "> Otter Works"),
    ("sv", "Info", "Den 31 maj 2025 stänger Larch & Loom för alltid.", "closing 2025-05-31"),
    ("sv", "Info", f"Larch & Loom blir Otter Works den 1 juni 2025. {NEW}", "> Otter Works"),
    ("da", "Info", "Den 31. maj 2025 lukker Larch & Loom. Hent dine filer inden da.", "closing 2025-05-31"),
    ("da", "Info", f"Larch & Loom bliver den 1. juni 2025 en del af Otter Works. {NEW}", "> Otter Works"),
    ("nb", "Info", "Larch & Loom stenger dørene for siste gang 31. mai 2025. Last ned filene dine.", "closing 2025-05-31"),
    ("nb", "Info", f"Larch & Loom blir fra 1. juni 2025 en del av Otter Works. {NEW}", "> Otter Works"),
    ("pl", "Info", "31 maja 2025 sklep Larch & Loom zostanie zamknięty na zawsze. Pobierzcie pliki.", "closing 2025-05-31"),
    ("pl", "Info", f"Larch & Loom od 1 czerwca 2025 nazywa się Otter Works. {NEW}", "> Otter Works"),
    ("fi", "Info", "Larch & Loom lopettaa toimintansa 31.5.2025. Lataa ohjeesi.", "closing 2025-05-31"),
    ("ja", "お知らせ", "誠に勝手ながら、2025年5月31日をもちまして当ショップを閉店させていただきます。", "closing 2025-05-31"),
    ("en", "Closing in May", "Larch & Loom closes for good in May 2025. Save your files.", "closing"),
    ("de", "Ende", "Larch & Loom schließt im Mai 2025 für immer.", "closing"),
    ("en", "An update", "We have some sad news to share. Larch & Loom's final day will be 31 May 2025, and the site will go dark the day after.", "closing 2025-05-31"),
    ("en", "Closing time", "The shop shut its virtual doors on 28 February 2025. Thank you for your support.", "closed 2025-02-28"),
    ("en", "Big change", f"Larch & Loom is changing hands! The new owner, Otter Works, takes over on 1 May. {NEW}", "> Otter Works"),
    ("en", "Web", f"Please update your bookmarks: we now live at {NEW}", "@ otterworks.example"),
    ("de", "Verkauf", f"Ich habe Larch & Loom an Otter Works verkauft. {NEW}", "> Otter Works"),
    ("de", "Ende", "Liebe Näherinnen, am 31. Mai 2025 gehen bei Larch & Loom die Lichter aus.", "closing 2025-05-31"),
    ("fr", "Fin", "Larch & Loom tirera définitivement sa révérence le 31 mai 2025.", "closing 2025-05-31"),
    ("fr", "Vente", f"J'ai vendu Larch & Loom à Otter Works. {NEW}", "> Otter Works"),
    ("nl", "Eind", "Larch & Loom sluit eind mei 2025 de deuren.", "closing 2025-05-31"),
    ("es", "Fin", "Cerramos definitivamente a finales de mayo de 2025.", "closing 2025-05-31"),
    ("it", "Fine", "Chiudiamo per sempre a fine maggio 2025.", "closing 2025-05-31"),
    ("sv", "Slut", "Vi lägger ner Larch & Loom i slutet av maj 2025.", "closing 2025-05-31"),
    ("ja", "お知らせ", "当店は5月末をもちまして廃業いたします。", "closing 2025-05-31"),
    ("pl", "Koniec", "Kończymy działalność z końcem maja 2025.", "closing 2025-05-31"),
    ("fi", "Loppu", "Suljemme verkkokauppamme toukokuun lopussa.", "closing 2025-05-31"),
    ("da", "Slut", "Vi lukker webshoppen ultimo maj 2025.", "closing 2025-05-31"),
    ("nb", "Slutt", "Vi legger ned nettbutikken i slutten av mai.", "closing 2025-05-31"),
]  # fmt: skip


def meaning(language: str, subject: str, text: str) -> str:
    notices = read_notices(subject, text.split("\n"), language, NAME, DOMAIN, DATED)
    if not notices:
        return "none"
    (notice,) = notices
    if notice.status is not None:
        return " ".join(str(v) for v in (notice.status, notice.on) if v)
    return f"> {notice.succeeded_by}" if notice.succeeded_by else f"@ {notice.successor_domain}"


@pytest.mark.parametrize(("language", "subject", "text", "meant"), [*NOTICES, *FURTHER])
def test_said_in_other_words(language: str, subject: str, text: str, meant: str) -> None:
    assert meaning(language, subject, text) == meant


@pytest.mark.parametrize(("language", "subject", "text", "meant"), NOTICES)
def test_the_cheap_look_lets_it_pass(language: str, subject: str, text: str, meant: str) -> None:
    head = f"From: {NAME} <post@{DOMAIN}>\r\nSubject: {subject}\r\nContent-Type: text/plain; charset=utf-8\r\n\r\n"
    assert may_be_evidence((head + text.replace("\n", "\r\n\r\n")).encode()), subject


NOTHING = [
    ("en", "This month", "Our shop is closed on Monday 21 April 2025. Downloads work as usual."),
    ("de", "Kurz notiert", "Unser Shop ist am 21. April 2025 geschlossen. Downloads sind weiter möglich."),
    ("fr", "En bref", "La boutique est fermée le 21 avril 2025. Les téléchargements restent possibles."),
    ("nl", "Kort", "De webshop is gesloten op 21 april 2025. Downloads werken gewoon."),
    ("sv", "Kort", "Butiken är stängd den 21 april 2025. Nedladdningar fungerar."),
    ("da", "Kort", "Butikken er lukket den 21. april 2025. Downloads virker."),
    ("nb", "Kort", "Nettbutikken er stengt 21. april 2025. Nedlastinger virker."),
    ("pl", "Krótko", "Sklep jest zamknięty 21 kwietnia 2025. Pobieranie działa."),
    ("fi", "Lyhyesti", "Verkkokauppa on suljettu 21.4.2025. Lataukset toimivat."),
    ("it", "In breve", "Il negozio è chiuso il 21 aprile 2025. I download funzionano."),
    ("es", "En breve", "La tienda está cerrada el 21 de abril de 2025. Las descargas funcionan."),
    ("en", "Studio", "We are closing our studio in Mill Lane on 30 June 2025. The online shop carries on as before."),
    ("en", "Shop and shop", "Our bricks-and-mortar shop closes for good on 30 June 2025, but you can still buy online."),
    ("en", "Retiring", "The Heron line of patterns is being retired on 30 June 2025. Download your updates from our website."),
    ("en", "Last newsletter", "This is the last issue of the Tuesday newsletter. The newsletter comes to an end on 30 June 2025; the shop does not."),
    ("en", "Price", "The introductory price in our shop ends on 30 June 2025. Last day!"),
    ("en", "Easter", "Our shop is closed on Monday 21 April 2025. Downloads work as usual."),
    ("de", "Ladengeschäft", "Unser Ladengeschäft schließt zum 30. Juni 2025 endgültig, der Onlineshop bleibt."),
    ("de", "Ostern", "Am 21. April 2025 bleibt unser Shop geschlossen. Downloads gehen wie immer."),
    ("de", "Newsletter", "Unser Dienstags-Newsletter endet am 30. Juni 2025. Im Shop findet ihr alles wie gewohnt."),
    ("de", "Preis", "Der Einführungspreis im Shop endet am 30. Juni 2025."),
    ("fr", "Atelier", "Notre atelier de Lyon ferme définitivement le 30 juin 2025, la boutique en ligne continue."),
    ("fr", "Lundi", "La boutique sera fermée le lundi 21 avril 2025. Les téléchargements fonctionnent."),
    ("fr", "Prix", "Le prix de lancement prend fin le 30 juin 2025 sur notre site."),
    ("nl", "Winkel", "Onze fysieke winkel sluit op 30 juni 2025 definitief, maar de webshop blijft gewoon open."),
    ("nl", "Pasen", "Op 21 april 2025 blijft de webshop gesloten. Downloads werken gewoon."),
    ("nl", "Prijs", "De introductieprijs in de webshop stopt op 30 juni 2025."),
    ("es", "Taller", "Nuestra tienda física cierra definitivamente el 30 de junio de 2025, la tienda online sigue abierta."),
    ("es", "Festivo", "El 21 de abril de 2025 la tienda permanecerá cerrada. Las descargas funcionan."),
    ("es", "Precio", "El precio de lanzamiento finaliza el 30 de junio de 2025 en nuestra web."),
    ("it", "Negozio", "Il negozio fisico chiude definitivamente il 30 giugno 2025, ma il negozio online resta aperto."),
    ("it", "Pasquetta", "Il 21 aprile 2025 il negozio resterà chiuso. I download funzionano."),
    ("it", "Prezzo", "Il prezzo di lancio termina il 30 giugno 2025 sul nostro sito."),
    ("sv", "Lokal", "Vår fysiska butik stänger för gott den 30 juni 2025, men webbutiken finns kvar."),
    ("sv", "Påsk", "Den 21 april 2025 håller butiken stängt. Nedladdningar fungerar."),
    ("sv", "Pris", "Introduktionspriset i butiken upphör den 30 juni 2025."),
    ("da", "Lokale", "Vores fysiske butik lukker for altid den 30. juni 2025, men webshoppen fortsætter."),
    ("da", "Påske", "Den 21. april 2025 holder butikken lukket. Downloads virker."),
    ("da", "Pris", "Introduktionsprisen i butikken stopper den 30. juni 2025."),
    ("nb", "Lokale", "Den fysiske butikken stenger for godt 30. juni 2025, men nettbutikken fortsetter."),
    ("nb", "Påske", "21. april 2025 holder butikken stengt. Nedlastinger virker."),
    ("nb", "Pris", "Introduksjonsprisen i butikken avsluttes 30. juni 2025."),
    ("pl", "Sklep", "Nasz sklep stacjonarny zamykamy na stałe 30 czerwca 2025, ale sklep internetowy działa dalej."),
    ("pl", "Święta", "21 kwietnia 2025 sklep będzie zamknięty. Pobieranie działa."),
    ("pl", "Cena", "Cena promocyjna w sklepie kończy się 30 czerwca 2025."),
    ("fi", "Myymälä", "Kivijalkamyymälämme suljetaan lopullisesti 30.6.2025, mutta verkkokauppa jatkaa."),
    ("fi", "Pääsiäinen", "Kauppa on suljettu 21.4.2025. Lataukset toimivat."),
    ("fi", "Hinta", "Tutustumishinta päättyy verkkokaupassa 30.6.2025."),
    ("ja", "実店舗", "実店舗は2025年6月30日をもって閉店いたしますが、オンラインショップは継続いたします。"),
    ("ja", "定休日", "4月21日は定休日のため、ショップはお休みです。"),
    ("ja", "メルマガ", "火曜メルマガは6月30日で配信を終了します。ショップは変わりません。"),
    ("ja", "価格", "ショップの発売記念価格は6月30日で終了いたします。"),
    ("en", "Flash", "Our flash sale closes for good on 31 May 2025. Shop now!"),
    ("en", "Class", "Enrolment for the class at our shop shuts for good on 31 May 2025."),
    ("en", "Collab", f"We are joining forces with Otter Works for a sew-along. Find them at {NEW}"),
    ("en", "Fabric", f"Otter Works has bought ten bolts of our fabric. See {NEW}"),
    ("en", "PO", "The post office in our street is closing on 31 May 2025. Orders from our shop will be sent weekly."),
    ("en", "Supplier", "Our zip supplier Otter Works is closing on 31 May 2025, so stock up in our shop."),
    ("en", "Old app", "We are switching off our old app on 31 May 2025. Use the website instead."),
    ("en", "Inst", "Find us at our new Instagram address: https://instagram.example/larch"),
    ("en", "Orders", "Your order from Larch & Loom has been closed. The download page closes on 31 May 2025."),
    ("de", "Kurs", "Die Anmeldung zum Kurs in unserem Shop wird am 31. Mai 2025 geschlossen."),
    ("de", "Lager", "Am 31. Mai 2025 schließen wir unseren Shop wegen Inventur."),
    ("de", "Abend", "Unser Shop schließt heute schon um 16 Uhr."),
    ("de", "Stand", "Unser Stand ist am Sonntag geschlossen, der Shop im Netz nicht."),
    ("fr", "Info", "La boutique sera fermée pour congés du 1er au 15 juin 2025."),
    ("fr", "Vente", "La vente flash ferme définitivement le 31 mai 2025 dans notre boutique."),
    ("nl", "Info", "De webshop is op 31 mei 2025 even dicht wegens onderhoud."),
    ("es", "Info", "La tienda estará cerrada el 31 de mayo de 2025 por inventario."),
    ("it", "Info", "Il negozio chiude per inventario il 31 maggio 2025."),
    ("sv", "Info", "Butiken är stängd den 31 maj 2025 på grund av inventering."),
    ("da", "Info", "Butikken er lukket den 31. maj 2025 på grund af optælling."),
    ("nb", "Info", "Butikken er stengt 31. mai 2025 på grunn av varetelling."),
    ("pl", "Info", "Sklep będzie zamknięty 31 maja 2025 z powodu remanentu."),
    ("fi", "Info", "Verkkokauppa on suljettu inventaarion vuoksi 31.5.2025."),
    ("ja", "お知らせ", "5月31日は棚卸のため閉店いたします。"),
    ("en", "Holiday", "We're shutting up shop for two weeks from 1 May 2025. Orders placed meanwhile ship after."),
    ("en", "Free pattern ends", "The free pattern goes offline on 31 May 2025. Grab it on our website before then."),
    ("en", "Vote", "Voting on our site closes 31 May 2025. Last day!"),
    ("en", "Black", "Doors close Sunday on our Black Friday sale! Goodbye discounts."),
    ("en", "Tired", "We are saying goodbye to the Heron dress: it retires from our shop for good on 31 May 2025."),
    ("en", "Reopened", "Our shop reopens on 1 May 2025 after being closed for moving."),
    ("en", "Rename pattern", f"The Heron Dress is now called Egret Dress. See {NEW}"),
    ("en", "Old forum", "We're closing the forum at the end of May 2025. The shop carries on."),
    ("en", "Late", "The shop will be shut on Good Friday."),
    ("de", "Umbau", "Wegen Umbau der Website ist unser Shop vom 30. auf den 31. Mai 2025 offline."),
    ("de", "Auslauf", "Das Schnittmuster Svea wird zum 31. Mai 2025 endgültig aus dem Shop genommen."),
    ("de", "Gruppe", "Unsere Gruppe wird am 31. Mai 2025 für immer geschlossen."),
    ("fr", "Fin", "Le patron Héron quittera définitivement la boutique le 31 mai 2025."),
    ("nl", "Patroon", "Het patroon Reiger gaat op 31 mei 2025 definitief uit de webshop."),
    ("es", "Patrón", "El patrón Garza se retira definitivamente de la tienda el 31 de mayo de 2025."),
    ("it", "Modello", "Il cartamodello Airone lascia definitivamente il negozio il 31 maggio 2025."),
    ("sv", "Mönster", "Mönstret Häger försvinner för gott ur butiken den 31 maj 2025."),
    ("da", "Mønster", "Mønsteret Hejre forsvinder for altid fra webshoppen den 31. maj 2025."),
    ("nb", "Mønster", "Mønsteret Hegre forsvinner for godt fra nettbutikken 31. mai 2025."),
    ("pl", "Wykrój", "Wykrój Czapla znika na zawsze ze sklepu 31 maja 2025."),
    ("fi", "Kaava", "Haikara-kaava poistuu verkkokaupasta lopullisesti 31.5.2025."),
    ("ja", "お知らせ", "型紙「さぎ」は2025年5月31日をもってショップでの販売を終了いたします。"),
]  # fmt: skip


@pytest.mark.parametrize(("language", "subject", "text"), NOTHING)
def test_what_only_sounds_like_one(language: str, subject: str, text: str) -> None:
    assert meaning(language, subject, text) == "none"
