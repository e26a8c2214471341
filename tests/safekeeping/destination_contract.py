"""The contract of a destination: tests that every kind passes.

A test module of a kind has a fixture `destination` (one that is prepared and empty) and imports all of this.
"""

from __future__ import annotations

import pytest

from vault.errors import BackupError
from vault.safekeeping.destination import Destination, FolderDestination, Gone, StoredFile, get, put


def names(destination: Destination, prefix: str = "") -> set[str]:
    return {stored.name for stored in destination.listing(prefix)}


def test_what_was_put_is_listed_and_read(destination: Destination) -> None:
    put(destination, "objects/ab/abcd.age", b"stored bytes")
    put(destination, "READ-ME-FIRST.txt", b"")
    assert list(destination.listing("objects/")) == [StoredFile(name="objects/ab/abcd.age", n_bytes=12)]
    assert names(destination) == {"objects/ab/abcd.age", "READ-ME-FIRST.txt"}
    assert get(destination, "objects/ab/abcd.age", 100) == b"stored bytes"


def test_an_empty_destination_lists_nothing(destination: Destination) -> None:
    assert names(destination) == set() and names(destination, "snapshots/") == set()


def test_an_upload_is_invisible_until_committed_and_gone_when_aborted(destination: Destination) -> None:
    upload = destination.begin()
    upload.write(b"half")
    assert names(destination) == set()
    upload.abort()
    upload.abort()
    destination.flush()
    assert names(destination) == set()


def test_abandoned_uploads_leave_nothing(destination: Destination) -> None:
    put(destination, "key.age", b"key")
    for name in ("objects/a", "objects/b"):
        upload = destination.begin()
        upload.write(b"x")
        upload.commit(name)
    destination.abandon()
    destination.flush()
    assert names(destination) == {"key.age"}


def test_many_uploads_stand_after_one_flush(destination: Destination) -> None:
    many = 600 if isinstance(destination, FolderDestination) else 25  # each one a way to a server and back
    for number in range(many):
        upload = destination.begin()
        upload.write(b"%d" % number)
        upload.commit(f"objects/{number:02x}"[:10] + f"/{number}")
        upload.abort()
    destination.flush()
    assert len(names(destination, "objects/")) == many
    assert get(destination, "objects/0a/10", 10) == b"10"


def test_a_name_is_not_given_twice_unless_asked(destination: Destination) -> None:
    put(destination, "key.age", b"first")
    with pytest.raises(BackupError) as caught:
        put(destination, "key.age", b"second")
    assert caught.value.code == "exists"
    assert get(destination, "key.age", 100) == b"first"
    put(destination, "key.age", b"third", replace=True)
    assert get(destination, "key.age", 100) == b"third"


def test_removing_is_idempotent(destination: Destination) -> None:
    put(destination, "snapshots/a", b"x")
    destination.remove("snapshots/a")
    destination.remove("snapshots/a")
    assert names(destination) == set()
    with pytest.raises(Gone, match="snapshots/a"):
        destination.open("snapshots/a")


def test_get_stops_at_its_limit(destination: Destination) -> None:
    put(destination, "key.age", b"x" * 101)
    with pytest.raises(BackupError, match="too large"):
        get(destination, "key.age", 100)


@pytest.mark.parametrize(
    "name",
    ["", "/etc/passwd", "../x", "a/../b", "a//b", ".hidden", "a/.b", "a b", "a\\b", "C:x", "a\nb", "a" + "/b" * 9],
)
def test_strange_names_are_refused(destination: Destination, name: str) -> None:
    with pytest.raises(ValueError):
        destination.open(name)
    upload = destination.begin()
    with pytest.raises(ValueError):
        upload.commit(name)
    upload.abort()


def test_closing_leaves_what_was_stored(destination: Destination) -> None:
    put(destination, "key.age", b"key")
    destination.close()
    destination.prepare()
    assert get(destination, "key.age", 100) == b"key"
