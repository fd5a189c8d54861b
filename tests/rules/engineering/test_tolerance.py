"""Values with a tolerance and the spread of what follows from them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering.gearing import road_speed
from rules.engineering.tolerance import Toleranced, exactly, extremes, plus_minus


def test_extremes_of_a_difference() -> None:
    assert extremes(lambda a, b: a - b, plus_minus(10, 1), plus_minus(4, 0.5)) == Toleranced(
        4.5, 6, 7.5
    )


def test_no_tolerance_gives_no_spread() -> None:
    assert extremes(lambda a: 2 * a, exactly(3.0)) == exactly(6.0)


@pytest.mark.parametrize("ends", [(1, 0, 2), (0, 3, 2), (float("nan"), 0, 1), (0, 1, float("inf"))])
def test_ends_out_of_order_are_refused(ends: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="low, nominal, high"):
        Toleranced(*ends)


def test_a_negative_tolerance_is_refused() -> None:
    with pytest.raises(ValueError, match="low, nominal, high"):
        plus_minus(5, -1)


@given(
    rolled=st.floats(1700, 2200),
    gear=st.floats(0.6, 4),
    spreads=st.tuples(st.floats(0, 50), st.floats(0, 0.2)),
    way=st.tuples(st.floats(-1, 1), st.floats(-1, 1)),
)
def test_nothing_within_the_tolerances_lies_outside_the_extremes(
    rolled: float, gear: float, spreads: tuple[float, float], way: tuple[float, float]
) -> None:
    def speed(circumference: float, ratio: float) -> float:
        return road_speed(circumference, 4.0, ratio)

    found = extremes(speed, plus_minus(rolled, spreads[0]), plus_minus(gear, spreads[1]))
    inside = speed(rolled + way[0] * spreads[0], gear + way[1] * spreads[1])
    assert found.low - 1e-9 <= inside <= found.high + 1e-9
    assert found.low <= found.nominal <= found.high
