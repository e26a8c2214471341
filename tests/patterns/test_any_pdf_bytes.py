"""Any bytes under the name of a PDF end in a reading: what lies on its pages, or one clear problem."""

from __future__ import annotations

import io
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfWriter

from vault.patterns.read import read_file


def _small() -> bytes:
    writer = PdfWriter()
    writer.add_blank_page(width=595, height=842)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


SMALL = _small()


def ends_well(raw: bytes, folder: Path) -> None:
    path = folder / "x.pdf"
    path.write_bytes(raw)
    reading = read_file(path, media_type="application/pdf", name="x.pdf")
    said = reading.pdf is not None and reading.pdf.n_pages > 0
    assert said or reading.problem is not None or reading.facts.damaged or reading.facts.why


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    raw=st.binary(max_size=600),
    head=st.sampled_from([b"", b"%PDF-1.4\n", b"%PDF-1.7\n1 0 obj\n<<", b"%PDF-1.4\n%%EOF\n"]),
)
def test_any_bytes(tmp_path: Path, raw: bytes, head: bytes) -> None:
    ends_well(head + raw, tmp_path)


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(place=st.integers(0, len(SMALL) - 1), value=st.binary(min_size=0, max_size=4), length=st.integers(0, 40))
def test_any_damage(tmp_path: Path, place: int, value: bytes, length: int) -> None:
    ends_well(SMALL[:place] + value + SMALL[place + length :], tmp_path)
