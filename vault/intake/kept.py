"""A kept object as an entry again: read anew by other readers, or to make the catalogue from the objects alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from vault.intake.entry import Entry
from vault.intake.names import file_part
from vault.intake.sniff import HEAD_BYTES, FileKind, inside_zip, sniff
from vault.intake.zips import names_in
from vault.model.pattern import Sighting


def kept_entry(
    sha256: str, path: Path, sources: Sequence[str], seen: Sequence[Sighting], stays: str, *, day: date | None = None
) -> Entry:
    """The entry of the object at `path`, called as it was called where it was seen first.

    `stays` is what it is to remain whatever the readers say ("file", "document", "" for neither); `day` is noted for
    an object that no place is known of.
    """
    first = seen[0] if seen else Sighting(path=sources[0] if sources else sha256, seen_on=day)
    source = sources[0] if sources else f"{first.path} > {first.inside}" if first.inside else first.path
    name = first.inside or ("" if "#" in source else file_part(source.rsplit(" > ", 1)[-1]))
    with path.open("rb") as stream:
        sniffed = sniff(stream.read(HEAD_BYTES), name)
    if sniffed.kind is FileKind.ZIP:
        sniffed = inside_zip(names_in(path)) or sniffed
    return Entry(
        source=source,
        name=name,
        sniffed=sniffed,
        sha256=sha256,
        n_bytes=path.stat().st_size,
        sighting=first,
        path=path,
        in_zip=first.zip_sha256 is not None,
        stays=stays,
    )
