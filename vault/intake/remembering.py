"""Keeps as small objects what the kept bytes alone do not say: the person's own words, and where things were seen.

One JSON text for each table that has rows (several for a long one), made anew when its rows have changed; the one
before is then forgotten.  With these, the catalogue can be made again from objects/ alone (`rebuild`).  Order of
writing: the object, then the row that names it, then the removal of the one before.  A kill in between leaves an object
too many, which does no harm: the higher number counts.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from vault.catalogue import Catalogue
from vault.catalogue.records import HAND_TABLES, SEEN_TABLES, TableRows
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore

_MARK = "pinfold-record"
_BEGIN = f'{{"format":"{_MARK}"'.encode()
_VERSION = 1
_SEEN_MARK = "records-seen"
_MAX_BYTES = 1 << 28


@dataclass(frozen=True, kw_only=True)
class KeptRecord:
    """A record as it was read from its object."""

    sha256: str
    number: int
    table: TableRows


def keep_records(folder: VaultFolder, catalogue: Catalogue) -> int:
    """Brings the records up to date; how many were written.  Under the vault's lock.  Raises StoreError."""
    store, mark = ObjectStore(folder), catalogue.seen_mark()
    records = catalogue.records()
    seen = catalogue.value(_SEEN_MARK) != mark or not all(store.has(sha256) for sha256, _ in records.values())
    known = {name: at for name, at in records.items() if seen or name in HAND_TABLES}
    written = 0
    for table in catalogue.remembered_rows(seen=seen):
        before = known.pop(table.title, None)
        number = before[1] if before else 0
        if before and store.has(before[0]) and _text(table, number) == _bytes_of(store, before[0]):
            continue
        # where things were seen has no number: two such records say more together than one of them
        number = number + 1 if table.name in HAND_TABLES else 0
        sha256 = store.keep(_text(table, number))
        catalogue.set_record(table.title, sha256, number)
        if before and before[0] != sha256:
            store.forget(before[0])
        written += 1
    for name, (sha256, _) in known.items():  # the last row was taken back
        catalogue.remove_record(name)
        store.forget(sha256)
    if seen:
        catalogue.set_value(_SEEN_MARK, mark)
    return written


def is_record(head: bytes) -> bool:
    """Whether an object that begins with `head` is a record."""
    return head.startswith(_BEGIN)


def kept_records(store: ObjectStore) -> Iterator[KeptRecord]:
    """All records in the store that can be read, intact ones only, in the order of their numbers."""
    found: list[KeptRecord] = []
    for sha256 in store.digests():
        try:
            with store.path_of(sha256).open("rb") as source:
                if not is_record(source.read(len(_BEGIN))):
                    continue
            if store.intact(sha256) and store.size_of(sha256) <= _MAX_BYTES:
                record = _read(sha256, _bytes_of(store, sha256))
                found += [record] if record else []
        except OSError:
            continue
    yield from sorted(found, key=lambda r: (r.table.name, r.table.part, r.number, r.sha256))


def _text(table: TableRows, number: int) -> bytes:
    said = {
        "format": _MARK,
        "version": _VERSION,
        "name": table.name,
        "number": number,
        "part": table.part,
        "columns": list(table.columns),
        "rows": [list(row) for row in table.rows],
    }
    return json.dumps(said, separators=(",", ":")).encode("ascii") + b"\n"


def _bytes_of(store: ObjectStore, sha256: str) -> bytes:
    with store.open(sha256) as source:
        return source.read(_MAX_BYTES)


def _read(sha256: str, raw: bytes) -> KeptRecord | None:
    try:
        said: dict[str, Any] = json.loads(raw)
        if said["format"] != _MARK or said["version"] != _VERSION or said["name"] not in (*HAND_TABLES, *SEEN_TABLES):
            return None
        columns = tuple(str(c) for c in said["columns"])
        rows = tuple(tuple(row) for row in said["rows"] if len(row) == len(columns))
        if not all(isinstance(cell, str | int | float | None) for row in rows for cell in row):
            return None
        table = TableRows(name=said["name"], columns=columns, rows=rows, part=int(said.get("part", 0)))
        return KeptRecord(sha256=sha256, number=int(said["number"]), table=table)
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
