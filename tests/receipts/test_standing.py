"""Who may undo an order, and in which words: sent from where the order came from, in every language.

Common practice of shops and of those who imitate them, no published source.  All mails are invented.
"""

from __future__ import annotations

from datetime import datetime
from email.message import EmailMessage
from hashlib import sha256

import pytest

from vault.model.evidence import EvidenceKind, RecordedClaim
from vault.model.purchase import Joined
from vault.receipts.joining import join
from vault.receipts.read import read

SHOP, OTHER = "Thimble & Tabor", "thimbletabor.example"
FAKE = "thimble-tabor-service.example"


def mail(subject: str, text: str, *, when: str = "2025-03-04T10:00", domain: str = OTHER, name: str = SHOP) -> bytes:
    message = EmailMessage()
    message["From"] = f"{name} <post@{domain}>"
    message["To"] = "Wanda Prentice <wanda@masquers.example>"
    message["Subject"] = subject
    message["Date"] = datetime.fromisoformat(when + "+00:00")
    message["Message-ID"] = f"<{sha256((subject + text + when).encode()).hexdigest()[:16]}@{domain}>"
    message.set_content(text)
    return message.as_bytes()


def joined(*mails: bytes) -> Joined:
    claims: list[RecordedClaim] = []
    for raw in mails:
        reading = read(EvidenceKind.MAIL, raw)
        for index, claim in enumerate(reading.claims):
            claims.append(
                RecordedClaim(
                    seq=len(claims) + 1,
                    evidence_sha256=sha256(raw).hexdigest(),
                    evidence_kind=EvidenceKind.MAIL,
                    index=index,
                    claim=claim,
                    dated=reading.dated,
                    message_id=reading.message_id,
                )
            )
    return join(claims, [])


ORDER = mail(
    "Order confirmation TT-4410",
    "Thank you for your order!\n\nOrder number: TT-4410\n\nHarlequin Jacket Pattern (PDF)    €12.50\nTotal    €12.50\n",
)

PAID_BACK = [
    ("en", "Order TT-4410 has been cancelled", "we have cancelled order TT-4410. €12.50 was returned to your card."),
    ("en", "Your order was canceled", "Order TT-4410 was canceled and €12.50 has been credited to your account."),
    ("de", "Bestellung TT-4410 storniert", "Ihre Bestellung TT-4410 wurde storniert. 12,50 € wurden zurückgebucht."),
    ("fr", "Commande TT-4410 annulée", "Votre commande TT-4410 a été annulée. 12,50 € ont été rendus sur votre carte."),
    ("nl", "Bestelling TT-4410 geannuleerd", "Je bestelling TT-4410 is geannuleerd. € 12,50 is teruggeboekt."),
    ("es", "Pedido TT-4410 cancelado", "Tu pedido TT-4410 ha sido cancelado. Se han devuelto 12,50 € a tu tarjeta."),
    ("it", "Ordine TT-4410 annullato", "Il tuo ordine TT-4410 è stato annullato. 12,50 € sono stati riaccreditati."),
    (
        "sv",
        "Order TT-4410 avbeställd",
        "Din order TT-4410 har avbeställts. 12,50 € har betalats tillbaka på ditt kort.",
    ),
    ("da", "Ordre TT-4410 annulleret", "Din ordre TT-4410 er annulleret. 12,50 € er ført tilbage til dit kort."),
    ("nb", "Ordre TT-4410 kansellert", "Ordren TT-4410 er kansellert. 12,50 € er tilbakeført til kortet."),
    ("pl", "Zamówienie TT-4410 anulowane", "Zamówienie TT-4410 zostało anulowane. 12,50 € zostało zwrócone na kartę."),
    ("fi", "Tilaus TT-4410 peruttu", "Tilauksesi TT-4410 on peruttu. 12,50 € palautettiin kortillesi."),
    ("ja", "ご注文キャンセルのお知らせ", "ご注文番号TT-4410のキャンセルを承りました。12.50 €は全額返金いたしました。"),
]


@pytest.mark.parametrize(("language", "subject", "text"), PAID_BACK)
def test_a_cancellation_with_the_money_returned_leaves_a_refunded_purchase(
    language: str, subject: str, text: str
) -> None:
    back = mail(subject, text + "\n\n" + SHOP, when="2025-03-06T08:00")
    for mails in ((ORDER, back), (back, ORDER)):
        (purchase,) = joined(*mails).purchases
        assert purchase.refunded is True
        assert [i.title for i in purchase.items] == ["Harlequin Jacket Pattern (PDF)"]


@pytest.mark.parametrize(("language", "subject", "text"), PAID_BACK)
def test_the_same_words_from_a_look_alike_change_nothing(language: str, subject: str, text: str) -> None:
    fake = mail(subject, text + "\n\n" + SHOP, when="2025-03-06T08:00", domain=FAKE)
    for mails in ((ORDER, fake), (fake, ORDER)):
        found = joined(*mails)
        (purchase,) = found.purchases
        assert purchase.refunded is False
        assert [s.domains for s in found.sellers] == [(OTHER,)]
        assert len(purchase.evidence) == 1
        assert any("not believed" in s.source.how and FAKE in s.source.how for s in purchase.sources)


def test_a_refund_that_asks_for_the_card_at_a_bare_address_proves_no_purchase() -> None:
    text = "Your order TT-4410 was cancelled. The refund of €12.50 is waiting: http://203.0.113.7/card"
    assert joined(mail("Refund", text, domain=FAKE)).purchases == ()


def test_a_refund_of_a_payment_service_that_a_receipt_came_from_counts() -> None:
    paid = mail(
        "Receipt for your payment to Thimble & Tabor",
        "You paid €12.50 to Thimble & Tabor.\n\nTransaction ID: 77XK90112\nOrder number: TT-4410\nTotal: €12.50\n",
        domain="coinpurse.example",
        name="Coin Purse",
    )
    back = mail(
        "Refund from Thimble & Tabor",
        "Thimble & Tabor refunded you €12.50.\n\nOrder number: TT-4410\nRefund: €12.50\n",
        when="2025-03-09T10:00",
        domain="coinpurse.example",
        name="Coin Purse",
    )
    (purchase,) = joined(ORDER, paid, back).purchases
    assert purchase.refunded is True


FAILED = [
    ("Payment failed for order TT-4410", "The payment of €12.50 for order TT-4410 failed. Please try again."),
    ("Zahlung fehlgeschlagen", "Die Zahlung von 12,50 € für Bestellnummer TT-4410 konnte nicht verarbeitet werden."),
    ("Paiement refusé", "Le paiement de 12,50 € pour la commande TT-4410 a été refusé. Veuillez réessayer."),
    ("Płatność za zamówienie TT-4410 nie powiodła się", "płatność 12,50 € za zamówienie TT-4410 nie powiodła się."),
]


@pytest.mark.parametrize(("subject", "text"), FAILED)
def test_a_confirmation_after_a_failed_payment_stands_in_any_order_of_arrival(subject: str, text: str) -> None:
    before = mail(subject, text, when="2025-03-04T09:40")
    assert len(joined(before, ORDER).purchases) == len(joined(ORDER, before).purchases) == 1


@pytest.mark.parametrize(("subject", "text"), FAILED)
def test_a_payment_that_failed_last_leaves_no_purchase(subject: str, text: str) -> None:
    after = mail(subject, text, when="2025-03-04T10:20")
    assert joined(after, ORDER).purchases == joined(ORDER, after).purchases == ()


@pytest.mark.parametrize(
    "text",
    [
        "Please pay the rest by Friday, or order TT-4410 will be cancelled.",
        "Bitte überweisen Sie bis Freitag, sonst wird storniert. Bestellnummer TT-4410",
        "Sans paiement sous huit jours, la commande TT-4410 sera annulée.",
        "Betaal binnen acht dagen, anders wordt geannuleerd. Bestelnummer TT-4410",
        "Si no recibimos el pago, el pedido TT-4410 será cancelado.",
        "Senza pagamento l'ordine TT-4410 sarà annullato.",
        "Inaczej zamówienie TT-4410 zostanie anulowane.",
    ],
)
def test_a_threat_to_cancel_cancels_nothing(text: str) -> None:
    assert len(joined(ORDER, mail("TT-4410", text, when="2025-03-05T10:00")).purchases) == 1


@pytest.mark.parametrize(
    ("subject", "text"),
    [
        ("You made a sale!", "Order number: BZ-1\n\nRuff Pattern (PDF)    €4.00\nTotal    €4.00\nYour payout: €3.60"),
        ("Du hast verkauft", "Bestellnummer: BZ-1\n\nSchnittmuster Haube   4,00 €\nGesamt  4,00 €\nAuszahlung 3,60 €"),
        ("Vous avez vendu un article", "Numéro de commande : BZ-1\n\nPatron fraise   4,00 €\nTotal   4,00 €"),
        ("Je hebt verkocht", "Bestelnummer: BZ-1\n\nPatroon kraag   € 4,00\nTotaal   € 4,00\nUitbetaling   € 3,60"),
        ("¡Has vendido!", "Número de pedido: BZ-1\n\nPatrón gola   4,00 €\nTotal   4,00 €"),
        ("Hai venduto un articolo", "Numero ordine: BZ-1\n\nCartamodello gorgiera   4,00 €\nTotale   4,00 €"),
        ("Du har sålt en vara", "Ordernummer: BZ-1\n\nMönster krage   40 kr\nSumma   40 kr"),
        ("Sprzedałaś przedmiot", "Numer zamówienia: BZ-1\n\nWykrój kryza   20,00 zł\nRazem   20,00 zł"),
        ("商品が売れました", "注文番号：BZ-1\n\n衿の型紙　800円\n合計　800円"),
    ],
)
def test_her_own_sales_are_no_purchases(subject: str, text: str) -> None:
    assert joined(mail(subject, text + "\n", domain="bazaar.example", name="Bazaar")).purchases == ()


@pytest.mark.parametrize(
    ("subject", "text"),
    [
        ("Payment reminder: invoice 881", "Our invoice 881 of 1 March 2025 is overdue.\n\nOutstanding: €48.00"),
        (
            "Zahlungserinnerung Rechnung 881",
            "Noch kein Zahlungseingang.\n\nOffener Betrag: 48,00 €\nMahngebühr: 5,00 €",
        ),
        ("Rappel de paiement", "La facture 881 reste impayée.\n\nMontant : 48,00 €\nFrais de relance : 5,00 €"),
        ("Aanmaning factuur 881", "De factuur is nog niet betaald.\n\nOpenstaand bedrag: € 48,00\nKosten: € 5,00"),
        ("Betalningspåminnelse", "Faktura 881 är obetald.\n\nBelopp: 480 kr\nPåminnelseavgift: 60 kr"),
    ],
)
def test_a_reminder_to_pay_is_no_purchase(subject: str, text: str) -> None:
    assert joined(mail(subject, text + "\n", domain="ribbons.example", name="Ribbons Ltd")).purchases == ()


def test_a_friend_who_quotes_an_order_is_not_its_shop() -> None:
    text = "Did you see the total? I owe you half.\n\n> Order number: TT-4410\n> Harlequin Jacket Pattern   €12.50\n> Total €12.50\n"
    quoting = mail("Re: the jacket", text, when="2025-03-07T10:00", domain="masquers.example", name="Percy Hobb")
    (purchase,) = joined(ORDER, quoting).purchases
    assert purchase.seller == SHOP


def test_two_shops_that_count_alike_stay_two() -> None:
    def of(name: str, domain: str, title: str) -> bytes:
        text = f"Thank you for your order!\n\nOrder number: 1001\n\n{title}   €6.00\nTotal   €6.00\n"
        return mail("Order 1001", text, domain=domain, name=name)

    found = joined(
        of("Cap Corner", "capcorner.example", "Mob Cap Pattern"),
        of("Mask Barn", "maskbarn.example", "Owl Mask Pattern"),
    )
    assert sorted(p.seller or "" for p in found.purchases) == ["Cap Corner", "Mask Barn"]
