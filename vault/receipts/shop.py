"""Who sold it: the shop, not the platform, the payment service or the mail's robot.

Names are gathered from where shops put them (a label, the subject, the sender, the copyright line, the signature, the
header's link or logo, the page's title) and those that are one name count together; a domain that is called like the
name adds to it.  A labelled seller, or one that the subject names, wins over the sender, who is then only the payment
service or the marketplace.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from urllib.parse import urlsplit

from vault.language.folding import fold, squeeze
from vault.receipts.page_names import is_page_name
from vault.receipts.seller_names import domain_key, domain_label, name_key
from vault.receipts.titles import says_something, speaks
from vault.receipts.view import Pair, View, code_in, lead
from vault.receipts.words import trim_label

_YEAR_RE = re.compile(r"(?:19|20)\d\d(?:\s?[-–]\s?(?:19|20)?\d\d)?")
_MAIL_RE = re.compile(r"[\w.+-]{1,64}@((?:[\w-]{1,63}\.){1,5}[a-z]{2,24})", re.I)
_DOMAIN_RE = re.compile(r"(?<![\w@./-])((?:[a-z0-9-]{1,63}\.){1,4}[a-z]{2,24})(?![\w@-])", re.I)
_SUBJECT_MARK_RE = re.compile(r"\A\s*[\[【]([^\[\]【】]{2,50})[\]】]|[\[【]([^\[\]【】]{2,50})[\]】]\s*\Z")
_CUT_RE = re.compile(
    r"\s*(?:[:!?.,;|()\[\]#\u201c\u201d\"„«»]|\s[–—-]\s|\s\d|\s[€£$]|\s(?:and|und|et|en|y|e|och|og|i|ja)\s\d|\Z)"
)
_BUYER_RE = re.compile(r"(?:様|さま|御中)\Z")
_PROFILES = frozenset(
    ["shop", "shops", "seller", "sellers", "store", "stores", "people", "user", "users", "u", "stall", "creator"]
)
_JOINING = "and und et y e och og i ja en de di von van la le du des del della & of the"
_JOINS = frozenset(_JOINING.split())
_ADDRESS_RE = re.compile(r"\S{0,100}[@/.]\S{0,100}")
_VIA_RE = re.compile(r"\s+(?:via|through|über|par|tramite|vía|przez|on)\s+", re.I)


@dataclass(slots=True)
class Named:
    """One candidate name with what speaks for it."""

    name: str
    weight: float = 0.0
    why: list[str] = field(default_factory=list)
    best: float = 0.0


@dataclass(frozen=True, slots=True)
class Shop:
    """The seller as read: its name, its domain where one agrees, and where the name was read."""

    name: str | None
    domain: str | None
    words: str
    how: str
    third: bool  # the document is a third party's (a payment service's, a platform's) and names the seller


class _Poll:
    """Counts names together that are one name."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.names: dict[str, Named] = {}
        self.generic = view.words.phrase_set("seller", "generic")
        buyer = fold(view.doc.recipient_name)
        self.buyer = name_key(buyer) if buyer else ""

    def add(self, name: str, weight: float, why: str, *, shown: float | None = None) -> None:
        """Count a name; of several spellings that with the heaviest `shown` is the one to show."""
        printed, name = name, clean_name(name, self.generic)
        key = name_key(name)
        if not key or len(name) > 60 or len(name) < 2 or key == self.buyer or key.isdigit() or _BUYER_RE.search(name):
            return
        if trim_label(name) in self.generic or self.view.words.label(name):
            return
        if why != "label" and not why.startswith("label “"):
            digits = sum(c.isdigit() for c in name)
            found = lead(name, self.view.words)
            if digits >= 4 or (digits and found is not None):
                return
            if is_page_name(printed, self.view) or _is_sentence(printed, self.view):
                return
        entry = self.names.setdefault(key, Named(name))
        if (shown or weight) > entry.best:
            entry.best, entry.name = shown or weight, name
        entry.weight += weight
        entry.why.append(why)

    def copy(self) -> _Poll:
        """The same votes, to be added to."""
        other = _Poll(self.view)
        other.names = {key: replace(entry, why=list(entry.why)) for key, entry in self.names.items()}
        return other


def _is_sentence(name: str, view: View) -> bool:
    """Whether words say something instead of naming someone ("You did it! Your purchase is confirmed.")."""
    name = name.strip()
    if speaks(name) or (name.endswith((".", "!", "?")) and name.count(" ") >= 4):
        return True
    return says_something(trim_label(name), view.words)


def clean_name(name: str, generic: frozenset[str]) -> str:
    """A shown name without quotes and without the words that only say which mailbox it is ("Orders", "Team")."""
    name = squeeze(name).strip(" \"'“”„«»|,;:–—-·•*<>()[]=~#_")
    if "@" in name and " " not in name:
        return ""
    words = name.split(" ")
    while len(words) > 1 and trim_label(words[-1]) in generic:
        words.pop()
    while len(words) > 1 and trim_label(words[0]) in generic and trim_label(words[0]) not in ("the", "shop", "store"):
        words.pop(0)
    return " ".join(words).strip(" \"'“”„«»|,;:–—-·•*")


def _cut(name: str, view: View) -> str:
    """A name taken from running text: up to punctuation, a number, or a word that goes on with the sentence."""
    match = _CUT_RE.search(name)
    name = name[: match.start()] if match else name
    words = name.split(" ")
    stop = view.words.phrase_set("seller", "stop")
    for number, word in enumerate(words):
        joins = fold(word) in _JOINS and words[number + 1 : number + 2] and _starts_name(words[number + 1])
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
            if (
                fold(anchor) in _JOINS
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


def _starts_name(text: str) -> bool:
    return text[0].isupper() or text[0].isdigit() or "\u3040" <= text[0] <= "\u9fff"


def find_shop(view: View, start: int, stop: int, *, number_line: int | None = None) -> Shop:
    """The seller that lines `start` to `stop` and the document around them name.

    `number_line` is the line of the order's number where the document holds several orders: what heads it may be the
    name of a stall.
    """
    doc = view.doc
    poll = _common(view)
    if number_line is not None:
        _stall(view, start, number_line, poll)
    _profile_links(view, start, stop, poll)
    for pair in view.find("seller", start=start, stop=stop):
        firm = pair.concepts[0] == "seller" or pair.how != "column"
        if firm and 0 < len(pair.value) < 70 and not _in_menu(view, pair):
            poll.add(pair.value, 6.0 if number_line is None else 12.0, f"label “{pair.label}”")
    _domains(view, poll)
    if not poll.names:
        return Shop(None, None, "", "", False)
    _fuller(poll)
    ranked = sorted(poll.names.values(), key=lambda n: -n.weight)
    best = ranked[0]
    domain = _domain_of(view, best.name)
    third = _is_third(view, best, domain, poll)
    if domain is None and not third and doc.sender_address and _free_domain(view, best.name):
        domain = domain_key(_host(doc.sender_address)) or None
    return Shop(best.name, domain, best.name, ", ".join(dict.fromkeys(best.why)), third)


def _common(view: View) -> _Poll:
    """The names that stand outside the orders: gathered once for each document."""
    kept = view.memory.get("shop")
    if not isinstance(kept, _Poll):
        kept = view.memory["shop"] = _Poll(view)
        _gather(view, kept)
    return kept.copy()


def _gather(view: View, poll: _Poll) -> None:
    doc = view.doc
    for text, weight in ((doc.subject, 3.0), *((t, 2.5) for t in _headings(view))):
        for name, firm in _from_templates(text, view):
            poll.add(name, 5.0 if firm else weight, "subject" if weight == 3.0 else "heading")
    for match in _SUBJECT_MARK_RE.finditer(doc.subject):
        poll.add(match.group(1) or match.group(2), 3.0, "brackets in the subject")
    _sender(view, poll)
    _page(view, poll)
    _texts(view, poll)


def _is_third(view: View, best: Named, domain: str | None, poll: _Poll) -> bool:
    """Whether the mail was sent by someone else than the seller it names: another name or domain stands behind it."""
    doc = view.doc
    if not doc.sender_address:
        return False
    own = domain_key(_host(doc.sender_address))
    if fits_domain(best.name, own) or own == domain:
        return False
    via = _VIA_RE.split(doc.sender_name, maxsplit=1)
    if len(via) == 2 and fits_domain(via[1], own):
        return True
    sender = name_key(clean_name(doc.sender_name, poll.generic))
    if sender and sender != name_key(best.name) and "sender" not in best.why:
        return True
    # the sender's name is the seller's, but the domain is called like someone else in the mail
    return not _free_domain(view, best.name)


def _stall(view: View, start: int, number_line: int, poll: _Poll) -> None:
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
                poll.add(spot.text, 5.0, "heading of the order")
                return


def _profile_links(view: View, start: int, stop: int, poll: _Poll) -> None:
    """A link that is called like the end of its address leads to a profile or a stall ("/shop/PinAndPetticoat")."""
    for line in range(start, stop):
        for link in view.lines[line].links:
            tail = link.url.split("?")[0].rstrip("/").rsplit("/", 2)
            profile = len(tail) == 3 and len(link.text) > 3 and tail[1].lower() in _PROFILES
            if profile and name_key(tail[2]) == name_key(link.text):
                poll.add(link.text, 4.0, "profile link")


def _in_menu(view: View, pair: Pair) -> bool:
    """Whether a "label" is an entry of a menu ("Shop | Blog | FAQ"): a row of many short cells without a colon."""
    line = view.lines[view.spots[pair.spot].line]
    return pair.how == "beside" and len(line.cells) > 2 and not pair.label.rstrip().endswith((":", "："))


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


def _host(address: str) -> str:
    return address.rpartition("@")[2].lower()


def _sender(view: View, poll: _Poll) -> None:
    doc = view.doc
    if not doc.sender_name:
        return
    via = _VIA_RE.split(doc.sender_name, maxsplit=1)
    if len(via) == 2 and len(via[0]) > 2:
        poll.add(via[0], 4.0, "sender")
    else:
        poll.add(_of_shop(doc.sender_name, view), 3.0, "sender")


def _page(view: View, poll: _Poll) -> None:
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


def _texts(view: View, poll: _Poll) -> None:
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
                own = (
                    fits_domain(name, domain_key(_host(view.doc.sender_address))) if view.doc.sender_address else False
                )
                poll.add(name, 1.5 - 0.5 * number + 3.0 * own, "signature", shown=1.5)
    if not view.doc.sender_name:
        _above_addresses(view, poll)
        lines = [s for s in view.spots[:8] if s.text and not s.whole and not s.amounts and len(s.text) < 120]
        lines = [s for s in lines if sum(c.isalpha() for c in s.text) > 2 and not view.dates_in(s.text)]
        first = next((s for s in lines if s.heading), lines[0] if lines else None)
        parts = re.split(r"\s[·•|–—-]\s", first.text) if first is not None else []
        if first is not None and (len(parts) > 1 or len(first.text) < 50):
            poll.add(parts[0], 1.5 if first.heading or first.bold else 0.8, "first line")


_STREET_RE = re.compile(
    r"〒\s?\d{3}|[都道府県].{1,12}[市区町村]|(?<![\d-])(?:[A-Z]{1,2}-)?\d{4,5}\s[A-ZÄÖÜÅÆØ]\w{2,}|(?<!\d)\d{2}-\d{3}\s[A-ZŁŚŻ]"
    r"|(?<!\d)\d{3}\s\d{2}\s[A-ZÅÄÖ]|\b[A-Z]{1,2}\d{1,2}[A-Z]?\s\d[A-Z]{2}\b"
)


def _above_addresses(view: View, poll: _Poll) -> None:
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
    domain = domain_key(_host(view.doc.sender_address))
    if name_key(name) == re.sub(r"[^a-z0-9]", "", domain_label(domain)):
        return name
    for word in view.words.phrases("seller", "of"):
        _, found, rest = name.partition(f" {word} ")
        if found and rest and domain and fits_domain(rest, domain):
            return rest
    return name


def _all_domains(view: View) -> list[str]:
    """Domains that stand in the document, those of its envelope first."""
    kept = view.memory.get("domains")
    if not isinstance(kept, list):
        kept = view.memory["domains"] = _find_domains(view)
    return kept


def _find_domains(view: View) -> list[str]:
    doc = view.doc
    out: list[str] = []
    for address in (doc.sender_address, doc.reply_to):
        if "@" in address:
            out.append(_host(address))
    if doc.address:
        out.append(urlsplit(doc.address).hostname or "")
    for spot in view.spots:
        for link in spot.links:
            url = link.url
            if url.lower().startswith("mailto:"):
                out.extend(m.group(1) for m in _MAIL_RE.finditer(url[:200]))
            else:
                try:
                    out.append(urlsplit(url).hostname or "")
                except ValueError:
                    continue
        if "." in spot.text and len(spot.text) < 600:
            out.extend(m.group(1) for m in _MAIL_RE.finditer(spot.text))
            out.extend(m.group(1) for m in _DOMAIN_RE.finditer(spot.text))
    own = {domain_key(_host(doc.recipient_address))}
    return [d for d in dict.fromkeys(domain_key(o.lower()) for o in out) if d and d not in own]


def fits_domain(name: str, domain: str) -> bool:
    """Whether a domain is called like the name."""
    label = re.sub(r"[^a-z0-9]", "", domain_label(domain).replace("xn--", ""))
    key = re.sub(r"[^a-z0-9]", "", name_key(name))
    if len(label) < 3 or len(key) < 3:
        return False
    short = re.sub(r"[^a-z0-9]", "", name_key(" ".join(w for w in name.split(" ") if fold(w) not in _JOINS)))
    if (
        label in (key, short)
        or (len(label) >= 4 and label in key)
        or (len(key) >= 4 and key in label and 2 * len(key) >= len(label))
    ):
        return True
    spelt = fold(name)
    for letter, pair in (("ä", "ae"), ("ö", "oe"), ("ü", "ue"), ("ø", "oe"), ("å", "aa"), ("æ", "ae"), ("ß", "ss")):
        spelt = spelt.replace(letter, pair)
    spelt = re.sub(r"[^a-z0-9]", "", spelt)
    joined = re.sub(r"[^a-z0-9]", "", fold(name).replace("&", "and"))
    return label in (spelt, joined) or (len(label) >= 4 and label in spelt) or (len(spelt) >= 5 and spelt in label)


def _domains(view: View, poll: _Poll) -> None:
    domains = _all_domains(view)
    for entry in poll.names.values():
        if any(fits_domain(entry.name, d) for d in domains[:30]):
            entry.weight += 1.5
            entry.why.append("domain")


_OFFICIAL = frozenset(["sender", "signature", "copyright", "site name"])


def _fuller(poll: _Poll) -> None:
    """What speaks for a part of a name speaks for the whole, where the shop itself writes the whole."""
    for key, entry in poll.names.items():
        if not _OFFICIAL & set(entry.why):
            continue
        words = fold(entry.name).split(" ")
        for other, part in poll.names.items():
            if other != key and len(other) < len(key) and set(fold(part.name).split(" ")) < set(words):
                entry.weight += part.weight


def _domain_of(view: View, name: str) -> str | None:
    return next((d for d in _all_domains(view) if fits_domain(name, d)), None)


def _free_domain(view: View, name: str) -> bool:
    """Whether no other name in the envelope claims the sender's domain."""
    domain = domain_key(_host(view.doc.sender_address))
    if len(label := domain_label(domain)) > 4 and name_key(name) != label:
        for spot in view.spots[-14:]:
            if label in re.findall(r"[a-z0-9-]+", _ADDRESS_RE.sub(" ", spot.folded[:600])):
                return False  # "... partners with Ticketmill to process payments"
    rivals = [
        view.doc.title,
        *view.doc.pictures[:2],
        *(s.text for s in view.spots[-12:] if s.text and len(s.text) < 80),
    ]
    label = domain_label(domain)
    return not any(label and len(label) > 3 and label in name_key(r) for r in rivals if name_key(r) != name_key(name))
