"""Evidence documents: what was read, from where; what was passed over and why; what could not be read.

A document is known by the SHA-256 of its bytes.  `reader` is the version of the readers that read it: asked with
another one, the catalogue answers "not known", so that a better reader gets its turn.  A claim keeps its number (`seq`)
when its document is read again, because ids of purchases hang on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from vault.catalogue.codec import from_json, to_json
from vault.catalogue.search import Search
from vault.model.evidence import (
    DocumentReading,
    EvidenceKind,
    Problem,
    PurchaseClaim,
    RecordedClaim,
    RecordedNotice,
    SellerNotice,
)


class Documents(Search):
    """The part of the catalogue that remembers evidence."""

    def document_known(self, sha256: str, *, reader: str = "") -> str | None:
        """What became of a document: "read", or the reason why it was passed over; None if `reader` has not seen it."""
        row = self._row(
            "SELECT 'read', reader FROM documents WHERE sha256 = ?"
            " UNION ALL SELECT reason, reader FROM passed_over WHERE sha256 = ?",
            (sha256, sha256),
        )
        return str(row[0]) if row and reader in ("", row[1]) else None

    def seen(self, digests: Sequence[str]) -> frozenset[str]:
        """Those of `digests` that are known in any way, as evidence or passed over, to any reader."""
        marks = ", ".join("?" * len(digests))
        rows = self._rows(
            f"SELECT sha256 FROM documents WHERE sha256 IN ({marks})"
            f" UNION ALL SELECT sha256 FROM passed_over WHERE sha256 IN ({marks})",
            [*digests, *digests],
        )
        return frozenset(r[0] for r in rows)

    def record_document(
        self,
        sha256: str,
        *,
        source: str,
        reading: DocumentReading,
        kept: bool = True,
        problems: Sequence[Problem] = (),
        reader: str = "",
    ) -> None:
        """Remembers what one document says.  Reading it again replaces what it said before."""
        # Claims and notices have rows of their own, attachments are documents and files of their own.
        slim = replace(reading, claims=(), notices=(), attachments=(), text="")
        with self.transaction():
            self._write("DELETE FROM passed_over WHERE sha256 = ?", (sha256,))
            self._write(
                "INSERT INTO documents (sha256, kind, about, subject, message_id, dated, language, kept, reader, body,"
                " text) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (sha256) DO UPDATE SET"
                " kind = excluded.kind, about = excluded.about, subject = excluded.subject,"
                " message_id = excluded.message_id, dated = excluded.dated, language = excluded.language,"
                " kept = max(kept, excluded.kept), reader = excluded.reader, body = excluded.body,"
                " text = excluded.text",
                (
                    sha256,
                    reading.kind.value,
                    reading.document.value,
                    storable(reading.subject),
                    storable(reading.message_id),
                    reading.dated.isoformat() if reading.dated else None,
                    reading.language,
                    int(kept),
                    reader,
                    to_json(slim),
                    storable(reading.text) or "",
                ),
            )
            self.add_source(sha256, source)
            self._replace_claims(sha256, reading)
            for problem in (*reading.problems, *problems):
                self.record_problem(problem)
            seq = self._row("SELECT seq FROM documents WHERE sha256 = ?", (sha256,))[0]  # type: ignore[index]
            self._index_document(seq, sha256, reading, source)

    def _replace_claims(self, sha256: str, reading: DocumentReading) -> None:
        for place, claim in enumerate(reading.claims):
            self._write(
                "INSERT INTO claims (sha256, place, seller, order_number, body) VALUES (?, ?, ?, ?, ?)"
                " ON CONFLICT (sha256, place) DO UPDATE SET"
                " seller = excluded.seller, order_number = excluded.order_number, body = excluded.body",
                (sha256, place, storable(claim.seller), storable(claim.order_number), to_json(claim)),
            )
        for place, notice in enumerate(reading.notices):
            self._write(
                "INSERT INTO notices (sha256, place, seller, body) VALUES (?, ?, ?, ?)"
                " ON CONFLICT (sha256, place) DO UPDATE SET seller = excluded.seller, body = excluded.body",
                (sha256, place, storable(notice.seller), to_json(notice)),
            )
        self._write("DELETE FROM claims WHERE sha256 = ? AND place >= ?", (sha256, len(reading.claims)))
        self._write("DELETE FROM notices WHERE sha256 = ? AND place >= ?", (sha256, len(reading.notices)))

    def add_source(self, sha256: str, source: str) -> bool:
        """Remembers one more place where a known document was found.  False if it was known."""
        at = (sha256, storable(source))
        return bool(self._write("INSERT OR IGNORE INTO sources (sha256, source) VALUES (?, ?)", at))

    def pass_over(self, sha256: str, source: str, reason: str, *, reader: str = "") -> bool:
        """Remembers by digest and reason only that a document or file is not kept; `source` is not remembered.

        True if it was evidence before, so that what followed from it no longer holds.
        """
        del source
        with self.transaction():
            was_evidence = bool(self._write("DELETE FROM documents WHERE sha256 = ?", (sha256,)))
            self._write("INSERT OR REPLACE INTO passed_over VALUES (?, ?, ?)", (sha256, reason, reader))
        return was_evidence

    def pass_over_unseen(self, rows: Sequence[tuple[str, str]], *, reader: str = "") -> None:
        """Remembers digests with reasons that the catalogue has never seen in any way: fast, for mailboxes."""
        self._write_all(
            "INSERT OR REPLACE INTO passed_over (sha256, reason, reader) VALUES (?, ?, ?)",
            [(sha256, reason, reader) for sha256, reason in rows],
        )

    def document(self, sha256: str) -> DocumentReading | None:
        """What one document says, as it was last read (attachments left out)."""
        row = self._row("SELECT body, text FROM documents WHERE sha256 = ?", (sha256,))
        if not row:
            return None
        claims = self._rows("SELECT body FROM claims WHERE sha256 = ? ORDER BY place", (sha256,))
        notices = self._rows("SELECT body FROM notices WHERE sha256 = ? ORDER BY place", (sha256,))
        return replace(
            from_json(DocumentReading, row[0]),
            text=row[1],
            claims=tuple(from_json(PurchaseClaim, r[0]) for r in claims),
            notices=tuple(from_json(SellerNotice, r[0]) for r in notices),
        )

    def outdated_documents(self, reader: str) -> tuple[str, ...]:
        """Digests of kept documents that another version of the readers read, in order of recording."""
        rows = self._rows("SELECT sha256 FROM documents WHERE reader <> ? AND kept = 1 ORDER BY seq", (reader,))
        return tuple(r[0] for r in rows)

    def sources(self, sha256: str) -> tuple[str, ...]:
        """Every place where a document was found, first one first."""
        return tuple(r[0] for r in self._rows("SELECT source FROM sources WHERE sha256 = ? ORDER BY seq", (sha256,)))

    def senders(self) -> dict[str, str]:
        """Digest of each mail -> its sender as shown, where one is; it proves nothing."""
        rows = self._rows("SELECT sha256, json_extract(body, '$.sender') FROM documents")
        return {r[0]: str(r[1]) for r in rows if r[1]}

    def claims(self) -> tuple[RecordedClaim, ...]:
        """All claims in order of recording."""
        rows = self._rows(
            "SELECT c.seq, c.sha256, d.kind, c.place, c.body, d.dated, d.message_id, d.language"
            " FROM claims c JOIN documents d USING (sha256) ORDER BY c.seq"
        )
        return tuple(
            RecordedClaim(
                seq=r[0],
                evidence_sha256=r[1],
                evidence_kind=EvidenceKind(r[2]),
                index=r[3],
                claim=from_json(PurchaseClaim, r[4]),
                dated=date.fromisoformat(r[5]) if r[5] else None,
                message_id=r[6],
                language=r[7],
            )
            for r in rows
        )

    def notices(self) -> tuple[RecordedNotice, ...]:
        """All notices in order of recording."""
        rows = self._rows(
            "SELECT n.seq, n.sha256, n.body, d.dated FROM notices n JOIN documents d USING (sha256) ORDER BY n.seq"
        )
        return tuple(
            RecordedNotice(
                seq=r[0],
                evidence_sha256=r[1],
                notice=from_json(SellerNotice, r[2]),
                dated=date.fromisoformat(r[3]) if r[3] else None,
            )
            for r in rows
        )

    def record_problem(self, problem: Problem) -> None:
        """Remembers what could not be read, until `clear_problem`."""
        self._write(
            "INSERT INTO problems (source, reason, next) VALUES (?, ?, ?)"
            " ON CONFLICT (source, reason) DO UPDATE SET next = excluded.next",
            (storable(problem.source) or "", storable(problem.reason) or "", storable(problem.next) or ""),
        )

    def problems(self) -> tuple[Problem, ...]:
        """What could not be read and was not read since."""
        rows = self._rows("SELECT source, reason, next FROM problems ORDER BY seq")
        return tuple(Problem(source=r[0], reason=r[1], next=r[2]) for r in rows)

    def clear_problem(self, source: str, *, inside: bool = True) -> int:
        """Forgets the problems of `source`, and of what lies inside it (`source#n`, `source > member`); how many."""
        if not inside:
            return self._write("DELETE FROM problems WHERE source = ?", (storable(source),))
        return self._write(
            "DELETE FROM problems WHERE source = ? OR substr(source, 1, length(?) + 1) = ? || '#'"
            " OR substr(source, 1, length(?) + 3) = ? || ' > '",
            (storable(source),) * 5,
        )


def storable(text: str | None) -> str | None:
    """`text` without lone surrogates, which SQLite's UTF-8 cannot hold (the JSON body keeps them)."""
    if text is None:
        return None
    return text.encode("utf-8", "replace").decode("utf-8")
