"""The SQLite store: documents, files, purchases, answers.  The only package that speaks SQL.

| module | holds |
|---|---|
| `codec` | values of the model as JSON and back |
| `schema` | the tables, as named migrations |
| `store` | opening, transactions, snapshots, checks |
| `search` | full-text search |
| `documents` `files` `derived` `decisions` | the rows, by subject |
| `catalogue` | all of it as one class, with the views that are shown |
"""

from vault.catalogue.catalogue import Catalogue
from vault.catalogue.files import PathState
from vault.catalogue.search import SearchHit
from vault.model.event import Event

__all__ = ["Catalogue", "Event", "PathState", "SearchHit"]
