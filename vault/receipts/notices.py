"""What a shop says about itself: that it closes or has closed, is renamed, sold, moved.

Strategy: sentence by sentence.  A closing needs a verb of closing together with the shop (its name, a word for shop,
or the first person), and weight from what surrounds it: for good, farewell, save your files, the subject line.  What
closes in a newsletter is mostly something else: a sale, an offer, registration, or the shop for the holidays; such
words in the sentence outweigh the verb unless it says "for good".  The day tells closing from closed; tense only where
there is no day.  A new name is believed only where old or new name is that of the sender.

Words of each language in words/notices_<language>.toml; common practice, no published source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from vault.language.folding import fold, squeeze
from vault.model.evidence import SellerNotice
from vault.receipts.notice_dates import days_of, is_span, reading
from vault.receipts.notice_names import Succession, find_succession
from vault.receipts.notice_words import NoticeWords, notice_words, plain
from vault.receipts.seller_names import fits_domain, name_words

_MAX_CHARACTERS = 24_000
_MAX_SENTENCE = 600
_THRESHOLD = 3.25
_SPLIT_RE = re.compile(r"(?<=[.!?…])(?<!\D\d\.)(?<!\D\d\d\.)(?<!\d\sr\.)\s+(?=[^\W\d_a-z]|[¿¡\"„“«(])|(?<=[。！？])")
_CLAUSE_RE = re.compile(r"[,;:!?()–—、。]|\s-\s")
_SOFT_END_RE = re.compile(r"[.!?:;。！？]\s*\Z")
_LATEST = timedelta(days=3 * 366)  # an end announced for later than this is some other day


@dataclass(frozen=True, kw_only=True)
class Sentence:
    """One sentence as printed and folded; `subject` for the subject line."""

    text: str
    folded: str
    subject: bool = False


def read_notices(
    subject: str,
    lines: Sequence[str],
    language: str | None,
    sender_name: str | None,
    sender_domain: str | None,
    dated: date | None,
) -> tuple[SellerNotice, ...]:
    """What the document says of the shop that sent it; nothing where it only advertises or goes on holiday.

    `lines` are the visible lines, each with the addresses that its links lead to behind it (a new address is often
    only there); `dated` is the day of the document.  At most one notice.
    """
    sentences = list(_sentences(subject, lines))
    whole = "\n".join(s.folded for s in sentences)
    for code in [language, "en"] if language and language != "en" else [language or "en"]:
        words = notice_words(code)
        keys = [key for key in words.gate if key in whole] if words is not None else []
        if words is None or not keys:
            continue
        speaking = [s for s in sentences if any(key in s.folded for key in keys)]
        closing = _closing(sentences, speaking, words, sender_name, sender_domain, dated)
        texts = [(s.text, s.folded, s in speaking) for s in sentences]
        succession = find_succession(texts, words, sender_name, sender_domain)
        if closing is not None or succession is not None:
            return (_notice(closing, succession, sender_name, sender_domain),)
        reopened = next((s for s in speaking if words.has("reopened", s.folded)), None)
        if reopened is not None:
            return (SellerNotice(seller=sender_name, domain=sender_domain, status="open", words=reopened.text),)
    return ()


def _notice(
    closing: _Closing | None, succession: Succession | None, sender_name: str | None, sender_domain: str | None
) -> SellerNotice:
    said = [s for s in (closing.words if closing else "", succession.words if succession else "") if s]
    return SellerNotice(
        seller=(succession.old if succession else None) or sender_name,
        domain=sender_domain,
        status=closing.status if closing else None,
        on=closing.on if closing else None,
        succeeded_by=succession.new if succession else None,
        successor_domain=succession.domain if succession else None,
        words=" … ".join(dict.fromkeys(said)),
    )


# --- sentences --------------------------------------------------------------------------------


def _sentences(subject: str, lines: Sequence[str]) -> Iterator[Sentence]:
    if subject.strip():
        yield _sentence(squeeze(subject), subject=True)
    used = 0
    for paragraph in _paragraphs(lines):
        for piece in _SPLIT_RE.split(paragraph):
            if piece and piece.strip():
                yield _sentence(squeeze(piece))
        used += len(paragraph)
        if used > _MAX_CHARACTERS:
            return


def _sentence(text: str, *, subject: bool = False) -> Sentence:
    return Sentence(text=text[:_MAX_SENTENCE], folded=plain(text[:_MAX_SENTENCE]), subject=subject)


def _paragraphs(lines: Sequence[str]) -> Iterator[str]:
    """Lines of wrapped text put together: a line goes on where it is long and does not end a sentence."""
    held = ""
    for line in lines[:2_000]:
        text = squeeze(line[:4_000])
        goes_on = held and len(held.rsplit("\n", 1)[-1]) > 45 and not _SOFT_END_RE.search(held)
        if text and goes_on and len(held) < 3_000:
            held = f"{held} {text}"
            continue
        if held:
            yield held
        held = text
    if held:
        yield held


# --- closing ----------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class _Closing:
    status: str
    on: date | None
    words: str


def _closing(
    sentences: list[Sentence],
    speaking: list[Sentence],
    words: NoticeWords,
    sender_name: str | None,
    sender_domain: str | None,
    dated: date | None,
) -> _Closing | None:
    scored = [_score(s, words, sender_name, sender_domain, dated) for s in speaking]
    best = max(scored, default=0.0)
    if best <= 0 or any(_goes_on(s, words) for s in sentences):
        return None
    said = [s for s, score in zip(speaking, scored) if score > 0]
    status, on = _status(sentences, said, words, dated, lambda s: _names(s.text, sender_name, sender_domain))
    final = any(words.has(name, s.folded) for name in ("permanent", "strong", "farewell") for s in sentences)
    if on is not None and dated is not None and on > dated and not final and _only_past(said, words):
        return None  # "is closed on Monday": a day off
    best += _surroundings(sentences, words) + (0.5 if on is not None else 0.0)
    if best < _THRESHOLD:
        return None
    main = next((s for s in said if not s.subject), said[0])
    return _Closing(status=status, on=on, words=main.text)


def _goes_on(sentence: Sentence, words: NoticeWords) -> bool:
    """Whether the shop stays, and not only until some day."""
    if words.has("reopened", sentence.folded):
        return True
    keeps = words.lists["keeps"].search(sentence.folded) if "keeps" in words.lists else None
    if keeps is None:
        return False
    return not any(True for _ in days_of(sentence.folded[keeps.end() : keeps.end() + 40], words, date(2000, 1, 1)))


def _score(
    sentence: Sentence, words: NoticeWords, sender_name: str | None, sender_domain: str | None, dated: date | None
) -> float:
    """How much one sentence says that the shop closes; 0 or less if it does not."""
    text = sentence.folded
    if words.has("old_place", text):
        return 0.0  # what is left behind when a shop moves
    strong, closed = words.has("strong", text), words.has("closed", text)
    named = _names(sentence.text, sender_name, sender_domain)
    shop = named or words.has("shop", text)
    if strong or (named and closed):
        score = 3.0
    elif closed:
        score = 2.5 if shop else 1.5
    elif shop and words.has("verb", text) and (words.has("shop", text) or not words.has("files", text)):
        score = 2.75 if named else 2.25
    elif shop and words.has("until", text) and not words.has("files", text):
        score = 2.0  # the shop is there until then; files that can be fetched until then are no news
    else:
        return 0.0
    score += 1.5 if sentence.subject else 0.0
    if words.has("permanent", text):
        score -= 2.5 if _is_of_another(text, words) else -0.5
    else:
        score -= 2.5 * words.has("sale", text) + 2.5 * words.has("holiday", text)
        if not words.has("files", text) and is_span(text, words.language, dated):
            score -= 2.5
    if words.has("physical", text) or words.has("leaves", text):
        score -= 2.5  # rooms, not the shop that keeps the files; or a pattern that goes out of print
    return score - (2.0 if words.has("other", text) and not strong else 0.0)


def _is_of_another(text: str, words: NoticeWords) -> bool:
    """Whether a sale or a course begins the clause whose verb is closing ("our flash sale closes for good")."""
    verbs = [m for name in ("strong", "closed", "verb") if (m := words.lists[name].search(text)) is not None]
    if not verbs:
        return False
    clause = _CLAUSE_RE.split(text[: min(m.start() for m in verbs)])[-1]
    sale = words.lists["sale"].search(clause)
    return sale is not None and len(clause[: sale.start()].split()) <= 3


def _surroundings(sentences: list[Sentence], words: NoticeWords) -> float:
    """What the rest of the document adds or takes away."""
    folded = [s.folded for s in sentences]

    def somewhere(name: str) -> bool:
        return any(words.has(name, f) for f in folded)

    permanent = somewhere("permanent")
    score = 1.0 * permanent + 0.75 * somewhere("farewell") + 0.75 * somewhere("files")
    if not permanent:
        score -= 1.5 * somewhere("holiday") + 1.0 * somewhere("sale")
    return score


def _names(text: str, sender_name: str | None, sender_domain: str | None) -> bool:
    """Whether a text names the sender."""
    said = name_words(text[:_MAX_SENTENCE])
    wanted = name_words(sender_name or "")
    if sender_name and len(sender_name) > 2 and fold(sender_name) in fold(text):
        return True
    if wanted and any(said[k : k + len(wanted)] == wanted for k in range(len(said) - len(wanted) + 1)):
        return True
    if not sender_domain:
        return False
    return any(
        fits_domain(" ".join(said[k : k + n]), sender_domain) for n in (1, 2, 3) for k in range(len(said) - n + 1)
    )


def _status(
    sentences: list[Sentence],
    said: list[Sentence],
    words: NoticeWords,
    dated: date | None,
    named: Callable[[Sentence], bool],
) -> tuple[str, date | None]:
    closed = any(words.has("closed", s.folded) for s in said)
    strong = any(words.has("strong", s.folded) or words.has("verb", s.folded) for s in said)
    around = [s for s in sentences if s not in said and (_may_date(s, words) or named(s))]
    days = list(_days(said, words, dated, closed=closed)) or list(_days(around, words, dated, closed=closed))
    on = days[0] if days else None
    if on is None or dated is None:
        return ("closed" if closed and not (strong and not _only_past(said, words)) else "closing"), on
    return ("closing" if on > dated else "closed" if closed or on < dated else "closing"), on


def _only_past(said: list[Sentence], words: NoticeWords) -> bool:
    """Whether every sentence that speaks of closing says that it is done."""
    return all(words.has("closed", s.folded) for s in said if not s.subject) and any(not s.subject for s in said)


def _may_date(sentence: Sentence, words: NoticeWords) -> bool:
    text = sentence.folded
    if words.has("sale", text) and not words.has("permanent", text):
        return False
    return any(words.has(name, text) for name in ("files", "shop", "verb", "until", "permanent"))


def _days(sentences: Sequence[Sentence], words: NoticeWords, dated: date | None, *, closed: bool) -> Iterator[date]:
    for sentence in sentences:
        if words.has("sale", sentence.folded) and not words.has("permanent", sentence.folded):
            continue
        for found in days_of(sentence.text, words, dated):
            day = reading(found, dated)
            if closed and dated is not None and not found.year:
                day = max((d for d in found.candidates if d <= dated), default=day)
            if day is not None and (dated is None or abs(day - dated) <= _LATEST):
                yield day
