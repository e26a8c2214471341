"""What a PDF says of itself outside its pages: layers, page units, actions, metadata.  Read with pypdf.

pdfium does not tell optional content groups and ignores UserUnit, so these are read raw: /OCProperties as written
(§8.11.4.2 of ISO 32000-1: duplicates, NULs and nulls stay, default visibility from BaseState, then ON and OFF), the
page tree with a guard against loops.  Nothing is executed; a JavaScript or Launch action is only named.
"""

from __future__ import annotations

import io
import logging
import re
import unicodedata
from dataclasses import dataclass, field
from typing import Any

from vault.model.pdf import Layer

METADATA_KEYS = ("Title", "Author", "Subject", "Keywords", "Creator", "Producer", "CreationDate", "ModDate")
_MAX_LAYERS, _MAX_NODES, _MAX_DEPTH, _MAX_CHARS = 2_000, 20_000, 60, 2_000
_ACTION_RE = re.compile(rb"/(JavaScript|Launch|SubmitForm|ImportData|RichMedia)\b|/(JS)\s*[(<\d]")


@dataclass(frozen=True, kw_only=True)
class Structure:
    """Values of the document as a whole.  `user_units` holds one number per page, or is empty where all are 1."""

    layers: tuple[Layer, ...] = ()
    user_units: tuple[float, ...] = ()
    metadata: dict[str, str] = field(default_factory=dict)
    active_content: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


# What only pypdf tells.  A file that holds none of these words, which stand uncompressed where there are no object
# streams, is spared the second reading: most tiles are.
_MORE = (
    b"/OCProperties",
    b"/ObjStm",
    b"/UserUnit",
    b"/OpenAction",
    b"/AA",
    b"/JavaScript",
    b"/JS",
    b"/Launch",
    b"/Encrypt",
    b"/XRef",
)
_ESCAPED_RE = re.compile(rb"/[A-Za-z]{0,20}#[0-9A-Fa-f]{2}[A-Za-z]")  # a name may spell its letters as numbers


def says_more(data: bytes) -> bool:
    """Whether the file may hold something that pdfium does not tell."""
    return any(word in data for word in _MORE) or _ESCAPED_RE.search(data) is not None


def read_structure(data: bytes) -> Structure:
    """The structure of a PDF that opens without a password.  What cannot be read is left out, with a note."""
    import pypdf

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    active = {(m[1] or b"JavaScript").decode("ascii") for m in _ACTION_RE.finditer(data)}
    try:
        reader = pypdf.PdfReader(io.BytesIO(data), strict=False)
        if reader.is_encrypted:
            reader.decrypt("")
        root: Any = reader.root_object
    except RecursionError:
        return Structure(active_content=tuple(sorted(active)), notes=("its structure runs in a circle",))
    except Exception:  # noqa: BLE001 - pypdf raises many kinds on broken files; pdfium may still read the pages
        return Structure(active_content=tuple(sorted(active)), notes=("its structure could not be read",))
    notes: list[str] = []
    layers: tuple[Layer, ...] = ()
    units: tuple[float, ...] = ()
    metadata: dict[str, str] = {}
    try:
        layers = _layers(root)
        units = _user_units(root) if b"/UserUnit" in data or b"/ObjStm" in data else ()
        metadata = _metadata(reader)
        active |= _actions(root)
    except Exception:  # noqa: BLE001 - as above: one broken object must not cost the rest
        notes.append("part of its structure could not be read")
    return Structure(
        layers=layers, user_units=units, metadata=metadata, active_content=tuple(sorted(active)), notes=tuple(notes)
    )


def page_tree_trouble(data: bytes) -> str | None:
    """What is wrong with the page tree, or None: a node that comes again below itself shows no page."""
    import pypdf

    try:
        root: Any = pypdf.PdfReader(io.BytesIO(data), strict=False).root_object
        pending: list[tuple[Any, frozenset[Any]]] = [(dict.get(root, "/Pages"), frozenset())]
        for _ in range(_MAX_NODES):
            if not pending:
                return None
            node, above = pending.pop()
            key = _reference(node)
            if key in above:
                return "its page tree runs in a circle"
            if len(above) > _MAX_DEPTH:
                return "its page tree is nested too deeply"
            pending.extend((kid, above | {key}) for kid in _raw_items(_get(node, "/Kids")))
    except Exception:  # noqa: BLE001 - pypdf raises many kinds on broken files; no finding is an answer too
        return None
    return None


def _get(value: Any, key: str) -> Any:
    """An entry of a dictionary, resolved; None where there is none or it is no dictionary."""
    value = _resolved(value)
    if not isinstance(value, dict) or key not in value:
        return None
    return _resolved(value.get(key))


def _resolved(value: Any) -> Any:
    for _ in range(8):
        if not hasattr(value, "get_object") or isinstance(value, (dict, list, str)):
            break
        inner = value.get_object()
        if inner is value:
            break
        value = inner
    return None if type(value).__name__ == "NullObject" else value


def _raw_items(value: Any) -> list[Any]:
    """The entries of an array without following references (pypdf resolves them on access)."""
    value = _resolved(value)
    return list(list.__iter__(value)) if isinstance(value, list) else []


def _reference(value: Any) -> tuple[int, int] | int:
    number = getattr(value, "idnum", None)
    return (number, value.generation) if number is not None else id(value)


def _text(value: Any) -> str | None:
    value = _resolved(value)
    if isinstance(value, bytes):
        value = value.decode("latin-1")
    if not isinstance(value, str):
        return None
    return unicodedata.normalize("NFC", value)[:_MAX_CHARS]


def _layers(root: Any) -> tuple[Layer, ...]:
    properties = _get(root, "/OCProperties")
    groups = _raw_items(_get(properties, "/OCGs"))[:_MAX_LAYERS]
    default = _get(properties, "/D")
    base = str(_get(default, "/BaseState") or "/ON") != "/OFF"
    on = {_reference(x) for x in _raw_items(_get(default, "/ON"))}
    off = {_reference(x) for x in _raw_items(_get(default, "/OFF"))}
    layers = []
    for group in groups:
        key = _reference(group)
        visible = key not in off and (base or key in on)
        layers.append(Layer(name=_text(_get(group, "/Name")), visible=visible))
    return tuple(layers)


def _user_units(root: Any) -> tuple[float, ...]:
    """UserUnit of every page in order; empty where all are 1.  A node that comes twice is passed over."""
    units: list[float] = []
    seen: set[Any] = set()
    stack: list[tuple[Any, int]] = [(dict.get(root, "/Pages"), 0)] if isinstance(root, dict) else []
    while stack and len(seen) < _MAX_NODES:
        node, depth = stack.pop()
        key = _reference(node)
        if key in seen or depth > _MAX_DEPTH:
            continue
        seen.add(key)
        kids = _get(node, "/Kids")
        if isinstance(kids, list):
            stack.extend((kid, depth + 1) for kid in reversed(_raw_items(kids)))
            continue
        unit = _get(node, "/UserUnit")
        number = float(unit) if isinstance(unit, (int, float)) else 1.0
        units.append(number if 0 < number <= 75_000 else 1.0)
    return tuple(units) if any(u != 1.0 for u in units) else ()


def _metadata(reader: Any) -> dict[str, str]:
    info = _resolved(reader.trailer.get("/Info")) if reader.trailer else None
    found = {key: _text(_get(info, f"/{key}")) for key in METADATA_KEYS}
    return {key: tidy(value) for key, value in found.items() if value and value.strip("\0 ")}


def tidy(value: str) -> str:
    """A value of the metadata: NFC, without NULs, of bounded length."""
    return unicodedata.normalize("NFC", value.replace("\0", "")).strip()[:_MAX_CHARS]


def _actions(root: Any) -> set[str]:
    """Names of the actions that run by themselves: OpenAction, additional actions, the JavaScript name tree."""
    found: set[str] = set()
    pending = [(_get(root, "/OpenAction"), 0)]
    extra = _get(root, "/AA")
    if isinstance(extra, dict):
        pending += [(_resolved(v), 0) for v in list(dict.values(extra))[:20]]
    while pending:
        action, depth = pending.pop()
        if not isinstance(action, dict) or depth > 10:
            continue
        kind = str(_get(action, "/S") or "").lstrip("/")
        if kind in ("JavaScript", "Launch", "SubmitForm", "ImportData"):
            found.add(kind)
        pending.append((_get(action, "/Next"), depth + 1))
    if _get(_get(root, "/Names"), "/JavaScript") is not None:
        found.add("JavaScript")
    return found
