"""Short mails for the tests of the engine."""

from __future__ import annotations

from email.message import EmailMessage

from vault.model.evidence import DocumentReading, EvidenceKind, PurchaseClaim
from vault.receipts.read import read

SENDER = "Cap & Bells <orders@capbells.example>"


def raw_mail(body: str, *, subject: str, sender: str = SENDER, html: bool = False, day: str = "3 Jun 2024") -> bytes:
    """A mail as bytes."""
    message = EmailMessage()
    message["From"] = sender
    message["To"] = "Wanda Prentice <wanda@masquers.example>"
    message["Subject"] = subject
    message["Date"] = f"Mon, {day} 10:00:00 +0100"
    message.set_content(body, subtype="html" if html else "plain")
    return message.as_bytes()


def reading(
    body: str,
    *,
    subject: str = "Your order 1042",
    sender: str = SENDER,
    html: bool | None = None,
    day: str = "3 Jun 2024",
) -> DocumentReading:
    """What the reader makes of a mail; a body that begins with a tag is HTML."""
    html = body.lstrip().startswith("<") if html is None else html
    return read(EvidenceKind.MAIL, raw_mail(body, subject=subject, sender=sender, html=html, day=day))


def claim(
    body: str,
    *,
    subject: str = "Your order 1042",
    sender: str = SENDER,
    html: bool | None = None,
    day: str = "3 Jun 2024",
) -> PurchaseClaim:
    """The one claim of a mail."""
    (only,) = reading(body, subject=subject, sender=sender, html=html, day=day).claims
    return only


def lines_of(one: PurchaseClaim) -> list[tuple[str, int | None, str | None]]:
    """Title, count and amount of each item."""
    return [(i.title, i.quantity, None if i.amount is None else f"{i.amount:.2f}") for i in one.items]
