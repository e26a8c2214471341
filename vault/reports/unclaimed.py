"""Files that no purchase claims, by maker, with what they suggest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

from vault.model.match import FileView
from vault.reports.listings import kind_words, sheet_words
from vault.reports.rows import Row, file_name
from vault.reports.text import Style, plain, wrap


class Group(Protocol):
    """Files of one maker; `designer` None: they name nobody."""

    @property
    def designer(self) -> str | None:
        """The maker's name."""

    @property
    def files(self) -> tuple[str, ...]:
        """Their digests."""

    @property
    def hint(self) -> str:
        """What they suggest, in plain words, or an empty string."""


def unclaimed(groups: Sequence[Group], views: Mapping[str, FileView], style: Style) -> list[str]:
    """Lines: each maker with the files below; what suggests a receipt comes first."""
    lines: list[str] = []
    for group in sorted(groups, key=lambda g: not g.hint):
        name = plain(group.designer or "") or "They name nobody"
        lines += ["", *(style.bold(line) for line in wrap(name, style.columns))]
        lines += wrap(plain(group.hint), style.columns, first="  ? ", rest="    ") if group.hint else []
        for sha in group.files:
            view = views.get(sha)
            if view is None:
                continue
            facts = view.file.facts
            title = plain(facts.title or "") or file_name(view)
            known = [
                kind_words(facts),
                ", ".join(map(sheet_words, facts.sheets)),
                file_name(view) if facts.title else "",
            ]
            lines += wrap(f"{title} ({'; '.join(filter(None, known))})", style.columns, first="  - ", rest="    ")
    return [style.finish(line) for line in lines[1:]]


def rows(groups: Sequence[Group]) -> list[Row]:
    """The groups as `files --unclaimed --json` gives them, beside the files."""
    return [{"designer": g.designer, "files": list(g.files), "hint": g.hint or None} for g in groups]
