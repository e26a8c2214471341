"""Bad input: one clear sentence each, the rest of the import goes on, no traceback."""

from __future__ import annotations

import io
import os
import shutil
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.journey.conftest import DEMO, Pinfold

GOOD = DEMO / "receipts" / "mail" / "moss-2207.eml"


def zip_of(members: dict[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as z:
        for name, content in members.items():
            z.writestr(name, content)
    return buffer.getvalue()


def nested_mime(depth: int) -> bytes:
    """Multipart within multipart, `depth` deep."""
    head = b"From: a@shop.example\r\nSubject: parts\r\nMIME-Version: 1.0\r\n"
    parts = [f'Content-Type: multipart/mixed; boundary="b{n}"\r\n\r\n--b{n}\r\n'.encode() for n in range(depth)]
    return head + b"".join(parts) + b"Content-Type: text/plain\r\n\r\nhello\r\n"


def encrypted_pdf() -> bytes:
    from pypdf import PdfReader, PdfWriter

    writer = PdfWriter(PdfReader(DEMO / "downloads" / "bonnet.pdf"))
    writer.encrypt("secret", algorithm="AES-256")
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


GREATCOAT = (DEMO / "downloads" / "Hafenmantel_A4.pdf").read_bytes()
# name, bytes, whether it must be named among the problems or the files
BAD: dict[str, Callable[[], bytes]] = {
    "truncated.pdf": lambda: GREATCOAT[:3000],
    "empty.pdf": lambda: b"",
    "locked.pdf": encrypted_pdf,
    "error page.pdf": lambda: b"<html><body><h1>404 Not found</h1></body></html>",
    "bomb.zip": lambda: zip_of({"zeros.pdf": b"\0" * (300 << 20)}),
    "escape.zip": lambda: zip_of({"../../evil.pdf": GREATCOAT, "/abs.pdf": GREATCOAT}),
    "cut.zip": lambda: zip_of({"a.pdf": GREATCOAT})[:2000],
    "headers.eml": lambda: b"".join(b"X-H%d: v\r\n" % n for n in range(20_000)) + b"From: a@b.example\r\n\r\nhello",
    "parts.eml": lambda: nested_mime(300),
    "noise.pdf": lambda: b"%PDF-1.7\n" + bytes(range(256)) * 40,
    "noise.eml": lambda: b"From: x\r\nSubject: \xff\xfe\r\nContent-Type: text/html; charset=nonsense\r\n\r\n\xff<table",
}


@pytest.mark.parametrize("name", sorted(BAD))
def test_bad_input_costs_only_itself(pinfold: Pinfold, tmp_path: Path, name: str) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / name).write_bytes(BAD[name]())
    shutil.copy(GOOD, folder / "zz good.eml")
    said = pinfold("import", folder, "--json")
    assert said.status in (0, 1)
    assert said.json()["imported"]["purchases_new"] == 1
    for problem in said.json()["problems"]:
        assert problem["reason"] and problem["next"]
        assert "\n" not in problem["reason"]
    named = {p["source"] for p in said.json()["problems"]}
    if name in (
        "truncated.pdf",
        "bomb.zip",
        "escape.zip",
        "cut.zip",
        "locked.pdf",
        "error page.pdf",
        "empty.pdf",
        "noise.pdf",
    ):
        assert any(name in source for source in named), said.out
    assert not (tmp_path / "evil.pdf").exists()
    stray = [p for p in tmp_path.rglob("*.pdf") if p.name in ("evil.pdf", "abs.pdf")]
    assert all(p.is_relative_to(pinfold.vault / "shelf") for p in stray)


def test_a_bad_import_is_said_once_more_but_changes_nothing(pinfold: Pinfold, tmp_path: Path) -> None:
    (tmp_path / "truncated.pdf").write_bytes(GREATCOAT[:3000])
    first = pinfold("import", tmp_path / "truncated.pdf", "--json")
    second = pinfold("import", tmp_path / "truncated.pdf", "--json")
    assert first.status == 1 and first.json()["problems"]
    assert second.json()["imported"]["files_new"] == 0


@pytest.mark.skipif(sys.platform == "win32" or not hasattr(os, "mkfifo"), reason="no pipes in folders here")
def test_links_pipes_and_unreadable_files_cost_only_themselves(pinfold: Pinfold, tmp_path: Path) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    os.mkfifo(folder / "pipe.eml")
    (folder / "loop").symlink_to(folder)
    (folder / "elsewhere.eml").symlink_to(GOOD)
    shutil.copy(GOOD, folder / "good.eml")
    said = pinfold("import", folder, "--json")
    assert said.json()["imported"]["purchases_new"] == 1
    (purchase,) = pinfold("purchases", "--json").json()["purchases"]
    assert [e["source"] for e in purchase["evidence"]] == [str(folder / "good.eml")]


def test_restore_refuses_what_it_must(demo_vault: Pinfold, tmp_path: Path, passphrase_file: Path) -> None:
    from dataclasses import replace

    stick = tmp_path / "stick"
    demo_vault("backup", "--to", stick, "--passphrase-file", passphrase_file)
    wrong = tmp_path / "wrong.txt"
    wrong.write_text("not it\n", encoding="utf-8")
    target = tmp_path / "target"
    new = replace(demo_vault, vault=target)

    said = new("restore", "--from", stick, "--passphrase-file", wrong)
    assert said.status == 3 and "passphrase" in said.err
    assert not target.exists()

    said = new("restore", "--from", tmp_path / "nowhere", "--passphrase-file", passphrase_file)
    assert said.status == 3 and "nowhere" in said.err

    target.mkdir()
    (target / "diary.txt").write_text("mine", encoding="utf-8")
    said = new("restore", "--from", stick, "--passphrase-file", passphrase_file)
    assert said.status == 3
    assert [p.name for p in target.iterdir()] == ["diary.txt"]


def test_backup_to_a_place_that_cannot_be_written(demo_vault: Pinfold, tmp_path: Path, passphrase_file: Path) -> None:
    blocker = tmp_path / "a file"
    blocker.write_text("x", encoding="utf-8")
    said = demo_vault("backup", "--to", blocker / "below", "--passphrase-file", passphrase_file)
    assert said.status == 3
    assert "a file" in " ".join(said.err.split())
