"""Texts of invented makers and of everyday life, in the languages of the trade, for the tests of the rules."""

from __future__ import annotations

# name: (text, craft, title, designer, version)
PATTERNS: dict[str, tuple[str, str, str, str | None, str | None]] = {
    "en-sock": (
        (
            "Saltmarsh Socks\n"
            "by Petra Quill\n"
            "\n"
            "A toe-up sock pattern with a lace cuff. Version 1.1, revised March 2023\n"
            "\n"
            "SIZES\n"
            "Adult S (M, L): foot circumference 20 (22, 24) cm\n"
            "YARN\n"
            "4 ply sock yarn, 100 g (400 m)\n"
            "NEEDLES\n"
            "2.5 mm / US 1.5 DPNs or long circular for magic loop\n"
            "GAUGE\n"
            "32 sts x 44 rounds = 10 cm in stocking stitch\n"
            "\n"
            "TOE\n"
            "Cast on 20 (24, 24) sts. Round 1: knit. Round 2: k1, m1, knit to 1 st before marker, m1, k1.\n"
            "Repeat rounds 1 and 2 until 60 (64, 72) sts.\n"
            "HEEL\n"
            "Work short rows back and forth: k to last st, w&t.\n"
            "© Petra Quill 2023. For personal use only.\n"
        ),
        "knitting",
        "Saltmarsh Socks",
        "Petra Quill",
        "1.1",
    ),
    "en-amigurumi": (
        (
            "CROCHET PATTERN\n"
            "Barnaby the Badger\n"
            "Design: Woolly Thicket\n"
            "\n"
            "Level: intermediate. Finished size: about 22 cm tall\n"
            "Materials: DK cotton in black, white and grey, 3 mm hook, safety eyes 8 mm, toy stuffing\n"
            "Abbreviations (US terms): ch, sc, inc, invdec, sl st, MR = magic ring\n"
            "\n"
            "HEAD\n"
            "Rnd 1: 6 sc in MR (6)\n"
            "Rnd 2: inc x 6 (12)\n"
            "Rnd 3: (sc, inc) x 6 (18)\n"
            "Rnds 4-9: sc in each st around (18)\n"
            "Stuff firmly. Fasten off.\n"
            "Copyright (c) 2022 Woolly Thicket. You may sell finished toys, please credit the designer.\n"
        ),
        "crochet",
        "Barnaby the Badger",
        "Woolly Thicket",
        None,
    ),
    "en-quilt": (
        (
            "Harbour Lights\n"
            "Quilt Pattern by Fernhill Patchworks\n"
            'Finished size 60" x 72"\n'
            "\n"
            "FABRIC REQUIREMENTS\n"
            "Background 3 yds; 12 fat quarters; backing 4 yds; binding 5/8 yd\n"
            "CUTTING (WOF = width of fabric)\n"
            'From background cut (10) 2 1/2" x WOF strips, subcut into (160) 2 1/2" squares\n'
            "PIECING\n"
            'Make 80 HSTs, press to the dark side and trim to 2 1/2".\n'
            "Sew into a nine patch. Add sashing. Quilt as desired and bind.\n"
        ),
        "quilting",
        "Harbour Lights",
        "Fernhill Patchworks",
        None,
    ),
    "en-crossstitch": (
        (
            "Robin on a Spade\n"
            "Counted cross stitch chart\n"
            "Design by Greta Hemlock\n"
            "Fabric: 14 count Aida, white. Stitch count 84 x 112. Design size 15.2 x 20.3 cm\n"
            "Stranded cotton, use two strands for full cross and one strand for backstitch.\n"
            "Key: 310 black, 321 red, 433 brown. French knots: 310\n"
        ),
        "embroidery",
        "Robin on a Spade",
        "Greta Hemlock",
        None,
    ),
    "en-handembroidery": (
        (
            "Wild Carrot\n"
            "hand embroidery pattern\n"
            "Thistle & Twine\n"
            "You will need: 18 cm hoop, linen, stranded cotton in 5 colours, needle no. 7\n"
            "Trace the design. Work the stems in stem stitch with 2 strands, the umbels in French knots, "
            "leaves in satin stitch.\n"
            "Size of the motif 12 x 14 cm\n"
            "© 2021 Thistle & Twine\n"
        ),
        "embroidery",
        "Wild Carrot",
        "Thistle & Twine",
        None,
    ),
    "de-naehen": (
        (
            'Wickelkleid "Ottilie"\n'
            "Schnittmuster und Nähanleitung\n"
            "Größen 34 - 48\n"
            "von Fadenlust\n"
            "\n"
            "Material: 2,5 m Viskose, 140 cm breit, Bügeleinlage, Nähgarn\n"
            "Schwierigkeitsgrad: Fortgeschrittene\n"
            "Nahtzugabe: Die Nahtzugabe von 1 cm ist enthalten.\n"
            "1. Schulternähte rechts auf rechts schließen und versäubern.\n"
            "2. Ärmel einsetzen, Seitennaht schließen, Saum 2 cm umbügeln und absteppen.\n"
            "Stand: 05/2023\n"
            "© Fadenlust 2023\n"
        ),
        "sewing",
        'Wickelkleid "Ottilie"',
        "Fadenlust",
        "05/2023",
    ),
    "de-haekeln": (
        (
            "Häkelanleitung\n"
            "Eulenpaar Hilde & Horst\n"
            "Entwurf und Anleitung: Maschenfee Ortrud\n"
            "\n"
            "Material: Baumwollgarn in 4 Farben, Häkelnadel 2,5 mm, Füllwatte, Sicherheitsaugen 9 mm\n"
            "Abkürzungen: Lm = Luftmasche, fM = feste Masche, Km = Kettmasche\n"
            "Rd 1: 6 fM in den Fadenring\n"
            "Rd 2: jede M verdoppeln (12)\n"
            "Rd 3: jede 2. M verdoppeln (18)\n"
        ),
        "crochet",
        "Eulenpaar Hilde & Horst",
        "Maschenfee Ortrud",
        None,
    ),
    "fr-couture": (
        (
            "PATRON DE COUTURE\n"
            "Robe Capucine\n"
            "Atelier Sauvageon\n"
            "Tailles 34 à 46\n"
            "\n"
            "Fournitures : 2,20 m de viscose en 140 cm de laize, 50 cm de thermocollant, 6 boutons\n"
            "Marges de couture de 1 cm comprises.\n"
            "1. Assemblez les épaules endroit contre endroit, surfilez.\n"
            "2. Montez les manches en faisant correspondre les crans.\n"
            "Usage personnel uniquement © Atelier Sauvageon 2022 - version 2.0\n"
        ),
        "sewing",
        "Robe Capucine",
        "Atelier Sauvageon",
        "2.0",
    ),
    "fr-tricot": (
        (
            "Pull Marjolaine\n"
            "Modèle de tricot\n"
            "par Elise Tourbier\n"
            "\n"
            "Tailles : XS (S, M, L, XL)\n"
            "Laine : mérinos, 5 (6, 7, 8, 9) pelotes de 50 g\n"
            "Aiguilles circulaires 4 mm\n"
            "Échantillon : 22 m et 30 rgs = 10 x 10 cm en jersey endroit\n"
            "Monter 96 (108, 120, 132, 144) mailles. Tricoter en côtes 2/2 pendant 5 cm.\n"
            "Rabattre souplement.\n"
        ),
        "knitting",
        "Pull Marjolaine",
        "Elise Tourbier",
        None,
    ),
    "nl-breien": (
        (
            "Trui Duinroos\n"
            "breipatroon\n"
            "ontwerp: Wolhuis Texelse\n"
            "\n"
            "Maten S (M, L). Garen: merinowol, 8 (9, 10) bollen van 50 g. Naalden 4 mm\n"
            "Stekenverhouding: 21 steken en 28 naalden = 10 x 10 cm in tricotsteek\n"
            "Zet 90 (98, 106) steken op en brei 6 cm boordsteek (1 r, 1 av). Kant losjes af.\n"
        ),
        "knitting",
        "Trui Duinroos",
        "Wolhuis Texelse",
        None,
    ),
    "es-ganchillo": (
        (
            "Patrón de ganchillo\n"
            "Pulpo Marino\n"
            "Diseño de Lana y Sal\n"
            "\n"
            "Materiales: algodón, aguja de ganchillo 2,5 mm, ojos de seguridad, relleno\n"
            "Abreviaturas: pb = punto bajo, aum = aumento, dism = disminución\n"
            "Vuelta 1: 6 pb en anillo mágico (6)\n"
            "Vuelta 2: 6 aum (12)\n"
            "Vuelta 3: (1 pb, 1 aum) x 6 (18)\n"
            "© 2023 Lana y Sal\n"
        ),
        "crochet",
        "Pulpo Marino",
        "Lana y Sal",
        None,
    ),
    "it-maglia": (
        (
            "Cardigan Ginepro\n"
            "schema ai ferri di Bottega Gomitolo\n"
            "\n"
            "Taglie S (M, L, XL)\n"
            "Filato: lana merino, 9 (10, 11, 12) gomitoli da 50 g\n"
            "Ferri circolari 4,5 mm\n"
            "Campione: 18 maglie e 24 ferri = 10 x 10 cm a maglia rasata\n"
            "Avviare 90 (98, 106, 114) maglie e lavorare a coste 2/2 per 6 cm. Intrecciare.\n"
        ),
        "knitting",
        "Cardigan Ginepro",
        "Bottega Gomitolo",
        None,
    ),
    "sv-sy": (
        (
            "Klänning Astrid\n"
            "Symönster i storlekar 34-48\n"
            "Syateljén Björkris\n"
            "\n"
            "Material: 2,5 m bomullstyg 140 cm, vlieseline, dragkedja 40 cm, sytråd\n"
            "Sömsmån 1 cm ingår i mönstret.\n"
            "1. Sy ihop axelsömmarna räta mot räta. Sicksacka.\n"
            "2. Sy i ärmarna, sy sidsömmarna. Fålla 2 cm.\n"
            "© 2022 Syateljén Björkris\n"
        ),
        "sewing",
        "Klänning Astrid",
        "Syateljén Björkris",
        None,
    ),
    "da-haekling": (
        (
            "Hækleopskrift\n"
            "Kaninen Kalle\n"
            "af Trine Garnkrog\n"
            "\n"
            "Materialer: bomuldsgarn, hæklenål 3 mm, fyld, sikkerhedsøjne\n"
            "Forkortelser: fm = fastmaske, lm = luftmaske, km = kædemaske\n"
            "Omgang 1: 6 fm i en magisk ring (6)\n"
            "Omgang 2: 2 fm i hver m (12)\n"
        ),
        "crochet",
        "Kaninen Kalle",
        "Trine Garnkrog",
        None,
    ),
    "nb-strikk": (
        (
            "Genser Fjellrev\n"
            "Strikkeoppskrift\n"
            "Design: Nøstefisken\n"
            "\n"
            "Størrelser: S (M) L (XL). Garn: ull, 8 (9) 10 (11) nøster. Pinner: rundpinne 3,5 mm\n"
            "Strikkefasthet: 22 masker og 30 omganger = 10 x 10 cm\n"
            "Legg opp 200 (216) 232 (248) masker og strikk vrangbord (2 r, 2 vr) i 6 cm. Fell av.\n"
        ),
        "knitting",
        "Genser Fjellrev",
        "Nøstefisken",
        None,
    ),
    "pl-szycie": (
        (
            "Sukienka Kalina\n"
            "Wykrój krawiecki PDF\n"
            "Pracownia Nitka\n"
            "Rozmiary 34-48\n"
            "\n"
            "Materiały: 2,2 m wiskozy, szerokość 140 cm, flizelina, zamek kryty 40 cm\n"
            "Zapasy na szwy 1 cm są wliczone.\n"
            "1. Zszyj szwy barkowe prawymi stronami do siebie, obrzuć.\n"
            "2. Wszyj rękawy, zszyj szwy boczne, podwiń dół 2 cm.\n"
            "© 2023 Pracownia Nitka\n"
        ),
        "sewing",
        "Sukienka Kalina",
        "Pracownia Nitka",
        None,
    ),
    "fi-neule": (
        (
            "Pipo Sammal\n"
            "Neuleohje\n"
            "Suunnittelu: Lankapolku\n"
            "\n"
            "Koot: S (M, L). Lanka: merinovilla, 2 kerää. Puikot: pyöröpuikko 4 mm\n"
            "Tiheys: 22 s ja 30 krs = 10 cm sileää neuletta\n"
            "Luo 88 (96, 104) silmukkaa. Neulo joustinneuletta (2 o, 2 n) 6 cm. Päättele langat.\n"
        ),
        "knitting",
        "Pipo Sammal",
        "Lankapolku",
        None,
    ),
    "ja-sewing": (
        (
            "かんたんギャザースカート\n"
            "型紙と作り方\n"
            "デザイン：糸車工房\n"
            "サイズ：90・100・110\n"
            "材料：表布 110cm幅 80cm、平ゴム 2cm幅 50cm\n"
            "縫い代 1cm込み\n"
            "1. 前スカートと後ろスカートを中表に合わせて脇を縫う。縫い代にジグザグミシンをかける。\n"
            "2. ウエストを三つ折りにして縫い、ゴムテープを通す。\n"
            "© 2023 糸車工房\n"
        ),
        "sewing",
        "かんたんギャザースカート",
        "糸車工房",
        None,
    ),
    "en-machineknit": (
        (
            "Tideline Raglan\n"
            "for standard gauge knitting machine\n"
            "Carriage House Knits\n"
            "\n"
            "Tension: 30 sts and 44 rows to 10 cm, T7\n"
            "Sizes: to fit chest 81 (86, 91) cm\n"
            "BACK\n"
            "Push 130 (138, 146) Ns to WP. Cast on with WY and knit 10 rows. RC 000. COR. Change to MY and "
            "knit to RC 120.\n"
            "Cast off 6 sts at the beginning of the next 2 rows.\n"
        ),
        "knitting",
        "Tideline Raglan",
        "Carriage House Knits",
        None,
    ),
    "en-bag": (
        (
            "The Parsley Pouch - PDF sewing pattern\n"
            "A zipped pouch in three sizes\n"
            "By Bramble & Bodkin\n"
            "\n"
            "Fabric: 2 fat quarters, fusible interfacing, 20 cm zip\n"
            'A 1/4" seam allowance is included\n'
            "1. Cut 2 main fabric, cut 2 lining. Place the zip right sides together with the main panel and "
            "stitch with a zipper foot.\n"
            "2. Topstitch along the zip. Sew the gusset, turn right side out and press.\n"
        ),
        "sewing",
        "The Parsley Pouch",
        "Bramble & Bodkin",
        None,
    ),
    "en-doll": (
        (
            "SOFTIE PATTERN\n"
            "Mr. Fennel the Fox\n"
            "Pip and Plum Studio\n"
            "Cut 2 of each piece from felt. Seam allowance 5 mm. Backstitch the pieces with right sides "
            "together, leave a gap, stuff and slip stitch closed.\n"
            "Page 1 of 4. Print at 100 %. Test square 2 cm.\n"
        ),
        "sewing",
        "Mr. Fennel the Fox",
        "Pip and Plum Studio",
        None,
    ),
}

# Documents that are no patterns, many of them of people who sew.
NOT_PATTERNS: dict[str, str] = {
    "en sewing machine manual": (
        "Operating instructions\n"
        "Model 790 sewing machine\n"
        "Contents\n"
        "Parts of your machine ... 4\n"
        "Threading the upper thread ... 8\n"
        "Winding the bobbin ... 10\n"
        "Selecting a stitch ... 14\n"
        "Sewing zigzag stitches, overlock stitches and buttonholes\n"
        "Changing the needle. Switch off the machine and unplug the power cord before changing the "
        "needle.\n"
        "Presser foot lever. Foot pedal. Attach the zipper foot for sewing a zip.\n"
        "Press the seam, lower the presser foot and sew a few stitches in reverse.\n"
        "Troubleshooting: the thread breaks, the fabric puckers, the needle hits the throat plate.\n"
        "Technical data: rated voltage 220-240 V, 70 W. Guarantee two years. Disposal.\n"
        "Oil the hook race every month. Clean the feed dogs with a brush.\n"
    ),
    "de kassenbon stoffladen": (
        "Stoffladen am Markt\n"
        "Quittung Nr. 2231\n"
        "Jersey Streifen 1,5 m x 14,90 22,35\n"
        "Reißverschluss 60 cm 4,50\n"
        "Nähgarn 3,20\n"
        "Schnittmuster Kleid Papier 12,00\n"
        "Zwischensumme 42,05\n"
        "enthaltene MwSt 19 % 6,71\n"
        "Gesamtbetrag EUR 42,05\n"
        "Vielen Dank für Ihren Einkauf\n"
    ),
    "en pattern receipt": (
        "Order confirmation\n"
        "Thank you for your order! Order number 48213\n"
        "Willow Dress PDF sewing pattern 12.00\n"
        "Fern Shawl knitting pattern (download) 6.50\n"
        "Subtotal 18.50 VAT 3.08 Order total 18.50\n"
        "Payment method: card. Billing address: Nora Pell, 3 Mill Lane\n"
        "Download your files: A4, A0, US Letter, projector\n"
    ),
    "fr facture patron": (
        "Facture n° 2024-118\n"
        "Les Ciseaux Gris - SIRET 000 000 000\n"
        "Patron de couture PDF Robe Aubade - tailles 34-48 - 12,00 €\n"
        "Patron de tricot Châle Brume 6,00 €\n"
        "Sous-total 18,00 TVA 3,00 Total TTC 18,00 €\n"
        "Mode de paiement : carte. Adresse de facturation : Odile Marchais\n"
    ),
    "en novel": 6
    * (
        "Chapter Seven\n"
        "She turned back the collar of his coat and felt for the button she had sewn on in spring. The "
        "sleeve was torn at the cuff, and the lining hung out like a tongue. They walked to the front "
        "of the house, where the children were playing with a ball of wool and a chain of daisies. 'You "
        "must cut the bread,' she said, 'and gather the eggs.' He laughed and put his hands into his "
        "pockets. The yarn about the sailor was an old one; he had cast off from the quay and never "
        "looked back. The rows of cabbages ran down to the river.\n"
    ),
    "en craft magazine page": (
        "Knitting in the war years\n"
        "In the winter of 1916 women all over the country took up their needles. Socks, scarves and "
        "helmets were knitted in grey wool and sent to the front.\n"
        "Historians have counted more than a million pairs. The committee met each Tuesday in the town "
        "hall, and tea was served by volunteers.\n"
        "Read more in the newsletter of the historical society. Subscribe for the year. Letters to the "
        "editor should reach us by the fifteenth.\n"
        "The exhibition is open from April to October. Admission free. Reservations by telephone. "
        "Wheelchair access.\n"
    ),
    "de roman": 6
    * (
        "Zweites Kapitel\n"
        "Er legte den Mantel über den Stuhl und sah aus dem Fenster. Der Ärmel war am Saum aufgerissen, "
        "der Kragen schmutzig. Unten auf der Straße spielten Kinder mit einem Knäuel Wolle. Die alte "
        "Frau strickte, ohne hinzusehen, und die Nadeln klapperten. Niemand sprach. Am Abend kam der "
        "Brief, auf den alle gewartet hatten.\n"
    ),
    "nl recept": (
        "Appeltaart\n"
        "Ingrediënten: 300 g bloem, 200 g boter, 150 g suiker, 2 eieren, 1 theelepel kaneel, 1,5 kg "
        "appels\n"
        "Verwarm de oven voor op 175 graden. Kneed het deeg en laat het rusten. Rol twee derde uit en "
        "bekleed de vorm.\n"
        "Snijd de rest in repen en leg ze kruislings op de taart. Bakken in 60 minuten. Voor 8 "
        "personen.\n"
    ),
    "es factura": (
        "Factura 2024/118\n"
        "Mercería La Bobina - CIF B00000000\n"
        "Patrón de costura falda 9,50\n"
        "Cremallera invisible 2 x 3,20 6,40\n"
        "Base imponible 13,14 IVA 21% 2,76 Total a pagar 15,90 €\n"
        "Forma de pago: tarjeta\n"
    ),
    "it estratto": (
        "Estratto conto n. 7/2024\n"
        "Numero di conto 00123456 intestato a Ginevra Solari\n"
        "02.07 Bonifico stipendio 1.850,00\n"
        "05.07 Addebito bolletta luce -84,10\n"
        "09.07 Pagamento merceria Filo d'oro -36,90\n"
        "Saldo finale 1.729,00\n"
    ),
    "sv bruksanvisning": (
        "Bruksanvisning symaskin 790\n"
        "Säkerhetsföreskrifter. Dra ur stickkontakten innan du byter nål.\n"
        "Trädning av övertråd. Spola undertråden. Pressarfot och fotpedal.\n"
        "Välj stygn: raksöm, sicksack, overlocksöm, knapphål.\n"
        "Felsökning. Rengöring av griparen. Tekniska data: spänning 230 V, effekt 70 W. Garanti två år. "
        "Återvinning av apparaten.\n"
    ),
    "da faktura": (
        "Faktura 1182\n"
        "Garnbutikken Havnegade, CVR 00000000\n"
        "Strikkeopskrift Nordlys 45,00\n"
        "Uldgarn 6 nøgler a 42,00 252,00\n"
        "Subtotal 297,00 heraf moms 59,40 At betale DKK 297,00\n"
        "Betalingsbetingelser: netto kontant\n"
    ),
    "nb brev": (
        "Referat fra styremøte i Teaterlaget\n"
        "Dagsorden: 1. Godkjenning av innkalling 2. Kostymer til vårens stykke 3. Eventuelt\n"
        "Sak 2: Tolv kostymer skal sys. Kåre kjøper stoff og knapper. Symaskinen er på service.\n"
        "Neste møte er 14. mars. Med vennlig hilsen Solveig\n"
    ),
    "pl rachunek": (
        "Faktura VAT nr 118/2024\n"
        "Sprzedawca: Pasmanteria Igiełka NIP 0000000000\n"
        "Wykrój krawiecki sukienka 29,00\n"
        "Włóczka 3 motki 54,00\n"
        "Netto 67,48 VAT 23% 15,52 Do zapłaty 83,00 zł\n"
        "Termin płatności 14 dni\n"
    ),
    "fi kuitti": (
        "Lasku 1182\n"
        "Kangaskauppa Neula, Y-tunnus 0000000-0\n"
        "Trikoo raidallinen 1,5 m 22,35\n"
        "Ompelukaava mekko 12,00\n"
        "Yhteensä 34,35 sis. alv 24 % 6,65\n"
        "Eräpäivä 14.4.2024 Viitenumero 1234561\n"
    ),
    "ja receipt": (
        "領収書\n"
        "手芸店みずたま\n"
        "型紙ダウンロード 1点 1,200円\n"
        "小計 1,200円 消費税 120円 合計金額 1,320円\n"
        "お支払い方法 クレジットカード ご注文番号 48213\n"
    ),
    "en shop newsletter": (
        "New arrivals this week! Free shipping on orders over 50\n"
        "Shop now: Rosalie Dress PDF sewing pattern 14.00 add to cart\n"
        "Linen in six colours, 18.00 per metre, in stock\n"
        "Knitting yarn sale ends Sunday, discount code SPRING\n"
        "View in browser. Unsubscribe. Opening hours Mon-Fri 10-18\n"
    ),
    "en worksheet": (
        "Worksheet 4: pattern recognition\n"
        "Name ______ Date ______\n"
        "Exercise 1. Continue the sequence: 2, 4, 8, __\n"
        "Exercise 2. Find the rule of the number pattern and write the next three numbers.\n"
        "Pupils work in pairs. Answer key on page 3.\n"
    ),
    "en software": (
        "Design patterns in practice\n"
        "The observer pattern lets objects subscribe to events. The factory pattern hides construction.\n"
        "Figure 3 shows the class diagram. The source code of each pattern is in the appendix. Threads "
        "are joined by the scheduler.\n"
        "We discuss the decorator pattern, the chain of responsibility and the template method.\n"
        "References: et al. Abstract. Algorithm 2.\n"
    ),
    "en floor plan": (
        "Ground floor plan\n"
        "Scale 1:50\n"
        "Kitchen 14.2 m2\n"
        "Living room 22 m2\n"
        "Hall\n"
        "Bedroom 1\n"
        "Bathroom\n"
        "Front elevation\n"
    ),
    "en boarding": (
        "BOARDING PASS\n"
        "PELL/NORA\n"
        "Flight PF 218 Gate 12 Seat 14C\n"
        "Departure 08:25 Arrival 10:05\n"
        "Booking reference X7K2PQ\n"
    ),
    "de stromrechnung": (
        "Rechnung\n"
        "Verbrauchsabrechnung 2025\n"
        "Zählerstand alt 1204 neu 3310 kWh\n"
        "Grundpreis 96,00 Arbeitspreis 631,80\n"
        "Abschlag monatlich 61,00\n"
        "Kundennummer 8812\n"
    ),
    "en theatre programme": (
        "The Lanternfield Players present\n"
        "A Winter's Tale\n"
        "Costumes: Nora Pell, Josine Halmar. Wardrobe mistress: Ivy Crook. Sewing team: Alma, Greta, "
        "June. \n"
        "Act One: a room in the palace. Interval of twenty minutes. Refreshments in the front hall.\n"
        "Next production: The Harbour Master. Auditions in May. Tickets at the door. Dress rehearsal "
        "open to members.\n"
    ),
    "en knitting machine manual": (
        "User manual: electronic knitting machine KM-9\n"
        "Safety instructions. Unplug the power cord before cleaning.\n"
        "Parts: carriage, needle bed, row counter, tension dial, mast. \n"
        "Fitting the carriage. Setting the tension dial. Replacing needles. Oiling the needle bed.\n"
        "Error codes E1 to E9. Troubleshooting. Technical data: 220-240 V, 15 W. Warranty. Disposal.\n"
    ),
    "en fabric care": (
        "Care guide for linen\n"
        "Wash at 40 degrees. Do not tumble dry. Iron on the reverse while damp. Linen softens with each "
        "wash.\n"
        "Keep dark colours apart. Our linen is woven in small mills. For returns write to the shop "
        "within 14 days.\n"
    ),
    "en letter about sewing": (
        "Dear Nora,\n"
        "thank you for the lovely skirt. The zip is a little stiff but the hem hangs beautifully and "
        "the pockets are deep enough for everything.\n"
        "I wore it to the harvest supper with the blue cardigan that you knitted. Mother asks whether "
        "you might shorten her sleeves.\n"
        "The children send their love. Come for tea on Sunday if the buses are running.\n"
        "Yours, Ivy\n"
    ),
    "fr roman": 6
    * (
        "Chapitre premier\n"
        "Elle avait posé son manteau sur la chaise. La manche était décousue, le col usé, et il "
        "manquait un bouton sur le devant. Les enfants jouaient avec une pelote de laine. Dehors, la "
        "pluie tombait sur le port. Personne ne parlait. Le soir, une lettre arriva de la ville.\n"
    ),
    "en quilting bee minutes": (
        "Minutes of the meeting of the Quilters' Guild\n"
        "Present: Alma, Greta, Ivy. Apologies: June.\n"
        "Agenda 1. The raffle quilt is finished. 2. The hall must be booked for the autumn show. 3. "
        "Treasurer's report: balance 218.40.\n"
        "Any other business: the urn has been descaled. Next meeting 4 May.\n"
    ),
    "en dressmaking course leaflet": (
        "Dressmaking course for beginners\n"
        "Ten Tuesday evenings in the village hall. You will learn to thread a machine, read a pattern, "
        "insert a zip and sew a hem.\n"
        "Fee 95.00 including tea. Please bring your own scissors. Booking form overleaf. Places are "
        "limited.\n"
        "Contact the secretary by 14 September. Cancellation: fees are not refunded.\n"
    ),
    "da madopskrift": (
        "Opskrift: Kanelsnegle\n"
        "Ingredienser til 20 stk: 500 g hvedemel, 100 g smør, 75 g sukker, 2,5 dl mælk, 50 g gær, 1 æg\n"
        "Rør gæren ud i den lune mælk. Ælt dejen i 10 minutter og lad den hæve i 1 time.\n"
        "Rul dejen ud til 40 x 60 cm, smør fyldet på, rul sammen og skær i 20 stykker. Bages i ovnen "
        "ved 200 grader i 12 minutter.\n"
    ),
    "nb matoppskrift": (
        "Oppskrift på fiskesuppe\n"
        "4 porsjoner. Ingredienser: 400 g torsk, 2 gulrøtter, 1 purre, 3 dl fløte, 1 l kraft, 2 ss "
        "smør, salt og pepper\n"
        "Kutt grønnsakene i biter på 1 cm. Fres dem i smøret, ha i kraften og kok i 10 minutter. Rør "
        "inn fløten. Legg i fisken og la den trekke i 5 minutter.\n"
    ),
    "fi resepti": (
        "Korvapuustit\n"
        "Ainekset: 5 dl maitoa, 50 g hiivaa, 2 munaa, 2 dl sokeria, 200 g voita, 14 dl vehnäjauhoja\n"
        "Alusta taikina ja anna kohota 40 minuuttia. Kaulitse levyksi 30 x 60 cm. Levitä voi ja kaneli, "
        "kääri rullalle ja leikkaa paloiksi. Paista uunissa 225 asteessa 12 minuuttia.\n"
    ),
    "pl przepis": (
        "Szarlotka - przepis\n"
        "Składniki: 3 szklanki mąki, 250 g masła, 1 szklanka cukru, 4 jajka, 2 łyżeczki proszku do "
        "pieczenia, 1,5 kg jabłek\n"
        "Zagnieć ciasto i włóż do lodówki na 30 minut. Wyłóż formę 24 x 36 cm. Piecz 50 minut w 180 "
        "stopniach. Porcje: 12.\n"
    ),
    "nl naaimachine": (
        "Gebruiksaanwijzing naaimachine 790\n"
        "Veiligheidsvoorschriften: haal de stekker uit het stopcontact voordat u de naald verwisselt.\n"
        "Bovendraad inrijgen. Spoel opwinden. Naaivoet. Voetpedaal. Steken kiezen: rechte steek, "
        "zigzagsteek, knoopsgat.\n"
        "Storing: de draad breekt, de stof rimpelt. Onderhoud en reiniging. Technische gegevens: 230 V, "
        "70 W. Garantie 2 jaar.\n"
    ),
    "fr machine": (
        "Mode d'emploi - machine à coudre 790\n"
        "Consignes de sécurité : débranchez l'appareil avant de changer l'aiguille.\n"
        "Enfilage du fil supérieur. Canette. Pied-de-biche. Pédale. Points : point droit, point zigzag, "
        "boutonnière.\n"
        "Dépannage : le fil casse, le tissu fronce. Nettoyage. Caractéristiques techniques : 230 V, 70 "
        "W. Garantie 2 ans. Mise au rebut.\n"
    ),
    "it macchina": (
        "Manuale di istruzioni macchina per cucire 790\n"
        "Avvertenze di sicurezza: staccare la spina prima di cambiare l'ago.\n"
        "Infilare il filo superiore. Avvolgere la spolina. Piedino. Pedale. Punto dritto, punto zigzag, "
        "asola.\n"
        "Risoluzione dei problemi: il filo si spezza. Pulizia e manutenzione. Dati tecnici: 230 V, 70 "
        "W. Garanzia 2 anni. Smaltimento.\n"
    ),
    "es maquina": (
        "Manual de instrucciones de la máquina de coser 790\n"
        "Instrucciones de seguridad: desenchufe el aparato antes de cambiar la aguja.\n"
        "Enhebrado del hilo superior. Devanado de la canilla. Prensatelas. Pedal. Puntada recta, "
        "zigzag, ojal.\n"
        "Solución de problemas: el hilo se rompe. Limpieza y mantenimiento. Datos técnicos: 230 V, 70 "
        "W. Garantía 2 años.\n"
    ),
    "ja manual": (
        "取扱説明書 電子ミシン 790\n"
        "安全上のご注意 針を交換するときは電源コードを抜いてください。\n"
        "上糸のかけ方 4ページ 下糸の巻き方 6ページ 押さえの交換 8ページ 直線縫い ジグザグ縫い ボタンホール 10ページ\n"
        "故障かな？と思ったら 定格 100V 消費電力 70W 保証書 お手入れ 廃棄について\n"
    ),
    "pl instrukcja": (
        "Instrukcja obsługi maszyny do szycia 790\n"
        "Zasady bezpieczeństwa: przed wymianą igły wyjmij wtyczkę z gniazdka.\n"
        "Nawlekanie nici górnej. Nawijanie szpulki. Stopka. Pedał. Ścieg prosty, zygzak, dziurka.\n"
        "Rozwiązywanie problemów. Czyszczenie i konserwacja. Dane techniczne: napięcie 230 V, moc 70 W. "
        "Gwarancja 2 lata.\n"
    ),
    "fi käyttöohje": (
        "Käyttöohje ompelukone 790\n"
        "Turvallisuusohjeet: irrota pistotulppa ennen neulan vaihtoa.\n"
        "Ylälangan pujotus. Alalangan puolaus. Paininjalka. Jalkapoljin. Suoraommel, siksak, napinläpi.\n"
        "Vianetsintä. Puhdistus ja hoito. Tekniset tiedot: jännite 230 V, teho 70 W. Takuu 2 vuotta.\n"
    ),
    "de naehkurs rechnung": (
        "Rechnung Nr. 2024-88\n"
        "Nähatelier Kreuzstich, Kursgebühr Nähkurs für Anfänger 6 x 2 Std. 120,00\n"
        "Schnittmuster Tasche 8,00, Vlieseinlage 1 m 4,90, Reißverschluss 3,20\n"
        "Zwischensumme 136,10 MwSt 19 % 25,86 Gesamtbetrag 161,96 EUR. Zahlungsziel 14 Tage. IBAN DE00 "
        "0000\n"
    ),
    "es novela": 6
    * (
        "Capítulo primero\n"
        "Ella dejó el abrigo sobre la silla. La manga estaba descosida, el cuello gastado, y faltaba un "
        "botón en el delantero. Los niños jugaban con un ovillo de lana. Fuera llovía sobre el puerto. "
        "Nadie hablaba.\n"
    ),
    "en tax": (
        "Self assessment tax return 2024\n"
        "Income from self employment: handmade bags and quilts 4,218.00. Allowable expenses: fabric "
        "1,204.50, thread 88.00, sewing machine service 96.00\n"
        "Net profit 2,829.50. Balance due 31 January. Account number 0012345678 sort code 00-00-00\n"
    ),
    "en hiring form": (
        "Costume hire agreement\n"
        "Hirer: Lanternfield Players. Hire period 4 to 18 May. Deposit 120.00, balance due on "
        "collection.\n"
        "12 bonnets, 6 waistcoats size M, 4 skirts waist 70 to 86 cm, 2 cloaks. Items must be returned "
        "clean. Lost buttons are charged at 0.50 each.\n"
        "Signed ______ Date ______\n"
    ),
    "en price list": (
        "Fabric price list spring\n"
        "Linen 140 cm wide 18.00 per metre; jersey 150 cm 14.50; denim 145 cm 16.00; lining 7.90; "
        "fusible interfacing 6.20; elastic 25 mm 1.20\n"
        "Zips from 2.40, buttons from 0.40, bias binding 1.10. In stock now. Free delivery over 40.00. "
        "Opening hours 9 to 17.\n"
    ),
    "sv faktura": (
        "Faktura 2024-31\n"
        "Tygboden Ek, organisationsnummer 000000-0000\n"
        "Symönster klänning 89,00. Bomullstyg 2,5 m 247,50. Dragkedja 35,00\n"
        "Delsumma 371,50 moms 25 % 92,88 Att betala 464,38 SEK. Förfallodatum 2024-05-14. Bankgiro "
        "000-0000\n"
    ),
    "en scientific": (
        "Pattern formation in knitted fabrics under tension. Abstract. We model the stitch geometry of "
        "weft-knit fabric and measure the elastic response over 24 samples.\n"
        "The gauge of the fabric was 22 stitches and 30 rows per 10 cm. Figure 2 shows the strain. "
        "References: Crook et al. (2019), Pell and Halmar (2021). Theorem 1. Equation 4.\n"
    ),
}

# Patterns that hold words of two crafts: (text, craft).
MIXED: dict[str, tuple[str, str]] = {
    "quilt w sewing": (
        (
            "Cobblestone Baby Quilt\n"
            "by Larch & Linen\n"
            'Finished size 36" x 42". Skill level: beginner\n'
            "Materials: 1 1/4 yds background, 10 fat quarters, 1 3/8 yds backing, 3/8 yd binding, batting "
            '42" x 48", rotary cutter, thread\n'
            'All seam allowances are 1/4". Press seams open. Sew right sides together.\n'
            '1. Cut the fat quarters into 4 1/2" squares. 2. Sew the squares into rows of 8; press. 3. Sew '
            "rows together. 4. Topstitch or quilt as desired. 5. Bind the edges.\n"
        ),
        "quilting",
    ),
    "ITH zip pouch": (
        (
            "In the hoop zip pouch\n"
            "Machine embroidery design by Stitchery Nook\n"
            "Sizes for 4x4, 5x7 and 6x10 hoops. Formats: DST, PES, JEF\n"
            'You need: cut away stabilizer, 12" zipper, cotton fabric, lining, thread\n'
            "1. Hoop the stabilizer and stitch the placement line. 2. Place the zip over the line, stitch "
            "the tack down. 3. Place the front fabric right side down on the zip, stitch, fold over and "
            "topstitch.\n"
            "4. Open the zip halfway. Place lining right sides together. Stitch the final seam, trim with a "
            '1/4" seam allowance and turn.\n'
        ),
        "embroidery",
    ),
    "knitted toy": (
        (
            "Hector Hare\n"
            "A knitting pattern by Burrow & Bale\n"
            "Materials: DK yarn 100 g, 3.25 mm needles, toy stuffing, safety eyes, tapestry needle\n"
            "Tension: 26 sts and 36 rows to 10 cm\n"
            "BODY: Cast on 20 sts. Row 1: purl. Row 2: kfb to end (40 sts). Work 12 rows in st st. Next "
            "row: k2tog to end.\n"
            "MAKING UP: Sew the side seam, stuff firmly, gather the cast-off edge. Sew the ears to the head "
            "with backstitch. Embroider the nose with satin stitch.\n"
        ),
        "knitting",
    ),
    "crochet blanket charts": (
        (
            "Ripple Blanket\n"
            "crochet pattern, UK terms\n"
            "Hook 4 mm, DK yarn 12 balls of 50 g. Tension: 16 tr = 10 cm\n"
            "Foundation: ch 164. Row 1: 1 tr in 4th ch from hook, 1 tr in each of next 5 ch, tr3tog, *1 tr "
            "in next 6, 3 tr in next; rep from * to end.\n"
            "Fasten off. Weave in ends.\n"
        ),
        "crochet",
    ),
    "cross stitch bag": (
        (
            "Hedgehog Lavender Bag\n"
            "Cross stitch by Thimble Lane\n"
            "Aida 14 count, 40 x 50 stitches, stranded cotton: 5 colours. Stitch in full cross with two "
            "strands. Backstitch with one strand.\n"
            "Making up: cut the backing fabric, right sides together sew a 1 cm seam, leave the top open, "
            "fill with lavender, sew the ribbon.\n"
        ),
        "embroidery",
    ),
    "fpp": (
        (
            "Lighthouse Block\n"
            "Foundation paper piecing pattern\n"
            '12" finished block. Print at 100 %. Check the 1" square.\n'
            'Cut out templates A1 to C7 leaving 1/4" seam allowance. Sew along the lines in order, trim and '
            "press. Join sections.\n"
        ),
        "quilting",
    ),
    "fr ganchillo": (
        (
            "Patron amigurumi Léon le Lion\n"
            "par La Pelote Rousse\n"
            "Crochet 2,5 mm, coton, ouate de rembourrage, yeux de sécurité 8 mm\n"
            "T1 : 6 ms dans un cercle magique (6). T2 : 6 aug (12). T3 : (1 ms, 1 aug) x 6 (18). T4 à 8 : "
            "18 ms.\n"
            "Arrêter le fil. Rembourrer.\n"
        ),
        "crochet",
    ),
    "de maschine": (
        (
            "Pullover Förde\n"
            "Maschinenstrickanleitung für Einbett-Feinstricker\n"
            "Garn 400 g, Maschenprobe: 30 M und 44 R = 10 x 10 cm, MW 7\n"
            "Rückenteil: 130 M mit Abfallgarn anschlagen, RZ 000. Schlitten rechts. 120 R stricken. "
            "Beidseitig 6 M abketten.\n"
        ),
        "knitting",
    ),
    "sv virk": (
        (
            "Grytlapp Vinterros\n"
            "virkmönster av Garnstugan Ek\n"
            "Virknål 3 mm, bomullsgarn 50 g. Virka 6 fm i en magisk ring. Varv 2: 2 fm i varje m (12). Varv "
            "3: *1 fm, 2 fm i nästa; upprepa från * (18). Klipp av garnet.\n"
        ),
        "crochet",
    ),
    "nl kruissteek": (
        (
            "Kruissteekpatroon Roodborstje\n"
            "ontwerp Draad en Daad\n"
            "Aida 5,4 kruisjes per cm, 84 x 112 kruisjes, borduurgaren in 9 kleuren. Hele kruissteek met 2 "
            "draden, stiksteek met 1 draad.\n"
        ),
        "embroidery",
    ),
    "pl druty": (
        (
            "Czapka Szron\n"
            "wzór na druty\n"
            "Włóczka: merino 100 g. Druty na żyłce 4 mm. Próbka: 22 oczka i 30 rzędów = 10 x 10 cm\n"
            "Nabierz 96 oczek i połącz w okrążenie. Okr. 1: *2 op, 2 ol; powtarzaj od *. Zakończ "
            "elastycznie.\n"
        ),
        "knitting",
    ),
    "fi virkkaus": (
        (
            "Virkattu kettu Repolainen\n"
            "virkkausohje, Silmukkamaa\n"
            "Puuvillalanka, koukku 2,5 mm, täytevanu. 1. krs: 6 ks taikarenkaaseen (6). 2. krs: 2 ks "
            "jokaiseen (12). 3. krs: *1 ks, 2 ks seuraavaan* (18). Katkaise lanka.\n"
        ),
        "crochet",
    ),
    "ja amigurumi": (
        (
            "くまのあみぐるみ\n"
            "デザイン：毛糸屋しろくま\n"
            "材料：並太毛糸 30g、かぎ針4/0号、手芸綿\n"
            "1段目 わの作り目に細編み6目。2段目 細編み2目ずつ編み入れる（12目）。3段目（18目）。\n"
        ),
        "crochet",
    ),
    "it cucito": (
        (
            "Gonna Ortensia\n"
            "Cartamodello PDF taglie 38-50\n"
            "Sartoria Pettirosso\n"
            "Occorrente: 1,5 m di lino altezza tessuto 140 cm, cerniera invisibile 22 cm, fliselina\n"
            "Margine di cucitura 1 cm compreso. 1. Cucite i fianchi dritto contro dritto, sorfilate. 2. "
            "Applicate il cinturino. 3. Orlo 2 cm.\n"
        ),
        "sewing",
    ),
    "es costura": (
        (
            "Vestido Amapola\n"
            "Patrón de costura tallas 36-48\n"
            "El Taller de Inés\n"
            "Materiales: 2,5 m de viscosa, entretela, cremallera invisible. Margen de costura incluido de 1 "
            "cm.\n"
            "1. Une los hombros derecho con derecho, sobrehila y plancha. 2. Monta las mangas casando los "
            "piquetes.\n"
        ),
        "sewing",
    ),
    "dog coat": (
        (
            "Barkley Dog Coat\n"
            "PDF sewing pattern, sizes XS-XL\n"
            "Waggle & Woof Patterns\n"
            "Fabric: softshell 0.5 m; fleece lining; 25 mm webbing; side release buckle. Seam allowance 1 "
            "cm included.\n"
            "1. Cut 1 on fold from softshell, cut 1 lining. 2. Right sides together, sew round the neck. "
            "Turn, press and topstitch.\n"
        ),
        "sewing",
    ),
    "digital": (
        (
            "Wildflower Wreath - machine embroidery\n"
            "5 sizes: 98 x 98 mm to 180 x 178 mm, 12400 stitches, 7 colour changes\n"
            "Licence: personal and small business use. Digitised by Needle Fen\n"
        ),
        "embroidery",
    ),
    "macrame": (
        (
            "Macramé Plant Hanger\n"
            "pattern by Knotwell\n"
            "You need 24 m of 4 mm cotton cord and a wooden ring. Cut 6 cords of 4 m. Fold in half through "
            "the ring and tie a wrapping knot of 3 cm.\n"
            "Square knot x 10. Leave 8 cm and tie alternating square knots.\n"
        ),
        "other",
    ),
}

# Documents of which nobody would say that they are patterns, with too little to be sure of it.
UNSURE: dict[str, str] = {
    "ja novel": (
        "第一章\n"
        "祖母は窓辺で毛糸を巻いていた。針の音だけが部屋に響き、雨は港に降りつづけていた。袖口のほつれた上着を椅子にかけ、男は黙って海を見ていた。夜になって、待っていた手紙が届いた。\n"
    ),
    "en measurement form": (
        "Measurement sheet\n"
        "Name ______ Character ______ Date ______\n"
        "Height ___ Bust ___ Waist ___ Hips ___ Inside leg ___ Neck ___ Shoe size ___\n"
        "Return this form to the wardrobe by Friday. Rehearsals Tuesday and Thursday 19:30, church "
        "hall.\n"
    ),
    "en yarn label": (
        "Wether Wool DK. 100 g = 220 m. 22 sts x 28 rows = 10 x 10 cm. 4 mm needles. Hand wash. Shade "
        "114 Heron, dye lot 20.\n"
    ),
    "en music": (
        "Adagio in D minor\n"
        "for two violas\n"
        "Largo. con sordino. pp cresc. poco rit. D.C. al Fine\n"
        "1 2 3 4 5 6 7 8 12 16 20 24 28\n"
        "Transcribed by Ivy Crook 1998\n"
    ),
}
