"""Letter, proof and manifest as one folder or one zip.

```
letter.txt              to paste into a mail
letter.pdf              to print or attach
proof/01-...            the receipts
manifest-sha256.txt     the digest of every file here (the form of `sha256sum -c`)
originals.txt           which kept document each receipt is or was made from
```
Written beside the target and renamed at the end: a run that fails leaves nothing.  The same claim gives the same bytes.
"""

from __future__ import annotations

import hashlib
import io
import os
import shutil
import zipfile
from pathlib import Path

from vault.claims.letter import Letter
from vault.claims.paper import Sheet, as_pdf
from vault.claims.proof import Proof
from vault.errors import VaultError

_STAMP = (1980, 1, 1, 0, 0, 0)
MANIFEST = "manifest-sha256.txt"


def contents(letter: Letter, proof: Proof) -> dict[str, bytes]:
    """Every file of the packet by its path, the manifest last."""
    files = {
        "letter.txt": letter.text.encode("utf-8"),
        "letter.pdf": as_pdf(Sheet(title=letter.subject, lines=letter.lines)),
    }
    for attached in proof.files:
        files[f"proof/{attached.name}"] = attached.content
    if proof.files:
        rows = [f"{a.original}  proof/{a.name}\n" for a in proof.files]
        files["originals.txt"] = "".join(rows).encode("ascii")
    listed = [f"{hashlib.sha256(content).hexdigest()}  {path}\n" for path, content in files.items()]
    return {**files, MANIFEST: "".join(listed).encode("ascii")}


def write(files: dict[str, bytes], target: Path) -> None:
    """Writes the packet: a zip where `target` ends with .zip, else a folder.

    Never over anything.  Raises VaultError with the next step.
    """
    if target.exists() and not (target.is_dir() and not any(target.iterdir())):
        raise VaultError(f"{target} exists already", "name a new folder or zip with --out", code="exists")
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        if target.suffix.lower() == ".zip":
            beside.write_bytes(_zipped(files))
        else:
            for path, content in files.items():
                place = beside / path
                place.parent.mkdir(parents=True, exist_ok=True)
                place.write_bytes(content)
            if target.is_dir():
                target.rmdir()
        beside.rename(target)
    except OSError as error:
        _remove(beside)
        raise VaultError(
            f"cannot write {target}: {error.strerror}", "name a place that you can write to with --out"
        ) from None


def _zipped(files: dict[str, bytes]) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, content in files.items():
            info = zipfile.ZipInfo(path, _STAMP)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            archive.writestr(info, content)
    return made.getvalue()


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path, ignore_errors=True)
    else:
        path.unlink(missing_ok=True)
