"""Any evidence document -> what it says: the one door of this package.

`read` picks the reader of the kind from `READERS`; each brings the bytes to the small form (`lines`) and hands it to
the one engine.  Forwarded mails are read as mails of their own.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC
from urllib.parse import urlsplit

from vault.language.folding import squeeze
from vault.model.evidence import DocumentKind, DocumentReading, EvidenceKind, Problem, SellerNotice
from vault.model.pdf import PdfReading
from vault.receipts.charsets import decode_text
from vault.receipts.engine import Outcome, read_document
from vault.receipts.html_page import read_html
from vault.receipts.lines import Document, Line
from vault.receipts.mime import Mail, parse_mail
from vault.receipts.notices import read_notices
from vault.receipts.other_mail import page_of
from vault.receipts.plain import read_plain
from vault.receipts.runs import read_pdf
from vault.receipts.seller_names import domain_key
from vault.receipts.structured import read_structured
from vault.receipts.table_export import read_csv, read_sheet

_TITLE_PARTS_RE = re.compile(r"\s[-–—|·•»:]\s|:\s")
_FILES = frozenset(["application/pdf", "application/zip", "image/svg+xml"])
_ENDINGS = (".pdf", ".zip", ".svg", ".dxf", ".pes", ".dst")
MAX_TEXT = 200_000  # characters kept for search
MAX_PROSE = 40_000  # characters of running text that are read; a receipt has a few hundred, a book is none
_LONG, _MANY = 60, 8  # characters and blanks from which a line without cells is running text


def read(kind: EvidenceKind, raw: bytes, *, name: str = "", pdf: PdfReading | None = None) -> DocumentReading:
    """What the document in `raw` says.

    `name` is its file name or path (only for messages and as a last hint), `pdf` the reading of a PDF's pages.  Never
    raises for any bytes: what cannot be read is a problem or an empty reading.
    """
    reader = READERS[kind]
    return reader(raw, name, pdf)


def _mail(raw: bytes, name: str, pdf: PdfReading | None) -> DocumentReading:
    mail = parse_mail(raw)
    outcomes: list[Outcome] = []
    texts: list[str] = []
    notices: list[SellerNotice] = []
    for one in list(mail.everything())[:40]:
        outcome, doc = _mail_outcome(one, mail)
        sent = one.date.astimezone(UTC).isoformat(timespec="seconds") if one.date else None
        outcomes.append(replace(outcome, claims=tuple(replace(c, sent=sent) for c in outcome.claims)))
        texts.append(doc.text)
        notices.extend(_notices(doc, outcome))
    best = max(outcomes, key=lambda o: (len(o.claims), o.verdict.purchase, o.verdict.looks))
    claims = tuple(c for o in outcomes for c in o.claims)
    sender = f"{mail.from_name} <{mail.from_address}>" if mail.from_address else mail.from_name
    return DocumentReading(
        kind=EvidenceKind.MAIL,
        document=DocumentKind.NOTICE if notices and not claims else best.verdict.kind,
        signs=best.signs,
        language=best.language,
        subject=mail.subject or None,
        message_id=mail.message_id,
        dated=mail.date.date() if mail.date else None,
        sender=sender or None,
        claims=claims,
        notices=tuple(dict.fromkeys(notices)),
        problems=_problems(best, claims, name or mail.subject),
        text=squeeze_text("\n".join([mail.subject, *texts])),
        attachments=tuple(a for one in mail.everything() for a in one.attachments),
    )


def _page_name(doc: Document, lines: Sequence[str]) -> str | None:
    """The shop's name in the title of a page: the part that the page itself says again."""
    if doc.sender_address:
        return None
    shown = "\n".join(lines[:60])
    parts = [p.strip() for p in _TITLE_PARTS_RE.split(doc.title[:200])]
    said = [p for p in parts if 2 < len(p) <= 40 and p.count(" ") < 5 and p in shown]
    return said[-1] if said else None


def _notices(doc: Document, outcome: Outcome) -> tuple[SellerNotice, ...]:
    """What the shop says about itself.  Each line carries the addresses of its links: a new one is often only there."""
    lines = [" ".join([line.text.replace("\t", " "), *(link.url for link in line.links)]) for line in doc.lines[:400]]
    name = doc.sender_name or next((c.seller for c in outcome.claims if c.seller), None) or doc.extra.get("site_name")
    name = name or _page_name(doc, lines)
    host = doc.sender_address.rpartition("@")[2] or (urlsplit(doc.address).hostname or "" if doc.address else "")
    return read_notices(
        doc.subject or doc.title, lines, outcome.language, name or None, domain_key(host) or None, doc.dated
    )


def squeeze_text(text: str) -> str:
    """Text for search: bounded, one blank for many."""
    return "\n".join(line for raw in text[: 2 * MAX_TEXT].split("\n") if (line := squeeze(raw)))[:MAX_TEXT]


def bounded(doc: Document) -> Document:
    """`doc` without the running text over the limit: sentences cost most to read.  Rows of tables all stay."""
    used = 0
    kept: list[Line] = []
    for line in doc.lines:
        text = line.text
        if len(line.cells) == 1 and len(text) > _LONG and text.count(" ") > _MANY:
            used += len(text)
            if used > MAX_PROSE:
                continue
        kept.append(line)
    return doc if len(kept) == len(doc.lines) else replace(doc, lines=tuple(kept))


def _mail_document(mail: Mail, outer: Mail, *, plain: bool = False) -> Document:
    """A mail's body in the small form, with its envelope."""
    to = mail.to[0] if mail.to else None
    if to is None and outer.to:
        to = outer.to[0]
    envelope = {
        "subject": mail.subject,
        "sender_name": mail.from_name,
        "sender_address": mail.from_address,
        "reply_to": mail.reply_to[0].address if mail.reply_to else "",
        "recipient_name": to.name if to is not None else "",
        "recipient_address": to.address if to is not None else "",
        "dated": mail.date.date() if mail.date else None,
        "bulk": mail.is_bulk,
        "attached": tuple(
            a.name for a in mail.attachments if a.media_type in _FILES or a.name.lower().endswith(_ENDINGS)
        ),
    }
    if mail.html and not plain:
        return bounded(read_html(mail.html, **envelope))
    return bounded(read_plain(mail.text, **envelope))


def _mail_outcome(mail: Mail, outer: Mail) -> tuple[Outcome, Document]:
    if not mail.html and (halves := _quoted_apart(mail)) is not None:
        own, quoted = halves
        outcome, doc = _mail_outcome(own, outer)
        if outcome.claims or _refused(outcome):
            return outcome, doc
        cited = _mail_outcome(quoted, outer)
        return cited if cited[0].claims else (outcome, doc)
    doc = _mail_document(mail, outer)
    outcome = read_document(doc, read_structured(mail.html) if mail.html else ())
    if outcome.claims or not mail.html or not mail.text.strip():
        return outcome, doc
    # the page says nothing: its plain alternative may
    other = _mail_document(mail, outer, plain=True)
    if len(other.text) > 0.6 * len(doc.text):
        second = read_document(other)
        if second.claims and not _refused(outcome):
            return second, other
    return outcome, doc


def _quoted_apart(mail: Mail) -> tuple[Mail, Mail] | None:
    """What a reply says itself, and what it quotes: that is somebody else's mail, so it has no sender of its own."""
    lines = mail.text.split("\n")
    quoted = [line for line in lines if line.startswith(">")]
    own = [line for line in lines if not line.startswith(">")]
    if len(quoted) < 2 or sum(any(c.isalpha() for c in line) for line in own) < 1:
        return None
    cited = "\n".join(re.sub(r"\A(?:>[ \t]?){1,20}", "", line) for line in quoted)
    if not any(c.isdigit() for c in cited) or _is_shops(mail, cited, "\n".join(own)):
        return None
    return (
        replace(mail, text="\n".join(own)),
        replace(mail, text=cited, subject="", from_name="", from_address="", reply_to=(), attachments=()),
    )


def _is_shops(mail: Mail, cited: str, own: str) -> bool:
    """Whether the sender of a reply is the shop that the quoted mail came from: it is named there, or sends files."""
    host = domain_key(mail.from_address.rpartition("@")[2])
    named = bool(mail.from_name) and mail.from_name.casefold() in cited.casefold()
    return named or (bool(host) and (host in cited.casefold() or f"://{host}/" in own.casefold()))


def _refused(outcome: Outcome) -> bool:
    """Whether the page was understood as something that is no purchase."""
    return outcome.verdict.kind in (DocumentKind.FAILED_PAYMENT, DocumentKind.ADVERT)


def _problems(best: Outcome, claims: tuple[object, ...], source: str) -> tuple[Problem, ...]:
    if claims or not best.verdict.looks:
        return ()
    return (
        Problem(
            source=source,
            reason="this looks like a purchase, but what was bought could not be read",
            next="type it in with `pinfold record --seller NAME --title TITLE --on DATE`",
        ),
    )


def _of_outcome(kind: EvidenceKind, doc: Document, outcome: Outcome, name: str) -> DocumentReading:
    days = [c.purchased_on for c in outcome.claims if c.purchased_on]
    notices = _notices(doc, outcome)
    return DocumentReading(
        kind=kind,
        document=DocumentKind.NOTICE if notices and not outcome.claims else outcome.verdict.kind,
        signs=outcome.signs,
        language=outcome.language,
        subject=doc.title or None,
        dated=doc.dated or (days[0] if len(days) == 1 else None),
        claims=outcome.claims,
        notices=notices,
        problems=_problems(outcome, outcome.claims, name),
        text=squeeze_text(doc.text),
    )


def _page(raw: bytes, name: str, pdf: PdfReading | None) -> DocumentReading:
    saved = page_of(raw)
    doc = bounded(read_html(saved.html, file_name=name))
    if saved.url and not doc.address:
        doc = replace(doc, address=saved.url)
    return _of_outcome(EvidenceKind.PAGE, doc, read_document(doc, read_structured(saved.html)), name)


def _text(raw: bytes, name: str, pdf: PdfReading | None) -> DocumentReading:
    doc = bounded(read_plain(decode_text(raw, None, html=False), file_name=name))
    return _of_outcome(EvidenceKind.TEXT, doc, read_document(doc), name)


def _pdf(raw: bytes, name: str, pdf: PdfReading | None) -> DocumentReading:
    if pdf is None or not pdf.pages:
        return DocumentReading(kind=EvidenceKind.PDF, document=DocumentKind.OTHER, signs=("no text layer",))
    doc = bounded(read_pdf(pdf, file_name=name))
    return _of_outcome(EvidenceKind.PDF, doc, read_document(doc), name)


def _csv(raw: bytes, name: str, pdf: PdfReading | None) -> DocumentReading:
    return read_csv(raw, name)


def _sheet(raw: bytes, name: str, pdf: PdfReading | None) -> DocumentReading:
    return read_sheet(raw, name)


def _nothing(raw: bytes, name: str, pdf: PdfReading | None) -> DocumentReading:
    return DocumentReading(kind=EvidenceKind.RECORDED, document=DocumentKind.OTHER)


READERS: dict[EvidenceKind, Callable[[bytes, str, PdfReading | None], DocumentReading]] = {
    EvidenceKind.MAIL: _mail,
    EvidenceKind.PAGE: _page,
    EvidenceKind.PDF: _pdf,
    EvidenceKind.CSV: _csv,
    EvidenceKind.SHEET: _sheet,
    EvidenceKind.TEXT: _text,
    EvidenceKind.RECORDED: _nothing,
}
