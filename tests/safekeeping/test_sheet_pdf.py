"""The recovery sheet as PDF: other readers find every line of it, and the square is that of the key."""

from __future__ import annotations

import io
import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.safekeeping.keys import BackupKey
from vault.safekeeping.recovery import key_lines, recovery_sheet
from vault.safekeeping.sheet_pdf import text_width, wrapped

# C2SP age.md, the published example
IDENTITY = "AGE-SECRET-KEY-1GFPYYSJZGFPYYSJZGFPYYSJZGFPYYSJZGFPYYSJZGFPYYSJZGFPQ4EGAEX"


def sheet(**options: object) -> bytes:
    how: dict[str, object] = {"made_on": date(2026, 3, 7), "n_files": 412, "vault_name": "Mill (2)", **options}
    return recovery_sheet(BackupKey(identities=(IDENTITY,)), **how).pdf  # type: ignore[arg-type]


def test_another_reader_finds_all_that_is_needed() -> None:
    pypdf = pytest.importorskip("pypdf")
    reader = pypdf.PdfReader(io.BytesIO(sheet()), strict=True)
    assert len(reader.pages) == 1
    text = re.sub(r"\s+", " ", reader.pages[0].extract_text())
    for line in key_lines(IDENTITY):
        assert re.sub(r"\s+", " ", line) in text
    for words in (
        "2026-03-07",
        "412 files",
        "Mill (2)",
        "pinfold restore",
        "--recovery-key",
        "AGE-SECRET-KEY-1",
        "Delete key.txt.",
    ):
        assert words in text
    box = reader.pages[0].mediabox
    assert (round(box.width), round(box.height)) == (595, 842)


def test_everything_stands_on_the_page_also_on_us_letter() -> None:
    many = sheet(destinations=tuple(f"/media/stick-{n}/" + "folder/" * 20 for n in range(4)))
    places = [(float(x), float(y)) for x, y in re.findall(rb"Tf ([0-9.-]+) ([0-9.-]+) Td", many)]
    assert len(places) > 20
    # US Letter is 792 points high: what is lower than 50 of 842 would fall off it
    assert min(y for _, y in places) > 842 - 792 + 18 and min(x for x, _ in places) >= 50


def test_the_square_is_that_of_the_key() -> None:
    import segno

    raw = sheet()
    boxes = [tuple(map(float, b)) for b in re.findall(rb"([0-9.]+) ([0-9.]+) ([0-9.]+) ([0-9.]+) re", raw)]
    step = boxes[0][3]
    left, top = min(b[0] for b in boxes), max(b[1] for b in boxes) + step
    dark = {
        (round((top - y) / step) - 1, round((x - left) / step) + n)
        for x, y, w, _ in boxes
        for n in range(round(w / step))
    }
    matrix = segno.make(IDENTITY, error="q", micro=False).matrix
    assert dark == {(r, c) for r, row in enumerate(matrix) for c, module in enumerate(row) if module}


def test_widths_are_those_of_the_published_metrics() -> None:
    metrics = pytest.importorskip("reportlab.pdfbase.pdfmetrics")
    for code in range(32, 127):
        if chr(code) in "'`":  # the standard encoding has other quotation marks at these places
            continue
        assert text_width(chr(code), 1000) == pytest.approx(metrics.stringWidth(chr(code), "Helvetica", 1000)), chr(
            code
        )


@given(st.text(max_size=200))
def test_any_text_is_wrapped_whole(text: str) -> None:
    lines = wrapped(text, 100, 10)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(text_width(line, 10) <= 100 for line in lines)


@pytest.mark.parametrize("name", ["a) Tj ET (b", "back\\slash", "スカート", "line\nbreak", "\x00\x1f"])
def test_names_from_elsewhere_stay_text(name: str) -> None:
    pypdf = pytest.importorskip("pypdf")
    reader = pypdf.PdfReader(io.BytesIO(sheet(vault_name=name)), strict=True)
    assert "What to do" in reader.pages[0].extract_text()
