"""The names inside a backup, and the values that its writer and its readers both speak of.

This is all that the writing side (`backup`, `packing`) and the reading side (`unpacking`, `restore`, `rehearse`)
share beside the lowest helpers, so that one wrong idea cannot pass its own test.  docs/formats/backup.md describes
the format.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime

from vault.errors import BackupError

READ_ME = "READ-ME-FIRST.txt"
KEY = "key.age"
LOCK = "in-use.json"
OBJECTS = "objects/"
SNAPSHOTS = "snapshots/"
SEALED, PLAIN_SNAPSHOT = ".age", ".tar.gz"

# Members of a snapshot, in this order.
ABOUT, LIST, SETTINGS, CATALOGUE = "about.json", "objects.tsv", "vault.toml", "catalogue.sqlite"
FORMAT, FORMAT_VERSION = "pinfold snapshot", 1
LIST_HEAD = "# sha256 of the content\tstored as\tbytes\tbytes stored\tname\n"

_OBJECT_RE = re.compile(r"objects/([0-9a-f]{2})/((?:\1)[0-9a-f]{62})(\.age)?\Z")
_SNAPSHOT_RE = re.compile(r"snapshots/([0-9]{8}T[0-9]{6}Z)(\.age|\.tar\.gz)\Z", re.IGNORECASE)
_TIME = "%Y%m%dT%H%M%SZ"


@dataclass(frozen=True, kw_only=True)
class StoredObject:
    """One line of a snapshot's list: content `sha256` of `n_bytes` lies at `stored` (`stored_bytes` long).

    `place` is its readable path on the shelf, with forward slashes, or empty.
    """

    sha256: str
    stored: str
    n_bytes: int
    stored_bytes: int
    place: str = ""


@dataclass(frozen=True, kw_only=True, order=True)
class SnapshotName:
    """A snapshot file of a destination; sorts by time."""

    time: str  # as in its name: 20260307T091500Z
    sealed: bool
    n_bytes: int = 0
    spelled: str = field(default="", compare=False)  # its name as it was found, for some disks give it in small letters

    @property
    def name(self) -> str:
        """Its name in the destination."""
        return self.spelled or f"{SNAPSHOTS}{self.time}{SEALED if self.sealed else PLAIN_SNAPSHOT}"

    @property
    def words(self) -> str:
        """Its time as people write it: 2026-03-07T09:15:00Z."""
        t = self.time
        return f"{t[:4]}-{t[4:6]}-{t[6:8]}T{t[9:11]}:{t[11:13]}:{t[13:15]}Z"


@dataclass(frozen=True, kw_only=True)
class Damage:
    """Bytes that are not what they should be: the content's digest, a readable name if known, the reason in words."""

    sha256: str
    name: str
    reason: str


def object_name(stored_sha256: str, *, sealed: bool) -> str:
    """Where stored bytes of that digest lie in a destination."""
    return f"{OBJECTS}{stored_sha256[:2]}/{stored_sha256}{SEALED if sealed else ''}"


def stored_digest(name: str) -> str | None:
    """The digest that `name` promises of the stored bytes; None if it is no object name."""
    found = _OBJECT_RE.match(name)
    return found[2] if found else None


def is_sealed(name: str) -> bool:
    """Whether an object or snapshot name says that the file is encrypted."""
    return name.endswith(SEALED)


def snapshot_name(name: str, n_bytes: int = 0) -> SnapshotName | None:
    """`name` as a snapshot; None if it is none, or no possible time."""
    found = _SNAPSHOT_RE.match(name)
    if not found:
        return None
    time = found[1].upper()
    try:
        datetime.strptime(time, _TIME)
    except ValueError:
        return None
    return SnapshotName(time=time, sealed=found[2].lower() == SEALED, n_bytes=n_bytes, spelled=name)


def time_text(moment: datetime) -> str:
    """`moment` (aware) as it stands in a snapshot's name."""
    return moment.astimezone(UTC).strftime(_TIME)


def time_of(text: str) -> datetime:
    """The moment in a snapshot's name."""
    return datetime.strptime(text, _TIME).replace(tzinfo=UTC)


def choose_snapshot(snapshots: list[SnapshotName], wanted: str | None, where: str) -> SnapshotName:
    """The newest of `snapshots`, or the newest whose time begins with `wanted` (2026-03-07, 2026-03-07T09:15 ...).

    Raises BackupError with the times there are.
    """
    if not snapshots:
        raise BackupError(
            f"{where} holds no snapshot",
            "check the path; a backup that was never finished has none: run pinfold backup again",
            code="no-snapshot",
        )
    ordered = sorted(snapshots)
    if wanted is None:
        return ordered[-1]
    digits = re.sub(r"[^0-9]", "", wanted)
    fits = [s for s in ordered if digits and re.sub(r"[^0-9]", "", s.time).startswith(digits)]
    if not fits:
        shown = ", ".join(s.words for s in ordered[-6:])
        raise BackupError(
            f"{where} holds no snapshot of {wanted!r}",
            f"the newest are: {shown}",
            code="no-snapshot",
        )
    return fits[-1]
