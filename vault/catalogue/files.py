"""Pattern files: their facts, every place they were seen, the members of zips, and the state of paths.

A file is known by the SHA-256 of its bytes; the same bytes at two places are one row with two sightings.  A path state
says what lay at a path when it was last dealt with to the end, so that an unchanged folder costs one `stat` per path.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from vault.catalogue.codec import from_json, to_json
from vault.catalogue.documents import storable
from vault.catalogue.search import Search
from vault.model.pattern import PatternFacts, PatternFile, Sighting

_BATCH = 100  # files that are read at a time


@dataclass(frozen=True, kw_only=True)
class PathState:
    """What lay at a path: its size, its time of change in nanoseconds, and the SHA-256 of its bytes."""

    n_bytes: int
    mtime_ns: int
    digest: str


class Files(Search):
    """The part of the catalogue that remembers pattern files."""

    def file_known(self, sha256: str, *, reader: str = "") -> bool:
        """Whether the file has a row (made by this version of the readers, if one is given)."""
        row = self._row("SELECT reader FROM files WHERE sha256 = ?", (sha256,))
        return bool(row) and reader in ("", row[0])  # type: ignore[index]

    def file_kept(self, sha256: str) -> bool:
        """Whether the file has a row and its bytes are in the vault."""
        return bool(self._row("SELECT 1 FROM files WHERE sha256 = ? AND kept = 1", (sha256,)))

    def outdated_files(self, reader: str) -> tuple[str, ...]:
        """Digests of kept files that another version of the readers read, in order of recording; zips left out.

        A zip says nothing by itself: its members are files of their own.
        """
        rows = self._rows(
            "SELECT sha256 FROM files WHERE reader <> ? AND kept = 1 AND media_type <> 'application/zip' ORDER BY seq",
            (reader,),
        )
        return tuple(r[0] for r in rows)

    def record_file(self, file: PatternFile, *, reader: str = "") -> None:
        """Remembers a file: its facts replace older ones, its sightings are added, its members replaced if given.

        Members must be recorded in the same transaction at the latest.  What was kept once stays kept.
        """
        facts = file.facts
        with self.transaction():
            self._write("DELETE FROM passed_over WHERE sha256 = ?", (file.sha256,))
            self._write(
                "INSERT INTO files (sha256, n_bytes, media_type, title, designer, craft, kept, reader, body, text)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (sha256) DO UPDATE SET"
                " media_type = excluded.media_type, title = excluded.title, designer = excluded.designer,"
                " craft = excluded.craft, kept = max(kept, excluded.kept), reader = excluded.reader,"
                " body = excluded.body, text = excluded.text",
                (
                    file.sha256,
                    file.n_bytes,
                    facts.media_type,
                    storable(facts.title),
                    storable(facts.designer),
                    facts.craft,
                    int(file.kept),
                    reader,
                    to_json(replace(facts, text="")),
                    storable(facts.text),
                ),
            )
            for sighting in file.sightings:
                self._put_sighting(file.sha256, sighting)
            if file.members:
                self._put_members(file.sha256, file.members)
            self._reindex(file.sha256)

    def _put_members(self, zip_sha256: str, members: tuple[str, ...]) -> None:
        self._write("DELETE FROM members WHERE zip_sha256 = ?", (zip_sha256,))
        rows = [(zip_sha256, place, sha256) for place, sha256 in enumerate(dict.fromkeys(members))]
        self._write_all("INSERT INTO members (zip_sha256, place, sha256) VALUES (?, ?, ?)", rows)

    def add_sighting(self, sha256: str, sighting: Sighting) -> bool:
        """Remembers one more place of a known file, or what is new about a known place.  False if nothing is new."""
        with self.transaction():
            changed = self._put_sighting(sha256, sighting)
            if changed:
                self._reindex(sha256)
        return changed

    def _put_sighting(self, sha256: str, sighting: Sighting) -> bool:
        at = (sha256, storable(sighting.path), storable(sighting.inside) or "")
        row = self._row("SELECT body FROM sightings WHERE sha256 = ? AND path = ? AND inside = ?", at)
        known = from_json(Sighting, row[0]) if row else None
        # The first day stays; what an attribute said of the origin is not unlearned when a copy has lost it.
        merged = (
            sighting
            if known is None
            else replace(
                sighting,
                seen_on=known.seen_on or sighting.seen_on,
                origin_url=sighting.origin_url or known.origin_url,
                referrer_url=sighting.referrer_url or known.referrer_url,
            )
        )
        if merged == known:
            return False
        self._write(
            "INSERT INTO sightings (sha256, path, inside, body) VALUES (?, ?, ?, ?)"
            " ON CONFLICT (sha256, path, inside) DO UPDATE SET body = excluded.body",
            (*at, to_json(merged)),
        )
        return True

    def _reindex(self, sha256: str) -> None:
        row = self._row("SELECT seq FROM files WHERE sha256 = ?", (sha256,))
        files = self._files("WHERE f.sha256 = ?", (sha256,), text=True)
        if row and files:
            self._index_file(row[0], files[0])

    def pattern_files(self) -> tuple[PatternFile, ...]:
        """All files with their text, in order of recording: what matching works on."""
        return self._files(text=True)

    def each_file(self, *, first: Iterable[str] = ()) -> Iterator[PatternFile]:
        """All files with their text, `first` these and then the rest by digest, a hundred in memory at a time."""
        known = [r[0] for r in self._rows("SELECT sha256 FROM files ORDER BY sha256")]
        there = set(known)
        ordered = tuple(dict.fromkeys([*(s for s in first if s in there), *known]))
        for batch in (ordered[n : n + _BATCH] for n in range(0, len(ordered), _BATCH)):
            marks = ", ".join("?" * len(batch))
            found = {f.sha256: f for f in self._files(f"WHERE f.sha256 IN ({marks})", batch, text=True)}
            yield from (found[s] for s in batch if s in found)

    def file(self, sha256: str) -> PatternFile | None:
        """One file with its text."""
        found = self._files("WHERE f.sha256 = ?", (sha256,), text=True)
        return found[0] if found else None

    def _files(self, where: str = "", parameters: tuple[Any, ...] = (), *, text: bool) -> tuple[PatternFile, ...]:
        sightings: dict[str, list[Sighting]] = {}
        for r in self._rows(f"SELECT f.sha256, f.body FROM sightings f {where} ORDER BY f.seq", parameters):
            sightings.setdefault(r[0], []).append(from_json(Sighting, r[1]))
        members: dict[str, list[str]] = {}
        inside = where.replace("f.sha256", "f.zip_sha256")
        for r in self._rows(
            f"SELECT zip_sha256, sha256 FROM members f {inside} ORDER BY zip_sha256, place", parameters
        ):
            members.setdefault(r[0], []).append(r[1])
        column = "f.text" if text else "''"
        rows = self._rows(
            f"SELECT f.sha256, f.n_bytes, f.kept, f.body, {column} FROM files f {where} ORDER BY f.seq", parameters
        )
        return tuple(
            PatternFile(
                sha256=r[0],
                n_bytes=r[1],
                kept=bool(r[2]),
                facts=replace(from_json(PatternFacts, r[3]), text=r[4]),
                sightings=tuple(sightings.get(r[0], ())),
                members=tuple(members.get(r[0], ())),
            )
            for r in rows
        )

    def path_state(self, path: Path, *, reader: str = "") -> PathState | None:
        """What lay at `path` when it was last dealt with (by this version of the readers), or None."""
        row = self._row(
            "SELECT n_bytes, mtime_ns, digest, reader FROM path_states WHERE path = ?", (os.fsencode(path),)
        )
        if not row or reader not in ("", row[3]):
            return None
        return PathState(n_bytes=row[0], mtime_ns=row[1], digest=row[2])

    def path_states(self, places: Sequence[str], *, reader: str = "") -> dict[str, tuple[int, int]]:
        """Size and time of change (ns) of those paths that were dealt with; some hundred at a time."""
        keys = {os.fsencode(place): place for place in places}
        marks = ", ".join("?" * len(keys))
        rows = self._rows(f"SELECT path, n_bytes, mtime_ns, reader FROM path_states WHERE path IN ({marks})", [*keys])
        return {keys[r[0]]: (r[1], r[2]) for r in rows if reader in ("", r[3])}

    def set_path_state(self, path: Path, n_bytes: int, mtime_ns: int, digest: str, *, reader: str = "") -> None:
        """Remembers that what lies at `path` is dealt with."""
        self._write(
            "INSERT OR REPLACE INTO path_states VALUES (?, ?, ?, ?, ?)",
            (os.fsencode(path), n_bytes, mtime_ns, digest, reader),
        )
