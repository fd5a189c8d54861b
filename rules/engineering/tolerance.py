"""Values with a tolerance, and the exact spread of what is computed from them."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import product


@dataclass(frozen=True)
class Toleranced:
    """A value known to lie from `low` to `high`, with `nominal` between; one unit for all.

    Raises ValueError when the three are not finite and in that order.
    """

    low: float
    nominal: float
    high: float

    def __post_init__(self) -> None:
        if not -math.inf < self.low <= self.nominal <= self.high < math.inf:
            raise ValueError(
                f"a tolerance must run low, nominal, high; "
                f"not {self.low:g}, {self.nominal:g}, {self.high:g}"
            )


def exactly(value: float) -> Toleranced:
    """Return `value` with no tolerance, in the unit given."""
    return Toleranced(value, value, value)


def plus_minus(value: float, tolerance: float) -> Toleranced:
    """Return `value` with the same tolerance both ways, in the unit given.

    Raises ValueError when the tolerance is negative.
    """
    return Toleranced(value - tolerance, value, value + tolerance)


def extremes(formula: Callable[..., float], *inputs: Toleranced) -> Toleranced:
    """Return the nominal, least and greatest result of `formula` over all its inputs.

    The formula is evaluated at every combination of the ends of the inputs. That is exact
    when it only rises or only falls with each single input while the others stand still; the
    caller sees to that. The nominal result is part of the spread, so the worst case is never
    better than nominal.

    Example: `extremes(bore_play, plus_minus(66.6, 0.05), plus_minus(66.5, 0.05))`.

    Raises whatever `formula` raises.
    Source: interval arithmetic of a function monotone in each argument (textbook mathematics).
    """
    nominal = formula(*(entry.nominal for entry in inputs))
    corners = [formula(*ends) for ends in product(*((e.low, e.high) for e in inputs))]
    return Toleranced(min(nominal, *corners), nominal, max(nominal, *corners))
