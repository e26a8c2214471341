"""Full-text search over items, files and receipts (FTS5), in the words of any of the languages.

* accents do not matter ("Mohrchen" finds "Möhrchen"), and neither does the German way of writing around them: titles
  are indexed in both spellings ("Moehrchen");
* the last letters need not be typed: every word is also the beginning of one;
* Chinese and Japanese signs are indexed one by one and looked for in sequence, for they are written without blanks.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from vault.catalogue.store import Store
from vault.model.evidence import DocumentReading
from vault.model.pattern import PatternFile
from vault.model.purchase import Item, Purchase

_MOST_TEXT = 200_000
_MOST_HITS = 50
_SIGNS = "\u3040-\u30ff\u3400-\u4dbf\u4e00-\u9fff\uf900-\ufaff\uff66-\uff9f"
_SIGN_RE = re.compile(f"([{_SIGNS}])")
_BETWEEN_SIGNS_RE = re.compile(f"(?<=[{_SIGNS}]) +(?=[{_SIGNS}])")
_WORD_RE = re.compile(r"\w+")
_WRITTEN_AROUND = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa", "ø": "oe", "æ": "ae", "ß": "ss"})


@dataclass(frozen=True, kw_only=True)
class SearchHit:
    """One thing found: `kind` is "item", "file" or "receipt", `key` its id or digest, `words` the place around."""

    kind: str
    key: str
    title: str
    words: str


# kind, table; in the order in which they are shown
_TABLES = (("item", "found_items"), ("file", "found_files"), ("receipt", "found_documents"))


class Search(Store):
    """The part of the catalogue that finds things by words."""

    def search(self, words: str, *, limit: int = _MOST_HITS) -> tuple[SearchHit, ...]:
        """Everything that holds all of `words`, items first, then files, then receipts; the best of each first."""
        asked = _query(words)
        if not asked:
            return ()
        hits: list[SearchHit] = []
        for kind, table in _TABLES:
            rows = self._rows(
                f"SELECT key, title, snippet({table}, 1, '', '', '…', 12) FROM {table} WHERE {table} MATCH ?"
                f" ORDER BY bm25({table}, 10.0, 1.0), rowid LIMIT ?",
                (asked, limit),
            )
            hits += [SearchHit(kind=kind, key=r[0], title=_joined(r[1]), words=_joined(r[2])) for r in rows]
        return tuple(hits[:limit])

    def _index_document(self, seq: int, sha256: str, reading: DocumentReading, source: str) -> None:
        title = reading.subject or source
        self._index("found_documents", seq, sha256, title, [reading.sender or "", source, reading.text])

    def _index_file(self, seq: int, file: PatternFile) -> None:
        facts = file.facts
        names = [s.inside or s.path for s in file.sightings]
        title = facts.title or (names[0] if names else file.sha256)
        about = [facts.designer or "", facts.craft or "", facts.product_code or "", *facts.sizes, *facts.headings]
        self._index("found_files", seq, file.sha256, title, [*names, *about, facts.text])

    def _index_items(self, purchases: Iterable[Purchase]) -> None:
        self._write("DELETE FROM found_items")
        for purchase in purchases:
            for item in purchase.items:
                self._index("found_items", None, item.id, item.title, _item_words(purchase, item))

    def _index(self, table: str, rowid: int | None, key: str, title: str, body: list[str]) -> None:
        if rowid is not None:
            self._write(f"DELETE FROM {table} WHERE rowid = ?", (rowid,))
        around = _written_around(title)
        text = " ".join(filter(None, [*body, around if around != title.casefold() else ""]))[:_MOST_TEXT]
        self._write(
            f"INSERT INTO {table} (rowid, key, title, body) VALUES (?, ?, ?, ?)",
            (rowid, key, _indexed(title), _indexed(text)),
        )


def _item_words(purchase: Purchase, item: Item) -> list[str]:
    said = [item.designer, purchase.seller, purchase.order_number, item.product_code]
    day = purchase.purchased_on.isoformat() if purchase.purchased_on else None
    return [w for w in (*said, day, *item.options, *item.promised) if w]


def _indexed(text: str) -> str:
    """`text` in the form that is indexed: NFC, signs apart, no NULs or lone surrogates."""
    clean = text.encode("utf-8", "replace").decode("utf-8").replace("\0", " ")
    return _SIGN_RE.sub(r" \1 ", unicodedata.normalize("NFC", clean))


def _joined(text: str) -> str:
    """The readable form of an indexed text."""
    return " ".join(_BETWEEN_SIGNS_RE.sub("", " ".join(text.split())).split())


def _written_around(text: str) -> str:
    return unicodedata.normalize("NFC", text).casefold().translate(_WRITTEN_AROUND)


def _query(words: str) -> str:
    """An FTS5 query for all of `words`; nothing the person types is query syntax."""
    parts = []
    for token in unicodedata.normalize("NFC", words).split():
        found = _WORD_RE.findall(_SIGN_RE.sub(r" \1 ", token))
        if found:
            # One word as typed, "self-drafted" too, is a phrase; its end may be missing, except after a sign.
            phrase = '"' + " ".join(found) + '"'
            parts.append(phrase if _SIGN_RE.match(found[-1]) else phrase + "*")
    return " AND ".join(parts)
