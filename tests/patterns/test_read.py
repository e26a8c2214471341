"""What a worker runs: kinds told by bytes, facts put together, a failing rule that costs only its answers."""

from __future__ import annotations

from pathlib import Path

import pytest
from makers import shrunk_to_letter, tiles_that_stop_at_the_frame
from rawpdf import RawPdf, words

from vault.model.pattern import PatternFacts
from vault.patterns import rules
from vault.patterns.pictures import png
from vault.patterns.read import LARGEST_FILE, read_file

PDF = "application/pdf"


def _facts(path: Path, data: bytes, media_type: str = PDF, name: str = "") -> PatternFacts:
    path.write_bytes(data)
    return read_file(path, media_type=media_type, name=name or path.name).facts


def test_a_pattern_is_told_whole(tmp_path: Path) -> None:
    made = tiles_that_stop_at_the_frame()
    facts = _facts(tmp_path / "object", made.data, name=made.name)
    assert facts.pages == 9
    assert [(s.paper, s.use, s.pages) for s in facts.sheets] == [("Letter", "instructions", 1), ("Letter", "tiled", 8)]
    assert facts.scale_check is not None
    assert (facts.scale_check.stated_mm, facts.scale_check.ok) == (101.6, True)
    assert (facts.encrypted, facts.damaged, facts.unusable) == ("none", False, None)
    assert "Longshore Anorak" in facts.text
    assert facts.content_fingerprint
    assert any("test square on page 2" in why for why in facts.why)


def test_a_wrong_scale_comes_with_its_cause(tmp_path: Path) -> None:
    facts = _facts(tmp_path / "a.pdf", shrunk_to_letter().data)
    assert facts.scale_check is not None
    assert not facts.scale_check.ok
    assert "A4 page fitted on Letter" in facts.scale_check.note


@pytest.mark.parametrize(
    ("data", "said", "name", "media_type"),
    [
        (png(3, 2, 12, bytes(24)), PDF, "A0.pdf", "image/png"),
        (png(3, 2, 12, bytes(24)), "application/octet-stream", "x", "image/png"),
        (b'<svg width="9mm" height="9mm"/>', "text/plain", "x.svg", "image/svg+xml"),
        (b"Cast on 90 sts.", "text/plain", "x.txt", "text/plain"),
        (b"Cast on 90 sts.", "application/octet-stream", "x", "text/plain"),
        (b"\xff\xfeC\0a\0s\0t\0", "text/plain", "x.txt", "text/plain"),
        (b"\0\1\2\3", "application/octet-stream", "x.bin", "application/octet-stream"),
        (b"PK\x03\x04", "application/zip", "x.zip", "application/zip"),
    ],
)
def test_kinds_by_their_bytes(tmp_path: Path, data: bytes, said: str, name: str, media_type: str) -> None:
    assert _facts(tmp_path / "object", data, said, name).media_type == media_type


def test_a_pdf_under_another_name_and_type(tmp_path: Path) -> None:
    pdf = RawPdf()
    pdf.page(words("Cut 2 on fold", 50, 700))
    assert _facts(tmp_path / "object", pdf.finish(), "text/plain", "pattern.download").pages == 1


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Größe 38".encode(), "Größe 38"),
        ("Größe 38\r\nTaille".encode("cp1252"), "Größe 38\nTaille"),
        ("Größe".encode("utf-16"), "Größe"),
        ("Gro\u0308ße".encode(), "Größe"),
        ("\ufeffKleid".encode(), "Kleid"),
    ],
)
def test_text_files_are_decoded(tmp_path: Path, text: bytes, shown: str) -> None:
    assert _facts(tmp_path / "a.txt", text, "text/plain").text.strip() == shown


def test_a_failing_rule_costs_only_its_answers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> rules.RuleFacts:
        raise LookupError("no such word")

    monkeypatch.setattr(rules, "facts_from", fails)
    path = tmp_path / "a.pdf"
    path.write_bytes(tiles_that_stop_at_the_frame().data)
    reading = read_file(path, media_type=PDF, name="a.pdf")
    assert reading.facts.pages == 9
    assert reading.facts.scale_check is not None
    assert reading.problem is not None
    assert "LookupError: no such word" in reading.problem.reason


def test_a_locked_file_makes_no_item_held(tmp_path: Path) -> None:
    import io

    import pikepdf

    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(tiles_that_stop_at_the_frame().data)) as pdf:
        pdf.save(out, encryption=pikepdf.Encryption(user="u", owner="o"))
    path = tmp_path / "a.pdf"
    path.write_bytes(out.getvalue())
    reading = read_file(path, media_type=PDF, name="a.pdf")
    assert (reading.facts.encrypted, reading.facts.unusable, reading.facts.damaged) == ("user", "locked", False)
    assert reading.problem is not None
    assert "password" in reading.problem.reason


def test_a_file_too_large_is_not_read_into_memory(tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    with path.open("wb") as stream:
        stream.truncate(LARGEST_FILE + 1)
    reading = read_file(path, media_type=PDF, name="a.pdf")
    assert reading.problem is not None
    assert "larger than 512 MB" in reading.problem.reason


def test_reading_lightly_tells_sizes_only(tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(tiles_that_stop_at_the_frame().data)
    reading = read_file(path, media_type=PDF, name="a.pdf", light=True)
    assert reading.facts.pages == 9
    assert {s.paper for s in reading.facts.sheets} == {"Letter"}
    assert reading.pdf is not None
    assert not any(page.runs for page in reading.pdf.pages)
