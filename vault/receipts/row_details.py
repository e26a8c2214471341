"""What a printed line adds to a thing sold: name, count, code, prices, chosen options, designer, links."""

from __future__ import annotations

import re
from collections.abc import Iterable

from vault.language.dates import settle_after
from vault.receipts.row import UNLIMITED, Row
from vault.receipts.titles import acts, counted, is_action, is_code, is_file_name, is_format, may_be_title, tell
from vault.receipts.view import Spot, View, lead
from vault.receipts.words import trim_label

_UNIT_RE = re.compile(r"(\d{1,3})\s?(?:([^\W\d_]{1,8})\.?\s?)?(?:[x×*@]|\b(?:à|a))\s?\Z", re.I)
_BACK_PARTS_RE = re.compile(r"\s[·•|]\s|\s[–—-]\s")


def name_row(view: View, row: Row, spot: Spot) -> None:
    """Title, count, code and prices of the line that names the thing."""
    text = spot.text
    if spot.amounts:
        text = before_amount(view, spot)
        price(view, row, spot, ())
    if spot.label and "title" in spot.concepts and spot.value and not spot.amounts:
        text = spot.value
    named = [*spot.strong, *(k.text for k in spot.links if not acts(trim_label(k.text), view.words))]
    strong = next((s for s in named if len(s) >= 3 and text.startswith(s)), None)
    told = tell(text, view.words)
    if strong is not None and may_be_title(strong, view.words) and not told.title.startswith(strong + " ("):
        # the bold passage is the name, the rest of the line is about it
        inner = tell(strong, view.words)
        told.title = inner.title
        told.quantity = told.quantity or inner.quantity
        about = text[len(strong) :].strip(" –—-·|,:")
        if about and is_format(about, view.words):
            row.options.append(about)
    row.title = told.title
    row.quantity = row.quantity or told.quantity
    row.code = row.code or told.code
    row.options.extend(told.options)
    row.links.extend(spot.links)
    _free(view, row, spot)


def before_amount(view: View, spot: Spot) -> str:
    """The words before the first price, without labelled parts before them ("Invoice 12 · Club fee · £4")."""
    text = spot.text[: spot.amounts[0].start]
    unit = _unit(view, text)
    if unit is not None and len(text[: unit.start()].strip()) > 2:
        text = text[: unit.start()]
    for cut in list(_BACK_PARTS_RE.finditer(text)):
        head = text[: cut.start()]
        found = lead(head, view.words)
        if found is not None and not ({"title", "quantity"} & set(found[0])):
            return text[cut.end() :]
    return text


def detail(view: View, row: Row, spot: Spot, role: tuple[str, ...]) -> None:
    """What a line beside or below the title adds."""
    row.links.extend(spot.links)
    text = spot.text
    if not text:
        return
    row.last_line = max(row.last_line, spot.line)
    row.fetched = row.fetched or (spot.whole and spot.concepts[0] == "download")
    concepts = role if role and not (spot.whole or (spot.label and spot.value)) else spot.concepts or role
    value = spot.value if spot.label and spot.value and spot.concepts else text
    if "expires" in concepts:
        for found in view.dates_in(text):
            row.expires = settle_after(found, view.dated) if view.dated else found.value
        row.lasting = row.expires is None and bool(value)
        if row.expires is not None or role or row.lasting:
            return
    if "downloads_left" in concepts:
        number = re.search(r"\d{1,4}", value)
        row.left = int(number.group()) if number else UNLIMITED
        return
    if spot.amounts:
        price(view, row, spot, concepts)
        return
    count = counted(text, view.words) if not ("reference" in role and "quantity" not in role) else None
    if count is not None and not (set(concepts) & {"reference", "order_number"}):
        if row.quantity is None or (spot.label and "quantity" in spot.concepts):
            row.quantity = count
        return
    if set(concepts) & {"quantity"} and count is None and role:
        number = re.match(r"\d{1,3}\b", text)
        row.quantity = int(number.group()) if number and int(number.group()) else row.quantity
        return
    _free(view, row, spot)
    if "designer" in concepts and value and len(value) < 80:
        row.designer = row.designer or value
    elif "seller" in concepts and value and len(value) < 80:
        row.seller = row.seller or value
    elif "order_number" in concepts and value and (role or spot.label):
        row.order_number = row.order_number or value
    elif "reference" in concepts and len(value) < 40:
        # a small number is that of the line
        row.code = row.code or (value.lstrip("# ") if not (value.isdigit() and len(value) <= 3) else None)
    elif spot.links and (is_action(spot, view) or is_file_name(text) or spot.links[0].text == text):
        return
    elif is_code(text) and not role:
        row.code = row.code or (text if not (text.isdigit() and len(text) <= 3) else None)
    elif text != row.title and ("option" in concepts or (not spot.whole and not role and optional(view, text))):
        row.options.append(text)


def _unit(view: View, before: str) -> re.Match[str] | None:
    """The count just before a price: "2 x", "6 pcs. @"."""
    match = _UNIT_RE.search(before.rstrip())
    if match is None or not match.group(2):
        return match
    return match if match.group(2).casefold() in view.words.phrase_set("goods", "pieces") else None


def count_price(view: View, spot: Spot) -> tuple[bool, int | None]:
    """Whether a line is a count and prices without a name ("1 × £5.00", "2 à 4,50 € 9,00 €"), and the count."""
    rest = spot.text
    for amount in reversed(spot.amounts):
        rest = rest[: amount.start] + " " + rest[amount.end :]
    known = view.words.phrase_set("goods", "pieces") | view.words.phrase_set("goods", "each")
    tokens = (trim_label(t.strip("()")) for t in rest.replace("×", " × ").split(" "))
    # one letter may be a tax class
    if not spot.amounts or not all(len(t) < 2 or t.isdigit() or t in known or t in ("je", "per", "st") for t in tokens):
        return False, None
    count = re.match(r"\s*(\d{1,3})\b", rest)
    return True, int(count.group(1)) or None if count else None


def optional(view: View, text: str) -> bool:
    """Whether an unlabelled line in the cell of the title is a chosen option: short, no sentence, no free word."""
    key = trim_label(text)
    if len(text) > 70 or text.endswith((".", "!", "?")) or is_file_name(text):
        return False
    return key not in view.words.phrase_set("goods", "free") and key not in view.words.phrase_set("download", "action")


def _free(view: View, row: Row, spot: Spot) -> None:
    tail = trim_label(spot.text.rsplit("–", 1)[-1].rsplit(" - ", 1)[-1])
    if tail in view.words.phrase_set("goods", "free"):
        row.free = True
        if row.title.casefold().endswith(tail):
            row.title = row.title[: -len(tail)].rstrip(" –-:")


def price(view: View, row: Row, spot: Spot, concepts: Iterable[str]) -> None:
    """The amounts of a line with their roles."""
    concepts = set(concepts) or set(spot.concepts)
    text = spot.text
    for number, amount in enumerate(spot.amounts):
        before = text[spot.amounts[number - 1].end if number else 0 : amount.start]
        after = text[amount.end : spot.amounts[number + 1].start if number + 1 < len(spot.amounts) else len(text)]
        role = "price"
        said = set(view.words.label(before.strip(" (-–,·")) or ())
        said = said or concepts
        unit = _unit(view, before)
        if unit is not None:
            row.quantity = row.quantity or int(unit.group(1)) or None
            role = "unit"
        elif trim_label(after) in view.words.phrase_set("goods", "each") or (
            "unit_price" in said and "line_amount" not in said
        ):
            role = "unit"
        elif said & {"tax", "tax_included"} and not said & {"line_amount", "total", "price"}:
            role = "tax"
        elif "discount" in said and not said & {"line_amount", "total", "price"}:
            role = "discount"
        elif said & {"line_amount", "total", "subtotal"}:
            role = "line"
        counted_after = re.match(r"\s?[x×*]\s?(\d{1,3})(?!\d)", after)
        if counted_after:
            row.quantity = row.quantity or int(counted_after.group(1)) or None
            role = "unit"
        row.amounts.append((role, amount))
