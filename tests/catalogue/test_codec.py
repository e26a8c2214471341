"""Values of the model survive the way into JSON and back, whatever hostile text they hold."""

from __future__ import annotations

import json
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from decimal import Decimal
from types import ModuleType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.catalogue.codec import from_json, from_plain, to_json, to_plain
from vault.model import evidence, match, pattern, pdf, purchase
from vault.model.evidence import DocumentReading, ItemClaim, PurchaseClaim
from vault.model.match import Question
from vault.model.pattern import PatternFacts
from vault.model.purchase import Purchase

ANY_TEXT = st.text(alphabet=st.characters(codec=None, categories=None), max_size=12)
for _kind, _strategy in {
    str: ANY_TEXT,
    Decimal: st.decimals(allow_nan=False, allow_infinity=False, places=2, min_value=-(10**9), max_value=10**9),
    float: st.floats(allow_nan=False, allow_infinity=False),
    date: st.dates(),
}.items():
    st.register_type_strategy(_kind, _strategy)


def all_dataclasses(*modules: ModuleType) -> list[type]:
    return [
        x
        for m in modules
        for x in vars(m).values()
        if isinstance(x, type) and is_dataclass(x) and x.__module__ == m.__name__
    ]


MODEL = all_dataclasses(evidence, match, pattern, pdf, purchase)


def test_the_model_is_covered() -> None:
    assert {DocumentReading, Purchase, PatternFacts, Question} <= set(MODEL)
    assert len(MODEL) > 25


@pytest.mark.parametrize("cls", MODEL, ids=lambda c: c.__name__)
@settings(deadline=None, max_examples=15)
@given(data=st.data())
def test_every_value_of_the_model_comes_back_the_same(cls: type, data: st.DataObject) -> None:
    value = data.draw(st.from_type(cls))
    text = to_json(value)
    assert text.isascii()
    back = from_json(cls, text)
    assert back == value
    assert [type(getattr(back, f.name)) for f in fields(cls)] == [type(getattr(value, f.name)) for f in fields(cls)]


def test_money_keeps_its_decimals() -> None:
    item = ItemClaim(title="Bustle Skirt", amount=Decimal("9.50"))
    assert to_plain(item) == {"title": "Bustle Skirt", "amount": "9.50"}
    assert str(from_json(ItemClaim, to_json(item)).amount) == "9.50"


def test_defaults_are_left_out_and_false_is_no_none() -> None:
    assert to_plain(ItemClaim(title="x", digital=False)) == {"title": "x", "digital": False}
    assert from_plain(ItemClaim, {"title": "x", "digital": None}).digital is None


def test_none_where_the_default_is_not_none_is_kept() -> None:
    claim = PurchaseClaim(document=evidence.DocumentKind.REFUND, refunded=None)
    assert from_json(PurchaseClaim, to_json(claim)).refunded is None


def test_keys_of_a_newer_model_are_passed_over() -> None:
    assert from_json(ItemClaim, '{"title": "x", "later_invention": [1]}') == ItemClaim(title="x")


def test_nan_has_no_json_form() -> None:
    with pytest.raises(ValueError, match="finite"):
        to_json(pattern.Sheet(paper="A4", width_mm=float("nan"), height_mm=1.0, pages=1))


@dataclass(frozen=True, kw_only=True)
class Unknown:
    what: set[str] | int


def test_a_type_without_json_form_is_refused() -> None:
    with pytest.raises(TypeError, match="no JSON form"):
        to_json(Unknown(what=1))


@pytest.mark.parametrize("text", ["{", "[]", '{"title": 3, "amount": "x"}', '{"amount": "1"}'])
def test_damaged_rows_raise_and_do_not_invent(text: str) -> None:
    with pytest.raises((ValueError, TypeError, KeyError, AttributeError, ArithmeticError)):
        value: Any = from_json(ItemClaim, text)
        json.dumps(value)
