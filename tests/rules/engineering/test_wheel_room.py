"""A tyre among the parts around it; the check values are worked out by hand beside each case.

The wheel of the examples is an 8Jx17 with 35 mm offset and a 225/45R17: section width 229.78 mm
on that rim, design diameter 634 mm, so the tyre reaches from x = -149.89 to 79.89 mm and to
y = 317 mm.
"""

import math
from dataclasses import replace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from shapely import Point

from rules.engineering.sections import Points
from rules.engineering.tolerance import exactly, plus_minus
from rules.engineering.tyres import design_diameter, diameter_limits, section_width, width_limits
from rules.engineering.wheel_room import (
    WheelAndTyre,
    farthest,
    largest_envelope,
    nominal_envelope,
    room_clearance,
)
from rules.engineering.wheels import FLANGE_HEIGHT, specified_rim_diameter

WHEEL = WheelAndTyre(
    section_width=exactly(section_width(225, 45, 8)),
    overall_diameter=exactly(design_diameter(225, 45, 17)),
    rim_diameter=specified_rim_diameter(17),
    rim_width=8 * 25.4,
    offset=exactly(35.0),
)
STRUT: Points = [(-400, 180), (-155, 180), (-155, 290), (-400, 290)]
ARCH: Points = [(-100, 330), (120, 330), (120, 360), (-100, 360)]
LIP: Points = [(85, 300), (95, 300), (95, 340), (85, 340)]


def test_the_envelope_reaches_where_the_formulas_say() -> None:
    bounds = nominal_envelope(WHEEL).bounds
    assert bounds == pytest.approx((-149.89, 218.3 - 20, 79.89, 317), abs=1e-6)


@pytest.mark.parametrize(
    ("part", "clearance"),
    [
        pytest.param(STRUT, 155 - 149.89, id="damper, 5.11 inboard"),
        pytest.param(ARCH, 330 - 317, id="arch, 13 above"),
        pytest.param(LIP, 85 - 79.89, id="lip, 5.11 outboard"),
        pytest.param(
            [(-150, 100), (-60, 100), (-60, 190), (-150, 190)], 8.3, id="arm below the rim"
        ),
    ],
)
def test_clearance_by_hand(part: Points, clearance: float) -> None:
    found = room_clearance(WHEEL, part)
    assert found.nominal == pytest.approx(clearance, abs=1e-6)
    assert found.worst == pytest.approx(clearance, abs=1e-6)


def test_a_spacer_trades_inboard_room_for_outboard_room() -> None:
    spaced = replace(WHEEL, spacer=exactly(12.0))
    assert room_clearance(spaced, STRUT).nominal == pytest.approx(5.11 + 12)
    assert room_clearance(spaced, LIP).nominal == pytest.approx(5.11 - 12)


def test_a_gap_can_close_in_the_worst_case_only() -> None:
    # 5.11 nominal; less 1 offset, 0.5 spacer, 1.5 half of 3 in width, 2.5 of the strut: -0.39.
    loose = replace(
        WHEEL,
        section_width=plus_minus(WHEEL.section_width.nominal, 3),
        offset=plus_minus(35, 1),
        spacer=plus_minus(5, 0.5),
    )
    found = room_clearance(loose, _moved(STRUT, 5), 2.5)
    assert found.nominal == pytest.approx(5.11)
    assert found.worst == pytest.approx(-0.39)


def _moved(part: Points, dx: float) -> Points:
    return [(x + dx, y) for x, y in part]


def test_growth_of_the_tyre_is_part_of_the_worst_case() -> None:
    # UN R30 growth, from memory: 432 + 2 x 101 x 1.04 = 642.08, so 321.04 instead of 317.
    grown = replace(
        WHEEL,
        section_width=width_limits(WHEEL.section_width.nominal),
        overall_diameter=diameter_limits(225, 45, 17),
    )
    found = room_clearance(grown, ARCH)
    assert found.nominal == pytest.approx(13)
    assert found.worst == pytest.approx(330 - 321.04)


def test_a_narrow_tyre_is_inside_its_flanges() -> None:
    narrow = replace(WHEEL, section_width=exactly(200.0))
    # Rim 203.2 + 25 flanges: half is 114.1, less the 35 mm offset.
    assert nominal_envelope(narrow).bounds[2] == pytest.approx(79.1)


@given(width=st.floats(40, 400), height=st.floats(20, 200), share=st.floats(0, 1))
@example(width=200.0, height=140.0, share=1.0)
@example(width=205.0, height=100.0, share=1e-12)
def test_round_shoulders_take_off_their_corners_and_nothing_else(
    width: float, height: float, share: float
) -> None:
    """Of a square around a quarter of a circle, 1 - pi/4 is outside the circle."""
    wheel = WheelAndTyre(
        section_width=exactly(width), overall_diameter=exactly(400.0 + 2 * height),
        rim_diameter=400.0, rim_width=1.0, offset=exactly(0.0),
    )
    radius = share * min(height - FLANGE_HEIGHT, width / 2)
    square = nominal_envelope(wheel)
    rounded = nominal_envelope(replace(wheel, shoulder_radius=radius))
    corners = 2 * (1 - math.pi / 4) * radius**2
    assert square.buffer(1e-6).covers(rounded)
    assert 0.99 * corners - 1e-6 <= square.area - rounded.area <= corners + 1e-6
    assert rounded.bounds == pytest.approx(square.bounds)


def test_a_round_shoulder_clears_a_corner() -> None:
    corner: Points = [(85, 322), (95, 322), (95, 340), (85, 340)]
    square = room_clearance(WHEEL, corner).nominal
    rounded = room_clearance(replace(WHEEL, shoulder_radius=30), corner).nominal
    # By hand: the arc's centre lies at (49.89, 287).
    true = (35.11**2 + 35**2) ** 0.5 - 30
    assert true - 0.05 <= rounded <= true
    assert square == pytest.approx((5.11**2 + 5**2) ** 0.5, abs=1e-6)


def test_only_the_tread_is_rounded() -> None:
    drawn = nominal_envelope(replace(WHEEL, shoulder_radius=30))
    assert drawn.covers(Point(-149.8, 219))
    assert not drawn.covers(Point(-149.8, 316))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"overall_diameter": exactly(430.0)}, "height of the tyre above its rim"),
        ({"spacer": exactly(-3.0)}, "spacer thickness"),
        ({"shoulder_radius": 200.0}, "larger than the tyre section"),
        ({"rim_diameter": 17.0}, "rim diameter"),
        ({"rim_width": 0.0}, "rim width"),
    ],
)
def test_wheels_that_cannot_be_are_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        replace(WHEEL, **change)  # type: ignore[arg-type]


offsets = st.floats(0, 60)
tolerances = st.floats(0, 6)
part_boxes = st.tuples(
    st.floats(-250, 150), st.floats(150, 400), st.floats(5, 80), st.floats(5, 80)
).map(
    lambda b: [(b[0], b[1]), (b[0] + b[2], b[1]), (b[0] + b[2], b[1] + b[3]), (b[0], b[1] + b[3])]
)


@given(low=offsets, more=st.floats(0, 30))
def test_more_offset_never_adds_room_inboard_nor_takes_it_outboard(low: float, more: float) -> None:
    before, after = (replace(WHEEL, offset=exactly(o)) for o in (low, low + more))
    beyond: Points = [(90, 180), (400, 180), (400, 360), (90, 360)]
    assert room_clearance(after, STRUT).nominal <= room_clearance(before, STRUT).nominal + 1e-6
    assert room_clearance(after, beyond).nominal >= room_clearance(before, beyond).nominal - 1e-6


@given(
    part=part_boxes,
    offset=offsets,
    slack=st.tuples(tolerances, tolerances, tolerances, tolerances, tolerances),
    radius=st.floats(0, 40),
)
def test_the_worst_case_is_never_better_than_nominal(
    part: Points, offset: float, slack: tuple[float, ...], radius: float
) -> None:
    wheel = _loose(offset, slack, radius)
    assert largest_envelope(wheel).buffer(1e-6).covers(nominal_envelope(wheel))
    left, bottom, right, top = largest_envelope(replace(wheel, shoulder_radius=0.0)).bounds
    assert farthest(wheel) == pytest.approx((-left, -bottom, right, top))
    found = room_clearance(wheel, part, slack[4])
    assert found.worst <= found.nominal


def _loose(offset: float, slack: tuple[float, ...], radius: float) -> WheelAndTyre:
    return replace(
        WHEEL,
        section_width=plus_minus(230, slack[0]),
        overall_diameter=plus_minus(634, slack[1]),
        offset=plus_minus(offset, slack[2]),
        spacer=plus_minus(10, slack[3]),
        shoulder_radius=radius,
    )


ways = st.tuples(*[st.floats(-1, 1)] * 6)


@given(part=part_boxes, offset=offsets, slack=st.tuples(*[tolerances] * 5), way=ways)
def test_no_wheel_within_the_tolerances_has_less_room_than_the_worst_case(
    part: Points, offset: float, slack: tuple[float, ...], way: tuple[float, ...]
) -> None:
    wheel = _loose(offset, slack, 12)
    inside = replace(
        wheel,
        section_width=exactly(230 + way[0] * slack[0]),
        overall_diameter=exactly(634 + way[1] * slack[1]),
        offset=exactly(offset + way[2] * slack[2]),
        spacer=exactly(10 + way[3] * slack[3]),
    )
    moved = [(x + way[4] * slack[4], y + way[5] * slack[4]) for x, y in part]
    assert (
        room_clearance(inside, moved).nominal >= room_clearance(wheel, part, slack[4]).worst - 1e-6
    )
