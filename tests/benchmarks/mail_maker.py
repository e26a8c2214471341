"""Invented mail of many years, for the benchmarks: receipts of twelve languages in unlike layouts, and what drowns them.

`letters` gives (kind, raw) in a fixed order that depends on the seed only.  The mixture is a guess at a private
mailbox (common practice, no published source): newsletters, talk, photographs, notices of other programs, and a few
letters about parcels, baskets and passwords that use the words of shops.  People, shops and goods are invented.
"""

from __future__ import annotations

import base64
import quopri
import random
from collections.abc import Iterator
from email.header import Header

# Share of each kind among the mails that are no evidence, and whether its words are those of shops.
OTHER = {"newsletter": 44, "talk": 28, "notice of a program": 15, "photographs": 8, "words of shops": 5}

_TITLES = "Linnet Apron|Bramble Cloak|Foxglove Waistcoat|Harbour Smock|Juniper Mittens|Marlow Breeches|Otter Hood|Plover Gown|Quill Doublet|Rowan Stole|Sorrel Tabard|Teasel Cap".split(
    "|"
)
_SHOPS = "Larch & Loom|Pins on Parade|The Button Wren|Tansy Threads|Mallow Patterns|Kettle & Quill|Needlewick|Oakmoss Atelier".split(
    "|"
)
_WORDS = {
    "en": "the of and rehearsal costume we need more cloth for third act green velvet please bring your scissors on thursday evening there will be tea and the new boots have come stage lights are hung nobody knows where the crown went but ada has looked in every basket twice it was lovely to see you all again",
    "de": "die der und Probe Kostüm wir brauchen mehr Stoff für den dritten Akt grüner Samt bitte bring deine Schere am Donnerstag mit es gibt Tee und die neuen Stiefel sind da niemand weiß wo die Krone ist aber Ada hat in jedem Korb zweimal gesucht schön war es euch alle wieder zu sehen",
    "fr": "la le et répétition costume nous avons besoin de tissu pour le troisième acte velours vert apporte tes ciseaux jeudi soir il y aura du thé et les bottes neuves sont là personne ne sait où est la couronne mais Ada a cherché partout deux fois",
    "nl": "de het en repetitie kostuum we hebben meer stof nodig voor het derde bedrijf groen fluweel neem donderdag je schaar mee er is thee en de nieuwe laarzen zijn er niemand weet waar de kroon is maar Ada heeft overal twee keer gezocht",
    "sv": "den och repetition kostym vi behöver mer tyg till tredje akten grön sammet ta med din sax på torsdag det finns te och de nya stövlarna har kommit ingen vet var kronan är men Ada har letat överallt två gånger",
}
# Subject, thanks, number, date, product, price, total, paid with, download, until, signature.
_SAID = {
    "en": "Your order {n} is complete|Thank you for your order!|Order number|Order date|Product|Price|Total|Payment method|Download your files|Links are valid until|Happy sewing",
    "de": "Deine Bestellung {n} ist abgeschlossen|Vielen Dank für deine Bestellung!|Bestellnummer|Bestelldatum|Produkt|Preis|Gesamtsumme|Zahlungsart|Dateien herunterladen|Gültig bis|Liebe Grüße",
    "fr": "Votre commande {n}|Merci pour votre commande !|Numéro de commande|Date de commande|Produit|Prix|Total|Mode de paiement|Télécharger vos fichiers|Valable jusqu'au|À bientôt",
    "nl": "Je bestelling {n} is afgerond|Bedankt voor je bestelling!|Bestelnummer|Besteldatum|Product|Prijs|Totaal|Betaalmethode|Download je bestanden|Geldig tot|Groetjes",
    "es": "Tu pedido {n}|¡Gracias por tu compra!|Número de pedido|Fecha del pedido|Producto|Precio|Total|Método de pago|Descargar tus archivos|Válido hasta|Un saludo",
    "it": "Il tuo ordine {n}|Grazie per il tuo ordine!|Numero d'ordine|Data dell'ordine|Prodotto|Prezzo|Totale|Metodo di pagamento|Scarica i tuoi file|Valido fino al|A presto",
    "sv": "Din beställning {n}|Tack för din beställning!|Ordernummer|Orderdatum|Produkt|Pris|Totalt|Betalningssätt|Ladda ner dina filer|Giltig till|Vänliga hälsningar",
    "da": "Din ordre {n}|Tak for din ordre!|Ordrenummer|Ordredato|Vare|Pris|I alt|Betalingsmåde|Hent dine filer|Gyldig til|Venlig hilsen",
    "nb": "Din ordre {n}|Takk for bestillingen!|Ordrenummer|Ordredato|Vare|Pris|Totalt|Betalingsmåte|Last ned filene dine|Gyldig til|Vennlig hilsen",
    "pl": "Twoje zamówienie {n}|Dziękujemy za zamówienie!|Numer zamówienia|Data zamówienia|Produkt|Cena|Razem|Metoda płatności|Pobierz pliki|Ważne do|Pozdrawiamy",
    "fi": "Tilauksesi {n}|Kiitos tilauksestasi!|Tilausnumero|Tilauspäivä|Tuote|Hinta|Yhteensä|Maksutapa|Lataa tiedostot|Voimassa|Terveisin",
    "ja": "ご注文ありがとうございます {n}|ご注文ありがとうございます。|注文番号|注文日|商品名|価格|合計|お支払い方法|ダウンロード|有効期限|またのご利用をお待ちしております",
}
_CURRENCY = {"en": "GBP", "sv": "SEK", "da": "DKK", "nb": "NOK", "pl": "PLN", "ja": "JPY"}
_SHOPPY = [
    ("Reset your password", "We received a request to reset your password. The link works for one hour."),
    ("You left something in your basket", "Your basket is waiting: {title}, {price}. Complete your order today."),
    ("How was your {title}?", "Leave a review and tell us what you think of your purchase."),
    ("Your parcel is on its way", "Your package has been handed to the carrier. Tracking number: {code}"),
    ("Card payment alert", "A payment of {price} was made with your card. Available balance: {price}"),
    ("Your account statement", "Your statement for the month is ready in your account."),
    ("New sign-in to your account", "We noticed a new sign-in. If this was you, nothing needs to be done."),
    ("Price drop on your wish list", "Items you love are on sale: {title} now {price}."),
]
_STYLE = "font-family:Georgia,'Times New Roman',serif;font-size:16px;line-height:24px;color:#3a2b4d;padding:0 24px 12px 24px;text-align:left"
_BUTTON = "display:inline-block;background-color:#724;border-radius:4px;border:1px solid #513;color:#fff;font-family:Georgia,serif;font-size:14px;line-height:40px;text-align:center;text-decoration:none;width:200px;-webkit-text-size-adjust:none;mso-hide:all"


def letters(seed: int, receipts: int, others: int) -> Iterator[tuple[str, bytes]]:
    """All mails of one mailbox, shuffled: `receipts` with the kind "receipt", `others` with a kind of `OTHER`."""
    rnd = random.Random(seed)
    kinds = ["receipt"] * receipts + rnd.choices(list(OTHER), list(OTHER.values()), k=others)
    rnd.shuffle(kinds)
    makers = {
        "receipt": receipt,
        "newsletter": newsletter,
        "talk": talk,
        "notice of a program": program_notice,
        "photographs": photographs,
        "words of shops": shop_words,
    }
    for number, kind in enumerate(kinds):
        yield kind, makers[kind](rnd, number)


def from_line(number: int) -> bytes:
    """The line that begins message `number` of an mbox (RFC 4155)."""
    return f"From MAILER-DAEMON Mon Mar {1 + number % 28:2d} 10:00:00 {2010 + number % 15}\n".encode()


# --- what is evidence -------------------------------------------------------------------------


def receipt(rnd: random.Random, number: int) -> bytes:
    """An order confirmation with links, of a shop that writes in one of the languages."""
    language = rnd.choice(list(_SAID))
    said = _SAID[language].split("|")
    shop, code = rnd.choice(_SHOPS), str(100_000 + number)
    bought = [(t, 400 + 50 * rnd.randrange(30)) for t in rnd.sample(_TITLES, rnd.randint(1, 4))]
    rows = [(f"{t} No. {rnd.randrange(1, 400)} (PDF)", _money(c, language)) for t, c in bought]
    total = _money(sum(c for _, c in bought), language)
    day = f"{2010 + number % 15}-{1 + number % 12:02d}-{1 + number % 28:02d}"
    pairs = [(said[2], code), (said[3], day)]
    link = f"https://{_host(shop)}/d/{rnd.getrandbits(96):024x}"
    layout = rnd.choice([_table, _table, _boxes, _list, _text])
    body, is_page = layout(said, pairs, rows, total, link, shop)
    return _mail(
        rnd, number, said[0].format(n=code), shop, body, page=is_page, bulk=False, padding=rnd.randrange(10, 60)
    )


_Rows = list[tuple[str, str]]


def _table(said: list[str], pairs: _Rows, rows: _Rows, total: str, link: str, shop: str) -> tuple[str, bool]:
    head = "".join(f"<p style='{_STYLE}'>{k}: <b>{v}</b></p>" for k, v in pairs)
    lines = "".join(
        f"<tr><td style='{_STYLE}'>{t}<br><a href='{link}/{k}' style='color:#724'>{said[8]}</a></td><td style='{_STYLE}'>{a}</td></tr>"
        for k, (t, a) in enumerate(rows)
    )
    heading = f"<tr><th style='{_STYLE}'>{said[4]}</th><th style='{_STYLE}'>{said[5]}</th></tr>"
    foot = f"<tr><td style='{_STYLE}'>{said[6]}</td><td style='{_STYLE}'><b>{total}</b></td></tr>"
    return (
        f"<h1 style='{_STYLE}'>{said[1]}</h1>{head}<table width='600'>{heading}{lines}{foot}</table><p>{said[10]}<br>{shop}</p>",
        True,
    )


def _boxes(said: list[str], pairs: _Rows, rows: _Rows, total: str, link: str, shop: str) -> tuple[str, bool]:
    head = "".join(f"<div style='{_STYLE}'><div>{k}</div><div><strong>{v}</strong></div></div>" for k, v in pairs)
    boxes = "".join(
        f"<div style='{_STYLE}'><div><b>{t}</b></div><div>{a}</div><div><a href='{link}/{k}'>{said[8]}</a></div></div>"
        for k, (t, a) in enumerate(rows)
    )
    return (
        f"<div style='{_STYLE}'>{said[1]}</div>{head}{boxes}<div style='{_STYLE}'><div>{said[6]}</div><div>{total}</div></div><div>{shop}</div>",
        True,
    )


def _list(said: list[str], pairs: _Rows, rows: _Rows, total: str, link: str, shop: str) -> tuple[str, bool]:
    lines = "".join(f"<li style='{_STYLE}'>{t} – {a}</li>" for t, a in rows)
    head = "<br>".join(f"{k}: {v}" for k, v in pairs)
    return (
        f"<p style='{_STYLE}'>{said[1]}</p><p>{head}</p><ul>{lines}</ul><p style='{_STYLE}'>{said[6]}: {total}</p><p><a href='{link}'>{said[8]}</a></p><p>{shop}</p>",
        True,
    )


def _text(said: list[str], pairs: _Rows, rows: _Rows, total: str, link: str, shop: str) -> tuple[str, bool]:
    head = "\n".join(f"{k}: {v}" for k, v in pairs)
    lines = "\n".join(f"{t:<44}{a:>14}\n  {said[8]}: {link}/{k}" for k, (t, a) in enumerate(rows))
    return f"{said[1]}\n\n{head}\n\n{lines}\n{'-' * 58}\n{said[6]:<44}{total:>14}\n\n{said[10]}\n{shop}\n", False


def _money(cents: int, language: str) -> str:
    code = _CURRENCY.get(language, "EUR")
    if code == "JPY":
        return f"{cents:,}円"
    amount = f"{cents // 100}.{cents % 100:02d}"
    return f"£{amount}" if code == "GBP" else f"{amount.replace('.', ',')} {'€' if code == 'EUR' else code}"


# --- what is none -----------------------------------------------------------------------------


def newsletter(rnd: random.Random, number: int) -> bytes:
    """A mailing with prices and buttons, mostly with a plain alternative."""
    shop = rnd.choice(_SHOPS)
    language = rnd.choice(list(_WORDS))
    parts = [
        f"<table width='100%' role='presentation'><tr><td style='{_STYLE}'><h2>{rnd.choice(_TITLES)}</h2><p>{_talk(rnd, language, 35)}</p>"
        f"<p><s>{_money(1200, language)}</s> <b>{_money(900, language)}</b></p><a href='https://click.{_host(shop)}/{rnd.getrandbits(1024):0256x}' style='{_BUTTON}'>Shop now</a></td></tr></table>"
        for _ in range(rnd.randrange(8, 30))
    ]
    foot = f"<p style='{_STYLE}'>You receive this newsletter because you signed up. Unsubscribe. Prices include tax, orders over 30 travel free.</p>"
    subject = rnd.choice(
        ["New in this week", "25 % off everything", "The spring collection", "Stories from the studio"]
    )
    page = "".join(parts) + foot
    plain = _talk(rnd, language, 35 * len(parts)) if rnd.random() < 0.7 else ""
    return _mail(rnd, number, subject, shop, page, page=True, plain=plain, bulk=True, padding=rnd.randrange(10, 50))


def talk(rnd: random.Random, number: int) -> bytes:
    """A letter among friends, often with what it answers below."""
    language = rnd.choice(list(_WORDS))
    text = "\n\n".join(_wrapped(_talk(rnd, language, rnd.randrange(20, 90))) for _ in range(rnd.randrange(1, 6)))
    quoted = "\n".join("> " + line for line in _wrapped(_talk(rnd, language, rnd.randrange(30, 400))).split("\n"))
    return _mail(
        rnd, number, f"Re: {_talk(rnd, language, 4)}", "Ada Thimble", f"{text}\n\n{quoted}\n", page=False, bulk=False
    )


def program_notice(rnd: random.Random, number: int) -> bytes:
    """A notice of a calendar, a forum, a photo album: short, as a page, in base64."""
    body = f"<div style='{_STYLE}'>{_talk(rnd, 'en', 60)}</div><p><a href='https://club.example/{rnd.getrandbits(64):x}'>See more</a></p>"
    return _mail(
        rnd,
        number,
        f"Ada wrote: {_talk(rnd, 'en', 5)}",
        "Club",
        body,
        page=True,
        bulk=True,
        padding=8,
        base64_body=True,
    )


def photographs(rnd: random.Random, number: int) -> bytes:
    """A few lines with pictures."""
    head = _head(rnd, number, "Photos", "Ada Thimble", bulk=False)
    parts = [
        f'{head}Content-Type: multipart/mixed; boundary="=_p{number}"\n\n--=_p{number}\nContent-Type: text/plain; charset=utf-8\n\n{_talk(rnd, "en", 30)}\n'.encode()
    ]
    for picture in range(rnd.randrange(1, 4)):
        body = base64.encodebytes(b"\xff\xd8\xff\xe0" + rnd.randbytes(rnd.randrange(30_000, 110_000)))
        parts.append(
            f'--=_p{number}\nContent-Type: image/jpeg; name="{picture}.jpg"\nContent-Transfer-Encoding: base64\nContent-Disposition: attachment; filename="{picture}.jpg"\n\n'.encode()
            + body
        )
    return b"".join(parts) + f"--=_p{number}--\n".encode()


def shop_words(rnd: random.Random, number: int) -> bytes:
    """What shops and banks write besides receipts."""
    subject, text = rnd.choice(_SHOPPY)
    filled = {"title": rnd.choice(_TITLES), "price": "£9.00", "code": f"{rnd.getrandbits(40):010X}"}
    body = f"<p style='{_STYLE}'>{text.format(**filled)}</p><p style='{_STYLE}'>{_talk(rnd, 'en', 40)}</p>"
    return _mail(rnd, number, subject.format(**filled), rnd.choice(_SHOPS), body, page=True, bulk=False, padding=10)


# --- the mail around it -----------------------------------------------------------------------


def _talk(rnd: random.Random, language: str, n: int) -> str:
    words = _WORDS[language].split()
    return " ".join(rnd.choice(words) for _ in range(n)).capitalize() + "."


def _wrapped(text: str) -> str:
    words, lines = text.split(" "), [""]
    for word in words:
        if len(lines[-1]) + len(word) > 70:
            lines.append("")
        lines[-1] += (" " if lines[-1] else "") + word
    return "\n".join(lines)


def _host(shop: str) -> str:
    return "".join(c for c in shop.lower() if c.isalpha()) + ".example"


def _head(rnd: random.Random, number: int, subject: str, sender: str, *, bulk: bool) -> str:
    traces = "".join(
        f"Received: from mx{k}.post.example (mx{k}.post.example [192.0.2.{k}]) by in.post.example with ESMTPS id {rnd.getrandbits(64):x};\n Mon, 4 Mar 2024 10:00:0{k} +0000\n"
        for k in range(3)
    )
    signature = f"DKIM-Signature: v=1; a=rsa-sha256; d={_host(sender)}; s=s1;\n b={base64.b64encode(rnd.randbytes(192)).decode()}\n"
    mailing = "List-Unsubscribe: <https://club.example/off>\nPrecedence: bulk\n" if bulk else ""
    shown = subject if subject.isascii() else Header(subject, "utf-8").encode()
    return f"{traces}{signature}From: {sender} <hello@{_host(sender)}>\nTo: Ida Ruff <ida@post.example>\nSubject: {shown}\nDate: Mon, {1 + number % 28} Mar {2010 + number % 15} 10:00:00 +0000\nMessage-ID: <{number}@{_host(sender)}>\n{mailing}MIME-Version: 1.0\n"


def _mail(
    rnd: random.Random,
    number: int,
    subject: str,
    sender: str,
    body: str,
    *,
    page: bool,
    bulk: bool,
    plain: str = "",
    padding: int = 0,
    base64_body: bool = False,
) -> bytes:
    """A mail of one body, with a plain alternative if there is `plain`; `padding`: how many rules of style a page has."""
    if page:
        rules = "".join(
            f".c{k} td a.button-{k} {{padding: {k}px 24px !important; color: #3a2b4d; mso-line-height-rule: exactly}}\n"
            for k in range(4 * padding)
        )
        body = f"<!DOCTYPE html>\n<html><head><meta charset='utf-8'><style>{rules}</style></head>\n<body style='margin:0'>{body}</body></html>\n"
    head = _head(rnd, number, subject, sender, bulk=bulk)
    kind = "html" if page else "plain"
    encoded, how = (
        (base64.encodebytes(body.encode()), "base64")
        if base64_body
        else (quopri.encodestring(body.encode()), "quoted-printable")
    )
    part = f"Content-Type: text/{kind}; charset=utf-8\nContent-Transfer-Encoding: {how}\n\n".encode() + encoded
    if not plain:
        return head.encode() + part
    mark = f"=_a{number}"
    first = f'{head}Content-Type: multipart/alternative; boundary="{mark}"\n\n--{mark}\nContent-Type: text/plain; charset=utf-8\nContent-Transfer-Encoding: quoted-printable\n\n'
    return (
        first.encode()
        + quopri.encodestring(_wrapped(plain).encode())
        + f"\n--{mark}\n".encode()
        + part
        + f"\n--{mark}--\n".encode()
    )
