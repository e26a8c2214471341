"""How many copies of the vault there are, by the 3-2-1 rule of thumb: three copies, two media, one of them elsewhere.

(Common practice, no published source.)  Said is only what is known: a backup counts when the log tells of one, two
places stand on one medium when the system says so, and whether a place is elsewhere Pinfold cannot see at all.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from vault.model.event import DestinationHistory, Event

WANTED_COPIES, WANTED_MEDIA = 3, 2


@dataclass(frozen=True, kw_only=True)
class Place:
    """A destination of backups.

    `medium`: the mark of the file system it stands on, as the system gives it now; None where that cannot be seen (a
    stick that is not plugged in, another computer).  `remote`: its name says that it is on another computer.
    """

    history: DestinationHistory
    medium: str | None = None
    remote: bool = False

    @property
    def backed_up_on(self) -> date | None:
        """The day of the last backup; None if there never was one."""
        return _day(self.history.last_backup)

    @property
    def rehearsed_on(self) -> date | None:
        """The day on which it was last restored on trial."""
        return _day(self.history.last_rehearsal)

    @property
    def checked_on(self) -> date | None:
        """The day on which its bytes were last compared."""
        return _day(self.history.last_check)

    @property
    def failed_on(self) -> date | None:
        """The day of a failure that nothing has mended since."""
        return _day(self.history.failed)


@dataclass(frozen=True, kw_only=True)
class Copies:
    """The vault (its file system is `medium`) and the places of its backups."""

    places: tuple[Place, ...] = ()
    medium: str | None = None

    @property
    def kept(self) -> tuple[Place, ...]:
        """The places with a backup, as far as the log knows."""
        return tuple(p for p in self.places if p.backed_up_on)

    @property
    def n_copies(self) -> int:
        """The vault itself and every backup."""
        return 1 + len(self.kept)

    @property
    def n_media(self) -> int:
        """File systems that are known to be different ones; another computer is one, an unseen place none."""
        seen = {self.medium or "vault", *(p.medium for p in self.kept if p.medium)}
        return len(seen) + any(p.remote for p in self.kept)

    @property
    def n_unseen(self) -> int:
        """Backups of which the medium cannot be seen now."""
        return sum(p.medium is None and not p.remote for p in self.kept)


def where_words(place: Place, copies: Copies) -> str:
    """What is known of where a place stands."""
    if place.remote:
        return "on another computer"
    if place.medium is None or copies.medium is None:
        return "cannot be seen now"
    return "on the disk that the vault is on" if place.medium == copies.medium else "on another disk or partition"


def sentences(copies: Copies) -> tuple[str, ...]:
    """The rule of thumb against what is known, a sentence for each of its numbers."""
    n, media, unseen = copies.n_copies, copies.n_media, copies.n_unseen
    backups = {1: "the vault alone", 2: "the vault and 1 backup"}.get(n, f"the vault and {n - 1} backups")
    if not copies.kept:
        of_media = "only the disk of the vault"
    elif media > 1:
        of_media = f"{media} that the system tells apart (two parts of one disk may look so)"
    elif unseen:
        of_media = "the disk of the vault, and what cannot be seen now"
    else:
        of_media = "all on the disk that the vault is on; what takes one takes both"
    of_media += f"; {unseen} cannot be seen now" if unseen and media > 1 else ""
    return (
        f"three copies: {backups}" + ("" if n >= WANTED_COPIES else f", {WANTED_COPIES - n} too few"),
        f"on two media: {of_media}",
        f"one of them elsewhere: {_elsewhere(copies)}",
    )


def _elsewhere(copies: Copies) -> str:
    if not copies.kept:
        return "none, there is no backup"
    if any(p.remote for p in copies.kept):
        return "one is on another computer; where it stands Pinfold cannot see; you know it"
    return "Pinfold cannot see that; you know it"


def row(copies: Copies) -> dict[str, Any]:
    """`copies` and `destinations` of `status --json`."""
    return {
        "copies": {
            "count": copies.n_copies,
            "media_known": copies.n_media,
            "media_unseen": copies.n_unseen,
            "elsewhere": None if copies.kept else False,
        },
        "destinations": [
            {
                "destination": p.history.destination,
                "last_backup": _text(p.backed_up_on),
                "last_rehearsal": _text(p.rehearsed_on),
                "last_check": _text(p.checked_on),
                "failed_on": _text(p.failed_on),
                "where": where_words(p, copies),
            }
            for p in copies.places
        ],
    }


def destination_words(place: Place) -> str:
    """One line for a destination: last backup, rehearsal, and what failed."""
    backup, tried, failed = place.backed_up_on, place.rehearsed_on, place.failed_on
    said = [f"backup of {backup.isoformat()}" if backup else "never backed up to"]
    if backup:
        said.append(f"rehearsed {tried.isoformat()}" if tried else "never rehearsed")
    if failed:
        said.append(f"FAILED on {failed.isoformat()}")
    return ", ".join(said)


def _day(event: Event | None) -> date | None:
    return date.fromisoformat(event.at[:10]) if event else None


def _text(day: date | None) -> str | None:
    return day.isoformat() if day else None
