"""Writes a snapshot: a tar archive (POSIX ustar), compressed with gzip.

Members, in this order: `about.json` (what this is, and digests of the rest), `objects.tsv` (content digest -> stored
name, sizes, readable name), `vault.toml` if there is one, `catalogue.sqlite`.  Everything a person needs to unpack it
by hand is `tar`.  `unpacking` reads it and shares no code with this module.
"""

from __future__ import annotations

import gzip
import hashlib
import io
import json
import tarfile
from collections.abc import Callable, Sequence
from pathlib import Path

from vault import __version__
from vault.model.event import LogHead
from vault.safekeeping.layout import (
    ABOUT,
    CATALOGUE,
    FORMAT,
    FORMAT_VERSION,
    LIST,
    LIST_HEAD,
    SETTINGS,
    StoredObject,
)
from vault.safekeeping.streams import DigestReader

_FAST = 1  # gzip level: a catalogue is written at every backup, and shrinks to a third already at the lowest


def pack_snapshot(
    write: Callable[[bytes], object],
    *,
    time: str,
    clock: str,
    vault_id: str,
    sealed: bool,
    log_head: LogHead | None = None,
    key_tag: str | None = None,
    objects: Sequence[StoredObject],
    settings: bytes | None,
    catalogue: Path,
) -> None:
    """Writes the archive piece by piece through `write`.  Raises OSError for a catalogue that cannot be read."""
    listing = list_text(objects).encode()
    with catalogue.open("rb") as source:
        reader = DigestReader(source)
        reader.drain()
    about = {
        "format": FORMAT,
        "version": FORMAT_VERSION,
        "written_by": f"pinfold {__version__}",
        "time": time,
        "clock": clock,
        "vault": vault_id,
        "encrypted": sealed,
        "objects": len(objects),
        "object_bytes": sum(o.n_bytes for o in objects),
        "key": key_tag,
        "log": None if log_head is None else {"events": log_head.events, "link": log_head.link},
        "members": {
            LIST: {"sha256": hashlib.sha256(listing).hexdigest(), "bytes": len(listing)},
            CATALOGUE: {"sha256": reader.sha256, "bytes": reader.n_bytes},
        },
    }
    if settings is not None:
        about["members"][SETTINGS] = {  # type: ignore[index]
            "sha256": hashlib.sha256(settings).hexdigest(),
            "bytes": len(settings),
        }
    with (
        gzip.GzipFile(filename="", mode="wb", compresslevel=_FAST, fileobj=_Out(write), mtime=0) as packed,
        tarfile.open(mode="w|", fileobj=packed, format=tarfile.USTAR_FORMAT) as archive,
    ):
        _add(archive, ABOUT, json.dumps(about, indent=1).encode())
        _add(archive, LIST, listing)
        if settings is not None:
            _add(archive, SETTINGS, settings)
        with catalogue.open("rb") as source:
            archive.addfile(_member(CATALOGUE, reader.n_bytes), source)


def list_text(objects: Sequence[StoredObject]) -> str:
    """The list of a snapshot as text: one line an object, fields parted by tabs."""
    lines = [LIST_HEAD]
    lines += (f"{o.sha256}\t{o.stored}\t{o.n_bytes}\t{o.stored_bytes}\t{o.place}\n" for o in objects)
    return "".join(lines)


def _add(archive: tarfile.TarFile, name: str, content: bytes) -> None:
    archive.addfile(_member(name, len(content)), io.BytesIO(content))


def _member(name: str, n_bytes: int) -> tarfile.TarInfo:
    member = tarfile.TarInfo(name)
    member.size, member.mode = n_bytes, 0o600
    return member


class _Out(io.RawIOBase):
    """Hands on what is packed.  After a failure it takes the rest silently: the error is on its way already, and
    Python 3.13 would raise it once more when it clears away the half-packed file."""

    def __init__(self, write: Callable[[bytes], object]) -> None:
        self._write = write
        self._failed = False

    def writable(self) -> bool:
        return True

    def write(self, data: object, /) -> int:
        piece = bytes(data)  # type: ignore[call-overload]
        if not self._failed:
            try:
                self._write(piece)
            except BaseException:
                self._failed = True
                raise
        return len(piece)
