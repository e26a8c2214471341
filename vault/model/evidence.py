"""What one document says: the values that `vault.receipts` returns and `vault.catalogue` records.

A *claim* is what one document says of one order.  Claims are kept as they were read; purchases are joined from
them (`vault.receipts.joining`), again and again, so that a better reader never needs the mail to be imported twice.
A field that the document does not say, or says ambiguously, is None.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum


class EvidenceKind(StrEnum):
    """What the document is as a thing."""

    MAIL = "mail"
    PAGE = "page"
    PDF = "pdf"
    CSV = "csv"
    SHEET = "sheet"
    TEXT = "text"
    RECORDED = "recorded"  # typed in with `pinfold record`


class DocumentKind(StrEnum):
    """What the document is about."""

    ORDER = "order"  # an order confirmation
    PAYMENT = "payment"  # a payment service's receipt
    INVOICE = "invoice"
    DOWNLOAD = "download"  # files are ready
    REFUND = "refund"
    CANCELLATION = "cancellation"
    FAILED_PAYMENT = "failed-payment"
    HISTORY = "history"  # an account page or export with orders of some time
    NOTICE = "notice"  # a shop about itself
    ADVERT = "advert"
    SHIPPING = "shipping"
    OTHER = "other"


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Something that could not be read or done, in one sentence, with what to do about it."""

    source: str
    reason: str
    next: str = ""


@dataclass(frozen=True, kw_only=True)
class FieldSource:
    """Where a field was read: the field's name, the words around it, and how it was found (`how` is a short reason)."""

    field: str
    words: str
    how: str


@dataclass(frozen=True, kw_only=True)
class DownloadLink:
    """A download link as it stands in the document; never opened.  `url` is text."""

    url: str
    label: str | None = None
    expires_on: date | None = None
    downloads_left: int | None = None


@dataclass(frozen=True, kw_only=True)
class ItemClaim:
    """One line of an order.  `amount` is that of the line (quantity times price) in the order's currency."""

    title: str
    designer: str | None = None
    quantity: int | None = None
    amount: Decimal | None = None
    digital: bool | None = None
    craft_pattern: bool | None = None
    options: tuple[str, ...] = ()  # size, format, licence chosen: as printed
    product_code: str | None = None
    # Parts in the download: "A4", "A0", "Letter", "projector", "instructions", "chart", sizes, titles of a bundle.
    promised: tuple[str, ...] = ()
    links: tuple[DownloadLink, ...] = ()
    refunded: bool = False
    seller: str | None = None  # of this line, where a marketplace mail names several


@dataclass(frozen=True, kw_only=True)
class PurchaseClaim:
    """What one document says of one order.

    `date_printed` tells a date that stands in the document from that of the mail.  `payment_number` is the payment
    service's own, `order_number` the shop's.  `refunded`: True the whole, False nothing said, None only in part.
    `payee_only`: the document is a payment service's and names the seller as payee.
    """

    document: DocumentKind
    seller: str | None = None
    seller_domain: str | None = None
    order_number: str | None = None
    payment_number: str | None = None
    purchased_on: date | None = None
    date_printed: bool = False
    currency: str | None = None
    total: Decimal | None = None
    amount_due: Decimal | None = None  # left to pay after a gift card
    tax: Decimal | None = None
    shipping: Decimal | None = None
    discount: Decimal | None = None
    gift_card: Decimal | None = None
    items: tuple[ItemClaim, ...] = ()
    links: tuple[DownloadLink, ...] = ()  # of the order, no single item
    refunded: bool | None = False
    refund_amount: Decimal | None = None
    cancelled: bool = False
    unpaid: bool = False  # failed, or still to be paid
    payee_only: bool = False
    sender_domain: str | None = None  # of the mail it came in; proves nothing by itself
    sent: str | None = None  # when that mail was sent: ISO 8601 in UTC
    suspicion: str = ""  # what makes the document look like a fraud
    buyer_name: str | None = None
    buyer_mail: str | None = None
    sources: tuple[FieldSource, ...] = ()


@dataclass(frozen=True, kw_only=True)
class SellerNotice:
    """What a shop says about itself.  `status` is None where the notice is only about a name or a move."""

    seller: str | None
    domain: str | None = None
    status: str | None = None  # "open", "closing", "closed"
    on: date | None = None  # the day it closes or closed
    succeeded_by: str | None = None
    successor_domain: str | None = None
    words: str = ""


@dataclass(frozen=True, kw_only=True)
class DocumentReading:
    """What one document says.

    No `claims` and no `notices` and no `problems`: not purchase evidence; `signs` then hold the reason.
    `dated` is the document's own date (mail Date header, printed date of a page).  `text` is plain text for search.
    """

    kind: EvidenceKind
    document: DocumentKind
    signs: tuple[str, ...] = ()
    language: str | None = None
    subject: str | None = None
    message_id: str | None = None
    dated: date | None = None
    sender: str | None = None  # display name and address of the mail as shown; proves nothing
    claims: tuple[PurchaseClaim, ...] = ()
    notices: tuple[SellerNotice, ...] = ()
    problems: tuple[Problem, ...] = ()
    text: str = ""
    attachments: tuple[Attachment, ...] = ()  # files that came with a mail; the intake imports them in their turn


@dataclass(frozen=True, kw_only=True)
class Attachment:
    """A file inside a mail: its cleaned name, declared media type and bytes."""

    name: str
    media_type: str
    content: bytes


@dataclass(frozen=True, kw_only=True)
class RecordedClaim:
    """A claim with where it stands: `seq` is the order of recording (from 1), `index` counts claims in one document."""

    seq: int
    evidence_sha256: str
    evidence_kind: EvidenceKind
    index: int
    claim: PurchaseClaim
    dated: date | None = None
    message_id: str | None = None
    language: str | None = None


@dataclass(frozen=True, kw_only=True)
class RecordedNotice:
    """A notice with the document it stands in."""

    seq: int
    evidence_sha256: str
    notice: SellerNotice
    dated: date | None = None
