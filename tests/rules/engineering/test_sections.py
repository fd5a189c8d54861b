"""Plane sections: distances worked out by hand, and the laws of a signed clearance."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.affinity import translate

from rules.engineering import sections

SQUARE = sections.outline([(0, 0), (10, 0), (10, 10), (0, 10)])


def rectangle(x: float, y: float, width: float, height: float) -> sections.Points:
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


@pytest.mark.parametrize(
    ("other", "clearance"),
    [
        pytest.param(rectangle(13, 0, 5, 5), 3, id="beside"),
        pytest.param(rectangle(13, 14, 5, 5), 5, id="across the corner (3-4-5)"),
        pytest.param(rectangle(10, 0, 5, 5), 0, id="touching"),
        pytest.param(rectangle(8, 2, 20, 5), -2, id="two deep from the right"),
        pytest.param(rectangle(4, 7, 3, 20), -3, id="three deep from above"),
        pytest.param(rectangle(4, 4, 2, 2), -6, id="swallowed: 4 to the edge and 2 of its own"),
    ],
)
def test_signed_clearance(other: sections.Points, clearance: float) -> None:
    found = sections.signed_clearance(SQUARE, sections.outline(other))
    assert found == pytest.approx(clearance, abs=1e-9)


def test_a_hook_around_a_corner_is_not_filled_in() -> None:
    hook = sections.outline([(-20, -20), (30, -20), (30, -12), (-12, -12), (-12, 30), (-20, 30)])
    assert sections.signed_clearance(SQUARE, hook) == pytest.approx(12)
    arm = sections.outline([(-20, -20), (30, -20), (30, 1), (-12, 1), (-12, 30), (-20, 30)])
    assert sections.signed_clearance(SQUARE, arm) == pytest.approx(-1)


def test_growing_a_shape_moves_each_side_by_the_tolerance() -> None:
    assert sections.grown(SQUARE, 2, 1).bounds == pytest.approx((-2, -1, 12, 11))
    with pytest.raises(ValueError, match="zero or more"):
        sections.grown(SQUARE, -1, 0)


@pytest.mark.parametrize(
    ("travel", "arm", "degrees"),
    [
        # Row 9-09: computed, atan(travel / length).
        pytest.param(1, 1500, 0.0382, id="9-09 per mm"),
        pytest.param(25, 1500, 0.955, id="9-09 at 25 mm"),
    ],
)
def test_camber_change(travel: float, arm: float, degrees: float) -> None:
    assert sections.camber_change(travel, arm) == pytest.approx(degrees, abs=0.001)


def test_camber_needs_a_swing_arm() -> None:
    with pytest.raises(ValueError, match="swing arm"):
        sections.camber_change(10, 0)


def test_the_arch_comes_down_to_a_wheel_that_rises() -> None:
    lip = sections.outline(rectangle(60, 400, 20, 5))
    assert sections.seen_from_hub(lip, 80).bounds == pytest.approx((60, 320, 80, 325))


def test_a_wheel_that_leans_in_sees_the_arch_further_out() -> None:
    point = sections.outline(rectangle(0, 400, 1, 1))
    leaning = sections.seen_from_hub(point, 0, -2)
    assert leaning.bounds[0] == pytest.approx(400 * math.sin(math.radians(2)), abs=0.01)


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([(0, 0), (1, 1)], "at least 3 points"),
        ([(0, 0), (1, 1), (2, 2)], "must enclose an area"),
        ([(0, 0), (4, 4), (4, 0), (0, 4)], "must not cross itself"),
        ([(0, 0), (1, float("nan")), (2, 0)], "finite"),
    ],
)
def test_shapes_that_are_none_are_refused(points: sections.Points, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        sections.outline(points)


def test_profiles_need_a_length() -> None:
    with pytest.raises(ValueError, match="at least 2 points"):
        sections.profile([(0, 0)])
    with pytest.raises(ValueError, match="must have a length"):
        sections.profile([(1, 1), (1, 1)])


boxes = st.tuples(st.floats(-40, 40), st.floats(-40, 40), st.floats(1, 30), st.floats(1, 30)).map(
    lambda sizes: sections.outline(rectangle(*sizes))
)


@given(boxes, boxes)
def test_clearance_is_the_same_both_ways(a: Polygon, b: Polygon) -> None:
    assert sections.signed_clearance(a, b) == pytest.approx(
        sections.signed_clearance(b, a), abs=1e-6
    )


@given(boxes, boxes, st.floats(0, 10), st.floats(0, 10))
def test_growing_a_shape_never_adds_clearance(
    a: Polygon, b: Polygon, along_x: float, along_y: float
) -> None:
    grown = sections.grown(b, along_x, along_y)
    assert sections.signed_clearance(a, grown) <= sections.signed_clearance(a, b) + 1e-6


@given(boxes, boxes, st.floats(-10, 10), st.floats(-10, 10))
def test_a_small_move_changes_the_clearance_by_no_more_than_itself(
    a: Polygon, b: Polygon, dx: float, dy: float
) -> None:
    moved = translate(b, dx, dy)
    change = sections.signed_clearance(a, moved) - sections.signed_clearance(a, b)
    assert abs(change) <= math.hypot(dx, dy) + 1e-6


@given(dx=st.floats(-40, 40), dy=st.floats(-40, 40))
def test_the_shortest_way_is_as_long_as_the_clearance_and_parts_what_overlaps(
    dx: float, dy: float
) -> None:
    still, moved = box(0, 0, 20, 10), translate(box(-6, -6, 6, 6), dx, dy)
    way, clearance = sections.shortest_way(still, moved), sections.signed_clearance(still, moved)
    assert way.length == pytest.approx(abs(clearance), abs=1e-9)
    if clearance < 0:
        (x, y), (u, v) = way.coords
        apart = translate(moved, u - x, v - y)
        assert still.intersection(apart).area == pytest.approx(0, abs=1e-6)
