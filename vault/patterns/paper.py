"""Paper sizes by name: ISO 216, JIS P 0138, SRA, ASME Y14.1, architectural and United States papers, rolls.

A page is named after the nearest paper whose both sides are within tolerance, whichever way up the page lies.
Tolerances are those of ISO 216 (1.5 mm up to 150 mm, 2 mm up to 600 mm, 3 mm above), which also hold the roundings
that programs write (A4 occurs as 595x842, 596x842, 594.96x841.92 points...).  A new size is one row.
"""

from __future__ import annotations

from dataclasses import dataclass

INCH = 25.4
CUSTOM = "custom"


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A paper by name, portrait, mm.  `series` is where the size comes from."""

    name: str
    width: float
    height: float
    series: str


def _metric(series: str, prefix: str, sizes: str) -> list[Paper]:
    papers = []
    for entry in sizes.split():
        number, sides = entry.split(":")
        width, height = sides.split("x")
        papers.append(Paper(name=f"{prefix}{number}", width=float(width), height=float(height), series=series))
    return papers


def _inches(series: str, sizes: dict[str, tuple[float, float]]) -> list[Paper]:
    return [Paper(name=n, width=w * INCH, height=h * INCH, series=series) for n, (w, h) in sizes.items()]


# Where two papers have the same size the earlier row gives the name: ANSI A is called Letter, ANSI B Tabloid.
PAPERS: tuple[Paper, ...] = (
    *_metric(
        "ISO 216",
        "A",
        "0:841x1189 1:594x841 2:420x594 3:297x420 4:210x297 5:148x210 6:105x148 7:74x105 8:52x74 9:37x52 10:26x37",
    ),
    *_metric("ISO 216", "", "2A0:1189x1682 4A0:1682x2378"),
    *_inches(
        "US",
        {
            "Letter": (8.5, 11),
            "Legal": (8.5, 14),
            "Tabloid": (11, 17),
            "Executive": (7.25, 10.5),
            "Half-letter": (5.5, 8.5),
            "Foolscap": (8.5, 13),
            "Super-B": (13, 19),
        },
    ),
    *_inches(
        "Arch",
        {
            "Arch A": (9, 12),
            "Arch B": (12, 18),
            "Arch C": (18, 24),
            "Arch D": (24, 36),
            "Arch E": (36, 48),
            "Arch E1": (30, 42),
        },
    ),
    *_inches(
        "ASME Y14.1",
        {
            "ANSI A": (8.5, 11),
            "ANSI B": (11, 17),
            "ANSI C": (17, 22),
            "ANSI D": (22, 34),
            "ANSI E": (34, 44),
            "ANSI F": (28, 40),
        },
    ),
    *_metric(
        "ISO 216",
        "B",
        "0:1000x1414 1:707x1000 2:500x707 3:353x500 4:250x353 5:176x250 6:125x176 7:88x125 8:62x88 9:44x62 10:31x44",
    ),
    *_metric(
        "JIS P 0138",
        "JIS B",
        "0:1030x1456 1:728x1030 2:515x728 3:364x515 4:257x364 5:182x257 6:128x182 7:91x128 8:64x91 9:45x64 10:32x45",
    ),
    *_metric("SRA", "SRA", "0:900x1280 1:640x900 2:450x640 3:320x450 4:225x320"),
)

BY_NAME: dict[str, Paper] = {paper.name: paper for paper in PAPERS}

# Widths of the rolls in copy shops and their large printers, mm (common practice, no published source).
ROLL_WIDTHS: tuple[float, ...] = (594, 610, 841, 914.4, 1066.8, 1118, 1270, 1524)
_ROLL_TOLERANCE = 5.0


def tolerance(side_mm: float) -> float:
    """How far a side may lie from the paper's, mm (ISO 216, clause 4)."""
    return 1.5 if side_mm <= 150 else 2.0 if side_mm <= 600 else 3.0


def paper_of(width_mm: float, height_mm: float) -> Paper | None:
    """The paper of a page of this size, whichever way up, or None where there is no such paper."""
    short, long = sorted((width_mm, height_mm))
    best: tuple[float, Paper] | None = None
    for paper in PAPERS:
        off_short, off_long = abs(short - paper.width), abs(long - paper.height)
        if off_short <= tolerance(paper.width) and off_long <= tolerance(paper.height):
            off = max(off_short, off_long)
            if best is None or off < best[0] - 1e-9:
                best = (off, paper)
    return best[1] if best else None


def paper_name(width_mm: float, height_mm: float) -> str:
    """The name of the paper, or "custom"."""
    paper = paper_of(width_mm, height_mm)
    return paper.name if paper else CUSTOM


def roll_width(width_mm: float, height_mm: float) -> float | None:
    """The width of the roll that a long page of no paper size is made for, or None."""
    for side in (width_mm, height_mm):
        for roll in ROLL_WIDTHS:
            if abs(side - roll) <= _ROLL_TOLERANCE:
                return roll
    return None
