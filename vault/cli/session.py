"""Which vault, which day, what kind of terminal: made once per call, handed to every command."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from vault.errors import StoreError, UsageError
from vault.reports.text import Style

if TYPE_CHECKING:
    from vault.catalogue import Catalogue
    from vault.safekeeping.folder import VaultFolder

_NARROWEST, _WIDEST = 40, 100


@dataclass(frozen=True, kw_only=True)
class Session:
    """The global options of one call."""

    vault: Path | None = None
    as_of: date | None = None
    quiet: bool = False

    @property
    def day(self) -> date:
        """The day that answers are given for: `--as-of`, else today."""
        return self.as_of or date.today()

    def folder(self) -> VaultFolder:
        """The vault folder meant by this call; it need not exist."""
        from vault.safekeeping.folder import VaultFolder, default_root

        return VaultFolder(self.vault or default_root())

    def existing_folder(self) -> VaultFolder:
        """The vault folder; raises StoreError with the next step if there is none."""
        folder = self.folder()
        if not folder.exists():
            raise StoreError(
                f"there is no vault in {folder.root}",
                "begin with: pinfold import FOLDER (or name another vault with --vault)",
                code="no-vault",
            )
        return folder

    @contextmanager
    def reading(self) -> Iterator[Catalogue]:
        """The catalogue of the existing vault, for reading only."""
        from vault.catalogue import Catalogue

        folder = self.existing_folder()
        with Catalogue.open_read_only(folder.catalogue_path) as catalogue:
            yield catalogue

    @contextmanager
    def writing(self) -> Iterator[Catalogue]:
        """The catalogue of the existing vault, under the vault's lock; what the person said is kept as records too."""
        from vault.catalogue import Catalogue
        from vault.intake.remembering import keep_records
        from vault.safekeeping.lock import VaultLock

        folder = self.existing_folder()
        with VaultLock(folder), Catalogue.open(folder.catalogue_path) as catalogue:
            yield catalogue
            keep_records(folder, catalogue)


def parse_day(text: str) -> date:
    """A date given on the command line, ISO 8601."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"not a date: {text!r}", "write it as YYYY-MM-DD, for example 2026-11-30") from None


def style() -> Style:
    """How standard output may be written to: width, colour (NO_COLOR and dumb terminals honoured), Unicode."""
    terminal = sys.stdout.isatty()
    dumb = os.environ.get("TERM", "") == "dumb"
    colour = terminal and not dumb and not os.environ.get("NO_COLOR")
    encoding = (getattr(sys.stdout, "encoding", None) or "ascii").lower()
    columns = shutil.get_terminal_size((80, 24)).columns
    return Style(
        columns=max(_NARROWEST, min(_WIDEST, columns)),
        colour=colour,
        unicode=encoding.replace("-", "").startswith("utf"),
    )
