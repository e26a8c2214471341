"""The gold pairs of fixtures/linking, loaded from where they lie."""

from __future__ import annotations

import sys
from pathlib import Path

LINKING = Path(__file__).resolve().parents[2] / "fixtures" / "linking"
sys.path.insert(0, str(LINKING))
sys.path.insert(0, str(Path(__file__).parent))
