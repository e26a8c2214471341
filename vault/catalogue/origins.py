"""Sources that are remembered, and how far the mail accounts among them were read.  Truth, though not of purchases."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from vault.catalogue.codec import from_json, to_json
from vault.catalogue.store import Store
from vault.model.source import MailFolderState, Source


class Origins(Store):
    """The part of the catalogue that remembers where to look again."""

    def origins(self) -> tuple[Source, ...]:
        """Every source, oldest first."""
        rows = self._rows("SELECT id, body, read_on FROM origins ORDER BY id")
        return tuple(
            replace(from_json(Source, r[1]), id=r[0], read_on=date.fromisoformat(r[2]) if r[2] else None) for r in rows
        )

    def add_origin(self, source: Source) -> Source | None:
        """Remembers a source; its `id` is given here.  None if the same one is remembered already."""
        key = f"{source.kind.value} {source.words}"
        # The number comes from SQLite; the one in the body is not looked at.
        written = self._write(
            "INSERT OR IGNORE INTO origins (key, body) VALUES (?, ?)", (key, to_json(replace(source, id=0)))
        )
        if not written:
            return None
        row = self._row("SELECT id FROM origins WHERE key = ?", (key,))
        assert row is not None
        return replace(source, id=int(row[0]))

    def remove_origin(self, source_id: int) -> bool:
        """Forgets a source and how far it was read; what came from it stays.  False if there is none."""
        return bool(self._write("DELETE FROM origins WHERE id = ?", (source_id,)))

    def origin_read(self, source_id: int, on: date) -> None:
        """Remembers that a source was read to its end."""
        self._write("UPDATE origins SET read_on = ? WHERE id = ?", (on.isoformat(), source_id))

    def mail_folder(self, source_id: int, folder: str) -> MailFolderState | None:
        """How far a folder was read; None: never."""
        row = self._row(
            "SELECT uid_validity, searched_to, words FROM mail_folders WHERE source_id = ? AND folder = ?",
            (source_id, folder),
        )
        if row is None:
            return None
        return MailFolderState(folder=folder, uid_validity=row[0], searched_to=row[1], words=row[2])

    def set_mail_folder(self, source_id: int, state: MailFolderState) -> None:
        """Remembers how far a folder was read; UIDs seen under another validity are forgotten."""
        with self.transaction():
            self._write(
                "INSERT OR REPLACE INTO mail_folders (source_id, folder, uid_validity, searched_to, words)"
                " VALUES (?, ?, ?, ?, ?)",
                (source_id, state.folder, state.uid_validity, state.searched_to, state.words),
            )
            self._write(
                "DELETE FROM mail_uids WHERE source_id = ? AND folder = ? AND uid_validity <> ?",
                (source_id, state.folder, state.uid_validity),
            )

    def seen_uids(self, source_id: int, folder: str, uid_validity: int) -> frozenset[int]:
        """UIDs of the mails that were fetched and recorded."""
        rows = self._rows(
            "SELECT uid FROM mail_uids WHERE source_id = ? AND folder = ? AND uid_validity = ?",
            (source_id, folder, uid_validity),
        )
        return frozenset(r[0] for r in rows)

    def see_uids(self, source_id: int, folder: str, uid_validity: int, uids: Iterable[int]) -> None:
        """Remembers mails as fetched and recorded."""
        self._write_all(
            "INSERT OR IGNORE INTO mail_uids (source_id, folder, uid_validity, uid) VALUES (?, ?, ?, ?)",
            [(source_id, folder, uid_validity, uid) for uid in uids],
        )
