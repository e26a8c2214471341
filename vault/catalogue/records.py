"""What cannot be read from the kept bytes again: what the person said, and where everything was seen.

The catalogue can be made anew from the objects, but for these rows; so they are kept as small objects too (by
`vault.intake.remembering`), and come back from there.  A table that only the person fills belongs in `HAND_TABLES`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from vault.catalogue.store import Store

Cell = str | int | float | None

# Tables that only the person fills: their rows are kept as they are.
HAND_TABLES = ("answers", "seller_words", "licence_terms", "licence_uses", "letters", "reminder_marks", "same_sellers")
# Where evidence and files were seen, in the order of recording (the ids of purchases hang on it).
SEEN_TABLES = {"sources": ("sha256", "source"), "sightings": ("sha256", "body")}


PART_ROWS = 1000
# Things in the order of their first place, each with all its places: so it stays the same when it is made again.
_BY_THING = "(SELECT min(t.seq) FROM {name} t WHERE t.sha256 = {name}.sha256), seq"


@dataclass(frozen=True, kw_only=True)
class TableRows:
    """Rows of a table, with the names of their columns; of a long table the `part`-th part, from 0."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    part: int = 0

    @property
    def title(self) -> str:
        """The name of the record: that of the table, with the number of its part."""
        return f"{self.name}-{self.part}" if self.part else self.name


class Records(Store):
    """The part of the catalogue that knows what is kept as records."""

    def seen_mark(self) -> str:
        """Changes when anything was seen anew; quick, so that nothing need be compared where nothing is new."""
        counts = [
            self._row(f"SELECT count(*), max(seq), sum(length({columns[-1]})) FROM {name}")
            for name, columns in SEEN_TABLES.items()
        ]
        return " ".join(str(n or 0) for count in counts for n in count or ())

    def remembered_rows(self, *, seen: bool = True) -> tuple[TableRows, ...]:
        """The rows that are kept as records, a value for each table that has any, several for a long one.

        What is new comes into the last part, so that the others stay as they are.  Without `seen` only what the person
        said.
        """
        found = [self._table(name, self._columns(name), "rowid") for name in HAND_TABLES]
        for name, columns in SEEN_TABLES.items() if seen else ():
            whole = self._table(name, columns, _BY_THING.format(name=name))
            found += [
                replace(whole, part=part, rows=whole.rows[begin : begin + PART_ROWS])
                for part, begin in enumerate(range(0, len(whole.rows), PART_ROWS))
            ]
        return tuple(table for table in found if table.rows)

    def bring_rows(self, table: TableRows) -> int:
        """Puts rows of the person's back that are not there; columns that are not known are left out.  How many."""
        known = self._columns(table.name) if table.name in HAND_TABLES else ()
        columns = [c for c in table.columns if c in known]
        if not columns:
            return 0
        places = [table.columns.index(c) for c in columns]
        marks = ", ".join("?" * len(columns))
        sql = f"INSERT OR IGNORE INTO {table.name} ({', '.join(columns)}) VALUES ({marks})"
        with self.transaction():
            return sum(self._write(sql, [row[at] for at in places]) for row in table.rows)

    def records(self) -> dict[str, tuple[str, int]]:
        """Name of each record -> the digest of its object, and its number."""
        return {r[0]: (r[1], r[2]) for r in self._rows("SELECT name, sha256, number FROM records ORDER BY name")}

    def set_record(self, name: str, sha256: str, number: int) -> None:
        """Remembers that the record `name` is kept as the object `sha256`."""
        self._write("INSERT OR REPLACE INTO records (name, sha256, number) VALUES (?, ?, ?)", (name, sha256, number))

    def remove_record(self, name: str) -> None:
        """Forgets a record: its table is empty."""
        self._write("DELETE FROM records WHERE name = ?", (name,))

    def _table(self, name: str, columns: Sequence[str], order: str) -> TableRows:
        rows = self._rows(f"SELECT {', '.join(columns)} FROM {name} ORDER BY {order}") if columns else []
        return TableRows(name=name, columns=tuple(columns), rows=tuple(tuple(r) for r in rows))

    def _columns(self, name: str) -> tuple[str, ...]:
        return tuple(r[1] for r in self._rows(f"PRAGMA table_info({name})"))
