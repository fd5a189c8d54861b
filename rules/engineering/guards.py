"""Refusals shared by the engineering functions, so that they all read alike."""

import math


def positive(name: str, value: float) -> float:
    """Return `value` if it is finite and above zero.

    `name` is the words a reader knows the value by; any unit passes through unchanged.

    Raises ValueError naming the value otherwise (this also refuses not-a-number).
    """
    if not 0.0 < value < math.inf:
        raise ValueError(f"{name} must be greater than zero, not {value:g}")
    return value


def not_negative(name: str, value: float) -> float:
    """Return `value` if it is finite and zero or more; any unit passes through unchanged.

    Raises ValueError naming the value otherwise (this also refuses not-a-number).
    """
    if not 0.0 <= value < math.inf:
        raise ValueError(f"{name} must be zero or more, not {value:g}")
    return value


def within(name: str, value: float, low: float, high: float) -> float:
    """Return `value` if it lies from `low` to `high`, ends included; units pass through.

    Raises ValueError naming the value and the range otherwise.
    """
    if not low <= value <= high:
        raise ValueError(f"{name} must be from {low:g} to {high:g}, not {value:g}")
    return value
