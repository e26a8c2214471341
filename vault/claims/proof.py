"""Receipts as attachments: each as it is kept and, where it is no PDF already, as a PDF that anybody can read.

A mail goes along as .eml with every header, so that the seller's own systems can prove it.  Where something is left
out, the kept bytes would show it: then only a redacted copy goes along, as PDF and, for a mail, as a plain new .eml
that says so; the manifest still names the digest of what is kept.  What the person typed in herself is no proof.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from email.message import EmailMessage
from email.utils import format_datetime

from vault.claims.paper import Sheet, as_pdf
from vault.claims.phrases import Phrases
from vault.claims.redact import Hide, Subject, redact
from vault.claims.safe_text import one_line
from vault.model.evidence import EvidenceKind
from vault.receipts.mime import Mail, parse_mail

_ENDINGS = {
    EvidenceKind.MAIL: ".eml",
    EvidenceKind.PAGE: ".html",
    EvidenceKind.PDF: ".pdf",
    EvidenceKind.CSV: ".csv",
    EvidenceKind.SHEET: ".xlsx",
    EvidenceKind.TEXT: ".txt",
}
_OUTLOOK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_SAFE_RE = re.compile(r"[^A-Za-z0-9]+")


@dataclass(frozen=True, kw_only=True)
class Receipt:
    """One kept document: its bytes, what it is, its text, and what of it this claim is about."""

    sha256: str
    kind: EvidenceKind
    content: bytes
    lines: tuple[str, ...]
    subject: Subject
    title: str = ""
    dated: date | None = None
    order_number: str | None = None
    language: str | None = None


@dataclass(frozen=True, kw_only=True)
class Attached:
    """A file of the packet; `original` is the digest of the kept document it is or was made from."""

    name: str
    content: bytes
    original: str


@dataclass(frozen=True, kw_only=True)
class Proof:
    """All attachments, and how many lines were left out of them, by kind."""

    files: tuple[Attached, ...]
    left_out: dict[Hide, int] = field(default_factory=dict)


def prove(receipts: Sequence[Receipt], words: Phrases, hide: frozenset[Hide] = frozenset()) -> Proof:
    """The attachments for `receipts`, in the language of the letter; each name once, in order."""
    files: list[Attached] = []
    left_out = dict.fromkeys(sorted(hide), 0)
    for number, receipt in enumerate((r for r in receipts if r.kind is not EvidenceKind.RECORDED), start=1):
        stem = _stem(number, receipt)
        if not hide:
            files += _as_kept(stem, receipt, words)
            continue
        redacted = redact(receipt.lines, hide, receipt.subject, receipt.language, words["left_out"])
        for kind, n in redacted.counts.items():
            left_out[kind] += n
        files += _redacted(stem, receipt, redacted.lines, words, said=any(redacted.counts.values()))
    return Proof(files=tuple(files), left_out=left_out)


def _stem(number: int, receipt: Receipt) -> str:
    day = receipt.dated.isoformat() if receipt.dated else "undated"
    order = _SAFE_RE.sub("-", receipt.order_number or "").strip("-")[:40]
    return "-".join(filter(None, [f"{number:02d}", day, order]))


def _as_kept(stem: str, receipt: Receipt, words: Phrases) -> list[Attached]:
    ending = _ENDINGS[receipt.kind]
    if receipt.kind is EvidenceKind.MAIL and receipt.content.startswith(_OUTLOOK):
        ending = ".msg"
    kept = Attached(name=stem + ending, content=receipt.content, original=receipt.sha256)
    if receipt.kind is EvidenceKind.PDF:
        return [kept]
    sheet = _sheet(receipt, receipt.lines, words)
    return [kept, Attached(name=f"{stem}.pdf", content=as_pdf(sheet), original=receipt.sha256)]


def _redacted(stem: str, receipt: Receipt, lines: Sequence[str], words: Phrases, *, said: bool) -> list[Attached]:
    sheet = _sheet(receipt, lines, words)
    made = [Attached(name=f"{stem}.pdf", content=as_pdf(sheet), original=receipt.sha256)]
    if receipt.kind is EvidenceKind.MAIL:
        mail = parse_mail(receipt.content)
        marks = [f"{words['copy']}, SHA-256 {receipt.sha256}", *([words["redacted"]] if said else []), ""]
        content = _plain_mail(mail, [*marks, *lines], receipt.sha256)
        made.insert(0, Attached(name=f"{stem}.eml", content=content, original=receipt.sha256))
    return made


def _heads(mail: Mail) -> list[tuple[str, str]]:
    sender = f"{mail.from_name} <{mail.from_address}>" if mail.from_name else mail.from_address
    to = ", ".join(f"{a.name} <{a.address}>" if a.name else a.address for a in mail.to[:5])
    sent = format_datetime(mail.date) if mail.date else mail.date_text
    pairs = [("From", sender), ("To", to), ("Date", sent), ("Subject", mail.subject)]
    return [
        (k, one_line(v, 300))
        for k, v in [*pairs, ("Message-ID", f"<{mail.message_id}>" if mail.message_id else "")]
        if v
    ]


def _sheet(receipt: Receipt, lines: Sequence[str], words: Phrases) -> Sheet:
    heads = []
    if receipt.kind is EvidenceKind.MAIL:
        heads = [f"{k}: {v}" for k, v in _heads(parse_mail(receipt.content))] + [""]
    foot = f"{words['copy']}, SHA-256 {receipt.sha256}"
    return Sheet(title=receipt.title or receipt.order_number or words["copy"], lines=(*heads, *lines), foot=foot)


def _plain_mail(mail: Mail, lines: Sequence[str], sha256: str) -> bytes:
    """The redacted copy of a mail: a new, plain one with the old head, marked as what it is."""
    made = EmailMessage()
    for name, value in _heads(mail):
        try:
            made[name] = value
        except ValueError:  # an address that no standard knows: shown, but not as a header
            made[f"X-Original-{name}"] = value.encode("ascii", "replace").decode("ascii")
    made["X-Redacted-Copy-Of"] = f"sha256:{sha256}"
    text = "\n".join(one_line(line, 2000) for line in lines)
    made.set_content(text + "\n", cte="quoted-printable")
    return made.as_bytes()
