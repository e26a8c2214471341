"""Killed at any moment and started again, an import comes to the same end as undisturbed; inputs are untouched."""

from __future__ import annotations

import io
import os
import random
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest
from stand_ins import mail, pdf, put

from vault.catalogue import Catalogue
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.objects import ObjectStore

_CHILD = """
import sys, time
from datetime import date
from pathlib import Path
sys.path.insert(0, sys.argv[1])
import stand_ins
from vault.intake import ingest as module
from vault.safekeeping.folder import VaultFolder
module._BATCH_UNITS = 4
plain = stand_ins.read_file
def slow(job):
    time.sleep(0.004)
    return plain(job)
stand_ins.read_file = slow
print("ready", flush=True)
module.ingest(VaultFolder(Path(sys.argv[2])), [Path(sys.argv[3])], day=date(2026, 3, 3), readers=stand_ins.readers())
"""


def _corpus(root: Path) -> None:
    messages = [mail(f"Order: TW-{n}", f"Item: Costume {n}", number=n) for n in range(30)]
    box = b"".join(b"From x@y.example Sun Mar  1 10:00:00 2026\n" + m + b"\n" for m in messages)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as made:
        for n in range(6):
            made.writestr(zipfile.ZipInfo(f"{n}.pdf"), pdf("PATTERN", f"Title: Costume {n}"))
    put(
        root,
        {
            "mail/box": box,
            "a.eml": mail("Order: TW-99", "Item: Costume 29", attached={"c.pdf": pdf("PATTERN", "Title: Costume 29")}),
            "Downloads/order.zip": buffer.getvalue(),
            "Downloads/cut.pdf": b"%PDF-1.4",
            "Downloads/bank.pdf": pdf("STATEMENT"),
            **{f"Downloads/{n}.pdf": pdf("PATTERN", f"Title: Costume {n}", "x" * 5000) for n in range(6, 29)},
        },
    )


def _start(vault: Path, inbox: Path) -> subprocess.Popen[bytes]:
    child = subprocess.Popen(
        [sys.executable, "-c", _CHILD, str(Path(__file__).parent), str(vault), str(inbox)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert child.stdout is not None
    child.stdout.readline()
    return child


def _state(vault: Path) -> object:
    folder = VaultFolder(vault)
    with Catalogue.open_read_only(folder.catalogue_path) as c:
        assert c.check() == []
        shown = (
            c.purchases(),
            c.files(),
            c.sellers(),
            c.questions(),
            c.problems(),
            c.claims(),
            c.value("derived-stale"),
        )
    store = ObjectStore(folder)
    assert all(store.intact(d) for d in store.digests())
    return shown, set(store.digests()), sorted(p.name for p in folder.tmp_path.iterdir())


@pytest.mark.kill
@pytest.mark.skipif(os.name == "nt", reason="SIGKILL is POSIX")
def test_a_killed_import_comes_to_the_same_end(tmp_path: Path) -> None:
    inbox = tmp_path / "in"
    _corpus(inbox)
    for path in inbox.rglob("*"):
        if path.is_file():
            os.utime(path, ns=(10**18, 10**18))
    before = {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in inbox.rglob("*") if p.is_file()}

    undisturbed = _start(tmp_path / "whole", inbox)
    begun = time.monotonic()
    assert undisturbed.wait(60) == 0, undisturbed.communicate()[1].decode()
    undisturbed.communicate()
    work_seconds = time.monotonic() - begun
    expected = _state(tmp_path / "whole")

    chance = random.Random(2026)
    killed = 0
    until = time.monotonic() + 14
    for attempt in range(40):
        child = _start(tmp_path / "killed", inbox)
        # Each attempt gets on a little further and dies somewhere; the last ones are left alone.
        patient = attempt >= 12 or time.monotonic() > until
        try:
            child.wait(None if patient else work_seconds * chance.uniform(0.0, 0.3))
        except subprocess.TimeoutExpired:
            child.send_signal(signal.SIGKILL)
            killed += 1
        _, said = child.communicate()
        assert child.returncode in (0, -signal.SIGKILL), said.decode()
        if child.returncode == 0:
            break
    assert killed >= 3
    assert _state(tmp_path / "killed") == expected
    assert {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in inbox.rglob("*") if p.is_file()} == before
