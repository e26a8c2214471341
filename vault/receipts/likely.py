"""A cheap look at a raw mail: may it be evidence at all?

A mailbox of years holds twenty times more talk and newsletters than receipts, and reading a mail properly costs a
hundred times more than hashing it.  This look costs about as much as the hash.  It says no only where the reader
itself could find neither a purchase nor a notice: every rule here is one of the reader's own necessary conditions
(`signs.judge`, `history`, `notices`), asked of the whole text with the same word files but all languages together.

Files to look into, mails as files, markup of orders, and what is too odd for a look always pass.
"""

from __future__ import annotations

from collections import defaultdict

from vault.receipts.likely_text import Look, look_at
from vault.receipts.likely_words import (
    Kind,
    Meaning,
    against_table,
    around_table,
    first_table,
    heading_words,
    small_words,
    sums_table,
)
from vault.receipts.mime import OLE_MAGIC

_Hit = tuple[Meaning, int, int]
_FEW = 3  # phrases of buying that a sign in the subject outweighs: 2 + 0.25 x 2 + 0.25 x 2 is not over 3
# The most that a sentence can say (notices._score) and what may be added elsewhere, against the threshold there.
_SAID = {Kind.STRONG: 3.0, Kind.CLOSED: 3.0, Kind.VERB: 2.75, Kind.UNTIL: 2.0}
_ADDED = {Kind.PERMANENT: 1.0, Kind.FAREWELL: 0.75, Kind.FILES: 0.75}
_TAKEN = {Kind.HOLIDAY: 1.5, Kind.SALE: 1.0}
_DATED = 0.5
_IN_SUBJECT = 1.5
_THRESHOLD = 3.25
_SHORT = 300  # bytes of a text that need not show its language
_READ = 20_000  # bytes of a text that the reader of notices surely reads
_NEAR = 100  # bytes between a phrase of renaming and the sender's name


def may_be_evidence(raw: bytes) -> bool:
    """Whether a mail may be evidence of a purchase or a notice of a shop, or carries files that may be patterns.

    False is meant, True is only a maybe.
    """
    if raw.startswith(OLE_MAGIC):
        return True
    look = look_at(raw)
    if look.carries or look.marked or look.strange:
        return True
    subject = _hits(look.subject)
    bodies = [(text, _hits(text)) for text in look.texts]
    if not subject and not any(found for _, found in bodies):
        return False  # most mails end here
    return _may_be_purchase(look, subject, bodies) or _may_be_notice(look, subject, bodies)


def _hits(text: bytes) -> list[_Hit]:
    return [hit for hit in first_table().find(text) if not hit[0].shared or _is_in(hit[0].language, text)]


def _is_in(language: str, text: bytes) -> bool:
    """Whether a text may be in a language; a short one may be in any."""
    return len(text) < _SHORT or any(word in text for word in small_words(language))


# --- purchases --------------------------------------------------------------------------------


def _may_be_purchase(look: Look, subject: list[_Hit], bodies: list[tuple[bytes, list[_Hit]]]) -> bool:
    hits = [*subject, *(hit for _, found in bodies for hit in found)]
    kinds = {meaning.kind for meaning, _, _ in hits}
    numbered = _numbered(look.subject, subject) or any(_numbered(text, found) for text, found in bodies)
    if Kind.BOUGHT in kinds or Kind.FETCH in kinds:
        if numbered or any(m.kind in (Kind.BOUGHT, Kind.FETCH) for m, _, _ in subject):
            return True
        return not _speaks_against(look, hits)
    if numbered and (Kind.SENT in kinds or any(True for text, _ in bodies for _ in sums_table().find(text))):
        return True
    return any(_heads_columns(text, found) for text, found in bodies)


def _speaks_against(look: Look, hits: list[_Hit]) -> bool:
    """Whether the subject says basket, wish list, review, account, bank or quote, and few words say bought."""
    said = {(m.language, start) for m, start, _ in hits if m.kind in (Kind.BOUGHT, Kind.FETCH)}
    by_language: dict[str, int] = defaultdict(int)
    for language, _ in said:
        by_language[language] += 1
    if max(by_language.values(), default=0) > _FEW:
        return False
    return any(True for _ in against_table().find(look.subject))


def _numbered(text: bytes, hits: list[_Hit]) -> bool:
    """Whether a word with a figure stands behind the label of an order's number, or a number sign's in a subject."""
    for meaning, _, end in hits:
        if meaning.kind is Kind.NUMBER:
            following = text[end : end + 40].split(b" ")[:4]
            if any(any(48 <= b <= 57 for b in word) for word in following):
                return True
    return False


def _heads_columns(text: bytes, hits: list[_Hit]) -> bool:
    """Whether the label of an order's number or day stands beside another heading of a table."""
    for meaning, start, end in hits:
        if meaning.kind in (Kind.NUMBER, Kind.DAY):
            headings = heading_words(meaning.language)
            before, after = text[max(0, start - 40) : start].split(), text[end : end + 40].split()
            if (after and after[0] in headings) or (before and before[-1] in headings):
                return True
    return False


# --- notices ----------------------------------------------------------------------------------


def _may_be_notice(look: Look, subject: list[_Hit], bodies: list[tuple[bytes, list[_Hit]]]) -> bool:
    said: dict[str, float] = defaultdict(float)
    sender = b""
    for place, (text, found) in enumerate([(look.subject, subject), *bodies]):
        for meaning, start, end in found:
            kind = meaning.kind
            if kind is Kind.NAMED:
                sender = sender or look.sender
            if kind is Kind.MOVED or (kind is Kind.NAMED and _near_sender(text, start, end, sender)):
                return True
            if kind in _SAID:
                more = _IN_SUBJECT if place == 0 else 0.0
                said[meaning.language] = max(said[meaning.language], _SAID[kind] + more)
    if not said:
        return False
    around: dict[str, list[Kind]] = defaultdict(list)
    for text in (look.subject, *look.texts):
        for meaning, start, _ in around_table().find(text):
            if meaning.language in said and start < _READ:
                around[meaning.language].append(meaning.kind)
    return any(_adds_up(score, around[language]) for language, score in said.items())


def _adds_up(score: float, around: list[Kind]) -> bool:
    """Whether what is said and what stands around it can reach the threshold of a notice."""
    score += _DATED + sum(more for kind, more in _ADDED.items() if kind in around)
    if Kind.PERMANENT not in around:  # once may be in what hides, and that does not count
        score -= sum(less for kind, less in _TAKEN.items() if around.count(kind) > 1)
    return score >= _THRESHOLD


def _near_sender(text: bytes, start: int, end: int, sender: bytes) -> bool:
    """Whether a word of the sender's name or domain stands near a phrase of renaming."""
    around = text[max(0, start - _NEAR) : start].split() + text[end : end + _NEAR].split()
    return any(word[:4] in sender for word in around if len(word) >= 3)
