"""One item or one file on a screen: all that is known, and the words and documents it rests on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from vault.model.match import FileView, ItemView, PurchaseView
from vault.model.money import amount_text
from vault.model.pattern import LicenceTerms, PatternFacts
from vault.model.purchase import JoinedSource
from vault.reports.listings import STATE_WORDS, kind_words, money_words, order_words, sheet_words
from vault.reports.rows import file_name
from vault.reports.tables import labelled
from vault.reports.text import Style, plain, wrap

NO_ADVICE = (
    "These are the file's own words as Pinfold read them, no legal advice. "
    "The licence text itself, your local law and the designer decide."
)


def item(view: PurchaseView, shown: ItemView, files: Mapping[str, FileView], style: Style) -> list[str]:
    """Everything about one item: purchase, state with reasons, links, files, licence, and where each field was read."""
    it, p = shown.item, view.purchase
    lines = [style.bold(line) for line in wrap(plain(it.title), style.columns)]
    amount = f"{amount_text(it.amount, p.currency)} {p.currency or ''}" if it.amount is not None else ""
    lines += labelled(
        [
            ("id", it.id),
            ("bought", order_words(p)),
            ("total", money_words(p)),
            ("designer", it.designer or ""),
            ("quantity", str(it.quantity) if it.quantity and it.quantity != 1 else ""),
            ("amount", amount),
            ("options", ", ".join(it.options)),
            ("promised", ", ".join(it.promised)),
            ("state", STATE_WORDS[shown.standing.state]),
            ("lacking", ", ".join(shown.standing.lacking)),
            *((" ", w) for w in shown.standing.why),
        ],
        style,
    )
    for link in it.links:
        until = f"until {link.expires_on.isoformat()}" if link.expires_on else ""
        left = f"{link.downloads_left} downloads left" if link.downloads_left is not None else ""
        told = ", ".join(filter(None, [link.label or "", until, left]))
        lines += labelled([("link", link.url), (" ", told)], style)
    lines += _held_files(shown, files, style)
    lines += _evidence(view, style)
    lines += sources(p.sources, style, f"items.{it.id}")
    return [style.finish(line) for line in lines]


def _held_files(shown: ItemView, files: Mapping[str, FileView], style: Style) -> list[str]:
    lines: list[str] = []
    for link in shown.links:
        view = files.get(link.sha256)
        name = file_name(view) if view else link.sha256[:12]
        how = "you said so" if link.settled == "user" else f"{link.score:.0%} sure"
        part = f", {link.part}" if link.part else ""
        lines += ["", *wrap(f"File {plain(name)} ({how}{part})", style.columns, rest="  ")]
        for reason in link.reasons:
            sign = "+" if reason.weight >= 0 else "-"
            lines += wrap(f"{sign} {plain(reason.words)}", style.columns, first="    ", rest="      ")
        if view and view.file.facts.licence:
            lines += licence(view.file.facts.licence, style)
    return lines


def _evidence(view: PurchaseView, style: Style) -> list[str]:
    lines = ["", "Evidence"]
    for e in view.evidence:
        lines += wrap(f"{e.kind}: {plain(e.source)}", style.columns, first="  ", rest="    ")
    return lines


def sources(rows: Sequence[JoinedSource], style: Style, item_prefix: str) -> list[str]:
    """For each field the words it was read from; fields of other items are left out."""
    shown = [s for s in rows if not s.source.field.startswith("items.") or s.source.field.startswith(item_prefix)]
    if not shown:
        return []
    lines = ["", "Where it was read"]
    for row in shown:
        label = row.source.field.removeprefix(item_prefix + ".")
        words = f'{label}: "{plain(row.source.words)}" ({plain(row.source.how)})'
        lines += wrap(words, style.columns, first="  ", rest="    ")
    return lines


def licence(terms: LicenceTerms, style: Style) -> list[str]:
    """What the file's words allow, each answer above the words."""
    limit = f" (up to {terms.limit})" if terms.limit is not None else ""
    pairs = [
        ("personal use", {True: "only", False: "not limited to it", None: ""}[terms.personal_use]),
        ("sell finished", terms.sell_finished + limit),
        ("credit", {True: "asked for", False: "", None: ""}[terms.credit_required]),
        ("teach", terms.teach),
        ("share file", terms.share_file),
        ("alter file", terms.alter_file),
    ]
    lines = ["  Licence", *labelled([(a, b) for a, b in pairs if b and b != "silent"], style, indent=4)]
    for quote in terms.quotes:
        where = f" (page {quote.page})" if quote.page else ""
        lines += wrap(f'"{plain(quote.text)}"{where}', style.columns, first="    ", rest="    ")
    return lines + wrap(NO_ADVICE, style.columns, first="    ", rest="    ")


def file(view: FileView, shelf: str | None, style: Style) -> list[str]:
    """One screen on one file: what it is, its paper and scale, what it allows, whether it is whole, where it lies."""
    f = view.file.facts
    lines = [style.bold(line) for line in wrap(plain(file_name(view)), style.columns)]
    lines += labelled(
        [
            ("is", kind_words(f)),
            ("title", f.title or ""),
            ("designer", f.designer or ""),
            ("language", f.language or ""),
            ("version", f.version or ""),
            ("pages", str(f.pages) if f.pages else ""),
            ("paper", ", ".join(sheet_words(s) for s in f.sheets)),
            ("sizes", ", ".join(f.sizes)),
            ("layers", ", ".join((layer.name or "(no name)").replace("\0", "") for layer in f.layers)),
            ("test square", scale_words(f)),
            ("seam", seam_words(f)),
            *((k, v) for k, v in f.details.items()),
            ("stamped for", ", ".join(filter(None, _stamp_words(f)))),
            ("whole", whole_words(f)),
            ("same as", view.duplicate_of or ""),
            *(("seen at", f"{s.path} > {s.inside}" if s.inside else s.path) for s in view.file.sightings),
            ("came from", next((s.origin_url for s in view.file.sightings if s.origin_url), "") or ""),
            ("on the shelf", shelf or ""),
            ("bought", ", ".join(view.item_ids)),
            ("sha256", view.file.sha256),
        ],
        style,
    )
    if f.licence:
        lines += licence(f.licence, style)
    for why in f.why:
        lines += wrap(plain(why), style.columns, first="  - ", rest="    ")
    return [style.finish(line) for line in lines]


def _stamp_words(facts: PatternFacts) -> list[str]:
    s = facts.stamp
    return [s.name or "", s.mail or "", f"order {s.order_number}" if s.order_number else ""] if s else []


def scale_words(facts: PatternFacts) -> str:
    """What the test square shows, in one phrase."""
    check = facts.scale_check
    if check is None:
        return "none found"
    verdict = "right" if check.ok else "WRONG: do not print before you have asked why"
    note = f" ({check.note})" if check.note else ""
    return f"{check.stated_mm:g} mm stated, {check.drawn_mm:.1f} mm drawn on page {check.page}: {verdict}{note}"


def seam_words(facts: PatternFacts) -> str:
    """The seam allowance in one phrase."""
    if facts.seam_allowance_mm is None:
        return ""
    return "not included" if facts.seam_allowance_mm == 0 else f"{facts.seam_allowance_mm:g} mm"


def whole_words(facts: PatternFacts) -> str:
    """Whether the file is whole, in one phrase."""
    if facts.unusable:
        return f"no: {facts.unusable}"
    if facts.damaged:
        return "no: damaged"
    return "locked with a password" if facts.encrypted == "user" else "yes, as far as can be seen"
