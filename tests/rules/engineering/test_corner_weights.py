"""Corner weights: the worked example of the reference, laws of statics, and plans of turns.

All check values are computed: ordinary statics of a rigid body on four springs.
"""

import dataclasses
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.engineering import corner_weights as weights
from rules.engineering.corner_weights import CarOnScales, Corner

approx = pytest.approx

G = 9.80665
START = (3102.99, 3016.36, 2859.93, 2788.70)


def car(room: float = 50.0, motion_ratio: float = 1.0, **changes: float) -> CarOnScales:
    """The worked example: wheel rates 30 and 25 N/mm; the spring rates follow from the ratio."""
    rates = (30.0, 30.0, 25.0, 25.0)
    corners = [
        Corner(load / G, rate / motion_ratio**2, motion_ratio, 2.0, room, room)
        for load, rate in zip(START, rates, strict=True)
    ]
    return dataclasses.replace(CarOnScales(tuple(corners), 2500, 1500, 1480), **changes)


def load_change(moves: tuple[float, ...], **changes: float) -> list[float]:
    on_scales = car(**changes)
    after = weights.predict(on_scales, moves).scales
    return [(new - old.scale) * G for new, old in zip(after, on_scales.corners, strict=True)]


def attitude(moves: tuple[float, ...]) -> list[float]:
    """Heave in mm at the centre of mass, pitch (front up) and roll (left up) in mm per m."""
    heights = weights.predict(car(), moves).height_changes
    front, rear = (heights[0] + heights[1]) / 2, (heights[2] + heights[3]) / 2
    return [(1.3 * front + 1.2 * rear) / 2.5, (front - rear) / 2.5, (heights[0] - heights[1]) / 1.5]


LF_UP, RR_UP, BOTH_UP = (5, 0, 0, 0), (0, 0, 0, 5), (5, 0, 0, 5)
SPREAD = (1.25, -1.25, -1.25, 1.25)
READ = (312, 298, 287, 303)

# row, quantity, computed by us, expected
CHECKS = [
    ("8-01", "cross", lambda: weights.weight_shares(START).cross, approx(0.49935, abs=5e-6)),
    ("8-02", "start in kg", lambda: weights.predict(car(), (0, 0, 0, 0)).scales,
     approx((316.42, 307.58, 291.63, 284.37), abs=0.01)),
    ("8-05", "loads", lambda: load_change(LF_UP),
     approx([33.592, -33.592, -34.046, 34.046], abs=0.005)),
    ("8-05", "cross", lambda: weights.predict(car(), LF_UP).cross, approx(0.49360, abs=5e-6)),
    ("8-06", "attitude", lambda: attitude(LF_UP), approx([1.30, 1.00, 1.84], abs=0.01)),
    ("8-07", "loads", lambda: load_change(RR_UP),
     approx([34.046, -34.046, -34.506, 34.506], abs=0.005)),
    ("8-08", "loads", lambda: load_change(BOTH_UP),
     approx([67.639, -67.639, -68.553, 68.553], abs=0.005)),
    ("8-08", "cross", lambda: weights.predict(car(), BOTH_UP).cross, approx(0.48777, abs=5e-6)),
    ("8-09", "loads", lambda: load_change(SPREAD),
     approx([33.819, -33.819, -34.276, 34.276], abs=0.005)),
    ("8-09", "attitude", lambda: attitude(SPREAD), approx([0, 0, 0.164], abs=0.005)),
    ("8-10", "all four", lambda: load_change((5, 5, 5, 5)), approx([0] * 4, abs=1e-9)),
    ("8-10", "front pair", lambda: load_change((5, 5, 0, 0)), approx([0] * 4, abs=1e-9)),
    ("8-11", "front bar connected", lambda: load_change(LF_UP, front_bar=8.0),
     approx([25.951, -25.951, -26.302, 26.302], abs=0.005)),
    ("8-12", "cross", lambda: weights.weight_shares(READ).cross, approx(0.4875, abs=5e-5)),
    ("8-12", "left", lambda: weights.weight_shares(READ).left, approx(0.4992, abs=5e-5)),
    ("8-12", "rear", lambda: weights.weight_shares(READ).rear, approx(0.4917, abs=5e-5)),
    ("8-12", "front", lambda: weights.weight_shares(READ).front, approx(0.5083, abs=5e-5)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("got", "expected"),
    [check[2:] for check in CHECKS],
    ids=[f"{row} {quantity}" for row, quantity, *_ in CHECKS],
)
def test_check_value(got, expected):
    assert got() == expected


def test_row_8_03_load_moves_along_the_warp_only():
    change = load_change((3, -1, 4, 2))
    assert [load / change[0] for load in change] == approx([1, -1, -1.013514, 1.013514], abs=1e-6)


def test_row_8_04_warp_flexibility():
    """n·K⁻¹·n is 0.1488434 mm/N: the load that one mm at the left front brings is its inverse."""
    assert 1 / load_change((1, 0, 0, 0))[0] == approx(0.1488434, abs=1e-6)


def test_a_perch_counts_by_its_motion_ratio():
    """A perch move of 3.5 mm at a ratio of 0.7 is 5 mm at the wheel."""
    at_wheel = weights.predict(car(), LF_UP)
    at_perch = weights.predict(car(motion_ratio=0.7), (3.5, 0, 0, 0))
    assert at_perch.scales == approx(at_wheel.scales)
    assert at_perch.height_changes == approx(at_wheel.height_changes)


def test_plan_for_half_cross_with_level_heights():
    plan = weights.plan_perches(car(), 0.5, (0, 0, 0, 0))
    assert plan.cross_missing == approx(0, abs=1e-9)
    assert plan.outcome.height_changes == approx((0, 0, 0, 0), abs=1e-6)
    assert plan.turns == approx([move / 2.0 for move in plan.moves])
    assert plan.at_limit == (False, False, False, False)


def test_plan_lowers_the_whole_car_and_sets_cross_at_once():
    plan = weights.plan_perches(car(), 0.5, (-10, -10, -8, -8))
    assert plan.cross_missing == approx(0, abs=1e-9)
    assert plan.outcome.height_changes == approx((-10, -10, -8, -8), abs=1e-6)


def test_with_free_heights_the_correction_is_spread_over_the_corners():
    """Row 8-09: spreading needs a quarter of the move of a single corner at each."""
    plan = weights.plan_perches(car(), weights.predict(car(), LF_UP).cross)
    assert [abs(move) for move in plan.moves] == approx([1.25] * 4, abs=0.02)
    assert sum(move**2 for move in plan.moves) < 5**2


def test_when_the_thread_is_short_cross_comes_before_height():
    plan = weights.plan_perches(car(room=4.0), 0.5, (8, 8, 8, 8))
    assert abs(plan.cross_missing) < 1e-4
    assert any(plan.at_limit)
    assert max(plan.height_missing) > 3


def test_a_cross_out_of_reach_is_reported_as_missing_at_the_end_of_the_thread():
    short = car(room=2.0)
    lowest, highest = weights.cross_range(short)
    plan = weights.plan_perches(short, 0.55)
    assert plan.outcome.cross == approx(highest)
    assert lowest < 0.5 < highest < 0.55
    assert plan.cross_missing == approx(0.55 - highest)
    assert plan.at_limit == (True, True, True, True)


def test_heights_out_of_one_plane_reach_the_nearest_plane():
    """One front corner 4 mm up alone would twist a rigid body: 1 mm misses at each corner."""
    square = dataclasses.replace(car(), rear_track=1500)
    plan = weights.plan_perches(square, 0.5, (4, 0, 0, 0))
    assert plan.height_missing == approx((1, -1, -1, 1), abs=1e-5)
    assert plan.cross_missing == approx(0, abs=1e-9)


corners = st.builds(
    Corner,
    scale=st.floats(200, 500),
    spring_rate=st.floats(15, 120),
    motion_ratio=st.floats(0.5, 1.0),
    thread_pitch=st.floats(1.5, 3),
    room_down=st.floats(0, 30),
    room_up=st.floats(0, 30),
)
cars = st.builds(
    CarOnScales,
    st.tuples(corners, corners, corners, corners),
    st.floats(2000, 3200),
    st.floats(1200, 1700),
    st.floats(1200, 1700),
)
small_moves = st.tuples(*[st.floats(-5, 5)] * 4)


@given(cars, st.floats(-10, 10))
def test_equal_lift_at_all_four_wheels_changes_no_load(on_scales, lift):
    """An equal turn at all four corners, where the motion ratios are alike."""
    alike = dataclasses.replace(
        on_scales,
        corners=tuple(dataclasses.replace(one, motion_ratio=0.8) for one in on_scales.corners),
    )
    after = weights.predict(alike, (lift,) * 4)
    assert after.scales == approx([one.scale for one in alike.corners])
    assert after.height_changes == approx([lift / 0.8] * 4, abs=1e-6)


@given(cars, small_moves)
@settings(max_examples=60)
def test_perches_never_change_total_front_and_left_moments(on_scales, moves):
    """Front share stays; so does the sideways moment, which is the left share for equal tracks."""
    before = weights.weight_shares([one.scale for one in on_scales.corners])
    equal_tracks = dataclasses.replace(on_scales, rear_track=on_scales.front_track)
    after = weights.weight_shares(weights.predict(equal_tracks, moves).scales)
    assert (after.total, after.front, after.left) == approx(
        (before.total, before.front, before.left)
    )


@given(cars, small_moves, small_moves)
@settings(max_examples=60)
def test_two_adjustments_add_up_in_any_order(on_scales, one, other):
    both = tuple(a + b for a, b in zip(one, other, strict=True))
    rest = weights.predict(on_scales, (0, 0, 0, 0)).cross
    gains = [weights.predict(on_scales, moves).cross - rest for moves in (one, other)]
    assert weights.predict(on_scales, both).cross - rest == approx(sum(gains), abs=1e-9)


@given(cars, st.floats(0.45, 0.55))
@settings(max_examples=60, deadline=None)
def test_a_plan_stays_on_the_thread_and_reaches_what_can_be_reached(on_scales, cross):
    plan = weights.plan_perches(on_scales, cross)
    for move, corner in zip(plan.moves, on_scales.corners, strict=True):
        assert -corner.room_down - 1e-6 <= move <= corner.room_up + 1e-6
    lowest, highest = weights.cross_range(on_scales)
    assert plan.outcome.cross == approx(min(max(cross, lowest), highest), abs=1e-6)


@given(cars, st.floats(0.48, 0.52), small_moves)
@settings(max_examples=60, deadline=None)
def test_no_other_move_with_the_same_cross_is_smaller(on_scales, cross, nudge):
    roomy = dataclasses.replace(
        on_scales,
        corners=tuple(
            dataclasses.replace(one, room_down=500, room_up=500) for one in on_scales.corners
        ),
    )
    plan = weights.plan_perches(roomy, cross)
    rest = weights.weight_shares([one.scale for one in roomy.corners]).cross
    gain = weights.predict(roomy, nudge).cross - rest
    wanted = cross - rest
    if abs(gain) > 1e-4:
        scaled = [move * wanted / gain for move in nudge]
        assert math.hypot(*plan.moves) <= math.hypot(*scaled) * (1 + 1e-6) + 1e-9


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Corner(0, 60, 0.9, 2, 10, 10), "scale reading must be greater than zero"),
        (lambda: Corner(300, 60, 9, 2, 10, 10), "motion ratio must be from 0.3 to 1.5"),
        (lambda: Corner(300, 60, 0.9, 2, -1, 10), "room down must be zero or more"),
        (lambda: car(front_track=0.0), "front track must be greater than zero"),
        (lambda: weights.weight_shares((300, 300, -1, 300)), "scale reading must be"),
        (lambda: weights.plan_perches(car(), 50), "cross share must be from 0.3 to 0.7"),
        (lambda: weights.predict(car(), (600, 0, 0, 0)), "lift a wheel off its scale"),
    ],
)
def test_arguments_outside_the_range_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
