"""Mails of each kind in each language, as shops write them: kind -> language -> (subject, text)."""

from __future__ import annotations

REFUND = {
    "en": (
        "Refund for order 2087",
        "Dear Wanda,\n\nWe have refunded £14.00 for order 2087. Please allow 5 working days for the money to reach your account.\n\nBest wishes\nCap & Bells",
    ),
    "de": (
        "Rückerstattung zu Bestellung 2087",
        "Liebe Wanda,\n\nwir haben Ihnen den Betrag von 14,00 € für die Bestellung 2087 erstattet. Das Geld ist in wenigen Tagen auf Ihrem Konto.\n\nViele Grüße\nCap & Bells",
    ),
    "fr": (
        "Remboursement de votre commande 2087",
        "Bonjour Wanda,\n\nNous vous avons remboursé 14,00 € pour la commande 2087. Le montant apparaîtra sur votre compte sous quelques jours.\n\nCordialement\nCap & Bells",
    ),
    "nl": (
        "Terugbetaling van bestelling 2087",
        "Beste Wanda,\n\nWe hebben € 14,00 terugbetaald voor bestelling 2087. Het bedrag staat binnen enkele dagen op je rekening.\n\nGroeten\nCap & Bells",
    ),
    "es": (
        "Reembolso de tu pedido 2087",
        "Hola Wanda:\n\nTe hemos devuelto 14,00 € del pedido 2087. El importe llegará a tu cuenta en unos días.\n\nUn saludo\nCap & Bells",
    ),
    "it": (
        "Rimborso dell'ordine 2087",
        "Ciao Wanda,\n\nti abbiamo rimborsato 14,00 € per l'ordine 2087. L'importo arriverà sul tuo conto entro qualche giorno.\n\nCordiali saluti\nCap & Bells",
    ),
    "sv": (
        "Återbetalning för order 2087",
        "Hej Wanda,\n\nVi har återbetalat 140,00 kr för order 2087. Pengarna finns på ditt konto inom några dagar.\n\nVänliga hälsningar\nCap & Bells",
    ),
    "da": (
        "Refundering af ordre 2087",
        "Hej Wanda\n\nVi har refunderet 140,00 kr. for ordre 2087. Pengene er på din konto inden for få dage.\n\nVenlig hilsen\nCap & Bells",
    ),
    "nb": (
        "Refusjon for ordre 2087",
        "Hei Wanda\n\nVi har refundert 140,00 kr for ordre 2087. Pengene er på kontoen din i løpet av noen dager.\n\nVennlig hilsen\nCap & Bells",
    ),
    "pl": (
        "Zwrot środków za zamówienie 2087",
        "Dzień dobry,\n\nzwróciliśmy 14,00 zł za zamówienie 2087. Środki pojawią się na koncie w ciągu kilku dni.\n\nPozdrawiamy\nCap & Bells",
    ),
    "fi": (
        "Hyvitys tilauksesta 2087",
        "Hei Wanda,\n\nolemme palauttaneet 14,00 € tilauksesta 2087. Summa näkyy tililläsi muutaman päivän kuluessa.\n\nYstävällisin terveisin\nCap & Bells",
    ),
    "ja": (
        "【Cap & Bells】返金のお知らせ(注文番号:2087)",
        "Wanda 様\n\nご注文番号 2087 につきまして、1,400円を返金いたしました。\n口座への反映には数日かかる場合がございます。\n\nCap & Bells",
    ),
}

CANCELLED = {
    "en": (
        "Order 2087 cancelled",
        "Hi Wanda,\n\nAs you asked, we have cancelled order 2087. Nothing will be charged.\n\nCap & Bells",
    ),
    "de": (
        "Ihre Bestellung 2087 wurde storniert",
        "Hallo Wanda,\n\nwie gewünscht haben wir Ihre Bestellung 2087 storniert. Es wird nichts abgebucht.\n\nCap & Bells",
    ),
    "fr": (
        "Votre commande 2087 a été annulée",
        "Bonjour Wanda,\n\nComme demandé, votre commande 2087 a été annulée. Vous ne serez pas débitée.\n\nCap & Bells",
    ),
    "nl": (
        "Bestelling 2087 geannuleerd",
        "Beste Wanda,\n\nJe bestelling 2087 is op jouw verzoek geannuleerd. Er wordt niets afgeschreven.\n\nCap & Bells",
    ),
    "es": (
        "Pedido 2087 cancelado",
        "Hola Wanda:\n\nTu pedido 2087 ha sido cancelado, tal como pediste.\n\nCap & Bells",
    ),
    "it": (
        "Ordine 2087 annullato",
        "Ciao Wanda,\n\ncome richiesto, il tuo ordine 2087 è stato annullato.\n\nCap & Bells",
    ),
    "sv": (
        "Order 2087 har avbeställts",
        "Hej Wanda,\n\nDin order 2087 har annullerats enligt önskemål.\n\nCap & Bells",
    ),
    "da": ("Ordre 2087 er annulleret", "Hej Wanda\n\nDin ordre 2087 er annulleret, som du ønskede.\n\nCap & Bells"),
    "nb": ("Ordre 2087 er kansellert", "Hei Wanda\n\nOrdren din 2087 er kansellert, slik du ønsket.\n\nCap & Bells"),
    "pl": (
        "Zamówienie 2087 zostało anulowane",
        "Dzień dobry,\n\nzgodnie z prośbą zamówienie 2087 zostało anulowane.\n\nCap & Bells",
    ),
    "fi": ("Tilaus 2087 on peruttu", "Hei Wanda,\n\ntilauksesi 2087 on peruttu pyynnöstäsi.\n\nCap & Bells"),
    "ja": (
        "【Cap & Bells】ご注文キャンセルのお知らせ(2087)",
        "Wanda 様\n\nご注文番号 2087 をキャンセルいたしました。\n\nCap & Bells",
    ),
}

FAILED = {
    "en": (
        "We couldn't take your payment",
        "Hi Wanda,\n\nYour bank declined the payment of £14.00 for the Tabard pattern. Please try another card.\n\nCap & Bells",
    ),
    "de": (
        "Ihre Zahlung wurde abgelehnt",
        "Hallo Wanda,\n\nleider wurde die Zahlung über 14,00 € für das Schnittmuster Wappenrock abgelehnt. Bitte versuchen Sie es erneut.\n\nCap & Bells",
    ),
    "fr": (
        "Échec de votre paiement",
        "Bonjour Wanda,\n\nVotre paiement de 14,00 € pour le patron Tabard a été refusé. Merci de réessayer avec une autre carte.\n\nCap & Bells",
    ),
    "nl": (
        "Je betaling is mislukt",
        "Beste Wanda,\n\nDe betaling van € 14,00 voor het patroon Tabbaard is mislukt. Probeer het opnieuw.\n\nCap & Bells",
    ),
    "es": (
        "Tu pago ha sido rechazado",
        "Hola Wanda:\n\nEl pago de 14,00 € del patrón Tabardo ha sido rechazado. Inténtalo de nuevo.\n\nCap & Bells",
    ),
    "it": (
        "Pagamento non riuscito",
        "Ciao Wanda,\n\nil pagamento di 14,00 € per il cartamodello Tabarro non è andato a buon fine. Riprova con un'altra carta.\n\nCap & Bells",
    ),
    "sv": (
        "Din betalning misslyckades",
        "Hej Wanda,\n\nBetalningen på 140 kr för mönstret Tabard misslyckades. Försök igen.\n\nCap & Bells",
    ),
    "da": (
        "Din betaling blev afvist",
        "Hej Wanda\n\nBetalingen på 140 kr. for mønstret Våbenkjole blev afvist. Prøv igen.\n\nCap & Bells",
    ),
    "nb": (
        "Betalingen mislyktes",
        "Hei Wanda\n\nBetalingen på 140 kr for mønsteret Våpenkjole mislyktes. Prøv på nytt.\n\nCap & Bells",
    ),
    "pl": (
        "Płatność nie powiodła się",
        "Dzień dobry,\n\npłatność 14,00 zł za wykrój Tabard została odrzucona. Prosimy spróbować ponownie.\n\nCap & Bells",
    ),
    "fi": (
        "Maksusi epäonnistui",
        "Hei Wanda,\n\n14,00 € maksu kaavasta Tabardi epäonnistui. Yritä uudelleen.\n\nCap & Bells",
    ),
    "ja": (
        "【Cap & Bells】お支払いが完了しませんでした",
        "Wanda 様\n\n陣羽織の型紙(1,400円)のお支払いが承認されませんでした。別のカードでお試しください。\n\nCap & Bells",
    ),
}

SHIPPED = {
    "en": (
        "Your order is on its way",
        "Hi Wanda,\n\nGood news: order 2087 left our workshop today. Track it here: https://post.example/t/1\n\nCap & Bells",
    ),
    "de": (
        "Ihre Bestellung ist unterwegs",
        "Hallo Wanda,\n\nIhre Bestellung 2087 wurde heute an den Paketdienst übergeben. Sendungsverfolgung: https://post.example/t/1\n\nCap & Bells",
    ),
    "fr": (
        "Votre commande est en route",
        "Bonjour Wanda,\n\nVotre commande 2087 a été expédiée aujourd'hui. Suivez votre colis : https://post.example/t/1\n\nCap & Bells",
    ),
    "nl": (
        "Je bestelling is onderweg",
        "Beste Wanda,\n\nJe bestelling 2087 is vandaag verzonden. Volg je pakket: https://post.example/t/1\n\nCap & Bells",
    ),
    "es": (
        "Tu pedido está en camino",
        "Hola Wanda:\n\nTu pedido 2087 ha salido hoy de nuestro taller. Sigue el envío: https://post.example/t/1\n\nCap & Bells",
    ),
    "it": (
        "Il tuo ordine è in viaggio",
        "Ciao Wanda,\n\nil tuo ordine 2087 è stato spedito oggi. Segui il pacco: https://post.example/t/1\n\nCap & Bells",
    ),
    "sv": (
        "Din order är på väg",
        "Hej Wanda,\n\nDin order 2087 har skickats idag. Spåra paketet: https://post.example/t/1\n\nCap & Bells",
    ),
    "da": (
        "Din ordre er på vej",
        "Hej Wanda\n\nDin ordre 2087 er sendt i dag. Følg pakken: https://post.example/t/1\n\nCap & Bells",
    ),
    "nb": (
        "Ordren din er på vei",
        "Hei Wanda\n\nOrdren din 2087 ble sendt i dag. Følg pakken: https://post.example/t/1\n\nCap & Bells",
    ),
    "pl": (
        "Twoje zamówienie jest w drodze",
        "Dzień dobry,\n\nzamówienie 2087 zostało dziś wysłane. Śledzenie przesyłki: https://post.example/t/1\n\nCap & Bells",
    ),
    "fi": (
        "Tilauksesi on matkalla",
        "Hei Wanda,\n\ntilauksesi 2087 on lähetetty tänään. Seuraa pakettia: https://post.example/t/1\n\nCap & Bells",
    ),
    "ja": (
        "【Cap & Bells】商品発送のお知らせ",
        "Wanda 様\n\nご注文番号 2087 の商品を本日発送いたしました。\n配送状況:https://post.example/t/1\n\nCap & Bells",
    ),
}

BASKET = {
    "en": (
        "Still thinking it over?",
        "Hi Wanda,\n\nYou left something in your basket:\n\nTabard pattern (PDF)  £14.00\n\nFinish your purchase: https://capbells.example/cart\n\nCap & Bells",
    ),
    "de": (
        "Da wartet noch etwas auf Sie",
        "Hallo Wanda,\n\nSie haben noch Artikel im Warenkorb:\n\nSchnittmuster Wappenrock (PDF)  14,00 €\n\nJetzt Einkauf abschließen: https://capbells.example/cart\n\nCap & Bells",
    ),
    "fr": (
        "Votre panier vous attend",
        "Bonjour Wanda,\n\nVous avez oublié ces articles dans votre panier :\n\nPatron Tabard (PDF)  14,00 €\n\nFinaliser ma commande : https://capbells.example/cart\n\nCap & Bells",
    ),
    "nl": (
        "Je bent iets vergeten",
        "Beste Wanda,\n\nEr ligt nog iets in je winkelwagen:\n\nPatroon Tabbaard (PDF)  € 14,00\n\nBestelling afronden: https://capbells.example/cart\n\nCap & Bells",
    ),
    "es": (
        "¿Has olvidado algo?",
        "Hola Wanda:\n\nHas dejado productos en tu carrito:\n\nPatrón Tabardo (PDF)  14,00 €\n\nFinalizar la compra: https://capbells.example/cart\n\nCap & Bells",
    ),
    "it": (
        "Hai dimenticato qualcosa?",
        "Ciao Wanda,\n\nhai lasciato degli articoli nel carrello:\n\nCartamodello Tabarro (PDF)  14,00 €\n\nCompleta l'acquisto: https://capbells.example/cart\n\nCap & Bells",
    ),
    "sv": (
        "Glömde du något?",
        "Hej Wanda,\n\nDu har varor kvar i varukorgen:\n\nMönster Tabard (PDF)  140 kr\n\nSlutför ditt köp: https://capbells.example/cart\n\nCap & Bells",
    ),
    "da": (
        "Har du glemt noget?",
        "Hej Wanda\n\nDu har stadig varer i kurven:\n\nMønster Våbenkjole (PDF)  140 kr.\n\nGennemfør købet: https://capbells.example/cart\n\nCap & Bells",
    ),
    "nb": (
        "Glemte du noe?",
        "Hei Wanda\n\nDu har fortsatt varer i handlekurven:\n\nMønster Våpenkjole (PDF)  140 kr\n\nFullfør kjøpet: https://capbells.example/cart\n\nCap & Bells",
    ),
    "pl": (
        "Zapomniałaś o czymś?",
        "Dzień dobry,\n\nw koszyku czekają produkty:\n\nWykrój Tabard (PDF)  14,00 zł\n\nDokończ zakupy: https://capbells.example/cart\n\nCap & Bells",
    ),
    "fi": (
        "Unohtuiko jotain?",
        "Hei Wanda,\n\nostoskorissasi on vielä tuotteita:\n\nKaava Tabardi (PDF)  14,00 €\n\nViimeistele ostoksesi: https://capbells.example/cart\n\nCap & Bells",
    ),
    "ja": (
        "【Cap & Bells】カートに商品が残っています",
        "Wanda 様\n\nカートに以下の商品が残っています。\n\n陣羽織の型紙(PDF) 1,400円\n\nお買い物を続ける:https://capbells.example/cart\n\nCap & Bells",
    ),
}

REVIEW = {
    "en": (
        "How was your purchase?",
        "Hi Wanda,\n\nYou recently bought: Tabard pattern (PDF). Rate it and tell others what you think.\n\nCap & Bells",
    ),
    "de": (
        "Wie zufrieden sind Sie?",
        "Hallo Wanda,\n\nSie haben vor Kurzem bei uns gekauft: Schnittmuster Wappenrock (PDF). Bitte bewerten Sie Ihren Einkauf.\n\nCap & Bells",
    ),
    "fr": (
        "Votre avis compte",
        "Bonjour Wanda,\n\nVous avez récemment acheté : Patron Tabard (PDF). Donnez votre avis sur ce produit.\n\nCap & Bells",
    ),
    "nl": (
        "Wat vond je ervan?",
        "Beste Wanda,\n\nJe kocht onlangs: Patroon Tabbaard (PDF). Schrijf een beoordeling.\n\nCap & Bells",
    ),
    "es": (
        "¿Qué te ha parecido?",
        "Hola Wanda:\n\nHace poco compraste: Patrón Tabardo (PDF). Deja tu opinión.\n\nCap & Bells",
    ),
    "it": (
        "Cosa ne pensi?",
        "Ciao Wanda,\n\ndi recente hai acquistato: Cartamodello Tabarro (PDF). Lascia una recensione.\n\nCap & Bells",
    ),
    "sv": ("Vad tyckte du?", "Hej Wanda,\n\nDu köpte nyligen: Mönster Tabard (PDF). Lämna ett omdöme.\n\nCap & Bells"),
    "da": (
        "Hvad synes du?",
        "Hej Wanda\n\nDu har for nylig købt: Mønster Våbenkjole (PDF). Skriv en anmeldelse.\n\nCap & Bells",
    ),
    "nb": (
        "Hva synes du?",
        "Hei Wanda\n\nDu kjøpte nylig: Mønster Våpenkjole (PDF). Skriv en anmeldelse.\n\nCap & Bells",
    ),
    "pl": (
        "Jak oceniasz zakup?",
        "Dzień dobry,\n\nniedawno kupiono u nas: Wykrój Tabard (PDF). Prosimy o wystawienie opinii.\n\nCap & Bells",
    ),
    "fi": ("Mitä pidit?", "Hei Wanda,\n\nostit hiljattain: Kaava Tabardi (PDF). Kirjoita arvostelu.\n\nCap & Bells"),
    "ja": (
        "【Cap & Bells】レビューのお願い",
        "Wanda 様\n\n先日ご購入いただいた「陣羽織の型紙(PDF)」はいかがでしたか。レビューをお寄せください。\n\nCap & Bells",
    ),
}

ADVERT = {
    "en": (
        "Spring sale: 20% off everything",
        "Tabard pattern £14.00\nDoublet pattern £16.00\n\nOnly until Sunday! Shop now: https://capbells.example/sale\n\nUnsubscribe",
    ),
    "de": (
        "Frühlingsrabatt: 20 % auf alles",
        "Schnittmuster Wappenrock 14,00 €\nSchnittmuster Wams 16,00 €\n\nNur bis Sonntag! Jetzt einkaufen: https://capbells.example/sale\n\nAbmelden",
    ),
    "fr": (
        "Soldes de printemps : -20 %",
        "Patron Tabard 14,00 €\nPatron Pourpoint 16,00 €\n\nJusqu'à dimanche seulement ! J'en profite : https://capbells.example/sale\n\nSe désabonner",
    ),
    "nl": (
        "Voorjaarsactie: 20% korting",
        "Patroon Tabbaard € 14,00\nPatroon Wambuis € 16,00\n\nAlleen t/m zondag! Shop nu: https://capbells.example/sale\n\nUitschrijven",
    ),
    "es": (
        "Rebajas de primavera: 20 %",
        "Patrón Tabardo 14,00 €\nPatrón Jubón 16,00 €\n\n¡Solo hasta el domingo! Comprar ahora: https://capbells.example/sale\n\nDarse de baja",
    ),
    "it": (
        "Saldi di primavera: -20%",
        "Cartamodello Tabarro 14,00 €\nCartamodello Farsetto 16,00 €\n\nSolo fino a domenica! Acquista ora: https://capbells.example/sale\n\nAnnulla l'iscrizione",
    ),
    "sv": (
        "Vårrea: 20 % på allt",
        "Mönster Tabard 140 kr\nMönster Wams 160 kr\n\nBara till söndag! Handla nu: https://capbells.example/sale\n\nAvprenumerera",
    ),
    "da": (
        "Forårsudsalg: 20 % på alt",
        "Mønster Våbenkjole 140 kr.\nMønster Vams 160 kr.\n\nKun til søndag! Køb nu: https://capbells.example/sale\n\nAfmeld nyhedsbrev",
    ),
    "nb": (
        "Vårsalg: 20 % på alt",
        "Mønster Våpenkjole 140 kr\nMønster Vams 160 kr\n\nBare til søndag! Kjøp nå: https://capbells.example/sale\n\nMeld deg av",
    ),
    "pl": (
        "Wiosenna wyprzedaż: -20%",
        "Wykrój Tabard 14,00 zł\nWykrój Dublet 16,00 zł\n\nTylko do niedzieli! Kup teraz: https://capbells.example/sale\n\nWypisz się",
    ),
    "fi": (
        "Kevätale: 20 % kaikesta",
        "Kaava Tabardi 14,00 €\nKaava Dupletti 16,00 €\n\nVain sunnuntaihin! Osta nyt: https://capbells.example/sale\n\nPeru uutiskirje",
    ),
    "ja": (
        "【Cap & Bells】春のセール 全品20%OFF",
        "陣羽織の型紙 1,400円\n袴の型紙 1,600円\n\n日曜日まで!今すぐ購入:https://capbells.example/sale\n\n配信停止はこちら",
    ),
}

FILES = {
    "en": (
        "Your pattern is ready",
        "Hi Wanda,\n\nThanks for buying from Cap & Bells. You can download your file here:\n\nTabard pattern\nhttps://capbells.example/dl/77\n\nThe link is valid for 7 days.\n\nCap & Bells",
    ),
    "de": (
        "Ihr Schnittmuster steht bereit",
        "Hallo Wanda,\n\ndanke für Ihren Einkauf bei Cap & Bells. Hier können Sie Ihre Datei herunterladen:\n\nSchnittmuster Wappenrock\nhttps://capbells.example/dl/77\n\nDer Link ist 7 Tage gültig.\n\nCap & Bells",
    ),
    "fr": (
        "Votre patron est prêt",
        "Bonjour Wanda,\n\nMerci pour votre achat chez Cap & Bells. Vous pouvez télécharger votre fichier ici :\n\nPatron Tabard\nhttps://capbells.example/dl/77\n\nLe lien est valable 7 jours.\n\nCap & Bells",
    ),
    "nl": (
        "Je patroon staat klaar",
        "Beste Wanda,\n\nBedankt voor je aankoop bij Cap & Bells. Je kunt je bestand hier downloaden:\n\nPatroon Tabbaard\nhttps://capbells.example/dl/77\n\nDe link is 7 dagen geldig.\n\nCap & Bells",
    ),
    "es": (
        "Tu patrón está listo",
        "Hola Wanda:\n\nGracias por tu compra en Cap & Bells. Puedes descargar tu archivo aquí:\n\nPatrón Tabardo\nhttps://capbells.example/dl/77\n\nEl enlace es válido durante 7 días.\n\nCap & Bells",
    ),
    "it": (
        "Il tuo cartamodello è pronto",
        "Ciao Wanda,\n\ngrazie per il tuo acquisto da Cap & Bells. Puoi scaricare il file qui:\n\nCartamodello Tabarro\nhttps://capbells.example/dl/77\n\nIl link è valido per 7 giorni.\n\nCap & Bells",
    ),
    "sv": (
        "Ditt mönster är klart",
        "Hej Wanda,\n\nTack för ditt köp hos Cap & Bells. Här kan du ladda ner din fil:\n\nMönster Tabard\nhttps://capbells.example/dl/77\n\nLänken är giltig i 7 dagar.\n\nCap & Bells",
    ),
    "da": (
        "Dit mønster er klar",
        "Hej Wanda\n\nTak for dit køb hos Cap & Bells. Du kan hente din fil her:\n\nMønster Våbenkjole\nhttps://capbells.example/dl/77\n\nLinket gælder i 7 dage.\n\nCap & Bells",
    ),
    "nb": (
        "Mønsteret ditt er klart",
        "Hei Wanda\n\nTakk for kjøpet hos Cap & Bells. Her kan du laste ned filen:\n\nMønster Våpenkjole\nhttps://capbells.example/dl/77\n\nLenken er gyldig i 7 dager.\n\nCap & Bells",
    ),
    "pl": (
        "Twój wykrój jest gotowy",
        "Dzień dobry,\n\ndziękujemy za zakup w Cap & Bells. Plik można pobrać tutaj:\n\nWykrój Tabard\nhttps://capbells.example/dl/77\n\nLink jest ważny 7 dni.\n\nCap & Bells",
    ),
    "fi": (
        "Kaavasi on valmis",
        "Hei Wanda,\n\nkiitos ostoksestasi Cap & Bellsissä. Voit ladata tiedostosi täältä:\n\nKaava Tabardi\nhttps://capbells.example/dl/77\n\nLinkki on voimassa 7 päivää.\n\nCap & Bells",
    ),
    "ja": (
        "【Cap & Bells】型紙の準備ができました",
        "Wanda 様\n\nご購入ありがとうございます。下記よりダウンロードしてください。\n\n陣羽織の型紙\nhttps://capbells.example/dl/77\n\nリンクの有効期限は7日間です。\n\nCap & Bells",
    ),
}

TITLES = {
    "en": "Tabard pattern",
    "de": "Schnittmuster Wappenrock",
    "fr": "Patron Tabard",
    "nl": "Patroon Tabbaard",
    "es": "Patrón Tabardo",
    "it": "Cartamodello Tabarro",
    "sv": "Mönster Tabard",
    "da": "Mønster Våbenkjole",
    "nb": "Mønster Våpenkjole",
    "pl": "Wykrój Tabard",
    "fi": "Kaava Tabardi",
    "ja": "陣羽織の型紙",
}

NOTHING = {"failed": FAILED, "shipped": SHIPPED, "basket": BASKET, "review": REVIEW, "advert": ADVERT}

# An order of two things with postage and a discount; the words are other than in the documents of fixtures/receipts.
ORDERS = {
    "en": (
        "We've received your order",
        "Hello Wanda,\n\nThis is to confirm your purchase from Cap & Bells.\n\nOrder ref: 5-881\nPlaced on: 2 June 2024\n\nProduct | Qty | Line total\nTabard pattern (PDF) | 1 | £14.00\nBrass bells | 4 | £6.00\n\nGoods: £20.00\nPromotion: -£2.00\nP&P: £3.50\nGrand total: £21.50\n\nPaid with: card\n",
    ),
    "de": (
        "Auftragsbestätigung",
        "Guten Tag,\n\nhiermit bestätigen wir den Eingang Ihres Auftrags.\n\nAuftragsnummer: 5-881\nAuftragsdatum: 2. Juni 2024\n\nBezeichnung | Menge | Summe\nSchnittmuster Wappenrock (PDF) | 1 | 14,00 €\nMessingglöckchen | 4 | 6,00 €\n\nWarenwert: 20,00 €\nNachlass: -2,00 €\nPorto: 3,50 €\nGesamtbetrag: 21,50 €\n\nBezahlt per: Karte\n",
    ),
    "fr": (
        "Confirmation de commande",
        "Bonjour,\n\nNous avons bien reçu votre commande.\n\nCommande n° : 5-881\nPassée le : 2 juin 2024\n\nDésignation | Quantité | Montant\nPatron Tabard (PDF) | 1 | 14,00 €\nGrelots en laiton | 4 | 6,00 €\n\nSous-total : 20,00 €\nRemise : -2,00 €\nFrais d'envoi : 3,50 €\nMontant total : 21,50 €\n\nRéglé par : carte\n",
    ),
    "nl": (
        "Bevestiging van je bestelling",
        "Hallo,\n\nWe hebben je bestelling goed ontvangen.\n\nOrdernummer: 5-881\nBesteld op: 2 juni 2024\n\nOmschrijving | Aantal | Bedrag\nPatroon Tabbaard (PDF) | 1 | € 14,00\nKoperen belletjes | 4 | € 6,00\n\nSubtotaal: € 20,00\nActiekorting: -€ 2,00\nVerzendkosten: € 3,50\nTe betalen: € 21,50\n\nBetaald met: kaart\n",
    ),
    "es": (
        "Hemos recibido tu pedido",
        "Hola:\n\nConfirmamos que hemos recibido tu pedido.\n\nNº de pedido: 5-881\nFecha: 2 de junio de 2024\n\nArtículo | Uds. | Importe\nPatrón Tabardo (PDF) | 1 | 14,00 €\nCascabeles de latón | 4 | 6,00 €\n\nSubtotal: 20,00 €\nDescuento: -2,00 €\nGastos de envío: 3,50 €\nImporte total: 21,50 €\n\nForma de pago: tarjeta\n",
    ),
    "it": (
        "Conferma d'ordine",
        "Salve,\n\nabbiamo ricevuto il suo ordine.\n\nOrdine n.: 5-881\nData: 2 giugno 2024\n\nArticolo | Q.tà | Importo\nCartamodello Tabarro (PDF) | 1 | 14,00 €\nSonagli di ottone | 4 | 6,00 €\n\nSubtotale: 20,00 €\nSconto: -2,00 €\nSpedizione: 3,50 €\nTotale ordine: 21,50 €\n\nMetodo di pagamento: carta\n",
    ),
    "sv": (
        "Orderbekräftelse",
        "Hej!\n\nVi har tagit emot din beställning.\n\nBeställningsnummer: 5-881\nDatum: 2 juni 2024\n\nProdukt | Antal | Pris\nMönster Tabard (PDF) | 1 | 140,00 kr\nMässingsbjällror | 4 | 60,00 kr\n\nVaruvärde: 200,00 kr\nRabatt: -20,00 kr\nFrakt: 35,00 kr\nTotalsumma: 215,00 kr\n\nBetalningssätt: kort\n",
    ),
    "da": (
        "Ordrebekræftelse",
        "Hej\n\nVi har modtaget din ordre.\n\nOrdrenr.: 5-881\nDato: 2. juni 2024\n\nVare | Antal | Pris\nMønster Våbenkjole (PDF) | 1 | 140,00 kr.\nMessingklokker | 4 | 60,00 kr.\n\nVarer i alt: 200,00 kr.\nRabat: -20,00 kr.\nFragt: 35,00 kr.\nTotal inkl. moms: 215,00 kr.\n\nBetalingsmåde: kort\n",
    ),
    "nb": (
        "Ordrebekreftelse",
        "Hei\n\nVi har mottatt bestillingen din.\n\nOrdrenr.: 5-881\nBestilt: 2. juni 2024\n\nVare | Antall | Pris\nMønster Våpenkjole (PDF) | 1 | 140,00 kr\nMessingbjeller | 4 | 60,00 kr\n\nDelsum: 200,00 kr\nRabatt: -20,00 kr\nPorto: 35,00 kr\nTotalsum: 215,00 kr\n\nBetalingsmåte: kort\n",
    ),
    "pl": (
        "Przyjęliśmy Twoje zamówienie",
        "Dzień dobry,\n\notrzymaliśmy Twoje zamówienie.\n\nZamówienie nr: 5-881\nData zamówienia: 2 czerwca 2024\n\nProdukt | Ilość | Wartość\nWykrój Tabard (PDF) | 1 | 14,00 zł\nDzwoneczki mosiężne | 4 | 6,00 zł\n\nSuma częściowa: 20,00 zł\nRabat: -2,00 zł\nKoszt dostawy: 3,50 zł\nDo zapłaty: 21,50 zł\n\nSposób płatności: karta\n",
    ),
    "fi": (
        "Tilausvahvistus",
        "Hei,\n\nolemme vastaanottaneet tilauksesi.\n\nTilausnumero: 5-881\nTilauspäivä: 2. kesäkuuta 2024\n\nTuote | Kpl | Hinta\nKaava Tabardi (PDF) | 1 | 14,00 €\nMessinkitiu'ut | 4 | 6,00 €\n\nVälisumma: 20,00 €\nAlennus: -2,00 €\nToimituskulut: 3,50 €\nLoppusumma: 21,50 €\n\nMaksutapa: kortti\n",
    ),
    "ja": (
        "【Cap & Bells】ご注文ありがとうございます",
        "Wanda 様\n\nご注文を受け付けました。\n\n注文番号:5-881\n注文日:2024年6月2日\n\n商品名 | 数量 | 小計\n陣羽織の型紙(PDF) | 1 | 1,400円\n真鍮の鈴 | 4 | 600円\n\n商品小計:2,000円\n割引:-200円\n送料:350円\nご請求金額:2,150円\n\n支払方法:カード\n",
    ),
}
