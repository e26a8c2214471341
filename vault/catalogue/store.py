"""The SQLite file: opening, transactions, migrations, snapshots, checks.

Strategy: the driver never begins a transaction by itself (`isolation_level=None`); every change stands in a
`transaction()`, which is BEGIN IMMEDIATE at the outside and joins in when nested.  WAL lets readers work while one
writes; synchronous=FULL makes a commit outlive a power cut.  Every connection is opened with what SQLite offers
against a hostile file (trusted_schema off, cell size check), for a catalogue may come out of somebody's backup.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from sqlite_utils import Database

from vault.catalogue.schema import APPLICATION_ID, MIGRATION_NAMES, MIGRATIONS
from vault.errors import StoreError

_PATIENCE_SECONDS = 30
_PRAGMAS = ("foreign_keys = ON", "trusted_schema = OFF", "cell_size_check = ON", "synchronous = FULL")


class Store:
    """One connection to a catalogue.  Every sqlite3 error leaves it as a StoreError with a next step."""

    def __init__(self, db: Database, path: Path) -> None:
        self._db = db
        self.path = path

    @classmethod
    def open(cls, path: Path) -> Self:
        """The catalogue at `path`, made or brought up to date if need be, for reading and writing.

        Hold the vault's lock: there is one writer at a time.  Raises StoreError (damaged, no catalogue at all, written
        by a newer program, not writable).
        """
        with _as_store_error(path):
            db = _connect(path, "rwc")
            try:
                _check_is_catalogue(db, path, may_be_new=True)
                db.conn.execute("PRAGMA journal_mode = WAL")
                MIGRATIONS.apply(db)
            except BaseException:
                db.close()
                raise
        return cls(db, path)

    @classmethod
    def open_read_only(cls, path: Path) -> Self:
        """The catalogue at `path` for reading; waits for nobody, writes nothing.

        A catalogue of an older program is brought up to date first.  Raises StoreError as `open`, and if there is none.
        """
        if not path.is_file():
            raise StoreError(f"there is no catalogue at {path}", "begin with: pinfold import FOLDER", code="no-vault")
        with _as_store_error(path):
            db = _connect_for_reading(path)
            try:
                outdated = _check_is_catalogue(db, path, may_be_new=False)
                if not outdated:
                    db.conn.execute("PRAGMA query_only = ON")
            except BaseException:
                db.close()
                raise
        if outdated:
            db.close()
            cls.open(path).close()
            return cls.open_read_only(path)
        return cls(db, path)

    def close(self) -> None:
        """Ends the connection; an open transaction is rolled back."""
        self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, tb: TracebackType | None) -> None:
        self.close()

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """All changes inside become one; none of them if the block raises or the process dies."""
        if self._db.conn.in_transaction:
            yield
            return
        with _as_store_error(self.path):
            self._db.conn.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self._db.rollback()
            raise
        with _as_store_error(self.path):
            try:
                self._db.conn.execute("COMMIT")
            except BaseException:
                self._db.rollback()
                raise

    def snapshot_to(self, path: Path) -> None:
        """Writes a consistent copy of the catalogue to the new file `path`, compact and synced.

        Readers and writers go on meanwhile.  Raises StoreError if `path` exists or cannot be written.
        """
        if path.exists():
            raise StoreError(f"{path} exists already", "name a file that does not exist")
        with _as_store_error(self.path):
            # query_only would forbid the new file too; it is another file that is written here.
            self._db.conn.execute("PRAGMA query_only = OFF")
            self._db.conn.execute("VACUUM INTO ?", (str(path),))
        # A write handle: Windows cannot sync through a handle that only reads.
        with path.open("r+b") as written:
            os.fsync(written.fileno())

    def check(self) -> list[str]:
        """What is wrong with the file, in SQLite's words; an empty list if nothing is."""
        try:
            found = [str(r[0]) for r in self._db.conn.execute("PRAGMA integrity_check(20)")]
            found = [] if found == ["ok"] else found
            for row in self._db.conn.execute("PRAGMA foreign_key_check"):
                found.append(f"a row of {row[0]} points to a row of {row[2]} that is not there")
        except sqlite3.DatabaseError as error:
            found = [str(error)]
        return found

    # These run for every message of a mailbox: plain try blocks, for a context manager costs more than the query.

    def _rows(self, sql: str, parameters: Sequence[Any] = ()) -> list[Any]:
        try:
            return self._db.conn.execute(sql, parameters).fetchall()
        except sqlite3.Error as error:
            raise _meaning(self.path, error) from error

    def _row(self, sql: str, parameters: Sequence[Any] = ()) -> Any | None:
        try:
            return self._db.conn.execute(sql, parameters).fetchone()
        except sqlite3.Error as error:
            raise _meaning(self.path, error) from error

    def _write(self, sql: str, parameters: Sequence[Any] = ()) -> int:
        """Runs one change, inside the transaction that is open or in one of its own; the number of rows changed."""
        try:
            return self._db.conn.execute(sql, parameters).rowcount
        except sqlite3.Error as error:
            raise _meaning(self.path, error) from error

    def _write_all(self, sql: str, rows: Sequence[Sequence[Any]]) -> None:
        try:
            self._db.conn.executemany(sql, rows)
        except sqlite3.Error as error:
            raise _meaning(self.path, error) from error


def _connect(path: Path, mode: str, extra: str = "") -> Database:
    uri = f"{path.absolute().as_uri()}?mode={mode}{extra}"
    conn = sqlite3.connect(uri, uri=True, isolation_level=None, timeout=_PATIENCE_SECONDS)
    try:
        for pragma in _PRAGMAS:
            conn.execute(f"PRAGMA {pragma}")
        # Plug-ins that other people installed for sqlite-utils have no business in the vault.
        return Database(conn, execute_plugins=False, recursive_triggers=False)
    except BaseException:
        conn.close()
        raise


def _connect_for_reading(path: Path) -> Database:
    """A read-only connection; on read-only media, where the WAL index cannot be made, one that expects no change."""
    db = _connect(path, "ro")
    try:
        db.conn.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.OperationalError as error:
        db.close()
        if "unable to open" not in str(error) and "readonly" not in str(error):
            raise
        return _connect(path, "ro", "&immutable=1")
    return db


def _check_is_catalogue(db: Database, path: Path, *, may_be_new: bool) -> bool:
    """Refuses foreign and newer files.  True if migrations are still to be applied."""
    marked = db.conn.execute("PRAGMA application_id").fetchone()[0]
    empty = db.conn.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
    # A kill between making the file and its first migration leaves an empty one, or one with the record table only.
    begun = not empty and marked == 0 and not MIGRATIONS.applied(db) and _only_record_table(db)
    if may_be_new and (empty or begun):
        return True
    if marked != APPLICATION_ID:
        raise StoreError(
            f"{path} is not a catalogue of Pinfold",
            "name another vault with --vault, or restore this one from a backup: pinfold restore",
            code="not-a-catalogue",
        )
    if {m.name for m in MIGRATIONS.applied(db)} - set(MIGRATION_NAMES):
        raise StoreError(
            f"{path} was written by a newer Pinfold", "update the program: pip install --upgrade pinfold", code="newer"
        )
    return bool(MIGRATIONS.pending(db))


def _only_record_table(db: Database) -> bool:
    names = db.table_names()
    return names == [MIGRATIONS.migrations_table]


_REBUILD = "make it anew from what is kept: pinfold verify --rebuild-catalogue (or: pinfold restore)"
# What SQLite's words mean to a person: (part of the message, code, what to do)
_MEANINGS = (
    ("locked", "locked", "wait until the other pinfold is done, then try again"),
    ("disk is full", "full", "make room on the disk, then run the same command again"),
    ("readonly", "not-writable", "see that the vault's folder can be written to"),
    ("unable to open", "not-writable", "see that the vault's folder exists and can be written to"),
    ("not a database", "damaged", _REBUILD),
    ("malformed", "damaged", _REBUILD),
    ("disk I/O", "disk", "see that the disk is connected and whole; if it fails, use pinfold restore"),
)


@contextmanager
def _as_store_error(path: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.Error as error:
        raise _meaning(path, error) from error


def _meaning(path: Path, error: sqlite3.Error) -> Exception:
    """A StoreError where the disk or the file is to blame, the error itself where we are."""
    for part, code, next_step in _MEANINGS:
        if part in str(error):
            return StoreError(f"the catalogue {path} cannot be used: {error}", next_step, code=f"catalogue-{code}")
    return error
