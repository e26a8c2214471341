"""What a document is about, by weighed signs that can be shown.

A sign is a phrase of the language (`[signs]` in its word file) or a fact of the structure (an order number, a total,
files to download).  A phrase weighs most in the subject, less in a heading or the first lines, least below.  What
speaks against a purchase is weighed apart from what speaks for one, and silence is preferred to a guess: a document
needs a sign that something was bought *and* what was bought, paid or can be fetched.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from vault.language.folding import fold
from vault.model.evidence import DocumentKind
from vault.receipts.view import View, code_in
from vault.receipts.words import whole_phrase

ELISION_RE = re.compile(r"(?<!\w)((?:dell|all|nell|sull|dall|l|d)['’])(?=\w)", re.I)  # "dell'ordine 12"
_BARE_ADDRESS_RE = re.compile(
    r"(?:https?://)?(?:[^/@\s]*@)?(?:\d{1,3}(?:\.\d{1,3}){3}|\[[0-9a-f:.]+\])(?:[:/?#]|\Z)", re.I
)
_TOP_LINES = 7
_Places = tuple[tuple[float, str, str], ...]
SUBJECT, TOP, BODY = 3.0, 2.0, 1.0
# Names that only count against a purchase.
AGAINST = ("failed", "sold", "basket", "advert", "wish", "review", "account", "bank", "phish", "quote", "flyer")


@dataclass(slots=True)
class Signs:
    """The weights found, and the words they rest on."""

    weights: dict[str, float] = field(default_factory=dict)
    words: list[str] = field(default_factory=list)

    def weight(self, *names: str) -> float:
        """The weight of the strongest of these signs."""
        return max((self.weights.get(n, 0.0) for n in names), default=0.0)

    def add(self, name: str, weight: float, words: str) -> None:
        """Note a sign; of one name the heaviest counts in full, each further one a little."""
        known = self.weights.get(name, 0.0)
        self.weights[name] = max(known, weight) + 0.25 * min(known, weight) if known else weight
        if len(self.words) < 40:
            self.words.append(f"{name}: {words}")


def read_signs(view: View) -> Signs:
    """The signs in the words of a document."""
    doc = view.doc
    subject = fold(doc.subject or doc.title)
    top_parts: list[str] = []
    for line in doc.lines[:400]:
        spots_text = " ".join(p.text for p in line.pieces if p.text)
        if not spots_text:
            continue
        if len(top_parts) < _TOP_LINES or any(p.heading for p in line.pieces):
            top_parts.append(spots_text)
    top = fold("\n".join(top_parts)[:6000])
    body = doc.folded[:60_000]
    signs = Signs()
    places_all = ((SUBJECT, "subject", subject), (TOP, "top", top), (BODY, "text", body))
    for name, phrases in view.words.sign_table():
        if name in ("recommend", "not_file", "credentials", "conditional"):
            continue
        places = _without_threats(view, places_all) if name == "cancelled" else places_all
        for phrase in phrases:
            if phrase in places[-1][2]:
                for weight, where, text in places:
                    if phrase in text and whole_phrase(text, (phrase,)):
                        signs.add(name, weight, f"“{phrase}” ({where})")
                        break
    return signs


def _without_threats(view: View, places: _Places) -> _Places:
    """The texts without what only says when an order would be cancelled ("will be cancelled unless ...")."""
    threats = [p for p in view.words.phrases("signs", "conditional") if p in places[-1][2]]
    out = []
    for weight, where, text in places:
        for phrase in threats:
            text = text.replace(phrase, " ")
        out.append((weight, where, text))
    return tuple(out)


def suspicion(view: View) -> str:
    """What makes a mail about money look like a fraud: a link to a bare network address, or a wish for card data."""
    for link in view.doc.links:
        if _BARE_ADDRESS_RE.match(link.url.strip()):
            return f"a link to the bare address {link.url.strip()[:60]}"
    asked = whole_phrase(view.doc.folded[:60_000], view.words.phrases("signs", "credentials"))
    return f"asks: “{asked}”" if asked is not None else ""


def subject_number(view: View) -> str | None:
    """An order number in the subject: after a word for order or invoice, or in brackets or behind a number sign."""
    subject = view.doc.subject
    if not subject:
        return None
    tokens = ELISION_RE.sub(r"\1 ", subject).split(" ")
    for number, token in enumerate(tokens):
        rest = " ".join(tokens[number:])
        for concepts, _, value in view.words.leading(rest.lstrip("[(「【")):
            if "order_number" in concepts and (code := code_in(value)):
                return code
        if token.startswith("#") and (code := code_in(token)):
            return code
    return None


_KINDS = (
    ("refund", DocumentKind.REFUND),
    ("cancelled", DocumentKind.CANCELLATION),
    ("invoice", DocumentKind.INVOICE),
    ("download", DocumentKind.DOWNLOAD),
    ("receipt", DocumentKind.PAYMENT),
)


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What the structure shows, for the decision."""

    order_number: bool
    total: bool
    rows: int  # priced rows
    listed: int  # things named without a price
    downloads: int
    attached: int  # those of `downloads` that came with the mail
    payment_method: bool
    sums_agree: bool
    payee: bool
    prose: bool
    paid_back: bool  # money given back is told of
    orders: int = 1  # sections with a number of their own and a thing or a total


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """The kind of a document, and whether it is evidence of a purchase; `looks`: it seems one but says too little."""

    kind: DocumentKind
    purchase: bool
    looks: bool = False
    unpaid: bool = False
    reason: str = ""


def judge(signs: Signs, facts: Facts, view: View, *, marked: bool = False) -> Verdict:
    """Decide what the document is; `marked` if its markup names an order."""
    w = signs.weight
    bought = w("order", "purchase", "receipt", "download", "invoice")
    firm = w("order", "purchase", "receipt")
    substance = facts.rows > 0 or facts.total or facts.downloads > 0 or facts.prose or facts.listed > 0
    proof = (
        1.5 * facts.order_number
        + 1.0 * facts.total
        + 0.7 * facts.payment_method
        + 1.0 * facts.sums_agree
        + 1.0 * (facts.downloads > 0)
        + 0.8 * facts.payee
        + 1.2 * facts.prose
        + min(bought, 4.0)
    )
    against = _against(signs, facts, view)
    if against is not None:
        return against
    past = facts.orders > 1 and not view.doc.sender_address  # an account page says it by listing the orders
    told_back = facts.order_number or facts.prose
    policy = firm >= 2 and facts.total and w("refund") < SUBJECT and not facts.paid_back  # "we refund within 14 days"
    if not (policy or past) and (
        w("refund") >= 2 or (w("refund") >= 1 and told_back and not facts.total and not facts.downloads)
    ):
        return Verdict(kind=DocumentKind.REFUND, purchase=facts.order_number or facts.rows > 0 or facts.listed > 0)
    bare = not (facts.total or facts.rows or facts.downloads)
    if w("cancelled") >= 2 and facts.paid_back and not past and w("failed") < 1 and (w("refund") >= 1 or bare):
        return Verdict(kind=DocumentKind.REFUND, purchase=facts.order_number or facts.rows > 0 or facts.listed > 0)
    if w("cancelled") >= 2 and (bare or w("cancelled") >= firm) and not past:
        return Verdict(kind=DocumentKind.CANCELLATION, purchase=facts.order_number)
    if w("shipping") >= 2 and w("shipping") > w("download", "receipt", "invoice") and not facts.total and not past:
        contents = facts.order_number and (facts.listed + facts.rows) > 0 and not facts.payee
        return Verdict(kind=DocumentKind.SHIPPING, purchase=contents, reason="" if contents else "a parcel on its way")
    kind = DocumentKind.ORDER
    if w("invoice") >= 2 and w("invoice") >= w("order", "purchase", "download"):
        kind = DocumentKind.INVOICE
    elif w("receipt") > w("order", "purchase", "download") and facts.payee:
        kind = DocumentKind.PAYMENT
    elif w("download") > w("order", "purchase", "receipt") and not facts.total and not facts.prose:
        kind = DocumentKind.DOWNLOAD
    complete = facts.order_number and facts.total and (facts.payment_method or (facts.rows and facts.sums_agree))
    if past and bought < 1:
        return Verdict(kind=DocumentKind.HISTORY, purchase=True)
    if bought < 1 and not complete and not marked:
        return Verdict(kind=DocumentKind.OTHER, purchase=False, reason="nothing says that something was bought")
    only_billed = w("invoice") >= 1 and w("order", "purchase", "receipt", "download") < 1
    if only_billed and not marked and not (facts.rows or facts.listed or facts.payment_method or facts.prose):
        return Verdict(kind=DocumentKind.INVOICE, purchase=False, reason="a bill that names nothing bought")
    if not substance:
        looks = firm >= (2 if facts.order_number else SUBJECT + BODY / 2) and w("review") < 1
        return Verdict(
            kind=kind if looks else DocumentKind.OTHER,
            purchase=False,
            looks=looks,
            reason="names neither a price nor a thing bought",
        )
    if w("advert") > bought and not facts.order_number and not facts.downloads:
        return Verdict(kind=DocumentKind.ADVERT, purchase=False, reason="an advertisement")
    shown = facts.order_number or facts.total or facts.payment_method or facts.payee or facts.prose
    both = w("order", "purchase") >= 1 and w("receipt") >= 1  # bought, and the money came
    by_hand = facts.attached > 0 and both
    only_word = facts.downloads == facts.attached and facts.listed == 0 and bought <= SUBJECT
    if not shown and not by_hand and only_word and not marked:
        # one word for an order and an amount somewhere (a signature tells a company's capital)
        return Verdict(kind=DocumentKind.OTHER, purchase=False, reason="one word and a sum are no purchase")
    if proof < 3.0 and not marked:
        return Verdict(kind=DocumentKind.OTHER, purchase=False, reason="too little speaks for a purchase")
    unpaid = (w("reminder") >= SUBJECT or (w("reminder") >= 2 and firm < 2)) and not facts.downloads
    return Verdict(kind=kind, purchase=True, unpaid=unpaid)


def judge_history(signs: Signs, view: View) -> Verdict:
    """Whether a table of orders is the buyer's own: not a mail that bears another sign."""
    against = signs.weight("basket", "quote", "bank", "phish", "wish", "sold") if view.doc.sender_address else 0.0
    if against >= 2 or signs.weight("quote", "sold") >= (3 if signs.weight("sold") < 1 else 1):
        return Verdict(kind=DocumentKind.OTHER, purchase=False, reason="a list, but not of own orders")
    return Verdict(kind=DocumentKind.HISTORY, purchase=True)


def _against(signs: Signs, facts: Facts, view: View) -> Verdict | None:
    """What makes a document no evidence whatever prices it shows."""
    w = signs.weight
    firm = w("order", "purchase", "receipt")
    got = facts.downloads > 0 or facts.payment_method
    cancelled = w("cancelled") >= max(2.0, w("failed"))
    if not cancelled and (w("failed") >= 2 or (w("failed") >= 1 and not got and firm < 2)):
        return Verdict(kind=DocumentKind.FAILED_PAYMENT, purchase=facts.order_number, reason="the payment failed")
    if not facts.order_number and (w("basket") >= 2 or (w("basket") >= 1 and firm < 2)):
        return Verdict(kind=DocumentKind.ADVERT, purchase=False, reason="a basket that was not bought")
    if w("phish") >= 2.2 and w("phish") >= w("order", "download"):
        return Verdict(kind=DocumentKind.OTHER, purchase=False, reason="looks like a fraud")
    sold = w("sold") >= 2 and w("sold") >= w("purchase", "receipt")
    if sold or (w("sold") >= 1 and w("order", "purchase", "receipt") < 1):
        return Verdict(kind=DocumentKind.OTHER, purchase=False, reason="a sale of her own")
    for name, kind, words in (
        ("account", DocumentKind.OTHER, "about an account"),
        ("wish", DocumentKind.ADVERT, "a wish list"),
        ("review", DocumentKind.ADVERT, "asks for a review"),
        ("bank", DocumentKind.OTHER, "a bank's notice"),
        ("quote", DocumentKind.OTHER, "an offer, not an order"),
    ):
        strong = w(name) >= 2 and w(name) >= firm and not (facts.order_number and facts.total)
        weak = w(name) >= 1 and firm < 1 and not facts.order_number and not facts.downloads
        if strong or weak:
            return Verdict(kind=kind, purchase=False, reason=words)
    if w("stamp") >= 1 and not view.doc.sender_address and not (facts.total and (facts.rows or facts.payment_method)):
        return Verdict(kind=DocumentKind.OTHER, purchase=False, reason="a file that bears its buyer's name")
    if w("flyer") >= 1 and not facts.order_number and not facts.downloads and firm < 2 and not view.doc.sender_address:
        return Verdict(kind=DocumentKind.ADVERT, purchase=False, reason="a flyer")
    if view.doc.struck >= 2 and not facts.order_number and firm < 2:
        return Verdict(kind=DocumentKind.ADVERT, purchase=False, reason="an advertisement")
    undone = w("refund") >= 2 and (w("refund") >= w("advert") or facts.paid_back)
    if w("advert") >= 2 and w("advert") >= firm and not undone and not facts.order_number and not facts.downloads:
        return Verdict(kind=DocumentKind.ADVERT, purchase=False, reason="an advertisement")
    return None
