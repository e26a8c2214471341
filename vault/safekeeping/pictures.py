"""Small pictures of the first pages of pattern files: `pictures/<beginning of the file's sha256>.png`.

Derived from the objects and of no worth of their own: they are in no backup, nothing refers to them, and deleting the
folder costs no more than drawing them again.  An empty file says that no picture can be made of that file.
"""

from __future__ import annotations

import contextlib
from pathlib import Path

from vault.safekeeping.disk import trouble, write_whole
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import is_digest

_DIGITS = 24  # 96 bits: no two files of a vault share them


class PictureFolder:
    """The pictures of one vault.  Needs no lock: a picture is written whole under a name that follows from the file."""

    def __init__(self, folder: VaultFolder) -> None:
        self._disk = folder.disk
        self._root = folder.pictures_path

    def path_of(self, sha256: str) -> Path:
        """Where the picture of a file is or would be."""
        if not is_digest(sha256):
            raise ValueError(f"not a SHA-256 digest: {sha256!r}")
        return self._root / f"{sha256[:_DIGITS]}.png"

    def find(self, sha256: str) -> Path | None:
        """The picture of a file, or None where there is none."""
        path = self.path_of(sha256)
        with contextlib.suppress(OSError):
            return path if path.stat().st_size else None
        return None

    def tried(self, sha256: str) -> bool:
        """Whether the picture is there, or is known to be impossible."""
        return self.path_of(sha256).is_file()

    def keep(self, sha256: str, png: bytes | None) -> None:
        """Keeps a picture; None: none can be made.  Raises StoreError."""
        path = self.path_of(sha256)
        try:
            write_whole(self._disk, path, [png or b""])
        except OSError as error:
            raise trouble(error, f"the picture {path} cannot be written") from error
