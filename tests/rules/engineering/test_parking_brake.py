"""Parking brake on a grade."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import parking_brake as parking
from rules.engineering.brake_balance import MassLayout
from rules.engineering.brakes import disc_torque

approx = pytest.approx

CAR = MassLayout(1200, 2500, 500, 1150)

# row, quantity, source and status, computed by us, expected
CHECKS = [
    ("5-29", "grade force", "m·g·sin(atan s) (computed)", lambda: parking.grade_force(1500, 0.2),
     approx(2884.9, rel=1e-3)),
    ("5-29", "torque per wheel", "computed", lambda: parking.holding_torque(1500, 0.2, 310),
     approx(447.2, rel=1e-3)),
    ("5-30", "grip nose up", "computed", lambda: parking.grip_needed(CAR, 0.2, "rear", True),
     approx(0.400, abs=1e-3)),
    ("5-30", "grip nose down", "computed", lambda: parking.grip_needed(CAR, 0.2, "rear", False),
     approx(0.476, abs=1e-3)),
    ("5-28", "grade of the rule", "UN R13-H Annex 3 paragraph 2.3 (from memory)",
     lambda: (parking.REQUIRED_GRADE, parking.MOST_HAND_FORCE, parking.MOST_FOOT_FORCE),
     (0.20, 400.0, 500.0)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("source", "got", "expected"),
    [check[2:] for check in CHECKS],
    ids=[f"{row} {quantity}" for row, quantity, *_ in CHECKS],
)
def test_check_value(source, got, expected):
    assert got() == expected, source


def test_lever_cable_and_caliper_arm_hold_the_car_of_the_rule():
    """Hand calculation: 400 N x 7 x 8 x 0.8 / 2 = 8960 N clamp at each rear caliper."""
    clamp = parking.lever_clamp_force(400, lever_ratio=7, arm_ratio=8, efficiency=0.8)
    assert clamp == approx(8960)
    torque = disc_torque(clamp, 0.35, 115)
    held = parking.hold_on_grade(CAR, 0.2, "rear", False, torque, 310, road_grip=0.8)
    assert held.holds
    assert held.torque_spare == approx(torque - held.torque_needed)


def test_a_strong_brake_does_not_hold_on_a_slippery_road():
    held = parking.hold_on_grade(CAR, 0.2, "rear", False, 2000, 310, road_grip=0.4)
    assert held.torque_spare > 0
    assert held.grip_spare < 0
    assert not held.holds


@given(st.floats(0.01, 0.4), st.floats(0.01, 0.4))
def test_a_steeper_grade_needs_more_of_everything(one, other):
    low, high = sorted((one, other))
    assert parking.holding_torque(1500, low, 310) <= parking.holding_torque(1500, high, 310)
    for nose_up in (True, False):
        assert parking.grip_needed(CAR, low, "rear", nose_up) <= parking.grip_needed(
            CAR, high, "rear", nose_up
        )


@given(st.floats(0.01, 0.4))
def test_a_rear_parking_brake_holds_better_nose_up_and_a_front_one_nose_down(grade):
    rear = [parking.grip_needed(CAR, grade, "rear", nose_up) for nose_up in (True, False)]
    front = [parking.grip_needed(CAR, grade, "front", nose_up) for nose_up in (True, False)]
    assert rear[0] < rear[1]
    assert front[0] > front[1]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: parking.grade_force(1500, 20), "grade must be from 0 to 1"),
        (lambda: parking.holding_torque(1500, 0.2, 310, wheels=0), "wheels must be greater"),
        (lambda: parking.lever_clamp_force(400, 7, 8, 1.2), "efficiency must be from 0 to 1"),
    ],
)
def test_arguments_outside_the_range_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
