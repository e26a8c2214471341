"""Orders and invoices in schema.org markup -> claims.

Strategy: `markup` brings JSON-LD, microdata and RDFa Lite to the same nodes; here the properties of Order, Invoice,
OrderItem and Offer are mapped to a claim (schema.org release 30; `merchant` is the old name of `seller`, statuses are
also written with a small first letter).  What the vocabulary leaves open is settled by arithmetic: whether the price of
a line is that of one piece or of the line.  The total is not forced to be the sum of the lines.  A product or an offer
alone is no order; an order inside a parcel notice is only a parcel notice; a bill of a bank is no purchase.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any
from urllib.parse import urlsplit

from vault.language.folding import squeeze
from vault.model.evidence import DocumentKind, DownloadLink, FieldSource, ItemClaim, PurchaseClaim
from vault.receipts.markup import Node, nodes_of

_HOW = "schema.org"
_MAX_ORDERS = 5_000
_MAX_ITEMS = 500
_BANKS = frozenset(["bankorcreditunion", "financialservice", "paymentservice"])
_DIGITAL_TYPES = frozenset(["digitaldocument", "softwareapplication", "mobileapplication", "webapplication"])
# Status of an order or a payment -> what becomes of the claim.
_STATUSES: dict[str, dict[str, Any]] = {
    "ordercancelled": {"document": DocumentKind.CANCELLATION, "cancelled": True},
    "orderreturned": {"document": DocumentKind.REFUND, "refunded": True},
    "orderpaymentdue": {"unpaid": True},
    "paymentdue": {"unpaid": True},
    "paymentpastdue": {"unpaid": True},
    "paymentdeclined": {"document": DocumentKind.FAILED_PAYMENT, "unpaid": True},
}
_NUMBER_RE = re.compile(r"-?\d{1,12}(?:\.\d{1,6})?\Z")
_EUROPEAN_RE = re.compile(r"-?\d{1,3}(?:[. \u00a0\u202f]\d{3}){0,4},\d{1,2}\Z|-?\d{1,9},\d{1,2}\Z")
_GROUPED_RE = re.compile(r"-?\d{1,3}(?:,\d{3}){1,4}(?:\.\d{1,2})?\Z")
_CODE_RE = re.compile(r"[A-Z]{3}\Z")
_DAY_RE = re.compile(r"((?:19|20)\d\d)-?([01]\d)-?([0-3]\d)(?!\d)")
_CENT = Decimal("0.02")
_PLACEHOLDER_RE = re.compile(
    r"\{\{|\}\}|\{%|%\}|<%|%>|\$\{|#\{|\[\[|\]\]|%%|\*\|\w+\|\*|\{[a-z_.]{3,40}\}|%[a-z_]{3,40}%", re.I
)
_SAMPLE_RE = re.compile(r"(?:sample|example|dummy|test|demo|your|placeholder|lorem)\b", re.I)
_MAKERS = ("creator", "author", "brand")
_CODES = ("sku", "productid", "mpn", "gtin", "gtin13")


def read_structured(html: str) -> tuple[PurchaseClaim, ...]:
    """The claims that the markup of a page or a mail makes, in document order.  Never raises.

    A claim with `document` OTHER is a bill that proves no purchase (of a bank, about no order).
    """
    out: list[PurchaseClaim] = []
    for node, shipped in _orders(nodes_of(html)):
        if "invoice" in node.get("@type", []):
            out += _invoice(node)
        else:
            claim = _order(node, DocumentKind.SHIPPING if shipped else DocumentKind.ORDER)
            if claim is not None:
                out.append(claim)
        if len(out) >= _MAX_ORDERS:
            break
    return tuple(dict.fromkeys(claim for claim in out if not _is_unfilled(claim)))


def _is_unfilled(claim: PurchaseClaim) -> bool:
    """Whether the markup is a template that nobody filled in: placeholders stand where the order's facts belong."""
    said = [claim.order_number, claim.seller, *(item.title for item in claim.items)]
    if any(_PLACEHOLDER_RE.search(text) for text in said if text):
        return True
    samples = [text for text in (claim.seller, *(i.title for i in claim.items)) if text and _SAMPLE_RE.match(text)]
    return bool(samples) and not claim.total


def _orders(nodes: Iterable[Node]) -> Iterator[tuple[Node, bool]]:
    """Order and Invoice nodes at any depth, outermost first, each once; with whether a parcel notice holds it."""
    stack = [(node, False) for node in reversed(list(nodes))]
    seen: set[int] = set()
    while stack:
        node, shipped = stack.pop()
        if id(node) in seen:
            continue
        seen.add(id(node))
        types = node.get("@type", [])
        if "order" in types or "invoice" in types:
            yield node, shipped
            continue
        parcel = shipped or "parceldelivery" in types
        children = [(v, parcel) for values in node.values() for v in values if isinstance(v, dict)]
        stack += reversed(children)


# --- invoices ---------------------------------------------------------------------------------


def _invoice(node: Node) -> list[PurchaseClaim]:
    orders = [n for n in _nodes(node, "referencesorder") if isinstance(n, dict)]
    seller = _party(node)
    total, currency = _amount_in(node, "totalpaymentdue")
    settled = "paymentcomplete" in _statuses(node)
    if settled and not total:
        total = None  # nothing is due any more: this is not what it cost
    bank = any(t in _BANKS for party in _parties(node) for t in party.get("@type", []))
    if not orders:
        claim = _order(node, DocumentKind.OTHER if bank else DocumentKind.INVOICE)
        if claim is None:
            return []
        number = claim.order_number or _text(node, "confirmationnumber")
        return [_replace(claim, order_number=number, total=total, currency=currency or claim.currency)]
    out: list[PurchaseClaim] = []
    for order in orders[:_MAX_ORDERS]:
        claim = _order(order, DocumentKind.INVOICE, around=node)
        if claim is None:
            continue
        if len(orders) == 1 and claim.total is None:
            claim = _replace(claim, total=total, currency=claim.currency or currency)
        if claim.seller is None and seller is not None and not bank:
            claim = _replace(claim, seller=_name(seller), seller_domain=_domain(seller))
        out.append(claim)
    return out


def _replace(claim: PurchaseClaim, **changes: Any) -> PurchaseClaim:
    """The claim with changes, each with its source."""
    from dataclasses import replace

    told = {s.field for s in claim.sources}
    more = tuple(
        FieldSource(field=name, words=str(value), how=_HOW)
        for name, value in changes.items()
        if value is not None and name not in told
    )
    return replace(claim, **changes, sources=claim.sources + more)


# --- orders -----------------------------------------------------------------------------------


def _order(node: Node, document: DocumentKind, around: Node | None = None) -> PurchaseClaim | None:
    party = _party(node)
    customer = _first_node(node, "customer") or (_first_node(around, "customer") if around else None)
    total, currency = _total(node)
    items = _items(node, total)
    values: dict[str, Any] = {
        "seller": _name(party) if party else None,
        "seller_domain": _domain(party) if party else None,
        "order_number": _text(node, "ordernumber") or _text(node, "confirmationnumber"),
        "purchased_on": _date(_text(node, "orderdate") or _text(node, "invoicedate")),
        "total": total,
        "currency": currency or _currency_of_lines(node),
        "discount": _amount(_value(node, "discount")),
        "buyer_name": _name(customer) if customer else None,
        "buyer_mail": _text(customer, "email") if customer else None,
    }
    if not items and not any(values[k] for k in ("order_number", "total", "seller")):
        return None
    changes: dict[str, Any] = {}
    for status in [*_statuses(node), *(_statuses(around) if around else [])]:
        changes |= _STATUSES.get(status, {})
    if document in (DocumentKind.SHIPPING, DocumentKind.OTHER):
        changes.pop("document", None)
    sources = [
        FieldSource(field=name, words=str(value), how=_HOW) for name, value in values.items() if value is not None
    ]
    sources += [FieldSource(field="items", words=item.title, how=_HOW) for item in items]
    return PurchaseClaim(
        **{
            "document": document,
            **values,
            "date_printed": values["purchased_on"] is not None,
            "items": items,
            "links": tuple(_links(node)),
            "sources": tuple(sources),
            **changes,
        }
    )


def _statuses(node: Node) -> list[str]:
    names = ("orderstatus", "paymentstatus")
    texts = [str(v) for name in names for v in node.get(name, []) if isinstance(v, str)]
    texts += [str(i) for name in names for v in node.get(name, []) if isinstance(v, dict) for i in v.get("@id", [])]
    return [re.split(r"[/#:]", t.strip())[-1].casefold() for t in texts]


def _total(node: Node) -> tuple[Decimal | None, str | None]:
    """What the order costs: its own price, else what its invoice or price specification says."""
    total = _amount(_value(node, "price"))
    currency = _currency(_text(node, "pricecurrency"))
    if total is not None:
        return total, currency
    for name in ("totalpaymentdue", "totalprice", "pricespecification"):
        total, inner = _amount_in(node, name)
        if total is not None:
            return total, inner or currency
    for invoice in _nodes(node, "partofinvoice"):
        total, inner = _amount_in(invoice, "totalpaymentdue")
        if total is not None:
            return total, inner or currency
    return None, currency


def _amount_in(node: Node, name: str) -> tuple[Decimal | None, str | None]:
    for value in node.get(name, []):
        if isinstance(value, dict):
            amount = _amount(_value(value, "price") or _value(value, "value"))
            code = _currency(_text(value, "pricecurrency") or _text(value, "currency"))
            if amount is not None:
                return amount, code
        elif (amount := _amount(value)) is not None:
            return amount, None
    return None, None


# --- lines ------------------------------------------------------------------------------------


def _items(node: Node, total: Decimal | None) -> tuple[ItemClaim, ...]:
    lines: list[tuple[ItemClaim, Decimal | None]] = []
    for offer in _nodes(node, "acceptedoffer")[:_MAX_ITEMS]:
        lines += _lines_of_offer(offer)
    ordered = [line for entry in node.get("ordereditem", [])[:_MAX_ITEMS] for line in _lines_of_item(entry)]
    offered = {item.title for item, _ in lines}
    lines += [line for line in ordered if line[0].title not in offered]
    if not lines:
        return ()
    return tuple(_priced(lines, total))


def _lines_of_offer(offer: Node) -> list[tuple[ItemClaim, Decimal | None]]:
    price, _ = _total(offer)
    quantity = _quantity(offer)
    seller = _party(offer)
    out = []
    for thing in offer.get("itemoffered", []) or [offer]:
        item = _thing(thing, quantity=quantity, seller=_name(seller) if seller else None)
        if item is not None:
            out.append((item, price if len(offer.get("itemoffered", [])) <= 1 else None))
    return out


def _lines_of_item(entry: Any) -> list[tuple[ItemClaim, Decimal | None]]:
    if not isinstance(entry, dict):
        item = _thing(entry)
        return [(item, None)] if item else []
    inner = entry.get("ordereditem")
    seller = _party(entry)
    price, _ = _total(entry)
    if not inner:
        for offer in _nodes(entry, "offers"):
            price = price if price is not None else _total(offer)[0]
        item = _thing(entry, quantity=_quantity(entry), seller=_name(seller) if seller else None)
        return [(item, price)] if item else []
    out = []
    for thing in inner:
        if price is None and isinstance(thing, dict):
            price = next((p for offer in _nodes(thing, "offers") if (p := _total(offer)[0]) is not None), None)
        item = _thing(
            thing,
            quantity=_quantity(entry),
            seller=_name(seller) if seller else None,
            code=_text(entry, "orderitemnumber"),
            refunded="orderreturned"
            in [re.split(r"[/#:]", str(s))[-1].casefold() for s in entry.get("orderitemstatus", [])],
            parcel=any("parceldelivery" in n.get("@type", []) for n in _nodes(entry, "orderdelivery")),
        )
        if item:
            out.append((item, price))
    return out


def _thing(
    thing: Any,
    *,
    quantity: int | None = None,
    seller: str | None = None,
    code: str | None = None,
    refunded: bool = False,
    parcel: bool = False,
) -> ItemClaim | None:
    """A Product, Service or bare name as an item; None without a name."""
    if not isinstance(thing, dict):
        bare = squeeze(str(thing or ""))
        return ItemClaim(title=bare, quantity=quantity, seller=seller) if bare and "://" not in bare else None
    title = _text(thing, "name") or _text(thing, "description")
    if not title:
        return None
    digital = True if any(t in _DIGITAL_TYPES for t in thing.get("@type", [])) else None
    maker = next((said for key in _MAKERS if (said := _first_name(thing, key))), None)
    number = next((said for key in _CODES if (said := _text(thing, key))), None)
    return ItemClaim(
        title=title,
        designer=maker if maker != seller else None,
        quantity=quantity,
        digital=False if parcel and digital is None else digital,
        product_code=number or code,
        links=tuple(_links(thing)),
        refunded=refunded,
        seller=seller,
    )


def _priced(lines: list[tuple[ItemClaim, Decimal | None]], total: Decimal | None) -> Iterator[ItemClaim]:
    """Items with the amount of their line.  A price is that of one piece, unless the total says otherwise."""
    from dataclasses import replace

    prices = [price for _, price in lines if price is not None]
    whole = total is not None and len(prices) == len(lines) and abs(sum(prices, Decimal(0)) - total) <= _CENT
    for item, price in lines:
        pieces = item.quantity or 1
        yield replace(item, amount=price if price is None or whole else price * pieces)


def _quantity(node: Node) -> int | None:
    for name in ("orderquantity", "eligiblequantity", "quantity"):
        for value in node.get(name, []):
            number = _amount(_value(value, "value") if isinstance(value, dict) else value)
            if number is not None and number == number.to_integral_value() and 0 < number < 100_000:
                return int(number)
    return None


def _links(node: Node) -> Iterator[DownloadLink]:
    """Addresses of download actions; product pages and order pages are none."""
    for action in _nodes(node, "potentialaction"):
        if "downloadaction" in action.get("@type", []):
            for target in [*action.get("target", []), *action.get("url", [])]:
                url = _text(target, "urltemplate") or _text(target, "url") if isinstance(target, dict) else str(target)
                if url and url.startswith(("http://", "https://")):
                    yield DownloadLink(url=url, label=_text(action, "name"))


# --- values -----------------------------------------------------------------------------------


def _value(node: Node, name: str) -> Any:
    return next((v for v in node.get(name, []) if not isinstance(v, dict)), None)


def _text(node: Node, name: str) -> str | None:
    value = _value(node, name)
    text = squeeze(str(value)) if value is not None and not isinstance(value, bool) else ""
    return text or None


def _nodes(node: Node, name: str) -> list[Node]:
    return [v for v in node.get(name, []) if isinstance(v, dict)]


def _first_node(node: Node, name: str) -> Node | None:
    return next(iter(_nodes(node, name)), None)


def _parties(node: Node) -> list[Node]:
    out: list[Node] = []
    for name in ("seller", "merchant", "provider", "broker"):
        for value in node.get(name, []):
            out.append(value if isinstance(value, dict) else {"name": [value]})
    return out


def _party(node: Node) -> Node | None:
    """Who sells: seller, its old name merchant, provider, broker; a bank is not the seller."""
    for party in _parties(node):
        if _name(party) and not any(t in _BANKS for t in party.get("@type", [])):
            return party
    return None


def _name(node: Node) -> str | None:
    return _text(node, "name") or _text(node, "legalname")


def _first_name(node: Node, name: str) -> str | None:
    inner = _first_node(node, name)
    return _name(inner) if inner else _text(node, name)


def _domain(party: Node) -> str | None:
    for key in ("url", "sameas", "@id"):
        text = _text(party, key)
        if text and "://" in text:
            try:
                host = urlsplit(text).hostname
            except ValueError:
                continue
            if host:
                return host.removeprefix("www.")
    return None


def _currency(text: str | None) -> str | None:
    code = (text or "").strip().upper()
    return code if _CODE_RE.match(code) else None


def _currency_of_lines(node: Node) -> str | None:
    codes = {
        _currency(_text(inner, "pricecurrency"))
        for name in ("acceptedoffer", "ordereditem")
        for inner in _nodes(node, name)
    } - {None}
    return codes.pop() if len(codes) == 1 else None


def _amount(value: Any) -> Decimal | None:
    """A number, or a text that holds nothing but one (with a currency sign, at most)."""
    if isinstance(value, bool) or value is None:
        return None
    if isinstance(value, Decimal):
        return value if value.is_finite() and abs(value) < Decimal(10) ** 12 else None
    text = squeeze(str(value))[:60]
    text = re.sub(r"\A[^\d\-]{0,5}|[^\d]{0,5}\Z", "", text)
    if _EUROPEAN_RE.match(text):
        text = re.sub(r"[.\s\u00a0\u202f]", "", text).replace(",", ".")
    elif _GROUPED_RE.match(text):
        text = text.replace(",", "")
    elif not _NUMBER_RE.match(text):
        return None
    try:
        return Decimal(text)
    except InvalidOperation:
        return None


def _date(text: str | None) -> date | None:
    """The day as written (no shift to another zone); other forms than ISO only where they leave no choice."""
    if not text:
        return None
    found = _DAY_RE.match(text.strip())
    if found:
        try:
            return date(int(found.group(1)), int(found.group(2)), int(found.group(3)))
        except ValueError:
            return None
    from vault.language.dates import find_dates

    days = {f.value for f in find_dates(text[:100])}
    return days.pop() if len(days) == 1 else None
