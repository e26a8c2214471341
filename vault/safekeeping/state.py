"""What a vault remembers of its backups, in backups/ of the vault folder.

```
key.age            the locked key, the same as in every destination, so that the next destination needs no passphrase
placed.tsv         content digest -> name, and sizes, of every object that was ever stored encrypted; only grows
destinations.json  destination -> its newest snapshot as this vault knows it
former-keys.json   digests of the locked keys before this one, which a destination may still have
log-heads.json     destination -> how far the log of events went in its newest snapshot
distrusted.json    destination -> stored names that a check found damaged, until a backup has stored them again
lists/             the stored names that each snapshot written by this vault needs, so that it can thin unattended
vault-id           a random name of this vault, so that two vaults do not write into one backup
lock               held while a backup runs
```
Nothing here is needed to restore, and losing all of it costs time and room, never data.  `placed.tsv` is not tied to
a destination: a stored name is the digest of the stored bytes, so whatever a destination still lists under that name
and of that length is the object, whichever way the file came there (a copied stick, another mount point).
"""

from __future__ import annotations

import hashlib
import json
import re
import secrets
import shutil
import tempfile
import zlib
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from vault.errors import BackupError
from vault.model.event import LogHead
from vault.safekeeping.disk import discard, is_part, trouble, write_whole
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.keys import MAX_LOCKED_KEY
from vault.safekeeping.layout import SnapshotName, StoredObject, object_name, stored_digest

_LINE_RE = re.compile(r"([0-9a-f]{64})\t([0-9a-f]{64})\t([0-9]{1,18})\t([0-9]{1,18})\n\Z")
_ID_RE = re.compile(r"[0-9a-f]{32}\Z")
_MAX_JSON = 1 << 20
_WORK = "work-"


class BackupState:
    """The memory of backups of one vault.  Raises BackupError for a disk that fails."""

    def __init__(self, folder: VaultFolder) -> None:
        self._disk = folder.disk
        self._at = folder.backups_path
        self.lock_path = self._at / "lock"

    def make(self) -> None:
        """Makes the folder."""
        try:
            self._disk.make_folder(self._at)
        except OSError as error:
            raise trouble(error, f"{self._at} cannot be made", BackupError) from error

    @contextmanager
    def work(self) -> Iterator[Path]:
        """A folder inside the vault for files on their way, removed at the end (what a kill leaves: by `sweep`)."""
        with tempfile.TemporaryDirectory(dir=self._at, prefix=_WORK, ignore_cleanup_errors=True) as work:
            yield Path(work)

    def sweep(self) -> None:
        """Removes what killed runs left.  Only while `lock_path` is held."""
        for path in self._at.iterdir():
            if path.name.startswith(_WORK):
                shutil.rmtree(path, ignore_errors=True)
            elif is_part(path.name):
                discard(self._disk, path)

    def vault_id(self) -> str:
        """The vault's random name; made when it is missing."""
        known = self._read("vault-id", 64).decode("ascii", "replace").strip()
        if _ID_RE.match(known):
            return known
        fresh = secrets.token_hex(16)
        self.set_vault_id(fresh)
        return fresh

    def set_vault_id(self, vault_id: str) -> None:
        """Takes the name over (a restored vault goes on as the same one); what is no such name is left out."""
        if _ID_RE.match(vault_id):
            self._write("vault-id", vault_id.encode() + b"\n")

    def locked_key(self) -> bytes | None:
        """The content of key.age; None if the vault has none."""
        return self._read("key.age", MAX_LOCKED_KEY) or None

    def set_locked_key(self, locked: bytes) -> None:
        """Remembers key.age."""
        self._write("key.age", locked)

    def change_key(self, locked: bytes) -> None:
        """Puts `locked` in the place of the locked key, remembers that the one before was ours, and forgets which
        objects are stored: they are encrypted to the key before."""
        before = self.locked_key()
        if before is not None:
            said = self._mapping("former-keys.json").get("sha256", [])
            known = [d for d in said if isinstance(d, str)] if isinstance(said, list) else []
            digest = hashlib.sha256(before).hexdigest()
            self._write_mapping("former-keys.json", {"sha256": [*known, digest]})
        self._write("placed.tsv", b"")
        self.set_locked_key(locked)

    def is_former_key(self, locked: bytes) -> bool:
        """Whether `locked` is a key.age of this vault from before its key was changed."""
        said = self._mapping("former-keys.json").get("sha256", [])
        return isinstance(said, list) and hashlib.sha256(locked).hexdigest() in said

    def placed(self) -> dict[str, list[StoredObject]]:
        """Content digest -> the encrypted copies that were ever made.  Lines that make no sense are passed over."""
        found: dict[str, list[StoredObject]] = {}
        try:
            with (self._at / "placed.tsv").open(encoding="ascii", errors="replace", newline="\n") as lines:
                for line in lines:
                    if parts := _LINE_RE.match(line):
                        stored = StoredObject(
                            sha256=parts[1],
                            stored=object_name(parts[2], sealed=True),
                            n_bytes=int(parts[3]),
                            stored_bytes=int(parts[4]),
                        )
                        found.setdefault(parts[1], []).append(stored)
        except FileNotFoundError:
            pass
        except OSError as error:
            raise trouble(error, f"{self._at / 'placed.tsv'} cannot be read", BackupError) from error
        return found

    def add_placed(self, objects: Iterable[StoredObject]) -> None:
        """Remembers encrypted copies, durably.  A line that a kill cut short stays behind as nonsense."""
        lines = [f"{o.sha256}\t{o.stored[-68:-4]}\t{o.n_bytes}\t{o.stored_bytes}\n" for o in objects]
        if not lines:
            return
        path = self._at / "placed.tsv"
        try:
            with path.open("ab", buffering=0) as handle:
                self._disk.write(handle, ("\n" + "".join(lines)).encode())
                self._disk.sync(handle)
        except OSError as error:
            raise trouble(error, f"{path} cannot be written", BackupError) from error

    def newest_snapshot(self, destination: str) -> str | None:
        """The time of the newest snapshot that this vault wrote to `destination`."""
        time = self._mapping("destinations.json").get(destination)
        return time if isinstance(time, str) else None

    def set_newest_snapshot(self, destination: str, time: str) -> None:
        """Remembers it."""
        known = self._mapping("destinations.json")
        known[destination] = time
        self._write_mapping("destinations.json", known)

    def log_heads(self) -> dict[str, LogHead]:
        """How far the log of events went in the newest snapshot of each destination."""
        found: dict[str, LogHead] = {}
        for destination, said in self._mapping("log-heads.json").items():
            match said:
                case {"events": int(events), "link": str(link)}:
                    found[destination] = LogHead(events=events, link=link)
        return found

    def note_log_head(self, destination: str, head: LogHead) -> None:
        """Remembers it."""
        known = self._mapping("log-heads.json")
        known[destination] = {"events": head.events, "link": head.link}
        self._write_mapping("log-heads.json", known)

    def forget_log_heads(self) -> None:
        """Forgets them all: the log was lost with the catalogue, and a new one says so in its first event."""
        self._write_mapping("log-heads.json", {})

    def distrusted(self, destination: str) -> frozenset[str]:
        """Stored names that a check of the destination found damaged."""
        said = self._mapping("distrusted.json").get(destination)
        return frozenset(n for n in said if isinstance(n, str)) if isinstance(said, list) else frozenset()

    def set_distrusted(self, destination: str, names: Collection[str]) -> None:
        """Remembers what is damaged there now; nothing, once it is stored again."""
        known = self._mapping("distrusted.json")
        if known.get(destination, []) == sorted(names):
            return
        known[destination] = sorted(names)
        self._write_mapping("distrusted.json", {d: n for d, n in known.items() if n})

    def list_of(self, destination: str, snapshot: SnapshotName) -> set[str] | None:
        """The stored names that a snapshot needs, if this vault wrote that very file; else None."""
        try:
            packed = self._list_path(destination, snapshot.time, snapshot.n_bytes).read_bytes()
            lines = zlib.decompress(packed).decode("ascii").split()
        except (OSError, ValueError, zlib.error):
            return None
        n_lines, names = lines[:1], lines[1:]
        return set(names) if n_lines == [str(len(names))] and all(stored_digest(n) for n in names) else None

    def remember_list(self, destination: str, snapshot: SnapshotName, objects: Iterable[StoredObject]) -> None:
        """Notes what a snapshot (its `n_bytes` known) needs."""
        names = [o.stored for o in objects]
        packed = zlib.compress("\n".join([str(len(names)), *names]).encode(), 1)
        try:
            write_whole(self._disk, self._list_path(destination, snapshot.time, snapshot.n_bytes), [packed])
        except OSError as error:
            raise trouble(error, f"{self._at} cannot be written", BackupError) from error

    def written(self, destination: str) -> frozenset[str]:
        """The times of the snapshots that this vault wrote to `destination` and has not thinned since."""
        lists, prefix = self._at / "lists", f"{_tag(destination)}-"
        names = (path.name for path in lists.iterdir()) if lists.is_dir() else iter(())
        return frozenset(name.split("-")[1] for name in names if name.startswith(prefix))

    def forget_lists(self, destination: str, but: Collection[str]) -> None:
        """Removes the lists of a destination's snapshots, but those of the times `but`."""
        lists = self._at / "lists"
        prefix = _tag(destination)
        for path in lists.iterdir() if lists.is_dir() else ():
            if path.name.startswith(prefix) and path.name.split("-")[1] not in but:
                discard(self._disk, path)

    def _list_path(self, destination: str, time: str, n_bytes: int) -> Path:
        return self._at / "lists" / f"{_tag(destination)}-{time}-{n_bytes}"

    def _mapping(self, name: str) -> dict[str, object]:
        try:
            known = json.loads(self._read(name, _MAX_JSON) or b"{}")
        except (ValueError, RecursionError):
            return {}
        return known if isinstance(known, dict) else {}

    def _write_mapping(self, name: str, known: dict[str, object]) -> None:
        text = json.dumps(known, indent=1, sort_keys=True, ensure_ascii=False)
        self._write(name, text.encode("utf-8", "surrogateescape"))

    def _read(self, name: str, limit: int) -> bytes:
        path = self._at / name
        try:
            with path.open("rb") as handle:
                content = handle.read(limit + 1)
        except FileNotFoundError:
            return b""
        except OSError as error:
            raise trouble(error, f"{path} cannot be read", BackupError) from error
        return content if len(content) <= limit else b""

    def _write(self, name: str, content: bytes) -> None:
        try:
            write_whole(self._disk, self._at / name, [content])
        except OSError as error:
            raise trouble(error, f"{self._at / name} cannot be written", BackupError) from error


def _tag(destination: str) -> str:
    return hashlib.sha256(destination.encode("utf-8", "surrogateescape")).hexdigest()[:16]
