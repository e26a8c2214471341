"""Files built to hang, swell or run something: survived within limits, nothing run, what can be told is told."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from makers import booklet_and_sheet
from rawpdf import RawPdf, stream, words

from vault.patterns.guard import Guard
from vault.patterns.limits import ReadLimits
from vault.patterns.pdf import read_pdf

LABEL = words("test square 10 cm", 50, 780)


def form_in_itself() -> bytes:
    pdf = RawPdf()
    number = pdf.add(b"")
    use = f"/Type /XObject /Subtype /Form /BBox [0 0 99 99] /Resources << /XObject << /X {number} 0 R >> >>"
    pdf.add(stream(b"/X Do 0 0 50 50 re S", use), number)
    pdf.page(b"/X Do " + LABEL, resources=f"/XObject << /X {number} 0 R >>")
    return pdf.finish()


def forms_that_multiply() -> bytes:
    pdf, inner = RawPdf(), 0
    for _ in range(20):
        inner = pdf.form(b"/X Do " * 10, resources=f"/XObject << /X {inner} 0 R >>" if inner else "")
    pdf.page(b"/X Do " + LABEL, resources=f"/XObject << /X {inner} 0 R >>")
    return pdf.finish()


def page_tree_loop() -> bytes:
    pdf = RawPdf()
    pdf.page()
    pdf.objects[2] = b"<< /Type /Pages /Count 2 /Kids [2 0 R 2 0 R] /MediaBox [0 0 595 842] >>"
    return pdf.finish()


def parent_loop() -> bytes:
    pdf = RawPdf(media_box="")
    number = pdf.page(LABEL)
    pdf.objects[number] = pdf.objects[number].replace(b"/Parent 2 0 R", b"/Parent %d 0 R" % number)
    return pdf.finish()


def xref_loop() -> bytes:
    pdf = RawPdf()
    pdf.page(LABEL)
    data = pdf.finish()
    start = int(data[data.rindex(b"startxref") + 10 :].split()[0])
    return data.replace(b"/Root 1 0 R", b"/Root 1 0 R /Prev %d" % start)


def deep_tree() -> bytes:
    pdf = RawPdf()
    page = pdf.page(LABEL)
    for level in range(3_000):
        pdf.add(f"<< /Type /Pages /Count 1 /Kids [{100 + level + 1 if level < 2_999 else page} 0 R] >>", 100 + level)
    pdf.objects[2] = b"<< /Type /Pages /Count 1 /Kids [100 0 R] >>"
    return pdf.finish()


def deep_arrays() -> bytes:
    pdf = RawPdf(catalogue="/Deep " + "[" * 100_000 + "]" * 100_000)
    pdf.page(LABEL)
    return pdf.finish()


def deep_dictionaries() -> bytes:
    pdf = RawPdf(catalogue="/Deep " + "<</A " * 50_000 + "1" + ">>" * 50_000)
    pdf.page(LABEL)
    return pdf.finish()


def blank_300_mb() -> bytes:
    pdf = RawPdf()
    pdf.page(b" " * 300_000_000, packed=True)
    return pdf.finish()


def count_of_two_thousand_million() -> bytes:
    pdf = RawPdf()
    page = pdf.page(LABEL)
    pdf.objects[2] = b"<< /Type /Pages /Count 2000000000 /Kids [%d 0 R] >>" % page
    return pdf.finish()


def impossible_boxes() -> bytes:
    pdf = RawPdf()
    for entries in (
        "/MediaBox [0 0 1e30 1e-30] /UserUnit 1e30",
        "/MediaBox [0 0 0 0]",
        "/MediaBox [nan 0 (x) 3]",
        "/MediaBox [0 0 100 100] /CropBox [500 500 600 600]",
        "/MediaBox null /Rotate 45",
        "/UserUnit -3",
    ):
        pdf.page(LABEL, entries)
    return pdf.finish()


def twenty_thousand_layers() -> bytes:
    pdf = RawPdf()
    pdf.page(LABEL)
    groups = [pdf.add(f"<< /Type /OCG /Name (L{n}) >>") for n in range(20_000)]
    pdf.catalogue = f"/OCProperties << /OCGs [{' '.join(f'{g} 0 R' for g in groups)}] /D << >> >>"
    return pdf.finish()


def sixty_thousand_strokes() -> bytes:
    pdf = RawPdf()
    strokes = b"".join(b"%d 0 m %d 0 l S\n" % (n % 50, n % 50 + 300) for n in range(60_000))
    pdf.page(LABEL + strokes, packed=True)
    return pdf.finish()


def five_thousand_pages() -> bytes:
    pdf = RawPdf()
    for number in range(5_000):
        pdf.page(words(f"Page {number}: 10 cm", 50, 700))
    return pdf.finish()


def runs_something() -> bytes:
    pdf = RawPdf(catalogue="/OpenAction << /S /Launch /F (/bin/touch) /Win << /F (touch) /P (mark) >> >>")
    note = pdf.add("<< /Type /Annot /Subtype /Link /Rect [0 0 600 800] /A << /S /URI /URI (http://127.0.0.1:9/) >> >>")
    script = "/AA << /O << /S /JavaScript /JS (app.launchURL\\('http://127.0.0.1:9'\\)) >> >>"
    pdf.page(LABEL, f"/Annots [{note} 0 R] {script}")
    return pdf.finish()


BUILDERS: tuple[Callable[[], bytes], ...] = (
    form_in_itself,
    forms_that_multiply,
    page_tree_loop,
    parent_loop,
    xref_loop,
    deep_tree,
    deep_arrays,
    deep_dictionaries,
    blank_300_mb,
    count_of_two_thousand_million,
    impossible_boxes,
    twenty_thousand_layers,
    sixty_thousand_strokes,
    five_thousand_pages,
    runs_something,
)


def test_all_are_survived_and_told_of(tmp_path: Path) -> None:
    with Guard(workers=2, seconds=30, max_bytes=512 << 20) as guard:
        for build in BUILDERS:
            path = tmp_path / f"{build.__name__}.pdf"
            path.write_bytes(build())
            before = sorted(tmp_path.iterdir())
            reading = guard.read(path, media_type="application/pdf", name=path.name)
            assert reading.facts.pages, build.__name__
            assert sorted(tmp_path.iterdir()) == before
            told = reading.problem is not None or reading.facts.why
            assert told, build.__name__


def test_a_swelling_page_is_a_problem_but_its_size_is_known(tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(forms_that_multiply())
    with Guard(workers=1, seconds=30, max_bytes=256 << 20) as guard:
        reading = guard.read(path, media_type="application/pdf", name="a.pdf")
    assert reading.problem is not None
    assert [(s.paper, s.pages) for s in reading.facts.sheets] == [("A4", 1)]


def test_what_runs_by_itself_is_only_named() -> None:
    reading = read_pdf(runs_something())
    assert reading.active_content == ("JavaScript", "Launch")
    assert reading.pages[0].links == ("http://127.0.0.1:9/",)


def test_bounds_are_kept_and_told() -> None:
    limits = ReadLimits(listed_pages=8, text_pages=4)
    pdf = RawPdf()
    for number in range(20):
        pdf.page(words(f"Page {number}", 50, 700))
    reading = read_pdf(pdf.finish(), limits=limits)
    assert (reading.n_pages, len(reading.pages)) == (20, 8)
    assert [page.text_read for page in reading.pages] == [True] * 4 + [False] * 4
    assert {page.width_mm for page in reading.pages} == {210.0}
    assert len(reading.notes) == 2


@pytest.mark.parametrize("seed", range(60))
def test_bytes_turned_at_random_raise_nothing(seed: int) -> None:
    """Whatever a disk or a transfer does to a file, reading it gives values."""
    rng = random.Random(seed)
    data = bytearray(booklet_and_sheet().data)
    for _ in range(rng.choice((1, 10, 200))):
        data[rng.randrange(len(data))] = rng.randrange(256)
    if seed % 3 == 0:
        start = rng.randrange(len(data))
        del data[start : start + rng.randrange(400)]
    reading = read_pdf(bytes(data))
    assert reading.n_pages >= 0
