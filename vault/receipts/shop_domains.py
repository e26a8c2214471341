"""The domains that stand in a document, and whether one is called like a name.

A domain proves little, for anybody may write one: it counts where it is called like the shop that the text names, and
the sender's own only where no other name in the mail claims it (a payment service signs with its own).
"""

from __future__ import annotations

import re
from urllib.parse import urlsplit

from vault.language.folding import fold
from vault.receipts.seller_names import domain_key, domain_label, name_key
from vault.receipts.view import View

_MAIL_RE = re.compile(r"[\w.+-]{1,64}@((?:[\w-]{1,63}\.){1,5}[a-z]{2,24})", re.I)
_DOMAIN_RE = re.compile(r"(?<![\w@./-])((?:[a-z0-9-]{1,63}\.){1,4}[a-z]{2,24})(?![\w@-])", re.I)
_ADDRESS_RE = re.compile(r"\S{0,100}[@/.]\S{0,100}")
_JOINING = "and und et y e och og i ja en de di von van la le du des del della & of the"
JOINS = frozenset(_JOINING.split())


def host(address: str) -> str:
    """The domain of a mail address, in lower case; "" for none."""
    return address.rpartition("@")[2].lower()


def all_domains(view: View) -> list[str]:
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
            out.append(host(address))
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
    own = {domain_key(host(doc.recipient_address))}
    return [d for d in dict.fromkeys(domain_key(o.lower()) for o in out) if d and d not in own]


def fits_domain(name: str, domain: str) -> bool:
    """Whether a domain is called like the name."""
    label = re.sub(r"[^a-z0-9]", "", domain_label(domain).replace("xn--", ""))
    key = re.sub(r"[^a-z0-9]", "", name_key(name))
    if len(label) < 3 or len(key) < 3:
        return False
    short = re.sub(r"[^a-z0-9]", "", name_key(" ".join(w for w in name.split(" ") if fold(w) not in JOINS)))
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


def domain_of(view: View, name: str) -> str | None:
    """The first domain of the document that is called like the name."""
    return next((d for d in all_domains(view) if fits_domain(name, d)), None)


def free_domain(view: View, name: str) -> bool:
    """Whether no other name in the envelope claims the sender's domain."""
    domain = domain_key(host(view.doc.sender_address))
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
