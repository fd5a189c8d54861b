"""Speedometer, odometer and gearing after a change of tyres."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import gearing
from rules.engineering.tyres import design_diameter

# Factor 3.05: ETRTO general notes, from memory; the products are computed.
ROLLING = [
    ((175, 65, 14), 1781.2, 561.4),
    ((185, 60, 14), 1762.9, 567.2),
    ((185, 65, 15), 1894.0, 528.0),
    ((195, 50, 15), 1759.8, 568.2),
    ((195, 65, 15), 1936.8, 516.3),
    ((205, 50, 16), 1866.6, 535.7),
    ((205, 55, 16), 1927.6, 518.8),
    ((215, 60, 16), 2025.2, 493.8),
    ((205, 45, 17), 1878.8, 532.3),
    ((215, 45, 17), 1909.3, 523.8),
    ((225, 45, 17), 1933.7, 517.1),
    ((235, 45, 17), 1964.2, 509.1),
    ((245, 40, 17), 1915.4, 522.1),
    ((225, 40, 18), 1942.8, 514.7),
    ((235, 40, 18), 1967.2, 508.3),
    ((245, 40, 18), 1991.6, 502.1),
    ((255, 35, 18), 1936.8, 516.3),
]


@pytest.mark.parametrize(
    ("size", "circumference", "turns"),
    ROLLING,
    ids=[f"1-08 {w}/{a}R{r}" for (w, a, r), *_ in ROLLING],
)
def test_rolling_circumference(
    size: tuple[float, float, float], circumference: float, turns: float
) -> None:
    rolled = gearing.rolling_circumference(design_diameter(*size))
    assert rolled == pytest.approx(circumference, abs=0.1)
    assert gearing.turns_per_km(rolled) == pytest.approx(turns, abs=0.1)


def test_a_slightly_larger_tyre_makes_the_car_faster_than_shown() -> None:
    # Row 1-09: computed; 205/55R16 (632 mm) to 225/45R17 (634 mm).
    change = gearing.tyre_change(3.05 * 632, 3.05 * 634)
    assert 100 * change.true_speed == pytest.approx(0.316, abs=0.005)
    # By hand: 632/634 - 1.
    assert 100 * change.odometer == pytest.approx(-0.3155, abs=0.0005)
    assert change.engine_speed == change.odometer


def test_road_speed_at_a_thousand_turns() -> None:
    # By hand: 1000/(4.0 x 0.8) x 60 x 1927.6 / 1e6.
    assert gearing.road_speed(1927.6, 4.0, 0.8) == pytest.approx(36.1425, abs=1e-4)
    assert gearing.engine_speed(1927.6, 4.0, 0.8, 130) == pytest.approx(3596.9, abs=0.1)


def test_impossible_values_are_refused() -> None:
    with pytest.raises(ValueError, match="gear ratio must be greater than zero"):
        gearing.road_speed(1900, 4.0, 0.0)
    with pytest.raises(ValueError, match="rolling factor"):
        gearing.rolling_circumference(632, 3.5)


@given(old=st.floats(1500, 2500), new=st.floats(1500, 2500))
def test_going_back_undoes_the_change(old: float, new: float) -> None:
    there, back = gearing.tyre_change(old, new), gearing.tyre_change(new, old)
    assert (1 + there.true_speed) * (1 + back.true_speed) == pytest.approx(1)
    assert (1 + there.true_speed) * (1 + there.odometer) == pytest.approx(1)


@given(st.floats(1500, 2500), st.floats(2.5, 5.5), st.floats(0.5, 4.5), st.floats(10, 250))
def test_engine_speed_inverts_road_speed(
    rolled: float, final: float, gear: float, speed: float
) -> None:
    turns = gearing.engine_speed(rolled, final, gear, speed)
    assert gearing.road_speed(rolled, final, gear, turns) == pytest.approx(speed)
