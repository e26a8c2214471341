"""Values of the model as JSON text and back: one generic codec, driven by the dataclasses' own annotations.

Strategy: for every type an encoder and a decoder are built once and cached.  Fields that hold their default are left
out, so a row stays small and a field that is added to the model later (with a default) reads old rows as they are;
keys that the model does not know are passed over, so a newer row does not stop an older program.

| Python | JSON |
|---|---|
| dataclass | object |
| Enum | its value |
| Decimal | string (never a float: 9.50 stays 9.50) |
| date | string, ISO 8601 |
| tuple | array |
| dict[str, X] | object |
| bytes | string, base64 |
| str, int, float, bool, None | as they are; a float must be finite |

Text is written in ASCII with escapes, so that lone surrogates and NULs of hostile documents survive the round trip.
"""

from __future__ import annotations

import base64
import json
import math
import types
from collections.abc import Callable
from dataclasses import MISSING, Field, fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")
Convert = Callable[[Any], Any]


def to_json(value: object) -> str:
    """`value`, an instance of a dataclass, as JSON text.  Raises TypeError for types the table above does not name."""
    return json.dumps(to_plain(value), separators=(",", ":"), allow_nan=False)


def from_json(cls: type[T], text: str) -> T:
    """The instance of the dataclass `cls` that `text` describes.

    Raises ValueError, TypeError or KeyError when the text does not describe one.
    """
    return from_plain(cls, json.loads(text))


def to_plain(value: object) -> Any:
    """`value` as dicts, lists, strings and numbers."""
    return _coder(type(value))[0](value)


def from_plain(cls: type[T], plain: Any) -> T:
    """The instance of `cls` that dicts, lists, strings and numbers describe."""
    made: T = _coder(cls)[1](plain)
    return made


def _coder(kind: Any) -> tuple[Convert, Convert]:
    return _made_coder(kind)


@cache
def _made_coder(kind: Any) -> tuple[Convert, Convert]:
    """Encoder and decoder of one annotated type."""
    simple = _simple(kind)
    if simple:
        return simple
    origin, args = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        return _optional(kind, args)
    if origin is tuple:
        return _tuple(args)
    if origin is dict and args[0] is str:
        return _mapping(args[1])
    if isinstance(kind, type) and is_dataclass(kind):
        return _dataclass(kind)
    raise TypeError(f"no JSON form for {kind!r}")


def _same(value: Any) -> Any:
    return value


def _finite(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError(f"not a finite number: {value}")
    return float(value)


def _simple(kind: Any) -> tuple[Convert, Convert] | None:
    if kind in (str, int, bool):
        return _same, _same
    if kind is float:
        return _finite, float
    if kind is Decimal:
        return str, Decimal
    if kind is date:
        return date.isoformat, date.fromisoformat
    if kind is bytes:
        return (lambda b: base64.b64encode(b).decode("ascii")), base64.b64decode
    if isinstance(kind, type) and issubclass(kind, Enum):
        return (lambda e: e.value), kind
    return None


def _optional(kind: Any, args: tuple[Any, ...]) -> tuple[Convert, Convert]:
    inner = [a for a in args if a is not type(None)]
    if len(inner) != 1 or len(args) != 2:
        raise TypeError(f"no JSON form for {kind!r}: only X | None")
    encode, decode = _coder(inner[0])
    return (
        lambda v: None if v is None else encode(v),
        lambda v: None if v is None else decode(v),
    )


def _tuple(args: tuple[Any, ...]) -> tuple[Convert, Convert]:
    if len(args) == 2 and args[1] is Ellipsis:
        encode, decode = _coder(args[0])
        return (lambda v: [encode(x) for x in v]), (lambda v: tuple(decode(x) for x in v))
    coders = [_coder(a) for a in args]
    return (
        lambda v: [c[0](x) for c, x in zip(coders, v, strict=True)],
        lambda v: tuple(c[1](x) for c, x in zip(coders, v, strict=True)),
    )


def _mapping(value_kind: Any) -> tuple[Convert, Convert]:
    encode, decode = _coder(value_kind)
    return (
        lambda v: {k: encode(x) for k, x in v.items()},
        lambda v: {k: decode(x) for k, x in v.items()},
    )


def _default(field: Field[Any]) -> Any:
    if field.default is not MISSING:
        return field.default
    if field.default_factory is not MISSING:
        return field.default_factory()
    return MISSING


def _dataclass(cls: type) -> tuple[Convert, Convert]:
    hints = get_type_hints(cls)
    table = [(f.name, _default(f), _coder(hints[f.name])) for f in fields(cls)]
    decoders = {name: coder[1] for name, _, coder in table}

    def encode(value: Any) -> dict[str, Any]:
        held = {}
        for name, default, (encode_field, _) in table:
            x = getattr(value, name)
            # 1 == True and 0.0 == -0.0: only the same type counts as the default
            if default is not MISSING and type(x) is type(default) and x == default and not isinstance(x, float):
                continue
            held[name] = encode_field(x)
        return held

    def decode(plain: Any) -> Any:
        return cls(**{k: decoders[k](v) for k, v in plain.items() if k in decoders})

    return encode, decode
