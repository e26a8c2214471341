"""schema.org markup of a page as plain nodes, whichever of the three syntaxes it is written in.

Strategy: JSON-LD, microdata and RDFa Lite say the same things; all become dictionaries with lower-case property names
and a list of values each, so that one set of rules reads them (`structured`).  Scripts are never run: JSON-LD is parsed
as data, with the repairs that real pages need (comments around it, entities, trailing commas, several objects).
Everything is bounded: bytes, nodes, depth.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from decimal import Decimal
from html import unescape
from typing import Any

# Property name (folded, without prefix) -> values: text, Decimal, bool or nodes.  "@type" holds folded type names.
Node = dict[str, list[Any]]

MAX_SOURCE = 8 << 20
MAX_JSON = 1 << 20
MAX_NODES = 20_000
MAX_DEPTH = 40
MAX_TEXT = 2_000

_PIECE_RE = re.compile(r'("(?:[^"\\]|\\.)*+"|[\]}])', re.DOTALL)  # strings and closing brackets
_CDATA = r"(?://|/\*)?\s{0,9}"
_WRAP_RE = re.compile(
    rf"\A\s*(?:<!--|{_CDATA}<!\[CDATA\[\s{{0,9}}(?:\*/)?)|(?:-->|{_CDATA}\]\]>\s{{0,9}}(?:\*/)?)\s*\Z"
)
_ADDRESS_TAGS = {
    **dict.fromkeys(["a", "link", "area"], "href"),
    **dict.fromkeys(["img", "audio", "video", "embed", "iframe", "source"], "src"),
    "object": "data",
    "data": "value",
    "meter": "value",
    "time": "datetime",
}


def has_markup(html: str) -> bool:
    """Whether a look for markup is worth the while."""
    return "ld+json" in html or "itemtype" in html or "typeof" in html


def nodes_of(html: str) -> list[Node]:
    """The outermost nodes of a page in document order.  Never raises."""
    if not has_markup(html):
        return []
    from selectolax.lexbor import LexborHTMLParser

    tree = LexborHTMLParser(html[:MAX_SOURCE])
    found: list[Node] = []
    for script in tree.css("script[type]")[:200]:
        if "ld+json" in (script.attributes.get("type") or "").casefold():
            found += _json_nodes(script.text(deep=True) or "")
    if tree.root is not None and ("itemtype" in html or "typeof" in html):
        found += _tree_nodes(tree.root)
    return found


# --- JSON-LD ----------------------------------------------------------------------------------


def _json_nodes(text: str) -> list[Node]:
    out: list[Node] = []
    for value in _json_values(text[:MAX_JSON]):
        counter = [0]
        out += [node for node in _as_list(_node_of(value, 0, counter)) if isinstance(node, dict)]
    out = [inner for node in out for inner in (node.get("@graph") or [node]) if isinstance(inner, dict)]
    return _resolved(out)


def _json_values(text: str) -> Iterator[Any]:
    text = _WRAP_RE.sub("", text).strip()
    for candidate in (text, unescape(text), _without_trailing_commas(unescape(text))):
        values = _decode_all(candidate)
        if values is not None:
            yield from values
            return


def _decode_all(text: str) -> list[Any] | None:
    """All JSON values that stand one behind the other in `text`, None if it is not JSON."""
    decoder = json.JSONDecoder(parse_float=_decimal, parse_int=_decimal, parse_constant=lambda _: None, strict=False)
    values: list[Any] = []
    position = 0
    while position < len(text) and len(values) < 200:
        try:
            value, position = decoder.raw_decode(text, position)
        except (ValueError, RecursionError):
            return values or None
        values.append(value)
        while position < len(text) and text[position] in " \t\r\n;,":
            position += 1
    return values


def _decimal(text: str) -> Decimal | None:
    return Decimal(text) if len(text) <= 40 else None


def _without_trailing_commas(text: str) -> str:
    """JSON text without the commas before a closing bracket, strings left alone."""
    out: list[str] = []
    for piece in _PIECE_RE.split(text):
        if piece in ("]", "}") and out and not out[-1].startswith('"'):
            out[-1] = out[-1].rstrip(" \t\r\n,")
        out.append(piece)
    return "".join(out)


def _node_of(value: Any, depth: int, counter: list[int]) -> Any:
    """A JSON value as node, list or plain value; too deep or too many ends in None."""
    counter[0] += 1
    if depth > MAX_DEPTH or counter[0] > MAX_NODES:
        return None
    if isinstance(value, list):
        return [_node_of(entry, depth + 1, counter) for entry in value]
    if not isinstance(value, dict):
        return value[:MAX_TEXT] if isinstance(value, str) else value
    if "@value" in value:
        return _node_of(value["@value"], depth + 1, counter)
    node: Node = {}
    for key, entry in value.items():
        name = key.casefold() if key.startswith("@") else short_name(key)
        entries = [e for e in _as_list(_node_of(entry, depth + 1, counter)) if e is not None]
        if name == "@type":
            entries = [short_name(e) for e in entries if isinstance(e, str)]
        if name != "@context":
            node.setdefault(name, []).extend(entries)
    return node


def _as_list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _resolved(nodes: list[Node]) -> list[Node]:
    """References by `@id` replaced by the nodes they mean, one level at a time."""
    by_id: dict[str, Node] = {}
    stack: list[Node] = list(nodes)
    everything: list[Node] = []
    while stack and len(everything) < MAX_NODES:
        node = stack.pop()
        everything.append(node)
        if node.get("@id") and len(node) > 1:
            by_id.setdefault(str(node["@id"][0]), node)
        stack += [v for values in node.values() for v in values if isinstance(v, dict)]
    for node in everything:
        for name, values in node.items():
            node[name] = [
                by_id.get(str(v["@id"][0]), v) if isinstance(v, dict) and list(v) == ["@id"] and v["@id"] else v
                for v in values
            ]
    return nodes


# --- microdata and RDFa Lite ------------------------------------------------------------------


def _tree_nodes(root: Any) -> list[Node]:
    """Nodes from `itemscope`/`itemprop` and `typeof`/`property` attributes, by a walk without recursion."""
    out: list[Node] = []
    stack: list[tuple[Any, Node | None, int]] = [(root, None, 0)]
    count = 0
    while stack:
        element, scope, depth = stack.pop()
        following = element.next
        if following is not None:
            stack.append((following, scope, depth))
        if element.tag in ("-text", "_comment", "script", "style", "-comment"):
            continue
        count += 1
        if count > 200_000 or len(out) > MAX_NODES:
            break
        attributes = element.attributes
        names = (attributes.get("itemprop") or attributes.get("property") or "").split()[:10]
        inner = scope
        if "itemscope" in attributes or attributes.get("typeof"):
            types = (attributes.get("itemtype") or attributes.get("typeof") or "").split()[:10]
            node: Node = {"@type": [short_name(t) for t in types]}
            if names and scope is not None and depth < MAX_DEPTH:
                for name in names:
                    scope.setdefault(short_name(name), []).append(node)
            else:
                out.append(node)
            inner, depth = node, depth + 1
        elif names and scope is not None:
            value = _value_of(element, attributes)
            if value:
                for name in names:
                    scope.setdefault(short_name(name), []).append(value)
        if element.child is not None:
            stack.append((element.child, inner, depth))
    return out


def _value_of(element: Any, attributes: dict[str, str | None]) -> str:
    for name in ("content", _ADDRESS_TAGS.get(element.tag)):
        if name and attributes.get(name):
            return " ".join((attributes[name] or "")[:MAX_TEXT].split())
    return " ".join((element.text(deep=True) or "")[:MAX_TEXT].split())


def short_name(name: str) -> str:
    """A type or property without its vocabulary, folded: "http://schema.org/orderProcessing" -> "orderprocessing"."""
    return re.split(r"[/#:]", name.strip()[:300])[-1].casefold()
