"""What a worker runs for one file: bytes in, a FileReading out.

Provisional: PDFs are read; the rules over the reading and the other kinds follow.
"""

from __future__ import annotations

from pathlib import Path

from vault.model.pattern import FileReading, PatternFacts
from vault.patterns.pdf import read_pdf


def read_file(path: Path, *, media_type: str, name: str) -> FileReading:
    """Everything the file says.  `media_type` is what its bytes are, `name` the name it had in the world."""
    data = path.read_bytes()
    if media_type == "application/pdf" or b"%PDF-" in data[:1024]:
        reading = read_pdf(data)
        facts = PatternFacts(
            media_type="application/pdf", pages=reading.n_pages or None, layers=reading.layers,
            encrypted=reading.encrypted, damaged=reading.damaged is not None, metadata=reading.metadata,
        )
        return FileReading(facts=facts, pdf=reading)
    return FileReading(facts=PatternFacts(media_type=media_type))
