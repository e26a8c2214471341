"""New names and new addresses of a shop in its notices.

A template ("{old} is now called {new}") finds two names in a sentence; what stands around the names is cut off by
capital letters, quotation marks and the small words that end a name.  Believed only where one of both names is the
sender's, so that a renamed pattern is no renamed shop, and where the template is weak ("is now") only if the new name
stands in the document a second time or in an address.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlsplit

from vault.language.folding import fold, squeeze
from vault.receipts.notice_dates import without_days
from vault.receipts.notice_words import NameTemplate, NoticeWords, plain
from vault.receipts.seller_names import alike, domain_key, fits_domain, name_key

_URL_RE = re.compile(
    r"(?:https?://|www\.)[^\s<>\"')\]]{3,200}|(?<![\w@.])(?:[a-z0-9-]{2,40}\.){1,3}[a-z]{2,12}(?![\w@-])", re.I
)
_QUOTED_RE = re.compile(r"\A\s*[\"“„«»‚‘'「『]\s*([^\"“”„«»‘’」』]{2,60}?)\s*[\"”“«»’‘'」』]")
_ENDS_RE = re.compile(r"[.,;:!?()]+(?=\s|\Z)|\s[-–—|]\s|\s\(|[。、！？]|https?://|www\.")
_EDGES = " \t\"'“”„«»‚‘’「」『』.,;:!?()-–—"


@dataclass(frozen=True, kw_only=True)
class Succession:
    """Old name (None: the sender's), new name (None: only the address is new), new domain, and the words."""

    old: str | None
    new: str | None
    domain: str | None
    words: str


def find_succession(
    said: Sequence[tuple[str, str, bool]], words: NoticeWords, sender_name: str | None, sender_domain: str | None
) -> Succession | None:
    """The first believable change of name, owner or address.

    `said` holds each sentence as printed, folded, and whether it is worth a look.
    """
    sentences = [text for text, _, _ in said]
    text = "\n".join(sentences)
    for number, (sentence, _, speaks) in enumerate(said):
        if not speaks:
            continue
        dayless = without_days(sentence, words)
        folded = plain(dayless)
        for template in words.templates:
            found = template.regex.search(dayless) if all(part in folded for part in template.parts) else None
            if found is None:
                continue
            named = _named(found, template, words, sender_name, sender_domain, text)
            if named is not None:
                old, new = named
                domain = _new_domain(sentences, number, sender_domain, new)
                return Succession(old=old, new=new, domain=domain, words=sentence)
        called = _called(dayless, folded, words, sender_name, text)
        if called is not None:
            return Succession(
                old=sender_name,
                new=called,
                domain=_new_domain(sentences, number, sender_domain, called),
                words=sentence,
            )
    return _moved(said, sentences, words, sender_domain)


def _called(dayless: str, folded: str, words: NoticeWords, sender_name: str | None, text: str) -> str | None:
    """The new name where both stand behind the verb ("from May is called Old New"); it must be seen a second time."""
    if words.calls is None or not sender_name or fold(sender_name) not in folded:
        return None
    for verb in words.calls.finditer(dayless):
        rest = dayless[verb.end() :].lstrip()
        if not rest.casefold().startswith(sender_name.casefold() + " "):
            continue
        new = _leading_name(rest[len(sender_name) :].lstrip(), words)
        if new is not None and (text.count(new) > 1 or _has_address_of(new, text)) and not alike(new, sender_name):
            return new
    return None


def _named(
    found: re.Match[str],
    template: NameTemplate,
    words: NoticeWords,
    sender_name: str | None,
    sender_domain: str | None,
    text: str,
) -> tuple[str | None, str] | None:
    new = (_trailing_name if template.first == "new" else _leading_name)(found.group("new"), words)
    if new is None:
        return None
    if (
        sender_name
        and fold(sender_name) in fold(new).split(" ", 2)[-1]
        and len(name_key(new)) > len(name_key(sender_name))
    ):
        return None  # a whole clause ("Otter Works took over Larch & Loom"), no name
    old = None
    if template.has_old:
        old = (_trailing_name if template.first == "old" else _leading_name)(found.group("old"), words)
    if template.has_old and old is None:
        return None
    if old is not None and name_key(old) == name_key(new):
        return None
    twice = len(re.findall(re.escape(fold(new)), fold(text))) > 1 or _has_address_of(new, text)
    if template.fragile and not twice:
        return None
    if old is not None:
        if _is_sender(old, sender_name, sender_domain):
            return (sender_name if sender_name and alike(old, sender_name) else old), new
        return (old, new) if _is_sender(new, sender_name, sender_domain) else None
    if template.sold and not twice:
        return None
    if _is_sender(new, sender_name, None):
        return None  # only the new name is known: nothing tells whose it was
    return None, new


def _is_sender(name: str, sender_name: str | None, sender_domain: str | None) -> bool:
    if sender_name and alike(name, sender_name):
        return True
    return bool(sender_domain) and fits_domain(name, sender_domain or "")


def _has_address_of(name: str, text: str) -> bool:
    return any(fits_domain(name, host) for host in _hosts(text))


def _hosts(text: str) -> list[str]:
    """Hosts of addresses that point to a shop, not to something inside it."""
    out: list[str] = []
    for found in _URL_RE.findall(text[:20_000])[:100]:
        url = found if "://" in found else f"https://{found}"
        try:
            parts = urlsplit(url.rstrip(".,;"))
            host = parts.hostname or ""
        except ValueError:
            continue
        if "." in host and len(parts.path) <= 24 and not parts.query:
            out.append(host)
    return out


# --- names ------------------------------------------------------------------------------------


def _leading_name(text: str, words: NoticeWords) -> str | None:
    """The name that a text begins with."""
    quoted = _QUOTED_RE.match(text)
    if quoted:
        return squeeze(quoted.group(1)) or None
    ends = _ENDS_RE.search(text)
    tokens = (text[: ends.start()] if ends else text).split()
    kept: list[str] = []
    for token in tokens[:8]:
        if fold(token) in words.stop and kept:
            break
        kept.append(token)
    while kept and not _may_name(kept[-1]):
        kept.pop()
    return _name(kept)


def _trailing_name(text: str, words: NoticeWords) -> str | None:
    """The name that a text ends with."""
    tokens = text.rsplit(",", 1)[-1].split()
    kept: list[str] = []
    for token in reversed(tokens[-7:]):
        if fold(token) in words.stop and kept:
            break
        kept.insert(0, token)
    while kept and not _may_name(kept[0]):
        kept.pop(0)
    return _name(kept)


def _may_name(token: str) -> bool:
    """A word that may begin or end a name: capital, figure, or of a script without capitals."""
    core = token.strip(_EDGES)
    return bool(core) and (core[0].isupper() or core[0].isdigit() or core[0].lower() == core[0].upper())


def _name(tokens: list[str]) -> str | None:
    name = squeeze(" ".join(tokens)).strip(_EDGES)
    if len(name) < 2 or len(name) > 60 or not any(c.isalpha() for c in name):
        return None
    return name


# --- addresses --------------------------------------------------------------------------------


def _new_domain(sentences: Sequence[str], number: int, sender_domain: str | None, new: str | None) -> str | None:
    """The address beside a change: in the sentence, the two after it, or anywhere if it is the new name's."""
    own = domain_key(sender_domain or "")
    near = [h for s in sentences[number : number + 3] for h in _hosts(s)]
    far = [h for s in sentences for h in _hosts(s) if new and fits_domain(new, h)]
    for host in [*(h for h in near if new and fits_domain(new, h)), *far, *near]:
        key = domain_key(host)
        if key and key != own and not own.endswith("." + key):
            return key
    return None


def _moved(
    said: Sequence[tuple[str, str, bool]], sentences: Sequence[str], words: NoticeWords, sender_domain: str | None
) -> Succession | None:
    """A move to another address, told by the shop: only where an address of its own stands beside it."""
    for number, (sentence, folded, speaks) in enumerate(said):
        if not speaks or not words.has("moved", folded):
            continue
        domain = _new_domain(sentences, number, sender_domain, None)
        if domain and sender_domain:
            return Succession(old=None, new=None, domain=domain, words=sentence)
    return None
