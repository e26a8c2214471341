"""One document in the small form -> what it says of orders.

The order of work: the view is made, the signs are read, the lines are cut into orders; in each, rows, sums, sentences
and links are gathered, the sums choose, and a claim is built that says for each field where it was read.  What the
document *is* decides whether there is a claim at all.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from vault.language import detect, fold
from vault.language.amounts import Amount
from vault.model.evidence import DocumentKind, DownloadLink, FieldSource, ItemClaim, PurchaseClaim
from vault.receipts import orders, prose
from vault.receipts.goods import files_among_patterns, with_kind
from vault.receipts.history import PastOrder, download_links, past_items, read_history
from vault.receipts.item import Item
from vault.receipts.items import items_of, named_item
from vault.receipts.lines import Document
from vault.receipts.marked import with_markup
from vault.receipts.order_currency import currency_of
from vault.receipts.row import Row
from vault.receipts.rows import read_rows
from vault.receipts.seller_names import domain_key
from vault.receipts.shop import find_shop
from vault.receipts.shop_domains import host
from vault.receipts.signs import AGAINST, Facts, Signs, Verdict, judge, judge_history, read_signs, suspicion
from vault.receipts.sums import Sum, Totals, read_sums, settle
from vault.receipts.view import View, view_of
from vault.receipts.words import whole_phrase

MAX_ORDERS = 400
_ADDRESSED_RE = re.compile(r"(.{2,30}?)\s?(?:様|さま)")
_ORDERLIKE = frozenset([DocumentKind.ORDER, DocumentKind.INVOICE, DocumentKind.PAYMENT])
_STOPPED = frozenset([DocumentKind.FAILED_PAYMENT])
_AGAINST = frozenset([DocumentKind.ADVERT, DocumentKind.FAILED_PAYMENT, DocumentKind.CANCELLATION])
_REVERSING = frozenset([DocumentKind.REFUND, DocumentKind.CANCELLATION, DocumentKind.FAILED_PAYMENT])


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What a document says: its kind with the signs it rests on, and the claims."""

    verdict: Verdict
    signs: tuple[str, ...]
    language: str | None
    claims: tuple[PurchaseClaim, ...]


@dataclass(slots=True)
class _Order:
    """Everything gathered for one section."""

    section: orders.Section
    rows: list[Row]
    loose: list[Row]
    sums: list[Sum]
    totals: Totals
    values: dict[int, Decimal]
    told: list[prose.Told]
    items: list[Item]
    order_links: list[DownloadLink]
    beside: set[int]


def language_of(doc: Document) -> str | None:
    """The language of a document: of its words, the declared one deciding near equals."""
    text = doc.subject + "\n" + "\n".join(line.text for line in doc.lines[:150])
    return detect(text[:6000], hint=doc.declared_language)


def read_document(doc: Document, marked: Sequence[PurchaseClaim] = ()) -> Outcome:
    """What `doc` says of orders; `marked` are the claims that its markup makes (schema.org), which lead."""
    language = doc.language or language_of(doc)
    view = view_of(doc, language)
    signs = read_signs(view)
    beside = orders.content_end(view)
    cut = orders.sections(view)[:MAX_ORDERS] if len(marked) != 1 else [orders.Section(0, len(view.lines))]
    known = marked[0].items if len(marked) == 1 else ()
    past = read_history(view) if not marked else []
    if len(past) > 1 or (past and not orders.sections_agree(view, past)):
        return _history_outcome(view, past, signs)
    found = [_gather(view, section, beside, known) for section in cut]
    if len(found) > 1:
        _drop_grand_total(found)
    numbers = orders.numbers(view)
    facts = _facts(view, found, numbers)
    verdict = judge(signs, facts, view, marked=bool(marked))
    claims: list[PurchaseClaim] = []
    if verdict.purchase:
        for order in found:
            claim = _claim(view, order, numbers, verdict, single=len(found) == 1)
            if claim is not None:
                claims.append(claim)
        if not marked and claims and not any(_holds(c, facts) for c in claims):
            reason = "an amount, but neither a thing bought nor the number of an order"
            claims, verdict = [], replace(verdict, purchase=False, reason=reason)
    if marked and verdict.kind not in _STOPPED:
        claims = list(with_markup(marked, claims))
        claims = [replace(c, items=tuple(with_kind(i, view.words) for i in c.items)) for c in claims]
        verdict = replace(verdict, purchase=bool(claims), kind=marked[0].document, looks=False)
    if len(claims) > 1:
        claims = files_among_patterns(claims)
    offered = signs.weight("quote", "bank", "phish", "stamp") >= 2
    if not claims and not offered and not view.doc.sender_address and verdict.kind is DocumentKind.OTHER:
        verdict = replace(verdict, looks=verdict.looks or orders.lists_orders(view))
    if not claims and facts.attached and not verdict.purchase and verdict.kind not in _AGAINST:
        told = signs.weight("receipt", "purchase") >= 1 and any(s.amounts for s in view.spots)
        verdict = replace(verdict, looks=verdict.looks or told)  # files came, and money was received
    if not claims and facts.order_number and facts.total and facts.rows and verdict.kind is DocumentKind.OTHER:
        verdict = replace(verdict, looks=verdict.looks or signs.weight(*AGAINST) < 1)
    if verdict.looks and suspicion(view):
        verdict = replace(verdict, looks=False, reason="looks like a fraud")
    words = (*signs.words, *([verdict.reason] if verdict.reason and not claims else []))
    return Outcome(verdict=verdict, signs=words, language=language, claims=tuple(claims))


def _history_outcome(view: View, past: list[PastOrder], signs: Signs) -> Outcome:
    """A page that lists orders: one claim for each that was not cancelled."""
    verdict = judge_history(signs, view)
    claims: list[PurchaseClaim] = []
    shop = find_shop(view, 0, len(view.lines))
    said = signs.weight("order", "purchase", "receipt", "download") >= 1
    for order in past if verdict.purchase else []:
        if order.cancelled or not (said or order.code or order.links or _valued(order)):
            continue  # a table of names and days is no list of orders
        amounts = [a for a in (order.total, *(i.amount for i in order.items)) if a is not None]
        currency, currency_words = currency_of(view, amounts)
        items = past_items(view, order)
        links = tuple(k for k in download_links(view, order) if not any(k in i.links for i in items))
        claims.append(
            PurchaseClaim(
                document=DocumentKind.HISTORY,
                seller=order.seller or shop.name,
                seller_domain=shop.domain,
                order_number=order.code,
                purchased_on=order.day,
                date_printed=order.day is not None,
                currency=currency,
                total=abs(order.total.value) if order.total is not None and order.code else None,
                items=items,
                links=links,
                refunded=order.refunded,
                sources=(
                    FieldSource(field="order", words=order.words, how="row of a list of orders"),
                    FieldSource(field="currency", words=currency_words, how="printed with the amounts"),
                ),
            )
        )
    return Outcome(verdict=verdict, signs=tuple(signs.words), language=view.language, claims=tuple(claims))


def _drop_grand_total(found: list[_Order]) -> None:
    """What was paid for all orders together is the total of none of them."""
    sums = [sum(o.values.values(), Decimal(0)) for o in found]
    for own, order in zip(sums, found):
        total = order.totals.total
        if total is not None and own and abs(total.amount.value) == sum(sums) != own:
            order.totals.total = None


def _valued(order: PastOrder) -> bool:
    return order.total is not None or any(item.amount is not None for item in order.items)


def _gather(view: View, section: orders.Section, beside: set[int], known: Sequence[ItemClaim]) -> _Order:
    rows = [r for r in read_rows(view, section.start, section.stop) if r.line not in beside]
    taken = beside | {r.line for r in rows if r.group.startswith("table") and r.priced}
    sums = [s for s in read_sums(view, section.start, section.stop) if s.line not in taken]
    chosen, values, totals = settle(rows, sums)
    told = [t for t in prose.bought(view, section.start, section.stop) if t.paragraph.line not in beside]
    loose = [r for r in rows if not r.priced]
    items, links = items_of(view, section.start, section.stop, beside, chosen, values, loose, told, known)
    return _Order(section, chosen, loose, sums, totals, values, told, items, links, beside)


def _head_total(view: View, order: _Order) -> Decimal | None:
    """An amount without a label beside the day or state of an order, if the lines add up to it."""
    lines = sum(order.values.values(), Decimal(0))
    first = min((r.line for r in order.rows), default=order.section.start)
    for line in range(order.section.start, first):
        for spot in view.of_line(line):
            if len(spot.amounts) == 1 and spot.amounts[0].value == lines:
                return lines
    return None


def _costs(order: _Order, row: Row) -> bool:
    """Whether a row is a thing paid for: one with an amount below zero is money given back."""
    return order.values.get(id(row), Decimal(0)) >= 0


def _holds(claim: PurchaseClaim, facts: Facts) -> bool:
    """Whether a claim names what was bought or can be told from others: a word for orders and a sum are no purchase."""
    named = claim.order_number or claim.payment_number
    return bool(claim.items or claim.links or named or (facts.total and (facts.payee or facts.payment_method)))


def _facts(view: View, found: list[_Order], numbers: list[orders.Numbered]) -> Facts:
    return Facts(
        order_number=any(orders.numbers(view, c) for c in ("order_number", "invoice_number", "receipt_number")),
        total=any(o.totals.total is not None for o in found),
        rows=sum(_costs(o, r) for o in found for r in o.rows),
        listed=sum(len(o.loose) for o in found),
        downloads=sum(len(i.links) for o in found for i in o.items)
        + sum(len(o.order_links) for o in found)
        + len(view.doc.attached),
        attached=len(view.doc.attached),
        payment_method=any(True for _ in view.find("payment_method")),
        sums_agree=any(o.totals.fits >= 3 for o in found),
        payee=any(p.concepts[0] == "seller" for p in view.pairs),
        orders=sum(bool(o.section.number and (o.rows or o.totals.total)) for o in found),
        prose=any(t.amount is not None for o in found for t in o.told),
        paid_back=any(o.totals.refund or prose.refunded(view, o.section.start, o.section.stop)[0] for o in found),
    )


def _claim(
    view: View, order: _Order, numbers: list[orders.Numbered], verdict: Verdict, *, single: bool
) -> PurchaseClaim | None:
    section = order.section
    sources: list[FieldSource] = []
    shop = find_shop(
        view, section.start, section.stop, number_line=section.number.line if section.number and not single else None
    )
    number = section.number if not single and section.number else orders.best_number(numbers)
    sellers = {i.claim.seller for i in order.items if i.claim.seller}
    if single and len(sellers) > 1 and len({n.code for n in numbers}) >= len(sellers):
        number = None  # each seller of a marketplace has a number of its own
    invoice = orders.best_number(orders.numbers(view, "invoice_number"))
    payment = orders.best_number(orders.numbers(view, "payment_number"))
    receipt = orders.best_number(orders.numbers(view, "receipt_number"))
    if verdict.kind is DocumentKind.PAYMENT or shop.third:
        payment = payment or receipt  # the number of a payment service's receipt is its own, not the shop's
    else:
        invoice = invoice or receipt
    fetched = bool(order.order_links) or any(i.claim.links for i in order.items)
    by_other = single and shop.third and verdict.kind in _ORDERLIKE and (number is None or not fetched)
    kind = DocumentKind.PAYMENT if by_other else verdict.kind
    state = ""
    if not single and not view.doc.sender_address and kind in (*_ORDERLIKE, DocumentKind.HISTORY):
        kind = DocumentKind.HISTORY
        state = orders.state_of(view, section)
        if state == "cancelled":
            kind = DocumentKind.CANCELLATION
    day, printed, day_words, day_how = orders.order_day(view, section.start, section.stop, number or invoice or receipt)
    currency, currency_words = currency_of(view, _amounts(order))
    total = order.totals.total
    total_value = abs(total.amount.value) if total is not None else None
    told_amounts = [t.amount for t in order.told if t.amount is not None]
    if total is None and len(order.items) == 1 and told_amounts and not order.rows:
        total_value = told_amounts[0].value
        sources.append(FieldSource(field="total", words=order.told[0].words, how="told in a sentence"))
    if total_value is None and not single:
        total_value = _head_total(view, order)
        if total_value is not None:
            sources.append(FieldSource(field="total", words=str(total_value), how="beside the day, sum of the lines"))
    if total_value is None and single and (order.rows or kind is not DocumentKind.DOWNLOAD):
        only = {abs(a.value) for s in view.spots for a in s.amounts if s.line not in order.beside}
        if len(only) == 1 and len(order.rows) <= 1:
            total_value = only.pop()
            sources.append(FieldSource(field="total", words=str(total_value), how="the only amount of the document"))
    if number is not None:
        sources.append(FieldSource(field="order_number", words=number.words, how=number.how))
    elif invoice is not None:
        sources.append(FieldSource(field="order_number", words=invoice.words, how="invoice number"))
    if shop.name:
        sources.append(FieldSource(field="seller", words=shop.words, how=shop.how))
    if day is not None:
        sources.append(FieldSource(field="purchased_on", words=day_words, how=day_how))
    if currency:
        sources.append(FieldSource(field="currency", words=currency_words, how="printed with the amounts"))
    if total is not None:
        how = "the sums agree" if order.totals.fits >= 3 else "label"
        sources.append(FieldSource(field="total", words=total.words, how=how))
    for item in order.items:
        sources.append(FieldSource(field=f"item {item.claim.title}"[:80], words=item.words[:160], how=item.how))
    added = (order.totals.shipping, order.totals.discount, order.totals.fee, order.totals.gift_card)
    if len(order.items) == 1 and not order.rows and total_value is not None and not any(added):
        bought = order.items[0]
        if bought.claim.amount is None and (bought.claim.quantity or 1) == 1:
            bought.claim = replace(bought.claim, amount=total_value)  # one thing cost what the order cost
    claim = PurchaseClaim(
        document=kind,
        seller=shop.name,
        seller_domain=shop.domain,
        order_number=number.code if number is not None else invoice.code if invoice is not None else None,
        payment_number=payment.code if payment is not None else None,
        purchased_on=day,
        date_printed=printed,
        currency=currency,
        total=total_value,
        amount_due=_due(order.totals),
        tax=order.totals.tax,
        shipping=order.totals.shipping,
        discount=order.totals.discount,
        gift_card=order.totals.gift_card,
        items=tuple(i.claim for i in order.items),
        links=tuple(order.order_links),
        payee_only=shop.third and kind is DocumentKind.PAYMENT,
        sender_domain=domain_key(host(view.doc.sender_address)) or None,
        suspicion=suspicion(view) if verdict.kind in _REVERSING else "",
        unpaid=verdict.unpaid,
        cancelled=kind is DocumentKind.CANCELLATION,
        refunded=state == "refunded",
        buyer_name=_buyer(view),
        buyer_mail=view.doc.recipient_address or None,
        sources=tuple(sources),
    )
    return _with_refund(view, claim, order) if verdict.kind is DocumentKind.REFUND else claim


def _due(totals: Totals) -> Decimal | None:
    due = totals.due
    if due is None or due is totals.total:
        return None
    return abs(due.amount.value)


def _with_refund(view: View, claim: PurchaseClaim, order: _Order) -> PurchaseClaim:
    """A refund: of the whole, or of what it names."""
    amount, titles, whole, said = prose.refunded(view, order.section.start, order.section.stop)
    paid_back = amount.value if amount is not None else None
    if paid_back is None and order.totals.refund is not None:
        paid_back = abs(order.totals.refund.amount.value)
    named = {fold(t) for t in titles}
    words = view.words.phrases("signs", "refund")
    items = [i for i in claim.items if whole_phrase(fold(i.title), words) is None]  # "X refunded you" is no thing
    for title in titles:
        if not any(fold(i.title) == fold(title) for i in items):
            items.append(named_item(view, title))
    items = [
        replace(
            i,
            refunded=not named or fold(i.title) in named,
            amount=abs(i.amount) if i.amount is not None else None,
        )
        for i in items
    ]
    partial = whole is False
    refunded: bool | None = True
    if partial or (claim.total is not None and paid_back is not None and paid_back < claim.total):
        refunded = None
    sources = (*claim.sources, FieldSource(field="refunded", words=said, how="refund"))
    total = claim.total if claim.total != paid_back else None
    return replace(
        claim,
        items=tuple(items),
        refunded=refunded,
        refund_amount=paid_back,
        total=total,
        purchased_on=None,
        date_printed=False,
        sources=sources,
    )


def _buyer(view: View) -> str | None:
    for pair in view.find("buyer"):
        value = pair.value.strip()
        if 3 < len(value) < 60 and " " in value and not any(c.isdigit() for c in value) and "@" not in value:
            return value
    if view.doc.recipient_name:
        return view.doc.recipient_name
    addressed = (_ADDRESSED_RE.fullmatch(s.text) for s in view.spots[:40] if s.text)
    return next((m.group(1) for m in addressed if m is not None), None)


def _amounts(order: _Order) -> list[Amount]:
    amounts = [a for r in order.rows for _, a in r.amounts]
    amounts += [s.amount for s in order.sums]
    return amounts + [t.amount for t in order.told if t.amount is not None]
