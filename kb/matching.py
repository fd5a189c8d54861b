"""Does a part match? Compares dimensions with texts, with the asker's own, or with facts.

Three answers: True, False, and None for "not known" when either side is missing. Comparison is on
nominal values; tolerances are the business of the checks, which report a worst case.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import lru_cache
from types import NoneType
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import TypeAdapter, ValidationError

from kb.dimensions import Dimensions, kinds
from kb.errors import shown
from kb.statements import Comparison, Operand, Reference, Statement
from kb.units import CANONICAL, Quantity

FactReader = Callable[[str], Any]
"""Gives the value of a fact named "group.name", or None when it is not known."""


ORDERED = frozenset({*CANONICAL, "whole number", "number"})
"""The sorts of dimension whose values have an order."""

_PLAIN = {bool: "true or false", int: "whole number", float: "number", str: "text"}


@lru_cache(maxsize=1024)
def sort_of(model: type[Statement], name: str) -> str:
    """What a dimension or fact holds, in words. Only two of one sort can be compared."""
    annotation: Any = model.model_fields[name].annotation
    held = next(a for a in get_args(annotation) or (annotation,) if a is not NoneType)
    if get_origin(held) is Literal:
        return f"choice of {', '.join(get_args(held))}"
    if get_origin(held) is tuple:
        return "list"
    if held in _PLAIN:
        return _PLAIN[held]
    reads = [m.reads[1] for m in getattr(held, "__metadata__", ()) if hasattr(m, "reads")]
    return str(reads[0]).removesuffix(" with its unit") if reads else "id"


@lru_cache(maxsize=1024)
def _adapter(kind: str, dimension: str) -> TypeAdapter[Any]:
    field = kinds()[kind].model_fields[dimension]
    annotation: Any = field.annotation
    for metadata in reversed(field.metadata):
        annotation = Annotated[annotation, metadata]
    return TypeAdapter(annotation)


@lru_cache(maxsize=65536)
def read_operand(kind: str, dimension: str, text: str) -> Any:
    """`text` read as that dimension of that kind. Raises ValueError saying what was expected."""
    try:
        return _adapter(kind, dimension).validate_python(text)
    except ValidationError as error:
        details = error.errors()[0]
        if details["type"] == "unreadable":
            raise ValueError(details["msg"]) from None
        sort = sort_of(kinds()[kind], dimension).replace("choice of", "one of")
        raise ValueError(f"{shown(text)} is not {'an id' if sort == 'id' else sort}") from None


def comparable(value: Any) -> float | None:
    """The number to order a value by, or None for values that have no order."""
    if isinstance(value, Quantity):
        return value.value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value)
    return None


def same(left: Any, right: Any) -> bool:
    """Equality that does not depend on the unit a value was entered in."""
    a, b = comparable(left), comparable(right)
    if a is not None and b is not None:
        if getattr(left, "dimension", None) != getattr(right, "dimension", None):
            return False
        return math.isclose(a, b, rel_tol=1e-6, abs_tol=1e-6)
    if hasattr(left, "holes") and hasattr(right, "holes"):
        return left.holes == right.holes and same(left.diameter, right.diameter)
    if hasattr(left, "pitch") and hasattr(right, "pitch"):
        return same(left.diameter, right.diameter) and same(left.pitch, right.pitch)
    return bool(left == right)


def _ordered(left: Any, right: Any) -> bool | None:
    """left <= right, within rounding; None when either is missing or has no order."""
    a, b = comparable(left), comparable(right)
    if a is None or b is None:
        return None
    return a <= b or math.isclose(a, b, rel_tol=1e-6, abs_tol=1e-6)


def compare(
    comparison: Comparison,
    kind: str,
    dimension: str,
    value: Any,
    own: Dimensions | None = None,
    fact: FactReader | None = None,
) -> bool | None:
    """Whether `value`, that dimension of a part of that kind, meets the comparison."""

    if value is None:
        return None
    operands = [_value_of(raw, kind, dimension, own, fact) for raw in comparison.operands]
    relation = comparison.relation
    if relation == "one_of":
        return any(same(value, operand) for operand in operands)
    if relation == "within":
        low, high = _ordered(operands[0], value), _ordered(value, operands[1])
        return False if low is False or high is False else (low and high)
    if operands[0] is None:
        return None
    if relation == "equals":
        return same(value, operands[0])
    least, most = (operands[0], value) if relation == "at_least" else (value, operands[0])
    return _ordered(least, most)


def _value_of(
    raw: Operand, kind: str, dimension: str, own: Dimensions | None, fact: FactReader | None
) -> Any:
    """What a dimension is compared with, or None when it is not known."""
    if not isinstance(raw, Reference):
        return read_operand(kind, dimension, raw)
    if raw.own is not None:
        return getattr(own, raw.own, None)
    return fact(raw.fact) if fact and raw.fact else None


def matches(
    match: Mapping[str, Comparison],
    kind: str,
    dimensions: Dimensions,
    own: Dimensions | None = None,
    fact: FactReader | None = None,
) -> tuple[bool | None, tuple[str, ...]]:
    """Whether a part of that kind meets every comparison, and what is missing to know.

    False as soon as one comparison fails; None when none fails but some cannot be told. The
    second item then names the dimensions or facts that are missing.
    """
    missing: list[str] = []
    for name, comparison in match.items():
        value = getattr(dimensions, name)
        verdict = compare(comparison, kind, name, value, own, fact)
        if verdict is False:
            return False, ()
        if verdict is None:
            missing += [name] if value is None else _unknown(comparison, kind, name, own, fact)
    return (None, tuple(missing)) if missing else (True, ())


def _unknown(
    comparison: Comparison, kind: str, name: str, own: Dimensions | None, fact: FactReader | None
) -> list[str]:
    """The dimensions and facts referred to that are not known."""
    return [
        raw.own or raw.fact or ""
        for raw in comparison.operands
        if isinstance(raw, Reference) and _value_of(raw, kind, name, own, fact) is None
    ]
