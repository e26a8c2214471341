"""Who sold it: the shop, not the platform, the payment service or the mail's robot.

Names are gathered from where shops put them (a label, the subject, the sender, the copyright line, the signature, the
header's link or logo, the page's title) and those that are one name count together; a domain that is called like the
name adds to it.  A labelled seller, or one that the subject names, wins over the sender, who is then only the payment
service or the marketplace.
"""

from __future__ import annotations

from dataclasses import dataclass

from vault.receipts.seller_names import domain_key, name_key
from vault.receipts.shop_domains import all_domains, domain_of, fits_domain, free_domain, host
from vault.receipts.shop_places import VIA_RE, gather, in_menu, profile_links, stall
from vault.receipts.shop_poll import Named, Poll, clean_name, fuller
from vault.receipts.view import View


@dataclass(frozen=True, slots=True)
class Shop:
    """The seller as read: its name, its domain where one agrees, and where the name was read."""

    name: str | None
    domain: str | None
    words: str
    how: str
    third: bool  # the document is a third party's (a payment service's, a platform's) and names the seller


def find_shop(view: View, start: int, stop: int, *, number_line: int | None = None) -> Shop:
    """The seller that lines `start` to `stop` and the document around them name.

    `number_line` is the line of the order's number where the document holds several orders: what heads it may be the
    name of a stall.
    """
    doc = view.doc
    poll = _common(view)
    if number_line is not None:
        stall(view, start, number_line, poll)
    profile_links(view, start, stop, poll)
    for pair in view.find("seller", start=start, stop=stop):
        firm = pair.concepts[0] == "seller" or pair.how != "column"
        if firm and 0 < len(pair.value) < 70 and not in_menu(view, pair):
            poll.add(pair.value, 6.0 if number_line is None else 12.0, f"label “{pair.label}”")
    _domains(view, poll)
    if not poll.names:
        return Shop(None, None, "", "", False)
    fuller(poll)
    ranked = sorted(poll.names.values(), key=lambda n: -n.weight)
    best = ranked[0]
    domain = domain_of(view, best.name)
    third = _is_third(view, best, domain, poll)
    if domain is None and not third and doc.sender_address and free_domain(view, best.name):
        domain = domain_key(host(doc.sender_address)) or None
    return Shop(best.name, domain, best.name, ", ".join(dict.fromkeys(best.why)), third)


def _common(view: View) -> Poll:
    """The names that stand outside the orders: gathered once for each document."""
    kept = view.memory.get("shop")
    if not isinstance(kept, Poll):
        kept = view.memory["shop"] = Poll(view)
        gather(view, kept)
    return kept.copy()


def _is_third(view: View, best: Named, domain: str | None, poll: Poll) -> bool:
    """Whether the mail was sent by someone else than the seller it names: another name or domain stands behind it."""
    doc = view.doc
    if not doc.sender_address:
        return False
    own = domain_key(host(doc.sender_address))
    if fits_domain(best.name, own) or own == domain:
        return False
    via = VIA_RE.split(doc.sender_name, maxsplit=1)
    if len(via) == 2 and fits_domain(via[1], own):
        return True
    sender = name_key(clean_name(doc.sender_name, poll.generic))
    if sender and sender != name_key(best.name) and "sender" not in best.why:
        return True
    # the sender's name is the seller's, but the domain is called like someone else in the mail
    return not free_domain(view, best.name)


def _domains(view: View, poll: Poll) -> None:
    domains = all_domains(view)
    for entry in poll.names.values():
        if any(fits_domain(entry.name, d) for d in domains[:30]):
            entry.weight += 1.5
            entry.why.append("domain")
