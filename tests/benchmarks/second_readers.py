"""How far other readers agree: `python tests/benchmarks/second_readers.py FOLDER`.

Over all PDFs below the folder that open without a password: page sizes against `mutool pages` and pikepdf, layers
against pikepdf's raw /OCProperties, and of the words that `pdftotext` finds the share that is in our text.  Files that
one side cannot open are left out and counted; what differs is printed.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import unicodedata
from collections import Counter
from pathlib import Path
from typing import Any

import pikepdf

from vault.model.pdf import PdfReading
from vault.patterns.pdf import read_pdf

MM = 25.4 / 72
_WORD_RE = re.compile(r"\w{2,}")
_BOX_RE = re.compile(r'<page pagenum="(\d+)">(.*?)</page>', re.DOTALL)


def main(folder: Path) -> None:
    files = sorted(path for path in folder.rglob("*") if path.is_file() and path.read_bytes()[:5] == b"%PDF-")
    counts: Counter[str] = Counter()
    recalls: list[tuple[float, str]] = []
    for path in files:
        reading = read_pdf(path.read_bytes())
        if reading.encrypted == "user" or reading.damaged:
            counts["locked or damaged"] += 1
            continue
        try:
            with pikepdf.open(path) as pdf:
                _compare(counts, path, "page sizes, pikepdf", _sizes(reading), _pikepdf_sizes(pdf))
                _compare(counts, path, "layers, pikepdf", [layer.name for layer in reading.layers], _layers(pdf))
        except Exception as error:  # a second reader that fails is no disagreement
            counts["not opened by pikepdf"] += 1
            print(f"  {path.name}: pikepdf says {error}")
        if shutil.which("mutool"):
            _compare(counts, path, "page sizes, mutool", _sizes(reading), _mutool_sizes(path))
        if shutil.which("pdftotext"):
            recalls.append((_recall(reading, path), path.name))
    print(f"{len(files)} PDFs; {dict(counts)}")
    told = [recall for recall, _ in recalls]
    if told:
        print(f"words of pdftotext that we have: {100 * sum(told) / len(told):.2f} % on average, worst {min(recalls)}")


def _compare(counts: Counter[str], path: Path, what: str, ours: list[Any], theirs: list[Any] | None) -> None:
    if theirs is None:
        counts[f"{what}: not told"] += 1
        return
    same = len(ours) == len(theirs) and all(_same(a, b) for a, b in zip(ours, theirs, strict=True))
    counts[f"{what}: {'same' if same else 'other'}"] += 1
    if not same:
        print(f"  {path.name}: {what}: {ours[:3]} / {theirs[:3]} ({len(ours)} / {len(theirs)})")


def _same(a: Any, b: Any) -> bool:
    if isinstance(a, tuple):
        return all(abs(x - y) <= 0.2 + 0.0005 * abs(y) for x, y in zip(a, b, strict=True))
    return bool(a == b)


def _sizes(reading: PdfReading) -> list[tuple[float, float]]:
    return [(page.width_mm, page.height_mm) for page in reading.pages]


def _pikepdf_sizes(pdf: pikepdf.Pdf) -> list[tuple[float, float]]:
    sizes = []
    for page in pdf.pages:
        media, crop = ([float(x) for x in box] for box in (page.mediabox, page.cropbox))
        left, right = max(min(media[0::2]), min(crop[0::2])), min(max(media[0::2]), max(crop[0::2]))
        low, high = max(min(media[1::2]), min(crop[1::2])), min(max(media[1::2]), max(crop[1::2]))
        unit = float(page.obj.get("/UserUnit", 1)) * MM
        sides = (right - left) * unit, (high - low) * unit
        sizes.append(sides[::-1] if int(_inherited(page.obj, "/Rotate", 0)) % 180 else sides)
    return sizes


def _inherited(node: Any, key: str, default: Any) -> Any:
    for _ in range(50):
        if key in node:
            return node[key]
        if "/Parent" not in node:
            break
        node = node["/Parent"]
    return default


def _mutool_sizes(path: Path) -> list[tuple[float, float]] | None:
    done = subprocess.run(["mutool", "pages", str(path)], capture_output=True, text=True, timeout=60, check=False)
    sizes = []
    for _, body in _BOX_RE.findall(done.stdout):
        boxes = {
            name: [float(part) for part in re.findall(r'="([-\d.e]+)"', rest)]
            for name, rest in re.findall(r"<(\w+)((?: [a-z]=\"[^\"]*\")+) ?/>", body)
        }
        media, crop = boxes.get("MediaBox"), boxes.get("CropBox")
        if media is None or len(media) < 4:
            return None
        box = media if crop is None else _cut(media, crop)
        rotate = (boxes.get("Rotate") or [0])[0]
        unit = (boxes.get("UserUnit") or [1])[0] * MM
        sides = (box[2] - box[0]) * unit, (box[3] - box[1]) * unit
        sizes.append(sides[::-1] if int(rotate) % 180 else sides)
    return sizes or None


def _cut(media: list[float], crop: list[float]) -> list[float]:
    return [max(media[0], crop[0]), max(media[1], crop[1]), min(media[2], crop[2]), min(media[3], crop[3])]


def _layers(pdf: pikepdf.Pdf) -> list[str | None]:
    groups: Any = pdf.Root.get("/OCProperties", {}).get("/OCGs", [])
    return [str(group["/Name"]) if "/Name" in group else None for group in groups]


def _recall(reading: PdfReading, path: Path) -> float:
    done = subprocess.run(["pdftotext", "-q", str(path), "-"], capture_output=True, timeout=120, check=False)
    theirs = _words(done.stdout.decode("utf-8", "replace"))
    ours = _words(" ".join(run.text for page in reading.pages for run in page.runs))
    # A word that one side breaks at the end of a line is there all the same.
    joined = "".join(_squeezed(run.text) for page in reading.pages for run in page.runs)
    found = sum(min(n, ours[word]) if ours[word] else (n if word in joined else 0) for word, n in theirs.items())
    return found / sum(theirs.values()) if theirs else 1.0


def _squeezed(text: str) -> str:
    return "".join(_WORD_RE.findall(unicodedata.normalize("NFKC", text).casefold()))


def _words(text: str) -> Counter[str]:
    return Counter(_WORD_RE.findall(unicodedata.normalize("NFKC", text).casefold()))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
