"""Does the clutch hold? Capacities worked out by hand beside each check."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.checking import Verdict
from tests.support.engine_bay import engine_bay, part, says, verdict

# Reference row 11-14 (computed): 8000 N, radii 115/75 mm, friction 0.3, two faces:
# wear 2 x 0.3 x 8000 x 0.095 = 456.0 N·m, even pressure 462.7 N·m.
LINING = {"clamp": "8000 N", "friction": "0.3", "faces": "2",
          "lining_outer": "230 mm", "lining_inner": "150 mm"}


def judged(engine: str = "300 N·m", reserve: str = "1.25", **clutch: Any) -> Verdict:
    parts = {"e": part("engine", torque=engine), "c": part("clutch", **clutch)}
    return verdict(engine_bay(parts, limits={"clutch_reserve": reserve}), "clutch-torque", "e", "c")


def test_a_clutch_is_judged_by_what_it_holds_bedded_in() -> None:
    found = judged(**LINING)
    assert found.verdict == "fits"
    assert found.margin == pytest.approx(456.0 - 300 * 1.25, abs=0.05)
    noted = {value.name: value.value for value in found.values}
    assert noted["torque the clutch holds when new"] == "463 N·m"


def test_its_own_dimensions_win_over_the_torque_stated() -> None:
    assert judged(torque="900 N·m", **LINING).margin == pytest.approx(81.0, abs=0.05)


def test_a_stated_torque_serves_where_the_dimensions_are_not_all_known() -> None:
    found = judged(torque="380 N·m", clamp="8000 N")
    assert (found.verdict, found.margin) == ("fits", pytest.approx(380 - 375))


def test_a_clutch_that_is_too_weak_is_refused_with_what_is_missing() -> None:
    found = judged(engine="208 N·m", torque="240 N·m")
    assert found.verdict == "does_not_fit"
    assert found.margin == pytest.approx(240 - 260)
    assert "holds 240 N·m" in found.says
    assert "260" in found.says


@pytest.mark.parametrize(("reserve", "expected"), [
    ("1.2", "fits"),           # 1.2 x 300 = 360
    ("1.5", "fits"),           # 450 of 456: the upper end of the usual reserve
    ("1.53", "does_not_fit"),  # 459
])
def test_the_reserve_is_the_shops(reserve: str, expected: str) -> None:
    """1.2 to 1.5 times the engine's torque: common practice, no source (row 11-14)."""
    assert judged(reserve=reserve, **LINING).verdict == expected


def test_where_the_tolerance_decides_the_maker_is_asked() -> None:
    # 7000 N holds 399 N·m and 6500 N holds 370.5: 375 are asked for.
    found = judged(**{**LINING, "clamp": "7000 ± 500 N"})
    assert found.verdict == "not_known"
    assert found.worst_case == pytest.approx(370.5 - 375, abs=0.05)
    assert found.measure == ("torque that clutch holds, from its maker",)


def test_nothing_is_assumed_of_a_clutch_that_states_nothing() -> None:
    found = judged()
    assert found.verdict == "not_known"
    assert found.measure == ("torque of clutch",)


@given(clamp=st.integers(1000, 20000), spread=st.integers(0, 500), more=st.integers(1, 5000))
@settings(max_examples=20, deadline=None)
def test_more_clamp_never_holds_less_and_the_worst_case_is_never_better(
    clamp: int, spread: int, more: int
) -> None:
    less = judged(**{**LINING, "clamp": f"{clamp} ± {spread} N"})
    firmer = judged(**{**LINING, "clamp": f"{clamp + more} ± {spread} N"})
    assert less.margin is not None
    assert firmer.margin is not None
    assert less.worst_case is not None
    assert firmer.margin > less.margin >= less.worst_case


def test_the_unit_of_entry_changes_nothing() -> None:
    metric = judged(**LINING)
    other = judged(engine="30 daN·m", **{**LINING, "clamp": "8 kN", "lining_outer": "23 cm"})
    assert other.margin == pytest.approx(metric.margin)


def engine(**dimensions: Any) -> Verdict | None:
    return says(engine_bay({"e": part("engine", **dimensions)}), "engine-figures", "e")


def test_a_torque_below_what_the_power_takes_is_a_mistake_somewhere() -> None:
    # Reference row 11-11 (Khurmi & Gupta, Ex. 10.23 p. 303): 61.685 kW at 2500 rpm is 235.6 N·m.
    wrong = engine(power="61.685 kW", power_speed="2500 rpm", torque="220 N·m")
    assert wrong is not None
    assert wrong.verdict == "not_known"
    assert wrong.margin == pytest.approx(220 - 235.6, abs=0.05)
    right = engine(power="61.685 kW", power_speed="2500 rpm", torque="235 N·m")
    assert right is not None
    assert right.verdict == "fits"  # within the rounding of the figures


def test_an_engine_without_a_speed_for_its_power_is_not_questioned() -> None:
    assert engine(power="60 kW", torque="10 N·m") is None
