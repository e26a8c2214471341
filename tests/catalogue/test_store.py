"""The file itself: migrations, readers beside a writer, damage, kills."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from catalogue_values import JOINED, MAIL, MATCHES, READING, SKIRT_FILE, SOCKS_FILE

from vault.catalogue import Catalogue
from vault.catalogue.schema import APPLICATION_ID, MIGRATION_NAMES, MIGRATIONS
from vault.errors import StoreError
from vault.model.match import Answer


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "ü %20 #1?" / "catalogue.sqlite"


@pytest.fixture(autouse=True)
def _folder(path: Path) -> None:
    path.parent.mkdir()


def test_a_new_catalogue_is_durable_strict_and_marked(path: Path) -> None:
    with Catalogue.open(path) as catalogue:
        db = catalogue._db
        pragmas = {
            p: db.conn.execute(f"PRAGMA {p}").fetchone()[0] for p in ("journal_mode", "synchronous", "foreign_keys")
        }
        assert pragmas == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}
        assert db.conn.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
        loose = db.conn.execute(
            "SELECT name FROM pragma_table_list WHERE type = 'table' AND strict = 0"
            " AND name NOT LIKE 'found_%' AND name NOT LIKE '%sqlite_%' AND schema = 'main'"
        ).fetchall()
        assert loose == []
        assert [m.name for m in MIGRATIONS.applied(db)] == list(MIGRATION_NAMES)


def test_every_migration_is_named_in_the_list_of_known_ones(path: Path) -> None:
    from sqlite_utils import Database

    db = Database(memory=True)
    assert tuple(m.name for m in MIGRATIONS.pending(db)) == MIGRATION_NAMES


@pytest.mark.parametrize("opened", [Catalogue.open, Catalogue.open_read_only], ids=["writing", "reading"])
def test_a_catalogue_of_an_older_program_is_brought_up_to_date(path: Path, opened: Any) -> None:
    from sqlite_utils import Database

    db = Database(sqlite3.connect(path, isolation_level=None))
    MIGRATIONS.apply(db, stop_before="m002_rejected_candidates")
    db.execute("INSERT INTO answers (item_id, sha256, later) VALUES ('i1', NULL, 0)")
    db.close()
    with opened(path) as catalogue:
        assert catalogue.answers() == (Answer(item_id="i1"),)


def test_opening_twice_changes_nothing(path: Path) -> None:
    Catalogue.open(path).close()
    before = path.read_bytes()
    Catalogue.open(path).close()
    assert path.read_bytes() == before


def test_a_failed_transaction_leaves_nothing(path: Path) -> None:
    with Catalogue.open(path) as catalogue:
        with pytest.raises(RuntimeError), catalogue.transaction():
            catalogue.record_document(MAIL, source="m", reading=READING)
            raise RuntimeError
        assert catalogue.document_known(MAIL) is None
        assert catalogue.search("bustle") == ()


def test_a_reader_works_beside_a_writer_and_sees_whole_transactions(path: Path) -> None:
    with Catalogue.open(path) as writer, Catalogue.open_read_only(path) as reader:
        with writer.transaction():
            writer.record_document(MAIL, source="m", reading=READING)
            begun = time.monotonic()
            assert reader.document_known(MAIL) is None
            assert time.monotonic() - begun < 1
        assert reader.document_known(MAIL) == "read"


def test_a_reader_cannot_write(path: Path) -> None:
    Catalogue.open(path).close()
    with Catalogue.open_read_only(path) as reader, pytest.raises(StoreError):
        reader.set_value("a", "b")


def test_a_reader_needs_a_catalogue(path: Path) -> None:
    with pytest.raises(StoreError) as caught:
        Catalogue.open_read_only(path)
    assert caught.value.code == "no-vault"
    assert not path.exists()


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="the superuser may write anywhere")
def test_a_catalogue_on_read_only_media_can_be_read(path: Path) -> None:
    with Catalogue.open(path) as catalogue:
        catalogue.set_value("a", "b")
    path.parent.chmod(0o555)
    try:
        with Catalogue.open_read_only(path) as reader:
            assert reader.value("a") == "b"
    finally:
        path.parent.chmod(0o755)


def test_a_snapshot_is_a_catalogue_as_it_is(path: Path, tmp_path: Path) -> None:
    snapshot = tmp_path / "snapshot.sqlite"
    with Catalogue.open(path) as catalogue:
        with catalogue.transaction():
            catalogue.record_document(MAIL, source="m", reading=READING)
            for file in (SKIRT_FILE, SOCKS_FILE):
                catalogue.record_file(file)
            catalogue.replace_joined(JOINED)
            catalogue.replace_matches(MATCHES)
        catalogue.snapshot_to(snapshot)
        views = (catalogue.purchases(), catalogue.files(), catalogue.sellers(), catalogue.questions())
        with pytest.raises(StoreError):
            catalogue.snapshot_to(snapshot)
    for opened in (Catalogue.open_read_only, Catalogue.open):
        with opened(snapshot) as restored:
            assert (restored.purchases(), restored.files(), restored.sellers(), restored.questions()) == views
            assert [h.key for h in restored.search("crinoline")] == [SKIRT_FILE.sha256]
            assert restored.check() == []


def test_a_reader_can_take_a_snapshot(path: Path, tmp_path: Path) -> None:
    Catalogue.open(path).close()
    with Catalogue.open_read_only(path) as reader:
        reader.snapshot_to(tmp_path / "s.sqlite")
    assert Catalogue.open_read_only(tmp_path / "s.sqlite").check() == []


def _foreign(path: Path) -> None:
    conn = sqlite3.connect(path)
    conn.execute("CREATE TABLE cats (name TEXT)")
    conn.close()


def _newer(path: Path) -> None:
    with Catalogue.open(path) as catalogue:
        catalogue._db["_sqlite_migrations"].insert(  # type: ignore[union-attr]
            {"migration_set": "pinfold", "name": "m999_from_the_future", "applied_at": "2030-01-01"}
        )


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (_foreign, "not-a-catalogue"),
        (_newer, "newer"),
        (lambda p: p.write_bytes(b"this is a shopping list, no database. " * 99), "catalogue-damaged"),
        (lambda p: p.mkdir(), "catalogue-not-writable"),
    ],
    ids=["foreign", "newer", "not-a-database", "folder"],
)
def test_a_file_that_is_no_catalogue_is_refused_in_one_sentence(path: Path, make: object, code: str) -> None:
    make(path)  # type: ignore[operator]
    before = path.read_bytes() if path.is_file() else b""
    with pytest.raises(StoreError) as caught:
        Catalogue.open(path)
    assert caught.value.code == code
    assert str(path) in caught.value.message
    assert caught.value.next_step
    assert (path.read_bytes() if path.is_file() else b"") == before


def test_damage_is_found_by_the_check(path: Path) -> None:
    with Catalogue.open(path) as catalogue:
        for n in range(200):
            catalogue.record_file(SKIRT_FILE.__class__(sha256=f"{n:064d}", n_bytes=n, facts=SKIRT_FILE.facts))
        assert catalogue.check() == []
    raw = bytearray(path.read_bytes())
    for page in range(4, len(raw) // 4096, 3):
        raw[page * 4096 : page * 4096 + 64] = b"\xff" * 64
    path.write_bytes(raw)
    with Catalogue.open_read_only(path) as catalogue:
        assert catalogue.check()


_CHILD = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from catalogue_values import READING, SKIRT_FILE, digest
from vault.catalogue import Catalogue
from dataclasses import replace
with Catalogue.open(Path(sys.argv[1])) as catalogue:
    print("open", flush=True)
    for n in range(1, 1000):
        if catalogue.document_known(digest(f"mail {n}")):
            continue
        with catalogue.transaction():
            catalogue.record_document(digest(f"mail {n}"), source=f"box#{n}", reading=READING)
            catalogue.record_file(replace(SKIRT_FILE, sha256=digest(f"file {n}")))
            catalogue.set_value("last", str(n))
"""


@pytest.mark.kill
@pytest.mark.skipif(os.name == "nt", reason="SIGKILL is POSIX")
def test_a_kill_at_any_moment_leaves_whole_transactions(path: Path) -> None:
    root = str(Path(__file__).parent)
    for wait in (0.0, 0.013, 0.05, 0.11, 0.17):
        child = subprocess.Popen([sys.executable, "-c", _CHILD, str(path), root], stdout=subprocess.PIPE)
        assert child.stdout is not None
        child.stdout.readline()
        time.sleep(wait)
        child.send_signal(signal.SIGKILL)
        child.wait()
        child.stdout.close()
        with Catalogue.open(path) as catalogue:
            assert catalogue.check() == []
            last = int(catalogue.value("last") or 0)
            assert len(catalogue.claims()) == len(catalogue.pattern_files()) == last
    assert last > 0
