"""Where the bytes of a kept thing may still lie outside the vault: the file it was imported from.

Places that the catalogue remembers are opened and handed out; whether the bytes are the right ones is for the caller
to see.  Nothing there is changed.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from vault.catalogue import Catalogue
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore

_MAX_MEMBER = 1 << 30


def originals(folder: VaultFolder, catalogue: Catalogue, sha256: str) -> Iterator[BinaryIO]:
    """Open streams of what lies where the thing was seen: as a file, as a message of a mailbox, in a zip.

    The caller closes them.  A zip that is kept itself is looked into as well.
    """
    file = catalogue.file(sha256)
    store = ObjectStore(folder)
    for sighting in file.sightings if file else ():
        if sighting.inside is None:
            yield from _file(sighting.path)
            continue
        zips = [Path(sighting.path)]
        if sighting.zip_sha256 and store.has(sighting.zip_sha256):
            zips.insert(0, store.path_of(sighting.zip_sha256))
        for around in zips:
            yield from _member(around, sighting.inside)
    for source in catalogue.sources(sha256):
        mailbox, sign, number = source.rpartition("#")
        if sign and number.isdecimal():
            yield from _message(mailbox, int(number))
        elif " > " not in source:
            yield from _file(source)


def _file(path: str) -> Iterator[BinaryIO]:
    at = Path(path)
    try:
        if at.is_absolute() and at.is_file():
            yield at.open("rb")
    except (OSError, ValueError):
        return


def _message(mailbox: str, number: int) -> Iterator[BinaryIO]:
    from vault.receipts.mailbox import split_mbox

    for stream in _file(mailbox):
        with stream:
            for n, raw in split_mbox(stream):
                if n == number:
                    yield io.BytesIO(raw)
                    break


def _member(path: Path, inside: str) -> Iterator[BinaryIO]:
    """A member of a zip by its name, as far as it is small enough to be looked at."""
    try:
        if not path.is_file():
            return
        with zipfile.ZipFile(path) as opened:
            for info in opened.infolist():
                if info.filename.replace("\\", "/").endswith(inside) and info.file_size <= _MAX_MEMBER:
                    with opened.open(info) as member:
                        yield io.BytesIO(member.read(_MAX_MEMBER))
    except (OSError, ValueError, RuntimeError, NotImplementedError, EOFError, zipfile.BadZipFile, zlib.error):
        return
