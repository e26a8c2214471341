"""A vault with the demo's mails imported, and the command line run inside this process."""

from __future__ import annotations

import json
import shutil
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from vault.catalogue import Catalogue
from vault.cli.main import app, hoist
from vault.intake.ingest import ingest
from vault.model.licence import TermsPlace
from vault.model.match import Link, MatchResult, Standing
from vault.model.pattern import LicenceTerms, PatternFacts, PatternFile, Quote, Sighting
from vault.model.purchase import ItemState
from vault.safekeeping.folder import VaultFolder

RECEIPTS = Path(__file__).parents[2] / "fixtures" / "demo" / "receipts"
DAY = date(2026, 11, 25)
FILE = "5c" * 32
QUOTES = (
    Quote(text="For personal use only.", page=4),
    Quote(text="You may sell up to 20 finished pieces with credit to the designer.", page=4),
    Quote(text="Do not share this file.", page=4),
)
TERMS = LicenceTerms(
    personal_use=True, sell_finished="limited", limit=20, credit_required=True, share_file="no", quotes=QUOTES
)
__all__ = ["DAY", "FILE", "TERMS", "Ran", "TermsPlace", "Vault", "made_vault"]


@dataclass(frozen=True, kw_only=True)
class Ran:
    """What a call ended with."""

    status: int
    out: str
    error: BaseException | None

    def json(self) -> Any:
        return json.loads(self.out)


@dataclass(frozen=True, kw_only=True)
class Vault:
    """A vault and the commands on it."""

    root: Path

    def __call__(self, *words: object, day: date = DAY) -> Ran:
        line = hoist(["--vault", str(self.root), "--as-of", day.isoformat(), *map(str, words)])
        done = CliRunner(env={"COLUMNS": "80"}).invoke(app, line)
        error = done.exception if not isinstance(done.exception, SystemExit) else None
        return Ran(status=done.exit_code, out=done.stdout, error=error)

    def catalogue(self) -> Catalogue:
        return Catalogue.open(self.root / "catalogue.sqlite")

    def item(self, title: str) -> str:
        with self.catalogue() as catalogue:
            (found,) = [i.item.id for v in catalogue.purchases() for i in v.items if title in i.item.title]
        return found

    def hold(self, *item_ids: str) -> None:
        """As if the files of these items, and of no others, had come; the file carries TERMS."""
        with self.catalogue() as catalogue, catalogue.transaction():
            facts = PatternFacts(media_type="application/pdf", is_pattern=True, language="en", licence=TERMS)
            sighting = Sighting(path="C:\\Downloads\\skirt.pdf", seen_on=date(2026, 9, 15))
            catalogue.record_file(
                PatternFile(sha256=FILE, n_bytes=1, facts=facts, sightings=(sighting,), kept=False), reader="t"
            )
            items = [i.item.id for v in catalogue.purchases() for i in v.items]
            held = {i: ItemState.HELD if i in item_ids else ItemState.MISSING for i in items}
            catalogue.replace_matches(
                MatchResult(
                    links=tuple(Link(item_id=i, sha256=FILE, part=None, score=1.0) for i in item_ids),
                    questions=(),
                    standings=tuple(Standing(item_id=i, state=state) for i, state in held.items()),
                )
            )

    def copy_to(self, root: Path) -> Vault:
        shutil.copytree(self.root, root)
        return Vault(root=root)


def made_vault(root: Path) -> Vault:
    """The demo's mails and pages in a new vault; no downloads."""
    folder = VaultFolder(root)
    folder.create()
    ingest(folder, [RECEIPTS / "mail", RECEIPTS / "pages"], day=DAY)
    return Vault(root=root)
