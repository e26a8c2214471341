"""One file on one screen: what it is, on what paper, whether scale is right, what it allows, whether it is whole,
where it came from, where it lies on the shelf, and what else is held of it.

Short answers come first, in the order in which they are asked before printing; the words they rest on follow below.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from vault.model.match import FileView, Relation
from vault.model.pattern import LicenceTerms, PatternFacts
from vault.reports.listings import kind_words, sheet_words
from vault.reports.rows import file_name
from vault.reports.tables import labelled
from vault.reports.text import Style, plain, wrap

NO_ADVICE = (
    "These are the file's own words as Pinfold read them, no legal advice. "
    "The licence text itself, your local law and the designer decide."
)
LANGUAGES = {
    "en": "English",
    "de": "German",
    "fr": "French",
    "nl": "Dutch",
    "es": "Spanish",
    "it": "Italian",
    "sv": "Swedish",
    "da": "Danish",
    "nb": "Norwegian",
    "pl": "Polish",
    "fi": "Finnish",
    "ja": "Japanese",
}
# Details with a label of their own, in the order in which they are shown; the others stay inside.
DETAILS = (
    ("gauge", "gauge"),
    ("needles", "needles"),
    ("hooks", "hook"),
    ("yarn", "yarn"),
    ("yarn_weight", "yarn weight"),
    ("terms", "terms"),
    ("skill", "skill"),
    ("fabric", "fabric"),
    ("notions", "notions"),
    ("format", "format"),
    ("stitches", "stitches"),
    ("colours", "colours"),
)
_PRINTED = ("tiled", "copy-shop", "projector")
_ANSWERS = {
    "yes": "yes",
    "no": "no",
    "limited": "in small numbers",
    "with-licence": "only with a licence",
    "unclear": "unclear, the words contradict each other",
}
_MOST_TOLD = 6  # relations of one kind
_MOST_REASONS = 6
_NO_SQUARE = "no test square found"


def file_screen(
    view: FileView,
    style: Style,
    *,
    shelf: str | None = None,
    picture: str | None = None,
    relations: Sequence[Relation] = (),
    others: Mapping[str, FileView] | None = None,
) -> list[str]:
    """The lines for one file; `relations` and `others` (by digest) tell of the other held files."""
    f = view.file.facts
    held = others or {}
    lines = [style.bold(line) for line in wrap(plain(file_name(view)), style.columns)]
    lines += labelled(
        [
            *_what(f),
            *_print(f),
            *_details(f),
            ("allows", allowed_words(f)),
            ("whole", whole_words(f, relations, held)),
            *_related(relations, held),
            *(("seen at", f"{s.path} > {s.inside}" if s.inside else s.path) for s in view.file.sightings[:4]),
            ("", f"and at {len(view.file.sightings) - 4} more places" if len(view.file.sightings) > 4 else ""),
            ("came from", next((s.origin_url for s in view.file.sightings if s.origin_url), "") or ""),
            ("on the shelf", shelf or ""),
            ("picture", picture or ""),
            ("bought", ", ".join(view.item_ids)),
            ("stamped for", ", ".join(stamp_words(f))),
            ("sha256", view.file.sha256),
        ],
        style,
    )
    if f.licence:
        lines += quotes(f.licence, style)
    lines += _because(f, style)
    return [style.finish(line) for line in lines]


def _what(f: PatternFacts) -> list[tuple[str, str]]:
    kind = kind_words(f)
    if kind == "?":
        kind = "not told by its words"
    if f.is_pattern and not f.unusable:
        kind = f"{kind} pattern" if f.craft and f.craft != "other" else "pattern"
    language = LANGUAGES.get(f.language or "", f.language or "")
    return [
        ("is", ", ".join(filter(None, [kind, language, f"version {f.version}" if f.version else ""]))),
        ("title", f.title or ""),
        ("designer", f.designer or ""),
    ]


def _print(f: PatternFacts) -> list[tuple[str, str]]:
    pages = f"{f.pages} pages: " if len(f.sheets) > 1 else ""
    layers = [(layer.name or "(no name)").replace("\0", "") for layer in f.layers]
    return [
        ("paper", pages + ", ".join(sheet_words(s) for s in f.sheets) if f.sheets else ""),
        ("sizes", ", ".join(f.sizes)),
        ("layers", ", ".join(layers) if layers and layers != list(f.sizes) else ""),
        ("scale", scale_words(f)),
        ("seams", seam_words(f)),
    ]


def _details(f: PatternFacts) -> list[tuple[str, str]]:
    rows = [(label, f.details[key]) for key, label in DETAILS if f.details.get(key)]
    width, height = f.details.get("width_mm"), f.details.get("height_mm")
    return [("measures", f"{width} x {height} mm" if width and height else ""), *rows]


def stamp_words(facts: PatternFacts) -> list[str]:
    """The buyer's stamp in its parts."""
    s = facts.stamp
    if s is None:
        return []
    return [w for w in (s.name, s.mail, f"order {s.order_number}" if s.order_number else None) if w]


def scale_words(facts: PatternFacts) -> str:
    """Whether the scale is right, in one phrase; nothing for what is not printed to measure."""
    check = facts.scale_check
    if check is not None:
        note = f", {check.note}" if check.note else ""
        told = f"the test square on page {check.page} says {check.stated_mm:g} mm and is drawn {check.drawn_mm:.1f} mm"
        return f"right: {told}" if check.ok else f"WRONG: {told}{note}; do not print before you know why"
    said = next((why for why in facts.why if "cannot be measured" in why), "")
    if said:
        return said
    printed = facts.is_pattern and any(s.use in _PRINTED for s in facts.sheets)
    return _NO_SQUARE if printed else ""


def seam_words(facts: PatternFacts) -> str:
    """The seam allowance in one phrase."""
    if facts.seam_allowance_mm is None:
        return ""
    return "not included" if facts.seam_allowance_mm == 0 else f"{facts.seam_allowance_mm:g} mm included"


def allowed_words(facts: PatternFacts) -> str:
    """What the file's words allow, in one phrase, what they are silent on included."""
    terms = facts.licence
    if terms is None:
        return "the file does not say" if facts.is_pattern and facts.pages else ""
    limit = f" (up to {terms.limit})" if terms.limit is not None else ""
    told = [
        "for personal use only" if terms.personal_use else "",
        _answer("selling what you make", terms.sell_finished, limit),
        "naming the designer is asked for" if terms.credit_required else "",
        _answer("teaching", terms.teach),
        _answer("sharing the file", terms.share_file),
        _answer("altering the file", terms.alter_file),
    ]
    asked = (("selling", terms.sell_finished), ("teaching", terms.teach), ("sharing", terms.share_file))
    silent = [name for name, answer in asked if answer == "silent"]
    told.append(f"nothing on {' or '.join(silent)}" if silent else "")
    return "; ".join(filter(None, told))


def _answer(act: str, answer: str, more: str = "") -> str:
    return "" if answer == "silent" else f"{act}: {_ANSWERS.get(answer, answer)}{more}"


def whole_words(
    facts: PatternFacts, relations: Sequence[Relation] = (), others: Mapping[str, FileView] | None = None
) -> str:
    """Whether the file is whole, and which promised parts are not among the files, in one phrase."""
    if facts.encrypted == "user":
        return "cannot be told: locked with a password"
    if facts.unusable:
        return f"NO: {facts.unusable}"
    if facts.damaged:
        return "NO: damaged"
    if facts.unread:
        return f"cannot be told: {facts.unread}"
    if missing := facts.details.get("missing_tiles"):
        return f"NO: tiles are missing ({missing})"
    absent = lacking(facts, relations, others or {})
    if absent:
        return f"yes, but it speaks of parts that are not among your files: {', '.join(absent)}"
    return "yes, as far as can be seen"


def lacking(facts: PatternFacts, relations: Sequence[Relation], others: Mapping[str, FileView]) -> list[str]:
    """The parts the file promises that neither it nor another file of the same pattern holds."""
    held = {part.casefold() for part in facts.parts}
    for relation in relations:
        if relation.sha256 in others:
            held |= {part.casefold() for part in others[relation.sha256].file.facts.parts}
    return [part for part in facts.promised if part.casefold() not in held]


def _related(relations: Sequence[Relation], others: Mapping[str, FileView]) -> list[tuple[str, str]]:
    """The other files that have to do with this one, each content once."""
    known = [r for r in relations if r.sha256 in others]
    again = [r for r in known if r.kind in ("same", "redrawn")]
    rows = [("same again" if n == 0 else " ", _named(r, others)) for n, r in enumerate(again[:_MOST_TOLD])]
    rows += [(" ", f"and {len(again) - _MOST_TOLD} more")] if len(again) > _MOST_TOLD else []
    for relation in _each_content_once([r for r in known if r.kind in _LABELS], others)[:_MOST_TOLD]:
        label = _LABELS[relation.kind]
        if relation.newer is not None:
            label = "newer held" if relation.newer else "older held"
        rows.append((label, _named(relation, others)))
    parts: dict[str, list[Relation]] = {}
    for relation in _each_content_once([r for r in known if r.kind == "part"], others):
        what = ", ".join(others[relation.sha256].file.facts.parts) or "part not told"
        parts.setdefault(what, []).append(relation)
    for n, (what, found) in enumerate(sorted(parts.items())[:_MOST_TOLD]):
        more = f" and {len(found) - 1} more" if len(found) > 1 else ""
        rows.append(("goes with" if n == 0 else " ", f"{what}: {file_name(others[found[0].sha256])}{more}"))
    return rows


_LABELS = {"version": "version", "sizes": "other sizes", "language": "translated"}


def _each_content_once(relations: Sequence[Relation], others: Mapping[str, FileView]) -> list[Relation]:
    found: dict[str, Relation] = {}
    for relation in relations:
        view = others[relation.sha256]
        found.setdefault(view.duplicate_of or view.file.sha256, relation)
    return list(found.values())


def _named(relation: Relation, others: Mapping[str, FileView]) -> str:
    return f"{file_name(others[relation.sha256])}: {relation.words}"


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
    return lines + quotes(terms, style, heading=False)


def quotes(terms: LicenceTerms, style: Style, *, heading: bool = True) -> list[str]:
    """The words that the answers rest on, with their pages, and that this is no advice."""
    lines = ["  In its own words"] if heading and terms.quotes else []
    for quote in terms.quotes:
        where = f" (page {quote.page})" if quote.page else ""
        lines += wrap(f'"{plain(quote.text)}"{where}', style.columns, first="    ", rest="    ")
    return lines + wrap(NO_ADVICE, style.columns, first="    ", rest="    ")


def _because(f: PatternFacts, style: Style) -> list[str]:
    shown = [why for why in f.why if why != scale_words(f) and why != _NO_SQUARE]
    lines: list[str] = ["  Why"] if shown else []
    for why in shown[:_MOST_REASONS]:
        lines += wrap(plain(why), style.columns, first="  - ", rest="    ")
    return lines
