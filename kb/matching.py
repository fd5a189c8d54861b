"""Does a part match? Compares dimensions with texts, with the asker's own, or with facts.

Three answers: True, False, and None for "not known" when either side is missing. Comparison is on
nominal values; tolerances are the business of the checks, which report a worst case.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from kb.dimensions import Dimensions, kinds
from kb.statements import Comparison, Operand, Reference
from kb.units import Quantity

FactReader = Callable[[str], Any]
"""Gives the value of a fact named "group.name", or None when it is not known."""


@lru_cache(maxsize=1024)
def _adapter(kind: str, dimension: str) -> TypeAdapter[Any]:
    field = kinds()[kind].model_fields[dimension]
    annotation: Any = field.annotation
    for metadata in reversed(field.metadata):
        annotation = _annotated(annotation, metadata)
    return TypeAdapter(annotation)


def _annotated(annotation: Any, metadata: Any) -> Any:
    from typing import Annotated

    return Annotated[annotation, metadata]


@lru_cache(maxsize=65536)
def read_operand(kind: str, dimension: str, text: str) -> Any:
    """`text` read as that dimension of that kind. Raises ValueError saying what was expected."""
    try:
        return _adapter(kind, dimension).validate_python(text)
    except ValidationError as error:
        raise ValueError(error.errors()[0]["msg"]) from None


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

    def operand(raw: Operand) -> Any:
        if not isinstance(raw, Reference):
            return read_operand(kind, dimension, raw)
        if raw.own is not None:
            return getattr(own, raw.own, None)
        return fact(raw.fact) if fact and raw.fact else None

    if value is None:
        return None
    relation, given = comparison.relation, getattr(comparison, comparison.relation)
    if relation == "one_of":
        return any(same(value, operand(text)) for text in given)
    if relation == "within":
        low, high = _ordered(operand(given[0]), value), _ordered(value, operand(given[1]))
        return False if low is False or high is False else (low and high)
    against = operand(given)
    if against is None:
        return None
    if relation == "equals":
        return same(value, against)
    return _ordered(against, value) if relation == "at_least" else _ordered(value, against)


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
            missing.append(name if value is None else _other_side(comparison))
    return (None, tuple(missing)) if missing else (True, ())


def _other_side(comparison: Comparison) -> str:
    given = getattr(comparison, comparison.relation)
    for raw in given if isinstance(given, tuple) else (given,):
        if isinstance(raw, Reference):
            return raw.own or raw.fact or ""
    return ""
