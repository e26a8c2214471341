"""Where shops put their names: subject, headings, sender, title, logo, copyright line, signature, postal address."""

from __future__ import annotations

import re
from collections.abc import Iterator
from urllib.parse import urlsplit

from vault.language.amounts import find_amounts
from vault.language.folding import fold
from vault.receipts.seller_names import domain_key, domain_label, name_key
from vault.receipts.shop_domains import JOINS, fits_domain, host
from vault.receipts.shop_poll import Poll
from vault.receipts.titles import says_something
from vault.receipts.view import Pair, View, code_in
from vault.receipts.words import trim_label, whole_phrase

_YEAR_RE = re.compile(r"(?:19|20)\d\d(?:\s?[-–]\s?(?:19|20)?\d\d)?")
_SUBJECT_MARK_RE = re.compile(r"\A\s*[\[【]([^\[\]【】]{2,50})[\]】]|[\[【]([^\[\]【】]{2,50})[\]】]\s*\Z")
_CUT_RE = re.compile(
    r"\s*(?:[:!?.,;|()\[\]#\u201c\u201d\"„«»]|\s[–—-]\s|\s\d|\s[€£$]|\s(?:and|und|et|en|y|e|och|og|i|ja)\s\d|\Z)"
)
_PLACED = frozenset(["på", "am", "im", "zum", "zur", "op", "aan", "sur", "sous", "pod", "nad", "ved", "under"])
_CODE_BEFORE_RE = re.compile(r"\A[A-Z]{3}\b")
_LABELLED_RE = re.compile(r"\A[^\W\d_]{3,14}(?: [^\W\d_]{2,10})?\s?[:：]\s+(?=\S)")  # "Stall: Moth & Candle"
_PROFILES = frozenset(
    ["shop", "shops", "seller", "sellers", "store", "stores", "people", "user", "users", "u", "stall", "creator"]
)
VIA_RE = re.compile(r"\s+(?:via|through|über|par|tramite|vía|przez|on)\s+", re.I)
_STREET_RE = re.compile(
    r"〒\s?\d{3}|[都道府県].{1,12}[市区町村]|(?<![\d-])(?:[A-Z]{1,2}-)?\d{4,5}\s[A-ZÄÖÜÅÆØ]\w{2,}|(?<!\d)\d{2}-\d{3}\s[A-ZŁŚŻ]"
    r"|(?<!\d)\d{3}\s\d{2}\s[A-ZÅÄÖ]|\b[A-Z]{1,2}\d{1,2}[A-Z]?\s\d[A-Z]{2}\b"
)


def gather(view: View, poll: Poll) -> None:
    """Every name that stands outside the orders of a document."""
    doc = view.doc
    for text, weight in ((doc.subject, 3.0), *((t, 2.5) for t in _headings(view))):
        for name, firm in _from_templates(text, view):
            poll.add(name, 5.0 if firm else weight, "subject" if weight == 3.0 else "heading")
    for name in _payees(view):
        poll.add(name, 6.0, "whom the money went to", shown=1.0)
    for match in _SUBJECT_MARK_RE.finditer(doc.subject):
        poll.add(match.group(1) or match.group(2), 3.0, "brackets in the subject")
    _sender(view, poll)
    _page(view, poll)
    _texts(view, poll)


def _cut(name: str, view: View) -> str:
    """A name taken from running text: up to punctuation, a number, or a word that goes on with the sentence."""
    match = _CUT_RE.search(name)
    name = name[: match.start()] if match else name
    words = name.split(" ")
    stop = view.words.phrase_set("seller", "stop")
    for number, word in enumerate(words):
        joins = fold(word) in JOINS and words[number + 1 : number + 2] and _starts_name(words[number + 1])
        if number and fold(word) in stop and not (joins and not words[number + 1][0].isdigit()):
            return " ".join(words[:number])
    return " ".join(words[:7])


def _from_templates(text: str, view: View) -> Iterator[tuple[str, bool]]:
    """Names behind "from", "at", "bei" (before "から"): those that begin as names do; firm behind "payment to"."""
    lower = text.casefold() if len(text.casefold()) == len(text) else text.lower()
    for template in view.words.templates("prose", "seller"):
        anchor = template.anchor
        at = lower.find(anchor)
        while at >= 0:
            whole = not anchor.isascii() or at == 0 or not lower[at - 1].isalnum()
            if fold(anchor) in _PLACED and _goes_on_a_name(text, at, view):
                whole = False  # part of a name ("Sytøjet på Loftet")
            if (
                fold(anchor) in JOINS
                and text.count(" ") <= 4
                and _starts_name(text[:at].split(" ")[-2] or "a" if " " in text[:at] else text[:at] or "a")
            ):
                whole = False  # part of a name ("Dentelle de Lune"), not "from X"
            if template.behind:
                name = text[at + len(anchor) :].lstrip()
                if whole and name and _starts_name(name) and text[at + len(anchor)] == " ":
                    yield _cut(name, view), " " in anchor
            else:
                yield re.split(r"[\s、。・「」【】：:]", text[:at])[-1], False
            at = lower.find(anchor, at + 1)


def _goes_on_a_name(text: str, at: int, view: View) -> bool:
    """Whether a word for a place stands inside a heading that is a name: short, begun like one, with no label."""
    before = text[:at].split()
    if not before or len(text) > 50 or text.count(" ") > 4 or any(c.isdigit() for c in text):
        return False
    known = view.words.phrase_set("seller", "generic")
    if any(view.words.label(w) or trim_label(w) in known for w in before):
        return False
    return all(_starts_name(w) for w in before) and not says_something(trim_label(text), view.words)


def _payees(view: View) -> Iterator[str]:
    """Whom money went to: "you sent 6.50 to X", "Zahlung über 21,50 an X"; said with a word for paying."""
    paying = view.words.phrases("prose", "paying")
    joints = view.words.phrase_set("prose", "payee")
    for text in (view.doc.subject, *(s.text for s in view.spots[:60] if s.amounts and len(s.text) < 200)):
        folded = fold(text)
        if not any(whole_phrase(folded, (p,)) for p in paying):
            continue
        for found in find_amounts(text, view.language):
            rest = _CODE_BEFORE_RE.sub("", text[found.end :].lstrip()).lstrip()
            word, _, name = rest.partition(" ")
            if fold(word) in joints and name and _starts_name(name):
                words = _cut(name, view).split(" ")
                while len(words) > 1 and words[-1][:1].islower():
                    words.pop()  # "an Larch & Loom autorisiert"
                yield " ".join(words)


def _starts_name(text: str) -> bool:
    return text[0].isupper() or text[0].isdigit() or "\u3040" <= text[0] <= "\u9fff"


def _headings(view: View) -> list[str]:
    """The first lines, the headings, and a line that thanks for an order."""
    out: list[str] = []
    thanks: list[str] = []
    for spot in view.spots[:200]:
        if not spot.text or len(spot.text) >= 160:
            continue
        if spot.heading or len(out) < 4:
            out.append(spot.text)
        elif not spot.amounts and any(p in spot.folded for p in view.words.phrases("signs", "order")):
            thanks.append(spot.text)
    return out[:8] + thanks[:2]


def _sender(view: View, poll: Poll) -> None:
    doc = view.doc
    if not doc.sender_name:
        return
    via = VIA_RE.split(doc.sender_name, maxsplit=1)
    if len(via) == 2 and len(via[0]) > 2:
        poll.add(via[0], 4.0, "sender")
    else:
        poll.add(_of_shop(doc.sender_name, view), 3.0, "sender")


def _page(view: View, poll: Poll) -> None:
    doc = view.doc
    if doc.extra.get("site_name"):
        poll.add(doc.extra["site_name"], 3.0, "site name")
    if doc.title:
        for part in re.split(r"\s[–—|·•:-]\s|\s?[|｜]\s?", doc.title)[:4]:
            poll.add(part, 1.0, "title")
    for picture in doc.pictures[:2]:
        poll.add(re.sub(r"\blogo\b", "", picture, flags=re.I), 1.2, "logo")
    for spot in view.spots[:8]:
        for link in spot.links[:1]:
            try:
                path = urlsplit(link.url).path
            except ValueError:
                continue
            if path in ("", "/") and link.text and len(link.text) < 50:
                poll.add(link.text, 1.5, "header")


def _texts(view: View, poll: Poll) -> None:
    """Copyright lines, signatures, and the first line of a PDF or a pasted text."""
    marks = view.words.phrases("seller", "copyright")
    signoffs = view.words.phrase_set("seller", "signoff")
    last = len(view.spots)
    for index, spot in enumerate(view.spots):
        if not spot.text or len(spot.text) > 200:
            continue
        folded = spot.folded
        if index > last - 40 and any(m in folded for m in marks):
            rest = spot.text
            for word in ("©", "(c)", "(C)", "Copyright", "copyright", "COPYRIGHT"):
                rest = rest.replace(word, " ")
            rest = _YEAR_RE.sub(" ", rest).strip(" .,")
            rest = re.split(r"[.|·•,]|\s[–—-]\s", rest)[0]
            if 1 < len(rest.strip()) < 50:
                poll.add(rest, 2.0, "copyright")
        key = trim_label(spot.text)
        if key in signoffs:
            following = [s for s in view.spots[index + 1 : index + 3] if s.text and len(s.text) < 50 and not s.amounts]
            for number, other in enumerate(following):
                name = _of_shop(re.split(r"\s?[,|]\s", other.text)[-1], view)
                own = fits_domain(name, domain_key(host(view.doc.sender_address))) if view.doc.sender_address else False
                poll.add(name, 1.5 - 0.5 * number + 3.0 * own, "signature", shown=1.5)
    if not view.doc.sender_name:
        _above_addresses(view, poll)
        lines = [s for s in view.spots[:8] if s.text and not s.whole and not s.amounts and len(s.text) < 120]
        lines = [s for s in lines if sum(c.isalpha() for c in s.text) > 2 and not view.dates_in(s.text)]
        first = next((s for s in lines if s.heading), lines[0] if lines else None)
        parts = re.split(r"\s[·•|–—-]\s", first.text) if first is not None else []
        if first is not None and (len(parts) > 1 or len(first.text) < 50):
            poll.add(parts[0], 1.5 if first.heading or first.bold else 0.8, "first line")


def _above_addresses(view: View, poll: Poll) -> None:
    """The line above a postal address that is not the buyer's (PDFs and pasted texts)."""
    buyers = {fold(p.value) for p in view.find("buyer")}
    for index, spot in enumerate(view.spots[:300]):
        if not 8 < len(spot.text) < 90 or not _STREET_RE.search(spot.text):
            continue
        above = view.spots[max(0, index - 4) : index]
        near = next((s for s in reversed(above) if s.cell == spot.cell and s.text), None)
        if near is None or near.label or near.amounts or any(c.isdigit() for c in near.text) or len(near.text) > 50:
            continue
        if near.folded in buyers or any({"buyer", "address"} & set(s.concepts) for s in above):
            continue
        poll.add(near.text, 0.7, "above an address")


def _of_shop(name: str, view: View) -> str:
    """The shop in "Lotte from Pins & Co.", where the sender's domain is called like it."""
    domain = domain_key(host(view.doc.sender_address))
    label = re.sub(r"[^a-z0-9]", "", domain_label(domain))
    squeezed = re.sub(r"[\W_]", "", fold(name))
    if label and (label == name_key(name) or (squeezed.endswith(label) and len(squeezed) - len(label) <= 3)):
        return name  # "La Bottega di Brighella", bottegadibrighella.example
    for word in view.words.phrases("seller", "of"):
        _, found, rest = name.partition(f" {word} ")
        if found and rest and domain and fits_domain(rest, domain):
            return rest
    return name


def stall(view: View, start: int, number_line: int, poll: Poll) -> None:
    """The last heading or bold line above an order's number."""
    for line in range(number_line, max(start, number_line - 4) - 1, -1):
        for spot in view.of_line(line):
            said = list(_from_templates(spot.text, view)) if 0 < len(spot.text) < 60 and not spot.amounts else []
            if len(said) == 1 and spot.text.endswith(said[0][0]):  # "From PinAndPetticoat" heads the order
                poll.add(said[0][0], 5.0, "heading of the order")
                return
            if (
                not (spot.heading or spot.bold)
                or not spot.text
                or len(spot.text) >= 60
                or spot.concepts
                or spot.amounts
                or code_in(spot.text) == spot.text.lstrip("#")
            ):
                continue
            if not any(trim_label(t) in poll.generic for t in spot.text.split(" ")):  # "Order history" is no stall
                poll.add(_LABELLED_RE.sub("", spot.text), 5.0, "heading of the order")
                return


def profile_links(view: View, start: int, stop: int, poll: Poll) -> None:
    """A link that is called like the end of its address leads to a profile or a stall ("/shop/PinAndPetticoat")."""
    for line in range(start, stop):
        for link in view.lines[line].links:
            tail = link.url.split("?")[0].rstrip("/").rsplit("/", 2)
            profile = len(tail) == 3 and len(link.text) > 3 and tail[1].lower() in _PROFILES
            if profile and name_key(tail[2]) == name_key(link.text):
                poll.add(link.text, 4.0, "profile link")


def in_menu(view: View, pair: Pair) -> bool:
    """Whether a "label" is an entry of a menu ("Shop | Blog | FAQ"): a row of many short cells without a colon."""
    line = view.lines[view.spots[pair.spot].line]
    return pair.how == "beside" and len(line.cells) > 2 and not pair.label.rstrip().endswith((":", "："))
