"""The written part of a handover: one page to begin with, the catalogue as JSON and CSV, the licences as text.

Made for a person who has neither the program nor its words: everything is plain text, tables, or one HTML page without
script that links to the files beside it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape
from urllib.parse import quote

from vault.model.event import Event
from vault.model.match import FileView, ItemView, PurchaseView
from vault.model.money import amount_text
from vault.model.pattern import LicenceTerms
from vault.model.purchase import Seller
from vault.reports import rows as as_rows
from vault.reports.listings import STATE_WORDS, order_words
from vault.reports.table_text import csv_bytes
from vault.reports.text import plain

PAGE = "open-me.html"
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
_STYLE = """
body{font:16px/1.5 Georgia,'Times New Roman',serif;max-width:50rem;margin:2rem auto;padding:0 1rem;color:#222}
h1{font-size:1.6rem}h2{font-size:1.15rem;margin:2.2rem 0 .3rem;border-bottom:1px solid #999}
h3{font-size:1rem;margin:1.1rem 0 .1rem}p,ul{margin:.2rem 0}li{overflow-wrap:anywhere}
.small{color:#555;font-size:.88rem}.not{font-style:italic}blockquote{margin:.2rem 0 .2rem 1rem;color:#444}
@media print{body{margin:0;max-width:none;font-size:11pt}a{color:inherit;text-decoration:none}}
"""


@dataclass(frozen=True, kw_only=True)
class HandoverContent:
    """What is handed over.  `places`: digest -> path in the bag's payload; `lacking`: digest -> why it is not there."""

    purchases: Sequence[PurchaseView]
    files: Sequence[FileView]
    sellers: Sequence[Seller]
    events: Sequence[Event]
    places: Mapping[str, str]
    lacking: Mapping[str, str]
    day: date
    part: str = ""  # which part of the vault it is, in words; empty: all of it


def texts(content: HandoverContent) -> dict[str, bytes]:
    """Path in the payload -> content, for everything that is not a kept file."""
    by_digest = {v.file.sha256: v for v in content.files}
    counts: dict[str, int] = {}
    made: dict[str, object] = {
        "catalogue/purchases.json": as_rows.purchases(content.purchases, by_digest),
        "catalogue/files.json": {
            **as_rows.files(content.files),
            "places": dict(sorted(content.places.items())),
            "lacking": dict(sorted(content.lacking.items())),
        },
        "catalogue/sellers.json": as_rows.sellers(content.sellers, counts),
        "catalogue/events.json": {"events": [event_row(e) for e in content.events]},
    }
    out = {path: (as_rows.dumps(value) + "\n").encode("utf-8") for path, value in made.items()}
    out["catalogue/purchases.csv"] = _purchases_table(content)
    out["catalogue/files.csv"] = _files_table(content)
    out |= _licences(content)
    out[PAGE] = page(content).encode("utf-8")
    return out


def event_row(event: Event) -> as_rows.Row:
    """One event of the log, in our words and in PREMIS terms."""
    return {
        "number": event.seq,
        "at": event.at,
        "kind": event.kind,
        "event_type": event.event_type,
        "event_type_uri": event.event_type_uri,
        "outcome": event.outcome,
        "result": event.result,
        "destination": event.destination or None,
        "detail": event.detail,
        "link": event.link,
    }


def read_me(content: HandoverContent) -> bytes:
    """READ-ME-FIRST.txt of the bag."""
    what = content.part or "everything in the vault"
    return f"""\
This folder holds {what}: pattern files somebody bought, the receipts that
prove it, and lists that say what belongs together.  Made by pinfold on {content.day.isoformat()}.

Begin with data/{PAGE}: any web browser opens it, no program and no network is needed.

  data/patterns/   the pattern files, by designer and title
  data/receipts/   the mails, pages and papers that prove each purchase
  data/licences/   what the files themselves say about their use
  data/catalogue/  the lists, as tables (.csv) and for programs (.json)

The other files make this folder a "bag" (BagIt 1.0, RFC 8493).  To see that nothing has changed
since, run any program that checks bags, or in this folder:  sha256sum -c manifest-sha256.txt
Keep the whole folder together, and make copies on other disks.
""".encode()


def _purchases_table(content: HandoverContent) -> bytes:
    header = (
        "seller",
        "order_number",
        "purchased_on",
        "title",
        "designer",
        "amount",
        "currency",
        "state",
        "lacking",
        "files",
        "receipts",
        "item_id",
    )
    table = []
    for view in content.purchases:
        p = view.purchase
        receipts = "; ".join(content.places[e.sha256] for e in view.evidence if e.sha256 in content.places)
        for shown in view.items:
            item = shown.item
            table.append(
                (
                    p.seller,
                    p.order_number,
                    p.purchased_on,
                    item.title,
                    item.designer,
                    amount_text(item.amount, p.currency) if item.amount is not None else None,
                    p.currency,
                    shown.standing.state.value,
                    ", ".join(shown.standing.lacking),
                    "; ".join(content.places[k.sha256] for k in shown.links if k.sha256 in content.places),
                    receipts,
                    item.id,
                )
            )
    return csv_bytes(header, table)


def _files_table(content: HandoverContent) -> bytes:
    header = ("path", "title", "designer", "craft", "language", "pages", "sizes", "bytes", "sha256", "lacking")
    table = []
    for view in content.files:
        file, facts = view.file, view.file.facts
        if file.sha256 not in content.places:
            continue
        table.append(
            (
                content.places[file.sha256],
                facts.title,
                facts.designer,
                facts.craft,
                facts.language,
                facts.pages,
                " ".join(facts.sizes),
                file.n_bytes,
                file.sha256,
                content.lacking.get(file.sha256),
            )
        )
    return csv_bytes(header, sorted(table, key=lambda row: str(row[0])))


def _licences(content: HandoverContent) -> dict[str, bytes]:
    """For each file that says something of its use: its own words."""
    out: dict[str, bytes] = {}
    for view in content.files:
        place = content.places.get(view.file.sha256)
        terms = view.file.facts.licence
        if place is None or terms is None or not terms.quotes:
            continue
        lines = [f"What {place} says of its use, in its own words:", ""]
        for q in terms.quotes:
            lines += [f"  {plain(q.text)}", f"    (page {q.page})" if q.page is not None else "", ""]
        lines += [f"Read by a program: {words}" for words in licence_words(terms)]
        lines += ["", "No legal advice: the file's own words count.", ""]
        out[f"licences/{place.removeprefix('patterns/')}.txt"] = "\n".join(lines).encode("utf-8")
    return out


_ANSWERS = {"yes": "allowed", "no": "not allowed", "limited": "in small numbers", "with-licence": "with a paid licence"}


def licence_words(terms: LicenceTerms) -> list[str]:
    """What the terms seem to say, a phrase each; silence is left out."""
    out = ["for personal use"] if terms.personal_use else []
    for label, answer in (
        ("selling finished pieces", terms.sell_finished),
        ("teaching", terms.teach),
        ("passing the file on", terms.share_file),
        ("altering the file", terms.alter_file),
    ):
        if answer in _ANSWERS:
            limit = f", up to {terms.limit}" if answer == "limited" and terms.limit is not None else ""
            out.append(f"{label}: {_ANSWERS[answer]}{limit}")
    if terms.credit_required:
        out.append("the designer must be named")
    return out


def page(content: HandoverContent) -> str:
    """The page to begin with, beside the folders that it links to."""
    items = [(v, i) for v in content.purchases for i in v.items]
    files = {v.file.sha256: v for v in content.files}
    held = sum(bool([k for k in i.links if k.sha256 in content.places]) for _, i in items)
    parts = [
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
        '<meta name="viewport" content="width=device-width,initial-scale=1">',
        '<meta name="referrer" content="no-referrer">',
        f"<title>Patterns, handed over on {content.day.isoformat()}</title><style>{_STYLE}</style></head><body>",
        f"<h1>Patterns and what proves them</h1><p>Handed over on {content.day.isoformat()}: "
        f"{escape(plain(content.part) or 'all that was kept')}. {len(items)} things were bought, of {held} the files "
        f"are here; {len(content.places)} files in all.</p>",
        "<p>Each title below is followed by its files: click to open, or find them in the folder <b>patterns</b> "
        "beside this page. Receipts are in <b>receipts</b>, what the files say of their use in <b>licences</b>, lists "
        'for a spreadsheet in <b>catalogue</b>: <a href="catalogue/purchases.csv">purchases</a>, '
        '<a href="catalogue/files.csv">files</a>.</p>',
    ]
    by_maker: dict[str, list[tuple[PurchaseView, ItemView]]] = {}
    for view, shown in items:
        maker = plain(shown.item.designer or view.purchase.seller or "Maker not known")
        by_maker.setdefault(maker, []).append((view, shown))
    for maker in sorted(by_maker, key=str.casefold):
        parts.append(f"<h2>{escape(maker)}</h2>")
        for view, shown in sorted(by_maker[maker], key=lambda pair: plain(pair[1].item.title).casefold()):
            parts.append(_article(content, view, shown, files))
    parts.append(_unclaimed(content, {k.sha256 for _, i in items for k in i.links}))
    if content.lacking:
        parts.append("<h2>Not here</h2><p>These could not be put in:</p><ul>")
        parts += [f"<li>{escape(content.places.get(s, s))}: {escape(w)}</li>" for s, w in content.lacking.items()]
        parts.append("</ul>")
    parts.append(
        '<p class="small">Made by Pinfold. Buying a pattern usually means the right to use it, not to pass it on: read '
        "what the files say before you give copies away.</p></body></html>\n"
    )
    return "\n".join(parts)


def _article(content: HandoverContent, view: PurchaseView, shown: ItemView, files: Mapping[str, FileView]) -> str:
    item, p = shown.item, view.purchase
    cost = f", {amount_text(item.amount, p.currency)} {p.currency or ''}" if item.amount is not None else ""
    out = [f"<h3>{escape(plain(item.title))}</h3>", f'<p class="small">Bought: {escape(order_words(p) + cost)}</p>']
    linked = [k.sha256 for k in shown.links if k.sha256 in content.places]
    if linked:
        out.append("<ul>" + "".join(f"<li>{_link(content, sha256)}</li>" for sha256 in linked) + "</ul>")
    else:
        lost = escape(STATE_WORDS[shown.standing.state])
        out.append(f'<p class="not">No file is here ({lost}).</p>')
    for terms in (files[s].file.facts.licence for s in linked if s in files):
        if terms is not None and terms.quotes:
            out.append(
                f'<p class="small">Its words on use: {escape("; ".join(licence_words(terms)) or "see below")}</p>'
            )
            out += [f"<blockquote>{escape(plain(q.text))}</blockquote>" for q in terms.quotes[:3]]
            break
    receipts = [e.sha256 for e in view.evidence if e.sha256 in content.places]
    if receipts:
        out.append('<p class="small">Proof: ' + ", ".join(_link(content, s, last=True) for s in receipts) + "</p>")
    return "\n".join(out)


def _unclaimed(content: HandoverContent, linked: set[str]) -> str:
    rest = [
        v.file.sha256
        for v in content.files
        if v.file.sha256 not in linked and v.file.sha256 in content.places and v.file.facts.is_pattern is not False
    ]
    if not rest:
        return ""
    rows = "".join(f"<li>{_link(content, s)}</li>" for s in sorted(rest, key=lambda s: content.places[s]))
    return f"<h2>Files that belong to no purchase that is known</h2><ul>{rows}</ul>"


def _link(content: HandoverContent, sha256: str, *, last: bool = False) -> str:
    place = content.places[sha256]
    shown = place.rpartition("/")[2] if last else place.removeprefix("patterns/")
    if sha256 in content.lacking:
        return f"{escape(shown)} (not here: {escape(content.lacking[sha256])})"
    return f'<a href="{escape(quote(place))}">{escape(shown)}</a>'
