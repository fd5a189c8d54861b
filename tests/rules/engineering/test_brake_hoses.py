"""Brake hose length against travel and lock: hand geometry and laws."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering.brake_hoses import HoseRoute, Point, hose_bow, hose_reach, hose_span

approx = pytest.approx

# The wheel end sits 100 mm behind the steering axis, the body end 200 mm inboard of that axis.
FRONT = HoseRoute(Point(0, 400, 300), Point(-100, 600, 250), steer_x=0, steer_y=600)


def test_straight_ahead_at_ride_height_the_span_is_the_plain_distance():
    """Pythagoras, by hand: 100, 200 and 50 mm."""
    assert hose_span(FRONT, 0, 0) == approx(math.sqrt(100**2 + 200**2 + 50**2))


def test_a_quarter_turn_of_the_arm_is_beyond_lock_but_thirty_degrees_follow_the_circle():
    """By hand: the arm of 100 mm turned left by 30 degrees ends at (-86.60, 550)."""
    expected = math.dist((-86.6025, 550, 270), (0, 400, 300))
    assert hose_span(FRONT, 20, 30) == approx(expected, abs=1e-3)


def test_the_hose_is_stretched_most_in_droop_at_the_lock_that_turns_its_end_away():
    reach = hose_reach(FRONT, compression=80, droop=90, lock=35)
    assert (reach.longest_rise, reach.longest_steer) == (-90, -35)
    assert reach.longest == approx(hose_span(FRONT, -90, -35))
    # Nearest at the other lock, where the ends are level: compression of 50 mm.
    assert reach.shortest == approx(hose_span(FRONT, 50, 35))


def test_without_lock_the_steering_axis_does_not_matter():
    elsewhere = HoseRoute(FRONT.body_end, FRONT.wheel_end, steer_x=70, steer_y=500)
    assert hose_reach(FRONT, 80, 90, 0).longest == approx(hose_reach(elsewhere, 80, 90, 0).longest)


def test_a_slack_hose_strays_by_the_half_axis_of_its_ellipse():
    """By hand: a hose of 500 mm over 400 mm strays 150 mm (a 3-4-5 triangle)."""
    assert hose_bow(500, 400) == approx(150)
    assert hose_bow(400, 400) == 0


coordinates = st.floats(-500, 500)
points = st.builds(Point, coordinates, coordinates, coordinates)
routes = st.builds(HoseRoute, points, points, coordinates, coordinates)


@given(
    routes,
    st.floats(0, 120),
    st.floats(0, 120),
    st.floats(0, 45),
    st.floats(0, 1),
    st.floats(-1, 1),
)
def test_no_position_is_outside_the_reach(route, compression, droop, lock, up, turn):
    reach = hose_reach(route, compression, droop, lock)
    span = hose_span(route, -droop + up * (compression + droop), turn * lock)
    assert reach.shortest - 1e-6 <= span <= reach.longest + 1e-6


@given(routes, st.floats(0, 100), st.floats(0, 100), st.floats(0, 40), st.floats(0, 20))
def test_more_droop_never_asks_for_a_shorter_hose(route, compression, droop, lock, extra):
    before = hose_reach(route, compression, droop, lock)
    assert hose_reach(route, compression, droop + extra, lock).longest >= before.longest - 1e-9


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: hose_span(FRONT, 500, 0), "rise must be from -200 to 200"),
        (lambda: hose_reach(FRONT, 80, -5, 35), "droop must be from 0 to 200"),
        (lambda: hose_reach(FRONT, 80, 90, 80), "lock must be from 0 to 60"),
        (lambda: hose_bow(300, 400), "span must be less than hose length"),
    ],
)
def test_arguments_outside_the_range_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
