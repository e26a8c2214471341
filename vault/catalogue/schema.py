"""The tables, as named migrations; each is applied in one transaction together with its record (sqlite-utils).

What is true and what follows from it stand apart:

* **truth**: documents with their claims and notices, files with their facts and sightings, what was passed over,
  answers, what the person says about sellers, events, key-values;
* **derived**: purchases, items, sellers, links, questions, standings, duplicates.  They can be thrown away and made
  again from the truth at any time, and are replaced in one transaction.

A row's columns are what queries ask for and what a person with any SQLite tool wants to see; `body` is the whole value
as JSON (`codec`).  Tables are STRICT, foreign keys are on.  Never change a migration that was released: add one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlite_utils.migrations import Migrations

from vault.model.event import FIRST_LINK, Event, link_of

if TYPE_CHECKING:
    from sqlite_utils import Database

# "PINF": lets `file` and other tools tell a catalogue from any other SQLite database.
APPLICATION_ID = 0x50494E46

MIGRATIONS = Migrations("pinfold")
# Every migration this program knows; a catalogue with another one was written by a newer program.
MIGRATION_NAMES = (
    "m001_first_tables",
    "m002_rejected_candidates",
    "m003_event_chain",
    "m004_licences",
    "m005_sources",
    "m008_claims",
    "m006_reminders",
    "m009_same_sellers",
)

_TRUTH = (
    """CREATE TABLE documents (
        seq INTEGER PRIMARY KEY,
        sha256 TEXT NOT NULL UNIQUE CHECK (length(sha256) = 64),
        kind TEXT NOT NULL,
        about TEXT NOT NULL,
        subject TEXT,
        message_id TEXT,
        dated TEXT,
        language TEXT,
        kept INTEGER NOT NULL CHECK (kept IN (0, 1)),
        reader TEXT NOT NULL,
        body TEXT NOT NULL,
        text TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE sources (
        seq INTEGER PRIMARY KEY,
        sha256 TEXT NOT NULL REFERENCES documents (sha256) ON DELETE CASCADE,
        source TEXT NOT NULL,
        UNIQUE (sha256, source)
    ) STRICT""",
    """CREATE TABLE claims (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        sha256 TEXT NOT NULL REFERENCES documents (sha256) ON DELETE CASCADE,
        place INTEGER NOT NULL,
        seller TEXT,
        order_number TEXT,
        body TEXT NOT NULL,
        UNIQUE (sha256, place)
    ) STRICT""",
    """CREATE TABLE notices (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        sha256 TEXT NOT NULL REFERENCES documents (sha256) ON DELETE CASCADE,
        place INTEGER NOT NULL,
        seller TEXT,
        body TEXT NOT NULL,
        UNIQUE (sha256, place)
    ) STRICT""",
    """CREATE TABLE passed_over (
        sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
        reason TEXT NOT NULL,
        reader TEXT NOT NULL
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE files (
        seq INTEGER PRIMARY KEY,
        sha256 TEXT NOT NULL UNIQUE CHECK (length(sha256) = 64),
        n_bytes INTEGER NOT NULL,
        media_type TEXT NOT NULL,
        title TEXT,
        designer TEXT,
        craft TEXT,
        kept INTEGER NOT NULL CHECK (kept IN (0, 1)),
        reader TEXT NOT NULL,
        body TEXT NOT NULL,
        text TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE sightings (
        seq INTEGER PRIMARY KEY,
        sha256 TEXT NOT NULL REFERENCES files (sha256) ON DELETE CASCADE,
        path TEXT NOT NULL,
        inside TEXT NOT NULL,
        body TEXT NOT NULL,
        UNIQUE (sha256, path, inside)
    ) STRICT""",
    """CREATE TABLE members (
        zip_sha256 TEXT NOT NULL REFERENCES files (sha256) ON DELETE CASCADE,
        place INTEGER NOT NULL,
        sha256 TEXT NOT NULL REFERENCES files (sha256) DEFERRABLE INITIALLY DEFERRED,
        PRIMARY KEY (zip_sha256, place)
    ) STRICT, WITHOUT ROWID""",
    # A path may hold bytes that are no text, so its key is the bytes that the system knows it by.
    """CREATE TABLE path_states (
        path BLOB PRIMARY KEY,
        n_bytes INTEGER NOT NULL,
        mtime_ns INTEGER NOT NULL,
        digest TEXT NOT NULL,
        reader TEXT NOT NULL
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE problems (
        seq INTEGER PRIMARY KEY,
        source TEXT NOT NULL,
        reason TEXT NOT NULL,
        next TEXT NOT NULL,
        UNIQUE (source, reason)
    ) STRICT""",
    """CREATE TABLE answers (
        item_id TEXT PRIMARY KEY,
        sha256 TEXT,
        later INTEGER NOT NULL CHECK (later IN (0, 1))
    ) STRICT""",
    """CREATE TABLE seller_words (
        name TEXT PRIMARY KEY,
        status TEXT CHECK (status IN ('open', 'closing', 'closed')),
        closes_on TEXT,
        succeeded_by TEXT
    ) STRICT""",
    """CREATE TABLE events (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        at TEXT NOT NULL,
        kind TEXT NOT NULL,
        outcome TEXT NOT NULL,
        detail TEXT NOT NULL
    ) STRICT""",
    "CREATE TABLE key_values (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT",
)

_DERIVED = (
    """CREATE TABLE purchases (
        id TEXT PRIMARY KEY,
        place INTEGER NOT NULL,
        seller TEXT,
        order_number TEXT,
        purchased_on TEXT,
        currency TEXT,
        total TEXT,
        body TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE items (
        id TEXT PRIMARY KEY,
        purchase_id TEXT NOT NULL REFERENCES purchases (id) ON DELETE CASCADE DEFERRABLE INITIALLY DEFERRED,
        place INTEGER NOT NULL,
        title TEXT NOT NULL,
        designer TEXT,
        body TEXT NOT NULL
    ) STRICT""",
    "CREATE INDEX items_of_purchase ON items (purchase_id, place)",
    "CREATE TABLE sellers (id TEXT PRIMARY KEY, place INTEGER NOT NULL, name TEXT NOT NULL, body TEXT NOT NULL) STRICT",
    """CREATE TABLE links (
        item_id TEXT NOT NULL REFERENCES items (id) ON DELETE CASCADE,
        sha256 TEXT NOT NULL REFERENCES files (sha256) ON DELETE CASCADE,
        place INTEGER NOT NULL,
        part TEXT,
        settled TEXT NOT NULL,
        body TEXT NOT NULL,
        PRIMARY KEY (item_id, sha256)
    ) STRICT, WITHOUT ROWID""",
    "CREATE INDEX links_of_file ON links (sha256)",
    """CREATE TABLE questions (
        id TEXT PRIMARY KEY,
        place INTEGER NOT NULL,
        item_id TEXT NOT NULL REFERENCES items (id) ON DELETE CASCADE,
        body TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE standings (
        item_id TEXT PRIMARY KEY REFERENCES items (id) ON DELETE CASCADE,
        state TEXT NOT NULL,
        body TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE duplicates (
        sha256 TEXT PRIMARY KEY REFERENCES files (sha256) ON DELETE CASCADE,
        duplicate_of TEXT NOT NULL REFERENCES files (sha256) ON DELETE CASCADE
    ) STRICT, WITHOUT ROWID""",
)

# rowid = seq of the row in documents and files, so that a row is replaced without a search.
_SEARCH = tuple(
    f"CREATE VIRTUAL TABLE found_{name} USING fts5"
    "(title, body, key UNINDEXED, tokenize = \"unicode61 remove_diacritics 2\", prefix = '3')"
    for name in ("items", "files", "documents")
)


@MIGRATIONS()
def m001_first_tables(db: Database) -> None:
    """Truth, derived rows and the search tables."""
    for statement in (*_TRUTH, *_DERIVED, *_SEARCH):
        db.execute(statement)
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")


@MIGRATIONS()
def m002_rejected_candidates(db: Database) -> None:
    """An answer of "none" names the candidates that were seen: digests with blanks between them."""
    db.execute("ALTER TABLE answers ADD COLUMN rejected TEXT NOT NULL DEFAULT ''")


@MIGRATIONS()
def m003_event_chain(db: Database) -> None:
    """Events name their destination and hang together in a chain of digests; records that are kept as objects."""
    db.execute("ALTER TABLE events ADD COLUMN destination TEXT NOT NULL DEFAULT ''")
    db.execute("ALTER TABLE events ADD COLUMN link TEXT NOT NULL DEFAULT ''")
    db.execute("CREATE TABLE records (name TEXT PRIMARY KEY, sha256 TEXT NOT NULL, number INTEGER NOT NULL) STRICT")
    link = FIRST_LINK
    rows = db.execute("SELECT seq, at, kind, outcome, detail FROM events ORDER BY seq").fetchall()
    for place, (seq, at, kind, outcome, detail) in enumerate(rows, start=1):
        # before there was a column for it, the destination stood in front of the snapshot's time
        to = detail.rpartition(" ")[0] if kind in ("backup", "rehearse") else ""
        event = Event(at=at, kind=kind, outcome=outcome, detail=detail, destination=to, seq=place)
        link = link_of(link, event)
        db.execute("UPDATE events SET seq = ?, destination = ?, link = ? WHERE seq = ?", (place, to, link, seq))
    for what in ("UPDATE", "DELETE"):
        db.execute(
            f"CREATE TRIGGER events_no_{what.lower()} BEFORE {what} ON events"
            " BEGIN SELECT RAISE(ABORT, 'the log of events only grows'); END"
        )


@MIGRATIONS()
def m004_licences(db: Database) -> None:
    """Terms that the person recorded, and the ledger of uses."""
    db.execute(
        """CREATE TABLE licence_terms (
            id TEXT PRIMARY KEY,
            item_id TEXT NOT NULL,
            sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
            name TEXT NOT NULL,
            seen_on TEXT NOT NULL,
            body TEXT NOT NULL
        ) STRICT"""
    )
    db.execute("CREATE INDEX licence_terms_of_item ON licence_terms (item_id)")
    db.execute(
        """CREATE TABLE licence_uses (
            id TEXT PRIMARY KEY,
            item_id TEXT NOT NULL,
            kind TEXT NOT NULL CHECK (kind IN ('made', 'sold', 'given', 'taught')),
            count INTEGER NOT NULL CHECK (count > 0),
            done_on TEXT NOT NULL,
            body TEXT NOT NULL
        ) STRICT"""
    )
    db.execute("CREATE INDEX licence_uses_of_item ON licence_uses (item_id)")


@MIGRATIONS()
def m005_sources(db: Database) -> None:
    """Where receipts and files come from, and how far mail accounts were read."""
    db.execute(
        """CREATE TABLE origins (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            key TEXT NOT NULL UNIQUE,
            body TEXT NOT NULL,
            read_on TEXT
        ) STRICT"""
    )
    db.execute(
        """CREATE TABLE mail_folders (
            source_id INTEGER NOT NULL REFERENCES origins (id) ON DELETE CASCADE,
            folder TEXT NOT NULL,
            uid_validity INTEGER NOT NULL,
            searched_to INTEGER NOT NULL,
            words TEXT NOT NULL,
            PRIMARY KEY (source_id, folder)
        ) STRICT, WITHOUT ROWID"""
    )
    db.execute(
        """CREATE TABLE mail_uids (
            source_id INTEGER NOT NULL REFERENCES origins (id) ON DELETE CASCADE,
            folder TEXT NOT NULL,
            uid_validity INTEGER NOT NULL,
            uid INTEGER NOT NULL,
            PRIMARY KEY (source_id, folder, uid_validity, uid)
        ) STRICT, WITHOUT ROWID"""
    )


@MIGRATIONS()
def m008_claims(db: Database) -> None:
    """Letters to sellers, with what happened since."""
    db.execute(
        """CREATE TABLE letters (
            id TEXT PRIMARY KEY,
            seller TEXT NOT NULL,
            written_on TEXT NOT NULL,
            answer_by TEXT NOT NULL,
            body TEXT NOT NULL
        ) STRICT"""
    )


@MIGRATIONS()
def m006_reminders(db: Database) -> None:
    """What the person said to reminders, and what the calendar file said last."""
    db.execute(
        """CREATE TABLE reminder_marks (
            id TEXT PRIMARY KEY,
            until TEXT,
            done INTEGER NOT NULL DEFAULT 0 CHECK (done IN (0, 1)),
            facts TEXT NOT NULL DEFAULT '',
            told_on TEXT
        ) STRICT"""
    )
    db.execute(
        """CREATE TABLE calendar_entries (
            id TEXT PRIMARY KEY,
            sequence INTEGER NOT NULL,
            digest TEXT NOT NULL,
            title TEXT NOT NULL,
            day TEXT NOT NULL,
            withdrawn_on TEXT
        ) STRICT"""
    )


@MIGRATIONS()
def m009_same_sellers(db: Database) -> None:
    """What the person said of two names: one shop's, or not."""
    db.execute(
        """CREATE TABLE same_sellers (
            one TEXT NOT NULL,
            other TEXT NOT NULL,
            same INTEGER NOT NULL CHECK (same IN (0, 1)),
            PRIMARY KEY (one, other),
            CHECK (one < other)
        ) STRICT"""
    )
