"""The drawn files of `fixtures/patterns` are built by scripts; this makes them importable."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "fixtures" / "patterns"))
