"""Golden files: every invented receipt is read as the file beside it says (written by the tool, read by a person)."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

FIXTURES = Path(__file__).parents[2] / "fixtures" / "receipts"
# Endings that mark a document without a purchase, in the languages of the fixtures.
_NO = ("-no", "-nein", "-non", "-nie", "-iie", "-nee")


def _tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location("receipts_golden", FIXTURES / "golden.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


GOLDEN = _tool()
DOCUMENTS = [p.name for p in GOLDEN.documents()]


def test_there_are_enough_and_each_has_its_golden_file() -> None:
    assert len(DOCUMENTS) >= 40
    assert {p.name.removesuffix(".json") for p in GOLDEN.GOLDEN.iterdir()} == set(DOCUMENTS)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_a_receipt_is_read_as_its_golden_file_says(name: str) -> None:
    golden = (GOLDEN.GOLDEN / f"{name}.json").read_text(encoding="utf-8")
    assert GOLDEN.text_of(GOLDEN.reading_of(GOLDEN.DOCUMENTS / name)) == golden


@pytest.mark.parametrize("name", [n for n in DOCUMENTS if Path(n).stem.endswith(_NO)])
def test_what_is_no_purchase_gives_none(name: str) -> None:
    assert GOLDEN.reading_of(GOLDEN.DOCUMENTS / name).claims == ()
