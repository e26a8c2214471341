"""Small vaults of an invented theatre wardrobe, for the tests of safekeeping.  All bytes come from a seed."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from vault.safekeeping.backup import BackupReport, backup
from vault.safekeeping.destination import Destination, FolderDestination
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.shelf import ShelfEntry, rebuild_shelf

PASSPHRASE = "seven bobbins under the stage"
LOG_N = 4  # scrypt at next to no cost
FIRST = datetime(2026, 3, 7, 9, 15, tzinfo=UTC)


def contents(n: int, seed: int = 0) -> list[bytes]:
    """`n` byte strings: small, empty, and one that needs more than one chunk of an age file."""
    rng = random.Random(seed)
    sizes = [0, 1, 65536, 70_000, *(rng.randrange(2, 3000) for _ in range(n))][:n]
    return [rng.randbytes(size) for size in sizes]


def make_vault(root: Path, n: int = 12, seed: int = 0, **options: Any) -> VaultFolder:
    """A vault of `n` objects, all but every fifth of them on the shelf, with a catalogue that lists them."""
    folder = VaultFolder(root, **options)
    add_objects(folder, contents(n, seed))
    return folder


def add_objects(folder: VaultFolder, new: list[bytes]) -> list[str]:
    """Keeps more objects, writes catalogue and shelf anew; their digests."""
    store = ObjectStore(folder)
    kept = [store.keep(content) for content in new]
    digests = list(store.digests())
    with closing(sqlite3.connect(folder.catalogue_path)) as catalogue, catalogue:
        catalogue.execute("create table if not exists files (sha256 text primary key, n_bytes integer)")
        catalogue.executemany("insert or ignore into files values (?, ?)", [(d, store.size_of(d)) for d in digests])
    rebuild_shelf(
        folder,
        [
            ShelfEntry(sha256=d, name=f"{d[:3]}.pdf", designer="Lark & Thimble", title=f"Doublet {d[0]}")
            for d in digests
            if int(d[:2], 16) % 5
        ],
    )
    return kept


def back_up(folder: VaultFolder, to: Path | Destination, day: int = 0, **options: Any) -> BackupReport:
    """A backup on the `day`-th day, quick and with the passphrase at hand."""
    destination = FolderDestination(to) if isinstance(to, Path) else to
    options = {"passphrase": PASSPHRASE, "scrypt_log_n": LOG_N, "now": FIRST + timedelta(days=day), **options}
    return backup(folder, destination, catalogue_snapshot=folder.catalogue_path, **options)


def same_vaults(one: VaultFolder, two: VaultFolder) -> bool:
    """Whether two vaults hold the same objects, all intact, the same catalogue and the same names."""
    stores = ObjectStore(one), ObjectStore(two)
    digests = list(stores[0].digests())
    return (
        digests == list(stores[1].digests())
        and all(store.intact(d) for store in stores for d in digests)
        and one.catalogue_path.read_bytes() == two.catalogue_path.read_bytes()
        and one.shelf_index_path.read_bytes() == two.shelf_index_path.read_bytes()
    )


def damage(path: Path, how: str, rng: random.Random) -> None:
    """Rots a file: one bit flipped, cut short, emptied, grown, or gone."""
    content = bytearray(path.read_bytes())
    path.chmod(0o644)
    if how == "gone":
        path.unlink()
        return
    if how == "flip":
        content[rng.randrange(len(content))] ^= 1 << rng.randrange(8)
    elif how == "cut":
        del content[rng.randrange(len(content)) :]
    elif how == "empty":
        content.clear()
    elif how == "grown":
        content += b"x"
    path.write_bytes(content)
