"""The vault folder: where everything lies, and the settings that a person may edit.

```
catalogue.sqlite   rows (owned by vault.catalogue)
objects/ab/<sha256>  every kept byte string once
pictures/          small pictures of first pages; can be made again at any time
shelf/             the same files under readable names; shelf.tsv remembers which name belongs to which bytes
vault.toml         settings a person may edit; nothing secret
backups/           what backups need to go on unattended: the locked key, which object lies where
tmp/               bytes on their way; swept by the next run
vault.lock         held by the one that writes
```
All of it is made at first use.
"""

from __future__ import annotations

import os
import unicodedata
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from vault.errors import StoreError
from vault.safekeeping.disk import DISK, Disk, is_part, new_part, trouble, write_whole

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

_OURS = ("catalogue.sqlite", "objects", "shelf", "shelf.tsv", "pictures", "vault.toml", "backups", "tmp", "vault.lock")
# What systems put into every folder; a folder that holds nothing else is empty to a person.
NOISE = {".ds_store", "desktop.ini", "thumbs.db", "lost+found", ".directory", "icon\r"}
_MAX_SETTINGS = 1 << 20

FIRST_SETTINGS = """\
# Settings of this vault.  You may edit this file; it holds nothing secret.

[backup]
# recipient = "age1..."       public half of the backup key, written by the first backup
# destinations = ["..."]      where backups go

[watch]
# folders = ["..."]           folders to look into, if not your downloads folder
"""


@dataclass(frozen=True, kw_only=True)
class Settings:
    """What vault.toml says.  `recipients` encrypt the backups (usually one); `destinations` are where they go."""

    recipients: tuple[str, ...] = ()
    destinations: tuple[str, ...] = ()
    watch_folders: tuple[str, ...] = ()


def default_root() -> Path:
    """Where the vault is if nobody says: `PINFOLD_VAULT`, else the documents folder, else the user-data folder.

    A vault that is already there wins, so that it does not vanish when a documents folder appears later.
    """
    named = os.environ.get("PINFOLD_VAULT", "").strip()
    if named:
        return Path(named).expanduser().absolute()
    import platformdirs

    documents = Path(platformdirs.user_documents_dir())
    places = (documents / "Pinfold", Path(platformdirs.user_data_dir("pinfold", appauthor=False)))
    for place in places:
        if VaultFolder(place).exists():
            return place
    return places[0] if documents.is_dir() else places[1]


class VaultFolder:
    """The layout of one vault.  Making the object touches nothing; `create` makes the folder."""

    def __init__(self, root: Path, *, disk: Disk = DISK) -> None:
        self.root = Path(root).expanduser().absolute()
        self.disk = disk
        self.catalogue_path = self.root / "catalogue.sqlite"
        self.objects_path = self.root / "objects"
        self.shelf_path = self.root / "shelf"
        self.shelf_index_path = self.root / "shelf.tsv"
        self.pictures_path = self.root / "pictures"
        self.settings_path = self.root / "vault.toml"
        self.backups_path = self.root / "backups"
        self.tmp_path = self.root / "tmp"
        self.lock_path = self.root / "vault.lock"

    def __repr__(self) -> str:
        return f"VaultFolder({str(self.root)!r})"

    def exists(self) -> bool:
        """Whether there is a vault: a catalogue, or at least one kept object."""
        return self.catalogue_path.is_file() or _holds_files(self.objects_path)

    def create(self) -> None:
        """Makes what is missing of the folder; does nothing to a vault that is whole.

        Raises StoreError if the place cannot be written, is no folder, or is a folder that holds other things.
        """
        try:
            if self.objects_path.is_dir() and self.tmp_path.is_dir() and self.settings_path.is_file():
                return
            if self.root.exists() and not self.root.is_dir():
                raise StoreError(f"{self.root} is not a folder", "name a folder for the vault", code="not-a-folder")
            strange = strangers(self.root)
            if strange and not self._begun():
                raise StoreError(
                    f"{self.root} holds other things ({strange[0]}), so no vault is made in it",
                    f"name a new folder, for example: --vault {self.root / 'Pinfold'}",
                    code="folder-in-use",
                )
            for path in (self.objects_path, self.tmp_path):
                self.disk.make_folder(path)
            if not self.settings_path.exists():
                write_whole(self.disk, self.settings_path, [FIRST_SETTINGS.encode()])
        except OSError as error:
            raise trouble(error, f"the vault folder {self.root} cannot be made") from error

    def _begun(self) -> bool:
        return self.exists() or (self.root / "vault.toml").exists() or self.lock_path.exists()

    def tmp_file(self) -> Path:
        """An unused path for a temporary file inside the vault; the folder must have been created."""
        return new_part(self.tmp_path)

    def settings(self) -> Settings:
        """What vault.toml says; StoreError with the line if it cannot be read.  No file: no settings."""
        document = self._document()
        backup, watch = _table(document, "backup"), _table(document, "watch")
        recipients = backup.get("recipient", ())
        return Settings(
            recipients=self._texts("recipient", [recipients] if isinstance(recipients, str) else recipients),
            destinations=self._texts("destinations", backup.get("destinations", ())),
            watch_folders=self._texts("folders", watch.get("folders", ())),
        )

    def change_settings(
        self,
        *,
        recipients: tuple[str, ...] | None = None,
        destinations: tuple[str, ...] | None = None,
        watch_folders: tuple[str, ...] | None = None,
    ) -> None:
        """Writes the named settings; everything else in vault.toml, comments too, stays as the person wrote it."""
        import tomlkit

        document = self._document()
        one = None if recipients is None else recipients[0] if len(recipients) == 1 else list(recipients)
        changes: list[tuple[str, str, Any]] = [
            ("backup", "recipient", one),
            ("backup", "destinations", None if destinations is None else list(destinations)),
            ("watch", "folders", None if watch_folders is None else list(watch_folders)),
        ]
        for table, key, value in changes:
            if value is None:
                continue
            if table not in document:
                document[table] = tomlkit.table()
            document[table][key] = value
        try:
            write_whole(self.disk, self.settings_path, [tomlkit.dumps(document).encode()])
        except OSError as error:
            raise trouble(error, f"{self.settings_path} cannot be written") from error

    def _document(self) -> TOMLDocument:
        import tomlkit
        from tomlkit.exceptions import TOMLKitError

        try:
            with self.settings_path.open("rb") as handle:
                raw = handle.read(_MAX_SETTINGS + 1)
            if len(raw) > _MAX_SETTINGS:
                raise StoreError(f"{self.settings_path} is too large", "is it the right file?", code="settings")
            return tomlkit.parse(raw.decode("utf-8-sig"))
        except FileNotFoundError:
            return tomlkit.document()
        except (TOMLKitError, UnicodeDecodeError, RecursionError) as error:
            raise StoreError(
                f"the settings in {self.settings_path} cannot be read: {error}",
                "correct that line, or remove the file to begin with fresh settings",
                code="settings",
            ) from error
        except OSError as error:
            raise trouble(error, f"{self.settings_path} cannot be read") from error

    def _texts(self, key: str, value: object) -> tuple[str, ...]:
        if not isinstance(value, list | tuple) or not all(isinstance(v, str) for v in value):
            raise StoreError(
                f"{key} in {self.settings_path} should be text or a list of texts, not {value!r}",
                "correct that line",
                code="settings",
            )
        return tuple(unicodedata.normalize("NFC", str(v)) for v in value)


def _table(document: TOMLDocument, name: str) -> dict[str, Any]:
    value = document.unwrap().get(name)
    return value if isinstance(value, dict) else {}


def _holds_files(folder: Path) -> bool:
    if not folder.is_dir():
        return False
    return any(entry.is_file() for sub in folder.iterdir() if sub.is_dir() for entry in sub.iterdir())


def strangers(folder: Path) -> list[str]:
    """Names in `folder` that neither a vault nor the system itself puts there, sorted; empty if there is no folder."""
    if not folder.is_dir():
        return []
    names = (entry.name for entry in folder.iterdir())
    return sorted(n for n in names if n not in _OURS and n.lower() not in NOISE and n[0] != "." and not is_part(n))
