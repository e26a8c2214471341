"""Mails of ordinary life with amounts, numbers or words of trade in them, none of which is a purchase."""

from __future__ import annotations

SILENT: dict[str, tuple[str, str, str]] = {  # name -> sender, subject, text
    "fake antivirus": (
        "Billing Dept <billing-8812@maildrop.example>",
        "Order Confirmation #INV-88120",
        "Dear Customer,\n\nThank you for your purchase. Your subscription SafeGuard 360 has been renewed.\n\n"
        "Invoice No: INV-88120\nProduct: SafeGuard 360\nQuantity: 1\nTotal: $399.99\n\n"
        "If you did not authorize this transaction, call us immediately at +1 800 000 0000 to cancel the order.",
    ),
    "fake parcel fee": (
        "Post Service <info@p0st-fee.example>",
        "Your package is on hold",
        "Dear customer,\n\nYour package 99281 could not be delivered because of an unpaid fee of £1.99.\n"
        "Confirm your payment details within 24 hours: http://p0st-fee.example/pay",
    ),
    "bank statement": (
        "Playhouse Bank <service@playhousebank.example>",
        "Your statement is ready",
        "Your statement for May:\n\n02 May  CAP AND BELLS  -14.00 GBP\n09 May  WAGES  900.00 GBP\nBalance  1,204.10 GBP",
    ),
    "card alert": (
        "Playhouse Bank <alerts@playhousebank.example>",
        "You spent £14.00 at CAP AND BELLS",
        "Card ending 0000 was used at CAP AND BELLS for £14.00 on 2 June 2024. Not you? Freeze your card in the app.",
    ),
    "points": (
        "Haberdashers <club@haberdashers.example>",
        "You have 240 points",
        "Hi Wanda,\n\nYour points balance is 240, worth £2.40 off your next order. Spend £20.00 to reach silver.",
    ),
    "energy bill": (
        "Lamplight Energy <bills@lamplight.example>",
        "Your June bill",
        "Your bill for June is ready.\n\nAmount due: £48.20\nAccount number: 771002\nWe will collect it by direct debit.",
    ),
    "wage slip": (
        "Payroll <payroll@littlebarn.example>",
        "Payslip May",
        "Gross pay 900.00\nTax 112.00\nNet pay 788.00\nPaid into your account on 31 May 2024.",
    ),
    "raffle": (
        "Friends of the Theatre <friends@littlebarn.example>",
        "Raffle on Saturday",
        "Tickets £1.00 each, five for £4.00. First prize: a sewing machine. Buy yours at the bar.",
    ),
    "invitation": (
        "Mara Feld <mara@feld.example>",
        "Costume workshop",
        "Would you like to come? It costs 40 EUR and we sew a doublet. Pattern included. Tell me by Friday.",
    ),
    "offer on a market": (
        "Stallholders <offers@stallholders.example>",
        "You received an offer",
        "Bertie offers £5.00 for your item Second-hand cloche hat. Accept or decline within 48 hours.",
    ),
    "auction": (
        "Gavel <bids@gavel.example>",
        "You are the highest bidder",
        "Item: Victorian bodice pattern\nYour bid: £12.00\nThe auction ends on 4 June 2024.",
    ),
    "back in stock": (
        "Cap & Bells <news@capbells.example>",
        "Back in stock: Tabard pattern",
        "The pattern you asked about is available again.\n\nTabard pattern (PDF)  £14.00\n\nOrder now before it is gone!",
    ),
    "gift card advert": (
        "Cap & Bells <news@capbells.example>",
        "Give a gift card",
        "Gift cards from £10.00 to £100.00. Order by Friday and we send it the same day.",
    ),
    "survey": (
        "Cap & Bells <news@capbells.example>",
        "Tell us about your order and win £50.00",
        "Thank you for shopping with us. Answer three questions and win a voucher worth £50.00.",
    ),
    "code": (
        "Cap & Bells <account@capbells.example>",
        "Your sign-in code: 204881",
        "Use 204881 to sign in. The code expires in 10 minutes.",
    ),
    "terms": (
        "Cap & Bells <legal@capbells.example>",
        "Changes to our terms",
        "From 1 July 2024 postage is £3.50 for orders below £25.00. Refunds are made within 14 days of a return.",
    ),
    "question of a buyer": (
        "Wanda Prentice <wanda@masquers.example>",
        "My order 2087",
        "Hello, I ordered the Tabard pattern for £14.00 last week and the link does not work. Can you help?",
    ),
    "talk among friends": (
        "Bertie Mould <bertie@masquers.example>",
        "Re: hats",
        "I bought the Tabard pattern for £14.00, it is lovely. Thanks for the tip! Total for the show so far: £82.00.",
    ),
    "mailing list": (
        "Sewing circle <circle@lists.example>",
        "[circle] Where do you buy patterns?",
        "I paid 12.50 EUR for a hat pattern at a fair. Order from the designer if you can, she deserves it.",
    ),
    "trial": (
        "Stitchcraft App <hello@stitchcraftapp.example>",
        "Your free trial ends soon",
        "Your trial ends on 9 June 2024. After that the plan costs £4.99 a month. Cancel at any time.",
    ),
    "price list": (
        "Costume Hire <hire@costumehire.example>",
        "Hire prices 2024",
        "Tabard, per week  £12.00\nDoublet, per week  £18.00\nDeposit  £50.00\nTotal for a full set  £80.00",
    ),
    "job": (
        "Agency <jobs@agency.example>",
        "Order 7 costumes?",
        "We need 7 tabards for a shoot and can pay £45.00 each. Could you send us an invoice with your terms?",
    ),
}
