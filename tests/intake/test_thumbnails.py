"""Pictures of first pages: drawn in the guarded worker, kept as derived files, lost without harm."""

from __future__ import annotations

import io
import struct
from dataclasses import replace
from pathlib import Path

import pytest

from vault.intake.thumbnails import draw, lacking
from vault.model.pattern import PatternFacts, PatternFile
from vault.safekeeping.folder import VaultFolder, strangers
from vault.safekeeping.objects import ObjectStore
from vault.safekeeping.pictures import PictureFolder


def a_pdf(*, width: float = 420.0, height: float = 595.0) -> bytes:
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(width, height), invariant=True)
    canvas.rect(50, 50, 200, 300, fill=1)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def held(folder: VaultFolder, content: bytes, **facts: object) -> PatternFile:
    told = replace(PatternFacts(media_type="application/pdf", is_pattern=True, pages=1), **facts)  # type: ignore[arg-type]
    return PatternFile(sha256=ObjectStore(folder).keep(content), n_bytes=len(content), facts=told)


@pytest.fixture
def folder(tmp_path: Path) -> VaultFolder:
    made = VaultFolder(tmp_path / "vault")
    made.create()
    return made


def test_a_pattern_gets_its_picture_once_and_again_when_it_is_deleted(folder: VaultFolder) -> None:
    file = held(folder, a_pdf())
    pictures = PictureFolder(folder)
    assert draw(folder, [file]) == 1
    picture = pictures.find(file.sha256)
    assert picture is not None
    png = picture.read_bytes()
    # W3C PNG §5.2 (signature) and §11.2.2 (IHDR): the longer side of an upright page is its height
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">II", png[16:24]) == (226, 320)
    assert draw(folder, [file]) == 0
    picture.unlink()
    assert draw(folder, [file]) == 1
    assert pictures.path_of(file.sha256).read_bytes() == png
    assert strangers(folder.root) == []


def test_what_cannot_be_drawn_is_tried_once(folder: VaultFolder) -> None:
    file = held(folder, b"%PDF-1.4 nothing else")
    assert draw(folder, [file]) == 0
    assert PictureFolder(folder).find(file.sha256) is None
    assert lacking(folder, [file]) == []


@pytest.mark.parametrize(
    "facts",
    [{"is_pattern": False}, {"is_pattern": None}, {"encrypted": "user"}, {"pages": None}, {"media_type": "image/png"}],
)
def test_only_patterns_that_a_viewer_would_show_are_drawn(folder: VaultFolder, facts: dict[str, object]) -> None:
    assert lacking(folder, [held(folder, a_pdf(), **facts)]) == []


def test_time_is_bounded(folder: VaultFolder) -> None:
    files = [held(folder, a_pdf(width=300 + n)) for n in range(3)]
    assert draw(folder, files, seconds=-1.0) == 0
    assert len(lacking(folder, files)) == 3


def test_a_name_that_is_no_digest_leads_nowhere(folder: VaultFolder) -> None:
    with pytest.raises(ValueError, match="SHA-256"):
        PictureFolder(folder).path_of("../../etc/passwd")
