"""Mails forwarded inside the text of another: find the header block, cut the inner mail out.

Strategy: whatever the mail program, an inline forward is a few lines `label: value` that hold sender, date and subject,
usually below a line that announces it.  The labels of all languages lie in one table (words/notices_<language>.toml,
`[forward]`), so a program set to one language may forward a mail in another.  A page is brought to lines that remember
where in the source they end; the cut is made there, and the unbalanced rest is left to the forgiving HTML parser.
Common practice of mail programs, no published source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from html import unescape

from vault.language.folding import fold
from vault.receipts.mail_words import all_words

_MAX_LINES = 4_000  # of a body, in which a header block is looked for
_MAX_SOURCE = 400_000
_MAX_BLOCK = 14  # lines of one header block
_LABEL_RE = re.compile(r"\s{0,20}[*_]{0,2}([^:：*_<>@]{1,30}?)\s{0,5}[*_]{0,2}\s{0,3}[:：]\s{0,3}[*_]{0,2}")
_QUOTE_RE = re.compile(r"[ \t]{0,3}((?:>[ \t]?){1,20})")
_TOKEN_RE = re.compile(r"<!--.{0,20000}?-->|<[^<>]{0,4000}>", re.DOTALL)
_TAG_RE = re.compile(r"</?([a-zA-Z][a-zA-Z0-9]{0,20})")
_BREAKS = frozenset(
    [
        "br",
        "p",
        "div",
        "tr",
        "li",
        "table",
        "blockquote",
        "hr",
        "h1",
        "h2",
        "h3",
        "h4",
        "ul",
        "ol",
        "body",
        "html",
        "head",
        "section",
        "article",
        "header",
    ]
)
_LEAD_MARKS = "-_=*> :：.[]|"
_LEAD_BEGINS = ("-", "_", "=", "*", "[")
_UNSEEN = frozenset(["style", "script", "head", "title"])
_STYLE_RE = re.compile(r"<style\b[^>]{0,500}>.{0,100000}?</style>", re.DOTALL | re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class InlineForward:
    """The inner mail: its header as the mail program wrote it (`date_text` in its own words) and its bodies."""

    sender: str
    date_text: str
    subject: str
    recipient: str
    text: str
    html: str
    language: str | None


@dataclass(frozen=True, kw_only=True)
class InlineCut:
    """A mail taken apart: what its writer added above, and the forwarded mail below."""

    own_text: str
    own_html: str
    forward: InlineForward


@dataclass(frozen=True, kw_only=True)
class _Line:
    text: str
    start: int
    end: int


@dataclass(frozen=True, kw_only=True)
class _Block:
    values: dict[str, str]
    language: str | None
    first: int  # line of the announcement, or of the first field
    last: int  # last line of the header block
    quoted: int  # how many quote marks stand before it


@lru_cache(maxsize=1)
def _labels() -> dict[str, tuple[str, str]]:
    """Folded label -> (role, language).  Labels of several languages keep the first; the language is only a hint."""
    out: dict[str, tuple[str, str]] = {}
    for language, tables in all_words().items():
        for role, words in tables.get("forward", {}).items():
            if role != "lead":
                for word in words:
                    out.setdefault(fold(word), (role, language))
    return out


@lru_cache(maxsize=1)
def _leads() -> dict[str, str]:
    """Folded line that announces a forwarded mail -> language."""
    out: dict[str, str] = {}
    for language, tables in all_words().items():
        for word in tables.get("forward", {}).get("lead", ()):
            out.setdefault(fold(word), language)
    return out


def cut_inline(text: str, html: str) -> InlineCut | None:
    """The outermost inline forward of a mail with these bodies, or None."""
    in_text = _find_block(text_lines := _text_lines(text))
    in_html = _find_block(html_lines := _html_lines(html)) if html else None
    block = in_text or in_html
    if block is None:
        return None
    own_text, inner_text = (text, "") if in_text is None else _cut_text(text, text_lines, in_text)
    own_html, inner_html = (html, "") if in_html is None else _cut_html(html, html_lines, in_html)
    if html and in_html is None and in_text is not None:
        own_html = ""  # the page is the same mail once more: without its header block it would count twice
    if text and in_text is None and in_html is not None:
        own_text = ""
    values = {**(in_html.values if in_html else {}), **(in_text.values if in_text else {})}
    if in_html and not _has_address(values.get("sender", "")) and _has_address(in_html.values.get("sender", "")):
        values["sender"] = in_html.values["sender"]
    return InlineCut(
        own_text=own_text,
        own_html=own_html,
        forward=InlineForward(
            sender=values.get("sender", ""),
            date_text=values.get("date", ""),
            subject=values.get("subject", ""),
            recipient=values.get("to", ""),
            text=inner_text,
            html=inner_html,
            language=block.language,
        ),
    )


def _has_address(text: str) -> bool:
    return "@" in text


# --- the block --------------------------------------------------------------------------------


def _find_block(lines: list[_Line]) -> _Block | None:
    announced: tuple[int, str | None] | None = None
    k = 0
    while k < len(lines):
        line = _bare(lines[k].text)
        if not line:
            k += 1
            continue
        lead = _is_lead(line)
        if lead is not None:
            announced = (k, lead)
        elif (block := _block_at(lines, k, announced)) is not None:
            return block
        elif announced is not None and k > announced[0] + 3:
            announced = None
        k += 1
    return None


def _bare(line: str) -> str:
    found = _QUOTE_RE.match(line)
    return (line[found.end() :] if found else line).strip()


def _is_lead(line: str) -> str | None:
    """The language of a line that announces a forwarded mail, or None."""
    if len(line) > 120:
        return None
    core = fold(line).strip(_LEAD_MARKS)
    if not core or len(core) > 80:
        return None
    language = _leads().get(core)
    if language is None and line.lstrip()[:1] in _LEAD_BEGINS:  # marked by dashes, something may follow the words
        fitting = (lead for lead in _leads() if core.startswith(lead) and len(core) < len(lead) + 40)
        language = next((_leads()[lead] for lead in fitting), None)
    return language


def _block_at(lines: list[_Line], k: int, announced: tuple[int, str | None] | None) -> _Block | None:
    """The header block that begins at line `k`, if one does."""
    values: dict[str, str] = {}
    languages: list[str] = []
    last = k
    pending: str | None = None  # a label whose value stands on the next line
    quoted = _depth(lines[k].text)
    for n in range(k, min(len(lines), k + _MAX_BLOCK)):
        line = _bare(lines[n].text)
        if not line:
            if n == k or not values:
                return None
            if pending is None and ("subject" in values or len(values) >= 3):
                break
            continue
        found = _label(line)
        if found is not None:
            role, label_language, value = found
            if role != "other" and role in values:
                break
            if role in ("sender", "date", "subject", "to"):
                languages.append(label_language)
            values.setdefault(role, value)
            pending = role if not value else None
            last = n
        elif pending is not None and (pending != "to" or "@" in line):
            values[pending] = line
            pending, last = None, n
        elif values and n == last + 1 and _continues(line, values):
            last = n
        else:
            break
    if not _is_block(values, announced is not None and k <= announced[0] + 4):
        return None
    near = announced if announced is not None and k <= announced[0] + 4 else None
    language = near[1] if near else max(sorted(set(languages)), key=languages.count, default=None)
    first = near[0] if near else k
    return _Block(
        values={role: " ".join(v.split()) for role, v in values.items()},
        language=language,
        first=first,
        last=last,
        quoted=quoted,
    )


def _label(line: str) -> tuple[str, str, str] | None:
    found = _LABEL_RE.match(line)
    if not found:
        return None
    entry = _labels().get(fold(found.group(1)))
    if entry is None:
        return None
    return entry[0], entry[1], line[found.end() :].strip().strip("*").strip()


def _continues(line: str, values: dict[str, str]) -> bool:
    """A wrapped address list goes on; any other line is the body."""
    return "to" in values and "@" in line and len(line) < 200 and line.rstrip().endswith((">", ",", ";"))


def _is_block(values: dict[str, str], announced: bool) -> bool:
    if not values.get("sender"):
        return False
    if announced:
        return bool(values.get("date") or values.get("subject"))
    # Without an announcement an invoice's own `From`, `To`, `Date` must not do: the subject is what makes a mail.
    return bool(values.get("date") and values.get("subject")) and ("to" in values or _has_address(values["sender"]))


def _depth(line: str) -> int:
    found = _QUOTE_RE.match(line)
    return found.group(1).count(">") if found else 0


# --- plain text -------------------------------------------------------------------------------


def _text_lines(text: str) -> list[_Line]:
    out: list[_Line] = []
    position = 0
    for line in text[:_MAX_SOURCE].split("\n")[:_MAX_LINES]:
        out.append(_Line(text=line, start=position, end=position + len(line) + 1))
        position += len(line) + 1
    return out


def _cut_text(text: str, lines: list[_Line], block: _Block) -> tuple[str, str]:
    own = text[: lines[block.first].start].rstrip()
    inner = text[lines[block.last].end :]
    if block.quoted:
        inner = "\n".join(_unquote(line, block.quoted) for line in inner.split("\n"))
    return own, inner.strip("\n")


def _unquote(line: str, depth: int) -> str:
    for _ in range(depth):
        stripped = line.lstrip(" ") if line.lstrip(" ").startswith(">") else line
        if not stripped.startswith(">"):
            break
        line = stripped[1:].removeprefix(" ")
    return line


# --- pages ------------------------------------------------------------------------------------


def _html_lines(html: str) -> list[_Line]:
    """The visible lines of a page with their place in the source.  Not a parser: only block ends matter here."""
    out: list[_Line] = []
    pieces: list[str] = []
    start = 0
    position = 0
    source = html[:_MAX_SOURCE]
    unseen: str | None = None

    def close(end: int, following: int) -> None:
        nonlocal start
        line = " ".join(unescape("".join(pieces)).split())
        if line:
            out.append(_Line(text=line, start=start, end=end))
        pieces.clear()
        start = following

    for token in _TOKEN_RE.finditer(source):
        if len(out) >= _MAX_LINES:
            return out
        if unseen is None and token.start() > position:
            if not pieces or not "".join(pieces).strip():
                start = position
            pieces.append(source[position : token.start()])
        position = token.end()
        found = _TAG_RE.match(token.group())
        if not found:
            continue
        tag = found.group(1).lower()
        closing = token.group().startswith("</")
        if tag in _UNSEEN:
            unseen = None if closing else tag
        elif unseen is None and tag in _BREAKS:
            close(token.start(), token.end())
        elif tag in ("td", "th", "span"):
            pieces.append(" ")
    close(position, position)
    return out


def _cut_html(html: str, lines: list[_Line], block: _Block) -> tuple[str, str]:
    styles = "".join(_STYLE_RE.findall(html[:_MAX_SOURCE]))
    return html[: lines[block.first].start], styles + html[lines[block.last].end :]
