"""Boxes, rotation, units, layers, encryption, actions: as ISO 32000 has them and as files break them."""

from __future__ import annotations

import io

import pikepdf
import pytest
from rawpdf import RawPdf, stream, words

from vault.model.pdf import PageReading
from vault.patterns.pdf import read_pdf


def _size(page: PageReading) -> tuple[float, float]:
    return round(page.width_mm, 1), round(page.height_mm, 1)


# One row per construction: what is written, what a viewer shows (mm).
BOXES = [
    ("/MediaBox [0 0 842 1191] /Rotate 270", (420.2, 297.0)),  # as pypdf's AutoCad_Diagram.pdf
    ("/MediaBox [0 0 595 842] /Rotate 270", (297.0, 209.9)),  # as AutoCad_Simple.pdf
    ("/MediaBox [0 0 283.465 283.465]", (100.0, 100.0)),  # as inkscape-abc.pdf
    ("/MediaBox [0 0 1800 3600] /UserUnit 10", (6350.0, 12700.0)),  # as ocrmypdf's poster.pdf
    ("/MediaBox [0 0 612 -792]", (215.9, 279.4)),  # corners in any order
    ("/MediaBox [612 792 0 0]", (215.9, 279.4)),
    ("/MediaBox [-100 -50 495.276 791.89]", (210.0, 297.0)),
    ("/MediaBox [0 0 1000 1000] /CropBox [100 100 695.276 941.89]", (210.0, 297.0)),
    ("/MediaBox [0 0 595.276 841.89] /CropBox [-50 -50 700 900]", (210.0, 297.0)),  # crop reaches beyond the media
    ("/MediaBox [0 0 1000 1000] /CropBox [100 100 695.276 941.89] /Rotate 90 /UserUnit 2", (594.0, 420.0)),
    ("/MediaBox [0 0 595.276 841.89] /TrimBox [20 20 500 800] /BleedBox [5 5 590 830]", (210.0, 297.0)),
    ("/MediaBox [0 0 595.276 841.89] /Rotate 450", (297.0, 210.0)),
    ("/MediaBox [0 0 595.276 841.89] /Rotate -90", (297.0, 210.0)),
]


@pytest.mark.parametrize(("entries", "shown"), BOXES)
def test_size_as_a_viewer_shows_it(entries: str, shown: tuple[float, float]) -> None:
    pdf = RawPdf()
    pdf.page(words("x", 10, 10), entries)
    assert _size(read_pdf(pdf.finish()).pages[0]) == shown


def test_media_box_crop_box_and_rotate_are_inherited() -> None:
    pdf = RawPdf(media_box="", tree="/MediaBox [0 0 1191 842] /CropBox [0 0 842 595] /Rotate 90")
    pdf.page(words("inherited", 10, 10))
    pdf.page(words("its own", 10, 10), "/MediaBox [0 0 612 792] /Rotate 0 /CropBox [0 0 612 792]")
    assert [_size(p) for p in read_pdf(pdf.finish()).pages] == [(209.9, 297.0), (215.9, 279.4)]


def test_each_page_has_its_own_unit() -> None:
    pdf = RawPdf()
    for unit in (1, 2, 0.5):
        pdf.page(b"", f"/UserUnit {unit}")
    assert [p.user_unit for p in read_pdf(pdf.finish()).pages] == [1, 2, 0.5]


def test_text_stands_where_it_is_shown_after_rotation_and_unit() -> None:
    pdf = RawPdf(media_box="[0 0 600 800]")
    pdf.page(words("corner", 30, 760), "/Rotate 90 /UserUnit 2")
    (run,) = read_pdf(pdf.finish()).pages[0].runs
    assert (run.x, run.y) == (pytest.approx(760 * 2 * 25.4 / 72, abs=3), pytest.approx(30 * 2 * 25.4 / 72, abs=9))


def test_page_labels() -> None:
    pdf = RawPdf(catalogue="/PageLabels << /Nums [0 << /S /r >> 1 << /S /D /P (A-) /St 5 >>] >>")
    pdf.page()
    pdf.page()
    assert [p.label for p in read_pdf(pdf.finish()).pages] == ["i", "A-5"]


def _layered(default: str, names: tuple[str, ...] = ("(A)", "(B)", "(C)"), order: str = "") -> bytes:
    pdf = RawPdf()
    groups = [pdf.add(f"<< /Type /OCG /Name {name} >>") for name in names]
    refs = [f"{number} 0 R" for number in groups]
    default = default.format(*refs)
    pdf.catalogue = f"/OCProperties << /OCGs [{' '.join(refs)} {order}] /D << {default} >> >>"
    pdf.page(words("x", 9, 9))
    return pdf.finish()


@pytest.mark.parametrize(
    ("default", "visible"),
    [
        ("", (True, True, True)),
        ("/BaseState /OFF", (False, False, False)),
        ("/BaseState /OFF /ON [{1}]", (False, True, False)),
        ("/OFF [{0} {2}]", (False, True, False)),
        ("/BaseState /Unchanged /OFF [{2}]", (True, True, False)),
        ("/ON [{0}] /OFF [{0}]", (False, True, True)),  # ON first, then OFF
        ("/RBGroups [[{0} {1}]] /OFF [{0}]", (False, True, True)),
    ],
)
def test_default_visibility_of_layers(default: str, visible: tuple[bool, ...]) -> None:
    assert tuple(layer.visible for layer in read_pdf(_layered(default)).layers) == visible


def test_layer_names_repeat_hold_nuls_or_are_null() -> None:
    names = ("(Layer 1)", "(Layer 1)", "(Gr. 38\\000)", "null", "<FEFF004700720030>", "(\\344)")
    layers = read_pdf(_layered("", names, order="null 999 0 R")).layers
    assert [layer.name for layer in layers] == ["Layer 1", "Layer 1", "Gr. 38\0", None, "Gr0", "ä", None, None]


def test_layers_agree_with_pikepdf() -> None:
    data = _layered("/OFF [{1}]", ("(XS)", "(Gr\\366\\337e 38)", "<FEFF30B530A430BA>"))
    with pikepdf.open(io.BytesIO(data)) as pdf:
        raw = [str(group.Name) for group in pdf.Root.OCProperties.OCGs]
    assert [layer.name for layer in read_pdf(data).layers] == raw


def _locked(user: str, owner: str, revision: int) -> bytes:
    pdf = RawPdf(catalogue="/OCProperties << /OCGs [50 0 R] /D << >> >>")
    pdf.add("<< /Type /OCG /Name (Size 38) >>", 50)
    pdf.info = pdf.add("<< /Title (Locked Apron) >>")
    pdf.page(words("Cut 2 on fold", 50, 50))
    out = io.BytesIO()
    newer = revision >= 4
    lock = pikepdf.Encryption(user=user, owner=owner, R=revision, aes=newer, metadata=newer)
    with pikepdf.open(io.BytesIO(pdf.finish())) as opened:
        opened.save(out, encryption=lock)
    return out.getvalue()


@pytest.mark.parametrize("revision", [2, 3, 4, 6])
def test_encryption_with_an_owner_password_only(revision: int) -> None:
    reading = read_pdf(_locked("", "secret", revision))
    assert reading.encrypted == "owner"
    assert reading.damaged is None
    assert [run.text for run in reading.pages[0].runs] == ["Cut 2 on fold"]
    assert [layer.name for layer in reading.layers] == ["Size 38"]
    assert reading.metadata["Title"] == "Locked Apron"


@pytest.mark.parametrize("revision", [2, 3, 4, 6])
def test_encryption_with_a_user_password(revision: int) -> None:
    reading = read_pdf(_locked("open sesame", "secret", revision))
    assert (reading.encrypted, reading.damaged, reading.pages) == ("user", None, ())


def test_active_content_is_named_and_files_within_are_listed() -> None:
    pdf = RawPdf(
        catalogue="/OpenAction << /S /Launch /F (calc.exe) /Next << /S /JavaScript /JS (app.alert\\(1\\)) >> >> "
        "/Names << /EmbeddedFiles << /Names [(payload.exe) 90 0 R] >> >>"
    )
    pdf.add("<< /Type /Filespec /F (payload.exe) /EF << /F 91 0 R >> >>", 90)
    pdf.add(stream(b"MZ"), 91)
    pdf.page(words("Willow Case", 50, 50))
    reading = read_pdf(pdf.finish())
    assert reading.active_content == ("JavaScript", "Launch")
    assert reading.attachments == ("payload.exe",)
    assert reading.damaged is None


def test_active_content_in_object_streams_is_seen() -> None:
    pdf = RawPdf(catalogue="/OpenAction << /S /JavaScript /JS (x) >>")
    pdf.page(words("x", 50, 50))
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(pdf.finish())) as opened:
        opened.save(out, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    assert b"/JavaScript" not in out.getvalue()
    assert read_pdf(out.getvalue()).active_content == ("JavaScript",)


def test_links_are_text() -> None:
    pdf = RawPdf()
    note = pdf.add(
        "<< /Type /Annot /Subtype /Link /Rect [0 0 99 99] /A << /S /URI /URI (https://shop.example/d?t=1) >> >>"
    )
    pdf.page(words("x", 5, 5), f"/Annots [{note} 0 R]")
    assert read_pdf(pdf.finish()).pages[0].links == ("https://shop.example/d?t=1",)


@pytest.mark.parametrize("mode", ["streams", "linear", "pypdf"])
def test_resaved_files_read_the_same(mode: str) -> None:
    data = _layered("/OFF [{1}]")
    out = io.BytesIO()
    if mode == "pypdf":
        from pypdf import PdfWriter

        PdfWriter(clone_from=io.BytesIO(data)).write(out)
    else:
        with pikepdf.open(io.BytesIO(data)) as opened:
            opened.save(out, linearize=mode == "linear", object_stream_mode=pikepdf.ObjectStreamMode.generate)
    before, after = read_pdf(data), read_pdf(out.getvalue())
    assert after.damaged is None
    assert (after.layers, after.pages) == (before.layers, before.pages)
