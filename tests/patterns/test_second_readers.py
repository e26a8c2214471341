"""Second readers agree: page sizes with mutool and pikepdf, layers with pikepdf, words with pdftotext.

mutool and pdftotext are asked where they are installed.  mutool applies UserUnit, pdfinfo and pdfium do not, pikepdf
only reports it (trap 3 of the check values).
"""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import unicodedata
from collections import Counter
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from makers import BUILDERS
from rawpdf import RawPdf, words

from vault.patterns.pdf import read_pdf
from vault.patterns.pdf_lines import text_of_page

POINT = 25.4 / 72


def _odd_boxes() -> bytes:
    pdf = RawPdf(tree="/Rotate 90")
    for entries in (
        "/MediaBox [0 0 842 1191] /Rotate 270",
        "/MediaBox [612 792 0 0]",
        "/MediaBox [0 0 1800 3600] /UserUnit 10",
        "/MediaBox [0 0 1000 1000] /CropBox [100 100 695 941] /Rotate 0",
        "/MediaBox [-50 -50 545 792]",
        "/MediaBox [0 0 595 842] /CropBox [-9 -9 700 900] /UserUnit 2.5",
    ):
        pdf.page(words("Tile", 20, 20), entries)
    return pdf.finish()


FILES = {builder.__name__: builder().data for builder in BUILDERS} | {"odd_boxes": _odd_boxes()}


def _inherited(page: Any, key: str) -> Any:
    node = page.obj
    for _ in range(50):
        if key in node:
            return node[key]
        if "/Parent" not in node:
            return None
        node = node["/Parent"]
    return None


def _shown(page: Any) -> tuple[float, float]:
    """The size as a viewer shows it, by the boxes as pikepdf reports them."""

    def box(key: str) -> list[float] | None:
        value = _inherited(page, key)
        if value is None:
            return None
        x0, y0, x1, y1 = (float(x) for x in value)
        return [min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)]

    media = box("/MediaBox") or [0, 0, 612, 792]
    crop = box("/CropBox") or media
    width = min(media[2], crop[2]) - max(media[0], crop[0])
    height = min(media[3], crop[3]) - max(media[1], crop[1])
    scale = float(page.obj.get("/UserUnit", 1)) * POINT
    size = (width * scale, height * scale)
    return size[::-1] if int(_inherited(page, "/Rotate") or 0) % 180 else size


@pytest.mark.parametrize("name", FILES)
def test_sizes_and_layers_agree_with_pikepdf(name: str) -> None:
    reading = read_pdf(FILES[name])
    with pikepdf.open(io.BytesIO(FILES[name])) as pdf:
        assert len(pdf.pages) == reading.n_pages
        for page, ours in zip(pdf.pages, reading.pages, strict=True):
            assert (ours.width_mm, ours.height_mm) == pytest.approx(_shown(page), abs=0.1)
        groups = pdf.Root.OCProperties.OCGs if "/OCProperties" in pdf.Root else []
        names = [str(group.Name) if "/Name" in group else None for group in groups]
    assert [layer.name for layer in reading.layers] == names


@pytest.mark.skipif(not shutil.which("mutool"), reason="mutool is not installed")
def test_sizes_agree_with_mutool(tmp_path: Path) -> None:
    for name in ("odd_boxes", "turned_and_cropped", "booklet_and_sheet", "roll_sheet"):
        path = tmp_path / f"{name}.pdf"
        path.write_bytes(FILES[name])
        said = subprocess.run(["mutool", "draw", "-F", "stext", str(path)], capture_output=True, text=True, check=False)
        sizes = re.findall(r'<page [^>]*width="([\d.]+)" height="([\d.]+)"', said.stdout)
        reading = read_pdf(FILES[name])
        assert len(sizes) == reading.n_pages
        for (width, height), page in zip(sizes, reading.pages, strict=True):
            shown = (float(width) * POINT, float(height) * POINT)
            assert (page.width_mm, page.height_mm) == pytest.approx(shown, abs=0.5), (name, page.number)


def _words(text: str) -> Counter[str]:
    return Counter(re.findall(r"\w+", unicodedata.normalize("NFKC", text).casefold()))


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="pdftotext is not installed")
def test_words_agree_with_pdftotext(tmp_path: Path) -> None:
    """Word recall of at least 98 % over all files."""
    found = wanted = 0
    for name, data in FILES.items():
        path = tmp_path / f"{name}.pdf"
        path.write_bytes(data)
        said = subprocess.run(["pdftotext", "-q", str(path), "-"], capture_output=True, check=False)
        theirs = _words(said.stdout.decode("utf-8", "replace"))
        ours = _words("\n".join(text_of_page(page) for page in read_pdf(data).pages))
        wanted += sum(theirs.values())
        found += sum((theirs & ours).values())
    assert wanted > 4_000
    assert found / wanted >= 0.98
