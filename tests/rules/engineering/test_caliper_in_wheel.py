"""A caliper inside a wheel; the check values are worked out by hand beside each case.

The barrel is 205 mm from the axis near the hub and steps down to 199 mm further inboard; the
back of the spokes leans from x = 20 mm at the hub to x = 40 mm at the barrel.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point

from rules.engineering.caliper_in_wheel import caliper_clearance, caliper_gaps
from rules.engineering.sections import Points
from rules.engineering.tolerance import exactly, plus_minus

BARREL: Points = [(-160, 199), (-40, 199), (-20, 205), (60, 205)]
SPOKES: Points = [(20, 60), (20, 100), (40, 205), (40, 230)]
CALIPER: Points = [(-80, 100), (15, 100), (15, 180), (-5, 195), (-80, 190)]


def test_room_by_hand() -> None:
    found = caliper_clearance(CALIPER, BARREL, SPOKES)
    # At x = -40 the barrel is still 199; the caliper's upper edge is 190 + 5 x 40/75.
    assert found.radial.nominal == pytest.approx(199 - (190 + 5 * 40 / 75))
    # At y = 100 the spokes stand at x = 20, the caliper at 15.
    assert found.axial.nominal == pytest.approx(5)
    assert found.radial.worst == pytest.approx(found.radial.nominal)


def test_overlap_is_negative() -> None:
    tall = [(x, y + 8) for x, y in CALIPER]
    assert caliper_clearance(tall, BARREL, SPOKES).radial.nominal == pytest.approx(
        6.3333 - 8, abs=1e-3
    )
    thick = [(x + 7, y) for x, y in CALIPER]
    assert caliper_clearance(thick, BARREL, SPOKES).axial.nominal == pytest.approx(-2)


def test_a_caliper_taller_than_the_wheel_is_refused_by_its_size() -> None:
    # Its top at 240 mm stands 235 - 199 + 2.667 into the barrel; no profile runs so far.
    giant = [(x, y + 45) for x, y in CALIPER[2:]] + [CALIPER[0], CALIPER[1]]
    found = caliper_clearance(giant, BARREL, SPOKES)
    assert found.radial.nominal == pytest.approx(199 - 235 - 5 * 40 / 75)
    assert found.axial.nominal == pytest.approx(5)


def test_a_caliper_through_the_spokes_is_refused_by_its_size() -> None:
    long = [(x + 60, y) if x > 0 else (x, y) for x, y in CALIPER]
    assert caliper_clearance(long, [*BARREL[:3], (41, 205)], SPOKES).axial.nominal == -55


def test_a_hair_of_room_is_gone_in_the_worst_case() -> None:
    # 5 mm axial less 3 + 1 + 1.2 of tolerance.
    found = caliper_clearance(
        CALIPER, BARREL, SPOKES, caliper_tolerance=3, wheel_tolerance=1, spacer=plus_minus(2, 1.2)
    )
    assert found.axial.nominal == pytest.approx(5 + 2)
    # Grown by 4 mm the caliper begins at y = 96, where the spokes are still at x = 20.
    assert found.axial.worst == pytest.approx(5 + 2 - 4 - 1.2)


def test_a_spacer_adds_axial_room() -> None:
    spaced = caliper_clearance(CALIPER, BARREL, SPOKES, spacer=exactly(10))
    assert spaced.axial.nominal == pytest.approx(15)


@pytest.mark.parametrize(
    ("barrel", "spokes", "words"),
    [
        (BARREL[1:], SPOKES, r"barrel profile is known from -40\.0 to 60\.0 mm; .* from -80\.0"),
        (BARREL, SPOKES[2:], r"spoke profile is known from 205\.0 to 230\.0 mm; .* from 100\.0"),
    ],
)
def test_a_profile_that_ends_early_says_what_to_measure(
    barrel: Points, spokes: Points, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        caliper_clearance(CALIPER, barrel, spokes)


@pytest.mark.parametrize("name", ["caliper_tolerance", "wheel_tolerance"])
def test_negative_tolerances_are_refused(name: str) -> None:
    with pytest.raises(ValueError, match="tolerance must be zero or more"):
        caliper_clearance(CALIPER, BARREL, SPOKES, **{name: -1.0})  # type: ignore[arg-type]


sizes = st.floats(0, 20)


def _larger(reach: float, height: float) -> Points:
    return [
        (-80, 100), (15 + reach, 100), (15 + reach, 180 + height), (-5, 195 + height),
        (-80, 190 + height),
    ]  # fmt: skip


@given(reach=sizes, height=sizes, more=sizes)
def test_a_larger_caliper_never_has_more_room(reach: float, height: float, more: float) -> None:
    small = caliper_clearance(_larger(reach, height), BARREL, SPOKES)
    tall = caliper_clearance(_larger(reach, height + more), BARREL, SPOKES)
    thick = caliper_clearance(_larger(reach + more, height), BARREL, SPOKES)
    assert tall.radial.nominal <= small.radial.nominal + 1e-6
    assert thick.axial.nominal <= small.axial.nominal + 1e-6


@given(spacer=st.floats(0, 20), more=st.floats(0, 20))
def test_a_thicker_spacer_gives_exactly_as_much_axial_room(spacer: float, more: float) -> None:
    thin = caliper_clearance(CALIPER, BARREL, SPOKES, exactly(spacer))
    thick = caliper_clearance(CALIPER, BARREL, SPOKES, exactly(spacer + more))
    assert thick.axial.nominal - thin.axial.nominal == pytest.approx(more, abs=1e-6)


@given(
    slack=st.tuples(st.floats(0, 3), st.floats(0, 3), st.floats(0, 2)),
    way=st.tuples(*[st.floats(-1, 1)] * 5),
)
def test_nothing_within_the_tolerances_is_worse_than_the_worst_case(
    slack: tuple[float, float, float], way: tuple[float, ...]
) -> None:
    caliper, wheel, spacer = slack
    worst = caliper_clearance(CALIPER, BARREL, SPOKES, plus_minus(5, spacer), caliper, wheel)
    moved = [(x + way[0] * caliper, y + way[1] * caliper) for x, y in CALIPER]
    barrel, spokes = (
        [(x + way[2] * wheel, y + way[3] * wheel) for x, y in line] for line in (BARREL, SPOKES)
    )
    inside = caliper_clearance(moved, barrel, spokes, exactly(5 + way[4] * spacer))
    assert inside.radial.nominal >= worst.radial.worst - 1e-6
    assert inside.axial.nominal >= worst.axial.worst - 1e-6
    assert worst.radial.worst <= worst.radial.nominal
    assert worst.axial.worst <= worst.axial.nominal


@given(reach=sizes, height=sizes, spacer=st.floats(0, 10))
def test_the_gaps_lie_between_caliper_and_wheel_and_are_as_long_as_the_clearance(
    reach: float, height: float, spacer: float
) -> None:
    caliper = _larger(reach, height)
    gaps = caliper_gaps(caliper, BARREL, SPOKES, exactly(spacer))
    found = caliper_clearance(caliper, BARREL, SPOKES, exactly(spacer))
    assert gaps.radial.length == pytest.approx(found.radial.nominal)
    assert gaps.axial.length == pytest.approx(found.axial.nominal)
    for gap, surface, along in ((gaps.radial, BARREL, 0), (gaps.axial, SPOKES, 1)):
        across = 1 - along
        assert gap.caliper[along] == gap.wheel[along]
        assert gap.wheel[across] - gap.caliper[across] == pytest.approx(gap.length)
        assert LineString(surface).distance(Point(gap.wheel)) == pytest.approx(0, abs=1e-9)
