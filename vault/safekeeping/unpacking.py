"""Reads a snapshot strictly: nothing in it is believed before it is checked.

Whoever can write to a destination may have made the file (an unencrypted backup, or one who knows the recipient), so
the reader knows only the members of docs/formats/backup.md, each once and in order, plain files, within limits; it
never takes a path from the archive, and reads in constant memory except for the list.
"""

from __future__ import annotations

import gzip
import json
import re
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from vault.errors import BackupError, DecryptionError
from vault.model.event import LogHead
from vault.safekeeping.destination import Destination
from vault.safekeeping.disk import CHUNK, trouble
from vault.safekeeping.keys import BackupKey, unseal
from vault.safekeeping.layout import (
    ABOUT,
    CATALOGUE,
    FORMAT,
    FORMAT_VERSION,
    LIST,
    SETTINGS,
    SnapshotName,
    StoredObject,
    is_sealed,
    stored_digest,
)
from vault.safekeeping.objects import is_digest
from vault.safekeeping.streams import DigestReader, DigestWriter, TooLong

# Largest size of each member.
_LIMITS = {ABOUT: 1 << 20, LIST: 1 << 30, SETTINGS: 1 << 20, CATALOGUE: 1 << 33}
_FLOOR, _RATIO = 1 << 28, 200  # unpacked bytes that are always allowed; above them, so many times the packed ones
_NUMBER_RE = re.compile(r"[0-9]{1,15}\Z")
_BLOCK = 512


@dataclass(frozen=True, kw_only=True)
class Snapshot:
    """A snapshot, read and checked.  `catalogue` and `settings` are files in the work folder it was unpacked into."""

    name: SnapshotName
    vault_id: str
    written_by: str
    objects: tuple[StoredObject, ...]
    catalogue: Path
    settings: Path | None
    log_head: LogHead | None = None
    key_tag: str | None = None  # to whom its objects are encrypted; not in snapshots of the first programs


class BadSnapshot(BackupError):
    """A snapshot is damaged, was made by something else, or by a newer program."""

    code = "bad-snapshot"


class WrongKey(BackupError):
    """The snapshot is encrypted to another key."""

    code = "wrong-key"


def read_snapshot(destination: Destination, name: SnapshotName, key: BackupKey | None, work: Path) -> Snapshot:
    """Unpacks the snapshot `name` into the folder `work`, which is the caller's to remove.

    Raises BadSnapshot, WrongKey, or BackupError of the destination.
    """
    packed = work / "snapshot.tar.gz"
    try:
        n_bytes = _fetch(destination, name, key, packed)
        with packed.open("rb") as handle:
            members = _unpack(handle, n_bytes, work, name)
    except (TooLong, EOFError, gzip.BadGzipFile, zlib.error) as error:
        raise _bad(name, destination, "it is cut short or damaged") from error
    except _BadArchive as error:
        raise _bad(name, destination, str(error)) from error
    except OSError as error:
        raise trouble(error, f"the snapshot cannot be unpacked into {work}", BackupError) from error
    finally:
        packed.unlink(missing_ok=True)
    return _checked(name, destination, members, work)


def parse_list(text: bytes, *, sealed: bool) -> tuple[StoredObject, ...]:
    """The list of a snapshot; ValueError with the line number for anything out of the ordinary."""
    objects: list[StoredObject] = []
    seen: set[str] = set()
    for number, line in enumerate(text.decode("utf-8").split("\n"), start=1):
        if not line or line.startswith("#"):
            continue
        fields = line.split("\t")
        if len(fields) != 5 or not all(_NUMBER_RE.match(f) for f in fields[2:4]):
            raise ValueError(f"line {number} of its list makes no sense")
        sha256, stored, place = fields[0], fields[1], fields[4]
        digest = stored_digest(stored)
        if not is_digest(sha256) or digest is None or is_sealed(stored) != sealed:
            raise ValueError(f"line {number} of its list names no object")
        if not sealed and digest != sha256:
            raise ValueError(f"line {number} of its list gives one object the bytes of another")
        if sha256 in seen:
            raise ValueError(f"line {number} of its list names an object twice")
        seen.add(sha256)
        objects.append(
            StoredObject(sha256=sha256, stored=stored, n_bytes=int(fields[2]), stored_bytes=int(fields[3]), place=place)
        )
    return tuple(objects)


class _BadArchive(Exception):
    """What is wrong with the archive, in words."""


def _bad(name: SnapshotName, destination: Destination, why: str) -> BadSnapshot:
    return BadSnapshot(
        f"the snapshot of {name.words} in {destination.name} cannot be used: {why}",
        "use another snapshot (--snapshot TIME) or another copy of the backup",
    )


def _fetch(destination: Destination, name: SnapshotName, key: BackupKey | None, packed: Path) -> int:
    with destination.open(name.name) as raw, packed.open("wb") as target:
        source = DigestReader(raw, limit=name.n_bytes)
        if not name.sealed:
            while chunk := source.read(CHUNK):
                target.write(chunk)
        elif key is None:
            raise BackupError(
                f"the backup in {destination.name} is encrypted",
                "give the passphrase, or the recovery sheet with --recovery-key FILE",
                code="needs-passphrase",
            )
        else:
            try:
                unseal(source, target, key)
            except DecryptionError as error:
                if error.code == "age-no-match":
                    raise WrongKey(
                        f"this key does not open the backup in {destination.name}",
                        "it is the key of another vault, or of this one before its key was changed: try another sheet",
                    ) from error
                raise _bad(name, destination, f"{error.message}") from error
        return max(source.n_bytes, 1)


def _unpack(handle: BinaryIO, n_bytes: int, work: Path, name: SnapshotName) -> dict[str, DigestWriter]:
    """Writes the members into `work`; for each the digest and length of what was written."""
    with gzip.GzipFile(fileobj=handle, mode="rb") as unzipped:
        archive = _Tar(DigestReader(unzipped, limit=max(_FLOOR, _RATIO * n_bytes)))
        expected, members = list(_LIMITS), {}
        while (member := archive.next()) is not None:
            title, size = member
            if title not in expected:
                raise _BadArchive(f"it holds {title!r}, which does not belong there")
            del expected[: expected.index(title) + 1]  # each once, in order
            if size > _LIMITS[title]:
                raise _BadArchive(f"{title} is too large ({size} bytes)")
            with (work / title).open("wb") as target:
                writer = DigestWriter(target.write)
                archive.copy(size, writer.write)
            members[title] = writer
    return members


def _checked(name: SnapshotName, destination: Destination, members: dict[str, DigestWriter], work: Path) -> Snapshot:
    if not {ABOUT, LIST, CATALOGUE} <= members.keys():
        raise _bad(name, destination, "a part of it is missing")
    try:
        about = json.loads((work / ABOUT).read_bytes())
        if about["format"] != FORMAT or not isinstance(about["version"], int):
            raise ValueError("it is no snapshot of pinfold")
        if about["version"] > FORMAT_VERSION:
            raise ValueError(f"it was written by a newer program ({about['written_by']}): update pinfold")
        if about["time"] != name.time:
            raise ValueError(f"it is the one of {about['time']}, renamed")
        if about["encrypted"] is not name.sealed:
            raise ValueError("it was moved here from another backup")
        promised: dict[str, Any] = about["members"]
        if promised.keys() != members.keys() - {ABOUT}:
            raise ValueError("its parts are not those it names")
        for title, promise in promised.items():
            if (promise["sha256"], promise["bytes"]) != (members[title].sha256, members[title].n_bytes):
                raise ValueError(f"{title} in it is damaged")
        objects = parse_list((work / LIST).read_bytes(), sealed=name.sealed)
        if len(objects) != about["objects"]:
            raise ValueError("its list is not complete")
        vault_id, written_by = str(about["vault"]), str(about["written_by"])
        log = about.get("log")  # not in snapshots of the first programs
        head = LogHead(events=int(log["events"]), link=str(log["link"])) if log else None
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        why = str(error) if type(error) is ValueError else "its description cannot be read"
        raise _bad(name, destination, why) from error
    return Snapshot(
        name=name,
        vault_id=vault_id,
        written_by=written_by,
        objects=objects,
        catalogue=work / CATALOGUE,
        settings=work / SETTINGS if SETTINGS in members else None,
        log_head=head,
        key_tag=str(about["key"]) if about.get("key") else None,
    )


class _Tar:
    """The few things of POSIX ustar that a snapshot may use: plain files with short names, one after another."""

    def __init__(self, source: DigestReader) -> None:
        self._source = source

    def next(self) -> tuple[str, int] | None:
        """Name and size of the next member; None at the end of the archive."""
        head = self._exactly(_BLOCK)
        if not any(head):
            while rest := self._source.read(CHUNK):  # to the end, so that gzip checks its own sum
                if any(rest):
                    raise _BadArchive("something follows the end of its archive")
            return None
        # ustar: the sum of all header bytes, its own field taken as blanks, in octal
        if _octal(head[148:156]) != sum(head[:148]) + 8 * 0x20 + sum(head[156:]):
            raise _BadArchive("its archive is damaged")
        if head[257:262] != b"ustar" or head[156:157] not in (b"0", b"\0") or any(head[345:500]):
            raise _BadArchive("it holds something other than plain files")
        return head[:100].split(b"\0")[0].decode("ascii", "backslashreplace"), _octal(head[124:136])

    def copy(self, size: int, write: Callable[[bytes], object]) -> None:
        """The bytes of the member just named."""
        left = size
        while left:
            chunk = self._exactly(min(left, CHUNK))
            write(chunk)
            left -= len(chunk)
        self._exactly(-size % _BLOCK)

    def _exactly(self, n: int) -> bytes:
        data = b""
        while len(data) < n:
            more = self._source.read(n - len(data))
            if not more:
                raise EOFError
            data += more
        return data


def _octal(field: bytes) -> int:
    text = field.strip(b" \0")
    if not text or not all(0x30 <= c <= 0x37 for c in text):
        raise _BadArchive("its archive is damaged")
    return int(text, 8)
