"""Pictures of the first pages of pattern files, drawn in the guarded worker and kept beside the shelf.

Drawn after an import, within a bound of time, so that a first import of a thousand files does not wait for them: what
is left is drawn by the next import, or when the file is shown.  Only files that are kept and that a viewer would show
are drawn; a file of which no picture can be made is not tried again.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable

from vault.model.pattern import PatternFile
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.pictures import PictureFolder

SECONDS = 20.0  # for all pictures after one import
_ONE = 15.0  # for one picture
_PDF = "application/pdf"


def lacking(folder: VaultFolder, files: Iterable[PatternFile]) -> list[PatternFile]:
    """The pattern files that could have a picture and have none."""
    pictures = PictureFolder(folder)
    return [f for f in files if _drawable(f) and not pictures.tried(f.sha256)]


def _drawable(file: PatternFile) -> bool:
    facts = file.facts
    return bool(
        file.kept and facts.media_type == _PDF and facts.is_pattern and facts.pages and facts.encrypted != "user"
    )


def draw(
    folder: VaultFolder,
    files: Iterable[PatternFile],
    *,
    seconds: float = SECONDS,
    progress: Callable[[int, int | None, str], None] | None = None,
) -> int:
    """Draws the pictures that are lacking, as many as the time allows; how many were made.  Raises StoreError."""
    wanted = lacking(folder, files)
    if not wanted:
        return 0
    from vault.patterns.guard import Guard

    store, pictures = ObjectStore(folder), PictureFolder(folder)
    until = time.monotonic() + seconds
    made = 0
    with Guard(workers=1, seconds=_ONE) as guard:
        for done, file in enumerate(wanted):
            if time.monotonic() > until:
                break
            if progress is not None:
                progress(done, len(wanted), "drawing the first pages")
            if not store.has(file.sha256):
                continue
            png = guard.picture(store.path_of(file.sha256), media_type=_PDF)
            pictures.keep(file.sha256, png)
            made += png is not None
    return made
