"""Who was paid, what is a number and what is a day: siblings of one fault in several languages and shapes.

Common practice of shops and payment services, no published source.  All mails are invented.
"""

from __future__ import annotations

from datetime import date
from email.message import EmailMessage

import pytest

from tests.receipts.engine_mails import claim, reading
from vault.model.evidence import EvidenceKind
from vault.receipts.read import read

SERVICE = "Coin Purse <receipts@coinpurse.example>"


@pytest.mark.parametrize(
    ("subject", "text"),
    [
        ("You paid Larch & Loom", "You sent £6.50 GBP to Larch & Loom\n(orders@larchloom.example)"),
        ("Zahlungsbeleg", "Sie haben eine Zahlung über 6,50 EUR an Larch & Loom autorisiert."),
        ("Reçu de paiement", "Vous avez envoyé un paiement de 6,50 EUR à Larch & Loom."),
        ("Betaalbewijs", "Je hebt een betaling van € 6,50 aan Larch & Loom gedaan."),
        ("Recibo de pago", "Has enviado un pago de 6,50 EUR a Larch & Loom."),
        ("Ricevuta di pagamento", "Hai inviato un pagamento di 6,50 EUR a Larch & Loom."),
        ("Kvitto på betalning", "Du har skickat en betalning på 65,00 kr till Larch & Loom."),
        ("Kvittering for betaling", "Du har sendt en betaling på 65,00 kr. til Larch & Loom."),
    ],
)
def test_the_payee_is_the_seller_not_the_payment_service(subject: str, text: str) -> None:
    one = claim(text + "\n\nTransaction ID: 7H25581099\n\nTotal   6.50\n", subject=subject, sender=SERVICE)
    assert one.seller == "Larch & Loom"
    assert one.payee_only


@pytest.mark.parametrize(
    ("name", "domain"),
    [
        ("La Bottega di Zanni", "bottegadizanni.example"),
        ("Le Fil de Lune", "fildelune.example"),
        ("Die Nadel am Fluss", "nadelamfluss.example"),
    ],
)
def test_a_name_with_a_small_word_inside_stays_whole(name: str, domain: str) -> None:
    text = "Thank you for your order!\n\nOrder number: 1042\n\nCloche Hat pattern  €6.00\nTotal  €6.00\n"
    assert claim(text, sender=f"{name} <post@{domain}>").seller == name


@pytest.mark.parametrize(
    "heading", ["Receipt 2 March 2025", "Kvitto 2 mars 2025", "Quittung 2. März 2025", "Kvittering 2. marts 2025"]
)
def test_a_day_is_no_number(heading: str) -> None:
    text = f"{heading}\n\nThank you for your purchase!\n\nOwl Mittens pattern   49 kr\nTotal   49 kr\n"
    one = claim(text, subject="Thank you for your purchase", day="2 Mar 2025")
    assert one.order_number is None
    assert one.purchased_on == date(2025, 3, 2)


@pytest.mark.parametrize(
    ("label", "number"),
    [
        ("Order acknowledgement", "0093-771"),
        ("Folio:", "0000771"),
        ("Pedido n.º", "TC-771"),
        ("Ordine n.º", "TC-771"),
        ("Orderbevestiging", "TC-771"),
        ("Tilausvahvistus", "TC-771"),
    ],
)
def test_a_label_of_a_number_is_known(label: str, number: str) -> None:
    text = f"{label} {number}\n\nThank you for your order!\n\nOwl Mittens pattern   €4.90\nTotal   €4.90\n"
    assert claim(text, subject="Thank you").order_number == number


@pytest.mark.parametrize("mark", ["{{ order.number }}", "{% order %}", "${number}", "*|ORDER|*", "%order_id%"])
def test_markup_that_nobody_filled_in_says_nothing(mark: str) -> None:
    markup = (
        '<script type="application/ld+json">{"@context":"http://schema.org","@type":"Order","orderNumber":"'
        + mark
        + '","merchant":{"@type":"Organization","name":"Example Merchant"},"price":"0.00","priceCurrency":"USD",'
        '"acceptedOffer":{"@type":"Offer","itemOffered":{"@type":"Product","name":"Sample product"},"price":"0.00"}}'
        "</script><p>Thank you for your order!</p><p>Order number: 1042</p>"
        "<table><tr><th>Item</th><th>Price</th></tr><tr><td>Cloche Hat pattern</td><td>$6.00</td></tr>"
        "<tr><td>Total</td><td>$6.00</td></tr></table>"
    )
    one = claim(f"<html><body>{markup}</body></html>")
    assert (one.order_number, one.seller, [i.title for i in one.items]) == (
        "1042",
        "Cap & Bells",
        ["Cloche Hat pattern"],
    )


@pytest.mark.parametrize("label", ["Referenz", "Référence", "Reference", "Riferimento", "Referencia"])
def test_the_references_of_a_list_of_orders_number_them(label: str) -> None:
    rows = "".join(
        f"<tr><td>{n}</td><td>{d}</td><td>Wolf Cape pattern</td><td>13,00 €</td></tr>"
        for n, d in (("WC-310", "2025-10-05"), ("WC-288", "2025-06-11"))
    )
    head = f"<tr><th>{label}</th><th>Date</th><th>Article</th><th>Prix</th></tr>"
    page = f"<html lang='fr'><title>Mes commandes - Cap & Bells</title><table>{head}{rows}</table></html>"
    found = read(EvidenceKind.PAGE, page.encode()).claims
    assert [c.order_number for c in found] == ["WC-310", "WC-288"]


def test_each_order_of_a_page_keeps_its_own_day() -> None:
    orders = "".join(
        f"<h3>Order {n}</h3><p>{d}</p><ul><li>{t} <em>12 €</em></li></ul><p>Total: 12 €</p>"
        for n, d, t in (
            ("8801", "2024-12-03", "Ginger Suit pattern"),
            ("8315", "2023-04-18", "Easter Witch pattern"),
            ("7990", "2022-10-30", "Ghost Sheet pattern"),
        )
    )
    found = read(EvidenceKind.PAGE, f"<html><body><h2>My orders</h2>{orders}</body></html>".encode()).claims
    assert [str(c.purchased_on) for c in found] == ["2024-12-03", "2023-04-18", "2022-10-30"]


def test_labels_above_their_values_in_pairs_are_one_order() -> None:
    page = (
        "<html><body><h1>Invoice</h1><table><tr><td>Order</td><td>Date</td></tr>"
        "<tr><td>CB-2024-088</td><td>20 May 2024</td></tr><tr><td>Invoice</td><td>Customer</td></tr>"
        "<tr><td>F-000341</td><td>Wanda Prentice</td></tr></table><table><tr><td>Qty</td><td>Item</td><td>Total</td></tr>"
        "<tr><td>1</td><td>Hennin and Veil pattern</td><td>€8.40</td></tr></table><p>Total paid: €8.40</p></body></html>"
    )
    (one,) = read(EvidenceKind.PAGE, page.encode()).claims
    assert (one.order_number, [i.title for i in one.items]) == ("CB-2024-088", ["Hennin and Veil pattern"])


@pytest.mark.parametrize("word", ["Stall", "Stand", "Étal", "Kraam", "Puesto"])
def test_the_word_before_a_stall_is_no_part_of_its_name(word: str) -> None:
    parts = "".join(
        f"<h2>{word}: {s}</h2><p>Order number: {n}</p><ul><li><div>{t}</div><div>1 x £8.00</div></li></ul><p>Total: £8.00</p>"
        for s, n, t in (
            ("Moth & Flame", "AR-1-A", "Dame Bustle pattern"),
            ("PropShelf", "AR-1-B", "Ringmaster Coat pattern"),
        )
    )
    found = reading(f"<html><body><h1>Thank you for your order</h1>{parts}</body></html>").claims
    assert [c.seller for c in found] == ["Moth & Flame", "PropShelf"]


@pytest.mark.parametrize(
    ("text", "title"),
    [
        ("thank you for buying the Owl Mittens pattern! I have received your payment of £5.50.", "Owl Mittens"),
        ("takk for at du kjøpte Strikkeoppskrift Uglevotter. Betalingen på 55 kr er mottatt i dag.", "Uglevotter"),
        (
            "Wat leuk dat je het Breipatroon Uilenwanten hebt gekocht! Ik heb je betaling van € 5,50 ontvangen.",
            "Uilenwant",
        ),
        ("your £12.00 came through this morning, thank you very much. The set is with this mail.", ""),
    ],
)
def test_a_mail_by_hand_with_its_file_is_read_or_told(text: str, title: str) -> None:
    message = EmailMessage()
    message["From"] = "Dora Finch <dora@finch.example>"
    message["To"] = "Wanda Prentice <wanda@masquers.example>"
    message["Subject"] = "Your file"
    message["Date"] = "Mon, 3 Jun 2024 10:00:00 +0100"
    message.set_content(f"Hello Wanda,\n\n{text}\n\nBest wishes\nDora\n")
    message.add_attachment(b"%PDF-1.4", maintype="application", subtype="pdf", filename="file.pdf")
    told = read(EvidenceKind.MAIL, message.as_bytes())
    assert bool(told.claims) != bool(told.problems)  # never silence
    assert all(title in c.items[0].title for c in told.claims) and bool(told.claims) == bool(title)
